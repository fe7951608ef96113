"""The screen of strength, and what screws and mount bear: by hand, and what is unknown."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from geometry.braking.forces import Forces, forces
from geometry.braking.mount_strength import Part, clamp_force, holds, parts
from geometry.braking.seam import seam
from geometry.braking.strength import Given, Strength, entry_of, stops_borne, strength, usual_walls, wall_for
from geometry.braking.tube_frame import Cut, Wall, section
from geometry.core.say import say
from geometry.mount.placement import Placement, place
from geometry.tables.axles import axle
from geometry.tables.interfaces import resolve
from geometry.tables.loads import Load, OwnLoad, entry, load_on
from geometry.tables.materials import material, material_words, near_joint
from geometry.tubes.tube import Station, Tube
from sheets.words.strength import near_part, overloaded, part_words

STEEL = material("CrMo")
CHAINSTAY = Tube("chainstay", 180.0, (Station(30.0, 18.0, 18.0), Station(380.0, 22.0, 22.0)))
SEATSTAY = Tube("seatstay", 118.0, (Station(28.0, 16.0, 16.0), Station(400.0, 16.0, 16.0)))
LEG = Tube("fork-leg", 90.0, (Station(30.0, 28.6, 28.6), Station(380.0, 28.6, 28.6)))
REAR = place(
    resolve("post", "rear", 160.0, 160.0), axle("142x12"), rotor=160.0, host="chainstay", direction=180.0
)
FRONT = place(
    resolve("is-front", "front", None, 160.0), axle("100-qr"), rotor=160.0, host="fork-leg", direction=90.0
)
TAB = place(
    resolve("is-rear", "rear", None, 160.0), axle("135-qr"), rotor=160.0, host="chainstay", direction=180.0
)
BOTH = {"chainstay": CHAINSTAY, "seatstay": SEATSTAY}


def look(placement: Placement = REAR, own: Load | None = None, **more: object) -> Strength:
    front = placement.end == "front"
    given_ = Given(
        {"fork-leg": LEG} if front else BOTH,
        {"fork-leg": 1.5} if front else {"chainstay": 1.0, "seatstay": 0.9},
        None,
        False,
        7.0,
        (0.0,),
    )
    named = {key: value for key, value in more.items() if key not in ("material", "wheel", "apart")}
    return strength(
        placement,
        (1.0, 1.0),
        own or load_on(placement.end, OwnLoad()),
        replace(given_, **named),  # type: ignore[arg-type]
        more.get("material", STEEL),  # type: ignore[arg-type]
        more.get("wheel"),  # type: ignore[arg-type]
        more.get("apart"),  # type: ignore[arg-type]
    )


# --- what is unknown


@pytest.mark.parametrize(
    ("change", "lacks"),
    [
        ({"tubes": {"chainstay": CHAINSTAY}}, "tubes.seatstay"),
        ({"walls": {"chainstay": 1.0}}, "tubes.seatstay.wall"),
        ({"brace_lacks": True}, "tubes.brace.wall"),
        ({"material": None}, "process.material"),
    ],
)
def test_what_is_not_given_is_named_and_never_good(change: dict[str, object], lacks: str) -> None:
    found = look(**change)
    assert lacks in found.missing
    assert found.level == "unknown" or lacks == "tubes.brace.wall"


def test_an_axle_without_a_discs_place_is_unknown() -> None:
    bare = place(
        resolve("is-rear", "rear", None, 160.0),
        axle("157x12"),
        rotor=160.0,
        host="chainstay",
        direction=180.0,
    )
    found = look(bare)
    assert (found.level, found.stop) == ("unknown", ())
    assert say("strength.discs_place", axle="157x12") in found.missing


def test_usual_walls_stand_in_for_a_wall_that_is_not_given() -> None:
    found = look(walls={"chainstay": None, "seatstay": 0.9})
    assert [each.wall for each in found.usual] == list(usual_walls())
    for each in found.usual:
        same = look(walls={"chainstay": each.wall, "seatstay": 0.9})
        assert same.worst is not None
        stresses = [one.weakest.cut.stress for one in same.stop]
        assert each.stress == pytest.approx(max(stresses), rel=1e-9)


# --- yield and heat


def test_beside_a_joint_the_lower_yield_counts() -> None:
    found = look()
    assert STEEL is not None
    for each in found.stop:
        for weak in (each.weakest, each.second):
            if weak is not None and weak.limit is not None:
                assert weak.limit == (STEEL.beside if weak.joint else STEEL.delivered)
    assert near_joint().grade == "D"
    for one in map(material, material_words()):
        assert one is not None
        assert one.beside.value == min(one.delivered.value, one.heated.value)


@pytest.mark.parametrize(
    ("said", "limit"),
    # Remembered yields beside a joint: of several that a text may mean the lowest counts, and plain
    # "titanium"
    # is none.
    [
        ("Ti-3Al-2.5V titanium", 483.0),
        ("titanium grade 2", 275.0),
        ("titanium", None),
        ("stainless 304", 205.0),
        ("stainless", 450.0),
        ("CrMo, heat-treated", 435.0),
        ("something else", None),
    ],
)
def test_a_vague_material_is_never_taken_for_a_stronger_one(said: str, limit: float | None) -> None:
    found = material(said)
    assert (found and found.beside.value) == limit


def test_levels_lie_at_their_lines() -> None:
    """One hard stop at yield is the line; below 1.3 the screen says to look. Scaled by the load alone."""
    usual = look()
    assert usual.worst is not None and usual.worst.ratio is not None
    own = load_on("rear", OwnLoad())

    def at(ratio: float) -> Strength:
        times = usual.worst.ratio / ratio  # type: ignore[union-attr, operator]
        # The side view's alone: what it leaves out is counted only where the disc's place is known.
        flat = {name: replace(tube, lacks=("outset",)) for name, tube in BOTH.items()}
        return look(own=replace(own, brake=own.brake * times, wheel=own.wheel * times), tubes=flat)

    look_below = entry_of("line", "look").value
    for ratio, level in (
        (0.99, "weak"),
        (1.01, "look"),
        (look_below - 0.01, "look"),
        (look_below + 0.01, "good"),
    ):
        found = at(ratio)
        assert found.worst is not None and found.worst.ratio == pytest.approx(ratio, rel=1e-6)
        assert found.level == level
    # A job may ask for more.
    assert look(own=replace(own, ratio=replace(own.ratio, value=3.0))).level == "weak"


@given(st.floats(0.8, 2.0))
def test_the_wall_that_is_named_has_the_modulus_that_is_asked(times: float) -> None:
    wall = Wall(LEG, 1.2, 380.0)
    cut = Cut("fork-leg", 100.0, 1e5, 0.0, 200.0, "clamped")
    found = wall_for(wall, cut, times)
    assert found is not None
    wanted = times * section(28.6, 28.6, 1.2)[2]
    assert section(28.6, 28.6, found)[2] >= wanted
    assert section(28.6, 28.6, found - 0.05)[2] < wanted
    assert wall_for(wall, cut, 100.0) is None


@given(st.sampled_from([REAR, FRONT, TAB]), st.floats(0.25, 0.99))
@settings(deadline=None, max_examples=30)
def test_walls_that_are_named_bear_and_a_larger_tube_is_named_where_none_does(
    placement: Placement, ratio: float
) -> None:
    """The same screen with other walls, gone through without any search: none on sale is thicker than 2."""
    usual, own = look(placement).worst, load_on(placement.end, OwnLoad())
    assert usual is not None and usual.ratio is not None
    times = usual.ratio / ratio
    # The side view's alone: what it leaves out is no tube's own wall to mend.
    load = replace(own, brake=own.brake * times, wheel=own.wheel * times)
    before = {"fork-leg": 1.5} if placement is FRONT else {"chainstay": 1.0, "seatstay": 0.9}
    cure = dict(look(placement, load).cure)
    assert cure

    def weak(walls: dict[str, float]) -> set[str]:
        found = look(placement, load, walls=before | walls).stop
        return {each.tube for each in found if each.weakest.ratio is not None and each.weakest.ratio < 1.0}

    larger = {name for name, wall in cure.items() if wall is None}
    if larger:
        # Each is weak still with the thickest wall there is, and no other would be.
        assert larger == set(cure) and larger <= weak(dict.fromkeys(larger, 2.0))
        assert weak(dict.fromkeys(before, 2.0)) <= larger
        return
    named = {name: wall for name, wall in cure.items() if wall is not None}
    assert weak(named) == set()
    for name, wall in named.items():
        assert wall <= 2.0 and weak(named | {name: wall - 0.051})


# --- the fork's published test, beside its own stop


def test_the_fork_test_is_told_by_its_name_beside_the_bicycles_own_stop() -> None:
    # TBIS 15194:2019, 4.3.8.7: 600 N on an arm of 368 for a 700c wheel.
    found = look(FRONT)
    assert found.test_force is not None and found.test_arm is not None
    assert (found.test_force.value, found.test_arm.value) == (600.0, 368.0)
    top = found.test[0].weakest.cut
    # At the crown: T + s (F/2 - D_x z/W), with the pads at 45 degrees to the leg (own arithmetic).
    radius = 80.0 - 8.0
    across = 600.0 * 368.0 / radius * math.cos(math.radians(45.0))
    z, width = 10.5 - 0.9, 100.0
    moment = 600.0 * 368.0 + 380.0 * (300.0 - across * z / width)
    crown = moment / section(28.6, 28.6, 1.5)[2]
    assert top.stress == pytest.approx(crown, rel=0.02) or top.s < 380.0
    assert look(REAR).test == () and look(REAR).test_force is None
    # Square to a steerer that stands steeper than the leg it bends the leg less.
    steep = look(FRONT, apart=8.0).test[0].weakest.cut
    assert steep.stress <= top.stress


def test_a_tube_of_two_peaks_tells_both_and_one_of_one_peak_that_alone() -> None:
    """The chainstay peaks at the mount's foot and where it ends; a leg that is held at its top only there."""
    (stay, *_), (leg,) = look().stop, look(FRONT).stop
    assert stay.second is not None and stay.second.cut.s != stay.weakest.cut.s
    assert stay.second.cut.stress <= stay.weakest.cut.stress
    assert leg.second is None


def test_of_several_stances_the_hardest_counts() -> None:
    alone = [look(FRONT, turns=(turn,)).worst for turn in (14.0, 32.0)]
    both = look(FRONT, turns=(14.0, 23.0, 32.0)).worst
    assert both is not None and None not in alone
    assert both.cut.stress == pytest.approx(max(each.cut.stress for each in alone if each is not None))


def test_a_class_of_detail_bears_its_range_two_million_times() -> None:
    # FITNET MK7 Annex G after IIW-1823-07: class 71 at 2e6, slope 3: twice the range an eighth as often.
    assert stops_borne(71.0) == pytest.approx(2e6)
    assert stops_borne(142.0) == pytest.approx(2e6 / 8.0)


# --- screws and the mount itself


def pushed(placement: Placement) -> Forces:
    return forces(placement, load_on(placement.end, OwnLoad()), (1.0, 1.0))


def test_what_a_screw_presses_with_and_holds() -> None:
    # T = K d F: 6 N m, a nut factor of 0.2 and 6 mm give 5,000 N; friction of 0.15 holds 750 (handbooks).
    assert clamp_force("M6", 6.0) == pytest.approx(5000.0)
    assert clamp_force("M5", 6.0) == pytest.approx(6000.0)
    push = pushed(TAB)
    friction = entry("rest", "friction").value
    for one, told in zip(push.screws, holds(TAB, push, friction), strict=True):
        assert told.holds == pytest.approx(750.0)
        assert told.beyond == pytest.approx(max(0.0, one.shear - 750.0))
        # ISO 898-1, stress area of M6: 20.1.
        assert told.stress == pytest.approx(told.beyond / 20.1)


def test_a_pull_along_the_screw_takes_from_what_it_presses_with() -> None:
    push = pushed(REAR)
    pulled = replace(push, screws=tuple(replace(one, pull=2000.0) for one in push.screws))  # type: ignore[arg-type]
    assert holds(REAR, pulled, 0.15)[0].holds == pytest.approx(0.15 * 3000.0)


def test_the_parts_of_a_mount_by_hand() -> None:
    none = {"diameter": None, "lengths": (None, None), "share": None, "tube": None}
    push = pushed(TAB)
    bearing, weld = parts(TAB, push, thickness=6.0, foot=75.0, lever=60.0, **none)  # type: ignore[arg-type]
    worst = max(one.shear for one in push.screws)
    assert bearing.stress == pytest.approx(worst / (6.0 * 6.0))
    pull = math.hypot(*push.on_caliper)
    assert weld.stress == pytest.approx(6.0 * pull * 60.0 / (6.0 * 75.0**2) + pull / (6.0 * 75.0))
    lost = parts(TAB, push, thickness=None, foot=75.0, lever=60.0, **none)  # type: ignore[arg-type]
    assert {(each.stress, each.missing) for each in lost} == {(None, ("boss.thickness",))}
    back = pushed(REAR)
    root, part = parts(
        REAR,
        back,
        thickness=None,
        diameter=12.0,
        lengths=(None, 46.0),
        foot=0.0,
        lever=0.0,
        share=0.5,
        tube=100.0,
    )
    modulus = math.pi / 32.0 * (12.0**4 - 5.0**4) / 12.0
    area = math.pi / 4.0 * (12.0**2 - 5.0**2)
    # A leg of a portal, held at both ends: half of F L at either (Roark's, a beam fixed and guided).
    bent = {one.name: abs(one.along) * 46.0 / 2.0 / modulus + one.pull / area for one in back.screws}
    assert root.stress == pytest.approx(max(bent.values())) and bent[root.where] == max(bent.values())
    assert part.stress == pytest.approx(200.0)
    (open_,) = parts(
        REAR,
        back,
        thickness=None,
        diameter=None,
        lengths=(20.0, 46.0),
        foot=0.0,
        lever=0.0,
        share=None,
        tube=None,
    )
    assert (open_.stress, open_.missing) == (None, ("boss.diameter",))


def test_a_slot_takes_from_the_root_of_its_boss_as_it_lies_there() -> None:
    """A disc of 12 less a slot of 5.5, 8.5 long across the bicycle, summed over thin strips along it."""
    flat = place(
        resolve("flat-rear", "rear", 140.0, 140.0),
        axle("142x12"),
        rotor=140.0,
        host="chainstay",
        direction=180.0,
    )
    hole = flat.interface.hole
    assert (hole.kind, hole.diameter.value, hole.length) == ("slot", 5.5, 8.5)
    at = (np.arange(120_000) + 0.5) / 10_000.0 - 6.0
    slot = np.where(np.abs(at) < 2.75, 3.0 + 2.0 * np.sqrt(np.maximum(2.75**2 - at**2, 0.0)), 0.0)
    left = (2.0 * np.sqrt(36.0 - at**2) - slot) * 1e-4
    area, modulus = float(left.sum()), float((left * at**2).sum()) / 6.0
    push = pushed(flat)
    rest = {"thickness": None, "foot": 0.0, "lever": 0.0, "share": None, "tube": None}
    root = parts(flat, push, diameter=12.0, lengths=(20.0, 20.0), **rest)[0]  # type: ignore[arg-type]
    bent = max(abs(one.along) * 20.0 / 2.0 / modulus + one.pull / area for one in push.screws)
    assert root.stress == pytest.approx(bent, rel=1e-5)
    # What it is joined by is told as for one without a hole.
    assert root.seam == seam(12.0, 0.0)
    for wide in (5.5, 5.0):
        thin = parts(flat, push, diameter=wide, lengths=(20.0, 20.0), **rest)[0]  # type: ignore[arg-type]
        assert (thin.stress, thin.missing) == (None, ("boss.diameter",))


def test_beside_a_boss_as_wide_as_its_tube_no_stress_is_made_up() -> None:
    """A twelfth of the stiffness left would read as twelve times the stress, which no frame has."""
    sizes = {"diameter": 12.0, "lengths": (46.0, 46.0), "foot": 0.0, "lever": 0.0, "tube": 100.0}
    _, part = parts(REAR, pushed(REAR), thickness=None, share=1.0 / 12.0, **sizes)  # type: ignore[arg-type]
    assert (part.stress, part.left) == (None, pytest.approx(1.0 / 12.0))


@pytest.mark.parametrize(
    ("text", "name"),
    [
        ("steel", "mild steel"),
        ("CrMo steel", "chromoly steel"),
        ("stainless steel", "stainless tube"),
        ("Ti-3Al-2.5V titanium", "Ti-3Al-2.5V, cold worked and stress relieved"),
    ],
)
def test_a_vague_word_counts_for_the_weakest_that_it_may_mean(text: str, name: str) -> None:
    found = material(text)
    assert found is not None and found.name == name


def test_an_upper_bound_beside_a_boss_is_told_and_warns_of_nothing() -> None:
    """A boss's own metal is left out of it, so that an ordinary flat mount passes any yield."""
    assert STEEL is not None
    twice = 2.0 * STEEL.beside.value
    beside, root = Part("section", twice), Part("root", twice, where="far")
    assert overloaded((beside,), STEEL.beside, 1.0) == ""
    assert overloaded((beside, root), STEEL.beside, 1.0) == " ".join(part_words((root,), STEEL.beside)) != ""


@pytest.mark.parametrize(("ratio", "near"), [(0.99, False), (1.01, True), (-0.01, True), (0.01, False)])
def test_a_part_of_the_mount_is_near_by_the_line_that_tubes_are_judged_by(ratio: float, near: bool) -> None:
    assert STEEL is not None
    # The last two lie below and above the line to look at.
    ratio = ratio if ratio > 0.5 else entry_of("line", "look").value + ratio
    root = Part("root", STEEL.beside.value / ratio, where="far")
    beside = Part("section", STEEL.beside.value, where="far")
    assert near_part((beside, root), STEEL.beside, 1.0) == (root if near else None)
    assert near_part((root,), None, 1.0) is None


def test_a_job_that_asks_for_more_than_the_yield_asks_it_of_tubes_and_mount_alike() -> None:
    """A ratio of its own is the line of both: what a tube is called weak at, the mount is too."""
    assert STEEL is not None
    root = Part("root", STEEL.beside.value / 1.4, where="far")
    assert overloaded((root,), STEEL.beside, 1.3) == ""
    assert near_part((root,), STEEL.beside, 1.3) is None
    assert overloaded((root,), STEEL.beside, 1.5) == " ".join(part_words((root,), STEEL.beside)) != ""
    assert near_part((root,), STEEL.beside, 1.5) is None
