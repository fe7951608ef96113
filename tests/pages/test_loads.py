"""The page of forces and the push on the template: what is drawn, to which scale, and in which sense."""

import json
import math
from pathlib import Path
from unittest.mock import patch

import pytest

from sheets.actions.draw import plan
from sheets.actions.pages import Kind
from sheets.cli import main
from sheets.ink.records import Segment, Sheet
from sheets.job.read import load, tubes_of
from sheets.pages.flow import Flow
from sheets.pages.full_size import loads as loads_page
from sheets.pages.running.card import card
from sheets.setup.cited import cited
from sheets.words.tell import tell, told
from sheets.words.two import two
from tests.pages.jobs import Asked

SAMPLES = Path(__file__).parents[2] / "samples"
NO_SLOT = (("slot = ", "# slot = "), ("slot_from = ", "# slot_from = "))
BLADE = (("head = ", "# head = "), ("rake = ", "# rake = "), ("axle_to_crown = ", "# axle_to_crown = "))
"""Takes the stance from the sample curlew, as jobs of before have none."""


_SAMPLE = (SAMPLES / "dunlin.toml").read_text(encoding="utf-8")
_BRACE = _SAMPLE[_SAMPLE.index("[tubes.brace]") : _SAMPLE.index("[boss]")]
UNBRACED = (_BRACE, "")
"""Takes the brace from the sample dunlin, whose chainstay is then weak."""


def _plan(tmp_path: Path, sample: str, *changes: tuple[str, str]) -> Asked:
    text = (SAMPLES / f"{sample}.toml").read_text(encoding="utf-8")
    for old, new in changes:
        assert old in text
        text = text.replace(old, new)
    file = tmp_path / f"{sample}.toml"
    file.write_text(text, encoding="utf-8")
    return Asked(load(file))


def _segment(sheet: Sheet, name: str) -> tuple[float, float]:
    (found,) = (each for each in sheet.features if isinstance(each, Segment) and each.name == name)
    return found.end[0] - found.start[0], found.end[1] - found.start[1]


def _kind(made: Asked, kind: Kind) -> Sheet:
    return made.of(kind)[0]


def _text(made: Asked, kind: Kind, which: int) -> str:
    """Return the running text of a sheet, the which-th of its kind."""
    return " ".join(text.text for text in made.of(kind)[which].texts)


def _lettered_on_card(made: Asked) -> list[tuple[str, float]]:
    """Return what is lettered large on the card, with its height in mm: it is drawn again to see that."""
    with patch.object(Flow, "lettering", autospec=True) as lettering:
        card(made.source.job, made.placement, made.setup)
    return [call.args[1:] for call in lettering.call_args_list]


@pytest.mark.parametrize(("view", "sign"), [("outboard", 1.0), ("inboard", -1.0)])
def test_arrows_run_the_right_way_in_both_views(tmp_path: Path, view: str, sign: float) -> None:
    made = _plan(tmp_path, "curlew", ("[paper]", f'[paper]\nview = "{view}"'))
    page, template = _kind(made, "loads"), _kind(made, "template")
    # A fork's caliper behind the leg (common practice): the disc drags it up and forward, which is left from
    # outboard; the road drags the tyre rearward, and the axle is driven down and rearward.
    caliper, tyre, axle = (_segment(page, f"force {where}") for where in ("on caliper", "at tyre", "on axle"))
    assert caliper[0] * sign < 0.0 < caliper[1]
    assert tyre[0] * sign > 0.0 and tyre[1] > 0.0
    assert axle[0] * sign > 0.0 > axle[1]
    push, out = _segment(template, "axle reaction"), _segment(template, "slot way out")
    assert math.atan2(push[1], push[0]) == pytest.approx(math.atan2(axle[1], axle[0]))
    # The sample's slot opens 40 degrees forward of the leg's line, which is drawn upright: down, and forward.
    assert math.degrees(math.atan2(-out[0] * sign, -out[1])) == pytest.approx(40.0)
    # Its leg stands at 65.4: the road rises rearward by 24.6, and from square to it the brake, 654 on 981 N,
    # leans its force back (own arithmetic: 90 + 24.6 - 33.7).
    assert math.degrees(math.atan2(tyre[1], tyre[0] * sign)) == pytest.approx(80.9, abs=0.1)


def test_arrows_are_as_long_as_their_scale_says(tmp_path: Path) -> None:
    made = _plan(tmp_path, "curlew")
    assert made.setup.load is not None
    forces = made.setup.load.forces
    page = _kind(made, "loads")
    lengths = {
        name: math.hypot(*_segment(page, name))
        for name in ("force on axle", "force at tyre", "force on caliper")
    }
    per = {
        round(math.hypot(*force) / lengths[name], 6)
        for name, force in (
            ("force on axle", forces.axle),
            ("force at tyre", forces.ground),
            ("force on caliper", forces.on_caliper),
        )
    }
    assert per == {100.0}


def test_an_open_slot_warns_on_every_sheet_and_a_thru_axle_does_not(tmp_path: Path) -> None:
    open_ = _plan(tmp_path, "curlew", ("slot = ", "slot = 0 # "))
    closed = _plan(tmp_path, "curlew", *NO_SLOT, ("100-qr", "100x15"))
    for made, warns in ((open_, True), (closed, False)):
        pushed = [each for each in made.findings if each.code == "slot-pushes-out"]
        lettered = _lettered_on_card(made)
        traveller = " ".join(text.text for sheet in made.of("traveller") for text in sheet.texts)
        assert ("BRAKING PUSHES THE WHEEL OUT" in traveller) is warns
        stamp = made.setup.load.stamp if made.setup.load else ""
        assert bool(pushed) is warns
        assert (
            any("BRAKING PUSHES THE WHEEL OUT" in text and height >= 5.0 for text, height in lettered)
            is warns
        )
        assert bool(stamp) is warns
        names = {feature.name for feature in _kind(made, "template").features}
        assert ("axle reaction" in names) is warns


def test_both_pages_are_in_the_packet_alone(tmp_path: Path) -> None:
    made = plan(_plan(tmp_path, "dunlin").source, None)
    assert [sheet.kind for sheet in made.sheets].count("loads") == 2
    assert not any("loads" in file.path.name for file in made.files)


def test_a_tube_without_its_wall_is_told_of_for_usual_walls(tmp_path: Path) -> None:
    made = _plan(tmp_path, "dunlin", ("wall = 0.8", ""))
    assert made.setup.load is not None
    found = made.setup.load.strength
    assert (found.level, found.stop, found.missing) == ("unknown", (), ("tubes.seatstay.wall",))
    assert [each.wall for each in found.usual] == [0.7, 0.9, 1.2]
    stresses = [each.stress for each in found.usual]
    assert stresses == sorted(stresses, reverse=True)
    told = _text(made, "loads", 1)
    assert "give the seatstay's wall" in told and f"{stresses[1]:.0f} MPa with 0.9 mm" in told
    assert "yields at 435" in told
    # The same as a table: wall, tube, stress, yield, and the one over the other.
    row = (
        f"0.9 mm {found.usual[1].tube.replace('-', ' ')} {stresses[1]:.0f} 435 (D) {435.0 / stresses[1]:.2f}"
    )
    assert row in told
    assert [each.level for each in made.findings if each.code == "strength-unknown"] == ["unknown"]
    # What is not known is no warning, and never a number of its own.
    assert "tube-weak" not in {each.code for each in made.findings}


def test_a_job_without_a_stay_or_a_material_says_what_lacks(tmp_path: Path) -> None:
    made = _plan(tmp_path, "dunlin", ('material = "CrMo"', ""), UNBRACED)
    assert made.setup.load is not None
    found = made.setup.load.strength
    assert found.missing == ("process.material",)
    assert found.level == "unknown" and found.worst is not None and found.worst.ratio is None
    assert "yield, MPa (grade) yield / stress chainstay at the dropout, 30 mm along it 510 unknown" in _text(
        made, "loads", 1
    )
    alone = _plan(tmp_path, "turnstone").setup.load
    assert alone is not None and alone.strength.missing == ("tubes.seatstay",)


def test_a_material_that_is_none_or_says_only_its_kind_is_told(tmp_path: Path) -> None:
    """A slip of the keyboard takes no warning away unseen, and plain "steel" passes for no better one."""
    none = _plan(tmp_path, "lapwing", ('material = "CrMo"', 'material = "y"'))
    (found,) = (each for each in none.findings if each.code == "strength-unknown")
    assert (found.level, told(found.remedy or "").startswith("'y' is no material")) == ("unknown", True)
    vague = _plan(tmp_path, "lapwing", ('material = "CrMo"', 'material = "steel"'))
    (said,) = (each for each in vague.findings if each.code == "material-vague")
    assert said.level == "note" and "mild steel" in told(said.text)
    plain = _plan(tmp_path, "lapwing")
    assert not {"material-vague", "strength-unknown"} & {each.code for each in plain.findings}


def test_a_brace_is_reckoned_with(tmp_path: Path) -> None:
    braced = _plan(tmp_path, "dunlin")
    bare = _plan(tmp_path, "dunlin", UNBRACED)
    assert braced.setup.load is not None and bare.setup.load is not None
    held, free = braced.setup.load.strength, bare.setup.load.strength
    assert held.worst is not None and free.worst is not None
    assert held.worst.cut.stress < free.worst.cut.stress
    assert (held.level, free.level) == ("good", "weak")
    (weak,) = (each for each in bare.findings if each.code == "tube-weak")
    assert "A brace between the stays" in told(weak.text)
    assert "tube-weak" not in {each.code for each in braced.findings}
    # Without its wall a brace holds nothing, and is asked for.
    unknown = _plan(tmp_path, "dunlin", ("wall = 0.9\non_chainstay", "on_chainstay"))
    assert unknown.setup.load is not None
    assert "tubes.brace.wall" in unknown.setup.load.strength.missing


def test_the_page_of_strength_marks_the_weakest_place_and_lists_every_tube(tmp_path: Path) -> None:
    made = _plan(tmp_path, "dunlin", UNBRACED)
    assert made.setup.load is not None
    told = _text(made, "loads", 1)
    # What the page is for comes first, then its verdict.
    assert told.startswith(f"{tell('packet.use.loads')} WEAK: one hard stop may bend a tube for good.")
    for each in made.setup.load.strength.stop:
        assert f"{each.weakest.cut.stress:.0f}" in told
        assert f"{each.weakest.ratio:.2f}" in told
    assert "at the dropout, 30 mm along it" in told
    # 6 N m over 0.2 x 6 mm is 5000 N, times 0.15 is 750; 8 N m make 1000 (own arithmetic).
    assert "Tightened to 6 N·m, friction holds 750 N and 750 N; at 8 N·m it holds 1000 N and 1000 N" in told
    assert "have a new design tested" in told
    for sample, level in (("lapwing", "weak"), ("curlew", "good"), ("whimbrel", "good")):
        load_ = _plan(tmp_path, sample).setup.load
        assert load_ is not None and load_.strength.level == level
        assert load_.strength.test and load_.strength.test_force is not None


@pytest.mark.parametrize("sample", ["dunlin", "godwit", "lapwing"])
def test_the_page_of_strength_loses_no_word(tmp_path: Path, sample: str) -> None:
    """What did not fit the page went lost, what the page is no proof of with it."""
    made = _plan(tmp_path, sample)
    page = _text(made, "loads", 1)
    assert made.setup.load is not None
    for each in (*made.setup.load.after, tell("strength.screen")):
        assert " ".join(each.split()) in page
    assert page.endswith("have a new design tested.")


def test_the_page_of_loads_cites_its_sources_by_their_numbers(tmp_path: Path) -> None:
    """What it is worked out from once stood there with each source in full: eight lines of it."""
    made = _plan(tmp_path, "dunlin")
    small, found = _lettering(made, 0), cited(made.source.job, made.placement, made.setup)
    number = found.sources.index("TBIS 15194 after EN 14766:2005") + 1
    assert f"Worked out from 100 kg in all (C [{number}])" in small
    assert "TBIS" not in small and "own judgement" not in small
    given = _lettering(_plan(tmp_path, "whimbrel"), 0)
    assert "Worked out from 160 kg in all (yours)" in given


def test_the_document_tells_the_screen_without_its_many_sections(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "dunlin.toml"
    file.write_text(_SAMPLE.replace(*UNBRACED), encoding="utf-8")
    assert main(["check", str(file), "--json"]) == 0
    forces = json.loads(capsys.readouterr().out)["setup"]["forces"]
    assert {"load", "forces", "slot", "strength", "holds", "parts"} <= set(forces)
    assert forces["strength"]["level"] == "weak"
    assert "bent" not in forces["strength"] and "walls" not in forces["strength"]
    first = forces["strength"]["stop"][0]
    assert first["tube"] == "chainstay" and first["weakest"]["at"] == "start"
    assert first["weakest"]["limit"] is None or first["weakest"]["limit"]["grade"] == "D"


def test_a_fork_whose_slot_is_not_given_is_asked_for_it(tmp_path: Path) -> None:
    made = _plan(tmp_path, "curlew", *NO_SLOT)
    (asks,) = (told(each.text) for each in made.findings if each.code == "slot-unknown")
    assert "give dropout.slot" in asks and "Straight down" in asks
    said = _text(made, "card", 0)
    assert "which way the slot opens is not given. Give the slot's direction and what" in said
    numbers = " ".join(text.text for sheet in made.of("details") for text in sheet.texts)
    assert "slot: unknown, give the slot's direction and what" in numbers
    assert "axle reaction" not in {feature.name for feature in _kind(made, "template").features}


def test_the_walls_that_help_do_help(tmp_path: Path) -> None:
    """A stiffer stay draws load to itself, so that one wall alone may leave the other weak, or make it so."""
    thin = ("[[30, 14], [160, 19], [370, 22.2]]\nwall = 0.9", "[[30, 14], [370, 14]]\nwall = 0.6")
    slim = ("[[28, 14], [120, 16], [380, 16]]\nwall = 0.8", "[[28, 14], [380, 14]]\nwall = 0.6")
    weak = _plan(tmp_path, "dunlin", thin, slim)
    assert weak.setup.load is not None and weak.setup.load.strength.level == "weak"
    walls = dict(weak.setup.load.strength.cure)
    assert set(walls) == {"chainstay", "seatstay"}
    (said,) = (told(each.text) for each in weak.findings if each.code == "tube-weak")
    assert f"{walls['chainstay']:.2f} in the chainstay and a wall of {walls['seatstay']:.2f}" in said
    mended = [
        (old, new.replace("0.6", f"{walls[name]}"))
        for (old, new), name in ((thin, "chainstay"), (slim, "seatstay"))
    ]
    better = _plan(tmp_path, "dunlin", *mended)
    assert better.setup.load is not None and better.setup.load.strength.level == "look"


def test_a_cargo_fork_is_asked_for_its_own_stop(tmp_path: Path) -> None:
    wide = (
        '[[30, "1 1/8 in"], [390, "1 1/8 in"]]\nwall = "0.049 in"',
        "[[30, 34], [390, 34]]\nwall = 1.2",
    )
    solo = _plan(tmp_path, "curlew", wide)
    cargo = _plan(tmp_path, "curlew", wide, ("[paper]", '[load]\nkind = "cargo"\nmass = 500\n[paper]'))
    assert "tube-weak" not in {each.code for each in solo.findings}
    (said,) = (told(each.text) for each in cargo.findings if each.code == "tube-weak")
    assert "What helps: a wall of 1." in said or "What helps: a larger fork leg" in said
    assert "outside-test" in {each.code for each in cargo.findings}


THIN = ("wall = 2.0 ", "wall = 1.5 "), ('[load]\nkind = "cargo"\nmass = 160', "[load]\n# nothing")
"""Takes from the sample whimbrel its stout leg and its load."""


def test_a_leg_that_the_fork_test_may_bend_or_crack_is_told_so_beside_the_verdict(tmp_path: Path) -> None:
    """31.8 x 1.5: 279 MPa at 600 N, so 465 at 1000 N against 435, and a sum of 1.01 (own arithmetic)."""
    made = _plan(tmp_path, "whimbrel", *THIN)
    page = _text(made, "loads", 1)
    assert "279 MPa at its far end" in page and "465 MPa in the same place" in page
    assert "14400 times 600 N and 12000 times 700 N" in page and "use up 1.0 of its life" in page
    above, below = page.index("asks for more"), page.index("ASSUMED: 100 kg")
    assert above < below < page.index("279 MPa")
    assert "221 N·m at the axle" in page and "287 N·m where the stress is highest" in page
    levels = {each.code: each.level for each in made.findings if each.code.startswith("fork-test")}
    assert levels == {"fork-test-held": "note", "fork-test": "note"}
    stout = _plan(tmp_path, "whimbrel")
    assert not {each.code for each in stout.findings} & {"fork-test-held", "fork-test"}
    assert "asks for more" not in _text(stout, "loads", 1)


def test_an_assumed_load_is_told_beside_the_verdict_and_a_given_one_is_not_called_so(tmp_path: Path) -> None:
    assumed, given = _plan(tmp_path, "avocet"), _plan(tmp_path, "whimbrel")
    for which in (0, 1):
        assert "ASSUMED: 100 kg" in _lettering(assumed, which)
        assert "ASSUMED" not in _lettering(given, which) and "160 kg" in _lettering(given, which)


def _lettering(made: Asked, which: int) -> str:
    """Return a page's text; of the first, which is lettered, its title block: it is drawn again for that."""
    if which:
        return _text(made, "loads", which)
    found = made.setup.load
    assert found is not None
    with patch.object(loads_page, "title_block", wraps=loads_page.title_block) as block:
        loads_page.loads(made.source.job, made.placement, tubes_of(made.source.job), made.setup)
    return " ".join(line.text for line in block.call_args.args[2])


def test_the_verdict_counts_what_the_side_view_leaves_out(tmp_path: Path) -> None:
    """Avocet: 269 in the side view and 81 at right angles, sqrt(269^2 + 81^2) = 281 (own arithmetic)."""
    made = _plan(tmp_path, "avocet")
    assert made.setup.load is not None
    found = made.setup.load.strength
    assert found.bound is not None and found.aside is not None and found.worst is not None
    # A little less than that, for the pull along the tube stands beside both.
    assert found.bound.cut.stress == pytest.approx(math.hypot(269.0, found.aside.stress), rel=0.01)
    page = _text(made, "loads", 1)
    assert "it would come to at most 281 MPa" in page and "well within" not in page
    # With a stay so thin that only the bound comes near, it says may.
    near = _plan(tmp_path, "avocet", ("wall = 1.0\n", "wall = 0.75\n"))
    assert near.setup.load is not None and near.setup.load.strength.by_aside
    assert near.setup.load.strength.level == "look"
    assert "may come near to what a tube can bear, once the sideways pull is counted" in _text(
        near, "loads", 1
    )
    assert [each.level for each in near.findings if each.code == "tube-near"] == ["note"]
    # Where it is not known how the stay lies, it is not called good without saying so.
    flat = _plan(tmp_path, "avocet", ("outset = -0.6", "# outset"), ("splay = 0\n", "\n"))
    assert flat.setup.load is not None and flat.setup.load.strength.aside is None
    assert "How far it is pulled sideways is not known." in _text(flat, "loads", 1)


def test_a_guess_has_two_figures(tmp_path: Path) -> None:
    made = _plan(tmp_path, "avocet")
    small = _lettering(made, 0)
    assert "by 3.3 m/s² (D [" in small and "0.33 of the weight on this wheel (D [" in small
    assert [two(each) for each in (0.3333, 3.26888, 33.0, 331.0, 0.996, 0.0)] == [
        *("0.33", "3.3", "33", "330", "1.0", "0"),
    ]


@pytest.mark.parametrize(
    ("sample", "part", "named"),
    [
        ("whimbrel", "far post or boss", True),
        ("avocet", "near post or boss", False),
        ("dunlin", "tab", False),
    ],
)
def test_the_headline_names_a_part_of_the_mount_that_is_weaker_than_every_tube(
    tmp_path: Path, sample: str, part: str, named: bool
) -> None:
    """Whimbrel: the leg's ratio is 1.40 and the far post's 435 / 336 = 1.29 (own arithmetic)."""
    made = _plan(tmp_path, sample)
    page = _text(made, "loads", 1)
    assert part in page and (f"Weaker than every tube in the table is the {part}" in page) is named
    if named:
        assert "at its root: 336 MPa" in page and "1.29 times as much" in page


@pytest.mark.parametrize("sample", ["curlew", "godwit", "whimbrel"])
def test_an_ordinary_front_mount_is_not_alarmed_about_its_screws(tmp_path: Path, sample: str) -> None:
    """All ordinary front mounts exceed dry friction; class 4.6 shears for good at 0.58 * 240 = 139 MPa, from
    memory of ISO 898-1, not read."""
    made = _plan(tmp_path, sample)
    assert made.setup.load is not None
    assert 0.0 < max(each.stress for each in made.setup.load.holds) < 139.0 / 2.0
    assert "so this is no fault of the mount" in _text(made, "loads", 1)


def test_how_often_a_joint_bears_a_stop_follows_how_it_is_joined(tmp_path: Path) -> None:
    """A welded joint has a published class (grade D); for a brazed one nothing is on file."""
    brazed = _plan(tmp_path, "dunlin")
    said = _text(brazed, "loads", 1)
    assert "How often a brazed joint bears this stop is unknown" in said and "71 MPa" not in said
    listed = " ".join(text.text for sheet in brazed.of("numbers") for text in sheet.texts)
    assert "71 MPa" not in listed
    welded = _text(_plan(tmp_path, "dunlin", ('"fillet-braze"', '"tig"'), ("filler = ", "# ")), "loads", 1)
    assert "A welded joint that bears 71 MPa 2 million times" in welded and "brazed" not in welded
    open_ = _text(_plan(tmp_path, "dunlin", ("method = ", "# ")), "loads", 1)
    assert "does not say how the mount is joined" in open_ and "For a brazed joint no such number" in open_


def test_a_brazed_forks_repeated_pushes_are_unknown_and_no_verdict(tmp_path: Path) -> None:
    made = _plan(tmp_path, "curlew")
    page = _text(made, "loads", 1)
    assert "How often a brazed joint bears that is unknown" in page and "of its life" not in page
    found = {each.code: each for each in made.findings}
    assert "fork-test" not in found and found["fork-test-unknown"].level == "note"


def test_what_is_not_magnified_is_not_said_to_be(tmp_path: Path) -> None:
    """A leg with a wall of 0.3 under 250 kg moves so far that its figure shows it as it is."""
    heavy = ('wall = "0.049 in"', "wall = 0.3"), ("[process]", "[load]\nmass = 250\n[process]")
    said = _text(_plan(tmp_path, "curlew", *heavy), "loads", 1)
    assert "bent by the stop as far as they really move." in said and " 1 times as far" not in said
