"""The page of forces and the push on the template: what is drawn, to which scale, and in which sense."""

import json
import math
from pathlib import Path

import pytest

from sheets.cli import main
from sheets.draw import Plan, plan
from sheets.ink.records import Segment, Sheet
from sheets.job import load

SAMPLES = Path(__file__).parents[2] / "samples"
NO_SLOT = (("slot = ", "# slot = "), ("slot_from = ", "# slot_from = "))
BLADE = (("head = ", "# head = "), ("rake = ", "# rake = "), ("axle_to_crown = ", "# axle_to_crown = "))
"""Takes the stance from the sample curlew, as jobs of before have none."""


def _plan(tmp_path: Path, sample: str, *changes: tuple[str, str]) -> Plan:
    text = (SAMPLES / f"{sample}.toml").read_text(encoding="utf-8")
    for old, new in changes:
        assert old in text
        text = text.replace(old, new)
    file = tmp_path / f"{sample}.toml"
    file.write_text(text, encoding="utf-8")
    return plan(load(file), None)


def _segment(sheet: Sheet, name: str) -> tuple[float, float]:
    (found,) = (each for each in sheet.features if isinstance(each, Segment) and each.name == name)
    return found.end[0] - found.start[0], found.end[1] - found.start[1]


def _kind(made: Plan, kind: str) -> Sheet:
    return next(sheet for sheet in made.sheets if sheet.kind == kind)


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
        told = [each for each in made.warnings if "BRAKING PUSHES" in each]
        card = " ".join(text.text for sheet in made.sheets if sheet.kind == "card" for text in sheet.texts)
        traveller = " ".join(
            text.text for sheet in made.sheets if sheet.kind == "traveller" for text in sheet.texts
        )
        assert ("BRAKING PUSHES THE WHEEL OUT" in traveller) is warns
        stamp = made.setup.load.stamp if made.setup.load else ""
        assert bool(told) is warns
        assert ("BRAKING PUSHES THE WHEEL" in card) is warns
        assert bool(stamp) is warns
        names = {feature.name for feature in _kind(made, "template").features}
        assert ("axle reaction" in names) is warns


def test_the_page_is_in_the_packet_alone(tmp_path: Path) -> None:
    made = _plan(tmp_path, "dunlin")
    assert [sheet.kind for sheet in made.sheets].count("loads") == 1
    assert not any("loads" in file.path.name for file in made.files)


def test_a_job_without_tube_wall_or_material_says_what_lacks(tmp_path: Path) -> None:
    made = _plan(tmp_path, "dunlin", ("wall = 0.8", ""), ('material = "CrMo"', ""))
    assert made.setup.load is not None
    assert made.setup.load.tube.missing == ("tubes.seatstay.wall", "a known material in process.material")
    assert any("tubes.seatstay.wall" in each for each in made.setup.load.words)


def test_a_brace_is_reckoned_with(tmp_path: Path) -> None:
    brace = "[tubes.brace]\ndiameter = 10\non_chainstay = 150\non_seatstay = 150\nwall = 0.9\n[boss]"
    made = _plan(tmp_path, "dunlin", ("[boss]", brace))
    load_ = made.setup.load
    assert load_ is not None and load_.braced is not None
    free, held = load_.tube.worst, load_.braced.worst
    assert free is not None and held is not None and held.stress < free.stress
    assert any("with the brace" in each for each in load_.words)
    # What is there already is no advice.
    assert not any("a brace to the chainstay" in each for each in made.warnings)
    bare = _plan(tmp_path, "dunlin")
    assert any("a brace to the chainstay" in each for each in bare.warnings)


def test_a_brace_below_the_top_of_the_foot_is_not_credited(tmp_path: Path) -> None:
    brace = "[tubes.brace]\ndiameter = 10\non_chainstay = 150\non_seatstay = 60\nwall = 0.9\n[boss]"
    load_ = _plan(tmp_path, "dunlin", ("[boss]", brace)).setup.load
    assert load_ is not None and load_.braced is None
    assert not any("with the brace" in each for each in (*load_.words, *load_.warnings))
    assert any("a brace to the chainstay from above the foot" in each for each in load_.warnings)


def test_a_brace_just_above_the_foot_still_makes_one_json_document(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    brace = "[tubes.brace]\ndiameter = 10\non_chainstay = 150\non_seatstay = 100\nwall = 0.9\n[boss]"
    file = tmp_path / "dunlin.toml"
    text = (SAMPLES / "dunlin.toml").read_text(encoding="utf-8")
    file.write_text(text.replace("[boss]", brace), encoding="utf-8")
    assert main(["check", str(file), "--json"]) == 0
    forces = json.loads(capsys.readouterr().out)["setup"]["forces"]
    assert forces["braced"]["places"][-1]["stress"] == 0.0
    assert forces["braced"]["places"][-1]["ratio"] is None


def test_a_fork_whose_slot_is_not_given_is_asked_for_it(tmp_path: Path) -> None:
    made = _plan(tmp_path, "curlew", *NO_SLOT)
    assert any("give dropout.slot" in each and "Straight down" in each for each in made.warnings)
    card = " ".join(text.text for sheet in made.sheets if sheet.kind == "card" for text in sheet.texts)
    assert "slot: unknown, give dropout.slot and dropout.slot_from" in card
    assert "axle reaction" not in {feature.name for feature in _kind(made, "template").features}


def test_a_cargo_fork_is_asked_for_its_own_stop(tmp_path: Path) -> None:
    wide = ("[[25, 16], [200, 22], [360, 28, 20]]\nwall = 1.0", "[[25, 44], [360, 44]]\nwall = 1.2")
    solo = _plan(tmp_path, "curlew", wide)
    cargo = _plan(tmp_path, "curlew", wide, ("[paper]", '[load]\nkind = "cargo"\nmass = 400\n[paper]'))
    assert not any(each.startswith("Screen:") for each in solo.warnings)
    (told,) = (each for each in cargo.warnings if each.startswith("Screen:"))
    assert "MPa braked hard" in told
    assert any("leaves cargo bicycles out" in each for each in cargo.warnings)
