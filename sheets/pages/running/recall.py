"""The recall on paper: what was drawn wrong, what to do about it, and every frame with boxes to tick."""

from collections.abc import Sequence
from dataclasses import replace

from geometry.core.frozen import dataclass
from sheets.ink.drawing import Drawing
from sheets.ink.marks import THICK, box
from sheets.ink.records import Paper, Sheet
from sheets.pages.flow import PITCHES, READ, Column, Flow
from sheets.pages.frame import Page, finish, live_zone
from sheets.words.tell import tell

MARGIN = 10.0
"""Border left white, mm: common practice, no source."""
_HEAD = 11.0
_COLUMNS = (
    Column("recall.page.frame", 0.0),
    Column("recall.page.near_off", 18.0, 1.0),
    Column("recall.page.far_off", 18.0, 1.0),
    Column("recall.page.redrawn", 24.0, box=True),
    Column("recall.page.offered_up", 26.0, box=True),
    Column("recall.page.sits_right", 18.0, box=True),
)
"""The table's columns, the first as wide as the others leave it; each heading by its code."""


@dataclass(frozen=True, slots=True)
class Recalled:
    """One set of recalled numbers: whose they were, marked sentences, and the frames drawn by them.

    A frame is its name and packet, and how far near and far hole lie off, as they are printed.
    """

    title: str
    sentences: Sequence[tuple[str, str]]
    frames: Sequence[tuple[str, str, str]]


def recall_page(paper: Paper, parts: Sequence[Recalled]) -> tuple[Sheet, ...]:
    """Return the recall's pages: for each set of numbers its sentences, then a row a frame.

    Raise FitError where the paper is too narrow for the table.
    """
    title = tell("recall.page.title")
    left, low, right, top = live_zone(paper, MARGIN)
    drawings: list[Drawing] = []

    def turn() -> tuple[Drawing, float]:
        drawing = Drawing()
        drawings.append(drawing)
        drawing.draw(box((left, top - _HEAD), (right, top)), THICK, "title block")
        at, part = (left + 2.0, top - 8.0), drawing.part("H1")
        drawing.letter(title, at, 5.0, layer="title block", part=part)
        return drawing, top - _HEAD - 1.0

    first, start = turn()
    flow = Flow(first, left + 1.0, right - 1.0, start, low + 0.4, None, turn, PITCHES[0])
    wide = right - left - 2.0 - sum(column.width for column in _COLUMNS)
    columns = [replace(each, heading=tell(each.heading), width=each.width or wide) for each in _COLUMNS]
    for part in parts:
        flow.heading(part.title, 30.0)
        for mark, said in part.sentences:
            flow.item(mark, said, 24.0, READ)
            flow.space(0.8)
        flow.table(columns, [(*frame, "", "", "") for frame in part.frames])
        flow.space(3.0)
    flow.blank(tell("recall.page.looked_at"), 80.0)
    sheets = []
    for number, drawing in enumerate(drawings, start=1):
        drawing.letter(
            tell("recall.page.number", number=number, count=len(drawings)),
            (right - 2.0, top - 8.0),
            3.5,
            1.0,
            layer="title block",
        )
        sheets.append(
            finish(
                Page(paper, MARGIN, drawing, (left, low, right, top)),
                "recall",
                title,
                "outboard",
                (left, low),
                full_size=False,
            )
        )
    return tuple(sheets)
