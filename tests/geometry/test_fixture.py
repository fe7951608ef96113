"""Fixtures of random placements: webs, edges, collars, drill tables and what a hand bends."""

import itertools
import math
import tomllib
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from geometry.core.errors import GeometryError, TableError
from geometry.core.say import Say
from geometry.fixture.belt import Bend, polygon
from geometry.fixture.fixture import Fixture, Means, fixture
from geometry.fixture.numbers import bent_arm, cantilever, plate_metal, reach
from geometry.mount.placement import Placement, host_direction, place
from geometry.tables.axles import axle
from geometry.tables.interfaces import OwnRow, resolve
from geometry.tubes.tube import Station, Tube
from sheets.words.fixture import checking, giving, heat, holding, making, table, using, warnings

TABLE = tomllib.loads(
    (Path(__file__).parents[2] / "geometry" / "fixture" / "fixture.toml").read_text(encoding="utf-8")
)
WEB, EDGE, RING, AIR = (TABLE["number"][key]["value"] for key in ("web", "edge", "ring", "air"))
MEANS = Means("outside", 19.05, 8.0, dropout_thickness=10.0)
MOUNTS = [
    ("is-rear", "rear", 140.0), ("is-front", "front", 160.0), ("post", "rear", 160.0),
    ("post", "front", 203.0), ("flat-rear", "rear", 140.0), ("flat-rear", "rear", 180.0),
    ("flat-front", "front", 160.0),
]  # fmt: skip
every_mount = pytest.mark.parametrize(("name", "end", "native"), MOUNTS)


def placed(name: str, end: str, native: float, tilt: float = 0.0, own: OwnRow | None = None) -> Placement:
    """Return a placement on a common axle."""
    host = "chainstay" if end == "rear" else "fork-leg"
    form = resolve(name, end, native, native, own)  # type: ignore[arg-type]
    system = axle("142x12" if end == "rear" else "100x15")
    return place(form, system, rotor=native, host=host, direction=host_direction(host, None), tilt=tilt)


@st.composite
def any_fixture(draw: st.DrawFn) -> tuple[Placement, Fixture]:
    """Return a placement, its numbers the job's own, and its fixture."""
    family, end = draw(
        st.sampled_from([("tab", "rear"), ("post", "rear"), ("flat", "front"), ("flat", "rear")])
    )
    name = {"tab": "is-rear", "post": "post", "flat": "flat-front" if end == "front" else "flat-rear"}[family]
    h, x = draw(st.floats(24.0, 90.0)), draw(st.floats(-10.0, 40.0))
    spacing = draw(st.floats(14.0, 80.0))
    row = OwnRow(name, "own", line=(h, x, x + spacing), lateral=draw(st.floats(-6.0, 8.0)), family=family)
    where = placed(name, end, 140.0, draw(st.floats(-30.0, 30.0)), replace(row, native=140.0))
    means = Means(
        draw(st.sampled_from(["inside", "outside"])),
        draw(st.sampled_from([12.0, 19.05, 25.4])),
        draw(st.floats(4.0, 15.0)),
        draw(st.sampled_from(["steel", "aluminium", "brass"])),
        draw(st.floats(4.0, 14.0)),
        draw(st.floats(5.0, 8.0) if family == "tab" else st.floats(10.0, 18.0)),
        draw(st.sampled_from([0.0, 0.5])),
    )
    try:
        return where, fixture(where, means)
    except GeometryError as error:
        # Only too little metal may be refused: a hole near a stout axle, or a far bolt line.
        (problem,) = error.problems
        assert isinstance(problem.what, Say) and problem.what.code in (
            "fixture.thin_between",
            "fixture.no_bar",
        )
        return where, fixture(placed("is-rear", "rear", 140.0), replace(MEANS, face="inside"))


@given(any_fixture())
def test_webs_and_edges_hold_and_no_hole_lies_outside(made: tuple[Placement, Fixture]) -> None:
    _, fix = made
    for part in fix.parts:
        body = shapely.Polygon(polygon(part.outline, 0.2))
        assert body.is_valid
        blanks = []
        for hole in part.holes:
            half = 0.0 if hole.length is None else (hole.length - hole.diameter) / 2.0
            ends = [(hole.along, hole.up - half), (hole.along, hole.up + half)]
            blank = shapely.LineString(ends).buffer(hole.diameter / 2.0) if half else None
            blanks.append(blank or shapely.Point(ends[0]).buffer(hole.diameter / 2.0, quad_segs=90))
            assert body.contains(blanks[-1])
            away = body.exterior.distance(shapely.LineString(ends) if half else shapely.Point(ends[0]))
            if hole.name == "axle":
                assert away >= hole.diameter / 2.0 + RING - 0.01
            elif not half:
                assert away >= max(EDGE * hole.diameter, hole.diameter / 2.0 + WEB) - 0.01
            else:
                assert away >= hole.diameter / 2.0 + WEB - 0.01
        for one, two in itertools.combinations(blanks, 2):
            assert one.distance(two) >= WEB - 0.01


@given(any_fixture())
def test_cross_holes_of_a_bar_miss_the_holes_for_the_mount(made: tuple[Placement, Fixture]) -> None:
    _, fix = made
    if fix.bar is None:
        return
    _, top, side = fix.parts
    for one, two in itertools.product(top.holes, side.holes):
        assert abs(one.along - two.along) - (one.diameter + two.diameter) / 2.0 >= WEB - 1e-9
    # And none is further from the next than the web and a rounding up to halves ask for: bars stay short.
    shared = [each for each in fix.side_plate.holes if each.pair]
    assert len(shared) == 4
    for one in shared:
        gaps = [
            abs(one.along - two.along) - (one.diameter + two.diameter) / 2.0
            for two in (*shared, *top.holes)
            if two is not one
        ]
        assert WEB - 1e-9 <= min(gaps) < WEB + 0.5


@given(any_fixture())
def test_holes_lie_where_the_placement_says(made: tuple[Placement, Fixture]) -> None:
    where, fix = made
    if where.interface.family != fix.family:
        return
    t, n = np.array(where.t), np.array(where.n)
    holes = fix.parts[0 if fix.bar is None else 1].holes
    for hole in where.holes:
        found = next(each for each in holes if each.name == hole.name)
        assert found.along == pytest.approx(float(np.array(hole.centre[:2]) @ t), abs=1e-9)
        if fix.bar is None:
            assert found.up == pytest.approx(float(np.array(hole.centre[:2]) @ n), abs=1e-9)
            assert found.radius == pytest.approx(math.hypot(*hole.centre[:2]), abs=1e-9)
        else:
            assert found.up == pytest.approx(hole.centre[2], abs=1e-9)
            # The bar's underside is where the raw face is, and its plate side on the plate.
            assert fix.level == pytest.approx(float(np.array(hole.centre[:2]) @ n) + fix.facing, abs=1e-9)
            # Its screws and dowels lie at half of its height, stock and all, in plate and bar alike.
            shared = [each.up for part in fix.parts for each in part.holes if each.pair]
            assert shared == pytest.approx([fix.level + fix.bar[1] / 2.0] * 8, abs=1e-9)
            assert abs(hole.centre[2] - fix.surface_z) == pytest.approx(fix.line_in, abs=1e-9)
    # The mount passes the plate: nothing of it reaches the plate's surface.
    if fix.bar is not None:
        assert fix.line_in is not None
        assert fix.line_in >= reach(holes[0].diameter) - 1e-9 or holes[0].length is not None
    else:
        assert fix.spacer is not None and fix.spacer >= -1e-9


@every_mount
def test_the_drill_table_is_the_placements(name: str, end: str, native: float) -> None:
    """Recomputed from the placement's points alone: along t, along n, straight from the axle, by angle."""
    where = placed(name, end, native, 7.0)
    fix = fixture(where, MEANS)
    heads, rows = table(fix.side_plate)
    assert heads == ("hole", "along", "up", "from edge", "radius", "angle", "make")
    by_name = {row[0]: row for row in rows}
    for row in rows:
        along, up = float(row[1]), float(row[2])
        assert float(row[4]) == pytest.approx(math.hypot(along, up), abs=0.011)
        if row[0] != "axle":
            turn = math.radians(float(row[5].rstrip("°")))
            assert (float(row[4]) * math.cos(turn), float(row[4]) * math.sin(turn)) == pytest.approx(
                (along, up), abs=0.02
            )
    top = max(point[1] for point in polygon(fix.side_plate.outline, 0.5))
    for row in rows:
        assert float(row[3]) == pytest.approx(top - float(row[2]), abs=0.011)
    if fix.bar is None:
        for hole in where.holes:
            x, y, _ = hole.centre
            assert float(by_name[hole.name][1]) == pytest.approx(x * where.t[0] + y * where.t[1], abs=0.0051)
            assert float(by_name[hole.name][2]) == pytest.approx(x * where.n[0] + y * where.n[1], abs=0.0051)
        return
    # Screws and dowels lie at half of the bar's height above the face.
    face = sum(a * b for a, b in zip(where.holes[0].centre[:2], where.n, strict=True))
    for row in rows[1:-1]:
        assert float(row[2]) == pytest.approx(face + 10.0, abs=0.0051)
    for part in fix.parts[1:]:
        end_at = min(point[0] for point in polygon(part.outline))
        for row, hole in zip(table(part)[1], part.holes, strict=True):
            assert float(row[1]) == pytest.approx(hole.along - end_at, abs=0.0051)
    assert {hole.name for hole in fix.parts[2].holes} == {row[0] for row in rows[1:-1]}
    assert all(hole.pair for hole in fix.parts[2].holes)
    assert "as a pair" in " ".join(making(fix))


def test_a_rear_tabs_table_is_that_of_the_published_radii() -> None:
    """39.9 and 78.1 from the axle, 51.0 apart (a dimensioned drawing of 2014, as in interfaces.toml)."""
    rows = {
        row[0]: row
        for row in table(fixture(placed("is-rear", "rear", 140.0), replace(MEANS, face="inside")).side_plate)[
            1
        ]
    }
    assert (float(rows["near"][4]), float(rows["far"][4])) == (39.9, 78.1)
    assert float(rows["far"][1]) - float(rows["near"][1]) == pytest.approx(51.0, abs=1e-9)
    # The radii subtend 35.23 degrees: own arithmetic, law of cosines.
    cosine = (39.9**2 + 78.1**2 - 51.0**2) / (2.0 * 39.9 * 78.1)
    turn = float(rows["near"][5].rstrip("°")) - float(rows["far"][5].rstrip("°"))
    assert turn == pytest.approx(math.degrees(math.acos(cosine)), abs=0.011)


def test_flats_keep_their_slots_square_to_the_plate_and_cannot_turn() -> None:
    fix = fixture(placed("flat-rear", "rear", 160.0), MEANS)
    slots = [hole for hole in fix.parts[1].holes if hole.length is not None]
    assert len(slots) == 2 and {hole.up for hole in slots} == {slots[0].up}
    assert fix.key_rod == "M8"
    # The rod fills the bar's slot, 8 with 0.1 of play; the boss has the row's own, 8.5.
    assert [(hole.diameter, hole.length) for hole in slots] == [(5.5, 8.1)] * 2
    assert "rounded until it enters" in holding(fix)
    front = fixture(placed("flat-front", "front", 160.0), replace(MEANS, face="inside"))
    assert front.key_rod == "" and "may turn on its screw" in holding(front)


def test_a_tube_in_the_plates_room_asks_for_a_collar() -> None:
    where = placed("is-rear", "rear", 140.0)
    inside = replace(MEANS, face="inside")

    def tube(outset: float, start: float) -> Tube:
        return Tube(
            "chainstay", 180.0, (Station(start, 16.0, 16.0), Station(300.0, 16.0, 16.0)), outset=outset
        )

    # A round tube of 16 whose middle lies on the inner face stands 8 into the wheel's side; 1 more is air.
    assert fixture(where, inside, [tube(0.0, 5.0)]).collar == 8.0 + AIR
    # What nothing dictates comes in halves, rounded up: 7.4 and 1 of air make 8.5.
    assert AIR == 1.0 and fixture(where, inside, [tube(0.6, 5.0)]).collar == 8.5
    assert fixture(where, inside, [tube(8.0, 5.0)]).collar == 0.0
    # Where the plate does not cover the tube it may stand proud.
    assert fixture(where, inside, [tube(0.0, 60.0)]).collar == 0.0
    collared = fixture(where, inside, [tube(0.0, 5.0)])
    assert collared.spacer == collared.collar and collared.surface_z == -collared.collar
    assert "collar 9 long" in " ".join(using(collared)) and "Spacers 9.00" in " ".join(using(collared))


def test_a_tube_that_the_plate_covers_in_part_asks_for_a_collar_by_its_flank() -> None:
    # The ring round the axle ends 19.525 below it: 19.05 / 2 and 10 (own judgement, fixture.toml). A tube of
    # 16 whose middle lies 22 below is covered from 2.5 above its middle on, but not its crown; at 4 it stands
    # sqrt(64 - 16) = 6.93 out, and with 1 of air that makes 8 (own arithmetic; flanks at half the radius).
    where, inside = placed("is-rear", "rear", 140.0), replace(MEANS, face="inside")
    for below, collar in ((22.0, 8.0), (-22.0, 9.0), (26.0, 0.0)):
        tube = Tube("chainstay", 180.0, (Station(0.0, 16.0, 16.0), Station(300.0, 16.0, 16.0)), offset=-below)
        assert fixture(where, inside, [tube]).collar == collar, below


def test_a_relief_is_drilled_where_the_outline_is_hollow() -> None:
    for name, end, native in MOUNTS:
        plate = fixture(placed(name, end, native), MEANS).side_plate
        hollow = [each for each in plate.outline if isinstance(each, Bend) and each.sweep < 0.0]
        found = [] if plate.relief is None else [plate.relief]
        assert [(each.along, each.up, each.diameter) for each in found] == [
            (*each.centre, pytest.approx(2.0 * each.radius)) for each in hollow
        ]
        assert hollow or name != "is-rear"


def test_torch_room_is_measured_from_the_foot_of_each_hole() -> None:
    where = placed("post", "rear", 160.0)
    tube = Tube("chainstay", 180.0, (Station(0.0, 18.0, 14.0), Station(300.0, 18.0, 14.0)), outset=-4.0)
    fix = fixture(where, MEANS, [tube])
    body = shapely.Polygon(polygon(fix.side_plate.outline, 0.2))
    for seam, x in zip(fix.seams, (6.8, 81.0), strict=True):
        assert seam.place == pytest.approx((x, 9.0), abs=0.01)
        assert seam.to_plate == pytest.approx(body.distance(shapely.Point(x, 9.0)), abs=0.01)
        assert seam.to_bar == pytest.approx(55.9 - 9.0, abs=0.01)
    assert any("Torch room" in each for each in heat(fix)) and any("magnet" in each for each in heat(fix))


@pytest.mark.parametrize(("name", "end", "native"), MOUNTS[2:])
def test_a_bar_lies_flush_with_its_plate(name: str, end: str, native: float) -> None:
    plate = fixture(placed(name, end, native), MEANS).parts[0]
    top = shapely.Polygon(polygon(plate.outline, 0.02)).bounds[3]
    assert top - plate.holes[-1].up == pytest.approx(TABLE["number"]["bar_height"]["value"] / 2.0)
    # Screws and dowels are counted along the bar.
    shared = [hole.name for hole in plate.holes if hole.pair]
    assert sorted(shared) == ["dowel 1", "dowel 2", "screw 1", "screw 2"]
    assert [each for each in shared if each.endswith("1")] + [
        each for each in shared if each.endswith("2")
    ] == shared


def test_a_web_as_thick_as_is_asked_for_is_enough() -> None:
    # A hole of 6 beside a bore of 12 leaves 5 (own judgement, fixture.toml) at a radius of 14, by hand.
    means = replace(MEANS, face="inside", bore=12.0)
    for h, enough in ((14.0, True), (13.999, False)):
        where = placed("is-rear", "rear", 140.0, own=OwnRow("is-rear", "own", line=(h, 0.0, 51.0), hole=6.0))
        if enough:
            assert fixture(where, means).side_plate.holes[1].radius == 14.0
            continue
        with pytest.raises(GeometryError, match=r"fixture\.thin_between"):
            fixture(where, means)


def test_a_straight_arm_is_the_handbooks_cantilever() -> None:
    """F L^3 / 3 E I, end load, from the beam tables of Machinery's Handbook (remembered)."""
    assert cantilever(50.0, 80.0, 205000.0, 20.0, 8.0) == pytest.approx(
        50.0 * 80.0**3 / (3.0 * 205000.0 * 20.0 * 8.0**3 / 12.0), rel=1e-12
    )
    for share in (0.2, 0.5, 0.9):
        arms = (80.0 * share, 80.0 * (1.0 - share))
        straight = bent_arm(50.0, arms, 0.0, 205000.0, (20.0, 20.0), 8.0)
        assert straight == pytest.approx(cantilever(50.0, 80.0, 205000.0, 20.0, 8.0), rel=1e-12)


@given(st.floats(20.0, 90.0), st.floats(10.0, 90.0), st.floats(0.0, 180.0))
def test_a_bent_arm_gives_what_its_moments_add_up_to(first: float, second: float, turn: float) -> None:
    """Virtual work summed over thin slices, bending and twist apart (own arithmetic, no source)."""
    stiffness, wide, thick, force = 70000.0, 20.0, 8.0, 50.0
    bend = stiffness * wide * thick**3 / 12.0
    twist = stiffness / 2.6 * wide * thick**3 / 3.0 * (1.0 - 0.63 * thick / wide)
    elbow = np.array([first, 0.0])
    tip = elbow + second * np.array([math.cos(math.radians(turn)), math.sin(math.radians(turn))])
    total = 0.0
    for start, end in ((np.zeros(2), elbow), (elbow, tip)):
        long = float(np.hypot(*(end - start)))
        run = (end - start) / long
        at = start + ((np.arange(4000) + 0.5) / 4000.0 * long)[:, None] * run
        lever = tip - at
        bending, twisting = lever @ run, lever @ np.array([-run[1], run[0]])
        total += float((bending**2 / bend + twisting**2 / twist).sum()) * long / 4000.0 * force
    assert bent_arm(force, (first, second), turn, stiffness, (wide, wide), thick) == pytest.approx(
        total, rel=1e-4
    )


def test_an_arm_narrower_than_its_plate_is_thick_twists_by_its_shorter_side() -> None:
    """Own arithmetic with the handbook's (remembered) 12 * 10^3 (1 - 0.63 * 10 / 12) / 3 = 1900 mm4."""
    bending = 50.0**3 / (3.0 * 200000.0 * 10.0 * 144.0) + 40.0**3 / (3.0 * 200000.0 * 20.0 * 144.0)
    twisting = 40.0**2 * 50.0 / (200000.0 / 2.6 * 1900.0)
    given_ = bent_arm(30.0, (50.0, 40.0), 90.0, 200000.0, (10.0, 20.0), 12.0)
    assert given_ == pytest.approx(30.0 * (bending + twisting), rel=1e-9)


def test_a_thin_plate_is_warned_of_and_the_thickness_named_is_enough() -> None:
    where = placed("post", "front", 203.0)
    thin = fixture(where, replace(MEANS, plate=4.0))
    (said,) = warnings(thin)
    assert "4 thick" in said and "50 N" in said
    enough = float(said.removesuffix(" mm.").rpartition(" ")[2])
    assert warnings(fixture(where, replace(MEANS, plate=enough))) == ()
    assert len(warnings(fixture(where, replace(MEANS, plate=enough - 1.0)))) == 1
    # Stiffness is in the metal: the amounts are as the moduli, 205 to 70 (remembered handbook values).
    soft = fixture(where, replace(MEANS, plate=4.0, metal="aluminium"))
    assert soft.gives[0].amount / thin.gives[0].amount == pytest.approx(205.0 / 70.0)
    assert all("N at its far end" in giving(each) for each in thin.gives)


def test_what_is_missing_or_cannot_be_made_is_refused_by_its_key() -> None:
    where = placed("post", "rear", 160.0)
    with pytest.raises(GeometryError, match=r"dropout\.thickness: fixture\.no_thickness"):
        fixture(where, replace(MEANS, dropout_thickness=None))
    with pytest.raises(GeometryError, match=r"bench\.fixture: fixture\.thin_between"):
        own = OwnRow("is-rear", "own", line=(14.0, 10.0, 61.0))
        fixture(placed("is-rear", "rear", 140.0, own=own), replace(MEANS, face="inside"))
    with pytest.raises(GeometryError, match=r"bench\.plate_face: fixture\.no_bar\(.*most=60"):
        fixture(
            placed("post", "rear", 160.0, own=OwnRow("post", "own", line=(55.9, 6.8, 81.0), lateral=-50.0)),
            MEANS,
        )
    with pytest.raises(TableError, match=r"did_you_mean\(name='brass'\)"):
        plate_metal("bras")


def test_the_words_have_the_placements_numbers() -> None:
    fix = fixture(placed("post", "rear", 160.0), replace(MEANS, facing=0.5, plate=None))
    said = " ".join((*making(fix), *checking(fix)))
    assert "8 is ours" in said and fix.assumed
    # 55.9 from the table's formula (peterverdone.com), 0.5 for facing; bolt line 10 + 4.25 from outside.
    assert "underside 56.40 above the axle" in said and "14.25 from the plate" in said
    assert f"up to the bar's underside {56.4 - 19.05 / 2.0:.2f}" in said
