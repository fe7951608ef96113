"""A cutter's SVG read back by an XML parser: circles, lines and arcs by their colour, in mm, y up.

It shares no code with the writer. What has no operation's colour, no closed end or an element of its own is
refused, for a machine would do something with it. Arcs after SVG 1.1, F.6.5.
"""

import math
import pathlib
import re
from collections.abc import Iterator
from dataclasses import replace
from xml.etree import ElementTree

from geometry.core.errors import RefusedError, why
from geometry.core.say import say
from sheets.files.read.edges import Edge, judged
from sheets.ink.records import Point, Sheet

_SVG = "{http://www.w3.org/2000/svg}"
_COLOURS = {"#ff0000": "cut", "#0000ff": "drill", "#008000": "mark"}
_STEP = re.compile(r"([MLAZ])([^MLAZ]*)")
_SAME = 0.0001


def read_cutter(file: pathlib.Path) -> list[Edge]:
    """Return every line, arc and circle of a cutter's SVG, mm from the page's lower left corner.

    Raise ValueError for one that is not sound.
    """
    try:
        root = ElementTree.parse(file).getroot()
    except ElementTree.ParseError as error:
        raise RefusedError(say("readback.no_svg", reason=why(error))) from error
    width, height = root.get("width", ""), root.get("height", "")
    if root.get("viewBox") != f"0 0 {width.removesuffix('mm')} {height.removesuffix('mm')}":
        raise RefusedError(say("readback.view_box"))
    high = float(height.removesuffix("mm"))
    found: list[Edge] = []
    for group in root:
        name = group.tag.removeprefix(_SVG)
        if name in ("title", "desc"):
            continue
        operation = _COLOURS.get(group.get("stroke", ""))
        if name != "g" or operation is None:
            raise RefusedError(say("readback.element", name=name))
        for element in group:
            found += _edges(element, operation, high)
    return found


def verify_cutter(file: pathlib.Path, sheet: Sheet) -> float:
    """Return a cutter's SVG's largest deviation in mm from its sheet; raise ReadBackError for a miss."""
    return judged(file, sheet, read_cutter, (0.0, 0.0))


def _edges(element: ElementTree.Element, operation: str, high: float) -> list[Edge]:
    name = element.tag.removeprefix(_SVG)
    if name == "circle":
        x, y, radius = (float(element.get(key, "nan")) for key in ("cx", "cy", "r"))
        return [Edge(operation, None, None, (x, high - y), radius)]
    if name != "path":
        raise RefusedError(say("readback.element", name=name))
    return list(_whole(_drawn(element.get("d", ""), operation, high)))


def _drawn(data: str, operation: str, high: float) -> Iterator[Edge]:
    pen = begun = (math.nan, math.nan)
    letter = ""
    for letter, text in _STEP.findall(data):
        *arc, x, y = [float(each) for each in text.split()] if letter != "Z" else (begun[0], high - begun[1])
        start, pen = pen, (x, high - y)
        if letter == "M":
            begun = pen
        elif letter == "A":
            radius, _, _, large, clockwise = arc
            if large:
                raise RefusedError(say("readback.path_data", data=text))
            first, second = (pen, start) if clockwise else (start, pen)
            yield Edge(operation, first, second, _centre(first, second, radius), radius)
        elif letter == "L" or math.dist(start, pen) > _SAME:
            yield Edge(operation, start, pen)
    if letter != "Z" and math.dist(begun, pen) <= _SAME:
        # A machine would follow it, and leave the last corner to chance.
        raise RefusedError(say("readback.path_data", data=data[:40]))


def _centre(start: Point, end: Point, radius: float) -> Point:
    """Return the centre of an arc of less than half a turn, anticlockwise from start to end."""
    (x0, y0), (x1, y1) = start, end
    half = math.dist(start, end) / 2.0
    off = math.sqrt(max(0.0, radius * radius - half * half)) / (2.0 * half)
    return (x0 + x1) / 2.0 - (y1 - y0) * off, (y0 + y1) / 2.0 + (x1 - x0) * off


def _whole(edges: Iterator[Edge]) -> Iterator[Edge]:
    """Yield the edges of a path with the pieces of one arc put together again."""
    last: Edge | None = None
    for edge in edges:
        joint = last and _together(last, edge)
        if joint is None:
            if last is not None:
                yield last
            joint = edge
        last = joint
    if last is not None:
        yield last


def _together(one: Edge, two: Edge) -> Edge | None:
    """Return one arc that runs along both, None where they are not pieces of the same."""
    if one.centre is None or two.centre is None or one.radius != two.radius:
        return None
    if math.dist(one.centre, two.centre) > 0.001:
        return None
    if one.end == two.start:
        return replace(one, end=two.end)
    return replace(two, end=one.end) if two.end == one.start else None
