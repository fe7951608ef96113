"""The shop's list on paper: everything that must be on the bench, with a box to tick."""

from collections.abc import Sequence

from sheets.ink.drawing import Drawing
from sheets.ink.marks import THICK, box
from sheets.ink.records import Paper, Sheet
from sheets.pages.flow import PITCHES, Column, Flow
from sheets.pages.frame import live_zone, titled
from sheets.words.tell import tell

MARGIN = 10.0
"""Border left white, mm; common practice, no source."""
_HEAD = 11.0
_WIDE = (26.0, 14.0, 0.0, 32.0, 17.0, 12.0)
"""Widths of kind, count, what, frames, stock and the box, mm; what takes the rest."""
Row = tuple[str, str, str, str, str]


def shop_pages(
    paper: Paper, head: str, rows: Sequence[Row], words: Sequence[str], title: str
) -> tuple[Sheet, ...]:
    """Return the list as pages; `head` names the frames, `rows` are kind, count, what, frames and stock.

    It takes as few pages as it can, and the easiest line pitch at which it takes no more. Raise FitError
    where the paper is too small for a line.
    """
    tries = [_fill(paper, head, rows, words, pitch) for pitch in PITCHES]
    return titled(paper, MARGIN, min(tries, key=len), "shop", title)


def _fill(paper: Paper, head: str, rows: Sequence[Row], words: Sequence[str], pitch: float) -> list[Drawing]:
    left, low, right, top = live_zone(paper, MARGIN)
    drawings: list[Drawing] = []

    def turn() -> tuple[Drawing, float]:
        drawing = Drawing()
        drawings.append(drawing)
        drawing.draw(box((left, top - _HEAD), (right, top)), THICK, "title block")
        drawing.letter(paper.name, (right - 2.0, top - 8.0), 3.5, 1.0, layer="title block")
        return drawing, top - _HEAD - 1.0

    first, start = turn()
    flow = Flow(first, left + 1.0, right - 1.0, start, low + 0.4, None, turn, pitch)
    flow.paragraph(f"{head}.", weight="bold")
    widths = list(_WIDE)
    widths[2] = right - left - 2.0 - sum(widths)
    names = ("kind", "count", "what", "frames", "stock", "have")
    columns = [Column(tell(f"shop.column.{name}"), wide) for name, wide in zip(names, widths, strict=True)]
    # A box drawn for a pen would make every row half as high again, and many frames share this page.
    flow.table(columns, [(*row, "[  ]") for row in rows])
    flow.space(2.0)
    flow.paragraph(" ".join(words))
    return drawings
