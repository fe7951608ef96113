"""All that is found of a job, for its page: what each finding is about, and which missing measure spoils it.

What decides goes by codes, keys and the names of bodies, which are the same in every language.
"""

import re
from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path
from typing import Any

from geometry.clearance.judged import Clearance
from geometry.clearance.tilt import Tilts
from geometry.core.findings import Finding, by_level
from geometry.core.say import Say
from sheets.actions.check import report
from sheets.desk.live import job_of, seen
from sheets.desk.measured import Measure, measures
from sheets.guide.bench_questions import QUESTIONS
from sheets.guide.entries import entries
from sheets.guide.explain import unknown_without
from sheets.job.read import JobFile, tubes_of
from sheets.setup.clearances import clear, turning_of
from sheets.setup.findings import answer_lines, verdict
from sheets.words.lengths import telling
from sheets.words.tell import tell, told

_WHOLE = 100_000
_TUBES = ("chainstay", "seatstay", "fork-leg")
_BODIES = {
    "disc": "disc", "caliper": "caliper", "key": "key", "keys": "key", "post": "mount", "posts": "mount",
    "boss": "mount", "bosses": "mount", "tab": "mount", "mount": "mount", "hub": "hub-end", "axle": "axle",
    "dropout": "dropout", "chainstay": "chainstay", "seatstay": "seatstay", "leg": "fork-leg",
    "fork-leg": "fork-leg", "brace": "brace",
}  # fmt: skip
"""The parts of the pictures by the words of a finding's subject."""
_BY_CODE = {
    "slot": ("axle", "dropout"), "wheel": ("axle", "dropout"), "travel": ("axle", "dropout"),
    "outline": ("dropout",), "mount": ("mount",), "hole": ("mount",), "bolts": ("mount",), "too": ("mount",),
    "axis": ("mount",), "breaks": ("mount",), "host": ("mount",), "dummy": ("dummy-axle",),
    "grade": ("mount",), "row": ("mount",), "provisional": ("mount",), "one": ("mount",),
    "measured": ("mount",), "recalled": ("mount",), "tubes": ("chainstay", "seatstay"),
    "begins": ("mount",), "carrier": ("mount",), "carried": ("mount",),
}  # fmt: skip
"""The same by the first word of its code, where that says it."""


def found(document: Mapping[str, Any], file: Path) -> dict[str, Any]:
    """Return a job's verdict and findings, the gravest first; raise DropleafError where it is refused."""
    checked = report(JobFile(file, b"", job_of(document, file)))
    job, setup = checked.source.job, checked.setup
    shown = measures(entries(document))
    near = {each.key: each for each in setup.clear.clearances}
    with telling(job.paper.units):
        listed = [
            _told(each, checked.placement.host, shown, near.get(each.subject))
            for each in by_level(checked.findings)
        ]
        return {
            "level": verdict(checked.findings),
            "answer": answer_lines(job, checked.findings, _WHOLE)[0],
            "findings": listed,
            "tilt": _tilt(setup.tilts),
        }


def _told(each: Finding, host: str, shown: Mapping[str, Measure], near: Clearance | None) -> dict[str, Any]:
    tubes = {tube for word in _words(each.text) for tube in _TUBES if _is_of(word, tube)}
    spoiled = [key for key, measure in shown.items() if measure.missing and _spoils(measure, each, tubes)]
    keys = [key for key in shown if key == each.subject]
    return {
        "code": each.code,
        "level": each.level,
        "subject": each.subject,
        "word": tell(f"finding.level.{each.level}"),
        "text": told(each.brief or each.text),
        "remedy": told(each.remedy) if each.remedy else "",
        "about": sorted({*_bodies(each, host), *tubes}),
        "keys": keys,
        "spoiled": spoiled,
        "at": None if near is None or near.first is None else (near.first, near.second),
        "curable": each.level == "stop" or each.code == "clearance-tight",
    }


def _spoils(measure: Measure, finding: Finding, tubes: Iterable[str]) -> bool:
    """Tell whether a finding is unknown, or assumed, for want of a measure."""
    if measure.key == finding.subject:
        return finding.level == "unknown"
    if finding.level != "unknown":
        return False
    # A tube that is not there at all begins with its first place, and everything of it waits for that.
    if measure.key.endswith(".place.1"):
        return measure.tube in tubes
    question = next((each for each in QUESTIONS if each.key == measure.key), None)
    if question is None or finding.code not in unknown_without(question):
        return False
    return not measure.tube or measure.tube in tubes or not tubes


def _bodies(finding: Finding, host: str) -> Iterator[str]:
    words = re.split(r"[\s.]+|'s\b", finding.subject)
    yield from (_BODIES[word] for word in words if word in _BODIES)
    yield from _BY_CODE.get(finding.code.partition("-")[0], ())
    if finding.code.startswith(("tube-", "strength-", "no-wrap")):
        yield host


def _words(said: object) -> Iterator[str]:
    """Give every code and text in what is said."""
    if isinstance(said, Say):
        yield said.code
        for _, value in said.values:
            yield from _words(value)
    elif isinstance(said, tuple):
        for each in said:
            yield from _words(each)
    elif isinstance(said, str):
        yield said


def _is_of(word: str, tube: str) -> bool:
    return word in (tube, f"name.{tube.replace('-', '_')}") or word.startswith(f"tubes.{tube}")


def _tilt(tilts: Tilts | None) -> dict[str, Any] | None:
    if tilts is None:
        return None
    return {
        "ranges": [
            {"low": each.low, "high": each.high, "low_limit": told(each.low_limit),
             "high_limit": told(each.high_limit)}
            for each in tilts.ranges
        ],
        "sentences": [told(each) for each in tilts.sentences],
    }  # fmt: skip


def meets(document: Mapping[str, Any], file: Path, key: str) -> dict[str, Any]:
    """Return what comes nearest its limit while a key is dragged: its name, where, and whether it meets.

    A tilt is judged by what turns with the mount alone, which is quicker. Where something stands in for what
    the job lacks, nothing is judged; where one clearance is not known, what is near is told, but not clear.
    """
    drawn = seen(document, file)
    job = drawn.job
    if drawn.problems:
        return {"text": tell("desk_frame.drag.stands_in"), "state": "unknown", "at": None, "about": []}
    with telling(job.paper.units):
        placement, tubes = drawn.placement, tubes_of(job)
        every = (
            turning_of(job, placement, tubes)
            if key == "mount.tilt"
            else clear(job, placement, tubes).clearances
        )
        known = [each for each in every if each.left is not None]
        if not known:
            return {"text": tell("desk_frame.drag.unknown"), "state": "unknown", "at": None, "about": []}
        first = min(known, key=lambda each: ((each.left or 0.0) - each.asked, each.key))
        state = "unknown" if first.state == "ok" and len(known) < len(every) else first.state
        clear_of = "known" if state == "unknown" else "free"
        code = clear_of if first.state == "ok" else "meets" if not first.distance else "near"
        said = Finding("", "note", "", first.key)
        return {
            "text": tell(f"desk_frame.drag.{code}", what=first.gap),
            "state": state,
            "at": (first.first, first.second),
            "about": sorted(set(_bodies(said, placement.host))),
        }
