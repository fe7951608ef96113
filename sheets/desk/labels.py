"""Where the boxes of measures go beside their arrows: none on another, none on what must be seen.

Each is tried at growing distances about the direction that it would like best, and the place that costs
least is taken; those that come first choose first. The same picture gives the same places. Pixels.
"""

import math
from collections.abc import Iterable, Sequence

import numpy as np

from geometry.core.frozen import dataclass
from geometry.core.plane import Point
from geometry.tubes.tube import Vector

_TURNS = (0.0, 22.0, -22.0, 45.0, -45.0, 70.0, -70.0, 95.0, -95.0, 130.0, -130.0, 180.0)
_AWAY = (14.0, 26.0, 40.0, 58.0, 80.0, 106.0, 136.0, 170.0, 210.0)
_APART = 8.0
_BODY = 30.0
"""What a box costs for each point of a body that it lies over, so that it goes beside it."""
_EDGE = 3.0


@dataclass(frozen=True, slots=True)
class Pin:
    """What wants a box: its key, the point that it is about, the best direction, degrees, and its size."""

    key: str
    at: Point
    prefer: float
    size: Point


@dataclass(frozen=True, slots=True)
class Box:
    """A box: its key, its middle and its size, and the point that it is about."""

    key: str
    middle: Point
    size: Point
    about: Point

    @property
    def leader(self) -> tuple[Point, Point]:
        """Return the line from what it is about to the middle of the box, which lies over its end."""
        return self.about, self.middle


def laid_out(
    pins: Sequence[Pin],
    size: Point,
    kept_free: Iterable[tuple[Point, float]] = (),
    lines: Iterable[tuple[Point, Point]] = (),
    bodies: Iterable[Point] = (),
) -> list[Box]:
    """Return a box for every pin on a screen of a size; `kept_free` are circles, `lines` lines to be seen.

    `bodies` are points all over what is measured: a box stands beside it, where there is room.
    """
    spots = np.array([spot for a, b in lines for spot in _along(a, b)]).reshape(-1, 2)
    spots = np.hstack([spots, np.zeros((len(spots), 1))])
    free = np.array([(*middle, radius) for middle, radius in kept_free]).reshape(-1, 3)
    solid = np.array([(*spot, 0.0) for spot in bodies]).reshape(-1, 3)
    abouts = np.array([(*pin.at, 3.0) for pin in pins]).reshape(-1, 3)
    placed: list[Box] = []
    for pin in pins:
        tries = _tries(pin, size)
        half = np.array(pin.size) / 2.0
        cost = np.array([away + 0.16 * abs(turn) for away in _AWAY for turn in _TURNS])
        for points, weight in ((abouts, 70.0), (free, 200.0), (spots, 5.0), (solid, _BODY)):
            cost += weight * _over(tries, half, points).sum(axis=1)
        if placed:
            cost += _among(tries, pin, placed)
        x, y = tries[int(np.argmin(cost))]
        placed.append(Box(pin.key, (float(x), float(y)), pin.size, pin.at))
    return placed


def _tries(pin: Pin, size: Point) -> Vector:
    """Return the middles that are tried, (n, 2): a box's edge so far from what it is about, on the screen."""
    half = np.array(pin.size) / 2.0
    turns = np.radians(pin.prefer + np.array(_TURNS))
    ways = np.stack([np.cos(turns), -np.sin(turns)], axis=1)
    reach = (half / np.maximum(np.abs(ways), 1e-9)).min(axis=1)
    far = np.array(_AWAY)[:, None] + reach[None, :]
    found = np.array(pin.at) + (far[:, :, None] * ways[None]).reshape(-1, 2)
    low = half + _EDGE
    return np.asarray(np.clip(found, low, np.maximum(np.array(size) - low, low)))


def _over(middles: Vector, half: Vector, points: Vector) -> Vector:
    """Tell for each middle which points, (m, 3) with how far they reach, the box about it lies over."""
    away = np.abs(middles[:, None, :] - points[None, :, :2])
    return np.asarray((away < half + points[None, :, 2:]).all(axis=2))


def _among(tries: Vector, pin: Pin, placed: Sequence[Box]) -> Vector:
    """Return what each middle costs beside the boxes that have their place."""
    middles = np.array([each.middle for each in placed])
    halves = np.array([each.size for each in placed]) / 2.0
    abouts = np.array([each.about for each in placed])
    half, about = np.array(pin.size) / 2.0, np.broadcast_to(np.array(pin.at), tries.shape)
    gap = halves[None] + half + _APART - np.abs(tries[:, None] - middles[None])
    on = (gap > 0.0).all(axis=2)
    cost = np.where(on, 400.0 + gap.prod(axis=2), 0.0).sum(axis=1)
    cost += 45.0 * _through(about[:, None], tries[:, None], middles[None], halves[None]).sum(axis=1)
    cost += 90.0 * _through(abouts[None], middles[None], tries[:, None], half).sum(axis=1)
    cost += 60.0 * _meet(about[:, None], tries[:, None], abouts[None], middles[None]).sum(axis=1)
    return np.asarray(cost)


def _through(start: Vector, end: Vector, middle: Vector, half: Vector) -> Vector:
    """Tell which lines pass through which boxes."""
    run = np.where(np.abs(end - start) < 1e-9, 1e-9, end - start)
    ends = np.stack([(middle - half - start) / run, (middle + half - start) / run])
    enter, leave = ends.min(axis=0).max(axis=-1), ends.max(axis=0).min(axis=-1)
    return np.asarray(np.maximum(enter, 0.0) < np.minimum(leave, 1.0))


def _meet(a: Vector, b: Vector, c: Vector, d: Vector) -> Vector:
    """Tell which lines cross which."""

    def side(p: Vector, q: Vector, r: Vector) -> Vector:
        u, v = q - p, r - p
        return np.asarray(u[..., 0] * v[..., 1] - u[..., 1] * v[..., 0])

    return np.asarray((side(a, b, c) * side(a, b, d) < 0.0) & (side(c, d, a) * side(c, d, b) < 0.0))


def _along(a: Point, b: Point) -> list[Point]:
    count = max(1, int(math.dist(a, b) / 9.0))
    return [(a[0] + (b[0] - a[0]) * i / count, a[1] + (b[1] - a[1]) * i / count) for i in range(count + 1)]
