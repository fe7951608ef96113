"""Bars that a ruler found true: known to the folder at once, of that very packet, and after a restart."""

import shutil
from pathlib import Path

import pytest

from sheets.desk.state import Desk
from sheets.desk.watch import Watch, states
from sheets.filing.revise import file_survey
from tests.desk.conftest import Client
from tests.desk.test_frames import filled, known
from tests.desk.test_sheets import Drawn, placed

BARS = "/frame/dunlin/sheets/bars"
TRUE = {"across": "150", "down": "150"}


def told(place: Path) -> dict[str, str]:
    """Return the state of each packet of a folder, as a desk that was just started tells it."""
    watch = Watch(Desk(place, 1))
    try:
        (row,) = known(watch).rows
        return {each.file: " ".join(states(each, row.frame)) for each in row.packets}
    finally:
        watch.end()


@pytest.fixture
def packet(client: Client, delivered: Drawn) -> Path:
    """Return a packet in the desk's folder, beside its job."""
    placed(client, delivered["dunlin", "outboard"], packet=True)
    return client.desk.folder / "dunlin-1.pdf"


def test_true_bars_are_known_at_once_after_a_restart_and_of_that_revision_alone(
    client: Client, packet: Path
) -> None:
    place = packet.parent
    assert "bars not read as true yet" in told(place)["dunlin-1.pdf"]
    answer = client.post(BARS, TRUE)
    assert answer.json["state"] == "go"
    assert any("dunlin-1.pdf are noted as proven" in each for each in answer.json["noted"])
    assert "bars proven" in told(place)["dunlin-1.pdf"]
    # What is filled into its form changes the file, but not what was printed of it.
    filled(packet, {"step.3.initials": "AB"})
    assert "bars proven filled in" in told(place)["dunlin-1.pdf"]
    file_survey(packet, {"state": "finished", "verdict": "right"}, [])
    found = told(place)
    assert "bars proven" in found["dunlin-1.pdf"]
    assert "bars not read as true yet" in found["dunlin-1-rev2.pdf"] and "right" in found["dunlin-1-rev2.pdf"]


def test_bars_that_are_read_again_and_are_not_true_are_not_proven(client: Client, packet: Path) -> None:
    client.post(BARS, TRUE)
    again = client.post(BARS, {"across": "151", "down": "151"}).json
    assert (again["state"], again["noted"]) == ("correct", [])
    assert "bars not read as true yet" in told(packet.parent)["dunlin-1.pdf"]
    assert "150; 150" not in client.get("/frame/dunlin/traveller").text


def test_a_packet_drawn_anew_from_a_changed_job_begins_unproven_in_its_traveller_too(
    client: Client, packet: Path
) -> None:
    client.post(BARS, TRUE)
    shown = client.get("/frame/dunlin/traveller").text
    assert 'value="150; 150"' in shown
    # A revision of the same paper goes on with it; one that was drawn anew does not.
    file_survey(packet, {"state": "finished", "verdict": "right"}, [])
    assert 'value="150; 150"' in client.get("/frame/dunlin/traveller").text
    (packet.parent / "dunlin-1-rev2.pdf").unlink()
    job = packet.with_name("dunlin.toml")
    job.write_text(
        job.read_text(encoding="utf-8").replace("thickness = 6 ", "thickness = 5 "), encoding="utf-8"
    )
    assert client.post("/frame/dunlin/sheets/make", {}).status == 200
    assert "bars not read as true yet" in told(packet.parent)["dunlin-1.pdf"]
    assert 'value="150; 150"' not in client.get("/frame/dunlin/traveller").text
    answer = client.post("/frame/dunlin/traveller/file", {"who": "A", "when": "2026-11-29"})
    assert answer.status == 400 and "Nothing was typed yet" in answer.problems


def test_a_note_that_cannot_be_read_or_leads_out_proves_nothing(
    client: Client, packet: Path, tmp_path: Path
) -> None:
    client.post(BARS, TRUE)
    note = packet.with_name("dunlin.traveller")
    away = Path(shutil.move(note, tmp_path / "away"))
    note.symlink_to(away)
    assert "bars not read as true yet" in told(packet.parent)["dunlin-1.pdf"]
    note.unlink()
    note.write_text("[bars\n", encoding="utf-8")
    assert "bars not read as true yet" in told(packet.parent)["dunlin-1.pdf"]
