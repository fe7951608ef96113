"""The mounts of the measuring sheet's figure, on the tube that carries them: tab, posts, flat mount."""

from sheets.ink.drawing import Drawing
from sheets.ink.marks import CHAIN, HIDDEN, THICK, THIN, circle, polyline
from sheets.pages.running.blank_marks import LAYER, Tube, across, measure, turned
from sheets.words.measures import LETTERS

_NEAR, _FAR = 31.0, 53.0
"""Where the holes lie up the tube, mm."""
_HIGH = {"tab": 22.0, "post": 24.0, "flat": 17.0}
"""How high the hole line or the mount's face lies over the axle, mm."""
_HALF = 4.0
_TURN = 12.0
"""How far the mount is shown turned, degrees."""


def mount(
    drawing: Drawing, tube: Tube, family: str, halves: tuple[float, float], where: str, tilt: float
) -> None:
    """Draw a mount on a tube with its own measures; how it is turned from the tube's line, `tilt` mm away.

    With a `tilt` of 0 that is left out.
    """
    edge = tube.offset + sum(halves) / 2.0
    # A fork's line runs through the axle, so that all that stands on it lies lower.
    high = _HIGH[family] - (3.5 - tube.offset)
    reach = _FAR + (tilt + 8.0 if tilt else 8.0)
    drawing.draw(polyline((tube.at(_NEAR - 8.0, high), tube.at(reach, high))), CHAIN, LAYER)
    {"tab": _tab, "post": _posts, "flat": _flat}[family](drawing, tube, edge, high)
    if family != "tab":
        through = tube.offset - (edge - tube.offset) if family == "flat" else edge
        _boss_measures(drawing, tube, (through, edge, high), where)
    if tilt:
        vertex = tube.at(_FAR + 6.0, high)
        beyond = Tube(vertex, tube.heading + _TURN, 0.0)
        drawing.draw(polyline((vertex, beyond.at(tilt + 2.0, 0.0))), THIN, LAYER)
        between = tube.heading, tube.heading + _TURN
        turned(drawing, LETTERS["mount.tilt"], vertex, tilt, between, tilt + 4.0)


def _tab(drawing: Drawing, tube: Tube, edge: float, high: float) -> None:
    """Draw a tab's plate with both holes."""
    corners = ((24.0, edge), (26.0, high + 4.5), (58.0, high + 4.5), (60.0, edge + 0.4))
    drawing.draw(polyline([tube.at(*each) for each in corners]), THICK, LAYER)
    for s in (_NEAR, _FAR):
        drawing.draw(circle(tube.at(s, high), 4.0), THICK, LAYER)


def _posts(drawing: Drawing, tube: Tube, edge: float, high: float) -> None:
    """Draw two posts on the tube: outside and length."""
    for s in (_NEAR, _FAR):
        corners = ((s - _HALF, edge - 0.3), (s - _HALF, high), (s + _HALF, high), (s + _HALF, edge))
        drawing.draw(polyline([tube.at(*each) for each in corners]), THICK, LAYER)
        drawing.draw(polyline((tube.at(s, edge - 2.0), tube.at(s, high + 4.0))), CHAIN, LAYER)


def _flat(drawing: Drawing, tube: Tube, edge: float, high: float) -> None:
    """Draw a flat mount's bosses through the tube, hidden in it: outside and length."""
    low = tube.offset - (edge - tube.offset)
    for s in (_NEAR, _FAR):
        corners = ((s - _HALF, low), (s - _HALF, high), (s + _HALF, high), (s + _HALF, low))
        drawing.draw(polyline([tube.at(*each) for each in corners]), HIDDEN, LAYER)
        for half in (_HALF, -_HALF):
            drawing.draw(polyline((tube.at(s + half, edge), tube.at(s + half, high))), THICK, LAYER)
        drawing.draw(polyline((tube.at(s - _HALF, high), tube.at(s + _HALF, high))), THICK, LAYER)
        drawing.draw(polyline((tube.at(s, low - 3.0), tube.at(s, high + 4.0))), CHAIN, LAYER)


def _boss_measures(drawing: Drawing, tube: Tube, heights: tuple[float, float, float], where: str) -> None:
    """Draw the outside of the far boss above its face, and the length of the near one beside it."""
    low, edge, high = heights
    outside, length = LETTERS["boss.diameter"], LETTERS["boss.length"]
    above = high + 5.6
    ends = tube.at(_FAR - _HALF, above), tube.at(_FAR + _HALF, above)
    for half in (-_HALF, _HALF):
        drawing.draw(
            polyline((tube.at(_FAR + half, high + 0.6), tube.at(_FAR + half, above + 1.2))), THIN, LAYER
        )
    at = tube.at(_FAR - _HALF - 8.6, above)
    measure(drawing, outside, *ends, (at[0] - 1.2, at[1] - 1.7), f"{outside}, {where}")
    beside = (_NEAR + _FAR) / 2.0 - 1.5
    ends = tube.at(beside, low), tube.at(beside, high)
    at = tube.at(beside + 3.4, (edge + high) / 2.0)
    across(drawing, length, *ends, (at[0], at[1] - 1.7), name=f"{length}, {where}")
    drawing.draw(polyline((tube.at(_NEAR + _HALF, low), tube.at(beside + 1.0, low))), THIN, LAYER)
