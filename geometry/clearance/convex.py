"""How near two convex solids come to each other, with a bound that proves it.

A solid is known by its support alone: a function from a direction to its furthest point that way. The
nearest pair is found by the distance algorithm that IEEE Journal of Robotics and Automation 4 published in
1988: the difference of the solids is approached from inside by points, lines and triangles between support
points. Each step also gives a plane between the solids, so that the true distance lies between the two, and
the search ends when they are less than a nanometre apart. Lengths are mm.
"""

import itertools
import math
from collections.abc import Callable, Sequence

from geometry.core.frozen import dataclass

Space = tuple[float, float, float]
Solid = Callable[[Space], Space]
"""A convex solid: the furthest of its points in a direction (of any length but 0)."""

_CLOSE = 1e-9
"""Largest difference between distance found and distance proven at which the search ends, mm."""
_ROUNDS = 400
_TOUCHING = 1e-10


@dataclass(frozen=True, slots=True)
class Nearest:
    """The distance between two solids, mm, 0 where they meet, and the nearest point of each.

    `proven` is a distance that the solids are sure to keep; it is less than `distance` by rounding alone, or
    by more where the search was ended early because that was already further off than asked for.
    """

    distance: float
    proven: float
    first: Space
    second: Space


def dot(a: Space, b: Space) -> float:
    """Return the scalar product."""
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2]


def minus(a: Space, b: Space) -> Space:
    """Return a - b."""
    return a[0] - b[0], a[1] - b[1], a[2] - b[2]


def moved(a: Space, length: float, way: Space) -> Space:
    """Return a point moved by a length along a vector."""
    return a[0] + length * way[0], a[1] + length * way[1], a[2] + length * way[2]


def disc_solid(radius: float, low: float, high: float) -> Solid:
    """Return a disc about the z axis from `low` to `high`, mm."""

    def support(d: Space) -> Space:
        across = math.hypot(d[0], d[1])
        z = high if d[2] > 0.0 else low
        return (0.0, 0.0, z) if across == 0.0 else (radius * d[0] / across, radius * d[1] / across, z)

    return support


Ellipse = tuple[Space, Space, Space]
"""A flat ellipse: its centre and its two half axes as vectors."""


def between(start: Ellipse, end: Ellipse) -> Solid:
    """Return the hull of two ellipses: a cylinder or cone, right or oblique, round or oval."""
    # Asked for ten thousand times a job, and so written out in numbers.
    first, second = (tuple(itertools.chain(*each)) for each in (start, end))
    ax, ay, az, bx, by, bz, cx, cy, cz = first
    dx, dy, dz, ex, ey, ez, fx, fy, fz = second
    hypot = math.hypot

    def support(d: Space) -> Space:
        x, y, z = d
        b, c = bx * x + by * y + bz * z, cx * x + cy * y + cz * z
        e, f = ex * x + ey * y + ez * z, fx * x + fy * y + fz * z
        one, two = hypot(b, c), hypot(e, f)
        if dx * x + dy * y + dz * z + two > ax * x + ay * y + az * z + one:
            if two == 0.0:
                return dx, dy, dz
            e, f = e / two, f / two
            return dx + e * ex + f * fx, dy + e * ey + f * fy, dz + e * ez + f * fz
        if one == 0.0:
            return ax, ay, az
        b, c = b / one, c / one
        return ax + b * bx + c * cx, ay + b * by + c * cy, az + b * bz + c * cz

    return support


def rod(start: Space, way: Space, length: float, radius: float) -> Solid:
    """Return a round rod with flat ends from `start` along the unit vector `way`, mm."""
    aside = (0.0, 0.0, 1.0) if abs(way[2]) < 0.9 else (1.0, 0.0, 0.0)
    u = _unit(_cross(way, aside))
    a, b = moved((0.0, 0.0, 0.0), radius, u), moved((0.0, 0.0, 0.0), radius, _cross(way, u))
    return between((start, a, b), (moved(start, length, way), a, b))


def block(centre: Space, halves: Sequence[Space]) -> Solid:
    """Return the box about a centre whose half edges are the three given vectors."""
    first, second, third = halves

    def support(d: Space) -> Space:
        point = moved(centre, math.copysign(1.0, dot(first, d)), first)
        point = moved(point, math.copysign(1.0, dot(second, d)), second)
        return moved(point, math.copysign(1.0, dot(third, d)), third)

    return support


def nearest(one: Solid, two: Solid, beyond: float = math.inf) -> Nearest:
    """Return how near two solids come; the search may end as soon as they are proven further than `beyond`.

    The distance is right to a nanometre; between solids a metre long that lie all but parallel, rounding may
    leave some tenths of a millionth of a millimetre.
    """
    kept: list[_Pair] = [_pair(one, two, (1.0, 0.0, 0.0))]
    weights: tuple[float, ...] = (1.0,)
    v = kept[0][0]
    away, proven = math.sqrt(dot(v, v)), 0.0
    for _ in range(_ROUNDS):
        if away <= _TOUCHING:
            return Nearest(0.0, 0.0, *_points(kept, weights))
        new = _pair(one, two, v)
        proven = max(proven, dot(v, new[0]) / away)
        if away - proven <= _CLOSE or proven > beyond:
            break
        chosen = _closest(new, kept)
        if chosen is None:
            break
        found, found_weights, point = chosen
        length = math.sqrt(dot(point, point))
        if len(found) == 4:
            return Nearest(0.0, 0.0, *_points(found, found_weights))
        if length >= away:
            break  # rounding allows no further step
        kept, weights, v, away = found, found_weights, point, length
    return Nearest(away, max(0.0, proven), *_points(kept, weights))


_Pair = tuple[Space, Space, Space]
"""A point of the difference of two solids, and the points of the two that it is the difference of."""


def _pair(one: Solid, two: Solid, v: Space) -> _Pair:
    """Return the support point of `one` less `two` towards the origin from v."""
    a, b = one((-v[0], -v[1], -v[2])), two(v)
    return minus(a, b), a, b


_Simplex = tuple[list[_Pair], tuple[float, ...], Space]


def _closest(new: _Pair, kept: Sequence[_Pair]) -> _Simplex | None:
    """Return the corners, weights and place of the point nearest the origin on the new pair's simplices.

    What was nearest before lay on the kept corners alone, so the new corner has a part in what is nearer.
    Four corners come back where they hold the origin.
    """
    w = x, y, z = new[0]
    best: _Simplex = ([new], (1.0,), w)
    least = x * x + y * y + z * z
    edges: list[tuple[_Pair, Space, float, float]] = []
    for pair in kept:
        (px, py, pz), _, _ = pair
        ex, ey, ez = px - x, py - y, pz - z
        ee, we = ex * ex + ey * ey + ez * ez, -(x * ex + y * ey + z * ez)
        if ee <= 0.0:
            return None
        edges.append((pair, (ex, ey, ez), ee, we))
        t = we / ee
        if t <= 0.0:
            continue
        t = min(t, 1.0)
        px, py, pz = x + t * ex, y + t * ey, z + t * ez
        if (size := px * px + py * py + pz * pz) < least:
            best, least = ([new, pair], (1.0 - t, t), (px, py, pz)), size
    for (p, e, ee, we), (q, f, ff, wf) in itertools.combinations(edges, 2):
        ef = e[0] * f[0] + e[1] * f[1] + e[2] * f[2]
        area = ee * ff - ef * ef
        if area <= 1e-14 * ee * ff:
            continue
        s, t = (we * ff - wf * ef) / area, (wf * ee - we * ef) / area
        if s <= 0.0 or t <= 0.0 or s + t >= 1.0:
            continue
        # The foot on the plane by its normal: exact where the triangle is a sliver and weights are not.
        n = _cross(e, f)
        point = moved((0.0, 0.0, 0.0), dot(w, n) / dot(n, n), n)
        if (size := dot(point, point)) < least:
            best, least = ([new, p, q], (1.0 - s - t, s, t), point), size
    if len(kept) == 3:
        inside = _holds_origin([new, *kept])
        if inside is not None:
            return [new, *kept], inside, (0.0, 0.0, 0.0)
    return best


def _holds_origin(corners: Sequence[_Pair]) -> tuple[float, ...] | None:
    """Return the weights with which four corners make the origin, or None where it lies outside them."""
    w = corners[0][0]
    e, f, g = (minus(pair[0], w) for pair in corners[1:])
    fg, ge, ef = _cross(f, g), _cross(g, e), _cross(e, f)
    volume = dot(e, fg)
    if abs(volume) <= 1e-13 * math.sqrt(dot(e, e) * dot(f, f) * dot(g, g)):
        return None
    parts = tuple(-dot(w, each) / volume for each in (fg, ge, ef))
    if min(parts) < 0.0 or sum(parts) > 1.0:
        return None
    return (1.0 - sum(parts), *parts)


def _points(kept: Sequence[_Pair], weights: Sequence[float]) -> tuple[Space, Space]:
    one, two = (0.0, 0.0, 0.0), (0.0, 0.0, 0.0)
    for (_, a, b), weight in zip(kept, weights, strict=True):
        one, two = moved(one, weight, a), moved(two, weight, b)
    return one, two


def _cross(a: Space, b: Space) -> Space:
    return a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]


def _unit(a: Space) -> Space:
    size = math.sqrt(dot(a, a))
    return a[0] / size, a[1] / size, a[2] / size
