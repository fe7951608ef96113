"""The card's readings: what a caliper must read, large, with limits below and boxes to write in."""

import itertools
from collections.abc import Sequence

from geometry.core.say import Say
from geometry.survey.reading import Reading
from sheets.ink.marks import THIN, box
from sheets.ink.placing import Box
from sheets.job.read import Job
from sheets.pages.flow import READ, SMALL, Flow
from sheets.setup.setup import SetUp
from sheets.words.readings import band
from sheets.words.tell import tell, told

NAME_WIDTH = 27.0
"""Width of the column that names a part or a reading, mm."""
UNDER_RULE = 0.6
"""White between a rule and the paragraph below it, mm."""
_PART = 15.0

_FIRST, _LEADING, _BELOW = 4.1, 3.6, 0.7
"""Where a row's first line stands below its top, the lines' distance, and the least below the last, mm."""
_ONE_LINE, _TWO_LINES = 2, 10.0
"""How many boxes to write in stand in one line, and the height of a row that has two lines of them, mm."""
_BOX, _BOXES, _LEAST_BOX = 15.0, 12.0, 7.5
"""Width of the one box to write a reading in, of each of several, and the least that a pen wants, mm."""


def readings(flow: Flow, job: Job, setup: SetUp, settle: str) -> None:
    """List what a caliper must read, large, with limits below and as many boxes as readings are wanted.

    Last comes the reading on a factory part that would settle an open number, where there is one.
    """
    flow.heading(tell("reading.card.heading", axle=job.axle.dummy, pin=setup.pin))
    half = (flow.right - flow.left - NAME_WIDTH) / 2.0
    for name, row in _rows(flow, setup.readings, half):
        height = flow.pitch * (READ + SMALL)
        if any(reading.times > _ONE_LINE for _, reading in row):
            height = max(height, _TWO_LINES)
        lines = flow.lines(told(name), NAME_WIDTH - 1.0, bold=True)
        # A name of three lines would run into the next row, or off the page.
        height = max(height, _FIRST + (len(lines) - 1) * _LEADING + _BELOW)
        flow.need(height)
        top = flow.y
        flow.y -= height
        for i, line in enumerate(lines):
            flow.put(line, flow.left, top - _FIRST - i * _LEADING, bold=True)
        for i, (part, reading) in enumerate(row):
            left = flow.left + NAME_WIDTH + i * half
            for j, line in enumerate(flow.lines(told(part), _PART - 0.6) if part else ()):
                flow.put(line, left, top - _FIRST - j * _LEADING)
            flow.put(_shown(reading), left + _PART, top - _FIRST, READ)
            flow.put(_limits(reading), left + _PART, top - _FIRST - _LEADING)
            # A reading that has a row to itself has room for all its boxes.
            right = left + half if len(row) > 1 or i else flow.right
            _write_in(flow, (left + _PART, flow.y + 0.6, right - 1.0, top - 0.6), reading)
        flow.rule()
    said = [*setup.reading_words, *setup.how_words]
    for note in dict.fromkeys(reading.note for reading in setup.readings if reading.note):
        rows = dict.fromkeys(reading.row for reading in setup.readings if reading.note == note)
        noted = tell("reading.card.noted", readings=", ".join(told(row) for row in rows), note=note)
        said.append(f"{noted[0].upper()}{noted[1:]}")
    said += map(told, setup.print_words)
    flow.space(UNDER_RULE)
    flow.paragraph(" ".join(said))
    if settle:
        flow.blank(tell("reading.card.settle", settle=settle))


def _across(reading: Reading) -> int:
    """Return how many boxes to write in stand side by side for a reading: in one line, or two."""
    return reading.times if reading.times <= _ONE_LINE else -(-reading.times // 2)


def _write_in(flow: Flow, place: Box, reading: Reading) -> None:
    """Draw a box for each time that a reading is taken, at the right edge of what the reading leaves free."""
    left, low, right, top = place
    across = _across(reading)
    free = right - left - _text_width(flow, reading) - 1.0
    wide = min(_BOX if across == 1 else _BOXES, free / across)
    high = (top - low) / (1 if reading.times <= _ONE_LINE else 2)
    for i in range(reading.times):
        x, y = right - (across - i % across) * wide, top - (i // across) * high
        flow.drawing.draw(box((x, y - high), (x + wide, y)), THIN, "card")


def _text_width(flow: Flow, reading: Reading) -> float:
    return max(flow.width(_shown(reading), READ), flow.width(_limits(reading)))


Row = tuple[Say, list[tuple[Say | str, Reading]]]


def _rows(flow: Flow, readings: Sequence[Reading], half: float) -> list[Row]:
    """Return the readings as rows: a name, and one or two readings each with the part that tells it apart.

    Two go into a row where they differ in that part and have room for their boxes; so do the last two.
    """

    def fits(reading: Reading) -> bool:
        free = half - _PART - 1.0 - _text_width(flow, reading) - 1.0
        return free / _across(reading) >= _LEAST_BOX

    rows: list[Row] = []
    for reading in readings:
        one = rows[-1] if rows else None
        if one and one[0] == reading.row and len(one[1]) == 1 and fits(reading) and fits(one[1][0][1]):
            one[1].append((reading.part, reading))
        else:
            rows.append((reading.row, [(reading.part, reading)]))
    alone = [row for row in rows if len(row[1]) == 1 and fits(row[1][0][1])]
    for first, second in itertools.permutations(alone, 2):
        if len(first[1]) != 1 or len(second[1]) != 1:
            continue  # one of them has found its place
        reading = second[1][0][1]
        name = tell("reading.what.lean_short") if reading.kind == "lean" else told(reading.name)
        if len(flow.lines(name, _PART - 0.6)) <= 2:
            first[1].append((name, reading))
            rows.remove(second)
            second[1].clear()
    return rows


def _shown(reading: Reading) -> str:
    return f"{reading.mm.nominal} mm  {reading.inch.nominal} in"


def _limits(reading: Reading) -> str:
    mm, inch = reading.mm, reading.inch
    if mm.low is None or mm.high is None or inch.low is None or inch.high is None:
        return tell("reading.card.no_limits")
    return f"{band(mm.low, mm.high)}, {band(inch.low, inch.high)}{'*' if reading.judged else ''}"
