"""The tiling itself, on ink that no view draws: tiles laid together are the whole."""

import itertools
import math
import tempfile
from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path as File
from typing import Any

import shapely
from hypothesis import example, given
from hypothesis import strategies as st

from fonts.drafting import width
from sheets.files.read.joins import JOIN, verify_joins
from sheets.files.write.pdf import write_pdf
from sheets.ink.drawing import Drawing
from sheets.ink.records import Circle, Commands, Paper, Path, Segment, Sheet, Style, Tile
from sheets.ink.tiling import Grid, cut, mark_joins

GRID = Grid((100.0, 90.0), 2, 2)
"""Its sheets on top end at x 100 and at y 76, those below begin at 86 and end at 90: overlaps are 14 wide."""
_ORIGIN = (12.0, 8.0)
_PAPER = Paper("tile", 124.0, 106.0)
PLACES = [0.0, 0.25, -0.25, 0.3, -0.3, 0.01, -0.01, 0.1, 5.0, -5.0, 14.0, -14.0, 13.75, 6.5]
"""How far from the edge of a sheet on top: on it, at the line that is followed, near it."""

_off = st.sampled_from(PLACES) | st.floats(-20.0, 20.0)
_points = st.one_of(
    st.tuples(_off.map(lambda d: 100.0 + d), st.floats(2.0, 164.0)),
    st.tuples(st.floats(2.0, 184.0), _off.map(lambda d: 76.0 + d)),
    st.tuples(_off.map(lambda d: 100.0 + d), _off.map(lambda d: 76.0 + d)),
)
_dashes = st.sampled_from([(), (2.2, 0.5), (6.0, 1.0, 0.5, 1.0), (3.0,)])
_ink = st.tuples(st.just("line"), st.lists(_points, min_size=2, max_size=4), _dashes)
_rings = st.tuples(
    st.just("ring"), st.tuples(_points, st.sampled_from(PLACES[5:]).map(lambda d: abs(2.0 * d))), _dashes
)
_words = st.tuples(st.just("word"), _points, st.sampled_from(["8", "12.5", "near hole", "down the tube"]))


def _drawn(items: list[tuple[str, Any, Any]]) -> Drawing:
    drawing = Drawing()
    for number, (kind, where, how) in enumerate(items):
        if kind == "word":
            drawing.letter(str(how), where, 3.5)
        elif kind == "ring":
            at, across = where
            drawing.show(Circle(f"ring {number}", at, across), Style(0.18, how), "x")
        else:
            for turn, ends in enumerate(itertools.pairwise(where)):
                if math.dist(*ends) > 0.001:
                    drawing.show(Segment(f"line {number}.{turn}", *ends), Style(0.18, how), "x")
    mark_joins(drawing, GRID)
    return drawing


def _sheets(drawing: Drawing) -> list[Sheet]:
    sheets = []
    for row, column in GRID.places:
        window = GRID.window(row, column)
        tile = Tile(row, column, 2, 2, (_ORIGIN[0] - window[0], _ORIGIN[1] - window[1]), window)
        part = cut(drawing, GRID, tile)
        frame = _box((*_ORIGIN, _ORIGIN[0] + 100.0, _ORIGIN[1] + 90.0))
        records = (Path(frame, Style(0.18), "tile"), *part.records)
        made = Sheet("x", "x", _PAPER, 0.0, "outboard", (0.0, 0.0), True, records, part.features)
        sheets.append(replace(made, tile=tile))
    return sheets


def _box(box: tuple[float, float, float, float]) -> Commands:
    left, low, right, top = box
    return (("M", left, low), ("L", right, low), ("L", right, top), ("L", left, top), ("Z",))


def _shape(paths: Iterable[Path], origin: tuple[float, float] = (0.0, 0.0)) -> shapely.Geometry:
    """Return named strokes on the big drawing, cubics as 64 chords of Bernstein's polynomials."""
    runs: list[list[tuple[float, float]]] = []
    for path in paths:
        for command in path.commands if path.name else ():
            if command[0] == "M":
                runs.append([])
            if command[0] == "Z":
                runs[-1].append(runs[-1][0])
            elif command[0] != "C":
                runs[-1].append(command[1:])
            else:
                (x0, y0), (x1, y1, x2, y2, x3, y3) = runs[-1][-1], command[1:]
                for i in range(1, 65):
                    t, r = i / 64, 1.0 - i / 64
                    a, b, c, d = r**3, 3 * r * r * t, 3 * r * t * t, t**3
                    runs[-1].append((a * x0 + b * x1 + c * x2 + d * x3, a * y0 + b * y1 + c * y2 + d * y3))
    moved = [[(x - origin[0], y - origin[1]) for x, y in run] for run in runs]
    return shapely.MultiLineString([run for run in moved if len(run) > 1])


@given(st.lists(_ink | _rings | _words, min_size=1, max_size=8))
# Words over the edge of a sheet on top: half of them was left out there, and nothing met the other half.
@example([("word", (97.0, 40.0), "12.5")])
@example([("word", (40.0, 74.0), "near hole")])
@example([("word", (97.0, 74.0), "down the tube")])
# A word that is wider than the strip, and ends just inside the edge of the sheet on top.
@example([("word", (99.8 - width("down the tube", 3.5), 40.0), "down the tube")])
@example([("line", [(100.0, 10.0), (100.0, 160.0)], ()), ("line", [(99.75, 10.0), (99.75, 70.0)], (3.0,))])
def test_ink_near_the_seams_joins_and_is_the_whole(items: list[tuple[str, Any, Any]]) -> None:
    drawing = _drawn(items)
    sheets = _sheets(drawing)
    with tempfile.TemporaryDirectory() as folder:
        write_pdf(sheets, File(folder) / "tiles.pdf", title="x", subject="x")
        assert verify_joins(File(folder) / "tiles.pdf", sheets) <= JOIN
    whole = _shape(path for path in drawing.records() if isinstance(path, Path))
    for sheet in sheets:
        assert sheet.tile is not None
        here = _shape(sheet.paths, sheet.tile.origin)
        window = shapely.box(*sheet.tile.window)
        assert here.within(window.buffer(1e-6))
        # Chords of a piece are not those of the whole: 0.003 mm for these circles.
        assert here.within(whole.buffer(0.01))
        # Pieces below 0.02 mm are left out.
        assert whole.intersection(window.buffer(-0.03)).within(here.buffer(0.05))
