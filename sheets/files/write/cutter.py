"""A full-size sheet as an SVG for a machine: one colour an operation, circles as circles, outlines closed.

The page is the paper's, so that every line lies where it is printed; numbers are millimetres from its upper
left corner. Nothing is in it but what the machine cuts, drills or marks, and no kerf is allowed for. There is
no transform and no style sheet, because not every cutter's program reads them.
"""

import math
import pathlib
from collections.abc import Callable, Sequence
from xml.etree.ElementTree import Element, SubElement, indent, tostring

from geometry.core.plane import along, polar
from sheets.files import seal
from sheets.ink.machining import joined, operations, sides
from sheets.ink.records import Arc, Circle, Curve, Feature, Point, Segment, Sheet
from sheets.words.tell import tell

COLOURS = {"cut": "#ff0000", "drill": "#0000ff", "mark": "#008000"}
"""The colour of each operation; the book lists them."""
_PEN = 0.1
"""Width of every line, mm: thin enough to be followed, thick enough to be seen."""
_WIDEST = 90.0
"""The widest arc written in one, degrees: nearly half circles turn on the last digit of their radius."""


def write_cutter(sheet: Sheet, file: pathlib.Path) -> None:
    """Write what a machine does with a sheet to `file`; OSError where it cannot be written."""
    width, height = f"{sheet.paper.width:g}", f"{sheet.paper.height:g}"
    size = {"width": f"{width}mm", "height": f"{height}mm", "viewBox": f"0 0 {width} {height}"}
    ink = {"fill": "none", "stroke-width": f"{_PEN:g}"}
    root = Element("svg", {"xmlns": "http://www.w3.org/2000/svg", **size, **ink})
    SubElement(root, "title").text = sheet.title
    SubElement(root, "desc").text = tell("svg.cutter")
    for operation, features in operations(sheet).items():
        group = SubElement(root, "g", {"id": operation, "stroke": COLOURS[operation]})
        _draw(group, features, sheet.paper.height)
    indent(root, "")
    file.write_bytes(seal.sealed(f"{seal.xml_head()}{tostring(root, 'unicode')}\n".encode()))


def _draw(group: Element, features: Sequence[Feature], height: float) -> None:
    """Add the shapes of some features, open ones under their names; y runs down from the page's height."""

    def at(point: Point) -> str:
        return f"{_number(point[0])} {_number(height - point[1])}"

    loops, rest = joined(features)
    for loop in loops:
        data = "".join(_side(at, *side) for side in sides(loop))
        SubElement(group, "path", {"d": f"M{at((loop[0][0], loop[0][1]))}{data}Z"})
    for feature in rest:
        match feature:
            case Circle(centre=(x, y), diameter=wide):
                place = {"cx": _number(x), "cy": _number(height - y), "r": _number(wide / 2.0)}
                shape = SubElement(group, "circle", place)
            case Arc():
                start = along(feature.centre, (feature.diameter / 2.0, polar(feature.start)))
                turn = _turn(at, feature.centre, start, feature.end - feature.start)
                shape = SubElement(group, "path", {"d": f"M{at(start)}{turn}"})
            case Segment() | Curve():
                points = (feature.start, feature.end) if isinstance(feature, Segment) else feature.points
                shape = SubElement(group, "path", {"d": f"M{'L'.join(map(at, points))}"})
        SubElement(shape, "title").text = feature.name


def _side(at: Callable[[Point], str], start: Point, end: Point, bent: float) -> str:
    """Return a side of a closed outline as path data, a line or an arc."""
    if bent == 0.0:
        return f"L{at(end)}"
    # The bulge is the tangent of a quarter of the sweep; the centre stands off the chord's middle.
    aside = (1.0 - bent * bent) / (4.0 * bent)
    (x0, y0), (x1, y1) = start, end
    centre = (x0 + x1) / 2.0 - (y1 - y0) * aside, (y0 + y1) / 2.0 + (x1 - x0) * aside
    return _turn(at, centre, start, 4.0 * math.degrees(math.atan(bent)))


def _turn(at: Callable[[Point], str], centre: Point, start: Point, sweep: float) -> str:
    """Return an arc about a centre as path data, in as many pieces of one size as it takes."""
    radius, first = (
        math.dist(centre, start),
        math.degrees(math.atan2(start[1] - centre[1], start[0] - centre[0])),
    )
    count = math.ceil(abs(sweep) / _WIDEST - 1e-9)
    # On the page y runs down, so that what turns anticlockwise is the negative way there.
    head = f"A{_number(radius)} {_number(radius)} 0 0 {0 if sweep > 0.0 else 1} "
    ends = (along(centre, (radius, polar(first + sweep * (i + 1) / count))) for i in range(count))
    return "".join(head + at(end) for end in ends)


def _number(value: float) -> str:
    """Return a length to a hundredth of a micrometre: an arc's middle turns on more than it shows."""
    return f"{value:.5f}".rstrip("0").rstrip(".")
