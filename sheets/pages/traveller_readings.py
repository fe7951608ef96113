"""The traveller's readings: what a caliper must show, and a box for what it does show at each check point."""

from collections.abc import Sequence
from dataclasses import replace

from geometry.readings import Printed, Reading
from sheets.ink.marks import THIN, box, polyline
from sheets.ink.room import Box
from sheets.pages.flow import READ, SMALL
from sheets.pages.traveller_form import LAYER, Form
from sheets.setup import SetUp

_NAME, _TARGET, _LIMITS = 61.0, 18.2, 24.4
"""Widths of the first columns, mm; the boxes share what is left."""
_SHORT, _BOX = 36.0, 16.4
"""On a narrow page the names give way, down to this, for boxes of this width, mm."""
_ROW = 7.0
"""Least height of a row, mm: room for handwriting."""


def readings(form: Form, setup: SetUp) -> None:
    """Set the table of readings with a box for each check point, struck out where a reading is not taken."""
    flow = form.flow
    form.heading("Readings, mm; target and limits as on the card", _ROW + 6.0)
    points = [step.check for step in setup.operations if step.check]
    _heads(form, points)
    wide = _name(form, len(points))
    faced = points.index("faced") if "faced" in points else len(points)
    for reading in _at_each_hole(setup.readings):
        names = flow.lines(reading.name, wide - 2.0)
        pitch = flow.pitch * SMALL
        height = max(_ROW, len(names) * pitch + 0.8)
        if form.together(height):
            _heads(form, points)
        top = flow.y
        flow.y -= height
        middle = (top + flow.y) / 2.0
        for i, name in enumerate(names):
            base = middle + (len(names) / 2.0 - i) * pitch - pitch + 0.28 * SMALL
            flow.put(name, flow.left + 0.8, base)
        flow.put(reading.mm.nominal, flow.left + wide, middle - 0.36 * READ, READ)
        flow.put(_limits(reading.mm), flow.left + wide + _TARGET, middle - 0.36 * SMALL)
        for i, (point, place) in enumerate(zip(points, _boxes(form, len(points), top), strict=True)):
            if _taken(reading, i >= faced):
                label = f"{reading.name}, when {point}, mm; target {reading.mm.nominal}"
                form.field(f"reading.{point}.{reading.key}", label, place, "number")
            else:
                left, low, right, high = place
                flow.drawing.draw(box((left, low), (right, high)), THIN, LAYER)
                half = (low + high) / 2.0
                flow.drawing.draw(polyline(((left + 5.0, half), (right - 5.0, half))), THIN, LAYER)
        form.rule()


def _at_each_hole(taken: Sequence[Reading]) -> list[Reading]:
    """Return the readings with the sideways one from the inner face taken at both holes.

    The card asks for one, which places the mount; two tell besides whether it stands out of square.
    """
    found: list[Reading] = []
    for reading in taken:
        if reading.name.startswith("inner face"):
            found += [replace(reading, name=f"{reading.name}, at {hole}") for hole in ("near", "far")]
        else:
            found.append(reading)
    return found


def _name(form: Form, count: int) -> float:
    """Return the width of the column of names beside so many boxes, mm."""
    left = form.flow.right - form.flow.left - _TARGET - _LIMITS - count * _BOX
    return min(_NAME, max(_SHORT, left))


def _boxes(form: Form, count: int, top: float) -> list[Box]:
    flow = form.flow
    left = flow.left + _name(form, count) + _TARGET + _LIMITS
    wide = (flow.right - left) / count
    return [(left + i * wide, flow.y, left + (i + 1) * wide, top) for i in range(count)]


def _heads(form: Form, points: Sequence[str]) -> None:
    flow = form.flow
    base, wide = flow.y - 3.5, _name(form, len(points))
    flow.put("reading", flow.left + 0.8, base, bold=True)
    flow.put("target", flow.left + wide, base, bold=True)
    flow.put("limits", flow.left + wide + _TARGET, base, bold=True)
    for point, place in zip(points, _boxes(form, len(points), flow.y), strict=True):
        flow.put(point, place[0] + 0.8, base, bold=True)
    flow.y -= 4.6
    form.rule()


def _taken(reading: Reading, faced: bool) -> bool:
    """Say whether a reading is taken at a check point: stock for facing is there before, and gone after."""
    if "before facing" in reading.name:
        return not faced
    return faced or ", faced" not in reading.name


def _limits(printed: Printed) -> str:
    if printed.low is None or printed.high is None:
        return "none known"
    return f"{printed.low}{' to ' if printed.low.startswith('-') else '–'}{printed.high}"
