"""The traveller's readings: what a caliper must show, and a box for what it does show at each check point."""

from collections.abc import Sequence

from geometry.core.say import named
from geometry.survey.reading import Printed, Reading
from sheets.ink.marks import THIN, box, polyline
from sheets.ink.placing import Box
from sheets.ink.records import Part
from sheets.pages.flow import READ, SMALL
from sheets.pages.running.traveller_form import LAYER, Form
from sheets.setup.setup import SetUp
from sheets.words.lengths import units
from sheets.words.readings import within
from sheets.words.tell import tell, told

_NAME, _TARGET, _LIMITS = 61.0, 17.6, 25.8
"""Widths of the first columns, mm; the boxes share what is left."""
_SHORT, _BOX = 36.0, 16.4
"""On a narrow page the names give way, down to this, for boxes of this width, mm."""
_ROW, _LINE = 6.6, 6.0
"""Least height of a row, mm, room for handwriting, and of each line of boxes where a row has several."""
_BOTH, _DENSE_BOTH = 8.4, 7.5
"""Least height of a row that tells mm and inches, mm, and on a dense form."""
_FIRST, _SECOND = 0.1, 3.4
"""How far below a row's middle mm and inches stand where both are told, mm: as much white above as below."""
_LIMITS_UP = 0.7
"""How far over it the limits in mm stand then, mm."""
_LAST = 2
"""Boxes side by side at the last check point, where the verdict's repeats are written; more go below them,
or share the width on a dense form. On a narrow page they stand one below the other."""


_MOST = 4
"""Most boxes side by side on a dense form."""


def readings(form: Form, setup: SetUp) -> None:
    """Set the table of readings with a box for each check point, struck out where a reading is not taken.

    At the last one there are as many boxes as the verdict needs readings; they are one field of the form, in
    which several readings stand apart by a semicolon.
    """
    flow = form.flow
    form.heading(tell(f"reading.traveller.heading.{units()}"), _ROW + 6.0)
    points = [step.check for step in setup.operations if step.check]
    # The last point is the one whose boxes are as many as the plan's repeats.
    repeats = "reading.limits.often" if len(points) > 1 else "reading.limits.often_alone"
    often = tell(repeats, last=named(points[-1])) if points else ""
    flow.paragraph(" ".join(filter(None, (often, *setup.reading_words))))
    _heads(form, points)
    wide = _name(form, len(points))
    faced = points.index("faced") if "faced" in points else len(points)
    for reading in (apart for each in setup.readings for apart in each.told_apart):
        names = flow.lines(told(reading.name), wide - 2.0)
        pitch = flow.pitch * SMALL
        beside = _beside(form, len(points))
        if form.dense and beside > 1:
            beside = max(beside, min(reading.times, _MOST))
        lines = -(-reading.times // beside)
        both = _DENSE_BOTH if form.dense else _BOTH
        height = max(both if units() == "both" else _ROW, len(names) * pitch + 0.8, lines * _LINE)
        if form.together(height):
            _heads(form, points)
        top = flow.y
        flow.y -= height
        middle, line = (top + flow.y) / 2.0, form.line()
        head = flow.part("Row", line)
        for i, name in enumerate(names):
            base = middle + (len(names) / 2.0 - i) * pitch - pitch + 0.28 * SMALL
            flow.put(name, flow.left + 0.8, base, part=head)
        _aim(form, reading, flow.left + wide, middle, line)
        for i, (point, place) in enumerate(zip(points, _boxes(form, len(points), top), strict=True)):
            cell = flow.part("TD", line)
            if _taken(reading, i >= faced):
                last = i == len(points) - 1
                several = last and reading.times > 1
                label = _asked(reading, point, several=several)
                form.field(f"reading.{point}.{reading.key}", label, place, "number", part=cell)
                if last:
                    _split(form, place, reading.times, beside)
            else:
                flow.drawing.vacant.append(cell)
                left, low, right, high = place
                flow.drawing.draw(box((left, low), (right, high)), THIN, LAYER)
                half = (low + high) / 2.0
                flow.drawing.draw(polyline(((left + 5.0, half), (right - 5.0, half))), THIN, LAYER)
        form.rule()


def _split(form: Form, place: Box, times: int, beside: int) -> None:
    """Rule a box into as many as there are readings to write in it."""
    left, low, right, top = place
    lines = -(-times // beside)
    draw, high = form.flow.drawing.draw, (top - low) / lines
    for i in range(1, lines):
        draw(polyline(((left, low + i * high), (right, low + i * high))), THIN, LAYER)
    for i in range(lines):
        upper, many = top - i * high, min(beside, times - i * beside)
        for part in range(1, many if beside > 1 else 1):
            x = left + (right - left) * part / min(beside, times)
            draw(polyline(((x, upper - high), (x, upper))), THIN, LAYER)


def _beside(form: Form, count: int) -> int:
    """Return how many boxes stand side by side at the last of so many check points."""
    free = form.flow.right - form.flow.left - _SHORT - _TARGET - _LIMITS
    return _LAST if free >= (count - 1 + _LAST) * _BOX else 1


def _units(form: Form, count: int) -> int:
    """Return how many boxes of one width the check points take."""
    return count - 1 + _beside(form, count) if count else 0


def _name(form: Form, count: int) -> float:
    """Return the width of the column of names beside the boxes of so many check points, mm."""
    left = form.flow.right - form.flow.left - _TARGET - _LIMITS - _units(form, count) * _BOX
    return min(_NAME, max(_SHORT, left))


def _boxes(form: Form, count: int, top: float) -> list[Box]:
    flow = form.flow
    left = flow.left + _name(form, count) + _TARGET + _LIMITS
    wide = (flow.right - left) / max(1, _units(form, count))
    edges = [left + i * wide for i in range(count)]
    return [(x, flow.y, flow.right if i == count - 1 else x + wide, top) for i, x in enumerate(edges)]


def _heads(form: Form, points: Sequence[str]) -> None:
    flow = form.flow
    base, wide = flow.y - 3.5, _name(form, len(points))
    form.table()
    line = form.line()
    heads = [
        (tell("reading.traveller.reading"), flow.left + 0.8),
        (tell("reading.traveller.target"), flow.left + wide),
        (tell("reading.traveller.limits"), flow.left + wide + _TARGET),
    ]
    boxes = _boxes(form, len(points), flow.y)
    heads += [(told(named(point)), place[0] + 0.8) for point, place in zip(points, boxes, strict=True)]
    for head, x in heads:
        flow.put(head, x, base, bold=True, part=flow.part("Column", line))
    flow.y -= 4.6
    form.rule()


def _taken(reading: Reading, faced: bool) -> bool:
    """Say whether a reading is taken at a check point: stock for facing is there before, and gone after."""
    return reading.stage == "" or (reading.stage == "faced") == faced


def _asked(reading: Reading, point: str, *, several: bool) -> str:
    """Return what a box asks for, and in which unit: what a form's reader says of it."""
    target = (reading.inch if units() == "in" else reading.mm).nominal
    name, at, times = reading.name, named(point), reading.times
    if several:
        return tell(f"reading.traveller.labels.{units()}", reading=name, point=at, target=target, times=times)
    return tell(f"reading.traveller.label.{units()}", reading=name, point=at, target=target)


def _aim(form: Form, reading: Reading, left: float, middle: float, line: Part) -> None:
    """Set target and limits beside each other; those in inches below those in mm where both are told."""
    flow, inch = form.flow, units() == "in"
    printed = reading.inch if inch else reading.mm
    both = units() == "both"
    aim, limits = flow.part("TD", line), flow.part("TD", line)
    flow.put(printed.nominal, left, middle - (_FIRST if both else 0.36 * READ), READ, part=aim)
    at = middle + (_LIMITS_UP if both else -0.36 * SMALL)
    flow.put(_limits(reading, printed), left + _TARGET, at, part=limits)
    if both:
        below = middle - _SECOND
        flow.put(f"{reading.inch.nominal} in", left, below, part=aim)
        flow.put(_limits(reading, reading.inch), left + _TARGET, below, part=limits)


def _limits(reading: Reading, printed: Printed) -> str:
    if printed.low is None or printed.high is None:
        return tell("reading.traveller.no_limits")
    return f"{within(printed)}{'*' if reading.judged else ''}"
