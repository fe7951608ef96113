"""An SVG as an XML parser reads it: its size and the paths with ink, in mm, y up.

It shares nothing with the writer but the file, and understands what such a file holds: a size in mm, a
viewBox, groups, transforms, and paths of lines and cubics, absolute or relative. Anything else that would
leave ink is refused, for it could not be measured. Rules after SVG 1.1: 7.7 and 7.8 (viewBox), 7.6
(transform), 8.3 (path data).
"""

import functools
import pathlib
import re
from collections.abc import Iterator
from typing import NamedTuple
from xml.etree import ElementTree

import numpy as np
from numpy.typing import NDArray

from geometry.core.errors import RefusedError, why
from geometry.core.say import say
from sheets.files.read.pieces import CURVE, LINE, MOVE, Bools, Floats, RawPath, ReadLine, ReadPage, read_page

Matrix = tuple[float, float, float, float, float, float]
"""a to f of SVG 1.1, 7.4: x is ax + cy + e, y is bx + dy + f."""

_SVG = "{http://www.w3.org/2000/svg}"
_LINK = "{http://www.w3.org/1999/xlink}href"
_CAPITAL = 0.7
"""Height of a capital to its type size, as labels are set."""
_SILENT = {"title", "desc", "metadata", "defs", "style"}
_INHERITED = ("fill", "stroke", "stroke-width")
_TOKEN = re.compile(r"[A-Za-z]|[-+]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)|[^\s,]")
_TRANSFORM = re.compile(r"\s*,?\s*(\w+)\s*\(([^)]*)\)")
_NUMBERS = {"M": 2, "L": 2, "H": 1, "V": 1, "C": 6, "S": 4}
"""How many numbers a step takes by its letter."""
_KINDS = {"M": MOVE, "L": LINE, "H": LINE, "V": LINE, "C": CURVE, "S": CURVE, "Z": LINE}


def read_svg(file: pathlib.Path) -> ReadPage:
    """Return the page that `file` holds. Raises ValueError for anything that cannot be measured."""
    return _read(file.read_bytes())


# A job that is drawn again gives the same bytes, of which nothing else can be read.
@functools.lru_cache(maxsize=16)
def _read(data: bytes) -> ReadPage:
    try:
        root = ElementTree.fromstring(data)
    except ElementTree.ParseError as error:
        raise RefusedError(say("readback.no_svg", reason=why(error))) from error
    width, height = (_millimetres(root.get(side, "")) for side in ("width", "height"))
    left, top, wide, high = map(float, root.get("viewBox", "").replace(",", " ").split())
    if abs(width / wide - height / high) > 1e-9:
        raise RefusedError(say("readback.view_box"))
    scale = width / wide
    page = (scale, 0.0, 0.0, -scale, -left * scale, height + top * scale)
    kept = {str(each.get("id")): each for defs in root.iter(f"{_SVG}defs") for each in defs}
    found = _Ink([], [], [])
    _gather(found, root, page, {"fill": "black", "stroke": "none", "stroke-width": "1"}, kept)
    blocks = [(*each.places.min(axis=0), *each.places.max(axis=0)) for each in found.lines]
    return read_page([("page", 0.0, 0.0, width, height)], _placed(found), blocks, found.lines)


class _Ink(NamedTuple):
    """What inks, in order: lines of text, and paths where they stand themselves, each with its matrix."""

    lines: list[ReadLine]
    paths: list[RawPath]
    matrices: list[Matrix]


def _placed(ink: _Ink) -> list[RawPath]:
    """Return the paths where they lie on the page, all moved at once: a page has thousands of letters."""
    counts = [len(each.points) for each in ink.paths]
    if not counts:
        return []
    x, y = np.concatenate([each.points for each in ink.paths]).T
    a, b, c, d, e, f = np.repeat(np.array(ink.matrices), counts, axis=0).T
    points = np.column_stack((x * a + y * c + e, x * b + y * d + f))
    stops = np.cumsum(counts).tolist()
    return [
        RawPath(points[stop - count : stop], each.kinds, each.closes, each.reach)
        for each, count, stop in zip(ink.paths, counts, stops, strict=True)
    ]


def _gather(
    ink: _Ink,
    element: ElementTree.Element,
    matrix: Matrix,
    style: dict[str, str],
    kept: dict[str, ElementTree.Element],
) -> None:
    """Add what an element and all within it ink."""
    if (turned := element.get("transform")) is not None:
        matrix = _times(matrix, _transform(turned))
    if own := {key: value for key in _INHERITED if (value := element.get(key)) is not None}:
        style = style | own
    name = element.tag.removeprefix(_SVG)
    a, b, c, d, e, f = matrix
    if name in ("svg", "g"):
        for child in element:
            _gather(ink, child, matrix, style, kept)
    elif name == "path":
        stroked = style["stroke"] != "none" and float(style["stroke-width"]) > 0
        if stroked or style["fill"] != "none":
            width = float(style["stroke-width"]) * abs(a * d - b * c) ** 0.5 if stroked else 0.0
            points, kinds, flags = _path(element.get("d", ""))
            ink.paths.append(RawPath(points, kinds, flags, width / 2))
            ink.matrices.append(matrix)
    elif name == "use" and (target := kept.get(element.get(_LINK, "").removeprefix("#"))) is not None:
        at = (1.0, 0.0, 0.0, 1.0, float(element.get("x", "0")), float(element.get("y", "0")))
        _gather(ink, target, _times(matrix, at), style, kept)
    elif name == "text":
        size, long = (float(element.get(key, "nan")) for key in ("font-size", "textLength"))
        corners = np.array(((0.0, 0.0), (long, 0.0), (0.0, -_CAPITAL * size)))
        ink.lines.append(ReadLine(element.text or "", size, corners @ ((a, b), (c, d)) + (e, f)))
    elif name not in _SILENT:
        raise RefusedError(say("readback.element", name=name))


@functools.lru_cache(maxsize=256)
def _path(data: str) -> tuple[Floats, NDArray[np.int8], Bools]:
    """Return path data as points, the kind of each, and whether a subpath closes after it."""
    points: list[complex] = []
    kinds: list[int] = []
    closes: list[int] = []
    # The pen, the start of its subpath, and its last control mirrored, where a smooth curve's first lies.
    pen = begun = ahead = 0j
    closed = True
    for letter, numbers in _steps(data):
        name, base = letter.upper(), pen if letter.islower() else 0j
        if name == "Z":
            closes.append(len(points) - 1)
            pen, ahead, closed = begun, begun, True
            continue
        if closed and name != "M":
            # After Z the pen is back at the subpath's start, from where another may go on.
            points.append(begun)
            kinds.append(MOVE)
        closed = False
        if name in "HV":
            pen = (
                complex(base.real + numbers[0], pen.imag)
                if name == "H"
                else complex(pen.real, base.imag + numbers[0])
            )
            found = [pen]
        else:
            found = [base + complex(*pair) for pair in zip(numbers[::2], numbers[1::2], strict=True)]
            if name == "S":
                found.insert(0, ahead)
            pen = found[-1]
        if name == "M":
            begun = pen
        points += found
        kinds += [_KINDS[name]] * len(found)
        ahead = 2 * pen - found[1] if name in "CS" else pen
    placed = np.array(points, complex)
    flags = np.zeros(len(points), bool)
    flags[closes] = True
    flat = np.column_stack((placed.real, placed.imag))
    return flat, np.array(kinds, np.int8), flags


def _steps(data: str) -> Iterator[tuple[str, list[float]]]:
    """Yield each step of path data, its letter and its numbers; a letter left out is the one before."""
    tokens = _TOKEN.findall(data)
    at, letter = 0, ""
    while at < len(tokens):
        if tokens[at].isalpha():
            letter, at = tokens[at], at + 1
        elif letter in ("", "z", "Z"):
            raise _unread(tokens, at)
        count = _NUMBERS.get(letter.upper(), 0)
        if letter.upper() not in _KINDS or (not at - 1 and letter.upper() != "M"):
            raise _unread(tokens, at)
        try:
            numbers = [float(each) for each in tokens[at : at + count]]
        except ValueError as error:
            raise _unread(tokens, at) from error
        if len(numbers) != count:
            raise _unread(tokens, at)
        yield letter, numbers
        at += count
        # Pairs that follow a move are lines.
        letter = {"M": "L", "m": "l"}.get(letter, letter)


def _unread(tokens: list[str], at: int) -> RefusedError:
    return RefusedError(say("readback.path_data", data=" ".join(tokens[max(0, at - 1) : at + 7])))


def _times(one: Matrix, two: Matrix) -> Matrix:
    """Return the matrix that applies the second first."""
    (a, b, c, d, e, f), (g, h, i, j, k, m) = one, two
    return a * g + c * h, b * g + d * h, a * i + c * j, b * i + d * j, a * k + c * m + e, b * k + d * m + f


def _transform(text: str) -> Matrix:
    """Return the matrix of a transform attribute: matrix, translate and scale, in the order given."""
    matrix: Matrix = (1.0, 0.0, 0.0, 1.0, 0.0, 0.0)
    end = 0
    for step in _TRANSFORM.finditer(text):
        values = [float(number) for number in step[2].replace(",", " ").split()]
        match step[1], values:
            case "matrix", [a, b, c, d, e, f]:
                matrix = _times(matrix, (a, b, c, d, e, f))
            case "translate", [x, *rest] if len(rest) < 2:
                matrix = _times(matrix, (1.0, 0.0, 0.0, 1.0, x, rest[0] if rest else 0.0))
            case "scale", [x, *rest] if len(rest) < 2:
                matrix = _times(matrix, (x, 0.0, 0.0, rest[0] if rest else x, 0.0, 0.0))
            case _:
                raise RefusedError(say("readback.transform", text=step[0].strip()))
        end = step.end()
    if text[end:].strip():
        raise RefusedError(say("readback.transform", text=text))
    return matrix


def _millimetres(text: str) -> float:
    if not (match := re.fullmatch(r"\s*([0-9.]+)mm\s*", text)):
        raise RefusedError(say("readback.no_mm", text=text))
    return float(match[1])
