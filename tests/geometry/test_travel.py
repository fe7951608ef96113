"""Pads over a wheel's travel, and the wheel's way out, by arithmetic done by hand."""

import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from geometry.clearance.bodies import OwnCaliper, caliper, seat
from geometry.clearance.travel import (
    over_travel,
    pad_radius,
    reach,
    way_out,
    worst_over_travel,
    worst_way_out,
)
from geometry.core.plane import polar
from geometry.core.say import say
from geometry.mount.placement import Placement, place
from geometry.tables.axles import axle
from geometry.tables.interfaces import resolve
from geometry.tables.stance import slot_way
from sheets.words.tell import told

OWN = OwnCaliper(60.0, 26.0, 17.0, 22.0, depth=14.0, pad_height=14.0, track=17.0)


def post(tilt: float = 0.0) -> Placement:
    """Return a post mount for a 160 disc on a chainstay."""
    face = resolve("post", "rear", 160, 160)
    return place(face, axle("142x12"), rotor=160, host="chainstay", direction=180.0, tilt=tilt)


@pytest.mark.parametrize(
    ("slot", "way"), [(0, (0, -1)), (90, (-1, 0)), (-90, (1, 0)), (30, (-0.5, -math.sqrt(0.75)))]
)
def test_a_slots_direction(slot: float, way: tuple[float, float]) -> None:
    """0 is straight down in the package's axes, + forward, at either end."""
    assert slot_way(slot) == pytest.approx(way)


@pytest.mark.parametrize(
    ("pad", "way", "play", "gone"),
    [
        ((0.0, 60.0), (0.0, -1.0), 0.5, 0.5),  # straight away from the pads
        ((0.0, 60.0), (0.0, 1.0), 0.5, 0.5),  # straight at them
        ((0.0, 60.0), (1.0, 0.0), 0.5, math.sqrt(60.5**2 - 60.0**2)),  # square to them
        ((30.0, 40.0), (1.0, 0.0), 10.0, 30.0),  # 3, 4, 5: at its nearest the radius is 40
        ((30.0, 40.0), (1.0, 0.0), 10.1, 30.0 + math.sqrt(900.0 + 10.1 * 110.1)),  # past that, and out
    ],
)
def test_how_far_until_the_pads_radius_has_changed(
    pad: tuple[float, float], way: tuple[float, float], play: float, gone: float
) -> None:
    assert reach(pad, way, play) == pytest.approx(gone)


@given(st.floats(0.0, 360.0), st.floats(0.0, 360.0), st.floats(40.0, 110.0), st.floats(0.1, 5.0))
def test_within_reach_the_pads_keep_their_play(
    turn: float, heading: float, radius: float, play: float
) -> None:
    pad, way = polar(turn, radius), polar(heading)
    far = reach(pad, way, play)
    for share in (0.25, 0.5, 0.75, 1.0):
        assert abs(pad_radius(pad, way, share * far) - radius) <= play + 1e-9
    assert abs(pad_radius(pad, way, far) - radius) == pytest.approx(play)


def test_the_pads_of_a_post_mount_lie_between_its_screws_on_the_face() -> None:
    """Post row at 160: 55.9 up, (6.8 + 81.0) / 2 = 43.9 along; radius 71.08 (interfaces, part 1, 3)."""
    where = seat(post(), caliper(post()))
    assert where.pad == pytest.approx((-43.9, 55.9))
    assert math.hypot(*where.pad) == pytest.approx(71.08, abs=0.005)


@pytest.mark.parametrize(("native", "along", "up"), [(140, 42.4, 44.0), (160, 51.0, 49.1)])
def test_the_pads_of_a_flat_mount_lie_over_the_face(native: float, along: float, up: float) -> None:
    """Interfaces, part 2, 1b: pads 13.5 over the face, midway; 1c: R - 9 at every size."""
    face = resolve("flat-rear", "rear", native, native)
    placement = place(face, axle("142x12"), rotor=native, host="chainstay", direction=180.0)
    pad = seat(placement, caliper(placement)).pad
    assert pad == pytest.approx((-along, up))
    assert math.hypot(*pad) == pytest.approx(native / 2.0 - 9.0, abs=0.3)


@pytest.mark.parametrize("rotor", [140, 160])
def test_a_front_plate_turned_end_for_end_serves_both_discs(rotor: float) -> None:
    """The plate moves the caliper 15 along the leg; either way the pads come to R - 9 within 1."""
    face = resolve("flat-front", "front", 140, rotor)
    placement = place(face, axle("100x12"), rotor=rotor, host="fork-leg", direction=90.0)
    assert math.hypot(*seat(placement, caliper(placement)).pad) == pytest.approx(rotor / 2.0 - 9.0, abs=1.0)


def test_the_pads_of_a_tab_lie_where_its_adapter_puts_them() -> None:
    face = resolve("is-rear", "rear", 140, 140)
    placement = place(face, axle("135-qr"), rotor=140, host="chainstay", direction=180.0)
    assert math.hypot(*seat(placement, caliper(placement)).pad) == pytest.approx(61.0, abs=0.3)


def test_an_adapter_carries_the_pads_out_by_half_the_step() -> None:
    before = seat(post(), caliper(post())).pad
    face = resolve("post", "rear", 160, 180)
    larger = place(face, axle("142x12"), rotor=180, host="chainstay", direction=180.0)
    after = seat(larger, caliper(larger)).pad
    assert math.hypot(*after) - math.hypot(*before) == pytest.approx(10.0)


def test_travel_by_hand() -> None:
    """Pads at (-43.9, 55.9), own pads 14 on a track of 17: 1.5 either way; the axle goes rearward.

    At g the radius squared is 71.08^2 + 2 g 43.9 + g^2: 1.5 more is reached at 2.40.
    """
    found = over_travel(post(), caliper(post(), OWN), -90.0, 10.0)
    assert found is not None and found.reach is not None and found.end is not None
    assert found.play == pytest.approx(1.5)
    far = -43.9 + math.sqrt(43.9**2 + 1.5 * (2.0 * math.hypot(43.9, 55.9) + 1.5))
    assert found.reach == pytest.approx(far)
    assert found.end == pytest.approx(math.hypot(53.9, 55.9))
    assert not found.ok and found.sentence.code == "travel.over.leaves"
    assert found.sentence["after"] == found.reach and "after 2.4 mm" in told(found.sentence)
    assert found.sentence["numbers"].code == "travel.numbers.own"
    short = over_travel(post(), caliper(post(), OWN), -90.0, 2.0)
    assert short is not None and short.ok and short.sentence.code == "travel.over.stays"


def test_travel_says_what_a_slider_means_and_what_is_missing() -> None:
    room = caliper(post())
    assert over_travel(post(), room, 0.0, 0.0) is None
    found = over_travel(post(), room, None, 12.0)
    assert found is not None and found.reach is None and found.ok is None
    assert found.sentence == say("travel.no_way", travel=found.travel, rides=say("travel.rides"))


def test_the_wheel_drops_out_downward_and_not_against_the_bridge() -> None:
    """Down, away from pads that lie up and forward: free. Straight at the pads: the bridge is 2 away."""
    room = caliper(post())
    assert way_out(post(), room, 0.0).free is True
    pad = seat(post(), room).pad
    at_pads = math.degrees(math.atan2(-pad[0], -pad[1]))
    blocked = way_out(post(), room, at_pads)
    assert blocked.free is False
    assert blocked.meets == pytest.approx(room.bridge.value, abs=1e-9)
    assert blocked.clause.code == "travel.held"
    assert way_out(post(), room, None).free is None


@given(st.floats(-180.0, 180.0), st.floats(-40.0, 40.0))
def test_the_disc_moved_along_the_slot_touches_the_bridge_first_where_said(slot: float, tilt: float) -> None:
    """The bridge's edge as points: none comes within the moved disc before `meets`, one does just after."""
    placement = post(tilt)
    room = caliper(placement)
    found, way, where = way_out(placement, room, slot), slot_way(slot), seat(placement, room)
    (tx, ty), (nx, ny) = placement.t, placement.n
    rim, half = placement.rotor.radius + room.bridge.value, room.bridge_length.value / 2.0
    points = []
    for i in range(36001):
        x, y = polar(i / 100.0, rim)
        along, up = x * tx + y * ty, x * nx + y * ny
        if abs(along - where.along) <= half and -room.depth <= up - where.up <= room.height:
            points.append((x, y))
    assert points

    def clear(gone: float) -> float:
        return min(math.dist(p, (gone * way[0], gone * way[1])) for p in points) - placement.rotor.radius

    if found.meets is None:
        assert all(clear(gone) > -0.01 for gone in range(0, 120, 4))
    else:
        assert clear(max(0.0, found.meets - 0.05)) > -0.01
        assert clear(found.meets + 0.05) < 0.02


@given(st.lists(st.floats(-180.0, 180.0), min_size=1, max_size=6), st.floats(1.0, 40.0))
def test_of_several_directions_the_worst_counts(slots: list[float], travel: float) -> None:
    room = caliper(post())
    each = [over_travel(post(), room, slot, travel) for slot in slots]
    worst = worst_over_travel(post(), room, slots, travel)
    assert worst is not None
    assert worst.reach == min(one.reach for one in each if one is not None and one.reach is not None)
    assert worst.ok == all(one.ok for one in each if one is not None)
    # What would settle it is asked for where it makes a difference that is open.
    assert (worst.sentence.code == "travel.worst") is (len(slots) > 1 and not worst.ok)
    ways = [way_out(post(), room, slot) for slot in slots]
    out = worst_way_out(post(), room, slots)
    assert out.free is all(one.free for one in ways)
    assert out.meets == min((one.meets for one in ways if one.meets is not None), default=None)


def test_no_direction_at_all_is_unknown() -> None:
    room = caliper(post())
    assert worst_way_out(post(), room, ()) == way_out(post(), room, None)
    assert worst_over_travel(post(), room, (), 12.0) == over_travel(post(), room, None, 12.0)
    assert worst_over_travel(post(), room, (0.0, 10.0), 0.0) is None


def test_a_caliper_of_ones_own_is_taken_as_given() -> None:
    room = caliper(post(), OWN)
    assert (room.length, room.depth, room.offset, room.own) == (60.0, 14.0, 0.0, True)
    assert (room.grade, room.source) == ("own", say("clearance.own_caliper"))
    partly = caliper(post(), replace(OWN, depth=None))
    assert (partly.depth, partly.grade) == (14.0, "D")
