"""A recalled number is told to whoever has already printed: by verify, on a page, and by survey."""

import shutil
from collections.abc import Callable
from pathlib import Path

import pypdf
import pytest

FIRST = Path(__file__).parents[1] / "filed" / "first"
"""Packets drawn by the first version, before the tabs were corrected, kept as they were."""
SAMPLES = Path(__file__).parents[2] / "samples"
# Both holes, hole line parallel to its host: own arithmetic, see tests/geometry/test_recall.py.
OFF = {"dunlin-1": 1.77, "curlew-1": 0.40}


@pytest.fixture(autouse=True)
def own_home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Give each test a folder of its own for the pull history."""
    monkeypatch.setenv("DROPLEAF_HOME", str(tmp_path / "home"))


@pytest.mark.parametrize("name", OFF)
def test_a_packet_of_the_first_version_is_intact_and_recalled(run: Callable, name: str) -> None:
    document = run("verify", FIRST / f"{name}.pdf", "--json").json
    assert (document["intact"], document["one_to_one"], document["matches_job"]) == (True, True, False)
    recall = document["recall"]
    assert (recall["holes"]["near"], recall["holes"]["far"]) == pytest.approx((OFF[name],) * 2, abs=0.0055)
    moved = {each["what"]: each["by"] for each in document["differences"]}
    for hole in ("near", "far"):
        assert moved[f"hole {hole}, centre"] == pytest.approx(recall["holes"][hole], abs=0.001)
    text = run("verify", FIRST / f"{name}.pdf").out
    assert f"  Off by: near hole {OFF[name]:.2f} mm, far hole {OFF[name]:.2f} mm.\n" in text
    assert "Put no heat on a sound tab" in text and "Offer up a caliper" in text


def test_a_folder_names_every_recalled_packet_first(run: Callable, tmp_path: Path) -> None:
    for name in OFF:
        shutil.copy(FIRST / f"{name}.pdf", tmp_path)
    assert run("draw", SAMPLES / "dunlin.toml", "--out", tmp_path / "new").status == 0
    assert run("draw", SAMPLES / "avocet.toml", "--out", tmp_path / "new").status == 0
    ran = run("verify", "--all", tmp_path, "--json")
    assert ran.status == 1
    assert ran.json["packets"] == 4
    found = {Path(each["packet"]).stem: each for each in ran.json["affected"]}
    assert {name: each["recall"]["row"] for name, each in found.items()} == {
        "curlew-1": "is-front", "dunlin-1": "is-rear",
    }  # fmt: skip
    assert found["dunlin-1"]["frame"] == "dunlin-1 Dunlin"
    text = run("verify", "--all", tmp_path).out
    assert text.splitlines()[0].endswith("2 affected by changed table numbers, 2 RECALLED")
    assert "near hole 1.77 mm, far hole 1.77 mm" in text and "near hole 0.40 mm, far hole 0.40 mm" in text


def test_the_recall_is_a_page_with_a_line_a_frame(run: Callable, tmp_path: Path) -> None:
    folder = tmp_path / "filed"
    folder.mkdir()
    for name in OFF:
        shutil.copy(FIRST / f"{name}.pdf", folder)
    page = tmp_path / "recall.pdf"
    ran = run("verify", "--all", folder, "--pdf", page, "--paper", "Letter", "--json")
    assert ran.json["pdf"] == str(page)
    (sheet,) = pypdf.PdfReader(page).pages
    text = " ".join(sheet.extract_text().split())
    for name, off in OFF.items():
        assert f"{name}.pdf" in text and f"{off:.2f} mm" in text
    assert "79.1, 78.1 is right" in text and "49.9, 49.7 is right" in text
    assert "Put no heat on a sound tab" in text
    assert float(sheet.mediabox.width) == pytest.approx(612.0)


def test_no_page_where_nothing_is_recalled(run: Callable, tmp_path: Path) -> None:
    assert run("draw", SAMPLES / "dunlin.toml", "--out", tmp_path).status == 0
    page = tmp_path / "recall.pdf"
    ran = run("verify", "--all", tmp_path, "--pdf", page)
    assert ran.status == 0
    assert "no packet is recalled: no page was written" in ran.out
    assert not page.exists()
    assert "give --all and a folder" in run("verify", tmp_path / "dunlin-1.pdf", "--pdf", page).errors[0]
    assert "does not end in .pdf" in run("verify", "--all", tmp_path, "--pdf", tmp_path / "recall").errors[0]


OLD = """[finished]
axle-to-near-over = [52.65, 52.6, 52.65]
axle-to-far-over = [91.8, 91.85, 91.8]
near-to-far-over = [57.35, 57.35, 57.3]
far-hole-to-seatstay = 23.8
inner-face-to-tab = 0.0
outer-face-to-tab = 7.0
"""


def test_a_survey_says_which_row_a_mount_fits_and_advises_no_heat(run: Callable, tmp_path: Path) -> None:
    """Readings over a 19.05 axle and 6.35 pins on a tab of 39.9, 79.1 and 51: own arithmetic."""
    readings = tmp_path / "readings.toml"
    readings.write_text(OLD, encoding="utf-8")
    ran = run("survey", SAMPLES / "dunlin.toml", "--readings", readings, "--pin", "6.35", "--json")
    assert ran.status == 1
    assert ran.json["verdict"] == "cannot tell"
    assert ran.json["recall"] == {
        "row": "is-rear",
        "key": "radii.far",
        "was": 79.1,
        "radii": [39.9, 79.1, 51.0],
    }
    (remedy,) = ran.json["remedies"]
    assert remedy["kind"] == "offer" and "Put no heat on a sound tab" in remedy["text"]
    assert "far" in remedy["answers"]
    text = run("survey", SAMPLES / "dunlin.toml", "--readings", readings, "--pin", "6.35").out
    assert "It fits the numbers that Dropleaf printed for is-rear before they were corrected" in text
    assert "Cut the mount off" not in text
    assert text.rstrip().endswith("Until a caliper was offered up and found to sit right, it is not ridden.")


@pytest.mark.parametrize(
    ("given", "told"),
    [("1.9", "between 2 and 12 mm"), ("wide", "'wide' is not a number"), ("nan", "is not a number")],
)
def test_a_wrong_pin_is_refused(run: Callable, tmp_path: Path, given: str, told: str) -> None:
    readings = tmp_path / "readings.toml"
    readings.write_text(OLD, encoding="utf-8")
    ran = run("survey", SAMPLES / "dunlin.toml", "--readings", readings, "--pin", given)
    assert ran.status == 2
    assert ran.errors[0].startswith("dropleaf: --pin: ") and told in ran.errors[0]


def test_readings_of_a_filled_packet_are_taken_over_the_pins_of_its_own_sheets(
    run: Callable, tmp_path: Path
) -> None:
    """The first version drew holes of 6.4, and its traveller's readings are over pins that fit those."""
    from tests.files.forms import type_in

    packet, filled = tmp_path / "dunlin-1.pdf", tmp_path / "filled.pdf"
    shutil.copy(FIRST / "dunlin-1.pdf", packet)
    given = {
        f"reading.finished.{key}": value
        for key, value in (
            ("axle-to-near-over", "52.6; 52.65"),
            ("axle-to-far-over", "91.8; 91.8"),
            ("near-to-far-over", "57.35; 57.35"),
            ("inner-face-to-tab", "0"),
            ("outer-face-to-tab", "7.0"),
        )
    }
    type_in(packet, filled, given)
    found = run("survey", filled, "--no-file", "--json").json
    assert found["recall"]["row"] == "is-rear"
    assert found["contradictions"] == []
