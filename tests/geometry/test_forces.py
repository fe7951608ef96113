"""Where braking force goes: statics closed, cases worked by hand, sections against references."""

import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import integrate

from geometry.braking.forces import Vector, forces, screw_points
from geometry.braking.tube_frame import section
from geometry.core.errors import DropleafError
from geometry.core.plane import Point
from geometry.mount.placement import Placement, host_direction, place
from geometry.tables.axles import axle
from geometry.tables.interfaces import resolve
from geometry.tables.loads import Load, OwnLoad, arm, arms, entry, kinds, load_on
from geometry.tubes.tube import Station, Tube

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


def _moment(point: Point, acting: tuple[tuple[Point, Vector], ...]) -> float:
    """Return the moment of forces about a point, N mm, anticlockwise."""
    return sum((at[0] - point[0]) * f[1] - (at[1] - point[1]) * f[0] for at, f in acting)


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
    t, n = placement.t, placement.n
    answers = tuple(
        (at, (-one.along * t[0] - one.square * n[0], -one.along * t[1] - one.square * n[1]))
        for at, one in zip(screw_points(placement), found.screws, strict=True)
    )
    on_caliper = ((found.pad, found.on_caliper), *answers)
    for acting in (on_wheel, on_caliper):
        size = sum(math.hypot(*f) for _, f in acting)
        assert abs(sum(f[0] for _, f in acting)) <= 1e-9 * size
        assert abs(sum(f[1] for _, f in acting)) <= 1e-9 * size
        assert abs(_moment(point, acting)) <= 1e-9 * size * 1000.0


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


def test_loads_come_from_the_table_or_the_job() -> None:
    usual = load_on("front", OwnLoad())
    # 100 kg (TBIS 15194 after EN 14766:2005, machine test), 6.54 m/s2, all of the weight on the wheel.
    assert (usual.brake, usual.tyre) == pytest.approx((654.0, 345.0))
    assert usual.wheel == pytest.approx(980.665)
    own = load_on("rear", OwnLoad("cargo", 250.0, 3.0, 0.6, 508.0, 0.2, 2.0))
    assert (own.brake, own.wheel, own.tyre) == pytest.approx((750.0, 250.0 * 9.80665 * 0.6, 254.0))
    given = {name.code for name, number in own.numbers if number.grade == "own"}
    assert given == {f"tables.load.{each}" for each in ("mass", "deceleration", "share", "wheel")}
    assert set(kinds()) == {"solo", "tandem", "cargo"}
    assert load_on("front", OwnLoad("tandem")).brake > usual.brake


@given(st.floats(0.3, 1.2))
def test_a_rear_wheel_brakes_by_what_grips_it(grip: float) -> None:
    """Statics of the whole bicycle: braking at the rear takes m a h / L from that wheel (any textbook).

    a / g = grip b / (1 + grip h); with 0.65 of the weight behind and the mass 0.95 wheelbases high, and a
    grip of 1, that is a third of gravity, and 327 N at the ground for 100 kg.
    """
    usual = load_on("rear", OwnLoad())
    assert usual.brake == pytest.approx(327.0, abs=1.0)
    assert usual.brake == pytest.approx(usual.wheel, rel=1e-9)
    # A job's own braking takes from the wheel what it must.
    held = load_on("rear", OwnLoad(deceleration=2.0))
    assert held.wheel == pytest.approx(100.0 * (0.65 * 9.80665 - 0.95 * 2.0))
    assert load_on("rear", OwnLoad("cargo")).brake > 2.0 * usual.brake
    slowing = grip * 0.65 / (1.0 + grip * 0.95)
    assert grip * (0.65 - 0.95 * slowing) == pytest.approx(slowing)


def test_no_other_axle() -> None:
    with pytest.raises(DropleafError):
        axle("99-qr")
