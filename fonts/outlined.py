"""The drafting alphabet as an outline font: what the pen covers, filled, for files that set labels as text.

Every stroke is cut at its corners into runs without one, and each run becomes a contour of its own with round
ends, so that all of them filled together by the non-zero rule are what a round pen draws: where runs meet,
their ends are the round joint. Curves are parabolas along the offset of the pen's way, one for every STEP
degrees of its turn, off by at most 2.5 thousandths of a capital. The em is a capital's height, so that a
label's type size is its height.
"""

import cmath
import itertools
import math
from collections.abc import Iterator, Sequence
from functools import cache, lru_cache

from fonts.drafting import DESCENDER, GRID, LETTER_GAP, LINE_PITCH_ACCENTED, STROKE, placed
from fonts.glyphs import Commands, moved

NAME = "DropleafDrafting"
ASCENT, DESCENT = LINE_PITCH_ACCENTED - DESCENDER, -DESCENDER
"""How far letters with marks reach, in capital heights."""
EM = 1000
"""Font units to the height of a capital: PDF counts widths in as many, so that none is rounded twice."""
STEP = math.radians(30.0)
_FINE = 60
"""Steps in which a cubic's turn is followed."""
_PEN = STROKE * GRID / 2.0
_CORNER = math.radians(2.0)
_UNIT = EM / GRID

# Points are complex numbers here: x + y i. A way is two points of a line or four of a cubic.
_Way = tuple[complex, ...]
_Parabola = tuple[complex, complex, complex]


def advance(character: str) -> int:
    """Return how far a character moves its line on, in font units: its ink and the gap that follows."""
    one = placed(character)
    return round((one.lead + one.width + one.trail + LETTER_GAP * GRID) * _UNIT)


def lead(character: str) -> float:
    """Return how far the ink of a character begins behind its place, in capital heights."""
    return placed(character).lead / GRID


@cache
def contours(character: str) -> tuple[tuple[tuple[int, int], ...], ...]:
    """Return each contour of a character in font units: its start, then control and end by turns."""
    one = placed(character)
    return tuple(
        (_pair(contour[0][0]), *(_pair(point) for _, *both in contour for point in both))
        for contour in _contours(moved(one.strokes, one.lead, 0.0))
    )


def _pair(point: complex) -> tuple[int, int]:
    return round(point.real * _UNIT), round(point.imag * _UNIT)


def _contours(strokes: Commands) -> Iterator[list[_Parabola]]:
    """Yield closed contours, clockwise round what they fill, that together cover what the pen does."""
    for ways, closed in _subpaths(strokes):
        corners = [i for i in range(len(ways)) if (i or closed) and _corner(ways[i - 1], ways[i])]
        if closed and not corners:
            left, right = _beside(ways, _PEN), _beside(ways, -_PEN)
            # One so tight that the pen fills it has no inner edge.
            tight = _across(ways) <= 2.0 * _PEN
            anticlockwise = sum((a.conjugate() * b).imag for (a, *_, b) in ways) > 0.0
            if not (tight and anticlockwise):
                yield left
            if not (tight and not anticlockwise):
                yield _back(right)
            continue
        if closed:
            ways = [*ways[corners[0] :], *ways[: corners[0]]]
            corners = [i - corners[0] for i in corners]
        for start, end in itertools.pairwise([*([0] if not closed else []), *corners, len(ways)]):
            left, right = _beside(ways[start:end], _PEN), _back(_beside(ways[start:end], -_PEN))
            yield [*left, *_cap(left[-1][2], right[0][0]), *right, *_cap(right[-1][2], left[0][0])]


def _subpaths(strokes: Commands) -> Iterator[tuple[list[_Way], bool]]:
    """Yield the ways of each subpath that have a length, and whether they come back to their start."""
    ways: list[_Way] = []
    for command in (*strokes, ("M", 0.0, 0.0)):
        points = [complex(*pair) for pair in zip(command[1::2], command[2::2], strict=True)]
        if command[0] == "M":
            if ways:
                yield ways, abs(ways[0][0] - ways[-1][-1]) < 1e-6
            ways, first = [], points[0]
            here = first
            continue
        way = (here, first) if command[0] == "Z" else (here, *points)
        here = way[-1]
        if abs(way[0] - way[-1]) > 1e-6:
            ways.append(way)


def _corner(before: _Way, after: _Way) -> bool:
    return abs(cmath.phase(_heading(after, 0.0) / _heading(before, 1.0))) > _CORNER


def _across(ways: Sequence[_Way]) -> float:
    xs, ys = [way[0].real for way in ways], [way[0].imag for way in ways]
    return max(max(xs) - min(xs), max(ys) - min(ys))


def _at(way: _Way, t: float) -> complex:
    if len(way) == 2:
        return way[0] + t * (way[1] - way[0])
    a, b, c, d = way
    return (1 - t) ** 3 * a + 3 * t * (1 - t) ** 2 * b + 3 * t * t * (1 - t) * c + t**3 * d


def _heading(way: _Way, t: float) -> complex:
    """Return the direction of a way, one long."""
    if len(way) == 2:
        run = way[1] - way[0]
    else:
        a, b, c, d = way
        run = (1 - t) ** 2 * (b - a) + 2 * t * (1 - t) * (c - b) + t * t * (d - c)
        if abs(run) < 1e-9:
            run = d - a
    return run / abs(run)


def _beside(ways: Sequence[_Way], off: float) -> list[_Parabola]:
    """Return the line that runs `off` to the left of ways."""
    found: list[_Parabola] = []
    for way in ways:
        found += (_parabola(way, *ends, off) for ends in itertools.pairwise(_cuts(way)))
    return found


# Asked for on both sides of the pen's way.
@lru_cache(maxsize=64)
def _cuts(way: _Way) -> tuple[float, ...]:
    """Return where a way is cut, from 0 to 1: no part turns by more than STEP, nor both to and fro."""
    if len(way) == 2:
        return 0.0, 1.0
    headings = [_heading(way, i / _FINE) for i in range(_FINE + 1)]
    turns = [cmath.phase(b / a) for a, b in itertools.pairwise(headings)]
    cuts, turned = [0.0], 0.0
    for i, turn in enumerate(turns):
        if turned * turn < 0.0 or abs(turned + turn) > STEP + 1e-9:
            cuts.append(i / _FINE)
            turned = 0.0
        turned += turn
    return *cuts, 1.0


def _parabola(way: _Way, t: float, u: float, off: float) -> _Parabola:
    (p, a), (q, b) = ((_at(way, each) + 1j * off * h, h) for each in (t, u) for h in (_heading(way, each),))
    turn = (a.conjugate() * b).imag
    if abs(turn) < 1e-3:
        return p, (p + q) / 2, q
    # Where the two tangents meet.
    return p, p + a * ((q - p).conjugate() * b).imag / turn, q


def _back(line: Sequence[_Parabola]) -> list[_Parabola]:
    return [(end, control, start) for start, control, end in reversed(line)]


def _cap(start: complex, end: complex) -> list[_Parabola]:
    """Return half a circle from one point to another, clockwise, in steps."""
    middle, count = (start + end) / 2, round(math.pi / STEP)
    arm, step = start - middle, cmath.exp(-1j * math.pi / count)
    wide = cmath.exp(-0.5j * math.pi / count) / math.cos(math.pi / count / 2)
    return [
        (middle + arm * step**i, middle + arm * step**i * wide, middle + arm * step ** (i + 1))
        for i in range(count)
    ]
