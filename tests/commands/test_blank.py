"""The measuring sheet: a field for each question, and what is filled in comes back as answers."""

from collections.abc import Callable
from pathlib import Path

import pytest
from pypdf import PdfReader, PdfWriter

from geometry.core.errors import FitError, InputError
from geometry.core.plane import triangle_foot
from geometry.survey.learn_readings import kinds
from sheets.guide.bench_questions import QUESTIONS
from sheets.guide.form import answers_of
from sheets.ink.paper import PAPERS
from sheets.ink.records import Paper
from sheets.job.read import load
from sheets.pages.running.blank import blank
from sheets.pages.running.mount_sheet import mount_sheet
from sheets.words.tell import ENGLISH, sentences
from tests.files.forms import type_in

FILLED = {
    "frame.id": "knot-1",
    "mount.end": "rear",
    "axle.kind": "quick release",
    "axle.system": "135-qr",
    "mount.interface": "is-rear",
    "mount.rotor": "160",
    "mount.host": "seatstay",
    "other.stay": "no",
    "tubes.seatstay.place.1.at": "1 in",
    "tubes.seatstay.place.1.outside": "5/8 in",
    "tubes.seatstay.place.2.at": "180",
    "tubes.seatstay.place.2.outside": "17 x 14",
    "tubes.seatstay.included": "62 deg",
    "bench.spacers": "10 5 5 1",
}
ANSWERS = {
    **{key: text for key, text in FILLED.items() if ".place." not in key},
    "tubes.seatstay.place.1": "5/8 in at 1 in",
    "tubes.seatstay.place.2": "17 x 14 at 180",
}


@pytest.fixture(scope="module")
def sheet(run: Callable, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a measuring sheet as the command writes it."""
    folder = tmp_path_factory.mktemp("blank")
    ran = run("blank", "--paper", "letter", "--out", folder)
    assert ran.status == 0
    return folder / "measuring-sheet-Letter.pdf"


def _by_pypdf(source: Path, target: Path, values: dict[str, str]) -> Path:
    writer = PdfWriter(clone_from=source)
    for page in writer.pages:
        writer.update_page_form_field_values(page, values, auto_regenerate=False)
    writer.write(target)
    return target


@pytest.mark.parametrize("paper", PAPERS.values(), ids=lambda paper: paper.name)
def test_every_question_has_its_field_and_none_another(paper: object) -> None:
    names = [field.name for field in blank(paper).fields]  # type: ignore[arg-type]
    assert len(names) == len(set(names))
    wanted = set()
    for question in QUESTIONS:
        halves = (".at", ".outside") if ".place." in question.key else ("",)
        wanted |= {question.key + half for half in halves}
    assert set(names) == wanted


def test_filled_by_pypdf_and_typed_into_by_pdfium_it_reads_the_same(sheet: Path, tmp_path: Path) -> None:
    written = _by_pypdf(sheet, tmp_path / "written.pdf", FILLED)
    typed = tmp_path / "typed.pdf"
    type_in(sheet, typed, FILLED)
    assert answers_of(written) == ANSWERS
    assert answers_of(typed) == ANSWERS


def test_start_takes_it_and_its_job_draws(sheet: Path, tmp_path: Path, run: Callable) -> None:
    filled = _by_pypdf(sheet, tmp_path / "filled.pdf", FILLED)
    ran = run("start", "--from", filled, "--yes", "--draw", "--out", tmp_path / "new")
    assert ran.status == 0
    job = load(tmp_path / "new" / "knot-1.toml").job
    assert job.tubes.given()["seatstay"].diameters[0] == pytest.approx((25.4, 15.875))
    assert (tmp_path / "new" / "knot-1.pdf").is_file()


def test_what_cannot_be_taken_is_told(sheet: Path, tmp_path: Path, run: Callable) -> None:
    with pytest.raises(InputError, match="nothing is filled in"):
        answers_of(sheet)
    half = _by_pypdf(sheet, tmp_path / "half.pdf", {**FILLED, "tubes.seatstay.place.3.at": "300"})
    ran = run("start", "--from", half, "--yes", "--out", tmp_path / "new")
    assert ran.status == 2
    assert "seatstay: outside 3 is empty, but at 3 is filled in" in ran.errors[0]
    wrong = _by_pypdf(sheet, tmp_path / "wrong.pdf", {**FILLED, "dropout.thickness": "thin"})
    ran = run("start", "--from", wrong, "--yes", "--out", tmp_path / "new")
    assert ran.status == 2
    assert "dropout.thickness: 'thin' is not a number" in ran.errors[0]
    writer = PdfWriter()
    writer.add_blank_page(200, 200)
    writer.write(tmp_path / "foreign.pdf")
    assert run("start", "--from", tmp_path / "foreign.pdf", "--yes").status == 2
    assert not (tmp_path / "new").exists()


def test_wrong_paper(run: Callable, tmp_path: Path) -> None:
    ran = run("blank", "--paper", "A9", "--out", tmp_path)
    assert ran.status == 2
    assert "'A9' is no paper known here" in ran.errors[0]


def test_json_names_the_file(run: Callable, tmp_path: Path) -> None:
    document = run("blank", "--json", "--out", tmp_path).json
    (file,) = document["files"]
    assert PdfReader(file["path"]).get_fields()
    assert file["pages"][0]["sheet"] == "blank"


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_the_pages_to_measure_a_mount_on(run: Callable, tmp_path: Path, paper: str) -> None:
    document = run("blank", "--mount", "--paper", paper, "--out", tmp_path, "--json").json
    (file,) = document["files"]
    assert [page["sheet"] for page in file["pages"]] == ["mount-blank", "mount-blank"]
    how, note = (" ".join(page.extract_text().split()) for page in PdfReader(file["path"]).pages)
    # Three ways, and a row for every reading of theirs that learn takes.
    assert all(
        f"{word}" in how for word in ("near-over", "face-over", "spacing-over", "flat bar", "steel rule")
    )
    known = {kind.key for end in ("rear", "front") for kind in kinds("flat", end)}
    asked = [key for key in known if f" {key} " in f" {note} "]
    assert {"axle", "pin", "face-over", "along-far-over", "far-over", "side", "pocket"} <= set(asked)
    refused = run("verify", file["path"])
    assert refused.status == 2 and "a sheet to measure a mount on" in refused.errors[0]


def test_what_the_pages_say_of_an_error_is_so() -> None:
    # Near 39.69 and far 66.77 of a flat mount, 34 apart: far 0.5 longer (own arithmetic by the triangle).
    before, after = triangle_foot(39.69, 66.77, 34.0), triangle_foot(39.69, 67.27, 34.0)
    assert after[0] - before[0] == pytest.approx(1.0, abs=0.05)
    assert before[1] - after[1] == pytest.approx(0.8, abs=0.05)
    said = sentences(ENGLISH, "mount_sheet")["way.3.step_3"]
    assert "near hole by 1 mm and the face by 0.8" in said


def test_the_pages_are_refused_where_the_paper_is_too_small() -> None:
    small = Paper("A5", 148.0, 210.0)
    with pytest.raises(FitError):
        mount_sheet(small)
