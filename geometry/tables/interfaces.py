"""Brake-mount interfaces: rows of a table, or a row that the job brings, resolved for one native size."""

import functools
import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, Literal

from geometry.core.errors import TableError
from geometry.core.plane import triangle_foot
from geometry.core.say import Say, named, say
from geometry.core.tables import Grade, Number, Open, hint, load, number, open_numbers, weakest
from geometry.tables.axles import End

Family = Literal["tab", "post", "flat"]
Screw = Literal["-z", "+n", "-n"]
HoleKind = Literal["plain", "thread", "slot"]
_FILE = Path(__file__).with_name("interfaces.toml")


@dataclass(frozen=True, slots=True)
class HoleForm:
    """What is made at each hole: `diameter` is the drill's, or a slot's width; `length` a slot's, overall."""

    kind: HoleKind
    diameter: Number
    length: float | None
    screw: str


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
    mounts an own row was measured on, None for any other row, and `bands` how far its numbers may be off at
    about 95 %, by their keys.
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

    `mounts`, `bands` and `second_source` are of a row that was measured: see Interface.
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
    bands: tuple[tuple[str, float], ...] = ()
    second_source: str = ""


@functools.cache
def table() -> dict[str, Any]:
    """Return the table's file as it is read: rows, adapters, discs, sources and checks."""
    return load(_FILE)


@functools.cache
def rows() -> Mapping[str, dict[str, Any]]:
    """Return the table's raw rows by name, in the table's order."""
    return {row["name"]: row for row in table()["row"]}


def unchecked() -> tuple[Open, ...]:
    """Return the numbers of rows that no second check of another kind bears out."""
    return open_numbers(table(), "row")


def second(name: str, native: float) -> Second | None:
    """Return how far a second published set puts a row from what is drawn; None where none does so.

    Both are paths through one place, along which the mount moves by half of every step in size. What
    differs by less than a hundredth is no difference.
    """
    found = next((each for each in table()["second"] if each["row"] == name), None)
    row = rows().get(name)
    if found is None or row is None:
        return None
    angle = number(found["angle"], table()["sources"], f"{name}.second.angle")
    half = (native - row["path"]["native"]) / 2.0
    ours, other = (math.radians(each) for each in (row["path"]["angle"]["value"], angle.value))
    up, along = half * (math.sin(other) - math.sin(ours)), half * (math.cos(other) - math.cos(ours))
    if max(abs(up), abs(along)) < 0.01:
        return None
    return Second(up, along, angle.grade, angle.source)


def no_row(name: str, shown: str, known: Iterable[str]) -> Say:
    """Return what is said of a name that no row has, as it is shown: which may be meant, and all known."""
    names = tuple(known)
    return say("tables.interface.unknown", name=shown, hint=hint(name, names), known=", ".join(names))


def natives(name: str) -> tuple[float, ...] | tuple[float, float]:
    """Return the native sizes of a row: each of them, or for a row with a path its (smallest, largest)."""
    row = rows()[name]
    if "path" in row:
        return float(row["path"]["from"]), float(row["path"]["to"])
    return tuple(float(size) for size in row.get("native", row.get("at", {})))


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
    lateral = _entry(row["lateral"][end], f"{name}.lateral")
    used = (*used, lateral)
    other = second(name, size)
    if other is not None:
        notes += (other.sentence,)
    conflict = table()["disagreements"].get(row.get("disagrees"), {})
    if conflict:
        notes += (conflict["said"],)
    return Interface(
        name=name,
        title=row["title"],
        # Titles of rows for one end name it last, as their key has it.
        short=row["title"].removesuffix(f", {end}"),
        family=row["family"],
        end=end,
        native=size,
        h=h,
        x_near=x_near,
        x_far=x_far,
        lateral=lateral,
        lateral_rests_on_rotor=row["lateral"][end].get("rests_on") == "rotor",
        tolerance=tolerance,
        hole=_hole(row),
        boss_diameter=_boss(row, "diameter"),
        boss_length=_boss(row, "length"),
        tab_thickness=_boss(row, "thickness"),
        screw=row["screw"],
        grade=weakest(entry.grade for entry in used),
        sources=tuple(dict.fromkeys(str(entry.source) for entry in used)),
        provisional=row.get("provisional", False),
        notes=tuple(note for note in (row["note"], *notes) if note),
        own=False,
        second=other,
        settle=conflict.get("settle", ""),
    )


def _check_end(row: dict[str, Any], end: End) -> None:
    if end not in row["ends"]:
        alike = (name for name, each in rows().items() if each["family"] == row["family"])
        other = next((name for name in alike if end in rows()[name]["ends"]), "")
        code = "tables.interface.other_end" if other else "tables.interface.no_end"
        belongs = tuple(named(each) for each in row["ends"])
        told = say(code, name=row["name"], belongs=belongs, end=end, other=other)
        raise TableError.at("mount.interface", told)


def _native(row: dict[str, Any], native: float | None, rotor: float) -> float:
    sizes = natives(row["name"])
    if native is None:
        native = sizes[0] if len(sizes) == 1 else rotor
        where = "mount.native" if len(sizes) == 1 else "mount.rotor"
    else:
        where = "mount.native"
    if "path" in row:
        if not sizes[0] <= native <= sizes[-1]:
            told = say(
                "tables.interface.outside", native=native, name=row["name"], least=sizes[0], most=sizes[-1]
            )
            raise TableError.at(where, told)
    elif native not in sizes:
        listed = ", ".join(f"{size:g}" for size in sizes)
        told = say("tables.interface.no_size", name=row["name"], native=native, sizes=listed)
        raise TableError.at(where, told)
    return native


def _entry(raw: Mapping[str, Any], where: str) -> Number:
    return number(raw, table()["sources"], where, table()["checks"])


def _position(
    row: dict[str, Any], native: float
) -> tuple[float, float, float, tuple[Number, ...], float | None, tuple[Say | str, ...]]:
    """Return h, x near, x far, the numbers used, the radii's tolerance, and notes that hold at this size."""
    name = row["name"]
    if "radii" in row:
        near, far, spacing = (
            _entry(row["radii"][key], f"{name}.{key}") for key in ("near", "far", "spacing")
        )
        x_near, h = triangle_foot(near.value, far.value, spacing.value, name)
        return h, x_near, x_near + spacing.value, (near, far, spacing), near.tolerance, ()
    spacing = _entry(row["spacing"], f"{name}.spacing")
    if "path" in row:
        path = row["path"]
        angle, h0, x0 = (_entry(path[key], f"{name}.{key}") for key in ("angle", "h", "x_near"))
        half = (native - path["native"]) / 2.0
        h = h0.value + half * math.sin(math.radians(angle.value))
        x_near = x0.value + half * math.cos(math.radians(angle.value))
        return h, x_near, x_near + spacing.value, (angle, h0, x0, spacing), h0.tolerance, ()
    at = row["at"][f"{native:g}"]
    h_at, x_at = (_entry(at[key], f"{name}.{native:g}.{key}") for key in ("h", "x_near"))
    notes: tuple[Say | str, ...] = (at["note"],) if "note" in at else ()
    for key, entry in (("height", h_at), ("near", x_at)):
        if entry.low is not None and entry.high is not None:
            notes += (say(f"tables.interface.band.{key}", low=entry.low, high=entry.high),)
    return h_at.value, x_at.value, x_at.value + spacing.value, (h_at, x_at, spacing), h_at.tolerance, notes


def _hole(row: dict[str, Any]) -> HoleForm:
    raw = row["hole"]
    return HoleForm(raw["kind"], _entry(raw, f"{row['name']}.hole"), raw.get("length"), raw["screw"])


def _boss(row: dict[str, Any], key: str) -> Number | None:
    raw = row.get("boss", {}).get(key)
    return _entry(raw, f"{row['name']}.boss.{key}") if raw else None


def _own(own: OwnRow, row: dict[str, Any] | None, end: End, native: float | None, rotor: float) -> Interface:
    """Return the job's own row as an interface, completed from the table's row of the same name."""
    if row is not None:
        _check_end(row, end)
    family: Family | None = own.family or (row["family"] if row else None)
    if family is None:
        raise TableError.at("interface.family", say("tables.interface.no_family"))
    if row is not None and family != row["family"]:
        told = say("tables.interface.other_family", family=family, name=own.name, is_one=row["family"])
        raise TableError.at("interface.family", told)
    twin = row or next(each for each in rows().values() if each["family"] == family and end in each["ends"])
    sizes = natives(row["name"]) if row else ()
    size = native or own.native or (sizes[0] if len(sizes) == 1 else rotor)
    base = resolve(twin["name"], end, _any_native(twin, size), rotor)
    notes: list[Say | str] = []
    lateral = base.lateral
    if own.lateral is not None:
        lateral = Number(own.lateral, "own", own.source)
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
    placed: list[Number] = [Number(h, "own", own.source), lateral]
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
        bands=own.bands,
    )


def _any_native(row: dict[str, Any], wanted: float) -> float:
    """Return a native size for which the row has numbers; an own row replaces them, so any will do."""
    sizes = natives(row["name"])
    if "path" in row:
        return min(max(wanted, sizes[0]), sizes[-1])
    return min(sizes, key=lambda size: abs(size - wanted))
