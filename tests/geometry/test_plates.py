"""Curves where a plate's faces meet a tube, against closed forms and distances worked out another way."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from geometry.core.errors import GeometryError, Problem
from geometry.core.findings import texts
from geometry.core.say import say
from geometry.tubes.plates import PlateCrossing, plate_against
from geometry.tubes.tube import Tube
from tests.geometry.apart import (
    MISS,
    PLAIN,
    Vector,
    line_at,
    off_tube,
    own_axes,
    round_stations,
    tubes,
    with_middles,
)

ON_CHAINSTAY = say("tubes.on", body=say("tubes.tab"), tube="chainstay")


def _check_plate(tube: Tube, point: Vector, normal: Vector, curve: PlateCrossing, thickness: float) -> None:
    way = normal / np.linalg.norm(normal)
    level = thickness if curve.face == "outer" else 0.0
    assert (curve.space - point) @ way == pytest.approx(level, abs=1e-9)
    assert off_tube(tube, curve.space).max() < 1e-6
    assert off_tube(tube, with_middles(curve.space)).max() < MISS
    steps = np.linalg.norm(np.diff(curve.space, axis=0), axis=-1)
    assert np.linalg.norm(np.diff(curve.shape, axis=0), axis=-1) == pytest.approx(steps, abs=1e-9)


@given(tubes(), st.floats(-0.9, 0.9), st.floats(1.0, 8.0))
def test_a_tab_meets_the_tube_in_its_own_plane(tube: Tube, share: float, thickness: float) -> None:
    z = line_at(tube, 60.0)[2] + share * min(each.width for each in tube.stations) / 2.0
    point, normal = np.array([7.0, -3.0, z]), np.array([0.0, 0.0, 1.0])
    curves = plate_against(tube, point, normal, thickness, within=(20.0, 110.0))
    assert {curve.face for curve in curves} >= {"inner"}
    for curve in curves:
        _check_plate(tube, point, normal, curve, thickness)
        assert curve.shape == pytest.approx(curve.space[:, :2], abs=1e-12)
    first, second = [curve for curve in curves if curve.face == "inner"][:2]
    assert np.mean(first.space @ own_axes(tube)[0]) > np.mean(second.space @ own_axes(tube)[0])


@given(tubes(), st.floats(-40.0, 40.0))
def test_a_tab_that_leans_about_x_is_drawn_with_x_as_it_is(tube: Tube, lean: float) -> None:
    # Own arithmetic: up the leaning plate runs (0, cos, -sin), square to x and to its normal.
    sine, cosine = math.sin(math.radians(lean)), math.cos(math.radians(lean))
    point = line_at(tube, 60.0)
    for curve in plate_against(tube, point, (0.0, sine, cosine), within=(20.0, 110.0)):
        away = curve.space @ np.array([[1.0, 0.0], [0.0, cosine], [0.0, -sine]])
        assert curve.shape == pytest.approx(away, abs=1e-9)


def test_a_tab_on_a_straight_stay_is_coped_to_two_straight_lines() -> None:
    # Own arithmetic: at z = 6 and 8 from the middle a tube of radius 10 is 8 and 6 high.
    curves = plate_against(PLAIN, (0.0, 0.0, 6.0), (0.0, 0.0, 1.0), 2.0, within=(20.0, 90.0))
    assert [curve.face for curve in curves] == ["inner", "inner", "outer", "outer"]
    for curve, y in zip(curves, (8.0, -8.0, 6.0, -6.0), strict=True):
        assert curve.space[:, 1] == pytest.approx(y, abs=1e-12)
        assert [curve.s.min(), curve.s.max()] == [20.0, 90.0]
        assert not curve.breaks_out and not curve.closed and texts(curve.words) == ()


def test_a_face_that_passes_beside_the_tube_is_said() -> None:
    curves = plate_against(PLAIN, (0.0, 0.0, 7.5), (0.0, 0.0, 1.0), 5.0, within=(20.0, 90.0))
    assert {curve.face for curve in curves} == {"inner"}
    (words,) = {texts(curve.words) for curve in curves}
    assert words == (say("tubes.beside.outer", tube="chainstay", outer=2.5),)
    with pytest.raises(GeometryError) as caught:
        plate_against(PLAIN, (0.0, 0.0, 10.5), (0.0, 0.0, 1.0), 5.0)
    beside = say("tubes.beside.both", tube="chainstay", inner=0.5, outer=5.5)
    assert caught.value.problems == (Problem(ON_CHAINSTAY, beside),)


def test_a_face_that_leaves_a_splayed_stay_ends_in_its_tip() -> None:
    # Own arithmetic: a plane along z cuts a stay of radius 10, splayed by 5 degrees, in an ellipse of half
    # axes 10 and 10 / sin 5, whose tip lies where the stay's side comes down to the plane.
    tube = Tube("chainstay", 180.0, round_stations((0.0, 20.0), (300.0, 20.0)), splay=5.0)
    sine, cosine = math.sin(math.radians(5.0)), math.cos(math.radians(5.0))
    curves = plate_against(tube, (0.0, 0.0, 2.0), (0.0, 0.0, 1.0))
    for curve in curves:
        middle = -2.0 / (sine / cosine)
        x, y = -curve.space[:, 0], curve.space[:, 1]
        assert ((x - middle) * sine / 10.0) ** 2 + (y / 10.0) ** 2 == pytest.approx(1.0, abs=1e-9)
        assert x.max() == pytest.approx(middle + 10.0 / sine, abs=1e-6)
        # The tip lies 10 out from the centre line, square to it, on the side to outboard.
        tip = middle + 10.0 / sine - 10.0 * sine
        assert curve.s.max() == pytest.approx(tip, abs=1e-6)
        assert curve.breaks_out
        (leaves,) = texts(curve.words)
        assert (leaves.code, leaves["s"]) == ("tubes.leaves", pytest.approx(tip, abs=1e-6))


@given(st.floats(8.0, 20.0), st.floats(0.0, 44.0), st.floats(0.0, 360.0))
def test_a_plane_across_a_straight_tube_cuts_an_ellipse(radius: float, lean: float, turn: float) -> None:
    # Any textbook: half axes R and R / cos(lean).
    tube = Tube("leg", 90.0, round_stations((0.0, 2.0 * radius), (300.0, 2.0 * radius)))
    angle, aside = math.radians(lean), math.radians(turn)
    normal = (math.sin(angle) * math.cos(aside), math.cos(angle), math.sin(angle) * math.sin(aside))
    (curve,) = plate_against(tube, (0.0, 150.0, 0.0), normal)
    assert curve.closed and not curve.breaks_out and texts(curve.words) == ()
    middle = np.array([0.0, 150.0, 0.0])
    far = np.linalg.norm(curve.space - middle, axis=-1)
    assert far.min() == pytest.approx(radius, abs=0.003)
    assert far.max() == pytest.approx(radius / math.cos(angle), abs=0.003)
    flat = curve.shape
    area = abs(float(np.sum(flat[:-1, 0] * flat[1:, 1] - flat[1:, 0] * flat[:-1, 1]))) / 2.0
    assert area == pytest.approx(math.pi * radius**2 / math.cos(angle), rel=1e-3)


@given(tubes(), st.floats(-40.0, 40.0), st.floats(-40.0, 40.0), st.floats(1.0, 8.0))
def test_a_plate_across_the_tube_meets_it_in_a_closed_curve(
    tube: Tube, one: float, other: float, thickness: float
) -> None:
    n, w, run = own_axes(tube)
    normal = run + math.sin(math.radians(one)) * 0.7 * n + math.sin(math.radians(other)) * 0.7 * w
    point = line_at(tube, 120.0)
    for curve in plate_against(tube, point, normal, thickness):
        assert curve.closed
        assert curve.space[0] == pytest.approx(curve.space[-1], abs=1e-9)
        assert abs(curve.turn[-1] - curve.turn[0]) == pytest.approx(2.0 * math.pi)
        _check_plate(tube, point, normal, curve, thickness)


def test_plates_that_cannot_be() -> None:
    with pytest.raises(GeometryError, match=r"tubes\.no_normal"):
        plate_against(PLAIN, (0.0, 0.0, 0.0), (0.0, 0.0, 0.0))
    with pytest.raises(GeometryError, match=r"tubes\.not_known"):
        plate_against(PLAIN, (0.0, 0.0, 0.0), (0.0, 0.0, 1.0), within=(400.0, 500.0))
    with pytest.raises(GeometryError, match=r"tubes\.beside\.only.* inner=50"):
        plate_against(PLAIN, (50.0, 0.0, 0.0), (1.0, 0.0, 0.0))


def test_a_plate_at_the_tube_s_end_is_cut_off_and_told() -> None:
    normal = (-math.cos(math.radians(30.0)), math.sin(math.radians(30.0)), 0.0)
    (curve,) = plate_against(PLAIN, (0.0, 0.0, 0.0), normal)
    assert not curve.closed
    assert curve.s[[0, -1]].tolist() == [0.0, 0.0]
    begins = say("tubes.begins", s="0")
    assert texts(curve.words) == (say("tubes.cut_off", where=say("tubes.plate_line"), ends=(begins,)),)
