"""What a remedy covers: no mount is usable while one error beyond its limit is not taken, by number."""

import math
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from geometry.survey.errors import ReadingError
from geometry.survey.remedy import Remedy, Shop
from geometry.survey.remedy_room import least_size, pads_once_level
from geometry.survey.survey import Survey, survey
from geometry.survey.verdict import Verdict, judge
from tests.geometry.test_survey_verdict import FINE, FLAT, MOUNTS, POST, TAB, look, one
from tests.said import codes, values


def put_right(seen: Survey, verdict: Verdict, key: str) -> bool:
    """Return whether facing and shims together bring a height, or a tab sideways, to its limit."""
    found = seen.miss(key)
    assert found is not None and found.error is not None and found.limit is not None
    above = -found.error if seen.placement.interface.family == "tab" else found.error
    for remedy in verdict.remedies:
        amounts = dict(remedy.amounts)
        here = amounts.get(key.rpartition("_")[2], amounts.get("near", 0.0))
        above += amounts.get("shim", 0.0) + (here if remedy.kind == "shim" else -here)
    # Told at both holes it is faced alike, and what is out of square within its limit stays.
    low, high = (each * (-1.0 if seen.placement.interface.family == "tab" else 1.0) for each in found.band)
    return min(low, high) - found.limit.value - 0.02 <= above <= max(low, high) + found.limit.value + 0.02


def covers(seen: Survey, verdict: Verdict, remedy: Remedy, key: str) -> bool:
    """Return whether a remedy takes an error by number; own arithmetic, apart from the remedies'."""
    form, amounts = seen.placement.interface, dict(remedy.amounts)
    tab = form.family == "tab"
    screws = {"M5": 5.0, "M6": 6.0}
    # Where the thread is in the frame the play is in the caliper's ear or plate (remembered).
    ears = {"M5": 5.4, "M6": 6.4}
    hole = ears[form.hole.screw] if form.hole.kind == "thread" else form.hole.diameter.value
    play = hole - screws[form.hole.screw]
    found = seen.miss(key)
    assert found is not None and found.error is not None
    if key == "spacing":
        # Each hole gives half its clearance either way: both together give one whole clearance.
        return remedy.kind == "play" and abs(found.error) < play
    if key in ("near", "far"):
        pads = abs(amounts.get("pads", math.inf)) <= 0.5
        return amounts.get("worse hole", math.inf) <= play / 2.0 or (
            remedy.kind in ("track", "rotor") and pads
        )
    if key.startswith("along"):
        return remedy.kind in ("track", "rotor") and abs(amounts["pads"]) <= 0.5
    if remedy.kind == "slots":
        # A caliper's own slots give about 1 either way (remembered), a rear flat mount's are in the frame.
        slots = 1.0 if seen.adjustment is None else seen.adjustment.value
        return key.startswith("lateral") and amounts[key] == -found.error and abs(found.error) < slots
    if key.startswith("lateral") and not tab:
        return False
    if key == "turn":
        return remedy.kind == "tilt" and amounts["tilt"] == pytest.approx(seen.placement.tilt + found.error)
    if key == "square_across":
        wedge = max(amounts.values())
        most = 1.0 if remedy.kind == "shim" else math.inf
        return any("side" in name for name in amounts) and wedge > 0.0 and abs(found.error) <= most
    if key == "square_along":
        gap = amounts.get("far", 0.0) - amounts.get("near", 0.0)
        return remedy.kind in ("face", "shim") and abs(abs(gap) - abs(found.error)) <= 0.02
    assert key.startswith(("height", "lateral"))
    if remedy.kind in ("track", "rotor"):
        return not tab and abs(amounts["pads"]) <= 0.5
    return remedy.kind in ("face", "shim") and put_right(seen, verdict, key)


def uncovered(seen: Survey, verdict: Verdict) -> list[str]:
    return [
        each.key
        for each in seen.misses
        if each.state == "beyond"
        and not any(
            each.key in one.answers and covers(seen, verdict, one, each.key) for one in verdict.remedies
        )
    ]


SINGLE = ("UP", "NEAR", "FAR", "TURN", "SIDE", "SIDE_MORE", "LEAN")


# A tab's holes have one line, and it leans by the turn: no face of its own is level or not.
CASES = [
    (name, key)
    for name in MOUNTS
    for key in (*SINGLE, "UP_MORE")
    if not (name.startswith("tab") and key == "UP_MORE")
]


@pytest.mark.parametrize(("name", "key"), CASES)
def test_each_single_error_beyond_is_covered_by_number_or_not_usable(name: str, key: str) -> None:
    placement = MOUNTS[name]
    words = set()
    for size in (0.15, 0.25, 0.4, 0.6, 0.9, 1.4, 2.2, 3.5):
        for off in (size, -size):
            seen = look(placement, **{key: math.radians(off) if key == "TURN" else off})
            verdict = judge(seen, Shop(size=18.0))
            words.add(verdict.word)
            assert not verdict.good or uncovered(seen, verdict) == []
            assert (verdict.word == "not usable") == ([each.kind for each in verdict.remedies] == ["redo"])
            assert (verdict.word == "right") <= (not any(each.state == "beyond" for each in seen.misses))
    # An error this large is never right, whatever it is.
    assert words - {"right"}


@settings(deadline=None, max_examples=300)
@given(
    st.sampled_from(sorted(MOUNTS)),
    *(st.one_of(st.just(0.0), st.floats(-most, most)) for most in (2.0, 1.0, 1.0, 1.0, 2.0, 0.6, 0.6)),
    st.sampled_from([None, 6.0, 18.0]),
)
def test_nothing_is_usable_while_an_error_beyond_its_limit_is_uncovered(
    name: str,
    up: float,
    both: float,
    far: float,
    turn: float,
    side: float,
    more: float,
    lean: float,
    size: float | None,
) -> None:
    off = {"UP": up, "NEAR": both, "FAR": both + far / 2.0, "TURN": math.radians(turn), "SIDE": side}
    seen = look(MOUNTS[name], **off, SIDE_MORE=more, LEAN=lean)
    verdict = judge(seen, Shop(size=size))
    if verdict.good:
        assert uncovered(seen, verdict) == []
    if verdict.word == "not usable":
        assert [each.kind for each in verdict.remedies] == ["redo"]


def test_an_error_that_no_remedy_answers_is_not_usable(monkeypatch: pytest.MonkeyPatch) -> None:
    whole = judge(look(TAB, UP=0.35, SIDE=0.4)).remedies
    assert {each.kind for each in whole} == {"shim", "track"}
    monkeypatch.setattr("geometry.survey.verdict.remedies", lambda survey, shop: whole[:1])
    assert judge(look(TAB, UP=0.35, SIDE=0.4)).word == "not usable"


def off_by(near: float, far: float, spacing: float, error: ReadingError = FINE) -> Survey:
    """Return the survey of the rear tab whose three distances are off."""
    seen = look(TAB)
    more = {"near": near, "far": far, "spacing": spacing}
    rows = [
        (each, value + more[each.kind])
        for each, value in zip(seen.taken, seen.shown, strict=True)
        if each.kind in more
    ]
    rest = [
        (each, value)
        for each, value in zip(seen.taken, seen.shown, strict=True)
        if each.kind in ("side", "lean")
    ]
    return survey(TAB, rows + rest, thickness=7.0, error=error)


def test_pads_on_their_track_do_not_make_holes_take_an_adapter() -> None:
    # The near hole 0.2 off: 39.9 is 40.1, 51.0 is 50.8. A 6.2 hole leaves an M6 screw 0.1 either way, both
    # holes 0.2: with a reading's own error that does not surely take 0.2.
    seen = off_by(0.2, 0.0, -0.2)
    assert seen.pads is not None and abs(seen.pads.move) < 0.5
    remedy = one(judge(seen), "ask")
    assert set(remedy.answers) == {"near", "spacing"}
    assert values(remedy.text)["takes"] == pytest.approx(0.2)
    assert "remedy.spacing.read_first" in codes(remedy.text)
    far = one(judge(off_by(0.2, 0.0, -0.6)), "redo")
    assert "remedy.spacing.read_first" not in codes(far.text)


def test_what_both_holes_take_leaves_the_pair_to_the_pads() -> None:
    verdict = judge(off_by(0.3, 0.0, -0.16))
    assert verdict.word == "usable with remedy"
    assert [(each.kind, each.answers) for each in verdict.remedies] == [
        ("play", ("spacing",)), ("track", ("near",)),
    ]  # fmt: skip
    assert dict(verdict.remedies[0].amounts) == {"each hole": pytest.approx(0.08)}


def test_no_disc_takes_up_a_tab_that_sits_sideways_or_a_face_out_of_square() -> None:
    text = one(judge(look(TAB, SIDE=3.4)), "ask").text
    assert "remedy.shim.too_thick" in codes(text) and values(text)["shim"] == pytest.approx(3.4)
    assert one(judge(look(TAB, SIDE=4.8)), "redo")
    crooked = one(judge(look(POST, UP=-3.4, UP_MORE=0.4), Shop(size=40.0)), "ask")
    assert "square_along" in crooked.answers


def test_pads_are_judged_where_a_faced_mount_will_have_them() -> None:
    # High and along cancel at the pads as found; once the face is down, along alone carries them off.
    form = POST.interface
    middle = (form.x_near + form.x_far) / 2.0
    along = -1.4
    up = -along * middle / form.h
    seen = look(POST, UP=up, NEAR=along, FAR=along)
    assert seen.pads is not None and abs(seen.pads.move) < 0.5
    assert judge(seen, Shop(size=40.0)).word == "cannot tell"
    # Where nothing can be faced off, it stays where the pads are on their track.
    left = judge(seen, Shop(size=15.0))
    assert {each.kind for each in left.remedies} == {"track"}


@given(st.sampled_from(["post, rear", "post, front", "flat, rear"]), *[st.floats(-2.0, 2.0)] * 3)
@settings(deadline=None, max_examples=30)
def test_once_a_face_is_level_the_pads_are_those_of_a_mount_that_was_never_off_in_height(
    name: str, up: float, near: float, far: float
) -> None:
    never = look(MOUNTS[name], NEAR=near, FAR=far).pads
    found = pads_once_level(look(MOUNTS[name], UP=up, NEAR=near, FAR=far), 0.0)
    assert never is not None and found is not None
    assert (found.move, found.out) == pytest.approx((never.move, never.out), abs=1e-6)


def rough(seen: Survey, key: str, deviation: float) -> Survey:
    """Return a survey in which one error is known no better than so."""
    misses = (replace(each, deviation=deviation) if each.key == key else each for each in seen.misses)
    return replace(seen, misses=tuple(misses))


@pytest.mark.parametrize("hole", ["near", "far"])
def test_a_slot_must_take_what_is_known_least_well(hole: str) -> None:
    # Slots take 1.5 either way: 1.4, and not 1.4 that may be 1.96 times 0.1 more, at whichever hole.
    seen = look(FLAT, SIDE=1.4)
    assert one(judge(seen), "slots")
    assert "remedy.slots.short" in codes(one(judge(rough(seen, f"lateral_{hole}", 0.1)), "ask").text)


@pytest.mark.parametrize("key", ["near", "far"])
def test_screws_must_take_what_is_known_least_well(key: str) -> None:
    # A hole of 6.2 lets M6 stand 0.1 off: 0.07, and not 0.07 that may be 1.96 times 0.05 more.
    seen = look(TAB, NEAR=-0.07, FAR=0.07)
    assert "worse hole" in dict(one(judge(seen), "play").amounts)
    for remedy in judge(rough(seen, key, 0.05)).remedies:
        assert "worse hole" not in dict(remedy.amounts)


def test_what_stays_of_a_post_that_leans_is_its_length_less_all_that_comes_off() -> None:
    # 0.5 in 50 over a face 14 wide is 0.14 (own arithmetic), beside 0.5 that it stands too high.
    shop = Shop(size=40.0, width=14.0)
    leaning = one(judge(look(POST, LEAN=0.5), shop), "face")
    assert leaning.leaves == pytest.approx(39.86) and leaning.text.code == "remedy.face.across_stays"
    high, across = judge(look(POST, UP=0.5, LEAN=0.5), shop).remedies
    assert (high.leaves, across.leaves) == (pytest.approx(39.5), pytest.approx(39.36))


def test_the_least_that_a_tab_may_have_is_the_lower_end_of_its_rows_band() -> None:
    tab = TAB.interface.tab_thickness
    assert tab is not None and tab.low == 6.0
    band = replace(tab, value=7.0, low=6.5, high=9.0)
    for number, least in ((band, 6.5), (replace(band, low=None), 7.0)):
        found = least_size(replace(TAB.interface, tab_thickness=number))
        assert found is not None and found.value == least


def test_a_face_that_is_right_with_its_stock_on_is_left() -> None:
    remedy = one(judge(look(POST, facing=0.5, point="cold", UP=-0.5), Shop(size=40.0)), "face")
    assert dict(remedy.amounts) == {"near": 0.0, "far": 0.0}
