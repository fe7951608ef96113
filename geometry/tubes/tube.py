"""A straight tube of the frame: where its centre line and its outline lie, seen from any side.

At a distance s up the tube, measured in the side view, the centre line is at offset * n0 + s * t0 in the
side plane and at z = outset - s * tan(splay). The outside is interpolated between stations. The tube
begins at its first station and is known up to its last, or to `straight_to`.
"""

import bisect
import functools
import itertools
import math

import numpy as np
from numpy.typing import NDArray

from geometry.core.frozen import dataclass
from geometry.core.plane import Point, polar, turned

Vector = NDArray[np.float64]
Direction = tuple[float, float, float]
_TURNS = 8
_FLAT = 1e-12


@dataclass(frozen=True, slots=True)
class Station:
    """The outside at distance s: `height` in the side plane, `width` across it; equal for a round tube."""

    s: float
    height: float
    width: float


@dataclass(frozen=True, slots=True)
class Tube:
    """A straight tube. `direction` is t0 in degrees from +x, `splay` in degrees, lengths in mm.

    `lacks` names what places it sideways and was not given, "outset" or "splay": 0 stands there so that the
    side view can be drawn, and nothing that rests on the tube's z is known.
    """

    name: str
    direction: float
    stations: tuple[Station, ...]
    offset: float = 0.0
    outset: float = 0.0
    splay: float = 0.0
    straight_to: float | None = None
    lacks: tuple[str, ...] = ()

    @property
    def placed(self) -> bool:
        """Return whether it is known where the tube lies sideways."""
        return not self.lacks

    @property
    def t0(self) -> Point:
        """Return the unit vector up the tube in the side view."""
        return polar(self.direction)

    @property
    def n0(self) -> Point:
        """Return the unit vector to the mount side, t0 turned by -90 degrees."""
        return turned(self.t0, -90.0)

    @property
    def span(self) -> tuple[float, float]:
        """Return the first and last s at which the tube is known to be there and straight."""
        last = self.stations[-1].s
        return self.stations[0].s, last if self.straight_to is None else min(last, self.straight_to)


def plain(tube: str) -> str:
    """Return a tube's name as it is read, "fork leg" for "fork-leg"."""
    return tube.replace("-", " ")


def centre(tube: Tube, s: float) -> Vector:
    """Return the centre line's point (x, y, z) at s."""
    (tx, ty), (nx, ny) = tube.t0, tube.n0
    z = tube.outset - s * math.tan(math.radians(tube.splay))
    return np.array([tube.offset * nx + s * tx, tube.offset * ny + s * ty, z])


def section(tube: Tube, s: float) -> Station:
    """Return the outside at s, interpolated between stations and held beyond the first and the last."""
    half_height, half_width = halves(tube, s)
    return Station(s, 2.0 * half_height, 2.0 * half_width)


def surface(tube: Tube, s: Vector, turn: Vector) -> Vector:
    """Return points of the outside, shape (..., 3), for broadcast arrays of s (mm) and turn (radians).

    Turn 0 lies on the mount side in the side plane, a quarter turn later on the inboard side.
    """
    a, b = half_axes(tube, s)
    u, w, axis, stretch = frame(tube)
    across = (a * np.cos(turn))[..., None] * u + (b * np.sin(turn))[..., None] * w
    return np.asarray(_base(tube) + s[..., None] * (stretch * axis) + across, dtype=np.float64)


def locate(tube: Tube, points: Vector) -> tuple[Vector, Vector, Vector]:
    """Return (s, turn, out) of points (..., 3), each (...): the inverse of `surface` where `out` is 1.

    `turn` lies from -pi to pi. `out` is the point's distance from the centre line as a share of the
    outside's in that turn: below 1 is inside the tube.
    """
    u, w, axis, stretch = frame(tube)
    away = points - _base(tube)
    s = away @ axis / stretch
    a, b = half_axes(tube, s)
    across, aside = away @ u / a, away @ w / b
    return s, np.arctan2(aside, across), np.hypot(across, aside)


def half_axes(tube: Tube, s: Vector) -> tuple[Vector, Vector]:
    """Return half the height and half the width of the outside at each s; held beyond the stations."""
    at, half_heights, half_widths = _sizes(tube)
    return np.interp(s, at, half_heights), np.interp(s, at, half_widths)


def halves(tube: Tube, s: float) -> tuple[float, float]:
    """Return what `half_axes` does at one s, to the last bit, and ten times as fast as through an array."""
    stations = tube.stations
    after = bisect.bisect_right(stations, s, key=lambda station: station.s)
    low, high = stations[max(after - 1, 0)], stations[min(after, len(stations) - 1)]
    if low is high or low.s >= s:
        return low.height / 2.0, low.width / 2.0
    run, on = high.s - low.s, s - low.s
    height, width = low.height / 2.0, low.width / 2.0
    return (high.height / 2.0 - height) / run * on + height, (high.width / 2.0 - width) / run * on + width


@functools.lru_cache(maxsize=256)
def _sizes(tube: Tube) -> tuple[Vector, Vector, Vector]:
    """Return the stations' s, half heights and half widths, mm, which searches ask for thousands of times."""
    found = (
        np.array([station.s for station in tube.stations], dtype=np.float64),
        np.array([station.height / 2.0 for station in tube.stations]),
        np.array([station.width / 2.0 for station in tube.stations]),
    )
    for each in found:
        each.setflags(write=False)
    return found


@functools.lru_cache(maxsize=256)
def frame(tube: Tube) -> tuple[Vector, Vector, Vector, float]:
    """Return n0, the across direction, the axis up the tube (all unit) and the true length of one mm of s."""
    (tx, ty), (nx, ny) = tube.t0, tube.n0
    angle = math.radians(tube.splay)
    axis = np.array([tx * math.cos(angle), ty * math.cos(angle), -math.sin(angle)])
    u = np.array([nx, ny, 0.0])
    across = np.cross(axis, u)
    for each in (u, across, axis):
        each.setflags(write=False)
    return u, across, axis, 1.0 / math.cos(angle)


def outline(tube: Tube, look: Direction, toward: Direction) -> tuple[Vector, Vector]:
    """Return the two contour lines of the tube seen along `look`, each (n, 3), mm.

    The first is the one that lies to the side of `toward`. They run from the first known s to the last,
    with a point at every station between; a contour is where the surface's normal is square to the look,
    so taper and splay are taken in full.
    """
    start, end = tube.span
    stops = [start, *(station.s for station in tube.stations if start < station.s < end), end]
    along = np.asarray(look, dtype=np.float64)
    sides: tuple[list[Vector], list[Vector]] = ([], [])
    for piece in itertools.pairwise(stops):
        for s in piece:
            for side, sign in zip(sides, (1.0, -1.0), strict=True):
                side.append(_contour_point(tube, s, piece, along, sign))
    # Where two tapers meet the contour steps by less than a micrometre; the mean joins its ends.
    first, second = _joined(sides[0]), _joined(sides[1])
    if (first[0] - second[0]) @ np.asarray(toward, dtype=np.float64) < 0.0:
        return second, first
    return first, second


def _joined(points: list[Vector]) -> Vector:
    inner = [(points[i] + points[i + 1]) / 2.0 for i in range(1, len(points) - 1, 2)]
    return np.array([points[0], *inner, points[-1]])


def _contour_point(tube: Tube, s: float, piece: tuple[float, float], look: Vector, sign: float) -> Vector:
    """Return the contour's point at s; `piece` is the stretch whose taper counts there."""
    low, high = section(tube, piece[0]), section(tube, piece[1])
    run = piece[1] - piece[0]
    here = section(tube, s)
    a, b = here.height / 2.0, here.width / 2.0
    da, db = (high.height - low.height) / 2.0 / run, (high.width - low.width) / 2.0 / run
    u, w, m, stretch = frame(tube)
    lu, lw, lm = float(look @ u), float(look @ w), float(look @ m)
    # The surface is C(s) + a cos(p) u + b sin(p) w; its normal square to the look gives
    # stretch (b cos(p) lu + a sin(p) lw) = (da b cos2(p) + a db sin2(p)) lm, solved by fixed-point turns,
    # which converge at the rate of the taper.
    reach, phase = math.hypot(b * lu, a * lw), math.atan2(a * lw, b * lu)
    p = phase + sign * math.pi / 2.0
    for _ in range(_TURNS):
        lean = (da * b * math.cos(p) ** 2 + a * db * math.sin(p) ** 2) * lm / (stretch * reach)
        p = phase + sign * math.acos(max(-1.0, min(1.0, lean)))
    point = centre(tube, s) + a * math.cos(p) * u + b * math.sin(p) * w
    return np.where(np.abs(point) < _FLAT, 0.0, point)


def _base(tube: Tube) -> Vector:
    """Return the centre line's point at s = 0."""
    nx, ny = tube.n0
    return np.array([tube.offset * nx, tube.offset * ny, tube.outset])
