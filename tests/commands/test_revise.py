"""A packet's next revision: beside the old one, with all that was in it, and intact itself."""

import hashlib
import json
from collections.abc import Callable
from pathlib import Path

import pypdf
import pytest

from geometry.core.errors import InputError
from sheets.files.read.form import read_form
from sheets.filing.revise import file_survey, revise
from sheets.job.identity import job_digest, qr_text
from sheets.pages.running.survey_page import Section
from tests.commands.conftest import Ran
from tests.files.forms import JOB, filed, form_sheet, type_in
from tests.files.shapes import full_sheet
from tests.outside_tools import run as outside

Run = Callable[..., Ran]
COLD = [
    Section(["near hole: 0.10 mm rearward"], "Cold"),
    Section(["far hole: 0.02 mm up, ±0.1 allowed"]),
]


def test_a_survey_is_filed_beside_the_packet(run: Run, job: Path) -> None:
    """The whole way: drawn, filled in, surveyed twice; each file is intact and names the one before it."""
    assert run("draw", job).status == 0
    packet = job.parent / "knot-1.pdf"
    name = next(name for name, value in read_form(packet).values.items() if not value and "head." in name)
    filled = job.parent / "filled.pdf"
    type_in(packet, filled, {name: "A. Heron"})
    filled.replace(packet)
    before = packet.read_bytes()
    second = file_survey(packet, {"state": "cold", "near": [0.1, 0.0]}, COLD)
    many = Section([f"line {number} of many" for number in range(120)])
    third = file_survey(second, {"state": "cold"}, [many])
    assert (second, third) == (packet.with_name("knot-1-rev2.pdf"), packet.with_name("knot-1-rev3.pdf"))
    assert packet.read_bytes() == before
    old, new = read_form(packet), read_form(third)
    assert new.values == old.values
    assert new.values[name] == "A. Heron"
    assert set(new.attachments) - set(old.attachments) == {
        *("dropleaf-packet-rev1.json", "dropleaf-packet-rev2.json", "survey-cold.json", "survey-cold-2.json"),
    }
    assert new.attachments["knot.toml"] == job.read_bytes()
    assert json.loads(new.attachments["survey-cold.json"]) == {"state": "cold", "near": [0.1, 0.0]}
    for file, parent in ((second, packet), (third, second)):
        raw = read_form(parent).attachments["dropleaf-packet.json"]
        assert read_form(file).record["parent"] == {
            "file": parent.name,
            "revision": read_form(parent).record["revision"],
            "record": hashlib.sha256(raw).hexdigest(),
        }
    pages = len(pypdf.PdfReader(packet).pages)
    assert [len(pypdf.PdfReader(file).pages) for file in (second, third)] == [pages + 1, pages + 4]
    assert "near hole: 0.10 mm rearward" in outside("pdftotext", "-f", str(pages + 1), second, "-")
    assert '"Survey cold"' in outside("mutool", "show", second, "outline")
    assert "No syntax or stream encoding errors found" in outside("qpdf", "--check", third)
    ran = run("verify", third, "--json")
    assert ran.status == 0
    assert (ran.json["revision"], ran.json["parent"]["file"]) == (3, "knot-1-rev2.pdf")
    assert all(ran.json[key] for key in ("intact", "untouched", "one_to_one", "matches_job"))


@pytest.fixture
def packet(tmp_path: Path) -> Path:
    return filed(tmp_path, [full_sheet(), form_sheet()])


def test_it_never_writes_over_a_revision(packet: Path) -> None:
    first = revise(packet, [("a.txt", b"1")])
    assert first.name == "knot-1-rev2.pdf"
    kept = first.read_bytes()
    with pytest.raises(InputError, match=r"revise\.is_there\(name='knot-1-rev2\.pdf'\)"):
        revise(packet, [("b.txt", b"1")])
    assert first.read_bytes() == kept
    assert len(pypdf.PdfReader(first).pages) == 2


def test_the_same_addition_gives_the_same_bytes(packet: Path) -> None:
    first = revise(packet, [("a.txt", b"1")], sections=COLD)
    kept = first.read_bytes()
    first.unlink()
    assert revise(packet, [("a.txt", b"1")], sections=COLD).read_bytes() == kept


def test_a_changed_packet_or_a_taken_name_is_refused(packet: Path) -> None:
    with pytest.raises(InputError, match=r"revise\.name_taken\(name='knot\.toml'\)"):
        revise(packet, [JOB])
    writer = pypdf.PdfWriter(clone_from=packet)
    writer.pages[0].rotate(90)
    writer.write(packet)
    with pytest.raises(InputError, match=r"revise\.changed\(change='page 1: turned by 90 degrees"):
        revise(packet, [("a.txt", b"1")])
    assert sorted(file.name for file in packet.parent.iterdir()) == ["packet.pdf"]


def test_what_a_packet_is_known_by() -> None:
    """Digest of the three bytes "abc": FIPS 180-4, the example of SHA-256."""
    assert job_digest(b"abc") == "ba7816bf8f"
    assert qr_text("SCW-041", "ba7816bf8f", 2) == "DROPLEAF SCW-041 JOB ba7816bf8f REV 2"
