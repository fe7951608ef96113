"""Plane primitives: points are (x, y) in mm, angles in degrees anticlockwise from +x."""

import functools
import math

from geometry.core.errors import GeometryError
from geometry.core.say import Say, say
from geometry.core.shown import Shown

Point = tuple[float, float]
_TRIANGLE = say("plane.triangle")


# A tube's own directions and a label's are asked for thousands of times a page.
@functools.lru_cache(maxsize=4096)
def polar(angle: float, length: float = 1.0) -> Point:
    """Return the vector of the given length at an angle; exact on the axes, so that 90 has no x at all."""
    quarter, rest = divmod(angle % 360.0, 90.0)
    if rest == 0.0:
        x, y = ((1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0))[int(quarter) % 4]
        return x * length, y * length
    return length * math.cos(math.radians(angle)), length * math.sin(math.radians(angle))


def short(value: float) -> Shown:
    """Return a length as it is said in a sentence: to 0.01 mm, without zeros at its end, never as -0."""
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return Shown("0" if text == "-0" else text, value)


def angle_of(vector: Point) -> float:
    """Return a vector's direction in degrees, from 0 up to 360."""
    # A hair below the x axis comes out of the first remainder as 360 itself, out of the second as 0.
    return math.degrees(math.atan2(vector[1], vector[0])) % 360.0 % 360.0


def along(start: Point, *steps: tuple[float, Point]) -> Point:
    """Return `start` moved by each length along its unit vector."""
    x, y = start
    for length, (ux, uy) in steps:
        x, y = x + length * ux, y + length * uy
    return x, y


def turned(vector: Point, degrees: float) -> Point:
    """Return a vector turned anticlockwise; never a negative zero, which lists would print as -0."""
    c, s = polar(degrees)
    return vector[0] * c - vector[1] * s + 0.0, vector[0] * s + vector[1] * c + 0.0


def triangle_foot(near: float, far: float, base: float, where: Say | str = _TRIANGLE) -> tuple[float, float]:
    """Return (x, height): where the apex stands over a base line, from two radii and the base's length.

    `near` and `far` are the distances from the apex to the base's two ends; x runs from the foot of the
    perpendicular to the near end, positive when both ends lie beyond the foot. From the law of cosines,
    x = (far^2 - near^2 - base^2) / (2 base). Raise GeometryError where the three lengths close no triangle.
    """
    if min(near, far, base) <= 0.0:
        raise GeometryError.at(where, say("plane.no_length"))
    x = (far * far - near * near - base * base) / (2.0 * base)
    square = near * near - x * x
    if square <= 0.0:
        long = base - near - far
        why = "plane.base_too_long" if long >= 0.0 else "plane.radii_differ"
        raise GeometryError.at(where, say(why, near=near, far=far, base=base, long=long))
    return x, math.sqrt(square)


def line_in_box(start: Point, end: Point, low: Point, high: Point) -> tuple[Point, Point] | None:
    """Return the part of a segment inside a box with corners `low` and `high`, or None where it misses."""
    enter, leave = 0.0, 1.0
    for axis in (0, 1):
        origin, run = start[axis], end[axis] - start[axis]
        if run == 0.0:
            if not low[axis] <= origin <= high[axis]:
                return None
            continue
        ends = sorted(((low[axis] - origin) / run, (high[axis] - origin) / run))
        enter, leave = max(enter, ends[0]), min(leave, ends[1])
    if enter > leave:
        return None
    whole = (end[0] - start[0], end[1] - start[1])
    return along(start, (enter, whole)), along(start, (leave, whole))


def arcs_in_box(centre: Point, radius: float, low: Point, high: Point) -> tuple[tuple[float, float], ...]:
    """Return the parts of a circle inside a box, as (from, to) in degrees with `to` greater than `from`.

    A circle wholly inside gives ((0, 360),); one wholly outside gives ().
    """
    cuts: list[float] = []
    for axis in (0, 1):
        for edge in (low[axis], high[axis]):
            ratio = (edge - centre[axis]) / radius
            if abs(ratio) < 1.0:
                turn = math.degrees(math.acos(ratio))
                cuts += [turn, -turn] if axis == 0 else [90.0 - turn, 90.0 + turn]
    stops = sorted({cut % 360.0 for cut in cuts})
    if not stops:
        stops = [0.0]
    kept: list[tuple[float, float]] = []
    for start, end in zip(stops, [*stops[1:], stops[0] + 360.0], strict=True):
        x, y = along(centre, (radius, polar((start + end) / 2.0)))
        if not (low[0] <= x <= high[0] and low[1] <= y <= high[1]):
            continue
        if kept and abs(kept[-1][1] - start) < 1e-12:
            kept[-1] = (kept[-1][0], end)
        else:
            kept.append((start, end))
    if len(kept) > 1 and abs(kept[-1][1] - 360.0 - kept[0][0]) < 1e-12:
        kept[0] = (kept.pop()[0], kept[0][1] + 360.0)
    return tuple(kept)


def tangent_line(first: Point, r_first: float, second: Point, r_second: float) -> tuple[Point, Point]:
    """Return where the outer tangent left of first-to-second touches the two circles.

    Raise GeometryError where one circle lies inside the other and there is no outer tangent.
    """
    dx, dy = second[0] - first[0], second[1] - first[1]
    distance = math.hypot(dx, dy)
    if distance <= abs(r_first - r_second):
        raise GeometryError.at(say("plane.tangent"), say("plane.no_tangent"))
    ux, uy = dx / distance, dy / distance
    sine = (r_first - r_second) / distance
    cosine = math.sqrt(1.0 - sine * sine)
    normal = (ux * sine - uy * cosine, uy * sine + ux * cosine)
    return along(first, (r_first, normal)), along(second, (r_second, normal))
