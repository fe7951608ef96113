"""The shipped mounts, number by number, against the published numbers they were taken from.

The expected numbers are written out here and not read from the table, so that an edit of the table shows.
Each is checked to within half of its last printed place.
"""

import math
import re
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from geometry.core.errors import TableError
from geometry.core.say import named, say
from geometry.core.tables import numbered
from geometry.tables.axles import End, axle
from geometry.tables.interfaces import Interface, resolve, rows

ROOT = Path(__file__).parents[2]

# Post rows: peterverdone.com, The problem with flat mount, decoded; far = near + 74.2, mtb-news.de 994178.
# native: plane height, near bolt, far bolt, mid-bolt radius
POST = {
    140: (47.24, 1.80, 76.00, 61.19),
    160: (55.90, 6.80, 81.00, 71.08),
    180: (64.56, 11.80, 86.00, 80.99),
    200: (73.22, 16.80, 91.00, 90.92),
    203: (74.52, 17.55, 91.75, 92.41),
    220: (81.88, 21.80, 96.00, 100.86),
}

# name, end, native, h, x near, x far, half of the last place, lateral, weakest grade
SHIPPED: list[tuple[str, End, int, float, float, float, float, float, str]] = [
    # Art's Cyclery, Rubber Side Down: Disc Brake Adapters, diagram 2, 2014-12-22, and officinerecycle.com:
    # radii 39.9 and 78.1, 49.7 and 87.3, spacing 51. C and D for the sideways number that the rows dispute.
    ("is-rear", "rear", 140, 35.25, 18.69, 69.69, 0.005, 0.0, "C"),
    ("is-front", "front", 160, 42.95, 25.00, 76.00, 0.005, 4.0, "D"),
    *[("post", "rear", size, *POST[size][:3], 0.005, -4.25, "D") for size in POST],
    *[("post", "front", size, *POST[size][:3], 0.005, 0.5, "D") for size in POST],
    # derived; spacing 34: bezvakolo.cz, Jak vybrat adapter brzdy
    ("flat-rear", "rear", 140, 30.5, 25.4, 59.4, 0.0005, -3.05, "D"),
    ("flat-rear", "rear", 160, 35.6, 34.0, 68.0, 0.0005, -3.05, "D"),
    ("flat-rear", "rear", 180, 40.7, 42.6, 76.6, 0.0005, -3.05, "D"),
    # derived; spacing 70: bezvakolo.cz
    ("flat-front", "front", 140, 31.0, 8.0, 78.0, 0.0005, 1.7, "D"),
    ("flat-front", "front", 160, 31.0, 8.0, 78.0, 0.0005, 1.7, "D"),
]
# name, end, family, screw, hole's kind, diameter, slot's length, thread, (boss's diameter, length)
HOLES: list[tuple[str, End, str, str, str, float, float | None, str, tuple[float | None, float | None]]] = [
    # 6.2: the same diagram, and a drawing in github.com/pwnage101/cargo_bike, 2019-02-19. 5.0 and
    # 4.2: tapping drills, remembered.
    # Slot 5.5 by 8.5, boss 14: own sizing. Stay 20: a mechanic's compilation of a dealer manual.
    ("is-rear", "rear", "tab", "-z", "plain", 6.2, None, "M6", (None, None)),
    ("is-front", "front", "tab", "-z", "plain", 6.2, None, "M6", (None, None)),
    ("post", "rear", "post", "-n", "thread", 5.0, None, "M6", (14.0, 15.0)),
    ("post", "front", "post", "-n", "thread", 5.0, None, "M6", (14.0, 15.0)),
    ("flat-rear", "rear", "flat", "+n", "slot", 5.5, 8.5, "M5", (14.0, 20.0)),
    ("flat-front", "front", "flat", "-n", "thread", 4.2, None, "M5", (14.0, 15.0)),
]
# One source is C, two are B, what is derived or only decoded is D: position, then lateral.
GRADES: list[tuple[str, End, dict[str, str]]] = [
    ("is-rear", "rear", {"near": "B", "far": "B", "spacing": "B", "lateral": "C"}),
    ("is-front", "front", {"near": "B", "far": "B", "spacing": "B", "lateral": "D"}),
    ("post", "rear", {"angle": "C", "h": "D", "x_near": "D", "spacing": "B", "lateral": "D"}),
    ("post", "front", {"angle": "C", "h": "D", "x_near": "D", "spacing": "B", "lateral": "D"}),
    ("flat-rear", "rear", {"h": "D", "x_near": "D", "spacing": "C", "lateral": "C"}),
    ("flat-front", "front", {"h": "D", "x_near": "D", "spacing": "C", "lateral": "C"}),
]
# name, the hole's grade, and each number of the boss with its band and grade.
BOSSES: list[tuple[str, str, dict[str, tuple[float, float | None, float | None, str]]]] = [
    # Tabs 6 to 9 thick: bikebuilding.blogspot.com, 2002-01-13 (C). A tab's hole: two drawings at the
    # rear (B), of which one shows the front tab too, without that number (C).
    # The rest is own sizing or remembered (D), but for stays in steps of 5 (the same compilation, B).
    ("is-rear", "B", {"thickness": (6.0, 6.0, 9.0, "C")}),
    ("is-front", "C", {"thickness": (6.0, 6.0, 9.0, "C")}),
    ("post", "D", {"diameter": (14.0, None, None, "D"), "length": (15.0, None, None, "D")}),
    ("flat-rear", "D", {"diameter": (14.0, None, None, "D"), "length": (20.0, None, None, "B")}),
    ("flat-front", "D", {"diameter": (14.0, None, None, "D"), "length": (15.0, None, None, "D")}),
]
# name, end, tolerance of the place and of the sideways number, and whether that rests on the rotor.
TOLERANCES: list[tuple[str, End, float | None, float | None, bool]] = [
    # +-0.1: Art's Cyclery, diagram 2, 2014-12-22. Front tab +4.0 +-0.1: forum.cruzbike.com thread 11450.
    # Post +-1: derived, 10 to 12 outboard of the rotor's inner face. Flat: no tolerance in any text.
    ("is-rear", "rear", 0.1, 0.1, False),
    ("is-front", "front", 0.1, 0.1, False),
    ("post", "rear", None, 1.0, True),
    ("post", "front", None, 1.0, True),
    ("flat-rear", "rear", None, None, True),
    ("flat-front", "front", None, None, True),
]


def shipped(name: str, end: End) -> Interface:
    """Return a shipped row at the first of its sizes that is checked here."""
    size = next(each[2] for each in SHIPPED if each[:2] == (name, end))
    return resolve(name, end, size, size)


@pytest.mark.parametrize("listed", ["SHIPPED", "HOLES", "GRADES", "TOLERANCES"])
def test_no_row_is_shipped_that_is_not_checked_here(listed: str) -> None:
    wanted = {(name, end) for name, row in rows().items() for end in row.ends}
    found = {each[:2] for each in globals()[listed]}
    assert found == wanted, f"{listed} above lacks {wanted - found}, and has {found - wanted} too much"


def test_every_size_of_a_row_is_checked_here() -> None:
    sizes = {(row.name, size) for row in rows().values() if row.path is None for size in row.sizes}
    lacking = sizes - {(name, size) for name, _, size, *_ in SHIPPED}
    assert not lacking, f"SHIPPED above lacks {sorted(lacking)}"
    assert {name for name, *_ in BOSSES} == {*rows()}, "BOSSES above has a line for each row"


@pytest.mark.parametrize(
    ("name", "end", "native", "h", "near", "far", "half", "lateral", "grade"),
    SHIPPED,
    ids=lambda value: str(value) if isinstance(value, str | int) else "",
)
def test_a_shipped_row_is_what_was_published(
    name: str,
    end: End,
    native: int,
    h: float,
    near: float,
    far: float,
    half: float,
    lateral: float,
    grade: str,
) -> None:
    row = resolve(name, end, native, native)
    assert (row.h, row.x_near, row.x_far) == pytest.approx((h, near, far), abs=half)
    assert row.lateral.value == lateral
    assert row.grade == grade
    assert (row.name, row.end, row.native, row.own) == (name, end, float(native), False)
    assert row.radii == pytest.approx((math.hypot(h, near), math.hypot(h, far)), abs=2.0 * half)


@pytest.mark.parametrize(
    ("name", "end", "family", "screw", "kind", "hole", "length", "thread", "boss"), HOLES
)
def test_what_is_made_at_each_hole(
    name: str,
    end: End,
    family: str,
    screw: str,
    kind: str,
    hole: float,
    length: float | None,
    thread: str,
    boss: tuple[float | None, float | None],
) -> None:
    row = shipped(name, end)
    assert (row.family, row.screw) == (family, screw)
    assert (row.hole.kind, row.hole.diameter.value, row.hole.length, row.hole.screw) == (
        kind,
        hole,
        length,
        thread,
    )
    found = tuple(entry.value if entry else None for entry in (row.boss_diameter, row.boss_length))
    assert found == boss


@pytest.mark.parametrize(("name", "end", "numbers"), GRADES)
def test_each_number_has_its_grade(name: str, end: End, numbers: dict[str, str]) -> None:
    found = list(numbered(rows()[name]))
    for key, grade in numbers.items():
        wanted = f"lateral.{end}" if key == "lateral" else key
        grades = {each.grade for path, each in found if f".{path}".endswith(f".{wanted}")}
        assert grades == {grade}


@pytest.mark.parametrize(("name", "hole", "bosses"), BOSSES)
def test_holes_tabs_and_bosses_have_their_numbers_and_grades(
    name: str, hole: str, bosses: dict[str, tuple[float, float | None, float | None, str]]
) -> None:
    row = shipped(name, rows()[name].ends[0])
    assert row.hole.diameter.grade == hole
    parts = {"diameter": row.boss_diameter, "length": row.boss_length, "thickness": row.tab_thickness}
    found = {key: (n.value, n.low, n.high, n.grade) for key, n in parts.items() if n is not None}
    assert found == bosses


def test_each_radius_of_a_tab_has_the_tolerance_that_was_published() -> None:
    # Art's Cyclery, diagram 2, 2014-12-22: +-0.1 on all six.
    tolerances = {
        (name, key): entry.tolerance
        for name in ("is-rear", "is-front")
        for key, entry in numbered(rows()[name].radii)
    }
    assert len(tolerances) == 6
    assert set(tolerances.values()) == {0.1}


@pytest.mark.parametrize(("name", "end", "tolerance", "sideways", "rests"), TOLERANCES)
def test_tolerances_and_what_the_sideways_number_rests_on(
    name: str, end: End, tolerance: float | None, sideways: float | None, rests: bool
) -> None:
    row = shipped(name, end)
    assert row.tolerance == tolerance
    assert row.lateral.tolerance == sideways
    assert row.lateral_rests_on_rotor is rests


@pytest.mark.parametrize(
    ("name", "end", "native", "notes"),
    [
        ("flat-rear", "rear", 140, [("height", 27, 34), ("near", 19, 30)]),
        ("flat-rear", "rear", 160, ["near hole at 30.8, or at 30.5 and 38.9: up to 7 mm away."]),
        ("flat-rear", "rear", 180, ["near hole at 36.3, or at 30.5 and 51.1: up to 13 mm away."]),
        ("flat-front", "front", 140, [("height", 26, 35), ("near", 3, 16)]),
        ("flat-front", "front", 160, [("height", 26, 35), ("near", 3, 16)]),
    ],
)
def test_flat_rows_are_provisional_and_print_their_band_or_their_other_readings(
    name: str, end: End, native: int, notes: list
) -> None:
    row = resolve(name, end, native, native)
    assert row.provisional
    assert len(row.notes) == 1 + len(notes)
    # What holds at this size alone comes first: the card has no room for all.
    assert row.notes[-1] == rows()[name].note
    for said, expected in zip(row.notes[:-1], notes, strict=True):
        if isinstance(expected, str):
            assert said.endswith(expected)
        else:
            key, low, high = expected
            assert said == say(f"tables.interface.band.{key}", low=low, high=high)


@pytest.mark.parametrize("name", ["is-rear", "is-front", "post"])
def test_only_flat_rows_are_provisional(name: str) -> None:
    row = resolve(name, "rear" if name == "is-rear" else "front", None, 160)
    assert not row.provisional
    assert "" not in row.notes


def test_sources_are_named_once_each_and_are_those_of_the_numbers_used() -> None:
    row = resolve("is-rear", "rear", None, 140)
    assert len(row.sources) == 2
    assert "2014-12-22" in row.sources[0]
    assert row.sources[1] == row.lateral.source
    assert len(resolve("post", "rear", 160, 160).sources) == 3


@pytest.mark.parametrize("name", rows())
def test_the_page_of_grades_and_the_words_of_workshops_have_every_row(name: str) -> None:
    row = rows()[name]
    page = (ROOT / "sheets" / "help" / "grades.md").read_text(encoding="utf-8")
    where = "both" if len(row.ends) > 1 else row.ends[0]
    sizes = " to ".join(f"{size:g}" for size in row.sizes) if row.path else f"{row.sizes[0]:g}"
    grade = max((each[-1] for each in SHIPPED if each[0] == name), default="D")
    line = rf"(?m)^\| `{name}` \| [^|]+ \| {where} \| {sizes}[\d, ]* \| {grade}\b"
    assert re.search(line + r".*provisional" * row.provisional, page), f"sheets/help/grades.md lacks {line}"
    words = (ROOT / "geometry" / "core" / "meant.txt").read_text(encoding="utf-8")
    assert f"\n{name}: " in words, f"geometry/core/meant.txt lacks what workshops call {name}"


# --- checks between rows that hold by geometry


@given(st.floats(140.0, 200.0), st.sampled_from(["rear", "front"]))
def test_a_post_mount_moves_10_mm_at_60_degrees_for_20_mm_of_disc(native: float, end: End) -> None:
    # peterverdone.com, The problem with flat mount: 8.66 up and 5.00 along
    one, two = resolve("post", end, native, native), resolve("post", end, native + 20.0, native + 20.0)
    step = complex(two.x_near - one.x_near, two.h - one.h)
    assert step == pytest.approx(complex(5.0, 10.0 * math.sqrt(3.0) / 2.0), abs=1e-9)
    assert two.x_far - one.x_far == pytest.approx(5.0, abs=1e-9)


@pytest.mark.parametrize("native", POST)
def test_a_post_mounts_middle_keeps_its_place_on_the_disc(native: int) -> None:
    # From the decoded formula: middle of the bolts 8.8 to 9.1 inside the disc's edge, printed to 0.1.
    row = resolve("post", "rear", native, native)
    middle = math.hypot(row.h, (row.x_near + row.x_far) / 2.0)
    assert middle == pytest.approx(POST[native][3], abs=0.005)
    assert 8.75 <= native / 2.0 - middle <= 9.15


def test_flat_mount_radii_are_the_values_to_expect_when_one_is_measured() -> None:
    # derived: near hole 39.7 and far hole 66.8 from the axle for a native 140 rear
    row = resolve("flat-rear", "rear", 140, 140)
    assert row.radii == pytest.approx((39.7, 66.8), abs=0.05)
    # and the recipe: x1 = (r2^2 - r1^2 - 34^2) / 68
    near, far = row.radii
    assert (far**2 - near**2 - 34.0**2) / 68.0 == pytest.approx(row.x_near, abs=1e-9)


def test_larger_flat_mounts_lie_along_the_path_of_30_5_degrees() -> None:
    # derived: the label 30.5 read as the angle of the path, 10 mm of it for 20 mm of disc; printed to 0.1
    start = resolve("flat-rear", "rear", 140, 140)
    for steps, native in ((1, 160), (2, 180)):
        row = resolve("flat-rear", "rear", native, native)
        assert row.h - start.h == pytest.approx(steps * 10.0 * math.sin(math.radians(30.5)), abs=0.1)
        assert row.x_near - start.x_near == pytest.approx(
            steps * 10.0 * math.cos(math.radians(30.5)), abs=0.1
        )


@pytest.mark.parametrize(
    ("name", "end", "axles", "outboard"),
    [
        # 12.20 outboard of the rotor's inner face: peterverdone.com, Clearing up FM140
        ("flat-rear", "rear", ["135-qr", "142x12", "148x12"], 12.20),
        ("flat-front", "front", ["100-qr", "100x12", "100x15", "110x15"], 12.20),
        # 10 to 12, so 11 +-1: derived
        ("post", "rear", ["135-qr", "142x12", "148x12"], 11.0),
        ("post", "front", ["100-qr", "100x12", "100x15", "110x15"], 11.0),
    ],
)
def test_what_rests_on_the_rotor_agrees_with_the_axles(
    name: str, end: End, axles: list[str], outboard: float
) -> None:
    lateral = resolve(name, end, 160, 160).lateral.value
    for each in axles:
        system = axle(each)
        assert system.rotor is not None
        assert system.pocket is not None
        # Rear numbers are measured from the dropout's inner face, front ones from the hub end's seat.
        rotor = (system.pocket.value if end == "rear" else 0.0) - system.rotor.value
        assert lateral - rotor == pytest.approx(outboard, abs=1e-9)


# --- which row, which size


def test_the_native_size_is_a_tab_rows_own_or_else_the_disc() -> None:
    assert resolve("is-rear", "rear", None, 203).native == 140.0
    assert resolve("is-front", "front", None, 203).native == 160.0
    assert resolve("post", "front", None, 203).native == 203.0
    assert resolve("flat-front", "front", None, 140).native == 140.0
    assert resolve("post", "front", 160, 203).native == 160.0


def test_the_sizes_that_a_row_is_known_for() -> None:
    assert rows()["is-rear"].sizes == (140.0,)
    assert rows()["is-front"].sizes == (160.0,)
    assert rows()["post"].sizes == (140.0, 220.0)
    assert rows()["flat-rear"].sizes == (140.0, 160.0, 180.0)
    assert rows()["flat-front"].sizes == (140.0, 160.0)


KNOWN = ", ".join(rows())


@pytest.mark.parametrize(
    ("name", "end", "native", "rotor", "where", "why", "values"),
    [
        (
            "is-raer", "rear", None, 160, "mount.interface", "unknown",
            {"name": "'is-raer'", "hint": say("tell.did_you_mean", name="is-rear"), "known": KNOWN},
        ),
        (
            "zzz", "rear", None, 160, "mount.interface", "unknown",
            {"name": "'zzz'", "hint": "", "known": KNOWN},
        ),
        (
            "is-rear", "front", None, 160, "mount.interface", "other_end",
            {"name": "is-rear", "belongs": (named("rear"),), "end": "front", "other": "is-front"},
        ),
        (
            "flat-front", "rear", None, 160, "mount.interface", "other_end",
            {"name": "flat-front", "belongs": (named("front"),), "end": "rear", "other": "flat-rear"},
        ),
        (
            "is-rear", "rear", 160, 160, "mount.native", "no_size",
            {"name": "is-rear", "native": 160, "sizes": "140"},
        ),
        (
            "flat-rear", "rear", None, 203, "mount.rotor", "no_size",
            {"name": "flat-rear", "native": 203, "sizes": "140, 160, 180"},
        ),
        (
            "flat-front", "front", 180, 160, "mount.native", "no_size",
            {"name": "flat-front", "native": 180, "sizes": "140, 160"},
        ),
        (
            "post", "front", 230, 230, "mount.native", "outside",
            {"name": "post", "native": 230, "least": 140.0, "most": 220.0},
        ),
        (
            "post", "rear", None, 120, "mount.rotor", "outside",
            {"name": "post", "native": 120, "least": 140.0, "most": 220.0},
        ),
    ],
)  # fmt: skip
def test_a_mount_without_numbers_is_refused_by_what_is_missing(
    name: str, end: End, native: float | None, rotor: float, where: str, why: str, values: dict
) -> None:
    with pytest.raises(TableError) as caught:
        resolve(name, end, native, rotor)
    (problem,) = caught.value.problems
    assert (problem.where, problem.what.code) == (where, f"tables.interface.{why}")
    assert dict(problem.what.values) == values


@pytest.mark.parametrize(
    ("name", "end", "short"),
    [
        ("is-rear", "rear", "51 mm tab"),
        ("is-front", "front", "51 mm tab"),
        ("post", "rear", "post mount"),
        ("flat-rear", "rear", "flat mount"),
        ("flat-front", "front", "flat mount"),
    ],
)
def test_the_short_title_names_no_end(name: str, end: End, short: str) -> None:
    row = shipped(name, end)
    assert row.short == short
    assert row.title == (short if name == "post" else f"{short}, {end}")
