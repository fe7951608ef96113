"""A full-size sheet as a DXF for a laser, plasma or water-jet cutter: in mm, true size, layer by layer.

Only what a machine cuts, drills or marks is written. The origin is the sheet's axle; lines that follow each
other are closed polylines, whose bulges are exact arcs. No kerf is allowed for.
"""

import pathlib
from importlib.util import find_spec
from typing import Any

from geometry.core.errors import InputError
from geometry.core.say import say
from sheets.files import seal
from sheets.ink.machining import Vertex, joined, operations
from sheets.ink.records import Arc, Circle, Curve, Feature, Point, Segment, Sheet, Slot
from sheets.words.tell import tell

PIP = "python -m pip install ezdxf"
LAYERS: dict[str, tuple[str, int, str]] = {
    "cut": ("CUT", 7, "dxf.cut"),
    "drill": ("DRILL", 1, "dxf.drill"),
    "mark": ("MARK", 5, "dxf.mark"),
}
"""The layers by what is done: name in the DXF, colour by its index, and the code of what is said of it."""
_MM = 4
"""Millimetres, as a DXF counts its units ($INSUNITS)."""


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
    from ezdxf import bbox, options  # type: ignore[attr-defined]
    from ezdxf.document import Drawing

    # The library's own name for it: no time of day and no chance goes into the file.
    known, options.write_fixed_meta_data_for_testing = options.write_fixed_meta_data_for_testing, True
    try:
        document = Drawing.new("R2010")
        document.units = _MM
        document.header.custom_vars.append("Kerf", tell("dxf.kerf"))
        document.header.custom_vars.append("Pattern", sheet.title)
        for name, colour, said in LAYERS.values():
            document.layers.add(name, color=colour).description = tell(said)
        space: Any = document.modelspace()
        for operation, features in operations(sheet).items():
            attributes = {"layer": LAYERS[operation][0]}
            loops, rest = joined(features)
            for loop in loops:
                space.add_lwpolyline(
                    [_moved(each, sheet.axle) for each in loop],
                    format="xyb",
                    close=True,
                    dxfattribs=attributes,
                )
            for feature in rest:
                _add(space, feature, sheet.axle, attributes)
        reach = bbox.extents(space)
        space.reset_extents(reach.extmin, reach.extmax)
        # The library keeps the names of these in a set, which has another order in each process.
        classes = document.classes
        classes.add_required_classes(document.dxfversion)
        classes.classes = dict(sorted(classes.classes.items()))
        document.saveas(file)
    finally:
        options.write_fixed_meta_data_for_testing = known
    # Group code 999 is a comment (DXF reference, Autodesk); line ends as the library wrote them.
    data = file.read_bytes()
    end = b"\r\n" if b"\r\n" in data[:200] else b"\n"
    file.write_bytes(seal.sealed(b"999" + end + seal.line("").encode().replace(b"\n", end) + data))


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
