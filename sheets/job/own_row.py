"""A row of somebody's own: the job's [interface], as geometry takes it and as a file has it."""

from collections.abc import Callable, Mapping
from typing import Any

from geometry.core.frozen import dataclass
from geometry.core.say import Say, named
from geometry.tables.interfaces import AGREEING, OwnRow
from sheets.job.keys import OwnInterface
from sheets.job.toml import block
from sheets.words.tell import tell, told


@dataclass(frozen=True, slots=True)
class Choice:
    """What stands in for a row that a job names: its [interface], or why there is none; `names` there are.

    `damaged` is what to warn of: no row could be read, and the job does without.
    """

    row: Mapping[str, Any] | None = None
    problem: Say | None = None
    damaged: Say | None = None
    names: tuple[str, ...] = ()


Chooser = Callable[[Mapping[str, Any]], Choice]
"""What looks up a row that a parsed job file names; `nothing` has none."""


def nothing(document: Mapping[str, Any]) -> Choice:
    """Return no row for any job: what was filed brings its own."""
    return Choice()


def own_row(own: OwnInterface, name: str) -> OwnRow:
    """Return a row of a job or table as geometry takes it; `name` where it has none of its own."""
    return OwnRow(
        name=own.name or name,
        source=own.source,
        family=own.family,
        native=own.native,
        hole=own.hole,
        tolerance=own.tolerance,
        lateral=own.lateral,
        radii=_three(own.near, own.far, own.spacing),
        line=_three(own.h, own.x_near, own.x_far),
        # A measured row that does not say on how many mounts was measured on one.
        mounts=(own.mounts or 1) if own.grade == "measured" else None,
        makers=own.makers,
        bands=tuple(own.uncertainty.items()),
        second_source=own.second_source or "",
    )


def _three(*values: float | None) -> tuple[float, float, float] | None:
    first, second, third = values
    return None if first is None or second is None or third is None else (first, second, third)


def how_had(own: OwnInterface, name: str) -> str:
    """Return what a sheet says of how a row was had; "" where the row says nothing of that.

    A row measured on one mount says so in large letters, with its bands (geometry/mount/placement.py).
    """
    row = own_row(own, name)
    mounts = row.mounts
    if mounts == 1 or (mounts is None and not own.uncertainty):
        return ""
    bands = ", ".join(f"{told(named(key))} ±{band:g}" for key, band in own.uncertainty.items())
    measured = "measured" if (row.makers or 0) >= AGREEING else "measured_few"
    code = "own" if mounts is None else measured if bands else "measured_bare"
    return tell(f"own.had.{code}", name=own.name or name, mounts=mounts or 0, bands=bands)


def job_block(own: OwnInterface) -> str:
    """Return a row as the [interface] table of a job file, in TOML."""
    return block("[interface]", own.model_dump(exclude_unset=True, exclude_none=True))
