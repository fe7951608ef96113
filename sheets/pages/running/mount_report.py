"""The report of a measured mount on paper: what was read, where the jaws went, and what it came to."""

from collections.abc import Sequence

from geometry.core.frozen import dataclass
from sheets.ink.drawing import Drawing
from sheets.ink.marks import THICK, box
from sheets.ink.records import Paper, Sheet
from sheets.pages.flow import PITCHES, Column, Flow
from sheets.pages.frame import live_zone, titled
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
    return titled(paper, MARGIN, min(tries, key=len), "report", of.title, (5.0, 3.5))


def _fill(paper: Paper, of: Reported, pitch: float) -> list[Drawing]:
    left, low, right, top = live_zone(paper, MARGIN)
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
