"""A belt round circles: outlines of tangent lines and arcs, as a saw and a file make them.

Each pulley is a circle that the belt passes with the circle inside (`inside` True) or outside the outline;
the belt runs anticlockwise and touches every pulley. Where all are inside it is their tangent hull. Lengths
in mm, angles in degrees.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from geometry.errors import GeometryError
from geometry.plane import Point, along, angle_of, polar

_SAME = 1e-9
_STEP = 0.5
"""Longest arc between two points of a sampled outline, degrees."""


@dataclass(frozen=True, slots=True)
class Pulley:
    """A circle on the belt, mm; a relief that is drilled out of the part is not inside."""

    centre: Point
    radius: float
    inside: bool = True

    @property
    def signed(self) -> float:
        """Return the radius, negative for a pulley outside the outline, mm."""
        return self.radius if self.inside else -self.radius


@dataclass(frozen=True, slots=True)
class Line:
    """A straight piece of an outline."""

    start: Point
    end: Point


@dataclass(frozen=True, slots=True)
class Bend:
    """A round piece of an outline: from angle `start` through `sweep` degrees, negative where hollow."""

    centre: Point
    radius: float
    start: float
    sweep: float


Piece = Line | Bend


def tangent_heading(first: Pulley, second: Pulley) -> float:
    """Return the direction in which the belt runs from one pulley to the next, degrees from 0 up to 360.

    Raise GeometryError where no line touches both on their sides.
    """
    dx, dy = second.centre[0] - first.centre[0], second.centre[1] - first.centre[1]
    distance, less = math.hypot(dx, dy), first.signed - second.signed
    if distance <= abs(less):
        raise GeometryError.at("outline", "two circles lie in each other, so no line touches both")
    return (angle_of((dx, dy)) + math.degrees(math.asin(less / distance))) % 360.0


def belt(pulleys: Sequence[Pulley]) -> tuple[Piece, ...]:
    """Return the outline round pulleys given anticlockwise, from the first one's arc on; pieces join.

    Raise GeometryError where two neighbours have no tangent.
    """
    if len(pulleys) == 1:
        return (Bend(pulleys[0].centre, pulleys[0].radius, 0.0, 360.0),)
    ways = [tangent_heading(one, pulleys[(i + 1) % len(pulleys)]) for i, one in enumerate(pulleys)]
    pieces: list[Piece] = []
    for i, pulley in enumerate(pulleys):
        before, after = ways[i - 1], ways[i]
        sweep = (after - before) % 360.0
        if sweep > 360.0 - 1e-7:
            sweep = 0.0
        if not pulley.inside:
            sweep = sweep - 360.0 if sweep > 0.0 else 0.0
        if abs(sweep) > _SAME:
            turn = -90.0 if pulley.inside else 90.0
            pieces.append(Bend(pulley.centre, pulley.radius, (before + turn) % 360.0, sweep))
        other = pulleys[(i + 1) % len(pulleys)]
        square = polar(after - 90.0)
        start = along(pulley.centre, (pulley.signed, square))
        end = along(other.centre, (other.signed, square))
        if math.dist(start, end) > _SAME:
            pieces.append(Line(start, end))
    return tuple(pieces)


def hull(circles: Sequence[Pulley]) -> tuple[Pulley, ...]:
    """Return those circles that their tangent hull touches, anticlockwise; one may stand twice.

    It is found by laying a line along the circles from the lowest point on, as a string is wound.
    """
    kept: list[Pulley] = []
    for one in sorted(circles, key=lambda each: -each.radius):
        if all(math.dist(one.centre, other.centre) > other.radius - one.radius + _SAME for other in kept):
            kept.append(one)
    first = min(kept, key=lambda each: (each.centre[1] - each.radius, each.centre[0]))
    order, here, heading = [first], first, 0.0
    while len(kept) > 1:
        found = [
            ((tangent_heading(here, other) - heading) % 360.0, -math.dist(here.centre, other.centre), i)
            for i, other in enumerate(kept)
            if other is not here
        ]
        # A hair before the heading is the heading itself, not a whole turn.
        turn, _, index = min((t if t < 360.0 - 1e-7 else 0.0, d, i) for t, d, i in found)
        if heading + turn >= 360.0 - 1e-7 and len(order) > 1:
            break
        heading += turn
        here = kept[index]
        order.append(here)
    # The string comes home on the circle where it set out.
    return tuple(order[:-1] if len(order) > 1 and order[-1] is first else order)


def polygon(pieces: Sequence[Piece], step: float = _STEP) -> NDArray[np.float64]:
    """Return points (n, 2) along an outline, its arcs cut into steps of at most `step` degrees."""
    points: list[Point] = []
    for piece in pieces:
        if isinstance(piece, Line):
            points.append(piece.start)
            continue
        count = max(1, math.ceil(abs(piece.sweep) / step))
        points += [
            along(piece.centre, (piece.radius, polar(piece.start + piece.sweep * i / count)))
            for i in range(count)
        ]
    return np.array(points, dtype=np.float64)


def area(pieces: Sequence[Piece]) -> float:
    """Return what an outline encloses, mm2: the chords' polygon and every arc's segment, exactly."""
    twice = 0.0
    for piece in pieces:
        (x0, y0), (x1, y1) = ends(piece)
        twice += x0 * y1 - x1 * y0
        if isinstance(piece, Bend):
            sweep = math.radians(piece.sweep)
            twice += piece.radius**2 * (sweep - math.sin(sweep))
    return twice / 2.0


def ends(piece: Piece) -> tuple[Point, Point]:
    """Return where a piece starts and where it ends."""
    if isinstance(piece, Line):
        return piece.start, piece.end
    first = along(piece.centre, (piece.radius, polar(piece.start)))
    return first, along(piece.centre, (piece.radius, polar(piece.start + piece.sweep)))


def room(pieces: Sequence[Piece], point: Point) -> float:
    """Return how far a point lies inside an outline, mm; negative outside it."""
    best = math.inf
    for piece in pieces:
        if isinstance(piece, Bend):
            away = (point[0] - piece.centre[0], point[1] - piece.centre[1])
            # The angle from the arc's start, counted the way the arc runs.
            turn = (angle_of(away) - piece.start) % 360.0
            within = turn <= piece.sweep if piece.sweep > 0.0 else turn - 360.0 >= piece.sweep
            if within or turn == 0.0:
                best = min(best, abs(math.hypot(*away) - piece.radius))
        start, end = ends(piece)
        best = min(best, math.dist(point, start))
        if isinstance(piece, Line):
            long = math.dist(start, end)
            run = ((end[0] - start[0]) / long, (end[1] - start[1]) / long)
            at = (point[0] - start[0]) * run[0] + (point[1] - start[1]) * run[1]
            if 0.0 <= at <= long:
                best = min(best, abs((point[1] - start[1]) * run[0] - (point[0] - start[0]) * run[1]))
    return best if _contains(pieces, point) else -best


def _contains(pieces: Sequence[Piece], point: Point) -> bool:
    """Return whether the outline winds round a point, by the angles that its pieces are seen under."""
    points = polygon(pieces, 2.0) - np.asarray(point)
    following = np.roll(points, -1, axis=0)
    cross = points[:, 0] * following[:, 1] - points[:, 1] * following[:, 0]
    dot = (points * following).sum(axis=1)
    inside = abs(float(np.arctan2(cross, dot).sum())) > math.pi
    for piece in pieces:
        # Between chord and arc the polygon is wrong; the arc itself says on which side the point is.
        if isinstance(piece, Bend):
            away = math.dist(point, piece.centre)
            turn = (angle_of((point[0] - piece.centre[0], point[1] - piece.centre[1])) - piece.start) % 360.0
            hollow = piece.sweep < 0.0
            if (turn <= piece.sweep if not hollow else turn - 360.0 >= piece.sweep) and abs(
                away - piece.radius
            ) < piece.radius * 2e-4:
                inside = away > piece.radius if hollow else away < piece.radius
    return inside
