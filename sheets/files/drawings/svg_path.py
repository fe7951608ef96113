"""Path data of an SVG as flat lines (SVG 1.1, chapter 8.3; arcs by its appendix F.6)."""

import math
import re
from collections.abc import Callable, Iterator

from geometry.core.errors import RefusedError
from geometry.core.plane import Point
from geometry.core.say import say
from sheets.files.drawings.pieces import MOST_POINTS, arc, bezier, within

_SPACE = re.compile(r"[\s,]*")
_NUMBER = re.compile(r"[+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][+-]?[0-9]+)?")
_COUNT = {"M": 2, "L": 2, "H": 1, "V": 1, "C": 6, "S": 4, "Q": 4, "T": 2, "A": 7, "Z": 0}
_FLAGS = (3, 4)
"""Which numbers of an arc are flags, written as one digit that needs no blank after it."""

Mapped = Callable[[Point], Point]
"""From an element's own units to mm on the drawing; it keeps straight lines straight."""


def subpaths(data: str, mapped: Mapped, left: int = MOST_POINTS) -> Iterator[tuple[list[Point], bool]]:
    """Yield each line of some path data in mm and whether it is closed.

    Raise RefusedError where it is no path, or takes more than `left` points or steps.
    """
    at: Point = (0.0, 0.0)
    begun = at
    points: list[Point] = []
    bent: tuple[str, Point] = ("", at)
    for letter, numbers in _steps(data):
        # A step that draws nothing counts as well: a file may hold nothing else.
        left -= 1
        within(0, left)
        before = len(points)
        kind = letter.upper()
        if not points and kind != "M":
            raise RefusedError(say("outline.path_data", data=data[:20]))
        if letter.islower():
            numbers = _absolute(kind, numbers, at)
        if kind == "M":
            if len(points) > 1:
                yield points, False
            at = begun = (numbers[0], numbers[1])
            points = [mapped(at)]
        elif kind == "Z":
            if len(points) > 1:
                yield points, True
            at, points = begun, [mapped(begun)]
        else:
            ends, bent = _curve(kind, numbers, at, bent)
            if kind == "A":
                points += _arc(numbers, at, mapped, left)
            elif len(ends) == 1:
                points.append(mapped(ends[0]))
            else:
                points += bezier([points[-1], *map(mapped, ends)], left)
            left -= max(len(points) - before - 1, 0)
            at = ends[-1]
            continue
        bent = ("", at)
    if len(points) > 1:
        yield points, False


def _curve(
    kind: str, numbers: list[float], at: Point, bent: tuple[str, Point]
) -> tuple[list[Point], tuple[str, Point]]:
    """Return the corners after the first, and what a smooth curve that follows bends on from."""
    pairs = list(zip(numbers[::2], numbers[1::2], strict=False))
    match kind:
        case "H":
            return [(numbers[0], at[1])], ("", at)
        case "V":
            return [(at[0], numbers[0])], ("", at)
        case "C" | "Q":
            return pairs, (kind, pairs[-2])
        case "S" | "T":
            like = "C" if kind == "S" else "Q"
            # The last corner before `at`, seen through it; without a curve of the kind it is `at` itself.
            x, y = bent[1] if bent[0] == like else at
            pairs.insert(0, (2.0 * at[0] - x, 2.0 * at[1] - y))
            return pairs, (like, pairs[-2])
        case "A":
            return [(numbers[5], numbers[6])], ("", at)
    return pairs, ("", at)


def _absolute(kind: str, numbers: list[float], at: Point) -> list[float]:
    if kind == "A":
        return [*numbers[:5], numbers[5] + at[0], numbers[6] + at[1]]
    if kind == "V":
        return [numbers[0] + at[1]]
    return [each + at[i % 2] for i, each in enumerate(numbers)]


def _arc(numbers: list[float], start: Point, mapped: Mapped, left: int) -> list[Point]:
    """Return points along an arc without its first, from its ends to its centre by F.6.5 and F.6.6."""
    rx, ry, end = abs(numbers[0]), abs(numbers[1]), (numbers[5], numbers[6])
    if start == end:
        return []
    if rx == 0.0 or ry == 0.0:
        return [mapped(end)]
    c, s = math.cos(math.radians(numbers[2])), math.sin(math.radians(numbers[2]))
    dx, dy = (start[0] - end[0]) / 2.0, (start[1] - end[1]) / 2.0
    x, y = (c * dx + s * dy) / rx, (c * dy - s * dx) / ry
    # In units of the radii the ends lie on a circle of 1 about the centre; too small radii are made to reach.
    size = math.hypot(x, y)
    if size > 1.0:
        rx, ry, x, y = rx * size, ry * size, x / size, y / size
    off = math.sqrt(max(0.0, 1.0 / (x * x + y * y) - 1.0)) * (-1.0 if numbers[3] == numbers[4] else 1.0)
    u, v = off * y, -off * x
    centre = (
        (start[0] + end[0]) / 2.0 + c * rx * u - s * ry * v,
        (start[1] + end[1]) / 2.0 + s * rx * u + c * ry * v,
    )
    first, last = math.atan2(y - v, x - u), math.atan2(-y - v, -x - u)
    sweep = (last - first) % (2.0 * math.pi)
    if not numbers[4]:
        sweep -= 2.0 * math.pi
    zero, middle = mapped((0.0, 0.0)), mapped(centre)
    a, b = mapped((c * rx, s * rx)), mapped((-s * ry, c * ry))
    a, b = (a[0] - zero[0], a[1] - zero[1]), (b[0] - zero[0], b[1] - zero[1])
    return [*arc(middle, a, b, first, sweep, left)[1:-1], mapped(end)]


def _steps(data: str) -> Iterator[tuple[str, list[float]]]:
    """Yield each step's letter and numbers; more numbers after a step are the same again."""
    place = _SPACE.match(data).end()  # type: ignore[union-attr]
    letter = ""
    while place < len(data):
        if data[place].isalpha():
            letter = data[place]
            place = _SPACE.match(data, place + 1).end()  # type: ignore[union-attr]
        elif letter in ("", "Z", "z"):
            raise RefusedError(say("outline.path_data", data=data[place : place + 20]))
        count = _COUNT.get(letter.upper())
        if count is None:
            raise RefusedError(say("outline.path_data", data=data[place - 1 : place + 19]))
        numbers: list[float] = []
        for i in range(count):
            flag = letter in "Aa" and i in _FLAGS
            match = re.compile("[01]").match(data, place) if flag else _NUMBER.match(data, place)
            if match is None:
                raise RefusedError(say("outline.path_data", data=data[place : place + 20] or letter))
            numbers.append(float(match[0]))
            place = _SPACE.match(data, match.end()).end()  # type: ignore[union-attr]
        yield letter, numbers
        letter = {"M": "L", "m": "l"}.get(letter, letter)
