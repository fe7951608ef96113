"""The shop's list on one page: everything that must be on the bench, with a box to tick."""

from collections.abc import Sequence

from geometry.errors import FitError, Problem
from sheets.ink.drawing import Drawing
from sheets.ink.marks import THICK, box
from sheets.ink.records import Paper, Sheet
from sheets.pages.flow import PITCHES, Column, Flow
from sheets.pages.frame import Page, finish

MARGIN = 10.0
"""Border left white, mm; common practice, no source."""
_HEAD = 11.0
_WIDE = (26.0, 14.0, 0.0, 32.0, 17.0, 12.0)
"""Widths of kind, count, what, frames, stock and the box, mm; what takes the rest."""
Row = tuple[str, str, str, str, str]


def shop_page(paper: Paper, head: str, rows: Sequence[Row], words: Sequence[str], title: str) -> Sheet:
    """Return the list as one page; `head` names the frames, `rows` are kind, count, what, frames and stock.

    The line pitch is as easy as lets it fit. Raise FitError where even the tightest does not.
    """
    for pitch in PITCHES:
        drawings = _fill(paper, head, rows, words, title, pitch)
        if len(drawings) == 1:
            live = _live(paper)
            page = Page(paper, MARGIN, drawings[0], live)
            return finish(page, "shop", title, "outboard", (live[0], live[1]))
    what = (
        f"the list takes {len(drawings)} pages of {paper.name}; use a larger paper, or fewer jobs at a time"
    )
    raise FitError(Problem("--paper", what))


def _live(paper: Paper) -> tuple[float, float, float, float]:
    inset = MARGIN + THICK.width
    return inset, inset, paper.width - inset, paper.height - inset


def _fill(
    paper: Paper, head: str, rows: Sequence[Row], words: Sequence[str], title: str, pitch: float
) -> list[Drawing]:
    left, low, right, top = _live(paper)
    drawings: list[Drawing] = []

    def turn() -> tuple[Drawing, float]:
        drawing = Drawing()
        drawings.append(drawing)
        drawing.draw(box((left, top - _HEAD), (right, top)), THICK, "title block")
        drawing.letter(title, (left + 2.0, top - 8.0), 5.0, layer="title block")
        drawing.letter(paper.name, (right - 2.0, top - 8.0), 3.5, 1.0, layer="title block")
        return drawing, top - _HEAD - 1.0

    first, start = turn()
    flow = Flow(first, left + 1.0, right - 1.0, start, low + 0.4, None, turn, pitch)
    flow.paragraph(f"{head}.", weight="bold")
    widths = list(_WIDE)
    widths[2] = right - left - 2.0 - sum(widths)
    names = ("kind", "count", "what", "frames", "stock", "have")
    columns = [Column(name, wide) for name, wide in zip(names, widths, strict=True)]
    # A box drawn for a pen would make every row half as high again, and many frames share this page.
    flow.table(columns, [(*row, "[  ]") for row in rows])
    flow.space(2.0)
    flow.paragraph(" ".join(words))
    return drawings
