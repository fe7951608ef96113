"""How the bicycle stands: both ends by hand arithmetic, and the laws that any stance keeps."""

import itertools
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from geometry.braking.forces import ground_force
from geometry.core.plane import turned
from geometry.tables.axles import End
from geometry.tables.loads import Load, entry
from geometry.tables.stance import (
    REFERENCES,
    directions,
    in_frame,
    leg_of,
    rearward,
    slot_way,
    stance,
    turn_of,
    upward,
)

ENDS = st.sampled_from(("front", "rear"))
ANGLES = st.floats(-30.0, 100.0)


def _load(brake: float, wheel: float) -> Load:
    return Load(brake, wheel, 345.0, entry("rest", "friction"), entry("rest", "ratio"), ())


def _standing(end: End, angle: float) -> float:
    """Return which way the end's own tube runs up from the axle as the bicycle stands, from the ground's +x.

    It faces left. A leg leans to the right by its angle to the ground; a chainstay runs left and, where it
    falls forward, down. Drawn by hand, not by the code.
    """
    return angle if end == "front" else 180.0 + angle


def _drawn(end: End) -> float:
    """Return which way that tube runs in the package's axes (design, axes): leg 90, chainstay 180."""
    return 90.0 if end == "front" else 180.0


@given(ENDS, ANGLES)
def test_the_ground_is_turned_as_the_tube_is_set_straight(end: End, angle: float) -> None:
    # Standing the ground is level. Whoever turns the picture until the tube lies as it is drawn turns the
    # ground by as much: that is all the formula says, at either end.
    turn = _drawn(end) - _standing(end, angle)
    assert turn_of(end, angle) == pytest.approx(turn)
    assert rearward(turn_of(end, angle)) == pytest.approx(turned((1.0, 0.0), turn))
    assert upward(turn_of(end, angle)) == pytest.approx(turned((0.0, 1.0), turn))


def test_both_ends_by_hand() -> None:
    # A leg at 72 leans back 18: set upright, the ground rises rearward by 18. Own arithmetic, no source.
    assert turn_of("front", 72.0) == 18.0
    assert rearward(18.0) == pytest.approx((0.9511, 0.3090), abs=1e-4)
    assert upward(18.0) == pytest.approx((-0.3090, 0.9511), abs=1e-4)
    # A chainstay that falls forward by 9: set level, the ground falls rearward by 9, the other way round.
    assert turn_of("rear", 9.0) == -9.0
    assert rearward(-9.0) == pytest.approx((0.9877, -0.1564), abs=1e-4)
    assert upward(-9.0) == pytest.approx((0.1564, 0.9877), abs=1e-4)
    # 654 N of brake and 981 N of weight: at the front 622 - 303 and 202 + 933, at 9 degrees at the rear of
    # 327 and 490 N: 323 + 77 and -51 + 484.
    assert ground_force(_load(654.0, 981.0), 18.0) == pytest.approx((318.9, 1135.1), abs=0.1)
    assert ground_force(_load(327.0, 490.0), -9.0) == pytest.approx((399.6, 432.8), abs=0.1)


@given(ENDS, ANGLES, st.floats(1.0, 2000.0), st.floats(0.0, 3000.0))
def test_a_stance_turns_the_ground_force_and_changes_nothing_of_it(
    end: End, angle: float, brake: float, wheel: float
) -> None:
    turn = turn_of(end, angle)
    force = ground_force(_load(brake, wheel), turn)
    assert math.hypot(*force) == pytest.approx(math.hypot(brake, wheel))
    back, up = rearward(turn), upward(turn)
    assert force[0] * back[0] + force[1] * back[1] == pytest.approx(brake, abs=1e-6)
    assert force[0] * up[0] + force[1] * up[1] == pytest.approx(wheel, abs=1e-6)


def test_a_level_chainstay_turns_nothing_and_is_told_without_a_sign() -> None:
    assert f"{turn_of('rear', 0.0):g}" == "0"
    assert f"{stance('rear').of(0.0):g}" == "0"


def test_slots_by_hand() -> None:
    # A leg at 72: plumb lies 18 behind the leg's line, so that 33 from plumb are 15 from the leg.
    assert in_frame(33.0, "plumb", turn_of("front", 72.0)) == 15.0
    assert in_frame(33.0, "tube", turn_of("front", 72.0)) == 33.0
    # A chainstay falling forward by 9: square down from it lies 9 behind plumb, so that plumb is 9 forward.
    assert in_frame(0.0, "plumb", turn_of("rear", 9.0)) == 9.0
    assert slot_way(0.0) == pytest.approx((0.0, -1.0))
    assert slot_way(90.0) == pytest.approx((-1.0, 0.0), abs=1e-12)
    assert slot_way(-90.0) == pytest.approx((1.0, 0.0), abs=1e-12)


@given(ENDS, ANGLES, st.floats(-90.0, 90.0))
def test_a_slot_from_plumb_is_measured_from_straight_down_to_the_ground(
    end: End, angle: float, slot: float
) -> None:
    turn = turn_of(end, angle)
    way = slot_way(in_frame(slot, "plumb", turn))
    down, back = upward(turn), rearward(turn)
    # In the standing bicycle: so much down, so much forward.
    assert -(way[0] * down[0] + way[1] * down[1]) == pytest.approx(math.cos(math.radians(slot)))
    assert -(way[0] * back[0] + way[1] * back[1]) == pytest.approx(math.sin(math.radians(slot)), abs=1e-9)


@given(st.floats(-180.0, 180.0))
def test_both_references_agree_on_an_upright_leg_and_a_level_stay(slot: float) -> None:
    for end, angle in (("front", 90.0), ("rear", 0.0)):
        turn = turn_of(end, angle)  # type: ignore[arg-type]
        assert len({in_frame(slot, each, turn) for each in REFERENCES}) == 1
        assert directions(slot, None, (turn,)) == (slot,)


def test_a_leg_from_head_rake_and_length() -> None:
    # Own arithmetic, no source: asin(45 / 390) is 6.63 degrees; without rake leg and steerer are parallel.
    assert leg_of(72.0, 45.0, 390.0) == pytest.approx(65.37, abs=0.005)
    assert leg_of(72.0, 0.0, 390.0) == 72.0
    # With a right triangle of 3, 4, 5: asin(3 / 5) is 36.87.
    assert leg_of(90.0, 300.0, 500.0) == pytest.approx(53.13, abs=0.005)
    # By coordinates: crown and axle set out by hand, the angle of the line between them measured.
    head, rake, long = math.radians(71.0), 52.0, 400.0
    down = math.sqrt(long * long - rake * rake)
    axle = (-down * math.cos(head) - rake * math.sin(head), -down * math.sin(head) + rake * math.cos(head))
    assert leg_of(71.0, rake, long) == pytest.approx(math.degrees(math.atan2(-axle[1], -axle[0])))


@pytest.mark.parametrize(("end", "least", "most"), [("front", 58.0, 76.0), ("rear", -3.0, 12.0)])
def test_an_unknown_stance_is_every_one_of_the_range(end: End, least: float, most: float) -> None:
    # Common practice, no source: leg 58 to 76, chainstay -3 to 12, at most a degree apart, both ends in.
    open_ = stance(end)
    assert not open_.known
    angles = sorted(open_.of(turn) for turn in open_.turns)
    assert (angles[0], angles[-1]) == pytest.approx((least, most))
    assert max(high - low for low, high in itertools.pairwise(angles)) <= 1.0 + 1e-9
    assert {open_.least.grade, open_.most.grade} == {"D"}
    told = stance(end, 7.0)
    assert told.known and told.turns == (turn_of(end, 7.0),) and told.of(told.turns[0]) == 7.0
