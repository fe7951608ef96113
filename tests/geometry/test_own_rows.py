"""Rows that a job brings: both forms, what they fall back on, and what is refused."""

from dataclasses import replace

import pytest

from geometry.core.errors import GeometryError, Problem, TableError
from geometry.core.say import Say, named, say
from geometry.mount.placement import place
from geometry.tables import interfaces
from geometry.tables.axles import axle
from geometry.tables.interfaces import OwnRow, resolve
from sheets.words.tell import told

OWN = OwnRow(name="mine", source="measured on the bench", family="tab", lateral=2.5, hole=6.2)


def test_an_own_row_by_radii() -> None:
    own = replace(OWN, native=160.0, tolerance=0.2, radii=(39.9, 79.1, 51.0))
    row = resolve("mine", "rear", None, 180, own)
    assert (row.h, row.x_near, row.x_far) == pytest.approx((34.39, 20.23, 71.23), abs=0.005)
    assert (row.name, told(row.title), row.family, row.end) == ("mine", "own tab mount, rear", "tab", "rear")
    assert (row.native, row.tolerance, row.own, row.provisional) == (160.0, 0.2, True, False)
    assert (row.lateral.value, row.lateral.grade, row.lateral_rests_on_rotor) == (2.5, "own", False)
    assert (row.hole.diameter.value, row.hole.diameter.grade, row.hole.screw) == (6.2, "own", "M6")
    assert (row.grade, row.sources, row.notes) == ("own", ("measured on the bench",), ())


def test_an_own_row_by_height_and_positions() -> None:
    own = replace(OWN, family="flat", line=(30.0, -4.0, 66.0))
    row = resolve("mine", "front", None, 160, own)
    assert (row.h, row.x_near, row.x_far) == (30.0, -4.0, 66.0)
    assert (row.native, row.tolerance, row.screw, row.hole.kind) == (160.0, None, "-n", "thread")
    assert resolve("mine", "rear", None, 160, own).screw == "+n"
    assert resolve("mine", "rear", None, 160, replace(own, family="post")).screw == "-n"


def test_the_jobs_native_size_comes_before_the_rows() -> None:
    own = replace(OWN, native=160.0, line=(30.0, 4.0, 66.0))
    assert resolve("mine", "rear", 180.0, 203, own).native == 180.0
    assert resolve("mine", "rear", None, 203, own).native == 160.0
    assert resolve("mine", "rear", None, 203, replace(own, native=None)).native == 203.0


def test_an_own_row_of_a_tabs_name_keeps_the_tabs_native_size() -> None:
    own = replace(OWN, name="is-rear", family=None, line=(34.5, 20.0, 71.0))
    assert resolve("is-rear", "rear", None, 180, own).native == 140.0
    assert resolve("is-rear", "rear", 160.0, 180, own).native == 160.0
    assert resolve("is-rear", "rear", None, 180, replace(own, native=160.0)).native == 160.0


@pytest.mark.parametrize("native", [100.0, 230.0])
def test_an_own_post_row_may_be_of_a_size_that_the_table_lacks(native: float) -> None:
    own = replace(OWN, name="post", family=None, native=native, line=(40.0, 2.0, 76.2))
    row = resolve("post", "rear", None, native, own)
    assert (row.native, row.h, row.x_near, row.x_far) == (native, 40.0, 2.0, 76.2)


def test_an_own_row_falls_back_to_the_tables_row_of_its_name_and_says_so() -> None:
    own = OwnRow(name="flat-rear", source="measured", line=(31.0, 25.0, 59.0))
    row = resolve("flat-rear", "rear", 140, 140, own)
    assert (row.title, row.family) == ("flat mount, rear", "flat")
    assert (row.lateral.value, row.lateral.grade, row.grade) == (-3.05, "C", "C")
    assert row.lateral_rests_on_rotor
    assert not row.provisional
    assert row.sources == ("measured", row.lateral.source)
    assert row.notes == (
        say("tables.interface.table_lateral"),
        say("tables.interface.table_hole", family="flat", hole=5.5),
    )
    sided = resolve("flat-rear", "rear", 140, 140, replace(own, lateral=-3.0))
    assert not sided.lateral_rests_on_rotor
    assert sided.grade == "own"


def test_an_own_row_lends_its_hole_from_the_row_whose_holes_lie_apart_most_alike(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    flat = interfaces.rows()["flat-rear"]
    assert flat.spacing is not None and flat.apart == 34.0
    hole = replace(flat.hole, diameter=replace(flat.hole.diameter, value=7.0))
    wide = replace(flat, name="wide", spacing=replace(flat.spacing, value=60.0), hole=hole)
    monkeypatch.setattr(interfaces, "rows", lambda: {"flat-rear": flat, "wide": wide})
    # 46 lies 12 from 34 and 14 from 60, 48 the other way round (own arithmetic).
    for spacing, diameter in ((20.0, 5.5), (46.0, 5.5), (48.0, 7.0), (80.0, 7.0)):
        own = OwnRow("mine", "bench", "flat", 140.0, lateral=-3.0, line=(30.0, 25.0, 25.0 + spacing))
        assert resolve("mine", "rear", 140, 140, own).hole.diameter.value == diameter


def test_an_own_flat_row_may_be_of_a_size_that_the_table_lacks() -> None:
    own = OwnRow("flat-rear", "measured", native=150.0, line=(31.0, 25.0, 59.0))
    row = resolve("flat-rear", "rear", None, 150.0, own)
    assert (row.native, row.h, row.x_near, row.x_far) == (150.0, 31.0, 25.0, 59.0)


@pytest.mark.parametrize(
    ("own", "where", "why"),
    [
        (
            OwnRow("mine", "bench", lateral=1.0, line=(30.0, 4.0, 60.0)),
            "interface.family",
            say("tables.interface.no_family"),
        ),
        (
            OwnRow("is-rear", "bench", family="post", line=(30.0, 4.0, 60.0)),
            "interface.family",
            say("tables.interface.other_family", family="post", name="is-rear", is_one="tab"),
        ),
        (
            OwnRow("mine", "bench", family="post", line=(30.0, 4.0, 60.0)),
            "interface.lateral",
            say("tables.interface.no_lateral"),
        ),
        (
            OwnRow("mine", "bench", family="post", lateral=1.0),
            "interface",
            say("tables.interface.no_place"),
        ),
        (
            OwnRow("is-front", "bench", line=(30.0, 4.0, 60.0)),
            "mount.interface",
            say(
                "tables.interface.other_end",
                name="is-front",
                belongs=(named("front"),),
                end="rear",
                other="is-rear",
            ),
        ),
    ],
)
def test_an_own_row_that_lacks_something_is_refused(own: OwnRow, where: str, why: Say) -> None:
    with pytest.raises(TableError) as caught:
        resolve(own.name, "rear", None, 160, own)
    assert caught.value.problems == (Problem(where, why),)


def test_an_own_row_whose_radii_close_no_triangle_is_refused() -> None:
    with pytest.raises(GeometryError, match=r"plane\.radii_differ"):
        resolve("mine", "rear", None, 160, replace(OWN, radii=(39.9, 99.0, 51.0)))


BANDS = (("h", 0.2), ("x_near", 0.2), ("x_far", 0.2), ("lateral", 0.1))


@pytest.mark.parametrize(
    ("makers", "bands", "grade"),
    [
        # From three makers on, by the house's own rule, and each number that places the row with its band.
        (3, BANDS, "M"),
        (9, BANDS, "M"),
        (2, BANDS, "own"),
        (1, BANDS, "own"),
        (None, BANDS, "own"),
        (3, BANDS[:3], "own"),
        (3, BANDS[1:], "own"),
        # A millimetre either way is still agreement (own judgement), and more is none.
        (3, (*BANDS[:3], ("lateral", 1.0)), "M"),
        (3, (*BANDS[:3], ("lateral", 1.01)), "own"),
    ],
)
def test_a_row_measured_on_mounts_of_three_makers_is_graded_m(
    makers: int | None, bands: tuple, grade: str
) -> None:
    row = OwnRow("shop", "measured", "flat", 140.0, lateral=-3.0, line=(30.5, 25.4, 59.4), mounts=9,
                 makers=makers, bands=bands)  # fmt: skip
    found = resolve("shop", "rear", 140, 140, row)
    assert (found.grade, found.lateral.grade) == (grade, grade)


def test_a_measured_row_that_takes_its_lateral_from_the_table_is_no_better_than_that() -> None:
    row = OwnRow(
        "flat-rear", "measured", line=(30.5, 25.4, 59.4), native=140.0, mounts=5, makers=3, bands=BANDS
    )
    assert row.grade == "M"
    # The table's sideways number is grade C: one secondary source.
    assert resolve("flat-rear", "rear", 140, 140, row).grade == "C"


def test_what_grade_m_asks_for_before_cutting() -> None:
    line = {"line": (30.5, 25.4, 59.4), "mounts": 4, "makers": 3, "bands": BANDS}
    own = OwnRow("shop", "measured", "flat", 140.0, lateral=-3.0, **line)
    row = resolve("shop", "rear", 140, 140, own)
    found = place(row, axle("142x12"), rotor=140.0, host="chainstay", direction=180.0).findings
    (note,) = [each for each in found if each.code in ("measured", "grade")]
    # No drawing has to bear out what three makers do: what is left is that the caliper is one of that kind.
    assert (note.code, note.level, note.text) == ("measured", "note", say("placement.measured", makers=3))
    assert not note.large and not [each for each in found if each.code == "one-mount"]
