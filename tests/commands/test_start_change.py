"""`start` with a job that is there: one number changes, its effect is shown, and all else stays as it was."""

import tomllib
from collections.abc import Callable
from pathlib import Path

import pytest
import tomlkit

from geometry.core.errors import DeliveryError, InputError
from geometry.core.findings import Finding
from sheets.actions.check import report
from sheets.guide.changing import changed, entries
from sheets.guide.talk import Talk
from sheets.home.jobs import from_bytes
from sheets.home.toml_file import with_value
from sheets.job.keys import Job
from sheets.job.read import load
from sheets.setup.findings import answer_lines
from tests.commands.terminal import typed

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
    file, said = _changed(dunlin, "thickness", "<", "dropout.thickness", "", "disc", "y", "180", "", "x", "n")
    assert file is None
    assert any("'disc' is not in the list" in line for line in said)
    assert "  Do you mean mount.rotor? Enter takes it, n does not; or type another answer." in said
    assert any("Answer y to write over it" in line for line in said)
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
