"""The card's readings: those that decide, large, in one line each with limits and boxes to write in."""

from collections.abc import Sequence

from geometry.core.frozen import dataclass
from geometry.core.say import Say, say
from geometry.survey.reading import Printed, Reading
from sheets.ink.marks import THIN, box
from sheets.ink.records import Part
from sheets.job.read import Job
from sheets.pages.flow import DROP, READ, SMALL, Flow
from sheets.setup.setup import SetUp
from sheets.words.lengths import Units, units
from sheets.words.readings import alike, within
from sheets.words.tell import tell, told

_ROW = 6.6
"""Least height of a row, mm: a pen wants so much."""
_PAD = 2.6
"""White between two columns, mm."""
_MOST_BOX, _LEAST_BOX = 13.0, 7.0
"""Most and least width of a box to write in, mm."""
_APART = 2.0
"""White between the boxes of the near and of the far hole, mm."""
_LEAST_NAME = 30.0
_MOST_ACROSS = 6
_HEADS: dict[Units, tuple[str, ...]] = {
    "mm": ("mm", "go", "inch", "go"),
    "in": ("inch", "go"),
    "both": ("mm", "go", "inch", "go"),
}
_LINE = 5.6
"""Height of a line of boxes where a row has two, mm."""


@dataclass(frozen=True, slots=True)
class Row:
    """A line of the table: what is read, and the readings that it holds: one, or near and far of one kind."""

    name: Say
    readings: tuple[Reading, ...]

    @property
    def cells(self) -> tuple[str, ...]:
        """Return target and limits in mm, then in inches; in inches alone where the job tells no mm."""
        one = self.readings[0]
        mark = "*" if one.judged else ""
        inch = one.inch.nominal, _limits(one.inch, mark)
        return inch if units() == "in" else (one.mm.nominal, _limits(one.mm, mark), *inch)


def deciding_rows(setup: SetUp) -> tuple[Row, ...]:
    """Return the readings that a verdict cannot do without, the one that settles most first.

    Near and far share a line where both must read the same.
    """
    # The verdict is given on the finished mount: what facing changes is told as it is after.
    listed = {each.key: each.told_apart[-1] for each in setup.readings}
    found = [listed[key] for key in setup.deciding if key in listed]
    rows: list[Row] = []
    for each in found:
        last = rows[-1].readings if rows else ()
        if len(last) == 1 and alike(last[0], each):
            rows[-1] = Row(say("reading.card.both", row=each.row), (*last, each))
        else:
            rows.append(Row(each.name, (each,)))
    return tuple(rows)


def readings(flow: Flow, job: Job, setup: SetUp, most: int, *, how: bool = True) -> None:
    """Set the readings that decide, `most` lines of them, and below how they are taken unless not `how`.

    Raise FitError where the page is full.
    """
    flow.heading(tell("reading.card.heading", axle=job.axle.dummy, pin=setup.pin))
    rows = deciding_rows(setup)[:most]
    heads = [tell(f"reading.card.column.{which}") for which in _HEADS[units()]]
    wide = _columns(flow, rows, heads)
    x = flow.left + sum(wide[:1])
    flow.y -= flow.leading(heads[0], bold=True)
    table = flow.part("Table")
    line = flow.part("TR", table)
    flow.drawing.vacant.append(flow.part("TD", line))
    for head, column in zip((*heads, tell("reading.card.column.boxes")), (*wide[1:], 0.0), strict=True):
        flow.put(head, x, flow.y + DROP * SMALL, bold=True, part=flow.part("Column", line))
        x += column
    flow.rule()
    for row in rows:
        _row(flow, row, wide, table)
    said = list(setup.reading_words[:2])
    if how:
        said = [*setup.reading_words, *setup.how_words]
    elif any(each.kind == "edge" for row in rows for each in row.readings):
        # A name of two things does not say where the jaws go, and this one is last.
        said.append(setup.how_words[-1])
    left = len(setup.readings) - sum(len(row.readings) for row in rows)
    if left:
        said.append(tell(f"reading.card.others.{'one' if left == 1 else 'many'}", count=left))
    flow.y -= 0.6
    flow.paragraph(tell("reading.card.failed"), weight="bold")
    flow.paragraph(" ".join(told(each) for each in said if each))


def _columns(flow: Flow, rows: Sequence[Row], heads: Sequence[str]) -> list[float]:
    """Return the widths of name and numbers, mm: the name takes what the boxes leave."""
    wide = [flow.width(head, bold=True) for head in heads]
    for row in rows:
        for i, cell in enumerate(row.cells):
            wide[i] = max(wide[i], flow.width(cell, READ, bold=i % 2 == 0))
    wide = [each + _PAD for each in wide]
    boxes = max(_across(row) for row in rows) * _LEAST_BOX + _APART
    boxes = max(boxes, flow.width(tell("reading.card.column.boxes"), bold=True))
    free = flow.right - flow.left - sum(wide) - boxes
    names = max(flow.width(told(row.name), bold=True) for row in rows) + _PAD
    return [max(_LEAST_NAME, min(free, names)), *wide]


def _row(flow: Flow, row: Row, wide: Sequence[float], table: Part) -> None:
    names = flow.lines(told(row.name), wide[0] - 1.0, bold=True)
    pitch = flow.leading(told(row.name), bold=True)
    lines = 2 if _across(row) < sum(each.times for each in row.readings) else 1
    height = max(_ROW if lines == 1 else 2.0 * _LINE, len(names) * pitch + 0.8)
    flow.need(height)
    top = flow.y
    flow.y -= height
    middle = (top + flow.y) / 2.0
    line = flow.part("TR", table)
    head = flow.part("Row", line)
    for i, name in enumerate(names):
        y = middle + len(names) * pitch / 2.0 - (i + 1) * pitch + DROP * SMALL
        flow.put(name, flow.left, y, bold=True, part=head)
    x = flow.left + wide[0]
    for i, (cell, column) in enumerate(zip(row.cells, wide[1:], strict=True)):
        flow.put(cell, x, middle - 0.36 * READ, READ, bold=i % 2 == 0, part=flow.part("TD", line))
        x += column
    flow.drawing.vacant.append(flow.part("TD", line))
    _boxes(flow, row, x, top)
    flow.rule()


def _across(row: Row) -> int:
    """Return how many boxes stand side by side: the far hole's below the near one's where they are many."""
    counts = [each.times for each in row.readings]
    return sum(counts) if sum(counts) <= _MOST_ACROSS else max(counts)


def _boxes(flow: Flow, row: Row, left: float, top: float) -> None:
    """Draw a box for each time that a reading is taken, those of the far hole apart from the near one's."""
    across, many = _across(row), len(row.readings)
    lines = many if across < sum(each.times for each in row.readings) else 1
    apart = _APART * (many - 1) if lines == 1 else 0.0
    wide = min(_MOST_BOX, (flow.right - left - apart) / across)
    high = (top - flow.y - 1.0) / lines
    x, y = left, top - 0.5
    for each in row.readings:
        for _ in range(each.times):
            flow.drawing.draw(box((x, y - high), (x + wide, y)), THIN, "card")
            x += wide
        x += _APART
        if lines > 1:
            x, y = left, y - high


def _limits(printed: Printed, mark: str) -> str:
    return f"{within(printed)}{mark}" if printed.low and printed.high else tell("reading.card.no_limits")
