"""Where a label finds room: what a table of ink rules out at once is what a look at every line rules out."""

import math

import numpy as np
from hypothesis import assume, example, given
from hypothesis import strategies as st

from fonts.drafting import width
from sheets.ink.placing import AIR, Taken, dotted, seat

ZONE = (0.0, 0.0, 120.0, 90.0)
LABEL = (50.0, 40.0, 70.0, 46.0)
PLACES = st.tuples(st.floats(0.0, 120.0), st.floats(0.0, 90.0))
LINES = st.lists(st.tuples(PLACES, PLACES), min_size=1, max_size=12)


def taken(lines: list[tuple[tuple[float, float], tuple[float, float]]]) -> Taken:
    return Taken(np.array([(*start, *end) for start, end in lines]), np.array([LABEL]), ZONE)


def touched(page: Taken, place: tuple[float, float, float, float]) -> bool:
    """Tell whether a place overlaps the label, or has ink."""
    beside = place[0] > LABEL[2] or place[2] < LABEL[0] or place[1] > LABEL[3] or place[3] < LABEL[1]
    return not beside or page.inked(place)


@example(lines=[((0.0, 0.0), (0.0, 1.1125369292536007e-308))], corner=(0.0, 0.0))
@given(LINES, PLACES)
def test_a_place_that_counts_as_covered_is_touched(
    lines: list[tuple[tuple[float, float], tuple[float, float]]], corner: tuple[float, float]
) -> None:
    page = taken(lines)
    for wide, high in ((3.0, 3.0), (30.0, 6.0), (80.0, 60.0)):
        place = (*corner, corner[0] + wide, corner[1] + high)
        if page.covered(np.array([place]))[0]:
            assert touched(page, place)


def test_most_of_what_is_touched_is_covered() -> None:
    page = taken([((0.0, 10.0), (120.0, 80.0))])
    corners = np.array([(x, y) for x in range(0, 90, 7) for y in range(0, 80, 7)], dtype=float)
    places = np.hstack((corners, corners + np.array([30.0, 6.0])))
    slow = np.array([touched(page, tuple(place)) for place in places])
    assert slow.sum() > 40
    # The rest has ink in cells at its edge alone.
    assert page.covered(places).sum() > 0.6 * slow.sum()


@given(LINES, PLACES)
def test_a_place_over_the_label_is_never_free(
    lines: list[tuple[tuple[float, float], tuple[float, float]]], corner: tuple[float, float]
) -> None:
    place = (*corner, corner[0] + 30.0, corner[1] + 6.0)
    beside = place[0] > LABEL[2] or place[2] < LABEL[0] or place[1] > LABEL[3] or place[3] < LABEL[1]
    assert beside or taken(lines).covered(np.array([place]))[0]


@given(LINES, PLACES, PLACES)
def test_what_a_leader_crosses_is_what_a_look_at_every_line_finds(
    lines: list[tuple[tuple[float, float], tuple[float, float]]],
    start: tuple[float, float],
    end: tuple[float, float],
) -> None:
    """Signs of the areas that either one's ends make with the other (common practice, no source)."""

    def side(p: tuple[float, float], q: tuple[float, float], r: tuple[float, float]) -> float:
        return (q[0] - p[0]) * (r[1] - p[1]) - (q[1] - p[1]) * (r[0] - p[0])

    areas = [(side(start, end, a), side(start, end, b), side(a, b, start), side(a, b, end)) for a, b in lines]
    # What ends on the other, or lies along it, counts one way or the other by rounding.
    assume(all(min(map(abs, four)) > 1e-6 for four in areas))
    found = sum(a * b < 0.0 and c * d < 0.0 for a, b, c, d in areas)
    assert taken(lines).crossed(start, end) == found


@given(LINES, PLACES)
def test_a_seat_is_clear_of_all_ink_and_no_cheaper_one_is_passed_over(
    lines: list[tuple[tuple[float, float], tuple[float, float]]], anchor: tuple[float, float]
) -> None:
    page = taken(lines)
    found = seat(("near",), anchor, page, ZONE, 3.5, 45.0, 2.0, 0.0)
    if found is None:
        return
    cost, start, elbow, at = found
    assert math.isclose(math.dist(anchor, start), 2.0, abs_tol=1e-9)
    inner = AIR - 1e-6
    box = (at[0] - inner, at[1] - inner, at[0] + width("near", 3.5) + inner, at[1] + 3.5 + inner)
    dots = dotted(page.lines)
    assert not ((dots > box[:2]) & (dots < box[2:])).all(axis=1).any()
    assert not (box[0] < 70.0 and box[2] > 50.0 and box[1] < 46.0 and box[3] > 40.0)
    # Asked for what costs less than that, there is none; asked for as much, it is the same one.
    assert seat(("near",), anchor, page, ZONE, 3.5, 45.0, 2.0, 0.0, cost - 1e-6) is None
    assert seat(("near",), anchor, page, ZONE, 3.5, 45.0, 2.0, 0.0, cost) == found
    assert math.dist(elbow, anchor) >= 2.0
