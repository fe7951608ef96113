"""What a drawing holds, whatever its format: lines flattened in mm, each with the names that it goes by."""

import itertools
import math
from collections.abc import Callable, Sequence

from geometry.core.errors import RefusedError
from geometry.core.frozen import dataclass
from geometry.core.plane import Point
from geometry.core.say import Say, say

CLOSE = 0.004
"""How far a flattened curve may lie off, mm; with what is rounded after it that stays below 0.01."""
MOST_POINTS = 40_000
"""Points in a whole drawing: what draws more is no dropout."""
UNITS = {"mm": 1.0, "cm": 10.0, "in": 25.4}
"""What a unit of a drawing may be, and how many mm it is (1 in = 25.4 mm by definition)."""
_REACH = 100_000.0
_DEEPEST = 12


@dataclass(frozen=True, slots=True)
class Piece:
    """One line of a drawing, in mm, y up: its points, whether its end joins its beginning, and its names.

    A closed one does not repeat its first point. `unread` says what it is where it could not be read.
    """

    points: tuple[Point, ...]
    closed: bool
    names: tuple[str, ...] = ()
    unread: Say | None = None


class Pieces(list[Piece]):
    """Pieces that are being gathered, no more than a drawing may have."""

    def __init__(self) -> None:
        """Begin with none."""
        super().__init__()
        self.points = 0

    @property
    def left(self) -> int:
        """Return how many points more the drawing may have."""
        return MOST_POINTS - self.points

    def put(self, points: Sequence[Point], closed: bool, names: tuple[str, ...]) -> None:
        """Add a line; RefusedError for too many points, or for one that lies beyond all measure."""
        self.points += len(points)
        within(len(points), self.left + len(points))
        if not all(abs(x) < _REACH and abs(y) < _REACH for x, y in points):
            raise RefusedError(say("outline.no_number"))
        # Also false of what is no number at all, so that none comes further.
        kept = [p for i, p in enumerate(points) if i == 0 or math.dist(p, points[i - 1]) > 1e-6]
        if closed and len(kept) > 1 and math.dist(kept[0], kept[-1]) <= 1e-6:
            kept.pop()
        if len(kept) > 1:
            self.append(Piece(tuple(kept), closed, names))


def within(count: float, left: int) -> None:
    """Raise RefusedError where a line has more points than are left to a drawing.

    It is asked before a curve is followed: a few bytes can ask for more points than any time is enough for.
    """
    if not count <= left:
        raise RefusedError(say("outline.too_detailed", most=MOST_POINTS))


def arc(
    centre: Point, a: Point, b: Point, start: float, sweep: float, left: int = MOST_POINTS
) -> list[Point]:
    """Return points along centre + a cos + b sin, from `start` over `sweep` radians, both ends included.

    Raise RefusedError where it takes more than `left`.
    """
    radius = max(math.hypot(*a), math.hypot(*b), CLOSE)
    if not radius < _REACH:
        raise RefusedError(say("outline.no_number"))
    step = 2.0 * math.acos(1.0 - min(1.0, CLOSE / radius))
    within(abs(sweep) / step, left)
    count = max(2, math.ceil(abs(sweep) / step))
    turns = (start + sweep * i / count for i in range(count + 1))
    return [
        (
            centre[0] + a[0] * math.cos(t) + b[0] * math.sin(t),
            centre[1] + a[1] * math.cos(t) + b[1] * math.sin(t),
        )
        for t in turns
    ]


def round_line(centre: Point, a: Point, b: Point, left: int = MOST_POINTS) -> list[Point]:
    """Return a whole circle or ellipse, its first point not repeated; RefusedError beyond `left`."""
    return arc(centre, a, b, 0.0, 2.0 * math.pi, left)[:-1]


def bezier(corners: Sequence[Point], left: int = MOST_POINTS) -> list[Point]:
    """Return points along a curve of three or four corners, without its first; RefusedError beyond `left`.

    A chord of n equal steps lies off by at most an eighth of the largest second derivative over n squared.
    """
    n = len(corners) - 1
    bends = (
        math.hypot(p[0] - 2.0 * q[0] + r[0], p[1] - 2.0 * q[1] + r[1])
        for p, q, r in zip(corners, corners[1:], corners[2:], strict=False)
    )
    bend = n * (n - 1) * max(bends)
    if not bend < _REACH * _REACH:
        raise RefusedError(say("outline.no_number"))
    count = max(1, math.ceil(math.sqrt(bend / (8.0 * CLOSE))))
    within(count, left)
    found = []
    for i in range(1, count + 1):
        t = i / count
        points = list(corners)
        while len(points) > 1:
            points = [
                (p[0] + t * (q[0] - p[0]), p[1] + t * (q[1] - p[1])) for p, q in itertools.pairwise(points)
            ]
        found.append(points[0])
    found[-1] = corners[-1]
    return found


def followed(at: Callable[[float], Point], stops: Sequence[float], left: int = MOST_POINTS) -> list[Point]:
    """Return points along a curve given by its parameter, from stop to stop, close enough everywhere.

    Raise RefusedError where it takes more than `left`.
    """
    found = [at(stops[0])]

    def between(low: float, p: Point, high: float, q: Point, depth: int) -> None:
        middle = (low + high) / 2.0
        m = at(middle)
        chord = math.dist(p, q)
        off = (
            math.dist(m, p)
            if chord == 0.0
            else abs((q[0] - p[0]) * (m[1] - p[1]) - (q[1] - p[1]) * (m[0] - p[0])) / chord
        )
        if not off < _REACH:
            raise RefusedError(say("outline.no_number"))
        within(len(found), left)
        if off > CLOSE / 2.0 and depth < _DEEPEST:
            between(low, p, middle, m, depth + 1)
            between(middle, m, high, q, depth + 1)
            return
        found.append(q)

    for low, high in itertools.pairwise(stops):
        # Cut first, so that a curve which swings both ways is not taken for straight by its middle.
        cuts = [low + (high - low) * i / 8.0 for i in range(9)]
        for first, last in itertools.pairwise(cuts):
            between(first, found[-1], last, at(last), 0)
    return found
