"""Closed lines in the plane: what crosses, what lies inside, how near things come, and what is seen.

A ring is its corners in order, the first not repeated; its last side runs back to the first. Lengths are mm.
"""

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from geometry.core.plane import Point

Ring = tuple[Point, ...]
Sides = NDArray[np.float64]
"""Sides, a row each: where it starts and where it ends, (x, y, x, y)."""
_TINY = 1e-9
"""What is nearer than this, mm, touches: far below the micrometre to which points are kept."""
_AT_ONCE = 64
"""Sides that are held against all others in one go, which bounds the memory that it takes."""


def area(ring: Ring) -> float:
    """Return the area of a ring, mm2, plus where it runs anticlockwise (the shoelace formula)."""
    x, y = np.array(ring, float).T
    # About its own first corner, so that a ring far from the origin loses no digits.
    x, y = x - x[0], y - y[0]
    return float(np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y)) / 2.0


def sides(ring: Ring) -> Sides:
    """Return the sides of a ring."""
    corners = np.array(ring, float)
    return np.column_stack([corners, np.roll(corners, -1, axis=0)])


def crossing(ring: Ring) -> Point | None:
    """Return where a ring crosses or touches itself, or runs back on itself; None where it does not."""
    every = sides(ring)
    back = _runs_back(every)
    hit = _first_hit(every, len(every) if back is None else back)
    if hit is not None:
        return hit
    return None if back is None else (float(every[back, 2]), float(every[back, 3]))


def _runs_back(every: Sides) -> int | None:
    """Return the first side that the one after it lies on, or None."""
    run = every[:, 2:] - every[:, :2]
    after = np.roll(run, -1, axis=0)
    back = (run[:, 0] * after[:, 1] == run[:, 1] * after[:, 0]) & ((run * after).sum(axis=1) < 0.0)
    return int(np.argmax(back)) if back.any() else None


def _first_hit(every: Sides, until: int) -> Point | None:
    """Return where the first of the sides before `until` meets one that does not follow it, or None.

    Lines that lie side by side are near each other and yet far from meeting, and a drawing may have thousands
    of them: a pair is measured only where neither lies wholly on one side of the other.
    """
    low, high = np.minimum(every[:, :2], every[:, 2:]), np.maximum(every[:, :2], every[:, 2:])
    # What rounding adds to a cross product of numbers so large, far below what counts as touching.
    slack = _TINY + 1e-13 * float(np.abs(every).max())
    places = np.arange(len(every))
    for first in range(0, until, _AT_ONCE):
        mine = places[first : min(first + _AT_ONCE, until), None]
        others = places[None, first + 2 :]
        # Sides that follow each other share a corner; the last and the first do too.
        may = (others > mine + 1) & ((mine > 0) | (others < len(every) - 1))
        for axis in (0, 1):
            may &= low[others, axis] <= high[mine, axis] + slack
            may &= high[others, axis] >= low[mine, axis] - slack
        i, j = np.nonzero(may)
        i, j = i + first, j + first + 2
        one, other = every[i], every[j]
        near = _about(one, other, slack) & _about(other, one, slack)
        for (ax, ay, bx, by), (cx, cy, dx, dy) in zip(one[near], other[near], strict=True):
            distance, at, _ = _segments_apart(((ax, ay), (bx, by)), ((cx, cy), (dx, dy)))
            if distance <= _TINY:
                return at
    return None


def _about(one: Sides, other: Sides, slack: float) -> NDArray[np.bool_]:
    """Tell which of some sides do not lie wholly on one side of the line of another, within a slack, mm."""
    run = other[:, 2:] - other[:, :2]
    far = slack * np.hypot(run[:, 0], run[:, 1])
    ends = [_turn(run, one[:, at : at + 2] - other[:, :2]) for at in (0, 2)]
    return np.asarray((np.minimum(*ends) <= far) & (np.maximum(*ends) >= -far))


def inside(ring: Ring, point: Point) -> bool:
    """Tell whether a point lies inside a ring."""
    return bool(all_inside(ring, np.array([point], float))[0])


def all_inside(ring: Ring, points: NDArray[np.float64]) -> NDArray[np.bool_]:
    """Tell of each of some points (n, 2) whether it lies inside a ring.

    It does where the way from it along +x meets the ring an odd number of times.
    """
    x, y = points[:, :1], points[:, 1:]
    x0, y0, x1, y1 = sides(ring).T
    spans = (y0 > y) != (y1 > y)
    with np.errstate(divide="ignore", invalid="ignore"):
        at = x0 + (y - y0) / (y1 - y0) * (x1 - x0)
    return np.asarray(np.count_nonzero(spans & (at > x), axis=1) % 2 == 1)


def covered(rings: Sequence[Ring], points: NDArray[np.float64]) -> NDArray[np.bool_]:
    """Tell of each of some points (n, 2) whether it lies inside any of some rings."""
    found = np.zeros(len(points), np.bool_)
    for ring in rings:
        found |= all_inside(ring, points)
    return found


def nearest_on(every: Sides, point: Point) -> tuple[float, Point]:
    """Return how far a point lies from the nearest of some sides, and where on them."""
    start, run = every[:, :2], every[:, 2:] - every[:, :2]
    square = np.einsum("ij,ij->i", run, run)
    ahead = np.einsum("ij,ij->i", np.asarray(point) - start, run)
    share = np.clip(np.divide(ahead, square, out=np.zeros_like(ahead), where=square > 0.0), 0.0, 1.0)
    feet = start + share[:, None] * run
    away = np.hypot(feet[:, 0] - point[0], feet[:, 1] - point[1])
    first = int(np.argmin(away))
    return float(away[first]), (float(feet[first, 0]), float(feet[first, 1]))


def away_from(start: Point, end: Point, points: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return how far each of some points (n, 2) lies from a segment."""
    return _off(points, np.asarray(start), np.subtract(end, start))


def apart(one: Sides, other: Sides) -> tuple[float, Point, Point]:
    """Return how near two sets of sides come, 0 where they meet, and the nearest point of each."""
    away = _all_apart(one, other)
    i, j = np.unravel_index(int(np.argmin(away)), away.shape)
    (ax, ay, bx, by), (cx, cy, dx, dy) = one[i], other[j]
    return _segments_apart(((ax, ay), (bx, by)), ((cx, cy), (dx, dy)))


def _all_apart(one: Sides, other: Sides) -> NDArray[np.float64]:
    """Return how near each of some sides (n) comes to each of some others (m), (n, m); 0 where they cross."""
    a, b, c, d = one[:, None, :2], one[:, None, 2:], other[None, :, :2], other[None, :, 2:]
    r, s, gap = b - a, d - c, c - a
    ends = _off(a, c, s), _off(b, c, s), _off(c, a, r), _off(d, a, r)
    away: NDArray[np.float64] = np.minimum.reduce(ends)
    cross = _turn(r, s)
    with np.errstate(divide="ignore", invalid="ignore"):
        t, u = _turn(gap, s) / cross, _turn(gap, r) / cross
    away[(cross != 0.0) & (t >= 0.0) & (t <= 1.0) & (u >= 0.0) & (u <= 1.0)] = 0.0
    return away


def _turn(u: NDArray[np.float64], v: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the cross product of plane vectors (..., 2)."""
    found: NDArray[np.float64] = u[..., 0] * v[..., 1] - u[..., 1] * v[..., 0]
    return found


def _off(
    point: NDArray[np.float64], start: NDArray[np.float64], run: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Return how far points (..., 2) lie from the segments that run from `start`."""
    # x and y by themselves: numpy sums along an axis of two far slower than it adds two arrays.
    rx, ry = run[..., 0], run[..., 1]
    x, y = point[..., 0] - start[..., 0], point[..., 1] - start[..., 1]
    square = rx * rx + ry * ry
    share = (x * rx + y * ry) / np.where(square > 0.0, square, 1.0)
    share = np.minimum(np.maximum(share, 0.0), 1.0)
    away: NDArray[np.float64] = np.hypot(x - share * rx, y - share * ry)
    return away


def seen(ring: Ring, point: Point) -> float:
    """Return over how many degrees round a point a ring is met: 360 from inside, less in a slot open one way.

    From a point that is outside of everything convex about the ring it is less than 180.
    """
    return 360.0 - sum(wide for _, wide in _openings(ring, point))


def mouth(ring: Ring, point: Point) -> float | None:
    """Return the direction, degrees, of the middle of the widest way out from a point; None without one."""
    found = max(_openings(ring, point), key=lambda each: each[1], default=None)
    return None if found is None else (found[0] + found[1] / 2.0) % 360.0


def _openings(ring: Ring, point: Point) -> list[tuple[float, float]]:
    """Return each run of directions that do not meet a ring: where it starts, how wide it is, degrees."""
    corners = np.array(ring, float) - np.asarray(point)
    turns = np.arctan2(corners[:, 1], corners[:, 0])
    steps = (np.roll(turns, -1) - turns + math.pi) % (2.0 * math.pi) - math.pi
    starts = np.where(steps >= 0.0, turns, turns + steps) % (2.0 * math.pi)
    spans = sorted(zip(starts.tolist(), np.abs(steps).tolist(), strict=True))
    found, first = [], spans[0][0]
    reach = first
    # Once round from where the first side begins, and back to there.
    for start, wide in (*spans, (first + 2.0 * math.pi, 0.0)):
        if start - reach > _TINY:
            found.append((math.degrees(reach), math.degrees(start - reach)))
        reach = max(reach, start + wide)
    # A side that runs past a whole turn covers what was open at the beginning.
    over = math.degrees(reach - first) - 360.0
    return [
        (max(start, math.degrees(first) + over), start + wide - max(start, math.degrees(first) + over))
        for start, wide in found
        if start + wide > math.degrees(first) + over + _TINY
    ]


def _segments_apart(one: tuple[Point, Point], other: tuple[Point, Point]) -> tuple[float, Point, Point]:
    """Return how near two segments come, and the nearest point of each."""
    (ax, ay), (bx, by) = one
    (cx, cy), (dx, dy) = other
    rx, ry, sx, sy = bx - ax, by - ay, dx - cx, dy - cy
    cross = rx * sy - ry * sx
    if cross != 0.0:
        t = ((cx - ax) * sy - (cy - ay) * sx) / cross
        u = ((cx - ax) * ry - (cy - ay) * rx) / cross
        if 0.0 <= t <= 1.0 and 0.0 <= u <= 1.0:
            at = (float(ax + t * rx), float(ay + t * ry))
            return 0.0, at, at
    ends = [(*_foot(p, other), False) for p in one] + [(*_foot(p, one), True) for p in other]
    distance, point, foot, swapped = min(ends, key=lambda each: each[0])
    return (distance, foot, point) if swapped else (distance, point, foot)


def _foot(point: Point, segment: tuple[Point, Point]) -> tuple[float, Point, Point]:
    """Return how far a point is from a segment, the point, and its foot there."""
    (ax, ay), (bx, by) = segment
    rx, ry = bx - ax, by - ay
    square = rx * rx + ry * ry
    share = (
        0.0 if square == 0.0 else min(1.0, max(0.0, ((point[0] - ax) * rx + (point[1] - ay) * ry) / square))
    )
    foot = (float(ax + share * rx), float(ay + share * ry))
    return math.dist(point, foot), (float(point[0]), float(point[1])), foot
