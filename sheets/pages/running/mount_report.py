"""The report of a measured mount on paper: what was read, where the jaws went, and what it came to."""

from collections.abc import Sequence
from dataclasses import dataclass

from sheets.ink.drawing import Drawing
from sheets.ink.marks import THICK, box
from sheets.ink.records import Paper, Sheet
from sheets.pages.flow import PITCHES, Column, Flow
from sheets.pages.frame import Page, finish, fitting
from sheets.pages.running.jaws import Mounted, jaws
from sheets.words.tell import tell

MARGIN = 10.0
"""Border left white, mm: common practice, no source."""
_HEAD, _FIGURE = 11.0, 82.0
_READING = (10.0, 34.0, 0.0, 46.0)
"""Widths of number, key, how and readings, mm; how it is taken has the rest."""
_NUMBER = (38.0, 24.0, 20.0, 0.0)
"""Widths of name, value, band and what the shipped row says, mm."""


@dataclass(frozen=True, slots=True)
class Reported:
    """What a report's page says: its title, marked lines, readings, numbers, and what is to be said below.

    A reading is its number in the figure, its key, how it is taken, and what was read; a number its name,
    value, band, and how the shipped row compares.
    """

    title: str
    facts: Sequence[tuple[str, str]]
    readings: Sequence[tuple[str, str, str, str]]
    numbers: Sequence[tuple[str, str, str, str]]
    words: Sequence[str]
    mount: Mounted


def report_pages(paper: Paper, of: Reported) -> tuple[Sheet, ...]:
    """Return the report on as few pages as it takes; raise FitError where the paper is too small for it."""
    tries = [_fill(paper, of, pitch) for pitch in PITCHES]
    drawings = min(tries, key=len)
    live = _live(paper)
    sheets = []
    for number, drawing in enumerate(drawings, start=1):
        title = of.title
        if len(drawings) > 1:
            title = tell("frame.page_of", title=title, number=number, count=len(drawings))
        text, height = fitting([(title, 5.0), (title, 3.5)], live[2] - live[0] - 4.0)
        drawing.letter(text, (live[0] + 2.0, live[3] - 8.0), height, layer="title block")
        page = Page(paper, MARGIN, drawing, live)
        sheets.append(finish(page, "report", title, "outboard", (live[0], live[1]), full_size=False))
    return tuple(sheets)


def _live(paper: Paper) -> tuple[float, float, float, float]:
    inset = MARGIN + THICK.width
    return inset, inset, paper.width - inset, paper.height - inset


def _fill(paper: Paper, of: Reported, pitch: float) -> list[Drawing]:
    left, low, right, top = _live(paper)
    drawings: list[Drawing] = []

    def turn() -> tuple[Drawing, float]:
        drawing = Drawing()
        drawings.append(drawing)
        drawing.draw(box((left, top - _HEAD), (right, top)), THICK, "title block")
        return drawing, top - _HEAD - 1.0

    first, start = turn()
    flow = Flow(first, left + 1.0, right - 1.0, start, low + 0.4, None, turn, pitch)
    for mark, said in of.facts:
        flow.item(mark, said, 34.0)
    flow.need(_FIGURE)
    zone = (left + 2.0, flow.y - _FIGURE + 2.0, right - 2.0, flow.y - 1.0)
    jaws(flow.drawing, zone, of.mount, {key: number for number, key, _, _ in of.readings})
    flow.space(_FIGURE)
    room = right - left - 2.0
    flow.table(_columns("reading", ("number", "key", "how", "read"), _READING, room), of.readings)
    flow.space(2.0)
    flow.table(_columns("came_to", ("name", "value", "band", "shipped"), _NUMBER, room), of.numbers)
    flow.space(1.5)
    for said in of.words:
        flow.paragraph(said)
    return drawings


def _columns(part: str, names: Sequence[str], widths: Sequence[float], room: float) -> list[Column]:
    rest = room - sum(widths)
    return [
        Column(tell(f"report.column.{part}.{name}"), wide or rest)
        for name, wide in zip(names, widths, strict=True)
    ]
