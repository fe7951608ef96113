"""Where a mount sits, with the arithmetic done over again in complex numbers.

In the side view x + iy is a point. The host's direction is t = exp(i * degrees), the mount side is t turned
by -90 degrees, n = -i * t, and hole i is h * n + x_i * t. Tilt turns both. Nothing here calls geometry.plane.
"""

import cmath
import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from geometry.core.errors import GeometryError, TableError
from geometry.core.findings import texts
from geometry.core.say import Say, named, say
from geometry.mount.placement import Placement, host_direction, place
from geometry.tables.axles import End, axle, axles
from geometry.tables.interface_rows import Family
from geometry.tables.interfaces import Interface, OwnRow, resolve, rows

REAR = [name for name, system in axles().items() if system.end == "rear"]
FRONT = [name for name, system in axles().items() if system.end == "front"]
ENDS: list[tuple[str, End]] = [(name, end) for name, row in rows().items() for end in row.ends]

# Heights and positions: no mount lies within a hub's flange or beyond the largest disc's radius, 110, and
# some; the foot may lie between the holes. Tilts: more than a quarter turn is another host.
HEIGHT = st.floats(15.0, 110.0)
NEAR = st.floats(-40.0, 60.0)
SPACING = st.floats(20.0, 90.0)
TILT = st.floats(-90.0, 90.0)
# Stays meet at 45 to 75 degrees on common frames (common practice, no source); twice that range here.
INCLUDED = st.floats(30.0, 120.0)
HOST = st.sampled_from(["chainstay", "seatstay", "fork-leg"])
LATERAL = st.floats(-15.0, 15.0)


def _own(family: Family, end: End, lateral: float, h: float, near: float, spacing: float) -> Interface:
    own = OwnRow("mine", "bench", family, 160.0, 6.0, None, lateral, line=(h, near, near + spacing))
    return resolve("mine", end, 160.0, 160.0, own)


def _shipped(
    name: str, end: End, system: str, host: str = "chainstay", native: float | None = None, **more: float
) -> Placement:
    if native is None:
        native = 140.0 if name == "is-rear" else 160.0
    interface = resolve(name, end, native, native)
    direction = host_direction(host, 60.0)
    return place(interface, axle(system), rotor=native, host=host, direction=direction, **more)


def _said(found: Placement) -> tuple[object, ...]:
    """Return what is found; a note of the table is taken out of what tells its lengths."""
    return tuple(
        each["said"] if isinstance(each, Say) and each.code == "tables.interface.note" else each
        for each in texts(found.findings)
    )


# --- hosts


def test_where_the_hosts_point() -> None:
    # x runs rearward and y up, so a chainstay runs forward and a fork leg up.
    assert host_direction("chainstay", None) == 180.0
    assert host_direction("fork-leg", None) == 90.0
    assert host_direction("seatstay", 62.0) == 118.0
    # Other hosts do not look at the angle between the stays.
    assert host_direction("chainstay", 62.0) == 180.0
    assert host_direction("fork-leg", 62.0) == 90.0


def test_a_seatstay_without_its_angle_is_refused() -> None:
    with pytest.raises(GeometryError) as caught:
        host_direction("seatstay", None)
    assert str(caught.value) == "tubes.seatstay.included: placement.no_included"


@pytest.mark.parametrize(
    ("host", "side"), [("chainstay", (0.0, 1.0)), ("fork-leg", (1.0, 0.0)), ("seatstay", (0.866025, 0.5))]
)
def test_the_mount_is_above_a_chainstay_and_behind_a_seatstay_or_fork_leg(
    host: str, side: tuple[float, float]
) -> None:
    name, end, system = ("post", "front", "100-qr") if host == "fork-leg" else ("post", "rear", "135-qr")
    found = _shipped(name, end, system, host)  # type: ignore[arg-type]
    assert found.n == pytest.approx(side, abs=1e-6)
    # In front of the axle along the chainstay, or above it along the others: up the tube.
    up = {"chainstay": (-1.0, 0.0), "fork-leg": (0.0, 1.0), "seatstay": (-0.5, 0.866025)}[host]
    assert found.t == pytest.approx(up, abs=1e-6)


# --- holes


@given(
    HOST,
    INCLUDED,
    TILT,
    HEIGHT,
    NEAR,
    SPACING,
    LATERAL,
    st.sampled_from(["tab", "post", "flat"]),
    st.booleans(),
)
def test_holes_by_complex_numbers(
    host: str,
    included: float,
    tilt: float,
    h: float,
    near: float,
    spacing: float,
    lateral: float,
    family: Family,
    front: bool,
) -> None:
    end: End = "front" if front else "rear"
    interface = _own(family, end, lateral, h, near, spacing)
    degrees = {"chainstay": 180.0, "fork-leg": 90.0, "seatstay": 180.0 - included}[host] + tilt
    found = place(
        interface,
        axle("100x15" if front else "142x12"),
        rotor=160.0,
        host=host,
        direction=host_direction(host, included),
        tilt=tilt,
    )
    t = cmath.exp(1j * math.radians(degrees))
    n = -1j * t
    assert found.t == pytest.approx((t.real, t.imag), abs=1e-12)
    assert found.n == pytest.approx((n.real, n.imag), abs=1e-12)
    z = lateral + (3.0 if front else 0.0)
    assert found.lateral_z == pytest.approx(z, abs=1e-12)
    for hole, x in zip(found.holes, (near, near + spacing), strict=True):
        centre = h * n + x * t
        assert hole.centre == pytest.approx((centre.real, centre.imag, z), abs=1e-9)
        assert hole.diameter == 6.0
        way = {"tab": (0.0, 0.0, -1.0), "post": (-n.real, -n.imag, 0.0), "flat": (-n.real, -n.imag, 0.0)}
        if family == "flat" and end == "rear":
            way["flat"] = (n.real, n.imag, 0.0)
        assert hole.axis == pytest.approx(way[family], abs=1e-12)
    assert [hole.name for hole in found.holes] == ["near", "far"]
    assert (found.end, found.host, found.tilt) == (end, host, tilt)


@pytest.mark.parametrize(
    ("name", "end", "host", "axis"),
    [
        # Tabs are drilled inboard; posts and front flat screws go down onto the mount side's face, rear flat
        # screws up through it. The mount side is up over a chainstay and rearward behind a fork leg.
        ("is-rear", "rear", "chainstay", (0.0, 0.0, -1.0)),
        ("is-front", "front", "fork-leg", (0.0, 0.0, -1.0)),
        ("post", "rear", "chainstay", (0.0, -1.0, 0.0)),
        ("post", "front", "fork-leg", (-1.0, 0.0, 0.0)),
        ("flat-rear", "rear", "chainstay", (0.0, 1.0, 0.0)),
        ("flat-front", "front", "fork-leg", (-1.0, 0.0, 0.0)),
    ],
)
def test_the_way_a_screw_or_drill_goes_in(
    name: str, end: End, host: str, axis: tuple[float, float, float]
) -> None:
    found = _shipped(name, end, "100-qr" if end == "front" else "135-qr", host)
    assert [hole.axis for hole in found.holes] == [axis, axis]


@given(st.sampled_from(ENDS), TILT, INCLUDED)
def test_tilt_turns_everything_about_the_axle(row: tuple[str, End], tilt: float, included: float) -> None:
    name, end = row
    interface = resolve(name, end, 140.0 if name == "is-rear" else 160.0, 160.0)
    system = axle("100x12" if end == "front" else "148x12")
    direction = host_direction("seatstay", included)
    plain = place(interface, system, rotor=160.0, host="seatstay", direction=direction)
    tilted = place(interface, system, rotor=160.0, host="seatstay", direction=direction, tilt=tilt)
    c, s = math.cos(math.radians(tilt)), math.sin(math.radians(tilt))
    turn = np.array([[c, -s, 0.0], [s, c, 0.0], [0.0, 0.0, 1.0]])
    for before, after in zip(plain.holes, tilted.holes, strict=True):
        assert after.centre == pytest.approx(tuple(turn @ before.centre), abs=1e-9)
        assert after.axis == pytest.approx(tuple(turn @ before.axis), abs=1e-12)
    assert tilted.t == pytest.approx(tuple(turn[:2, :2] @ plain.t), abs=1e-12)
    assert tilted.n == pytest.approx(tuple(turn[:2, :2] @ plain.n), abs=1e-12)
    assert (tilted.lateral_z, tilted.rotor) == (plain.lateral_z, plain.rotor)


def test_a_positive_tilt_turns_with_the_wheel() -> None:
    # Seen from outboard a wheel rolls forward anticlockwise: from up (+y) towards the front (-x).
    found = _shipped("is-front", "front", "100-qr", "fork-leg", tilt=5.0)
    assert found.t[0] < 0.0
    assert found.t == pytest.approx((-math.sin(math.radians(5.0)), math.cos(math.radians(5.0))), abs=1e-12)


@pytest.mark.parametrize("host", ["chainstay", "fork-leg"])
@pytest.mark.parametrize(("name", "end"), ENDS)
def test_no_number_is_a_negative_zero(name: str, end: End, host: str) -> None:
    # "-0.0" would be printed in lists and JSON.
    for tilt in (0.0, 90.0, -90.0, 180.0):
        found = _shipped(name, end, "100-qr" if end == "front" else "135-qr", host, tilt=tilt)
        numbers = [value for hole in found.holes for value in (*hole.centre, *hole.axis)]
        numbers += [found.lateral_z, found.datum_shift, *found.t, *found.n]
        assert [value for value in numbers if value == 0.0 and math.copysign(1.0, value) < 0.0] == []


# --- sideways


@pytest.mark.parametrize(
    ("name", "native"), [("is-rear", 140.0), ("post", 160.0), ("flat-rear", 140.0), ("flat-rear", 180.0)]
)
@pytest.mark.parametrize("system", ["142x12", "148x12", "141-qr"])
def test_a_rear_mount_sits_alike_on_135_142_and_148(name: str, native: float, system: str) -> None:
    one, two = (_shipped(name, "rear", each, native=native) for each in ("135-qr", system))
    assert two.holes == one.holes
    assert two.lateral_z == one.lateral_z == one.interface.lateral.value
    assert two.rotor == one.rotor
    assert two.datum_shift == one.datum_shift == 0.0


@pytest.mark.parametrize(
    ("system", "further"),
    [("100-qr", 0.0), ("100x12", 2.0), ("110x12", 2.0), ("100x15", 3.0), ("110x15", 3.0)],
)
@pytest.mark.parametrize("name", ["is-front", "post", "flat-front"])
def test_a_fork_ends_pocket_moves_rotor_and_mount_outboard(name: str, system: str, further: float) -> None:
    # 2 mm: peterverdone.com, Clearing up FM140 ("many"); 3 mm: common practice, no source
    plain, deep = _shipped(name, "front", "100-qr", "fork-leg"), _shipped(name, "front", system, "fork-leg")
    assert (deep.datum_shift, deep.pocket) == (further, further)
    assert deep.lateral_z - plain.lateral_z == pytest.approx(further, abs=1e-12)
    for before, after in zip(plain.holes, deep.holes, strict=True):
        assert after.centre[:2] == before.centre[:2]
        assert after.centre[2] - before.centre[2] == pytest.approx(further, abs=1e-12)
    assert plain.rotor.inner_face_z is not None
    assert deep.rotor.inner_face_z is not None
    assert deep.rotor.inner_face_z - plain.rotor.inner_face_z == pytest.approx(further, abs=1e-12)


@pytest.mark.parametrize(
    ("name", "system", "z"),
    [
        # Own arithmetic: pocket 0, 2 and 3 added to the tab's 4.0 (forum.cruzbike.com thread 11450), to
        # 12.20 - 10.5 (peterverdone.com, Clearing up FM140), and to the middle of 10 to 12 outboard of the
        # rotor's inner face (derived).
        ("is-front", "100-qr", 4.0),
        ("is-front", "100x12", 6.0),
        ("is-front", "100x15", 7.0),
        ("flat-front", "100-qr", 1.7),
        ("flat-front", "100x12", 3.7),
        ("flat-front", "100x15", 4.7),
        ("post", "100-qr", 0.5),
        ("post", "100x12", 2.5),
        ("post", "100x15", 3.5),
    ],
)
def test_sideways_positions_at_the_fork(name: str, system: str, z: float) -> None:
    found = _shipped(name, "front", system, "fork-leg")
    assert [hole.centre[2] for hole in found.holes] == pytest.approx([z, z], abs=1e-12)


@pytest.mark.parametrize(
    ("system", "inner", "outer"),
    [
        # Rotor outer face to the dropout's inner face, with a disc 1.8 thick: 13.45 rear, 8.7 on a
        # quick-release fork, 6.7 with a pocket of 2.0. Own arithmetic from 15.25 (peterverdone.com, Clearing
        # up FM140) and 10.5 (forum.cruzbike.com thread 11450).
        ("135-qr", -15.25, -13.45),
        ("142x12", -15.25, -13.45),
        ("148x12", -15.25, -13.45),
        ("100-qr", -10.5, -8.7),
        ("100x12", -8.5, -6.7),
        ("100x15", -7.5, -5.7),
    ],
)
def test_the_rotors_faces(system: str, inner: float, outer: float) -> None:
    end: End = "front" if system.startswith("100") else "rear"
    rotor = _shipped("post", end, system).rotor
    assert rotor.inner_face_z == pytest.approx(inner, abs=1e-12)
    assert rotor.outer_face_z == pytest.approx(outer, abs=1e-12)
    assert (rotor.radius, rotor.thickness, rotor.track) == (80.0, 1.8, 16.0)


def test_the_disc_fitted_is_drawn_and_the_native_size_places() -> None:
    interface = resolve("is-rear", "rear", None, 180.0)
    found = place(interface, axle("135-qr"), rotor=180.0, host="chainstay", direction=180.0)
    assert found.rotor.radius == 90.0
    assert found.adapter.step == 40.0
    assert found.holes == _shipped("is-rear", "rear", "135-qr").holes


def test_a_rear_pocket_of_its_own_moves_the_rotor_and_not_the_mount() -> None:
    usual = _shipped("is-rear", "rear", "142x12")
    deep = _shipped("is-rear", "rear", "142x12", pocket=4.5)
    assert deep.holes == usual.holes
    assert deep.datum_shift == 0.0
    assert (deep.pocket, deep.pocket_grade, usual.pocket_grade) == (4.5, "own", "B")
    assert deep.rotor.inner_face_z == pytest.approx(-14.25, abs=1e-12)
    assert _said(deep)[-1] == say("placement.pocket.deeper", own=4.5, axle="142x12", usual=3.5, by=1.0)
    shallow = _shipped("is-rear", "rear", "142x12", pocket=3.0)
    told = say("placement.pocket.shallower", own=3.0, axle="142x12", usual=3.5, by=0.5)
    assert _said(shallow)[-1] == told
    assert _shipped("is-rear", "rear", "142x12", pocket=3.5).findings == usual.findings


def test_a_fork_pocket_of_its_own_moves_both() -> None:
    own = _shipped("is-front", "front", "100x12", "fork-leg", pocket=2.6)
    assert own.datum_shift == 2.6
    assert own.lateral_z == pytest.approx(6.6, abs=1e-12)
    assert own.rotor.inner_face_z == pytest.approx(-7.9, abs=1e-12)
    assert own.findings == _shipped("is-front", "front", "100x12", "fork-leg").findings
    assert _shipped("is-front", "front", "100x12", "fork-leg", pocket=0.0).lateral_z == 4.0


# --- what is refused, and what is said


@pytest.mark.parametrize("name", ["post", "flat-rear"])
@pytest.mark.parametrize("system", ["130-qr", "157x12", "177x12", "197x12"])
def test_a_mount_placed_from_the_rotor_needs_the_rotors_position(name: str, system: str) -> None:
    with pytest.raises(TableError) as caught:
        _shipped(name, "rear", system)
    (problem,) = caught.value.problems
    assert problem.where == "axle.system"
    assert problem.what == say("placement.needs_rotor", axle=system, interface=name)


@pytest.mark.parametrize("system", ["130-qr", "157x12", "177x12", "197x12"])
def test_a_tab_needs_no_rotor_position_and_says_that_it_has_none(system: str) -> None:
    found = _shipped("is-rear", "rear", system)
    assert found.holes == _shipped("is-rear", "rear", "135-qr").holes
    assert (found.rotor.inner_face_z, found.rotor.outer_face_z) == (None, None)
    assert _said(found)[-1] == say("placement.no_rotor", axle=system)


def test_an_own_lateral_needs_no_rotor_position() -> None:
    own = OwnRow("post", "bench", lateral=-4.0, line=(55.9, 6.8, 81.0))
    interface = resolve("post", "rear", 160.0, 160.0, own)
    found = place(interface, axle("157x12"), rotor=160.0, host="chainstay", direction=180.0)
    assert found.lateral_z == -4.0


@pytest.mark.parametrize(
    ("name", "end", "system"), [("is-rear", "rear", "100-qr"), ("is-front", "front", "135-qr")]
)
def test_an_axle_of_the_other_end_is_refused(name: str, end: End, system: str) -> None:
    other = "front" if end == "rear" else "rear"
    with pytest.raises(TableError) as caught:
        _shipped(name, end, system)
    (problem,) = caught.value.problems
    assert problem.where == "axle.system" and isinstance(problem.what, Say)
    assert problem.what.code == "placement.other_end"
    assert (problem.what["axle"], problem.what["its"], problem.what["end"]) == (system, named(other), end)
    # Own arithmetic on the table: five systems at the front, eight at the rear.
    assert len(problem.what["fitting"].split(", ")) == {"front": 5, "rear": 8}[end]


def test_a_disc_that_no_adapter_reaches_is_refused() -> None:
    interface = resolve("flat-rear", "rear", 140.0, 180.0)
    with pytest.raises(TableError, match=r"tables\.adapter\.none"):
        place(interface, axle("142x12"), rotor=180.0, host="chainstay", direction=180.0)


def test_an_axle_without_a_pocket_depth_asks_for_the_dropouts_own() -> None:
    bare = replace(axle("142x12"), pocket=None)
    interface = resolve("is-rear", "rear", None, 140.0)
    with pytest.raises(TableError) as caught:
        place(interface, bare, rotor=140.0, host="chainstay", direction=180.0)
    assert str(caught.value) == "axle.pocket: placement.no_pocket(axle='142x12')"
    found = place(interface, bare, rotor=140.0, host="chainstay", direction=180.0, pocket=3.0)
    assert (found.pocket, found.rotor.inner_face_z) == (3.0, -15.75)
    # What the row itself says of its numbers, and nothing of the pocket.
    assert _said(found)[1:] == interface.notes


@pytest.mark.parametrize(
    ("name", "end", "system", "grade"),
    [
        ("is-rear", "rear", "142x12", "C"),
        ("is-front", "front", "100-qr", "D"),
        ("post", "rear", "135-qr", "D"),
        ("flat-rear", "rear", "142x12", "D"),
    ],
)
def test_a_weak_grade_asks_for_the_caliper_makers_drawing(
    name: str, end: End, system: str, grade: str
) -> None:
    found = _shipped(name, end, system)
    assert found.grade == grade
    assert say("placement.confirm", grade=grade) in _said(found)
    assert (_said(found)[0] == say("placement.provisional")) == name.startswith("flat")
    assert set(found.interface.notes) <= set(_said(found))


def test_the_builders_own_numbers_are_not_doubted() -> None:
    own = _own("tab", "rear", 0.0, 34.4, 20.2, 51.0)
    found = place(own, axle("142x12"), rotor=160.0, host="chainstay", direction=180.0)
    assert (found.grade, found.findings) == ("own", ())


def test_a_fork_is_no_better_known_than_its_pocket() -> None:
    own = _own("tab", "front", 4.0, 43.3, 24.8, 51.0)
    grades = {
        system: place(own, axle(system), rotor=160.0, host="fork-leg", direction=90.0).grade
        for system in ("100-qr", "100x12", "100x15")
    }
    assert grades == {"100-qr": "B", "100x12": "B", "100x15": "D"}
    given = place(own, axle("100x15"), rotor=160.0, host="fork-leg", direction=90.0, pocket=3.0)
    assert given.grade == "own"
