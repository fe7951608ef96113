"""Posts and bosses beside axle, disc's screws, other tubes and their host's far side, by hand."""

from dataclasses import replace
from typing import Any

import pytest

from geometry.clearance.bodies import Heads, entry
from geometry.clearance.judged import Clearance, Mount
from geometry.clearance.margins import clearances
from geometry.clearance.tilt import on_length
from geometry.core.say import also, named, say
from geometry.core.tables import Number
from geometry.mount.bosses import fit_bosses, needed
from geometry.mount.placement import Placement, place
from geometry.tables.axles import axle
from geometry.tables.fasteners import screw
from geometry.tables.interfaces import resolve
from geometry.tubes.tube import Station, Tube
from sheets.words.bosses import Nearer, boss_words
from sheets.words.tell import told

# Post row at 160: face 55.9 up, holes 6.8 and 81.0 along, 100x12: middle 2.5, disc -8.5 to -6.7 (interfaces).
LEG = Tube("fork-leg", 90.0, (Station(25.0, 24.0, 24.0), Station(380.0, 24.0, 24.0)), outset=2.5)


def post(tilt: float = 0.0) -> Placement:
    """Return a front post mount for 160 on a 12 mm axle."""
    face = resolve("post", "front", 160, 160)
    return place(face, axle("100x12"), rotor=160, host="fork-leg", direction=90.0, tilt=tilt)


def rear(tilt: float = 0.0) -> Placement:
    """Return a rear post mount for 160 on the chainstay."""
    face = resolve("post", "rear", 160, 160)
    return place(face, axle("142x12"), rotor=160, host="chainstay", direction=180.0, tilt=tilt)


def sizes(diameter: float, length: float, near: float | None = None) -> Mount:
    """Return posts as their builder measured them."""
    own = [None if each is None else Number(each, "own", "") for each in (diameter, length, near)]
    return Mount(own[0], own[1], None, own[2])


def found(placement: Placement, mount: Mount, tubes: dict[str, Tube], **more: Any) -> dict[str, Clearance]:
    """Return clearances by their keys."""
    wanted = ("fork-leg",) if placement.end == "front" else ("chainstay", "seatstay")
    told: dict[str, Any] = {"wanted": wanted, "mount": mount, "dummy": 19.05} | more
    return {each.key: each for each in clearances(placement, tubes, **told)}


@pytest.mark.parametrize(
    ("length", "name", "distance"),
    [
        # Its end is 55.9 - 40 over the axle; in the plane where the hub's end stops, at 2.0, a post of 12
        # about 2.5 reaches in to 6.8 - sqrt(36 - 0.25) = 0.82 beside it.
        (40.0, "near post to hub's end", (0.8209**2 + 15.9**2) ** 0.5 - 9.6),
        (70.0, "near post to dummy axle", 0.0),
    ],
)
def test_a_near_post_and_what_is_on_the_axle(length: float, name: str, distance: float) -> None:
    """The hub's end, 19.2 across (a dropout maker's own model), is a little larger than 3/4 in of bar."""
    one = found(post(), sizes(12.0, length), {"fork-leg": LEG})[name]
    assert one.distance == pytest.approx(distance, abs=1e-3)
    assert one.state == ("ok" if distance else "fail")
    if not distance:
        assert told(one.short) == f"{name}: they meet"
        assert one.why == say("clearance.see", key="boss.near_length")


def test_posts_that_nobody_measured_reach_past_no_tubes_end() -> None:
    """Nor do those that run along their tube: where a rim lies is not known of either."""
    along = replace(LEG, direction=0.0)
    for tube, diameter in ((LEG, None), (along, 12.0)):
        for fit in fit_bosses(post(), tube, diameter=diameter, length=40.0):
            assert (fit.overhang, fit.rim, fit.rim_open) == (0.0, None, False)


def test_a_larger_dummy_axle_counts_while_the_frame_is_built() -> None:
    """30 across: 15 instead of 9.6."""
    named = found(post(), sizes(12.0, 40.0), {"fork-leg": LEG}, dummy=30.0)
    assert named["near post to dummy axle"].distance == pytest.approx((0.8**2 + 15.9**2) ** 0.5 - 15.0)
    assert named["near post to dummy axle"].state == "warn"


def test_the_same_turned_about_the_axle() -> None:
    """Axle and screws are round: no tilt moves a post away from them."""
    for tilt in (-30.0, 20.0):
        for length in (30.0, 70.0):
            straight = found(post(), sizes(12.0, length), {"fork-leg": LEG})
            turned = found(post(tilt), sizes(12.0, length), {"fork-leg": LEG})
            names = [name for name, each in straight.items() if each.kind in ("axle", "heads")]
            assert len(names) == 4
            for name in names:
                assert turned[name].distance == pytest.approx(straight[name].distance, abs=1e-7)


@pytest.mark.parametrize(
    ("diameter", "length", "distance", "state"),
    [
        # Rear: heads end at -13.45 + 3 = -10.45 out to 26.25; a post of 12 reaches in to -10.25.
        (12.0, 46.0, 0.2, "warn"),
        (14.0, 46.0, 0.0, "fail"),
        # A post of 20 reaches across the axle where the heads end; 55.9 - 27 = 28.9 up it is 2.65 past them.
        (20.0, 27.0, 28.9 - 26.25, "ok"),
        # On a bolt circle of 44 with heads of 8.5 that is 26.25; 11.5 leaves 0.45 beside them.
        (11.5, 46.0, 0.45, "warn"),
    ],
)
def test_a_near_post_and_the_discs_screws(
    diameter: float, length: float, distance: float, state: str
) -> None:
    one = found(rear(), sizes(diameter, length), {})["near post to disc's screws"]
    assert one.distance == pytest.approx(distance, abs=1e-8)
    assert one.state == state
    assert (entry("bolts", "circle").value + entry("bolts", "head").value) / 2.0 == 26.25


def test_measured_heads_take_the_place_of_the_remembered_ones() -> None:
    """A ring of 38 across that stands out 2: a post of 14 that ends 9.9 up is 0.2 outboard of -11.45."""
    one = found(rear(), sizes(14.0, 46.0), {}, heads=Heads(38.0, 2.0))["near post to disc's screws"]
    assert one.distance == pytest.approx(0.2, abs=1e-8)
    # Nothing more is said than what shortens it: these heads are not remembered.
    assert one.state == "warn" and one.why == say("clearance.see", key="boss.near_length")
    usual = found(rear(), sizes(14.0, 46.0), {})["near post to disc's screws"]
    assert usual.why == also([say("clearance.heads_remembered"), one.why])


def test_its_own_length_keeps_the_near_post_clear_and_leaves_the_far_one_alone() -> None:
    both = found(rear(), sizes(14.0, 46.0), {})
    own = found(rear(), sizes(14.0, 46.0, near=27.0), {})
    assert both["near post to disc's screws"].state == "fail"
    assert own["near post to disc's screws"].state == "ok"
    for name in ("far post to disc's screws", "far post to disc", "far post to hub's end"):
        assert own[name].distance == both[name].distance
    assert own["near post to disc"].distance == pytest.approx(both["near post to disc"].distance)


@pytest.mark.parametrize(("length", "left"), [(60.0, 7.9), (67.5, 0.4), (67.9, 0.0), (70.0, 0.0)])
def test_a_far_post_ends_in_its_host_or_comes_out_of_it(length: float, left: float) -> None:
    """The face is 55.9 behind the leg's middle, in its plane: 67.9 to its far side."""
    one = found(post(), sizes(12.0, length, near=27.0), {"fork-leg": LEG})[
        "far post to the fork leg's far side"
    ]
    assert one.distance == pytest.approx(left, abs=1e-6)
    assert one.state == ("ok" if left > 0.01 else "fail")
    if length == 70.0:
        assert told(one.short) == "far post to the fork leg's far side: it comes out there by 2.1 mm"
        assert one.second is not None and one.second[0] == pytest.approx(-12.0, abs=1e-6)


def test_a_post_that_crosses_another_stay_fails() -> None:
    """The far post, 81 along the chainstay, and a stay that lies 30 above that, in the post's own plane."""
    stay = Tube("chainstay", 180.0, (Station(32.0, 16.0, 14.0), Station(300.0, 16.0, 14.0)), outset=-4.25)
    for over, state in ((30.0, "fail"), (75.0, "ok")):
        other = replace(stay, name="seatstay", offset=over)
        one = found(rear(), sizes(12.0, 50.0, near=27.0), {"chainstay": stay, "seatstay": other})
        assert one["far post to seatstay"].state == state
        assert one["far post to seatstay"].distance == pytest.approx(max(0.0, over - 8.0 - 55.9), abs=1e-7)


@pytest.mark.parametrize("lacks", [("outset",), ("splay",)])
def test_beside_a_tube_that_is_not_placed_no_post_is_judged(lacks: tuple[str, ...]) -> None:
    named = found(post(), sizes(12.0, 70.0, near=27.0), {"fork-leg": replace(LEG, lacks=lacks)})
    one = named["posts to the fork leg's far side"]
    assert (one.state, one.why) == ("unknown", say("clearance.measure", keys=(f"tubes.fork-leg.{lacks[0]}",)))
    assert not any("far post to the fork leg" in name for name in named)


def test_tabs_have_none_of_these() -> None:
    face = resolve("is-rear", "rear", 140, 140)
    tab = place(face, axle("135-qr"), rotor=140, host="chainstay", direction=180.0)
    assert not [each for each in found(tab, Mount(), {}).values() if each.kind in ("axle", "heads", "stay")]


@pytest.mark.parametrize("tilt", [-8.0, 0.0, 6.0, 15.0])
def test_the_length_that_is_needed_is_the_one_that_reaches_all_round(tilt: float) -> None:
    """What is found quickly at every tilt agrees with what is found for the card, and never promises more."""
    splayed = replace(LEG, outset=9.0, splay=2.0)
    for diameter in (11.5, 16.0):
        fits = fit_bosses(post(tilt), splayed, diameter=diameter, length=30.0)
        needs = needed(post(tilt), splayed, diameter)
        for fit, need in zip(fits, needs, strict=True):
            assert need.meets == fit.meets
            if fit.meets == "tube" and fit.rim is not None and need.length is not None:
                assert need.length == pytest.approx(fit.rim[1], abs=0.03 if not fit.rim_open else 1.0)
                assert not fit.rim_open or need.length >= fit.rim[1] - 0.01
            else:
                assert need.length is None


def test_on_length_tells_the_shortest_by_name_and_passes_over_the_dropout() -> None:
    """In the leg's plane a post has to reach 55.9 - 12 at its middle, and at its rim's sides further."""
    needs = needed(post(), LEG, 12.0)
    assert [each.meets for each in needs] == ["before", "tube"]
    # The rim at 6 beside the middle: sqrt(12^2 - 6^2) = 10.392 above it.
    assert needs[1].length == pytest.approx(55.9 - 10.3923, abs=0.001)
    spare, name = on_length(needs, {"near": 20.0, "far": 50.0}, "post", "fork-leg")
    assert spare == pytest.approx(50.0 - 45.5077, abs=0.001)
    assert name == say("tilt.short_of", hole=named("far"), part=named("post"), tube=named("fork-leg"))


def test_a_turn_is_named_only_where_one_helps_and_with_its_numbers() -> None:
    fits = fit_bosses(post(), LEG, diameter=12.0, length=40.0)
    plain = " ".join(told(each.text) for each in boss_words(fits, "fork-leg", screw("M6")))
    assert "far by 5.51: make it 45.51 or longer or put it on a plate." in plain and "tilt" not in plain
    turned = " ".join(
        told(each.text) for each in boss_words(fits, "fork-leg", screw("M6"), nearer=Nearer(4.5, 39.62))
    )
    assert "make it 45.51 or longer, turn the mount to tilt = 4.5, where 39.62 is enough, or put" in turned
