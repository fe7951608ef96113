"""Delivered files read by programs and libraries that the project does not use: what lines they find.

A page comes out as (width, height, lines) in mm, y up; a line is the vertices of one subpath, its cubics
followed in 24 steps, and it comes back to its start where the file closes it. Strokes with round ends are
lettering, thousands of them, and left aside.
"""

import io
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple
from xml.etree import ElementTree

import numpy as np
import svgelements
from numpy.typing import NDArray

from tests.outside_tools import run

Floats = NDArray[np.float64]
POINT = 25.4 / 72.0  # PDF's default unit, ISO 32000-1, 8.3.2.3
PIXEL = 25.4 / 96.0  # CSS's reference pixel
_T = np.linspace(0.0, 1.0, 25)[1:, None]


class Seen(NamedTuple):
    """A page as an outside reader sees it."""

    width: float
    height: float
    lines: list[Floats]


def pdf_by_mupdf(file: Path) -> list[Seen]:
    """Return the pages of a PDF as MuPDF's interpreter traces them, every path under its own matrix."""
    document = ElementTree.parse(io.StringIO(run("mutool", "trace", file)))
    pages = []
    for page in document.iter("page"):
        left, low, right, top = (float(value) for value in page.attrib["mediabox"].split())
        assert (left, low) == (0.0, 0.0)
        strokes = [each for each in page.iter("stroke_path") if each.get("linecap", "0").startswith("0")]
        lines = [line for each in (*strokes, *page.iter("fill_path")) for line in _traced(each)]
        # The trace has its origin at the top.
        turned = [np.column_stack([line[:, 0], top - line[:, 1]]) * POINT for line in lines]
        pages.append(Seen(right * POINT, top * POINT, turned))
    return pages


def _traced(path: ElementTree.Element) -> Iterator[Floats]:
    a, b, c, d, e, f = (float(value) for value in path.attrib["transform"].split())
    line: list[Floats] = []
    for step in path:
        numbers = np.array([float(value) for value in step.attrib.values()]).reshape(-1, 2)
        if step.tag == "moveto":
            if line:
                yield _placed(line, a, b, c, d, e, f)
            line = [numbers]
        elif step.tag == "lineto":
            line.append(numbers)
        elif step.tag == "curveto":
            line.append(_cubic(line[-1][-1], *numbers))
        else:
            assert step.tag == "closepath"
            line.append(line[0][:1])
    yield _placed(line, a, b, c, d, e, f)


def _placed(line: list[Floats], a: float, b: float, c: float, d: float, e: float, f: float) -> Floats:
    points: Floats = np.concatenate(line) @ np.array([[a, b], [c, d]]) + (e, f)
    return points


def svg_by_svgelements(file: Path) -> Seen:
    """Return an SVG as svgelements resolves it, viewport, viewBox and transforms included.

    Lettering is taken out before, which is nine tenths of what it would resolve.
    """
    tree = ElementTree.parse(file)
    for parent in [*tree.iter()]:
        for group in parent.findall("*[@stroke-linecap='round']"):
            parent.remove(group)
    plain = io.StringIO(ElementTree.tostring(tree.getroot(), encoding="unicode"))
    page = svgelements.SVG.parse(plain, reify=True, ppi=96.0)
    lines = []
    for path in page.elements(lambda element: isinstance(element, svgelements.Path)):
        line: list[Floats] = []
        for step in path:
            end = np.array([[step.end.x, step.end.y]]) if step.end is not None else None
            if isinstance(step, svgelements.Move):
                if line:
                    lines.append(np.concatenate(line))
                line = [end]
            elif isinstance(step, svgelements.CubicBezier):
                controls = np.array([[step.control1.x, step.control1.y], [step.control2.x, step.control2.y]])
                line.append(_cubic(line[-1][-1], *controls, end[0]))
            elif isinstance(step, svgelements.Close):
                line.append(line[0][:1])
            else:
                assert isinstance(step, svgelements.Line)
                line.append(end)
        lines.append(np.concatenate(line))
    height = float(page.height)
    turned = [np.column_stack([line[:, 0], height - line[:, 1]]) * PIXEL for line in lines]
    return Seen(float(page.width) * PIXEL, height * PIXEL, turned)


def _cubic(p0: Floats, p1: Floats, p2: Floats, p3: Floats) -> Floats:
    rest = 1.0 - _T
    curve: Floats = rest**3 * p0 + 3.0 * rest**2 * _T * p1 + 3.0 * rest * _T**2 * p2 + _T**3 * p3
    return curve
