"""Where a label has room: free places round a point, and labels spread along an edge."""

import functools
import itertools
import math
from collections.abc import Iterator, Sequence

import numpy as np
from numpy.typing import NDArray

from fonts.drafting import LINE_PITCH, accents, width
from geometry.core.plane import along, line_in_box, polar
from sheets.ink.records import Point

Box = tuple[float, float, float, float]
"""Left, bottom, right, top."""

AIR = 1.0
"""Clear space kept round a label, mm (parallel lines ask for 0.7, remembered)."""


def spread(wanted: Sequence[float], pitch: float, low: float, high: float) -> list[float]:
    """Return ascending places at least `pitch` apart, each near its wanted one, within low and high."""
    groups: list[tuple[float, int]] = []
    for place in wanted:
        groups.append((place, 1))
        # Neighbours that crowd each other move together, as one group about their common middle.
        while len(groups) > 1:
            (m0, n0), (m1, n1) = groups[-2:]
            if m1 - m0 >= (n0 + n1) / 2.0 * pitch:
                break
            groups[-2:] = [((m0 * n0 + m1 * n1) / (n0 + n1), n0 + n1)]
    places = [middle + (i - (count - 1) / 2.0) * pitch for middle, count in groups for i in range(count)]
    shift = max(0.0, low - places[0]) - max(0.0, places[-1] - high)
    return [place + shift for place in places]


Seat = tuple[float, Point, Point, Point]
"""A place for a label: its cost, where its leader starts and ends, and where its baseline starts."""

_REACHES = (6.0, 9.0, 13.0, 18.0, 24.0, 32.0, 42.0, 54.0)
_TURNS = tuple(range(0, 360, 15))


class Taken:
    """What is on a page: `lines` (n, 4) as segments, and `boxes` (m, 4) that nothing may touch."""

    def __init__(self, lines: NDArray[np.float64], boxes: NDArray[np.float64], zone: Box) -> None:
        """Count how much ink of a zone lies to the lower left of each corner of a 1 mm grid."""
        self.lines, self.boxes = lines, boxes
        self._aired = boxes + np.array([-1.0, -1.0, 1.0, 1.0]) * AIR / 2.0
        # Looked at for every place that is tried, where few lines are near.
        self._spans = spans_of(lines)
        points = dotted(lines[spanned(self._spans, zone)])
        self._corner = points.min(axis=0) if len(points) else np.zeros(2)
        cells = (points - self._corner).astype(np.int64)
        size = cells.max(axis=0) + 1 if len(points) else np.ones(2, dtype=np.int64)
        inked = np.bincount(cells[:, 0] * size[1] + cells[:, 1], minlength=int(size.prod())).reshape(size)
        self._sums = np.zeros(size + 1, dtype=np.int64)
        self._sums[1:, 1:] = inked.cumsum(axis=0).cumsum(axis=1)

    def covered(self, places: NDArray[np.float64]) -> NDArray[np.bool_]:
        """Return which places (k, 4) overlap a box, or have ink in cells that lie wholly in them.

        Others may have ink, too.
        """
        most = np.array(self._sums.shape) - 1
        low = np.clip(np.ceil(places[:, :2] - self._corner), 0, most).astype(np.int64)
        high = np.clip(np.floor(places[:, 2:] - self._corner), low, most).astype(np.int64)
        (x0, y0), (x1, y1) = low.T, high.T
        sums = self._sums
        found: NDArray[np.bool_] = sums[x1, y1] - sums[x0, y1] - sums[x1, y0] + sums[x0, y0] > 0
        left, feet, right, top = places.T[:, :, None]
        x2, y2, x3, y3 = self.boxes.T
        found |= ((x2 <= right) & (y2 <= top) & (x3 >= left) & (y3 >= feet)).any(axis=1)
        return found

    def inked(self, place: Box) -> bool:
        """Return whether a segment passes through a place."""
        return _runs_through(self.lines[spanned(self._spans, place)], place)

    def hit(self, start: Point, end: Point) -> bool:
        """Return whether a leader runs through a label, or too close by it."""
        return _meets(self._aired, start, end)

    def crossed(self, start: Point, end: Point) -> int:
        """Return how many segments a leader crosses."""
        (left, right), (low, high) = sorted((start[0], end[0])), sorted((start[1], end[1]))
        # Larger by what is nothing, or rounding would decide of a line that only reaches it.
        near = self.lines[spanned(self._spans, grown((left, low, right, high), 1e-6))]
        return int(np.count_nonzero(_crossings(near, start, end)))


@functools.lru_cache(maxsize=64)
def _around(prefer: float) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
    """Return how far and in which directions (n, 2) places are looked for, and what leaning there costs."""
    reach, turn = (each.ravel() for each in np.meshgrid(_REACHES, _TURNS, indexing="ij"))
    away = np.array([polar(prefer + each) for each in _TURNS] * len(_REACHES))
    found = reach, away, np.minimum(turn, 360 - turn) / 15.0
    for each in found:
        each.flags.writeable = False
    return found


def seat(
    rows: Sequence[str],
    anchor: Point,
    taken: Taken,
    zone: Box,
    height: float,
    prefer: float,
    clear: float,
    handicap: float,
    limit: float = math.inf,
) -> Seat | None:
    """Return the cheapest free place round an anchor: near, leaning little, its leader crossing little.

    `rows` are the label's lines, one below the other, and the place says where the first one starts. None
    where no place is free that costs at most `limit`.
    """
    # Measured once, since letters take longer to add up than a place takes to try.
    pitch, count = LINE_PITCH * height, len(rows)
    _, down, wide, up = boxed([text_box(row, (0.0, -i * pitch), height) for i, row in enumerate(rows)])
    reach, away, lean = _around(prefer)
    elbow = anchor + (clear + reach)[:, None] * away
    left = np.where(away[:, 0] >= -1e-12, elbow[:, 0] + 1.0, elbow[:, 0] - 1.0 - wide)
    first = elbow[:, 1] - height / 2.0 + (count - 1) * pitch / 2.0
    right, low, high = left + wide, first + down, first + up
    cost = handicap + reach + lean
    fits = (left >= zone[0]) & (low >= zone[1]) & (right <= zone[2]) & (high <= zone[3]) & (cost <= limit)
    tried = np.flatnonzero(fits)
    places = np.stack([left, low, right, high], axis=1)[tried] + np.array([-AIR, -AIR, AIR, AIR])
    free = ~taken.covered(places)
    known = dict(zip(tried[free].tolist(), places[free].tolist(), strict=True))
    best: tuple[float, int] | None = None
    # The cheapest first; of two that cost the same, the one that is tried first as they are listed.
    for i in sorted(known, key=cost.__getitem__):
        if best is not None and cost[i] > best[0]:
            break
        start, end = along(anchor, (clear, away[i])), _point(elbow[i])
        if taken.inked(known[i]) or taken.hit(start, end):
            continue
        whole = float(cost[i]) + 12.0 * taken.crossed(start, end)
        if whole <= limit and (best is None or (whole, i) < best):
            best = whole, i
    if best is None:
        return None
    whole, i = best
    start, end = along(anchor, (clear, away[i])), elbow[i]
    return whole, _point(start), _point(end), (float(left[i]), float(first[i]))


def _point(place: Sequence[float]) -> Point:
    return float(place[0]), float(place[1])


def _runs_through(lines: NDArray[np.float64], place: Box) -> bool:
    """Return whether a segment passes through a place."""
    start, run = lines[:, :2], lines[:, 2:] - lines[:, :2]
    run = np.where(np.abs(run) < 1e-12, 1e-12, run)
    first, second = (place[:2] - start) / run, (place[2:] - start) / run
    enter, leave = np.minimum(first, second).max(axis=1), np.maximum(first, second).min(axis=1)
    return bool(np.any((enter <= leave) & (leave >= 0.0) & (enter <= 1.0)))


def dotted(lines: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return points (k, 2) along segments, with their ends, at most half a millimetre apart."""
    counts = np.hypot(lines[:, 2] - lines[:, 0], lines[:, 3] - lines[:, 1]).astype(np.int64) * 2 + 2
    starts = np.repeat(np.cumsum(counts) - counts, counts)
    share = (np.arange(counts.sum()) - starts) / np.repeat(counts - 1, counts)
    rows = np.repeat(lines, counts, axis=0)
    points: NDArray[np.float64] = rows[:, :2] + share[:, None] * (rows[:, 2:] - rows[:, :2])
    return points


def overlaps(lines: NDArray[np.float64], box: Box) -> NDArray[np.bool_]:
    """Return which segments' own boxes overlap a box."""
    return spanned(spans_of(lines), box)


def spans_of(lines: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the lefts, feet, rights and tops (4, n) of segments' own boxes, to be asked of many boxes."""
    start, end = lines[:, :2].T, lines[:, 2:].T
    return np.concatenate([np.minimum(start, end), np.maximum(start, end)])


def spanned(spans: NDArray[np.float64], box: Box) -> NDArray[np.bool_]:
    """Return which of such boxes overlap a box."""
    left, low, right, top = spans
    kept: NDArray[np.bool_] = (left <= box[2]) & (right >= box[0]) & (low <= box[3]) & (top >= box[1])
    return kept


def widened(grid: NDArray[np.bool_], axis: int) -> NDArray[np.bool_]:
    """Return a grid whose set cells have grown by one to both sides along an axis."""
    wide = grid.copy()
    ahead, behind = [slice(None)] * 2, [slice(None)] * 2
    ahead[axis], behind[axis] = slice(1, None), slice(None, -1)
    wide[tuple(ahead)] |= grid[tuple(behind)]
    wide[tuple(behind)] |= grid[tuple(ahead)]
    return wide


def boxed(boxes: Sequence[Box]) -> Box:
    """Return the box round some boxes."""
    lefts, feet, rights, tops = zip(*boxes, strict=True)
    return min(lefts), min(feet), max(rights), max(tops)


def text_box(text: str, at: Point, height: float, anchor: float = 0.0, turn: float = 0.0) -> Box:
    """Return the upright box round a line of lettering, descenders and accents included."""
    run, up = polar(turn), polar(turn + 90.0)
    wide, top = width(text, height), height + accents(text, height)
    corners = [
        along(at, (u, run), (v, up))
        for u in (-anchor * wide, (1.0 - anchor) * wide)
        for v in (-0.3 * height, top)
    ]
    xs, ys = zip(*corners, strict=True)
    return min(xs), min(ys), max(xs), max(ys)


def grown(box: Box, by: float) -> Box:
    """Return a box that is larger by a length on every side."""
    return box[0] - by, box[1] - by, box[2] + by, box[3] + by


def inside(box: Box, zone: Box) -> bool:
    """Return whether a box lies in a zone."""
    return box[0] >= zone[0] and box[1] >= zone[1] and box[2] <= zone[2] and box[3] <= zone[3]


def _crossings(lines: NDArray[np.float64], start: Sequence[float], end: Sequence[float]) -> NDArray[np.bool_]:
    """Return which segments a leader crosses."""
    if not lines.size:
        return np.zeros(0, dtype=np.bool_)
    p, r = np.array(start), np.array(end) - np.array(start)
    q, s = lines[:, :2], lines[:, 2:] - lines[:, :2]
    cross = r[0] * s[:, 1] - r[1] * s[:, 0]
    safe = np.where(cross == 0.0, np.inf, cross)
    gap = q - p
    u = (gap[:, 0] * s[:, 1] - gap[:, 1] * s[:, 0]) / safe
    v = (gap[:, 0] * r[1] - gap[:, 1] * r[0]) / safe
    hit: NDArray[np.bool_] = (u > 0.0) & (u < 1.0) & (v >= 0.0) & (v <= 1.0) & (cross != 0.0)
    return hit


def _meets(boxes: NDArray[np.float64], start: Point, end: Point) -> bool:
    """Return whether a line runs through a box."""
    near = boxes[
        (boxes[:, 0] <= max(start[0], end[0]))
        & (boxes[:, 2] >= min(start[0], end[0]))
        & (boxes[:, 1] <= max(start[1], end[1]))
        & (boxes[:, 3] >= min(start[1], end[1]))
    ]
    if not near.size:
        return False
    run = np.array([end[0] - start[0] or 1e-12, end[1] - start[1] or 1e-12])
    first, second = (near[:, :2] - start) / run, (near[:, 2:] - start) / run
    enter, leave = np.minimum(first, second).max(axis=1), np.maximum(first, second).min(axis=1)
    return bool(np.any((enter <= leave) & (leave >= 0.0) & (enter <= 1.0)))


def clear_of(
    points: Sequence[Point], zone: Box, boxes: Sequence[Box], least: float
) -> Iterator[tuple[Point, Point]]:
    """Yield what of a line lies in a zone and in none of the boxes, in pieces longer than `least`, mm."""
    for start, end in itertools.pairwise(points):
        inside = line_in_box(start, end, zone[:2], zone[2:])
        if inside is not None and math.dist(*inside) > 0.0:
            yield from _without(*inside, boxes, least)


def _without(start: Point, end: Point, boxes: Sequence[Box], least: float) -> Iterator[tuple[Point, Point]]:
    """Return the parts of a segment that lie in none of the boxes."""
    whole = math.dist(start, end)
    (left, right), (low, high) = sorted((start[0], end[0])), sorted((start[1], end[1]))
    taken = sorted(
        (math.dist(start, hit[0]) / whole, math.dist(start, hit[1]) / whole)
        for box in boxes
        if box[0] <= right and box[2] >= left and box[1] <= high and box[3] >= low
        if (hit := line_in_box(start, end, box[:2], box[2:])) is not None
    )
    way, at = (end[0] - start[0], end[1] - start[1]), 0.0
    for enter, leave in (*taken, (1.0, 1.0)):
        if (enter - at) * whole > least:
            yield along(start, (at, way)), along(start, (enter, way))
        at = max(at, leave)
