"""`start`, typed at a pseudo-terminal and answered by scripts: every mount gives a job that draws."""

import tomllib
from collections.abc import Callable
from pathlib import Path

import jsonschema
import pytest

from sheets.guide.asking import ask_all
from sheets.guide.bench_questions import QUESTIONS
from sheets.guide.draft import answers_in
from sheets.guide.talk import Talk
from sheets.job.read import load
from sheets.job.schema import schema
from tests.commands.terminal import CTRL_C, CTRL_D, typed

PROMPT = "]: "
VALIDATOR = jsonschema.Draft7Validator(schema())
COMMON = {
    "How will the mount be joined?": "fillet-braze",
    "What are tube and mount made of?": "CrMo",
    "Which filler?": "RBCuZn-C",
    "How thick is the plate": "8",
    "Which spacers": "10 5 5 3 2 1 0.5",
}
REAR_TUBE = {"Where does the chainstay begin": "5/8 in at 1 in", "A second place": "19 at 180"}
FORK_TUBE = {
    "Where does the fork leg begin": "17 at 22",
    "A second place": "24x20 at 180",
    "A third": "1 in at 10 in",
}
# What is typed, by words of the question; where nothing fits, Enter alone takes what is offered.
MOUNTS = {
    "is-rear": {
        "Which axle?": "1", "Which of these": "135-qr", "Which mount?": "is-rear", "Which disc will": "160",
        "Which tube carries": "seatstay", "Where does the seatstay begin": "14 at 28", "What angle": "62 deg",
        "let the wheel out": "forward", "How thick is your tab?": "6", **REAR_TUBE,
    },
    "post": {
        "Which axle?": "2", "Which mount?": "post", "Which disc is the mount": "160",
        "Which disc will": "180",
        "Will you give": "n", "how far outboard": "5", "What is the outside of your": "12", "How long": "46",
        **REAR_TUBE,
    },
    "flat-rear": {
        "Which of these": "148 x 12", "Which mount?": "flat-rear", "Which disc is the mount": "140",
        "Will you give": "no", "How thick is the dropout?": "0.25 in", "wall?": "0.9", **REAR_TUBE,
    },
    "is-front": {
        "Is the mount": "front", "Which of these": "100x15", "How deep are your": "2.5", "Which mount?": "1",
        "Which disc will": "180", **FORK_TUBE,
    },
    "flat-front": {
        "Is the mount": "the fork", "Which axle?": "the wheel", "Which mount?": "3",
        "Which disc is the mount": "140", "Which disc will": "160", **FORK_TUBE,
    },
}  # fmt: skip


def _by_question(answers: dict[str, str]) -> Callable[[str], str]:
    def answer(shown: str) -> str:
        question = shown[shown.rindex("\r\n\r\n") :]
        return next((text for words, text in answers.items() if words in question), "")

    return answer


def _in_turn(lines: list[str]) -> Callable[[str], str]:
    left = iter(lines)
    return lambda shown: next(left, "")


@pytest.mark.parametrize("name", MOUNTS)
def test_every_mount_typed_at_a_terminal_gives_a_job_that_draws(
    name: str, tmp_path: Path, run: Callable
) -> None:
    answers = {"What number or short name": f"knot-{name}", **MOUNTS[name], **COMMON}
    ran = typed(["start", "--no-draw"], _by_question(answers), PROMPT, tmp_path)
    assert ran.status == 0, ran.shown
    file = tmp_path / f"knot-{name}.toml"
    job = load(file).job
    assert job.mount.interface == name
    assert job.bench.spacers == (10, 5, 5, 3, 2, 1, 0.5)
    assert VALIDATOR.is_valid(tomllib.loads(file.read_text(encoding="utf-8")))
    drawn = run("draw", file, "--out", tmp_path / "paper")
    assert drawn.status == 0, drawn.errors
    assert (tmp_path / "paper" / f"knot-{name}.pdf").stat().st_size > 1000


def test_back_and_wrong_answers_and_what_follows(tmp_path: Path) -> None:
    lines = ["b", "no name", "knot-6", "Nott", "back", "Knot", "", "sideways", "front", "back", "rear"]
    lines += ["2", "142", "20", "", "is-rear", "999", "160", "", "n", "cat", "6", "60", "9"]
    lines += ["16,5 at 25", "16", "16 at 25", "19 at 20", "19 at 180", "", "0.9", *[""] * 8, "8"]
    lines += ["10,5", "10 5", "", "", ""]
    ran = typed(["start", "--no-draw"], _in_turn(lines), PROMPT, tmp_path)
    assert ran.status == 0, ran.shown
    job = load(tmp_path / "knot-6.toml").job
    assert (job.frame.name, job.mount.end, job.mount.rotor) == ("Knot", "rear", 160)
    assert (job.stance.chainstay, job.dropout.slot) == (9, None)
    assert job.tubes.given()["chainstay"].diameters == ((25, 16), (180, 19))
    for told in (
        "This is the first question.",
        "'no name' has a space in it",
        "'sideways' given; allowed: rear, front, or a number from 1 to 2",
        "'20' (20 mm) given; allowed 0 to 15 mm",
        "Axle to near hole 39.90, to far hole 78.10 mm; numbers of grade C, one text.",
        "sideways numbers count from the dropout's inner face",
        "'cat' is not a number with a unit",
        "'60' (60 deg) given; allowed -30 to 30 deg",
        "write the decimals after a point",
        "write how far up, then the outside there: 25: 16",
        "20 is not further up than 25",
        "put a space between numbers",
    ):
        assert told in " ".join(ran.shown.split()), told


@pytest.mark.parametrize("key", [CTRL_C, CTRL_D])
def test_stopping_loses_no_answer(key: str, tmp_path: Path) -> None:
    ran = typed(["start"], _in_turn(["knot-7", "Knot", key]), PROMPT, tmp_path)
    assert ran.status == 130
    assert ran.shown.rstrip().endswith("dropleaf: interrupted; no file is half written")
    assert "kept in knot-7.draft; to go on: dropleaf start knot-7.draft" in ran.shown
    assert "Traceback" not in ran.shown
    assert [each.name for each in tmp_path.iterdir()] == ["knot-7.draft"]
    assert answers_in(tmp_path / "knot-7.draft") == {"frame.id": "knot-7", "frame.name": "Knot"}


def test_what_only_the_whole_job_shows_is_asked_again() -> None:
    # A wall as thick as half the tube is wrong only beside the tube.
    from sheets.guide.starting import started

    tried = {"Where does the fork leg begin": ["10 at 22"] * 2, "leg's wall": ["6", "1.1"]}
    typed_so_far = {**MOUNTS["flat-front"], "A second place": "", **COMMON}
    said: list[str] = []

    def ask(prompt: str) -> str:
        question = next(line for line in reversed(said) if "?" in line)
        for words, texts in tried.items():
            if words in question:
                return texts.pop(0)
        return next((text for words, text in typed_so_far.items() if words in question), "")

    answers, _ = started({}, Talk(ask, said.append))
    assert any("tubes.fork-leg.wall: 6 given; it must be less than half" in line for line in said), said
    assert answers["tubes.fork-leg.wall"] == "1.1"
    assert (answers["frame.id"], answers["mount.native"]) == ("frame-1", "140")


def test_answers_from_file_and_flags(run: Callable, tmp_path: Path) -> None:
    answers = tmp_path / "answers.toml"
    answers.write_text(
        'mount.end = "rear"\nother.stay = false\n[tubes.chainstay.place]\n1 = "5/8 in at 1 in"\n'
        "[bench]\nspacers = [5, 3]\n",
        encoding="utf-8",
    )
    ran = run("start", "--yes", "--answers", answers, "--set", "frame.id=knot-8", "--out", tmp_path / "new")
    assert ran.status == 0
    file = tmp_path / "new" / "knot-8.toml"
    text = file.read_text(encoding="utf-8")
    assert text.startswith("#:schema job.schema.json\n")
    assert tomllib.loads(text)["tubes"]["chainstay"]["diameters"] == [["1 in", "5/8 in"]]
    assert load(file).job.bench.spacers == (5, 3)
    again = run("start", "--yes", "--answers", answers, "--set", "frame.id=knot-8", "--out", tmp_path / "new")
    assert again.status == 2
    assert "is there already" in again.errors[0]
    assert file.read_text(encoding="utf-8") == text


@pytest.mark.parametrize(
    ("pairs", "told"),
    [
        (["other.stay=no"], "tubes.chainstay.place.1: missing"),
        (["mount.and=rear"], "mount.and: no question has this key, did you mean mount.end?"),
        (["mount.end"], "--set: 'mount.end' given; write KEY=VALUE"),
        (["mount.end=rear", "paper.size=A9"], "paper.size: 'A9' given; allowed: A4"),
        (["mount.rotor=47"], "mount.rotor: '47' given; allowed"),
        (["frame.id=a/b"], "frame.id: 'a/b' given; it names files"),
    ],
)
def test_wrong_answers_of_a_script(run: Callable, tmp_path: Path, pairs: list[str], told: str) -> None:
    flags = [part for pair in pairs for part in ("--set", pair)]
    ran = run("start", "--yes", "--out", tmp_path / "new", *flags)
    assert ran.status == 2
    assert any(told in line for line in ran.errors), ran.errors
    assert not (tmp_path / "new").exists()


def test_answers_given_beforehand_are_not_asked() -> None:
    asked: list[str] = []

    def ask(prompt: str) -> str:
        asked.append(prompt)
        return ""

    given = {"frame.id": "knot-9", "tubes.chainstay.place.1": "16 at 25", "other.stay": "no"}
    said: list[str] = []
    answers = ask_all(given, Talk(ask, said.append))
    assert answers["frame.id"] == "knot-9"
    assert any("knot-9" in line for line in said)
    assert len(asked) < len(QUESTIONS)


def test_every_question_has_its_own_key_and_a_reason() -> None:
    keys = [question.key for question in QUESTIONS]
    assert len(keys) == len(set(keys))
    assert all(question.why and question.ask.endswith("?") for question in QUESTIONS)


def test_a_slot_is_told_in_words_or_degrees_and_a_number_is_never_a_line(
    tmp_path: Path, run: Callable
) -> None:
    common = [
        "--yes",
        "--out",
        tmp_path,
        "--set",
        "other.stay=no",
        "--set",
        "tubes.chainstay.place.1=16 at 25",
    ]
    for name, slot, degrees in (("a", "down", 0), ("b", "2", 2), ("c", "rearward", -90), ("d", "15 deg", 15)):
        # The axle's kind follows from its system.
        flags = ["--set", f"frame.id={name}", "--set", "axle.system=135-qr", "--set", f"dropout.slot={slot}"]
        assert run("start", *common, *flags).status == 0
        assert load(tmp_path / f"{name}.toml").job.dropout.slot == degrees
    ran = run("start", *common, "--set", "axle.system=135-qr", "--set", "dropout.slot=sideways")
    assert "or write down, forward or rearward" in ran.errors[0]


def test_every_key_is_listed(run: Callable) -> None:
    out = run("start", "--keys").out
    assert all(question.key in out for question in QUESTIONS)
