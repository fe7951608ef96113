"""An SVG as an XML parser reads it: its size and the paths with ink, in mm, y up.

It shares nothing with the writer but the file, and understands what such a file holds: a size in mm, a
viewBox, groups, transforms and paths of M, L, C and Z. Anything else that would leave ink is refused, for
it could not be measured. Rules after SVG 1.1: 7.7 and 7.8 (viewBox), 7.6 (transform), 8.3 (path data).
"""

import pathlib
import re
from collections.abc import Iterator
from xml.etree import ElementTree

import numpy as np

from sheets.files.read.pieces import CURVE, LINE, MOVE, Floats, RawPath, ReadPage, read_page

_SVG = "{http://www.w3.org/2000/svg}"
_SILENT = {"title", "desc", "metadata", "defs"}
_INHERITED = ("fill", "stroke", "stroke-width")
_STEP = re.compile(r"\s*([A-Za-z])([^A-Za-z]*)")
_TRANSFORM = re.compile(r"\s*,?\s*(\w+)\s*\(([^)]*)\)")
_NUMBERS = {"M": 2, "L": 2, "C": 6, "Z": 0}


def read_svg(file: pathlib.Path) -> ReadPage:
    """Return the page that `file` holds. Raises ValueError for anything that cannot be measured."""
    try:
        root = ElementTree.parse(file).getroot()
    except ElementTree.ParseError as error:
        raise ValueError(f"not a readable SVG ({error})") from error
    width, height = (_millimetres(root.get(side, "")) for side in ("width", "height"))
    left, top, wide, high = map(float, root.get("viewBox", "").replace(",", " ").split())
    if abs(width / wide - height / high) > 1e-9:
        raise ValueError("the viewBox has another shape than the page")
    scale = width / wide
    page = np.array(((scale, 0, -left * scale), (0, -scale, height + top * scale), (0, 0, 1)))
    paths = _inked(root, page, {"fill": "black", "stroke": "none", "stroke-width": "1"})
    return read_page([("page", 0.0, 0.0, width, height)], list(paths))


def _inked(element: ElementTree.Element, matrix: Floats, style: dict[str, str]) -> Iterator[RawPath]:
    matrix = matrix @ _transform(element.get("transform", ""))
    style = style | {key: value for key in _INHERITED if (value := element.get(key)) is not None}
    name = element.tag.removeprefix(_SVG)
    if name in ("svg", "g"):
        for child in element:
            yield from _inked(child, matrix, style)
    elif name == "path":
        stroked = style["stroke"] != "none" and float(style["stroke-width"]) > 0
        if stroked or style["fill"] != "none":
            width = float(style["stroke-width"]) * abs(np.linalg.det(matrix)) ** 0.5 if stroked else 0.0
            yield _path(element.get("d", ""), matrix, width / 2)
    elif name not in _SILENT:
        raise ValueError(f"<{name}> cannot be measured")


def _path(data: str, matrix: Floats, reach: float) -> RawPath:
    values: list[str] = []
    kinds: list[int] = []
    closes: list[int] = []
    begun = 0
    end = 0
    for step in _STEP.finditer(data):
        letter, numbers = step[1], step[2].replace(",", " ").split()
        wanted = _NUMBERS.get(letter)
        if wanted is None or len(numbers) != wanted or step.start() != end:
            raise ValueError(f"path data {step[0].strip()!r} cannot be measured")
        end = step.end()
        if letter == "Z":
            closes.append(len(kinds) - 1)
            continue
        if letter == "M":
            begun = len(values)
            kinds.append(MOVE)
        else:
            if closes and closes[-1] == len(kinds) - 1:
                # After Z the pen is back at the subpath's start, from where another may go on.
                values += values[begun : begun + 2]
                kinds.append(MOVE)
            kinds += [LINE] if letter == "L" else [CURVE] * 3
        values += numbers
    if end != len(data):
        raise ValueError(f"path data {data[end:][:20]!r} cannot be measured")
    points = np.fromiter(map(float, values), float, len(values)).reshape(-1, 2)
    flags = np.zeros(len(kinds), bool)
    flags[closes] = True
    return RawPath(points @ matrix[:2, :2].T + matrix[:2, 2], np.array(kinds, np.int8), flags, reach)


def _transform(text: str) -> Floats:
    """Return the matrix of a transform attribute: matrix, translate and scale, in the order given."""
    matrix = np.eye(3)
    end = 0
    for step in _TRANSFORM.finditer(text):
        values = [float(number) for number in step[2].replace(",", " ").split()]
        match step[1], values:
            case "matrix", [a, b, c, d, e, f]:
                matrix = matrix @ np.array(((a, c, e), (b, d, f), (0, 0, 1)))
            case "translate", [x, *rest] if len(rest) < 2:
                matrix = matrix @ np.array(((1, 0, x), (0, 1, rest[0] if rest else 0), (0, 0, 1)))
            case "scale", [x, *rest] if len(rest) < 2:
                matrix = matrix @ np.diag((x, rest[0] if rest else x, 1))
            case _:
                raise ValueError(f"transform {step[0].strip()!r} cannot be measured")
        end = step.end()
    if text[end:].strip():
        raise ValueError(f"transform {text!r} cannot be measured")
    return matrix


def _millimetres(text: str) -> float:
    if not (match := re.fullmatch(r"\s*([0-9.]+)mm\s*", text)):
        raise ValueError(f"the size {text!r} is not in mm")
    return float(match[1])
