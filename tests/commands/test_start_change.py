"""`start` with a job that is there: one number changes, its effect is shown, and all else stays as it was."""

import hashlib
import itertools
import tomllib
import typing
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
import tomlkit
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from pydantic import BaseModel

from geometry.core.errors import DeliveryError, InputError
from geometry.core.findings import Finding
from sheets.actions.check import report
from sheets.guide.changing import changed
from sheets.guide.draft import begun_from, changes_in, keep_changes
from sheets.guide.entries import entries, set_by_key
from sheets.guide.talk import Talk
from sheets.home.jobs import from_bytes
from sheets.home.toml_file import with_value
from sheets.job.keys import Job
from sheets.job.read import load
from sheets.setup.findings import answer_lines
from tests.commands.terminal import CTRL_C, typed

SAMPLES = Path(__file__).parents[2] / "samples"
DUNLIN = (SAMPLES / "dunlin.toml").read_text(encoding="utf-8")


@pytest.fixture
def dunlin(tmp_path: Path) -> Path:
    """Return a copy of a sample to change."""
    file = tmp_path / "dunlin.toml"
    file.write_text(DUNLIN, encoding="utf-8")
    return file


def _answers(*lines: str) -> Callable[[str], str]:
    left = iter(lines)
    return lambda shown: next(left)


def _answer(text: str) -> tuple[Job, tuple[Finding, ...]]:
    checked = report(from_bytes(text.encode(), Path("dunlin.toml")))
    return checked.source.job, checked.findings


def _changed(file: Path, *lines: str) -> tuple[Path | None, list[str]]:
    said: list[str] = []
    return changed(file, {}, Talk(_answers(*lines), said.append), said.append), said


def test_one_number_is_changed_at_a_terminal_and_comments_stay(dunlin: Path) -> None:
    ran = typed(["start", "dunlin.toml", "--no-draw"], _answers("T", "8", "", "y"), "]: ", dunlin.parent)
    assert ran.status == 0, ran.shown
    shown = " ".join(ran.shown.split())
    # The verdict is that of check, word for word, before and after.
    verdict = " ".join(answer_lines(*_answer(DUNLIN), 10_000)[0].split())
    assert f"Before: {verdict}" in shown
    assert f"After: {verdict}" in shown
    # 14 mm of stay with its middle 4.5 outboard stands 4.5 + 7 - thickness, plus what splay leaves, past it.
    assert "was the seatstay stands 3.27 mm past the dropout's face" in shown
    assert "is now the seatstay stands 2.27 mm past the dropout's face" in shown
    assert "Write this over dunlin.toml?" in shown
    assert dunlin.read_text(encoding="utf-8") == DUNLIN.replace("thickness = 7  ", "thickness = 8  ")


def test_nothing_is_written_without_a_yes(dunlin: Path) -> None:
    file, said = _changed(
        dunlin, "thickness", "S", "<", "dropout.thickness", "", "disc", "y", "180", "", "x", "n"
    )
    assert file is None
    assert any("'disc' is not in the list" in line for line in said)
    assert any("'S' is one of tubes.seatstay.splay, tubes.chainstay.splay" in line for line in said)
    assert "  Do you mean mount.rotor? Enter takes it, n does not; or type another answer." in said
    assert any("'x' given; answer y or n" in line for line in said)
    assert said[-1].endswith("stays as it was.")
    assert _changed(dunlin, "")[1][-1] == "Nothing is changed."
    assert dunlin.read_text(encoding="utf-8") == DUNLIN


def test_a_change_that_the_job_refuses_is_told_and_taken_back_or_mended(dunlin: Path) -> None:
    file, said = _changed(dunlin, "mount.end", "fork", "y", "<", "", "y")
    assert file is None
    assert any("mount.host: 'seatstay'" in line for line in said)
    assert said[-1] == "Nothing is changed."
    # A wall of 5.5 leaves a tube of 10 no bore; a thinner one does.
    lines = [
        "tubes.chainstay.wall",
        "5.5",
        "tubes.chainstay.place.1",
        "10 at 30",
        "",
        "tubes.chainstay.wall",
        "1",
    ]
    file, said = _changed(dunlin, *lines, "", "n")
    assert any("it must be less than half" in line for line in said)
    file, said = _changed(dunlin, "bench.pins", "6; 5", "boss.thickness", "-", "", "y")
    assert file == dunlin
    job = load(dunlin).job
    assert (job.bench.pins, job.boss.thickness) == ((6, 5), None)
    assert "# of the tab plate" not in dunlin.read_text(encoding="utf-8")
    assert "# ground bar turned down" in dunlin.read_text(encoding="utf-8")


def test_a_script_changes_by_keys(dunlin: Path, run: Callable) -> None:
    ran = run(
        "start", dunlin, "--yes", "--set", "tubes.seatstay.place.2=17 at 130", "--set", "mount.rotor=180"
    )
    assert ran.status == 0
    assert "After: dunlin-1" in ran.out
    job = load(dunlin).job
    assert job.mount.rotor == 180
    assert job.tubes.given()["seatstay"].diameters[1] == (130, 17)
    before = dunlin.read_text(encoding="utf-8")
    for pair, told in (
        ("mount.roter=160", "mount.roter: this job has no such answer, did you mean mount.rotor?"),
        ("mount.rotor=47", "mount.rotor: '47' given; allowed"),
        ("tubes.seatstay.wall=7", "allowed 0.3 to 6 mm"),
    ):
        ran = run("start", dunlin, "--yes", "--set", pair)
        assert ran.status == 2
        assert told in ran.errors[0], ran.errors
    assert (
        run("start", dunlin.with_name("dunln.toml"), "--yes").errors[0].endswith("did you mean dunlin.toml?")
    )
    assert dunlin.read_text(encoding="utf-8") == before


def test_a_tab_can_be_given_a_tilt_and_a_file_that_is_no_job_is_named(dunlin: Path, run: Callable) -> None:
    assert run("start", dunlin, "--yes", "--set", "mount.tilt=-2").status == 0
    assert load(dunlin).job.mount.tilt == -2
    dunlin.write_text("x = [", encoding="utf-8")
    ran = run("start", dunlin, "--yes")
    assert ran.status == 2
    assert "dunlin.toml" in ran.errors[0]


def _stopped(file: Path, *lines: str) -> list[str]:
    """Type some lines, and Ctrl-C where the next would be."""
    left, said = iter(lines), list[str]()

    def ask(prompt: str) -> str:
        said.append(prompt)
        try:
            return next(left)
        except StopIteration:
            raise KeyboardInterrupt from None

    with pytest.raises(KeyboardInterrupt):
        changed(file, {}, Talk(ask, said.append), said.append)
    return said


def test_ctrl_c_keeps_the_changes_and_they_are_gone_on_with(dunlin: Path) -> None:
    kept = dunlin.with_name("dunlin.changes")
    # At the last prompt ? explains, and < goes back to the list.
    said = _stopped(dunlin, "T", "8", "boss.thickness", "-", "", "?", "<", "")
    assert any("n gives up all changes" in line for line in said)
    assert said[-1] == "  [needed]"
    assert changes_in(kept) == {"dropout.thickness": "8", "boss.thickness": ""}
    assert dunlin.read_text(encoding="utf-8") == DUNLIN
    # Interrupted where it is asked whether to go on, they stay.
    said = _stopped(dunlin, "?", "<", "perhaps")
    assert any("The job itself is as it was" in line for line in said)
    assert "  dropout.thickness: 8" in said
    assert "  boss.thickness: taken out" in said
    assert len(changes_in(kept)) == 2
    assert _changed(dunlin, "", "", "y")[0] == dunlin
    job = load(dunlin).job
    assert (job.dropout.thickness, job.boss.thickness) == (8, None)
    assert [each.name for each in dunlin.parent.iterdir()] == ["dunlin.toml"]


def test_changes_that_are_not_gone_on_with_are_kept_apart_and_n_gives_them_up(dunlin: Path) -> None:
    _stopped(dunlin, "T", "8", "tubes.seatstay.place.3", "-", "tubes.seatstay.place.2", "-")
    _stopped(dunlin, "n", "T", "9")
    assert changes_in(dunlin.with_name("dunlin.changes")) == {"dropout.thickness": "9"}
    apart = dunlin.with_name("dunlin.changes-1")
    apart.replace(dunlin.with_name("dunlin.changes"))
    assert _changed(dunlin, "y", "", "n")[0] is None
    assert dunlin.read_text(encoding="utf-8") == DUNLIN
    assert [each.name for each in dunlin.parent.iterdir()] == ["dunlin.toml"]


def test_at_a_terminal_it_is_said_where_the_changes_are(dunlin: Path) -> None:
    ran = typed(["start", "dunlin.toml"], _answers("T", "8", CTRL_C), "]: ", dunlin.parent)
    assert ran.status == 130
    assert "kept in dunlin.changes; to go on: dropleaf start dunlin.toml" in ran.shown
    assert dunlin.with_name("dunlin.changes").is_file()


def test_the_last_change_is_told_alone_and_all_of_them_against_the_file(dunlin: Path) -> None:
    _, said = _changed(dunlin, "T", "8", "mount.rotor", "180", "<", "<", "<", "")
    told = [line.strip() for line in said]
    alone, together = told.index("This change alone:"), told.index(f"All changes together, against {dunlin}:")
    # The stand-off moved with the dropout, before the disc did.
    stand_off = "stand-off: was the seatstay stands 3.27 mm past the dropout's face"
    assert not any(line.startswith("stand-off") for line in told[alone:together])
    assert any(line.startswith(stand_off) for line in told[together:])
    assert told.count("The last change is taken back.") == 2
    assert f"So the job is again as {dunlin} has it." in told
    assert any(line.startswith("Nothing has been changed that could") for line in told)
    assert told[-1] == "Nothing is changed."


def _keys(model: type[BaseModel], before: str = "") -> Iterator[str]:
    """Give every key of a model, read from its annotations and not from the schema."""
    for name, field in model.model_fields.items():
        key = f"{before}{field.alias or name}"
        inner = [each for each in _types(field.annotation) if issubclass(each, BaseModel)]
        listed = "tuple" in str(field.annotation)
        yield from _keys(inner[0], f"{key}.") if inner and not listed else (key,)


def _types(annotation: object) -> Iterator[type]:
    if isinstance(annotation, type) and not typing.get_args(annotation):
        yield annotation
    for each in typing.get_args(annotation):
        yield from _types(each)


@pytest.mark.parametrize("sample", sorted(SAMPLES.glob("*.toml")), ids=lambda file: file.stem)
def test_every_key_of_a_job_can_be_changed(sample: Path) -> None:
    listed = [each.key for each in entries(tomllib.loads(sample.read_text(encoding="utf-8")))]
    assert len(set(listed)) == len(listed)
    wanted = [key.replace(".diameters", ".place.1") for key in _keys(Job)]
    assert {"axle.heads", "boss.near_length", "tubes.brace.wall", "traveller.heats.brace"} <= set(wanted)
    for key in wanted:
        assert any(each == key or each.startswith(f"{key}.") for each in listed), key
    # And nothing that is no key of a job.
    for each in listed:
        assert any(each == key or each.startswith(f"{key}.") for key in wanted) or ".place." in each, each


def test_a_key_that_no_question_has_is_named_explained_and_refused_at_once(dunlin: Path) -> None:
    lines = ["heads", "", "?", "3", "44; 3.5", "bench.fixture", "yes", "frame.customer", "12", "", "y"]
    file, said = _changed(dunlin, *lines)
    assert file == dunlin
    assert "  Do you mean axle.heads? Enter takes it, n does not; or type another answer." in said
    assert any("circle that they sweep" in line for line in said)
    assert any(line.startswith("  axle.heads: ") and "[across, high]" in line for line in said), said
    job = load(dunlin).job
    assert (job.axle.heads, job.bench.fixture, job.frame.customer) == ((44, 3.5), True, "12")


def test_a_tube_that_is_not_there_is_given_by_its_first_place(dunlin: Path) -> None:
    lark = dunlin.with_name("whimbrel.toml")
    lark.write_text((SAMPLES / "whimbrel.toml").read_text(encoding="utf-8"), encoding="utf-8")
    text = set_by_key(lark, lark.read_text(encoding="utf-8"), "tubes.brace.wall", "0.9")
    text = set_by_key(lark, text, "tubes.chainstay.place.1", "25: 20 x 16")
    assert tomllib.loads(text)["tubes"]["chainstay"]["diameters"] == [[25, 20, 16]]
    assert tomllib.loads(text)["tubes"]["brace"]["wall"] == 0.9
    # It is asked for as such a place always is, and the job says that a fork has no such tube.
    file, said = _changed(lark, "tubes.chainstay.place.1", "16", "25 16", "", "<", "")
    assert file is None
    assert any(line.startswith("U1 and V1: Where does the chainstay begin") for line in said)
    assert any("tubes.chainstay: chainstay given" in line for line in said)


def test_a_long_answer_is_told_and_no_prompt_is_longer_than_a_line(dunlin: Path) -> None:
    _, said = _changed(dunlin, "points", "?", "<", "")
    assert any(line.startswith("  Now: [[-40, 4], [-37.5, 6.5]") for line in said)
    prompts: list[str] = []
    lines = iter(["dropout.points", "=", ""])

    def ask(prompt: str) -> str:
        prompts.append(prompt)
        return next(lines)

    assert changed(dunlin, {}, Talk(ask, said.append), said.append) is None
    assert prompts == ["  [no more]", "  [as it is]", "  [no more]"]


TYPED = st.one_of(
    st.text(max_size=10), st.sampled_from(["1", "7", "T", "<", "?", "y", "n", "-", "", "5", "wall"])
)


@settings(max_examples=15, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.lists(TYPED, max_size=25))
def test_whatever_is_typed_the_job_stays_one_that_is_read(dunlin: Path, lines: list[str]) -> None:
    dunlin.write_text(DUNLIN, encoding="utf-8")
    left, ways = iter(lines), itertools.cycle(["<", "n"])

    def ask(prompt: str) -> str:
        # Once nothing more is typed, every question is gone back from or declined.
        return next(left, "" if prompt == "  [no more]" else next(ways))

    changed(dunlin, {}, Talk(ask, lambda line: None), lambda line: None)
    load(dunlin)


def test_what_was_changed_by_another_meanwhile_is_not_written_over(dunlin: Path) -> None:
    lines = iter(["T", "8", "", "y"])

    def ask(prompt: str) -> str:
        line = next(lines)
        if line == "y":
            dunlin.write_text(f"{DUNLIN}# mine\n", encoding="utf-8")
        return line

    with pytest.raises(DeliveryError, match="meanwhile"):
        changed(dunlin, {}, Talk(ask, lambda line: None), lambda line: None)
    assert dunlin.read_text(encoding="utf-8") == f"{DUNLIN}# mine\n"


def test_a_job_that_is_refused_can_be_mended(dunlin: Path) -> None:
    dunlin.write_text(DUNLIN.replace("rotor = 160 ", "rotor = 47  "), encoding="utf-8")
    file, said = _changed(dunlin, "mount.rotor", "160", "", "y")
    assert file == dunlin
    assert any(line.startswith("  Before, this job was refused: mount.rotor: 47") for line in said)
    assert dunlin.read_text(encoding="utf-8") == DUNLIN


@pytest.mark.parametrize("sample", sorted(SAMPLES.glob("*.toml")), ids=lambda file: file.stem)
def test_every_sample_is_listed_whole_and_each_answer_set_to_itself_changes_nothing(sample: Path) -> None:
    text = sample.read_text(encoding="utf-8")
    listed = entries(tomllib.loads(text))
    # tomlkit's own walk, against ours: every value of the file is reached.
    leaves = sum(_leaves(value) for value in tomlkit.parse(text).unwrap().values())
    assert sum(1 for each in listed if each.value) == leaves
    for each in listed:
        if each.question is not None and each.value and ".place." not in each.key:
            value = tomllib.loads(text)
            for key in each.place:
                value = value[key]
            if isinstance(value, int | float):
                assert with_value(sample, text, each.place, each.value) == text, each.key


def _leaves(node: object) -> int:
    if isinstance(node, dict):
        return sum(_leaves(value) if key != "diameters" else len(value) for key, value in node.items())
    return 1


def test_a_value_goes_into_a_table_that_lacks_and_a_form_that_cannot_be_kept_is_refused() -> None:
    where = Path("job.toml")
    text = "# mine\n[a]\nb = 1  # one\n"
    assert tomllib.loads(with_value(where, text, ("c", "d"), "2.5")) == {"a": {"b": 1}, "c": {"d": 2.5}}
    assert with_value(where, text, ("a", "b"), "12") == "# mine\n[a]\nb = 12 # one\n"
    assert with_value(where, text, ("a", "b"), "") == "# mine\n[a]\n"
    with pytest.raises(InputError):
        with_value(where, text, ("a", "b", "c"), "1")


def test_changes_that_the_desk_keeps_meanwhile_are_neither_replaced_nor_deleted(dunlin: Path) -> None:
    kept = dunlin.with_suffix(".changes")

    def typed_here() -> Iterator[str]:
        yield "T"
        keep_changes(dunlin, {"mount.tilt": "3"}, "of the desk")
        yield "8"
        yield from ("", "y")

    lines = typed_here()
    talk = Talk(lambda shown: next(lines), lambda line: None)
    with pytest.raises(DeliveryError, match="another program"):
        changed(dunlin, {}, talk, lambda line: None)
    assert changes_in(kept) == {"mount.tilt": "3"} and dunlin.read_text(encoding="utf-8") == DUNLIN


def test_changes_say_which_file_they_were_made_to(dunlin: Path) -> None:
    with pytest.raises(StopIteration):
        _changed(dunlin, "T", "8")
    found = hashlib.sha256(DUNLIN.encode()).hexdigest()
    assert begun_from(dunlin.with_suffix(".changes")) == found
