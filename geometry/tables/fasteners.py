"""Screws for brake mounts: holes, head room, washers, engagement, torque and lengths, each with a source."""

import functools
from collections.abc import Mapping
from pathlib import Path

from geometry.core.errors import GeometryError, TableError
from geometry.core.frozen import dataclass
from geometry.core.say import Say, Value, say
from geometry.core.tables import Grade, Itself, Number, Table, table, unknown

_FILE = Path(__file__).with_name("fasteners.toml")


@dataclass(frozen=True, slots=True)
class Washer:
    """A plain washer, mm."""

    bore: Number
    outside: Number
    thickness: Number


@dataclass(frozen=True, slots=True)
class Screw:
    """A socket-head screw and the holes for it, mm.

    `clearance` has fine, medium and coarse; `head` is the largest plain head's diameter and `head_knurled`
    the largest knurled one's; `key` is the hexagon's width across flats.
    """

    name: str
    diameter: float
    pitch: Number
    tap_drill: Number
    clearance: Mapping[str, Number]
    head: Number
    head_knurled: Number
    head_height: Number
    key: Number
    socket_depth: Number
    washer: Washer


@dataclass(frozen=True, slots=True)
class Thread:
    """How small a screw's thread may be outside, and the most that it moves across in a tapped hole, mm."""

    name: str
    outside: Number
    slack: Number


@dataclass(frozen=True, slots=True)
class _Rule:
    materials: tuple[str, ...]
    diameters: Itself


@dataclass(frozen=True, slots=True)
class Engagement:
    """How much thread a screw needs, mm: at least `length`; `low` and `high` where practice gives a range."""

    length: float
    low: float
    high: float
    grade: Grade
    source: Say | str


@dataclass(frozen=True, slots=True)
class Torque:
    """One maker's published range in N m, and what says whose figure governs."""

    low: Number
    high: Number
    sentence: Say


@dataclass(frozen=True, slots=True)
class FlatScrew:
    """The rear flat mount's screw, mm: the frame that it is made for, its length under the head, and packing.

    `made_for` is that frame's thickness, `packing` what goes under the head on a thinner one, and `beyond`
    how far the shank then stands past the mount face.
    """

    made_for: int
    shank: float
    packing: float
    beyond: float
    grade: Grade
    source: Say | str
    sentence: Say


@dataclass(frozen=True, slots=True)
class Length:
    """A screw's length from its stack, mm: the least, and one in stock, None where none is so long."""

    least: float
    stock: float | None
    sentence: Say


@functools.cache
def _table() -> Table:
    return table(_FILE)


@functools.cache
def screws() -> dict[str, Screw]:
    """Return every screw by name, in the table's order."""
    return {each.name: each for each in _table().rows("screw", Screw)}


def screw(name: str) -> Screw:
    """Return one screw; raise TableError naming those in the table where there is none."""
    if name not in screws():
        raise TableError.at(say("tables.screw.where"), unknown(name, screws()))
    return screws()[name]


def thread(name: str) -> Thread:
    """Return the limits of a screw's thread; raise TableError where there are none on file."""
    for each in _table().rows("thread", Thread):
        if each.name == name:
            return each
    raise TableError.at(say("tables.screw.where"), say("tables.screw.no_thread", name=name))


def engagement(fastener: Screw, material: str) -> Engagement:
    """Return how deep a screw must hold in a material; the weaker of screw and hole governs.

    Raise TableError for a material that no rule is on file for.
    """
    rules = _table().rows("engagement", _Rule)
    for row in rules:
        if material in row.materials:
            rule = row.diameters
            d = fastener.diameter
            low, high = (d * (rule.value if end is None else end) for end in (rule.low, rule.high))
            return Engagement(d * rule.value, low, high, rule.grade, rule.source)
    known = [name for row in rules for name in row.materials]
    raise TableError.at(
        "process.material", say("tables.screw.no_rule", material=material, known=", ".join(known))
    )


def torque() -> Torque:
    """Return the torque range on file for caliper and adapter screws; it is a reference, not the rule."""
    low, high = (_table().number("torque", key) for key in ("low", "high"))
    return Torque(low, high, say("tables.screw.torque", low=low.value, high=high.value))


def flat_screw(thickness: float) -> FlatScrew:
    """Return the rear flat mount's screw for what it passes through, mm.

    Screws are made for frames in steps of 5. The shank is the frame's thickness plus 13 and must stand 13
    past the mount face: too short it holds too little, too long it bends the retaining tip and leaves the
    brake loose. So a thickness between two steps takes the next larger screw, packed under the head by the
    difference; up to 0.2 above a step it takes that step's. Raise GeometryError where no screw is on sale.
    """
    rule = _table().number("flat_rear", "beyond")
    slack = _table().number("flat_rear", "slack").value
    frames = tuple(map(int, _table().values("flat_rear", "thicknesses")))
    if not frames[0] - slack <= thickness <= frames[-1] + slack:
        short = frames[0] - thickness
        code = "tables.screw.too_thin" if short > 0.0 else "tables.screw.too_thick"
        by = max(short, thickness - frames[-1])
        told = say(code, thickness=thickness, least=frames[0], most=frames[-1], by=by)
        raise GeometryError.at("boss.length", told)
    made_for = next(frame for frame in frames if thickness <= frame + slack)
    packing = max(0.0, made_for - thickness)
    packing = 0.0 if packing <= slack else packing
    shank = made_for + rule.value
    code = "tables.screw.flat_packed" if packing else "tables.screw.flat"
    told = say(code, thickness=thickness, made_for=made_for, shank=shank, packing=packing)
    return FlatScrew(made_for, shank, packing, shank - thickness - packing, rule.grade, rule.source, told)


def screw_length(fastener: Screw, grip: float | None, needed: Engagement) -> Length | None:
    """Return a screw's length from its stack, mm: what it clamps, a washer, and the thread it needs.

    `grip` is the caliper's ear, with any adapter; None where nobody has measured it, and then there is no
    length to give (None). How deep the hole is nobody knows here, and the sentence says so.
    """
    if grip is None:
        return None
    washer = fastener.washer.thickness.value
    least = grip + washer + needed.length
    stock = next((each for each in _table().values("stock", "lengths") if least - 1e-9 <= each), None)
    parts: dict[str, Value] = {"name": fastener.name, "grip": grip, "washer": washer, "least": least}
    parts["thread"] = needed.length
    if stock is None:
        return Length(least, None, say("tables.screw.no_length", **parts))
    return Length(least, stock, say("tables.screw.length", **parts, stock=stock))


def head_room(fastener: Screw) -> tuple[Number, Number]:
    """Return the diameter and the height to keep free for the largest head, the knurled one, mm."""
    return fastener.head_knurled, fastener.head_height
