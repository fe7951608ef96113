"""Tubes laid flat: lengths kept, there and back, against scipy's integrals and textbook forms.

Ranges: stays and fork legs are 10 to 40 mm across, ovals up to twice as high as wide, paper up to 0.3 mm
(common practice, no source, with room to spare).
"""

import itertools
import math

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy.integrate import quad
from scipy.special import ellipe, ellipeinc
from shapely import LineString, Polygon

from geometry.core.errors import GeometryError, Problem
from geometry.core.say import Say, say
from geometry.tubes.development import MISFIT, develop, gape, girth, misfit, pieces, runs
from geometry.tubes.tube import Station, Tube, surface

Vector = NDArray[np.float64]
SIZE = st.floats(10.0, 40.0)
PAPER = st.floats(0.0, 0.3)
MIDDLE = st.floats(-math.pi, math.pi)
SHARE = st.lists(st.floats(0.0, 1.0), min_size=6, max_size=6)


def _tube(*stations: tuple[float, ...], splay: float = 0.0) -> Tube:
    return Tube("stay", 160.0, tuple(Station(s[0], s[1], s[-1]) for s in stations), outset=-4.0, splay=splay)


@st.composite
def _wraps(draw: st.DrawFn) -> tuple[Tube, tuple[float, float]]:
    """Return a tube of one taper and a range of s for a wrap that has a flat form."""
    base, end = draw(SIZE), draw(st.floats(0.6, 1.4))
    width, change = draw(st.sampled_from([(1.0, 1.0), (0.6, 1.0), (0.5, 1.1), (0.8, 0.9)]))
    last = (300.0, base * end, base * end * width * change)
    tube = _tube((0.0, base, base * width), last, splay=draw(st.floats(-12.0, 12.0)))
    start = draw(st.floats(0.0, 200.0))
    within = (start, start + draw(st.floats(20.0, 60.0)))
    assume(misfit(tube, within) <= MISFIT)
    return tube, within


def _outside(tube: Tube, s: Vector, turn: Vector, by: float) -> Vector:
    """Return points that lie `by` outside the tube, square to its surface, by differences of its points."""
    step = 1e-5
    up = surface(tube, s + step, turn) - surface(tube, s - step, turn)
    around = surface(tube, s, turn + step) - surface(tube, s, turn - step)
    normal = np.cross(around, up)
    return np.asarray(surface(tube, s, turn) + by * normal / np.linalg.norm(normal, axis=-1, keepdims=True))


# --- lengths


@given(_wraps(), PAPER, MIDDLE, SHARE, SHARE, st.floats(0.0, 2.0 * math.pi))
def test_small_steps_keep_their_length(
    wrap: tuple[Tube, tuple[float, float]], paper: float, middle: float, up: list[float], round_: list[float],
    way: float,
) -> None:  # fmt: skip
    tube, within = wrap
    inner = (within[0] + 1.0, within[1] - 1.0)
    s = inner[0] + np.array(up) * (inner[1] - inner[0])
    turn = middle - math.pi + np.array(round_) * 2.0 * math.pi
    # Half a millimetre: over that a chord is shorter than its arc by less than 0.0003.
    ds, dp = 0.5 * math.cos(way), 0.5 * math.sin(way) / (girth(tube, sum(within) / 2.0, 0.0) / 2.0 / math.pi)
    for thickness in (0.0, paper):
        ends = [_outside(tube, s + k * ds, turn + k * dp, thickness / 2.0) for k in (0, 1)]
        flat = [
            develop(tube, s + k * ds, turn + k * dp, paper=thickness, middle=middle, within=within)
            for k in (0, 1)
        ]
        in_space = np.linalg.norm(ends[1] - ends[0], axis=-1)
        assert np.linalg.norm(flat[1] - flat[0], axis=-1) == pytest.approx(in_space, abs=0.001)


@given(_wraps(), MIDDLE)
def test_the_middle_line_is_v_0_and_u_grows_up_the_tube(
    wrap: tuple[Tube, tuple[float, float]], middle: float
) -> None:
    tube, within = wrap
    s = np.linspace(*within, 5)
    flat = develop(tube, s, np.full(5, middle), middle=middle, within=within)
    assert flat[:, 1] == pytest.approx(0.0, abs=1e-9)
    # On the middle line u is the length along the outside itself.
    line = surface(tube, s, np.full(5, middle))
    assert flat[:, 0] == pytest.approx(np.linalg.norm(line - line[0], axis=-1), abs=1e-9)
    around = develop(
        tube, np.full(3, s[2]), middle + np.array([-1.0, 0.0, 1.0]), middle=middle, within=within
    )
    assert around[0, 1] < 0.0 < around[2, 1]


@given(SIZE, PAPER, st.floats(-12.0, 12.0), MIDDLE, SHARE, SHARE)
def test_a_straight_round_tube_is_a_rectangle(
    size: float, paper: float, splay: float, middle: float, up: list[float], round_: list[float]
) -> None:
    tube = _tube((0.0, size), (300.0, size), splay=splay)
    s, turn = 300.0 * np.array(up), 10.0 * (np.array(round_) - 0.5)
    flat = develop(tube, s, turn, paper=paper, middle=middle)
    assert flat[:, 0] == pytest.approx(s / math.cos(math.radians(splay)), abs=1e-10)
    assert flat[:, 1] == pytest.approx((size + paper) / 2.0 * (turn - middle), abs=1e-10)
    assert girth(tube, 100.0, paper) == pytest.approx(math.pi * (size + paper), abs=1e-10)


@given(SIZE, st.floats(0.3, 3.0), PAPER, SHARE)
def test_a_tapered_round_tube_is_a_sector(size: float, end: float, paper: float, up: list[float]) -> None:
    # Any handbook: about the apex, distance = slant and angle = turn x sine of the half-angle. The paper's
    # middle is a cone about the same axis, paper / 2 outside, whose apex lies further off.
    assume(abs(end - 1.0) > 0.02)
    tube = _tube((0.0, size), (100.0, size * end))
    lean = math.atan((end - 1.0) * size / 200.0)
    s, turn = 100.0 * np.array(up), 6.0 * (np.array(up)[::-1] - 0.5)
    first = (size + paper * math.cos(lean)) / 2.0 / math.sin(lean)
    rho = first + s / math.cos(lean)
    flat = develop(tube, s, turn, paper=paper)
    assert flat[:, 0] == pytest.approx(rho * np.cos(turn * math.sin(lean)) - first, abs=1e-7)
    assert flat[:, 1] == pytest.approx(rho * np.sin(turn * math.sin(lean)), abs=1e-7)


@pytest.mark.parametrize("taper", [0.0, 1e-13, 1e-10, 1e-7, -1e-7])
def test_a_hair_of_taper_changes_nothing(taper: float) -> None:
    plain, tapered = _tube((0.0, 16.0), (300.0, 16.0)), _tube((0.0, 16.0), (300.0, 16.0 + 600.0 * taper))
    s, turn = np.linspace(0.0, 300.0, 9), np.linspace(-3.0, 3.0, 9)
    flat = develop(tapered, s, turn)
    # A half-angle e lifts the edge by R turn2 e / 2 and widens the end by e s turn.
    assert flat == pytest.approx(develop(plain, s, turn), abs=1e3 * abs(taper) + 1e-11)


# --- ovals


@given(SIZE, st.floats(0.4, 1.6), PAPER, MIDDLE)
def test_an_oval_unrolls_by_its_arc_length(height: float, share: float, paper: float, middle: float) -> None:
    # scipy's incomplete elliptic integral of the second kind, counted from the end of the height axis; the
    # paper's middle runs paper / 2 further out and so is longer by that times the turn of the normal.
    tube = _tube((0.0, height, height * share), (300.0, height, height * share), splay=3.0)
    a, b = height / 2.0, height * share / 2.0
    turn = middle + np.linspace(-math.pi, math.pi, 13)

    def arc(p: Vector) -> Vector:
        bend = np.unwrap(np.arctan2(a * np.sin(p), b * np.cos(p)))
        # Where it starts does not count, for differences are taken on one unwrapped line.
        return np.asarray(b * ellipeinc(p, 1.0 - (a / b) ** 2) + paper / 2.0 * bend)

    fine = middle + np.linspace(-math.pi, math.pi, 12 * 50 + 1)
    expected = arc(fine)[::50]
    flat = develop(tube, np.full(13, 40.0), turn, paper=paper, middle=middle)
    assert flat[:, 1] == pytest.approx(expected - expected[6], abs=1e-6)
    assert flat[:, 0] == pytest.approx(40.0 / math.cos(math.radians(3.0)), abs=1e-9)
    around = 4.0 * b * float(ellipe(1.0 - (a / b) ** 2)) + math.pi * paper
    assert girth(tube, 40.0, paper) == pytest.approx(around, abs=1e-6)
    assert np.ptp(flat[:, 1]) == pytest.approx(around, abs=1e-6)
    assert misfit(tube, (0.0, 300.0)) == 0.0


def test_an_oval_that_tapers_evenly_is_a_cone_and_exact() -> None:
    # The sector's angle is the length of the cone's trace on a ball of radius 1 about the apex: scipy's quad.
    tube = _tube((0.0, 30.0, 15.0), (300.0, 20.0, 10.0))
    assert misfit(tube, (0.0, 300.0)) < 1e-5

    def rate(p: float) -> float:
        ray = np.array([900.0, 15.0 * math.cos(p), 7.5 * math.sin(p)])
        slope = np.array([0.0, -15.0 * math.sin(p), 7.5 * math.cos(p)])
        return float(np.linalg.norm(np.cross(ray, slope)) / (ray @ ray))

    angle = quad(rate, -math.pi, math.pi, epsabs=1e-13)[0]
    s, turn = np.array([0.0, 300.0, 0.0, 300.0]), np.array([-math.pi, -math.pi, math.pi, math.pi])
    left, left_up, right, right_up = develop(tube, s, turn, paper=0.0)
    ways = [math.atan2(*(top - bottom)[::-1]) for top, bottom in ((left_up, left), (right_up, right))]
    assert ways[0] - ways[1] == pytest.approx(angle, abs=1e-9)
    # Both edges point at the apex, 900 up the tube, as far off as in space.
    length = math.hypot(900.0, 15.0)
    for bottom, top in ((left, left_up), (right, right_up)):
        apex = bottom + (top - bottom) * 3.0
        assert float(np.linalg.norm(apex - bottom)) == pytest.approx(length, abs=1e-8)
        assert apex[1] == pytest.approx(0.0, abs=1e-6)


@pytest.mark.parametrize(
    ("ends", "longest"), [(((30.0, 16.0), (14.0, 14.0)), 100.0), (((28.0, 20.0), (13.0, 13.0)), 200.0)]
)
def test_an_oval_that_turns_round_is_bounded_and_then_refused(
    ends: tuple[tuple[float, float], tuple[float, float]], longest: float
) -> None:
    tube = _tube((0.0, *ends[0]), (300.0, *ends[1]))
    wrong = [misfit(tube, (0.0, end)) for end in (20.0, 50.0, longest, 300.0)]
    assert all(a < b for a, b in itertools.pairwise(wrong))
    assert wrong[2] < MISFIT < wrong[3]
    point = np.array([10.0]), np.array([0.0])
    develop(tube, *point, within=(0.0, longest))
    with pytest.raises(GeometryError) as caught:
        develop(tube, *point)
    too_fast = say("tubes.oval", low=0.0, high=300.0, wrong=wrong[3], allowed=MISFIT)
    assert caught.value.problems == (Problem("tubes.stay", too_fast),)


def test_misfit_is_not_less_than_what_is_missed() -> None:
    # A chain of small steps from the middle to the seam, in space and on paper: no further apart than said.
    tube = _tube((0.0, 30.0, 16.0), (300.0, 14.0, 14.0))
    within = (0.0, 100.0)
    share = np.linspace(0.0, 1.0, 4001)
    found = 0.0
    for low, high, side in itertools.product((0.0, 50.0, 100.0), (0.0, 50.0, 100.0), (-1.0, 1.0)):
        s, turn = low + (high - low) * share, side * math.pi * share
        space, flat = surface(tube, s, turn), develop(tube, s, turn, paper=0.0, within=within)
        lengths = [float(np.linalg.norm(np.diff(line, axis=0), axis=-1).sum()) for line in (space, flat)]
        # Misfit is for half the girth; a line that also runs along the tube is longer.
        half = girth(tube, 50.0, 0.0) / 2.0
        found = max(found, abs(lengths[1] - lengths[0]) / max(lengths[0] / half, 1.0))
    assert 0.1 * misfit(tube, within) < found <= misfit(tube, within)


@given(st.floats(0.5, 3.0))
def test_a_tube_twice_as_large_is_misplaced_by_twice_as_much(times: float) -> None:
    """Strain has no unit, so what a sheet misplaces grows as the tube does; drawn larger it is the same."""
    for last in ((14.0, 14.0), (24.0, 18.0)):
        small = _tube((0.0, 30.0, 16.0), (300.0, *last))
        large = _tube((0.0, 30.0 * times, 16.0 * times), (300.0 * times, last[0] * times, last[1] * times))
        wrong = misfit(small, (20.0, 80.0))
        assert wrong > 0.0005
        assert misfit(large, (20.0 * times, 80.0 * times)) == pytest.approx(times * wrong, rel=1e-3)


@given(MIDDLE, st.floats(1.0, 99.0))
def test_a_twisted_oval_keeps_lengths_up_the_tube_and_how_sections_run_along_them(
    middle: float, s: float
) -> None:
    """So misfit need look at nothing but the change across. Differences of points in space and on paper."""
    tube, within, step = _tube((0.0, 30.0, 16.0), (300.0, 14.0, 14.0)), (0.0, 100.0), 1e-4
    p = middle + np.linspace(-3.0, 3.0, 13)
    ways = []
    for laid in (surface, lambda *at: develop(tube, *at[1:], paper=0.0, middle=middle, within=within)):
        up = (laid(tube, np.full(13, s + step), p) - laid(tube, np.full(13, s - step), p)) / step / 2.0
        around = (laid(tube, np.full(13, s), p + step) - laid(tube, np.full(13, s), p - step)) / step / 2.0
        ways.append((np.linalg.norm(up, axis=-1), np.sum(up * around, axis=-1)))
    assert ways[1][0] == pytest.approx(ways[0][0], abs=1e-8)
    assert ways[1][1] == pytest.approx(ways[0][1], abs=1e-6)


# --- pieces, gape, runs, errors


def test_pieces_begin_and_end_where_the_taper_changes() -> None:
    tube = _tube((0.0, 16.0), (50.0, 16.0), (100.0, 16.0), (200.0, 14.0), (300.0, 12.0), (400.0, 12.0))
    assert pieces(tube) == ((0.0, 100.0), (100.0, 300.0), (300.0, 400.0))
    assert pieces(Tube("stay", 180.0, tube.stations, straight_to=250.0)) == ((0.0, 100.0), (100.0, 250.0))
    # An oval whose height keeps its taper while the width does not.
    assert len(pieces(_tube((0.0, 16.0, 12.0), (50.0, 15.0, 12.0), (100.0, 14.0, 11.0)))) == 2


@pytest.mark.parametrize(
    ("first", "last", "bulges"), [(12.0, 12.0, True), (16.0, 12.0, True), (20.0, 16.0, False)]
)
def test_edges_gape_over_a_bulge_and_overlap_in_a_hollow(first: float, last: float, bulges: bool) -> None:
    # Own arithmetic: at turn p a wrap's edge lies R p2 / 2 times its sine of half-angle off, to first order.
    tube = _tube((0.0, first), (100.0, 16.0), (300.0, last))
    below, above = (math.sin(math.atan(rise)) for rise in ((16.0 - first) / 200.0, (last - 16.0) / 400.0))
    expected = 8.0 * math.pi**2 / 2.0 * (below - above)
    assert (expected > 0.0) == bulges
    assert gape(tube, 100.0) == pytest.approx(expected, rel=0.01)
    assert gape(tube, 100.0, girth(tube, 100.0, 0.0) / 4.0) == pytest.approx(expected / 4.0, rel=0.01)


def test_nothing_gapes_where_the_taper_stays() -> None:
    tube = _tube((0.0, 16.0), (100.0, 15.0), (200.0, 14.0), (300.0, 14.0))
    assert gape(tube, 100.0) == gape(tube, 0.0) == gape(tube, 33.0) == 0.0
    assert gape(tube, 200.0) != 0.0


@given(MIDDLE, st.floats(0.0, 2.0 * math.pi), st.sampled_from([-1, 0, 1, 2]))
def test_runs_are_the_curve_cut_at_seam_and_taper(middle: float, start: float, turns: int) -> None:
    tube = _tube((0.0, 16.0), (100.0, 16.0), (300.0, 12.0))
    p = np.linspace(0.0, 2.0 * math.pi, 181)
    s = 100.3 + 30.0 * np.sin(p + start)
    turn = 0.3 + turns * p + 1.1 * np.cos(p + start)
    parts = runs(tube, s, turn, middle=middle)
    for part in parts:
        assert np.abs(part.turn - middle).max() <= math.pi + 1e-12
        assert part.within in ((0.0, 100.0), (100.0, 300.0))
        assert part.within[0] <= part.s.min() and part.s.max() <= part.within[1]
    # Together they are as long as the curve on a drum of radius 1, and each but a whole one ends at a cut.
    whole = LineString(np.stack([s, turn], axis=-1)).length
    assert sum(LineString(np.stack([part.s, part.turn], axis=-1)).length for part in parts) == pytest.approx(
        whole
    )
    for part in parts if len(parts) > 1 else ():
        for end in (0, -1):
            at_seam = abs(abs(part.turn[end] - middle) - math.pi) < 1e-9
            assert at_seam or part.s[end] == pytest.approx(100.0, abs=1e-9)
    space = np.concatenate([surface(tube, part.s, part.turn) for part in parts])
    for point in surface(tube, s, turn):
        assert np.linalg.norm(space - point, axis=-1).min() < 1e-9


def test_a_closed_curve_clear_of_the_seam_stays_whole() -> None:
    tube = _tube((0.0, 16.0), (300.0, 16.0))
    p = np.linspace(0.0, 2.0 * math.pi, 91)
    (only,) = runs(tube, 100.0 + 5.0 * np.cos(p), 0.6 * np.sin(p))
    assert len(only.s) == 91
    across = runs(tube, 100.0 + 5.0 * np.cos(p), 0.6 * np.sin(p), middle=math.pi)
    assert len(across) == 2
    # The outline keeps its area when its two halves are laid either side of one seam.
    areas = [
        Polygon(develop(tube, part.s, part.turn % (2.0 * math.pi), middle=0.0)).area
        for part in runs(tube, 100.0 + 5.0 * np.cos(p), 0.6 * np.sin(p) + math.pi, middle=math.pi)
    ]
    assert areas == pytest.approx([math.pi * 5.0 * 0.6 * 8.05], rel=1e-3)


@pytest.mark.parametrize(
    ("s", "within", "why"),
    [
        ((90.0, 110.0), None, say("tubes.wrap_split", low=90.0, high=110.0, stops="100")),
        ((90.0, 95.0), (80.0, 120.0), say("tubes.wrap_split", low=80.0, high=120.0, stops="100")),
        ((290.0, 310.0), None, say("tubes.wrap_beyond", low=290.0, high=310.0, start="0", end="300")),
        ((-5.0, 10.0), None, say("tubes.wrap_beyond", low=-5.0, high=10.0, start="0", end="300")),
    ],
)
def test_no_sheet_spans_a_change_of_taper(
    s: tuple[float, float], within: tuple[float, float] | None, why: Say
) -> None:
    tube = _tube((0.0, 16.0), (100.0, 16.0), (300.0, 12.0))
    with pytest.raises(GeometryError) as caught:
        develop(tube, np.array(s), np.zeros(2), within=within)
    assert caught.value.problems == (Problem("tubes.stay", why),)
