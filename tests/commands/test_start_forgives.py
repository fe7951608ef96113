"""What `start` takes, explains and proposes: nothing typed ends it, and no job of it is refused."""

import itertools
import tomllib
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from geometry.tables.axles import axles
from sheets import console
from sheets.actions.check import report
from sheets.guide.asking import asked, settle
from sheets.guide.bench_questions import QUESTIONS
from sheets.guide.boss_questions import TILT
from sheets.guide.entries import entries, with_entry
from sheets.guide.explain import UNKNOWN_WITHOUT, described, explained, unknown_without
from sheets.guide.job_text import job_text, value_text
from sheets.guide.proposals import proposal, usual
from sheets.guide.starting import started
from sheets.guide.talk import Talk
from sheets.home.jobs import from_bytes
from sheets.ink.paper import PAPERS
from sheets.job.read import place_job, tubes_of
from sheets.pages.running.blank import blank
from sheets.words.measures import LETTERS, letter

SAMPLES = Path(__file__).parents[2] / "samples"
BY_KEY = {question.key: question for question in QUESTIONS}
REAR = {
    "mount.end": "rear",
    "axle.kind": "quick release",
    "mount.interface": "is-rear",
    "mount.host": "chainstay",
}
# Words of a question, and an answer that always goes.
GOOD = {
    "number or short name": "knot-1",
    "begin, up from the axle": "16 at 25",
    "A second place": "-",
    "A third place": "-",
    "wall?": "0.9",
    "angle is between": "62",
    "head angle": "-",
    "fork leg stand": "-",
    "rake?": "45",
    "axle to crown?": "395",
    "angle measured from": "-",
    "pockets": "-",
}


def _ask(key: str, *lines: str, answers: dict[str, str] | None = None) -> tuple[str | None, list[str]]:
    left, said = iter(lines), list[str]()
    return asked(
        BY_KEY[key], answers or {**REAR, "dropout.slot": "10"}, Talk(lambda prompt: next(left), said.append)
    ), said


@pytest.mark.parametrize(
    ("key", "lines", "answer"),
    [
        ("mount.end", ["fork", ""], "front"),
        ("mount.end", ["fork", "y"], "front"),
        ("mount.end", ["fork", "n", "rear"], "rear"),
        ("mount.end", ["fork", "rear"], "rear"),
        # Here "back" is the rear; elsewhere it goes back.
        ("mount.end", ["back", ""], "rear"),
        ("mount.end", ["<"], None),
        ("axle.kind", ["QR", ""], "quick release"),
        ("axle.kind", ["back"], None),
        ("mount.interface", ["IS", ""], "is-rear"),
        ("mount.interface", ["post-mount", ""], "post"),
        ("dropout.thickness", ["6,5", ""], "6.5"),
        ("dropout.thickness", ["about 6 mm", ""], "6 mm"),
        ("dropout.thickness", ["1/4 inch or so", ""], "1/4 inch"),
        # No unit is dropped, and no number that is too large stands for another.
        ("dropout.thickness", ["about 2 feet", ""], ""),
        ("dropout.thickness", ["25 thou", ""], ""),
        ("dropout.thickness", ["2 inch", ""], ""),
        ("tubes.chainstay.wall", ["1 in", "0.9"], "0.9"),
        ("dropout.thickness", ["1/4", ""], "1/4 in"),
        ("dropout.thickness", ["6 or 7", "7"], "7"),
        ("dropout.thickness", ["don't know"], ""),
        ("dropout.thickness", ["-"], ""),
        ("dropout.thickness", ["?", "="], ""),
        ("dropout.slot", ["downwards", ""], "down"),
        ("dropout.slot_from", ["ground", ""], "plumb"),
        ("axle.kind", ["12x142", ""], "thru axle"),
        ("axle.kind", ["12 mm thru", ""], "thru axle"),
        ("axle.dummy", ["1 1/2 in"], "1 1/2 in"),
        ("axle.dummy", ['1-1/2"'], '1-1/2"'),
        ("axle.dummy", ["Ø19", ""], "19"),
        # A4 is no 4, MIG no TIG, and a disc of 170 none of 180.
        ("bench.plate", ["A4", "8"], "8"),
        ("process.method", ["mig", ""], ""),
        ("mount.rotor", ["170", "160"], "160"),
        # A word may say the sign, and what it says otherwise is not guessed.
        ("tubes.chainstay.outset", ["5 inboard", ""], "-5"),
        ("tubes.chainstay.outset", ["5 mm outboard", ""], "5 mm"),
        ("tubes.chainstay.outset", ["5 above", "3"], "3"),
        ("tubes.chainstay.outset", ["5 sideways", "3"], "3"),
        ("bench.spacers", ["10,5,5,3", ""], "10; 5; 5; 3"),
        ("bench.spacers", ["2x10 0,5", ""], "10; 10; 0.5"),
        ("bench.spacers", ["10,5", "10"], "10"),
        ("bench.spacers", ["dunno"], ""),
        ("frame.id", ["Curlew 1", ""], "Curlew-1"),
        ("dropout.slot", ["back", ""], "rearward"),
        ("mount.interface", ["dont know", ""], "is-rear"),
        # The order of sheet and file; the other takes the word at.
        ("tubes.chainstay.place.1", ["25:16"], "25: 16"),
        ("tubes.chainstay.place.1", ["at 25: 20 x 16"], "25: 20 x 16"),
        ("tubes.chainstay.place.1", ["16 @ 25"], "25: 16"),
        ("tubes.chainstay.place.1", ["", "-", "16AT25"], "25: 16"),
        ("tubes.chainstay.place.1", ["25 16", ""], "25: 16"),
        ("tubes.chainstay.place.1", ["25,16", ""], "25: 16"),
        ("tubes.chainstay.place.1", ["25,5 20x16", ""], "25.5: 20 x 16"),
        ("tubes.chainstay.place.1", ["25 mm up, 16 mm outside", ""], "25 mm: 16 mm"),
        ("tubes.chainstay.place.1", ["16,5 thick at 25", ""], "25: 16.5"),
        ("tubes.chainstay.place.1", ["1 1/8 in 5/8 in", ""], "1 1/8 in: 5/8 in"),
        ("tubes.chainstay.place.1", ["[25, 16]", ""], "25: 16"),
        ("tubes.chainstay.place.1", ["25 - 16", ""], "25: 16"),
        ("tubes.chainstay.place.1", ["16 mm, 25 mm up", ""], "25 mm: 16 mm"),
        ("process.method", ["brazed", ""], "fillet-braze"),
        ("other.stay", ["nope", ""], "no"),
        ("paper.size", ["us letter", ""], "Letter"),
    ],
)
def test_what_people_type_is_taken_or_asked_back(key: str, lines: list[str], answer: str | None) -> None:
    assert _ask(key, *lines)[0] == answer


def test_a_place_with_a_sign_for_at_is_written_as_a_station() -> None:
    answers = settle({"other.stay": "no", "tubes.chainstay.place.1": "20x16@25"})
    assert "diameters = [[25, 20, 16]]" in job_text(answers)


def test_a_place_has_one_order_on_sheet_in_question_and_in_the_job() -> None:
    question = BY_KEY["tubes.chainstay.place.2"]
    answers = {**REAR, "tubes.chainstay.place.1": "25: 16"}
    kept = question.read("20 x 16 at 180", answers)
    assert kept == "180: 20 x 16"
    assert value_text(question.key, kept) == "[180, 20, 16]"
    assert question.follows({**answers, question.key: kept}) == (
        "That is 180 mm up the tube, and 20 mm high and 16 mm wide outside there."
    )
    assert letter(question.key) == "U2 and V2"
    columns = [field.name for field in blank(PAPERS["A4"])[0].fields if field.name.startswith(question.key)]
    assert columns == [f"{question.key}.at", f"{question.key}.outside"]
    told = " ".join(explained(BY_KEY["tubes.chainstay.place.1"], REAR, ""))
    assert "25: 16 is 25 mm up the tube and 16 mm outside" in told


def test_a_question_mark_explains_letter_range_and_what_leaving_out_means() -> None:
    _, said = _ask("dropout.thickness", "?", "")
    told = " ".join(said)
    assert said[1].startswith("T: How thick is the dropout?")
    assert "Thickness from the inner to the outer face, mm." in told
    assert "On the measuring sheet, which dropleaf blank prints, it is T." in told
    assert "Allowed: 1 to 40 mm" in told
    assert "never 0; check will say that it does not know the clearances of a dropout" in told
    for question in QUESTIONS:
        assert all(each.endswith((".", "?")) for each in explained(question, REAR, "")), question.key
    assert described("tubes.seatstay.included").startswith("angle between seatstay and chainstay")
    assert described("mount.no_such_key") == ""


@pytest.mark.parametrize(
    ("key", "line", "told"),
    [
        ("tubes.chainstay.wall", "don't know", "does not know whether tube and mount bear the braking."),
        ("tubes.chainstay.splay", "", "does not know the clearances beside this tube, its wrap and"),
        ("boss.diameter", "-", "The table's is then drawn, with its grade."),
        ("frame.name", "skip", "It is then left off the sheets."),
    ],
)
def test_what_is_left_out_is_said_and_what_stays_unknown(key: str, line: str, told: str) -> None:
    answer, said = _ask(key, line)
    assert answer == ""
    assert said[-1].startswith("  Left out. ")
    assert told in said[-1]
    # Enter on what matters to no finding is said nothing of.
    assert not any(line.startswith("  Left out.") for line in _ask("frame.name", "")[1])


def test_what_is_said_to_stay_unknown_is_what_check_finds() -> None:
    """Each answer of two samples is left out in turn, and check judges what is left."""
    found: dict[str, set[str]] = {}
    for name in ("dunlin", "whimbrel"):
        file = SAMPLES / f"{name}.toml"
        text = file.read_text(encoding="utf-8")
        before = report(from_bytes(text.encode(), file)).findings
        known = {(each.code, each.subject) for each in before}
        for entry in entries(tomllib.loads(text)):
            question = entry.question
            if question is None or not entry.value or not unknown_without(question):
                continue
            cut = with_entry(file, text, entry, "", {})
            after = report(from_bytes(cut.encode(), file)).findings
            codes = {each.code for each in after if (each.code, each.subject) not in known}
            assert codes & set(unknown_without(question)), (name, entry.key)
            of = f"tube.{entry.key.rpartition('.')[2]}" if entry.key.startswith("tubes.") else entry.key
            unknown = {each.code for each in after if each.level == "unknown" and each.code in codes}
            found.setdefault(of, set()).update(unknown)
    # Nothing is promised that no frame shows, and what is left unsaid is found of none.
    assert found == {key: set(codes) for key, codes in UNKNOWN_WITHOUT.items()}


def test_every_letter_has_one_measure_and_every_measure_a_question() -> None:
    assert len(set(LETTERS.values())) == len(LETTERS)
    marks = {mark for question in QUESTIONS for mark in letter(question.key).replace(" and ", " ").split()}
    assert {mark.rstrip("123") for mark in marks} == set(LETTERS.values())
    assert letter("tubes.seatstay.place.2") == "U2 and V2"
    assert (letter("tubes.seatstay.place.2.at"), letter("tubes.seatstay.place.2.outside")) == ("U2", "V2")
    assert letter("frame.name") == letter("tubes.brace.wall") == ""


# Which mount frames with an axle have: common practice, no source; see the table beside `usual`.
@pytest.mark.parametrize(
    ("system", "row"),
    [("135-qr", "is-rear"), ("100-qr", "is-front"), ("142x12", "flat-rear"), ("100x12", "flat-front"),
     ("148x12", "post"), ("110x15", "post")],
)  # fmt: skip
def test_the_mount_that_fits_the_axle_is_proposed_and_called_a_proposal(system: str, row: str) -> None:
    each = axles()[system]
    answers = {"mount.end": each.end, "axle.kind": each.kind, "axle.system": system}
    assert usual(answers) == row
    answer, said = _ask("mount.interface", "", answers=answers)
    assert answer == row
    assert f"  {proposal(answers)}" in said
    assert "no source" in proposal(answers)


def test_every_axle_has_a_mount_of_its_end() -> None:
    from geometry.tables.interfaces import rows

    for system, each in axles().items():
        assert each.end in rows()[usual({"mount.end": each.end, "axle.system": system})].ends


def test_offset_is_asked_of_every_tube_and_tilt_of_what_stands_on_one() -> None:
    assert not TILT.when(REAR)
    assert TILT.when({**REAR, "mount.interface": "post"})
    assert TILT.when({**REAR, "mount.interface": "flat-rear"})
    given = {"other.stay": "no", "tubes.chainstay.place.1": "16 at 25", "tubes.chainstay.offset": "2"}
    # A tab is not asked, but what is given counts.
    text = job_text(settle({**given, "mount.interface": "is-rear", "mount.tilt": "3"}))
    job = from_bytes(text.encode(), Path()).job
    assert (job.mount.tilt, job.tubes.given()["chainstay"].offset) == (3, 2)


@pytest.mark.parametrize(
    ("system", "row", "across", "tilt"), [("110x15", "post", "30", "10"), ("100-qr", "is-front", "76", "-9")]
)
def test_a_mount_that_holds_at_another_tilt_alone_is_asked_for_it_once_more(
    system: str, row: str, across: str, tilt: str
) -> None:
    # A post of 40 ends short of a leg of 30, and a tab's caliper meets a leg of 76, unless they are turned.
    answers = {
        "mount.end": "front", "axle.system": system, "mount.interface": row, "mount.rotor": "160",
        "tubes.fork-leg.place.1": f"{across} at 25", "tubes.fork-leg.outset": "0",
        "tubes.fork-leg.splay": "0", "dropout.thickness": "6", "boss.thickness": "5", "boss.length": "40",
    }  # fmt: skip
    said: list[str] = []

    def ask(prompt: str) -> str:
        told = any("Tilt on the fork leg" in line for line in said)
        return tilt if told and said[-1].startswith("G: ") else ""

    found, text = started(answers, Talk(ask, said.append))
    assert any("does not all hold" in line for line in said)
    assert found["mount.tilt"] == tilt
    tilts = report(from_bytes(text.encode(), Path())).setup.tilts
    assert tilts is not None
    assert any(each.low <= float(tilt) <= each.high for each in tilts.ranges)


TYPED = st.one_of(
    st.text(max_size=12),
    st.sampled_from(
        ["<", "?", "=", "y", "n", "-", "fork", "QR", "post", "1", "2", "0", "-5", "nan", "16 at 25"]
    ),
    st.floats(allow_nan=True).map(str),
    st.integers(-50, 400).map(str),
)


class _EnoughError(Exception):
    """Somebody has typed for long enough."""


@settings(max_examples=40)
@given(st.lists(TYPED, max_size=80))
def test_whatever_is_typed_no_traceback_comes_and_no_job_that_is_refused(lines: list[str]) -> None:
    said: list[str] = []
    left, count = iter(lines), itertools.count()

    def ask(prompt: str) -> str:
        if next(count) > 600:
            raise _EnoughError
        question = next((line for line in reversed(said) if "?  (" in line), "")
        return next(left, next((text for words, text in GOOD.items() if words in question), ""))

    try:
        _, text = started({}, Talk(ask, said.append))
    except _EnoughError:
        return
    job = from_bytes(text.encode(), Path()).job
    place_job(job)
    tubes_of(job)


@settings(max_examples=60)
@given(st.sampled_from(sorted(BY_KEY)), TYPED)
def test_a_question_takes_an_answer_or_says_why_not(key: str, text: str) -> None:
    question: object = BY_KEY[key]
    answers = {
        **REAR,
        "axle.system": "135-qr",
        "dropout.slot": "10",
        "mount.rotor": "160",
        "stance.head": "72",
    }
    lines = itertools.chain([text], itertools.repeat("<"))
    said: list[str] = []
    answer = asked(question, answers, Talk(lambda prompt: next(lines), said.append))  # type: ignore[arg-type]
    assert answer is None or answer == "" or BY_KEY[key].read(answer, answers) == answer
    assert all("Error" not in line for line in said)


def test_a_long_talk_is_wrapped_at_words(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:

    monkeypatch.setattr(console, "columns", lambda stream=None: 40)
    console.paragraph("  12  one two three four five six seven eight nine ten eleven twelve\nshort")
    lines = capsys.readouterr().out.splitlines()
    assert lines[0] == "  12  one two three four five six seven"
    assert lines[1] == "      eight nine ten eleven twelve"
    assert lines[-1] == "short"


def test_a_wrong_word_in_a_script_is_told_with_what_is_meant(run: Callable, tmp_path: Path) -> None:
    ran = run("start", "--yes", "--out", tmp_path, "--set", "mount.end=fork", "--set", "other.stay=no")
    assert ran.status == 2
    assert any("mount.end: 'fork' given" in line and "did you mean front?" in line for line in ran.errors)
