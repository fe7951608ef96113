"""Shapes into commands: the one place where circles, arcs, rulers, arrows and lettering become lines.

Everything is in page millimetres, y up. Three line widths of ISO 128's row tell what you cut or punch, 0.5,
what you lie on, 0.35, and what is only there, 0.18; patterns are its multiples of the line width (remembered;
the widely shipped ISO line-type definitions carry the same).
"""

import itertools
import math
from collections.abc import Iterable, Iterator, Sequence

from fonts.drafting import STROKE, letter, width
from geometry.core.plane import along, polar, tangent_line
from sheets.ink.records import (
    Arc,
    Circle,
    Command,
    Commands,
    Curve,
    Feature,
    Label,
    Part,
    Path,
    Point,
    Segment,
    Slot,
    Style,
)
from sheets.words.tell import tell

BOLDEST = 0.5
WIDE = 0.35
NARROW = 0.18
DASH, GAP, LONG_DASH, DOT = 12, 3, 24, 0.5


def _pattern(line: float, *multiples: float) -> tuple[float, ...]:
    return tuple(round(line * each, 4) for each in multiples)


BOLD = Style(BOLDEST)
THICK = Style(WIDE)
THIN = Style(NARROW)
HIDDEN = Style(NARROW, _pattern(NARROW, DASH, GAP))
SCRIBED = Style(WIDE, _pattern(WIDE, LONG_DASH, GAP, DOT, GAP))
CHAIN = Style(NARROW, _pattern(NARROW, LONG_DASH, GAP, DOT, GAP))
PHANTOM = Style(NARROW, _pattern(NARROW, LONG_DASH, GAP, DOT, GAP, DOT, GAP))
SOLID = Style(0.0, fill=True)

MITRE_LIMIT = 4
"""Stated in every file, because PDF (10) and SVG (4) assume different limits."""

CARD = (85.60, 53.98)
"""ISO/IEC 7810 ID-1 card: width and height."""

INCH = 25.4
MM_BAR = 150.0
INCH_BAR = 6 * INCH

_STEP = 30.0
"""Longest arc drawn as one cubic, degrees: its radial error is then below 0.00005 mm at 100 mm radius."""


def polyline(points: Sequence[Point], closed: bool = False) -> Commands:
    """Return straight lines through the points."""
    (x, y), *rest = points
    lines: tuple[Command, ...] = (("M", x, y), *(("L", px, py) for px, py in rest))
    return (*lines, ("Z",)) if closed else lines


def box(low: Point, high: Point) -> Commands:
    """Return the outline of an upright rectangle."""
    return polyline((low, (high[0], low[1]), high, (low[0], high[1])), closed=True)


def _arc_steps(centre: Point, radius: float, start: float, end: float) -> list[Command]:
    count = max(1, math.ceil(abs(end - start) / _STEP - 1e-9))
    step = (end - start) / count
    reach = radius * 4.0 / 3.0 * math.tan(math.radians(step) / 4.0)
    steps: list[Command] = []
    for i in range(count):
        a, b = start + i * step, start + (i + 1) * step
        p, q = along(centre, (radius, polar(a))), along(centre, (radius, polar(b)))
        c1, c2 = along(p, (reach, polar(a + 90.0))), along(q, (-reach, polar(b + 90.0)))
        steps.append(("C", *c1, *c2, *q))
    return steps


def arc(centre: Point, radius: float, start: float, end: float) -> Commands:
    """Return an arc from `start` to `end` degrees, anticlockwise where end is the greater."""
    first = along(centre, (radius, polar(start)))
    return (("M", *first), *_arc_steps(centre, radius, start, end))


def circle(centre: Point, diameter: float) -> Commands:
    """Return a whole circle."""
    return (*arc(centre, diameter / 2.0, 0.0, 360.0), ("Z",))


def slot(start: Point, end: Point, wide: float) -> Commands:
    """Return a slot's outline: two tangents and two round ends."""
    heading = math.degrees(math.atan2(end[1] - start[1], end[0] - start[0]))
    radius = wide / 2.0
    right_end, right_start = tangent_line(end, radius, start, radius)
    left_start, _ = tangent_line(start, radius, end, radius)
    return (
        ("M", *right_start),
        ("L", *right_end),
        *_arc_steps(end, radius, heading - 90.0, heading + 90.0),
        ("L", *left_start),
        *_arc_steps(start, radius, heading + 90.0, heading + 270.0),
        ("Z",),
    )


def cross(centre: Point, arm: float, gap: float = 0.6, turn: float = 0.0) -> Commands:
    """Return a centre mark whose arms leave the very centre open for the punch."""
    commands: list[Command] = []
    for quarter in range(4):
        way = polar(turn + 90.0 * quarter)
        commands += polyline((along(centre, (gap, way)), along(centre, (arm, way))))
    return tuple(commands)


def break_points(start: Point, end: Point, past: float = 1.5, tooth: float = 1.6) -> tuple[Point, ...]:
    """Return the line at which something is broken off, with one tooth; it runs `past` mm past both ends."""
    long = math.dist(start, end)
    way = ((end[0] - start[0]) / long, (end[1] - start[1]) / long) if long else (0.0, 1.0)
    across = (-way[1], way[0])
    third = long / 3.0
    return (
        along(start, (-past, way)),
        along(start, (third, way)),
        along(start, (third, way), (tooth, across)),
        along(start, (2.0 * third, way), (-tooth, across)),
        along(start, (2.0 * third, way)),
        along(end, (past, way)),
    )


def break_line(start: Point, end: Point) -> Commands:
    """Return a break line to be inked (see `break_points`)."""
    return polyline(break_points(start, end))


def arrow_head(tip: Point, heading: float, length: float = 3.0) -> Commands:
    """Return a filled arrow head of 20 degrees, to be inked SOLID."""
    side = length * math.tan(math.radians(10.0))
    back = along(tip, (-length, polar(heading)))
    across = polar(heading + 90.0)
    return polyline((tip, along(back, (side, across)), along(back, (-side, across))), closed=True)


def commands_of(feature: Feature) -> Commands:
    """Return the one outline that a named feature stands for."""
    match feature:
        case Circle():
            return circle(feature.centre, feature.diameter)
        case Segment():
            return polyline((feature.start, feature.end))
        case Arc():
            return arc(feature.centre, feature.diameter / 2.0, feature.start, feature.end)
        case Slot():
            return slot(feature.start, feature.end, feature.width)
        case Curve():
            return polyline(feature.points)


def _moved(commands: Iterable[Command], dx: float, dy: float) -> Iterator[Command]:
    for command in commands:
        if command[0] == "L":
            yield "L", command[1] + dx, command[2] + dy
        elif command[0] == "C":
            _, x1, y1, x2, y2, x, y = command
            yield "C", x1 + dx, y1 + dy, x2 + dx, y2 + dy, x + dx, y + dy
        elif command[0] == "M":
            yield "M", command[1] + dx, command[2] + dy
        else:
            yield command


def shifted(commands: Iterable[Command], by: Point, turn: float = 0.0) -> Commands:
    """Return commands turned about the origin by degrees, then moved."""
    c, s = polar(turn)
    return _mapped(commands, (c, s, -s, c, *by))


def _mapped(commands: Iterable[Command], matrix: tuple[float, float, float, float, float, float]) -> Commands:
    a, b, c, d, e, f = matrix

    def mapped(numbers: Sequence[float]) -> list[float]:
        out: list[float] = []
        for x, y in zip(numbers[::2], numbers[1::2], strict=True):
            out += [e + a * x + c * y, f + b * x + d * y]
        return out

    if (a, b, c, d) == (1.0, 0.0, 0.0, 1.0):
        # Nearly all lettering lies level, and there is a lot of it.
        return tuple(_moved(commands, e, f))
    return tuple((command[0], *mapped(command[1:])) for command in commands)  # type: ignore[misc]


def lettering_style(height: float) -> Style:
    """Return the pen of lettering: a stroke of a tenth of its height, round ends."""
    return Style(round(height * STROKE, 4), cap="round")


def label(
    text: str, at: Point, height: float, anchor: float = 0.0, turn: float = 0.0, part: Part = ()
) -> Label:
    """Return lettering on a baseline that starts at `at`; `anchor` 0.5 centres it there, 1 ends it there."""
    c, s = polar(turn)
    start = along(at, (-anchor * width(text, height), (c, s))) if anchor else at
    return Label(text, height, (c, s, -s, c, *start), part)


def strokes(one: Label) -> Commands:
    """Return what the pen does for a label."""
    return _mapped(letter(one.text, one.height), one.matrix)


def lettered(labels: Iterable[Label], style: Style, layer: str) -> Path:
    """Return labels in one pen as a Path that is their strokes."""
    held = tuple(labels)
    return Path(tuple(itertools.chain.from_iterable(map(strokes, held))), style, layer, labels=held)


def bar(
    start: Point, turn: float, size: float = 2.5
) -> tuple[tuple[Segment, Segment], Commands, tuple[Label, ...]]:
    """Return a scale bar: its two spines (150 mm and 6 in), all ticks, and its lettering.

    It runs from `start` along `turn` (0 across, 90 down the page's side); millimetre ticks stand to the left
    of that run and inch ticks to the right, both from the same zero.
    """
    name = "across" if turn % 180.0 == 0.0 else "down"
    run, left = polar(turn), polar(turn + 90.0)
    spines = (
        Segment(f"bar {name}", start, along(start, (MM_BAR, run))),
        Segment(f"bar {name}, inch", start, along(start, (INCH_BAR, run))),
    )
    ticks: list[Command] = []
    words: list[Label] = []
    for mm in range(int(MM_BAR) + 1):
        long = 4.0 if mm % 10 == 0 else 2.8 if mm % 5 == 0 else 1.8
        foot = along(start, (float(mm), run))
        ticks += polyline((foot, along(foot, (long, left))))
        if mm % 50 == 0:
            text = f"{mm} mm" if mm == MM_BAR else f"{mm}"
            words.append(label(text, along(foot, (5.0, left)), size, 0.0 if mm == 0 else 0.5, turn))
    for eighth in range(6 * 8 + 1):
        long = 4.0 if eighth % 8 == 0 else 2.8 if eighth % 4 == 0 else 1.8
        foot = along(start, (eighth * INCH / 8.0, run))
        ticks += polyline((foot, along(foot, (-long, left))))
        if eighth % 8 == 0 and eighth:
            text = tell("paper.inches", count=6) if eighth == 48 else f"{eighth // 8}"
            anchor = 0.5 if eighth < 48 else 0.7
            words.append(label(text, along(foot, (-5.0 - size, left)), size, anchor, turn))
    return spines, tuple(ticks), tuple(words)
