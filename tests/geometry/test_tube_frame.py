"""The tubes at a dropout as a frame: by hand, by a frame library, and by a fork leg's plain formula."""

import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from geometry.braking.forces import Forces, forces
from geometry.braking.tube_frame import (
    Bent,
    Brace,
    Foot,
    Wall,
    bend,
    feet,
    left_share,
    lever_of,
    peaks,
    section,
    sideways,
)
from geometry.clearance.bodies import caliper, seat
from geometry.mount.placement import Placement, host_direction, place
from geometry.tables.axles import End, axle
from geometry.tables.fasteners import screw
from geometry.tables.interfaces import resolve
from geometry.tables.loads import OwnLoad, load_on
from geometry.tubes.tube import Station, Tube, centre, half_axes

E = 205_000.0


def placed(
    name: str, end: End, system: str, rotor: float, host: str, native: float | None = None
) -> Placement:
    return place(
        resolve(name, end, native, rotor),
        axle(system),
        rotor=rotor,
        host=host,
        direction=host_direction(host, 62.0),
    )


def pushed(placement: Placement, turn: float = 0.0) -> Forces:
    own = load_on(placement.end, OwnLoad("solo"))
    return forces(placement, own, seat(placement, caliper(placement)).pad, turn)


def wall(
    name: str, direction: float, stations: list[tuple[float, float]], thick: float, length: float
) -> Wall:
    tube = Tube(name, direction, tuple(Station(s, d, d) for s, d in stations))
    return Wall(tube, thick, length)


TAB = placed("is-rear", "rear", "135-qr", 160.0, "seatstay")
CHAINSTAY = wall("chainstay", 180.0, [(30.0, 14.0), (160.0, 19.0), (370.0, 22.2)], 0.9, 370.0)
SEATSTAY = wall("seatstay", 118.0, [(28.0, 14.0), (120.0, 16.0), (380.0, 16.0)], 0.8, 380.0)


def solved(**more: Any) -> Bent:
    push = pushed(TAB)
    return bend(
        [CHAINSTAY, SEATSTAY],
        "seatstay",
        left_share(push, 14.35, 135.0),
        feet(TAB, push, SEATSTAY.tube, 12.0),
        **more,
    )


def test_the_left_dropouts_share_by_moments_about_the_right_one() -> None:
    """G acts midway, D in the disc's plane z inboard of the left seat: own arithmetic."""
    push = pushed(TAB)
    width, z = 135.0, 14.35
    left = left_share(push, z, width)
    for axis in (0, 1):
        moment = push.ground[axis] * width / 2.0 + push.on_disc[axis] * (width - z)
        assert left[axis] * width == pytest.approx(moment, rel=1e-12)


def test_a_tubes_section_is_the_handbooks() -> None:
    # Round tube: area pi/4 (D2 - d2), I = pi/64 (D4 - d4), Z = I / (D/2); any handbook. Oval: pi/4 (a3 b -
    # c3 d).
    area, second, modulus = section(31.8, 31.8, 1.5)
    inner = 28.8
    assert area == pytest.approx(math.pi / 4.0 * (31.8**2 - inner**2))
    assert second == pytest.approx(math.pi / 64.0 * (31.8**4 - inner**4))
    assert modulus == pytest.approx(second / 15.9)
    _, oval, _ = section(28.0, 20.0, 1.0)
    assert oval == pytest.approx(math.pi / 4.0 * (14.0**3 * 10.0 - 13.0**3 * 9.0))


@pytest.mark.parametrize("far", ["clamped", "hinged"])
@pytest.mark.parametrize("braced", [False, True])
def test_a_rear_end_agrees_with_a_frame_library(far: str, braced: bool) -> None:
    """PyNite, with every taper cut into short even pieces: moments within 0.1 % of the largest."""
    push = pushed(TAB)
    brace = Brace(12.7, 0.9, 105.0, 110.0) if braced else None
    entering = feet(TAB, push, SEATSTAY.tube, 12.0)
    ours = bend(
        [CHAINSTAY, SEATSTAY],
        "seatstay",
        left_share(push, 14.35, 135.0),
        entering,
        far=(far,),  # type: ignore[arg-type]
        brace=brace,
    )
    model = _library(push, entering[0], brace, far == "clamped")
    largest = max(abs(cut.moment) for cut in ours.cuts)
    for name in ("chainstay", "seatstay"):
        # Where a brace meets a stay the moment steps, and a line between pieces' ends says nothing there.
        step = {"chainstay": 105.0, "seatstay": 110.0}[name] if braced else -100.0
        cuts = [cut for cut in ours.cuts if cut.tube == name and abs(cut.s - step) > 2.0]
        places = np.array([cut.s for cut in cuts])
        found = np.interp(places, *model[name])
        assert np.abs(np.array([cut.moment for cut in cuts]) - found).max() < 2e-3 * largest


def _library(push: Forces, foot: Foot, brace: Brace | None, clamped: bool) -> dict[str, tuple[Any, Any]]:
    """Return moments along both stays from PyNite, the foot's force spread over the same places."""
    # It brings all of matplotlib, which no other test needs.
    from Pynite import FEModel3D

    model = FEModel3D()
    model.add_material("steel", E, E / 2.6, 0.3, 1e-9)
    model.add_node("axle", 0.0, 0.0, 0.0)
    model.def_support("axle", False, False, True, True, True, False)
    left = left_share(push, 14.35, 135.0)
    model.add_node_load("axle", "FX", left[0])
    model.add_node_load("axle", "FY", left[1])
    model.add_section("stiff", 1e6, 1e8, 1e8, 1e8)
    ends: dict[str, list[tuple[float, str]]] = {}
    for each in (CHAINSTAY, SEATSTAY):
        tube = each.tube
        spread = np.linspace(foot.low, foot.high, 9) if tube.name == "seatstay" else np.array([])
        meets = (
            [] if brace is None else [brace.on_chainstay if tube.name == "chainstay" else brace.on_seatstay]
        )
        low = tube.stations[0].s
        stops = sorted(
            {
                round(float(s), 6)
                for s in (*np.arange(low, each.length, 2.0), each.length, *spread, *meets)
                if s >= low
            }
        )
        before, at = "axle", 0.0
        for s in stops:
            name = f"{tube.name} {s:g}"
            x, y, _ = centre(tube, s)
            model.add_node(name, float(x), float(y), 0.0)
            model.def_support(name, False, False, True, True, True, False)
            member = f"{tube.name} to {s:g}"
            if before == "axle":
                model.add_member(member, before, name, "steel", "stiff")
            else:
                a = 2.0 * float(half_axes(tube, np.array([(s + at) / 2.0]))[0][0])
                area, second, _ = section(a, a, each.wall)
                model.add_section(member, area, second, second, second)
                model.add_member(member, before, name, "steel", member)
                ends.setdefault(tube.name, []).append((at, member))
            before, at = name, s
        model.def_support(before, True, True, True, True, True, clamped)
    tube = SEATSTAY.tube
    weight = np.full(9, 1.0)
    weight[[0, -1]] = 0.5
    weight /= weight.sum()
    middle = (foot.low + foot.high) / 2.0
    x, y, _ = centre(tube, middle)
    couple = (foot.point[0] - x) * foot.force[1] - (foot.point[1] - y) * foot.force[0]
    places = np.linspace(foot.low, foot.high, 9)
    press = couple * weight * (places - middle) / float(np.sum(weight * (places - middle) ** 2))
    for s, share, q in zip(places, weight, press, strict=True):
        fx = share * foot.force[0] - q * tube.t0[1]
        fy = share * foot.force[1] + q * tube.t0[0]
        low = tube.stations[0].s
        if s < low:
            px, py, _ = centre(tube, float(s))
            model.add_node_load("axle", "FX", fx)
            model.add_node_load("axle", "FY", fy)
            model.add_node_load("axle", "MZ", float(px) * fy - float(py) * fx)
        else:
            name = f"seatstay {round(float(s), 6):g}"
            model.add_node_load(name, "FX", fx)
            model.add_node_load(name, "FY", fy)
    if brace is not None:
        area, second, _ = section(brace.diameter, brace.diameter, brace.wall)
        model.add_section("brace", area, second, second, second)
        model.add_member(
            "brace", f"chainstay {brace.on_chainstay:g}", f"seatstay {brace.on_seatstay:g}", "steel", "brace"
        )
    model.analyze_linear()
    found: dict[str, tuple[Any, Any]] = {}
    for name, pieces in ends.items():
        rows = [(s, model.members[member].f("Combo 1")[5, 0]) for s, member in pieces]
        last = model.members[pieces[-1][1]].f("Combo 1")[11, 0]
        length = CHAINSTAY.length if name == "chainstay" else SEATSTAY.length
        # An end's moment on a piece turns the other way than its start's: both as the moment in the tube.
        s = np.array([row[0] for row in rows] + [length])
        found[name] = s, np.array([float(row[1]) for row in rows] + [-float(last)])
    return found


# --- the fork


LEG = wall("fork-leg", 90.0, [(30.0, 25.4), (380.0, 25.4)], 1.5, 380.0)
FORK = placed("is-front", "front", "100-qr", 160.0, "fork-leg")


@pytest.mark.parametrize("turn", [0.0, 18.0])
def test_above_its_mount_a_leg_bends_by_the_plain_formula(turn: float) -> None:
    """M(s) = T + s (F/2 - D_x z/W), with F and D across the leg: statics of one leg held at the crown."""
    push = pushed(FORK, turn)
    z, width = 10.5 - 0.9, 100.0
    entering = feet(FORK, push, LEG.tube, 12.0)
    found = bend([LEG], "fork-leg", left_share(push, z, width), entering, far=("clamped",))
    top = entering[0].high
    for cut in found.of("fork-leg"):
        if cut.s > top + 1e-6:
            across = push.ground[0] / 2.0 - push.on_disc[0] * z / width
            assert abs(cut.moment) == pytest.approx(push.torque + cut.s * across, rel=1e-8)


def test_a_stay_or_a_leg_below_its_mount_carries_the_axles_force_alone() -> None:
    push = pushed(FORK)
    low = wall("fork-leg", 90.0, [(5.0, 25.4), (380.0, 25.4)], 1.5, 380.0)
    left = left_share(push, 9.6, 100.0)
    entering = feet(FORK, push, low.tube, 4.0)
    for cut in bend([low], "fork-leg", left, entering, far=("clamped",)).of("fork-leg"):
        if cut.s < entering[0].low - 1e-6:
            assert abs(cut.moment) == pytest.approx(abs(left[0]) * cut.s, rel=1e-9)


def test_posts_enter_their_host_each_for_itself_and_in_balance() -> None:
    post = placed("post", "rear", "142x12", 160.0, "chainstay")
    push = pushed(post)
    both = feet(post, push, CHAINSTAY.tube, 6.0)
    assert len(both) == 2
    for axis in (0, 1):
        assert math.fsum(foot.force[axis] for foot in both) == pytest.approx(push.on_caliper[axis], abs=1e-9)
    moment = math.fsum(foot.point[0] * foot.force[1] - foot.point[1] * foot.force[0] for foot in both)
    wanted = push.pad[0] * push.on_caliper[1] - push.pad[1] * push.on_caliper[0]
    assert moment == pytest.approx(wanted, rel=1e-9)
    assert both[0].high - both[0].low == pytest.approx(12.0)
    assert screw(post.interface.hole.screw).name == "M6"


# --- laws


def test_a_very_stiff_chainstay_takes_the_couple_from_the_seatstay() -> None:
    push = pushed(TAB)
    stout = wall("chainstay", 180.0, [(30.0, 60.0)], 10.0, 370.0)
    left = left_share(push, 14.35, 135.0)
    entering = feet(TAB, push, SEATSTAY.tube, 12.0)
    bent = bend([stout, SEATSTAY], "seatstay", left, entering)
    start = [cut for cut in bent.cuts if cut.tube == "seatstay" and cut.far == "clamped"]
    assert bent.of("chainstay")[0].stress < 20.0
    # Then the seatstay stands on a dropout that does not turn.
    slopes = bent.lines["seatstay"][1][1]
    assert math.hypot(*slopes) < 0.05
    assert start


@given(st.floats(0.6, 1.4), st.floats(1.05, 1.5))
def test_thicker_walls_throughout_are_less_stressed(thin: float, times: float) -> None:
    def worst(factor: float) -> float:
        walls = [Wall(each.tube, thin * factor, each.length) for each in (CHAINSTAY, SEATSTAY)]
        push = pushed(TAB)
        found = bend(walls, "seatstay", left_share(push, 14.35, 135.0), feet(TAB, push, SEATSTAY.tube, 12.0))
        return max(cut.stress for cut in found.cuts)

    assert worst(times) < worst(1.0)


@given(st.floats(-0.6, 0.6), st.sampled_from([0, 4, 8]), st.sampled_from(["start", "brace"]))
def test_a_force_that_enters_hard_by_a_node_bends_the_frame_as_one_at_it(
    beside: float, share: int, node: str
) -> None:
    """A member some hundredths of a millimetre long made the frame a "mechanism", and its job was refused."""
    push = pushed(TAB)
    brace = Brace(12.0, 0.9, 180.0, 150.0)
    (foot,) = feet(TAB, push, SEATSTAY.tube, 12.0)
    at = np.linspace(foot.low, foot.high, 9)[share]

    def worst(by: float) -> float:
        aim = {"start": SEATSTAY.tube.stations[0].s, "brace": brace.on_seatstay}[node]
        moved = replace(foot, low=foot.low + aim + by - at, high=foot.high + aim + by - at)
        bent = bend([CHAINSTAY, SEATSTAY], "seatstay", left_share(push, 14.35, 135.0), [moved], brace=brace)
        return max(cut.stress for cut in bent.cuts)

    assert worst(beside) == pytest.approx(worst(0.0), rel=0.03)


@given(st.floats(0.0, 2.0), st.floats(10.0, 45.0), st.floats(150.0, 700.0))
@example(0.104, 12.0, 390.0)
def test_a_leg_that_is_held_is_no_mechanism_wherever_a_force_enters_it(
    beside: float, thick: float, length: float
) -> None:
    """A cantilever's largest moment is force by lever (any handbook), however near its end it is pushed."""
    leg = wall("fork-leg", 90.0, [(10.0, thick), (length, thick)], 1.0, length)
    at = 10.0 + beside
    push = Foot(at, at + 1e-9, (0.0, at), (1000.0, 0.0))
    bent = bend([leg], "fork-leg", (0.0, 0.0), [push], far=("clamped",))
    assert max(abs(cut.moment) for cut in bent.cuts) == pytest.approx(1000.0 * (length - at), rel=1e-4)


@given(st.floats(0.0, 1000.0), st.floats(0.0, 1000.0))
@example(on_chainstay=115.0, on_seatstay=11.0)
@example(on_chainstay=CHAINSTAY.tube.stations[0].s + 1e-6, on_seatstay=SEATSTAY.length)
def test_a_brace_is_part_of_the_frame_wherever_it_is_said_to_meet_the_stays(
    on_chainstay: float, on_seatstay: float
) -> None:
    """Below a stay's beginning or past its end it had no node; and it never doubles what a stay bears."""
    brace, push = Brace(12.0, 0.9, on_chainstay, on_seatstay), pushed(TAB)
    entering, shared = feet(TAB, push, SEATSTAY.tube, 12.0), left_share(push, 14.35, 135.0)
    with_it, without = (
        bend([CHAINSTAY, SEATSTAY], "seatstay", shared, entering, brace=each) for each in (brace, None)
    )
    most = [max(cut.stress for cut in each.cuts) for each in (with_it, without)]
    assert most[0] <= 2.0 * most[1]


def test_a_hinged_far_end_bears_no_moment_and_a_clamped_one_does() -> None:
    for name in ("chainstay", "seatstay"):
        for far, zero in (("hinged", True), ("clamped", False)):
            last = [cut for cut in solved(far=(far,)).cuts if cut.tube == name][-1]
            assert (abs(last.moment) < 1e-3) is zero


def test_peaks_are_higher_than_their_neighbours_and_come_highest_first() -> None:
    found = peaks(solved().of("chainstay"))
    assert [cut.stress for cut in found] == sorted((cut.stress for cut in found), reverse=True)
    assert found[0].stress == max(cut.stress for cut in solved().of("chainstay"))


def test_what_the_disc_does_sideways_by_hand() -> None:
    """The couple is the caliper's force times the way from the tube's middle to the disc: own arithmetic."""
    push = pushed(TAB)
    outset = Tube("seatstay", 118.0, (Station(28.0, 16.0, 16.0),), outset=4.5)
    found = sideways(push, Wall(outset, 0.8, 380.0), 80.0, -14.35)
    assert found.lever == pytest.approx(4.5 + 14.35)
    assert math.hypot(found.moment, found.twist) == pytest.approx(
        math.hypot(*push.on_caliper) * found.lever, rel=1e-9
    )
    modulus = section(16.0, 16.0, 0.8)[2]
    shear = found.twist / (2.0 * modulus)
    assert found.stress == pytest.approx(math.sqrt((found.moment / modulus) ** 2 + 3.0 * shear**2))


def test_the_lever_of_a_foot_is_how_far_its_force_passes_its_middle() -> None:
    tube = Tube("chainstay", 180.0, (Station(0.0, 20.0, 20.0),))
    foot = Foot(40.0, 60.0, (-50.0, 30.0), (100.0, 0.0))
    assert lever_of(foot, tube) == pytest.approx(30.0)
    # Own arithmetic: 30 and 10 beside the middle, a force of 3 : 4, and so |30 * 80 - 10 * 60| / 100.
    oblique = Foot(40.0, 60.0, (-20.0, 10.0), (60.0, 80.0))
    assert lever_of(oblique, tube) == pytest.approx(18.0)
