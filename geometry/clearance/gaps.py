"""How near a disc or any convex solid comes to a tube, and the largest disc that tubes leave room for."""

import heapq
import itertools
import math
from collections.abc import Iterable, Mapping, Sequence

from geometry.clearance.convex import (
    Ellipse,
    Nearest,
    Solid,
    Space,
    between,
    disc_solid,
    dot,
    minus,
    moved,
    nearest,
)
from geometry.clearance.judged import missing
from geometry.core.frozen import dataclass
from geometry.core.say import Say
from geometry.mount.placement import Rotor
from geometry.tubes.tube import Station, Tube, Vector, centre, frame, section

_BULGE = 2e-7
"""Largest bulge of an oval piece's hull beyond the tube that is let stand, mm."""
_CUTS = 200
_EVEN = 1e-7
"""What a gap may lack of the room asked for and still keep it, mm: rounding."""


@dataclass(frozen=True, slots=True)
class Gap:
    """The smallest distance between a disc and a tube, mm, and where on the tube; 0 where they meet.

    `left` is the distance less the run-out, mm, never less than nothing.
    """

    tube: str
    distance: float
    left: float
    at: Space


@dataclass(frozen=True, slots=True)
class Largest:
    """The largest disc that keeps the room asked for to the tubes that are known, or None where none does.

    `known` are those tubes, and `unknown` says of each other one of such a frame what to measure: with any of
    these `diameter` is no more than an upper bound. `gaps` are the smallest of every size that the mount
    takes. `room` is what was asked for once `runout` is taken off, mm.
    """

    diameter: float | None
    gaps: tuple[tuple[float, Gap], ...]
    known: tuple[str, ...]
    unknown: tuple[Say | str, ...]
    room: float
    runout: float

    @property
    def sure(self) -> float | None:
        """Return the largest disc that has room for certain; None where none has, or it is not known."""
        return None if self.unknown else self.diameter


def largest_disc(
    rotor: Rotor,
    tubes: Mapping[str, Tube],
    sizes: Iterable[float],
    *,
    wanted: Sequence[str],
    room: float,
    runout: float = 0.0,
) -> Largest | None:
    """Return the largest disc among `sizes` that keeps `room` to every tube, on the rotor's own plane.

    `wanted` names the tubes that such a frame has; one that is not given, or not placed sideways, is unknown.
    None without a rotor position.
    """
    if rotor.inner_face_z is None or rotor.outer_face_z is None:
        return None
    lacking = {name: missing(name, tubes.get(name)) for name in wanted}
    known = [name for name, why in lacking.items() if not why]
    unknown = tuple(why for why in lacking.values() if why)
    gaps: list[tuple[float, Gap]] = []
    settled: dict[str, Gap] = {}
    for size in sorted(sizes):
        disc = disc_solid(size / 2.0, rotor.inner_face_z, rotor.outer_face_z)
        found = []
        for name in known:
            gap = settled.get(name)
            if gap is None:
                near = tube_gap(disc, tubes[name])
                gap = Gap(name, near.distance, max(0.0, near.distance - runout), near.second)
                # Where the nearest point lies within the rim it stays the nearest for every larger disc.
                if near.distance == 0.0 or math.hypot(*near.first[:2]) < size / 2.0 - 0.001:
                    settled[name] = gap
            found.append(gap)
        if found:
            gaps.append((size, min(found, key=lambda gap: gap.distance)))
    fitting = [size for size, gap in gaps if gap.left >= room - _EVEN]
    return Largest(max(fitting, default=None), tuple(gaps), tuple(known), unknown, room, runout)


def tube_gap(solid: Solid, tube: Tube, beyond: float = math.inf) -> Nearest:
    """Return how near a convex solid comes to a tube, taken as solid with flat ends over its known length.

    Right to 0.0000003 mm: between stations a round tube, or an oval one of steady shape, is the hull of its
    ends, and then the nearest pair is found and proven. Where an oval changes shape its hull bulges past
    it; the piece with the nearest hull is cut again and again, until what is nearest bulges no more.
    Beyond a distance of `beyond` the search may end early with a distance that is at least that.
    """
    axis = _axis(tube)
    count = itertools.count()
    heap: list[tuple[float, int, Nearest, _Piece]] = []
    limit = beyond

    def look(piece: _Piece) -> None:
        nonlocal limit
        near = nearest(solid, _hull(axis, piece), limit)
        # Pieces that are proven further off than an exact one was are never taken out again.
        heapq.heappush(heap, (near.proven, next(count), near, piece))
        if near.proven <= limit and _bulge(piece) <= _BULGE:
            limit = min(limit, near.distance)

    for piece in _pieces(tube):
        look(piece)
    while True:
        proven, number, near, piece = heapq.heappop(heap)
        if proven > beyond or _bulge(piece) <= _BULGE or number > _CUTS:
            return near
        for part in _cut(piece, _along_axis(axis, near.second), number):
            look(part)


def tubes_gap(one: Tube, other: Tube) -> Nearest:
    """Return how near two tubes come, both solid with flat ends over their known length; 0 where they cross.

    Right where `one` is round or a steady oval; elsewhere its hull stands in, which bulges past it.
    """
    axis = _axis(one)
    return min(
        (tube_gap(_hull(axis, piece), other) for piece in _pieces(one)), key=lambda near: near.distance
    )


_Piece = tuple[Station, Station]
_Axis = tuple[Space, Space, Space, Space, float]
"""A tube's centre at s = 0, its unit vectors in the side plane, across and up the axis, one mm of s on it."""


def _axis(tube: Tube) -> _Axis:
    u, w, m, stretch = frame(tube)
    start = centre(tube, 0.0)
    return _space(start), _space(u), _space(w), _space(m), stretch


def _space(vector: Vector) -> Space:
    return float(vector[0]), float(vector[1]), float(vector[2])


def _along_axis(axis: _Axis, point: Space) -> float:
    """Return the s of a point."""
    start, _, _, m, stretch = axis
    return dot(minus(point, start), m) / stretch


def _pieces(tube: Tube) -> list[_Piece]:
    """Return the tube's pieces from station to station, as far as it is known."""
    start, end = tube.span
    inner = [station for station in tube.stations if start < station.s < end]
    return list(itertools.pairwise([section(tube, start), *inner, section(tube, end)]))


def _hull(axis: _Axis, piece: _Piece) -> Solid:
    start, u, w, m, stretch = axis

    def ellipse(at: Station) -> Ellipse:
        zero = (0.0, 0.0, 0.0)
        place = moved(start, at.s * stretch, m)
        return place, moved(zero, at.height / 2.0, u), moved(zero, at.width / 2.0, w)

    return between(ellipse(piece[0]), ellipse(piece[1]))


def _bulge(piece: _Piece) -> float:
    """Return at most how far the hull of a piece's ends stands past the piece, mm.

    An ellipse of half axes a, b reaches h = sqrt(a2 cos2 + b2 sin2) in a direction; the hull reaches the mean
    of its ends' h, which is more than that of the mean a and b by at most an eighth of h's second change,
    (da b - db a)^2 cos2 sin2 / h^3, and h2 >= 2 a b sin cos.
    """
    (a0, b0), (a1, b1) = ((each.height / 2.0, each.width / 2.0) for each in piece)
    turn = (a1 - a0) * b0 - (b1 - b0) * a0
    return turn * turn / (32.0 * math.pow(min(a0, a1) * min(b0, b1), 1.5))


def _cut(piece: _Piece, s: float, number: int) -> list[_Piece]:
    """Return a piece cut about the place that seems nearest, so that it bulges no more there; or halved.

    Every third time it is halved, so that the search comes to an end wherever the nearest place wanders.
    """
    low, high = piece
    whole = high.s - low.s
    half = 0.49 * whole * math.sqrt(_BULGE / _bulge(piece))
    stops = [(low.s + high.s) / 2.0] if number % 3 == 2 else [s - half, s + half]
    inner = [_at(piece, stop) for stop in stops if low.s < stop < high.s]
    return list(itertools.pairwise([low, *inner, high]))


def _at(piece: _Piece, s: float) -> Station:
    low, high = piece
    share = (s - low.s) / (high.s - low.s)
    height = low.height + share * (high.height - low.height)
    return Station(s, height, low.width + share * (high.width - low.width))
