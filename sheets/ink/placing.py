"""Where a label has room: free places round a point, and labels spread along an edge."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from fonts.drafting import LINE_PITCH, accents, width
from geometry.core.plane import along, polar
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


def seat(
    rows: Sequence[str],
    anchor: Point,
    lines: NDArray[np.float64],
    boxes: NDArray[np.float64],
    zone: Box,
    height: float,
    prefer: float,
    clear: float,
    handicap: float,
) -> Seat | None:
    """Return the cheapest free place round an anchor: near, leaning little, its leader crossing little.

    `rows` are the label's lines, one below the other, and the place says where the first one starts.
    `lines` (n, 4) and `boxes` (m, 4) are what is on the page; None where no place is free.
    """
    # Measured once, since letters take longer to add up than a place takes to try.
    pitch, count = LINE_PITCH * height, len(rows)
    _, down, wide, up = boxed([text_box(row, (0.0, -i * pitch), height) for i, row in enumerate(rows)])
    far = _REACHES[-1] + clear + wide
    lines = lines[overlaps(lines, (anchor[0] - far, anchor[1] - far, anchor[0] + far, anchor[1] + far))]
    best: Seat | None = None
    for reach in _REACHES:
        if best is not None and best[0] <= reach + handicap:
            break
        ring = []
        for turn in _TURNS:
            away = polar(prefer + turn)
            elbow = along(anchor, (clear + reach, away))
            left = elbow[0] + 1.0 if away[0] >= -1e-12 else elbow[0] - 1.0 - wide
            at = (left, elbow[1] - height / 2.0 + (count - 1) * pitch / 2.0)
            box = (left, at[1] + down, left + wide, at[1] + up)
            if inside(box, zone):
                lean = min(turn, 360 - turn) / 15.0
                ring.append((handicap + reach + lean, along(anchor, (clear, away)), elbow, at, box))
        around = clear + reach + wide + count * pitch + AIR
        near = lines[overlaps(lines, grown((*anchor, *anchor), around))]
        free = ~_touched(near, boxes, np.array([grown(each[4], AIR) for each in ring]).reshape(-1, 4))
        for i in np.flatnonzero(free):
            cost, start, elbow, at, _ = ring[i]
            if (best is not None and cost >= best[0]) or _leader_hits(boxes, start, elbow):
                continue
            cost += 8.0 * int(np.count_nonzero(_crossings(lines, start, elbow)))
            if best is None or cost < best[0]:
                best = (cost, start, elbow, at)
    return best


def _touched(
    lines: NDArray[np.float64], boxes: NDArray[np.float64], places: NDArray[np.float64]
) -> NDArray[np.bool_]:
    """Return which places (k, 4) a segment passes through or a box overlaps."""
    low, high = places[:, None, :2], places[:, None, 2:]
    hit: NDArray[np.bool_] = np.any(np.all((boxes[:, :2] < high) & (boxes[:, 2:] > low), axis=2), axis=1)
    start, run = lines[:, :2], lines[:, 2:] - lines[:, :2]
    run = np.where(run == 0.0, 1e-12, run)
    first, second = (low - start) / run, (high - start) / run
    enter, leave = np.minimum(first, second).max(axis=2), np.maximum(first, second).min(axis=2)
    hit |= np.any((enter <= leave) & (leave >= 0.0) & (enter <= 1.0), axis=1)
    return hit


def overlaps(lines: NDArray[np.float64], box: Box) -> NDArray[np.bool_]:
    """Return which segments' own boxes overlap a box."""
    kept: NDArray[np.bool_] = (
        (np.minimum(lines[:, 0], lines[:, 2]) <= box[2])
        & (np.maximum(lines[:, 0], lines[:, 2]) >= box[0])
        & (np.minimum(lines[:, 1], lines[:, 3]) <= box[3])
        & (np.maximum(lines[:, 1], lines[:, 3]) >= box[1])
    )
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


def _crossings(lines: NDArray[np.float64], start: Point, end: Point) -> NDArray[np.bool_]:
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


def _leader_hits(boxes: NDArray[np.float64], start: Point, end: Point) -> bool:
    """Return whether a leader runs through a label, or too close by it."""
    if not boxes.size:
        return False
    air = np.array([-1.0, -1.0, 1.0, 1.0]) * AIR / 2.0
    boxes = boxes + air
    run = np.array([end[0] - start[0] or 1e-12, end[1] - start[1] or 1e-12])
    first, second = (boxes[:, :2] - start) / run, (boxes[:, 2:] - start) / run
    enter, leave = np.minimum(first, second).max(axis=1), np.maximum(first, second).min(axis=1)
    return bool(np.any((enter <= leave) & (leave >= 0.0) & (enter <= 1.0)))
