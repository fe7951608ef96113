"""The strokes of the measuring sheet's figure: tubes, arrows with letters, angles, the slot's way out."""

import math

from geometry.core.frozen import dataclass
from geometry.core.plane import along, polar
from geometry.core.say import Say
from sheets.ink.drawing import Drawing
from sheets.ink.marks import SOLID, THICK, THIN, arrow_head, circle, polyline
from sheets.ink.records import Arc, Point, Segment
from sheets.words.measures import LETTERS
from sheets.words.tell import told

LAYER = "figures"
LETTER = 3.5
"""Height of a measure's letter, mm: read at arm's length."""
WORD = 2.5
HEAD = 2.2
_RUN = 6.0
"""How far the lines of arrows from outside run, mm."""


@dataclass(frozen=True, slots=True)
class Tube:
    """A tube from the side: axle, heading, and how far its line passes the axle to the mount's side."""

    axle: Point
    heading: float
    offset: float

    def at(self, s: float, h: float) -> Point:
        """Return the place `s` up the tube from the axle and `h` to the mount's side of it, mm."""
        return along(self.axle, (s, polar(self.heading)), (h, polar(self.heading - 90.0)))


def mark(drawing: Drawing, letter: str, at: Point, anchor: float = 0.5, turn: float = 0.0) -> None:
    """Letter a measure's letter."""
    drawing.letter(letter, at, LETTER, anchor, turn, layer=LAYER)


def words(
    drawing: Drawing, what: Say, at: Point, anchor: float = 0.0, turn: float = 0.0, height: float = WORD
) -> None:
    """Letter words of the figure."""
    drawing.letter(told(what), at, height, anchor, turn, layer=LAYER)


def walls(drawing: Drawing, tube: Tube, reach: tuple[float, float], halves: tuple[float, float]) -> None:
    """Draw both sides of a tube between two distances up it, tapering from one half outside to the other."""
    for side in (1.0, -1.0):
        ends = (tube.at(s, tube.offset + side * half) for s, half in zip(reach, halves, strict=True))
        drawing.draw(polyline(tuple(ends)), THICK, LAYER)


def across(
    drawing: Drawing,
    letter: str,
    start: Point,
    end: Point,
    at: Point,
    anchor: float = 0.5,
    turn: float = 0.0,
    name: str = "",
) -> None:
    """Draw a measure with a head at both ends, inside, and its letter."""
    heading = math.degrees(math.atan2(end[1] - start[1], end[0] - start[0]))
    drawing.show(Segment(f"measure {name or letter}", start, end), THIN, LAYER)
    drawing.draw(arrow_head(end, heading, HEAD), SOLID, LAYER)
    drawing.draw(arrow_head(start, heading + 180.0, HEAD), SOLID, LAYER)
    mark(drawing, letter, at, anchor, turn)


def measure(drawing: Drawing, letter: str, start: Point, end: Point, at: Point, name: str = "") -> None:
    """Draw a measure too short for heads inside it: they point in from both sides; and its letter."""
    heading = math.degrees(math.atan2(end[1] - start[1], end[0] - start[0]))
    drawing.show(Segment(f"measure {name or letter}", start, end), THIN, LAYER)
    for tip, way in ((start, heading), (end, heading + 180.0)):
        drawing.draw(polyline((along(tip, (-_RUN, polar(way))), tip)), THIN, LAYER)
        drawing.draw(arrow_head(tip, way, HEAD), SOLID, LAYER)
    mark(drawing, letter, at, 0.0)


def turned(
    drawing: Drawing,
    letter: str,
    centre: Point,
    radius: float,
    between: tuple[float, float],
    letter_at: float,
) -> None:
    """Draw an angle from one heading to the other, a head at the second, and its letter at a radius."""
    start, end = between
    sign = 1.0 if end > start else -1.0
    drawing.show(Arc(f"measure {letter}", centre, 2.0 * radius, min(between), max(between)), THIN, LAYER)
    # The head's chord leans from the tangent by half of what it spans.
    lean = math.degrees(HEAD / radius) / 2.0
    heading = end + sign * (90.0 - lean)
    drawing.draw(arrow_head(along(centre, (radius, polar(end))), heading, HEAD), SOLID, LAYER)
    middle = along(centre, (letter_at, polar((start + end) / 2.0)))
    mark(drawing, letter, (middle[0], middle[1] - LETTER / 2.0))


def opening(drawing: Drawing, axle: Point, line: float, slot: float, reach: float, where: str) -> None:
    """Draw the slot's way out, and its angle from the tube's line as from plumb; headings in degrees."""
    letter = LETTERS["dropout.slot"]
    out = along(axle, (reach, polar(slot)))
    drawing.draw(polyline((axle, along(out, (-1.5, polar(slot))))), THICK, LAYER)
    drawing.draw(arrow_head(out, slot, HEAD), SOLID, LAYER)
    drawing.draw(circle(axle, 1.2), SOLID, LAYER)
    drawing.draw(polyline((axle, along(axle, (reach + 1.0, polar(270.0))))), THIN, LAYER)
    for name, start, radius in (("tube", line, 0.82 * reach), ("plumb", 270.0, 0.58 * reach)):
        feature = Arc(f"measure {letter}, {where}, {name}", axle, 2.0 * radius, slot, start)
        drawing.show(feature, THIN, LAYER)
        lean = math.degrees(HEAD / radius) / 2.0
        drawing.draw(arrow_head(along(axle, (radius, polar(slot))), slot - 90.0 + lean, HEAD), SOLID, LAYER)
    at = along(axle, (reach + 3.4, polar(slot)))
    mark(drawing, letter, (at[0], at[1] - LETTER / 2.0))
