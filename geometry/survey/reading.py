"""A reading: what a caliper must show, its limits, and how both are printed in millimetres and inches."""

import functools
from collections.abc import Sequence
from dataclasses import replace
from decimal import ROUND_CEILING, ROUND_FLOOR, ROUND_HALF_EVEN, Decimal
from typing import Literal

from geometry.core.frozen import dataclass
from geometry.core.say import Say, say
from geometry.core.tables import Number

INCH = 25.4
_MM = ("0.05", "0.01", "0.001")
_IN = ("0.001", "0.0001")
Kind = Literal["near", "far", "spacing", "face", "side", "edge", "lean"]
"""What a reading is taken for: axle to a hole, hole to hole, face, sideways, hole to tube, square across."""
At = Literal["", "near", "far"]
"""At which hole a reading is taken; "" for both at once, or at the axle."""
Jaws = Literal["outside", "inside", "depth", "blade"]
"""What touches: the caliper's outside or inside jaws, its depth rod, or a square's blade."""
Stage = Literal["", "before", "faced"]
"""When stock for facing must be on the face for a reading, or gone; "" for either."""


@dataclass(frozen=True, slots=True)
class Printed:
    """A reading as text: to 0.05 mm or 0.001 in, finer where the limits are too close for that.

    The limits are rounded inward, so that a reading which passes them passes the exact ones; None where no
    tolerance is known, or where it is too small for a caliper to show.
    """

    nominal: str
    low: str | None
    high: str | None


@dataclass(frozen=True, slots=True)
class Reading:
    """One check: what to measure, the reading in mm and its exact limits (None: no tolerance is known).

    `key` is its name in forms and reading files, `what` the distance that it shows, and `how` it is taken.
    `offset` is what axle and pins add to the distance itself, `sign` -1 where the distance shrinks as what it
    is taken for grows; `note` says what else to know. `base` is the face or the axle's side read from, `pins`
    the holes whose pins it goes over, and `play` how far such a pin may move in its hole, side to side.
    `limit` is what the limits rest on, `times` how often it is read for a verdict. `stock` is how much
    more it reads before facing, where one reading serves before and after.
    """

    key: str
    what: Say
    how: Say
    nominal: float
    low: float | None
    high: float | None
    offset: float
    note: Say | str
    kind: Kind = "near"
    at: At = ""
    jaws: Jaws = "outside"
    base: str = ""
    sign: float = 1.0
    pins: tuple[At, ...] = ()
    play: float = 0.0
    stage: Stage = ""
    limit: Number | None = None
    times: int = 1
    stock: float = 0.0

    @property
    def told_apart(self) -> "tuple[Reading, ...]":
        """Return it as it is told before facing and after, under one key; else itself.

        Before facing it is taken once, to go on: a verdict is given on the finished mount.
        """
        if not self.stock:
            return (self,)
        low, high = (None if each is None else each + self.stock for each in (self.low, self.high))
        raw = replace(self, nominal=self.nominal + self.stock, low=low, high=high, stage="before", times=1)
        return tuple(replace(each, stock=0.0, note="") for each in (raw, replace(self, stage="faced")))

    @property
    def name(self) -> Say:
        """Return its name, such as "axle to near, over"."""
        return _with(_with(self.what, self._staged), self.part)

    @property
    def row(self) -> Say:
        """Return its name where it shares a row with the one that only `part` tells it from."""
        near = self.kind == "face" and self.base == "near"
        return _with(say("reading.what.face") if near else self.what, self._staged)

    @property
    def part(self) -> Say | str:
        """Return what tells it from others of one distance: over, between, at which hole; "" for nothing."""
        if self.kind in ("near", "far", "spacing"):
            return say("reading.part.between" if self.jaws == "inside" else "reading.part.over")
        return say(f"reading.part.at_{self.at}") if self.kind in ("face", "side") and self.at else ""

    @property
    def _staged(self) -> Say | str:
        return say(f"reading.part.{self.stage}") if self.stage else ""

    @property
    def judged(self) -> bool:
        """Return whether the limits are no maker's: own judgement, or derived (grade D)."""
        return self.limit is not None and self.limit.grade == "D"

    @property
    def mm(self) -> Printed:
        """Return the reading in millimetres as it is printed."""
        return _both(self.nominal, self.low, self.high)[0]

    @property
    def inch(self) -> Printed:
        """Return the reading in inches as it is printed, its limits inside those in millimetres."""
        return _both(self.nominal, self.low, self.high)[1]


def _with(what: Say, more: Say | str) -> Say:
    return say("reading.with", what=what, more=more) if more else what


def distance_from(reading: Reading, shown: float | None = None) -> float:
    """Return the distance in mm behind what a caliper shows; `shown` None takes the nominal reading.

    It runs between centre lines, or from the face named to the axle's line, the hole's or the mount's face.
    """
    return (reading.nominal if shown is None else shown) - reading.offset


# Both are asked for of every reading, by card, traveller and check.
@functools.lru_cache(maxsize=512)
def _both(nominal: float, low: float | None, high: float | None) -> tuple[Printed, Printed]:
    """Return a reading in mm and in inches, to the first steps in which its limits leave room in both.

    Limits in inches are rounded inward from those that are printed in mm, not from the exact ones: who reads
    in inches must pass nothing that fails in mm.
    """
    for step in _MM if low is not None else ():
        mm = _printed(nominal, low, high, 1.0, (step,))
        if mm.low is None or mm.high is None:
            continue
        inch = _printed(nominal, float(mm.low), float(mm.high), INCH, _IN)
        if inch.low is not None:
            return mm, inch
    return _printed(nominal, low, high, 1.0, _MM), _printed(nominal, None, None, INCH, _IN)


def _printed(
    nominal: float, low: float | None, high: float | None, unit: float, steps: Sequence[str]
) -> Printed:
    if low is None or high is None:
        return Printed(_rounded(nominal / unit, steps[0], ROUND_HALF_EVEN), None, None)
    for step in steps:
        middle = _rounded(nominal / unit, step, ROUND_HALF_EVEN)
        bottom = _rounded(low / unit, step, ROUND_CEILING)
        top = _rounded(high / unit, step, ROUND_FLOOR)
        if Decimal(bottom) <= Decimal(middle) <= Decimal(top):
            return Printed(middle, bottom, top)
    return Printed(_rounded(nominal / unit, steps[-1], ROUND_HALF_EVEN), None, None)


def _rounded(value: float, step: str, way: str) -> str:
    """Return a value to a step; what floats add below a nanometre must not push a limit off its step."""
    steps = (Decimal(f"{value:.9f}") / Decimal(step)).to_integral_value(way)
    return str((steps + 0) * Decimal(step))
