"""What the sheets ask to be read is enough: a good mount is called right, and one beyond a limit is not.

Promises are simulated with planted seeds: a hand, a caliper with an error of its own for each kind of jaws,
pins that stand anywhere in their holes, a dropout measured once, and a display that rounds to its step.
"""

import math
from collections import Counter

import numpy as np
import pytest

from geometry.core.say import named, say
from geometry.mount.placement import Placement, place
from geometry.survey.errors import USUAL, Together, common
from geometry.survey.model import P, Readings, Taken, model_of, nominal, takeable
from geometry.survey.plan import Asked, further, is_asked, plan, readings_for, too_close
from geometry.survey.quantities import Quantity, quantities
from geometry.survey.readings import readings
from geometry.survey.survey import survey
from geometry.survey.trilateration import adjust
from geometry.survey.verdict import judge
from geometry.tables.axles import axle
from geometry.tables.interfaces import OwnRow, resolve
from geometry.tubes.tube import Tube
from tests.geometry.test_survey_verdict import LEG, MOUNTS, STAY, shipped

DRAWS = 400
STEP, HAND, EDGE, OWN = 0.05, 0.03, 0.2, 0.03
NORMAL_95 = 1.959964


def tube_of(placement: Placement) -> Tube:
    return STAY if placement.end == "rear" else LEG


def listed(placement: Placement, thickness: float | None, tube: Tube | None) -> tuple[Taken, ...]:
    found = readings(placement, axle=19.05, tube=tube, dropout_thickness=thickness)
    return takeable(found, placement.interface.family)


def planned(placement: Placement, thickness: float | None, tube: Tube | None) -> tuple[Asked, ...]:
    return plan(placement, listed(placement, thickness, tube), tube, thickness)


def each_time(asked: tuple[Asked, ...]) -> tuple[Taken, ...]:
    return tuple(one.taken for one in asked for _ in range(one.times))


def drawn(
    placement: Placement, which: tuple[Taken, ...], thickness: float, at: np.ndarray, seed: int, draws: int
) -> np.ndarray:
    """Return what a caliper shows (draws, n) on a mount whose parameters are known."""
    random = np.random.default_rng(seed)
    tube = tube_of(placement)
    edges = model_of(placement, which, tube, thickness).edges
    caliper = {jaws: random.uniform(-OWN, OWN, draws) for jaws in ("outside", "inside", "depth")}
    pins = {hole: random.uniform(-0.5, 0.5, draws) for hole in ("near", "far")}
    thick = random.normal(0.0, math.hypot(HAND, STEP / math.sqrt(12.0)), draws)
    true = Readings(placement, which, tuple(P), edges, thickness)(at)[0]
    shown = np.empty((draws, len(which)))
    for i, each in enumerate(which):
        one = each.reading
        hand = random.normal(0.0, EDGE if each.kind == "edge" else HAND, draws)
        shown[:, i] = true[i] + one.offset + hand
        if one.jaws != "blade":
            shown[:, i] += caliper[one.jaws]
        for hole in one.pins:
            shown[:, i] += (1.0 if one.jaws == "inside" else -1.0) * one.play * pins[hole]
        if one.kind == "side" and one.base == "outer":
            shown[:, i] -= one.sign * thick
    return np.round(shown / STEP) * STEP


def limited(placement: Placement, tube: Tube | None) -> list[Quantity]:
    return [each for each in quantities(placement, nominal(placement), tube=tube) if each.limit]


def right(
    placement: Placement, thickness: float | None, at: np.ndarray, seed: int, draws: int = DRAWS
) -> float:
    """Return in what share of surveys every limit is surely kept, own arithmetic of the bands."""
    tube = tube_of(placement)
    which = each_time(planned(placement, thickness, tube))
    shown = drawn(placement, which, thickness or 0.0, at, seed, draws)
    model = model_of(placement, which, tube, thickness)
    together = Together(model, common(which))
    spread = together.deviations(np.array([USUAL.deviation(each) for each in which]))
    offsets = np.array([each.reading.offset for each in which])
    free = list(model.free)
    start = nominal(placement)[free]
    fitted = adjust(together, together.start(start), together.observed(shown - offsets), spread)
    kept = np.ones(draws, dtype=bool)
    for each in limited(placement, tube):
        slope = each.gradient[free]
        # A tab's radii bend by less than a thousandth over these distances.
        error = (fitted.estimate[:, : len(free)] - start) @ slope
        part = fitted.covariance[:, : len(free), : len(free)]
        half = NORMAL_95 * np.sqrt(np.einsum("i,nij,j->n", slope, part, slope))
        assert each.limit is not None
        low, high = each.band[0] - each.limit.value, each.band[1] + each.limit.value
        kept &= (low <= error - half) & (error + half <= high)
    return float(np.mean(kept))


@pytest.mark.parametrize("thickness", [7.0, None])
@pytest.mark.parametrize("name", MOUNTS)
def test_a_mount_without_error_is_right_in_95_of_100(name: str, thickness: float | None) -> None:
    placement = MOUNTS[name]
    assert right(placement, thickness, nominal(placement), 11) >= 0.95


@pytest.mark.parametrize("name", MOUNTS)
def test_a_mount_at_one_and_a_half_limits_is_right_in_5_of_100_at_most(name: str) -> None:
    placement = MOUNTS[name]
    for seed, each in enumerate(limited(placement, tube_of(placement))):
        assert each.limit is not None
        for end, sign in zip(each.band, (-1.0, 1.0), strict=True):
            off = end + sign * 1.5 * each.limit.value
            at = nominal(placement) + each.gradient * off / (each.gradient @ each.gradient)
            assert right(placement, 7.0, at, 100 + seed, DRAWS // 2) <= 0.05, (each.key, off)


@pytest.mark.parametrize("name", ["tab, rear", "post, front", "flat, rear"])
def test_the_whole_survey_calls_a_good_mount_right(name: str) -> None:
    """The same through survey and verdict, whose sifting of contradictions may doubt a good reading too."""
    placement, tube, draws = MOUNTS[name], tube_of(MOUNTS[name]), 60
    which = each_time(planned(placement, 7.0, tube))
    shown = drawn(placement, which, 7.0, nominal(placement), 12, draws)
    words = Counter(
        judge(survey(placement, list(zip(which, row, strict=True)), tube=tube, thickness=7.0)).word
        for row in shown.tolist()
    )
    assert words["right"] >= 0.95 * draws, words
    assert words["not usable"] == 0


@pytest.mark.parametrize(
    ("name", "end", "system", "native"),
    [
        ("post", "rear", "142x12", 160.0),  # near pin in the axle's shadow
        ("post", "rear", "135-qr", 140.0),
        ("post", "front", "100x15", 203.0),
        ("flat-rear", "rear", "142x12", 140.0),
        ("flat-front", "front", "100x12", 140.0),
    ],
)
def test_both_holes_places_are_settled_by_what_can_be_reached(
    name: str, end: str, system: str, native: float
) -> None:
    placement = shipped(name, end, system, native)  # type: ignore[arg-type]
    tube = tube_of(placement)
    asked = planned(placement, 7.0, tube)
    rows = [(each, each.reading.nominal) for each in each_time(asked)]
    found = survey(placement, rows, tube=tube, thickness=7.0)
    assert not found.unmeasured
    assert judge(found).word == "right"
    for key in ("along_near", "along_far"):
        miss = found.miss(key)
        assert miss is not None and miss.deviation is not None and miss.deviation < 0.1
    # A mount that is off along the tube is found where it is.
    moved = [(each, value + (0.8 if each.kind in ("near", "far") else 0.0)) for each, value in rows]
    off = survey(placement, moved, tube=tube, thickness=7.0)
    for key in ("along_near", "along_far"):
        miss = off.miss(key)
        assert miss is not None and miss.error == pytest.approx(0.8, abs=1e-6)


@pytest.mark.parametrize("name", MOUNTS)
def test_every_limit_has_a_reading_and_both_holes_are_read_alike(name: str) -> None:
    placement, tube = MOUNTS[name], tube_of(MOUNTS[name])
    asked = planned(placement, 7.0, tube)
    times = {each.taken.key: each.times for each in asked}
    for key, count in times.items():
        if key.endswith("at-near"):
            assert times[key.replace("at-near", "at-far")] == count
        # Over and between share the pins: on a tab their play falls out of the mean.
        if placement.interface.family == "tab" and key.endswith("-over"):
            assert times[key.replace("-over", "-between")] == count
    assert "square-across-in-50" in times
    assert any("hole-to" in key for key in times)
    assert all(is_asked(each.taken) for each in asked)


def test_a_limit_too_close_for_a_common_caliper_is_said_beforehand() -> None:
    own = OwnRow("mine", "bench", "tab", 160.0, 6.2, 0.04, 0.0, radii=(40.0, 78.0, 51.0))
    form = resolve("mine", "rear", 160.0, 160.0, own)
    placement = place(form, axle("135-qr"), rotor=160.0, host="chainstay", direction=180.0)
    asked = planned(placement, 7.0, STAY)
    assert too_close(placement, asked, STAY, 7.0) == tuple(
        say(f"reading.what.{key}") for key in ("near", "far", "spacing")
    )
    # What no reading helps is not read ever more often, and neither is what is settled already.
    assert {each.times for each in asked if each.taken.kind == "side"} <= {1, 2}
    assert too_close(MOUNTS["tab, rear"], planned(MOUNTS["tab, rear"], 7.0, STAY), STAY, 7.0) == ()


def test_stock_for_facing_is_read_before_and_after() -> None:
    placement = MOUNTS["post, rear"]
    found = takeable(readings(placement, axle=19.05, tube=STAY, facing=0.5), "post")
    rows = readings_for(plan(placement, found, STAY, None), found)
    assert [each.key for each in rows if each.kind == "face"] == [
        "face-to-axle-near-side-before-facing-at-near",
        "face-to-axle-near-side-before-facing-at-far",
        "face-to-axle-near-side-faced-at-near",
        "face-to-axle-near-side-faced-at-far",
    ]
    assert {each.times for each in rows if each.stage == "before"} == {1}


def test_a_far_end_that_nobody_looked_at_is_not_right() -> None:
    # A post's far face 0.6 high: one reading of the face over the axle, and the tube's edge at the far hole,
    # fit a mount that is right and a little turned.
    placement = MOUNTS["post, front"]
    every = {each.key: each for each in listed(placement, 7.0, LEG)}
    which = [
        each
        for key, each in every.items()
        if each.at == "" or key in ("far-hole-to-fork-leg", "square-across-in-50")
    ]
    rows = [
        (each, each.reading.nominal + (0.6 if each.key == "far-hole-to-fork-leg" else 0.0))
        for each in (*which, *which)
    ]
    found = survey(placement, rows, tube=LEG, thickness=7.0)
    more = further(found, tuple(every.values()), LEG, 7.0)
    verdict = judge(found, further=more)
    assert verdict.word == "cannot tell"
    assert found.unmeasured == ("square_along",)
    assert set(verdict.next) & {"face-to-axle-near-side-at-near", "face-to-axle-near-side-at-far"}
    both = {"face-to-axle-near-side-at-near": 0.0, "face-to-axle-near-side-at-far": 0.6}
    told = [(every[key], every[key].reading.nominal + off) for key, off in both.items()] * 3
    lump = [row for row in rows if row[0].kind != "face"]
    again = judge(survey(placement, lump + told, tube=LEG, thickness=7.0))
    assert any(each["name"] == say("survey.error.height_at", hole=named("far")) for each in again.reasons)
    assert again.word != "right"


@pytest.mark.parametrize("off", [0.03, 0.04, 0.05])
def test_what_is_unsure_is_read_again_as_often_as_settles_it_and_no_oftener(off: float) -> None:
    # A near hole that is half of its limit of 0.1 off needs but a little more to be called right.
    placement = MOUNTS["tab, rear"]
    every, once = listed(placement, 7.0, STAY), planned(placement, 7.0, STAY)
    rows = [(one.taken, one.taken.reading.nominal) for one in once]
    rows = [(each, shown + (off if each.kind == "near" else 0.0)) for each, shown in rows]

    def unsure(more: list[tuple[Taken, float]]) -> list[str]:
        found = survey(placement, rows + more, tube=STAY, thickness=7.0)
        return [each.key for each in found.misses if each.limit and each.state != "within"]

    found = survey(placement, rows, tube=STAY, thickness=7.0)
    asked = each_time(further(found, every, STAY, 7.0))
    again = [(each, each.reading.nominal + (off if each.kind == "near" else 0.0)) for each in asked]
    assert bool(again) == bool(unsure([]))
    assert unsure(again) == []
    assert not again or unsure(again[:-1]) == ["near"]


def test_what_to_read_next_settles_what_was_open() -> None:
    placement = MOUNTS["tab, rear"]
    every = listed(placement, 7.0, STAY)
    rows = [(each, each.reading.nominal) for each in every if each.kind in ("near", "far", "spacing")] * 2
    found = survey(placement, rows, tube=STAY, thickness=7.0)
    assert set(found.unmeasured) == {"lateral", "square_along", "square_across", "turn"}
    while more := further(found, every, STAY, 7.0):
        rows += [(each.taken, each.taken.reading.nominal) for each in more for _ in range(each.times)]
        assert len(rows) < 60
        found = survey(placement, rows, tube=STAY, thickness=7.0)
    assert judge(found).word == "right"
