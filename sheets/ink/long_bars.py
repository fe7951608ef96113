"""The proof's bars: as long as a paper takes, millimetres on one side and sixteenths of an inch on the other.

Both start at one corner, so that a ruler laid along either reads from the same zero.
"""

from geometry.core.plane import along, polar
from geometry.printing.distortion import Bars
from sheets.ink.marks import INCH, label, polyline
from sheets.ink.records import Command, Commands, Label, Paper, Point
from sheets.words.tell import tell

MARGIN = 10.0
"""Border of a proof, mm: wider than what office printers keep white."""
CORNER = (22.0, 20.0)
"""Where both bars start, mm from the sheet's lower left corner: there is room outside for their figures."""
INSIDE = 12.0
"""From a bar to what stands inside the corner: ticks and figures fit between, mm."""
WORDS = 92.0
"""Height kept for the words of a proof, mm. Fixed, so that the same paper always has the same diagonals."""
_STEP = 5.0
"""Bars are whole multiples of this long, mm."""
_PAST = 1.0
"""Left free past a bar's end, mm."""
_CLEAR = 5.0
_LAST = 17.0
"""Room for the last figure, which has its unit, mm."""
_SMALL = 2.5
_TALL = 4.0
_MM_TICKS = ((10, 4.0), (5, 2.8), (1, 1.6))
_INCH_TICKS = ((16, 4.0), (8, 3.2), (4, 2.6), (2, 2.0), (1, 1.4))


def bar_lengths(paper: Paper) -> tuple[float, float]:
    """Return the lengths of a paper's bars across and down, mm."""
    across, down = (
        (size - MARGIN - _PAST - start) // _STEP * _STEP
        for size, start in zip((paper.width, paper.height), CORNER, strict=True)
    )
    return across, down


def diagonal_box(paper: Paper) -> tuple[float, float, float, float]:
    """Return the rectangle whose diagonals a proof shows: left, low, right, top in mm."""
    across, down = bar_lengths(paper)
    left, right, top = CORNER[0] + INSIDE, CORNER[0] + across, CORNER[1] + down
    low = CORNER[1] + INSIDE + WORDS
    return left, low, right, low + (top - low) // 1.0


def bars_of(paper: Paper) -> Bars:
    """Return the lengths that are read on a paper's proof."""
    across, down = bar_lengths(paper)
    left, low, right, top = diagonal_box(paper)
    return Bars(across, down, right - left, top - low)


def long_bar(
    start: Point, turn: float, length: float, size: float = _SMALL
) -> tuple[Commands, tuple[Label, ...]]:
    """Return all ticks and all figures of a bar that runs from `start` along `turn`, `length` mm long.

    Millimetres stand to the left of the run, every tenth figured, and sixteenths of an inch to the right.
    On the side where the other bar stands, above the one across and to the right of the one down, nothing is
    drawn so near the corner that it would meet the other's ticks.
    """
    across = turn % 180.0 == 0.0
    clear_mm, clear_inch = (_CLEAR, 0.0) if across else (0.0, _CLEAR)
    run, left = polar(turn), polar(turn + 90.0)
    ticks: list[Command] = []
    words: list[Label] = []
    for mm in range(int(length) + 1):
        tall = next(tall for every, tall in _MM_TICKS if mm % every == 0)
        foot = along(start, (float(mm), run))
        if 0 < mm < clear_mm:
            continue
        ticks += polyline((foot, along(foot, (tall if mm < length else _TALL, left))))
        last = mm == int(length)
        if last or (mm % 10 == 0 and clear_mm <= mm <= length - _LAST):
            text = f"{mm} mm" if last else f"{mm}"
            anchor = 1.0 if last else 0.5 if mm else 0.0
            words.append(label(text, along(foot, (_TALL + 1.0, left)), size, anchor, turn))
    count = int(length / INCH * 16.0 + 1e-9)
    for part in range(count + 1):
        tall = next(tall for every, tall in _INCH_TICKS if part % every == 0)
        foot = along(start, (part * INCH / 16.0, run))
        if 0.0 < part * INCH / 16.0 < clear_inch:
            continue
        ticks += polyline((foot, along(foot, (-tall, left))))
        if part % 16 == 0 and part:
            text = tell("paper.inches", count=1) if part == 16 else f"{part // 16}"
            words.append(label(text, along(foot, (-_TALL - 1.0 - size, left)), size, 0.5, turn))
    return tuple(ticks), tuple(words)
