"""A given DXF as lines in mm, read from its text by group codes alone; it asks for no library.

What the group codes mean is remembered from the published DXF reference, and tested beside ezdxf. What is
flat ink and can be an outline is read; lettering, dimensions and the like are passed by; a block, which may
bring in anything, is told to be taken apart.
"""

import bisect
import itertools
import math
from collections.abc import Iterator, Sequence

from geometry.core.errors import RefusedError
from geometry.core.plane import Point
from geometry.core.say import say
from sheets.files.drawings.pieces import UNITS, Piece, Pieces, arc, followed, round_line, within

_BINARY = b"AutoCAD Binary DXF"
_INSUNITS = {1: 25.4, 2: 304.8, 4: 1.0, 5: 10.0, 6: 1000.0}
"""What $INSUNITS may say, in mm: inches, feet, millimetres, centimetres, metres."""
_PASSED = {
    "TEXT", "MTEXT", "ATTDEF", "ATTRIB", "DIMENSION", "ARC_DIMENSION", "LARGE_RADIAL_DIMENSION", "LEADER",
    "MULTILEADER", "MLEADER", "TOLERANCE", "HATCH", "POINT", "VIEWPORT", "SOLID", "TRACE", "XLINE", "RAY",
    "ACAD_TABLE", "WIPEOUT", "SHAPE", "SEQEND", "VERTEX",
}  # fmt: skip
"""What leaves no line that could be an edge."""
_FETCHED = {"IMAGE", "PDFUNDERLAY", "DWFUNDERLAY", "DGNUNDERLAY", "UNDERLAY", "OLEFRAME", "OLE2FRAME"}
_MOST_ENTITIES = 20_000

Pair = tuple[int, str]


class _Entity:
    """One entity: its kind and its pairs, read by code."""

    def __init__(self, kind: str, pairs: list[Pair]) -> None:
        self.kind, self.pairs = kind, pairs
        # The first of a code counts, so that what other programs append changes nothing.
        self.first = dict(reversed(pairs))

    def number(self, code: int, usual: float = 0.0) -> float:
        """Return the number of a code."""
        return _float(self.first[code]) if code in self.first else usual

    def flags(self, code: int = 70) -> int:
        """Return a code's bits."""
        return int(self.number(code))

    def point(self, code: int) -> Point:
        """Return the point whose x has a code."""
        return self.number(code), self.number(code + 10)

    def points(self, code: int) -> list[Point]:
        """Return every point whose x has a code."""
        found: list[list[float]] = []
        for each, value in self.pairs:
            if each == code:
                found.append([_float(value), 0.0])
            elif each == code + 10 and found:
                found[-1][1] = _float(value)
        return [(x, y) for x, y in found]

    def numbers(self, code: int) -> list[float]:
        """Return every number of a code."""
        return [_float(value) for each, value in self.pairs if each == code]

    @property
    def names(self) -> tuple[str, ...]:
        """Return the layer, and the handle."""
        return tuple(self.first[code] for code in (8, 5) if code in self.first)


def read_dxf(raw: bytes, unit: str | None) -> list[Piece]:
    """Return the lines of a DXF in mm, its own origin kept; RefusedError says why it cannot be had.

    `unit` is what one unit of the drawing is, "mm", "cm" or "in"; None takes what the file says.
    """
    if raw.startswith(_BINARY):
        raise RefusedError(say("outline.binary_dxf"))
    sections = _sections(_pairs(raw))
    if "ENTITIES" not in sections:
        raise RefusedError(say("outline.no_dxf"))
    size = _scale(sections.get("HEADER", []), unit)
    off = _off(sections.get("TABLES", []))
    if any(each.kind == "BLOCK" and each.flags() & 0b1100 for each in _entities(sections.get("BLOCKS", []))):
        raise RefusedError(say("outline.external", what="XREF"))
    pieces = Pieces()
    entities = _entities(sections["ENTITIES"])
    if len(entities) > _MOST_ENTITIES:
        raise RefusedError(say("outline.too_detailed", most=_MOST_ENTITIES))
    for i, each in enumerate(entities):
        if each.kind in _FETCHED:
            raise RefusedError(say("outline.external", what=each.kind))
        # On the model's own sheet, and neither hidden nor on a layer that is off.
        if each.flags(67) or each.flags(60) or each.first.get(8) in off or each.kind in _PASSED:
            continue
        _read(each, entities[i + 1 :], size, pieces)
    return list(pieces)


def _pairs(raw: bytes) -> list[Pair]:
    lines = raw.decode("utf-8-sig", "replace").splitlines()
    found = []
    for code, value in zip(lines[::2], lines[1::2], strict=False):
        try:
            found.append((int(code), value.strip()))
        except ValueError as error:
            raise RefusedError(say("outline.no_dxf")) from error
    return found


def _sections(pairs: Sequence[Pair]) -> dict[str, list[Pair]]:
    found: dict[str, list[Pair]] = {}
    current: list[Pair] | None = None
    for before, pair in itertools.pairwise([(-1, ""), *pairs]):
        if pair[0] == 2 and before == (0, "SECTION"):
            current = found.setdefault(pair[1], [])
        elif pair == (0, "ENDSEC"):
            current = None
        elif current is not None:
            current.append(pair)
    return found


def _entities(pairs: Sequence[Pair]) -> list[_Entity]:
    found: list[tuple[str, list[Pair]]] = []
    for code, value in pairs:
        if code == 0:
            found.append((value, []))
        elif found:
            found[-1][1].append((code, value))
    return [_Entity(kind, inner) for kind, inner in found]


def _scale(header: Sequence[Pair], unit: str | None) -> float:
    said = None
    for name, value in itertools.pairwise(header):
        if name == (9, "$INSUNITS"):
            said = _INSUNITS.get(int(_float(value[1])))
    if unit is None:
        if said is None:
            raise RefusedError(say("outline.no_unit"))
        return said
    wanted = UNITS[unit]
    if said is not None and said != wanted:
        raise RefusedError(say("outline.other_unit", unit=unit, said=said, given=wanted))
    return wanted


def _off(tables: Sequence[Pair]) -> set[str]:
    """Return the layers that are off or frozen."""
    layers = [each for each in _entities(tables) if each.kind == "LAYER"]
    return {each.first.get(2, "") for each in layers if each.number(62, 7.0) < 0.0 or each.flags() & 1}


def _read(each: _Entity, following: Sequence[_Entity], size: float, pieces: Pieces) -> None:
    """Add the lines of one entity."""
    up = each.number(230, 1.0)
    if abs(each.number(210)) > 1e-9 or abs(each.number(220)) > 1e-9 or up == 0.0:
        raise RefusedError(say("outline.not_flat", kind=each.kind))
    # Seen from below, x of what is told in its own plane runs the other way.
    own = -1.0 if up < 0.0 and each.kind not in ("LINE", "SPLINE", "ELLIPSE") else 1.0
    found = _lines(each, following, -1.0 if up < 0.0 else 1.0, size, pieces.left)
    if found is None:
        kind = each.first.get(2, "") if each.kind == "INSERT" else each.kind
        code = "outline.block" if each.kind == "INSERT" else "outline.unread"
        pieces.append(Piece((), False, each.names, say(code, kind=kind[:40])))
        return
    for points, closed in found:
        pieces.put([(own * x, y) for x, y in points], closed, each.names)


def _lines(
    each: _Entity, following: Sequence[_Entity], up: float, size: float, left: int
) -> list[tuple[list[Point], bool]] | None:
    """Return the lines of an entity in mm; None where its kind is not read here.

    Raise RefusedError where they take more than `left` points.
    """

    def scaled(points: Sequence[Point]) -> list[Point]:
        return [(x * size, y * size) for x, y in points]

    match each.kind:
        case "LINE":
            return [(scaled([each.point(10), each.point(11)]), False)]
        case "CIRCLE" | "ARC":
            ((middle),) = scaled([each.point(10)])
            radius = each.number(40) * size
            if each.kind == "CIRCLE":
                return [(round_line(middle, (radius, 0.0), (0.0, radius), left), True)]
            start, end = math.radians(each.number(50)), math.radians(each.number(51))
            sweep = (end - start) % (2.0 * math.pi) or 2.0 * math.pi
            return [(arc(middle, (radius, 0.0), (0.0, radius), start, sweep, left), False)]
        case "ELLIPSE":
            return [_ellipse(each, up, size, left)]
        case "LWPOLYLINE":
            return [_polyline(list(_corners(each.pairs)), bool(each.flags() & 1), size, left)]
        case "POLYLINE" if not each.flags() & 0b1111000:
            vertices = itertools.takewhile(lambda one: one.kind == "VERTEX", following)
            # A frame's points of a smoothed line stand beside those of the line itself.
            kept = [one for one in vertices if not one.flags() & 16]
            corners = [(*one.point(10), one.number(42)) for one in kept]
            return [_polyline(corners, bool(each.flags() & 1), size, left)]
        case "SPLINE" if each.points(10) and each.numbers(40):
            return [_spline(each, size, left)]
    return None


def _ellipse(each: _Entity, up: float, size: float, left: int) -> tuple[list[Point], bool]:
    (x, y), ratio = each.point(11), each.number(40)
    middle = each.point(10)
    centre, a = (middle[0] * size, middle[1] * size), (x * size, y * size)
    b = (-a[1] * ratio * up, a[0] * ratio * up)
    start, end = each.number(41), each.number(42, 2.0 * math.pi)
    sweep = (end - start) % (2.0 * math.pi)
    if sweep < 1e-9 or 2.0 * math.pi - sweep < 1e-9:
        return round_line(centre, a, b, left), True
    return arc(centre, a, b, start, sweep, left), False


def _corners(pairs: Sequence[Pair]) -> Iterator[tuple[float, float, float]]:
    """Yield the corners of a light polyline: x, y and the bulge of the side that begins there."""
    corner: list[float] = []
    for code, value in pairs:
        if code == 10:
            if corner:
                yield corner[0], corner[1], corner[2]
            corner = [_float(value), 0.0, 0.0]
        elif code in (20, 42) and corner:
            corner[1 if code == 20 else 2] = _float(value)
    if corner:
        yield corner[0], corner[1], corner[2]


def _polyline(
    corners: Sequence[tuple[float, float, float]], closed: bool, size: float, left: int
) -> tuple[list[Point], bool]:
    points: list[Point] = []
    for i, (x, y, bulge) in enumerate(corners):
        start = (x * size, y * size)
        points.append(start)
        within(len(points), left)
        if bulge == 0.0 or (i == len(corners) - 1 and not closed):
            continue
        end_x, end_y, _ = corners[(i + 1) % len(corners)]
        end = (end_x * size, end_y * size)
        # The bulge is the tangent of a quarter of the sweep; the centre stands off the chord's middle.
        aside = (1.0 - bulge * bulge) / (4.0 * bulge)
        dx, dy = end[0] - start[0], end[1] - start[1]
        centre = ((start[0] + end[0]) / 2.0 - dy * aside, (start[1] + end[1]) / 2.0 + dx * aside)
        radius = math.dist(centre, start)
        if radius == 0.0:
            continue
        first = math.atan2(start[1] - centre[1], start[0] - centre[0])
        sweep = 4.0 * math.atan(bulge)
        points += arc(centre, (radius, 0.0), (0.0, radius), first, sweep, left - len(points))[1:-1]
    return points, closed


def _spline(each: _Entity, size: float, left: int) -> tuple[list[Point], bool]:
    """Return a rational B-spline followed through its knots, by de Boor's recurrence."""
    degree, knots, corners = each.flags(71), each.numbers(40), each.points(10)
    weights = each.numbers(41) or [1.0] * len(corners)
    sound = len(knots) == len(corners) + degree + 1 and len(weights) == len(corners)
    rising = all(a <= b for a, b in itertools.pairwise(knots))
    if not (sound and rising and 1 <= degree <= 11 and min(weights) > 0.0 and len(corners) < 2000):
        raise RefusedError(say("outline.unread", kind="SPLINE"))
    poles = [(x * size * w, y * size * w, w) for (x, y), w in zip(corners, weights, strict=True)]

    def at(t: float) -> Point:
        span = min(bisect.bisect_right(knots, t, degree + 1), len(corners)) - 1
        parts = [list(poles[span - degree + i]) for i in range(degree + 1)]
        for level in range(1, degree + 1):
            for i in range(degree, level - 1, -1):
                low, high = knots[span - degree + i], knots[span + 1 + i - level]
                share = 0.0 if high == low else (t - low) / (high - low)
                parts[i] = [
                    (1.0 - share) * p + share * q for p, q in zip(parts[i - 1], parts[i], strict=True)
                ]
        x, y, w = parts[degree]
        return x / w, y / w

    stops = sorted(set(knots[degree : len(corners) + 1]))
    if len(stops) < 2:
        raise RefusedError(say("outline.unread", kind="SPLINE"))
    points = followed(at, stops, left)
    return points, bool(each.flags() & 1) and math.dist(points[0], points[-1]) < 1e-6


def _float(text: str) -> float:
    try:
        value = float(text)
    except ValueError as error:
        raise RefusedError(say("outline.no_number_in", text=text[:40])) from error
    if not math.isfinite(value):
        raise RefusedError(say("outline.no_number"))
    return value
