"""The measuring sheet's figure: rear end and fork with their mount, each measure an arrow with its letter.

Not to scale. Which letter is whose stands in sheets/words/measures.py, which boxes and `start` use too. Every
arrow is a named feature, "measure T", so that it is read back like any other line.
"""

from geometry.core.plane import along, polar
from geometry.core.say import named, say
from sheets.ink.drawing import Drawing
from sheets.ink.marks import CHAIN, THICK, THIN, arc, circle, polyline
from sheets.ink.records import Commands, Point
from sheets.pages.running.blank_marks import (
    LAYER,
    LETTER,
    Tube,
    across,
    measure,
    opening,
    turned,
    walls,
    words,
)
from sheets.pages.running.blank_mounts import mount
from sheets.words.measures import LETTERS

WIDTH, HEIGHT = 189.0, 147.5
"""Room that the figure takes, mm: A4 between its margins is the narrowest."""
_FALL, _INCLUDED = 8.0, 62.0
"""How the chainstay falls to the front, and the angle between the stays, degrees."""
_HEAD_ANGLE, _LEG = 72.0, 62.0
"""How steerer and leg stand to the ground, degrees."""
_CROWN, _RAKE = 74.0, 13.0
_UPRIGHT = 10.0
"""How much more room a mount on the seatstay takes over the axle, mm."""
_PLACES = ((1, 26.0, 22.5), (2, 56.0, 28.0), (3, 80.0, 33.5))
"""Places on the chainstay: number, distance up the tube, how far below it that is measured off, mm."""


def figures(
    drawing: Drawing,
    left: float,
    top: float,
    families: tuple[str, str],
    fork: bool = True,
    *,
    upright: bool = False,
) -> float:
    """Draw the figure below a height from x `left` on; return where it ends.

    `families` are those of the mounts at rear and fork, "" for none. Without the `fork` that is left out;
    the rear end is always there, since tubes are measured on it. `upright` shows the rear mount on the
    seatstay, where no fork is beside it.
    """
    foot = top - HEIGHT - (_UPRIGHT if upright else 0.0)
    rear, front = families
    _rear(drawing, (left + 99.0, foot + 98.0), rear, upright)
    if fork:
        _fork(drawing, (left + 134.8, foot + 46.0), foot + 8.0, front, tilt=not rear)
    _behind(drawing, (left + 42.0, foot + 19.7))
    _section(drawing, (left + 79.0, foot + 22.0))
    if "tab" in families:
        _edge(drawing, (left + 104.0, foot + 8.0))
    for x, y, name in (
        (0.0, top - 3.5, "left"),
        (0.0, foot + 44.5, "behind"),
        (64.0, foot + 41.0, "section"),
    ):
        words(drawing, say(f"blank.figure.{name}"), (left + x, y), height=LETTER)
    return foot


def _rear(drawing: Drawing, axle: Point, family: str, upright: bool) -> None:
    """Draw both stays from the left: places, offset, stance, slot, the angle between them, and the mount."""
    stay = Tube(axle, 180.0 + _FALL, 3.5)
    upper = Tube(axle, 180.0 + _FALL - _INCLUDED, 0.0)
    walls(drawing, stay, (20.0, 90.0), (4.8, 6.4))
    tall = 62.0 if upright else 46.0
    walls(drawing, upper, (15.0, tall), (3.6, 4.4))
    for tube, reach, behind in ((stay, 93.0, 17.0), (upper, tall + 3.0, 0.0)):
        drawing.draw(polyline((tube.at(-behind, tube.offset), tube.at(reach, tube.offset))), CHAIN, LAYER)
    words(drawing, named("chainstay"), stay.at(71.0, -8.6), turn=_FALL)
    tip = upper.at(44.0, -6.0)
    words(drawing, named("seatstay"), (tip[0] - 1.0, tip[1] - 2.0), 1.0)
    _dropout(drawing, axle)
    for number, s, depth in _PLACES:
        half = 4.8 + (6.4 - 4.8) * (s - 20.0) / 70.0
        low, high = stay.at(s, stay.offset - half), stay.at(s, stay.offset + half)
        across(
            drawing,
            f"{LETTERS['tube.outside']}{number}",
            low,
            high,
            stay.at(s - 3.6, -half - 2.0),
            turn=_FALL,
        )
        drawing.draw(polyline((stay.at(s, stay.offset - half - 0.8), stay.at(s, -depth - 1.2))), THIN, LAYER)
        mid = stay.at(s / 2.0 + 5.0, -depth + 0.9)
        across(
            drawing,
            f"{LETTERS['tube.at']}{number}",
            stay.at(0.0, -depth),
            stay.at(s, -depth),
            mid,
            turn=_FALL,
        )
    drawing.draw(polyline((stay.at(0.0, -6.6), stay.at(0.0, -35.0))), THIN, LAYER)
    # The axle's own line beside the tube's, and what lies between: on the side away from the tube.
    drawing.draw(polyline((stay.at(-9.0, 0.0), stay.at(-17.0, 0.0))), THIN, LAYER)
    measure(
        drawing, LETTERS["tube.offset"], stay.at(-14.0, 0.0), stay.at(-14.0, stay.offset), stay.at(-18.5, 0.4)
    )
    turned(drawing, LETTERS["tube.included"], axle, 22.0, (180.0 + _FALL, 180.0 + _FALL - _INCLUDED), 17.6)
    level = (axle[0] - 94.0, axle[1])
    drawing.draw(polyline((axle, level)), THIN, LAYER)
    words(drawing, say("blank.figure.level"), (level[0], level[1] + 1.2))
    turned(drawing, LETTERS["stance.chainstay"], axle, 87.0, (180.0, 180.0 + _FALL), 91.6)
    opening(drawing, axle, 270.0 + _FALL, 234.0, 16.0, "rear")
    words(drawing, say("blank.figure.tube"), along(axle, (15.0, polar(278.0)), (1.4, polar(0.0))))
    words(drawing, say("blank.figure.plumb"), (axle[0] - 0.8, axle[1] - 19.8), 0.5)
    if family and upright:
        # It stands lower on this tube than on the chainstay, for want of room over it.
        lower = Tube(upper.at(-14.0, 0.0), upper.heading, 0.0)
        mount(drawing, lower, family, (3.6, 4.4), "rear", 8.0)
    elif family:
        mount(drawing, stay, family, (4.8, 6.4), "rear", 18.0)


def _dropout(drawing: Drawing, axle: Point) -> None:
    """Draw the dropout about the dummy axle, whose diameter is measured across."""
    drawing.draw(circle(axle, 11.0), THICK, LAYER)
    drawing.draw(arc(axle, 12.0, 300.0, 460.0), THICK, LAYER)
    tips = along(axle, (5.5, polar(40.0))), along(axle, (5.5, polar(220.0)))
    across(
        drawing, LETTERS["axle.dummy"], tips[1], tips[0], along(axle, (17.4, polar(40.0)), (-1.8, (0.0, 1.0)))
    )
    drawing.draw(polyline((tips[0], along(axle, (15.0, polar(40.0))))), THIN, LAYER)


def _fork(drawing: Drawing, axle: Point, ground: float, family: str, tilt: bool) -> None:
    """Draw a straight leaning leg from the left: stance, rake and length, slot, and the mount."""
    leg = Tube(axle, _LEG, 0.0)
    walls(drawing, leg, (9.0, _CROWN - 3.0), (3.6, 4.6))
    drawing.draw(circle(axle, 9.0), THICK, LAYER)
    crown = leg.at(_CROWN, 0.0)
    steerer = polar(_HEAD_ANGLE)
    for side in (3.4, -3.4):
        line = along(crown, (4.0, steerer), (side, polar(_HEAD_ANGLE - 90.0)))
        drawing.draw(polyline((line, along(line, (20.0, steerer)))), THICK, LAYER)
    drawing.draw(polyline((leg.at(_CROWN - 3.0, 6.6), leg.at(_CROWN - 3.0, -6.6))), THICK, LAYER)
    drop = axle[1] - ground
    meets = axle[0] - drop * polar(_LEG)[0] / polar(_LEG)[1], ground
    foot = along(axle, (_RAKE, polar(_HEAD_ANGLE - 90.0)))
    lands = foot[0] - (foot[1] - ground) * steerer[0] / steerer[1], ground
    drawing.draw(polyline((meets, leg.at(_CROWN + 3.0, 0.0))), CHAIN, LAYER)
    drawing.draw(polyline((lands, along(crown, (27.0, steerer)))), CHAIN, LAYER)
    drawing.draw(polyline(((meets[0] - 4.0, ground), (lands[0] + 24.0, ground))), THIN, LAYER)
    words(drawing, say("blank.figure.ground"), (lands[0] + 24.0, ground - 4.0), 1.0)
    turned(drawing, LETTERS["stance.leg"], meets, 15.0, (0.0, _LEG), 17.2)
    turned(drawing, LETTERS["stance.head"], lands, 14.0, (0.0, _HEAD_ANGLE), 17.0)
    across(
        drawing,
        LETTERS["stance.rake"],
        axle,
        foot,
        along(axle, (_RAKE + 4.6, polar(_HEAD_ANGLE - 90.0)), (-2.0, (0.0, 1.0))),
    )
    ends = leg.at(0.0, -14.0), leg.at(_CROWN, -14.0)
    across(drawing, LETTERS["stance.axle_to_crown"], *ends, leg.at(_CROWN / 2.0, -20.0))
    for s, near in ((0.0, -5.2), (_CROWN, -7.4)):
        drawing.draw(polyline((leg.at(s, near), leg.at(s, -15.5))), THIN, LAYER)
    opening(drawing, axle, 180.0 + _LEG, 208.0, 19.0, "fork")
    words(drawing, say("blank.figure.plumb"), along(axle, (20.0, polar(270.0)), (1.2, polar(0.0))))
    words(drawing, named("fork-leg"), leg.at(18.0, -5.6), turn=_LEG)
    if family:
        mount(drawing, leg, family, (3.6, 4.6), "fork", 15.0 if tilt else 0.0)


def _behind(drawing: Drawing, axle: Point) -> None:
    """Draw the left dropout cut through the axle, seen from behind: thickness, pocket, outset, splay."""
    inner, y = axle
    outer, floor = inner - 10.0, inner - 3.6
    outline = (
        (outer, y - 11.0), (inner, y - 11.0), (inner, y - 5.0), (floor, y - 5.0),
        (floor, y + 5.0), (inner, y + 5.0), (inner, y + 12.0), (outer, y + 12.0),
    )  # fmt: skip
    drawing.draw(polyline(outline, closed=True), THICK, LAYER)
    drawing.draw(polyline(((outer - 12.0, y), (inner + 20.0, y))), CHAIN, LAYER)
    foot, lean = (inner - 6.0, y), 8.0
    way, side = polar(90.0 - lean), polar(-lean)
    drawing.draw(polyline((foot, along(foot, (26.0, way)))), CHAIN, LAYER)
    for half in (3.4, -3.4):
        drawing.draw(
            polyline((along(foot, (13.0, way), (half, side)), along(foot, (24.0, way), (half, side)))),
            THICK,
            LAYER,
        )
    low = y - 14.0
    across(drawing, LETTERS["dropout.thickness"], (outer, low), (inner, low), (inner - 6.2, low - 4.6))
    for x in (outer, inner):
        drawing.draw(polyline(((x, y - 11.6), (x, low - 1.0))), THIN, LAYER)
    measure(drawing, LETTERS["axle.pocket"], (floor, y + 2.6), (inner, y + 2.6), (inner + 7.6, y + 0.9))
    drawing.draw(polyline(((inner, y + 12.0), (inner, y + 20.0))), THIN, LAYER)
    measure(drawing, LETTERS["tube.outset"], (foot[0], y + 15.6), (inner, y + 15.6), (inner + 7.6, y + 13.9))
    drawing.draw(polyline((along(foot, (12.8, polar(90.0))), along(foot, (26.0, polar(90.0))))), THIN, LAYER)
    turned(drawing, LETTERS["tube.splay"], foot, 23.0, (90.0, 90.0 - lean), 27.6)
    words(drawing, named("outer_face"), (outer - 1.5, y - 8.0), 1.0)
    words(drawing, named("inner_face"), (inner + 1.5, y - 8.0))


def _section(drawing: Drawing, centre: Point) -> None:
    """Draw an oval tube cut across: its height and width, and its wall."""
    for high, wide in ((11.0, 7.0), (9.2, 5.2)):
        drawing.draw(_oval(centre, high, wide), THICK, LAYER)
    x, y = centre
    outside = LETTERS["tube.outside"]
    ends = (x - 11.0, y - 11.0), (x - 11.0, y + 11.0)
    across(drawing, outside, *ends, (x - 13.0, y - 1.7), 1.0, name=f"{outside}, height")
    ends = (x - 7.0, y - 15.0), (x + 7.0, y - 15.0)
    across(drawing, outside, *ends, (x, y - 20.0), name=f"{outside}, width")
    for high in (11.0, -11.0):
        drawing.draw(polyline(((x, y + high), (x - 12.0, y + high))), THIN, LAYER)
    for wide in (7.0, -7.0):
        drawing.draw(polyline(((x + wide, y), (x + wide, y - 16.0))), THIN, LAYER)
    measure(drawing, LETTERS["tube.wall"], (x + 5.2, y), (x + 7.0, y), (x + 14.4, y - 1.7))


def _oval(centre: Point, high: float, wide: float) -> Commands:
    points = [(centre[0] + wide * polar(a)[0], centre[1] + high * polar(a)[1]) for a in range(0, 360, 6)]
    return polyline(points, closed=True)


def _edge(drawing: Drawing, foot: Point) -> None:
    """Draw a tab seen on its edge, with its holes' lines: how thick it is."""
    x, y = foot
    drawing.draw(
        polyline(((x, y), (x + 4.0, y), (x + 4.0, y + 26.0), (x, y + 26.0)), closed=True), THICK, LAYER
    )
    for high in (8.0, 20.0):
        drawing.draw(polyline(((x - 4.0, y + high), (x + 8.0, y + high))), CHAIN, LAYER)
    measure(drawing, LETTERS["boss.thickness"], (x, y + 14.0), (x + 4.0, y + 14.0), (x + 6.4, y + 15.4))
    words(drawing, say("blank.figure.tab"), (x + 2.0, y + 28.0), 0.5)
