"""All that is found of a job, in one list: what `check`, `draw` and the packet's document tell."""

from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import Any, Literal, TypeAlias

from geometry.core.findings import LEVELS, Finding, by_level
from geometry.core.say import say
from geometry.mount.placement import Placement
from sheets.job.read import Job
from sheets.setup.setup import SetUp
from sheets.words.tell import tell, told
from sheets.words.wrap import wrapped

Verdict: TypeAlias = Literal["stop", "warn", "unknown", "confirm", "good"]
"""What findings come to, the gravest first: the names of the sentences that answer first."""
VERDICTS: tuple[Verdict, ...] = ("stop", "warn", "unknown", "confirm", "good")
_LEVEL = 9
"""Width of the column of levels on a terminal."""


def sheet_findings(placement: Placement, setup: SetUp) -> tuple[Finding, ...]:
    """Return what sheets tell: the mount's findings, and what it comes to.

    What is the matter with the builder's own files is told on the terminal and in the document alone: it
    names a path of his machine, and a packet that is placed again elsewhere must come out the same.
    """
    return (*placement.findings, *setup.findings)


def all_findings(
    job: Job, placement: Placement, setup: SetUp, unwrapped: Iterable[Finding]
) -> tuple[Finding, ...]:
    """Return what is told of the job's files, then what sheets tell, then what wraps cannot show."""
    found = (*job.findings, *sheet_findings(placement, setup))
    # The boss heights tell of an open outline too, and with a way out.
    open_side = any(each.code == "breaks-out" for each in found)
    return (*found, *(each for each in unwrapped if not (open_side and each.code == "wrap-open")))


def verdict(found: Iterable[Finding]) -> Verdict:
    """Return what findings come to: the gravest level of what is more than a note.

    A row whose numbers are stamped is no more than "confirm": its numbers are expected to be doubtful, but
    nothing is cut by them before they are confirmed.
    """
    every = tuple(found)
    for level in LEVELS:
        if level != "note" and any(each.level == level for each in every):
            return level
    return "confirm" if any(each.large for each in every) else "good"


def stopped(path: Path, found: Iterable[Finding]) -> tuple[int, tuple[str, ...], str]:
    """Return the exit status that findings ask for, each that stops as a problem, and where they are told.

    Problems are led by the file; the last is a line for beside the answer, empty where nothing stops.
    """
    problems = tuple(f"{path}: {told(each.text)}" for each in found if each.level == "stop")
    return (1, problems, tell("finding.stopped", path=str(path))) if problems else (0, (), "")


def answer_lines(job: Job, found: Iterable[Finding], width: int) -> list[str]:
    """Return the answer on a job for a terminal: its verdict, then its findings with the gravest first.

    `check` and `draw` both tell this one. Lines are wrapped at words to `width` characters.
    """
    every = by_level(tuple(found))
    counts = []
    for level in LEVELS[:-1]:
        if count := sum(each.level == level for each in every):
            one, more = (
                say(f"finding.count_one.{level}", count=count),
                say(f"finding.count_more.{level}", count=count),
            )
            counts.append(one if count == 1 else more)
    frame = " ".join(part for part in (job.frame.id, job.frame.name) if part)
    came_to = verdict(every)
    code = "noted" if came_to == "good" and every else came_to
    lines = wrapped(tell(f"finding.verdict.{code}", frame=frame, counts=tuple(counts)), width)
    return [*lines, *finding_lines(every, width)]


def finding_lines(found: Iterable[Finding], width: int) -> list[str]:
    """Return findings for a terminal, the gravest first: what is the matter, and below it what to do."""
    lines = []
    for each in by_level(tuple(found)):
        head = f"  {tell(f'finding.level.{each.level}'):<{_LEVEL}}"
        lines += wrapped(told(each.brief or each.text), width, head)
        if each.remedy:
            lines += wrapped(told(each.remedy), width, " " * len(head))
    return lines


def several(verdicts: Sequence[Verdict], jobs: int) -> str:
    """Return what several jobs came to, in one line; nothing of one job. Those without verdict were wrong."""
    if jobs < 2:
        return ""
    counted = [(each, verdicts.count(each)) for each in VERDICTS] + [("wrong", jobs - len(verdicts))]
    counts = tuple(
        say(f"finding.jobs_one.{each}", count=count)
        if count == 1
        else say(f"finding.jobs_more.{each}", count=count)
        for each, count in counted
        if count
    )
    return tell("finding.jobs", count=jobs, counts=counts)


def document(found: Iterable[Finding]) -> list[dict[str, Any]]:
    """Return findings as JSON has them."""
    return [
        {"code": each.code, "level": each.level, "subject": each.subject, "text": told(each.text)}
        for each in found
    ]
