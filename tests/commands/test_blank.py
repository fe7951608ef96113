"""The measuring sheet: a field for each question, and what is filled in comes back as answers."""

import itertools
import re
from collections.abc import Callable
from pathlib import Path

import pytest
from pypdf import PdfReader, PdfWriter

from geometry.core.errors import FitError, InputError
from geometry.core.plane import triangle_foot
from geometry.survey.learn_readings import kinds
from sheets.guide.bench_questions import QUESTIONS
from sheets.guide.draft import text as draft_text
from sheets.guide.explain import explained
from sheets.guide.form import answers_of
from sheets.guide.lengths import UNITS
from sheets.guide.sheet_of import sheet_of
from sheets.ink.drawing import Drawing
from sheets.ink.paper import PAPERS
from sheets.ink.records import Arc, Paper, Sheet
from sheets.job.read import load
from sheets.pages.running.blank import blank, families
from sheets.pages.running.blank_figures import HEIGHT, WIDTH, figures
from sheets.pages.running.mount_sheet import mount_sheet
from sheets.words.measures import LETTERS, letter
from sheets.words.tell import ENGLISH, sentences
from tests.files.forms import type_in

ROOT = Path(__file__).parents[2]
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
    "tubes.seatstay.place.1": "1 in: 5/8 in",
    "tubes.seatstay.place.2": "180: 17 x 14",
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
    names = [field.name for page in blank(paper) for field in page.fields]  # type: ignore[arg-type]
    assert len(names) == len(set(names))
    wanted = set()
    for question in QUESTIONS:
        if question.key == UNITS:
            # The sheet itself says them.
            continue
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
    assert [page["sheet"] for page in file["pages"]] == ["blank", "blank"]
    names = {feature["name"] for feature in file["pages"][0]["features"]}
    assert {"measure T", "measure V1", "measure D, fork, plumb"} <= names


def _shown(sheet: Sheet) -> set[str]:
    """Return the letters that have an arrow, without a place's number."""
    names = [each.name for each in sheet.features if each.name.startswith("measure ")]
    assert len(names) == len(set(names))
    return {name.removeprefix("measure ").partition(",")[0].rstrip("123") for name in names}


def test_every_letter_has_its_arrow_and_every_arrow_its_letter() -> None:
    for paper in PAPERS.values():
        assert _shown(blank(paper)[0]) == set(LETTERS.values())


# A tab has a thickness, a post or boss an outside and a length.
@pytest.mark.parametrize(
    ("row", "lacking"),
    [("is-rear", "BN"), ("is-front", "BN"), ("post", "M"), ("flat-rear", "M"), ("flat-front", "M")],
)
def test_the_mount_asked_for_is_shown_with_its_own_measures(row: str, lacking: str) -> None:
    assert _shown(blank(PAPERS["A4"], families(row))[0]) == set(LETTERS.values()) - set(lacking)


def test_boxes_and_questions_have_the_letters_of_the_figure() -> None:
    sheet = blank(PAPERS["Letter"])[0]
    captions = {field.name: field.label for field in sheet.fields}
    for question in QUESTIONS:
        mark = letter(question.key)
        if mark and ".place." not in question.key and not question.key.startswith("tubes."):
            assert captions[question.key].split()[0] == mark
            assert any(mark in line.split() or f"{mark}." in line for line in explained(question, {}, ""))


BESIDE_FORK = [(shown, False) for shown in itertools.product(("", "tab", "post", "flat"), repeat=2)]
ON_SEATSTAY = [((family, ""), True) for family in ("tab", "post", "flat")]


@pytest.mark.parametrize(("shown", "upright"), [*BESIDE_FORK, *ON_SEATSTAY], ids=str)
def test_no_letter_lies_over_another_and_none_runs_off(shown: tuple[str, str], upright: bool) -> None:
    drawing = Drawing()
    high = HEIGHT + (10.0 if upright else 0.0)
    foot = figures(drawing, 0.0, high, shown, not upright, upright=upright)
    assert foot == 0.0
    labels = drawing.labels
    for (one, a), (other, b) in itertools.combinations(labels, 2):
        apart = a[2] <= b[0] or b[2] <= a[0] or a[3] <= b[1] or b[3] <= a[1]
        assert apart, (one, other)
    for text, (left, low, right, top) in labels:
        assert left >= -0.1 and right <= WIDTH + 0.1 and low >= -0.1 and top <= high + 0.1, text
    # What names a measure is at least 3.5 mm high.
    assert all(box[3] - box[1] >= 3.5 for text, box in labels if text.rstrip("123") in LETTERS.values())


def test_the_sheet_of_a_job_has_its_answers_and_marks_what_is_missing(run: Callable, tmp_path: Path) -> None:
    text = (ROOT / "samples" / "dunlin.toml").read_text(encoding="utf-8")
    job = tmp_path / "dunlin.toml"
    # Without the dropout's thickness and the seatstay's two numbers sideways.
    job.write_text(
        re.sub(r"(?m)^(thickness = 7|outset = 4\.5|splay = 2\.5) .*\n", "", text), encoding="utf-8"
    )
    known, units = sheet_of(job, None)
    assert units == "mm"
    assert known.shown == ("tab", "")
    offsets = {f"tubes.{tube}.offset" for tube in ("chainstay", "seatstay")}
    wanted = {"dropout.thickness", "tubes.seatstay.outset", "tubes.seatstay.splay", *offsets}
    assert known.lacking == wanted
    assert known.letters == {"T", "O", "S", "E"}
    # What a fork or a post would be asked has no box.
    assert not {"stance.leg", "tubes.fork-leg.wall", "boss.length", "axle.pocket"} & known.boxes
    assert (known.values["tubes.seatstay.place.2.at"], known.values["tubes.seatstay.place.2.outside"]) == (
        "120",
        "16",
    )
    first, second = blank(PAPERS["A4"], known.shown, known)
    fields = {field.name: field for page in (first, second) for field in page.fields}
    assert set(fields) == known.boxes
    assert fields["boss.thickness"].value == "6"
    assert fields["dropout.thickness"].value == ""
    assert _shown(first) <= set(LETTERS.values()) - set("LHRKBN")
    # Its tab stands on the seatstay, and is shown there: turned from it, no longer from the chainstay.
    (turned,) = (each for each in first.features if each.name == "measure G")
    assert isinstance(turned, Arc) and turned.start == pytest.approx(180.0 + 8.0 - 62.0)
    # Filled in, it changes the job that it was made for.
    assert run("blank", job, "--out", tmp_path).status == 0
    filled = _by_pypdf(
        tmp_path / "measuring-sheet-dunlin-1-A4.pdf", tmp_path / "filled.pdf", {"dropout.thickness": "7"}
    )
    assert run("start", job, "--from", filled, "--yes").status == 0
    assert load(job).job.dropout.thickness == 7
    assert sheet_of(job, None)[0].lacking == wanted - {"dropout.thickness"}


def test_the_sheet_of_a_draft_or_in_other_units_and_of_what_is_no_job(run: Callable, tmp_path: Path) -> None:
    answers = {
        "frame.id": "knot-1",
        "mount.end": "front",
        "mount.interface": "post",
        "dropout.thickness": "7",
    }
    (tmp_path / "knot-1.draft").write_text(draft_text("knot-1", answers), encoding="utf-8")
    known, _ = sheet_of(tmp_path / "knot-1.draft", "in")
    assert (known.frame, known.shown, known.values["dropout.thickness"]) == ("knot-1", ("", "post"), "7 mm")
    assert {"stance.leg", "tubes.fork-leg.place.1.at", "tubes.fork-leg.place.1.outside"} <= known.lacking
    other = tmp_path / "other.toml"
    other.write_text("point = 3\n", encoding="utf-8")
    assert "this is no job" in run("blank", other, "--out", tmp_path).errors[0]
    assert "of no job" in run("blank", other, "--mount", "--out", tmp_path).errors[0]
    assert run("blank", tmp_path / "nowhere.toml", "--out", tmp_path).status == 2


def test_a_mount_that_is_not_known_is_told_with_what_is_meant(run: Callable, tmp_path: Path) -> None:
    ran = run("blank", "--for", "FM", "--out", tmp_path)
    assert ran.status == 2
    assert "--for: 'FM'" in ran.errors[0]
    assert "did you mean flat-rear?" in ran.errors[0]
    assert run("blank", "--for", "Post", "--out", tmp_path).status == 0


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
