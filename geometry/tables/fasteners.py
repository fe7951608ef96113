"""Screws for brake mounts: holes, head room, washers, engagement, torque and lengths, each with a source."""

import functools
import math
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from geometry.core.errors import GeometryError, TableError
from geometry.core.say import Say
from geometry.core.tables import Grade, Number, load, nearest, number, weakest

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
    clearance: dict[str, Number]
    head: Number
    head_knurled: Number
    head_height: Number
    key: Number
    socket_depth: Number
    washer: Washer


@dataclass(frozen=True, slots=True)
class Thread:
    """How small a screw's thread may be outside, and the most that it moves across in a tapped hole, mm."""

    outside: Number
    slack: Number


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
    """One maker's published range in N m, and the sentence that says whose figure governs."""

    low: Number
    high: Number
    sentence: str


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
    sentence: str


@dataclass(frozen=True, slots=True)
class Length:
    """A screw's length from its stack, mm: the least, the most that the hole takes, and one in stock.

    `most` is None where the hole's depth is not known, `stock` None where no stock length fits between.
    """

    least: float
    most: float | None
    stock: float | None
    grade: Grade
    source: Say | str
    sentence: str


@functools.cache
def _table() -> dict[str, Any]:
    return load(_FILE)


@functools.cache
def screws() -> dict[str, Screw]:
    """Return every screw by name, in the table's order."""
    return {row["name"]: _screw(row) for row in _table()["screw"]}


def screw(name: str) -> Screw:
    """Return one screw; raise TableError naming those in the table where there is none."""
    if name not in screws():
        hint = nearest(name, screws())
        raise TableError.at("fastener", f"{name!r} is not in the table{hint} (known: {', '.join(screws())})")
    return screws()[name]


def thread(name: str) -> Thread:
    """Return the limits of a screw's thread; raise TableError where there are none on file."""
    for row in _table()["thread"]:
        if row["name"] == name:
            sources = _table()["sources"]
            return Thread(*(number(row[key], sources, f"{name} {key}") for key in ("outside", "slack")))
    raise TableError.at("fastener", f"no limits of thread are on file for {name!r}")


def stress_area(diameter: float, pitch: float) -> float:
    """Return a metric screw's tensile stress area, mm2: pi/4 ((d2 + d3) / 2)^2, as in ISO 898-1 (remembered).

    d2 = d - 0.6495 p is the pitch diameter, d3 = d - 1.2269 p the root's.
    """
    return math.pi / 4.0 * (diameter - (0.6495 + 1.2269) / 2.0 * pitch) ** 2


def engagement(fastener: Screw, material: str) -> Engagement:
    """Return how deep a screw must hold in a material; the weaker of screw and hole governs.

    Raise TableError for a material that no rule is on file for.
    """
    for row in _table()["engagement"]:
        if material in row["materials"]:
            rule = number(row, _table()["sources"], f"engagement in {material}")
            d = fastener.diameter
            low, high = (d * (rule.value if end is None else end) for end in (rule.low, rule.high))
            return Engagement(d * rule.value, low, high, rule.grade, rule.source)
    known = [name for row in _table()["engagement"] for name in row["materials"]]
    raise TableError.at(
        "process.material", f"no engagement rule is on file for {material!r} (known: {', '.join(known)})"
    )


def torque() -> Torque:
    """Return the torque range on file for caliper and adapter screws; it is a reference, not the rule."""
    raw, sources = _table()["torque"], _table()["sources"]
    low, high = number(raw["low"], sources, "torque low"), number(raw["high"], sources, "torque high")
    told = f"{low.value:g} to {high.value:g} N m is one maker's published range"
    return Torque(low, high, f"The caliper maker's figure governs; {told}.")


def flat_screw(thickness: float) -> FlatScrew:
    """Return the rear flat mount's screw for what it passes through, mm.

    Screws are made for frames in steps of 5. The shank is the frame's thickness plus 13 and must stand 13
    past the mount face: too short it holds too little, too long it bends the retaining tip and leaves the
    brake loose. So a thickness between two steps takes the next larger screw, packed under the head by the
    difference; up to 0.2 above a step it takes that step's. Raise GeometryError where no screw is on sale.
    """
    raw, sources = _table()["flat_rear"], _table()["sources"]
    rule = number(raw["beyond"], sources, "flat_rear beyond")
    slack = number(raw["slack"], sources, "flat_rear slack").value
    frames: list[int] = raw["thicknesses"]["values"]
    if not frames[0] - slack <= thickness <= frames[-1] + slack:
        short = frames[0] - thickness
        way = f"{short:.2f} too thin; add a pad" if short > 0.0 else f"{thickness - frames[-1]:.2f} too thick"
        told = f"{thickness:g}, but the screws are made for {frames[0]} to {frames[-1]}: {way}"
        raise GeometryError.at("boss.length", f"{told}{'' if short > 0.0 else '; counterbore the far side'}")
    made_for = next(frame for frame in frames if thickness <= frame + slack)
    packing = max(0.0, made_for - thickness)
    packing = 0.0 if packing <= slack else packing
    shank = made_for + rule.value
    packed = f", with {packing:.2f} mm of washers under the head" if packing else ""
    told = (
        f"The frame is {thickness:g} mm thick: take the screw for a {made_for} mm frame, {shank:g} under the "
        f"head{packed}."
    )
    return FlatScrew(made_for, shank, packing, shank - thickness - packing, rule.grade, rule.source, told)


def screw_length(
    fastener: Screw,
    grip: float | None,
    needed: Engagement,
    *,
    washer: bool = True,
    depth: float | None = None,
) -> Length | None:
    """Return a screw's length from its stack, mm: what it clamps, a washer, and the thread it needs.

    `grip` is the caliper's ear, with any adapter; None where nobody has measured it, and then there is no
    length to give (None). `depth` is the thread's usable depth. Raise GeometryError where the hole is
    shallower than the thread needed.
    """
    if grip is None:
        return None
    if depth is not None and depth < needed.length:
        told = f"{depth:g} of thread, {needed.length - depth:.2f} less than the {needed.length:g} needed"
        raise GeometryError.at("boss.length", f"{told}; make the boss longer, or tap deeper")
    plate = fastener.washer.thickness
    under = grip + (plate.value if washer else 0.0)
    least, most = under + needed.length, None if depth is None else under + depth
    raw = _table()["stock"]["lengths"]
    top = math.inf if most is None else most
    stock = next((float(each) for each in raw["values"] if least - 1e-9 <= each <= top + 1e-9), None)
    grade = weakest([needed.grade, *([plate.grade] if washer else [])])
    told = f"{fastener.name}: {grip:g} clamped"
    told += f" + {plate.value:g} washer" if washer else ""
    told += f" + {needed.length:g} of thread = at least {least:g} mm"
    told += f", at most {most:g} mm" if most is not None else "; the hole's depth is not known, so measure it"
    told += f"; take {stock:g}." if stock is not None else "; no stock length fits, cut one to length."
    return Length(least, most, stock, grade, needed.source, told)


def head_room(fastener: Screw) -> tuple[Number, Number]:
    """Return the diameter and the height to keep free for the largest head, the knurled one, mm."""
    return fastener.head_knurled, fastener.head_height


def _screw(row: dict[str, Any]) -> Screw:
    def entry(raw: dict[str, Any], key: str) -> Number:
        return number(raw[key], _table()["sources"], f"{row['name']} {key}")

    plain = ("pitch", "tap_drill", "head", "head_knurled", "head_height", "key", "socket_depth")
    return Screw(
        name=row["name"],
        diameter=row["diameter"],
        clearance={fit: entry(row["clearance"], fit) for fit in row["clearance"]},
        washer=Washer(*(entry(row["washer"], part) for part in ("bore", "outside", "thickness"))),
        **{key: entry(row, key) for key in plain},
    )
