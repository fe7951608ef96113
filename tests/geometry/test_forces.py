"""Where braking force goes: statics closed, cases worked by hand, sections against references."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import integrate

from geometry.axles import axle
from geometry.errors import DropleafError
from geometry.forces import forces, moment_about, moment_in_tube, on_mount, screw_points
from geometry.interfaces import resolve
from geometry.loads import Load, OwnLoad, arm, arms, entry, kinds, load_on, material
from geometry.placement import Placement, host_direction, place
from geometry.tube import Station, Tube
from geometry.tube_stress import held_moment, screen, section

ROWS = (
    ("is-rear", "rear", 140.0, 160.0, "seatstay", "135-qr"),
    ("is-front", "front", 160.0, 180.0, "fork-leg", "100-qr"),
    ("post", "rear", 160.0, 180.0, "chainstay", "142x12"),
    ("post", "front", 180.0, 180.0, "fork-leg", "110x15"),
    ("flat-rear", "rear", 140.0, 160.0, "chainstay", "142x12"),
    ("flat-front", "front", 160.0, 160.0, "fork-leg", "100x12"),
)


def _placed(row: tuple[str, str, float, float, str, str], tilt: float = 0.0) -> Placement:
    name, end, native, rotor, host, system = row
    direction = host_direction(host, 62.0 if host == "seatstay" else None)
    return place(
        resolve(name, end, native, rotor),
        axle(system),
        rotor=rotor,
        host=host,
        direction=direction,
        tilt=tilt,
    )  # type: ignore[arg-type]


def _load(brake: float = 589.0, wheel: float = 883.0, tyre: float = 345.0) -> Load:
    return Load(brake, wheel, tyre, entry("rest", "friction"), entry("rest", "ratio"), ())


@given(
    st.sampled_from(ROWS),
    st.floats(-60.0, 60.0),
    st.floats(0.0, 359.0),
    st.floats(10.0, 2000.0),
    st.floats(0.0, 3000.0),
    st.floats(-40.0, 60.0),
    st.tuples(st.floats(-500.0, 500.0), st.floats(-500.0, 500.0)),
)
def test_forces_and_moments_close_about_any_point(
    row: tuple[str, str, float, float, str, str],
    tilt: float,
    towards: float,
    brake: float,
    wheel: float,
    turn: float,
    point: tuple[float, float],
) -> None:
    placement = _placed(row, tilt)
    found = forces(
        placement,
        _load(brake, wheel),
        (math.cos(math.radians(towards)), math.sin(math.radians(towards))),
        turn,
    )
    # The wheel: road, disc and, against what it puts on the dropout, the dropout's answer. The road, turned
    # with the bicycle's stance, touches the tyre straight below the axle as it stands.
    lean = math.radians(turn)
    contact = (345.0 * math.sin(lean), -345.0 * math.cos(lean))
    assert found.contact == pytest.approx(contact)
    on_wheel = (
        (contact, found.ground),
        (found.pad, found.on_disc),
        ((0.0, 0.0), (-found.axle[0], -found.axle[1])),
    )
    # The caliper: the disc's drag, and the mount's answer at both screws.
    answers = tuple((at, (-f[0], -f[1])) for at, f in on_mount(placement, found))
    on_caliper = ((found.pad, found.on_caliper), *answers)
    for acting in (on_wheel, on_caliper):
        size = sum(math.hypot(*f) for _, f in acting)
        assert abs(sum(f[0] for _, f in acting)) <= 1e-9 * size
        assert abs(sum(f[1] for _, f in acting)) <= 1e-9 * size
        assert abs(moment_about(point, acting)) <= 1e-9 * size * 1000.0


def test_a_smaller_disc_raises_the_force() -> None:
    placement = _placed(ROWS[3])
    sizes = [replace(placement, rotor=replace(placement.rotor, radius=size / 2.0)) for size in (203.0, 140.0)]
    large, small = (math.hypot(*forces(each, _load(), (1.0, 1.0)).on_disc) for each in sizes)
    assert small > 1.4 * large


# --- tubes


@pytest.mark.parametrize(
    ("outside", "wall", "stress"),
    # Own arithmetic, no source: 220.8 N·m (600 N on 368 mm, TBIS 15194:2019) on two tubes.
    [(19.0, 0.9, 1000.0), (28.6, 1.2, 325.0)],
)
def test_stress_of_two_tubes(outside: float, wall: float, stress: float) -> None:
    assert 220.8e3 / section(outside, outside, wall)[2] == pytest.approx(stress, rel=0.005)


@given(st.floats(8.0, 60.0), st.floats(8.0, 60.0), st.floats(0.4, 3.0))
def test_sections_agree_with_integration(height: float, width: float, wall: float) -> None:
    a, b = height / 2.0, width / 2.0
    area, second, modulus = section(height, width, wall)

    def chord(y: float, up: float, across: float) -> float:
        return 2.0 * across * math.sqrt(max(0.0, 1.0 - (y / up) ** 2)) if abs(y) < up else 0.0

    for power, expected in ((0, area), (2, second)):
        outer, inner = (
            integrate.quad(lambda y, u=u, w=w: y**power * chord(y, u, w), -u, u, limit=200)[0]  # noqa: B023
            for u, w in ((a, b), (a - wall, b - wall))
        )
        assert expected == pytest.approx(outer - inner, rel=1e-5)
    assert modulus == pytest.approx(second / a)


def test_round_sections_are_the_handbooks() -> None:
    # Handbook formula for a hollow circle: I = pi (D^4 - d^4) / 64, Z = pi (D^4 - d^4) / (32 D).
    _, second, modulus = section(28.6, 28.6, 1.2)
    assert second == pytest.approx(math.pi * (28.6**4 - 26.2**4) / 64.0)
    assert modulus == pytest.approx(math.pi * (28.6**4 - 26.2**4) / (32.0 * 28.6))


def test_the_standards_arms_and_moments() -> None:
    # TBIS 15194:2019, arms L2 of the fork's brake-mount test; moments at 1,000, 600 and 700 N by arithmetic.
    table = {"24": (305, 183.0, 213.5), "26": (330, 198.0, 231.0), "650b": (349, 209.4, 244.3), "700c": (368, 220.8, 257.6)}  # fmt: skip  # noqa: E501
    assert {name: number.value for name, number in arms().items()} == {n: row[0] for n, row in table.items()}
    for name, (length, fatigue, second) in table.items():
        told = [
            entry("test", key).value * arms()[name].value / 1000.0 for key in ("static", "fatigue", "second")
        ]
        assert told == pytest.approx([length, fatigue, second])
    # "Other: half of wheel diameter", the same table.
    assert arm(700.0)[0].value == 350.0
    assert arm(None)[0].value == 368.0


def _fork(wall: float = 1.2, outside: float = 28.6) -> tuple[Placement, Tube]:
    placement = _placed(ROWS[3])
    return placement, Tube(
        "fork-leg", 90.0, (Station(15.0, outside, outside), Station(400.0, outside, outside))
    )


def test_the_moment_along_a_fork_leg() -> None:
    placement, tube = _fork()
    found = forces(placement, _load(600.0, 0.0, 368.0), (1.0, 1.0))
    places = sorted(point[1] for point in screw_points(placement))
    # Below the mount only the axle pushes: its part across the leg times the way up.
    assert moment_in_tube(placement, tube, found, places[0] - 1.0) == pytest.approx(
        (places[0] - 1.0) * found.axle[0], rel=1e-9
    )
    # Above it, whatever the caliper does, it is the road's force on its arm (own arithmetic, no source).
    for s in (places[1] + 1.0, 200.0):
        assert moment_in_tube(placement, tube, found, s) == pytest.approx(600.0 * (368.0 + s), rel=1e-9)


def test_a_screen_says_what_would_help() -> None:
    placement, tube = _fork()
    steel = material("CrMo 4130")
    assert steel is not None and steel.limit.grade == "D"
    kept = {"wheel": None, "half_foot": 6.0, "material": steel, "wanted": 1.5}
    found = screen(placement, tube, (1.0, 1.0), wall=1.2, **kept)  # type: ignore[arg-type]
    worst = found.worst
    assert worst is not None and worst.wall_for is not None and worst.ratio is not None
    assert worst.stress == pytest.approx(worst.moment / section(28.6, 28.6, 1.2)[2])
    assert worst.ratio == pytest.approx(steel.limit.value / worst.stress)
    thicker = screen(placement, tube, (1.0, 1.0), wall=worst.wall_for, **kept).worst  # type: ignore[arg-type]
    assert thicker is not None and thicker.ratio is not None and thicker.ratio >= 1.5 > worst.ratio
    nearly = screen(placement, tube, (1.0, 1.0), wall=worst.wall_for - 0.02, **kept).worst  # type: ignore[arg-type]
    assert nearly is not None and nearly.ratio is not None and nearly.ratio < 1.5
    # From `reach` on the tube bears the ratio; a millimetre lower it does not.
    tapered = replace(tube, stations=(Station(15.0, 16.0, 16.0), Station(350.0, 60.0, 60.0)))
    high = screen(placement, tapered, (1.0, 1.0), wall=1.2, **kept)  # type: ignore[arg-type]
    assert high.reach is not None and high.reach > 110.0
    pushed = forces(placement, _load(600.0, 0.0, 368.0), (1.0, 1.0))
    for s, enough in ((high.reach, True), (high.reach - 1.0, False)):
        outside = 16.0 + (s - 15.0) * 44.0 / 335.0
        stress = moment_in_tube(placement, tapered, pushed, s) / section(outside, outside, 1.2)[2]
        assert (steel.limit.value / stress >= 1.5) is enough
    bare = screen(placement, tube, (1.0, 1.0), wall=None, **kept)  # type: ignore[arg-type]
    assert (bare.places, bare.missing) == ((), ("tubes.fork-leg.wall",))
    lost = screen(
        placement, None, (1.0, 1.0), wall=None, wheel=None, half_foot=6.0, material=None, wanted=1.5
    )
    assert lost.missing == ("tubes.fork-leg", "a known material in process.material")


def test_the_foot_below_the_tube_is_told() -> None:
    placement, tube = _fork()
    steel = material("CrMo 4130")
    short = replace(tube, stations=(Station(40.0, 28.6, 28.6), Station(110.0, 28.6, 28.6)))
    found = screen(
        placement, short, (1.0, 1.0), wall=1.2, wheel=None, half_foot=6.0, material=steel, wanted=1.5
    )
    low, high = sorted(point[1] for point in screw_points(placement))
    told = dict(found.beyond)
    assert told.keys() | {place.name for place in found.places} == {
        "lower end of the foot",
        "upper end of the foot",
        "25 above it",
    }
    assert told["lower end of the foot"] == pytest.approx(low - 6.0)
    assert told["25 above it"] == pytest.approx(high + 31.0)


def test_a_brace_just_above_the_foot_leaves_a_place_without_stress() -> None:
    placement = _placed(ROWS[0])
    tube = Tube("seatstay", 118.0, (Station(0.0, 14.0, 14.0), Station(400.0, 16.0, 16.0)))
    up = [point[0] * tube.t0[0] + point[1] * tube.t0[1] for point in screw_points(placement)]
    found = screen(
        placement, tube, (0.0, 1.0), wall=0.8, wheel=None, half_foot=12.0,
        material=material("CrMo"), wanted=1.5, brace=max(up) + 20.0,
    )  # fmt: skip
    last = found.places[-1]
    assert (last.name, last.stress, last.ratio, last.wall_for) == ("25 above it", 0.0, None, None)


def test_a_heavy_bicycles_own_stop_is_asked_of_the_tube_too() -> None:
    placement, tube = _fork(outside=50.0)
    steel = material("CrMo 4130")
    assert steel is not None
    kept = {"wheel": 508.0, "half_foot": 6.0, "material": steel, "wanted": 1.5}
    alone = screen(placement, tube, (1.0, 1.0), wall=1.0, **kept).worst  # type: ignore[arg-type]
    # 400 kg, 6.54 m/s2, 20 inch wheel: 2,616 N at the tyre, against the test's 600 N.
    heavy = load_on("front", OwnLoad("cargo", mass=400.0, wheel=508.0))
    found = screen(placement, tube, (1.0, 1.0), wall=1.0, own=heavy, **kept).worst  # type: ignore[arg-type]
    assert alone is not None and found is not None and alone.stop is None and found.stop is not None
    # The weight runs along the leg's own line and bends it nowhere, so that the two go as the tyre's forces.
    assert found.stop == pytest.approx(found.stress * 2616.0 / 600.0)
    assert found.stress == alone.stress
    assert found.ratio is not None and found.ratio > 1.5 and found.stop > steel.limit.value
    assert found.wall_for is not None and alone.wall_for is not None and found.wall_for > 1.0 > alone.wall_for
    # Of several stances the hardest counts: a leg at 60 degrees lets the weight take from the bending what
    # the brake gives (2,616 cos 30 less 3,923 sin 30 is 304 N across the leg): the upright one decides.
    leaning, both = (
        screen(
            placement,
            tube,
            (1.0, 1.0),
            wall=1.0,
            own=heavy,
            turns=turns,
            **kept,  # type: ignore[arg-type]
        ).places[-1]
        for turns in ((30.0,), (30.0, 0.0))
    )
    across = 400.0 * (6.54 * math.cos(math.radians(30.0)) - 9.80665 * math.sin(math.radians(30.0)))
    moment = 2616.0 * 254.0 + across * leaning.s
    assert leaning.stop == pytest.approx(moment / leaning.modulus)
    assert both.stop == pytest.approx((2616.0 * (254.0 + both.s)) / both.modulus)
    thicker = screen(
        placement,
        tube,
        (1.0, 1.0),
        wall=found.wall_for,
        own=heavy,
        **kept,  # type: ignore[arg-type]
    ).worst
    assert thicker is not None and thicker.stop is not None
    assert 0.98 * steel.limit.value < thicker.stop <= steel.limit.value


@pytest.mark.parametrize(
    ("said", "limit"),
    # Remembered yields: of several that a text may mean the lowest counts, and plain "titanium" is none.
    [
        ("Ti-3Al-2.5V titanium", 720.0),
        ("titanium grade 2", 275.0),
        ("titanium", None),
        ("stainless 304", 205.0),
        ("stainless", 600.0),
        ("CrMo, heat-treated", 435.0),
    ],
)
def test_a_vague_material_is_never_taken_for_a_stronger_one(said: str, limit: float | None) -> None:
    found = material(said)
    assert (found and found.limit.value) == limit


@given(st.floats(110.0, 300.0))
def test_a_brace_leaves_less_and_nothing_beyond_it(brace: float) -> None:
    placement = _placed(ROWS[0])
    tube = Tube("seatstay", 118.0, (Station(20.0, 14.0, 14.0), Station(400.0, 16.0, 16.0)))
    found = forces(placement, _load(600.0, 0.0, 368.0), (0.0, 1.0))
    assert held_moment(placement, tube, found, brace - 1e-9, brace) == pytest.approx(0.0, abs=1.0)
    assert held_moment(placement, tube, found, brace + 1.0, brace) == 0.0
    for s in np.linspace(1.0, brace - 1.0, 12):
        # A beam on two supports: the free moment less a straight line from the axle to the brace.
        free = moment_in_tube(placement, tube, found, float(s))
        line = s / brace * moment_in_tube(placement, tube, found, brace)
        assert held_moment(placement, tube, found, float(s), brace) == pytest.approx(free - line, rel=1e-9)


def test_loads_come_from_the_table_or_the_job() -> None:
    usual = load_on("front", OwnLoad())
    # 100 kg (TBIS 15194 after EN 14766:2005, machine test), 6.54 m/s2, all of the weight on the wheel.
    assert (usual.brake, usual.tyre) == pytest.approx((654.0, 345.0))
    assert usual.wheel == pytest.approx(980.665)
    own = load_on("rear", OwnLoad("cargo", 250.0, 3.0, 0.6, 508.0, 0.2, 2.0))
    assert (own.brake, own.wheel, own.tyre) == pytest.approx((750.0, 250.0 * 9.80665 * 0.6, 254.0))
    assert {number.grade for _, number in own.numbers} == {"own"}
    assert set(kinds()) == {"solo", "tandem", "cargo"}
    assert load_on("front", OwnLoad("tandem")).brake > usual.brake
    assert material("something else") is None
    with pytest.raises(DropleafError):
        axle("99-qr")
