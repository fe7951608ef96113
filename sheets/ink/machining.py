"""What a machine does with a full-size sheet: which of its lines it cuts, drills and marks, and nothing else.

What a line is for is told by its layer and its weight, as on paper: bold is cut or punched, and only what
closes may be cut. A line that a person cuts or scribes along by hand is marked. A cope is cut all the same:
it ends on the outline of its strip. A fixture's pattern has layers of its own for the three.
"""

import itertools
import math
from collections.abc import Iterator, Sequence

from geometry.core.plane import along, polar
from sheets.ink.marks import BOLDEST, WIDE
from sheets.ink.records import Arc, Circle, Curve, Feature, Point, Segment, Sheet, Slot

OPERATIONS = ("cut", "drill", "mark")
Vertex = tuple[float, float, float]
"""X, Y, and the bulge of what leaves there: the tangent of a quarter of its sweep."""
_Piece = tuple[Feature, list[Vertex], Point]
"""An open line: its vertices but the last, and where it ends."""
_SAME = 1e-6
_ON = 0.001
"""How near a cope's end lies to its strip's edge, mm; both are worked out apart."""
_LAID = ("tubes", "mount", "dropout", "datum")
"""Layers of what a sheet is laid by."""


def operations(sheet: Sheet) -> dict[str, tuple[Feature, ...]]:
    """Return a sheet's features by what a machine does with them; nothing where there is nothing to cut.

    A part of a drawing that is larger than its paper has nothing: its lines end where the paper does.
    """
    if not sheet.full_size or sheet.tile is not None:
        return {}
    found: dict[str, list[Feature]] = {name: [] for name in OPERATIONS}
    maybe: list[Feature] = []
    edges: list[Feature] = []
    styles = {path.name: path for path in sheet.paths if path.name}
    for feature in sheet.features:
        layer, width = styles[feature.name].layer, styles[feature.name].style.width
        if sheet.kind == "plate":
            if layer in found:
                found[layer].append(feature)
        elif layer == "strip":
            found["cut" if width == BOLDEST else "mark"].append(feature)
            edges += [feature] if width == BOLDEST else []
        elif layer in ("cut", "drill") and width == BOLDEST:
            if isinstance(feature, Circle | Slot):
                found[layer].append(feature)
            else:
                maybe.append(feature)
        elif layer in _LAID and width >= WIDE:
            (maybe if layer == "dropout" else found["mark"]).append(feature)
    punched = [each.centre for kind in ("cut", "drill") for each in found[kind] if isinstance(each, Circle)]
    for feature in maybe:
        drop = styles[feature.name].layer == "dropout"
        cut = _holds_all(feature, found["drill"]) if drop else _closes(feature, edges, punched)
        found["cut" if cut else "mark"].append(feature)
    if not found["cut"] and not found["drill"]:
        return {}
    return {name: tuple(features) for name, features in found.items() if features}


def _closes(feature: Feature, edges: Sequence[Feature], punched: Sequence[Point]) -> bool:
    """Tell whether a line may be cut: it closes, and no hole would fall out with it, or ends on the edges."""
    if not isinstance(feature, Curve):
        return False
    if math.dist(feature.points[0], feature.points[-1]) <= _SAME:
        return not any(_within(each, feature.points) for each in punched)
    first, last = (_edge_at(end, edges) for end in (feature.points[0], feature.points[-1]))
    return first is not None and last is not None and first != last


def _holds_all(feature: Feature, holes: Sequence[Feature]) -> bool:
    """Tell whether an outline has metal for all holes: it is cut then, and else only laid on the metal."""
    centres = [each.centre for each in holes if isinstance(each, Circle)]
    return isinstance(feature, Curve) and bool(centres) and all(_within(c, feature.points) for c in centres)


def _within(point: Point, ring: Sequence[Point]) -> bool:
    """Tell whether a point lies within a closed line, by the crossings of a ray (even-odd rule)."""
    x, y = point
    return (
        sum(
            (y0 > y) != (y1 > y) and x < x0 + (y - y0) / (y1 - y0) * (x1 - x0)
            for (x0, y0), (x1, y1) in itertools.pairwise(ring)
        )
        % 2
        == 1
    )


def _edge_at(point: Point, edges: Sequence[Feature]) -> Feature | None:
    """Return the straight edge that a point lies on."""
    for each in edges:
        if isinstance(each, Curve) and len(each.points) == 2:
            one, two = each.points
            if math.dist(one, point) + math.dist(point, two) <= math.dist(one, two) + _ON:
                return each
    return None


def joined(features: Sequence[Feature]) -> tuple[list[list[Vertex]], list[Feature]]:
    """Return closed loops of the lines, arcs, curves and slots that follow each other, and what is left."""
    loops: list[list[Vertex]] = []
    rest: list[Feature] = []
    pieces: list[_Piece] = []
    for feature in features:
        if isinstance(feature, Slot):
            loops.append(_slot(feature))
        elif isinstance(feature, Circle):
            rest.append(feature)
        else:
            pieces.append(_open(feature))
    while pieces:
        feature, loop, end = pieces.pop(0)
        chain = [feature]
        while math.dist(loop[0][:2], end) > _SAME:
            follower = next((each for each in pieces if _meets(each, end)), None)
            if follower is None:
                break
            pieces.remove(follower)
            # An arc is given anticlockwise; where the outline is hollow it is run the other way.
            feature, more, end = follower if math.dist(follower[1][0][:2], end) <= _SAME else _back(follower)
            loop = loop + more
            chain.append(feature)
        if len(loop) > 1 and math.dist(loop[0][:2], end) <= _SAME:
            loops.append(loop)
        else:
            rest += chain
    return loops, rest


def _meets(piece: _Piece, end: Point) -> bool:
    return min(math.dist(piece[1][0][:2], end), math.dist(piece[2], end)) <= _SAME


def _open(feature: Segment | Arc | Curve) -> _Piece:
    match feature:
        case Segment():
            return feature, [(*feature.start, 0.0)], feature.end
        case Arc():
            first, second = (
                along(feature.centre, (feature.diameter / 2.0, polar(turn)))
                for turn in (feature.start, feature.end)
            )
            return feature, [(*first, math.tan(math.radians(feature.end - feature.start) / 4.0))], second
        case Curve():
            return feature, [(*point, 0.0) for point in feature.points[:-1]], feature.points[-1]


def _back(piece: _Piece) -> _Piece:
    feature, vertices, end = piece
    points = [end, *((x, y) for x, y, _ in reversed(vertices))]
    bulges = [-bent for _, _, bent in reversed(vertices)]
    ahead = [(x, y, bent) for (x, y), bent in zip(points, bulges, strict=False)]
    return feature, ahead, points[-1]


def _slot(slot: Slot) -> list[Vertex]:
    """Return a slot as four vertices: two straight sides, two half circles."""
    run = (slot.end[0] - slot.start[0], slot.end[1] - slot.start[1])
    long = math.hypot(*run)
    left = (-run[1] / long, run[0] / long)
    half = slot.width / 2.0
    right_start, right_end = (along(each, (-half, left)) for each in (slot.start, slot.end))
    left_end, left_start = (along(each, (half, left)) for each in (slot.end, slot.start))
    return [(*right_start, 0.0), (*right_end, 1.0), (*left_end, 0.0), (*left_start, 1.0)]


def sides(loop: Sequence[Vertex]) -> Iterator[tuple[Point, Point, float]]:
    """Yield the sides of a closed loop: start, end and bulge."""
    for (x, y, bent), (x1, y1, _) in zip(loop, [*loop[1:], loop[0]], strict=True):
        yield (x, y), (x1, y1), bent
