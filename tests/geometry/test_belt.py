"""Outlines round circles against shapely, which knows neither tangents nor arcs."""

import itertools
import math

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from geometry.core.errors import GeometryError
from geometry.fixture.belt import Bend, Line, Pulley, area, belt, ends, hull, polygon, room

FINE = 360  # Segments of shapely's quarter circle: an area 3e-6 too small, a radius of 30 off by 0.00007.
# To a nanometre: shapely itself divides by zero where two points lie 1e-306 apart.
place = st.floats(-60.0, 60.0).map(lambda at: round(at, 6))
circles = st.lists(
    st.builds(lambda x, y, r: Pulley((x, y), r), place, place, st.floats(0.5, 30.0)), min_size=1, max_size=7
)


def disc(circle: Pulley, more: float = 0.0) -> shapely.Geometry:
    """Return a circle as shapely buffers a point."""
    return shapely.Point(circle.centre).buffer(circle.radius + more, quad_segs=FINE)


def wound(among: list[Pulley]) -> shapely.Geometry:
    """Return the convex hull of buffered points."""
    return shapely.unary_union([disc(each) for each in among]).convex_hull


@given(circles)
def test_the_hull_of_circles_is_shapelys(among: list[Pulley]) -> None:
    pieces = belt(hull(among))
    expected = wound(among)
    assert area(pieces) == pytest.approx(expected.area, rel=5e-6)
    drawn = shapely.Polygon(polygon(pieces, 0.05)) if len(pieces) > 1 else disc(hull(among)[0])
    assert drawn.hausdorff_distance(expected) < 0.0005


def test_a_circle_that_stands_on_the_same_line_as_the_first_is_on_the_hull() -> None:
    # Both stand on y = 0 and a third a hair above it: rounding must not take the second's line for a turn.
    among = [Pulley((0.0, 8.0), 8.0), Pulley((20.0, 5.0), 5.0), Pulley((58.0, 5.05), 5.0)]
    assert hull(among) == tuple(among)
    assert area(belt(hull(among))) == pytest.approx(wound(among).area, rel=5e-6)


@pytest.mark.parametrize("out", [1e-5, 1e-3, 0.1])
def test_a_circle_that_hardly_stands_out_of_another_takes_nothing_from_it(out: float) -> None:
    # 9 and a hair from the middle of a circle of 10, one of 1 leaves it all but some of a degree of its arc.
    among = [Pulley((0.0, 0.0), 10.0), Pulley((0.0, 9.0 + out), 1.0)]
    assert area(belt(hull(among))) == pytest.approx(wound(among).area, rel=5e-6)


def test_an_arc_is_sampled_to_a_thousandth_of_a_millimetre() -> None:
    # A chord over half a degree lies 100 (1 - cos 0.25) from an arc of 100: 0.00095, own arithmetic.
    round_ = belt([Pulley((0.0, 0.0), 100.0)])
    chords = shapely.Polygon(polygon(round_))
    assert chords.exterior.distance(shapely.Point(0.0, 0.0)) == pytest.approx(100.0, abs=0.00096)


@given(circles)
def test_pieces_join_without_a_kink(among: list[Pulley]) -> None:
    pieces = belt(hull(among))
    for one, two in itertools.pairwise((*pieces, pieces[0])):
        assert math.dist(ends(one)[1], ends(two)[0]) < 1e-7
        # Short pieces have no direction worth the name.
        if isinstance(one, Line) and isinstance(two, Bend) and math.dist(*ends(one)) > 0.01:
            (x0, y0), (x1, y1) = one.start, one.end
            away = np.subtract(one.end, two.centre) / two.radius
            assert abs(away @ np.array([x1 - x0, y1 - y0])) / math.dist(*ends(one)) < 1e-6


def test_a_notch_with_a_round_root_is_shapelys_closing() -> None:
    """Two arms with a root of radius r between them are their union grown by r and shrunk by r again."""
    axle, near, far = Pulley((0.0, 0.0), 19.5), Pulley((20.23, 34.39), 9.6), Pulley((71.23, 34.39), 9.6)
    arms = shapely.union(wound([axle, near]), wound([near, far]))
    closed = arms.buffer(8.0, quad_segs=FINE).buffer(-8.0, quad_segs=FINE)
    # Own arithmetic: the root touches the arm's edge and the level edge at 34.39 - 9.6.
    rise = math.atan2(34.39, 20.23) + math.asin((19.5 - 9.6) / math.hypot(20.23, 34.39))
    up = 34.39 - 9.6 - 8.0
    root = Pulley(((19.5 + 8.0 + up * math.cos(rise)) / math.sin(rise), up), 8.0, inside=False)
    pieces = belt((axle, root, far, near))
    assert area(pieces) == pytest.approx(closed.area, rel=1e-5)
    assert shapely.Polygon(polygon(pieces, 0.05)).hausdorff_distance(closed) < 0.001
    hollow = [each for each in pieces if isinstance(each, Bend) and each.sweep < 0.0]
    assert len(hollow) == 1


@given(circles, place, place)
def test_room_is_shapelys_distance(among: list[Pulley], x: float, y: float) -> None:
    expected = wound(among)
    point = shapely.Point(x, y)
    away = float(shapely.distance(expected.exterior, point))
    found = room(belt(hull(among)), (x, y))
    assert abs(found) == pytest.approx(away, abs=0.001)
    if away > 0.01:
        assert (found > 0.0) == expected.contains(point)


def test_between_an_arc_and_its_chord_the_arc_decides() -> None:
    """Own arithmetic: over 2 degrees a chord lies 1.5 parts in 10,000 of the radius from its arc."""
    axle, near, far = Pulley((0.0, 0.0), 19.5), Pulley((20.23, 34.39), 9.6), Pulley((71.23, 34.39), 9.6)
    pieces = belt((axle, Pulley((37.0, 17.0), 8.0, inside=False), far, near))
    bends = [each for each in pieces if isinstance(each, Bend)]
    assert sorted(each.sweep > 0.0 for each in bends) == [False, True, True, True]
    for each in bends:
        for share in (*np.linspace(0.03, 0.97, 30), 0.003, 0.997):
            turn = math.radians(each.start + share * each.sweep)
            for more in (-1e-4, -1e-5, 1e-5, 1e-4):
                away = each.radius * (1.0 + more)
                at = each.centre[0] + away * math.cos(turn), each.centre[1] + away * math.sin(turn)
                inward = -more if each.sweep > 0.0 else more
                assert room(pieces, at) == pytest.approx(inward * each.radius, abs=1e-9)


def test_circles_in_each_other_have_no_tangent() -> None:
    with pytest.raises(GeometryError, match=r"fixture\.no_tangent"):
        belt((Pulley((0.0, 0.0), 10.0), Pulley((1.0, 0.0), 2.0)))
