"""The measuring sheet's small drawings: not to scale, each showing how one thing is measured."""

import math

from geometry.core.plane import along, polar
from geometry.core.say import Say, named, say
from sheets.ink.drawing import Drawing
from sheets.ink.marks import CHAIN, SOLID, THICK, THIN, arc, arrow_head, circle, polyline
from sheets.ink.records import Point
from sheets.words.tell import told

HEIGHT = 84.0
"""Height of the figures with their titles, mm."""
_LAYER = "figures"
_LETTER = 3.5
_HEAD = 2.2
_INCLUDED = 62.0
_LEAN, _FALL = 66.0, 14.0
"""How leg and chainstay stand to the ground in the figures, degrees; the stay falls more than usual."""


def figures(drawing: Drawing, across: tuple[float, float], top: float) -> float:
    """Draw three figures side by side between two x, their top at a height; return where they end."""
    left, right = across
    foot = top - HEIGHT
    _side(drawing, (left + 92.0, foot + 27.0))
    _behind(drawing, (left + 131.0, foot + 35.0))
    _stay(drawing, (left + 38.0, foot + 66.0))
    _leg(drawing, (right - 15.0, foot + 47.0))
    for i, legend in enumerate(("places", "sideways", "slot")):
        _words(drawing, say(f"blank.figure.{legend}"), (left, foot + 8.6 - i * 4.0))
    for x, name in ((left, "left"), (left + 106.0, "behind"), (right - 36.0, "fork")):
        _words(drawing, say(f"blank.figure.{name}"), (x, top - 3.0))
    return foot


def _side(drawing: Drawing, axle: Point) -> None:
    """Draw both stays from the side: where a place is, and which way an oval tube's height runs."""
    for direction, reach, near, far in ((180.0, 84.0, 3.6, 5.6), (180.0 - _INCLUDED, 56.0, 3.0, 4.0)):
        way, across = polar(direction), polar(direction - 90.0)
        for side in (1.0, -1.0):
            line = (
                along(axle, (9.0, way), (side * near, across)),
                along(axle, (reach, way), (side * far, across)),
            )
            drawing.draw(polyline(line), THICK, _LAYER)
        drawing.draw(polyline((axle, along(axle, (reach + 4.0, way)))), CHAIN, _LAYER)
    drawing.draw(circle(axle, 8.0), THICK, _LAYER)
    drawing.draw(arc(axle, 9.6, -60.0, 90.0), THICK, _LAYER)
    drawing.draw(arc(axle, 9.6, 205.0, 300.0), THICK, _LAYER)
    for number, at, half, drop in ((1, 22.0, 4.0, 9.0), (2, 48.0, 4.8, 13.0), (3, 76.0, 5.4, 13.0)):
        x = axle[0] - at
        _measure(drawing, (x, axle[1] - half), (x, axle[1] + half))
        _words(drawing, say("blank.place.outside", number=number), (x, axle[1] + half + 1.4), 0.5)
        low = axle[1] - drop if number < 3 else axle[1] - 9.0
        if number < 3:
            _measure(drawing, (x, low), (axle[0], low))
            drawing.draw(polyline(((x, axle[1] - half - 0.8), (x, low - 1.0))), THIN, _LAYER)
            _words(drawing, say("blank.place.at", number=number), (axle[0] - at / 2.0, low + 0.8), 0.5)
    drawing.draw(polyline(((axle[0], axle[1] - 5.0), (axle[0], axle[1] - 14.0))), THIN, _LAYER)
    drawing.draw(arc(axle, 34.0, 180.0 - _INCLUDED, 180.0), THIN, _LAYER)
    for end, heading in ((180.0, 267.0), (180.0 - _INCLUDED, 180.0 - _INCLUDED - 87.0)):
        drawing.draw(arrow_head(along(axle, (34.0, polar(end))), heading, _HEAD), SOLID, _LAYER)
    drawing.letter("A", along(axle, (37.0, polar(180.0 - _INCLUDED / 2.0))), 5.0, 1.0, layer=_LAYER)
    tip = along(axle, (56.0, polar(180.0 - _INCLUDED)))
    _words(drawing, named("seatstay"), (tip[0] - 6.0, tip[1] - 4.0), 1.0)
    _words(drawing, named("chainstay"), (axle[0] - 84.0, axle[1] - 9.6))


def _behind(drawing: Drawing, axle: Point) -> None:
    """Draw the left dropout cut through the axle, seen from behind: thickness, pocket, outset, splay."""
    thick, deep = 9.0, 3.0
    inner = axle[0]
    outer = inner - thick
    y = axle[1]
    outline = (
        (outer, y - 12.0), (inner, y - 12.0), (inner, y - 6.0), (inner - deep, y - 6.0),
        (inner - deep, y + 6.0), (inner, y + 6.0), (inner, y + 15.0), (outer, y + 15.0),
    )  # fmt: skip
    drawing.draw(polyline(outline, closed=True), THICK, _LAYER)
    drawing.draw(polyline(((outer - 8.0, axle[1]), (inner + 20.0, axle[1]))), CHAIN, _LAYER)
    foot = (inner - 5.5, axle[1])
    lean = 7.0
    way = polar(90.0 - lean)
    drawing.draw(polyline((foot, along(foot, (46.0, way)))), CHAIN, _LAYER)
    for side in (3.4, -3.4):
        line = (
            along(foot, (16.0, way), (side, polar(-lean))),
            along(foot, (44.0, way), (side, polar(-lean))),
        )
        drawing.draw(polyline(line), THICK, _LAYER)
    # The face that everything is measured from runs on as a thin line.
    drawing.draw(polyline(((inner, axle[1] + 15.0), (inner, axle[1] + 22.0))), THIN, _LAYER)
    low = axle[1] - 16.0
    _measure(drawing, (outer, low), (inner, low))
    drawing.letter("T", ((outer + inner) / 2.0, low - 4.6), _LETTER, 0.5, layer=_LAYER)
    for x in (outer, inner):
        drawing.draw(polyline(((x, axle[1] - 12.6), (x, low - 1.0))), THIN, _LAYER)
    _outside(drawing, (inner - deep, axle[1] + 3.0), (inner, axle[1] + 3.0))
    drawing.letter("P", (inner + 7.6, axle[1] + 1.4), _LETTER, layer=_LAYER)
    _outside(drawing, (foot[0], axle[1] + 18.6), (inner, axle[1] + 18.6), 4.0)
    drawing.letter("O +", (outer - 3.0, axle[1] + 17.0), _LETTER, 1.0, layer=_LAYER)
    drawing.draw(polyline((along(foot, (20.0, polar(90.0))), along(foot, (48.0, polar(90.0))))), THIN, _LAYER)
    drawing.draw(arc(foot, 44.0, 90.0 - lean, 90.0), THIN, _LAYER)
    drawing.letter("S", along(foot, (46.5, polar(91.5 - lean / 2.0))), _LETTER, 0.5, layer=_LAYER)
    _words(drawing, named("outer_face"), (outer - 2.0, axle[1] - 9.0), 1.0)
    _words(drawing, named("inner_face"), (inner + 2.0, axle[1] - 9.0))


def _leg(drawing: Drawing, axle: Point) -> None:
    """Draw a leaning fork leg from the left: L to the ground, and D from its line and from plumb."""
    way, ground = polar(_LEAN), -26.0
    _walls(drawing, axle, _LEAN, 26.0)
    meets = along(axle, (ground / way[1], way))
    drawing.draw(polyline((meets, along(axle, (28.0, way)))), CHAIN, _LAYER)
    drawing.draw(polyline(((meets[0] - 9.0, meets[1]), (meets[0] + 26.0, meets[1]))), THIN, _LAYER)
    _words(drawing, say("blank.figure.ground"), (meets[0] + 26.0, meets[1] - 3.6), 1.0)
    drawing.draw(arc(meets, 24.0, 0.0, _LEAN), THIN, _LAYER)
    drawing.draw(arrow_head(along(meets, (24.0, polar(_LEAN))), _LEAN + 87.0, _HEAD), SOLID, _LAYER)
    drawing.letter("L", along(meets, (25.5, polar(28.0))), _LETTER, layer=_LAYER)
    _opening(drawing, axle, 180.0 + _LEAN, 205.0, 20.0)
    place = along(axle, (22.5, polar(180.0 + _LEAN)), (1.6, polar(180.0)))
    _words(drawing, say("blank.figure.tube"), place, 1.0)
    _words(drawing, say("blank.figure.plumb"), along(axle, (21.5, polar(270.0)), (1.2, polar(0.0))))


def _stay(drawing: Drawing, axle: Point) -> None:
    """Draw a falling chainstay from the left: C to the ground, and D from square to it and from plumb."""
    fall = 180.0 + _FALL
    _walls(drawing, axle, fall, 30.0)
    drawing.draw(polyline((axle, along(axle, (32.0, polar(fall))))), CHAIN, _LAYER)
    drawing.draw(polyline((axle, along(axle, (17.0, polar(fall + 90.0))))), CHAIN, _LAYER)
    drawing.draw(polyline((axle, (axle[0] - 32.0, axle[1]))), THIN, _LAYER)
    _words(drawing, say("blank.figure.level"), (axle[0] - 32.0, axle[1] + 1.0))
    drawing.draw(arc(axle, 25.0, 180.0, fall), THIN, _LAYER)
    drawing.draw(arrow_head(along(axle, (25.0, polar(fall))), fall + 87.0, _HEAD), SOLID, _LAYER)
    drawing.letter("C", (axle[0] - 33.0, axle[1] - 5.8), _LETTER, 1.0, layer=_LAYER)
    _opening(drawing, axle, fall + 90.0, 238.0, 16.0)
    _words(drawing, say("blank.figure.tube"), along(axle, (16.5, polar(fall + 90.0)), (1.2, polar(0.0))))
    _words(drawing, say("blank.figure.plumb"), (axle[0] + 0.5, axle[1] - 20.2), 0.5)


def _walls(drawing: Drawing, axle: Point, heading: float, long: float) -> None:
    """Draw both sides of a tube that runs up from the axle."""
    for side in (1.8, -1.8):
        ends = (along(axle, (reach, polar(heading)), (side, polar(heading - 90.0))) for reach in (4.5, long))
        drawing.draw(polyline(tuple(ends)), THICK, _LAYER)


def _opening(drawing: Drawing, axle: Point, line: float, slot: float, reach: float) -> None:
    """Draw axle, slot and plumb, and D from the tube's line as from plumb; all but `reach` are headings."""
    drawing.draw(circle(axle, 4.0), THICK, _LAYER)
    out = along(axle, (reach, polar(slot)))
    drawing.draw(polyline((along(axle, (2.0, polar(slot))), along(out, (-1.5, polar(slot))))), THICK, _LAYER)
    drawing.draw(arrow_head(out, slot, _HEAD), SOLID, _LAYER)
    drawing.draw(polyline((axle, along(axle, (reach + 1.0, polar(270.0))))), THIN, _LAYER)
    for start, radius in ((min(line, 270.0), 0.5 * reach), (max(line, 270.0), 0.75 * reach)):
        drawing.draw(arc(axle, radius, slot, start), THIN, _LAYER)
        drawing.draw(arrow_head(along(axle, (radius, polar(slot))), slot - 86.0, _HEAD), SOLID, _LAYER)
    place = along(axle, (reach - 1.0, polar(slot)), (4.4, polar(slot - 90.0)))
    drawing.letter("D", (place[0], place[1] - _LETTER / 2.0), _LETTER, 0.5, layer=_LAYER)


def _words(drawing: Drawing, what: Say, at: Point, anchor: float = 0.0) -> None:
    drawing.letter(told(what), at, 2.5, anchor, layer=_LAYER)


def _measure(drawing: Drawing, start: Point, end: Point) -> None:
    """Draw a dimension line with a head at both ends, inside."""
    heading = math.degrees(math.atan2(end[1] - start[1], end[0] - start[0]))
    drawing.draw(polyline((start, end)), THIN, _LAYER)
    drawing.draw(arrow_head(end, heading, _HEAD), SOLID, _LAYER)
    drawing.draw(arrow_head(start, heading + 180.0, _HEAD), SOLID, _LAYER)


def _outside(drawing: Drawing, left: Point, right: Point, run: float = 6.0) -> None:
    """Draw a dimension too short for heads inside it: they point in from both sides."""
    for tip, heading in ((left, 0.0), (right, 180.0)):
        away = along(tip, (-run, polar(heading)))
        drawing.draw(polyline((away, tip)), THIN, _LAYER)
        drawing.draw(arrow_head(tip, heading, _HEAD), SOLID, _LAYER)
