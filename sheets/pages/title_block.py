"""The title block of a full-size sheet, which is lettered from its foot up and read from its head down."""

import itertools
from collections.abc import Iterator, Sequence
from typing import Literal

from fonts.drafting import LINE_PITCH, rise, width, wrap
from geometry.core.frozen import dataclass
from sheets.ink.drawing import Drawing
from sheets.ink.marks import THICK, box, polyline
from sheets.ink.placing import Box
from sheets.ink.records import Part, Point

_PAD = 2.0
_READ, _STAMP = 3.5, 5.0
NUMBER_ROOM = 36.0
"""Room that a title block keeps for the page's number: "page 28 of 28" is no wider, mm."""


@dataclass(frozen=True, slots=True)
class TitleLine:
    """A line of the title block: text, lettering height in mm, and what stands at its right end.

    A `numbered` line keeps its right end free for the page's number in the packet. `kind` is what it is to
    who listens.
    """

    text: str
    height: float = _READ
    right: str = ""
    numbered: bool = False
    kind: Literal["H1", "H2", "P"] = "P"


def title_block(
    drawing: Drawing, live: Box, title: Sequence[TitleLine], stamp: str
) -> tuple[float, Point | None]:
    """Letter the title block from the foot up; return the height where it ends, and where a number does."""
    left, low, right, _ = live
    room = right - left - 2.0 * _PAD
    y, number_at = low + _PAD, None
    warned = drawing.part("P")
    lines = [
        (line, drawing.part(line.kind), drawing.part("P")) for whole in title for line in _apart(whole, room)
    ]
    for line, part, aside_part in reversed(lines):
        aside = NUMBER_ROOM if line.numbered else width(line.right, _READ) + 4.0 if line.right else 0.0
        rows = wrap(line.text, line.height, room - aside)
        for row, place in reversed(list(zip(rows, _places(part), strict=False))):
            y += 0.35 * line.height
            drawing.letter(row, (left + _PAD, y), line.height, layer="title block", part=place)
            if line.numbered and row is rows[0]:
                number_at = right - _PAD, y
            if line.right and row is rows[0]:
                drawing.letter(
                    line.right, (right - _PAD, y), _READ, 1.0, layer="title block", part=aside_part
                )
            over = rise(row, line.height)
            if line.right and row is rows[0]:
                over = max(over, _READ + rise(line.right, _READ) - line.height)
            y += (LINE_PITCH - 0.35) * line.height + over
    if stamp:
        drawing.draw(polyline(((left, y + 0.5), (right, y + 0.5))), THICK, "title block")
        y += _PAD
        rows = wrap(stamp, _STAMP, room)
        for row, place in reversed(list(zip(rows, _places(warned), strict=False))):
            y += 0.35 * _STAMP
            drawing.letter(row, (left + _PAD, y), _STAMP, layer="title block", part=place)
            y += (LINE_PITCH - 0.35) * _STAMP + rise(row, _STAMP)
    drawing.draw(box((left, low), (right, y + 0.5)), THICK, "title block")
    return y + 0.5, number_at


def _places(part: Part) -> Iterator[Part]:
    """Yield one place after the other in a part that is lettered from its foot up."""
    return ((*part, (number, "")) for number in itertools.count())


def _apart(line: TitleLine, room: float) -> tuple[TitleLine, ...]:
    """Return a line, or two where what stands at its right end would leave the rest too little room, mm."""
    if width(line.right, _READ) <= room / 2.0:
        return (line,)
    return TitleLine(line.text, line.height, kind=line.kind), TitleLine(line.right)
