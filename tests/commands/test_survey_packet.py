"""`dropleaf survey` of a packet whose traveller was filled in: verdict and revision."""

import errno
import io
import json
import os
import tomllib
from pathlib import Path
from typing import Any

import pytest
from pypdf import PdfReader, PdfWriter

from sheets.actions.survey import surveyed
from sheets.actions.survey_report import sections, survey_document
from sheets.home.folder import home
from sheets.home.pull_history import FILE
from tests.commands.conftest import Run
from tests.commands.test_survey import GOOD, PINS
from tests.commands.test_survey import own_home as own_home


@pytest.fixture(scope="module")
def packet(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a drawn packet whose form is still empty."""
    from sheets.cli import main
    from tests.commands.conftest import write as written

    place = tmp_path_factory.mktemp("packet")
    job = written(place / "knot.toml", PINS)
    assert main(["draw", str(job), "--out", str(place)]) == 0
    return next(place.glob("*.pdf"))


def _filled(packet: Path, target: Path, values: dict[str, str]) -> Path:
    """Fill a packet's form with another library than the one that reads it back."""
    writer = PdfWriter()
    writer.clone_document_from_reader(PdfReader(packet))
    for page in writer.pages:
        if "/Annots" in page:
            writer.update_page_form_field_values(page, values, auto_regenerate=False)
    stream = io.BytesIO()
    writer.write(stream)
    target.write_bytes(stream.getvalue())
    return target


def _fields(point: str) -> dict[str, str]:
    table = tomllib.loads(GOOD)
    texts = {
        key: "; ".join(map(str, each if isinstance(each, list) else [each])) for key, each in table.items()
    }
    return {f"reading.{point}.{key}": text for key, text in texts.items()}


def test_a_filled_packet_is_surveyed(run: Run, packet: Path, tmp_path: Path) -> None:
    ran = run("survey", _filled(packet, tmp_path / "filled.pdf", _fields("cold")), "--json")
    assert ran.status == 0, ran.errors
    assert (ran.json["state"], ran.json["verdict"], ran.json["frame"]) == ("cold", "right", "knot-1")
    assert len(ran.json["readings"]) == 25
    assert not ran.json["missing"]


def test_a_survey_goes_into_a_revision_of_its_packet(packet: Path, tmp_path: Path) -> None:
    from sheets.actions.survey import from_packet
    from sheets.filing.revise import file_survey

    filled = _filled(packet, tmp_path / "knot-1.pdf", _fields("cold"))
    found = surveyed(*from_packet(filled))
    revised = PdfReader(file_survey(filled, survey_document(found), sections(found)))
    assert json.loads(revised.attachments["survey-cold.json"][0])["verdict"] == "right"
    assert "Verdict when cold: right" in revised.pages[-1].extract_text()


def test_a_survey_that_cannot_be_filed_still_gives_its_verdict_and_records_nothing(
    run: Run, packet: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    filled = _filled(packet, tmp_path / "knot-1.pdf", _fields("cold"))
    make = Path.mkdir

    def refuse(path: Path, *arguments: Any, **options: Any) -> None:
        # The tests may run as one who may write everywhere.
        if path.parent == tmp_path:
            raise OSError(errno.EROFS, os.strerror(errno.EROFS), str(path))
        make(path, *arguments, **options)

    monkeypatch.setattr(Path, "mkdir", refuse)
    ran = run("survey", filled)
    assert (ran.status, len(ran.errors)) == (2, 1)
    assert "--no-file" in ran.errors[0] and "--out" not in ran.errors[0]
    assert "when cold: RIGHT" in ran.out
    assert not (home() / FILE).exists()
    assert [each.name for each in tmp_path.iterdir() if each.suffix == ".pdf"] == ["knot-1.pdf"]
    monkeypatch.undo()
    assert run("survey", filled, "--no-file").status == 0


def test_an_empty_packet_and_a_wrong_field_are_told(run: Run, packet: Path, tmp_path: Path) -> None:
    assert "no readings given" in run("survey", packet).errors[0]
    filled = _filled(packet, tmp_path / "filled.pdf", {"reading.cold.axle-to-near-over": "about 52"})
    ran = run("survey", filled)
    assert ran.status == 2
    assert "reading.cold.axle-to-near-over: 'about 52' is not a number" in ran.errors[0]


def test_a_packet_gets_a_revision_with_the_survey_beside_it(run: Run, packet: Path, tmp_path: Path) -> None:
    filled = _filled(packet, tmp_path / "knot-1.pdf", _fields("cold"))
    before = filled.read_bytes()
    told = run("survey", filled, "--no-file", "--no-record", "--json").json
    assert told["filed"] is None
    assert [each.name for each in tmp_path.iterdir()] == ["knot-1.pdf"]
    filed = Path(run("survey", filled, "--no-record", "--json").json["filed"])
    assert filed == tmp_path / "knot-1-rev2.pdf"
    assert filled.read_bytes() == before
    reader = PdfReader(filed)
    assert "survey-cold.json" in reader.attachments
    assert len(reader.pages) == len(PdfReader(filled).pages) + 1
    assert "RIGHT" in reader.pages[-1].extract_text().upper()
    assert run("verify", filed, "--json").json["intact"]
    again = run("survey", filled, "--no-record")
    assert again.status == 2
    assert "knot-1-rev2.pdf" in again.errors[0]
