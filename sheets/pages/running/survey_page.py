"""A page added to a filed packet: headings and lines of running text, as many pages as they take."""

from collections.abc import Sequence

from fonts.drafting import LINE_PITCH, wrap
from geometry.core.frozen import dataclass
from sheets.ink.drawing import Drawing
from sheets.ink.marks import THICK, box
from sheets.ink.records import Paper, PartKind, Sheet
from sheets.pages.flow import PITCHES, SMALL, Flow
from sheets.pages.frame import Page, finish, live_zone
from sheets.words.tell import tell

MARGIN = 10.0
"""Border of an added page, mm: more than most printers keep white (own judgement)."""
_HEAD, _READ, _PAD = 5.0, 3.5, 2.0


@dataclass(frozen=True, slots=True)
class Section:
    """Lines of running text below a heading, or below some white where there is none."""

    lines: Sequence[str]
    heading: str = ""


def added(
    paper: Paper, kind: str, titles: tuple[str, str], head: str, aside: str, sections: Sequence[Section]
) -> tuple[Sheet, ...]:
    """Return the sheets that list some sections below a header.

    `kind` and `titles`, title and bookmark, are the sheet's, `head` is what its header says large, `aside`
    what it says below. Raise InputError for characters that the typeface lacks, FitError where a part is too
    tall.
    """
    live = live_zone(paper, MARGIN)
    drawings: list[Drawing] = []

    def turn() -> tuple[Drawing, float]:
        drawings.append(Drawing())
        return drawings[-1], _header(drawings[-1], live, head, aside)

    first, top = turn()
    flow = Flow(first, live[0] + 1.0, live[2] - 1.0, top, live[1] + 6.0, None, turn, PITCHES[0])
    for number, section in enumerate(sections):
        if section.heading:
            flow.heading(section.heading)
        elif number:
            flow.space(0.5 * SMALL)
        for line in section.lines:
            flow.paragraph(line)
    sheets = []
    for number, drawing in enumerate(drawings, start=1):
        count = tell("survey.page_of", number=number, count=len(drawings))
        drawing.letter(count, (live[2] - _PAD, live[1] + 1.2), _READ, 1.0, layer="title block")
        page = Page(paper, MARGIN, drawing, live)
        title, bookmark = titles
        corner = live[0], live[1]
        sheets.append(finish(page, kind, title, "outboard", corner, full_size=False, bookmark=bookmark))
    return tuple(sheets)


def _header(drawing: Drawing, live: tuple[float, float, float, float], head: str, aside: str) -> float:
    """Letter the header and return where the text below it begins."""
    left, _, right, top = live
    y = top - _PAD
    said: tuple[tuple[PartKind, str, float], ...] = (("H1", head, _HEAD), ("P", aside, _READ))
    for kind, text, height in said:
        part = drawing.part(kind)
        for row in wrap(text, height, right - left - 2.0 * _PAD):
            y -= LINE_PITCH * height
            drawing.letter(row, (left + _PAD, y + 0.35 * height), height, layer="title block", part=part)
    foot = y - 1.0
    drawing.draw(box((left, foot), (right, top)), THICK, "title block")
    return foot - 1.0
