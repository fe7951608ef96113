"""Fasteners against the published tables, each named beside its numbers."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from geometry.braking.strength import entry_of
from geometry.core.errors import GeometryError, Problem, TableError
from geometry.core.say import say
from geometry.tables.fasteners import (
    engagement,
    flat_screw,
    head_room,
    screw,
    screw_length,
    screws,
    torque,
)
from geometry.tables.interfaces import resolve
from sheets.words.tell import told


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


def test_stress_areas_are_those_of_the_threads() -> None:
    """ISO 898-1 lists 14.2 for M5 and 20.1 for M6, remembered: pi/4 of the mean of pitch and root diameter.

    Both from the thread's own triangle, whose height is p sqrt(3) / 2 (ISO 68-1, remembered).
    """
    for name in ("M5", "M6"):
        one = screw(name)
        height = one.pitch.value * math.sqrt(3.0) / 2.0
        mean = one.diameter - (0.75 * height + 17.0 / 12.0 * height) / 2.0
        assert entry_of("screw", name).value == pytest.approx(math.pi / 4.0 * mean**2, abs=0.05)


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
    with pytest.raises(
        TableError, match=r"^process\.material: tables\.screw\.no_rule\(material='bamboo', known='steel"
    ):
        engagement(screw("M6"), "bamboo")
    with pytest.raises(TableError, match=r"^tables\.screw\.where: tables\.unknown\(.*M66.*name='M6'"):
        screw("M66")


def test_torque_says_whose_figure_governs() -> None:
    # 6 to 8 N m: service sheets of one maker for cable disc calipers and adapters.
    found = torque()
    assert (found.low.value, found.high.value) == (6.0, 8.0)
    assert told(found.sentence) == (
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
    assert (found.sentence.code == "tables.screw.flat_packed") == (found.packing > 0.0)


def test_a_measured_stay_just_over_a_step_takes_that_steps_screw() -> None:
    assert flat_screw(20.15).made_for == 20
    assert flat_screw(20.3).made_for == 25
    assert flat_screw(20.3).packing == pytest.approx(4.7)


@pytest.mark.parametrize(("thickness", "why", "by"), [(7.0, "too_thin", 3.0), (36.0, "too_thick", 1.0)])
def test_no_screw_is_made_for_thinner_or_thicker_frames(thickness: float, why: str, by: float) -> None:
    with pytest.raises(GeometryError) as caught:
        flat_screw(thickness)
    what = say(f"tables.screw.{why}", thickness=thickness, least=10, most=35, by=by)
    assert caught.value.problems == (Problem("boss.length", what),)


def test_a_screw_from_its_stack() -> None:
    m6 = screw("M6")
    found = screw_length(m6, 10.0, engagement(m6, "steel"))
    assert found is not None
    # 10 clamped, 1.6 washer, 6 of thread: own arithmetic.
    assert (found.least, found.stock) == (pytest.approx(17.6), 20.0)
    assert found.sentence.code == "tables.screw.length"
    assert [found.sentence[each] for each in ("grip", "washer", "thread", "stock")] == [10.0, 1.6, 6.0, 20.0]


def test_a_length_that_rests_on_nothing_is_not_given() -> None:
    m6 = screw("M6")
    assert screw_length(m6, None, engagement(m6, "steel")) is None
    # 45 and the longest of the stock, 50: nothing is as long as 45 + 1.6 + 6.
    long = screw_length(m6, 45.0, engagement(m6, "steel"))
    assert long is not None
    assert (long.stock, long.sentence.code) == (None, "tables.screw.no_length")


def test_a_screw_is_named_by_the_frame_it_is_made_for_and_its_length() -> None:
    # 35 + 13 = 48: the same compilation. A maker's own number for it is no word of ours.
    assert told(flat_screw(35.0).sentence) == (
        "The frame is 35 mm thick: take the screw for a 35 mm frame, 48 under the head."
    )
    assert told(flat_screw(33.0).sentence).endswith(
        "take the screw for a 35 mm frame, 48 under the head, with 2.00 mm of washers under the head."
    )
