"""A tube's place and outline, against the surface itself sampled and searched.

Ranges: stays and fork legs are 8 to 60 mm across, longer than 60 mm between stations, splayed by 15 degrees
at most and tapered by at most a fifth of their length (common practice, no source, with room to spare).
"""

import cmath
import math
from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy.optimize import minimize_scalar

from geometry.tubes.tube import Station, Tube, centre, half_axes, halves, outline, section, surface

Vector = NDArray[np.float64]
DIRECTION = st.floats(0.0, 360.0)
SIZE = st.floats(8.0, 60.0)
SIDE = st.floats(-30.0, 30.0)
SPLAY = st.floats(-15.0, 15.0)
RUN = st.floats(60.0, 400.0)
FROM_OUTBOARD = (0.0, 0.0, -1.0)


def _line(tube: Tube, s: float) -> Vector:
    """Return the centre line at s, from the definition of the axes: n0 is t0 turned by -90 degrees."""
    t = cmath.exp(1j * math.radians(tube.direction))
    point = tube.offset * (-1j * t) + s * t
    return np.array([point.real, point.imag, tube.outset - s * math.tan(math.radians(tube.splay))])


def _round(s: float, diameter: float) -> Station:
    return Station(s, diameter, diameter)


def _in_side_view(tube: Tube, point: Vector) -> tuple[float, float]:
    """Return a point's distances up the tube and to its mount side in the side view."""
    t = cmath.exp(1j * math.radians(tube.direction))
    local = complex(point[0], point[1]) / t
    return local.real, -local.imag


def _height_at(tube: Tube, level: float, across: Vector, up: Vector) -> Callable[[float], float]:
    """Return the height along `up` of the surface's point at angle p that lies at `level` along `across`.

    The surface of a tube of two stations is straight along s, so that point is found by a division.
    """
    low, high = tube.stations
    run = high.s - low.s
    slope_a, slope_b = (high.height - low.height) / run / 2.0, (high.width - low.width) / run / 2.0
    a0, b0 = low.height / 2.0 - slope_a * low.s, low.width / 2.0 - slope_b * low.s
    origin, step = _line(tube, 0.0), _line(tube, 1.0) - _line(tube, 0.0)
    side = _line(Tube("", tube.direction, tube.stations, offset=1.0), 0.0)
    square = np.cross(step / np.linalg.norm(step), side)

    def height(p: float) -> float:
        start = origin + a0 * math.cos(p) * side + b0 * math.sin(p) * square
        way = step + slope_a * math.cos(p) * side + slope_b * math.sin(p) * square
        return float((start + (level - start @ across) / (way @ across) * way) @ up)

    return height


def _highest(height: Callable[[float], float]) -> float:
    angles = np.linspace(0.0, 2.0 * math.pi, 49)
    best = angles[int(np.argmax([height(p) for p in angles]))]
    found = minimize_scalar(
        lambda p: -height(p), bounds=(best - 0.15, best + 0.15), method="bounded", options={"xatol": 1e-10}
    )
    return -float(found.fun)


def _check_outline(tube: Tube, look: Vector) -> None:
    """Compare each contour point with the highest and lowest point of the surface level with it."""
    axis = _line(tube, 1.0) - _line(tube, 0.0)
    across = axis - (axis @ look) * look
    across /= np.linalg.norm(across)
    up = np.cross(look, across)
    first, second = outline(tube, tuple(look), tuple(up))
    for points, sign in ((first, 1.0), (second, -1.0)):
        assert len(points) == 2
        for point in points:
            extreme = _highest(_height_at(tube, float(point @ across), across, sign * up))
            assert float(point @ (sign * up)) == pytest.approx(extreme, abs=1e-6)


# --- the centre line


@given(DIRECTION, SIDE, SIDE, SPLAY, st.floats(-50.0, 500.0))
def test_the_centre_line_is_straight_and_splayed_inboard(
    direction: float, offset: float, outset: float, splay: float, s: float
) -> None:
    tube = Tube("stay", direction, (_round(0.0, 16.0), _round(400.0, 16.0)), offset, outset, splay)
    assert centre(tube, s) == pytest.approx(_line(tube, s), abs=1e-9)
    assert tube.t0 == pytest.approx(_in_xy(_line(tube, 1.0) - _line(tube, 0.0)), abs=1e-12)
    assert complex(*tube.n0) == pytest.approx(-1j * complex(*tube.t0), abs=1e-12)


def _in_xy(vector: Vector) -> tuple[float, float]:
    return float(vector[0]), float(vector[1])


def test_a_chainstay_set_in_and_up() -> None:
    # Up the chainstay is forward, its mount side is up, and a positive splay runs inboard. Own arithmetic.
    tube = Tube("chainstay", 180.0, (_round(0.0, 16.0), _round(300.0, 16.0)), 2.0, -5.0, 45.0)
    assert centre(tube, 100.0) == pytest.approx([-100.0, 2.0, -105.0], abs=1e-12)


# --- stations


def test_between_stations_the_outside_is_interpolated() -> None:
    tube = Tube(
        "stay", 180.0, (Station(10.0, 16.0, 16.0), Station(30.0, 20.0, 12.0), Station(70.0, 20.0, 18.0))
    )
    assert section(tube, 10.0) == Station(10.0, 16.0, 16.0)
    assert section(tube, 15.0) == Station(15.0, 17.0, 15.0)
    assert section(tube, 30.0) == Station(30.0, 20.0, 12.0)
    assert section(tube, 50.0) == Station(50.0, 20.0, 15.0)
    assert section(tube, 0.0) == Station(0.0, 16.0, 16.0)
    assert section(tube, 90.0) == Station(90.0, 20.0, 18.0)


@given(
    st.lists(
        st.tuples(st.floats(-20.0, 400.0), st.floats(5.0, 60.0), st.floats(5.0, 60.0)),
        min_size=1,
        max_size=4,
        unique_by=lambda each: each[0],
    ),
    st.floats(-50.0, 450.0),
    st.booleans(),
)
def test_one_place_is_interpolated_as_many_are(
    given_at: list[tuple[float, float, float]], s: float, at_station: bool
) -> None:
    """Reference: numpy.interp, to the last bit."""
    stations = tuple(Station(*each) for each in sorted(given_at))
    tube = Tube("stay", 180.0, stations)
    s = stations[len(stations) // 2].s if at_station else s
    many = half_axes(tube, np.array([s]))
    assert halves(tube, s) == (float(many[0][0]), float(many[1][0]))


def test_a_tube_is_known_from_its_first_station_to_its_last_or_to_its_bend() -> None:
    stations = (_round(15.0, 16.0), _round(120.0, 20.0), _round(300.0, 20.0))
    assert Tube("stay", 180.0, stations).span == (15.0, 300.0)
    assert Tube("stay", 180.0, stations, straight_to=200.0).span == (15.0, 200.0)
    assert Tube("stay", 180.0, stations, straight_to=500.0).span == (15.0, 300.0)


def test_an_outline_has_a_point_at_each_end_and_each_station_between() -> None:
    stations = (_round(15.0, 16.0), _round(120.0, 20.0), _round(250.0, 20.0), _round(300.0, 24.0))
    tube = Tube("stay", 180.0, stations, straight_to=200.0)
    first, second = outline(tube, FROM_OUTBOARD, (0.0, 1.0, 0.0))
    # At s = 200 the tube is 20 across, whatever comes beyond the bend.
    assert first == pytest.approx(
        np.array([[-15.0, 8.0, 0.0], [-120.0, 10.0, 0.0], [-200.0, 10.0, 0.0]]), abs=1e-9
    )
    assert second == pytest.approx(
        np.array([[-15.0, -8.0, 0.0], [-120.0, -10.0, 0.0], [-200.0, -10.0, 0.0]]), abs=1e-9
    )


# --- the surface


@given(DIRECTION, SIDE, SIDE, SPLAY, SIZE, SIZE, st.floats(10.0, 310.0), st.floats(0.0, 2.0 * math.pi))
def test_a_point_of_the_surface_lies_on_the_ellipse_square_to_the_tube(
    direction: float,
    offset: float,
    outset: float,
    splay: float,
    height: float,
    width: float,
    s: float,
    p: float,
) -> None:
    stations = (Station(10.0, height, width), Station(310.0, 20.0, 30.0))
    tube = Tube("stay", direction, stations, offset, outset, splay)
    point = surface(tube, np.array([[s]]), np.array([[p]]))[0, 0] - _line(tube, s)
    axis = _line(tube, 1.0) - _line(tube, 0.0)
    axis /= np.linalg.norm(axis)
    side = _line(Tube("", direction, stations, offset=1.0), 0.0)
    part = (s - 10.0) / 300.0
    a, b = (height + part * (20.0 - height)) / 2.0, (width + part * (30.0 - width)) / 2.0
    assert point @ axis == pytest.approx(0.0, abs=1e-9)
    assert point @ side == pytest.approx(a * math.cos(p), abs=1e-9)
    # A quarter turn from the mount side is inboard, - z: of the two ways round, the one that falls.
    square = np.cross(axis, side)
    assert square[2] < 0.0
    assert point @ square == pytest.approx(b * math.sin(p), abs=1e-9)


def test_the_surface_is_a_net_of_points() -> None:
    tube = Tube("chainstay", 180.0, (Station(0.0, 22.0, 14.0), Station(200.0, 22.0, 14.0)), outset=-6.0)
    net = surface(tube, np.array([0.0, 50.0, 200.0])[:, None], np.array([0.0, math.pi / 2.0])[None, :])
    # Own arithmetic: 11 up at turn 0, 7 inboard of the middle a quarter turn on.
    assert net.shape == (3, 2, 3)
    assert net[1] == pytest.approx(np.array([[-50.0, 11.0, -6.0], [-50.0, 0.0, -13.0]]), abs=1e-12)


# --- the outline


@given(DIRECTION, SIDE, SIDE, st.floats(-40.0, 40.0), SIZE, RUN)
def test_a_plain_tube_is_half_its_diameter_either_way_whatever_its_splay(
    direction: float, offset: float, outset: float, splay: float, diameter: float, run: float
) -> None:
    tube = Tube("leg", direction, (_round(0.0, diameter), _round(run, diameter)), offset, outset, splay)
    first, second = outline(tube, FROM_OUTBOARD, (*tube.n0, 0.0))
    for points, sign in ((first, 1.0), (second, -1.0)):
        for point, s in zip(points, (0.0, run), strict=True):
            assert _in_side_view(tube, point) == pytest.approx((s, offset + sign * diameter / 2.0), abs=1e-9)


@given(DIRECTION, SIDE, SPLAY, SIZE, SIZE, SIZE, SIZE, RUN)
def test_from_outboard_an_outline_is_as_far_out_as_the_surface_goes(
    direction: float, offset: float, splay: float, h0: float, w0: float, h1: float, w1: float, run: float
) -> None:
    assume(max(abs(h1 - h0), abs(w1 - w0)) <= run / 5.0)
    tube = Tube("stay", direction, (Station(20.0, h0, w0), Station(20.0 + run, h1, w1)), offset, 3.0, splay)
    _check_outline(tube, np.array(FROM_OUTBOARD))


@given(DIRECTION, SPLAY, SIZE, SIZE, SIZE, SIZE, RUN, st.floats(0.0, 360.0), st.floats(-30.0, 30.0))
def test_from_any_side_an_outline_is_as_far_out_as_the_surface_goes(
    direction: float,
    splay: float,
    h0: float,
    w0: float,
    h1: float,
    w1: float,
    run: float,
    around: float,
    lean: float,
) -> None:
    assume(max(abs(h1 - h0), abs(w1 - w0)) <= run / 5.0)
    tube = Tube("stay", direction, (Station(0.0, h0, w0), Station(run, h1, w1)), 4.0, -2.0, splay)
    # Round the tube by any angle, and up to 30 degrees off square to it.
    axis = _line(tube, 1.0) - _line(tube, 0.0)
    axis /= np.linalg.norm(axis)
    side = np.cross(axis, [0.0, 0.0, 1.0])
    side /= np.linalg.norm(side)
    square = math.cos(math.radians(around)) * side + math.sin(math.radians(around)) * np.cross(axis, side)
    _check_outline(tube, math.cos(math.radians(lean)) * square + math.sin(math.radians(lean)) * axis)


def test_taper_and_splay_move_the_outline_by_what_the_cone_says() -> None:
    # Own arithmetic. A cone's contour touches the spheres inside it. Here the half-angle is 5.71 degrees
    # (slope 0.1) and the splay 10, so the centre line is seen foreshortened by cos(10) and the contour leans
    # by asin(sin(half-angle) / cos(10)), through the apex as seen.
    half = math.atan(0.1)
    length = 200.0 / math.cos(math.radians(10.0))
    tube = Tube("leg", 0.0, (_round(0.0, 50.0), _round(200.0, 50.0 - 0.2 * length)), splay=10.0)
    first, _ = outline(tube, FROM_OUTBOARD, (*tube.n0, 0.0))
    lean = math.asin(math.sin(half) / math.cos(math.radians(10.0)))
    apex = 25.0 / 0.1 * math.cos(math.radians(10.0))
    for point in first:
        up, out = _in_side_view(tube, point)
        assert out == pytest.approx((apex - up) * math.tan(lean), abs=1e-6)
    # The contour's first point lies asin(0.1 tan(10)) round the tube, and so a little up it.
    ahead = 25.0 * 0.1 * math.tan(math.radians(10.0)) * math.sin(math.radians(10.0))
    assert _in_side_view(tube, first[0])[0] == pytest.approx(ahead, abs=1e-9)


def test_an_oval_shows_its_height_from_outboard_and_its_width_from_above() -> None:
    tube = Tube("chainstay", 180.0, (Station(0.0, 22.0, 14.0), Station(200.0, 22.0, 14.0)), outset=-6.0)
    upper, lower = outline(tube, FROM_OUTBOARD, (0.0, 1.0, 0.0))
    assert upper[:, 1] == pytest.approx([11.0, 11.0], abs=1e-12)
    assert lower[:, 1] == pytest.approx([-11.0, -11.0], abs=1e-12)
    outer, inner = outline(tube, (0.0, -1.0, 0.0), (0.0, 0.0, 1.0))
    assert outer[:, 2] == pytest.approx([1.0, 1.0], abs=1e-12)
    assert inner[:, 2] == pytest.approx([-13.0, -13.0], abs=1e-12)


@pytest.mark.parametrize("flip", [1.0, -1.0, 0.01, -0.01])
def test_the_first_line_is_the_one_to_the_side_asked_for(flip: float) -> None:
    tube = Tube("seatstay", 118.0, (_round(10.0, 16.0), _round(200.0, 14.0)), offset=3.0, splay=2.0)
    toward = np.array([*tube.n0, 0.0]) * flip
    first, second = outline(tube, FROM_OUTBOARD, tuple(toward))
    assert all((first - second) @ toward > 10.0 * abs(flip))
    turned_over = outline(tube, (0.0, 0.0, 1.0), tuple(toward))
    assert turned_over[0] == pytest.approx(first, abs=1e-9)


def test_where_two_tapers_meet_the_step_is_below_a_micrometre() -> None:
    # Slopes of 0.1 and 0, splay 10 degrees: the steepest meeting in the ranges above.
    stations = (_round(0.0, 36.0), _round(100.0, 16.0), _round(300.0, 16.0))
    whole = Tube("leg", 90.0, stations, splay=10.0)
    joint = outline(whole, FROM_OUTBOARD, (*whole.n0, 0.0))[0][1]
    look = np.array(FROM_OUTBOARD)
    for part in (stations[:2], stations[1:]):
        piece = Tube("leg", 90.0, part, splay=10.0)
        axis = _line(piece, 1.0) - _line(piece, 0.0)
        across = axis - (axis @ look) * look
        across /= np.linalg.norm(across)
        up = np.array([*piece.n0, 0.0])
        highest = _highest(_height_at(piece, float(joint @ across), across, up))
        assert joint @ up == pytest.approx(highest, abs=0.001)


def test_no_outline_holds_a_stray_rounding_error() -> None:
    # A straight stay's contour lies at z = 0 and x = -s exactly, and no number is a negative zero.
    tube = Tube("chainstay", 180.0, (_round(0.0, 16.0), _round(300.0, 16.0)))
    for points in outline(tube, FROM_OUTBOARD, (0.0, 1.0, 0.0)):
        assert list(points[:, 0]) == [0.0, -300.0]
        assert list(points[:, 2]) == [0.0, 0.0]
