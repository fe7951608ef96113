"""The foot of a post or boss on the dropout: where its round end finds metal, how deep, and how it is shaped.

The post's end is looked at along its own axis, as lines from the mount face down, side by side over its whole
round. A line stands on metal where it meets the plate, or a pad on the plate, about where the post ends.
"""

import itertools
import math
from typing import Literal

import numpy as np

from geometry.core.frozen import dataclass
from geometry.core.plane import Point, along
from geometry.core.polygon import Ring, Sides, sides
from geometry.mount.outline import Outline, Pad, every_side, in_metal

FIT = 0.25
"""What a foot may stand off its metal and still be joined, mm. Common practice, no source."""
WHOLE = 0.97
"""The share of a foot on metal from which on it stands whole: a corner is rounded. Own judgement."""
_LINES = 61
_TINY = 1e-6
Shape = Literal["whole", "slot", "notch", "part"]
"""How a foot is shaped: cut to the metal's edge as it stands whole on it; slotted over metal that is narrower
than the post; notched on one side, past which the metal goes on; or with some of its length off the metal."""


@dataclass(frozen=True, slots=True)
class Foot:
    """The foot of a post, mm. z is outboard of the dropout's inner face.

    `edge` are points of the metal's edge under the foot: how far along t from the post's axis, and how deep
    below the mount face, from its near side to its far one; empty where it finds none. `metal` is the metal
    sideways under it, from z to z, None where the plate's thickness is not known. `share` is how much of the
    foot's area stands on metal, None where that is not known. `side` is the post's own, from z to z, and
    `length` its length below the mount face once faced.
    """

    name: str
    edge: tuple[Point, ...]
    metal: tuple[float, float] | None
    share: float | None
    side: tuple[float, float]
    length: float

    @property
    def depths(self) -> tuple[float, float] | None:
        """Return the least and the most depth of the edge; None where there is none."""
        if not self.edge:
            return None
        deep = [each for _, each in self.edge]
        return min(deep), max(deep)

    @property
    def past(self) -> tuple[float, float]:
        """Return how far the post stands past the metal, inboard and outboard; 0 where metal goes on."""
        low, high = self.side
        under = self.metal or self.side
        return max(0.0, under[0] - low), max(0.0, high - under[1])

    @property
    def room(self) -> tuple[float, float]:
        """Return how much metal is left beside the post, inboard and outboard, for a seam."""
        low, high = self.side
        under = self.metal or self.side
        return max(0.0, low - under[0]), max(0.0, under[1] - high)

    @property
    def askew(self) -> float | None:
        """Return how much the edge falls from near side to far side, degrees; None for no edge."""
        if len(self.edge) < 2:
            return None
        (u, first), (v, last) = self.edge[0], self.edge[-1]
        return math.degrees(math.atan2(last - first, v - u))

    @property
    def bends(self) -> float:
        """Return by how much the edge under the foot is off straight, mm."""
        if len(self.edge) < 3:
            return 0.0
        (u, first), (v, last) = self.edge[0], self.edge[-1]
        return max(abs(deep - first - (last - first) * (at - u) / (v - u)) for at, deep in self.edge)

    @property
    def shape(self) -> Shape | None:
        """Return how the foot is shaped; None where it finds no metal, or that is not known."""
        if self.share is None or not self.edge or self.metal is None:
            return None
        if self.share >= WHOLE:
            return "whole"
        inboard, outboard = (each > FIT for each in self.past)
        if inboard and outboard:
            return "slot"
        return "notch" if inboard or outboard else "part"

    @property
    def spare(self) -> float | None:
        """Return by how much the post is longer than its metal's edge asks; negative: so much too short."""
        depths = self.depths
        return None if depths is None else self.length - depths[1]


def foot(
    name: str,
    centre: tuple[float, float, float],
    axes: tuple[Point, Point],
    outline: Outline,
    *,
    thickness: float | None,
    pad: Pad | None,
    diameter: float,
    length: float,
) -> Foot:
    """Return the foot of a post whose face has its middle at `centre`, with `axes` t along the face and n up.

    `outline` and `pad` lie in the axes of the package; `thickness` is the plate's, None where not known.
    """
    t, n = axes
    way = (-n[0], -n[1])
    radius, z = diameter / 2.0, centre[2]
    side = (z - radius, z + radius)
    top = math.inf if thickness is None else thickness
    across = radius * np.sin(np.linspace(-0.5 * math.pi, 0.5 * math.pi, _LINES))
    # The outermost lines are points of the round and have no width; they tell of the edge all the same.
    reached, edge = 0.0, []
    low, high, whole = math.inf, -math.inf, 0.0
    for i, u in enumerate(across.tolist()):
        start = along((centre[0], centre[1]), (u, t))
        half = math.sqrt(max(0.0, radius * radius - u * u))
        # Twice as wide as a line is: only shares are asked for.
        wide = across[min(i + 1, _LINES - 1)] - across[max(i - 1, 0)]
        whole += 2.0 * half * wide
        plate = _first(in_metal_along(outline, start, way), length)
        block = None if pad is None else _first(_in_ring(pad.ring, start, way), length)
        spans = []
        if plate is not None:
            spans.append((plate, 0.0, top))
        if block is not None and pad is not None:
            spans.append((block, -pad.high, 0.0))
        under = []
        for deep, from_z, to_z in spans:
            met = min(z + half, to_z) - max(z - half, from_z)
            reached += max(0.0, met) * wide
            # What the post passes beside is no edge of its.
            if min(side[1], to_z) - max(side[0], from_z) > _TINY:
                low, high = min(low, from_z), max(high, to_z)
                under.append(deep)
        if under:
            edge.append((u, min(under)))
    known = thickness is not None
    return Foot(
        name=name,
        edge=tuple(edge),
        metal=(low, high) if known and high > low else None,
        share=reached / whole if known else None,
        side=side,
        length=length,
    )


def _first(stretches: list[tuple[float, float]], length: float) -> float | None:
    """Return how deep the metal on a line begins that the post reaches; None for none."""
    return next((start for start, _ in stretches if start <= length + FIT), None)


def in_metal_along(outline: Outline, start: Point, way: Point) -> list[tuple[float, float]]:
    """Return the stretches of a ray that lie in metal, each from and to a distance along it."""
    stops = _crossed(every_side(outline), start, way)
    for each in outline.holes:
        off = (each.centre[0] - start[0], each.centre[1] - start[1])
        beside = way[0] * off[1] - way[1] * off[0]
        if abs(beside) < each.diameter / 2.0:
            half = math.sqrt((each.diameter / 2.0) ** 2 - beside**2)
            middle = off[0] * way[0] + off[1] * way[1]
            stops += [middle - half, middle + half]
    return _stretches(outline, stops, start, way)


def _in_ring(ring: Ring, start: Point, way: Point) -> list[tuple[float, float]]:
    return _stretches(Outline(ring), _crossed(sides(ring), start, way), start, way)


def _crossed(every: Sides, start: Point, way: Point) -> list[float]:
    """Return how far along a ray it crosses each of some sides, behind its start too."""
    ends = [every[:, :2] - start, every[:, 2:] - start]
    # How far each end lies beside the ray, and how far along it.
    aside = [way[0] * end[:, 1] - way[1] * end[:, 0] for end in ends]
    ahead = [end @ np.array(way) for end in ends]
    crosses = (aside[0] > 0.0) != (aside[1] > 0.0)
    share = aside[0][crosses] / (aside[0][crosses] - aside[1][crosses])
    return [float(each) for each in ahead[0][crosses] + share * (ahead[1][crosses] - ahead[0][crosses])]


def _stretches(outline: Outline, stops: list[float], start: Point, way: Point) -> list[tuple[float, float]]:
    steps = [0.0, *sorted(stop for stop in stops if stop > 0.0)]
    return [
        (one, two)
        for one, two in itertools.pairwise(steps)
        if two - one > _TINY and in_metal(outline, along(start, ((one + two) / 2.0, way)))
    ]
