"""A sheet being drawn: strokes gathered by style, features kept by name, labels put where there is room.

Strokes of one style on one layer become one Path, which is what keeps writing fast. Named features keep a
Path of their own, so that an editor shows them by name.
"""

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from fonts.drafting import LINE_PITCH, width
from fonts.faces import Face, run
from geometry.errors import FitError, Problem
from geometry.plane import along, polar
from sheets.ink.marks import THIN, commands_of, lettering, lettering_style, polyline
from sheets.ink.records import Command, Commands, Feature, Path, Point, Record, Style, Text

Box = tuple[float, float, float, float]
"""Left, bottom, right, top."""

_AIR = 1.0
"""Clear space kept round a label, mm (parallel lines ask for 0.7, remembered)."""


class Drawing:
    """Collects one page. Everything is in page millimetres."""

    def __init__(self) -> None:
        """Start with an empty page."""
        self._merged: dict[tuple[str, Style], list[Command]] = {}
        self._named: list[Path] = []
        self._segments: list[NDArray[np.float64]] = []
        self._texts: list[Text] = []
        self.features: list[Feature] = []
        self.labels: list[tuple[str, Box]] = []

    def draw(self, commands: Commands, style: Style, layer: str) -> None:
        """Ink commands that are no feature of their own."""
        self._merged.setdefault((layer, style), []).extend(commands)
        self._segments.append(flatten(commands))

    def show(self, feature: Feature, style: Style, layer: str) -> None:
        """Ink a named feature and promise it to the read-back."""
        commands = commands_of(feature)
        self.features.append(feature)
        self._named.append(Path(commands, style, layer, feature.name))
        self._segments.append(flatten(commands))

    def letter(
        self,
        text: str,
        at: Point,
        height: float,
        anchor: float = 0.0,
        turn: float = 0.0,
        layer: str = "lettering",
    ) -> None:
        """Letter a line of text whose baseline starts (anchor 0), centres (0.5) or ends (1) at `at`."""
        self._merged.setdefault((layer, lettering_style(height)), []).extend(
            lettering(text, at, height, anchor, turn)
        )
        self.labels.append((text, text_box(text, at, height, anchor, turn)))

    def text(self, text: str, at: Point, size: float, face: Face, anchor: float = 0.0) -> None:
        """Set a line of running text at a type size, mm, its baseline placed as `letter` places it."""
        wide = run(text, size, face)
        left = at[0] - anchor * wide
        self._texts.append(Text(text, (left, at[1]), size, face.file, wide))
        self.labels.append((text, (left, at[1] - 0.25 * size, left + wide, at[1] + face.cap_height * size)))

    def records(self) -> tuple[Record, ...]:
        """Return what was drawn: strokes merged by layer and style, the named features, running text."""
        merged = (Path(tuple(commands), style, layer) for (layer, style), commands in self._merged.items())
        return (*merged, *self._named, *self._texts)

    def obstacles(self) -> NDArray[np.float64]:
        """Return everything inked so far as (n, 4) segments, labels as their boxes' outlines."""
        boxes = [_box_segments(box) for _, box in self.labels]
        parts = [*self._segments, *boxes]
        return np.concatenate(parts) if parts else np.empty((0, 4))

    def free_box(self, size: tuple[float, float], zone: Box) -> Box | None:
        """Return the lowest, then leftmost, box of a size in the zone that nothing touches, or None.

        Searched on a 1 mm grid, with 2 mm of air all round.
        """
        taken = self._taken(zone)
        rows, columns = taken.shape
        high, wide = math.ceil(size[1]), math.ceil(size[0])
        if rows < high or columns < wide:
            return None
        total = np.zeros((rows + 1, columns + 1), dtype=np.int64)
        total[1:, 1:] = taken.cumsum(axis=0).cumsum(axis=1)
        inside = total[high:, wide:] - total[:-high, wide:] - total[high:, :-wide] + total[:-high, :-wide]
        free = np.argwhere(inside == 0)
        if not len(free):
            return None
        row, column = (int(index) for index in free[0])
        left, low = zone[0] + column, zone[1] + row
        return left, low, left + size[0], low + size[1]

    def _taken(self, zone: Box) -> NDArray[np.bool_]:
        """Return which cells of a 1 mm grid over the zone lie within 2 mm of ink or of a label's box."""
        grid = np.zeros((int(zone[3] - zone[1]), int(zone[2] - zone[0])), dtype=np.bool_)
        lines = self.obstacles()
        lines = lines[_overlaps(lines, zone)]
        counts = np.hypot(lines[:, 2] - lines[:, 0], lines[:, 3] - lines[:, 1]).astype(np.int64) * 2 + 2
        starts = np.repeat(np.cumsum(counts) - counts, counts)
        share = (np.arange(counts.sum()) - starts) / np.repeat(counts - 1, counts)
        rows = np.repeat(lines, counts, axis=0)
        points = rows[:, :2] + share[:, None] * (rows[:, 2:] - rows[:, :2])
        cells = np.floor(points - zone[:2]).astype(np.int64)
        cells = cells[np.all((cells >= 0) & (cells < grid.shape[::-1]), axis=1)]
        grid[cells[:, 1], cells[:, 0]] = True
        for _, box in self.labels:
            left, low, right, top = (max(0, math.floor(box[i] - zone[i % 2])) for i in range(4))
            if box[2] > zone[0] and box[3] > zone[1]:
                grid[low : top + 1, left : right + 1] = True
        for axis in (0, 1):
            for _ in range(2):
                grid = _widened(grid, axis)
        return grid

    def reserve(self, box: Box) -> None:
        """Keep later labels out of a box."""
        self.labels.append(("", box))

    def callout(
        self,
        text: str,
        anchors: Sequence[Point],
        zone: Box,
        height: float = 3.5,
        prefer: float = 45.0,
        clear: float = 0.0,
        layer: str = "lettering",
    ) -> None:
        """Letter a label near one of `anchors` where it covers nothing, its leader starting `clear` away.

        `prefer` is the direction, degrees, in which a label is tried first; an earlier anchor is preferred
        to a later one. Raise FitError where the page has no free place for it.
        """
        lines, boxes = self.obstacles(), self._boxes()
        tried = (
            _seat(text, anchor, lines, boxes, zone, height, prefer, clear, 4.0 * i)
            for i, anchor in enumerate(anchors)
        )
        best = min((seat for seat in tried if seat is not None), default=None)
        if best is None:
            raise FitError(Problem("paper.size", f"no room for the label {text!r}; use a larger paper"))
        _, start, elbow, at = best
        self.draw(polyline((start, elbow)), THIN, layer)
        self.letter(text, at, height, layer=layer)

    def column(
        self,
        labels: Sequence[tuple[str, Point]],
        x: float,
        zone: Box,
        height: float = 3.5,
        layer: str = "lettering",
    ) -> None:
        """Letter labels one above the other at `x`, each as near its point as its neighbours let it.

        The text runs away from the points, to the right of `x` where they lie to its left. Raise FitError
        where the column leaves the zone.
        """
        pitch = LINE_PITCH * height
        ordered = sorted(labels, key=lambda label: label[1][1])
        at = _spread([point[1] for _, point in ordered], pitch, zone[1] + pitch, zone[3] - pitch)
        for (text, point), y in zip(ordered, at, strict=True):
            way = 1.0 if x > point[0] else -1.0
            box = text_box(text, (x, y - height / 2.0), height, 0.0 if way > 0.0 else 1.0)
            if not _inside(box, zone):
                raise FitError(Problem("paper.size", f"no room for the label {text!r}; use a larger paper"))
            elbow = (x - way * 4.0, y)
            self.draw(polyline((point, elbow, (x - way * 1.0, y))), THIN, layer)
            self.letter(text, (x, y - height / 2.0), height, 0.0 if way > 0.0 else 1.0, layer=layer)

    def _boxes(self) -> NDArray[np.float64]:
        return np.array([box for _, box in self.labels], dtype=np.float64).reshape(-1, 4)


def _spread(wanted: Sequence[float], pitch: float, low: float, high: float) -> list[float]:
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


_Seat = tuple[float, Point, Point, Point]
"""A place for a label: its cost, where its leader starts and ends, and where its baseline starts."""

_REACHES = (6.0, 9.0, 13.0, 18.0, 24.0, 32.0, 42.0, 54.0)


def _seat(
    text: str,
    anchor: Point,
    lines: NDArray[np.float64],
    boxes: NDArray[np.float64],
    zone: Box,
    height: float,
    prefer: float,
    clear: float,
    handicap: float,
) -> _Seat | None:
    """Return the cheapest free place round an anchor: near, leaning little, its leader crossing little."""
    # Measured once, since letters take longer to add up than a place takes to try.
    _, down, wide, up = text_box(text, (0.0, 0.0), height)
    far = _REACHES[-1] + clear + wide
    near = _overlaps(lines, (anchor[0] - far, anchor[1] - far, anchor[0] + far, anchor[1] + far))
    lines = lines[near]
    best: _Seat | None = None
    for reach in _REACHES:
        if best is not None and best[0] <= reach + handicap:
            break
        for turn in range(0, 360, 15):
            away = prefer + turn
            cost = handicap + reach + min(turn, 360 - turn) / 15.0
            if best is not None and cost >= best[0]:
                continue
            start, elbow = along(anchor, (clear, polar(away))), along(anchor, (clear + reach, polar(away)))
            left = elbow[0] + 1.0 if math.cos(math.radians(away)) >= 0.0 else elbow[0] - 1.0 - wide
            at = (left, elbow[1] - height / 2.0)
            box = (left, at[1] + down, left + wide, at[1] + up)
            if not _inside(box, zone) or _touches(lines, boxes, _grown(box, _AIR)):
                continue
            if _leader_hits(boxes, start, elbow):
                continue
            cost += 8.0 * int(np.count_nonzero(_crossings(lines, start, elbow)))
            if best is None or cost < best[0]:
                best = (cost, start, elbow, at)
    return best


def _overlaps(lines: NDArray[np.float64], box: Box) -> NDArray[np.bool_]:
    """Return which segments' own boxes overlap a box."""
    kept: NDArray[np.bool_] = (
        (np.minimum(lines[:, 0], lines[:, 2]) <= box[2])
        & (np.maximum(lines[:, 0], lines[:, 2]) >= box[0])
        & (np.minimum(lines[:, 1], lines[:, 3]) <= box[3])
        & (np.maximum(lines[:, 1], lines[:, 3]) >= box[1])
    )
    return kept


def _widened(grid: NDArray[np.bool_], axis: int) -> NDArray[np.bool_]:
    """Return a grid whose set cells have grown by one to both sides along an axis."""
    wide = grid.copy()
    ahead, behind = [slice(None)] * 2, [slice(None)] * 2
    ahead[axis], behind[axis] = slice(1, None), slice(None, -1)
    wide[tuple(ahead)] |= grid[tuple(behind)]
    wide[tuple(behind)] |= grid[tuple(ahead)]
    return wide


def text_box(text: str, at: Point, height: float, anchor: float = 0.0, turn: float = 0.0) -> Box:
    """Return the upright box round a line of lettering, descenders included."""
    run, up = polar(turn), polar(turn + 90.0)
    wide = width(text, height)
    corners = [
        along(at, (u, run), (v, up))
        for u in (-anchor * wide, (1.0 - anchor) * wide)
        for v in (-0.3 * height, height)
    ]
    xs, ys = zip(*corners, strict=True)
    return min(xs), min(ys), max(xs), max(ys)


def flatten(commands: Commands) -> NDArray[np.float64]:
    """Return commands as straight segments (n, 4); a cubic of 30 degrees or less counts as two chords."""
    rows: list[tuple[float, float, float, float]] = []
    x = y = sx = sy = 0.0
    for command in commands:
        match command:
            case ("M", px, py):
                sx, sy = px, py
            case ("L", px, py):
                rows.append((x, y, px, py))
            case ("C", ax, ay, bx, by, px, py):
                mx, my = (x + 3 * ax + 3 * bx + px) / 8, (y + 3 * ay + 3 * by + py) / 8
                rows += [(x, y, mx, my), (mx, my, px, py)]
            case _:
                px, py = sx, sy
                rows.append((x, y, px, py))
        x, y = px, py
    return np.array(rows, dtype=np.float64).reshape(-1, 4)


def _box_segments(box: Box) -> NDArray[np.float64]:
    left, low, right, top = box
    return np.array(
        [
            (left, low, right, low),
            (right, low, right, top),
            (right, top, left, top),
            (left, top, left, low),
        ]
    )


def _grown(box: Box, by: float) -> Box:
    return box[0] - by, box[1] - by, box[2] + by, box[3] + by


def _inside(box: Box, zone: Box) -> bool:
    return box[0] >= zone[0] and box[1] >= zone[1] and box[2] <= zone[2] and box[3] <= zone[3]


def _touches(lines: NDArray[np.float64], boxes: NDArray[np.float64], box: Box) -> bool:
    """Return whether any segment passes through the box, or any other box overlaps it."""
    if boxes.size:
        apart = (
            (boxes[:, 0] >= box[2])
            | (boxes[:, 2] <= box[0])
            | (boxes[:, 1] >= box[3])
            | (boxes[:, 3] <= box[1])
        )
        if not apart.all():
            return True
    if not lines.size:
        return False
    start, run = lines[:, :2], lines[:, 2:] - lines[:, :2]
    run = np.where(run == 0.0, 1e-12, run)
    first = (np.array(box[:2]) - start) / run
    second = (np.array(box[2:]) - start) / run
    enter = np.minimum(first, second).max(axis=1)
    leave = np.maximum(first, second).min(axis=1)
    return bool(np.any((enter <= leave) & (leave >= 0.0) & (enter <= 1.0)))


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
    air = np.array([-1.0, -1.0, 1.0, 1.0]) * _AIR / 2.0
    boxes = boxes + air
    run = np.array([end[0] - start[0] or 1e-12, end[1] - start[1] or 1e-12])
    first, second = (boxes[:, :2] - start) / run, (boxes[:, 2:] - start) / run
    enter, leave = np.minimum(first, second).max(axis=1), np.maximum(first, second).min(axis=1)
    return bool(np.any((enter <= leave) & (leave >= 0.0) & (enter <= 1.0)))


def sheet_bounds(records: Sequence[Record]) -> Box:
    """Return the box round all ink, stroke widths included; curves count as far as they really reach."""
    low, high = np.full(2, np.inf), np.full(2, -np.inf)
    bulging: list[tuple[float, Commands]] = []
    for path in records:
        if isinstance(path, Text):
            x, y = path.at
            low = np.minimum(low, (x, y - 0.25 * path.size))
            high = np.maximum(high, (x + path.width, y + 0.8 * path.size))
            continue
        ends = np.array([command[-2:] for command in path.commands if command[0] != "Z"], dtype=np.float64)
        if not ends.size:
            continue
        half = path.style.width / 2.0
        low = np.minimum(low, ends.min(axis=0) - half)
        high = np.maximum(high, ends.max(axis=0) + half)
        if any(command[0] == "C" for command in path.commands):
            bulging.append((half, path.commands))
    for half, commands in bulging:
        curves = _cubics(commands)
        # Control points bound a curve, so few curves need to be followed.
        beyond = (curves.min(axis=1) - half < low) | (curves.max(axis=1) + half > high)
        reached = _along_cubics(curves[beyond.any(axis=1)])
        if reached.size:
            low = np.minimum(low, reached.min(axis=0) - half)
            high = np.maximum(high, reached.max(axis=0) + half)
    return float(low[0]), float(low[1]), float(high[0]), float(high[1])


def _cubics(commands: Commands) -> NDArray[np.float64]:
    """Return the four points of each cubic, (n, 4, 2)."""
    rows: list[tuple[float, ...]] = []
    x = y = 0.0
    for command in commands:
        if command[0] == "C":
            rows.append((x, y, *command[1:]))
        if command[0] != "Z":
            x, y = command[-2:]
    return np.array(rows, dtype=np.float64).reshape(-1, 4, 2)


def _along_cubics(curves: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return points (n, 2) on cubics where they turn back in x or in y, with their ends."""
    p0, p1, p2, p3 = (curves[:, i] for i in range(4))
    a, b, c = p3 - p0 + 3.0 * (p1 - p2), 2.0 * (p0 - 2.0 * p1 + p2), p1 - p0
    # The derivative is 3 (a t^2 + b t + c); in this form neither root breaks down where a vanishes.
    root = np.sqrt(np.maximum(b * b - 4.0 * a * c, 0.0))
    q = -(b + np.where(b < 0.0, -root, root)) / 2.0
    with np.errstate(divide="ignore", invalid="ignore"):
        turns = np.concatenate([q / a, c / q], axis=1)
    at = np.clip(np.nan_to_num(turns, posinf=1.0, neginf=0.0), 0.0, 1.0)[..., None]
    p0, p1, p2, p3 = (each[:, None] for each in (p0, p1, p2, p3))
    rest = 1.0 - at
    points = rest**3 * p0 + 3.0 * rest**2 * at * p1 + 3.0 * rest * at**2 * p2 + at**3 * p3
    points = np.concatenate([points, p0, p3], axis=1)
    reached: NDArray[np.float64] = points.reshape(-1, 2)
    return reached
