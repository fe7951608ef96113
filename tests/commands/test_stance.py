"""Slot and stance from the bench to the report: asked, measured, typed, told to people and to programs."""

import tomllib
from collections.abc import Callable
from pathlib import Path

import pytest
from pypdf import PdfWriter

from sheets.guide.asking import ask_all
from sheets.guide.talk import Talk
from sheets.job.read import load
from tests.commands.terminal import typed

PROMPT = "]: "
FORK = """[frame]
id = "knot-3"
[mount]
end = "front"
interface = "is-front"
rotor = 160
[axle]
system = "100-qr"
[dropout]
{slot}
[stance]
{stance}
"""


def _fork(tmp_path: Path, slot: str, stance: str = "") -> Path:
    file = tmp_path / "knot.toml"
    file.write_text(FORK.format(slot=slot, stance=stance), encoding="utf-8")
    return file


def test_a_program_is_told_what_is_unknown(run: Callable, tmp_path: Path) -> None:
    document = run("check", _fork(tmp_path, "slot = 33"), "--json").json
    slot = document["setup"]["forces"]["slot"]
    assert (slot["reference"], slot["unknown"]) == (None, ["dropout.slot_from", "stance.leg"])
    assert (slot["given"], slot["direction"], slot["verdict"]) == (33.0, None, "not with this slot")
    assert slot["asks"] in document["warnings"] and slot["sentence"] in document["warnings"]
    known = run("check", _fork(tmp_path, 'slot = 33\nslot_from = "plumb"', "leg = 72"), "--json").json
    slot, forces = (known["setup"]["forces"][key] for key in ("slot", "forces"))
    assert (slot["reference"], slot["unknown"], slot["direction"]) == ("plumb", [], 15.0)
    # The push is what of the axle's force runs along the way out, both in the frame's own axes.
    x, y = forces["axle"]
    assert slot["out"] == pytest.approx(-x * 0.258819 - y * 0.965926, abs=0.01)
    assert forces["turn"] == 18.0


def test_the_report_says_how_it_stands_and_from_what_the_slot_is_measured(
    run: Callable, tmp_path: Path
) -> None:
    ran = run("check", _fork(tmp_path, 'slot = 33\nslot_from = "plumb"', "leg = 72"), "--all")
    out = " ".join(ran.out.split())
    assert "The bicycle stands with its fork leg at 72.0 degrees to the ground." in out
    assert "which opens 33 degrees forward of plumb" in out
    assert "opens 15.0 deg from the fork leg's line, + forward" in out
    # At the axle as it stands, by hand: 3,134 N at 72 with the pads at 45.1 - 18 degrees over level, and the
    # road's 654 and 981 N: 2,081 rearward and 1,810 down.
    assert "(+2081 rearward, -1809 up from the ground)" in out or "(+2081 rearward, -1810 up" in out
    old = " ".join(run("check", _fork(tmp_path, "slot = 33"), "--all").out.split())
    assert "How the bicycle stands is not given: drawn for a fork leg at 58 degrees" in old
    assert "dropout.slot_from, stance.leg" in old


def test_slot_from_without_a_slot_is_refused_in_words(run: Callable, tmp_path: Path) -> None:
    ran = run("check", _fork(tmp_path, 'slot_from = "tube"'))
    assert ran.status == 2 and "dropout.slot_from: 'tube' given, but dropout.slot is not" in ran.errors[0]


def test_an_old_job_still_draws(run: Callable, tmp_path: Path) -> None:
    ran = run("draw", _fork(tmp_path, "slot = 33"), "--out", tmp_path / "paper")
    assert ran.status == 0 and (tmp_path / "paper" / "knot-3.pdf").is_file()
    assert "  unknown  Whether braking pushes the wheel out is not known: it may be " in ran.out
    assert "           Give dropout.slot_from and stance.leg." in ran.out


def test_a_slider_of_a_thru_axle_counts_the_worst_direction(run: Callable, tmp_path: Path) -> None:
    # Rearward by the stay or by the ground, which differ by up to 12 degrees: the pads leave the track first
    # in one of them, and that one is told, with the keys that would settle it.
    text = (
        '[frame]\nid = "knot-4"\n[mount]\nend = "rear"\ninterface = "post"\nrotor = 160\n'
        'host = "chainstay"\n[axle]\nsystem = "142x12"\n[dropout]\ntravel = 15\nslot = -90\n'
    )
    file = tmp_path / "slider.toml"
    reach = {}
    for more in ("", 'slot_from = "tube"\n', 'slot_from = "plumb"\n[stance]\nchainstay = 12\n'):
        file.write_text(text + more, encoding="utf-8")
        document = run("check", file, "--json").json
        assert document["setup"]["forces"]["slot"]["unknown"] == []
        reach[more] = document["setup"]["travel"]["reach"]
        told = any("(dropout.slot_from)" in each for each in document["warnings"])
        assert told is (more == "")
    open_, *known = reach.values()
    assert open_ <= min(known) + 1e-6


# --- the guided start


def test_start_asks_for_reference_and_stance_and_says_what_follows(tmp_path: Path) -> None:
    answers = {
        "Is the mount": "front", "Which axle?": "1", "Which mount?": "is-front",
        "let the wheel out": "40", "angle measured from": "tube", "head angle": "72", "rake": "45",
        "axle to crown": "390", "Where does the fork leg begin": "17 at 22", "What number": "knot-5",
    }  # fmt: skip

    def answer(shown: str) -> str:
        question = shown[shown.rindex("\r\n\r\n") :]
        return next((text for words, text in answers.items() if words in question), "")

    ran = typed(["start", "--no-draw"], answer, PROMPT, tmp_path)
    assert ran.status == 0, ran.shown
    for told in (
        "That is 40 degrees, + forward; from what it is measured comes next.",
        "plumb: straight down to the ground as the bicycle stands",
        "The slot opens 40 degrees forward of the fork leg's line.",
        "A straight blade's leg then stands at 65.4 degrees to the ground.",
    ):
        assert told in ran.shown, told
    job = load(tmp_path / "knot-5.toml").job
    assert (job.dropout.slot, job.dropout.slot_from) == (40.0, "tube")
    assert job.stance.of("front").angle == pytest.approx(65.37, abs=0.01)
    text = (tmp_path / "knot-5.toml").read_text(encoding="utf-8")
    assert tomllib.loads(text)["stance"] == {"head": 72, "rake": 45, "axle_to_crown": 390}


def test_a_thru_axle_is_asked_for_no_slot_and_each_end_for_its_own_stance() -> None:
    for given, wanted, other in (
        ({"mount.end": "front", "axle.kind": "thru axle"}, "stance.leg", "stance.chainstay"),
        ({"mount.end": "rear", "axle.kind": "quick release"}, "stance.chainstay", "stance.leg"),
    ):
        more = {f"tubes.{tube}.place.1": "16 at 25" for tube in ("fork-leg", "chainstay")}
        settled = ask_all({**given, **more, "other.stay": "no"}, Talk(lambda prompt: "", lambda line: None))
        assert wanted in settled and other not in settled
        assert ("dropout.slot" in settled) is (given["axle.kind"] == "quick release")
        # A slot left out has no angle to be measured from.
        assert "dropout.slot_from" not in settled


def test_a_blade_that_contradicts_is_refused_by_start(run: Callable, tmp_path: Path) -> None:
    pairs = {
        "mount.end": "front", "axle.system": "100-qr", "tubes.fork-leg.place.1": "17 at 22",
        "stance.leg": "70", "stance.head": "72", "stance.rake": "45", "stance.axle_to_crown": "390",
    }  # fmt: skip
    flags = [part for key, text in pairs.items() for part in ("--set", f"{key}={text}")]
    ran = run("start", "--yes", "--out", tmp_path / "new", *flags)
    assert ran.status == 2 and any("stance.leg: 70 given, but head 72" in line for line in ran.errors)
    assert not (tmp_path / "new").exists()


def test_the_measuring_sheet_is_read_with_slot_and_stance(run: Callable, tmp_path: Path) -> None:
    assert run("blank", "--paper", "A4", "--out", tmp_path).status == 0
    filled = {
        "frame.id": "knot-6", "mount.end": "front", "axle.kind": "quick release", "axle.system": "100-qr",
        "mount.interface": "is-front", "mount.rotor": "160", "tubes.fork-leg.place.1.at": "22",
        "tubes.fork-leg.place.1.outside": "17", "dropout.slot": "33", "dropout.slot_from": "plumb",
        "stance.leg": "66",
    }  # fmt: skip
    writer = PdfWriter(clone_from=tmp_path / "measuring-sheet-A4.pdf")
    for page in writer.pages:
        writer.update_page_form_field_values(page, filled, auto_regenerate=False)
    writer.write(tmp_path / "filled.pdf")
    ran = run("start", "--from", tmp_path / "filled.pdf", "--yes", "--out", tmp_path / "new")
    assert ran.status == 0, ran.errors
    job = load(tmp_path / "new" / "knot-6.toml").job
    assert (job.dropout.slot, job.dropout.slot_from, job.stance.leg) == (33.0, "plumb", 66.0)
