"""Curves where bosses and braces meet a tube, against distances worked out another way.

Ranges: bosses and braces are 5 to 25 mm across and set at 35 degrees or more to the tube (common practice, no
source, with room to spare).
"""

import math

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from geometry.core.errors import GeometryError
from geometry.core.findings import texts
from geometry.core.say import Say, named, say
from geometry.tubes.crossing import RoundCrossing, between, cylinder, cylinder_through, tube_against
from geometry.tubes.development import runs
from geometry.tubes.tube import Tube, centre
from tests.geometry.apart import (
    MISS,
    PLAIN,
    Vector,
    line_at,
    off_line,
    off_polyline,
    off_tube,
    own_axes,
    round_stations,
    tubes,
    with_middles,
)

STAY = Tube("chainstay", 180.0, round_stations((0.0, 22.0), (300.0, 16.0)), outset=-5.0, splay=5.0)
UP = (0.0, 1.0, 0.0)
DOWN = (0.0, -1.0, 0.0)
ON_CHAINSTAY = say("tubes.on", body=say("tubes.boss"), tube="chainstay")
NEAR_BOSS = say("wrap.body", hole=named("near"))


@st.composite
def _bosses(draw: st.DrawFn, tube: Tube) -> tuple[Vector, Vector, float]:
    """Return a boss's point, direction and radius, its axis within the tube's widest size of its middle."""
    n, w, run = own_axes(tube)
    angle, lean = math.radians(draw(st.floats(0.0, 360.0))), math.radians(draw(st.floats(-55.0, 55.0)))
    square = math.cos(angle) * n + math.sin(angle) * w
    direction = math.cos(lean) * square + math.sin(lean) * run
    aside = draw(st.floats(-20.0, 20.0)) * np.cross(run, square)
    point = line_at(tube, draw(st.floats(100.0, 150.0))) + aside - draw(st.floats(-20.0, 60.0)) * direction
    return point, draw(st.floats(0.5, 3.0)) * direction, draw(st.floats(2.5, 12.5))


def _drawn(data: st.DataObject, tube: Tube) -> tuple[tuple[Vector, Vector, float], tuple[RoundCrossing, ...]]:
    boss = data.draw(_bosses(tube))
    try:
        return boss, cylinder_through(tube, *boss)
    except GeometryError as error:
        assert "misses" in str(error) or "grazes" in str(error)
        assume(False)
        raise


# --- bosses: laws


@given(tubes(), st.data())
def test_every_point_and_every_chord_lies_on_both_surfaces(tube: Tube, data: st.DataObject) -> None:
    (point, direction, radius), curves = _drawn(data, tube)
    assert {curve.side for curve in curves} == {"entry", "far"}
    for curve in curves:
        assert off_tube(tube, curve.space).max() < 1e-5
        assert np.abs(off_line(curve.space, point, direction) - radius).max() < 1e-5
        dense = with_middles(curve.space)
        assert off_tube(tube, dense).max() < MISS
        assert np.abs(off_line(dense, point, direction) - radius).max() < MISS


@given(tubes(), st.data())
def test_both_ways_of_saying_where_a_point_is_agree(tube: Tube, data: st.DataObject) -> None:
    (point, direction, radius), curves = _drawn(data, tube)
    way = direction / np.linalg.norm(direction)
    n, w, run = own_axes(tube)
    up = run - (run @ way) * way
    up /= np.linalg.norm(up)
    for curve in curves:
        # On the tube, by the definition of s and turn.
        at = [each.s for each in tube.stations]
        a = np.interp(curve.s, at, [each.height for each in tube.stations])[:, None] / 2.0
        b = np.interp(curve.s, at, [each.width for each in tube.stations])[:, None] / 2.0
        axis = np.array([line_at(tube, s) for s in curve.s])
        turn = curve.turn[:, None]
        assert axis + a * np.cos(turn) * n + b * np.sin(turn) * w == pytest.approx(curve.space, abs=1e-6)
        # On the boss: angle 0 lies up the tube, and grows about the way in.
        around = curve.around[:, None]
        ring = radius * (np.cos(around) * up + np.sin(around) * np.cross(way, up))
        assert point + ring + curve.depth[:, None] * way == pytest.approx(curve.space, abs=1e-9)
        assert np.abs(np.diff(curve.turn)).max() < 0.8
        assert np.abs(np.diff(curve.around)).max() < 0.2
        # The entry side looks against the way in, the far side along it.
        q = np.interp(curve.s, at, range(len(at)))
        smooth = np.abs(q - np.round(q)) > 1e-6
        some = np.append(np.arange(0, len(curve.s), 9), len(curve.s) - 1)
        out = (
            np.array([_outward(tube, s, p) for s, p in zip(curve.s[some], curve.turn[some], strict=True)])
            @ way
        )
        smooth = smooth[some]
        assert ((out if curve.side == "far" else -out)[smooth] > -1e-4).all()
        # Laid flat on the boss, steps keep their length.
        step = np.hypot(np.diff(curve.depth), radius * np.diff(curve.around))
        # A chord is shorter than its arc by L3 / 24 r2 at most, here less than a thousandth.
        in_space = np.linalg.norm(np.diff(curve.space, axis=0), axis=-1)
        assert step == pytest.approx(in_space, abs=0.001)
        if curve.closed:
            assert curve.space[0] == pytest.approx(curve.space[-1], abs=1e-9)
            assert abs(curve.around[-1] - curve.around[0]) == pytest.approx(2.0 * math.pi)
            assert not curve.breaks_out
        elif not any(word.code == "wrap-cut-off" for word in curve.words):
            # An open end lies on the outline of the tube as seen along the boss.
            assert curve.breaks_out
            assert np.abs(out[[0, -1]])[smooth[[0, -1]]] == pytest.approx(0.0, abs=1e-4)


def _outward(tube: Tube, s: float, p: float) -> Vector:
    """Return the unit normal of the outside by small steps, taken away from where the taper changes."""
    n, w, _ = own_axes(tube)

    def at(s: float, p: float) -> Vector:
        stations = [each.s for each in tube.stations]
        a = float(np.interp(s, stations, [each.height for each in tube.stations])) / 2.0
        b = float(np.interp(s, stations, [each.width for each in tube.stations])) / 2.0
        return line_at(tube, s) + a * math.cos(p) * n + b * math.sin(p) * w

    step = 1e-6
    normal = np.cross(at(s, p + step) - at(s, p - step), at(s + step, p) - at(s - step, p))
    return np.asarray(normal / np.linalg.norm(normal))


@given(tubes(), st.data())
def test_a_boss_turned_round_swaps_its_sides_and_a_mirrored_one_mirrors_them(
    tube: Tube, data: st.DataObject
) -> None:
    (point, direction, radius), curves = _drawn(data, tube)
    back = cylinder_through(tube, point, -direction, radius)
    for side, other in (("entry", "far"), ("far", "entry")):
        there = [curve for curve in curves if curve.side == side]
        here = [curve for curve in back if curve.side == other]
        assert len(here) == len(there)
        for mine, yours in zip(here, there, strict=True):
            _check_same(mine, yours, mine.space)
    flip = np.array([1.0, 1.0, -1.0])
    twin = Tube("twin", tube.direction, tube.stations, tube.offset, -tube.outset, -tube.splay)
    mirrored = cylinder_through(twin, point * flip, direction * flip, radius)
    assert [curve.side for curve in mirrored] == [curve.side for curve in curves]
    for mine, yours in zip(mirrored, curves, strict=True):
        _check_same(mine, yours, mine.space * flip)


def _check_same(mine: RoundCrossing, yours: RoundCrossing, space: Vector) -> None:
    """Check that two curves are one, though their points may stand elsewhere on it; ends included."""
    assert (mine.closed, mine.breaks_out) == (yours.closed, yours.breaks_out)
    assert mine.margin == pytest.approx(yours.margin, abs=1e-9)
    some, others = [np.append(np.arange(0, len(each), 9), len(each) - 1) for each in (space, yours.space)]
    assert off_polyline(space[some], yours.space) < MISS
    assert off_polyline(yours.space[others], space) < MISS


@given(
    st.floats(5.0, 20.0), st.floats(0.3, 1.4), st.floats(-0.9, 0.9), st.floats(35.0, 145.0),
    st.sampled_from(["entry", "far"]),
)  # fmt: skip
def test_a_round_header_has_the_published_form(
    header: float, share: float, aside: float, angle: float, side: str
) -> None:
    # machinecalcs.com, the pipe saddle: z(t) = (sqrt(R2 - (r sin t - e)2) - r cos t cos b) / sin b
    branch, offset = header * share, header * aside
    tube = Tube("header", 180.0, round_stations((-200.0, 2.0 * header), (200.0, 2.0 * header)))
    b = math.radians(angle)
    away = np.array([math.cos(b), math.sin(b), 0.0])
    curves = cylinder_through(tube, (0.0, 0.0, offset), -away, branch)
    inside = header - branch - abs(offset)
    assert all(curve.margin == pytest.approx(inside, abs=1e-9) for curve in curves)
    assert all(curve.closed == (inside >= 0.0) for curve in curves)
    sign = 1.0 if side == "entry" else -1.0
    for curve in curves:
        if curve.side != side:
            continue
        t = curve.around
        under = np.maximum(header**2 - (branch * np.sin(t) - offset) ** 2, 0.0)
        z = (sign * np.sqrt(under) - branch * np.cos(t) * math.cos(b)) / math.sin(b)
        # The root turns at once where the branch only touches: a thousandth there is far less in space.
        clear = under > 1e-6 * header**2
        assert -curve.depth[clear] == pytest.approx(z[clear], abs=1e-6)
        assert -curve.depth == pytest.approx(z, abs=1e-3)


# --- bosses: breaking out, touching, missing, beyond the tube


def test_a_14_mm_boss_on_a_12_5_mm_stay_is_coped_over_it() -> None:
    # In the trade. Own arithmetic: it leaves the stay 3.1524 either side of its axis, sqrt(7 2 - 6.25 2).
    stay = Tube("seatstay", 120.0, round_stations((0.0, 12.5), (300.0, 12.5)))
    point = line_at(stay, 100.0)
    curves = cylinder_through(stay, point, -own_axes(stay)[0], 7.0, body=NEAR_BOSS)
    assert [curve.side for curve in curves] == ["entry", "entry", "far", "far"]
    entry = curves[:2]
    assert [(curve.rank, curve.count) for curve in entry] == [(1, 2), (2, 2)]
    for curve, sign in zip(entry, (-1.0, 1.0), strict=True):
        assert not curve.closed and curve.breaks_out
        assert curve.margin == pytest.approx(-0.75, abs=1e-9)
        ends = sorted([float(curve.turn[0]), float(curve.turn[-1])])
        assert ends == pytest.approx([-math.pi / 2.0, math.pi / 2.0], abs=1e-6)
        reach = sign * math.sqrt(7.0**2 - 6.25**2)
        assert curve.s[[0, -1]] - 100.0 == pytest.approx(reach, abs=1e-6)
        assert sign * (curve.s - 100.0).max() <= 7.0 + 1e-9
        assert np.abs(curve.s - 100.0).max() == pytest.approx(7.0, abs=1e-9)
        (wider,) = texts(curve.words)
        assert wider.code == "tubes.wider"
        assert wider["where"] == say("tubes.on", body=NEAR_BOSS, tube="seatstay")
        parts = [wider[each] for each in ("across", "tube", "left", "right")]
        assert parts == pytest.approx([14.0, 12.5, 0.75, 0.75], abs=1e-9)


@given(st.floats(16.0, 40.0), st.floats(16.0, 40.0), st.floats(60.0, 240.0), st.floats(2.0, 6.0))
def test_the_margin_on_a_taper_is_square_to_its_outline(
    first: float, last: float, s: float, radius: float
) -> None:
    # Own arithmetic: seen square to its axis a cone's outline leans by atan(dR / ds), and is so much nearer.
    tube = Tube("chainstay", 180.0, round_stations((0.0, first), (300.0, last)))
    middle = (first + (last - first) * s / 300.0) / 2.0
    wanted = middle * math.cos(math.atan((last - first) / 600.0)) - radius
    for curve in cylinder_through(tube, (-s, 40.0, 0.0), DOWN, radius):
        assert curve.margin == pytest.approx(wanted, abs=1e-9)


def test_a_boss_that_breaks_out_of_the_side_has_an_open_outline() -> None:
    curves = cylinder_through(PLAIN, (-100.0, 0.0, 4.0), DOWN, 8.0)
    assert [(curve.side, curve.closed, curve.breaks_out) for curve in curves] == [
        ("entry", False, True),
        ("far", False, True),
    ]
    for curve in curves:
        assert curve.margin == pytest.approx(-2.0, abs=1e-9)
        # Own arithmetic: the side at z = 10 lies 6 from the axis, so the ends are sqrt(64 - 36) from it.
        assert sorted(curve.s[[0, -1]] - 100.0) == pytest.approx(
            [-math.sqrt(28.0), math.sqrt(28.0)], abs=1e-6
        )
        assert curve.space[[0, -1]][:, 2] == pytest.approx(10.0, abs=1e-7)
        (open_out,) = texts(curve.words)
        assert (open_out.code, open_out["where"]) == ("tubes.open", ON_CHAINSTAY)
        assert open_out["by"] == pytest.approx(2.0, abs=1e-9)


@pytest.mark.parametrize(
    ("offset", "codes"),
    [
        (1.97, ["tubes.near_side"]),
        (2.03, ["tubes.open", "tubes.near_side"]),
        (1.94, []),
        (2.0, ["tubes.near_side"]),
    ],
)
def test_near_tangent_is_said(offset: float, codes: list[str]) -> None:
    for curve in cylinder_through(PLAIN, (-100.0, 0.0, offset), DOWN, 8.0):
        assert [word.code for word in texts(curve.words)] == codes
        assert all(word["where"] == ON_CHAINSTAY for word in texts(curve.words))
        by = [word["by"] for word in texts(curve.words)]
        assert by == pytest.approx([abs(offset - 2.0)] * len(codes), abs=1e-9)
        assert curve.closed == (offset <= 2.0)
        assert (
            np.abs(off_line(curve.space, np.array([-100.0, 0.0, offset]), np.array(DOWN)) - 8.0).max() < 1e-6
        )
        assert off_tube(PLAIN, curve.space).max() < 1e-6


@pytest.mark.parametrize(
    ("offset", "code", "by"),
    [
        (19.2, "tubes.misses", 1.2),
        (-30.0, "tubes.misses", 12.0),
        (18.0, "tubes.grazes", 0.0),
        (17.99, "tubes.grazes", 0.01),
    ],
)
def test_a_boss_that_does_not_meet_the_tube_is_refused(offset: float, code: str, by: float) -> None:
    with pytest.raises(GeometryError) as caught:
        cylinder_through(PLAIN, (-100.0, 0.0, offset), DOWN, 8.0)
    (problem,) = caught.value.problems
    assert (problem.where, problem.what.code) == (ON_CHAINSTAY, code)
    assert problem.what["by"] == pytest.approx(by, abs=1e-9)


def test_what_just_meets_the_tube_has_a_line() -> None:
    curve = cylinder_through(PLAIN, (-100.0, 0.0, 17.97), DOWN, 8.0)[0]
    # Own arithmetic: two circles of radius 8 and 10 whose middles are 17.97 apart overlap in a sliver.
    assert curve.space[:, 2].min() == pytest.approx(9.97, abs=1e-6)


@pytest.mark.parametrize("lean", [0.0, 12.0, 19.9])
def test_a_boss_along_the_tube_is_refused(lean: float) -> None:
    way = (-math.cos(math.radians(lean)), math.sin(math.radians(lean)), 0.0)
    with pytest.raises(GeometryError, match=r"tubes\.along") as caught:
        cylinder_through(PLAIN, (-100.0, 0.0, 0.0), way, 8.0)
    what = caught.value.problems[0].what
    assert (what["angle"], what["least"]) == (pytest.approx(lean, abs=1e-9), 20.0)


def test_a_boss_across_a_waist_that_it_meets_four_times_is_refused() -> None:
    waist = Tube("stay", 180.0, round_stations((0.0, 38.0), (50.0, 20.0), (100.0, 38.0)))
    way = (-math.cos(math.radians(25.0)), math.sin(math.radians(25.0)), 0.0)
    with pytest.raises(GeometryError, match=r"tubes\.waist"):
        cylinder_through(waist, (-50.0, 0.0, 8.0), way, 2.5)


@pytest.mark.parametrize(("direction", "radius"), [((0.0, 0.0, 0.0), 8.0), (DOWN, 0.0), (DOWN, -1.0)])
def test_a_boss_without_size_or_direction_is_refused(
    direction: tuple[float, float, float], radius: float
) -> None:
    with pytest.raises(GeometryError, match=r"^tubes\.cylinder: tubes\.no_size"):
        cylinder_through(PLAIN, (-100.0, 0.0, 0.0), direction, radius)


@pytest.mark.parametrize(
    ("s", "stop", "end"),
    [
        (3.0, 0.0, say("tubes.begins", s="0")),
        (299.0, 300.0, say("tubes.no_longer_known", s="300")),
    ],
)
def test_what_lies_beyond_the_tube_is_cut_off_and_told(s: float, stop: float, end: Say) -> None:
    whole = Tube("chainstay", 180.0, round_stations((-50.0, 20.0), (350.0, 20.0)))
    for cut, full in zip(
        *(cylinder_through(each, (-s, 0.0, 1.0), DOWN, 6.0) for each in (PLAIN, whole)), strict=True
    ):
        assert not cut.closed and not cut.breaks_out and full.closed
        assert cut.s[[0, -1]].tolist() == [stop, stop]
        assert cut.s.min() >= 0.0 and cut.s.max() <= 300.0
        assert texts(cut.words) == (say("tubes.cut_off", where=ON_CHAINSTAY, ends=(end,)),)
        assert texts(full.words) == ()
        # What is left is all of the whole outline that is on the tube, in one piece.
        on = full.space[(full.s >= 0.0) & (full.s <= 300.0)]
        assert off_polyline(on, cut.space) < MISS
        assert np.linalg.norm(np.diff(cut.space, axis=0), axis=-1).max() < 2.0


def test_a_boss_wholly_beyond_the_tube_is_refused() -> None:
    with pytest.raises(GeometryError, match=r"tubes\.beyond\(start='0', end='300'\)"):
        cylinder_through(PLAIN, (20.0, 0.0, 0.0), DOWN, 6.0)


def test_a_change_of_taper_under_the_boss_is_a_point_of_the_curve() -> None:
    tube = Tube("chainstay", 180.0, round_stations((0.0, 16.0), (100.0, 16.0), (300.0, 10.0)))
    for curve in cylinder_through(tube, (-98.0, 0.0, 0.5), (0.1, -1.0, 0.0), 6.0):
        assert np.count_nonzero(curve.s == 100.0) == 2
        parts = runs(tube, curve.s, curve.turn)
        assert {part.within for part in parts} == {(0.0, 100.0), (100.0, 300.0)}
        # Each cut stands in two parts; the far side is cut at the seam too, twice, between two points.
        seam = 2 if curve.side == "far" else 0
        assert len(parts) == 2 + seam
        assert sum(len(part.s) for part in parts) == len(curve.s) - 1 + seam + len(parts)


# --- braces


def test_a_brace_between_two_stays() -> None:
    seat = Tube("seatstay", 120.0, round_stations((0.0, 14.0), (300.0, 14.0)))
    brace = between(PLAIN, 90.0, seat, 110.0, 5.0)
    assert np.array(brace.point) == pytest.approx(centre(PLAIN, 90.0))
    length = float(np.linalg.norm(centre(seat, 110.0) - centre(PLAIN, 90.0)))
    (end,) = tube_against(brace, seat)
    (start,) = tube_against(between(seat, 110.0, PLAIN, 90.0, 5.0), PLAIN)
    assert end.side == start.side == "entry"
    # Each cope lies between its header's outside and its middle.
    assert length - 14.0 < end.depth.min() < end.depth.max() < length
    assert off_tube(seat, end.space).max() < 1e-6
    assert off_tube(PLAIN, start.space).max() < 1e-6
    for curve in (start, end):
        assert (
            np.abs(off_line(curve.space, centre(PLAIN, 90.0), np.array(brace.direction)) - 5.0).max() < 1e-9
        )


def test_a_branch_may_be_a_tube_that_comes_down_to_the_header() -> None:
    # A tube of direction 120 that starts on a stay's middle, and its cope as that of a cylinder.
    branch = Tube("seatstay", 120.0, round_stations((0.0, 12.0), (200.0, 12.0)))
    header = Tube("chainstay", 180.0, round_stations((-50.0, 20.0), (300.0, 20.0)))
    (curve,) = tube_against(branch, header)
    assert 200.0 - curve.depth == pytest.approx((curve.space - line_at(branch, 0.0)) @ own_axes(branch)[2])
    assert (curve.space @ np.array(UP)).min() > 0.0
    tapered = Tube("seatstay", 120.0, round_stations((0.0, 12.0), (200.0, 14.0)))
    with pytest.raises(GeometryError, match=r"tubes\.no_branch"):
        tube_against(tapered, header)


def test_a_cylinders_direction_is_a_unit_vector() -> None:
    assert cylinder((0.0, 0.0, 0.0), (0.0, 3.0, 0.0), 1.0).direction == (0.0, 1.0, 0.0)
