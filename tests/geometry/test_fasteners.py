"""Fasteners against the published tables, each named beside its numbers."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from geometry.core.errors import GeometryError, TableError
from geometry.tables.fasteners import (
    engagement,
    flat_screw,
    head_room,
    screw,
    screw_length,
    screws,
    stress_area,
    torque,
)
from geometry.tables.interfaces import resolve


@pytest.mark.parametrize(
    ("name", "drill", "fine", "medium", "coarse"), [("M5", 4.2, 5.3, 5.5, 5.8), ("M6", 5.0, 6.4, 6.6, 7.0)]
)
def test_drills_and_clearance_holes(
    name: str, drill: float, fine: float, medium: float, coarse: float
) -> None:
    # Drills: ISO 2306 as remembered, nominal diameter less pitch. Holes: ISO 273 (engineeringhardware.com).
    found = screw(name)
    assert found.tap_drill.value == drill == pytest.approx(found.diameter - found.pitch.value)
    assert found.tap_drill.grade == "D"
    assert "remembered" in found.tap_drill.source
    assert [found.clearance[fit].value for fit in ("fine", "medium", "coarse")] == [fine, medium, coarse]


@pytest.mark.parametrize(
    ("name", "head", "knurled", "height", "key", "socket", "washer"),
    [
        ("M5", 8.5, 8.72, 5.0, 4.0, 2.5, (5.3, 10.0, 1.0)),
        ("M6", 10.0, 10.22, 6.0, 5.0, 3.0, (6.4, 12.0, 1.6)),
    ],
)
def test_heads_and_washers(
    name: str,
    head: float,
    knurled: float,
    height: float,
    key: float,
    socket: float,
    washer: tuple[float, float, float],
) -> None:
    # ISO 4762 (geartoolkit.com, engineeringhardware.com) and ISO 7089 (engineeringhardware.com).
    found = screw(name)
    assert (found.head.value, found.head_knurled.value, found.head_height.value) == (head, knurled, height)
    assert (found.key.value, found.socket_depth.value) == (key, socket)
    plain = found.washer
    assert (plain.bore.value, plain.outside.value, plain.thickness.value) == washer
    assert [each.value for each in head_room(found)] == [knurled, height]
    # A head must pass no washer, and a washer must pass the shank.
    assert found.diameter < plain.bore.value < found.head.value < plain.outside.value


def test_stress_areas_are_the_standards() -> None:
    # ISO 898-1 lists 14.2 for M5 and 20.1 for M6 (remembered; 36.6 for M8 by the same list).
    for diameter, pitch, area in ((5.0, 0.8, 14.2), (6.0, 1.0, 20.1), (8.0, 1.25, 36.6)):
        assert stress_area(diameter, pitch) == pytest.approx(area, abs=0.05)
    # The mean of pitch and root diameter, from the thread's own triangle, whose height is p sqrt(3) / 2.
    height = math.sqrt(3.0) / 2.0
    mean = 6.0 - (0.75 * height + 17.0 / 12.0 * height) / 2.0
    assert stress_area(6.0, 1.0) == pytest.approx(math.pi / 4.0 * mean**2, rel=1e-4)


def test_the_mounts_are_drilled_for_these_screws() -> None:
    for name, end, native in (
        ("post", "rear", 160.0),
        ("flat-front", "front", 160.0),
        ("flat-rear", "rear", 160.0),
        ("is-rear", "rear", 140.0),
    ):
        hole = resolve(name, end, native, native).hole  # type: ignore[arg-type]
        found = screw(hole.screw)
        if hole.kind == "thread":
            assert hole.diameter.value == found.tap_drill.value
        else:
            # ISO 965 6g, M6 at most 5.974; ISO 273's fine hole. A tab's own 6.2 lies between (a drawing).
            assert found.diameter < hole.diameter.value <= found.clearance["medium"].value


@pytest.mark.parametrize(
    ("material", "low", "high"),
    [("steel", 1.0, 1.0), ("stainless", 1.0, 1.0), ("titanium", 1.0, 1.5), ("aluminium", 2.0, 2.0)],
)
def test_engagement_by_material(material: str, low: float, high: float) -> None:
    # Steel 1 d and aluminium 2 d: text on thread engagement; an engineers' forum, thread 149977.
    # Titanium is common practice.
    for found in screws().values():
        rule = engagement(found, material)
        assert (rule.low, rule.high) == (low * found.diameter, high * found.diameter)
        # Of a range the safe end is asked for.
        assert rule.length == rule.high
        assert rule.source
        assert (rule.grade == "D") == (material == "titanium")


def test_what_is_not_in_the_tables_is_refused_by_name() -> None:
    with pytest.raises(TableError, match=r"^process\.material: no engagement rule .*'bamboo' \(known: steel"):
        engagement(screw("M6"), "bamboo")
    with pytest.raises(TableError, match=r"^fastener: 'M66' is not in the table, did you mean M6\?"):
        screw("M66")


def test_torque_says_whose_figure_governs() -> None:
    # 6 to 8 N m: service sheets of one maker for cable disc calipers and adapters.
    found = torque()
    assert (found.low.value, found.high.value) == (6.0, 8.0)
    assert found.sentence == (
        "The caliper maker's figure governs; 6 to 8 N m is one maker's published range."
    )


@pytest.mark.parametrize(("thickness", "shank"), [(10, 23), (15, 28), (20, 33), (25, 38), (30, 43), (35, 48)])
def test_the_flat_mounts_screws_as_published(thickness: int, shank: int) -> None:
    # A mechanic's compilation quoting a brake maker's dealer manual; 10 to 23 and 25 to 38 also
    # handsonbike.blogspot.com.
    found = flat_screw(float(thickness))
    assert (found.made_for, found.shank, found.packing, found.beyond) == (thickness, shank, 0.0, 13.0)


@given(st.floats(10.0, 35.0))
def test_between_two_frames_the_next_larger_screw_is_packed_to_the_same_reach(thickness: float) -> None:
    found = flat_screw(thickness)
    assert found.made_for % 5 == 0
    assert found.shank == found.made_for + 13.0
    # Never longer past the face than a quarter turn above 13, never shorter than that below it.
    assert found.beyond == pytest.approx(13.0, abs=0.2 + 1e-9)
    assert found.beyond == pytest.approx(found.shank - thickness - found.packing)
    assert 0.0 <= found.packing < 5.0
    assert ("washers" in found.sentence) == (found.packing > 0.0)


def test_a_measured_stay_just_over_a_step_takes_that_steps_screw() -> None:
    assert flat_screw(20.15).made_for == 20
    assert flat_screw(20.3).made_for == 25
    assert flat_screw(20.3).packing == pytest.approx(4.7)


@pytest.mark.parametrize(
    ("thickness", "told"), [(7.0, "3.00 too thin; add a pad"), (36.0, "1.00 too thick; counterbore")]
)
def test_no_screw_is_made_for_thinner_or_thicker_frames(thickness: float, told: str) -> None:
    with pytest.raises(GeometryError) as caught:
        flat_screw(thickness)
    assert str(caught.value).startswith(f"boss.length: {thickness:g}, but the screws are made for 10 to 35")
    assert told in str(caught.value)


def test_a_posts_screw_from_its_stack() -> None:
    m6 = screw("M6")
    found = screw_length(m6, 10.0, engagement(m6, "steel"), depth=15.0)
    assert found is not None
    # 10 clamped, 1.6 washer, 6 of thread; the hole takes 15.
    assert (found.least, found.most) == (pytest.approx(17.6), pytest.approx(26.6))
    assert found.stock == 20.0
    assert "at least 17.6 mm, at most 26.6 mm; take 20" in found.sentence
    bare = screw_length(m6, 10.0, engagement(m6, "aluminium"), washer=False)
    assert bare is not None
    assert (bare.least, bare.most) == (22.0, None)
    assert "not known" in bare.sentence


def test_a_length_that_rests_on_nothing_is_not_given() -> None:
    m6 = screw("M6")
    assert screw_length(m6, None, engagement(m6, "steel")) is None
    tight = screw_length(m6, 10.5, engagement(m6, "steel"), washer=False, depth=6.5)
    assert tight is not None
    assert tight.stock is None
    assert "cut one to length" in tight.sentence
    with pytest.raises(GeometryError, match=r"^boss\.length: 5 of thread, 1\.00 less than the 6 needed"):
        screw_length(m6, 10.0, engagement(m6, "steel"), depth=5.0)


def test_a_screw_is_named_by_the_frame_it_is_made_for_and_its_length() -> None:
    # 35 + 13 = 48: the same compilation. A maker's own number for it is no word of ours.
    assert flat_screw(35.0).sentence == (
        "The frame is 35 mm thick: take the screw for a 35 mm frame, 48 under the head."
    )
    assert flat_screw(33.0).sentence.endswith(
        "take the screw for a 35 mm frame, 48 under the head, with 2.00 mm of washers under the head."
    )
