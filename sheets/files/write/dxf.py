"""A fixture's pattern as a DXF for a laser, plasma or water-jet cutter: in mm, true size, layer by layer.

Only named features on the layers cut, drill and mark are written. The origin is the sheet's axle; what is
cut is joined into closed polylines, whose bulges are exact arcs. No kerf is allowed for.
"""

import math
import pathlib
from collections.abc import Sequence
from importlib.util import find_spec
from typing import Any

from geometry.core.errors import InputError
from geometry.core.plane import along, polar
from geometry.core.say import say
from sheets.files import seal
from sheets.ink.records import Arc, Circle, Curve, Feature, Point, Segment, Sheet, Slot
from sheets.words.tell import tell

PIP = "python -m pip install ezdxf"
LAYERS = {
    "cut": ("CUT", 7, "dxf.cut"),
    "drill": ("DRILL", 1, "dxf.drill"),
    "mark": ("MARK", 5, "dxf.mark"),
}
"""The layers by the sheet's: name in the DXF, colour by its index, and the code of what is said of it."""
_SAME = 1e-6
_MM = 4
"""Millimetres, as a DXF counts its units ($INSUNITS)."""

Vertex = tuple[float, float, float]
"""X, Y, and the bulge of what leaves there: the tangent of a quarter of its sweep."""


def must_have_ezdxf(where: str) -> None:
    """Raise InputError, naming who asked for a DXF, where the library that writes it is not installed."""
    if find_spec("ezdxf") is None:
        raise InputError.at(where, say("dxf.no_ezdxf", pip=PIP))


def write_dxf(sheet: Sheet, file: pathlib.Path) -> None:
    """Write a sheet's pattern to `file`; OSError where the file cannot be written.

    Raise InputError where ezdxf is not installed.
    """
    must_have_ezdxf("--dxf")
    # Loading the library takes longer than drawing does, and few ask for it.
    from ezdxf.document import Drawing

    document = Drawing.new("R2010")
    document.units = _MM
    document.header.custom_vars.append("Kerf", tell("dxf.kerf"))
    document.header.custom_vars.append("Pattern", sheet.title)
    for name, colour, said in LAYERS.values():
        document.layers.add(name, color=colour).description = tell(said)
    space: Any = document.modelspace()
    for layer, features in by_layer(sheet).items():
        attributes = {"layer": LAYERS[layer][0]}
        loops, rest = joined(features)
        for loop in loops:
            space.add_lwpolyline(
                [_moved(each, sheet.axle) for each in loop], format="xyb", close=True, dxfattribs=attributes
            )
        for feature in rest:
            _add(space, feature, sheet.axle, attributes)
    document.saveas(file)
    # Group code 999 is a comment (DXF reference, Autodesk); line ends as the library wrote them.
    data = file.read_bytes()
    end = b"\r\n" if b"\r\n" in data[:200] else b"\n"
    file.write_bytes(seal.sealed(b"999" + end + seal.line("").encode().replace(b"\n", end) + data))


def by_layer(sheet: Sheet) -> dict[str, list[Feature]]:
    """Return a sheet's features by the layers that a DXF has, in the sheet's order."""
    layers = {path.name: path.layer for path in sheet.paths if path.name}
    found: dict[str, list[Feature]] = {}
    for feature in sheet.features:
        layer = layers.get(feature.name, "")
        if layer in LAYERS:
            found.setdefault(layer, []).append(feature)
    return found


def joined(features: Sequence[Feature]) -> tuple[list[list[Vertex]], list[Feature]]:
    """Return closed loops of segments, arcs and slots that follow each other, and the features left over."""
    loops: list[list[Vertex]] = []
    rest: list[Feature] = []
    open_pieces: list[tuple[Feature, Point, Point, float]] = []
    for feature in features:
        ends = _ends(feature)
        if isinstance(feature, Slot):
            loops.append(_slot(feature))
        elif ends is None:
            rest.append(feature)
        else:
            open_pieces.append((feature, *ends))
    while open_pieces:
        feature, start, end, bulge = open_pieces.pop(0)
        chain, loop = [feature], [(*start, bulge)]
        while math.dist(start, end) > _SAME:
            follower = next((each for each in open_pieces if _meets(each, end)), None)
            if follower is None:
                break
            open_pieces.remove(follower)
            feature, one, other, bulge = follower
            # An arc is given anticlockwise; where the outline is hollow it is run the other way.
            ahead = math.dist(one, end) <= _SAME
            loop.append((*(one if ahead else other), bulge if ahead else -bulge))
            chain.append(feature)
            end = other if ahead else one
        if len(chain) > 1 and math.dist(start, end) <= _SAME:
            loops.append(loop)
        else:
            rest += chain
    return loops, rest


def _meets(piece: tuple[Feature, Point, Point, float], end: Point) -> bool:
    return min(math.dist(piece[1], end), math.dist(piece[2], end)) <= _SAME


def _ends(feature: Feature) -> tuple[Point, Point, float] | None:
    """Return start, end and bulge of an open line or arc; None for anything else."""
    if isinstance(feature, Segment):
        return feature.start, feature.end, 0.0
    if isinstance(feature, Arc):
        first, second = (
            along(feature.centre, (feature.diameter / 2.0, polar(turn)))
            for turn in (feature.start, feature.end)
        )
        return first, second, math.tan(math.radians(feature.end - feature.start) / 4.0)
    return None


def _slot(slot: Slot) -> list[Vertex]:
    """Return a slot as four vertices: two straight sides, two half circles."""
    run = (slot.end[0] - slot.start[0], slot.end[1] - slot.start[1])
    long = math.hypot(*run)
    left = (-run[1] / long, run[0] / long)
    half = slot.width / 2.0
    right_start, right_end = (along(each, (-half, left)) for each in (slot.start, slot.end))
    left_end, left_start = (along(each, (half, left)) for each in (slot.end, slot.start))
    return [(*right_start, 0.0), (*right_end, 1.0), (*left_end, 0.0), (*left_start, 1.0)]


def _moved(vertex: Vertex, origin: Point) -> Vertex:
    return vertex[0] - origin[0], vertex[1] - origin[1], vertex[2]


def _add(space: Any, feature: Feature, origin: Point, attributes: dict[str, str]) -> None:
    def at(point: Point) -> Point:
        return point[0] - origin[0], point[1] - origin[1]

    match feature:
        case Circle():
            space.add_circle(at(feature.centre), feature.diameter / 2.0, dxfattribs=attributes)
        case Segment():
            space.add_line(at(feature.start), at(feature.end), dxfattribs=attributes)
        case Arc():
            space.add_arc(
                at(feature.centre), feature.diameter / 2.0, feature.start, feature.end, dxfattribs=attributes
            )
        case Curve():
            space.add_lwpolyline([at(point) for point in feature.points], dxfattribs=attributes)
        case Slot():
            raise ValueError(f"the slot {feature.name!r} should have been joined")
