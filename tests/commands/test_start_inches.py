"""`start` and the measuring sheet in inches: what is typed comes back as typed, and means one length.

1 in is 25.4 mm exactly: NIST SP 811, B.8.
"""

import tomllib
from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pypdf import PdfWriter

from geometry.core.shown import Typed
from sheets.guide import learn_readings
from sheets.guide.asking import asked, of_file, settle
from sheets.guide.bench_questions import QUESTIONS
from sheets.guide.changing import changed
from sheets.guide.draft import answers_in, text
from sheets.guide.entries import entries
from sheets.guide.form import answers_of
from sheets.guide.job_text import job_text, value_text
from sheets.guide.lengths import UNITS, bounds, each, shown, split
from sheets.guide.question import Measured, Question
from sheets.guide.talk import Talk
from sheets.job.limits import Range
from sheets.job.read import load
from sheets.job.units import bare, length
from tests.commands.conftest import REAR, Run

INCHES = {UNITS: "in"}
BY_KEY = {question.key: question for question in QUESTIONS}
LENGTHS = [question for question in QUESTIONS if question.lengths == "one"]
ASKED = {"frame.id": "knot", "other.stay": "no", "tubes.chainstay.place.1": "1: 5/8"}


def _fraction(parts: tuple[int, int, str]) -> tuple[str, Fraction]:
    whole, sixty_fourths, joint = parts
    share = Fraction(sixty_fourths, 64)
    typed = f"{whole}{joint}{share}" if whole else str(share)
    return typed, whole + share


# As a caliper shows them, to 0.001, and as a rule does, to 1/64.
TYPED = st.one_of(
    st.integers(0, 5000).map(lambda thou: (f"{thou / 1000:.3f}", Fraction(thou, 1000))),
    st.integers(0, 30).map(lambda whole: (str(whole), Fraction(whole))),
    st.tuples(st.integers(0, 5), st.integers(1, 63), st.sampled_from(" -")).map(_fraction),
)


def _allows(question: Question, number: Fraction) -> bool:
    assert isinstance(question.read, Measured)
    allowed: Range = question.read.allowed
    return allowed.low <= number * Fraction(254, 10) <= allowed.high


@given(TYPED, st.sampled_from(LENGTHS), st.sampled_from(["", " in", '"', " mm"]))
def test_what_is_typed_comes_back_as_typed_and_is_one_length_in_the_job(
    typed: tuple[str, Fraction], question: Question, unit: str
) -> None:
    words, number = typed
    mm = number * Fraction(254, 10) if unit != " mm" else number
    if not _allows(question, mm / Fraction(254, 10)) or (unit == " mm" and "/" in words):
        return
    kept = question.read(f"{words}{unit}", INCHES)
    assert kept == f"{words}{unit or ' in'}"
    (written,) = tomllib.loads(f"value = {value_text(question.key, kept)}").values()
    assert written == kept
    assert length(written) == pytest.approx(float(mm), abs=1e-9)
    if unit == " mm":
        return
    assert shown("one", kept, "in") == kept
    # Read again, from draft or job, and whatever the units are by then, it is the same.
    assert {question.read(kept, told) for told in (INCHES, {UNITS: "both"}, {})} == {kept}
    (drafted,) = tomllib.loads(text("knot", {question.key: kept})).values()
    assert of_file({question.key: drafted}, "in") == {question.key: kept}


@given(st.text(alphabet="0123456789 ./-+−⁄½¾,\u00a0", max_size=9))
def test_no_number_without_a_unit_is_left_bare_where_inches_are_asked(typed: str) -> None:
    try:
        number = length(typed)
    except ValueError:
        # In mm a bare fraction is refused.
        return
    assert bare(typed)
    assert length(f"{typed.strip()} in") == pytest.approx(number * 25.4, rel=1e-12)


@given(st.lists(TYPED, min_size=1, max_size=4))
def test_lists_and_places_come_back_as_typed(typed: list[tuple[str, Fraction]]) -> None:
    if not all(_allows_spacer(number) for _, number in typed):
        return
    kept = BY_KEY["bench.spacers"].read("; ".join(words for words, _ in typed) + ";", INCHES)
    assert split(kept) == [f"{words} in" for words, _ in typed]
    written = tomllib.loads(f"value = {value_text('bench.spacers', kept)}")["value"]
    assert written == split(kept)
    assert [length(one) for one in written] == pytest.approx([float(n) * 25.4 for _, n in typed])
    assert BY_KEY["bench.spacers"].read(kept, INCHES) == kept


def _allows_spacer(number: Fraction) -> bool:
    return Fraction(5, 100) <= number * Fraction(254, 10) <= 100


@pytest.mark.parametrize(
    ("key", "typed", "kept"),
    [
        ("tubes.chainstay.place.1", "1: 5/8", "1 in: 5/8 in"),
        ("tubes.chainstay.place.1", "3/4 x 5/8 @ 1-1/2", "1-1/2 in: 3/4 in x 5/8 in"),
        ("tubes.chainstay.place.1", "1:16 mm", "1 in: 16 mm"),
        ("bench.spacers", "0.5 0.25, 5 mm", "0.5 in; 0.25 in; 5 mm"),
        ("bench.pins", "1/4 in", "1/4 in"),
        ("bench.pins", "1 1/8;", "1 1/8 in;"),
        ("mount.tilt", "3", "3"),
        ("mount.native", "160", "160"),
        ("stance.rake", "-.5", "-.5 in"),
        ("axle.dummy", "1.", "1. in"),
    ],
)
def test_a_bare_number_is_inches_and_a_typed_unit_counts(key: str, typed: str, kept: str) -> None:
    answers = {**INCHES, "mount.interface": "flat-rear", "mount.end": "rear"}
    assert BY_KEY[key].read(typed, answers) == kept
    assert BY_KEY[key].read(kept, answers) == kept


def test_one_number_or_two_is_asked_back_and_never_guessed() -> None:
    with pytest.raises(ValueError, match="'1 1/8' may be one number or two"):
        BY_KEY["bench.spacers"].read("1 1/8 1/2", INCHES)


def _conversation(key: str, units: str, *typed: str) -> tuple[str | None, str, str]:
    """Return the answer to a question, its prompt, and what was said."""
    left, prompts, said = iter(typed), list[str](), list[str]()

    def ask(prompt: str) -> str:
        prompts.append(prompt)
        return next(left)

    before = {UNITS: units, "axle.dummy": "16 mm"}
    answer = asked(BY_KEY[key], before, Talk(ask, said.append))
    return answer, prompts[0].strip(), "\n".join(said)


def test_a_question_says_its_unit_and_shows_default_and_range_in_it() -> None:
    """By hand: 16 mm is 0.630 in; 4 to 60 mm are 0.1575 to 2.3622 in, so 0.158 to 2.362 and no more."""
    answer, prompt, said = _conversation("axle.dummy", "in", "?", "16", "3/4")
    assert (answer, prompt) == ("3/4 in", "[0.630 in]")
    assert "the sheet slips over it; inches)" in said
    assert "Allowed: 0.158 to 2.362 in" in said
    assert "'16 in' (406.40 mm) given; allowed 0.158 to 2.362 in; if you mean mm, write 16 mm" in said
    assert said.endswith("  = 3/4 in (19.05 mm)")
    # What is shown rounded is kept as it was.
    assert _conversation("axle.dummy", "in", "")[0] == "16 mm"
    assert _conversation("axle.dummy", "in", "0.630 in")[0] == "16 mm"
    answer, prompt, said = _conversation("axle.dummy", "both", "17")
    assert (answer, prompt) == ("17", "[16 mm (0.630 in)]")
    assert said.endswith("  = 17.00 mm (0.669 in)")
    # A unit that was typed needs no telling back, and mm are asked for as before.
    assert "=" not in _conversation("axle.dummy", "in", "17 mm")[2]
    answer, prompt, said = _conversation("axle.dummy", "mm", "17")
    assert (answer, prompt) == ("17", "[16 mm]")
    assert "slips over it)" in said
    assert "=" not in said


@given(st.sampled_from(LENGTHS))
def test_the_range_that_is_told_is_never_wider_than_what_is_taken(question: Question) -> None:
    assert isinstance(question.read, Measured)
    low, high = bounds(question.read.allowed)
    for end in (low, high):
        assert question.read(f"{end:g}", INCHES) == f"{end:g} in"
    assert low * 25.4 - question.read.allowed.low < 0.0254
    assert question.read.allowed.high - high * 25.4 < 0.0254


def test_start_keeps_units_and_what_was_typed_in_the_job(run: Run, tmp_path: Path) -> None:
    flags = [part for key, value in ASKED.items() for part in ("--set", f"{key}={value}")]
    flags += ["--set", "dropout.thickness=1/4", "--set", "bench.plate=8 mm"]
    assert run("start", "--yes", "--units", "in", "--out", tmp_path, *flags).status == 0
    file = tmp_path / "knot.toml"
    job = load(file).job
    assert job.paper.units == "in"
    assert job.dropout.thickness == 6.35
    assert isinstance(job.dropout.thickness, Typed)
    assert job.dropout.thickness.text == "1/4 in"
    assert job.bench.plate == 8
    assert job.tubes.given()["chainstay"].diameters == ((25.4, 15.875),)
    listed = {entry.key: entry.line for entry in entries(tomllib.loads(file.read_text(encoding="utf-8")))}
    assert listed["dropout.thickness"] == "dropout.thickness (T): 1/4 in"
    assert listed["bench.plate"] == "bench.plate: 0.315 in"
    # The job's units are used where none are given, and its bare mm are not taken for inches.
    assert run("start", file, "--yes", "--set", "dropout.thickness=0.3").status == 0
    assert load(file).job.dropout.thickness == pytest.approx(7.62)
    # Without units nothing is said of them, and a bare number is mm.
    assert run("start", "--yes", "--out", tmp_path / "mm", "--set", "dropout.thickness=7", "--set",
               "other.stay=no", "--set", "tubes.chainstay.place.1=16 at 25").status == 0  # fmt: skip
    assert "units" not in (tmp_path / "mm" / "frame-1.toml").read_text(encoding="utf-8")


def test_a_file_of_answers_and_a_draft_are_mm_where_they_say_no_unit(run: Run, tmp_path: Path) -> None:
    answers = settle({**ASKED, "tubes.chainstay.place.1": "16 at 25", "dropout.thickness": "7"})
    (tmp_path / "knot.draft").write_text(text("knot", answers), encoding="utf-8")
    ran = run("start", "knot", "--yes", "--units", "in", "--out", tmp_path, "--set", "bench.plate=0.315")
    assert ran.status == 0, ran.errors
    job = load(tmp_path / "knot.toml").job
    assert (job.dropout.thickness, job.bench.plate) == (7, pytest.approx(8.001))
    assert job.tubes.given()["chainstay"].diameters == ((25, 16),)


def test_a_job_in_inches_is_changed_in_inches(tmp_path: Path) -> None:
    """The stay of REAR is given in mm; a key that no question has takes a bare number as inches too."""
    file = tmp_path / "knot.toml"
    file.write_text(f'{REAR}[wrap]\nclear = 40\n[paper]\nunits = "in"\n', encoding="utf-8")
    left, said = iter(["dropout.thickness", "0.270", "wrap.clear", "1 1/2", "", "y"]), list[str]()

    def ask(prompt: str) -> str:
        said.append(prompt)
        return next(left)

    assert changed(file, {}, Talk(ask, said.append), said.append) == file
    assert any("wrap.clear: 1.575 in" in line for line in said)
    assert "  [1.575 in]" in said
    job = load(file).job
    assert job.dropout.thickness == pytest.approx(0.27 * 25.4)
    assert 'thickness = "0.270 in"' in file.read_text(encoding="utf-8")
    assert 'clear = "1 1/2 in"' in file.read_text(encoding="utf-8")


def test_a_sheet_that_asks_for_inches_is_read_so(run: Run, tmp_path: Path) -> None:
    assert run("blank", "--units", "in", "--paper", "Letter", "--out", tmp_path).status == 0
    sheet = tmp_path / "measuring-sheet-Letter-in.pdf"
    filled = tmp_path / "filled.pdf"
    writer = PdfWriter(clone_from=sheet)
    values = {"frame.id": "knot", "other.stay": "no", "dropout.thickness": "1/4", "bench.plate": "8 mm"}
    values |= {"tubes.chainstay.place.1.at": "1", "tubes.chainstay.place.1.outside": "3/4 x 5/8"}
    for page in writer.pages:
        writer.update_page_form_field_values(page, {**values, "mount.tilt": "2"}, auto_regenerate=False)
    writer.write(filled)
    assert answers_of(filled) == {
        UNITS: "in", "frame.id": "knot", "other.stay": "no", "dropout.thickness": "1/4 in",
        "bench.plate": "8 mm", "mount.tilt": "2", "tubes.chainstay.place.1": "1 in: 3/4 in x 5/8 in",
    }  # fmt: skip
    # The sheet's unit stays where another is told.
    ran = run("start", "--from", filled, "--yes", "--units", "both", "--out", tmp_path / "new")
    assert ran.status == 0, ran.errors
    job = load(tmp_path / "new" / "knot.toml").job
    assert (job.dropout.thickness, job.paper.units) == (6.35, "both")


def test_what_cannot_be_taken_apart_is_left_as_it_is() -> None:
    assert each("place", "thin", str.upper) == "thin"
    assert shown("one", "thin", "in") == "thin"
    assert "units" not in job_text(settle({**ASKED, "tubes.chainstay.place.1": "16 at 25"}))


def test_units_are_kept_in_the_draft(tmp_path: Path) -> None:
    file = tmp_path / "knot.draft"
    file.write_text(text("knot", {UNITS: "in", "dropout.thickness": "1/4 in"}), encoding="utf-8")
    assert answers_in(file) == {UNITS: "in", "dropout.thickness": "1/4 in"}


def test_learn_asks_for_inches_too() -> None:
    """By hand: 0.05, 0.03 and 0.1 mm are 0.00197, 0.00118 and 0.00394 in.

    What was typed comes back so in the readings file that is shown.
    """
    head = {"family": "flat", "end": "rear", "native": 140.0}
    head |= {"on": "a frame", "date": "2026-01-31", "by": "the builder"}
    prompts, said = list[str](), list[str]()
    typed = {"axle:": "0.472; 12 mm", "How loose": "0.002"}

    def ask(prompt: str) -> str:
        prompts.append(prompt.strip())
        return next((text for words, text in typed.items() if said[-1].startswith(words)), "")

    found = learn_readings.asked(head, Talk(ask, said.append), lambda head: None, (), "in")
    assert found["readings"]["axle"] == pytest.approx([0.472 * 25.4, 12.0])
    assert found["play"] == pytest.approx(0.0508)
    assert prompts[:3] == ["[Enter: 0.0020 in]", "[Enter: 0.0012 in]", "[Enter: up to 0.0039 in]"]
    assert "[in]" in prompts
    assert "[mm]" not in prompts
    assert any(line.endswith("pin, inches; 0 where they have to be pushed in") for line in said)
    kept = tomllib.loads(learn_readings.file_text(found))
    assert kept["play"] == "0.002 in"
    assert kept["readings"]["axle"] == ["0.472 in", 12]
