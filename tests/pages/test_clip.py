"""Cutting at a window, judged by shapely: nothing is lost, nothing added, nothing lies outside."""

import itertools
import math

import numpy as np
import pytest
import shapely
from hypothesis import example, given
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy.integrate import quad
from shapely.geometry import LineString, MultiLineString, Polygon, box

from sheets.ink.clip import cut_fill, cut_strokes, ends_of, length_of, subpaths
from sheets.ink.marks import arrow_head, circle, polyline
from sheets.ink.placing import Box
from sheets.ink.records import Commands, Point
from sheets.ink.tiling import OVERLAP, Grid

WINDOW = (10.0, 20.0, 60.0, 55.0)
FINE = 100_000
"""Chords that stand for a curve where it is measured: together short by a ten-thousandth of 0.02 mm."""
CLOSE = 2e-6
"""What is left between chords and curve, mm; the clip itself promises a millionth."""
Floats = NDArray[np.float64]

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


def followed(commands: Commands, steps: int = 400) -> list[Point]:
    """Return points close together along one subpath, by the formula and not by cutting."""
    return [(float(x), float(y)) for x, y in traced(commands, steps)]


def traced(commands: Commands, steps: int) -> Floats:
    """Return the same points as an array (n, 2)."""
    t = np.linspace(0.0, 1.0, steps)[1:, None]
    line = [np.array([commands[0][1:3]], dtype=float)]
    for command in commands[1:]:
        if command[0] == "C":
            p0, (p1, p2, p3) = line[-1][-1], np.array(command[1:], dtype=float).reshape(3, 2)
            rest = 1.0 - t
            line.append(rest**3 * p0 + 3 * rest**2 * t * p1 + 3 * rest * t**2 * p2 + t**3 * p3)
        elif command[0] == "Z":
            line.append(line[0][:1])
        else:
            line.append(np.array([command[1:]], dtype=float))
    points: Floats = np.concatenate(line)
    return points


def length_inside(points: Floats, window: Box = WINDOW) -> float:
    """Return how much of a line through points lies in a window; a line walked twice counts twice."""
    (left, low, right, top), x, y = window, points[:, 0], points[:, 1]
    within = (x >= left) & (x <= right) & (y >= low) & (y <= top)
    beside = np.zeros(len(points) - 1, dtype=bool)
    for out in (x < left, x > right, y < low, y > top):
        beside |= out[:-1] & out[1:]
    whole = within[:-1] & within[1:]
    found = float(np.hypot(*np.diff(points, axis=0)[whole].T).sum())
    # Chords that meet an edge are few, and shapely cuts them.
    cut = np.flatnonzero(~whole & ~beside)
    return found + sum(box(*window).intersection(LineString(points[i : i + 2])).length for i in cut)


def straight(commands: Commands) -> bool:
    return all(command[0] != "C" for command in commands)


# A curve that all but turns on the spot where it leaves the window: 16.16642 mm of it lie inside.
NEAR_CUSP: Commands = (("M", 0.0, 0.0), ("L", 0.0, 0.0), ("C", 0.0, 0.0, 25.6, 51.72, 6.56, 13.91))


@example(NEAR_CUSP)
@given(strokes())
def test_pieces_are_what_lies_in_the_window_and_no_more(commands: Commands) -> None:
    pieces = cut_strokes(commands, WINDOW)
    for piece in pieces:
        for x, y in followed(piece.commands):
            assert WINDOW[0] - 1e-9 <= x <= WINDOW[2] + 1e-9
            assert WINDOW[1] - 1e-9 <= y <= WINDOW[3] + 1e-9
    assert sum(length_of(p.commands) for p in pieces) == pytest.approx(
        length_inside(traced(commands, FINE)), abs=CLOSE
    )


@example(NEAR_CUSP)
@given(strokes())
def test_pieces_lie_on_the_line_and_know_how_far_along_they_start(commands: Commands) -> None:
    line, run = walked(commands)
    for piece in cut_strokes(commands, WINDOW, joined=False):
        points, far = walked(piece.commands)
        # Each point of a piece is that point of the line which lies as far along: the very part that it was.
        for axis in (0, 1):
            there = np.interp(piece.before + far, run, line[:, axis])
            assert np.abs(points[:, axis] - there).max() < CLOSE


def walked(commands: Commands) -> tuple[Floats, Floats]:
    """Return points along a subpath, and how far along it each lies, mm."""
    points = traced(commands, FINE)
    return points, np.concatenate(([0.0], np.hypot(*np.diff(points, axis=0).T).cumsum()))


@example(NEAR_CUSP[2:])
@example((("C", 10.0, 0.0, -10.0, 0.0, 0.0, 0.0),))
# It turns back within a ten-thousandth of its run, between the points of a rule of 24.
@example((("C", -0.01, -0.01, 50.41, 50.41, 0.0, -6.06),))
@example((("C", 20.0, 0.001, -10.0, 0.001, 10.0, 0.0),))
@given(st.tuples(points, points, points).map(lambda p: (("C", *p[0], *p[1], *p[2]),)))
def test_a_cubic_is_as_long_as_an_integral_says(curve: Commands) -> None:
    # The third way, beside chords and the rule of the code: scipy's adaptive integral of the speed, piece by
    # piece between the places where speed has an extreme, which are roots of a cubic.
    controls = np.array([(0.0, 0.0), *np.array(curve[0][1:], dtype=float).reshape(3, 2)])
    slope = [np.polynomial.Polynomial(each) for each in derivative(controls).T]
    square = slope[0] ** 2 + slope[1] ** 2
    turns = [root.real for root in square.deriv().roots() if abs(root.imag) < 1e-6 and 0.0 < root.real < 1.0]
    parts = itertools.pairwise([0.0, *sorted(turns), 1.0])

    def speed(t: float) -> float:
        return math.hypot(slope[0](t), slope[1](t))

    found = [quad(speed, a, b, limit=200, epsabs=1e-8, epsrel=1e-11, full_output=1)[:2] for a, b in parts]
    assert sum(error for _, error in found) < 1e-6, "the integral says itself how sure it is"
    wanted = sum(value for value, _ in found)
    assert length_of((("M", 0.0, 0.0), *curve)) == pytest.approx(wanted, abs=1e-6)


def derivative(controls: Floats) -> Floats:
    """Return a cubic's derivative, (3, 2): the coefficients of 1, t and t squared."""
    p0, p1, p2, p3 = controls
    return np.array([3 * (p1 - p0), 6 * (p0 - 2 * p1 + p2), 3 * (p3 - p0 + 3 * (p1 - p2))])


@given(
    st.lists(points, min_size=2, max_size=8, unique=True),
    st.tuples(st.integers(1, 3), st.integers(1, 3)),
)
def test_all_tiles_together_show_the_whole_line(line: list[Point], shape: tuple[int, int]) -> None:
    grid = Grid((57.0, 61.0), *shape)
    pieces = []
    for place in grid.places:
        window = grid.window(*place)
        cut = [LineString(ends_of(piece.commands)) for piece in cut_strokes(polyline(line), window)]
        wanted = length_inside(np.array(line), window)
        assert sum(piece.length for piece in cut) == pytest.approx(wanted, abs=1e-6)
        pieces += [piece for piece in cut if piece.length > 0.0]
    # Looked for point by point: shapely's difference of lines that all but cover each other is at times off.
    corners, share = np.array(line), np.linspace(0.0, 1.0, 500)[:, None, None]
    along = (corners[:-1] + share * (corners[1:] - corners[:-1])).reshape(-1, 2)
    left, low, right, top = grid.zone
    along = along[np.all((along > (left, low)) & (along < (right, top)), axis=1)]
    apart = shapely.distance(shapely.points(along), MultiLineString(pieces)) if len(along) else np.zeros(1)
    assert apart.max() < 1e-9
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
