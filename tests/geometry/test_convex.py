"""Distances between convex solids, against shapely, scipy and closed forms, and the laws of distance."""

import math

import numpy as np
import pytest
import shapely
import shapely.affinity
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import minimize

from geometry.clearance.convex import Space, block, disc_solid, nearest, rod
from geometry.clearance.gaps import tube_gap
from geometry.tubes.tube import Station, Tube, surface

turns = st.floats(0.0, 360.0)
places = st.floats(-120.0, 120.0)
sizes = st.floats(5.0, 45.0)


def upright(x: float, y: float, turn: float, half_x: float, half_y: float, z: float = 0.0) -> tuple:
    """Return a box on edge, 20 thick about a level, and the polygon that it is in plan."""
    c, s = math.cos(math.radians(turn)), math.sin(math.radians(turn))
    halves = ((half_x * c, half_x * s, 0.0), (-half_y * s, half_y * c, 0.0), (0.0, 0.0, 10.0))
    plan = shapely.affinity.rotate(shapely.box(-half_x, -half_y, half_x, half_y), turn, origin=(0, 0))
    return block((x, y, z), halves), shapely.affinity.translate(plan, x, y)


plans = st.tuples(places, places, turns, sizes, sizes)


@given(plans, plans)
def test_boxes_on_edge_are_as_far_apart_as_their_plans(first: tuple, second: tuple) -> None:
    """shapely's distance of polygons; the boxes share their levels."""
    one, plan_one = upright(*first)
    two, plan_two = upright(*second, z=3.0)
    assert nearest(one, two).distance == pytest.approx(plan_one.distance(plan_two), abs=1e-7)


@given(places, places, turns, sizes, sizes, st.floats(40.0, 110.0), st.floats(-60.0, 60.0))
def test_a_disc_and_a_box_on_edge(
    x: float, y: float, turn: float, a: float, b: float, radius: float, z: float
) -> None:
    """In plan the disc is all points within its radius of the axle: shapely's distance less the radius."""
    body, plan = upright(x, y, turn, a, b, z)
    out = max(0.0, plan.distance(shapely.Point(0.0, 0.0)) - radius)
    beside = max(0.0, abs(z) - 10.0 - 1.0)
    found = nearest(disc_solid(radius, -1.0, 1.0), body)
    assert found.distance == pytest.approx(math.hypot(out, beside), abs=1e-7)


@given(st.floats(1.0, 20.0), st.floats(1.0, 20.0), st.floats(-50.0, 50.0), st.floats(0.0, 90.0))
def test_long_crossing_rods_are_apart_by_their_common_perpendicular(
    r1: float, r2: float, z: float, turn: float
) -> None:
    """Two round rods whose axes cross z apart: closed form |z| - r1 - r2."""
    c, s = math.cos(math.radians(turn)), math.sin(math.radians(turn))
    one = rod((-500.0, 0.0, 0.0), (1.0, 0.0, 0.0), 1000.0, r1)
    two = rod((-500.0 * c, -500.0 * s, z), (c, s, 0.0), 1000.0, r2)
    assert nearest(one, two).distance == pytest.approx(max(0.0, abs(z) - r1 - r2), abs=1e-6)


def test_rods_end_to_end_and_the_nearest_points() -> None:
    """Own arithmetic: flat ends 12 apart on one axis; aside, the rims' corners, 3 and 4 apart, make 5."""
    one = rod((0.0, 0.0, 0.0), (0.0, 0.0, 1.0), 10.0, 2.0)
    found = nearest(one, rod((0.0, 0.0, 22.0), (0.0, 0.0, 1.0), 5.0, 6.0))
    assert found.distance == pytest.approx(12.0, abs=1e-9)
    found = nearest(one, rod((7.0, 0.0, 14.0), (0.0, 0.0, 1.0), 5.0, 2.0))
    assert found.distance == pytest.approx(5.0, abs=1e-9)
    assert found.first == pytest.approx((2.0, 0.0, 10.0), abs=1e-5)
    assert found.second == pytest.approx((5.0, 0.0, 14.0), abs=1e-5)


stays = st.builds(
    lambda direction, start, sizes, outset, splay: Tube(
        "stay",
        direction,
        (Station(start, *sizes[:2]), Station(start + 300.0, *sizes[2:])),
        outset=outset,
        splay=splay,
    ),
    st.floats(0.0, 360.0),
    st.floats(20.0, 60.0),
    st.tuples(*(st.floats(10.0, 24.0) for _ in range(4))),
    st.floats(-20.0, 20.0),
    st.floats(-8.0, 8.0),
)
boxes = st.tuples(places, places, turns, sizes, sizes, st.floats(-30.0, 30.0))


@given(stays, boxes)
def test_no_point_of_a_tube_is_nearer_to_a_box(tube: Tube, box: tuple) -> None:
    """scipy's simplex from a net's best place finds nothing nearer, and the points named are that far."""
    x, y, turn, a, b, z = box
    body, _ = upright(x, y, turn, a, b, z)
    found = tube_gap(body, tube)
    assert math.dist(found.first, found.second) == pytest.approx(found.distance, abs=1e-6)
    c, s = math.cos(math.radians(turn)), math.sin(math.radians(turn))

    def away(points: np.ndarray) -> np.ndarray:
        dx, dy, dz = points[..., 0] - x, points[..., 1] - y, points[..., 2] - z
        along, across = np.abs(c * dx + s * dy) - a, np.abs(c * dy - s * dx) - b
        parts = [np.maximum(part, 0.0) for part in (along, across, np.abs(dz) - 10.0)]
        return np.sqrt(sum(part * part for part in parts))

    low, high = tube.span
    ss, turns_ = np.linspace(low, high, 61), np.linspace(0.0, 2.0 * math.pi, 49)
    net = away(surface(tube, ss[:, None], turns_[None, :]))
    i, j = np.unravel_index(int(np.argmin(net)), net.shape)
    best = minimize(
        lambda at: float(away(surface(tube, np.array(at[0]), np.array(at[1])))),
        (ss[i], turns_[j]),
        bounds=((low, high), (-1.0, 7.5)),
        method="Nelder-Mead",
        options={"xatol": 1e-9, "fatol": 1e-12, "maxiter": 4000},
    )
    assert found.distance <= min(best.fun, net.min()) + 1e-6


@given(stays, boxes, st.tuples(*(st.floats(-5.0, 5.0) for _ in range(3))))
def test_a_box_moved_comes_no_nearer_than_it_was_moved(tube: Tube, box: tuple, by: Space) -> None:
    x, y, turn, a, b, z = box
    still, _ = upright(x, y, turn, a, b, z)
    moved, _ = upright(x + by[0], y + by[1], turn, a, b, z + by[2])
    change = tube_gap(moved, tube).distance - tube_gap(still, tube).distance
    assert abs(change) <= math.hypot(*by) + 1e-6


@given(stays, boxes, st.floats(0.0, 10.0))
def test_a_larger_box_is_never_further_off(tube: Tube, box: tuple, more: float) -> None:
    x, y, turn, a, b, z = box
    small, _ = upright(x, y, turn, a, b, z)
    large, _ = upright(x, y, turn, a + more, b, z)
    assert tube_gap(large, tube).distance <= tube_gap(small, tube).distance + 1e-6


@given(stays, boxes, st.floats(0.1, 20.0))
def test_a_search_that_may_end_early_still_tells_near_from_far(tube: Tube, box: tuple, beyond: float) -> None:
    body, _ = upright(*box[:5], box[5])
    whole, early = tube_gap(body, tube).distance, tube_gap(body, tube, beyond).distance
    if whole <= beyond:
        assert early == pytest.approx(whole, abs=1e-6)
    else:
        assert early >= beyond
