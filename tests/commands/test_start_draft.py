"""The draft of `start`: whatever stops the questions, no answer is lost, and the job is gone on with."""

from collections.abc import Callable, Mapping
from pathlib import Path

import pytest

from geometry.core.errors import InputError
from sheets.guide.asking import go_on_at
from sheets.guide.draft import Draft, answers_in, draft_of, text
from sheets.guide.opening import gone_on, named, other_name
from sheets.guide.starting import started
from sheets.guide.talk import Talk
from sheets.job.read import load
from tests.commands.terminal import CTRL_C, KILL, typed

PROMPT = "]: "
TUBE = "5/8 in at 1 in"
KEPT = {
    "frame.id": "knot-1",
    "frame.name": "Knot",
    "frame.maker": "",
    "mount.end": "rear",
    "axle.kind": "quick release",
}


def _answers(lines: list[str]) -> Callable[[str], str]:
    left = iter(lines)
    return lambda shown: next(left, "")


def _by_words(words: Mapping[str, str], said: list[str]) -> Callable[[str], str]:
    """Return what answers by words of the question that was told last."""

    def ask(prompt: str) -> str:
        question = next((line for line in reversed(said) if "?" in line), "")
        return next((answer for part, answer in words.items() if part in question), "")

    return ask


def test_killed_between_answers_the_draft_holds_them_and_start_goes_on(tmp_path: Path) -> None:
    lines = ["knot-1", "Knot", "", "rear", "quick release", KILL]
    assert typed(["start"], _answers(lines), PROMPT, tmp_path).status == -9
    assert answers_in(tmp_path / "knot-1.draft") == KEPT
    assert [each.name for each in tmp_path.iterdir()] == ["knot-1.draft"]

    def answer(shown: str) -> str:
        question = shown[shown.rindex("\r\n\r\n") :]
        words = {"Will you give": "n", "Where does the chainstay": TUBE}
        return next((text for part, text in words.items() if part in question), "")

    ran = typed(["start", "knot-1", "--no-draw"], answer, PROMPT, tmp_path)
    assert ran.status == 0, ran.shown
    assert "knot-1.draft, 5 answers" in ran.shown
    assert "What number or short name" not in ran.shown
    job = load(tmp_path / "knot-1.toml").job
    assert (job.frame.name, job.axle.system) == ("Knot", "135-qr")
    # The draft went with the job that was written.
    assert sorted(each.name for each in tmp_path.iterdir()) == ["job.schema.json", "knot-1.toml"]


def test_where_an_older_draft_of_the_name_was_put_is_told_at_the_end(tmp_path: Path) -> None:
    for name in ("knot-1", "knot-2"):
        (tmp_path / f"{name}.draft").write_text(text(name, {**KEPT, "frame.id": name}), encoding="utf-8")
    first = iter(["n", "knot-1", "Knot", "", "rear", "quick release"])

    def answer(shown: str) -> str:
        question = shown[shown.rindex("\r\n\r\n") :]
        words = {"Will you give": "n", "Where does the chainstay": TUBE}
        found = next((each for part, each in words.items() if part in question), "")
        return next(first, found)

    ran = typed(["start", "--no-draw"], answer, PROMPT, tmp_path)
    assert ran.status == 0, ran.shown
    assert "An older draft of that name was not gone on with" in " ".join(ran.shown.split())
    assert (tmp_path / "knot-1.draft-1").is_file()
    assert (tmp_path / "knot-1.toml").is_file()


def test_anew_keeps_the_draft_apart_and_another_frame_leaves_it(tmp_path: Path) -> None:
    (tmp_path / "knot-1.draft").write_text(text("knot-1", KEPT), encoding="utf-8")
    said: list[str] = []
    found = gone_on(Draft(tmp_path), "knot-1", {}, Talk(lambda prompt: "n", said.append))
    assert found == ({}, "", {})
    assert answers_in(tmp_path / "knot-1.draft-1") == KEPT
    assert not (tmp_path / "knot-1.draft").exists()
    # A frame that is called as an older draft is puts it apart too.
    (tmp_path / "knot-1.draft").write_text(text("knot-1", KEPT), encoding="utf-8")
    draft = Draft(tmp_path)
    draft.keep({"frame.id": "knot-1", "frame.name": "Other"})
    assert draft.kept_apart == tmp_path / "knot-1.draft-2"
    assert answers_in(tmp_path / "knot-1.draft-2") == KEPT
    # A frame that gets another id takes its draft along.
    draft.keep({"frame.id": "knot-2", "frame.name": "Other"})
    assert draft.file == tmp_path / "knot-2.draft"
    assert not (tmp_path / "knot-1.draft").exists()


def test_of_several_drafts_one_is_chosen_and_what_is_given_counts_first(tmp_path: Path) -> None:
    for name in ("knot-1", "knot-2"):
        (tmp_path / f"{name}.draft").write_text(text(name, {**KEPT, "frame.id": name}), encoding="utf-8")
    said: list[str] = []
    lines = iter(["7", "knot-2"])
    answers, begin, given = gone_on(
        Draft(tmp_path), "", {"frame.name": "Given"}, Talk(lambda prompt: next(lines), said.append)
    )
    assert (answers["frame.id"], answers["frame.name"], begin, given) == (
        "knot-2",
        "Given",
        "axle.system",
        {},
    )
    assert any("'7' given; answer a number from 1 to 2, or n" in line for line in said)


def test_a_draft_goes_on_where_an_answer_lacks_or_can_no_longer_be_read() -> None:
    assert go_on_at(KEPT) == (KEPT, "axle.system")
    changed = {**KEPT, "mount.end": "sideways"}
    assert go_on_at(changed) == (changed, "mount.end")
    # A question that must be answered is not passed over empty.
    assert go_on_at({"frame.id": ""})[1] == "frame.id"


@pytest.mark.parametrize(
    ("content", "told"),
    [
        ('"frame.id" = ', "knot-1.draft"),
        ('"mount.and" = "rear"\n', "mount.and: no question has this key, did you mean mount.end?"),
        ('"frame.id" = { a = [1, {}] }\n', "one answer is wanted"),
    ],
)
def test_a_damaged_draft_is_told(content: str, told: str, tmp_path: Path) -> None:
    file = tmp_path / "knot-1.draft"
    file.write_text(content, encoding="utf-8")
    with pytest.raises(InputError, match=told.replace("?", "\\?")):
        gone_on(Draft(tmp_path), "knot-1", {}, Talk(lambda prompt: "", lambda line: None))
    assert file.read_text(encoding="utf-8") == content


def test_every_answer_is_kept_before_the_next_is_asked(tmp_path: Path) -> None:
    said: list[str] = []
    draft = Draft(tmp_path)
    words = {"Will you give": "n", "Where does the chainstay": TUBE}
    answer = _by_words(words, said)
    seen: list[int] = []

    def ask(prompt: str) -> str:
        seen.append(len(answers_in(draft.file)) if draft.file else 0)
        return answer(prompt)

    found, _ = started({}, Talk(ask, said.append), keep=draft.keep)
    assert seen == list(range(len(seen)))
    assert answers_in(draft_of(tmp_path, "frame-1")) == found
    draft.done()
    assert list(tmp_path.iterdir()) == []


def _other(folder: Path, talk: Talk) -> tuple[dict[str, str], str, bool]:
    answer = other_name(folder, KEPT, "", talk)
    assert answer is not None
    return answer


def test_the_prompts_about_drafts_and_names_explain_and_take_the_way_back(tmp_path: Path) -> None:
    (tmp_path / "knot-1.draft").write_text(text("knot-1", KEPT), encoding="utf-8")
    said: list[str] = []
    lines = iter(["?", "<", "perhaps", "yep", ""])
    answers, begin, _ = gone_on(Draft(tmp_path), "knot-1", {}, Talk(lambda prompt: next(lines), said.append))
    assert (answers["frame.name"], begin) == ("Knot", "axle.system")
    told = " ".join(said)
    assert "A draft holds every answer" in told
    assert "This is the first question." in told
    assert "'perhaps' given; answer y or n" in told
    (tmp_path / "knot-1.toml").write_text("mine", encoding="utf-8")
    lines = iter(["?", "<"])
    assert other_name(tmp_path, KEPT, "", Talk(lambda prompt: next(lines), said.append)) is None
    assert any("Another name keeps both files" in line for line in said)


def test_whether_to_draw_is_asked_with_an_explanation_and_after_ctrl_c_it_is_said_how(tmp_path: Path) -> None:
    (tmp_path / "knot-1.draft").write_text(text("knot-1", KEPT), encoding="utf-8")
    words = {"Will you give": "n", "Where does the chainstay": TUBE}
    last = iter(["?", "<", CTRL_C])

    def answer(shown: str) -> str:
        if "Draw it now?" in shown:
            return next(last)
        question = shown[shown.rindex("\r\n\r\n") :]
        return next((text for part, text in words.items() if part in question), "")

    ran = typed(["start", "knot-1"], answer, PROMPT, tmp_path)
    assert ran.status == 130
    shown = " ".join(ran.shown.split())
    assert "Drawing makes the PDF" in shown
    assert "The job is written, so there is no way back from here" in shown
    assert "Draw it with: dropleaf draw knot-1.toml" in shown
    assert load(tmp_path / "knot-1.toml").job.frame.name == "Knot"


def test_a_job_that_is_there_is_written_over_only_where_that_is_said(tmp_path: Path) -> None:
    (tmp_path / "knot-1.toml").write_text("mine", encoding="utf-8")
    lines = iter(["", "a/b", "knot-1", "knot-2"])
    said: list[str] = []
    found, job, over = _other(tmp_path, Talk(lambda prompt: next(lines), said.append))
    assert (found["frame.id"], over) == ("knot-2", False)
    assert 'id = "knot-2"' in job
    assert any("'a/b' given; it names files" in line for line in said)
    found, _, over = _other(tmp_path, Talk(lambda prompt: "over", said.append))
    assert (found["frame.id"], over) == ("knot-1", True)
    assert (tmp_path / "knot-1.toml").read_text(encoding="utf-8") == "mine"


def test_a_job_is_named_by_its_name_its_draft_or_its_file(tmp_path: Path) -> None:
    assert named("knot-1", tmp_path) == (tmp_path, "knot-1", False)
    assert named("bench/knot-1.draft", tmp_path) == (tmp_path / "bench", "knot-1", False)
    assert named("knot-1.toml", tmp_path) == (tmp_path, "knot-1", True)
    (tmp_path / "knot-1.toml").write_text("", encoding="utf-8")
    assert named("knot-1", tmp_path) == (tmp_path, "knot-1", True)
    with pytest.raises(InputError, match="space_in_name"):
        named("no name", tmp_path)
    with pytest.raises(InputError, match="no_file_name"):
        named("knot*", tmp_path)


def test_with_yes_a_draft_is_finished_by_the_defaults(run: Callable, tmp_path: Path) -> None:
    (tmp_path / "knot-1.draft").write_text(text("knot-1", KEPT), encoding="utf-8")
    pairs = ("--set", "other.stay=no", "--set", f"tubes.chainstay.place.1={TUBE}")
    assert run("start", "knot-1", "--out", tmp_path, "--yes", *pairs).status == 0
    assert load(tmp_path / "knot-1.toml").job.axle.system == "135-qr"
    assert not (tmp_path / "knot-1.draft").exists()
