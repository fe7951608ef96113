"""Whether braking pushes the axle out of an open slot.

A slot's direction lets the wheel out: 0 straight down, + forward, in degrees, as the job gives it.
"""

import math
from dataclasses import dataclass
from typing import Literal

from geometry.axles import Axle
from geometry.forces import Forces
from geometry.loads import entry
from geometry.plane import Point

Verdict = Literal["thru axle", "held by shape", "retention needed", "not with this slot", "unknown"]


@dataclass(frozen=True, slots=True)
class SlotForce:
    """What braking does at a slot: `out` N along the way out (minus: into it), None for no open slot known.

    `vanishes` is the slot direction nearest to straight down, degrees, at which nothing pushes out, and
    `direction` the slot's own. `force` is the axle's whole push, N, and `down` what of it would push out of a
    slot straight down. `sentence` says it in words.
    """

    verdict: Verdict
    out: float | None
    force: float
    down: float
    direction: float | None
    vanishes: float
    sentence: str

    @property
    def loud(self) -> bool:
        """Return whether it is to be warned of."""
        return self.verdict in ("retention needed", "not with this slot")


def way_out(direction: float) -> Point:
    """Return the unit vector of a slot's way out in the side view; + is forward, which is -x."""
    angle = math.radians(direction)
    return (-math.sin(angle), -math.cos(angle))


def push_out(axle: Point, direction: float) -> float:
    """Return what of an axle force pushes out of a slot, N; minus: into it."""
    way = way_out(direction)
    return axle[0] * way[0] + axle[1] * way[1]


def _told(out: float) -> str:
    return f"{out:.0f} N out" if out > 0.0 else f"{-out:.0f} N in"


def vanishing(axle: Point) -> float:
    """Return the slot direction nearest to straight down along which an axle force has no part."""
    # The part along the way out is -x sin d - y cos d.
    if axle[0] == 0.0:
        return 90.0
    return math.degrees(math.atan(-axle[1] / axle[0]))


def slot_force(found: Forces, system: Axle, direction: float | None, weight: float) -> SlotForce:
    """Return what the axle's force does at the dropout; `weight` is the load on the wheel, N.

    A thru axle has no open slot. Held by shape: braking pushes into the slot, or by less than the table's
    limit out of it. More than the weight that stands on the wheel: not with this slot.
    """
    force, down = math.hypot(*found.axle), push_out(found.axle, 0.0)
    vanishes = vanishing(found.axle)
    if system.kind == "thru axle":
        said = f"Thru axle: the axle's {force:.0f} N go into closed holes."
        return SlotForce("thru axle", None, force, down, None, vanishes, said)
    if direction is None:
        said = (
            f"Braking puts {force:.0f} N on the axle; which way the slot opens is not given, so whether that "
            f"pushes the wheel out is unknown: give dropout.slot. Straight down it would be {_told(down)}, "
            f"straight rearward {_told(push_out(found.axle, -90.0))}."
        )
        return SlotForce("unknown", None, force, down, None, vanishes, said)
    out = push_out(found.axle, direction)
    if out <= entry("rest", "slot").value:
        where = "out of" if out > 0.0 else "into"
        said = f"Braking pushes the axle {where} its slot with {abs(out):.0f} N: held by shape."
        return SlotForce("held by shape", out, force, down, direction, vanishes, said)
    verdict: Verdict = "not with this slot" if out > weight else "retention needed"
    towards = "forward" if vanishes > 0.0 else "rearward"
    turn = f"nothing pushes out where the slot opens {abs(vanishes):.0f} degrees {towards}"
    if verdict == "not with this slot":
        said = (
            f"BRAKING PUSHES THE WHEEL OUT of its slot with {out:.0f} N, more than stands on it "
            f"({weight:.0f} N): not with this slot. Take a thru axle, turn slot or caliper; {turn}."
        )
    else:
        said = (
            f"BRAKING PUSHES THE WHEEL towards the open end of its slot with {out:.0f} N: "
            f"retention is needed that holds without the quick release's clamp; {turn}."
        )
    return SlotForce(verdict, out, force, down, direction, vanishes, said)
