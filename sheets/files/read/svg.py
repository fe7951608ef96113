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

from geometry.core.errors import RefusedError, why
from geometry.core.say import say
from sheets.files.read.pieces import CURVE, LINE, MOVE, Floats, RawPath, ReadPage, read_page

_SVG = "{http://www.w3.org/2000/svg}"
_SILENT = {"title", "desc", "metadata", "defs"}
_INHERITED = ("fill", "stroke", "stroke-width")
_STEP = re.compile(r"([A-Za-z])([^A-Za-z]*)")
_BEGINS = re.compile(r"\s*[A-Za-z]")
_Step = tuple[str, list[str]]
_TRANSFORM = re.compile(r"\s*,?\s*(\w+)\s*\(([^)]*)\)")
_NUMBERS = {"M": 2, "L": 2, "C": 6, "Z": 0}
_POINTS, _KINDS = np.zeros(128, np.intp), np.zeros(128, np.int8)
for _letter, _kind in (("M", MOVE), ("L", LINE), ("C", CURVE)):
    _POINTS[ord(_letter)], _KINDS[ord(_letter)] = _NUMBERS[_letter] // 2, _kind


def read_svg(file: pathlib.Path) -> ReadPage:
    """Return the page that `file` holds. Raises ValueError for anything that cannot be measured."""
    try:
        root = ElementTree.parse(file).getroot()
    except ElementTree.ParseError as error:
        raise RefusedError(say("readback.no_svg", reason=why(error))) from error
    width, height = (_millimetres(root.get(side, "")) for side in ("width", "height"))
    left, top, wide, high = map(float, root.get("viewBox", "").replace(",", " ").split())
    if abs(width / wide - height / high) > 1e-9:
        raise RefusedError(say("readback.view_box"))
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
        raise RefusedError(say("readback.element", name=name))


def _path(data: str, matrix: Floats, reach: float) -> RawPath:
    # A page has tens of thousands of steps, so all are taken apart at once.
    if data and not _BEGINS.match(data):
        raise RefusedError(say("readback.path_data", data=data[:20]))
    steps = [(letter, numbers.split()) for letter, numbers in _STEP.findall(data.replace(",", " "))]
    for letter, numbers in steps:
        if len(numbers) != _NUMBERS.get(letter):
            raise RefusedError(say("readback.path_data", data=" ".join((letter, *numbers))))
    letters = "".join([letter for letter, _ in steps])
    if "ZL" in letters or "ZC" in letters:
        steps = list(_moved_on(steps))
        letters = "".join([letter for letter, _ in steps])
    points = np.array([float(each) for _, numbers in steps for each in numbers]).reshape(-1, 2)
    codes = np.frombuffer(letters.encode("ascii"), np.uint8)
    count = _POINTS[codes]
    flags = np.zeros(len(points), bool)
    flags[np.cumsum(count)[codes == ord("Z")] - 1] = True
    kinds = np.repeat(_KINDS[codes], count)
    return RawPath(points @ matrix[:2, :2].T + matrix[:2, 2], kinds, flags, reach)


def _moved_on(steps: list[_Step]) -> Iterator[_Step]:
    """Yield steps with a move put in where a closed subpath is drawn on from.

    After Z the pen is back at the subpath's start, from where another may go on.
    """
    begun: list[str] = []
    closed = False
    for letter, numbers in steps:
        if letter == "M":
            begun = numbers
        elif letter != "Z" and closed:
            yield "M", begun
        closed = letter == "Z"
        yield letter, numbers


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
                raise RefusedError(say("readback.transform", text=step[0].strip()))
        end = step.end()
    if text[end:].strip():
        raise RefusedError(say("readback.transform", text=text))
    return matrix


def _millimetres(text: str) -> float:
    if not (match := re.fullmatch(r"\s*([0-9.]+)mm\s*", text)):
        raise RefusedError(say("readback.no_mm", text=text))
    return float(match[1])
