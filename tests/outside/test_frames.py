"""The screen of strength on ordinary frames and on bad ones, written down before the model was solved.

The line was drawn on the set "drawn"; the set "held" was run once it stood, and is kept as it came out. So is
what builders published of forks of their own.
"""

import math
import tomllib
from pathlib import Path
from typing import Any

import pytest

from geometry.braking.fork_test import ForkTest, fork_test
from geometry.braking.strength import Given, Strength, entry_of, ordinary_sums, strength
from geometry.braking.tube_frame import Brace
from geometry.clearance.bodies import caliper, seat
from geometry.tables.loads import OwnLoad, load_on
from geometry.tables.materials import material
from sheets.job.read import Job, place_job, tubes_of
from sheets.words.two import two

FRAMES: list[dict[str, Any]] = tomllib.loads(
    Path(__file__).with_name("frames.toml").read_text(encoding="utf-8")
)["frame"]
TUBES = ("chainstay", "seatstay", "fork-leg")
# As they came out. Two tapered forks, taken for ordinary, warn: their legs are 22 wide at the top of the
# mount.
CAME_OUT = {
    "all-road steel, flat mount for 160": "look",
    "loaded touring, flat mount for 180": "good",
    "titanium road, flat mount for 140": "good",
    "city frame, tab on the seatstay with a brace": "good",
    "steel hardtail for 29 in wheels, posts on the chainstay for 180": "good",
    "cargo fork, 31.8 of heavy wall, posts for 203": "good",
    "road disc fork, oval and tapered, flat mount": "weak",
    "touring disc fork, tapered, tab": "weak",
    "titanium fork, straight 28.6, flat mount": "good",
    "stainless all-road, flat mount for 160": "good",
    "a racing blade, flat mount": "weak",
    "mild steel of a town bicycle, tab on a bare seatstay": "weak",
    "commercially pure titanium, thin stays, posts": "weak",
    "segmented disc fork, 28.6 butted, 0.9 at its lower end": "look",
    "disc fork, 28.6 straight gauge of 0.049 in": "good",
    # Its tip is so slender that the published fork test's own moment would bend it too; see below.
    "cross disc fork, tapered 28 x 20 to 17": "weak",
}


def screened(frame: dict[str, Any], outset: float | None = None) -> Strength:
    lies = {"outset": 0} if outset is None else {"outset": outset, "splay": 1}
    tubes = {name: {**frame[name], **lies} for name in TUBES if name in frame}
    if "brace" in frame:
        tubes["brace"] = frame["brace"]
    job = Job.model_validate(
        {
            "frame": {"id": "frame-1"},
            "mount": frame["mount"],
            "axle": {"system": frame["axle"]},
            "tubes": tubes,
            "process": {"method": frame["method"], "material": frame["material"]},
        }
    )
    placement = place_job(job)
    brace = job.tubes.brace
    held = Brace(brace.diameter, brace.wall or 0.9, brace.on_chainstay, brace.on_seatstay) if brace else None
    given = Given(
        tubes_of(job),
        {name: each.wall for name, each in job.tubes.given().items()},
        held,
        False,
        12.0 if placement.interface.family == "tab" else 7.0,
        job.stance.of(placement.end).turns,
    )
    own = load_on(placement.end, OwnLoad("solo", frame.get("mass")))
    pads = seat(placement, caliper(placement)).pad
    return strength(placement, pads, own, given, material(frame["material"]))


def test_twenty_ordinary_frames_and_bad_ones_are_on_file() -> None:
    kinds = [(each["kind"], each["set"]) for each in FRAMES]
    assert kinds.count(("ordinary", "drawn")) == kinds.count(("ordinary", "held")) == 10
    assert {each["material"] for each in FRAMES} >= {"CrMo", "stainless", "Ti-3Al-2.5V"}


@pytest.mark.parametrize(
    "frame", [each for each in FRAMES if each["set"] == "drawn"], ids=lambda each: each["name"]
)
def test_the_line_parts_ordinary_frames_from_bad_ones(frame: dict[str, Any]) -> None:
    found = screened(frame)
    if frame["kind"] == "bad":
        assert found.level == "weak"
    else:
        assert found.level in ("good", "look")


@pytest.mark.parametrize(
    "frame", [each for each in FRAMES if each["set"] != "drawn"], ids=lambda each: each["name"]
)
def test_what_was_held_back_comes_out_as_it_did(frame: dict[str, Any]) -> None:
    assert screened(frame).level == CAME_OUT[frame["name"]]


@pytest.mark.parametrize(
    ("outside", "wall", "level"),
    # Section moduli by hand, pi (D^4 - d^4) / 32 D: 22 x 1 has 331 mm3, 28.6 x 1.245 has 701.
    [(22.0, 1.0, "weak"), (28.6, 1.245, "good")],
)
def test_a_leg_bears_the_whole_brake_by_itself(outside: float, wall: float, level: str) -> None:
    """100 kg at 6.54 m/s2 on a wheel of 690: 654 N x 345 mm = 226 N m, all of it in the left leg.

    The published fork test asks for as much of every leg, thousands of times: 600 N on an arm of 368 mm make
    221 N m, and more towards the crown (TBIS 15194:2019, 4.3.8.7, and its table of arms). So a leg that this
    screen cries at is one that the test would bend: 226 000 / 331 = 683 MPa.
    """
    frame = next(each for each in FRAMES if each["name"] == "touring fork, straight 25.4, tab")
    found = screened({**frame, "fork-leg": {"diameters": [[30, outside], [380, outside]], "wall": wall}})
    modulus = math.pi * (outside**4 - (outside - 2.0 * wall) ** 4) / (32.0 * outside)
    assert modulus == pytest.approx({1.0: 331.0, 1.245: 701.0}[wall], rel=0.003)
    top, under = found.stop[0].weakest, found.test[0].weakest.cut
    assert top.at == "foot_top"
    assert abs(top.cut.moment) == pytest.approx(654.0 * 345.0, rel=0.05)
    assert top.cut.stress == pytest.approx(226e3 / modulus, rel=0.05)
    assert abs(under.moment) > 600.0 * 368.0 and under.stress > top.cut.stress
    assert found.level == level


def test_the_published_test_is_told_and_parts_no_good_fork_from_a_bad_one() -> None:
    """So it stays a note: as a warning it would tell the same leg twice, or cry at good forks.

    The class is what 97.7 % of welded details bear; half of them bear about three times as many (IIW, a
    standard deviation of log N of 0.2 to 0.25, remembered). A fork whose stages sum up to more than three is
    more likely to fail than not: none of those is called good by its own stop. Most ordinary forks come to
    more than one, and the force that is held is above their yield.
    """
    half = entry_of("fatigue", "half").value
    forks = {each["name"]: each for each in FRAMES if each["mount"]["end"] == "front"}
    found = {name: screened(each) for name, each in forks.items()}
    tests = {name: fork_tested(each) for name, each in found.items()}
    assert {name for name, each in tests.items() if each.damage > half} == {
        name for name, each in found.items() if each.level != "good"
    }
    borne = {name: tests[name] for name, each in found.items() if each.level != "weak"}
    assert {forks[name]["kind"] for name in borne} == {"ordinary"}
    sums = [each.damage for each in borne.values()]
    # What the page says of ordinary forks, to two figures.
    assert (two(min(sums)), two(max(sums))) == tuple(map(two, ordinary_sums()))
    assert sum(each.short for each in borne.values()) > len(borne) / 2
    assert sum(each.bends for each in borne.values()) > len(borne) / 2
    assert all(each.bends and each.short for name, each in tests.items() if found[name].level == "weak")


def fork_tested(found: Strength) -> ForkTest:
    assert found.test_arm is not None
    return fork_test(found.test[0].weakest, found.walls[0], found.test_arm.value)


@pytest.mark.parametrize("frame", FRAMES, ids=lambda each: each["name"])
def test_what_the_side_view_leaves_out_warns_of_no_ordinary_frame(frame: dict[str, Any]) -> None:
    """Legs stand about 15 outboard, stays about 5 (our samples): the disc then lies some 20 beside them.

    An upper bound, one tube taking all, so that it may tell to look where the side view alone does not.
    """
    seen = screened(frame, 15.0 if frame["mount"]["end"] == "front" else 5.0)
    assert seen.bound is not None and seen.bound.ratio is not None
    if seen.by_aside:
        assert frame["kind"] == "ordinary" and seen.level == "look" and 1.0 <= seen.bound.ratio < 1.3
    elif seen.level == "good":
        assert seen.bound.ratio >= 1.3
    if frame["kind"] == "bad":
        assert seen.level == "weak"


def test_a_frame_is_told_to_look_by_what_the_side_view_leaves_out() -> None:
    frame = next(each for each in FRAMES if "0.049 in" in each["name"])
    assert (screened(frame).level, screened(frame).by_aside) == ("good", False)
    assert (screened(frame, 15.0).level, screened(frame, 15.0).by_aside) == ("look", True)


# Another model's numbers for like frames, MPa, clamped to hinged (an independent solution of the same
# statics,
# 327 N at the ground, 113 N m); forks under the published test's 600 N. Ours may part from them by a
# fifth: it
# spreads the foot and takes the pads where the adapter puts them.
INDEPENDENT = [
    ("trail hardtail, tab on a stout seatstay", "seatstay", 196.0, 203.0),
    ("trail hardtail, tab on a stout seatstay", "chainstay", 259.0, 282.0),
    ("trail hardtail, posts on the chainstay", "chainstay", 296.0, 334.0),
    ("trail hardtail, posts on the chainstay", "seatstay", 218.0, 240.0),
    ("road steel, flat mount for 140", "chainstay", 344.0, 380.0),
    ("road steel, flat mount for 140", "seatstay", 210.0, 227.0),
    ("thin stays, tab on the seatstay without a brace", "seatstay", 506.0, 519.0),
    ("thin stays, tab on the seatstay without a brace", "chainstay", 630.0, 687.0),
]


@pytest.mark.parametrize(("name", "tube", "low", "high"), INDEPENDENT)
def test_it_agrees_with_an_independent_model(name: str, tube: str, low: float, high: float) -> None:
    found = screened(next(each for each in FRAMES if each["name"] == name))
    stress = next(each for each in found.stop if each.tube == tube).weakest.cut.stress
    assert 0.8 * low <= stress <= 1.2 * high


@pytest.mark.parametrize(
    ("name", "wanted"),
    [
        ("straight unicrown fork, 31.8, posts for 180", 234.0),
        ("straight fork, 28.6, posts for 160", 296.0),
        ("a light touring blade with a tab welded on", 1572.0),
    ],
)
def test_forks_agree_with_it_at_the_top_of_the_foot(name: str, wanted: float) -> None:
    """There, and not at the crown, where a leg taken as held bends a little more."""
    found = screened(next(each for each in FRAMES if each["name"] == name))
    weak = [found.test[0].weakest, found.test[0].second]
    stresses = [each.cut.stress for each in weak if each is not None]
    assert any(0.8 * wanted <= stress <= 1.2 * wanted for stress in stresses)
