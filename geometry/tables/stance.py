"""How the bicycle stands: by how much the ground is turned in the axes of the package, and slots with it.

In the package's axes the fork leg is drawn upright and the chainstay level. `turn` is the angle by which the
ground's rearward direction is turned from +x there, anticlockwise, degrees: 90 less the leg's angle at the
front, and minus the chainstay's angle at the rear, so that the two ends turn opposite ways. Seen from
outboard the bicycle faces left: a leg that leans back leans to the right of plumb, so that with the leg
upright the ground rises to the right; a chainstay that falls forward falls to the left, so that with the
stay level the ground falls to the right.

Where it is not known, every stance of the table's range is gone through, and the worst counts.
"""

import math
from typing import Literal

from geometry.core.frozen import dataclass
from geometry.core.plane import Point, polar
from geometry.core.tables import Number
from geometry.tables.axles import End
from geometry.tables.loads import entry

Reference = Literal["tube", "plumb"]
"""What a slot's angle is measured from: the tube's line, or plumb with the bicycle standing."""
REFERENCES: tuple[Reference, ...] = ("tube", "plumb")

_KEYS: dict[End, str] = {"front": "leg", "rear": "chainstay"}
_STEP = 1.0
"""Degrees between the stances gone through. A force of 3,000 N is then missed by less than 0.2 N."""


@dataclass(frozen=True, slots=True)
class Stance:
    """The stance of one end: `name` is its angle's key, "leg" or "chainstay".

    `angle` is the tube's angle to the ground, degrees, None where it is not known; `least` and `most` are
    the table's. `turns` are the ground's turns to be gone through: one where the angle is known.
    """

    end: End
    name: str
    angle: float | None
    least: Number
    most: Number
    turns: tuple[float, ...]

    @property
    def known(self) -> bool:
        """Return whether the job says how the bicycle stands."""
        return self.angle is not None

    def of(self, turn: float) -> float:
        """Return the tube's angle to the ground, degrees, at a turn of the ground."""
        return 90.0 - turn if self.end == "front" else -turn + 0.0


def turn_of(end: End, angle: float) -> float:
    """Return by how much the ground is turned for a leg's (front) or chainstay's (rear) angle, degrees."""
    return 90.0 - angle if end == "front" else -angle + 0.0


def leg_of(head: float, rake: float, axle_to_crown: float) -> float:
    """Return a straight blade's angle to the ground, degrees, from head angle, and rake and length in mm.

    The steerer's line and the line from crown to axle part at the crown; the axle lies `rake` before the
    first and `axle_to_crown` along the second, so that they part by asin(rake / axle_to_crown).
    """
    return head - math.degrees(math.asin(rake / axle_to_crown))


def stance(end: End, angle: float | None = None) -> Stance:
    """Return how an end stands: with the leg's (front) or chainstay's (rear) angle to the ground, degrees.

    None means that it is not known, and gives every stance from the table's least to its most.
    """
    name = _KEYS[end]
    least, most = (entry("stance", f"{name}_{key}") for key in ("least", "most"))
    turns: tuple[float, ...]
    if angle is not None:
        turns = (turn_of(end, angle),)
    else:
        count = math.ceil((most.value - least.value) / _STEP)
        share = (most.value - least.value) / count
        turns = tuple(turn_of(end, least.value + i * share) for i in range(count + 1))
    return Stance(end, name, angle, least, most, turns)


def rearward(turn: float) -> Point:
    """Return the ground's rearward direction in the package's axes; (1, 0) without a turn."""
    return polar(turn)


def upward(turn: float) -> Point:
    """Return the direction straight up from the ground in the package's axes; (0, 1) without a turn."""
    return polar(turn + 90.0)


def slot_way(direction: float) -> Point:
    """Return the unit vector out of a slot: 0 straight down in the package's axes, + forward, which is -x."""
    angle = math.radians(direction)
    return -math.sin(angle) + 0.0, -math.cos(angle) + 0.0


def in_frame(slot: float, reference: Reference, turn: float) -> float:
    """Return a slot's direction from straight down in the package's axes, + forward, degrees.

    That is the fork leg's line run on downward, or square down from the chainstay's: "tube". Plumb down lies
    `turn` rearward of it, and so does every angle that is measured from plumb.
    """
    return slot if reference == "tube" else slot - turn


def directions(slot: float, reference: Reference | None, turns: tuple[float, ...]) -> tuple[float, ...]:
    """Return every direction in the package's axes that a slot's angle may mean, degrees, ascending.

    None as reference means that it may be measured from either.
    """
    either = REFERENCES if reference is None else (reference,)
    return tuple(sorted({in_frame(slot, each, turn) for each in either for turn in turns}))
