"""Tubes to try, and distances from them worked out apart from the package, from the definition of the axes.

Ranges: stays and fork legs are 10 to 40 mm across, and splayed by 12 degrees at most (common practice, no
source, with room to spare).
"""

import cmath
import math

import numpy as np
from hypothesis import strategies as st
from numpy.typing import NDArray

from geometry.tubes.tube import Station, Tube

Vector = NDArray[np.float64]
SIZE = st.floats(10.0, 40.0)
MISS = 0.005
"""How far a point or a chord may lie from a surface, mm: what a saw line can show is a hundred times that."""


def round_stations(*stations: tuple[float, float]) -> tuple[Station, ...]:
    return tuple(Station(s, size, size) for s, size in stations)


@st.composite
def tubes(draw: st.DrawFn, oval: bool = True) -> Tube:
    """Return a tube of one or two tapers, round or oval; no size changes by more than half over 120 mm."""
    base, width = draw(SIZE), draw(st.floats(0.5, 1.0)) if oval and draw(st.booleans()) else 1.0
    first = [Station(0.0, base, base * width)]
    for s in draw(st.sampled_from([(250.0,), (120.0, 260.0)])):
        size = base * draw(st.floats(0.6, 1.3))
        # Where a tube is oval, its shape may change as well.
        share = width * draw(st.floats(0.8, 1.2)) if width < 1.0 else 1.0
        first.append(Station(s, size, size * share))
    return Tube(
        "chainstay", draw(st.floats(0.0, 360.0)), tuple(first), draw(st.floats(-10.0, 10.0)),
        draw(st.floats(-10.0, 10.0)), draw(st.floats(-12.0, 12.0)),
    )  # fmt: skip


def own_axes(tube: Tube) -> Vector:
    """Return n0, across and along the tube as rows, from the definition of the axes."""
    t = cmath.exp(1j * math.radians(tube.direction))
    run = np.array([t.real, t.imag, -math.tan(math.radians(tube.splay))])
    run /= np.linalg.norm(run)
    n = np.array([t.imag, -t.real, 0.0])
    return np.array([n, np.cross(run, n), run])


def line_at(tube: Tube, s: float) -> Vector:
    t = cmath.exp(1j * math.radians(tube.direction))
    place = (s - 1j * tube.offset) * t
    return np.array([place.real, place.imag, tube.outset - s * math.tan(math.radians(tube.splay))])


def off_tube(tube: Tube, points: Vector) -> Vector:
    """Return each point's distance from the tube's outside: what is over, by its steepest change.

    That is the distance itself on a round tube, and right to a share of distance over radius on an oval.
    """
    base = line_at(tube, 0.0)
    along_s = math.cos(math.radians(tube.splay))

    def over(points: Vector) -> Vector:
        x, y, q = ((points - base) @ axis for axis in own_axes(tube))
        at = [each.s for each in tube.stations]
        a = np.interp(q * along_s, at, [each.height for each in tube.stations]) / 2.0
        b = np.interp(q * along_s, at, [each.width for each in tube.stations]) / 2.0
        return np.asarray(np.hypot(x / a, y / b) - 1.0)

    step = 1e-5
    steepest = np.zeros(len(points))
    for axis in np.eye(3):
        steepest += ((over(points + step * axis) - over(points - step * axis)) / (2.0 * step)) ** 2
    return np.abs(over(points)) / np.sqrt(steepest)


def off_line(points: Vector, point: Vector, direction: Vector) -> Vector:
    way = np.asarray(direction) / np.linalg.norm(direction)
    return np.asarray(np.linalg.norm(np.cross(points - point, way), axis=-1))


def with_middles(points: Vector) -> Vector:
    return np.concatenate([points, (points[1:] + points[:-1]) / 2.0])


def off_polyline(points: Vector, line: Vector) -> float:
    """Return the largest distance of points from an unbroken line."""
    start, step = line[:-1], np.diff(line, axis=0)
    away = points[:, None] - start
    share = np.clip(np.sum(away * step, axis=-1) / np.maximum(np.sum(step * step, axis=-1), 1e-30), 0.0, 1.0)
    return float(np.linalg.norm(away - share[..., None] * step, axis=-1).min(axis=1).max())


PLAIN = Tube("chainstay", 180.0, round_stations((0.0, 20.0), (300.0, 20.0)))
