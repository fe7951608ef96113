"""Paths cut off at a window: lines by their parameter, cubics at their roots, fills as polygons.

Nothing is flattened but a filled curve that crosses the window's edge: a cubic that is cut stays a cubic, the
very part of the curve that it was. Millimetres; the window's own edge belongs to it.
"""

import itertools
import math
from collections.abc import Iterator, Sequence

import numpy as np

from geometry.core.frozen import dataclass
from sheets.ink.placing import Box
from sheets.ink.records import Command, Commands, Point

_SAME = 1e-9
"""Points nearer than this are one, mm: what is left of a number after the arithmetic of a cut."""
_FILL_STEPS = 32
"""Chords that stand for a filled cubic where it is cut: under 0.01 mm off for arcs of 30 degrees."""
_MOST_HALVINGS = 40
"""A cubic halved as often is shorter than any number here can tell."""
_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(24)

_Controls = tuple[Point, Point, Point, Point]


@dataclass(frozen=True, slots=True)
class Piece:
    """What is left of a subpath: its commands, how long the subpath ran before it, mm, and if it is whole."""

    commands: Commands
    before: float
    whole: bool


def cut_strokes(commands: Commands, window: Box, joined: bool = True) -> list[Piece]:
    """Return the pieces of stroked commands inside a window, subpath by subpath, in their order.

    A closed subpath that is cut comes in open pieces; the one that runs through its start is one piece where
    `joined`, and two where not, as a dash pattern begins anew there.
    """
    return [piece for sub in subpaths(commands) for piece in _stroke(sub, window, joined)]


def cut_fill(commands: Commands, window: Box) -> Commands:
    """Return filled commands inside a window: subpaths wholly inside as they are, others as cut polygons."""
    kept: list[Command] = []
    for sub in subpaths(commands):
        low_high = _hull(sub)
        if _within(low_high, window):
            kept += sub
        elif not _beside(low_high, window):
            polygon = _cut_polygon(_polygon(sub), window)
            if len(polygon) > 2:
                kept += (("M", *polygon[0]), *(("L", *point) for point in polygon[1:]), ("Z",))
    return tuple(kept)


def subpaths(commands: Commands) -> Iterator[Commands]:
    """Yield each subpath by itself, from its move to the next one."""
    start = 0
    for i in range(1, len(commands) + 1):
        if i == len(commands) or commands[i][0] == "M":
            if i - start > 1:
                yield commands[start:i]
            start = i


def length_of(commands: Commands) -> float:
    """Return how long commands are, mm, closing lines included; cubics to a millionth, however they turn."""
    return sum(_length(controls) for sub in subpaths(commands) for controls in _steps(sub))


def ends_of(commands: Commands) -> list[Point]:
    """Return where one subpath starts and where each of its steps ends."""
    points = [(float(command[-2]), float(command[-1])) for command in commands if command[0] != "Z"]
    return [*points, points[0]] if commands[-1][0] == "Z" else points


def _stroke(sub: Commands, window: Box, joined: bool) -> list[Piece]:
    hull = _hull(sub)
    if _within(hull, window):
        return [Piece(sub, 0.0, True)]
    if _beside(hull, window):
        return []
    done: list[tuple[list[_Controls], float]] = []
    run, goes_on, uncut = 0.0, False, True
    for controls in _steps(sub):
        parts = _inside(controls, window)
        uncut = uncut and parts == [(0.0, 1.0)]
        for low, high in parts:
            part = _part(controls, low, high)
            if low <= 0.0 and goes_on:
                done[-1][0].append(part)
            else:
                done.append(([part], run + _length(_part(controls, 0.0, low)) if low > 0.0 else run))
        goes_on = bool(parts) and parts[-1][1] >= 1.0
        run += _length(controls)
    if uncut:
        return [Piece(sub, 0.0, True)]
    points = ends_of(sub)
    closed = math.dist(points[0], points[-1]) < _SAME
    if joined and closed and goes_on and len(done) > 1 and done[0][1] == 0.0:
        done[-1][0].extend(done.pop(0)[0])
    return [Piece(_commands(steps), before, False) for steps, before in done]


def _steps(sub: Commands) -> Iterator[_Controls]:
    """Yield every step of a subpath by its four points; a line's controls lie on its thirds."""
    start = at = (float(sub[0][1]), float(sub[0][2])) if sub[0][0] == "M" else (0.0, 0.0)
    for command in sub[1:]:
        if command[0] == "C":
            _, ax, ay, bx, by, x, y = command
            yield at, (ax, ay), (bx, by), (x, y)
            at = (x, y)
            continue
        end = start if command[0] == "Z" else (float(command[1]), float(command[2]))
        if math.dist(at, end) > 0.0:
            yield at, at, end, end
        at = end


def _straight(controls: _Controls) -> bool:
    """Tell whether a step is a line: its controls are its ends."""
    return controls[0] == controls[1] and controls[2] == controls[3]


def _inside(controls: _Controls, window: Box) -> list[tuple[float, float]]:
    """Return the parts of a step inside a window, as parameters from 0 to 1."""
    xs, ys = [point[0] for point in controls], [point[1] for point in controls]
    hull = (min(xs), min(ys), max(xs), max(ys))
    if _within(hull, window):
        return [(0.0, 1.0)]
    if _beside(hull, window):
        return []
    if _straight(controls):
        return _inside_line(controls[0], controls[3], window)
    stops = {0.0, 1.0}
    for values, edges in ((xs, (window[0], window[2])), (ys, (window[1], window[3]))):
        for edge in edges:
            stops.update(_crossings(values, edge))
    ordered = sorted(stops)
    kept: list[tuple[float, float]] = []
    for low, high in itertools.pairwise(ordered):
        x, y = _at(controls, (low + high) / 2.0)
        if high - low < 1e-12 or not (window[0] <= x <= window[2] and window[1] <= y <= window[3]):
            continue
        if kept and kept[-1][1] == low:
            kept[-1] = (kept[-1][0], high)
        else:
            kept.append((low, high))
    return kept


def _inside_line(start: Point, end: Point, window: Box) -> list[tuple[float, float]]:
    enter, leave = 0.0, 1.0
    for axis in (0, 1):
        run = end[axis] - start[axis]
        if run == 0.0:
            if not window[axis] <= start[axis] <= window[axis + 2]:
                return []
            continue
        first, second = sorted(((window[axis] - start[axis]) / run, (window[axis + 2] - start[axis]) / run))
        enter, leave = max(enter, first), min(leave, second)
    return [(enter, leave)] if enter < leave else []


def _crossings(values: Sequence[float], edge: float) -> list[float]:
    """Return where one coordinate of a cubic, given by its controls, meets an edge: parameters in (0, 1)."""
    if edge < min(values) or edge > max(values):
        return []
    p0, p1, p2, p3 = values
    cubic = (p3 - p0 + 3.0 * (p1 - p2), 3.0 * (p0 - 2.0 * p1 + p2), 3.0 * (p1 - p0), p0 - edge)
    found = []
    for root in _roots(cubic):
        # Two roots that touch come out as a pair a little beside the real line.
        if abs(root.imag) > 1e-5:
            continue
        t = float(root.real)
        for _ in range(3):
            slope = (3.0 * cubic[0] * t + 2.0 * cubic[1]) * t + cubic[2]
            if slope == 0.0:
                break
            t -= (((cubic[0] * t + cubic[1]) * t + cubic[2]) * t + cubic[3]) / slope
        if 0.0 < t < 1.0:
            found.append(t)
    return found


def _roots(polynomial: Sequence[float]) -> Iterator[complex]:
    """Yield the roots of a polynomial, its highest power first; none where it is a number alone."""
    big = max(map(abs, polynomial))
    # A leading number that is nothing beside the others would throw the other roots off.
    trimmed = list(polynomial)
    while trimmed and abs(trimmed[0]) <= 1e-13 * big:
        trimmed.pop(0)
    if len(trimmed) > 1:
        yield from (complex(root) for root in np.roots(trimmed))


def _at(controls: _Controls, t: float) -> Point:
    rest = 1.0 - t
    blend = (rest**3, 3.0 * rest * rest * t, 3.0 * rest * t * t, t**3)
    return (
        sum(b * point[0] for b, point in zip(blend, controls, strict=True)),
        sum(b * point[1] for b, point in zip(blend, controls, strict=True)),
    )


def _part(controls: _Controls, low: float, high: float) -> _Controls:
    """Return the part of a step between two parameters, its control lines divided at each."""
    if low <= 0.0 and high >= 1.0:
        return controls
    if _straight(controls):
        start, end = _mix(controls[0], controls[3], low), _mix(controls[0], controls[3], high)
        return start, start, end, end
    if high < 1.0:
        controls = _halves(controls, high)[0]
        low = low / high if high > 0.0 else 0.0
    return _halves(controls, low)[1] if low > 0.0 else controls


def _halves(controls: _Controls, t: float) -> tuple[_Controls, _Controls]:
    p0, p1, p2, p3 = controls
    a, b, c = _mix(p0, p1, t), _mix(p1, p2, t), _mix(p2, p3, t)
    d, e = _mix(a, b, t), _mix(b, c, t)
    middle = _mix(d, e, t)
    return (p0, a, d, middle), (middle, e, c, p3)


def _mix(start: Point, end: Point, t: float) -> Point:
    if t >= 1.0:
        return end
    return start[0] + t * (end[0] - start[0]), start[1] + t * (end[1] - start[1])


def _length(controls: _Controls) -> float:
    """Return how long a step is, from each place where a point that runs along it is slowest to the next.

    Where it all but stops and turns back, no fixed number of points would find the length.
    """
    if _straight(controls):
        return math.dist(controls[0], controls[3])
    p0, p1, p2, p3 = (np.array(point) for point in controls)
    # The slope is 3 (a + b t + c t^2), and its square has its extremes where this cubic is nothing.
    a, b, c = p1 - p0, 2.0 * (p0 - 2.0 * p1 + p2), p3 - p0 + 3.0 * (p1 - p2)
    turns = _roots((2.0 * c @ c, 3.0 * b @ c, b @ b + 2.0 * a @ c, a @ b))
    stops = sorted({0.0, 1.0, *(t.real for t in turns if 0.0 < t.real < 1.0)})
    return sum(_halved(_part(controls, low, high), _MOST_HALVINGS) for low, high in itertools.pairwise(stops))


def _halved(controls: _Controls, most: int) -> float:
    """Return how long a cubic is: halved until the halves measure what they do in one."""
    halves = _halves(controls, 0.5)
    fine = sum(map(_measured, halves))
    if most == 0 or abs(fine - _measured(controls)) <= _SAME:
        return fine
    return sum(_halved(half, most - 1) for half in halves)


def _measured(controls: _Controls) -> float:
    """Return how long a cubic is by Gauss and Legendre's rule; far off where it all but stops."""
    p0, p1, p2, p3 = (np.array(point) for point in controls)
    t = (_NODES[:, None] + 1.0) / 2.0
    slope = (1.0 - t) ** 2 * (p1 - p0) + 2.0 * (1.0 - t) * t * (p2 - p1) + t * t * (p3 - p2)
    return float(1.5 * (_WEIGHTS * np.hypot(slope[:, 0], slope[:, 1])).sum())


def _commands(steps: Sequence[_Controls]) -> Commands:
    out: list[Command] = [("M", *steps[0][0])]
    for controls in steps:
        if _straight(controls):
            out.append(("L", *controls[3]))
        else:
            out.append(("C", *controls[1], *controls[2], *controls[3]))
    return tuple(out)


def _hull(sub: Commands) -> Box:
    """Return the box round every point of a subpath, controls included, so that the ink lies within it."""
    numbers = [command[1:] for command in sub if command[0] != "Z"]
    xs = [x for each in numbers for x in each[::2]]
    ys = [y for each in numbers for y in each[1::2]]
    return min(xs), min(ys), max(xs), max(ys)


def _within(box: Box, window: Box) -> bool:
    return box[0] >= window[0] and box[1] >= window[1] and box[2] <= window[2] and box[3] <= window[3]


def _beside(box: Box, window: Box) -> bool:
    return box[0] > window[2] or box[1] > window[3] or box[2] < window[0] or box[3] < window[1]


def _polygon(sub: Commands) -> list[Point]:
    points: list[Point] = []
    for controls in _steps(sub):
        steps = 1 if _straight(controls) else _FILL_STEPS
        points += [_at(controls, i / steps) for i in range(steps)]
    return points


def _cut_polygon(points: list[Point], window: Box) -> list[Point]:
    """Return a polygon cut at each edge of a window in turn (the window is convex, so that this is exact)."""
    left, low, right, top = window
    for axis, edge, sign in ((0, left, 1.0), (0, right, -1.0), (1, low, 1.0), (1, top, -1.0)):
        kept: list[Point] = []
        for here, there in zip(points, [*points[1:], *points[:1]], strict=True):
            a, b = sign * (here[axis] - edge), sign * (there[axis] - edge)
            if a >= 0.0:
                kept.append(here)
            if (a > 0.0 > b) or (a < 0.0 < b):
                kept.append(_mix(here, there, a / (a - b)))
        points = kept
    return points
