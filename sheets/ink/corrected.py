"""A sheet for a printer that is off: the file drawn the other way by as much, so that the paper comes true.

Lines and cubics are mapped by an affine map, which is exact: a mapped cubic is the cubic of its mapped
points. Everything is mapped about the page's centre, and the page stays as it is.
"""

from collections.abc import Callable
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from geometry.core.errors import FitError, Problem
from geometry.core.say import named, say
from geometry.printing.distortion import Distortion
from sheets.ink.bounds import sheet_bounds
from sheets.ink.records import Command, Label, Paper, Path, Point, Record, Sheet

_MAP = Callable[[float, float], Point]


def in_file(sheet: Sheet, distortion: Distortion | None) -> Sheet:
    """Return the sheet as its file has it; itself without a distortion, or where it is not at full size.

    A corrected sheet has no features: what they say holds on the paper. Raise FitError, with the overshoot
    in mm, where ink would leave the page.
    """
    if distortion is None or not sheet.full_size:
        return sheet
    mapped = _map(sheet.paper, distortion)
    records: tuple[Record, ...] = tuple(
        replace(
            path,
            commands=tuple(_moved(command, mapped) for command in path.commands),
            labels=tuple(_turned(label, mapped) for label in path.labels),
        )
        for path in sheet.paths
    )
    _refuse_overshoot(sheet, records)
    return replace(sheet, records=records, features=(), axle=mapped(*sheet.axle))


def point_in_file(point: Point, paper: Paper, distortion: Distortion) -> Point:
    """Return where a point of the paper, mm from its lower left corner, lies in a corrected file."""
    return _map(paper, distortion)(*point)


def on_paper(points: NDArray[np.float64], paper: Paper, distortion: Distortion) -> NDArray[np.float64]:
    """Return where points (..., 2) of a corrected file lie on the paper, mm; the inverse of the above."""
    centre = np.array((paper.width / 2.0, paper.height / 2.0))
    mapped: NDArray[np.float64] = (points - centre) @ distortion.matrix.T + centre
    return mapped


def _map(paper: Paper, distortion: Distortion) -> _MAP:
    (a, b), (c, d) = distortion.inverse.tolist()
    x0, y0 = paper.width / 2.0, paper.height / 2.0

    def mapped(x: float, y: float) -> Point:
        x, y = x - x0, y - y0
        return x0 + a * x + b * y, y0 + c * x + d * y

    return mapped


def _moved(command: Command, mapped: _MAP) -> Command:
    match command:
        case ("L", x, y):
            return ("L", *mapped(x, y))
        case ("C", x1, y1, x2, y2, x, y):
            return ("C", *mapped(x1, y1), *mapped(x2, y2), *mapped(x, y))
        case ("M", x, y):
            return ("M", *mapped(x, y))
        case _:
            return command


def _turned(label: Label, mapped: _MAP) -> Label:
    """Return a label where the map puts it: its matrix, of which the map is taken at three points."""
    a, b, c, d, e, f = label.matrix
    (x, y), (p, q), (r, s) = mapped(e, f), mapped(e + a, f + b), mapped(e + c, f + d)
    return replace(label, matrix=(p - x, q - y, r - x, s - y, x, y))


def _refuse_overshoot(sheet: Sheet, records: tuple[Record, ...]) -> None:
    if not any(path.commands for path in records if isinstance(path, Path)):
        return
    left, low, right, top = sheet_bounds(records)
    over = max(-left, -low, right - sheet.paper.width, top - sheet.paper.height)
    if over > 0.0:
        raise FitError(
            Problem(
                "paper.margin",
                say(
                    "paper.beyond",
                    sheet=named(f"sheet.{sheet.kind}"),
                    over=over,
                    margin=sheet.margin + over + 0.05,
                ),
            )
        )
