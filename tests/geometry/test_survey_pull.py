"""The record of pulls: Student's t, what is proposed from the third frame on, and records that replace."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import t as student_t
from scipy.stats import ttest_1samp

from geometry.core.say import say
from geometry.survey.pull import Record, pulls, replaced, student


def record(frame: str, point: str, height: float, **more: str) -> Record:
    return Record(
        frame,
        point,
        more.get("end", "rear"),
        more.get("family", "tab"),
        more.get("method", "tig"),
        {"height": height},
    )


def frames(*moves: float, **more: str) -> list[Record]:
    """Return frames that move so far, tacked a little off each."""
    found = []
    for number, move in enumerate(moves):
        found += [
            record(f"f{number}", "tacked", 0.01 * number, **more),
            record(f"f{number}", "cold", 0.01 * number + move, **more),
        ]
    return found


@pytest.mark.parametrize("freedom", [1, 2, 3, 4, 5, 7, 10, 29, 30, 200])
def test_the_quantile_is_students(freedom: int) -> None:
    assert student(freedom) == pytest.approx(student_t.ppf(0.975, freedom), rel=1e-9)


def test_two_frames_say_nothing_and_three_do() -> None:
    assert pulls(frames(0.3, 0.4), "rear", "tab", "tig") == ()
    found = pulls(frames(0.3, 0.4, 0.35), "rear", "tab", "tig")
    assert [(each.quantity, each.count) for each in found] == [("height", 3)]
    assert found[0].mean == pytest.approx(0.35)
    assert found[0].sentence.code == "pull.told"
    assert found[0].sentence["against"] == say("pull.less.height", by=pytest.approx(0.35))  # type: ignore[arg-type]


@given(st.lists(st.floats(-1.0, 1.0), min_size=3, max_size=12))
def test_mean_spread_and_interval_are_those_of_the_t_test(moves: list[float]) -> None:
    found = pulls(frames(*moves), "rear", "tab", "tig")[0]
    assert found.deviation == pytest.approx(np.std(moves, ddof=1), abs=1e-12)
    if found.deviation > 1e-6:
        theirs = ttest_1samp(moves, 0.0).confidence_interval(0.95)
        assert (found.low, found.high) == pytest.approx((theirs.low, theirs.high), rel=1e-6, abs=1e-9)


def test_a_mean_that_may_be_chance_is_not_set_against() -> None:
    found = pulls(frames(0.3, -0.3, 0.1), "rear", "tab", "tig")[0]
    assert not found.told
    assert found.sentence.code == "pull.chance"


def test_processes_ends_and_families_are_kept_apart() -> None:
    mixed = [
        *frames(0.3, 0.3), *frames(0.3, 0.3, method="fillet-braze"),
        *frames(0.3, 0.3, end="front"), *frames(0.3, 0.3, family="post"),
    ]  # fmt: skip
    named = [Record(f"{each.frame}-{each.end}-{each.family}-{each.method}", *_rest(each)) for each in mixed]
    assert len(named) == 16
    for end, family, method in (("rear", "tab", "tig"), ("front", "tab", "tig"), ("rear", "post", "tig")):
        assert pulls(named, end, family, method) == ()


def _rest(each: Record) -> tuple:
    return each.point, each.end, each.family, each.method, each.values


def test_the_same_frame_and_point_replaces_and_never_doubles() -> None:
    first = frames(0.3, 0.4, 0.35)
    again = replaced(first, [record("f0", "cold", 9.0), record("f0", "cold", 0.5)])
    assert len(again) == len(first)
    assert pulls(again, "rear", "tab", "tig")[0].mean == pytest.approx((0.5 + 0.4 + 0.35) / 3.0)


def test_a_frame_that_was_read_once_does_not_count() -> None:
    assert pulls([*frames(0.3, 0.3), record("f9", "cold", 0.3)], "rear", "tab", "tig") == ()
