"""Verdicts and remedies: each single error has its own, and nothing is ever thinned below its least."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from geometry.core.say import named, say
from geometry.mount.placement import Placement, place
from geometry.survey.errors import ReadingError
from geometry.survey.limits import limits
from geometry.survey.model import P, Readings, model_of, nominal, takeable
from geometry.survey.readings import readings
from geometry.survey.remedy import Remedy, Shop
from geometry.survey.remedy_room import least_size
from geometry.survey.survey import Survey, survey
from geometry.survey.verdict import TURN, Verdict, judge
from geometry.tables.adapters import disc
from geometry.tables.axles import End, axle
from geometry.tables.interfaces import OwnRow, resolve
from geometry.tubes.tube import Station, Tube
from sheets.words.tell import told
from tests.said import codes, values

FINE = ReadingError(0.01, 0.005, 0.005, 0.001)
STAY = Tube("chainstay", 180.0, (Station(25.0, 16.0, 16.0), Station(380.0, 22.0, 22.0)), outset=5.0)
LEG = Tube("fork-leg", 90.0, (Station(25.0, 26.0, 26.0), Station(380.0, 34.0, 34.0)))


def shipped(name: str, end: End, system: str, native: float, rotor: float = 0.0) -> Placement:
    host, direction = ("chainstay", 180.0) if end == "rear" else ("fork-leg", 90.0)
    fitted = rotor or native
    return place(
        resolve(name, end, native, fitted), axle(system), rotor=fitted, host=host, direction=direction
    )


MOUNTS = {
    "tab, rear": shipped("is-rear", "rear", "135-qr", 140.0),
    "tab, front": shipped("is-front", "front", "100x15", 160.0),
    "post, rear": shipped("post", "rear", "142x12", 160.0),
    "post, front": shipped("post", "front", "100x15", 180.0),
    "flat, rear": shipped("flat-rear", "rear", "142x12", 140.0),
    "flat, front": shipped("flat-front", "front", "100x12", 160.0),
}
TAB, POST, FLAT = MOUNTS["tab, rear"], MOUNTS["post, rear"], MOUNTS["flat, rear"]


def look(
    placement: Placement,
    facing: float = 0.0,
    point: str = "finished",
    error: ReadingError = FINE,
    **off: float,
) -> Survey:
    """Return the survey of a mount that is off by parameters, every reading perfect."""
    tube = STAY if placement.end == "rear" else LEG
    found = readings(placement, axle=19.05, tube=tube, dropout_thickness=7.0, facing=facing)
    which = tuple(each for each in takeable(found, placement.interface.family) if "faced" not in each.key)
    at = nominal(placement)
    for key, value in off.items():
        at[P[key]] += value
    edges = model_of(placement, which, tube, 7.0).edges
    shown = Readings(placement, which, tuple(P), edges, 7.0)(at)[0]
    rows = []
    for each, distance in zip(which, shown, strict=True):
        stock = facing if each.kind == "edge" and placement.interface.family != "tab" else 0.0
        rows.append((each, float(distance) + each.reading.offset + (stock if point == "cold" else 0.0)))
    return survey(placement, rows, point=point, tube=tube, thickness=7.0, facing=facing, error=error)


def one(verdict: Verdict, kind: str) -> Remedy:
    words = {"redo": "not usable", "ask": "cannot tell"}
    assert verdict.word == words.get(kind, "usable with remedy")
    assert [each.kind for each in verdict.remedies] == [kind]
    return verdict.remedies[0]


@pytest.mark.parametrize("name", MOUNTS)
def test_a_mount_that_is_where_it_should_be_is_right(name: str) -> None:
    verdict = judge(look(MOUNTS[name], error=ReadingError()))
    assert (verdict.word, verdict.reasons, verdict.remedies) == ("right", (), ())
    assert verdict.good


def test_the_limits_are_the_tables_where_it_has_them() -> None:
    # A dimensioned drawing of 2014 (see interfaces.toml): 0.1 on near, far and spacing of both tabs.
    assert [limits(TAB.interface)[key].value for key in ("near", "far", "spacing", "lateral")] == [0.1] * 4
    assert [limits(TAB.interface)[key].grade for key in ("near", "lateral")] == ["B", "C"]
    assert limits(MOUNTS["tab, front"].interface)["spacing"].grade == "B"
    assert limits(POST.interface)["lateral"].value == 1.0
    assert limits(FLAT.interface)["height"].grade == "D"


def test_a_jobs_own_tolerance_is_its_limit() -> None:
    own = OwnRow("mine", "bench", "post", 160.0, 5.0, 0.7, 0.0, line=(55.0, 7.0, 81.0))
    band = limits(resolve("mine", "rear", 160.0, 160.0, own))
    assert {band[key].value for key in ("height", "along", "spacing")} == {0.7}
    assert band["height"].grade == "own"


# --- one error, one remedy


def test_a_face_too_high_is_faced_off() -> None:
    remedy = one(judge(look(POST, UP=0.5), Shop(size=40.0)), "face")
    assert dict(remedy.amounts) == {"near": pytest.approx(0.5), "far": pytest.approx(0.5)}
    assert remedy.leaves == pytest.approx(39.5)
    assert remedy.text["near"] == remedy.text["far"] == pytest.approx(0.5)


def test_a_face_too_low_is_shimmed() -> None:
    remedy = one(judge(look(POST, UP=-0.6), Shop(size=40.0)), "shim")
    assert dict(remedy.amounts) == {"shim": pytest.approx(0.6)}
    assert remedy.text.code == "remedy.shim.under_caliper"


def test_a_face_out_of_square_along_is_faced_by_two_numbers() -> None:
    remedy = one(judge(look(POST, UP_MORE=0.3), Shop(size=40.0)), "face")
    # The near end is 0.15 low and the far end 0.15 high: it comes down to the lower one.
    assert dict(remedy.amounts) == {"near": 0.0, "far": pytest.approx(0.3)}


def test_a_face_out_of_square_across_is_faced_by_two_numbers() -> None:
    remedy = one(judge(look(POST, LEAN=0.5), Shop(size=40.0, width=14.0)), "face")
    assert dict(remedy.amounts) == {"outboard side": pytest.approx(0.14), "inboard side": 0.0}


def test_stock_for_facing_is_counted_in() -> None:
    verdict = judge(look(POST, facing=0.5, point="cold", UP=0.4), Shop(size=40.0))
    assert dict(one(verdict, "face").amounts)["near"] == pytest.approx(0.9)
    low = judge(look(POST, facing=0.5, point="cold", UP=-0.4), Shop(size=40.0))
    assert dict(one(low, "face").amounts)["near"] == pytest.approx(0.1)
    fitting = judge(look(POST, facing=0.5, point="cold"), Shop(size=40.0))
    assert fitting.word == "right"


def test_a_tab_too_far_outboard_is_shimmed_and_one_inboard_faced() -> None:
    shim = one(judge(look(TAB, SIDE=0.4), Shop(size=6.0)), "shim")
    assert dict(shim.amounts) == {"shim": pytest.approx(0.4)}
    assert shim.text.code == "remedy.shim.under_adapter"
    face = one(judge(look(TAB, SIDE=-1.4), Shop(size=8.0)), "face")
    assert face.leaves == pytest.approx(6.6)


def test_a_tab_out_of_square_is_faced_where_it_is_thick_enough() -> None:
    remedy = one(judge(look(TAB, SIDE=0.0, SIDE_MORE=-0.18), Shop(size=8.0)), "face")
    # The far end is 0.18 more inboard than the near: there the tab stands proud.
    assert dict(remedy.amounts) == {"near": 0.0, "far": pytest.approx(0.18)}


@pytest.mark.parametrize("size", [6.2, None])
def test_a_tab_that_would_get_too_thin_is_not_faced(size: float | None) -> None:
    # 1.4 inboard: 0.55 beyond what is published and allowed, which slots of 1 to 1.5 may yet take.
    remedy = one(judge(look(TAB, SIDE=-1.4), Shop(size=size)), "ask")
    assert {"remedy.ask.maker", "remedy.ask.parts_may_take"} <= codes(remedy.text)
    assert ("remedy.thin.no_size" in codes(remedy.text)) == (size is None)
    # Slots of 1 either way (remembered) take 0.95.
    assert dict(one(judge(look(TAB, SIDE=-0.95), Shop(size=size)), "slots").amounts) == {
        "lateral_near": pytest.approx(0.95), "lateral_far": pytest.approx(0.95),
    }  # fmt: skip


def test_a_tab_beyond_all_that_parts_can_take_is_cut_off() -> None:
    # Published limit of 0.1 inboard of 0.75; slots of 1.5 and a shim of 3 together take 4.5, and not 5.2.
    remedy = one(judge(look(TAB, SIDE=-6.1), Shop(size=6.0)), "redo")
    assert remedy.text.code == "remedy.redo"
    assert one(judge(look(TAB, SIDE=-5.2), Shop(size=6.0)), "ask")


def test_one_screw_is_shimmed_where_facing_is_not_possible() -> None:
    # The far end 0.3 outboard of the near one: the adapter is inboard of the tab, and a shim of 0.3 there
    # brings it level with the near end.
    tab = one(judge(look(TAB, SIDE=-0.15, SIDE_MORE=0.3), Shop(size=6.0)), "shim")
    assert dict(tab.amounts) == {"near": 0.0, "far": pytest.approx(0.3)}
    post = one(judge(look(POST, UP_MORE=0.3), Shop(size=15.0)), "shim")
    assert dict(post.amounts) == {"near": pytest.approx(0.3), "far": 0.0}


def test_a_thin_tab_that_leans_is_shimmed_and_not_cut_off() -> None:
    # 0.5 in 50 over a seat 14 wide is 0.14; cone-and-cup washers are common practice, no source.
    remedy = one(judge(look(TAB, LEAN=0.5), Shop(size=6.0)), "shim")
    assert dict(remedy.amounts) == {"outer side": pytest.approx(0.14), "axle side": 0.0}
    assert "washers" in told(remedy.text)
    assert "washers" not in told(one(judge(look(FLAT, LEAN=0.5), Shop(size=35.0)), "shim").text)
    # A tab 6 thick that leans 6 in 50 takes no washer, and no maker's limit says that it is lost.
    assert one(judge(look(TAB, LEAN=6.0), Shop(size=6.0)), "ask")


def test_without_a_known_least_length_nothing_comes_off_beyond_the_stock() -> None:
    assert least_size(FLAT.interface) is None
    remedy = one(judge(look(FLAT, UP=1.2), Shop(size=35.0)), "ask")
    assert "remedy.thin.no_least" in codes(remedy.text) and values(remedy.text)["part"] == named("boss")
    within = judge(look(FLAT, facing=0.6, point="cold", UP=-0.35), Shop(size=35.0))
    assert dict(one(within, "face").amounts)["near"] == pytest.approx(0.25)


def test_a_flat_mount_off_sideways_moves_in_its_slots() -> None:
    remedy = one(judge(look(FLAT, SIDE=0.9)), "slots")
    assert remedy.text.code == "remedy.slots.move_each" and remedy.text["takes"] == 1.5
    assert remedy.text["near"] == say("remedy.slots.inboard", by=pytest.approx(0.9))  # type: ignore[arg-type]
    short = one(judge(look(FLAT, SIDE=1.9)), "ask").text
    assert "remedy.slots.short" in codes(short) and values(short)["takes"] == 1.5
    # The plate of a front flat mount has the slots, about 1 either way (remembered).
    front = one(judge(look(MOUNTS["flat, front"], SIDE=0.6)), "slots")
    assert dict(front.amounts)["lateral_far"] == pytest.approx(-0.6)


def test_a_post_off_sideways_by_what_its_own_number_may_be_off_is_never_cut_off() -> None:
    # The number is known to 1 (grade D), and a caliper's ears slide about 1: at 1.3 only its maker knows.
    remedy = one(judge(look(POST, SIDE=1.3)), "ask")
    assert "remedy.ask.limits_doubtful" in codes(remedy.text)


def test_holes_a_little_off_take_the_screws_play() -> None:
    # 6.2 for M6: 0.1 to either side, and 0.14 of spacing takes 0.07 at each.
    remedy = one(judge(look(TAB, NEAR=-0.07, FAR=0.07)), "play")
    assert dict(remedy.amounts)["worse hole"] <= 0.1
    # A slot 5.5 wide for M5: 0.25 to either side, spacing off by 0.4 takes 0.2 at each.
    flat = one(judge(look(FLAT, FAR=0.4)), "play")
    assert dict(flat.amounts) == {"each hole": pytest.approx(0.2)}
    # A post's thread is in the frame, and the play in the caliper's ears: about 6.4 for M6 (remembered).
    post = one(judge(look(POST, FAR=0.25)), "play")
    assert dict(post.amounts) == {"each hole": pytest.approx(0.125)}
    assert post.text.code == "remedy.play.in_caliper" and post.text["play"] == pytest.approx(0.2)


def test_holes_off_by_more_stay_while_the_pads_keep_their_track() -> None:
    remedy = one(judge(look(TAB, UP=0.35)), "track")
    assert 0.2 < dict(remedy.amounts)["pads"] < 0.5
    assert remedy.text.code == "remedy.track"


def test_a_spacing_that_no_screw_takes_is_cut_off_where_the_limit_is_published() -> None:
    assert "remedy.spacing.adapter" in codes(one(judge(look(TAB, NEAR=-0.5, FAR=0.5)), "redo").text)
    # Holes of 6.3 on both sides of M6 take 0.3 beyond the tolerance of 0.1: at 0.3 an adapter may yet go on.
    assert one(judge(look(TAB, NEAR=-0.15, FAR=0.15)), "ask")
    # A post's limit is our own: however far, it is its caliper's maker who says what it takes.
    post = one(judge(look(POST, FAR=0.6)), "ask").text
    assert "remedy.spacing.caliper" in codes(post) and values(post)["takes"] == pytest.approx(0.4)


def test_a_mount_too_far_out_takes_a_larger_disc_with_its_adapter() -> None:
    wide = shipped("post", "rear", "142x12", 160.0, 160.0)
    at = math.hypot(wide.interface.h, (wide.interface.x_near + wide.interface.x_far) / 2.0)
    out = 10.0 * wide.interface.h / at, 10.0 * (wide.interface.x_near + wide.interface.x_far) / 2.0 / at
    seen = look(wide, UP=out[0], NEAR=out[1], FAR=out[1])
    assert seen.pads is not None and seen.pads.move == pytest.approx(10.0, abs=0.01)
    assert seen.pads.out == pytest.approx(9.5, abs=0.01)
    # No disc but 180 lies 10 mm further out, and 160 needs no adapter on this mount.
    verdict = judge(seen, Shop(size=15.0))
    assert {each.kind for each in verdict.remedies} == {"rotor"}
    text = verdict.remedies[0].text
    assert (text["size"], text["fitted"], text["carries"]) == (180.0, 160.0, 160.0)
    assert text["adapter"].code == "remedy.disc.no_adapter"
    assert one(judge(seen, Shop(size=15.0, largest=160.0)), "ask")
    assert one(judge(seen, Shop(size=15.0, largest=0.0)), "ask")  # a frame known to take no disc
    for sure, code in ((True, "remedy.disc.fits"), (False, "remedy.disc.look")):
        assert judge(seen, Shop(size=15.0, largest=203.0, certain=sure)).remedies[0].text.code == code


def test_a_turn_about_the_axle_is_told_as_a_tilt() -> None:
    remedy = one(judge(look(TAB, TURN=math.radians(1.5))), "tilt")
    assert dict(remedy.amounts) == {"tilt": pytest.approx(1.5)}


def test_a_shim_has_its_end() -> None:
    text = one(judge(look(POST, UP=-4.0), Shop(size=40.0)), "ask").text
    assert say("remedy.shim.too_thick", shim=pytest.approx(4.0)) == text["why"]["why"]  # type: ignore[arg-type]


# --- cannot tell


def test_what_straddles_its_limit_is_read_again() -> None:
    verdict = judge(look(TAB, error=ReadingError(), UP=0.12))
    assert verdict.word == "cannot tell"
    assert not verdict.good
    assert any(each.code == "survey.reason.unsure" for each in verdict.reasons)


def test_what_is_missing_is_named() -> None:
    seen = look(TAB)
    keys = [i for i, each in enumerate(seen.taken) if each.kind in ("near", "far")]
    half = survey(TAB, [(seen.taken[i], seen.shown[i]) for i in keys])
    assert half.unmeasured == ("spacing", "lateral", "square_along", "square_across")
    assert {say("reading.what.spacing"), say("survey.error.lateral")} < set(half.missing)
    assert judge(half).word == "cannot tell"
    assert half.holes[0].found is None
    assert TURN in judge(half).unseen


def test_contradicting_readings_are_judged_no_further() -> None:
    seen = look(TAB)
    shown = list(seen.shown)
    shown[0] += 1.0
    verdict = judge(survey(TAB, list(zip(seen.taken, shown, strict=True)), tube=STAY, thickness=7.0))
    assert verdict.word == "cannot tell"
    assert verdict.reasons[0].code == "survey.contradicts.over_and_between"
    assert verdict.remedies == ()


def test_what_is_beyond_help_is_not_usable_even_where_something_is_missing() -> None:
    seen = look(TAB, FAR=1.5)
    spacing = [
        (each, value) for each, value in zip(seen.taken, seen.shown, strict=True) if each.kind == "spacing"
    ]
    verdict = judge(survey(TAB, spacing))
    assert verdict.word == "not usable"
    assert one(verdict, "redo")


def test_what_was_not_measured_condemns_nothing() -> None:
    seen = look(TAB, NEAR=0.8, FAR=0.8)
    near = [(each, value) for each, value in zip(seen.taken, seen.shown, strict=True) if each.kind == "near"]
    verdict = judge(survey(TAB, near))
    assert (verdict.word, verdict.remedies) == ("cannot tell", ())
    post = look(POST, NEAR=0.9, FAR=0.9)
    kinds = ("near", "far", "spacing", "side")
    flat = [(each, value) for each, value in zip(post.taken, post.shown, strict=True) if each.kind in kinds]
    verdict = judge(survey(POST, flat, thickness=7.0))
    assert (verdict.word, verdict.remedies) == ("cannot tell", ())
    assert any("survey.error.height" in codes(each) for each in verdict.reasons)


def test_the_survey_says_what_it_is() -> None:
    found = {
        "survey.ridden.within": judge(look(TAB)),
        "survey.ridden.face": judge(look(POST, UP=0.5), Shop(size=40.0)),
        "survey.ridden.done": judge(look(TAB, UP=0.35)),
        "survey.ridden.never": judge(look(TAB, NEAR=-0.5, FAR=0.5)),
        "survey.ridden.ask": judge(look(POST, FAR=0.6)),
        "survey.ridden.again": judge(look(TAB, error=ReadingError(), UP=0.12)),
    }
    assert len({each.word for each in found.values()}) == 4
    for code, verdict in found.items():
        assert verdict.says == say("survey.says", ridden=say(code))
        assert told(verdict.says).endswith("not ridden.")


# --- never too thin


@settings(deadline=None, max_examples=300)
@given(
    st.sampled_from(sorted(MOUNTS)),
    *(st.floats(-most, most) for most in (2.0, 1.0, 2.0, 1.0, 2.0)),
    # About a tab's least, about a thread's, and anything.
    st.one_of(st.none(), st.floats(5.5, 7.5), st.floats(14.5, 17.0), st.floats(4.0, 60.0)),
    st.sampled_from([0.0, 0.3, 1.0]),
)  # fmt: skip
def test_no_remedy_thins_a_mount_below_its_least(
    name: str,
    up: float,
    up_more: float,
    side: float,
    side_more: float,
    lean: float,
    size: float | None,
    stock: float,
) -> None:
    placement = MOUNTS[name]
    tab = placement.interface.family == "tab"
    off = {"UP": up, "SIDE": side, "SIDE_MORE": side_more, "LEAN": lean} | (
        {} if tab else {"UP_MORE": up_more}
    )
    verdict = judge(look(placement, facing=stock, point="cold", **off), Shop(size=size))
    least = least_size(placement.interface)
    for remedy in verdict.remedies:
        if remedy.kind != "face":
            continue
        hole = max((value for _, value in remedy.amounts), default=0.0)
        across = "side" in remedy.amounts[0][0]
        if size is None or least is None:
            # Nothing but the stock, however the face leans.
            assert hole <= (0.0 if across else stock) + 1e-9
        else:
            others = [each for each in verdict.remedies if each.kind == "face" and each is not remedy]
            along = max((value for each in others for _, value in each.amounts), default=0.0)
            taken_off = hole + max(0.0, along - stock) if across else max(0.0, hole - stock)
            assert taken_off == 0.0 or size - taken_off >= least.value - 1e-9


@given(st.sampled_from(sorted(MOUNTS)), st.floats(0.0, 3.0), st.booleans())
@settings(deadline=None)
def test_discs_proposed_are_on_sale_and_under_the_pads(name: str, off: float, inward: bool) -> None:
    placement = MOUNTS[name]
    off = -off if inward else off
    verdict = judge(look(placement, UP=off, NEAR=off, FAR=off))
    for remedy in verdict.remedies:
        if remedy.kind == "rotor":
            size = dict(remedy.amounts)["disc"]
            assert size in disc().sizes
            assert size != 2.0 * placement.rotor.radius
            assert abs(dict(remedy.amounts)["pads"]) <= 0.5


def test_pads_move_with_the_mount() -> None:
    # Own arithmetic: a tab moved along its own radius carries the pads' middle about as far.
    seen = look(TAB, UP=0.3)
    assert seen.pads is not None
    assert 0.0 < seen.pads.move < 0.3
    assert seen.pads.out == 0.0
    still = look(TAB, TURN=0.05)
    assert still.pads is not None and still.pads.move == pytest.approx(0.0, abs=1e-9)
    assert replace(still, stock=1.0).stock == 1.0
    assert np.isfinite(seen.pads.deviation)


@pytest.mark.parametrize("size", [180.0, 203.0])
@given(share=st.floats(0.0, 1.0))
@settings(max_examples=20)
def test_no_mount_is_wrong_that_lies_between_two_published_sets(size: float, share: float) -> None:
    # andrewsuzuki.com, Disc Brake Adapter Finder, 2020-06-27, differs from the set drawn at 180 and 203.
    post = shipped("post", "front", "100x15", size)
    other = post.interface.second
    assert other is not None
    seen = look(post, UP=share * other.up, NEAR=share * other.along, FAR=share * other.along)
    assert {each.state for each in seen.misses if each.key.startswith(("height", "along", "spacing"))} == {
        "within"
    }
    assert judge(seen).word == "right"


def test_beyond_both_sets_a_mount_is_judged_as_before() -> None:
    post = shipped("post", "front", "100x15", 203.0)
    other = post.interface.second
    assert other is not None
    # At 203 the second set's holes lie 0.79 further up the tube: 0.5 (own judgement) beyond that is allowed.
    miss = look(post, NEAR=other.along + 0.6, FAR=other.along + 0.6).miss("along_near")
    assert miss is not None and miss.state == "beyond"
    assert told(miss.allowed) == "-0.50 to +1.29 (grade D)"
    short = look(post, NEAR=-0.6, FAR=-0.6).miss("along_near")
    assert short is not None and short.state == "beyond"


def test_a_tab_sideways_between_what_front_and_rear_say_is_not_called_wrong() -> None:
    # 15.25 and 14.50 from tab to disc are both published: 0.75 inboard of the drawn place, and 0.1 beyond.
    right = judge(look(TAB, SIDE=-0.75))
    assert right.word == "right"
    assert right.reasons[0].code == "survey.reason.between"
    assert judge(look(TAB, SIDE=-0.05)).reasons == ()
    assert judge(look(TAB, SIDE=-0.95), Shop(size=8.0)).word == "usable with remedy"
    assert judge(look(TAB, SIDE=0.2)).word == "usable with remedy"
    assert judge(look(MOUNTS["tab, front"], SIDE=0.75)).word == "right"
    assert judge(look(MOUNTS["tab, front"], SIDE=-0.2), Shop(size=8.0)).word == "usable with remedy"
