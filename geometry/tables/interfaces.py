"""Brake-mount interfaces: rows of a table, or a row that the job brings, resolved for one native size."""

import functools
import math
from collections.abc import Iterable, Mapping
from dataclasses import replace
from pathlib import Path

from geometry.core.errors import TableError
from geometry.core.frozen import dataclass
from geometry.core.plane import triangle_foot
from geometry.core.say import Say, named, say
from geometry.core.tables import (
    Grade,
    Number,
    Open,
    Table,
    hint,
    open_numbers,
    weakest,
)
from geometry.core.tables import table as table_of
from geometry.tables.axles import End
from geometry.tables.interface_rows import (
    Disagreement,
    Family,
    HoleForm,
    Row,
    Screw,
    SecondSet,
    check_row,
    without_end,
)

_FILE = Path(__file__).with_name("interfaces.toml")
AGREEING = 3
"""Makers from whose mounts on a measured row is graded M: below, nobody can tell how far makers lie apart.
Models of one maker do not count apart: they come from one drawing and one jig."""
AGREE_WITHIN = 1.0
"""Half band, mm, beyond which mounts that were measured do not agree: own judgement. The slip that rows are
tried with is as large, and a row that does not show it is worth no grade."""
SAME_SPACING = 1.0
"""How far, mm, a mount's holes may be from as far apart as calipers and adapters of its family are made for,
and those still bolt on: own judgement. Two screws take up 0.3 to 0.5 each in their holes, a reading has an
error, and no two spacings of one family that are known lie as near."""


@dataclass(frozen=True, slots=True)
class Second:
    """How far a second published set puts a mount from the one that is drawn, mm: `up` n and `along` t."""

    up: float
    along: float
    grade: Grade
    source: Say | str

    @property
    def sentence(self) -> Say:
        """Return what is said of the difference."""
        ways = "further" if self.up > 0.0 else "nearer", "up" if self.along > 0.0 else "down"
        return say(
            f"tables.interface.second.{ways[0]}_{ways[1]}",
            height=abs(self.up),
            along=abs(self.along),
            grade=self.grade,
        )


@dataclass(frozen=True, slots=True)
class Interface:
    """A mount for one end and one native size, lengths in mm. `short` is its title without the end.

    `h` is the height of the hole line or mount face, `x_near` and `x_far` the holes along it from the foot
    of the perpendicular; `lateral` is measured from the datum face, + outboard. `grade` is the weakest of
    the numbers that place the mount and `sources` are theirs, each once. `second` is where another
    published set puts the mount, None where none does so elsewhere; `settle` the reading on a factory part
    that would tell which of two published numbers is right, empty where none contradict. `mounts` is how many
    mounts an own row was measured on and `makers` of how many makers they are, None for any other row or
    where nobody says, and `bands` how far its numbers may be off at about 95 %, by their keys.
    """

    name: str
    title: Say | str
    short: Say | str
    family: Family
    end: End
    native: float
    h: float
    x_near: float
    x_far: float
    lateral: Number
    lateral_rests_on_rotor: bool
    tolerance: float | None
    hole: HoleForm
    boss_diameter: Number | None
    boss_length: Number | None
    tab_thickness: Number | None
    screw: Screw
    grade: Grade
    sources: tuple[str, ...]
    provisional: bool
    notes: tuple[Say | str, ...]
    own: bool
    second: Second | None = None
    settle: str = ""
    mounts: int | None = None
    makers: int | None = None
    bands: tuple[tuple[str, float], ...] = ()

    def published(self, key: str) -> tuple[float, float]:
        """Return the band, mm from what is drawn, that holds every published number: (0, 0) where all agree.

        `key` is "height" of the face, "along" for the holes along the mount, or "lateral".
        """
        if key == "lateral":
            place = self.lateral
            others = [each - place.value for each in (place.low, place.high) if each is not None]
        else:
            others = [] if self.second is None else [self.second.up if key == "height" else self.second.along]
        return min(0.0, *others, 0.0), max(0.0, *others, 0.0)

    @property
    def spacing(self) -> float:
        """Return how far apart the holes are, mm."""
        return self.x_far - self.x_near

    @property
    def part(self) -> str:
        """Return what carries a hole: "tab", "post" or "boss"."""
        return {"tab": "tab", "post": "post", "flat": "boss"}[self.family]

    @property
    def radii(self) -> tuple[float, float]:
        """Return the distances from the axle to the near and the far hole in the side view."""
        return math.hypot(self.h, self.x_near), math.hypot(self.h, self.x_far)


@dataclass(frozen=True, slots=True)
class OwnRow:
    """An [interface] row as a job brings it; either `radii` (near, far, spacing) or `line` (h, near, far).

    `mounts`, `makers`, `bands` and `second_source` are of a row that was measured: see Interface.
    """

    name: str
    source: str
    family: Family | None = None
    native: float | None = None
    hole: float | None = None
    tolerance: float | None = None
    lateral: float | None = None
    radii: tuple[float, float, float] | None = None
    line: tuple[float, float, float] | None = None
    mounts: int | None = None
    makers: int | None = None
    bands: tuple[tuple[str, float], ...] = ()
    second_source: str = ""

    @property
    def spacing(self) -> float | None:
        """Return how far apart the holes are, mm; None where the row places none."""
        if self.radii is not None:
            return self.radii[2]
        return None if self.line is None else self.line[2] - self.line[1]

    @property
    def grade(self) -> Grade:
        """Return M where mounts of AGREEING makers were measured, and place each number to AGREE_WITHIN."""
        # Measured as a whole or not at all: one number without a band is the builder's own word.
        keys = {"near", "far", "spacing"} if self.radii is not None else {"h", "x_near", "x_far"}
        # What a shipped row lends sideways was not measured.
        keys.add("lateral")
        bands = dict(self.bands)
        known = keys <= bands.keys() and all(bands[key] <= AGREE_WITHIN for key in keys)
        return "M" if (self.makers or 0) >= AGREEING and known else "own"


@functools.cache
def table() -> Table:
    """Return the table's file as it is read: rows, adapters, discs, sources and checks."""
    return table_of(_FILE)


@functools.cache
def rows() -> Mapping[str, Row]:
    """Return the table's rows by name, in the table's order."""
    found = table().rows("row", Row)
    for row in found:
        check_row(row, f"{_FILE.name}: row {row.name}")
    return {row.name: row for row in found}


def first(family: Family, end: End) -> Row | None:
    """Return the row that a family's calipers and adapters are made for at an end: its first in the table."""
    return next((each for each in rows().values() if each.family == family and end in each.ends), None)


def usual_spacing(family: Family, end: End) -> float | None:
    """Return how far apart the holes are for which a family's calipers and adapters are made, mm."""
    row = first(family, end)
    return None if row is None else row.apart


def takes_usual(family: Family, end: End, spacing: float) -> bool:
    """Tell whether the calipers and adapters that are known for a family bolt to holes so far apart, mm."""
    usual = usual_spacing(family, end)
    # A hundred-thousandth is rounding.
    return usual is not None and abs(spacing - usual) <= SAME_SPACING + 1e-5


@functools.cache
def second_sets() -> Mapping[str, SecondSet]:
    """Return the second published sets by the rows that they are of."""
    return {each.row: each for each in table().rows("second", SecondSet)}


@functools.cache
def disagreements() -> Mapping[str, Disagreement]:
    """Return where rows disagree, by the names that rows give it."""
    return table().parts("disagreements", Disagreement)


def unchecked() -> tuple[Open, ...]:
    """Return the numbers of rows that no second check of another kind bears out."""
    return open_numbers(table(), "row")


def second(name: str, native: float) -> Second | None:
    """Return how far a second published set puts a row from what is drawn; None where none does so.

    Both are paths through one place, along which the mount moves by half of every step in size. What
    differs by less than a hundredth is no difference.
    """
    found, row = second_sets().get(name), rows().get(name)
    if found is None or row is None or row.path is None:
        return None
    half = (native - row.path.native) / 2.0
    ours, other = (math.radians(each.value) for each in (row.path.angle, found.angle))
    up, along = half * (math.sin(other) - math.sin(ours)), half * (math.cos(other) - math.cos(ours))
    if max(abs(up), abs(along)) < 0.01:
        return None
    return Second(up, along, found.angle.grade, found.angle.source)


def no_row(name: str, shown: str, known: Iterable[str]) -> Say:
    """Return what is said of a name that no row has, as it is shown: which may be meant, and all known."""
    names = tuple(known)
    return say("tables.interface.unknown", name=shown, hint=hint(name, names), known=", ".join(names))


def resolve(name: str, end: End, native: float | None, rotor: float, own: OwnRow | None = None) -> Interface:
    """Return the interface for a job; raise TableError where neither table nor job has the numbers.

    `native` None takes the row's only size, or else the disc fitted. An own row's numbers replace the
    table's; its lateral and hole fall back to the table's row of the same name, and a note says so.
    """
    row = rows().get(name)
    if own is not None:
        return _own(own, row, end, native, rotor)
    if row is None:
        raise TableError.at("mount.interface", no_row(name, repr(name), rows()))
    _check_end(row, end)
    size = _native(row, native, rotor)
    h, x_near, x_far, used, tolerance, notes = _position(row, size)
    lateral = row.lateral[end]
    used = (*used, lateral.number)
    other = second(name, size)
    if other is not None:
        notes += (other.sentence,)
    conflict = disagreements().get(row.disagrees)
    if conflict is not None:
        notes += (conflict.said,)
    return Interface(
        name=name,
        title=row.title,
        short=without_end(row),
        family=row.family,
        end=end,
        native=size,
        h=h,
        x_near=x_near,
        x_far=x_far,
        lateral=lateral.number,
        lateral_rests_on_rotor=lateral.rests_on == "rotor",
        tolerance=tolerance,
        hole=row.hole,
        boss_diameter=row.boss.get("diameter"),
        boss_length=row.boss.get("length"),
        tab_thickness=row.boss.get("thickness"),
        screw=row.screw,
        grade=weakest(entry.grade for entry in used),
        sources=tuple(dict.fromkeys(str(entry.source) for entry in used)),
        provisional=row.provisional,
        notes=tuple(note for note in (*notes, row.note) if note),
        own=False,
        second=other,
        settle="" if conflict is None else conflict.settle,
    )


def _check_end(row: Row, end: End) -> None:
    if end not in row.ends:
        alike = first(row.family, end)
        other = "" if alike is None else alike.name
        code = "tables.interface.other_end" if other else "tables.interface.no_end"
        belongs = tuple(named(each) for each in row.ends)
        told = say(code, name=row.name, belongs=belongs, end=end, other=other)
        raise TableError.at("mount.interface", told)


def _native(row: Row, native: float | None, rotor: float) -> float:
    sizes, where = row.sizes, "mount.native"
    if native is None:
        native = sizes[0] if len(sizes) == 1 else rotor
        where = "mount.native" if len(sizes) == 1 else "mount.rotor"
    if row.path is not None:
        if not row.path.from_ <= native <= row.path.to:
            ends = {"least": row.path.from_, "most": row.path.to}
            raise TableError.at(where, say("tables.interface.outside", native=native, name=row.name, **ends))
    elif native not in sizes:
        listed = ", ".join(f"{size:g}" for size in sizes)
        raise TableError.at(
            where, say("tables.interface.no_size", name=row.name, native=native, sizes=listed)
        )
    return native


def place(row: Row, native: float) -> tuple[float, float, float]:
    """Return a row's h, x near and x far at one of its native sizes, mm; TableError for no triangle."""
    return _position(row, native)[:3]


def _position(
    row: Row, native: float
) -> tuple[float, float, float, tuple[Number, ...], float | None, tuple[Say | str, ...]]:
    """Return h, x near, x far, the numbers used, the radii's tolerance, and notes that hold at this size."""
    if row.radii is not None:
        near, far, spacing = row.radii.near, row.radii.far, row.radii.spacing
        x_near, h = triangle_foot(near.value, far.value, spacing.value, row.name)
        return h, x_near, x_near + spacing.value, (near, far, spacing), near.tolerance, ()
    spacing = row.hole_spacing
    if row.path is not None:
        path = row.path
        half = (native - path.native) / 2.0
        h = path.h.value + half * math.sin(math.radians(path.angle.value))
        x_near = path.x_near.value + half * math.cos(math.radians(path.angle.value))
        used = path.angle, path.h, path.x_near, spacing
        return h, x_near, x_near + spacing.value, used, path.h.tolerance, ()
    at = row.at[f"{native:g}"]
    notes: tuple[Say | str, ...] = (at.note,)
    for key, entry in (("height", at.h), ("near", at.x_near)):
        if entry.low is not None and entry.high is not None:
            notes += (say(f"tables.interface.band.{key}", low=entry.low, high=entry.high),)
    h, x_near = at.h.value, at.x_near.value
    return h, x_near, x_near + spacing.value, (at.h, at.x_near, spacing), at.h.tolerance, notes


def _twin(family: Family, end: End, spacing: float | None) -> Row:
    """Return the shipped row whose holes lie apart most like an own row's; the first one where none do."""
    known = [each for each in rows().values() if each.family == family and end in each.ends]
    return known[0] if spacing is None else min(known, key=lambda each: abs(each.apart - spacing))


def _own(own: OwnRow, row: Row | None, end: End, native: float | None, rotor: float) -> Interface:
    """Return the job's own row as an interface, completed from the table's row of the same name."""
    if row is not None:
        _check_end(row, end)
    family: Family | None = own.family or (row.family if row else None)
    if family is None:
        raise TableError.at("interface.family", say("tables.interface.no_family"))
    if row is not None and family != row.family:
        told = say("tables.interface.other_family", family=family, name=own.name, is_one=row.family)
        raise TableError.at("interface.family", told)
    twin = row or _twin(family, end, own.spacing)
    sizes = row.sizes if row else ()
    size = native or own.native or (sizes[0] if len(sizes) == 1 else rotor)
    base = resolve(twin.name, end, twin.nearest(size), rotor)
    notes: list[Say | str] = []
    lateral = base.lateral
    if own.lateral is not None:
        lateral = Number(own.lateral, own.grade, own.source)
    elif row is None:
        raise TableError.at("interface.lateral", say("tables.interface.no_lateral"))
    else:
        notes.append(say("tables.interface.table_lateral"))
    hole = base.hole
    if own.hole is not None:
        hole = replace(hole, diameter=Number(own.hole, "own", own.source))
    else:
        notes.append(say("tables.interface.table_hole", family=family, hole=hole.diameter.value))
    if own.radii is not None:
        near, far, spacing = own.radii
        x_near, h = triangle_foot(near, far, spacing, "interface")
        x_far = x_near + spacing
    elif own.line is not None:
        h, x_near, x_far = own.line
    else:
        raise TableError.at("interface", say("tables.interface.no_place"))
    placed: list[Number] = [Number(h, own.grade, own.source), lateral]
    kind = named(f"{family}-mount")
    return replace(
        base,
        name=own.name,
        title=base.title if row else say("tables.interface.own", mount=kind, end=named(end)),
        short=base.short if row else say("tables.interface.own_short", mount=kind),
        native=float(size),
        h=h,
        x_near=x_near,
        x_far=x_far,
        lateral=lateral,
        lateral_rests_on_rotor=base.lateral_rests_on_rotor and own.lateral is None,
        tolerance=own.tolerance,
        hole=hole,
        grade=weakest(entry.grade for entry in placed),
        sources=tuple(
            dict.fromkeys(each for each in (own.source, own.second_source, str(lateral.source)) if each)
        ),
        provisional=False,
        notes=tuple(notes),
        own=True,
        second=None,
        settle="",
        mounts=own.mounts,
        makers=own.makers,
        bands=own.bands,
    )
