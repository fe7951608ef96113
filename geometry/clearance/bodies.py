"""The solids about a mount: the room its caliper takes, the keys' corridors, posts, and the disc's screws.

Sizes that no drawing gives stand in caliper.toml with their grades, nearly all of them remembered (D); a
job's own caliper takes their place. Lengths are mm, points (x, y, z) in the axes of the package.
"""

import functools
import math
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path

from geometry.clearance.convex import Solid, Space, block, disc_solid, moved, rod
from geometry.core.errors import TableError
from geometry.core.frozen import dataclass
from geometry.core.plane import Point, along, polar
from geometry.core.say import Say, also, say
from geometry.core.tables import Grade, Number, Table, table, weakest
from geometry.mount.placement import Placement, Rotor
from geometry.tables.adapters import disc
from geometry.tables.axles import End
from geometry.tables.fasteners import head_room, screw
from geometry.tables.interface_rows import Family
from geometry.tables.interfaces import takes_usual, usual_spacing

_FILE = Path(__file__).with_name("caliper.toml")
_AXLE = 60.0
"""How far the axle is taken to go either way from the dropout's inner face, mm: past every mount."""
_SIZES = ("length", "height", "depth", "offset", "inboard", "outboard")


@dataclass(frozen=True, slots=True)
class OwnCaliper:
    """A caliper as its owner measured it, mm; None takes the table's number for the family."""

    length: float
    height: float
    inboard: float
    outboard: float
    depth: float | None = None
    offset: float | None = None
    pad_height: float | None = None
    track: float | None = None


@dataclass(frozen=True, slots=True)
class Caliper:
    """The box that a caliper takes, from its seat, and its pads, mm (see caliper.toml for each).

    `own` where a job gave the box, `known` where it is that of a caliper for such holes, and not one that is
    taken in its place; `grade` is the weakest of the sizes that make it.
    """

    length: float
    height: float
    depth: float
    offset: float
    inboard: float
    outboard: float
    pad: float
    pad_height: Number
    track: Number
    bridge: Number
    bridge_length: Number
    own: bool
    known: bool
    grade: Grade
    source: Say | str


@dataclass(frozen=True, slots=True)
class Heads:
    """The disc's screws as their owner measured them, or a lock ring in their place, mm.

    `across` is the circle that they sweep, over the heads; `high` how far they stand past the disc's outer
    face.
    """

    across: float
    high: float


@dataclass(frozen=True, slots=True)
class Seat:
    """Where the caliper bolts down, `along` t and `up` n from the axle, and its pads' middle (x, y)."""

    along: float
    up: float
    pad: Point


@dataclass(frozen=True, slots=True)
class Corridor:
    """The way of a key to a screw's head: the rod that must be free, or None with what is missing."""

    screw: str
    rod: Solid | None
    missing: str
    grade: Grade


@dataclass(frozen=True, slots=True)
class Room:
    """The room of a kind of caliper as caliper.toml has it, mm and degrees; its head says what each is."""

    name: str
    length: Number
    offset: Number
    height: Number
    depth: Number
    inboard: Number
    outboard: Number
    along: Number
    up: Number
    pad: Number
    pads_least: Number | None = None
    pads_most: Number | None = None
    turned: Mapping[str, Number] | None = None


@functools.cache
def _table() -> Table:
    return table(_FILE)


@functools.cache
def rooms() -> dict[str, Room]:
    """Return the room of every kind of caliper by its name in the table."""
    return {each.name: each for each in _table().rows("room", Room)}


def entry(part: str, key: str) -> Number:
    """Return a number of the table, such as entry("limits", "rotor")."""
    return _table().number(part, key)


def room_of(name: str, family: Family, end: End) -> Room:
    """Return the room of the caliper on a row: one of the row's name, or else its family's."""
    return rooms().get(name) or rooms()[f"flat-{end}" if family == "flat" else family]


def is_known(room: Room, name: str, family: Family, end: End, spacing: float) -> bool:
    """Tell whether a room is that of a caliper for holes so far apart, mm, and not one taken in its place."""
    return room.name == name or takes_usual(family, end, spacing)


def _room(placement: Placement) -> Room:
    """Return the room of a mount's caliper; one for other holes is taken longer by as much as they differ.

    It is never taken shorter: nothing is known of a caliper for such holes.
    """
    face = placement.interface
    room = room_of(face.name, face.family, face.end)
    usual = usual_spacing(face.family, face.end)
    if usual is None or is_known(room, face.name, face.family, face.end, face.spacing):
        return room
    more = max(0.0, face.spacing - usual)
    told = say("clearance.caliper_longer", spacing=face.spacing, usual=usual)
    return replace(room, length=Number(room.length.value + more, "D", told))


def caliper(placement: Placement, own: OwnCaliper | None = None) -> Caliper:
    """Return the caliper's room for a mount: the job's own, or the table's for its family."""
    face, room = placement.interface, _room(placement)
    sizes: dict[str, Number] = {}
    for key in _SIZES:
        given = None if own is None else getattr(own, key)
        if given is None and own is not None and key == "offset":
            given = 0.0
        of_table: Number = getattr(room, key)
        sizes[key] = of_table if given is None else Number(given, "own", say("clearance.own_caliper"))
    told = {
        key: Number(given, "own", say("clearance.own_caliper"))
        for key in ("pad_height", "track")
        if own is not None and (given := getattr(own, key)) is not None
    }
    return Caliper(
        **{key: size.value for key, size in sizes.items()},
        pad=room.pad.value,
        pad_height=told.get("pad_height", entry("pads", "height")),
        track=told.get("track", disc().track),
        bridge=entry("pads", "bridge"),
        bridge_length=entry("pads", "bridge_length"),
        own=own is not None,
        known=own is not None or is_known(room, face.name, face.family, face.end, face.spacing),
        grade=weakest(size.grade for size in sizes.values()),
        source=also(size.source for size in sizes.values()),
    )


def seat(placement: Placement, room: Caliper) -> Seat:
    """Return where the caliper sits for the disc fitted.

    An adapter carries it out from the axle by half the step in size. A front flat mount's plate, turned end
    for end, moves it along instead; beyond the discs that the plate serves it is taken as the larger one's.
    """
    face, kind = placement.interface, _room(placement)
    x = (face.x_near + face.x_far) / 2.0 + kind.along.value
    up = face.h + kind.up.value
    step = placement.rotor.radius - face.native / 2.0
    if kind.turned is not None:
        x += kind.turned["140" if placement.rotor.radius <= 70.0 else "160"].value
    elif step != 0.0:
        out = math.hypot(x, up + room.pad)
        x, up = x + step * x / out, up + step * (up + room.pad) / out
    return Seat(x, up, along((0.0, 0.0), (x, placement.t), (up + room.pad, placement.n)))


def tab_band() -> tuple[Number, Number]:
    """Return between which directions a tab's pads may lie, degrees from up the hole line to its mount side.

    No drawing was found of where a caliper sits on a tab.
    """
    tab = rooms()["tab"]
    if tab.pads_least is None or tab.pads_most is None:
        raise TableError.at(f"{_FILE.name}: room.pads_least", say("tables.missing"))
    return tab.pads_least, tab.pads_most


def tab_pads(placement: Placement) -> tuple[Point, ...]:
    """Return the directions, from the axle, in which a tab's pads may lie too; none for other mounts.

    They are a degree apart. What a job says of its caliper does not change them.
    """
    if placement.interface.family != "tab":
        return ()
    least, most = (each.value for each in tab_band())
    count = math.ceil(most - least)
    turns = (polar(least + (most - least) * i / count) for i in range(count + 1))
    return tuple(along((0.0, 0.0), (x, placement.t), (up, placement.n)) for x, up in turns)


def room_solid(placement: Placement, room: Caliper) -> Solid | None:
    """Return the caliper's box in space; None where the disc's place is not known."""
    middle = _disc_middle(placement.rotor)
    if middle is None:
        return None
    at = seat(placement, room)
    t, n = (*placement.t, 0.0), (*placement.n, 0.0)
    half_up, half_z = (room.height + room.depth) / 2.0, (room.inboard + room.outboard) / 2.0
    centre: Space = (0.0, 0.0, middle + (room.outboard - room.inboard) / 2.0)
    centre = moved(centre, at.along + room.offset, t)
    centre = moved(centre, at.up + (room.height - room.depth) / 2.0, n)
    halves = (_times(room.length / 2.0, t), _times(half_up, n), (0.0, 0.0, half_z))
    return block(centre, halves)


def corridors(
    placement: Placement, *, boss_length: float | None = None, tab_thickness: float | None = None
) -> tuple[Corridor, ...]:
    """Return each screw's corridor: as wide as its largest head, as long as a key's short arm.

    It begins where the head sits: on the caliper's ear over a post, on the plate over a front flat mount, on
    a tab's outer face, and under the stay, `boss_length` from the mount face, for a rear flat mount.
    """
    face = placement.interface
    one = screw(face.hole.screw)
    key = entry("keys", one.name)
    radius = head_room(one)[0].value / 2.0
    away: float | None
    missing, size = "", Number(0.0, "own", "")
    if face.screw == "-z":
        size = face.tab_thickness or size
        away = tab_thickness if tab_thickness is not None else size.value if face.tab_thickness else None
        missing = "" if away is not None else "boss.thickness"
    elif face.screw == "+n":
        away, missing = boss_length, "" if boss_length is not None else "boss.length"
    else:
        size = entry("keys", "plate" if face.family == "flat" else "ear")
        away = size.value
    found = []
    for hole in placement.holes:
        way = (-hole.axis[0], -hole.axis[1], -hole.axis[2])
        solid = None if away is None else rod(moved(hole.centre, away, way), way, key.value, radius)
        found.append(Corridor(hole.name, solid, missing, weakest([key.grade, size.grade])))
    return tuple(found)


def bosses(
    placement: Placement, diameter: float, lengths: Mapping[str, float]
) -> tuple[tuple[str, Solid], ...]:
    """Return posts or bosses from the mount face down, or a tab's eyes about its holes, mm.

    `lengths` gives each by its hole's name, "near" and "far"; a tab's is its thickness.
    """
    solids = []
    for hole in placement.holes:
        down = (0.0, 0.0, 1.0) if placement.interface.family == "tab" else _times(-1.0, (*placement.n, 0.0))
        solids.append((hole.name, rod(hole.centre, down, lengths[hole.name], diameter / 2.0)))
    return tuple(solids)


def disc_body(rotor: Rotor) -> Solid | None:
    """Return the disc as a solid; None where its place is not known."""
    if rotor.inner_face_z is None or rotor.outer_face_z is None:
        return None
    return disc_solid(rotor.radius, rotor.inner_face_z, rotor.outer_face_z)


def bolt_ring(rotor: Rotor, own: Heads | None = None) -> Solid | None:
    """Return what the disc's screws sweep as it turns; None where the disc's place is not known.

    A hub with a lock ring has less; without own numbers the screws of a six-bolt hub are taken.
    """
    if rotor.inner_face_z is None or rotor.outer_face_z is None:
        return None
    circle = entry("bolts", "circle").value + entry("bolts", "head").value
    across, high = (circle, entry("bolts", "height").value) if own is None else (own.across, own.high)
    return disc_solid(across / 2.0, rotor.inner_face_z, rotor.outer_face_z + high)


def axle_bodies(placement: Placement, dummy: float | None) -> tuple[tuple[str, Solid], ...]:
    """Return what fills the dropout about the axle: the dummy axle while it is built, the hub's end later.

    Each comes with its key in names. The dummy axle goes through; the hub's end reaches out to where it
    seats, the pocket's floor.
    """
    end = entry("hub", "end").value / 2.0
    found = [("hub-end", disc_solid(end, -_AXLE, placement.pocket))]
    if dummy is not None:
        found.append(("dummy-axle", disc_solid(dummy / 2.0, -_AXLE, _AXLE)))
    return tuple(found)


def _disc_middle(rotor: Rotor) -> float | None:
    if rotor.inner_face_z is None or rotor.outer_face_z is None:
        return None
    return (rotor.inner_face_z + rotor.outer_face_z) / 2.0


def _times(length: float, way: Space) -> Space:
    return moved((0.0, 0.0, 0.0), length, way)
