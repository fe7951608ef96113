"""The recall on paper: what was drawn wrong, what to do about it, and every frame with boxes to tick."""

from collections.abc import Sequence

from sheets.ink.drawing import Drawing
from sheets.ink.marks import THICK, box
from sheets.ink.records import Paper, Sheet
from sheets.pages.flow import PITCHES, READ, Column, Flow
from sheets.pages.frame import Page, finish

MARGIN = 10.0
"""Border left white, mm: common practice, no source."""
TITLE = "Recall: look at these mounts"
_HEAD = 11.0
_COLUMNS = (
    Column("frame and packet", 0.0),
    Column("near off", 18.0, 1.0),
    Column("far off", 18.0, 1.0),
    Column("not built, redrawn", 24.0, box=True),
    Column("built, caliper offered up", 26.0, box=True),
    Column("sits right", 18.0, box=True),
)
Frame = tuple[str, str, str]
"""Frame and packet, and how far near and far hole lie off, as they are printed."""


def recall_page(
    paper: Paper, parts: Sequence[tuple[Sequence[tuple[str, str]], Sequence[Frame]]]
) -> tuple[Sheet, ...]:
    """Return the recall's pages: for each set of numbers its marked sentences, then a row a frame.

    Raise FitError where the paper is too narrow for the table.
    """
    inset = MARGIN + THICK.width
    left, low, right, top = inset, inset, paper.width - inset, paper.height - inset
    drawings: list[Drawing] = []

    def turn() -> tuple[Drawing, float]:
        drawing = Drawing()
        drawings.append(drawing)
        drawing.draw(box((left, top - _HEAD), (right, top)), THICK, "title block")
        drawing.letter(TITLE, (left + 2.0, top - 8.0), 5.0, layer="title block")
        return drawing, top - _HEAD - 1.0

    first, start = turn()
    flow = Flow(first, left + 1.0, right - 1.0, start, low + 0.4, None, turn, PITCHES[0])
    wide = right - left - 2.0 - sum(column.width for column in _COLUMNS)
    columns = [Column(_COLUMNS[0].heading, wide), *_COLUMNS[1:]]
    for sentences, frames in parts:
        flow.heading(sentences[0][1].partition(":")[0], 30.0)
        for mark, said in sentences:
            flow.item(mark, said, 24.0, READ)
            flow.space(0.8)
        flow.table(columns, [(*frame, "", "", "") for frame in frames])
        flow.space(3.0)
    told = (
        "Lay the new template on a built tab: it shows how far the old holes lie off. Looked at by, and date:"
    )
    flow.blank(told, 80.0)
    sheets = []
    for number, drawing in enumerate(drawings, start=1):
        drawing.letter(
            f"{number} of {len(drawings)}", (right - 2.0, top - 8.0), 3.5, 1.0, layer="title block"
        )
        sheets.append(
            finish(
                Page(paper, MARGIN, drawing, (left, low, right, top)),
                "recall",
                TITLE,
                "outboard",
                (left, low),
                full_size=False,
            )
        )
    return tuple(sheets)
