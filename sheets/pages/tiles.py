"""A full-size view too large for its paper, on several pages of one size that are laid together.

Every page has its own title block, bars and arrows of direction, so that it can be measured and cannot be
mistaken for the other view; between them lies the tile's window onto the big drawing. How windows overlap,
where register marks stand and how ink is cut is said in sheets.ink.tiling. A view's `draw` calls `mark_joins`
after its lines and before its labels; joined pages are measured by sheets/files/read/joins.py.
"""

import itertools
import math
from collections.abc import Callable, Sequence
from dataclasses import replace

from fonts.drafting import LINE_PITCH, width, wrap
from geometry.core.errors import FitError, Problem
from geometry.core.frozen import dataclass
from geometry.core.say import named, say
from sheets.ink.drawing import Drawing
from sheets.ink.marks import THICK, THIN, box, commands_of, polyline
from sheets.ink.placing import Box, grown
from sheets.ink.records import Command, Commands, Feature, Part, Point, Sheet, Tile, View
from sheets.ink.tiling import MOST_TILES, OVERLAP, Grid, cut, grids, needed
from sheets.pages.frame import Page, finish
from sheets.pages.view import Look
from sheets.words.tell import tell

_STRIP = 37.5
"""Height of the strip below the window: map, words and arrows of direction, mm."""
_EDGE = 5.5
"""Width of the border round the window, for the neighbours' names, mm."""
_AIR = 2.0
"""Kept free along the edges of the big drawing, mm."""
_MAP = (36.0, 35.0)
_GAP = 4.0
_READ = 3.5
_WIDE, _NARROW = (7.0, 5.0, 79.0), (5.0, 3.5, 58.0)
"""Two ways to letter the words: the view, row and column, mm high, and how to join, mm wide."""
_BEFORE = 1000
"""More parts than a page has before its tile's drawing is put on it."""
_NAMING = 3
"""The first row of the words that tell how to join tiles; those before it are a paragraph each."""
_HATCH = 2.0
_ASIDES = (None, 0.5, 0.25, 0.75, 0.05, 0.95)
"""How far across the big drawing a view is tried: as lay_out thinks best, then the middle and the sides."""
_DROPS = (0.0, 5.0, 10.0)
"""How far below the top of the big drawing a view is tried, mm."""
_WHOLE = ("dummy axle", "hole near", "hole far")
"""Circles that should be whole on some tile, because they are cut out or drilled through it."""


@dataclass(frozen=True, slots=True)
class Large:
    """A view that needs tiles: what its pages say, how large it is, and how to draw it.

    `draw` draws the view into a page whose zone is the whole big drawing, for a grid of windows, and returns
    how it lies there; `figure` draws the arrows of direction into a page's zone. `extent` is what must be
    shown, (wide, high) in mm. `head` is what its tiles say large instead of the view.
    """

    kind: str
    title: str
    view: View
    extent: tuple[float, float]
    draw: Callable[[Page, Grid, float | None], Look]
    figure: Callable[[Page, Look], None]
    head: str = ""
    bookmark: str = ""


def extent_of(points: Sequence[Point]) -> tuple[float, float]:
    """Return how wide and how high the box round points is, mm."""
    xs, ys = [x for x, _ in points], [y for _, y in points]
    return max(xs) - min(xs), max(ys) - min(ys)


def tiled(large: Large, empty: Callable[[], Page]) -> tuple[Sheet, ...]:
    """Return a view's tiles, row by row from the top left; `empty` furnishes a new page of the paper.

    The fewest tiles that have room for everything are taken, and among their places one that keeps axle and
    holes, and every label, whole on a tile, where there is one. Raise FitError, with the overshoot in mm,
    where MOST_TILES are not enough.
    """
    page = empty()
    window = _window(page.zone)
    size = (window[2] - window[0], window[3] - window[1])
    wide, high = large.extent
    extent = (wide + 2.0 + 2.0 * _AIR, high + 2.0 + 2.0 * _AIR)
    first: FitError | None = None
    for _, same in itertools.groupby(grids(extent, size), lambda grid: (grid.rows, grid.columns)):
        second: tuple[Page, Look, Grid] | None = None
        shaped = list(same)
        for grid in (*(replace(each, whole=_WHOLE) for each in shaped), *shaped):
            if second is not None and not grid.whole:
                break
            left, low, right, top = grown(grid.zone, -_AIR)
            for drop, aside in itertools.product(_DROPS, _ASIDES):
                zone = (left, low, right, top - drop)
                big = Page(page.paper, page.margin, Drawing(_BEFORE), zone, steps=page.steps)
                try:
                    look = large.draw(big, grid, aside)
                except FitError as error:
                    first = first or error
                    continue
                if all(grid.holds(box) for text, box in big.drawing.labels if text):
                    return _pages(large, empty, big, look, grid)
                second = second or (big, look, grid)
        if second is not None:
            return _pages(large, empty, *second)
    if first is not None:
        raise first
    raise _too_many(large, page, extent, size)


def _too_many(large: Large, page: Page, extent: tuple[float, float], size: tuple[float, float]) -> FitError:
    if min(size) < 4.0 * OVERLAP:
        small = say("paper.tile_too_small", paper=page.paper.name, wide=size[0], high=size[1])
        return FitError(Problem("paper.size", small))
    rows, columns = needed(extent, size)
    wide, tall = (
        want - most * have + (most - 1) * OVERLAP
        for want, have, most in (
            (extent[0], size[0], max(1, MOST_TILES // rows)),
            (extent[1], size[1], max(1, MOST_TILES // columns)),
        )
    )
    which = "wide_or_tall" if min(wide, tall) > 0.0 else "wide" if wide > 0.0 else "tall"
    return FitError(
        Problem(
            "paper.size",
            say(
                f"paper.tiles.{which}",
                sheet=named(f"sheet.{large.kind}"),
                count=rows * columns,
                paper=page.paper.name,
                margin=page.margin,
                most=MOST_TILES,
                wide=wide,
                tall=tall,
            ),
        )
    )


def _window(zone: Box) -> Box:
    """Return where a tile's window lies on its page; it is whole millimetres wide and high."""
    left, low = zone[0] + _EDGE, zone[1] + _STRIP + _EDGE
    return left, low, left + math.floor(zone[2] - _EDGE - left), low + math.floor(zone[3] - _EDGE - low)


def _pages(large: Large, empty: Callable[[], Page], big: Page, look: Look, grid: Grid) -> tuple[Sheet, ...]:
    try:
        return tuple(_tile(large, empty(), big, look, grid, place, _WIDE) for place in grid.places)
    except FitError:
        return tuple(_tile(large, empty(), big, look, grid, place, _NARROW) for place in grid.places)


def _tile(
    large: Large,
    page: Page,
    big: Page,
    look: Look,
    grid: Grid,
    at_place: tuple[int, int],
    words_size: tuple[float, float, float],
) -> Sheet:
    """Return one tile: its part of the big drawing, the map, the words, the arrows, the neighbours' names."""
    (row, column), (left, low, right, _) = at_place, page.zone
    shown, place = grid.window(row, column), _window(page.zone)
    origin = (place[0] - shown[0], place[1] - shown[1])
    tile = Tile(row, column, grid.rows, grid.columns, origin, shown)
    part = cut(big.drawing, grid, tile)
    page.drawing.draw(box(place[:2], place[2:]), THIN, "tile")
    _name_neighbours(page.drawing, place, grid, row, column)
    at = (left + 1.0, low + 1.0)
    wide = _draw_map(page.drawing, at, big.drawing.features, grid, row, column)
    words = left + 1.0 + wide + _GAP
    head = large.head or tell(f"frame.view.{large.view}")
    end = _letter_place(page.drawing, words, low + _STRIP - 1.8, tile, head, words_size)
    strip = Page(page.paper, page.margin, page.drawing, (end, low, right, low + _STRIP - 1.0))
    axle = (look.origin[0] + origin[0], look.origin[1] + origin[1])
    large.figure(strip, replace(look, origin=axle))
    title, bookmark = (
        tell("tiles.title", title=of, row=row, rows=grid.rows, column=column, columns=grid.columns)
        for of in (large.title, large.bookmark or large.title)
    )
    sheet = finish(page, large.kind, title, large.view, axle, full_size=True, bookmark=bookmark)
    return replace(
        sheet,
        records=(*sheet.records, *part.records),
        features=(*sheet.features, *part.features),
        tile=tile,
    )


def _name_neighbours(drawing: Drawing, window: Box, grid: Grid, row: int, column: int) -> None:
    """Letter along each edge of the window which tile joins there."""
    left, low, right, top = window
    across, up = (left + right) / 2.0, (low + top) / 2.0
    off = (_EDGE - _READ) / 2.0
    sides = (
        (row - 1, column, (across, top + off + 0.2), 0.0),
        (row + 1, column, (across, low - off - _READ + 0.2), 0.0),
        (row, column - 1, (left - off - 0.2, up), 90.0),
        (row, column + 1, (right + off + _READ - 0.2, up), 90.0),
    )
    for r, c, at, turn in sides:
        if 1 <= r <= grid.rows and 1 <= c <= grid.columns:
            drawing.letter(tell("tiles.neighbour", row=r, column=c), at, _READ, 0.5, turn, "tile")


def _draw_map(
    drawing: Drawing, at: Point, features: Sequence[Feature], grid: Grid, row: int, column: int
) -> float:
    """Draw the whole view small, with the tiles' seams and this tile hatched; return the map's width, mm."""
    _, _, wide, high = grid.zone
    scale = min(_MAP[0] / wide, _MAP[1] / high)
    for feature in features:
        if not feature.name.startswith(("register", "bar", "card", "caliper")):
            drawing.draw(_small(commands_of(feature), at, scale), THIN, "map")
    across, up = grid.seams
    xs, ys = [0.0, *across, wide], [0.0, *up, high]
    for x in xs:
        drawing.draw(polyline(_scaled(((x, 0.0), (x, high)), at, scale)), THIN, "map")
    for y in ys:
        drawing.draw(polyline(_scaled(((0.0, y), (wide, y)), at, scale)), THIN, "map")
    r = grid.rows - row
    low_corner, high_corner = _scaled(((xs[column - 1], ys[r]), (xs[column], ys[r + 1])), at, scale)
    drawing.draw(box(low_corner, high_corner), THICK, "map")
    w, h = high_corner[0] - low_corner[0], high_corner[1] - low_corner[1]
    for i in range(1, int((w + h) / _HATCH) + 1):
        # A hatch line x + y = i steps, from the cell's left or top side to its bottom or right.
        reach = i * _HATCH
        start = (max(0.0, reach - h), min(reach, h))
        end = (min(reach, w), max(0.0, reach - w))
        if end[0] - start[0] > 0.1:
            ends = [(low_corner[0] + x, low_corner[1] + y) for x, y in (start, end)]
            drawing.draw(polyline(ends), THIN, "map")
    drawing.reserve((at[0], at[1], at[0] + scale * wide, at[1] + scale * high))
    return scale * wide


def _scaled(points: Sequence[Point], at: Point, scale: float) -> list[Point]:
    return [(at[0] + scale * x, at[1] + scale * y) for x, y in points]


def _small(commands: Commands, at: Point, scale: float) -> Commands:
    out: list[Command] = []
    for command in commands:
        numbers = command[1:]
        moved = [value * scale + at[i % 2] for i, value in enumerate(numbers)]
        out.append((command[0], *moved))  # type: ignore[arg-type]
    return tuple(out)


def _letter_place(
    drawing: Drawing, left: float, top: float, tile: Tile, head: str, size: tuple[float, float, float]
) -> float:
    """Letter which tile of what this is, and how to join; return where the column of words ends, mm."""
    named, counted, wide = size
    rows = [
        (head, next((height for height in (named, counted) if width(head, height) <= wide), _READ)),
        (tell("tiles.row", row=tile.row, rows=tile.rows), counted),
        (tell("tiles.column", column=tile.column, columns=tile.columns), counted),
        *((row, _READ) for row in wrap(tell("tiles.how"), _READ, wide)),
    ]
    part: Part = ()
    y, before = top, len(drawing.labels)
    for number, (text, height) in enumerate(rows):
        y -= height
        if number <= _NAMING:
            part = drawing.part("P")
        drawing.letter(text, (left, y), height, layer="tile", part=part)
        y -= (LINE_PITCH - 1.0) * height
    return max(label[1][2] for label in drawing.labels[before:]) + _GAP
