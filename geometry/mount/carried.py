"""What carries a post or boss that no known tube does: the dropout's metal, where its outline is known.

The plate lies from its inner face, z = 0, outboard. What counts is how much of the post's own axis runs
through the plate's metal as the side view shows it, and how much of the post's width lies within the plate
sideways: the post is coped or notched over that much and joined there.
"""

import functools
import itertools
import math
from collections.abc import Iterable
from pathlib import Path

import numpy as np

from geometry.core.frozen import dataclass
from geometry.core.plane import Point, along
from geometry.core.tables import Number, table
from geometry.mount.bosses import BossFit
from geometry.mount.outline import Outline, every_side, in_metal
from geometry.mount.placement import Hole, Placement

_TINY = 1e-6


@dataclass(frozen=True, slots=True)
class Carried:
    """What a post or boss beyond the tube's known beginning finds of the dropout, mm.

    `deep` is how much of its axis lies in the plate's metal, `wide` how much of its width lies within the
    plate's thickness (negative: it passes the plate by that much). `short` is how far its end stops short of
    the metal along its own axis; None where it reaches it, or where none lies that way.
    """

    name: str
    deep: float
    wide: float
    short: float | None

    @property
    def stands(self) -> bool:
        """Return whether there is metal that it can be joined to."""
        least = _least().value - _TINY
        return self.deep >= least and self.wide >= least


@functools.cache
def _least() -> Number:
    """Return how much metal a post has to meet, along it and across it, to be said to stand on it, mm."""
    return table(Path(__file__).with_name("carried.toml")).number("seam", "least")


def carried(
    placement: Placement,
    fits: Iterable[BossFit],
    outline: Outline,
    *,
    thickness: float | None,
    diameter: float,
) -> tuple[Carried, ...]:
    """Return what carries each post or boss whose axis meets its tube below where that is known.

    `outline` is the dropout as it lies in the axes of the package, `thickness` the plate's (None: it is taken
    to reach outboard without end, which the set-up asks for elsewhere), `diameter` the posts', mm. A post of
    unknown length is left out: nothing is known of its end.
    """
    holes = {hole.name: hole for hole in placement.holes}
    return tuple(
        _carried(placement, holes[fit.name], outline, thickness, diameter, fit.length)
        for fit in fits
        if fit.meets == "before" and fit.length is not None
    )


def _carried(
    placement: Placement,
    hole: Hole,
    outline: Outline,
    thickness: float | None,
    diameter: float,
    length: float,
) -> Carried:
    x, y, z = hole.centre
    way = (-placement.n[0], -placement.n[1])
    top = math.inf if thickness is None else thickness
    wide = min(z + diameter / 2.0, top) - max(z - diameter / 2.0, 0.0)
    stretches = _in_metal(outline, (x, y), way)
    deep = sum(max(0.0, min(end, length) - start) for start, end in stretches)
    first = min((start for start, _ in stretches), default=None)
    beyond = None if first is None or first < length else first - length
    return Carried(hole.name, deep, wide, beyond)


def _in_metal(outline: Outline, start: Point, way: Point) -> list[tuple[float, float]]:
    """Return the stretches of a ray that lie in metal, each from and to a distance along it."""
    every = every_side(outline)
    ends = [every[:, :2] - start, every[:, 2:] - start]
    # How far each end lies beside the ray, and how far along it.
    aside = [way[0] * end[:, 1] - way[1] * end[:, 0] for end in ends]
    ahead = [end @ np.array(way) for end in ends]
    crosses = (aside[0] > 0.0) != (aside[1] > 0.0)
    share = aside[0][crosses] / (aside[0][crosses] - aside[1][crosses])
    stops = list(ahead[0][crosses] + share * (ahead[1][crosses] - ahead[0][crosses]))
    for each in outline.holes:
        off = (each.centre[0] - start[0], each.centre[1] - start[1])
        beside = way[0] * off[1] - way[1] * off[0]
        if abs(beside) < each.diameter / 2.0:
            half = math.sqrt((each.diameter / 2.0) ** 2 - beside**2)
            middle = off[0] * way[0] + off[1] * way[1]
            stops += [middle - half, middle + half]
    steps = [0.0, *sorted(float(stop) for stop in stops if stop > 0.0)]
    return [
        (one, two)
        for one, two in itertools.pairwise(steps)
        if two - one > _TINY and in_metal(outline, along(start, ((one + two) / 2.0, way)))
    ]
