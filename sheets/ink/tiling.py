"""A drawing larger than its paper, cut into tiles that overlap and can be laid together again.

The big drawing has coordinates of its own, mm from its lower-left corner, y up. It is covered by windows of
one size in rows, counted from the top, and columns, counted from the left; neighbours share a strip. Along
the middle of each strip stand register marks, which both neighbours show. On a tile's page everything is
moved by the tile's `origin`: big drawing = page - origin.
"""

import itertools
import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from fonts.drafting import width
from geometry.core.errors import FitError, Problem
from geometry.core.frozen import dataclass
from geometry.core.plane import angle_of
from geometry.core.say import named, say
from sheets.ink.clip import Piece, cut_fill, cut_strokes, ends_of, length_of
from sheets.ink.drawing import Drawing
from sheets.ink.marks import THIN, lettered, shifted, strokes
from sheets.ink.placing import Box, grown, inside
from sheets.ink.records import (
    Arc,
    Circle,
    Command,
    Curve,
    Feature,
    Label,
    Path,
    Point,
    Record,
    Segment,
    Slot,
    Style,
    Tile,
)

OVERLAP = 14.0
"""Width of the strip that neighbours share, mm: room for a register mark and its letter (own judgement)."""
MOST_TILES = 12
"""More tiles than this are refused: every join adds its own error of hand (own judgement)."""
_ARM = 4.0
_RING = 4.0
"""Arm and ring of a register mark, mm."""
_LETTER = 3.5
_CLEAR = 0.3
"""Half of the band along the upper sheet's edge that labels keep out of, mm."""
_SHORTEST = 0.02
"""Pieces shorter than this are left out, mm: a line that just touches a window's corner."""


@dataclass(frozen=True, slots=True)
class Grid:
    """Windows of `size` (wide, high) in rows and columns; neighbours share strips of `overlap` (wide, high).

    Circles named in `whole` must each lie in one window. All lengths in mm.
    """

    size: tuple[float, float]
    rows: int
    columns: int
    overlap: tuple[float, float] = (OVERLAP, OVERLAP)
    whole: tuple[str, ...] = ()

    @property
    def zone(self) -> Box:
        """Return the box that all windows cover together, from the origin of the big drawing, mm."""
        across, up = self._steps
        return 0.0, 0.0, (self.columns - 1) * across + self.size[0], (self.rows - 1) * up + self.size[1]

    @property
    def _steps(self) -> tuple[float, float]:
        return self.size[0] - self.overlap[0], self.size[1] - self.overlap[1]

    @property
    def places(self) -> list[tuple[int, int]]:
        """Return (row, column) of every tile, counted from 1, from the top row's left."""
        return [(row, column) for row in range(1, self.rows + 1) for column in range(1, self.columns + 1)]

    def window(self, row: int, column: int) -> Box:
        """Return what a tile shows of the big drawing, mm."""
        across, up = self._steps
        left, low = (column - 1) * across, (self.rows - row) * up
        return left, low, left + self.size[0], low + self.size[1]

    def holds(self, box: Box) -> bool:
        """Tell whether a box of the big drawing lies whole on some tile."""
        return any(inside(box, self.window(*place)) for place in self.places)

    @property
    def seams(self) -> tuple[list[float], list[float]]:
        """Return where the middles of the shared strips lie: their x, left to right, and their y, upward."""
        (across, up), (wide, high) = self._steps, self.overlap
        return (
            [i * across + wide / 2.0 for i in range(1, self.columns)],
            [i * up + high / 2.0 for i in range(1, self.rows)],
        )


def needed(extent: tuple[float, float], size: tuple[float, float]) -> tuple[int, int]:
    """Return the fewest rows and columns of windows of a size that cover an extent (wide, high), mm."""
    columns, rows = (
        max(1, math.ceil((want - OVERLAP) / (have - OVERLAP) - 1e-9))
        for want, have in zip(extent, size, strict=True)
    )
    return rows, columns


def grids(extent: tuple[float, float], size: tuple[float, float]) -> Iterator[Grid]:
    """Yield grids that cover an extent (wide, high), the fewest tiles first, up to MOST_TILES.

    Where windows have room to spare, wider strips are tried too: what lies in a strip is on both tiles.
    """
    if min(size) < 4.0 * OVERLAP:
        return
    rows, columns = needed(extent, size)
    found = [
        (r * c, r, c)
        for r in range(rows, MOST_TILES + 1)
        for c in range(columns, MOST_TILES + 1)
        if 1 < r * c <= MOST_TILES
    ]
    for _, r, c in sorted(found):
        wides, highs = (_overlaps(want, have, n) for want, have, n in zip(extent, size, (c, r), strict=True))
        for overlap in sorted(itertools.product(wides, highs)):
            yield Grid(size, r, c, overlap)


def _overlaps(want: float, have: float, count: int) -> list[float]:
    """Return how wide the strips between windows may be, mm: as ever, or what room there is to spare."""
    if count == 1:
        return [OVERLAP]
    widest = math.floor(min((count * have - want) / (count - 1), 2.0 * OVERLAP))
    return [OVERLAP, float(widest)] if widest > OVERLAP else [OVERLAP]


def mark_joins(drawing: Drawing, grid: Grid) -> None:
    """Draw two lettered register marks on every join, where the lines drawn so far leave most room.

    The left and the upper sheet lie on top. Later labels are kept off those sheets' edges, so that each lies
    whole on a tile and is not covered. Features "register A, ring",
    "register A, across" and "register A, down" are found on both neighbours. Raise FitError where a circle
    that must be whole on a tile is not.
    """
    for feature in drawing.features:
        if not isinstance(feature, Circle) or feature.name not in grid.whole:
            continue
        if not grid.holds(grown((*feature.centre, *feature.centre), feature.diameter / 2.0 + 1.0)):
            part = named(f"feature.{feature.name.replace(' ', '_')}")
            raise FitError(Problem("paper.size", say("paper.cut_by_tile", part=part)))
    lines = drawing.obstacles()
    count = 0
    for ends in _joins(grid):
        for wanted in ends:
            # The roomiest place; among those with room enough the first.
            at = max(wanted, key=lambda place: round(min(_room(place, lines), _ARM + 2.0), 1))
            name, count = _letters(count), count + 1
            x, y = at
            drawing.show(Circle(f"register {name}, ring", at, _RING), THIN, "register")
            drawing.show(Segment(f"register {name}, across", (x - _ARM, y), (x + _ARM, y)), THIN, "register")
            drawing.show(Segment(f"register {name}, down", (x, y + _ARM), (x, y - _ARM)), THIN, "register")
            # However long the letters, both neighbours show them whole.
            aside = min(2.3, OVERLAP / 2.0 - 0.7 - width(name, _LETTER))
            drawing.letter(name, (x + aside, y + 1.6), _LETTER, layer="register")
            drawing.reserve((x - _ARM, y - _ARM, x + _ARM, y + _ARM))
    for edge in _edges(grid):
        drawing.reserve(edge)


def _edges(grid: Grid) -> list[Box]:
    """Return the bands along the edges of sheets that lie on top of their neighbours, mm."""
    left, low, right, top = grid.zone
    (half, tall), (across, up) = (each / 2.0 for each in grid.overlap), grid.seams
    return [
        *((x + half - _CLEAR, low, x + half + _CLEAR, top) for x in across),
        *((left, y - tall - _CLEAR, right, y - tall + _CLEAR) for y in up),
    ]


def _joins(grid: Grid) -> Iterator[tuple[list[Point], list[Point]]]:
    """Yield, for each pair of neighbours, the places that its two marks may have, the best first."""
    across, up = grid.seams
    for row, column in grid.places:
        left, low, right, top = grid.window(row, column)
        # Clear of the corners, where four tiles meet and a mark would be cut by the other two.
        beside, above = (each + 6.0 for each in grid.overlap)
        # In a strip that is wider than need be they may stand off its middle, too.
        aside, off = ([0.0, s, -s] for s in ((each - OVERLAP) / 2.0 for each in grid.overlap))
        if column < grid.columns:
            x, steps = across[column - 1], [above + i * 3.0 for i in range(_tries(top - low, above))]
            yield (
                [(x + a, top - s) for s in steps for a in aside],
                [(x + a, low + s) for s in steps for a in aside],
            )
        if row < grid.rows:
            y, steps = (
                up[grid.rows - row - 1],
                [beside + i * 3.0 for i in range(_tries(right - left, beside))],
            )
            yield (
                [(left + s, y + a) for s in steps for a in off],
                [(right - s, y + a) for s in steps for a in off],
            )


def _tries(run: float, inset: float) -> int:
    """Return how many places 3 mm apart a mark may have along its half of a join, less a wide middle."""
    return max(1, int((run / 2.0 - inset - 12.0) / 3.0))


def _room(place: Point, lines: NDArray[np.float64]) -> float:
    """Return how far the nearest of lines (n, 4) is from a place, mm."""
    if not len(lines):
        return math.inf
    start, run = lines[:, :2], lines[:, 2:] - lines[:, :2]
    square = np.maximum((run * run).sum(1), 1e-18)
    share = np.clip(((np.array(place) - start) * run).sum(1) / square, 0.0, 1.0)
    return float(np.hypot(*(np.array(place) - start - share[:, None] * run).T).min())


def _letters(number: int) -> str:
    """Return A to Z, then AA, AB and so on."""
    tens, ones = divmod(number, 26)
    return (_letters(tens - 1) if tens else "") + chr(ord("A") + ones)


@dataclass(frozen=True, slots=True)
class Cut:
    """What one tile shows of the big drawing, on the tile's page: its records and its features."""

    records: tuple[Record, ...]
    features: tuple[Feature, ...]


def cut(drawing: Drawing, grid: Grid, tile: Tile) -> Cut:
    """Return a big drawing's ink and features inside the window of a tile, moved to its page.

    A feature wholly inside stays what it is. What is left of another is named with its piece: "rotor edge,
    piece 1"; of circles and arcs there are arcs, of a slot's outline segments and arcs. A label that is not
    whole in the window is left out where a sheet that lies on top has it whole. One that runs over the edge
    of such a sheet is cut as all ink is: half of it is read on either. Dashes go on across a cut.
    """
    window = tile.window
    every = [grid.window(*place) for place in grid.places]
    hidden = {each: _hidden(drawing, grid, each) for each in every}
    features = {feature.name: feature for feature in drawing.features}
    records: list[Record] = []
    found: list[Feature] = []
    for record in drawing.records():
        # Running text stands on cards alone, and those are never tiled.
        assert isinstance(record, Path)
        feature = features.get(record.name) if record.name else None
        if record.labels:
            records += _lettered(record, hidden, window, tile.origin)
            continue
        if feature is None:
            records += _unnamed(record, window, tile.origin)
            continue
        pieces = _strokes(record, window)
        if len(pieces) == 1 and pieces[0].whole:
            parts = [(feature, pieces[0])]
        else:
            parts = [(_part(feature, piece), piece) for piece in pieces]
        for number, (part, piece) in enumerate(parts, start=1):
            called = part.name if piece.whole else f"{part.name}, piece {number}"
            style = _going_on(record.style, piece)
            records.append(Path(shifted(piece.commands, tile.origin), style, record.layer, called))
            found += [_moved(each, tile.origin) for each in _named(part, called, piece)]
    return Cut(tuple(records), tuple(found))


def _hidden(drawing: Drawing, grid: Grid, window: Box) -> list[Box]:
    """Return where labels lie that a window leaves out, because a sheet on top has them whole."""
    edges = _edges(grid)
    return [
        near
        for text, box in drawing.labels
        if text and not inside(box, window) and not _apart(box, window) and grid.holds(box)
        for near in [grown(box, 0.6)]
        if all(_apart(near, edge) for edge in edges)
    ]


def _apart(box: Box, window: Box) -> bool:
    return box[0] >= window[2] or box[1] >= window[3] or box[2] <= window[0] or box[3] <= window[1]


def _lettered(path: Path, hidden: Mapping[Box, Sequence[Box]], window: Box, origin: Point) -> Iterator[Path]:
    """Yield lettering without the labels that a window leaves out; `hidden` has where, for every window.

    A label that any window cuts is no label, but ink, on all of them: its two halves must meet.
    """
    whole: list[Label] = []
    cut_off: list[Command] = []
    for label in path.labels:
        commands = strokes(label)
        xs, ys = zip(*ends_of(commands), strict=True)
        box = (min(xs), min(ys), max(xs), max(ys))
        shown = {
            each: not inside(box, each)
            for each, left_out in hidden.items()
            if not _apart(box, each) and not any(inside(box, near) for near in left_out)
        }
        if window not in shown:
            continue
        if any(shown.values()):
            cut_off += commands
        else:
            a, b, c, d, e, f = label.matrix
            whole.append(replace(label, matrix=(a, b, c, d, e + origin[0], f + origin[1])))
    if whole:
        yield lettered(whole, path.style, path.layer)
    yield from _unnamed(replace(path, commands=tuple(cut_off), labels=()), window, origin)


def _strokes(path: Path, window: Box) -> list[Piece]:
    pieces = cut_strokes(path.commands, window, joined=not path.style.dash)
    return [piece for piece in pieces if piece.whole or length_of(piece.commands) >= _SHORTEST]


def _unnamed(path: Path, window: Box, origin: Point) -> list[Path]:
    """Return ink that is no feature, cut and moved; a dashed piece is a path of its own, for its phase."""
    out: list[Path] = []
    style = path.style
    if style.fill:
        filled = cut_fill(path.commands, window)
        if filled:
            out.append(Path(shifted(filled, origin), replace(style, width=0.0), path.layer, path.name))
        if not style.width:
            return out
        style = replace(style, fill=False)
    together: list[Command] = []
    for piece in _strokes(replace(path, style=style), window):
        commands = shifted(piece.commands, origin)
        if style.dash and not piece.whole:
            out.append(Path(commands, _going_on(style, piece), path.layer, path.name))
        else:
            together += commands
    if together:
        out.append(Path(tuple(together), style, path.layer, path.name))
    return out


def _going_on(style: Style, piece: Piece) -> Style:
    """Return the style with which a piece goes on where the pattern was cut."""
    if not style.dash or piece.before == 0.0:
        return style
    # A pattern of an odd count comes round after two runs.
    period = sum(style.dash) * (1 + len(style.dash) % 2)
    return replace(style, phase=round((style.phase + piece.before) % period, 4))


def _part(feature: Feature, piece: Piece) -> Feature:
    """Return what a feature becomes where only a piece of it is left."""
    points = ends_of(piece.commands)
    match feature:
        case Circle(name, centre, diameter):
            return _arc(name, centre, diameter, points)
        case Arc(name, centre, diameter):
            return _arc(name, centre, diameter, points)
        case Segment(name):
            return Segment(name, points[0], points[-1])
        case Curve():
            return replace(feature, points=tuple(points), space=_space_along(feature, piece, points))
        case Slot():
            return feature


def _space_along(
    curve: Curve, piece: Piece, points: Sequence[Point]
) -> tuple[tuple[float, float, float], ...]:
    """Return where the points of a piece of a wrap's line lie in space, by how far along it they are."""
    if not curve.space:
        return ()
    steps = [math.dist(*pair) for pair in itertools.pairwise(curve.points)]
    along = np.concatenate(([0.0], np.cumsum(steps)))
    run = [math.dist(*pair) for pair in itertools.pairwise(points)]
    at = piece.before + np.concatenate(([0.0], np.cumsum(run)))
    # A closed line's piece may run on past its end, where it starts again.
    at = np.where(at > along[-1] + 1e-6, at - along[-1], at)
    space = np.array(curve.space)
    x, y, z = (np.interp(at, along, space[:, axis]).tolist() for axis in range(3))
    return tuple(zip(x, y, z, strict=True))


def _arc(name: str, centre: Point, diameter: float, points: Sequence[Point]) -> Arc:
    first, last = (angle_of((x - centre[0], y - centre[1])) for x, y in (points[0], points[-1]))
    return Arc(name, centre, diameter, first, last if last > first else last + 360.0)


def _named(part: Feature, name: str, piece: Piece) -> Iterator[Feature]:
    """Yield a feature by its name on the tile; what is left of a slot as its outline's lines and arcs."""
    if not isinstance(part, Slot) or piece.whole:
        yield replace(part, name=name)
        return
    runs: list[list[Point]] = []
    bent: list[bool] = []
    points = ends_of(piece.commands)
    for command, start, end in zip(piece.commands[1:], points, points[1:], strict=False):
        curved = command[0] == "C"
        if curved and bent and bent[-1]:
            runs[-1].append(end)
        else:
            runs.append([start, end])
            bent.append(curved)
    for number, (run, curved) in enumerate(zip(runs, bent, strict=True), start=1):
        called = f"{name}, line {number}"
        if not curved:
            yield Segment(called, run[0], run[-1])
            continue
        off = [abs(math.dist(run[0], end) - part.width / 2.0) for end in (part.start, part.end)]
        yield _arc(called, part.start if off[0] < off[1] else part.end, part.width, run)


def _moved(feature: Feature, by: Point) -> Feature:
    def at(point: Point) -> Point:
        return point[0] + by[0], point[1] + by[1]

    match feature:
        case Circle() | Arc():
            return replace(feature, centre=at(feature.centre))
        case Segment() | Slot():
            return replace(feature, start=at(feature.start), end=at(feature.end))
        case Curve():
            return replace(feature, points=tuple(map(at, feature.points)))
