"""A DXF read back as plain text, by group codes alone: what it draws, measured against its sheet.

It shares no code with the writer and no library. Every feature of the layers that a DXF has must be there,
as entities that run along it, and nothing else may be.
"""

import itertools
import math
import pathlib
from dataclasses import dataclass

from geometry.core.errors import Problem, ReadBackError, RefusedError, why
from geometry.core.say import say
from sheets.ink.records import Arc, Circle, Curve, Feature, Point, Segment, Sheet, Slot

LIMIT = 0.001
"""The largest deviation that is let through in a DXF, mm: a machine follows it without a printer's play."""
_MM = "4"
_NAMES = {"cut": "CUT", "drill": "DRILL", "mark": "MARK"}


@dataclass(frozen=True, slots=True)
class Edge:
    """One line or arc of a DXF on a layer: ends, an arc's centre and radius; a circle has no ends."""

    layer: str
    start: Point | None
    end: Point | None
    centre: Point | None = None
    radius: float = 0.0


def read_dxf(file: pathlib.Path) -> list[Edge]:
    """Return every line, arc and circle of a DXF in mm; raise ValueError for one that is not sound."""
    lines = file.read_text(encoding="utf-8").splitlines()
    if len(lines) % 2:
        raise RefusedError(say("readback.dxf_no_pairs"))
    pairs = [(int(code), value.strip()) for code, value in zip(lines[::2], lines[1::2], strict=True)]
    if (9, "$INSUNITS") not in pairs or pairs[pairs.index((9, "$INSUNITS")) + 1] != (70, _MM):
        raise RefusedError(say("readback.dxf_no_mm"))
    if (2, "ENTITIES") not in pairs or pairs[-1] != (0, "EOF"):
        raise RefusedError(say("readback.dxf_short"))
    at = pairs.index((2, "ENTITIES")) + 1
    found: list[Edge] = []
    while pairs[at] != (0, "ENDSEC"):
        kind = pairs[at][1]
        stop = next(i for i in range(at + 1, len(pairs)) if pairs[i][0] == 0)
        found += _edges(kind, pairs[at + 1 : stop])
        at = stop
    return found


def verify_dxf(file: pathlib.Path, sheet: Sheet) -> float:
    """Return the largest deviation in mm of the DXF `file` from its sheet; raise ReadBackError for a miss."""
    try:
        edges = read_dxf(file)
    except (ValueError, IndexError, StopIteration) as error:
        raise ReadBackError(Problem(file.name, why(error) or say("readback.dxf_ends_early"))) from error
    layers = {path.name: path.layer for path in sheet.paths if path.name}
    worst, problems, used = 0.0, [], set()
    for feature in sheet.features:
        layer = _NAMES.get(layers.get(feature.name, ""))
        if layer is None:
            continue
        for wanted in _wanted(feature, layer, sheet.axle):
            off, index = min(
                ((_apart(wanted, edge), i) for i, edge in enumerate(edges)), default=(math.inf, -1)
            )
            worst = max(worst, off)
            used.add(index)
            if not off <= LIMIT:
                problems.append(
                    Problem(f"{file.name}, {feature.name}", say("readback.off_limit", off=off, limit=LIMIT))
                )
    stray = len(edges) - len(used)
    if stray and not problems:
        problems.append(Problem(file.name, say("readback.stray_lines", count=stray)))
    if problems:
        raise ReadBackError(*problems)
    return worst


def _edges(kind: str, pairs: list[tuple[int, str]]) -> list[Edge]:
    first = dict(reversed(pairs))
    layer = first[8]

    def number(code: int) -> float:
        return float(first.get(code, "0"))

    if kind == "CIRCLE":
        return [Edge(layer, None, None, (number(10), number(20)), number(40))]
    if kind == "LINE":
        return [Edge(layer, (number(10), number(20)), (number(11), number(21)))]
    if kind == "ARC":
        centre, radius = (number(10), number(20)), number(40)
        start, end = (_on(centre, radius, math.radians(number(code))) for code in (50, 51))
        return [Edge(layer, start, end, centre, radius)]
    if kind == "LWPOLYLINE":
        return _polyline(layer, pairs, int(number(70)) & 1 == 1)
    raise RefusedError(say("readback.dxf_kind", kind=kind))


def _polyline(layer: str, pairs: list[tuple[int, str]], closed: bool) -> list[Edge]:
    corners: list[list[float]] = []
    for code, value in pairs:
        if code == 10:
            corners.append([float(value), 0.0, 0.0])
        elif code == 20 and corners:
            corners[-1][1] = float(value)
        elif code == 42 and corners:
            corners[-1][2] = float(value)
    edges = []
    for i in range(len(corners) if closed else len(corners) - 1):
        (x0, y0, bulge), (x1, y1, _) = corners[i], corners[(i + 1) % len(corners)]
        if bulge == 0.0:
            edges.append(Edge(layer, (x0, y0), (x1, y1)))
            continue
        # The bulge is the tangent of a quarter of the sweep; the centre stands off the chord's middle.
        aside = (1.0 - bulge * bulge) / (4.0 * bulge)
        centre = ((x0 + x1) / 2.0 - (y1 - y0) * aside, (y0 + y1) / 2.0 + (x1 - x0) * aside)
        first, second = ((x0, y0), (x1, y1)) if bulge > 0.0 else ((x1, y1), (x0, y0))
        edges.append(Edge(layer, first, second, centre, math.dist(centre, (x0, y0))))
    return edges


def _on(centre: Point, radius: float, turn: float) -> Point:
    return centre[0] + radius * math.cos(turn), centre[1] + radius * math.sin(turn)


def _wanted(feature: Feature, layer: str, origin: Point) -> list[Edge]:
    """Return the lines and arcs that a feature stands for, arcs anticlockwise."""

    def at(point: Point) -> Point:
        return point[0] - origin[0], point[1] - origin[1]

    match feature:
        case Circle():
            return [Edge(layer, None, None, at(feature.centre), feature.diameter / 2.0)]
        case Segment():
            return [Edge(layer, at(feature.start), at(feature.end))]
        case Arc():
            centre, radius = at(feature.centre), feature.diameter / 2.0
            first, second = (_on(centre, radius, math.radians(each)) for each in (feature.start, feature.end))
            return [Edge(layer, first, second, centre, radius)]
        case Curve():
            points = [at(point) for point in feature.points]
            return [Edge(layer, one, two) for one, two in itertools.pairwise(points)]
        case Slot():
            turn = math.atan2(feature.end[1] - feature.start[1], feature.end[0] - feature.start[0])
            half, quarter = feature.width / 2.0, math.pi / 2.0
            a, b = (_on(at(feature.start), half, turn + way * quarter) for way in (-1, 1))
            c, d = (_on(at(feature.end), half, turn + way * quarter) for way in (-1, 1))
            return [
                Edge(layer, a, c),
                Edge(layer, d, b),
                Edge(layer, c, d, at(feature.end), half),
                Edge(layer, b, a, at(feature.start), half),
            ]


def _apart(wanted: Edge, edge: Edge) -> float:
    """Return how far an edge is from the wanted one, mm; infinite where it is of another kind or layer."""
    if wanted.layer != edge.layer or (wanted.centre is None) != (edge.centre is None):
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
