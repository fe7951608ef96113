"""A given SVG as lines in mm: paths and plain shapes, read by a parser that runs and fetches nothing.

What could load or run something is refused, not passed by: scripts, entities, references out of the file.
Rules after SVG 1.1: 7.6 to 7.8 (transform, viewBox), 8.3 (paths), 9 (shapes).
"""

import math
import re
from collections.abc import Callable, Mapping
from typing import NamedTuple
from xml.parsers import expat

from geometry.core.errors import RefusedError, why
from geometry.core.plane import Point
from geometry.core.say import say
from sheets.files.drawings.pieces import UNITS, Piece, Pieces, round_line
from sheets.files.drawings.svg_path import subpaths

_DEEPEST = 60
_GROUPS = {"svg", "g", "a", "switch"}
_SHAPES = {"path", "line", "polyline", "polygon", "rect", "circle", "ellipse"}
_RUN = {"script", "foreignObject", "handler", "iframe", "embed", "object"}
_SIZES = {**UNITS, "pt": 25.4 / 72.0, "pc": 25.4 / 6.0, "q": 0.25}
"""Units of a page's size that say how large it is; a pixel is whatever its program took it for."""
_LENGTH = re.compile(r"([0-9.]+(?:[eE][+-]?[0-9]+)?)\s*([a-zA-Z%]*)")
_TRANSFORM = re.compile(r"(\w+)\s*\(([^)]*)\)[\s,]*")
_NAMED = {"id", "label"}

Matrix = tuple[float, float, float, float, float, float]


class _Level(NamedTuple):
    """Where the parser is: the matrix that holds there, the names above, and whether ink is drawn."""

    matrix: Matrix
    names: tuple[str, ...]
    drawn: bool


def read_svg(raw: bytes, unit: str | None) -> list[Piece]:
    """Return the lines of an SVG in mm, y up, its own origin kept; RefusedError says why it cannot be had.

    `unit` is what one unit of the drawing is, "mm", "cm" or "in"; None takes what the file says.
    """
    work = _Reader(unit)
    parser = expat.ParserCreate(namespace_separator=" ")
    parser.SetParamEntityParsing(expat.XML_PARAM_ENTITY_PARSING_NEVER)
    parser.StartElementHandler = work.begin
    parser.EndElementHandler = work.end
    parser.CharacterDataHandler = work.text
    parser.EntityDeclHandler = _refuse_entity
    parser.ProcessingInstructionHandler = _refuse_stylesheet
    parser.buffer_text = True
    try:
        parser.Parse(raw, True)
    except expat.ExpatError as error:
        raise RefusedError(say("outline.no_svg", reason=str(error))) from error
    except (LookupError, UnicodeError) as error:
        # An encoding that nobody has heard of.
        raise RefusedError(say("outline.no_svg", reason=why(error))) from error
    return list(work.pieces)


def _refuse_entity(*_: object) -> None:
    raise RefusedError(say("outline.entity"))


def _refuse_stylesheet(target: str, data: str) -> None:
    if target.lower() == "xml-stylesheet":
        raise RefusedError(say("outline.external", what=data[:60]))


class _Reader:
    """What the parser calls: it keeps the levels that are open, and gathers the lines."""

    def __init__(self, unit: str | None) -> None:
        self.unit = unit
        self.pieces = Pieces()
        self.levels: list[_Level] = []
        self.styling = False

    def begin(self, tag: str, attributes: Mapping[str, str]) -> None:
        """Take an element up."""
        name = tag.rpartition(" ")[2]
        given = {key.rpartition(" ")[2]: value for key, value in attributes.items()}
        _refuse_active(name, given)
        self.styling = name == "style"
        if not self.levels:
            if name != "svg":
                raise RefusedError(say("outline.other_root", name=name[:40]))
            self.levels.append(_Level(_page(given, self.unit), (), True))
            return
        if len(self.levels) > _DEEPEST:
            raise RefusedError(say("outline.too_deep", most=_DEEPEST))
        above = self.levels[-1]
        own = tuple(given[key] for key in _NAMED & given.keys())
        names = (*above.names, *own)
        seen = above.drawn and name in _GROUPS | _SHAPES | {"use"} and not _hidden(given)
        if seen and name == "svg":
            raise RefusedError(say("outline.nested"))
        matrix = _times(above.matrix, _transform(given.get("transform", ""))) if seen else above.matrix
        if seen and name == "use":
            self.pieces.append(Piece((), False, names, say("outline.clone", name=(*own, "use")[0])))
        elif seen and name in _SHAPES:
            self._shape(name, given, matrix, names)
        self.levels.append(_Level(matrix, names, seen and name in _GROUPS))

    def end(self, _: str) -> None:
        """Leave an element."""
        self.styling = False
        self.levels.pop()

    def text(self, data: str) -> None:
        """Look at a style sheet, which may fetch something."""
        if self.styling:
            _refuse_fetched(data)

    def _shape(self, name: str, given: Mapping[str, str], matrix: Matrix, names: tuple[str, ...]) -> None:
        def mapped(point: Point) -> Point:
            a, b, c, d, e, f = matrix
            return a * point[0] + c * point[1] + e, b * point[0] + d * point[1] + f

        def number(key: str, usual: float = 0.0) -> float:
            return _number(given[key]) if key in given else usual

        if name == "path":
            for points, closed in subpaths(given.get("d", ""), mapped, self.pieces.left):
                self.pieces.put(points, closed, names)
        elif name == "line":
            ends = [(number("x1"), number("y1")), (number("x2"), number("y2"))]
            self.pieces.put([mapped(each) for each in ends], False, names)
        elif name in ("polyline", "polygon"):
            values = [_number(each) for each in given.get("points", "").replace(",", " ").split()]
            corners = zip(values[::2], values[1::2], strict=False)
            self.pieces.put([mapped(each) for each in corners], name == "polygon", names)
        elif name == "rect":
            for points, closed in subpaths(_rect(number), mapped, self.pieces.left):
                self.pieces.put(points, closed, names)
        else:
            rx = number("r") if name == "circle" else number("rx")
            ry = number("r") if name == "circle" else number("ry")
            if rx > 0.0 and ry > 0.0:
                middle, zero = mapped((number("cx"), number("cy"))), mapped((0.0, 0.0))
                a, b = mapped((rx, 0.0)), mapped((0.0, ry))
                halves = (a[0] - zero[0], a[1] - zero[1]), (b[0] - zero[0], b[1] - zero[1])
                self.pieces.put(round_line(middle, *halves, self.pieces.left), True, names)


def _rect(number: Callable[..., float]) -> str:
    """Return a rectangle as path data, its corners rounded where it says so (SVG 1.1, 9.2)."""
    x, y, wide, high = (number(key) for key in ("x", "y", "width", "height"))
    rx, ry = number("rx", number("ry")), number("ry", number("rx"))
    rx, ry = min(rx, wide / 2.0), min(ry, high / 2.0)
    if rx <= 0.0 or ry <= 0.0:
        return f"M{x} {y}h{wide}v{high}h{-wide}z"
    a = f"a{rx} {ry} 0 0 1"
    return (
        f"M{x + rx} {y}h{wide - 2 * rx}{a}{rx} {ry}v{high - 2 * ry}{a}{-rx} {ry}"
        f"h{2 * rx - wide}{a}{-rx} {-ry}v{2 * ry - high}{a}{rx} {-ry}z"
    )


def _refuse_active(name: str, given: Mapping[str, str]) -> None:
    """Raise RefusedError for what would run something or fetch something."""
    if name in _RUN or any(re.fullmatch(r"on[a-z]+", key) for key in given):
        raise RefusedError(say("outline.script"))
    for key, value in given.items():
        if key in ("href", "src") and not value.strip().startswith(("#", "data:")):
            raise RefusedError(say("outline.external", what=value.strip()[:60]))
        if key != "d" and "url(" in value:
            _refuse_fetched(value)


def _refuse_fetched(style: str) -> None:
    if "@import" in style.lower():
        raise RefusedError(say("outline.external", what="@import"))
    for found in re.findall(r"url\(\s*['\"]?([^'\")]*)", style, re.IGNORECASE):
        if not found.strip().startswith(("#", "data:")):
            raise RefusedError(say("outline.external", what=found.strip()[:60]))


def _hidden(given: Mapping[str, str]) -> bool:
    style = given.get("style", "").replace(" ", "")
    return (
        given.get("display") == "none"
        or given.get("visibility") in ("hidden", "collapse")
        or re.search(r"(^|;)(display:none|visibility:(hidden|collapse))(;|$)", style) is not None
    )


def _page(given: Mapping[str, str], unit: str | None) -> Matrix:
    """Return the matrix from the drawing's units to mm, y up; RefusedError where its unit is not known."""
    said = _scale(given)
    if unit is not None:
        wanted = UNITS[unit]
        if said is not None and abs(said / wanted - 1.0) > 1e-4:
            raise RefusedError(say("outline.other_unit", unit=unit, said=said, given=wanted))
        said = said or wanted
    if said is None:
        raise RefusedError(say("outline.no_unit"))
    return said, 0.0, 0.0, -said, 0.0, 0.0


def _scale(given: Mapping[str, str]) -> float | None:
    """Return how many mm a unit is by the page's size and viewBox; None where they do not say."""
    box = [_number(each) for each in given.get("viewBox", "").replace(",", " ").split()]
    found = []
    for key, i in (("width", 2), ("height", 3)):
        match = _LENGTH.fullmatch(given.get(key, "").strip())
        size = None if match is None else _SIZES.get(match[2].lower())
        if match is not None and size is not None and len(box) == 4 and box[i] > 0.0:
            found.append(_number(match[1]) * size / box[i])
    if not found:
        return None
    if max(found) - min(found) > 1e-4 * max(found) or min(found) <= 0.0:
        raise RefusedError(say("outline.two_scales", across=found[0], down=found[-1]))
    return min(found)


def _transform(text: str) -> Matrix:
    matrix: Matrix = (1.0, 0.0, 0.0, 1.0, 0.0, 0.0)
    left = text.strip(" ,\t\r\n")
    end = 0
    # Each step is looked for where the last one ended and nowhere else, so that no text takes long.
    while end < len(left):
        step = _TRANSFORM.match(left, end)
        one = None if step is None else _one(step[1], [_number(v) for v in step[2].replace(",", " ").split()])
        if step is None or one is None:
            raise RefusedError(say("outline.transform", text=text[:60]))
        matrix = _times(matrix, one)
        end = step.end()
    return matrix


def _one(kind: str, values: list[float]) -> Matrix | None:
    match kind, values:
        case "matrix", [a, b, c, d, e, f]:
            return a, b, c, d, e, f
        case "translate", [x, *rest] if len(rest) < 2:
            return 1.0, 0.0, 0.0, 1.0, x, rest[0] if rest else 0.0
        case "scale", [x, *rest] if len(rest) < 2:
            return x, 0.0, 0.0, rest[0] if rest else x, 0.0, 0.0
        case "rotate", [turn, *rest] if len(rest) in (0, 2):
            c, s = math.cos(math.radians(turn)), math.sin(math.radians(turn))
            x, y = rest or (0.0, 0.0)
            return c, s, -s, c, x - c * x + s * y, y - s * x - c * y
        case "skewX", [turn]:
            return 1.0, 0.0, math.tan(math.radians(turn)), 1.0, 0.0, 0.0
        case "skewY", [turn]:
            return 1.0, math.tan(math.radians(turn)), 0.0, 1.0, 0.0, 0.0
    return None


def _times(m: Matrix, n: Matrix) -> Matrix:
    a, b, c, d, e, f = m
    p, q, r, s, t, u = n
    return a * p + c * q, b * p + d * q, a * r + c * s, b * r + d * s, a * t + c * u + e, b * t + d * u + f


def _number(text: str) -> float:
    """Return a number of an attribute; what is set in px counts as the drawing's own units."""
    try:
        value = float(text.strip().removesuffix("px"))
    except ValueError as error:
        raise RefusedError(say("outline.no_number_in", text=text.strip()[:40])) from error
    if not math.isfinite(value):
        raise RefusedError(say("outline.no_number"))
    return value
