"""How near a disc comes to a tube, and the largest disc that the tubes leave room for."""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from geometry.placement import Rotor, Space
from geometry.tables import Number
from geometry.tube import Tube, Vector, surface

ROOM = Number(
    3.0,
    "D",
    "own judgement: hub spread 1.0, run-out 0.2 to 0.5, flex 0.5, 1 to spare; no published minimum was found",
)
"""Room to ask for between disc and tube, mm."""

_ROUNDS = 32
_SHRINK = 0.5


@dataclass(frozen=True, slots=True)
class Gap:
    """The smallest distance between a disc and a tube, mm, and where on the tube; 0 where they meet."""

    tube: str
    distance: float
    at: Space


@dataclass(frozen=True, slots=True)
class Largest:
    """The largest disc on sale that keeps the room asked for, or None; and the gaps of every size tried."""

    diameter: float | None
    gaps: tuple[tuple[float, Gap], ...]


def disc_gap(rotor: Rotor, tubes: Iterable[Tube]) -> Gap | None:
    """Return the smallest gap between a disc and the tubes; None without tubes or a rotor position."""
    if rotor.inner_face_z is None or rotor.outer_face_z is None:
        return None
    gaps = [_gap(rotor.radius, rotor.inner_face_z, rotor.outer_face_z, tube) for tube in tubes]
    return min(gaps, key=lambda gap: gap.distance, default=None)


def largest_disc(rotor: Rotor, tubes: Sequence[Tube], sizes: Iterable[float]) -> Largest | None:
    """Return the largest disc among `sizes` that keeps ROOM to every tube, on the rotor's own plane.

    None without tubes or without a rotor position.
    """
    if not tubes or rotor.inner_face_z is None:
        return None
    gaps: list[tuple[float, Gap]] = []
    for size in sorted(sizes):
        gap = disc_gap(replace(rotor, radius=size / 2.0), tubes)
        if gap is not None:
            gaps.append((size, gap))
    fitting = [size for size, gap in gaps if gap.distance >= ROOM.value]
    return Largest(max(fitting, default=None), tuple(gaps))


def _gap(radius: float, low: float, high: float, tube: Tube) -> Gap:
    """Return the gap between the solid disc and a tube's outside over its known length.

    Distance to the disc, a convex body, is a convex function, so over the tube's outside it falls to its
    least place without false bottoms near it: a coarse net finds the neighbourhood, and a net that halves
    about the best point each round closes in on it.
    """
    start, end = tube.span
    centre_s, half_s = (start + end) / 2.0, (end - start) / 2.0
    centre_p, half_p = math.pi, math.pi
    count_s, count_p = 81, 73
    best, where = math.inf, np.zeros(3)
    for _ in range(_ROUNDS):
        s = np.clip(np.linspace(centre_s - half_s, centre_s + half_s, count_s), start, end)
        p = np.linspace(centre_p - half_p, centre_p + half_p, count_p)
        points = surface(tube, s[:, None], p[None, :])
        away = _to_disc(points, radius, low, high)
        index = np.unravel_index(int(np.argmin(away)), away.shape)
        if away[index] < best:
            best, where = float(away[index]), points[index]
        centre_s, centre_p = float(s[index[0]]), float(p[index[1]])
        if count_s != 9:
            half_s, half_p = 4.0 * half_s / (count_s - 1), 4.0 * half_p / (count_p - 1)
            count_s = count_p = 9
        else:
            half_s, half_p = half_s * _SHRINK, half_p * _SHRINK
    return Gap(tube.name, best, (float(where[0]), float(where[1]), float(where[2])))


def _to_disc(points: Vector, radius: float, low: float, high: float) -> Vector:
    """Return each point's distance to a solid disc about the axle, (..., 3) to (...)."""
    out = np.maximum(np.hypot(points[..., 0], points[..., 1]) - radius, 0.0)
    beside = np.maximum(np.maximum(low - points[..., 2], points[..., 2] - high), 0.0)
    distance: Vector = np.hypot(out, beside)
    return distance
