"""Adapters and discs: what takes a mount from the size it is made for to the disc fitted."""

import functools
from dataclasses import replace

from geometry.core.errors import TableError
from geometry.core.frozen import dataclass
from geometry.core.say import Say, named, say
from geometry.core.tables import Grade, Number, Source
from geometry.tables.axles import End
from geometry.tables.interface_rows import Family
from geometry.tables.interfaces import table


@dataclass(frozen=True, slots=True)
class Adapter:
    """What takes a mount from its native size to the disc fitted.

    `spread` is how far adapters of different makers may put the same caliper apart, mm; None where no such
    part is between.
    """

    step: float
    name: str
    grade: Grade
    source: str
    spread: Number | None = None

    @property
    def sentence(self) -> Say | str:
        """Return what differing adapters mean for this mount; "" where there is none between."""
        if self.spread is None:
            return ""
        return say("tables.adapter.spread", spread=self.spread.value, grade=self.spread.grade)


@dataclass(frozen=True, slots=True, kw_only=True)
class AdapterRow:
    """An adapter as the table has it: its steps in mm, at one `end` or both, to all discs or `only` some."""

    family: Family
    end: End | None = None
    steps: tuple[int, ...]
    only: tuple[int, ...] = ()
    name: str
    spread: bool = False
    grade: Grade
    source: Source


@dataclass(frozen=True, slots=True)
class Disc:
    """Discs on sale (diameters), and the numbers that all share."""

    sizes: tuple[float, ...]
    thickness: Number
    track: Number


@functools.cache
def disc() -> Disc:
    """Return what the table says of discs."""
    of_discs = replace(table(), sources=table().raw["disc"]["sources"])
    thickness, track = (of_discs.number("disc", key) for key in ("thickness", "track"))
    return Disc(of_discs.values("disc", "sizes"), thickness, track)


@functools.cache
def adapter_rows() -> tuple[AdapterRow, ...]:
    """Return every adapter of the table, in its order."""
    return table().rows("adapter", AdapterRow)


def adapter(family: Family, end: End, native: float, rotor: float) -> Adapter:
    """Return what takes the mount to the disc; raise TableError, naming the reachable discs, for none."""
    found = _adapters(family, end, native)
    if rotor in found:
        return found[rotor]
    reach = ", ".join(f"{size:g}" for size in reachable(family, end, native))
    raise TableError.at(
        "mount.rotor",
        say(
            "tables.adapter.none",
            mount=named(f"{family}-mount"),
            native=native,
            rotor=rotor,
            step=rotor - native,
            reach=reach,
        ),
    )


def reachable(family: Family, end: End, native: float) -> tuple[float, ...]:
    """Return the discs that some adapter takes a mount of a size to, the smallest first."""
    return tuple(sorted(_adapters(family, end, native)))


def takes(family: Family, end: End, native: float, fitted: float) -> tuple[float, ...]:
    """Return the discs on sale that a mount of a size takes, on an adapter or without, and the fitted one."""
    return tuple(size for size in reachable(family, end, native) if size in disc().sizes or size == fitted)


def _adapters(family: Family, end: End, native: float) -> dict[float, Adapter]:
    """Return the adapters of a mount by the disc they reach."""
    found = {}
    for row in adapter_rows():
        if row.family != family or row.end not in (None, end):
            continue
        for step in row.steps:
            if not row.only or native + step in row.only:
                spread = table().number("adapter_spread", "position") if row.spread else None
                found[native + step] = Adapter(float(step), row.name, row.grade, row.source, spread)
    return found
