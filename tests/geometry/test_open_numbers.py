"""Checks between rows find a slip in any number, or the number stands in the list of open ones."""

import math

import pytest

from geometry.core.tables import numbered
from geometry.survey.open_numbers import noticed, row_checks, slipped, unnoticed
from geometry.tables.interfaces import rows, second_sets
from geometry.tables.row_checks import closures

# What no check can tell, written out here so that the list cannot grow unseen. No text says how thick a post
# is at the least; two published paths of posts lie further apart than a slip, and so do two texts on a flat
# mount's holes at the rear, while at the front there is one; of a flat mount's path only the shape is told,
# and neither height nor place.
OPEN = {
    ("post", "path.angle"), ("post", "boss.diameter"),
    ("flat-rear", "spacing"), ("flat-rear", "at.*.h"), ("flat-rear", "at.*.x_near"),
    ("flat-front", "spacing"), ("flat-front", "at.*.h"), ("flat-front", "at.*.x_near"),
}  # fmt: skip
NUMBERS = [(row.name, key) for row in rows().values() for key, _ in numbered(row)]
SECOND = [(row.row, f"second.{key}") for row in second_sets().values() for key, _ in numbered(row)]


def test_the_list_of_open_numbers_is_what_is_known_to_be_open() -> None:
    found = {(each.row, each.key) for each in unnoticed()}
    assert found == OPEN, f"OPEN above lacks {sorted(found - OPEN)}, and has {sorted(OPEN - found)} too much"


@pytest.mark.parametrize(("row", "key"), [*NUMBERS, *SECOND])
def test_a_slip_of_1_mm_is_named_or_its_number_is_open(row: str, key: str) -> None:
    if (row, key) in OPEN:
        # Neither both nor none: what is open is not told by a check, one way at least.
        assert not all(noticed(row, key, by) for by in (1.0, -1.0))
        return
    for by in (1.0, -1.0):
        found = noticed(row, key, by)
        assert found, f"{row} {key} {by:+g} goes unnoticed"
        # The check that fails names the row that was moved.
        assert found is True or any(row in each.rows for each in found)


def test_an_angle_slips_by_what_moves_the_end_of_its_path_by_as_much() -> None:
    # Posts go from 140 to 220 through 160 (peterverdone.com), so that 220 lies 30 up it: own arithmetic.
    (angle,) = [each for each in unnoticed() if (each.row, each.key) == ("post", "path.angle")]
    turn = math.degrees(math.asin(1.0 / 30.0))
    assert [abs(each) for each in angle.slips] == [pytest.approx(turn)] * len(angle.slips)


def test_the_slip_that_was_drawn_for_a_time_is_named() -> None:
    # 79.1 in place of 78.1, and 49.9 in place of 49.7: what was shipped first, and found by a second drawing.
    far = noticed("is-rear", "radii.far", 1.0)
    assert far is not True and {each.code for each in far} >= {"tab-scale", "tab-way"}
    near = noticed("is-front", "radii.near", 0.2)
    assert near is not True and "tab-angle" in {each.code for each in near}


def test_one_check_fails_today_and_it_is_the_one_that_both_rows_name() -> None:
    # Tab face to disc: 15.25 at the rear (peterverdone.com), 14.50 at the front (forum.cruzbike.com 11450).
    (failed,) = [each for each in row_checks() if each.state == "disagrees"]
    assert (failed.code, failed.rows) == ("sides-tab", ("is-rear", "is-front"))
    assert failed.found == pytest.approx(15.25 - 14.5)
    assert {rows()[each].disagrees for each in failed.rows} == {"sideways"}


def test_pads_are_judged_for_every_row_at_every_size() -> None:
    found = {(each.rows[0], each.at) for each in row_checks() if each.code == "pads"}
    listed = {(row.name, size) for row in rows().values() for size in row.sizes}
    assert listed <= found and ("post", 160.0) in found
    # Half of a pad of 14.4 to 16 (o-l-a-v.github.io, 2023-08-20) lies inside the disc's edge, everywhere.
    assert all(each.found > 8.0 for each in row_checks() if each.code == "pads")
    # Derived from the rows themselves, they are no proof of tabs and flats.
    assert {each.rows[0] for each in row_checks() if each.code == "pads" and each.settles} == {"post"}


def test_a_160_step_lies_along_its_path() -> None:
    # 10 for 20 of disc: own arithmetic, half of what the disc grows.
    steps = [each for each in closures(rows(), second_sets()) if each.code == "size-step"]
    flat = [(each.at, each.expected) for each in steps if each.rows == ("flat-rear",)]
    assert flat == [(160.0, 10.0), (180.0, 10.0)]
    assert all(each.state == "holds" for each in steps)
    # A row whose larger size lies where a second reading of the label puts it has another step.
    moved = slipped(rows()["flat-rear"], "at.160.h", 38.9 - 35.6)
    wrong = closures({**rows(), "flat-rear": moved}, second_sets())
    assert {each.code for each in wrong if each.state == "disagrees" and "flat-rear" in each.rows} >= {
        "size-step",
        "even-height",
    }


def test_a_slip_moves_the_number_that_was_meant_and_no_other() -> None:
    moved = slipped(rows()["post"], "path.angle", 1.5)
    before, after = dict(numbered(rows()["post"])), dict(numbered(moved))
    assert {key for key in before if before[key] != after[key]} == {"path.angle"}
    assert after["path.angle"].value == pytest.approx(before["path.angle"].value + 1.5)
    both = dict(numbered(slipped(rows()["flat-front"], "at.*.h", -1.0)))
    assert math.isclose(both["at.140.h"].value, 30.0) and math.isclose(both["at.160.h"].value, 30.0)
    hole = dict(numbered(slipped(rows()["post"], "hole", 1.0)))
    assert any(math.isclose(each.value, 6.0) for key, each in hole.items() if key.startswith("hole"))


@pytest.mark.parametrize(
    ("row", "key", "by", "codes"),
    [
        # In line with the dropout, and 4 out: alexwetmore.org; 3.1 on one bicycle: forum.cruzbike.com.
        ("is-rear", "lateral.rear", 1.0, {"tab-rear"}),
        ("is-rear", "lateral.rear", -1.0, {"tab-rear"}),
        ("is-front", "lateral.front", 1.0, {"tab-front", "tab-bike"}),
        ("is-front", "lateral.front", -1.0, {"tab-front", "adapter-side-front"}),
        # Both ends together: inward the posts lack room beside the disc (11 - 1 - 7 - 1.8 = 1.2, and 2.2 are
        # asked for), outward adapters as thick as were measured, 10 to 11, do not reach: own arithmetic.
        ("post", "lateral.*", -1.0, {"beside-rear", "beside-front"}),
        ("post", "lateral.*", 1.0, {"adapter-side-front"}),
        ("post", "boss.diameter", 1.0, {"beside-rear", "beside-front"}),
        # One text gives these for two rows.
        ("is-rear", "boss.thickness", 1.0, {"one-text-thickness"}),
        ("flat-rear", "boss.diameter", -1.0, {"one-text-diameter"}),
        ("post", "boss.length", -1.0, {"one-text-length"}),
    ],
)
def test_what_names_a_slip_sideways_and_in_a_boss(row: str, key: str, by: float, codes: set[str]) -> None:
    found = noticed(row, key, by)
    assert found is not True and {each.code for each in found} == codes


def test_what_two_rows_have_of_one_text_and_of_two_is_told_apart() -> None:
    codes = [(each.code, each.rows) for each in row_checks() if each.code.startswith("one-text")]
    # Height and places of flat mounts rest on one derivation too, and differ as they should; end radii of
    # tabs rest on two texts.
    first = {"is-rear", "is-front", "post", "flat-rear", "flat-front"}
    assert [each for each in codes if {*each[1]} <= first] == [
        ("one-text-thickness", ("is-rear", "is-front")),
        ("one-text-diameter", ("flat-rear", "flat-front")),
        ("one-text-length", ("post", "flat-front")),
    ]
