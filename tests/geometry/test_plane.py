"""Laws of the plane, each checked against arithmetic that the module does not use.

Ranges: the largest sheet is A3, 420 mm long, so points lie within 500 mm of each other's origin; circles
run from a screw's radius to well past the largest disc's, 110 mm. Angles go twice round either way, since
tilts and directions are added before anything is turned.
"""

import cmath
import itertools
import math

import numpy as np
import pytest
import shapely
from hypothesis import assume, example, given
from hypothesis import strategies as st

from geometry.core.errors import GeometryError, Problem
from geometry.core.plane import (
    along,
    angle_of,
    arcs_in_box,
    line_in_box,
    polar,
    tangent_line,
    triangle_foot,
    turned,
)
from geometry.core.say import say

COORDINATE = st.floats(-500.0, 500.0)
POINT = st.tuples(COORDINATE, COORDINATE)
ANGLE = st.floats(-720.0, 720.0)
LENGTH = st.floats(0.5, 250.0)
# Quarters of a millimetre meet corners, edges and one another often, which free numbers never do.
QUARTER = st.integers(-160, 160).map(lambda count: count / 4.0)
GRID_POINT = st.tuples(QUARTER, QUARTER)


# --- directions


@given(ANGLE, LENGTH)
def test_polar_is_the_complex_exponential(angle: float, length: float) -> None:
    expected = cmath.rect(length, math.radians(angle))
    assert polar(angle, length) == pytest.approx((expected.real, expected.imag), abs=1e-11)


@pytest.mark.parametrize("turns", [-2, -1, 0, 1, 2])
def test_polar_is_exact_on_the_axes(turns: int) -> None:
    exact = [(3.5, 0.0), (0.0, 3.5), (-3.5, 0.0), (0.0, -3.5)]
    assert [polar(360.0 * turns + quarter, 3.5) for quarter in (0.0, 90.0, 180.0, 270.0)] == exact


def test_polar_is_a_unit_vector_where_no_length_is_given() -> None:
    assert math.hypot(*polar(33.0)) == pytest.approx(1.0, abs=1e-15)
    assert polar(-1e-20) == (1.0, 0.0)


@given(ANGLE, LENGTH)
def test_angle_of_undoes_polar(angle: float, length: float) -> None:
    found = angle_of(polar(angle, length))
    assert 0.0 <= found < 360.0
    assert math.remainder(found - angle, 360.0) == pytest.approx(0.0, abs=1e-9)


def test_angle_of_stays_below_a_whole_turn() -> None:
    # A hair below the x axis is nearer to 360 than any number below it: it must come out as 0.
    assert angle_of((1.0, -1e-20)) == 0.0
    assert [angle_of(v) for v in ((1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0))] == [0, 90, 180, 270]


@given(POINT, ANGLE)
def test_turned_is_multiplication_by_a_unit_complex_number(vector: tuple[float, float], angle: float) -> None:
    expected = complex(*vector) * cmath.exp(1j * math.radians(angle))
    assert turned(vector, angle) == pytest.approx((expected.real, expected.imag), abs=1e-10)


@given(POINT)
def test_a_quarter_turn_is_exact(vector: tuple[float, float]) -> None:
    x, y = vector
    assert turned(vector, 90.0) == (-y, x)
    assert turned(vector, -90.0) == (y, -x)


def test_turned_makes_no_negative_zero() -> None:
    # Lists and JSON would print it as -0.
    for vector in ((1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0), (0.0, 0.0)):
        for angle in (-180.0, -90.0, 0.0, 90.0, 180.0):
            assert all(value != 0.0 or math.copysign(1.0, value) > 0.0 for value in turned(vector, angle))


@given(POINT, COORDINATE, ANGLE, COORDINATE, ANGLE)
def test_along_adds_its_steps(
    start: tuple[float, float], first: float, towards: float, second: float, then: float
) -> None:
    u, v = polar(towards), polar(then)
    expected = np.array(start) + first * np.array(u) + second * np.array(v)
    assert along(start, (first, u), (second, v)) == pytest.approx(tuple(expected), abs=1e-9)
    assert along(start) == start


# --- triangles


@given(st.floats(-100.0, 150.0), st.floats(5.0, 150.0), st.floats(10.0, 150.0))
def test_triangle_foot_returns_the_triangle_it_was_measured_on(x: float, height: float, base: float) -> None:
    near, far = math.hypot(x, height), math.hypot(x + base, height)
    assert triangle_foot(near, far, base) == pytest.approx((x, height), abs=1e-9)


def test_a_small_triangle_is_a_triangle() -> None:
    # 3, 4, 5 in tenths of a millimetre; own arithmetic
    assert triangle_foot(0.3, 0.4, 0.5) == pytest.approx((-0.18, 0.24), abs=1e-12)


@given(st.floats(20.0, 150.0), st.floats(20.0, 150.0), st.floats(20.0, 150.0))
def test_triangle_foot_agrees_with_herons_formula(near: float, far: float, base: float) -> None:
    half = (near + far + base) / 2.0
    square = half * (half - near) * (half - far) * (half - base)
    assume(square > 1.0)
    _, height = triangle_foot(near, far, base)
    assert height * base / 2.0 == pytest.approx(math.sqrt(square), rel=1e-9)


@pytest.mark.parametrize(
    ("near", "far", "base"),
    [(0.0, 5.0, 5.0), (5.0, 0.0, 5.0), (5.0, 5.0, 0.0), (-3.0, 4.0, 5.0), (3.0, 4.0, -5.0)],
)
def test_a_triangle_has_no_side_of_nothing(near: float, far: float, base: float) -> None:
    with pytest.raises(GeometryError) as caught:
        triangle_foot(near, far, base, "is-rear")
    assert caught.value.problems == (Problem("is-rear", say("plane.no_length")),)


@pytest.mark.parametrize(
    ("near", "far", "base", "why", "long"),
    [
        (20.0, 30.0, 62.5, "base_too_long", 12.5),
        (30.0, 20.0, 50.0, "base_too_long", 0.0),
        (39.9, 91.0, 51.0, "radii_differ", -79.9),
        (91.0, 39.9, 51.0, "radii_differ", -79.9),
        (40.0, 90.0, 50.0, "radii_differ", -80.0),
    ],
)
def test_lengths_that_close_no_triangle_are_refused(
    near: float, far: float, base: float, why: str, long: float
) -> None:
    with pytest.raises(GeometryError) as caught:
        triangle_foot(near, far, base, "interface")
    (problem,) = caught.value.problems
    assert problem.where == "interface"
    # The radii differ too much where the base is shorter than their difference: own arithmetic.
    assert problem.what.code == f"plane.{why}"
    assert [problem.what[side] for side in ("near", "far", "base")] == [near, far, base]
    assert problem.what["long"] == pytest.approx(long)


# --- a segment in a box


@given(GRID_POINT, GRID_POINT, GRID_POINT, GRID_POINT)
@example((-10.0, -10.0), (10.0, 10.0), (0.0, 0.0), (5.0, 5.0))
@example((3.0, 20.0), (3.0, -20.0), (0.0, 0.0), (5.0, 5.0))
@example((-20.0, 3.0), (20.0, 3.0), (0.0, 0.0), (5.0, 5.0))
@example((0.0, -20.0), (0.0, 20.0), (0.0, 0.0), (5.0, 5.0))
@example((6.0, -20.0), (6.0, 20.0), (0.0, 0.0), (5.0, 5.0))
@example((-20.0, 6.0), (20.0, 6.0), (0.0, 0.0), (5.0, 5.0))
def test_a_segment_in_a_box_is_shapelys_intersection(
    start: tuple[float, float], end: tuple[float, float], one: tuple[float, float], two: tuple[float, float]
) -> None:
    low, high = (min(one[0], two[0]), min(one[1], two[1])), (max(one[0], two[0]), max(one[1], two[1]))
    assume(start != end and low[0] < high[0] and low[1] < high[1])
    common = shapely.LineString([start, end]).intersection(shapely.box(*low, *high))
    found = line_in_box(start, end, low, high)
    if common.length == 0.0:
        # At a corner, rounding may call a touch a miss; more than a touch it may not be.
        assert found is None or math.dist(*found) < 1e-9
        return
    assert found is not None
    ends = sorted(common.coords, key=lambda point: math.dist(point, start))
    assert found[0] == pytest.approx(ends[0], abs=1e-9)
    assert found[1] == pytest.approx(ends[-1], abs=1e-9)


def test_a_segment_that_touches_an_edge_keeps_the_touch() -> None:
    assert line_in_box((-4.0, 2.0), (0.0, 2.0), (0.0, 0.0), (5.0, 5.0)) == ((0.0, 2.0), (0.0, 2.0))
    assert line_in_box((0.0, 0.0), (5.0, 0.0), (0.0, 0.0), (5.0, 5.0)) == ((0.0, 0.0), (5.0, 0.0))
    assert line_in_box((2.0, 5.0), (4.0, 5.0), (0.0, 0.0), (5.0, 5.0)) == ((2.0, 5.0), (4.0, 5.0))


# --- a circle in a box


def _inside(point: tuple[float, float], low: tuple[float, float], high: tuple[float, float]) -> float:
    """Return how far a point lies inside a box, negative outside."""
    return min(point[0] - low[0], high[0] - point[0], point[1] - low[1], high[1] - point[1])


@given(GRID_POINT, st.integers(2, 160).map(lambda count: count / 4.0), GRID_POINT, GRID_POINT)
@example((0.0, 0.0), 10.0, (-10.0, -10.0), (10.0, 10.0))
@example((0.0, 0.0), 10.0, (-40.0, -40.0), (0.0, 40.0))
@example((0.0, 0.0), 5.0, (3.0, 4.0), (40.0, 40.0))
@example((0.0, 0.0), 10.0, (-8.0, -8.0), (8.0, 8.0))
def test_arcs_in_a_box_are_the_points_inside(
    centre: tuple[float, float], radius: float, one: tuple[float, float], two: tuple[float, float]
) -> None:
    low, high = (min(one[0], two[0]), min(one[1], two[1])), (max(one[0], two[0]), max(one[1], two[1]))
    assume(low[0] < high[0] and low[1] < high[1])
    arcs = arcs_in_box(centre, radius, low, high)
    for angle in range(0, 360, 3):
        turn = angle + 0.1234
        point = tuple(
            np.array(centre)
            + radius * np.array([math.cos(turn * math.pi / 180), math.sin(turn * math.pi / 180)])
        )
        if abs(_inside(point, low, high)) < 1e-9:
            continue
        covered = any(start <= turn + whole <= end for start, end in arcs for whole in (0.0, 360.0))
        assert covered == (_inside(point, low, high) > 0.0)


@given(GRID_POINT, st.integers(20, 160).map(lambda count: count / 4.0), GRID_POINT, GRID_POINT)
def test_arcs_in_a_box_are_as_long_as_shapelys(
    centre: tuple[float, float], radius: float, one: tuple[float, float], two: tuple[float, float]
) -> None:
    low, high = (min(one[0], two[0]), min(one[1], two[1])), (max(one[0], two[0]), max(one[1], two[1]))
    assume(low[0] < high[0] and low[1] < high[1])
    # Shapely's circle is a polygon: an edge within its flatness of the circle may cut one and not the other.
    edges = [abs(abs(edge - centre[axis]) - radius) for axis in (0, 1) for edge in (low[axis], high[axis])]
    corners = [abs(math.dist((x, y), centre) - radius) for x in (low[0], high[0]) for y in (low[1], high[1])]
    assume(min(edges + corners) > 0.01)
    arcs = arcs_in_box(centre, radius, low, high)
    length = math.radians(sum(end - start for start, end in arcs)) * radius
    ring = shapely.Point(centre).buffer(radius, quad_segs=180).exterior
    assert length == pytest.approx(ring.intersection(shapely.box(*low, *high)).length, rel=1e-3, abs=0.02)


@given(POINT, LENGTH, POINT, st.tuples(LENGTH, LENGTH))
def test_arcs_in_a_box_are_ordered_apart_and_within_one_turn(
    centre: tuple[float, float], radius: float, low: tuple[float, float], size: tuple[float, float]
) -> None:
    arcs = sorted(arcs_in_box(centre, radius, low, (low[0] + size[0], low[1] + size[1])))
    assert all(0.0 <= start < 360.0 and start < end <= start + 360.0 for start, end in arcs)
    assert all(end < after for (_, end), (after, _) in itertools.pairwise(arcs))
    assert not arcs or arcs[-1][1] - 360.0 <= arcs[0][0]


def test_a_circle_is_wholly_in_wholly_out_or_wholly_around() -> None:
    assert arcs_in_box((0.0, 0.0), 5.0, (-6.0, -6.0), (6.0, 6.0)) == ((0.0, 360.0),)
    assert arcs_in_box((20.0, 0.0), 5.0, (-6.0, -6.0), (6.0, 6.0)) == ()
    assert arcs_in_box((0.0, 0.0), 9.0, (-6.0, -6.0), (6.0, 6.0)) == ()


def test_an_arc_across_the_zero_direction_is_one_arc() -> None:
    ((start, end),) = arcs_in_box((0.0, 0.0), 10.0, (5.0, -20.0), (20.0, 20.0))
    # A chord at half the radius: the arc beyond it is 120 degrees. Own arithmetic.
    assert (start, end) == pytest.approx((300.0, 420.0), abs=1e-12)


@pytest.mark.parametrize(("x", "y"), [(3.0, 4.0), (5.0, 12.0), (12.0, 5.0), (8.0, 15.0), (20.0, 21.0)])
@pytest.mark.parametrize("turn", [0, 1, 2, 3])
@pytest.mark.parametrize("side", [-1.0, 1.0])
def test_a_circle_that_enters_at_a_corner_is_in_the_box_in_one_arc(
    x: float, y: float, turn: int, side: float
) -> None:
    # Own arithmetic: a circle of 5 passes (3, -4), a box's left corner, and (3, 4) on the box's left side,
    # and runs in the box between them; so do the other whole triangles.
    corners = [turned((u, side * v), 90.0 * turn) for u, v in ((x, -y), (x + 20.0, y + 20.0))]
    low, high = (tuple(map(pick, *corners)) for pick in (min, max))
    arcs = arcs_in_box((0.0, 0.0), math.hypot(x, y), (low[0], low[1]), (high[0], high[1]))
    ((start, end),) = arcs
    half = math.degrees(math.atan2(y, x))
    assert end - start == pytest.approx(2.0 * half)
    assert math.remainder((start + end) / 2.0 - 90.0 * turn, 360.0) == pytest.approx(0.0, abs=1e-9)


def test_four_corners_cut_a_circle_into_four_arcs() -> None:
    # Own arithmetic:
    # an edge at r * cos(30) leaves the 60 degrees round each axis outside and 30 round each diagonal inside.
    edge = 10.0 * math.cos(math.radians(30.0))
    arcs = arcs_in_box((0.0, 0.0), 10.0, (-edge, -edge), (edge, edge))
    expected = [(30.0, 60.0), (120.0, 150.0), (210.0, 240.0), (300.0, 330.0)]
    assert sorted(arcs) == [pytest.approx(pair, abs=1e-9) for pair in expected]


# --- the line over two circles


@given(POINT, st.floats(0.0, 60.0), POINT, st.floats(0.0, 60.0))
def test_a_tangent_touches_both_circles_and_leaves_them_on_its_right(
    first: tuple[float, float], r_first: float, second: tuple[float, float], r_second: float
) -> None:
    assume(math.dist(first, second) > abs(r_first - r_second) + 0.5)
    start, end = tangent_line(first, r_first, second, r_second)
    assert math.dist(start, first) == pytest.approx(r_first, abs=1e-9)
    assert math.dist(end, second) == pytest.approx(r_second, abs=1e-9)
    run = complex(*end) - complex(*start)
    for centre, radius in ((first, r_first), (second, r_second)):
        # The cross product with the run's direction is the signed distance, + to the left.
        offset = complex(*centre) - complex(*start)
        assert (run.conjugate() * offset).imag / abs(run) == pytest.approx(-radius, abs=1e-6)
    assert (run.conjugate() * (complex(*second) - complex(*first))).real > 0.0


@given(POINT, st.floats(2.0, 60.0), POINT, st.floats(2.0, 60.0))
def test_a_tangent_is_a_side_of_the_hull_of_both_circles(
    first: tuple[float, float], r_first: float, second: tuple[float, float], r_second: float
) -> None:
    assume(math.dist(first, second) > abs(r_first - r_second) + 0.5)
    start, end = tangent_line(first, r_first, second, r_second)
    circles = [shapely.Point(c).buffer(r, quad_segs=128) for c, r in ((first, r_first), (second, r_second))]
    hull = shapely.union_all(circles).convex_hull.exterior
    # A polygon of 512 sides runs inside its circle by up to r * (1 - cos(pi / 512)): 0.0011 mm at 60.
    for part in (0.0, 0.25, 0.5, 0.75, 1.0):
        point = np.array(start) + part * (np.array(end) - np.array(start))
        assert hull.distance(shapely.Point(point)) < 0.0025


@pytest.mark.parametrize(
    ("second", "radius"), [((3.0, 0.0), 20.0), ((10.0, 0.0), 20.0), ((0.0, 0.0), 10.0), ((3.0, 4.0), 4.0)]
)
def test_a_circle_inside_another_has_no_tangent(second: tuple[float, float], radius: float) -> None:
    with pytest.raises(GeometryError, match=r"plane\.no_tangent"):
        tangent_line((0.0, 0.0), 10.0, second, radius)
