"""Clearances of a mount: which are known, what fails and what only warns, and where the mount can go."""

import functools
import math
from dataclasses import replace
from typing import Any

import pytest

from geometry.clearance.bodies import Heads, OwnCaliper, corridors, entry
from geometry.clearance.convex import Nearest
from geometry.clearance.judged import Clearance, Mount, OwnLimits, judged, limit_of, no_disc, paired
from geometry.clearance.margins import clearances
from geometry.clearance.tilt import Spare, least, nearer, on_host, tilts
from geometry.core.say import named, say
from geometry.core.tables import Number
from geometry.mount.placement import Placement, place
from geometry.tables.axles import axle
from geometry.tables.interfaces import OwnRow, resolve
from geometry.tubes.tube import Station, Tube
from sheets.words.tell import told

STAYS = ("chainstay", "seatstay")
CHAINSTAY = Tube("chainstay", 180.0, (Station(30.0, 16.0, 16.0), Station(380.0, 16.0, 16.0)), outset=5.0)
SEATSTAY = Tube("seatstay", 120.0, (Station(30.0, 14.0, 14.0), Station(300.0, 14.0, 14.0)), outset=5.0)
BOTH = {"chainstay": CHAINSTAY, "seatstay": SEATSTAY}
SIZES = Mount(Number(14.0, "own", ""), Number(20.0, "own", ""), Number(6.0, "own", ""))
EDGE = say("tilt.hole_at_edge", hole=named("far"), tube=named("chainstay"))
OWN = OwnCaliper(50.0, 30.0, 17.0, 18.0, depth=0.0)


def flat(tilt: float = 0.0, rotor: float = 160, host: str = "chainstay") -> Placement:
    """Return a rear flat mount."""
    face = resolve("flat-rear", "rear", 160, rotor)
    direction = 180.0 if host == "chainstay" else 120.0
    return place(face, axle("142x12"), rotor=rotor, host=host, direction=direction, tilt=tilt)


def found(placement: Placement, tubes: dict[str, Tube], **changes: Any) -> dict[str, Clearance]:
    """Return clearances by their keys."""
    told: dict[str, Any] = {"wanted": STAYS, "mount": SIZES} | changes
    return {each.key: each for each in clearances(placement, tubes, **told)}


def test_the_disc_to_a_stay_by_arithmetic() -> None:
    """Disc's outer face at -13.45 (interfaces: 15.25, less 1.8), stay's side at 5 - 8 = -3; run-out 0.2."""
    one = found(flat(), BOTH)["disc 160 to chainstay"]
    assert one.distance == pytest.approx(10.45, abs=1e-8)
    assert (one.allowance, one.asked, one.least, one.state) == (0.2, 3.0, 2.0, "ok")
    assert one.left == pytest.approx(10.25, abs=1e-8)
    assert one.first is not None and one.second is not None
    assert math.dist(one.first, one.second) == pytest.approx(10.45, abs=1e-8)
    assert one.first[2] == pytest.approx(-13.45) and one.second[2] == pytest.approx(-3.0)


@pytest.mark.parametrize(
    ("outset", "state", "short"),
    [
        (-2.25 + 0.001, "ok", " 3.0 after 0.2 for run-out, asked 3.0"),
        (-2.25 - 0.001, "warn", " 2.9 after 0.2 for run-out, asked 3.0"),
        (-3.25 + 0.001, "warn", " 2.0 after 0.2 for run-out, asked 3.0"),
        (-3.25 - 0.001, "fail", " 1.9 after 0.2 for run-out, asked 2.0"),
        (-14.0, "fail", ": they meet"),
    ],
)
def test_the_disc_warns_below_3_and_fails_below_2(outset: float, state: str, short: str) -> None:
    """Ask 3.0, warn below it, fail below 2.0: own judgement, D (interfaces, part 2, section 6).

    Stay's side at outset - 8, so 13.45 - 8 + outset - 0.2 is left.
    """
    one = found(flat(), {"chainstay": replace(CHAINSTAY, outset=outset)})["disc 160 to chainstay"]
    assert (one.state, told(one.short)) == (state, f"disc 160 to chainstay{short}")
    assert one.grade == "D" and one.source == entry("limits", "rotor").source


def test_what_is_missing_is_unknown_and_says_which_number() -> None:
    named = found(flat(), {}, mount=Mount())
    assert {each.state for each in named.values() if each.kind != "key"} == {"unknown"}
    assert named["disc 160 to seatstay"].why == say("clearance.give", keys=("tubes.seatstay",))
    assert named["key at the near screw"].why == say("clearance.give", keys=("boss.length",))
    assert told(named["boss to disc"].sentence) == (
        "boss to disc: unknown; give boss.diameter and boss.length."
    )
    assert named["bosses to axle"].why == say("clearance.give", keys=("boss.diameter", "boss.length"))
    assert named["boss to disc"].told == "unknown"
    for each in named.values():
        if each.state == "unknown":
            assert each.distance is None and each.left is None and each.second is None
    unplaced = replace(flat(), rotor=replace(flat().rotor, inner_face_z=None, outer_face_z=None))
    for each in found(unplaced, BOTH).values():
        # What is on the axle, a boss beside a stay and a key's way past it do not rest on the disc.
        assert each.kind in ("key", "axle", "stay") or (
            each.state == "unknown" and each.why == no_disc("142x12")
        )


@pytest.mark.parametrize("lacks", [("outset",), ("splay",), ("outset", "splay")])
def test_a_tube_that_is_not_placed_never_fails_and_never_passes(lacks: tuple[str, ...]) -> None:
    """With 0 in its place a stay may seem to lie in the disc, or well clear of it: neither is known."""
    inside = {"chainstay": replace(CHAINSTAY, outset=-14.0)}
    assert found(flat(), inside)["disc 160 to chainstay"].state == "fail"
    for outset in (-14.0, 5.0):
        named = found(flat(), {"chainstay": replace(CHAINSTAY, outset=outset, lacks=lacks)})
        beside = [each for name, each in named.items() if name.endswith("to chainstay")]
        assert {each.kind for each in beside} == {"rotor", "bolts"}
        for each in beside:
            assert (each.state, each.distance, each.told) == ("unknown", None, "unknown")
            measure = tuple(f"tubes.chainstay.{key}" for key in lacks)
            assert each.why == say("clearance.measure", keys=measure)
        assert not [each.key for each in named.values() if each.state in ("fail", "warn")]


def test_a_remembered_caliper_warns_and_an_own_one_fails() -> None:
    """Part 2, section 6: caliper numbers are remembered, D; a flat mount at 0 reaches into a stay at 60."""
    across = {"chainstay": CHAINSTAY, "seatstay": replace(SEATSTAY, direction=150.0)}
    assert found(flat(), across)["caliper to seatstay"].state == "warn"
    named = found(flat(), across, own=OWN)
    assert named["caliper to seatstay"].state == "fail"
    assert "caliper to chainstay" not in named  # it sits there


def test_an_own_caliper_is_a_box_by_arithmetic() -> None:
    """A stay along the mount, 30 outboard of the disc's middle: the box's side 18, the stay's radius 8."""
    beside = replace(CHAINSTAY, name="seatstay", offset=51.0, outset=-14.35 + 30.0)
    one = found(flat(), {"seatstay": beside}, own=OWN)["caliper to seatstay"]
    assert one.distance == pytest.approx(30.0 - 18.0 - 8.0, abs=1e-8)


def test_the_jobs_own_limits_are_asked_for_and_the_least() -> None:
    limits = OwnLimits(rotor=10.5, runout=0.0, key=50.0)
    named = found(flat(), BOTH, limits=limits)
    one = named["disc 160 to chainstay"]
    assert (one.state, one.asked, one.least, one.grade) == ("fail", 10.5, 10.5, "own")
    assert one.clause["trust"] == say("clearance.own_limit") == one.source
    assert {each.state for each in named.values() if each.kind == "key"} == {"fail"}


def test_a_limit_below_what_is_asked_is_told_where_there_is_one() -> None:
    """The table asks for 3 beside the disc and lets 2 pass; an own limit is both, and what is not known
    well enough to fail has none.
    """
    table, own = (found(flat(), BOTH, limits=limits) for limits in (OwnLimits(), OwnLimits(rotor=1.5)))
    one = table["disc 160 to chainstay"].clause
    assert (one.code, one["asked"], one["least"]) == ("clearance.asked_and_least", 3.0, 2.0)
    assert own["disc 160 to chainstay"].clause.code == "clearance.asked"
    remembered = table["caliper to seatstay"]
    assert remembered.least is None and remembered.clause.code == "clearance.asked"


def test_a_key_reaches_the_screw_past_what_is_there() -> None:
    """The screw comes from below the stay; its corridor, 4.36 about z = -3.05, is 6.04 from the disc.

    ISO 4762 knurled head of M5: 8.72; a stay 10 below the head leaves less than the disc does.
    """
    named = found(flat(), {"chainstay": CHAINSTAY})
    assert named["key at the near screw to disc"].distance == pytest.approx(13.45 - 3.05 - 4.36, abs=1e-8)
    below = Tube("seatstay", 180.0, (Station(30.0, 10.0, 10.0), Station(300.0, 10.0, 10.0)), offset=-5.0)
    assert found(flat(), {"seatstay": below})["key at the near screw to seatstay"].state == "warn"


@pytest.mark.parametrize("thickness", [None, 4.0])
def test_a_key_to_a_tabs_screw_begins_on_its_outer_face(thickness: float | None) -> None:
    """The row's own thickness where the tab's is not given; the screw goes in from outboard."""
    face = resolve("is-rear", "rear", None, 160)
    placement = place(face, axle("135-qr"), rotor=160, host="seatstay", direction=120.0)
    assert face.tab_thickness is not None and face.tab_thickness.value != 4.0
    for hole, way in zip(placement.holes, corridors(placement, tab_thickness=thickness), strict=True):
        assert way.rod is not None and not way.missing
        outer = hole.centre[2] + (face.tab_thickness.value if thickness is None else thickness)
        assert way.rod((0.0, 0.0, -1.0))[2] == pytest.approx(outer)
        assert way.rod((0.0, 0.0, 1.0))[2] > outer + 10.0


@pytest.mark.parametrize(("diameter", "left"), [(14.0, 3.4), (16.0, 2.4)])
def test_a_flat_boss_to_the_disc(diameter: float, left: float) -> None:
    """Interfaces, part 2, 1d: 12.2 - D / 2 - 1.8 is 3.4 at 14 and 2.4 at 16."""
    sizes = replace(SIZES, diameter=Number(diameter, "own", ""))
    one = found(flat(), {}, mount=sizes)["near boss to disc"]
    assert one.distance == pytest.approx(left, abs=1e-8) and one.state == "ok"
    assert found(flat(), {}, mount=sizes)["mount to the disc's spoke side"].distance == pytest.approx(
        left + 1.8
    )


def test_a_mount_near_the_disc_fails_only_where_its_place_is_known() -> None:
    """A post's sideways place is remembered, D and plus or minus 1: near the disc it warns; an own one fails.

    A post of 17 about -4.25 reaches in to -12.75, 0.7 from the disc; about -4.0 it leaves 0.95.
    """
    wide = replace(SIZES, diameter=Number(17.0, "own", ""))
    face = resolve("post", "rear", 160, 160)
    post = place(face, axle("142x12"), rotor=160, host="chainstay", direction=180.0)
    assert found(post, {}, mount=wide)["near post to disc"].state == "warn"
    row = OwnRow("post", "drawing", lateral=-4.0, line=(55.9, 6.8, 81.0))
    own = place(
        resolve("post", "rear", 160, 160, row), axle("142x12"), rotor=160, host="chainstay", direction=180.0
    )
    assert found(own, {}, mount=wide)["near post to disc"].state == "fail"


def test_bodies_that_meet_fail_whatever_their_grade() -> None:
    """A post of 24 about a remembered -4.25 reaches through the disc's outer face at -13.45 to -16.25.

    Stays from s = 20 on with a side at -11 stand among screws that sweep out to -10.45 as far as 26.25.
    """
    post = place(
        resolve("post", "rear", 160, 160), axle("142x12"), rotor=160, host="chainstay", direction=180.0
    )
    named = found(post, {}, mount=replace(SIZES, diameter=Number(24.0, "own", "")))
    for name in ("near post to disc", "mount to the disc's spoke side"):
        assert (named[name].state, named[name].grade, named[name].least) == ("fail", "D", None)
    stays = {
        name: replace(each, stations=(Station(20.0, 14.0, 14.0), each.stations[1]), outset=-4.0)
        for name, each in BOTH.items()
    }
    for name in STAYS:
        one = found(flat(), stays)[f"disc's screws to {name}"]
        assert (one.state, told(one.short)) == ("fail", f"disc's screws to {name}: they meet")
    own = found(flat(), stays, heads=Heads(38.0, 3.0))
    assert {own[f"disc's screws to {name}"].state for name in STAYS} == {"warn"}


def test_a_room_that_something_reaches_into_warns_and_is_not_called_a_meeting() -> None:
    """A remembered caliper is a box about a body that nobody measured, a key's way only air."""
    across = {"chainstay": CHAINSTAY, "seatstay": replace(SEATSTAY, direction=150.0)}
    one = found(flat(), across)["caliper to seatstay"]
    assert (one.distance, one.state) == (0.0, "warn")
    assert one.meets == say("clearance.reaches_in")
    assert told(one.short) == "caliper to seatstay: it reaches in there"


# Distances of 3.04999, 3.05 and 3.0999999 less 0.2 for run-out.
@pytest.mark.parametrize(
    ("distance", "left"), [(3.04999, "2.8"), (3.1, "2.9"), (3.19999, "2.9"), (3.2, "3.0"), (0.25, "0.0")]
)
def test_a_clearance_is_told_in_one_way_rounded_down(distance: float, left: str) -> None:
    points = ((0.0, 0.0, 0.0), (0.0, 0.0, distance))
    one = judged(
        "rotor",
        paired(named("disc"), named("chainstay")),
        Nearest(distance, distance, *points),
        limit_of(OwnLimits(), "rotor"),
        binding=True,
        less=0.2,
    )
    assert one.told == left
    assert told(one.gap) == f"disc to chainstay {left} after 0.2 for run-out"
    assert told(one.sentence).startswith(f"disc to chainstay: {left} mm after 0.2 for run-out, asked 3,")
    assert (one.state == "ok") == (float(left) >= 3.0)


def test_the_tables_limits() -> None:
    """Ask 3.0, least 2.0 for the disc, D; run-out 0.2, C (interfaces, part 2, section 6)."""
    limits = {name: entry("limits", name) for name in ("rotor", "rotor_least", "runout", "caliper", "key")}
    assert (limits["rotor"].value, limits["rotor_least"].value, limits["runout"].value) == (3.0, 2.0, 0.2)
    # No published minimum was found.
    assert "own judgement" in str(limits["rotor"].source)
    assert {name: each.grade for name, each in limits.items()} == {
        "rotor": "D", "rotor_least": "D", "runout": "C", "caliper": "D", "key": "D",
    }  # fmt: skip


# --- where the mount can go


@functools.cache
def turning(tilt: float, included: float) -> tuple[tuple[Clearance, ...], Spare]:
    """Return what turns with the mount, and how it lies over its host, between two stays."""
    stays = {"chainstay": CHAINSTAY, "seatstay": replace(SEATSTAY, direction=180.0 - included)}
    placement = flat(tilt)
    told = clearances(placement, stays, wanted=STAYS, mount=SIZES, turning=True)
    return told, on_host(placement, stays)


def holds(tilt: float, included: float) -> bool:
    """Return whether all holds at a tilt."""
    told, (spare, _) = turning(tilt, included)
    return spare >= 0.0 and all(each.state in ("ok", "unknown") for each in told)


@pytest.mark.parametrize("included", [60.0, 75.0, 90.0])
def test_the_tilts_that_hold_end_where_one_fails(included: float) -> None:
    """A tenth of a degree within each end all holds; a tenth beyond something does not, and it is named."""
    result = tilts(lambda tilt: turning(tilt, included), "chainstay", None)
    assert result.known and result.ranges
    for each in result.ranges:
        for end, way, name in ((each.low, -1.0, each.low_limit), (each.high, 1.0, each.high_limit)):
            assert holds(end - 0.1 * way, included)
            if name:
                assert not holds(end + 0.1 * way, included)
                ended = say("tilt.ended_by", what=name)
                said = [sentence for sentence in result.sentences if sentence.code == "tilt.holds"]
                assert any(ended in (sentence["at"], sentence["to"]) for sentence in said)
    limited = [each for each in result.ranges if each.low_limit and each.high_limit]
    assert result.advised == max(limited, key=lambda each: each.high - each.low, default=None)
    advice = [each for each in result.sentences if each.code.startswith("tilt.advised_undrawn.")]
    assert bool(advice) == (result.advised is not None)
    if result.advised is not None:
        assert result.advised.low <= result.advised.middle <= result.advised.high
        assert advice[0]["middle"] == result.advised.middle


def test_by_arithmetic_the_far_hole_comes_down_to_the_stays_edge() -> None:
    """Flat row at 160: far hole 68.0 along, 35.6 up, radius 76.76; the stay's edge is 8 up.

    So atan(35.6 / 68) - asin(8 / 76.76) = 27.64 - 5.98 = 21.65 degrees.
    """
    result = tilts(lambda tilt: turning(tilt, 90.0), "chainstay", 5.0)
    assert result.ranges[-1].high == pytest.approx(21.65, abs=0.02)
    assert result.ranges[-1].high_limit == EDGE
    assert {each.code for each in result.sentences} == {"tilt.holds"}


@pytest.mark.parametrize("offset", [0.0, 4.0])
def test_by_arithmetic_how_holes_lie_over_a_tapering_stay_and_short_of_another(offset: float) -> None:
    """Flat row at 160: far hole 68.0 along, 35.6 up; the stay is 10 high at 30 and 22 at 90, so 17.6 there.

    Its edge lies 8.8 over its middle, the near hole's less; the far hole's ray is 27.64 over the stay's line.
    """
    stay = replace(CHAINSTAY, stations=(Station(30.0, 10.0, 10.0), Station(90.0, 22.0, 22.0)), offset=offset)
    spare, what = on_host(flat(), {"chainstay": stay})
    assert spare == pytest.approx(35.6 - 8.8 - offset, abs=1e-9) and what == EDGE
    for included in (25.0, 40.0):
        other = replace(SEATSTAY, direction=180.0 - included)
        spare, what = on_host(flat(), {"chainstay": stay, "seatstay": other})
        assert spare == pytest.approx(included - math.degrees(math.atan2(35.6, 68.0)), abs=1e-9)
        assert what == say("tilt.far_hole_at", tube=named("seatstay"))
    # One below the stay is in no mount's way.
    under = replace(SEATSTAY, direction=205.0)
    assert on_host(flat(), {"chainstay": stay, "seatstay": under})[1] == EDGE


def test_no_tilt_that_holds_and_none_that_is_known_are_said() -> None:
    narrow = tilts(lambda tilt: turning(tilt, 25.0), "chainstay", 0.0)
    assert narrow.ranges == () and narrow.advised is None and narrow.known
    assert [each.code for each in narrow.sentences] == ["tilt.none"]
    assert (narrow.sentences[0]["tube"], narrow.sentences[0]["low"]) == (named("chainstay"), -45.0)


@pytest.mark.parametrize("lacks", [None, ("outset",), ("splay",)])
def test_one_unknown_silences_the_tilts(lacks: tuple[str, ...] | None) -> None:
    """A seatstay that is not given, or not measured, may stand anywhere in the range."""

    def blind(tilt: float) -> tuple[tuple[Clearance, ...], Spare]:
        stays = {"chainstay": CHAINSTAY}
        if lacks is not None:
            stays["seatstay"] = replace(SEATSTAY, lacks=lacks)
        told = clearances(flat(tilt), stays, wanted=STAYS, mount=SIZES, turning=True)
        return told, on_host(flat(tilt), stays)

    result = tilts(blind, "chainstay", None)
    assert (result.ranges, result.advised, result.known) == ((), None, False)
    measure = say("clearance.give", keys=("tubes.seatstay",))
    if lacks is not None:
        measure = say("clearance.measure", keys=(f"tubes.seatstay.{lacks[0]}",))
    assert result.sentences == (say("tilt.not_known", tube=named("chainstay"), why=measure),)


def test_a_range_that_only_the_search_ends_is_told_and_never_advised() -> None:
    """Up to 10 all holds and beyond it nothing: from -45 on, where nobody looked further, is no limit."""

    def open_below(tilt: float) -> tuple[tuple[Clearance, ...], Spare]:
        return turning(0.0, 90.0)[0], (10.0 - tilt, EDGE)

    for tilt in (None, 0.0, 20.0):
        result = tilts(open_below, "chainstay", tilt)
        assert result.ranges[0].low == -45.0 and result.ranges[0].high == pytest.approx(10.0, abs=0.02)
        assert result.advised is None
        assert {each.code for each in result.sentences} <= {"tilt.holds", "tilt.fails"}
    assert result.sentences[-1] == say("tilt.fails", tilt=20.0, what=EDGE)


@pytest.mark.parametrize("low", [-44.6, -43.7, -20.25])
def test_a_range_that_begins_where_the_search_does_ends_as_truly_as_any(low: float) -> None:
    """Own arithmetic: what is asked for is left over from `low` on, and up to 10."""
    short = say("tilt.short_of", hole=named("far"), part=named("post"), tube=named("chainstay"))

    def between(tilt: float) -> tuple[tuple[Clearance, ...], Spare]:
        return turning(0.0, 90.0)[0], least([(tilt - low, short), (10.0 - tilt, EDGE)])

    (only,) = tilts(between, "chainstay", None).ranges
    assert (only.low, only.high) == (pytest.approx(low, abs=0.01), pytest.approx(10.0, abs=0.01))
    assert (only.low_limit, only.high_limit) == (short, EDGE)


def test_of_two_ranges_the_wider_is_advised_wherever_it_lies() -> None:
    """Own arithmetic: a range of 20 degrees and one of 6, either way round; the middle of the first."""
    for way in (1.0, -1.0):

        def two(tilt: float, way: float = way) -> tuple[tuple[Clearance, ...], Spare]:
            return turning(0.0, 90.0)[0], (
                max(10.0 - abs(tilt - 12.0 * way), 3.0 - abs(tilt + 30.0 * way)),
                EDGE,
            )

        result = tilts(two, "chainstay", None)
        assert len(result.ranges) == 2 and result.advised is not None
        assert result.advised.middle == 12.0 * way
        assert result.sentences[-1] == say("tilt.advised_undrawn.widest", middle=12.0 * way)


def test_where_no_tilt_holds_what_ends_the_best_of_them_is_named() -> None:
    """The far post lacks 1 and more, least at 7; at every other tilt the stay's edge lacks more than that."""
    short = say("tilt.short_of", hole=named("far"), part=named("post"), tube=named("chainstay"))

    def lacking(tilt: float) -> tuple[tuple[Clearance, ...], Spare]:
        return turning(0.0, 90.0)[0], (-1.0, short) if tilt == 7.0 else (-1.5 - abs(tilt), EDGE)

    (none,) = tilts(lacking, "chainstay", 0.0).sentences
    assert (none.code, none["best"]) == ("tilt.none", short)


def test_a_job_whose_tilt_does_not_hold_is_told_what_fails_and_the_middle_of_a_range_with_two_ends() -> None:
    short = say("tilt.short_of", hole=named("far"), part=named("post"), tube=named("chainstay"))

    def two_ends(tilt: float) -> tuple[tuple[Clearance, ...], Spare]:
        return turning(0.0, 90.0)[0], least([(tilt - 2.0, short), (8.0 - tilt, EDGE)])

    result = tilts(two_ends, "chainstay", None)
    assert list(map(told, result.sentences[1:])) == [
        "Without tilt, as drawn, it does not all hold: the far post, short of the chainstay.",
        "No tilt is given, and 0 is drawn; the middle of the range is tilt = 5.",
    ]


@pytest.mark.parametrize(
    ("way", "found"),
    [(lambda tilt: 5.0 - tilt, 5.0), (lambda tilt: 5.2 + tilt, -5.5), (lambda tilt: 5.0, None)],
)
def test_the_nearest_turn_that_makes_posts_long_enough(way: Any, found: float | None) -> None:
    """By half degrees: 5 lacking, a degree a mm; 5.2 the other way; nothing where turning does not help."""
    assert nearer(way, 0.0) == found
