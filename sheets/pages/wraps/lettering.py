"""What is lettered on a strip: ticks and their distances, names, arrows and notes, each where it has room."""

import itertools
import math
import re
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from fonts.drafting import LINE_PITCH, width, wrap
from geometry.core.errors import FitError
from geometry.core.say import named, say
from sheets.ink.drawing import FAR, Drawing
from sheets.ink.marks import INCH, SOLID, THICK, THIN, arrow_head, polyline
from sheets.ink.placing import Box, spanned, spans_of
from sheets.ink.records import Point
from sheets.pages.wraps.strip import READ, SMALL, Laid, holes
from sheets.words.lengths import fraction, units
from sheets.words.tell import tell, told

_TICK, _SHORT = 2.0, 1.2
_TEN = 10.0
_ARROW = 8.0
_AIR = 2.0
_FEW = 0.6
_FIRST_MIDDLE, _ASIDE = (0.5, 0.25, 0.75, 0.1, 0.9), (0.85, 0.75, 0.9, 0.25, 0.1)
"""Where along a line its label is tried: a brace's leaves the half with the notes its room."""


def draw_words(drawing: Drawing, laid: Laid, frame_id: str) -> None:
    """Letter a strip on which all lines are drawn; what finds no room on it is left out."""
    _ticks(drawing, laid)
    _labels(drawing, laid)
    _middle_words(drawing, laid)
    _arrows(drawing, laid)
    for text in (*laid.strip.inside, frame_id):
        _note(drawing, laid, text)


def _ticks(drawing: Drawing, laid: Laid) -> None:
    """Draw a tick every 10 mm on the middle line and on the left edge, numbered beside one of the two.

    In inches it is every quarter, numbered at whole and half inches. Where both are told, mm stand at the
    left edge and inches on the middle line.
    """
    if units() == "both":
        _scale(drawing, laid, _TEN, "edge")
        _scale(drawing, laid, INCH / 4.0, "middle")
    else:
        _scale(drawing, laid, INCH / 4.0 if units() == "in" else _TEN)


def _scale(drawing: Drawing, laid: Laid, step: float, where: Literal["edge", "middle", ""] = "") -> None:
    """Draw a tick every `step` mm, a part of an inch or 10 mm, on the line that is named, or on both."""
    strip = laid.strip
    ends = sorted((end - strip.zero) / strip.rate for end in (strip.low, strip.high))
    marks = range(math.ceil(ends[0] / step - 1e-9), math.floor(ends[1] / step + 1e-9) + 1)
    # Where a number may start: beside the middle line to its right or left, or beside the left edge.
    columns: tuple[list[tuple[str, Point]], ...] = ([], [], [])
    for mark in marks:
        s, text = laid.tick(mark * step), _number(mark, step)
        edge, middle = laid.point(s, -math.pi), laid.point(s, 0.0)
        long = _TICK if text else _SHORT
        if where != "middle":
            drawing.draw(polyline((edge, (edge[0] + long, edge[1]))), THIN, "ticks")
            columns[2].append((text, (edge[0] + _TICK + 1.0, edge[1])))
        if where == "edge" or any(a <= s <= b for a, b in holes(strip)):
            continue
        sides = (middle[0] - long, middle[1]), (middle[0] + long, middle[1])
        drawing.draw(polyline(sides), THIN, "ticks")
        columns[0].append((text, (middle[0] + _TICK + 1.0, middle[1])))
        columns[1].append((text, (middle[0] - _TICK - 1.0 - width(text, READ), middle[1])))
    columns = tuple([each for each in column if each[0]] for column in columns)
    numbered = sum(bool(_number(mark, step)) for mark in marks)
    spans = spans_of(drawing.obstacles())
    free = [[(text, at) for text, at in column if _has_room(laid, spans, text, at)] for column in columns]
    best = next((each for each in free if len(each) >= _FEW * numbered), max(free, key=len))
    for text, (x, y) in best:
        drawing.letter(text, (x, y - READ / 2.0), READ, layer="ticks")


def _number(mark: int, step: float) -> str:
    """Return what is lettered beside a tick: its mm, or its inches where they are whole or half."""
    if step == _TEN:
        return f"{mark * 10}"
    if mark % 2:
        return ""
    return tell("wrap.inches", number=fraction(mark * step))


def _has_room(laid: Laid, spans: NDArray[np.float64], text: str, at: Point) -> bool:
    """Return whether a number may stand with the middle of its left end at a place."""
    half = READ / 2.0 + 0.8
    box = (at[0] - 0.4, at[1] - half, at[0] + width(text, READ) + 0.4, at[1] + half)
    return laid.box[1] + 0.3 < box[1] and box[3] < laid.box[3] - 0.3 and not _hit(spans, box)


def _hit(spans: NDArray[np.float64], box: Box) -> bool:
    return bool(spanned(spans, box).any())


def _labels(drawing: Drawing, laid: Laid) -> None:
    """Name the lines on the strip, beside it where it has no room."""
    done: set[tuple[str, ...]] = set()
    left, low, right, top = laid.box
    inner = (left + 1.0, low + 0.5, right - 1.0, top - 0.5)
    for line in laid.strip.lines:
        if not line.labels or line.labels in done:
            continue
        done.add(line.labels)
        long, brief = line.labels[0], line.labels[-1]
        points = laid.at(line.s, line.turn)
        index = np.arange(len(points)) / (len(points) - 1)
        anchors = [
            (float(np.interp(share, index, points[:, 0])), float(np.interp(share, index, points[:, 1])))
            for share in (_ASIDE if line.role == "brace" else _FIRST_MIDDLE)
        ]
        # A small name beside its line is better than a large one across the strip.
        sizes = (SMALL,) if line.role == "brace" else (READ, SMALL)
        ways = [(long, size, far) for far in (FAR, math.inf) for size in sizes]
        for text, height, far in (*ways, (brief, SMALL, math.inf)):
            try:
                prefer = 180.0 if line.role == "hole" else 45.0
                drawing.callout(text, anchors, inner, height, prefer=prefer, most=2, far=far)
                break
            except FitError:
                continue


def _arrows(drawing: Drawing, laid: Laid) -> None:
    """Draw the arrows that say which way is up and which is outboard, with their words."""
    outboard = told(named("outboard"))
    for up, out, height in (
        (laid.strip.up, outboard, READ),
        (laid.strip.up, outboard, SMALL),
        (tell("wrap.arrow.up"), tell("wrap.arrow.out"), SMALL),
    ):
        room = _half(laid)
        rows = wrap(up, height, max(room - 4.0, width("mmm", height)))
        pitch = LINE_PITCH * height
        tall = max(_ARROW, pitch * len(rows)) + 2.0 + 1.2 + 1.0 + height * 1.3
        wide = max(4.0 + max(width(row, height) for row in rows), width(out, height), _ARROW)
        found = _room(drawing, laid, (wide, tall))
        if found is None:
            continue
        x, y = found[0], found[3]
        drawing.draw(polyline(((x + 1.2, y - _ARROW), (x + 1.2, y - 1.5))), THICK, "arrows")
        drawing.draw(arrow_head((x + 1.2, y), 90.0), SOLID, "arrows")
        part = drawing.part("P")
        for i, row in enumerate(rows):
            drawing.letter(row, (x + 4.0, y - height - i * pitch), height, layer="arrows", part=part)
        y -= max(_ARROW, pitch * len(rows)) + 2.0
        drawing.draw(polyline(((x + 1.5, y), (x + _ARROW, y))), THICK, "arrows")
        drawing.draw(arrow_head((x, y), 180.0), SOLID, "arrows")
        drawing.letter(out, (x, y - 1.2 - height), height, layer="arrows")
        return


def _middle_words(drawing: Drawing, laid: Laid) -> None:
    """Letter along the middle line what it lies on, on the side where it has room."""
    strip, (_, low, _, top) = laid.strip, laid.box
    spans = spans_of(drawing.obstacles())
    name = say(f"wrap.side.{strip.middle}")
    for text in (tell("wrap.middle.how", side=name), tell("wrap.middle.what", side=name), told(name)):
        long = width(text, SMALL)
        for start in np.arange(low + 2.0, top - 2.0 - long, 1.0):
            for side in (-1.0, 1.0):
                x = laid.middle + (-_TICK - 1.0 if side < 0.0 else _TICK + 1.0 + SMALL)
                box = (x - SMALL - 0.6, float(start) - 0.8, x + 0.9, float(start) + long + 0.8)
                if not _hit(spans, box):
                    drawing.letter(text, (x, float(start)), SMALL, 0.0, 90.0, layer="notes")
                    return


def _half(laid: Laid) -> float:
    """Return the width of the narrower half of a strip, less air."""
    left, _, right, _ = laid.box
    return min(laid.middle - left, right - laid.middle) - 2.0 * _AIR - 1.0


def _note(drawing: Drawing, laid: Laid, text: str) -> None:
    """Letter a note in a half of the strip where it has room."""
    # A frame's id in one piece and small is better than one broken at its hyphen.
    for pieces, height in itertools.product((r"[^ ]+", r"[^ .-]+[.-]?"), (READ, SMALL)):
        for room in (_half(laid), _half(laid) * 0.75, _half(laid) * 0.5):
            if room < max(width(word, height) for word in re.findall(pieces, text)):
                continue
            rows = wrap(text, height, room)
            pitch = LINE_PITCH * height
            found = _room(drawing, laid, (max(width(row, height) for row in rows), pitch * len(rows)))
            if found is None:
                continue
            part = drawing.part("P")
            for i, row in enumerate(rows):
                at = found[0], found[3] - height - i * pitch
                drawing.letter(row, at, height, layer="notes", part=part)
            return


def _room(drawing: Drawing, laid: Laid, size: tuple[float, float]) -> Box | None:
    """Return a free box on the strip."""
    # A little more than the strip, so that its edges count as ink; nothing fits between edge and end.
    left, low, right, top = laid.box
    return drawing.free_box(size, (left - 1.5, low - 1.5, right + 1.5, top + 1.5))
