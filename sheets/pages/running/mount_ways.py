"""Three small drawings of how a flat or post mount is measured without a fixture, none of them to scale."""

import math
from collections.abc import Callable

from geometry.core.say import named
from sheets.ink.drawing import Drawing
from sheets.ink.marks import CHAIN, SOLID, THICK, THIN, arrow_head, box, circle, polyline
from sheets.ink.placing import Box
from sheets.ink.records import Point
from sheets.words.tell import told

HEIGHT = 50.0
"""Height of each drawing, mm."""
_LAYER = "figures"
_H, _NEAR, _FAR = 30.0, 26.0, 60.0
"""A flat mount as it is drawn, mm; these are nobody's numbers."""
_AXLE, _PIN, _STANDS = 12.0, 5.0, 13.0
_HEAD = 2.0
At = Callable[[float, float], Point]


def ways(drawing: Drawing, zones: tuple[Box, Box, Box]) -> None:
    """Draw pins with a square, a bar on the face, and three lengths, each into its zone."""
    for zone, drawn in zip(zones, (_square, _bar, _lengths), strict=True):
        drawn(drawing, _base(drawing, zone))


def _base(drawing: Drawing, zone: Box) -> At:
    """Draw axle, mount face and the tube's line; return where a place on the mount is on paper."""
    left, low, right, _ = zone
    scale = (right - left - 4.0) / (_FAR + 10.0 + 20.0)
    origin = right - 20.0 * scale, low + 13.0 * scale

    def at(x: float, up: float) -> Point:
        return origin[0] - x * scale, origin[1] + up * scale

    drawing.draw(circle(at(0.0, 0.0), _AXLE * scale), THICK, _LAYER)
    drawing.draw(polyline((at(-9.0, 0.0), at(_FAR + 9.0, 0.0))), CHAIN, _LAYER)
    face = (at(_NEAR - 9.0, _H - 7.0), at(_NEAR - 9.0, _H), at(_FAR + 9.0, _H), at(_FAR + 9.0, _H - 7.0))
    drawing.draw(polyline(face), THICK, _LAYER)
    return at


def _pins(drawing: Drawing, at: At) -> None:
    for x in (_NEAR, _FAR):
        drawing.draw(box(at(x + _PIN / 2.0, _H), at(x - _PIN / 2.0, _H + _STANDS)), THICK, _LAYER)


def _square(drawing: Drawing, at: At) -> None:
    """Draw pins, a square whose blade touches the axle, and what is read along it and down from the face."""
    _pins(drawing, at)
    edge = -_AXLE / 2.0
    outline = (
        at(46.0, _H), at(46.0, _H + 4.0), at(edge - 4.0, _H + 4.0),
        at(edge - 4.0, -11.0), at(edge, -11.0), at(edge, _H),
    )  # fmt: skip
    drawing.draw(polyline(outline, closed=True), THIN, _LAYER)
    for x, up in ((_NEAR, _H + 17.0), (_FAR, _H + 24.0)):
        _measure(drawing, at(edge, up), at(x + _PIN / 2.0, up), (at(edge, _H + 4.0), at(x + _PIN / 2.0, _H)))
    level = edge - 9.0
    _measure(drawing, at(level, -_AXLE / 2.0), at(level, _H), (at(0.0, -_AXLE / 2.0), at(edge, _H)))
    _say(drawing, "square", at(55.0, _H + 5.5))


def _bar(drawing: Drawing, at: At) -> None:
    """Draw a bar that is screwed onto the face and reaches over the axle, and what is read down from it."""
    drawing.draw(box(at(_FAR + 7.0, _H), at(-15.0, _H + 5.0)), THICK, _LAYER)
    for x in (_NEAR, _FAR):
        drawing.draw(polyline((at(x, _H - 6.0), at(x, _H + 9.0))), CHAIN, _LAYER)
        drawing.draw(box(at(x + 4.0, _H + 5.0), at(x - 4.0, _H + 8.5)), THICK, _LAYER)
    level = -11.0
    _measure(drawing, at(level, -_AXLE / 2.0), at(level, _H), (at(0.0, -_AXLE / 2.0), at(level, _H)))
    _say(drawing, "flat_bar", at(16.0, _H + 7.0))


def _lengths(drawing: Drawing, at: At) -> None:
    """Draw the three lengths from axle to hole, and from hole to hole."""
    _pins(drawing, at)
    for x in (_NEAR, _FAR):
        radius = (x**2 + _H**2) ** 0.5
        start = at(-_AXLE / 2.0 * x / radius, -_AXLE / 2.0 * _H / radius)
        _measure(drawing, start, at(x, _H))
    up = _H + _STANDS + 5.0
    out = _PIN / 2.0
    _measure(
        drawing,
        at(_NEAR - out, up),
        at(_FAR + out, up),
        (at(_NEAR - out, _H + _STANDS), at(_FAR + out, _H + _STANDS)),
    )


def _say(drawing: Drawing, name: str, at: Point) -> None:
    drawing.letter(told(named(name)), at, 2.5, layer=_LAYER)


def _measure(drawing: Drawing, start: Point, end: Point, touched: tuple[Point, Point] | None = None) -> None:
    """Draw a dimension with a head at both ends, and thin lines from what its jaws touch."""
    heading = math.degrees(math.atan2(end[1] - start[1], end[0] - start[0]))
    drawing.draw(polyline((start, end)), THIN, _LAYER)
    drawing.draw(arrow_head(end, heading, _HEAD), SOLID, _LAYER)
    drawing.draw(arrow_head(start, heading + 180.0, _HEAD), SOLID, _LAYER)
    if touched is not None:
        for tip, foot in zip((start, end), touched, strict=True):
            drawing.draw(polyline((foot, tip)), THIN, _LAYER)
