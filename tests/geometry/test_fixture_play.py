"""How far a fixture lets its mount stray: fits, pins, slots and the plate's lean, by hand arithmetic.

Limits of size are ISO 286-2's and those of threads ISO 965's, each remembered or read as the tables say.
"""

import math
from dataclasses import replace

import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from shapely import affinity

from geometry.core.errors import GeometryError
from geometry.fixture.fixture import Fixture, fixture
from geometry.fixture.numbers import limit_of_size
from geometry.fixture.play import Chain, slot_turn
from geometry.tables.fasteners import thread
from geometry.tables.interfaces import OwnRow
from sheets.words.fixture import holding, making, straying, strays, table, using
from tests.geometry.test_fixture import MEANS, placed

INSIDE = replace(MEANS, face="inside")


def chain(fix: Fixture, way: str) -> Chain:
    """Return one chain of a fixture."""
    return next(each for each in fix.loose.chains if each.way == way)


def links(found: Chain) -> dict[str, float]:
    """Return a chain's links by what they are, mm."""
    return {each.name.code.removeprefix("fixture.link."): each.amount for each in found.links}


@pytest.mark.parametrize(("letters", "steps"), [("h6", 10.0), ("H7", 16.0), ("h8", 25.0)])
@pytest.mark.parametrize(("over", "to"), [(1, 3), (3, 6), (6, 10), (10, 18), (18, 30)])
def test_limits_of_size_are_those_of_the_standards_formula(
    letters: str, steps: float, over: float, to: float
) -> None:
    """ISO 286-1 (remembered): i = 0.45 D^(1/3) + 0.001 D in micrometres, D the range's geometric mean.

    IT6, IT7 and IT8 are 10, 16 and 25 of them, rounded by the standard to values that differ by up to 1.4.
    """
    mean = math.sqrt(over * to)
    wanted = steps * (0.45 * mean ** (1.0 / 3.0) + 0.001 * mean)
    assert limit_of_size(letters, to).value * 1000.0 == pytest.approx(wanted, abs=1.4)
    assert limit_of_size(letters, to).grade == "D"


def test_a_size_without_limits_is_refused_by_its_key() -> None:
    with pytest.raises(GeometryError, match=r"bench\.fixture: fixture\.no_limit\(letters='H7', diameter=31"):
        limit_of_size("H7", 31.0)


@pytest.mark.parametrize(
    ("name", "outside", "pitch", "nut"), [("M5", 4.826, 4.361, 4.605), ("M6", 5.794, 5.212, 5.500)]
)
def test_threads_are_iso_965(name: str, outside: float, pitch: float, nut: float) -> None:
    """6g: outside at least and pitch diameter at least; 6H: pitch diameter at most (remembered)."""
    found = thread(name)
    assert found.outside.value == outside
    assert found.slack.value == pytest.approx(nut - pitch, abs=1e-9)


def test_pins_hold_a_tab_where_screws_would_not() -> None:
    fix = fixture(placed("is-rear", "rear", 140.0), INSIDE)
    found = chain(fix, "plane")
    # 6.2: a hole of H7 is up to 0.015 larger, a drill's shank of h8 up to 0.022 smaller; half either way.
    pin = (0.015 + 0.022) / 2.0
    assert links(found) == pytest.approx(
        {
            "bore": 0.025,
            "plates_holes": 0.05,
            "pins_in_plate": pin,
            "pins_in_tab": pin,
        }
    )
    assert found.worst_case == pytest.approx(0.112, abs=1e-9)
    assert found.rss == pytest.approx(math.sqrt(0.025**2 + 0.05**2 + 2 * 0.0185**2), abs=1e-9)
    assert found.asked == 0.1
    # An M6 screw of 5.794 in the same holes would move by 0.2 either way: more than is asked, by itself.
    assert (6.2 - 5.794) / 2.0 > found.asked > 2.0 * pin
    # Both pins, 51 apart, may stray by both joints, one this way and one that way.
    assert fix.loose.turn == pytest.approx(math.degrees(math.atan(4.0 * pin / 51.0)), rel=1e-6)
    said = " ".join((*making(fix), *using(fix), *straying(fix)))
    assert "drill 6, ream 6.2 through both" in said and "Two pins Ø6.2" in said and "0.08°" in said
    assert "M6" not in said
    rows = {row[0]: row[-1] for row in table(fix.side_plate)[1]}
    assert rows["near"] == rows["far"] == "ream Ø6.2, pin"


@pytest.mark.parametrize("diameter", [12.0, 19.05, 25.4])
@given(st.floats(4.0, 30.0))
def test_a_plate_leans_by_play_over_length(diameter: float, thick: float) -> None:
    """Own geometry: a bar leaning by a fills d / cos a + t tan a of a bore; that is d + 0.05 at the end."""
    low, high = 0.0, 0.1
    for _ in range(60):
        a = (low + high) / 2.0
        if diameter / math.cos(a) + thick * math.tan(a) > diameter + 0.05:
            high = a
        else:
            low = a
    fix = fixture(placed("is-rear", "rear", 140.0), replace(INSIDE, bore=12.0, plate=thick))
    assert math.radians(fix.loose.lean.degrees) == pytest.approx(low, rel=0.04)


def test_the_lean_at_a_far_hole_and_what_helps() -> None:
    """0.05 in a plate of 8 is 0.6 mm at 98 from the axle: own arithmetic."""
    where = placed("post", "rear", 160.0)
    fix = fixture(where, MEANS)
    lean = fix.loose.lean
    assert lean.reach == pytest.approx(math.hypot(81.0, 55.9), abs=0.01)
    assert lean.amount == pytest.approx(0.05 / 8.0 * 98.42, abs=1e-3)
    assert lean.degrees == pytest.approx(0.358, abs=1e-3)
    # A bush of 30 and a shoulder 30 across that is 0.02 out of square.
    assert (lean.bush, lean.at(30.0)) == (30.0, pytest.approx(0.164, abs=1e-3))
    assert lean.pulled == pytest.approx(0.02 / 30.0 * 98.42, abs=1e-3)
    (said,) = straying(fix)[-1:]
    assert "0.36°, 0.62 at the far hole, 98 from the axle" in said
    assert "bush 30 long in the bore leaves 0.16" in said and "leaves 0.07" in said
    # A tab asks for 0.1 where the plate lies on its own: 0.05 * 78.1 / 0.1 = 39.05, so a bush of 40.
    tab = fixture(placed("is-rear", "rear", 140.0), INSIDE)
    assert tab.loose.lean.bush == 40.0
    assert chain(tab, "sideways").rss == pytest.approx(0.05 / 8.0 * 78.1)
    longer = fixture(placed("is-rear", "rear", 140.0), replace(INSIDE, plate=40.0))
    assert chain(longer, "sideways").rss < 0.1 and "is asked and kept." in straying(longer)[1]
    assert "not kept by the fixture alone" in straying(tab)[1] and "bush" not in straying(longer)[-1]


def test_a_sleeve_has_play_on_both_sides() -> None:
    one, two = (
        fixture(placed("post", "rear", 160.0), replace(MEANS, sleeved=each)) for each in (False, True)
    )
    assert two.loose.lean.amount == pytest.approx(2.0 * one.loose.lean.amount)
    assert links(chain(two, "up"))["bore_and_sleeve"] == 0.05


def test_a_post_strays_by_screws_dowels_and_lean() -> None:
    fix = fixture(placed("post", "rear", 160.0), MEANS)
    assert [hole.diameter for hole in fix.parts[1].holes] == [6.0, 6.0]
    assert "drill 5.8, ream 6, square" in " ".join(making(fix))
    screws = (6.0 + 0.012 - 5.794) / 2.0
    threads = (5.500 - 5.212) / 2.0
    joint = (0.012 + 0.008) / 2.0
    low, high = sorted(hole.along for hole in fix.side_plate.holes if hole.use == "dowel")
    span, over, above = high - low, 81.0 - (low + high) / 2.0, 10.0
    along, up, side = (chain(fix, way) for way in ("along", "up", "sideways"))
    assert links(along) == pytest.approx(
        {
            "bore": 0.025,
            "bars_holes": 0.05,
            "dowels": joint * (1.0 + 2.0 * above / span),
            "screws_in_bar": screws,
            "screws_in_threads": threads,
        }
    )
    assert links(up)["dowels"] == pytest.approx(joint * 2.0 * over / span)
    assert side.worst_case == pytest.approx(0.05 / 8.0 * 98.42 + 0.05 + screws + threads, abs=1e-3)
    assert side.rss == pytest.approx(math.hypot(0.05 / 8.0 * 98.42, 0.05, screws, threads), abs=1e-3)
    # 1.0 is the row's own judgement of its sideways number; in the plane no tolerance was found.
    assert (side.asked, along.asked) == (1.0, None)
    assert "±1 is asked and kept." in straying(fix)[2]
    assert "was not found" in straying(fix)[0] and "bore on the axle 0.03" in straying(fix)[0]
    assert f"sideways ±{side.worst_case:.2f} and ±{side.rss:.2f}, ±1 is asked" in strays(fix)


def stadium(width: float, length: float) -> shapely.Polygon:
    """Return a slot or a key with round ends."""
    half = (length - width) / 2.0
    return shapely.LineString([(-half, 0.0), (half, 0.0)]).buffer(width / 2.0, quad_segs=400)


def test_a_key_in_two_slots_turns_in_both() -> None:
    """The key is turned in both slots, as shapes, by a general library until it meets their sides."""
    fix = fixture(placed("flat-rear", "rear", 160.0), MEANS)
    assert fix.loose.turn is not None
    each = fix.loose.turn / 2.0
    # Rod 8, flats 5.4, slots 5.5: asin(0.1 / 2.6) each: own arithmetic.
    assert each == pytest.approx(math.degrees(math.asin(0.1 / 2.6)), abs=1e-9)
    key = stadium(5.4, 8.0)
    for slot in (stadium(5.5, 8.1), stadium(5.5, 8.5)):
        assert slot.covers(affinity.rotate(key, 0.98 * each))
        assert not slot.covers(affinity.rotate(key, 1.02 * each))
    assert slot_turn(5.5, 5.4, 2.6) == pytest.approx(each, abs=1e-9)
    assert f"turn by {fix.loose.turn:.1f}° at most" in holding(fix)
    # Sideways the boss's slot is 8.5 about a rod of 8.
    assert links(chain(fix, "sideways"))["key_in_boss"] == pytest.approx(0.25)
    front = fixture(placed("flat-front", "front", 160.0), INSIDE)
    assert front.loose.turn is None
    # A slot of 8 by 8.5 keys nothing: the rod in it is all but round.
    own = OwnRow("flat-rear", "own", line=(35.6, 34.0, 68.0), hole=8.0)
    spun = fixture(placed("flat-rear", "rear", 160.0, own=own), MEANS)
    assert spun.loose.turn is None and "not keep a boss from turning" in holding(spun)


@given(st.sampled_from(["is-rear", "is-front"]), st.floats(0.0, 3.0), st.floats(4.0, 9.0))
def test_a_tab_is_held_with_its_stock_on(name: str, stock: float, thick: float) -> None:
    """Own arithmetic: plate inside meets the raw inner face, plate outside the outer face that stays."""
    where = placed(name, "rear" if name == "is-rear" else "front", 140.0 if name == "is-rear" else 160.0)
    inside = fixture(where, replace(INSIDE, facing=stock, mount_size=thick))
    assert inside.spacer is not None and inside.spacer >= -1e-9
    assert inside.surface_z + inside.spacer == pytest.approx(where.lateral_z - stock, abs=1e-9)
    outside = fixture(where, replace(MEANS, facing=stock, mount_size=thick))
    assert outside.spacer is not None and outside.spacer >= -1e-9
    assert outside.surface_z - outside.spacer == pytest.approx(where.lateral_z + thick, abs=1e-9)
    # No collar is longer than it must be, and beside the shortest one no spacer is needed.
    assert min(inside.collar, inside.spacer) == pytest.approx(0.0, abs=1e-9)


def test_stock_is_told_and_thin_collars_are_shims() -> None:
    fix = fixture(placed("is-rear", "rear", 140.0), replace(INSIDE, facing=0.3))
    assert (fix.collar, fix.surface_z) == (pytest.approx(0.3), pytest.approx(-0.3))
    said = " ".join(using(fix))
    assert "collar 0.3 long (thin: use shim)" in said and "The tab lies flat on the plate" in said
    assert "0.3 left for facing" in said
    assert "facing" not in " ".join(using(fixture(placed("is-rear", "rear", 140.0), INSIDE)))
