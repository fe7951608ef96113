"""Cutting at a window, judged by shapely: nothing is lost, nothing added, nothing lies outside."""

import itertools
import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely.geometry import LineString, Polygon, box
from shapely.ops import unary_union

from sheets.ink.clip import cut_fill, cut_strokes, ends_of, length_of, subpaths
from sheets.ink.marks import arrow_head, circle, polyline
from sheets.ink.records import Commands, Point
from sheets.ink.tiling import OVERLAP, Grid

WINDOW = (10.0, 20.0, 60.0, 55.0)
_T = np.linspace(0.0, 1.0, 400)[1:, None]

# Hundredths, so that a failing case can be read; whole windows' edges are among them.
numbers = st.integers(-1000, 9000).map(lambda value: value / 100)
points = st.tuples(numbers, numbers)


@st.composite
def strokes(draw: st.DrawFn) -> Commands:
    """Return a subpath of lines and cubics, closed or not."""
    commands: list[tuple[object, ...]] = [("M", *draw(points))]
    for _ in range(draw(st.integers(1, 6))):
        if draw(st.booleans()):
            commands.append(("L", *draw(points)))
        else:
            commands.append(("C", *draw(points), *draw(points), *draw(points)))
    if draw(st.booleans()):
        commands.append(("Z",))
    return tuple(commands)  # type: ignore[return-value]


def followed(commands: Commands) -> list[Point]:
    """Return points close together along one subpath, by the formula and not by cutting."""
    line = [np.array([commands[0][1:3]], dtype=float)]
    for command in commands[1:]:
        if command[0] == "C":
            p0, (p1, p2, p3) = line[-1][-1], np.array(command[1:], dtype=float).reshape(3, 2)
            rest = 1.0 - _T
            line.append(rest**3 * p0 + 3 * rest**2 * _T * p1 + 3 * rest * _T**2 * p2 + _T**3 * p3)
        elif command[0] == "Z":
            line.append(line[0][:1])
        else:
            line.append(np.array([command[1:]], dtype=float))
    return [(float(x), float(y)) for x, y in np.concatenate(line)]


def straight(commands: Commands) -> bool:
    return all(command[0] != "C" for command in commands)


@given(strokes())
def test_pieces_are_what_lies_in_the_window_and_no_more(commands: Commands) -> None:
    line, window = followed(commands), box(*WINDOW)
    pieces = cut_strokes(commands, WINDOW)
    for piece in pieces:
        for x, y in followed(piece.commands):
            assert WINDOW[0] - 1e-9 <= x <= WINDOW[2] + 1e-9
            assert WINDOW[1] - 1e-9 <= y <= WINDOW[3] + 1e-9
    # A line walked twice counts twice, so that each step is measured by itself.
    wanted = sum(window.intersection(LineString(pair)).length for pair in itertools.pairwise(line))
    curves = sum(command[0] == "C" for command in commands)
    # 399 chords a curve, each some 0.5 mm of it at most, stand for shapely's curve.
    assert sum(length_of(p.commands) for p in pieces) == pytest.approx(wanted, abs=1e-6 + 0.02 * curves)


@given(strokes())
def test_pieces_lie_on_the_line_and_know_how_far_along_they_start(commands: Commands) -> None:
    line = LineString(followed(commands))
    if line.length < 0.1:
        return
    for piece in cut_strokes(commands, WINDOW, joined=False):
        assert line.buffer(0.02).covers(LineString(followed(piece.commands)))
        start = line.interpolate(piece.before)
        # shapely walks chords, which cut a curve's sharpest turns short.
        slack = 1e-6 if straight(commands) else 0.5
        assert math.dist((start.x, start.y), ends_of(piece.commands)[0]) <= slack


@given(
    st.lists(points, min_size=2, max_size=8, unique=True),
    st.tuples(st.integers(1, 3), st.integers(1, 3)),
)
def test_all_tiles_together_show_the_whole_line(line: list[Point], shape: tuple[int, int]) -> None:
    grid = Grid((57.0, 61.0), *shape)
    pieces = [
        LineString(ends_of(piece.commands))
        for place in grid.places
        for piece in cut_strokes(polyline(line), grid.window(*place))
        if length_of(piece.commands) > 0.0
    ]
    inside = LineString(line).intersection(box(*grid.zone))
    assert inside.difference(unary_union(pieces).buffer(1e-7)).length == pytest.approx(0.0, abs=1e-6)
    # Neighbours share a strip of OVERLAP: own arithmetic.
    for (row, column), other in ((place, (place[0], place[1] + 1)) for place in grid.places):
        if column < grid.columns:
            shared = box(*grid.window(row, column)).intersection(box(*grid.window(*other)))
            assert shared.area == pytest.approx(OVERLAP * 61.0)


@given(st.lists(points, min_size=3, max_size=7, unique=True))
def test_a_fill_keeps_the_area_that_lies_in_the_window(corners: list[Point]) -> None:
    shape = Polygon(corners).convex_hull
    if shape.geom_type != "Polygon":
        return
    ring = [(x, y) for x, y in shape.exterior.coords][:-1]
    kept = cut_fill(polyline(ring, closed=True), WINDOW)
    area = sum(Polygon(ends_of(sub)).area for sub in subpaths(kept))
    assert area == pytest.approx(shape.intersection(box(*WINDOW)).area, abs=1e-6)


def test_a_fill_wholly_inside_stays_as_it_is() -> None:
    head = arrow_head((30.0, 30.0), 20.0)
    assert cut_fill(head, WINDOW) == head
    assert cut_fill(arrow_head((0.0, 0.0), 20.0), WINDOW) == ()


def test_a_cut_cubic_stays_a_cubic_of_the_same_circle() -> None:
    # Radius 30 about (60, 40): only its left half is in the window, and cut off above and below.
    pieces = cut_strokes(circle((60.0, 40.0), 60.0), WINDOW)
    assert len(pieces) == 1
    for piece in pieces:
        assert not straight(piece.commands)
        assert all(command[0] != "L" for command in piece.commands)
        radii = [math.dist(point, (60.0, 40.0)) for point in followed(piece.commands)]
        # A cubic of 30 degrees is within 0.0001 mm of its circle here.
        assert max(radii) - min(radii) < 1e-4


def test_a_circle_cut_away_from_its_start_is_one_piece_and_two_where_dashes_begin() -> None:
    # Its start, at the right, lies inside; its left is cut off.
    ring = circle((15.0, 40.0), 20.0)
    assert len(cut_strokes(ring, WINDOW)) == 1
    first, second = cut_strokes(ring, WINDOW, joined=False)
    assert first.before == 0.0
    # Half a turn and a sixth: cos of 120 degrees is -5/10.
    assert second.before == pytest.approx(10.0 * math.radians(240.0), abs=1e-4)
