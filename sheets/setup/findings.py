"""All that is found of a job, in one list: what `check`, `draw` and the packet's document tell."""

from collections.abc import Iterable
from typing import Any

from geometry.core.findings import Finding, by_level
from geometry.mount.placement import Placement
from sheets.job.read import Job
from sheets.setup.setup import SetUp
from sheets.words.tell import tell, told


def all_findings(
    job: Job, placement: Placement, setup: SetUp, unwrapped: Iterable[Finding]
) -> tuple[Finding, ...]:
    """Return the mount's findings, then what it comes to, then what wraps cannot show."""
    found = (*job.findings, *placement.findings, *setup.findings)
    # The boss heights tell of an open outline too, and with a way out.
    open_side = any(each.code == "breaks-out" for each in found)
    return (*found, *(each for each in unwrapped if not (open_side and each.code == "wrap-open")))


def finding_lines(found: Iterable[Finding]) -> list[str]:
    """Return a line a finding for a terminal, led by its level, the gravest first."""
    return [f"  {tell(f'finding.{each.level}', text=each.text)}" for each in by_level(tuple(found))]


def document(found: Iterable[Finding]) -> list[dict[str, Any]]:
    """Return findings as JSON has them."""
    return [
        {"code": each.code, "level": each.level, "subject": each.subject, "text": told(each.text)}
        for each in found
    ]
