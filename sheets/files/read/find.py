"""Features found among the pieces of a page as read, and measured part by part, in mm.

For each kind there is one look-up that leaves a few candidates and one measurement made on each of them;
the candidate that is off least is taken to be the feature.
"""

import math
from collections.abc import Callable, Iterator

import numpy as np

from sheets.files.read.pieces import GAP, Floats, Ints, ReadPage
from sheets.ink.records import Arc, Circle, Curve, Feature, Point, Segment, Slot

NEAR = 1.0
"""What is further off than this, in mm, is another thing: the feature counts as not found."""

_TRIED = 4


class _Sorted:
    """Points in order of x, so that those near one are found by halving."""

    def __init__(self, points: Floats) -> None:
        self._order = np.argsort(points[:, 0], kind="stable")
        self._x = points[self._order, 0]

    def near(self, x: float) -> Ints:
        """Return the indices of the points whose x is within NEAR of `x`."""
        low, high = np.searchsorted(self._x, (x - NEAR, x + NEAR))
        return self._order[low:high]


class Finder:
    """One page's ink by kind, each with the look-up that its features need."""

    def __init__(self, page: ReadPage) -> None:
        self._page = page
        self._start, self._end = page.corners[:, 0], page.corners[:, 3]
        first, last = page.first[:-1], page.first[1:]
        curves = np.add.reduceat(page.curved, first, dtype=int) if len(first) else np.empty(0, int)

        self._lines = np.flatnonzero(~page.curved)
        self._line_middles = _Sorted((self._start[self._lines] + self._end[self._lines]) / 2)

        self._bent = np.flatnonzero(page.curved)
        self._bent_starts = _Sorted(self._start[self._bent])
        breaks = ~page.curved | np.append(True, page.subpath[1:] != page.subpath[:-1])[: len(page.curved)]
        self._run = np.cumsum(breaks)

        self._rings = np.flatnonzero(page.closed & (curves > 0))
        if len(self._rings):
            low = np.minimum.reduceat(self._start, first)[self._rings]
            high = np.maximum.reduceat(self._start, first)[self._rings]
            self._ring_middles, self._ring_sizes = (low + high) / 2, high - low

        self._polylines = np.flatnonzero(curves == 0)
        self._polyline_ends = np.hstack(
            (self._start[first[self._polylines]], self._end[last[self._polylines] - 1])
        ).reshape(-1, 2, 2)
        self._polyline_points = (last - first)[self._polylines] + 1

    def measure(self, feature: Feature) -> dict[str, float]:
        """Return how far the best match is off, in mm, part by part; an infinite part where there is none."""
        match feature:
            case Circle():
                return self._circle(feature)
            case Segment():
                return self._segment(feature)
            case Arc():
                return self._arc(feature)
            case Slot():
                return self._slot(feature)
            case Curve():
                return self._curve(feature)

    def _segment(self, feature: Segment) -> dict[str, float]:
        near = self._lines[self._line_middles.near((feature.start[0] + feature.end[0]) / 2)]
        for lines in (near, self._lines):
            if len(lines):
                ends = np.stack((self._start[lines], self._end[lines]), axis=1)
                best = float(_pair_off(ends, feature.start, feature.end).min())
                if best <= NEAR or lines is self._lines:
                    return {"end": best}
        return {"": math.inf}

    def _circle(self, feature: Circle) -> dict[str, float]:
        diameter = feature.diameter

        def off(points: Floats) -> dict[str, float]:
            centre, fitted = _fit_circle(points)
            return {
                "centre": math.dist(centre, feature.centre),
                "diameter": abs(fitted - diameter),
                "outline": float(np.abs(_distances(points, feature.centre) - diameter / 2).max()),
            }

        return self._ring(feature.centre, (diameter, diameter), off)

    def _slot(self, feature: Slot) -> dict[str, float]:
        start, end = np.array(feature.start), np.array(feature.end)

        def off(points: Floats) -> dict[str, float]:
            distances = _distances_from_line(points, start, end)
            return {
                "width": float(abs(2 * distances.mean() - feature.width)),
                "outline": float(np.abs(distances - feature.width / 2).max()),
            }

        size = np.abs(end - start) + feature.width
        middle = (start + end) / 2
        return self._ring((middle[0], middle[1]), (size[0], size[1]), off)

    def _ring(
        self, middle: Point, size: Point, off: Callable[[Floats], dict[str, float]]
    ) -> dict[str, float]:
        """Return `off` of the closed, once-round outline of about that place and size that it likes best."""
        best = {"": math.inf}
        if not len(self._rings):
            return best
        unlike = np.abs(self._ring_middles - middle).sum(1) + np.abs(self._ring_sizes - size).sum(1)
        for chosen in np.argsort(unlike, kind="stable")[:_TRIED]:
            ring = self._rings[chosen]
            points = self._page.sample(self._page.first[ring], self._page.first[ring + 1])
            if abs(round(_turn(points, self._ring_middles[chosen]) / 360)) == 1:
                best = min(best, off(points), key=_worst)
            if _worst(best) <= GAP:
                break
        return best

    def _arc(self, feature: Arc) -> dict[str, float]:
        best = {"": math.inf}
        sweep = (feature.end - feature.start) % 360 or 360.0
        ends = (_on_circle(feature, feature.start), _on_circle(feature, feature.end))
        for (begin, finish), turn in ((ends, sweep), (ends[::-1], -sweep)):
            for start, stop in self._runs(begin, finish):
                points = self._page.sample(start, stop)
                radii = _distances(points, feature.centre)
                # Between the same two ends there are two ways round; only whole turns tell them apart.
                turns = abs(round((_turn(points, feature.centre) - turn) / 360))
                off = {
                    "radius": float(np.abs(radii - feature.diameter / 2).max()),
                    "end": max(math.dist(points[0], begin), math.dist(points[-1], finish)),
                    "sweep": turns * math.pi * feature.diameter,
                }
                best = min(best, off, key=_worst)
        if math.isinf(_worst(best)) and len(self._bent):
            best = {"end": self._nearest_run(*ends)}
        return best

    def _runs(self, begin: Point, finish: Point) -> Iterator[tuple[int, int]]:
        """Yield the unbroken runs of curves that begin and end within NEAR of those points."""
        starts = self._bent[self._bent_starts.near(begin[0])]
        starts = starts[np.abs(self._start[starts, 1] - begin[1]) <= NEAR]
        for start in starts:
            stop = start
            while True:
                if math.dist(self._end[stop], finish) <= NEAR:
                    yield int(start), int(stop) + 1
                stop += 1
                if stop == len(self._run) or self._run[stop] != self._run[start]:
                    break

    def _nearest_run(self, start: Point, end: Point) -> float:
        _, first = np.unique(self._run[self._bent], return_index=True)
        last = np.append(first[1:], len(self._bent)) - 1
        ends = np.stack((self._start[self._bent[first]], self._end[self._bent[last]]), axis=1)
        return float(_pair_off(ends, start, end).min())

    def _curve(self, feature: Curve) -> dict[str, float]:
        wanted = np.array(feature.points)
        same = np.flatnonzero(self._polyline_points == len(wanted))
        if not len(same):
            return {"": math.inf}
        off = _pair_off(self._polyline_ends[same], feature.points[0], feature.points[-1])
        best = math.inf
        for chosen in same[np.argsort(off, kind="stable")[:_TRIED]]:
            subpath = self._polylines[chosen]
            start, stop = self._page.first[subpath], self._page.first[subpath + 1]
            points = np.vstack((self._start[start:stop], self._end[stop - 1]))
            for way in (points, points[::-1]):
                best = min(best, float(np.hypot(*(way - wanted).T).max()))
        return {"point": best}


def _worst(parts: dict[str, float]) -> float:
    return max(parts.values())


def _on_circle(feature: Arc, degrees: float) -> Point:
    angle, radius = math.radians(degrees), feature.diameter / 2
    return (feature.centre[0] + radius * math.cos(angle), feature.centre[1] + radius * math.sin(angle))


def _distances(points: Floats, centre: Point) -> Floats:
    distances: Floats = np.hypot(points[:, 0] - centre[0], points[:, 1] - centre[1])
    return distances


def _distances_from_line(points: Floats, start: Floats, end: Floats) -> Floats:
    along = end - start
    length = float(along @ along)
    share = np.clip((points - start) @ along / length, 0, 1) if length else np.zeros(len(points))
    distances: Floats = np.hypot(*(points - start - share[:, None] * along).T)
    return distances


def _pair_off(ends: Floats, start: Point, end: Point) -> Floats:
    """Return how far each pair of ends (n, 2, 2) is from start and end, the further of both, either way."""
    forth = np.hypot(*np.moveaxis(ends - np.array((start, end)), -1, 0)).max(1)
    back = np.hypot(*np.moveaxis(ends - np.array((end, start)), -1, 0)).max(1)
    off: Floats = np.minimum(forth, back)
    return off


def _turn(points: Floats, centre: Point | Floats) -> float:
    """Return by how many degrees the points go round the centre, anticlockwise positive."""
    offsets = (points[:, 0] - centre[0]) + 1j * (points[:, 1] - centre[1])
    return float(np.degrees(np.angle(offsets[1:] * offsets[:-1].conj()).sum()))


def _fit_circle(points: Floats) -> tuple[Point, float]:
    """Return centre and diameter of the circle of least squares (Kåsa's: linear, exact on a true circle)."""
    middle = points.mean(0)
    x, y = (points - middle).T
    squares = x * x + y * y
    solved = np.linalg.lstsq(np.column_stack((x, y, np.ones(len(x)))), squares, rcond=None)[0]
    cx, cy = solved[:2] / 2
    return (float(middle[0] + cx), float(middle[1] + cy)), 2 * math.sqrt(solved[2] + cx * cx + cy * cy)
