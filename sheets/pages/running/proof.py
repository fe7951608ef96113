"""The proof sheet: long bars, diagonals, a card and a circle, to measure a printer by."""

from fonts.drafting import LINE_PITCH, width
from geometry.core.errors import FitError, Problem
from geometry.core.plane import along, polar
from geometry.core.say import say
from geometry.printing.distortion import numbers
from sheets.ink.drawing import Drawing
from sheets.ink.long_bars import CORNER, INSIDE, MARGIN, bars_of, diagonal_box, long_bar
from sheets.ink.marks import CARD, THICK, THIN, box, polyline
from sheets.ink.placing import Box
from sheets.ink.records import Circle, Paper, Point, Segment, Sheet
from sheets.pages.frame import Page, finish, live_zone
from sheets.pages.title_block import TitleLine, title_block
from sheets.words.tell import tell

_READ = 3.5
_SMALL = 2.5
_NUMBER = 7.0
_RING = 50.0
"""Diameter of the circle, mm."""
_CORNER_MARK = 12.0
"""Legs of the marks at the diagonals' ends, mm."""
_WRITE = (32.0, 10.0)
"""A box to write a reading in, mm."""


def proof(paper: Paper, corrected: str = "") -> Sheet:
    """Return the proof of a paper; `corrected` is the title block's line of a corrected print.

    Its features are "bar across", "bar down", "diagonal rising", "diagonal falling", the card's outline and
    the circle. Raise FitError where the paper is too small for them. The sheet's `axle` is the corner at
    which both bars start.
    """
    drawing = Drawing()
    drawing.begin_figure()
    live = live_zone(paper, MARGIN)
    bars, frame = bars_of(paper), diagonal_box(paper)
    ends = along(CORNER, (bars.across, (1.0, 0.0))), along(CORNER, (bars.down, (0.0, 1.0)))
    for name, end, turn, length in (
        ("bar across", ends[0], 0.0, bars.across),
        ("bar down", ends[1], 90.0, bars.down),
    ):
        drawing.show(Segment(name, CORNER, end), THIN, "scale")
        ticks, figures = long_bar(CORNER, turn, length)
        drawing.draw(ticks, THIN, "scale")
        drawing.figures(figures, "scale")
    block = (CORNER[0] + INSIDE, CORNER[1] + INSIDE, live[2], live[3])
    head, _ = title_block(drawing, block, _title(paper, corrected), "")
    if head > frame[1] - 1.0:
        over = head - frame[1] + 1.0
        raise FitError(Problem("paper", say("proof.too_tall", paper=paper.name, over=over)))
    _diagonals(drawing, frame)
    _target(drawing, frame)
    _boxes(drawing, frame)
    page = Page(paper, MARGIN, drawing, live)
    title = tell("proof.title", paper=paper.name)
    return finish(page, "proof", title, "outboard", CORNER, full_size=True)


def _title(paper: Paper, corrected: str) -> list[TitleLine]:
    """Return the words: what it is, five steps, and the lengths as drawn."""
    bars = bars_of(paper)
    table = numbers()
    share = table["check.read"].value / table["check.bar"].value
    drawn = tell(
        "proof.drawn",
        across=bars.across,
        down=bars.down,
        diagonal=bars.diagonal,
        near_across=share * bars.across,
        near_down=share * bars.down,
    )
    steps = (
        tell("proof.print"),
        tell("proof.read"),
        drawn,
        tell("proof.add", paper=paper.name),
        tell("proof.again", paper=paper.name),
    )
    said = [TitleLine(corrected)] if corrected else []
    return [
        TitleLine(tell("proof.heading"), _NUMBER, paper.name, kind="H1"),
        *said,
        *(TitleLine(step) for step in steps),
        TitleLine(tell("proof.card", wide=CARD[0], high=CARD[1])),
    ]


def _diagonals(drawing: Drawing, frame: Box) -> None:
    """Draw both diagonals and a mark at each of their ends, whose corner is the end."""
    left, low, right, top = frame
    drawing.show(Segment("diagonal rising", (left, low), (right, top)), THIN, "scale")
    drawing.show(Segment("diagonal falling", (left, top), (right, low)), THIN, "scale")
    for x, way_x in ((left, 0.0), (right, 180.0)):
        for y, way_y in ((low, 90.0), (top, 270.0)):
            legs = [along((x, y), (_CORNER_MARK, polar(way))) for way in (way_x, way_y)]
            drawing.draw(polyline((legs[0], (x, y), legs[1])), THICK, "scale")


def _target(drawing: Drawing, frame: Box) -> None:
    """Draw a circle and the outline of an ID-1 card about the point where the diagonals cross."""
    middle = (frame[0] + frame[2]) / 2.0, (frame[1] + frame[3]) / 2.0
    drawing.show(Circle("circle", middle, _RING), THIN, "scale")
    low = middle[0] - CARD[0] / 2.0, middle[1] - CARD[1] / 2.0
    high = low[0] + CARD[0], low[1] + CARD[1]
    drawing.show(Segment("card across", low, (high[0], low[1])), THIN, "card")
    drawing.show(Segment("card down", low, (low[0], high[1])), THIN, "card")
    drawing.draw(polyline(((high[0], low[1]), high, (low[0], high[1]))), THIN, "card")
    for text, drop in ((f"Ø{_RING:g}", 0.0), (tell("proof.card_here"), -LINE_PITCH * _READ)):
        at = middle[0] + _RING / 2.0 + 2.0, middle[1] + drop
        if at[0] + width(text, _READ) < high[0]:
            drawing.letter(text, at, _READ, layer="card")


def _boxes(drawing: Drawing, frame: Box) -> None:
    """Draw the four boxes to write in, each between the diagonals on the side of what it is for."""
    left, low, right, top = frame
    across, up = (left + right) / 2.0, (low + top) / 2.0
    reach = (right - left - CARD[0]) / 4.0
    rise = (top - low - CARD[1]) / 4.0
    places: tuple[tuple[str, str, Point], ...] = (
        ("1", "across", (across, low + 0.8 * rise)),
        ("2", "down", (left + reach - 2.0, up)),
        ("3", "rising", (right - reach + 2.0, up)),
        ("4", "falling", (across, top - rise)),
    )
    for number, name, (x, y) in places:
        wide, high = _WRITE
        drawing.draw(box((x - wide / 2.0, y - high), (x + wide / 2.0, y)), THICK, "readings")
        drawing.letter(number, (x - wide / 2.0, y + 2.0), _NUMBER, layer="readings")
        at = (x - wide / 2.0 + width(number, _NUMBER) + 2.5, y + 2.0)
        drawing.letter(tell(f"proof.box.{name}"), at, _READ, layer="readings")
