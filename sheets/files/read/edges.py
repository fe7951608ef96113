"""What a machine's file draws, as lines and arcs, measured against what its sheet is to be cut by.

It shares no code with the writers. Every feature that a machine shall cut, drill or mark must be there, as
edges that run along it under its operation, and nothing else may be.
"""

import itertools
import math
import pathlib
from collections.abc import Callable, Iterable, Sequence

from geometry.core.errors import Problem, ReadBackError, why
from geometry.core.frozen import dataclass
from geometry.core.say import say
from sheets.ink.machining import operations
from sheets.ink.records import Arc, Circle, Curve, Feature, Point, Segment, Sheet, Slot

LIMIT = 0.001
"""The largest deviation that is let through, mm: a machine follows it without a printer's play."""


@dataclass(frozen=True, slots=True)
class Edge:
    """One line or arc of an operation: ends, an arc's centre and radius; a circle has no ends."""

    operation: str
    start: Point | None
    end: Point | None
    centre: Point | None = None
    radius: float = 0.0


def judged(
    file: pathlib.Path, sheet: Sheet, read: Callable[[pathlib.Path], list[Edge]], origin: Point | None = None
) -> float:
    """Return the largest deviation in mm of a file from its sheet; raise ReadBackError for a miss.

    `origin` is where the file's zero lies on the page, the axle if it is left out.
    """
    try:
        edges = read(file)
    except (ValueError, IndexError, StopIteration) as error:
        raise ReadBackError(Problem(file.name, why(error) or say("readback.dxf_ends_early"))) from error
    cells: dict[Point, list[int]] = {}
    for index, edge in enumerate(edges):
        cells.setdefault(_cell(edge), []).append(index)
    worst, problems, used = 0.0, [], set()
    for operation, features in operations(sheet).items():
        for feature in features:
            for wanted in _wanted(feature, operation, sheet.axle if origin is None else origin):
                x, y = _cell(wanted)
                near = [i for dx in (-1, 0, 1) for dy in (-1, 0, 1) for i in cells.get((x + dx, y + dy), ())]
                off, index = _nearest(wanted, edges, near)
                if not off <= LIMIT:
                    # How far the nearest is off is told, wherever it lies.
                    off, index = _nearest(wanted, edges, range(len(edges)))
                worst = max(worst, off)
                used.add(index)
                if not off <= LIMIT:
                    what = say("readback.off_limit", off=off, limit=LIMIT)
                    problems.append(Problem(f"{file.name}, {feature.name}", what))
    stray = len(edges) - len(used)
    if stray and not problems:
        problems.append(Problem(file.name, say("readback.stray_lines", count=stray)))
    if problems:
        raise ReadBackError(*problems)
    return worst


def _cell(edge: Edge) -> Point:
    """Return the square millimetre in which an edge's middle lies, an arc's centre; a sheet has thousands."""
    if edge.start is None or edge.end is None or edge.centre is not None:
        x, y = edge.centre or (0.0, 0.0)
    else:
        x, y = ((one + two) / 2.0 for one, two in zip(edge.start, edge.end, strict=True))
    return math.floor(x), math.floor(y)


def _nearest(wanted: Edge, edges: Sequence[Edge], among: Iterable[int]) -> tuple[float, int]:
    """Return how far the nearest of some edges is off, mm, and its index; infinity for none."""
    return min(((_apart(wanted, edges[i]), i) for i in among), default=(math.inf, -1))


def on_circle(centre: Point, radius: float, turn: float) -> Point:
    """Return the point of a circle at an angle in radians."""
    return centre[0] + radius * math.cos(turn), centre[1] + radius * math.sin(turn)


def _wanted(feature: Feature, operation: str, origin: Point) -> list[Edge]:
    """Return the lines and arcs that a feature stands for, arcs anticlockwise."""

    def at(point: Point) -> Point:
        return point[0] - origin[0], point[1] - origin[1]

    match feature:
        case Circle():
            return [Edge(operation, None, None, at(feature.centre), feature.diameter / 2.0)]
        case Segment():
            return [Edge(operation, at(feature.start), at(feature.end))]
        case Arc():
            centre, radius = at(feature.centre), feature.diameter / 2.0
            first, second = (
                on_circle(centre, radius, math.radians(each)) for each in (feature.start, feature.end)
            )
            return [Edge(operation, first, second, centre, radius)]
        case Curve():
            points = [at(point) for point in feature.points]
            return [Edge(operation, one, two) for one, two in itertools.pairwise(points)]
        case Slot():
            turn = math.atan2(feature.end[1] - feature.start[1], feature.end[0] - feature.start[0])
            half, quarter = feature.width / 2.0, math.pi / 2.0
            a, b = (on_circle(at(feature.start), half, turn + way * quarter) for way in (-1, 1))
            c, d = (on_circle(at(feature.end), half, turn + way * quarter) for way in (-1, 1))
            return [
                Edge(operation, a, c),
                Edge(operation, d, b),
                Edge(operation, c, d, at(feature.end), half),
                Edge(operation, b, a, at(feature.start), half),
            ]


def _apart(wanted: Edge, edge: Edge) -> float:
    """Return how far an edge is from the wanted one, mm; infinite where it is another thing."""
    if wanted.operation != edge.operation or (wanted.centre is None) != (edge.centre is None):
        return math.inf
    off = 0.0
    if wanted.centre is not None and edge.centre is not None:
        off = max(math.dist(wanted.centre, edge.centre), abs(wanted.radius - edge.radius))
    if wanted.start is None or wanted.end is None or edge.start is None or edge.end is None:
        return off if wanted.start is edge.start else math.inf
    ahead = max(math.dist(wanted.start, edge.start), math.dist(wanted.end, edge.end))
    if wanted.centre is None:
        ahead = min(ahead, max(math.dist(wanted.start, edge.end), math.dist(wanted.end, edge.start)))
    return max(off, ahead)
