"""Tiles laid together as read: their register marks must coincide, and what crosses a join must meet.

Pages are laid by their tiles' origins alone, as a builder lays them by the marks. Of each shared strip two
things are looked at: the marks that both pages bear, and every line that runs out at the upper sheet's edge.
"""

import math
import pathlib
from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np

from geometry.core.errors import Problem, ReadBackError
from geometry.core.say import Say, say
from geometry.printing.distortion import Distortion
from sheets.files.read.pdf import read_pdf
from sheets.files.read.pieces import Floats, ReadPage
from sheets.ink.corrected import on_paper
from sheets.ink.records import Segment, Sheet, Tile

JOIN = 0.02
"""How far apart what is drawn on both sides of a join may be, mm: twice what one page may be off."""
_MARK = "register "
_NEAR = 1.0
_OFF = 0.25
"""How far inside the edge of the sheet on top lines are followed across, mm."""
_FRAME = 0.1
"""Windows are inked round; lines this near their ends are that frame, mm."""
_BLEND = np.linspace(0.0, 1.0, 65)[:, None]

Laid = tuple[Say, ReadPage, Sheet, Tile]


def verify_joins(file: pathlib.Path, sheets: Sequence[Sheet], distortion: Distortion | None = None) -> float:
    """Return how far apart, mm, the worst two things are that should lie on each other at a join of tiles.

    `file` is the PDF with a page a sheet, `distortion` the printer's for which it was corrected. 0.0 where no
    sheet is a tile. Raise ReadBackError with a line for every join that is off by more than JOIN.
    """
    if all(sheet.tile is None for sheet in sheets):
        return 0.0
    largest = 0.0
    problems = []
    for one, two in _neighbours(_laid(file, sheets, distortion)):
        for what, amount in _apart(one, two):
            largest = max(largest, amount)
            if not amount <= JOIN:
                where = say("readback.two_pages", file=file.name, one=one[0], two=two[0])
                problems.append(Problem(where, say("readback.limit", what=what, limit=JOIN)))
    if problems:
        raise ReadBackError(*problems)
    return largest


def _laid(file: pathlib.Path, sheets: Sequence[Sheet], distortion: Distortion | None) -> list[Laid]:
    """Return the tiles of a file with their ink where the big drawing has it."""
    laid = []
    for number, (page, sheet) in enumerate(zip(read_pdf(file).pages, sheets, strict=True), start=1):
        if sheet.tile is None:
            continue
        laid.append(
            (say("readback.page_alone", page=number), moved(page, sheet, distortion), sheet, sheet.tile)
        )
    return laid


def moved(page: ReadPage, sheet: Sheet, distortion: Distortion | None) -> ReadPage:
    """Return a page's ink as it comes on paper, on the big drawing of a tile, else where it is."""

    def placed(points: Floats) -> Floats:
        if distortion is not None and sheet.full_size:
            points = on_paper(points, sheet.paper, distortion)
        return points if sheet.tile is None else points - np.array(sheet.tile.origin)

    lines = tuple(replace(line, places=placed(line.places)) for line in page.lines)
    return replace(page, corners=placed(page.corners), lines=lines)


def _neighbours(laid: Sequence[Laid]) -> Iterator[tuple[Laid, Laid]]:
    """Yield each pair of tiles of one drawing that share a strip: to the right, and below."""
    places: dict[tuple[int, int, int], Laid] = {}
    drawing = 0
    for each in laid:
        tile = each[3]
        # There may be several of a kind; each begins with its first tile.
        drawing += (tile.row, tile.column) == (1, 1)
        places[drawing, tile.row, tile.column] = each
    for (drawing, row, column), each in places.items():
        for other in ((drawing, row, column + 1), (drawing, row + 1, column)):
            if other in places:
                yield each, places[other]


def _apart(one: Laid, two: Laid) -> Iterator[tuple[Say, float]]:
    """Yield what is compared at a join and how far apart it is, mm."""
    first, second = ({f.name: f for f in sheet.features if _is_mark(f.name)} for _, _, sheet, _ in (one, two))
    shared = sorted(first.keys() & second.keys())
    if not shared:
        yield say("readback.no_mark"), math.inf
    for name in shared:
        amount = _mark_apart(one, first[name], two, second[name])
        yield say("readback.mark_apart", name=name, amount=amount), amount
    yield from _crossings_apart(one, two)


def _is_mark(name: str) -> bool:
    return name.startswith(_MARK) and not name.endswith("ring")


def _mark_apart(one: Laid, first: object, two: Laid, second: object) -> float:
    if not isinstance(first, Segment) or not isinstance(second, Segment):
        return math.inf
    ends = [_line_as_read(*each) for each in ((one, first), (two, second))]
    if ends[0] is None or ends[1] is None:
        return math.inf
    return float(np.hypot(*(ends[0] - ends[1]).T).max())


def _line_as_read(laid: Laid, wanted: Segment) -> Floats | None:
    """Return the ends of the line on a page that comes nearest to what is wanted, on the big drawing."""
    _, page, _, tile = laid
    want = np.array((wanted.start, wanted.end)) - np.array(tile.origin)
    lines = page.corners[~page.curved][:, (0, 3)]
    if not len(lines):
        return None
    forth = np.hypot(*np.moveaxis(lines - want, -1, 0)).max(1)
    back = np.hypot(*np.moveaxis(lines[:, ::-1] - want, -1, 0)).max(1)
    best = int(np.minimum(forth, back).argmin())
    if min(forth[best], back[best]) > _NEAR:
        return None
    found: Floats = lines[best] if forth[best] <= back[best] else lines[best][::-1]
    return found


def _crossings_apart(one: Laid, two: Laid) -> Iterator[tuple[Say, float]]:
    """Yield how far what crosses the edge of the sheet on top, on either page, lies from the other's ink."""
    first, second = one[3].window, two[3].window
    axis = 0 if one[3].row == two[3].row else 1
    low, high = max(first[axis], second[axis]), min(first[axis + 2], second[axis + 2])
    # The left and the upper sheet lie on top, and what runs out under their edge goes on below.
    middle = high - _OFF if axis == 0 else low + _OFF
    along = 1 - axis
    span = (
        max(first[along], second[along]) + _FRAME,
        min(first[along + 2], second[along + 2]) - _FRAME,
    )
    pieces = [_near(page, axis, middle) for _, page, _, _ in (one, two)]
    for mine, theirs, who in ((pieces[0], pieces[1], one[0]), (pieces[1], pieces[0], two[0])):
        for point in _crossings(mine, axis, middle, span):
            amount = _distance(point, theirs)
            at = f"{point[0]:.1f}, {point[1]:.1f}"
            yield say("readback.line_apart", sheet=who, at=at, amount=amount), amount


def _near(page: ReadPage, axis: int, middle: float) -> Floats:
    """Return as short straight lines (n, 2, 2) the pieces that come near a line across the drawing."""
    values = page.corners[:, :, axis]
    near = np.flatnonzero((values.min(1) <= middle + 1.0) & (values.max(1) >= middle - 1.0))
    p0, p1, p2, p3 = (page.corners[near, i][:, None] for i in range(4))
    t, rest = _BLEND, 1.0 - _BLEND
    points = rest**3 * p0 + 3.0 * rest**2 * t * p1 + 3.0 * rest * t**2 * p2 + t**3 * p3
    lines: Floats = np.stack((points[:, :-1], points[:, 1:]), axis=2).reshape(-1, 2, 2)
    return lines


def _crossings(lines: Floats, axis: int, middle: float, span: tuple[float, float]) -> Floats:
    """Return where lines cross a line over the drawing, within a span along it: (n, 2)."""
    start, end = lines[:, 0, axis] - middle, lines[:, 1, axis] - middle
    crossing = lines[(start < 0.0) != (end < 0.0)]
    start, end = crossing[:, 0, axis] - middle, crossing[:, 1, axis] - middle
    points = crossing[:, 0] + (start / (start - end))[:, None] * (crossing[:, 1] - crossing[:, 0])
    kept: Floats = points[(points[:, 1 - axis] > span[0]) & (points[:, 1 - axis] < span[1])]
    return kept


def _distance(point: Floats, lines: Floats) -> float:
    """Return how far a point is from the nearest of lines, mm; infinite where there is none."""
    if not len(lines):
        return math.inf
    run = lines[:, 1] - lines[:, 0]
    square = np.maximum((run * run).sum(1), 1e-18)
    share = np.clip(((point - lines[:, 0]) * run).sum(1) / square, 0.0, 1.0)
    return float(np.hypot(*(point - lines[:, 0] - share[:, None] * run).T).min())
