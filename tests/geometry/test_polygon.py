"""Closed lines against shapely, a library that shares no code with ours, and by their laws."""

import itertools
import math

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from shapely.geometry import LinearRing, MultiLineString, Point, Polygon

from geometry.core import polygon
from geometry.core.plane import turned
from geometry.core.polygon import Ring, apart, area, crossing, inside, mouth, nearest_on, seen, sides

SQUARE: Ring = ((0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0))
SLOT: Ring = ((-20, 20), (-20, -20), (-5, -20), (-5, 2), (5, 2), (5, -20), (20, -20), (20, 20))
"""A plate with a slot 10 wide that opens downward, its end 2 above the origin."""

coordinate = st.integers(-40, 40).map(lambda n: n / 2.0)
corner = st.tuples(coordinate, coordinate)
anyring = st.lists(corner, min_size=3, max_size=9, unique=True).map(tuple)


@st.composite
def stars(draw: st.DrawFn) -> Ring:
    """Return a ring about some middle that does not cross itself."""
    count = draw(st.integers(3, 14))
    radii = draw(st.lists(st.floats(2.0, 40.0), min_size=count, max_size=count))
    x, y = draw(corner)
    return tuple(
        (x + r * math.cos(2 * math.pi * i / count), y + r * math.sin(2 * math.pi * i / count))
        for i, r in enumerate(radii)
    )


def rows(ring: Ring) -> MultiLineString:
    return MultiLineString([((a, b), (c, d)) for a, b, c, d in sides(ring)])


@given(anyring)
def test_a_ring_crosses_itself_where_shapely_says_so(ring: Ring) -> None:
    assume(abs(area(ring)) > 0.0)
    found = crossing(ring)
    assert (found is None) == (LinearRing(ring).is_simple and Polygon(ring).is_valid)
    if found is not None:
        assert rows(ring).distance(Point(found)) < 1e-9


@given(stars(), corner)
def test_area_inside_and_nearest_are_those_of_shapely(ring: Ring, point: tuple[float, float]) -> None:
    plain = Polygon(ring)
    assert area(ring) == pytest.approx(plain.area)
    assert area(ring[::-1]) == pytest.approx(-plain.area)
    distance, foot = nearest_on(sides(ring), point)
    assert distance == pytest.approx(plain.exterior.distance(Point(point)), abs=1e-9)
    assert math.dist(foot, point) == pytest.approx(distance, abs=1e-9)
    if distance > 1e-6:
        assert inside(ring, point) == plain.contains(Point(point))


@given(stars(), stars())
def test_two_rings_are_as_far_apart_as_shapely_says(one: Ring, other: Ring) -> None:
    distance, first, second = apart(sides(one), sides(other))
    assert distance == pytest.approx(Polygon(one).exterior.distance(Polygon(other).exterior), abs=1e-9)
    assert math.dist(first, second) == pytest.approx(distance, abs=1e-9)
    assert rows(one).distance(Point(first)) < 1e-9 and rows(other).distance(Point(second)) < 1e-9


@given(stars(), st.floats(0.0, 360.0))
def test_turning_and_mirroring_change_nothing_but_the_sign_of_the_area(ring: Ring, by: float) -> None:
    assume(nearest_on(sides(ring), (0.0, 0.0))[0] > 0.01)
    spun = tuple(turned(each, by) for each in ring)
    mirrored = tuple((-x, y) for x, y in ring)
    assert area(spun) == pytest.approx(area(ring))
    assert area(mirrored) == pytest.approx(-area(ring))
    assert inside(spun, (0.0, 0.0)) == inside(mirrored, (0.0, 0.0)) == inside(ring, (0.0, 0.0))
    assert seen(spun, (0.0, 0.0)) == pytest.approx(seen(ring, (0.0, 0.0)), abs=1e-6)
    assert seen(mirrored, (0.0, 0.0)) == pytest.approx(seen(ring, (0.0, 0.0)), abs=1e-6)


def test_a_drawing_far_from_its_origin_keeps_its_area() -> None:
    # By hand: a square of 10, moved by whole numbers whose products no float holds.
    far = tuple((x + 4e15, y - 4e15) for x, y in SQUARE)
    assert area(far) == 100.0


def test_a_slot_is_seen_all_round_but_through_its_mouth() -> None:
    # The mouth is 10 wide and 20 below: 2 atan(5 / 20) by hand.
    assert seen(SLOT, (0.0, 0.0)) == pytest.approx(360.0 - 2.0 * math.degrees(math.atan(5.0 / 20.0)))
    assert seen(SQUARE, (5.0, 5.0)) == pytest.approx(360.0)
    assert seen(SQUARE, (5.0, -5.0)) == pytest.approx(2.0 * math.degrees(math.atan(5.0 / 5.0)))


@given(st.floats(0.0, 360.0))
def test_a_slots_mouth_turns_with_it(by: float) -> None:
    spun = tuple(turned(each, by) for each in SLOT)
    found = mouth(spun, (0.0, 0.0))
    assert found is not None
    assert abs((found - (270.0 + by) + 180.0) % 360.0 - 180.0) < 1e-6
    assert mouth(SQUARE, (5.0, 5.0)) is None


@given(stars(), corner)
def test_what_is_seen_is_what_rays_meet(ring: Ring, point: tuple[float, float]) -> None:
    assume(nearest_on(sides(ring), point)[0] > 0.1)
    count = 720
    x0, y0, x1, y1 = sides(ring).T
    met = 0
    for i in range(count):
        way = math.radians(360.0 * (i + 0.5) / count)
        u, v = math.cos(way), math.sin(way)
        a = (x0 - point[0]) * v - (y0 - point[1]) * u
        b = (x1 - point[0]) * v - (y1 - point[1]) * u
        with np.errstate(divide="ignore", invalid="ignore"):
            share = a / (a - b)
        ahead = (x0 + share * (x1 - x0) - point[0]) * u + (y0 + share * (y1 - y0) - point[1]) * v
        met += bool(np.any(((a > 0.0) != (b > 0.0)) & (ahead > 0.0)))
    assert seen(ring, point) == pytest.approx(met * 360.0 / count, abs=3.0)


@pytest.mark.parametrize(
    "ring",
    [
        ((0.0, 0.0), (10.0, 10.0), (10.0, 0.0), (0.0, 10.0)),
        ((0.0, 0.0), (10.0, 0.0), (4.0, 0.0), (4.0, 5.0)),
        ((0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (5.0, 0.0), (0.0, 10.0)),
    ],
    ids=["eight", "back on itself", "touching"],
)
def test_a_bad_ring_is_told_with_its_place(ring: Ring) -> None:
    found = crossing(ring)
    assert found is not None and rows(ring).distance(Point(found)) < 1e-9


@pytest.mark.parametrize("turn", [0.0, 90.0, 180.0, 270.0])
@pytest.mark.parametrize("mirrored", [False, True])
@pytest.mark.parametrize("first", range(7))
def test_a_corner_on_a_straight_side_is_found_whichever_way_the_drawing_lies(
    turn: float, mirrored: bool, first: int
) -> None:
    # A plate whose notch comes up to its own upper edge, in the middle of it: the metal is cut in two.
    ring = ((-10.0, 0.0), (-3.0, 0.0), (0.0, 10.0), (3.0, 0.0), (10.0, 0.0), (10.0, 10.0), (-10.0, 10.0))
    laid = [turned((-x, y) if mirrored else (x, y), turn) for x, y in ring]
    assert not LinearRing(laid).is_simple
    assert crossing((*laid[first:], *laid[:first])) == pytest.approx(turned((0.0, 10.0), turn))


def pairwise_crossing(ring: Ring) -> tuple[float, float] | None:
    """Return what `crossing` is to find, by holding every side against every other, one after the other."""
    every = [tuple(map(float, each)) for each in sides(ring)]
    for i, (ax, ay, bx, by) in enumerate(every):
        cx, cy, dx, dy = every[(i + 1) % len(every)]
        run, after = (bx - ax, by - ay), (dx - cx, dy - cy)
        if run[0] * after[1] == run[1] * after[0] and run[0] * after[0] + run[1] * after[1] < 0.0:
            return bx, by
        for cx, cy, dx, dy in every[i + 2 : len(every) - 1 if i == 0 else None]:
            gap, at, _ = apart(np.array([[ax, ay, bx, by]]), np.array([[cx, cy, dx, dy]]))
            if gap <= 1e-9:
                return at
    return None


@given(
    st.one_of(
        anyring, stars(), st.lists(st.tuples(st.integers(0, 3), st.integers(0, 3)), min_size=3, max_size=9)
    )
)
def test_where_a_ring_crosses_itself_is_what_trying_every_pair_finds(ring: Ring) -> None:
    assert crossing(tuple(ring)) == pairwise_crossing(tuple(ring))


@given(stars(), st.floats(1e-12, 1e-6), st.integers(0, 100))
def test_lines_that_nearly_touch_are_told_as_trying_every_pair_tells_them(
    ring: Ring, gap: float, which: int
) -> None:
    # A corner is led to a side that does not end in it, and stops short of that or goes past it by the gap.
    (ax, ay), (bx, by) = ring[which % len(ring)], ring[(which + 1) % len(ring)]
    off, long = which % 3 - 1, math.dist((ax, ay), (bx, by))
    assume(long > 0.1)
    spur = (ax + bx) / 2.0 + off * gap * (ay - by) / long, (ay + by) / 2.0 + off * gap * (bx - ax) / long
    led = (*ring, spur)
    assert crossing(led) == pairwise_crossing(led)


def comb(teeth: int) -> Ring:
    """Return a plate whose slanted teeth lie side by side, each within every other's box."""
    tips = [((i * 0.02 - 20.0, -20.0), (i * 0.02 + 20.0, 60.0)) for i in range(teeth)]
    run = [each for i, pair in enumerate(tips) for each in (pair if i % 2 == 0 else pair[::-1])]
    return (*run, (90.0, 60.0), (90.0, -25.0), (-30.0, -25.0))


def test_lines_side_by_side_are_not_measured_against_each_other(monkeypatch: pytest.MonkeyPatch) -> None:
    ring = comb(400)
    measured = itertools.count()
    whole = polygon._segments_apart
    monkeypatch.setattr(polygon, "_segments_apart", lambda *pair: (next(measured), whole(*pair))[1])
    assert crossing(ring) is None
    assert next(measured) < len(ring)
    # One tooth longer than the rest, and it cuts the last side.
    assert crossing((*ring[:-3], (90.0, 60.0), (90.0, -25.0), (-19.0, -15.0))) is not None
