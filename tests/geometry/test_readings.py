"""What a caliper shows: each reading turns back into the position it was taken for."""

import math
import re
from dataclasses import replace
from decimal import Decimal

import numpy as np
import pytest
import shapely
from hypothesis import example, given
from hypothesis import strategies as st

from geometry.core.errors import GeometryError
from geometry.core.plane import triangle_foot
from geometry.core.say import named, say
from geometry.mount.placement import Placement, place
from geometry.survey.reading import Reading, distance_from
from geometry.survey.readings import pin_for, reachable, readings, stand_offs, unreachable
from geometry.tables.axles import End, axle
from geometry.tables.interface_rows import Family
from geometry.tables.interfaces import OwnRow, resolve
from geometry.tubes.tube import Station, Tube, outline
from sheets.words.tell import told

HEIGHT = st.floats(20.0, 110.0)
NEAR = st.floats(-40.0, 60.0)
SPACING = st.floats(20.0, 90.0)
LATERAL = st.floats(-15.0, 15.0)
AXLE = st.sampled_from([12.0, 15.0, 19.05, 25.4])
PIN = st.floats(2.0, 6.0)


def _own(
    family: Family,
    h: float,
    near: float,
    spacing: float,
    lateral: float = 0.0,
    tolerance: float | None = None,
    pocket: float | None = None,
    end: End = "rear",
    tilt: float = 0.0,
) -> Placement:
    own = OwnRow("mine", "bench", family, 160.0, 6.0, tolerance, lateral, line=(h, near, near + spacing))
    return place(
        resolve("mine", end, 160.0, 160.0, own),
        axle("142x12" if end == "rear" else "100x15"),
        rotor=160.0,
        host="chainstay",
        direction=180.0,
        tilt=tilt,
        pocket=pocket,
    )


def _shipped(name: str, end: End, system: str, native: float) -> Placement:
    host, direction = ("chainstay", 180.0) if end == "rear" else ("fork-leg", 90.0)
    return place(
        resolve(name, end, native, native), axle(system), rotor=native, host=host, direction=direction
    )


def _by_key(found: tuple[Reading, ...]) -> dict[str, Reading]:
    keys = [each.key for each in found]
    assert len(keys) == len(set(keys)) == len({each.name for each in found})
    # A builder who writes a reading's English name into a file of readings means its key.
    assert keys == [re.sub(r"[^a-z0-9]+", "-", told(each.name).lower()).strip("-") for each in found]
    return {each.key: each for each in found}


PLAIN = Reading("plain", say("reading.what.near"), say("reading.how.axle_over"), 0.0, None, None, 0.0, "")
REAR_TAB = _shipped("is-rear", "rear", "142x12", 140.0)


def test_the_rear_tab_over_a_three_quarter_inch_axle() -> None:
    # Radii 39.9 and 78.1, spacing 51.0, each within 0.1: a dimensioned drawing of 2014 (Art's Cyclery).
    found = _by_key(readings(REAR_TAB, axle=19.05, pin=6.2))
    over = (19.05 + 6.2) / 2.0
    for name, length, half in (
        ("axle-to-near", 39.9, over),
        ("axle-to-far", 78.1, over),
        ("near-to-far", 51.0, 6.2),
    ):
        for way, sign in (("over", 1.0), ("between", -1.0)):
            reading = found[f"{name}-{way}"]
            assert reading.nominal == pytest.approx(length + sign * half)
            assert (reading.low, reading.high) == pytest.approx(
                (length + sign * half - 0.1, length + sign * half + 0.1)
            )
    assert found["axle-to-near-over"].mm.nominal == "52.50"
    # 52.525 within 0.1 is told as 52.45 to 52.60, which is 2.06496 to 2.07087 in: inward 2.065 to 2.070.
    printed = found["axle-to-near-over"].inch
    assert (printed.nominal, printed.low, printed.high) == ("2.068", "2.065", "2.070")
    # 15.25 and 14.50 from tab to disc are both published: 0.75 further inboard, and 0.1 beyond, is not wrong.
    flush = found["inner-face-to-tab"]
    assert (flush.nominal, flush.low, flush.high) == (0.0, pytest.approx(-0.85), 0.1)
    assert (flush.mm.low, flush.mm.nominal, flush.mm.high) == ("-0.85", "0.00", "0.10")
    assert flush.how.code == "reading.sideways.flush_inner"


def test_the_front_tab_on_a_thru_axle() -> None:
    # Spacing 51 within 0.1: the same drawing gives both tabs.
    found = _by_key(readings(_shipped("is-front", "front", "100x15", 160.0), axle=19.05))
    assert found["near-to-far-over"].low == pytest.approx(51.0 + 6.2 - 0.1)
    assert found["axle-to-far-over"].high == pytest.approx(found["axle-to-far-over"].nominal + 0.1)
    # Tab 4.0 outboard of the pocket's floor, the floor 3 outboard of the inner face (common practice).
    assert found["inner-face-to-tab"].nominal == pytest.approx(7.0)
    assert found["inner-face-to-tab"].note == say("reading.note.pocket", depth=3.0)


def test_posts_are_read_along_their_face_and_down_to_the_axle() -> None:
    # Post mount at 160: face 55.9, near 6.8, spacing 74.2 (peterverdone.com; mtb-news.de thread 994178).
    post = _shipped("post", "rear", "142x12", 160.0)
    found = _by_key(readings(post, axle=19.05, dropout_thickness=6.0))
    assert found["axle-to-far-along-the-face-over"].nominal == pytest.approx(81.0 + (19.05 + 5.0) / 2.0)
    assert found["axle-to-far-along-the-face-over"].how.code == "reading.how.blade"
    assert found["near-to-far-over"].note == say("reading.note.before_tapping")
    assert found["face-to-axle-near-side"].nominal == pytest.approx(55.9 - 9.525)
    assert found["face-to-axle-far-side"].nominal == pytest.approx(55.9 + 9.525)
    inner, outer = found["inner-face-over-drill-shank"], found["outer-face-over-drill-shank"]
    assert inner.nominal == pytest.approx(4.25 + 2.5)
    assert outer.nominal == pytest.approx(6.0 + 4.25 + 2.5)
    assert (inner.low, inner.high) == pytest.approx((5.75, 7.75))
    assert inner.how["where"] == named("inboard")


def test_each_reading_says_what_its_jaws_go_over() -> None:
    # What shall be told of each, by the key that it is asked by: own list.
    told_of = {
        "axle-to-near-over": "axle_over", "axle-to-far-over": "axle_over", "near-to-far-over": "pins_over",
        "axle-to-near-between": "axle_between", "axle-to-far-between": "axle_between",
        "near-to-far-between": "pins_between",
    }  # fmt: skip
    found = _by_key(readings(REAR_TAB, axle=19.05))
    assert {key: each.how.code for key, each in found.items() if key in told_of} == {
        key: f"reading.how.{code}" for key, code in told_of.items()
    }
    # A low face with its holes on either side of the axle's foot, which inside jaws reach.
    face = _by_key(readings(_own("post", 15.0, -30.0, 74.2), axle=19.05))
    told_of = {
        "axle-to-near-along-the-face-over": "blade_below", "axle-to-far-along-the-face-over": "blade",
        "axle-to-near-along-the-face-between": "axle_between_face", "near-to-far-over": "pins_over_face",
        "axle-to-far-along-the-face-between": "axle_between_face", "near-to-far-between": "pins_between_face",
    }  # fmt: skip
    assert {key: each.how.code for key, each in face.items() if each.kind in ("near", "far", "spacing")} == {
        key: f"reading.how.{code}" for key, code in told_of.items()
    }


@given(HEIGHT, NEAR, SPACING, AXLE, PIN, st.floats(-0.2, 0.2), st.floats(-0.2, 0.2))
def test_tab_readings_turn_back_into_the_hole(
    h: float, near: float, spacing: float, bar: float, pin: float, off_near: float, off_far: float
) -> None:
    """Whatever the caliper shows, the positions behind it are those whose radii it shows."""
    found = _by_key(readings(_own("tab", h, near, spacing), axle=bar, pin=pin))
    between = distance_from(found["near-to-far-over"])
    assert between == pytest.approx(spacing, abs=1e-9)
    # The holes where they should be ...
    radii = [distance_from(found[f"axle-to-{way}-over"]) for way in ("near", "far")]
    assert triangle_foot(*radii, between) == pytest.approx((near, h), abs=1e-6)
    # ... and off it: a spot drilled elsewhere shows other readings, which lead back to that spot.
    x, y = near + off_near, h + off_far
    shown = [math.hypot(x, y) + (bar + pin) / 2.0, math.hypot(x + spacing, y) + (bar + pin) / 2.0]
    back = [
        distance_from(found[f"axle-to-{way}-over"], each)
        for way, each in zip(("near", "far"), shown, strict=True)
    ]
    assert triangle_foot(*back, between) == pytest.approx((x, y), abs=1e-6)


@given(st.sampled_from(["tab", "post", "flat"]), HEIGHT, NEAR, SPACING, LATERAL, AXLE, PIN)
def test_every_reading_gives_its_distance_back(
    family: Family, h: float, near: float, spacing: float, lateral: float, bar: float, pin: float
) -> None:
    tab = family == "tab"
    found = readings(_own(family, h, near, spacing, lateral), axle=bar, pin=pin, dropout_thickness=6.0)
    wanted = {
        "axle-to-near": math.hypot(h, near) if tab else abs(near),
        "axle-to-far": math.hypot(h, near + spacing) if tab else abs(near + spacing),
        "near-to-far": spacing,
        "face-to-axle": h,
        "inner-face-to-tab": abs(lateral),
        "outer-face-to-tab": abs(lateral - 6.0),
        "inner-face-over-pin": abs(lateral),
        "outer-face-over-pin": abs(lateral - 6.0),
        "inner-face-to-slot": abs(lateral),
        "outer-face-to-slot": abs(lateral - 6.0),
    }
    least = {}
    for each in found:
        stem = next(key for key in wanted if each.key.startswith(key))
        distance = least[stem] = wanted[stem]
        assert distance_from(each) == pytest.approx(distance, abs=1e-9)
        # What is over goes beyond the distance by what is between it.
        sign = {"over": 1.0, "between": -1.0}.get(each.key.rpartition("-")[2])
        if sign is not None:
            half = pin if each.kind == "spacing" else (bar + pin) / 2.0
            assert each.nominal - distance == pytest.approx(sign * half, abs=1e-9)
        if not each.key.endswith("tab"):
            assert each.nominal > 0.0
    pins, slots = ({f"{face}-face-{what}" for face in ("inner", "outer")} for what in ("over-pin", "to-slot"))
    wants = set(wanted) - ({"face-to-axle"} if tab else {"inner-face-to-tab", "outer-face-to-tab"})
    wants -= (pins if family != "post" else set()) | (slots if family != "flat" else set())
    if not tab:
        # Along the face a pin in the axle's shadow is not read, nor one that would be with the mount 0.5 off.
        x = {"axle-to-near": near, "axle-to-far": near + spacing}
        wants -= {name for name, along in x.items() if abs(along) + pin / 2.0 < bar / 2.0 + 0.5}
    assert set(least) == wants


@given(st.floats(0.0, 200.0), st.floats(0.0, 0.5), st.sampled_from(["mm", "inch"]))
def test_printed_limits_never_admit_what_the_exact_ones_refuse(
    nominal: float, band: float, unit: str
) -> None:
    reading = replace(PLAIN, nominal=nominal, low=nominal - band, high=nominal + band)
    printed = {"mm": reading.mm, "inch": reading.inch}[unit]
    size = {"mm": 1.0, "inch": 25.4}[unit]
    finest = {"mm": Decimal("0.001"), "inch": Decimal("0.0001")}[unit]
    coarsest = {"mm": Decimal("0.05"), "inch": Decimal("0.001")}[unit]
    assert abs(float(printed.nominal) * size - nominal) <= float(coarsest) / 2.0 * size + 1e-7
    # Limits in inches lie inside those printed in mm, which lie up to a step inside the exact ones.
    finer, inside = (0.002, 0.05) if unit == "inch" else (0.0, 0.0)
    if printed.low is None or printed.high is None:
        # Only a band narrower than the finest step can be shown by no caliper.
        assert 2.0 * band < float(finest) * size + finer
        return
    assert float(printed.low) * size >= nominal - band - 1e-7
    assert float(printed.high) * size <= nominal + band + 1e-7
    assert Decimal(printed.low) <= Decimal(printed.nominal) <= Decimal(printed.high)
    if band > 1.5 * float(coarsest) * size + inside:
        # A band wide enough is printed in the usual steps, and not wider than a step short of it.
        assert Decimal(printed.low) % coarsest == 0
        assert float(printed.low) * size <= nominal - band + float(coarsest) * size + inside + 1e-7
        assert float(printed.high) * size >= nominal + band - float(coarsest) * size - inside - 1e-7


@given(st.floats(0.0, 200.0), st.floats(0.0, 1.0))
def test_a_limit_in_inches_never_lies_outside_the_one_beside_it_in_mm(nominal: float, band: float) -> None:
    # 1 in is 25.4 mm exactly (NIST SP 811, B.8).
    reading = replace(PLAIN, nominal=nominal, low=nominal - band, high=nominal + band)
    mm, inch = reading.mm, reading.inch
    if inch.low is None or inch.high is None:
        return
    assert mm.low is not None and mm.high is not None
    step = Decimal("0.001") * Decimal("25.4")
    assert 0 <= Decimal(inch.low) * Decimal("25.4") - Decimal(mm.low) <= step
    assert 0 <= Decimal(mm.high) - Decimal(inch.high) * Decimal("25.4") <= step


def test_a_reading_without_a_tolerance_prints_without_limits() -> None:
    reading = replace(PLAIN, nominal=30.374)
    assert (reading.mm.nominal, reading.mm.low, reading.mm.high) == ("30.35", None, None)
    assert reading.inch.nominal == "1.196"
    assert replace(reading, nominal=30.376).mm.nominal == "30.40"


def test_an_own_rows_tolerance_holds_for_each_reading() -> None:
    found = _by_key(readings(_own("post", 50.0, 10.0, 70.0, tolerance=0.2), axle=19.05))
    for name in ("axle-to-far-along-the-face-over", "near-to-far-over", "face-to-axle-near-side"):
        assert found[name].high == pytest.approx(found[name].nominal + 0.2)


def _chainstay(top: float = 20.0, bottom: float = 16.0, offset: float = 0.0) -> Tube:
    return Tube("chainstay", 180.0, (Station(10.0, top, top), Station(210.0, bottom, bottom)), offset=offset)


def test_a_hole_stands_off_a_straight_tube_by_its_height_less_the_radius() -> None:
    tube = _chainstay(16.0, 16.0, 2.0)
    # Stay along -x, its edge 2 + 8 above the axle; the hole line 40 above, so 30 to the hole's centre.
    tab = _by_key(readings(_own("tab", 40.0, 20.0, 50.0), axle=19.05, pin=6.0, tube=tube))
    assert tab["near-hole-to-chainstay"].nominal == pytest.approx(30.0 - 3.0)
    assert distance_from(tab["near-hole-to-chainstay"]) == pytest.approx(30.0)
    # A turn of 1 degree (own judgement) about the axle moves the far hole, 70 along the tube, by 70 sin 1.
    far = tab["far-hole-to-chainstay"]
    assert far.high is not None and far.high - far.nominal == pytest.approx(70.0 * math.radians(1.0))
    post = _by_key(readings(_own("post", 40.0, 20.0, 50.0), axle=19.05, pin=6.0, tube=tube))
    assert post["near-hole-to-chainstay"].nominal == pytest.approx(30.0)
    # Where the hole lies on the tube, or past its known length, there is nothing to measure.
    low = readings(_own("tab", 8.0, 20.0, 50.0), axle=19.05, pin=6.0, tube=tube)
    assert not any(each.kind == "edge" for each in low)
    past = _by_key(readings(_own("tab", 40.0, 200.0, 50.0), axle=19.05, pin=6.0, tube=tube))
    assert "near-hole-to-chainstay" in past
    assert "far-hole-to-chainstay" not in past


@example(near=59.0, h=30.0)
@given(st.floats(25.0, 60.0), st.floats(30.0, 50.0))
def test_over_a_waist_the_nearest_stretch_of_a_tube_counts(near: float, h: float) -> None:
    """Both stretches of a tube that is thinnest at 60 may lie square below one hole."""
    stations = Station(10.0, 50.0, 50.0), Station(60.0, 10.0, 10.0), Station(160.0, 20.0, 20.0)
    placement, tube = _own("tab", h, near, 50.0), Tube("chainstay", 180.0, stations)
    edge = outline(tube, (0.0, 0.0, 1.0), (*placement.n, 0.0))[0][:, :2]
    found = stand_offs(placement, tube)
    assert tuple(found) == ("near", "far")
    for at, (length, arm) in found.items():
        hole = placement.holes[0 if at == "near" else 1].centre[:2]
        line, foot = shapely.LineString(edge), shapely.Point(hole)
        assert length == pytest.approx(line.distance(foot), abs=1e-9)
        # The arm is what is left of the hole's own distance from the axle along that stretch.
        beside = line.interpolate(line.project(foot))
        way = np.array([hole[1] - beside.y, beside.x - hole[0]]) / length
        assert abs(arm) == pytest.approx(abs(float(way @ np.array(hole))), abs=1e-6)


def test_a_hole_a_hair_within_its_tube_does_not_stand_off_it() -> None:
    tube = _chainstay(16.0, 16.0, 2.0)
    for h, stands in ((10.01, True), (9.99, False), (9.95, False)):
        assert bool(stand_offs(_own("post", h, 20.0, 50.0), tube)) is stands


@given(st.floats(12.0, 30.0), st.floats(8.0, 12.0), st.floats(-20.0, 20.0), st.floats(30.0, 60.0))
def test_a_tapered_tubes_edge_is_met_square(top: float, bottom: float, tilt: float, h: float) -> None:
    where = _own("tab", h, 40.0, 40.0, tilt=tilt)
    found = _by_key(readings(where, axle=19.05, pin=5.0, tube=_chainstay(top, bottom)))
    # Mirrored so that the stay runs along +x with its edge from (10, top/2) to (210, bottom/2).
    for hole in where.holes:
        x, y = -hole.centre[0], hole.centre[1]
        run = (200.0, (bottom - top) / 2.0)
        norm = math.hypot(*run)
        square = ((y - top / 2.0) * run[0] - (x - 10.0) * run[1]) / norm
        foot = ((x - 10.0) * run[0] + (y - top / 2.0) * run[1]) / norm
        if 0.01 < foot < norm - 0.01 and square > 2.51:
            # The contour of a cone leaves its stations by the taper's square: a few hundredths at most.
            assert distance_from(found[f"{hole.name}-hole-to-chainstay"]) == pytest.approx(square, abs=0.06)


def test_stock_for_facing_shows_before_and_after() -> None:
    post = _by_key(readings(_own("post", 50.0, 10.0, 70.0), axle=20.0, facing=0.3))
    assert post["face-to-axle-near-side-before-facing"].nominal == pytest.approx(40.3)
    assert post["face-to-axle-near-side-faced"].nominal == pytest.approx(40.0)
    assert distance_from(post["face-to-axle-near-side-before-facing"]) == pytest.approx(50.0)
    # A tab's mount face is its inner face, which moves outboard as it is faced off.
    tab = _by_key(readings(_own("tab", 50.0, 10.0, 70.0, 4.0), axle=20.0, facing=0.3))
    assert tab["inner-face-to-tab-before-facing"].nominal == pytest.approx(3.7)
    deep = _by_key(readings(_own("tab", 50.0, 10.0, 70.0, -4.0), axle=20.0, facing=0.3))
    assert deep["inner-face-to-tab-before-facing"].nominal == pytest.approx(4.3)


def test_pins() -> None:
    assert pin_for(6.4, [6.0, 6.35, 6.4, 6.5]) == 6.4
    assert pin_for(6.4, [6.35]) == 6.35
    # A pin with more play than the tolerance says nothing: the drill's shank is taken.
    assert pin_for(6.4, [6.0]) == 6.4
    with pytest.raises(GeometryError, match=r"^bench\.pins: reading\.pin_too_thick\(pin=7, hole=6\.2, "):
        readings(REAR_TAB, axle=19.05, pin=7.0)
    # A mount that was built to another sheet has its own holes, and its pins are as thick as those let them.
    assert readings(REAR_TAB, axle=19.05, pin=6.35, drilled=6.4)[0].nominal == pytest.approx(39.9 + 12.7)


@pytest.mark.parametrize(("name", "end", "tells"), [("post", "rear", True), ("is-rear", "rear", False)])
def test_stock_on_a_face_is_told_where_a_tube_is_measured_from_it(name: str, end: str, tells: bool) -> None:
    # A post's face stands out by the stock until it is faced; a tab's holes do not move (own arithmetic).
    placement = place(
        resolve(name, end, 140.0, 140.0),  # type: ignore[arg-type]
        axle("142x12"),
        rotor=140.0,
        host="chainstay",
        direction=180.0,
    )
    stay = Tube("chainstay", 180.0, (Station(20.0, 16.0, 16.0), Station(400.0, 16.0, 16.0)))
    found = readings(placement, axle=19.05, tube=stay, facing=0.5)
    notes = [reading.note for reading in found if reading.kind == "edge"]
    assert notes
    assert all((note == say("reading.note.before_facing", more=0.5)) is tells for note in notes)
    assert {each.stock for each in found if each.kind == "edge"} == {0.5 if tells else 0.0}


# --- what no caliper can take


@given(NEAR, SPACING, AXLE, PIN, HEIGHT)
def test_no_jaw_is_asked_to_pass_the_axle(
    near: float, spacing: float, bar: float, pin: float, h: float
) -> None:
    """Jaws square to the face stand beside both axle and pin: the one on the pin must clear the axle."""
    placement = _own("post", h, near, spacing)
    found = _by_key(readings(placement, axle=bar, pin=pin))
    why = unreachable(placement, axle=bar, pin=pin)
    for hole, x in (("near", near), ("far", near + spacing)):
        over = f"axle-to-{hole}-along-the-face-over"
        if abs(x) + pin / 2.0 < bar / 2.0:
            assert over not in found
            assert why[over].code == "reading.why.in_shadow"
        if abs(x) + pin / 2.0 > bar / 2.0 + 0.5:
            assert over in found
        # Inside jaws of a 150 mm caliper are about 16 long (common practice): they do not get to the axle.
        assert h <= 16.0 or f"axle-to-{hole}-along-the-face-between" not in found
    assert not set(found) & set(why)


def test_the_shadowed_near_pin_of_a_post_at_160_is_not_read() -> None:
    # 6.8 and half a pin of 5 are 9.3, half the axle is 9.525: jaws over both meet the axle and read 19.05.
    post = _shipped("post", "rear", "142x12", 160.0)
    assert not any(each.kind == "near" for each in readings(post, axle=19.05))
    # At 180 the pin stands clear, at 140 deep in the shadow; a thinner axle frees it.
    assert any(
        each.kind == "near" for each in readings(_shipped("post", "rear", "142x12", 180.0), axle=19.05)
    )
    assert not any(
        each.kind == "near" for each in readings(_shipped("post", "rear", "135-qr", 140.0), axle=19.05)
    )
    assert any(each.kind == "near" for each in readings(post, axle=12.0))


def test_what_can_be_reached_is_told_for_any_two_diameters() -> None:
    assert reachable("outside", 6.8, 19.05, 5.0)  # pins along the axle: nothing stands in the way
    assert not reachable("outside", 6.8, 19.05, 5.0, deep=55.9)
    assert reachable("outside", 11.8, 19.05, 5.0, deep=64.6)
    assert reachable("inside", 27.0, 19.05, 6.2)
    assert not reachable("inside", 12.0, 19.05, 6.2)
    assert not reachable("inside", 81.0, 19.05, 5.0, deep=55.9)


@pytest.mark.parametrize("family", ["tab", "post", "flat"])
def test_sideways_only_a_posts_reading_goes_over_a_pin(family: Family) -> None:
    found = readings(_own(family, 50.0, 10.0, 60.0), axle=19.05, dropout_thickness=6.0)
    pins = {each.pins for each in found if each.kind == "side"}
    assert pins == {("near",) if family == "post" else ()}


def test_a_pin_in_a_slot_is_no_place_sideways() -> None:
    # Slot 5.5 by 8.5 across (own sizing), its middle 3.05 inboard: its end lies half of 8.5 further inboard.
    flat = _shipped("flat-rear", "rear", "142x12", 140.0)
    found = _by_key(readings(flat, axle=19.05, dropout_thickness=9.0))
    assert found["inner-face-to-slot"].nominal == pytest.approx(3.05 + 4.25)
    assert found["outer-face-to-slot"].nominal == pytest.approx(9.0 + 3.05 + 4.25)
    assert unreachable(flat, axle=19.05)["inner-face-over-pin-at-near"] == say("reading.why.slides")
