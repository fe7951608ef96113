"""All that is found of a job, for its page: what each finding is about, and which missing measure spoils it.

What decides goes by codes, keys and the names of bodies, which are the same in every language.
"""

import re
from collections.abc import Container, Iterable, Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any

from geometry.clearance.judged import Clearance
from geometry.clearance.tilt import Tilts
from geometry.core.errors import GeometryError
from geometry.core.findings import Finding, by_level
from geometry.core.say import Say, named
from geometry.mount.placement import Placement
from sheets.actions.check import report
from sheets.desk.live import job_of, seen
from sheets.desk.meanings import used
from sheets.desk.measured import Measure, measures
from sheets.guide.bench_questions import QUESTIONS
from sheets.guide.entries import entries
from sheets.guide.explain import unknown_without
from sheets.job.read import Job, JobFile, tubes_of
from sheets.pages.wraps.tab import tab_edges, tab_reach
from sheets.setup.clearances import clear, turning_of
from sheets.setup.findings import answer_lines, verdict
from sheets.setup.outline import shape
from sheets.words.lengths import telling
from sheets.words.tell import keys_in, on_paper, tell, told

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
    "begins": ("mount",), "carrier": ("mount",), "carried": ("mount",), "foot": ("mount", "dropout"),
    "plate": ("dropout",),
}  # fmt: skip
"""The same by the first word of its code, where that says it."""


def found(document: Mapping[str, Any], file: Path) -> dict[str, Any]:
    """Return a job's verdict and findings, the gravest first; raise DropleafError where it is refused."""
    checked = report(JobFile(file, b"", job_of(document, file)))
    job, setup = checked.source.job, checked.setup
    answers = entries(document)
    shown = measures(answers)
    known = {each.key for each in answers}
    near = {each.key: each for each in setup.clear.clearances}
    named = {each: _named(each, known) for each in checked.findings}
    # Keys are for who edits the file: here the things themselves light up.
    with telling(job.paper.units), on_paper():
        listed = [
            _told(each, checked.placement.host, shown, near.get(each.subject), named.get(each, ()))
            for each in by_level(checked.findings)
        ]
        joined = _joined(job, checked.placement)
        return {
            "level": verdict(checked.findings),
            "answer": answer_lines(job, checked.findings, _WHOLE)[0],
            "findings": listed,
            "words": used([*(f"{each['text']} {each['remedy']}" for each in listed), *joined]),
            "tilt": _tilt(setup.tilts),
            "joined": joined,
        }


def _named(finding: Finding, known: Container[str]) -> tuple[str, ...]:
    """Return the answers that a finding names as what would settle or change it; a note asks for nothing."""
    if finding.level == "note":
        return ()
    said = told(finding.remedy) if finding.remedy else told(finding.text)
    every = (finding.subject, *keys_in(said))
    # A tube that is not there begins with its first place.
    places = (f"{key}.place.1" if key.removeprefix("tubes.") in _TUBES else key for key in every)
    return tuple(dict.fromkeys(key for key in places if key in known))


def _told(
    each: Finding, host: str, shown: Mapping[str, Measure], near: Clearance | None, named: Sequence[str]
) -> dict[str, Any]:
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
        "fields": [key for key in named if key not in spoiled],
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


def _joined(job: Job, placement: Placement) -> list[str]:
    """Return how a tab is joined to the frame, where that is known; what is not, is a finding."""
    if placement.interface.family != "tab":
        return []
    drawn = shape(job, placement)
    if drawn is not None and drawn.sure and drawn.tab is not None:
        return [tell("desk_frame.joined.dropout")]
    tube = tubes_of(job).get(placement.host)
    if tube is None or not tube.placed:
        return []
    try:
        least, most = tab_reach(placement, tab_edges(job, placement, tube))
    except GeometryError:
        return []
    return [tell("desk_frame.joined.tab", host=named(placement.host), least=least, most=most)]


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
