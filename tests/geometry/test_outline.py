"""The dropout's outline: what can be one, its metal, a tab drawn in it, and what it comes near to."""

import functools
import math
from typing import Any

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from shapely.geometry import LinearRing, LineString, Point, Polygon, box

from geometry.clearance.bodies import OwnCaliper, caliper, seat
from geometry.clearance.dropout_room import Plate
from geometry.clearance.judged import Clearance
from geometry.clearance.margins import clearances
from geometry.core.plane import along, polar, turned
from geometry.mount.foot import in_metal_along
from geometry.mount.outline import Outline, Round, fault, in_metal, laid, metal_round
from geometry.mount.placement import Placement, place
from geometry.survey.drawn_tab import DrawnTab, drawn_tab
from geometry.tables.axles import axle
from geometry.tables.interfaces import resolve

PLATE = Outline(
    ((-30.0, -20.0), (-5.0, -20.0), (-5.0, 2.0), (5.0, 2.0), (5.0, -20.0),
     (40.0, -20.0), (40.0, 90.0), (-30.0, 90.0)),
    (((10.0, 60.0), (20.0, 60.0), (20.0, 70.0), (10.0, 70.0)),),
    (Round((-15.0, 30.0), 6.2), Round((25.0, 20.0), 10.0)),
)  # fmt: skip
"""A plate with a slot 10 wide from below that ends above the axle, a square window and two holes."""


def metal(outline: Outline) -> Any:
    """Return an outline's metal as shapely has it, circles as polygons of many corners."""
    whole = Polygon(outline.edge, outline.windows)
    for hole in outline.holes:
        whole = whole.difference(Point(hole.centre).buffer(hole.diameter / 2.0, quad_segs=720))
    return whole


@functools.cache
def tab(direction: float = 118.0, end: str = "rear") -> Placement:
    face = resolve("is-rear", "rear", None, 160) if end == "rear" else resolve("is-front", "front", None, 160)
    system, host = ("135-qr", "seatstay") if end == "rear" else ("100-qr", "fork-leg")
    return place(face, axle(system), rotor=160, host=host, direction=direction if end == "rear" else 90.0)


def with_tab(placement: Placement, *, turn: float = 0.0, shift: tuple[float, float] = (0.0, 0.0)) -> Outline:
    """Return a large plate with the row's holes, turned about the axle, the far one shifted too."""
    near, far = (turned(hole.centre[:2], turn) for hole in placement.holes)
    far = (far[0] + shift[0], far[1] + shift[1])
    corners = tuple(polar(30.0 * i, 120.0) for i in range(12))
    return Outline(corners, (), (Round((0.0, 0.0), 12.0), Round(near, 6.2), Round(far, 6.2)))


# --- what can be a dropout


def test_a_sound_outline_has_no_fault() -> None:
    assert fault(PLATE) is None
    assert PLATE.size == (70.0, 110.0) and PLATE.bore is None and len(PLATE.drilled) == 2


SQUARE = ((-20.0, -20.0), (20.0, -20.0), (20.0, 20.0), (-20.0, 20.0))


@given(st.floats(0.0, 360.0))
def test_a_slot_opens_where_its_plate_is_turned_to(turn: float) -> None:
    found = laid(PLATE, turn=turn).slot
    assert found is not None and abs((found - 270.0 - turn + 180.0) % 360.0 - 180.0) < 1e-6
    assert Outline(SQUARE, (), (Round((0.0, 0.0), 12.0),)).slot is None


@pytest.mark.parametrize(
    ("outline", "code"),
    [
        (Outline(SQUARE[:2]), "outline.too_few"),
        (Outline(tuple((x / 25.4, y / 25.4) for x, y in SQUARE)), "outline.no_size"),
        (Outline(tuple((x * 25.4, y * 25.4) for x, y in SQUARE)), "outline.no_size"),
        (Outline(((-20.0, -20.0), (20.0, 20.0), (20.0, -20.0), (-20.0, 20.0))), "outline.crosses"),
        (Outline(SQUARE, (((5.0, 5.0), (30.0, 5.0), (5.0, 9.0)),)), "outline.lines_meet"),
        (Outline(SQUARE, (((25.0, 5.0), (30.0, 5.0), (25.0, 9.0)),)), "outline.window_out"),
        (Outline(SQUARE, (), (Round((18.0, 0.0), 6.0),)), "outline.hole_out"),
        (Outline(SQUARE, (), (Round((9.0, 0.0), 6.0), Round((12.0, 0.0), 6.0))), "outline.holes_meet"),
        (Outline(tuple((x + 40.0, y) for x, y in SQUARE)), "outline.axle_outside"),
        # Below a shallow notch in which no axle sits more than half of all ways lead out.
        (Outline(((-20, 2), (-3, 2), (-3, 3), (3, 3), (3, 2), (20, 2), (20, 30), (-20, 30))),
         "outline.axle_outside"),
        (Outline(tuple(polar(360.0 * i / 3001, 30.0) for i in range(3001))), "outline.too_many"),
    ],
)  # fmt: skip
def test_what_cannot_be_a_dropout_says_why(outline: Outline, code: str) -> None:
    found = fault(outline)
    assert found is not None and found.code == code


def test_a_cut_out_beside_its_plate_is_told_by_its_first_corner() -> None:
    found = fault(Outline(SQUARE, (((25.0, 5.0), (30.0, 6.0), (25.0, 9.0)),)))
    assert found is not None and (found["x"], found["y"]) == (25.0, 5.0)


@given(st.floats(0.0, 360.0), st.booleans())
def test_turned_or_mirrored_it_is_the_same_dropout(turn: float, mirrored: bool) -> None:
    moved = laid(PLATE, mirrored=mirrored, turn=turn)
    assert fault(moved) is None
    for before, after in zip(PLATE.holes, moved.holes, strict=True):
        assert metal_round(moved, after)[0] == pytest.approx(metal_round(PLATE, before)[0], abs=1e-9)
    again = laid(laid(moved, turn=-turn), mirrored=mirrored)
    assert all(math.dist(a, b) < 1e-9 for a, b in zip(again.edge, PLATE.edge, strict=True))


def test_a_turn_is_anticlockwise_and_comes_after_the_mirror() -> None:
    one = laid(Outline(((30.0, 1.0), (1.0, 20.0), (-10.0, -10.0))), mirrored=True, turn=90.0)
    # (30, 1) mirrored is (-30, 1); a quarter turn on it is (-1, -30).
    assert one.edge[0] == pytest.approx((-1.0, -30.0))


# --- metal


@given(st.tuples(st.floats(-35, 45), st.floats(-25, 95)))
def test_metal_is_where_shapely_has_it(point: tuple[float, float]) -> None:
    theirs = metal(PLATE)
    if theirs.boundary.distance(Point(point)) > 1e-3:
        assert in_metal(PLATE, point) == theirs.contains(Point(point))


@given(st.sampled_from(PLATE.holes), st.floats(-1.5, 1.5), st.floats(-20.0, 90.0), st.floats(0.0, 360.0))
def test_the_metal_along_a_line_is_that_of_shapely(
    hole: Round, off: float, before: float, turn: float
) -> None:
    """By a hole, so many of its radii off its middle, and through edge and cut-out: as much of it in all."""
    way = polar(turn)
    start = along(hole.centre, (-before, way), (off * hole.diameter / 2.0, turned(way, 90.0)))
    line, theirs = LineString([start, along(start, (300.0, way))]), metal(PLATE)
    # A line that runs along an edge lies in metal by one reckoning and not by the other.
    assume(theirs.boundary.intersection(line).length == 0.0)
    whole = theirs.intersection(line)
    found = in_metal_along(PLATE, start, way)
    assert sum(end - begin for begin, end in found) == pytest.approx(whole.length, abs=0.02)
    for begin, end in found:
        assert in_metal(PLATE, along(start, ((begin + end) / 2.0, way)))


@pytest.mark.parametrize(("off", "is_bore"), [(0.0, True), (2.9, True), (5.9, True), (6.1, False)])
def test_a_bore_is_the_hole_that_the_axle_lies_in_however_far_off_its_middle(
    off: float, is_bore: bool
) -> None:
    hole = Round(polar(40.0, off), 12.0)
    plate = Outline(SQUARE, (), (hole, Round((15.0, 15.0), 5.0)))
    assert (plate.bore is hole) == is_bore
    assert len(plate.drilled) == (1 if is_bore else 2)


@given(st.tuples(st.floats(-28, 38), st.floats(5, 88)), st.floats(2.0, 12.0))
def test_the_metal_beside_a_hole_is_that_of_shapely(centre: tuple[float, float], diameter: float) -> None:
    theirs = metal(PLATE)
    if not theirs.contains(Point(centre)):
        return
    beside, at = metal_round(PLATE, Round(centre, diameter))
    wanted = theirs.boundary.distance(Point(centre)) - diameter / 2.0
    assert beside == pytest.approx(wanted, abs=1e-3)
    assert math.dist(centre, at) == pytest.approx(beside + diameter / 2.0, abs=1e-9)


def test_the_metal_beside_a_drawn_hole_by_hand() -> None:
    # The hole of 6.2 at x = -15 in a plate that ends at -30; the slot's end corner is 31.6 away.
    assert metal_round(PLATE, PLATE.holes[0])[0] == pytest.approx(15.0 - 3.1)
    # The hole of 10 at (25, 20), 15 from the edge at x = 40.
    assert metal_round(PLATE, PLATE.holes[1]) == (pytest.approx(10.0), (40.0, 20.0))
    # A hole of 4 at (25, 32): 12 from the middle of the one of 10 below it, whose rim begins at y = 25.
    assert metal_round(PLATE, Round((25.0, 32.0), 4.0)) == (pytest.approx(5.0), pytest.approx((25.0, 25.0)))
    # One of 6.2 at (-6, 42): off the hole at (-15, 30) by 9 and 12, so 15; its rim is 3.1 of that away.
    beside, at = metal_round(PLATE, Round((-6.0, 42.0), 6.2))
    assert (beside, at) == (pytest.approx(15.0 - 6.2), pytest.approx((-15.0 + 0.6 * 3.1, 30.0 + 0.8 * 3.1)))


# --- a tab that is part of the dropout


def judged(placement: Placement, outline: Outline) -> DrawnTab:
    found = drawn_tab(placement, outline)
    assert found is not None
    return found


@pytest.mark.parametrize("end", ["rear", "front"])
@given(turn=st.floats(-30.0, 30.0))
def test_radii_and_spacing_fit_whatever_way_the_dropout_is_turned(end: str, turn: float) -> None:
    found = judged(tab(end=end), with_tab(tab(end=end), turn=turn))
    assert found.fit == "fits" and not found.mirrored
    assert found.turn == pytest.approx(turn, abs=1e-9)
    assert max(abs(each.by) for each in found.errors) < 1e-9
    # A chord of a turn: twice the radius by the sine of half of it.
    wanted = 2.0 * tab(end=end).interface.radii[1] * abs(math.sin(math.radians(turn / 2.0)))
    assert found.holes[1].off == pytest.approx(wanted, abs=1e-9)


@pytest.mark.parametrize(
    ("out", "fit"), [(0.09, "fits"), (0.11, "off"), (0.29, "off"), (0.31, "misfit"), (5.0, "misfit")]
)
def test_a_far_hole_too_far_out_is_judged_by_the_rows_limit_and_the_screws_play(out: float, fit: str) -> None:
    """Limit 0.1 a radius (the row's, B); a screw of 6 moves 0.2 in a hole of 6.2."""
    placement = tab()
    x, y = placement.holes[1].centre[:2]
    size = math.hypot(x, y)
    found = judged(placement, with_tab(placement, shift=(out * x / size, out * y / size)))
    assert found.fit == fit
    assert {each.key: each.by for each in found.errors}["far"] == pytest.approx(out)
    assert found.play == pytest.approx(0.2)


def test_holes_that_fit_from_the_other_side_alone_are_told_so() -> None:
    found = judged(tab(), laid(with_tab(tab()), mirrored=True))
    assert found.mirrored
    assert not judged(tab(), with_tab(tab())).mirrored


def test_a_racks_eye_is_not_taken_for_the_mounts_hole_and_posts_have_none() -> None:
    assert drawn_tab(tab(), PLATE) is None
    post = place(
        resolve("post", "rear", None, 160), axle("142x12"), rotor=160, host="chainstay", direction=180.0
    )
    assert drawn_tab(post, with_tab(tab())) is None


# --- what the plate comes near to


def near_to(
    placement: Placement, outline: Outline, *, sure: bool = True, **more: Any
) -> dict[str, Clearance]:
    plate = Plate(outline, sure)
    found = clearances(placement, {}, wanted=(), plate=plate, **more)
    return {each.key: each for each in found if each.kind == "dropout"}


def test_the_disc_to_the_dropout_by_arithmetic() -> None:
    """Disc's outer face at -13.45 (15.25 less 1.8), heads 3 high; the plate's inner face at 0."""
    found = near_to(tab(), PLATE)
    assert found["disc 160 to dropout"].distance == pytest.approx(13.45)
    assert found["disc's screws to dropout"].distance == pytest.approx(10.45)
    assert found["disc 160 to dropout"].state == "ok"
    # A plate far out from the axle clears the screws' circle of 52.5 sideways too.
    ring = Outline(tuple(polar(10.0 * i, 60.0) for i in range(36)), (), (Round((0.0, 0.0), 100.0),))
    away = near_to(tab(), ring)["disc's screws to dropout"]
    assert away.distance == pytest.approx(math.hypot(10.45, 50.0 - 26.25))
    # The places lie where they say: one on the bore's edge at the face, one on the screws' circle.
    assert away.first is not None and away.second is not None
    assert (math.hypot(*away.second[:2]), away.second[2]) == (pytest.approx(50.0), 0.0)
    assert math.dist(away.first, away.second) == pytest.approx(away.distance)


@given(st.floats(-30.0, 30.0), st.floats(-40.0, 60.0), st.floats(0.0, 360.0))
def test_the_caliper_to_the_dropout_is_as_shapely_has_it(aside: float, up: float, turn: float) -> None:
    """A post's caliper of known size reaches past the plate's face, so that the side view alone counts."""
    face = resolve("post", "rear", None, 160)
    placement = place(face, axle("142x12"), rotor=160, host="chainstay", direction=180.0)
    own = OwnCaliper(60.0, 30.0, 17.0, 20.0, depth=12.0)
    plate = laid(
        Outline(((-15.0, -15.0), (15.0, -15.0), (15.0, 15.0), (0.0, 40.0), (-15.0, 15.0))), turn=turn
    )
    edge = tuple((x + 0.2 * aside, y + 0.1 * up) for x, y in plate.edge)
    found = near_to(placement, Outline(edge), own=own)["caliper to dropout"]
    at = seat(placement, caliper(placement, own))
    middle = along((0.0, 0.0), (at.along, placement.t), (at.up + 9.0, placement.n))
    room = box(middle[0] - 30.0, middle[1] - 21.0, middle[0] + 30.0, middle[1] + 21.0)
    assert found.distance == pytest.approx(room.distance(Polygon(edge)), abs=1e-9)


def test_a_plate_that_goes_all_round_under_the_caliper_meets_it() -> None:
    """Own arithmetic: a caliper of 12 by 12, and a plate 1 larger all round, or moved to 6 off it."""
    face = resolve("post", "rear", None, 160)
    placement = place(face, axle("142x12"), rotor=160, host="chainstay", direction=180.0)
    own = OwnCaliper(12.0, 8.0, 17.0, 20.0, depth=4.0)
    at = seat(placement, caliper(placement, own))
    for aside, wanted in ((0.0, 0.0), (19.0, 6.0), (-19.0, 6.0)):
        ring = [(at.along + aside + u, at.up + v) for u, v in ((-7, -5), (7, -5), (7, 9), (-7, 9))]
        plate = Outline(tuple(along((0.0, 0.0), (u, placement.t), (v, placement.n)) for u, v in ring))
        found = near_to(placement, plate, own=own)["caliper to dropout"]
        assert found.distance == pytest.approx(wanted, abs=1e-9)


def test_the_tab_on_which_a_caliper_is_bolted_is_not_in_its_way_but_other_metal_is() -> None:
    placement = tab()
    near, far = (hole.centre[:2] for hole in placement.holes)
    strip = Polygon([*Point(near).buffer(10).union(Point(far).buffer(10)).convex_hull.exterior.coords])
    lug = strip.union(Point(0, 0).buffer(20)).union(Polygon([(0, 0), near, (0, 20)]).buffer(4))
    found = near_to(placement, Outline(tuple(lug.exterior.coords[:-1])))["caliper to dropout"]
    assert found.distance is not None and found.distance > 0.0
    wide = lug.union(Point(far).buffer(30))
    assert near_to(placement, Outline(tuple(wide.exterior.coords[:-1])))["caliper to dropout"].state == "warn"


@given(st.floats(-12.0, 30.0), st.floats(-30.0, 30.0), st.floats(5.0, 25.0))
def test_an_edge_is_the_tabs_as_far_as_three_holes_from_its_line_to_half_a_step(
    past: float, lean: float, aside: float
) -> None:
    """Shapely cuts the edge off 18.6 from the line through the holes; pieces of 0.5 are told by their middle.

    The plate is a large one whose straight edge, leaning, runs by the caliper, which is small.
    """
    placement = tab()
    own = OwnCaliper(12.0, 6.0, 17.0, 20.0, depth=6.0, offset=aside)
    near, far = (hole.centre[:2] for hole in placement.holes)
    at = seat(placement, caliper(placement, own))
    corners = [(at.along + aside + u, at.up + v) for u, v in ((-6, -6), (6, -6), (6, 6), (-6, 6))]
    room = Polygon([along((0.0, 0.0), (u, placement.t), (v, placement.n)) for u, v in corners])
    slope = math.tan(math.radians(lean))
    ends = ((-90.0, past - 90.0 * slope), (110.0, past + 110.0 * slope), (110.0, -150.0), (-90.0, -150.0))
    edge = [along(near, (u, placement.t), (v, placement.n)) for u, v in ends]
    found = near_to(placement, Outline(tuple(edge)), own=own)["caliper to dropout"]
    line = LineString([near, far])
    lines = LinearRing(edge)
    most = lines.difference(line.buffer(18.6 + 0.26, quad_segs=180)).distance(room)
    least = lines.difference(line.buffer(18.6 - 0.26, quad_segs=180)).distance(room)
    assert found.distance is not None and least - 0.01 <= found.distance <= most + 0.01


def test_which_way_it_stands_unsaid_leaves_the_caliper_unknown_and_not_the_disc() -> None:
    found = near_to(tab(), PLATE, sure=False)
    assert found["caliper to dropout"].state == "unknown"
    assert found["disc 160 to dropout"].state == "ok"
    turning = near_to(tab(), PLATE, turning=True)
    assert list(turning) == ["caliper to dropout"]
