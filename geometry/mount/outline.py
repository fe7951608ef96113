"""The dropout's own outline: a plate with its holes and cut-outs, checked, and laid in the package's axes.

It comes as it was drawn: mm from the axle, x to the right and y up as whoever drew it saw it. What lies in a
plate is metal; a hole or a cut-out in it is none.
"""

import functools
import math
from dataclasses import replace

import numpy as np

from geometry.core.frozen import dataclass
from geometry.core.plane import Point, turned
from geometry.core.polygon import Ring, Sides, apart, area, crossing, inside, mouth, nearest_on, seen, sides
from geometry.core.say import Say, say

MOST = 3000
"""Corners in all lines of an outline; a dropout drawn to a hundredth of a millimetre has some hundreds."""
MOST_WINDOWS = 100
"""Cut-outs in an outline that are not round: each is held against every other, and a dropout has a few. Own
judgement."""
_SMALLEST, _LARGEST = 15.0, 400.0
"""Sizes of a dropout over all, mm: what is smaller was drawn in inches or metres, what is larger is a sheet's
frame."""
_ON_EDGE = 0.05
"""How far a pad's edge may run beside the plate's own and still be flush with it, mm."""
_IN_SLOT = 180.0
"""Over more than this many degrees the metal is seen from an axle that sits in a slot; from beside a plate it
never is."""


@dataclass(frozen=True, slots=True)
class Round:
    """A round hole: its middle (x, y) and its diameter, mm."""

    centre: Point
    diameter: float


@dataclass(frozen=True, slots=True)
class Outline:
    """A dropout: its edge, its cut-outs that are not round, and its round holes, mm from the axle."""

    edge: Ring
    windows: tuple[Ring, ...] = ()
    holes: tuple[Round, ...] = ()

    @property
    def bore(self) -> Round | None:
        """Return the hole in which the axle lies; None where it lies in a slot, or no hole is drawn."""
        return next((h for h in self.holes if math.hypot(*h.centre) < h.diameter / 2.0), None)

    @property
    def slot(self) -> float | None:
        """Return which way the axle's slot opens, degrees from +x; None where no open one is drawn."""
        return None if inside(self.edge, (0.0, 0.0)) else mouth(self.edge, (0.0, 0.0))

    @property
    def drilled(self) -> tuple[Round, ...]:
        """Return the other holes."""
        bore = self.bore
        return tuple(each for each in self.holes if each is not bore)

    @property
    def rings(self) -> tuple[Ring, ...]:
        """Return the edge and the cut-outs."""
        return (self.edge, *self.windows)

    @property
    def size(self) -> tuple[float, float]:
        """Return how wide and how high it is over all."""
        x, y = np.array(self.edge, float).T
        return float(np.ptp(x)), float(np.ptp(y))


@dataclass(frozen=True, slots=True)
class Pad:
    """Metal on a dropout's inner face, such as a step milled on it or a block joined to it.

    `ring` is its edge, mm from the axle, and `high` how far it reaches inboard of that face, mm.
    """

    ring: Ring
    high: float


def pad_fault(ring: Ring, outline: Outline) -> Say | None:
    """Return what is wrong with a pad's edge, None for a sound one: it lies on the plate."""
    if len(ring) < 3 or abs(area(ring)) < 1.0:
        return say("outline.pad_small")
    if (at := crossing(ring)) is not None:
        return say("outline.crosses", x=at[0], y=at[1])
    every, own = sides(outline.edge), sides(ring)
    steps = np.linspace(0.0, 1.0, 9)[:, None]
    points = np.concatenate([a + steps * (b - a) for a, b in zip(own[:, :2], own[:, 2:], strict=True)])
    for x, y in points.tolist():
        if not inside(outline.edge, (x, y)) and nearest_on(every, (x, y))[0] > _ON_EDGE:
            return say("outline.pad_out", x=x, y=y)
    return None


def every_side(outline: Outline) -> Sides:
    """Return the sides of edge and cut-outs."""
    return np.concatenate([sides(ring) for ring in outline.rings])


@functools.lru_cache(maxsize=32)
def fault(outline: Outline) -> Say | None:
    """Return what is wrong with an outline, None for a sound one.

    A sound one is a dropout's size, its lines cross neither themselves nor each other, its holes and cut-outs
    lie inside its edge, and the axle lies inside it or in a slot.
    """
    if sum(map(len, outline.rings)) > MOST:
        return say("outline.too_many", most=MOST)
    if len(outline.windows) > MOST_WINDOWS:
        return say("outline.too_many_windows", most=MOST_WINDOWS)
    if min(map(len, outline.rings)) < 3:
        return say("outline.too_few")
    wide, high = outline.size
    if not _SMALLEST <= max(wide, high) <= _LARGEST:
        return say("outline.no_size", wide=wide, high=high, least=_SMALLEST, most=_LARGEST)
    for ring in outline.rings:
        if (at := crossing(ring)) is not None:
            return say("outline.crosses", x=at[0], y=at[1])
    if abs(area(outline.edge)) < 1.0:
        return say("outline.no_size", wide=wide, high=high, least=_SMALLEST, most=_LARGEST)
    return _stray(outline) or _axle_outside(outline)


def _stray(outline: Outline) -> Say | None:
    """Return which hole or cut-out does not lie wholly inside the edge and clear of the others."""
    for i, ring in enumerate(outline.windows, start=1):
        for other in outline.rings[:i]:
            away, (x, y), _ = apart(sides(ring), sides(other))
            if away == 0.0:
                return say("outline.lines_meet", x=x, y=y)
        if not inside(outline.edge, ring[0]) or any(
            inside(other, ring[0]) for other in outline.windows[: i - 1]
        ):
            return say("outline.window_out", x=ring[0][0], y=ring[0][1])
    for hole in outline.holes:
        x, y = hole.centre
        away, _ = nearest_on(every_side(outline), hole.centre)
        if not in_plate(outline, hole.centre) or away <= hole.diameter / 2.0:
            return say("outline.hole_out", diameter=hole.diameter, x=x, y=y)
        for one in outline.holes:
            between = math.dist(hole.centre, one.centre)
            if one is not hole and between < (hole.diameter + one.diameter) / 2.0:
                u, v = one.centre
                return say("outline.holes_meet", x=x, y=y, other_x=u, other_y=v)
    return None


def _axle_outside(outline: Outline) -> Say | None:
    if inside(outline.edge, (0.0, 0.0)) or seen(outline.edge, (0.0, 0.0)) > _IN_SLOT:
        return None
    away, (x, y) = nearest_on(sides(outline.edge), (0.0, 0.0))
    return say("outline.axle_outside", by=away, x=x, y=y)


def in_plate(outline: Outline, point: Point) -> bool:
    """Tell whether a point lies inside the edge and in no cut-out; a round hole is not looked at."""
    return inside(outline.edge, point) and not any(inside(ring, point) for ring in outline.windows)


def in_metal(outline: Outline, point: Point) -> bool:
    """Tell whether there is metal at a point."""
    return in_plate(outline, point) and all(
        math.dist(point, hole.centre) > hole.diameter / 2.0 for hole in outline.holes
    )


def metal_round(outline: Outline, hole: Round) -> tuple[float, Point]:
    """Return the least metal beside a hole, from its rim to an edge, a cut-out or another hole, and where.

    A hole of the outline at the same place is the hole itself. Less than 0 is a hole that breaks out.
    """
    radius = hole.diameter / 2.0
    away, at = nearest_on(every_side(outline), hole.centre)
    found = [(away - radius, at)]
    for other in outline.holes:
        between = math.dist(hole.centre, other.centre)
        if between > other.diameter / 2.0:
            share = (between - other.diameter / 2.0) / between
            (x, y), (u, v) = hole.centre, other.centre
            rim = (x + share * (u - x), y + share * (v - y))
            found.append((between - other.diameter / 2.0 - radius, rim))
    return min(found)


def laid(outline: Outline, *, mirrored: bool = False, turn: float = 0.0) -> Outline:
    """Return an outline mirrored left to right, then turned about the axle by degrees anticlockwise."""

    return Outline(
        laid_ring(outline.edge, mirrored=mirrored, turn=turn),
        tuple(laid_ring(ring, mirrored=mirrored, turn=turn) for ring in outline.windows),
        tuple(
            replace(hole, centre=laid_ring((hole.centre,), mirrored=mirrored, turn=turn)[0])
            for hole in outline.holes
        ),
    )


def laid_ring(ring: Ring, *, mirrored: bool = False, turn: float = 0.0) -> Ring:
    """Return points mirrored and turned as `laid` does it."""
    return tuple(turned((-x, y) if mirrored else (x, y), turn) for x, y in ring)
