"""The samples that come with the program, and jobs that come through a pipe."""

import io
import re
import sys
from pathlib import Path

import pytest

from sheets.cli import main
from sheets.home.jobs import load
from tests.commands.conftest import REAR, Run

SAMPLES = Path(__file__).parents[2] / "samples"
JOBS = {file.stem: file for file in (*SAMPLES.glob("*.toml"), *SAMPLES.glob("dropouts/*.toml"))}


def test_every_sample_is_listed_with_its_own_first_words(run: Run) -> None:
    listed = run("sample", "--json").json["samples"]
    assert set(listed) == set(JOBS)
    for name, said in listed.items():
        comments = re.sub(r"\s*\n# ", " ", JOBS[name].read_text(encoding="utf-8").partition("\n")[2])
        assert comments.startswith(f"# {said}")
    shown = run("sample").out
    assert all(re.search(rf"^{name} ", shown, re.MULTILINE) for name in JOBS)


@pytest.mark.parametrize("name", ["dunlin", "stint"])
def test_a_sample_is_copied_with_what_it_needs(
    name: str, run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    assert run("sample", name).status == 0
    copy = tmp_path / f"{name}.toml"
    # A copied job is read as the sample itself is, its drawing included, and its editor finds the schema.
    assert load(copy).job == load(JOBS[name]).job
    assert (tmp_path / re.findall(r"#:schema (\S+)", copy.read_text(encoding="utf-8"))[0]).is_file()
    before = {file: file.stat().st_mtime_ns for file in tmp_path.iterdir()}
    assert run("sample", name).status == 0
    assert {file: file.stat().st_mtime_ns for file in tmp_path.iterdir()} == before


def test_a_sample_is_never_written_over_a_file(run: Run, tmp_path: Path) -> None:
    mine = tmp_path / "samples" / "readings" / "dunlin.toml"
    mine.parent.mkdir(parents=True)
    mine.write_text("# mine\n", encoding="utf-8")
    (tmp_path / "curlew.toml").mkdir()
    for arguments in (("--all",), ("dunlin", "curlew")):
        ran = run("sample", *arguments, "-o", tmp_path)
        assert ran.status == 2 and "is there already" in ran.errors[0]
    # Nothing else was written either.
    assert mine.read_text(encoding="utf-8") == "# mine\n"
    assert [file for file in tmp_path.rglob("*") if file.is_file()] == [mine]


def test_an_unknown_sample_is_told_with_its_nearest(run: Run, tmp_path: Path) -> None:
    for command in ("sample", "draw --sample", "check --sample"):
        (line,) = run(*command.split(), "curlw").errors
        assert "did you mean curlew?" in line and "whimbrel" in line


def test_a_sample_is_drawn_here_and_not_where_it_lies(
    run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    ran = run("draw", "--sample", "dunlin", "--json")
    assert {file["path"] for file in ran.json["files"]} >= {"dunlin-1.pdf", "dunlin-1-template.svg"}
    assert (tmp_path / "dunlin-1.pdf").stat().st_size > 10_000


def _piped(text: bytes, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(text)))


def test_a_job_on_standard_input_is_answered_as_a_file_is(
    run: Run, job: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    expected = run("check", job).out
    _piped(job.read_bytes(), monkeypatch)
    assert run("check", "-").out == expected.replace(str(job), "-")


def test_what_is_wrong_on_standard_input_is_told_by_its_key(
    run: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    _piped(REAR.replace("= 160", "= 'big'").encode(), monkeypatch)
    ran = run("draw", "-")
    assert ran.status == 2
    assert all(line.startswith("dropleaf: standard input: mount.rotor: ") for line in ran.errors)
    for nothing in (b"", b" \n"):
        _piped(nothing, monkeypatch)
        assert "nothing came" in run("check", "-").errors[0]


def test_quiet_prints_no_answer_but_what_is_wrong(run: Run, job: Path, tmp_path: Path) -> None:
    assert run("check", "--quiet", job).out == ""
    assert run("check", "-q", tmp_path / "none.toml").status == 2
    # A document is asked for, and is no answer to read.
    assert run("check", "-q", "--json", job).json["job"]["frame"]["id"] == "knot-1"
    assert run("check", job).out


def test_no_job_at_all_is_told(capsys: pytest.CaptureFixture[str]) -> None:
    for command in ("draw", "check", "shop"):
        assert main([command]) == 2
        assert f"no job file given; see dropleaf {command} --help" in capsys.readouterr().err
