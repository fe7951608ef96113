"""A full-size sheet read back as a DXF, as plain text by group codes alone, without a library."""

import math
import pathlib

from geometry.core.errors import RefusedError
from geometry.core.say import say
from sheets.files.read.edges import Edge, judged, on_circle
from sheets.ink.records import Sheet

_MM = "4"
_NAMES = {"CUT": "cut", "DRILL": "drill", "MARK": "mark"}


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
    return judged(file, sheet, read_dxf)


def _edges(kind: str, pairs: list[tuple[int, str]]) -> list[Edge]:
    first = dict(reversed(pairs))
    layer = _NAMES.get(first[8], first[8])

    def number(code: int) -> float:
        return float(first.get(code, "0"))

    if kind == "CIRCLE":
        return [Edge(layer, None, None, (number(10), number(20)), number(40))]
    if kind == "LINE":
        return [Edge(layer, (number(10), number(20)), (number(11), number(21)))]
    if kind == "ARC":
        centre, radius = (number(10), number(20)), number(40)
        start, end = (on_circle(centre, radius, math.radians(number(code))) for code in (50, 51))
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
