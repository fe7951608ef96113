"""Adapters and discs: what takes a mount from the size it is made for to the disc fitted."""

import functools
from dataclasses import replace

from geometry.core.errors import TableError
from geometry.core.frozen import dataclass
from geometry.core.say import Say, named, say
from geometry.core.tables import Grade, Number, Source
from geometry.tables.axles import End
from geometry.tables.interface_rows import Family
from geometry.tables.interfaces import Interface, table, takes_usual, usual_spacing


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
    """An adapter as the table has it: its steps in mm, at one `end` or both, to all discs or `only` some.

    It bolts to the holes that its family is known for (see `first`), or to those of one `row`.
    """

    family: Family
    row: str = ""
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


@dataclass(frozen=True, slots=True)
class Bolts:
    """What decides which adapter bolts to a mount: family, end, row, and how far apart its holes are, mm.

    `spacing` None is the family's usual one, as that of a mount that nobody measured yet.
    """

    family: Family
    end: End
    spacing: float | None = None
    name: str = ""


def bolts(form: Interface) -> Bolts:
    """Return what decides which adapter bolts to an interface."""
    return Bolts(form.family, form.end, form.spacing, form.name)


def adapter(mount: Bolts, native: float, rotor: float) -> Adapter:
    """Return what takes the mount to the disc; raise TableError, naming the reachable discs, for none."""
    found = _adapters(mount, native)
    if rotor in found:
        return found[rotor]
    kind, usual = named(f"{mount.family}-mount"), usual_spacing(mount.family, mount.end)
    reach = ", ".join(f"{size:g}" for size in reachable(mount, native))
    if mount.spacing is None or usual is None or takes_usual(mount.family, mount.end, mount.spacing):
        told = say(
            "tables.adapter.none", mount=kind, native=native, rotor=rotor, step=rotor - native, reach=reach
        )
    else:
        told = say(
            "tables.adapter.other_spacing",
            mount=kind,
            spacing=mount.spacing,
            usual=usual,
            native=native,
            rotor=rotor,
            reach=reach,
        )
    raise TableError.at("mount.rotor", told)


def reachable(mount: Bolts, native: float) -> tuple[float, ...]:
    """Return the discs that some adapter takes a mount of a size to, the smallest first."""
    return tuple(sorted(_adapters(mount, native)))


def takes(mount: Bolts, native: float, fitted: float) -> tuple[float, ...]:
    """Return the discs on sale that a mount of a size takes, on an adapter or without, and the fitted one."""
    return tuple(size for size in reachable(mount, native) if size in disc().sizes or size == fitted)


def _adapters(mount: Bolts, native: float) -> dict[float, Adapter]:
    """Return the adapters of a mount by the disc they reach."""
    found = {}
    for row in adapter_rows():
        if row.family != mount.family or row.end not in (None, mount.end):
            continue
        for step in row.steps:
            if _bolts_on(row, mount, step) and (not row.only or native + step in row.only):
                spread = table().number("adapter_spread", "position") if row.spread else None
                found[native + step] = Adapter(float(step), row.name, row.grade, row.source, spread)
    return found


def _bolts_on(row: AdapterRow, mount: Bolts, step: int) -> bool:
    if row.row:
        return row.row == mount.name
    # Whatever its holes, a mount takes the disc that it is made for, as its family does.
    return step == 0 or mount.spacing is None or takes_usual(mount.family, mount.end, mount.spacing)
