"""Where a surveyed mount is: handbook triangles, simulated displaced mounts, and planted blunders."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import least_squares
from scipy.stats import chi2, norm

from geometry.core.errors import GeometryError
from geometry.mount.placement import Placement, place
from geometry.survey.errors import ReadingError, Together, common
from geometry.survey.limits import numbers
from geometry.survey.model import P, Readings, Taken, hole_at, model_of, nominal, takeable
from geometry.survey.readings import readings
from geometry.survey.survey import Survey, survey
from geometry.survey.trilateration import JOINT_95, TWO_SIDED_95, adjust, doubts, ellipse, trimmed
from geometry.tables.axles import End, axle
from geometry.tables.interfaces import OwnRow, resolve
from geometry.tubes.tube import Station, Tube

DRAWS = 4000
STEP, HAND = 0.05, 0.03
OWN = 0.03
"""Half of the span in which the caliper's own error lies, mm."""
ERROR = ReadingError(STEP, HAND, HAND, OWN)
AXLE, PIN = 19.05, 6.35
STAY = Tube("chainstay", 180.0, (Station(25.0, 16.0, 16.0), Station(380.0, 22.0, 22.0)), outset=5.0)


def shipped(name: str, end: End, system: str, native: float) -> Placement:
    host, direction = ("chainstay", 180.0) if end == "rear" else ("fork-leg", 90.0)
    return place(
        resolve(name, end, native, native), axle(system), rotor=native, host=host, direction=direction
    )


REAR = shipped("is-rear", "rear", "135-qr", 140.0)
FRONT = shipped("is-front", "front", "100x15", 160.0)
# Native 180: at 160 the near pin stands in the axle's shadow, and nothing can be read over both.
POST = shipped("post", "rear", "142x12", 180.0)


def taken(placement: Placement, tube: Tube | None = None) -> tuple[Taken, ...]:
    pin = min(PIN, placement.interface.hole.diameter.value)
    found = readings(placement, axle=AXLE, pin=pin, tube=tube, dropout_thickness=7.0)
    return takeable(found, placement.interface.family)


def only(found: tuple[Taken, ...], *keys: str) -> tuple[Taken, ...]:
    by_key = {each.key: each for each in found}
    return tuple(by_key[key] for key in keys)


def shown(model: Readings, at: np.ndarray) -> np.ndarray:
    """Return what a perfect caliper shows."""
    return model(at)[0] + np.array([each.reading.offset for each in model.taken])


def surveyed(placement: Placement, which: tuple[Taken, ...], at: np.ndarray, **more: object) -> Survey:
    """Return the survey of a mount whose parameters are known, read without any error."""
    whole = Readings(placement, which, tuple(P), model_of(placement, which, more.get("tube"), 7.0).edges, 7.0)  # type: ignore[arg-type]
    return survey(placement, list(zip(which, shown(whole, at), strict=True)), thickness=7.0, **more)  # type: ignore[arg-type]


# --- handbook triangles (standards.md G1 formula 7, G2 rows 9 to 11; Machinery's Handbook 31, p. 100, 101)


@pytest.mark.parametrize(
    ("near", "far", "spacing", "angle", "low"),
    [
        (9.0, 8.0, 10.0, 71.79, 0.005),  # row 9: C 71 deg 49', recomputed 71.7900
        (9.0, 8.0, 5.2002, 35.0, 0.005),  # row 10: SAS 9, 8, 35 deg gives c = 5.2
        (4.483, 3.126, 5.0, 80.0, 0.03),  # row 11: a 5, A 80, B 62 gives b 4.483, c 3.126
    ],
)
def test_the_handbooks_triangles_are_surveyed(
    near: float, far: float, spacing: float, angle: float, low: float
) -> None:
    own = OwnRow("mine", "bench", "tab", 160.0, 6.0, None, 0.0, line=(6.0, -4.0, 4.0))
    form = resolve("mine", "rear", 160.0, 160.0, own)
    placed = place(form, axle("135-qr"), rotor=160.0, host="chainstay", direction=180.0)
    which = only(taken(placed), "axle-to-near-over", "axle-to-far-over", "near-to-far-over")
    values = [each.reading.offset + length for each, length in zip(which, (near, far, spacing), strict=True)]
    found = survey(placed, list(zip(which, values, strict=True)))
    (ax, ay), (bx, by) = (np.array(hole.found) for hole in found.holes)
    between = math.degrees(math.acos((ax * bx + ay * by) / math.hypot(ax, ay) / math.hypot(bx, by)))
    assert between == pytest.approx(angle, abs=low)
    assert found.misses[0].wanted + (found.misses[0].error or 0.0) == pytest.approx(near, abs=1e-9)


def test_the_triangle_8_9_10_has_its_apex_where_the_handbook_has_it() -> None:
    # Row 9: trilaterated apex x 5.85, y 6.8394 over a base of 10, the longer side from the origin.
    own = OwnRow("mine", "bench", "tab", 160.0, 6.0, None, 0.0, line=(6.0, -4.0, 4.0))
    form = resolve("mine", "rear", 160.0, 160.0, own)
    placed = place(form, axle("135-qr"), rotor=160.0, host="chainstay", direction=180.0)
    which = only(taken(placed), "axle-to-near-over", "axle-to-far-over", "near-to-far-over")
    values = [each.reading.offset + length for each, length in zip(which, (9.0, 8.0, 10.0), strict=True)]
    found = survey(placed, list(zip(which, values, strict=True)))
    near = found.miss("along_near")
    up = found.miss("height")
    assert near is not None and near.error is not None and up is not None and up.error is not None
    assert near.wanted + near.error == pytest.approx(-5.85, abs=1e-9)
    assert up.wanted + up.error == pytest.approx(6.8394, abs=5e-5)
    # Formula 7 differentiated: x = (b^2 - a^2 + c^2) / 2c, y^2 = b^2 - x^2, all three read alike.
    a, b, c, x, y = 8.0, 9.0, 10.0, 5.85, 6.839408
    far, near_, spacing = (x * a / (c * y), b * (1.0 - x / c) / y, -x * (1.0 - x / c) / y)
    # Each by itself; the caliper's own error moves all three alike; a pin's play moves the two over it.
    play = taken(placed)[0].reading.play / math.sqrt(12.0)
    shared = (
        OWN / math.sqrt(3.0) * (far + near_ + spacing),
        play * (near_ + spacing),
        play * (far + spacing),
    )
    alone = ERROR.deviation(which[0]) * math.hypot(far, near_, spacing)
    assert up.deviation == pytest.approx(math.hypot(alone, *shared), rel=1e-6)


def test_the_quantiles_are_those_of_the_distributions() -> None:
    assert pytest.approx(chi2.ppf(0.95, 2), abs=1e-12) == JOINT_95
    assert pytest.approx(norm.ppf(0.975), abs=1e-6) == TWO_SIDED_95


def test_a_reading_is_off_by_its_step_and_the_hand() -> None:
    # Own arithmetic: 0.05 / sqrt(12) = 0.014434, with 0.03: 0.033292.
    one = only(taken(REAR), "axle-to-near-over")[0]
    assert ReadingError().deviation(one) == pytest.approx(0.033292, abs=1e-6)
    assert numbers()["reading.hand"].grade == numbers()["reading.resolution"].grade == "D"


def test_what_readings_share_is_in_the_bands_and_falls_out_where_it_cancels() -> None:
    # Own arithmetic: step and hand 0.0333 by itself; a caliper within 0.03, 0.03 / sqrt(3) = 0.0173; a pin of
    # 6.15 in a hole of 6.2, drilled up to 0.05 larger (remembered), has 0.1 of play: 0.1 / sqrt(12) = 0.0289.
    found = takeable(readings(REAR, axle=AXLE, pin=6.15), "tab")
    over, between = only(found, "axle-to-near-over", "axle-to-near-between")
    rest = [(each, each.reading.nominal) for each in only(found, "axle-to-far-over", "near-to-far-over")]
    alone, jaws, pin = ERROR.deviation(over), OWN / math.sqrt(3.0), 0.1 / math.sqrt(12.0)
    assert (alone, jaws, pin) == pytest.approx((0.03329, 0.01732, 0.02887), abs=1e-5)

    def spread(*which: Taken) -> float | None:
        rows = [(each, each.reading.nominal) for each in which]
        miss = survey(REAR, [*rows, *rest], error=ERROR).miss("near")
        return None if miss is None else miss.deviation

    assert spread(over) == pytest.approx(math.hypot(alone, jaws, pin), rel=1e-6)
    # Reading again helps against the hand alone.
    assert spread(over, over, over) == pytest.approx(math.hypot(alone / math.sqrt(3.0), jaws, pin), rel=1e-6)
    # Over and between press the pin opposite ways, and use different jaws.
    both = spread(over, between)
    assert both is not None and both < math.hypot(alone, jaws) / math.sqrt(2.0) + 1e-4


# --- simulated mounts


def _draw(placement: Placement, which: tuple[Taken, ...], tube: Tube | None, seed: int) -> tuple:
    """Return the model, and for every draw a displaced mount and its rounded readings, as distances.

    Each draw has a caliper with an error of its own for each kind of jaws, and pins that stand anywhere in
    their holes: outside jaws press them one way, inside jaws the other.
    """
    random = np.random.default_rng(seed)
    model = model_of(placement, which, tube, 7.0)
    caliper = {jaws: random.uniform(-OWN, OWN, DRAWS) for jaws in ("outside", "inside", "depth")}
    pins = {hole: random.uniform(-0.5, 0.5, DRAWS) for hole in ("near", "far")}
    true = np.broadcast_to(nominal(placement), (DRAWS, len(P))).copy()
    for each in model.free:
        true[:, each] += (
            random.uniform(-0.01, 0.01, DRAWS) if each is P.TURN else random.uniform(-1, 1, DRAWS)
        )
    offsets = np.array([each.reading.offset for each in which])
    read = model(true[:, list(model.free)])[0] + offsets + random.normal(0.0, HAND, (DRAWS, len(which)))
    for i, each in enumerate(which):
        read[:, i] += caliper[each.reading.jaws]
        for hole in each.reading.pins:
            pressed = 1.0 if each.reading.jaws == "inside" else -1.0
            read[:, i] += pressed * each.reading.play * pins[hole]
    read = np.round(read / STEP) * STEP
    together = Together(model, common(which, ERROR))
    return together, true, together.observed(read - offsets)


def _began(together: Together) -> tuple[np.ndarray, np.ndarray, range]:
    """Return where an adjustment begins, the standard deviations, and the places that are no readings."""
    model = together.model
    start = together.start(nominal(model.placement)[list(model.free)])
    spread = together.deviations(np.array([ERROR.deviation(each) for each in model.taken]))
    return start, spread, range(len(model.taken), spread.size)


CASES = [
    (REAR, None, 1), (FRONT, None, 2), (POST, None, 3), (REAR, STAY, 4), (POST, STAY, 5),
]  # fmt: skip


@pytest.mark.parametrize(("placement", "tube", "seed"), CASES)
@pytest.mark.parametrize("repeats", [1, 3])
def test_holes_lie_inside_their_joint_ellipse_in_95_of_100(
    placement: Placement, tube: Tube | None, seed: int, repeats: int
) -> None:
    which = tuple(each for each in taken(placement, tube) if each.kind not in ("side", "lean"))
    if repeats == 3:
        which = tuple(each for each in which if not each.key.endswith("between")) * 3
    together, true, observed = _draw(placement, which, tube, seed)
    model = together.model
    start, spread, _ = _began(together)
    fitted = trimmed(adjust(together, start, observed, spread), len(which), len(model.free))
    assert fitted.converged.all()
    whole = model.whole(fitted.estimate)
    for far in (False, True):
        found, moves = hole_at(placement, whole, far)
        slopes = moves[..., list(model.free)]
        covariance = np.einsum("dki,dij,dlj->dkl", slopes, fitted.covariance, slopes)
        away = found - hole_at(placement, true, far)[0]
        square = np.einsum("dk,dk->d", away, np.linalg.solve(covariance, away[..., None])[..., 0])
        inside = float(np.mean(square <= JOINT_95))
        assert 0.935 <= inside <= 0.97, (far, inside)


def test_the_ellipse_told_is_that_of_the_covariance() -> None:
    turn = np.array([[math.cos(0.5), -math.sin(0.5)], [math.sin(0.5), math.cos(0.5)]])
    told = ellipse(turn @ np.diag([0.04, 0.01]) @ turn.T)
    assert told.long == pytest.approx(0.2 * math.sqrt(JOINT_95))
    assert told.short == pytest.approx(0.1 * math.sqrt(JOINT_95))
    assert told.angle == pytest.approx(math.degrees(0.5))


@pytest.mark.parametrize("placement", [REAR, FRONT, POST])
def test_least_squares_agree_with_scipys(placement: Placement) -> None:
    tube = STAY if placement.host == "chainstay" else None
    which = tuple(each for each in taken(placement, tube) if each.kind != "lean")
    model, _, observed = _draw(placement, which, tube, 6)
    start, spread, _ = _began(model)
    for one in observed[:5]:
        ours = adjust(model, start, one, spread)
        theirs = least_squares(
            lambda at, one=one: (model(at)[0] - one) / spread, start, xtol=1e-14, ftol=1e-14, gtol=1e-14
        )
        # Their derivatives are differences, good to about 1e-7 of a radian.
        assert ours.estimate == pytest.approx(theirs.x, abs=2e-6)
        normal = theirs.jac.T @ theirs.jac
        assert ours.covariance == pytest.approx(np.linalg.inv(normal), rel=1e-4, abs=1e-8)


@pytest.mark.parametrize("times", [1e-6, 1e-3, 1e3])
def test_how_far_readings_control_each_other_depends_on_no_unit(times: float) -> None:
    # Errors a thousandth as large weigh a thousand times as much, each beside each as before.
    which = tuple(each for each in taken(REAR, STAY) if each.kind != "lean")
    model, _, observed = _draw(REAR, which, STAY, 6)
    start, spread, _ = _began(model)
    one, other = (adjust(model, start, observed[0], spread * by) for by in (1.0, times))
    assert 0.1 < np.max(one.redundancy[: len(which)]) < 1.0
    assert other.redundancy == pytest.approx(one.redundancy, abs=1e-6)


@pytest.mark.parametrize("placement", [REAR, FRONT, POST])
def test_derivatives_are_those_of_the_readings(placement: Placement) -> None:
    tube = STAY if placement.host == "chainstay" else None
    model = model_of(placement, taken(placement, tube), tube, 7.0)
    at = nominal(placement)[list(model.free)] + 0.3
    step = 1e-6
    for i, unit in enumerate(np.eye(at.size)):
        slope = (model(at + step * unit)[0] - model(at - step * unit)[0]) / (2.0 * step)
        assert model(at)[1][:, i] == pytest.approx(slope, abs=1e-6)


@given(*[st.floats(-2.0, 2.0)] * 5, st.floats(-0.03, 0.03), st.sampled_from([REAR, POST]))
def test_perfect_readings_give_the_mount_back(
    up: float, near: float, far: float, side: float, more: float, turn: float, placement: Placement
) -> None:
    level = 0.0 if placement is REAR else more / 4.0
    at = nominal(placement) + np.array([up, level, near, far, turn, side, more, 0.1])
    found = surveyed(placement, taken(placement, STAY), at, tube=STAY)
    assert not found.contradictions
    for hole, which in zip(found.holes, (False, True), strict=True):
        assert hole.found == pytest.approx(hole_at(placement, at, which)[0], abs=1e-6)
    spacing, angle = found.miss("spacing"), found.miss("turn")
    assert spacing is not None and spacing.error == pytest.approx(far - near, abs=1e-7)
    assert angle is not None and angle.error == pytest.approx(math.degrees(turn), abs=1e-6)


@pytest.mark.parametrize("placement", [REAR, FRONT, POST])
def test_a_hole_is_wanted_where_it_is_drawn(placement: Placement) -> None:
    found = surveyed(placement, taken(placement), nominal(placement))
    for hole, drawn in zip(found.holes, placement.holes, strict=True):
        assert hole.wanted == drawn.centre[:2]
        assert hole.found == pytest.approx(hole.wanted, abs=1e-6)


def test_a_hole_whose_height_nobody_read_is_placed_nowhere() -> None:
    # The stay lies along x, so that what was read along it settles one of a hole's two numbers by itself.
    along = only(taken(POST), "axle-to-near-along-the-face-over", "near-to-far-over")
    rows = [(each, each.reading.nominal) for each in along]
    assert [hole.found for hole in survey(POST, rows).holes] == [None, None]
    face = only(taken(POST), "face-to-axle-near-side")[0]
    assert None not in [hole.found for hole in survey(POST, [*rows, (face, face.reading.nominal)]).holes]


def test_a_reading_of_the_sheet_needs_no_tube_and_says_that_a_turn_is_not_seen() -> None:
    turned = nominal(REAR) + np.eye(8)[P.TURN] * 0.05
    blind = surveyed(REAR, tuple(each for each in taken(REAR)), turned)
    assert not blind.turn_seen
    turn = blind.miss("turn")
    assert turn is not None and turn.state == "unknown"
    seen = surveyed(REAR, taken(REAR, STAY), turned, tube=STAY).miss("turn")
    assert seen is not None and seen.error == pytest.approx(math.degrees(0.05), abs=1e-6)
    assert seen.state == "beyond"


# --- readings that contradict


def _thrice(placement: Placement) -> tuple[Taken, ...]:
    along = "-along-the-face" if placement is POST else ""
    keys = (f"axle-to-near{along}-over", f"axle-to-far{along}-over", "near-to-far-over")
    return only(taken(placement), *keys) * 3


@pytest.mark.parametrize(("placement", "seed"), [(REAR, 7), (POST, 8)])
def test_a_planted_blunder_is_named_where_each_distance_is_read_three_times(
    placement: Placement, seed: int
) -> None:
    which = _thrice(placement)
    model, _, observed = _draw(placement, which, None, seed)
    start, spread, sure = _began(model)
    random = np.random.default_rng(seed)
    named = 0
    draws = 400
    for one in observed[:draws]:
        place_, sign = int(random.integers(len(which))), random.choice([-1.0, 1.0])
        one[place_] += sign
        found, kept = doubts(model, start, one, spread, numbers()["test.critical"].value, sure)
        first = found[0]
        if first.places == (place_,):
            named += 1
            assert place_ not in kept
            assert first.by == pytest.approx(sign, abs=0.3)
    assert named >= 0.95 * draws


@pytest.mark.parametrize(("placement", "seed"), [(REAR, 9), (POST, 10)])
def test_good_readings_are_seldom_doubted(placement: Placement, seed: int) -> None:
    # Nine readings, each with one false alarm in a thousand: about 1 in 100 surveys, 3 in 100 at most.
    which = _thrice(placement)
    model, _, observed = _draw(placement, which, None, seed)
    start, spread, _ = _began(model)
    fitted = adjust(model, start, observed, spread)
    told = np.abs(fitted.normalised[..., : len(which)])
    alarms = np.any(told > numbers()["test.critical"].value, axis=-1)
    assert np.mean(alarms) < 0.03


def test_with_less_redundancy_the_group_that_disagrees_is_named() -> None:
    which = only(
        taken(REAR), "axle-to-near-over", "axle-to-near-between", "axle-to-far-over", "near-to-far-over"
    )
    values = [each.reading.nominal for each in which]
    values[1] += 1.0
    found = survey(REAR, list(zip(which, values, strict=True)))
    assert [set(each.keys) for each in found.contradictions] == [
        {"axle-to-near-over", "axle-to-near-between"}
    ]
    assert not found.contradictions[0].sole
    assert set(found.unchecked) == {"axle-to-far-over", "near-to-far-over"}


def test_along_a_face_three_distances_check_each_other() -> None:
    which = _thrice(POST)[:3]
    values = [each.reading.nominal for each in which]
    values[2] += 1.0
    found = survey(POST, list(zip(which, values, strict=True)))
    assert [len(each.keys) for each in found.contradictions] == [3]


def test_a_named_reading_is_left_out_of_the_position() -> None:
    which = _thrice(REAR)
    values = [each.reading.nominal for each in which]
    values[4] += 1.0
    found = survey(REAR, list(zip(which, values, strict=True)))
    assert [each.keys for each in found.contradictions] == [("axle-to-far-over",)]
    far = found.miss("far")
    assert far is not None and far.error == pytest.approx(0.0, abs=1e-9)


# --- refusals


def test_lengths_that_close_no_triangle_are_refused() -> None:
    which = _thrice(REAR)[:3]
    values = [each.reading.nominal for each in which]
    values[2] += 80.0
    with pytest.raises(GeometryError, match=r"survey\.no_mount"):
        survey(REAR, list(zip(which, values, strict=True)))


def test_what_a_reading_rests_on_must_be_known() -> None:
    edge = only(taken(REAR, STAY), "far-hole-to-chainstay")
    with pytest.raises(GeometryError, match=r"tubes\.chainstay"):
        survey(REAR, [(edge[0], 20.0)])
    outer = only(taken(REAR), "outer-face-to-tab")
    with pytest.raises(GeometryError, match=r"dropout\.thickness"):
        survey(REAR, [(outer[0], 7.0)])
    with pytest.raises(GeometryError, match=r"survey\.none_given"):
        survey(REAR, [])


def test_a_face_with_its_stock_reads_higher_at_the_tube_and_means_the_same() -> None:
    found = readings(POST, axle=AXLE, pin=5.0, tube=STAY, dropout_thickness=7.0, facing=0.5)
    which = only(takeable(found, "post"), "far-hole-to-chainstay", "face-to-axle-near-side-before-facing")
    rest = only(takeable(found, "post"), "axle-to-near-along-the-face-over", "near-to-far-over")
    rows = [(each, each.reading.nominal) for each in (*which[1:], *rest)]
    before = survey(
        POST, [*rows, (which[0], which[0].reading.nominal + 0.5)], point="cold", tube=STAY, facing=0.5
    )
    turn = before.miss("turn")
    assert turn is not None and turn.error == pytest.approx(0.0, abs=1e-9)
    assert before.stock == 0.5
    assert replace(before, point="faced").point == "faced"
