"""check, mounts, help, and how the program ends when things go wrong around it."""

import json
import os
import re
import subprocess
import sys
import tomllib
from collections.abc import Callable
from pathlib import Path

import click
import pytest

from sheets.actions import check
from sheets.cli import FAULT, INTERRUPTED, NOBODY_READS, main
from tests.outside_tools import lacking

ROOT = Path(__file__).parents[2]


def program(*arguments: str, **settings: object) -> "subprocess.CompletedProcess[str]":
    """Run the program in a process of its own."""
    command = [sys.executable, "-B", "-m", "sheets", *arguments]
    return subprocess.run(  # type: ignore[call-overload, no-any-return]
        command, **{"cwd": ROOT, "capture_output": True, "text": True, "check": False} | settings
    )


def test_check_prints_the_numbers_and_draws_nothing(run: Callable, job: Path) -> None:
    ran = run("check", job, "--all")
    assert ran.status == 0
    for said in (
        "51 mm tab, rear (is-rear), made for 140",
        "a +20 tab adapter, +20 (grade B)",
        "near -18.692 35.251 0.000 39.900",
        "far -69.692 35.251 0.000 78.100",
        "each a plain hole 6.2 for M6 (grade B)",
        "disc's inner face, z -15.250",
        "chainstay 180 deg in the side view, known from 25 to 380",
        "grade C source ",
        "note Grade C",
    ):
        assert said in " ".join(ran.out.split())
    assert [file.name for file in job.parent.iterdir()] == ["knot.toml"]


def test_check_names_what_is_not_known(run: Callable, job: Path, write: Callable) -> None:
    write(job, ("135-qr", "130-qr"), ('thickness = "1/4 in"', ""))
    out = " ".join(run("check", job, "--all").out.split())
    assert "disc's inner face, z not found" in out
    assert "stand-off not known" in out


def test_check_as_a_document(run: Callable, job: Path, write: Callable) -> None:
    other = write(job.with_name("other.toml"), ("knot-1", "a-1"))
    assert list(run("check", job, "--json").json)[2:] == ["job", "placement", "setup", "findings", "warnings"]
    assert [each["job"]["frame"]["id"] for each in run("check", job, other, "--json").json] == [
        "knot-1",
        "a-1",
    ]
    drawn = run("draw", job, "--json").json
    assert run("check", job, "--json").json["placement"] == drawn["placement"]


def test_mounts_prints_every_number_of_both_tables(run: Callable) -> None:
    out = run("mounts").out
    for table in ("interfaces", "axles"):
        file = ROOT / "geometry" / "tables" / f"{table}.toml"
        raw = tomllib.loads(file.read_text(encoding="utf-8"))
        for row in raw.get("row", raw.get("axle")):
            assert f"\n{row['name']}  " in out
        used = {
            entry["source"]
            for row in raw.get("row", raw.get("axle"))
            for entry in row.values()
            if isinstance(entry, dict) and "source" in entry
        }
        for source in used:
            assert raw["sources"][source] in out
    assert "hub end to disc not found" in " ".join(out.split())
    assert "PROVISIONAL" in out


def test_mounts_as_a_document(run: Callable) -> None:
    document = run("mounts", "--json").json
    assert list(document) == ["format", "version", "interfaces", "adapters", "axles", "open", "checks"]
    post = next(row for row in document["interfaces"] if row["name"] == "post")
    assert post["native"] == [140.0, 220.0]
    assert post["any_between"]
    assert post["numbers"]["spacing"]["value"] == 74.2
    assert post["numbers"]["spacing"]["tolerance"] is None
    axle = next(row for row in document["axles"] if row["name"] == "157x12")
    assert axle["rotor"] is None
    assert axle["width"]["value"] == 157.0
    assert axle["width"]["check"]["kind"] == "closure"
    rear = next(row for row in document["interfaces"] if row["name"] == "is-rear")
    assert rear["numbers"]["radii.far"]["check"]["kind"] == "scale"
    assert "14.50 or 15.25" in rear["disagrees"]["settle"]
    assert {(each["row"], each["key"]) for each in document["open"]} >= {
        ("is-rear", "lateral.rear"), ("flat-rear", "at.140.h"), ("100-qr", "rotor")
    }  # fmt: skip


def test_mounts_prints_second_checks_the_second_set_and_what_is_open(run: Callable) -> None:
    text = run("mounts").out
    assert "  checked by scale, radii.near, radii.far: " in text
    # andrewsuzuki.com, Disc Brake Adapter Finder, 2020-06-27, against the set drawn: 0.5 and 0.8 at 203.
    assert "    made for 203: face -0.48, holes +0.79 up the tube" in text
    assert "made for 160: face" not in text
    opened = text.partition("Open numbers")[2]
    assert "is-rear lateral.rear" in opened and "is-front lateral.front" in opened


@pytest.mark.parametrize("arguments", [[], ["draw"], ["check"], ["mounts"]])
def test_every_help_has_an_example(run: Callable, arguments: list[str]) -> None:
    ran = run(*arguments, "--help")
    assert ran.status == 0
    assert "Example:\n    dropleaf " in ran.out


def test_version(run: Callable) -> None:
    # PEP 440: a number, and what names the build as a local version.
    assert re.fullmatch(r"dropleaf \d+\.\d+\.\d+\+(source|g[0-9a-f]{8,}(\.changed)?)\n", run("--version").out)


@pytest.mark.parametrize(
    ("arguments", "kind"),
    [
        (("check", "samples/dunlin.toml"), "check"),
        (("check", "no-such.toml"), "errors"),
        (("mounts",), "mounts"),
        (("printer", "list"), "printers"),
        (("draw", "--no-such"), "errors"),
    ],
)
def test_every_document_says_its_format_and_version(
    run: Callable, arguments: tuple[str, ...], kind: str
) -> None:
    document = run(*arguments, "--json").json
    assert list(document)[:2] == ["format", "version"]
    assert (document["format"], document["version"]) == (f"dropleaf-{kind}", 1)


def test_help_comes_without_the_heavy_libraries() -> None:
    script = (
        "import sys; from sheets.cli import main; main(['--help']);"
        "print({'numpy', 'pydantic', 'reportlab', 'pypdf', 'svgwrite', 'pypdfium2'} & set(sys.modules))"
    )
    done = subprocess.run(
        [sys.executable, "-B", "-c", script], cwd=ROOT, capture_output=True, text=True, check=True
    )
    assert done.stdout.endswith("set()\n")


def test_a_fault_is_one_line(run: Callable, job: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(_: object) -> None:
        raise ZeroDivisionError("nought\nbelow")

    monkeypatch.setattr(check, "report", broken)
    monkeypatch.delenv("DROPLEAF_DEBUG", raising=False)
    ran = run("check", job)
    assert ran.status == FAULT == 70
    assert len(ran.errors) == 1
    assert "this is a fault in dropleaf, not in your job: ZeroDivisionError: nought below" in ran.errors[0]


def test_a_fault_shows_where_on_demand(
    job: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def broken(_: object) -> None:
        raise ZeroDivisionError

    monkeypatch.setattr(check, "report", broken)
    monkeypatch.setenv("DROPLEAF_DEBUG", "1")
    assert main(["check", str(job)]) == FAULT
    assert "Traceback" in capsys.readouterr().err


def test_an_interrupt_is_one_line(run: Callable, job: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def interrupted(_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(check, "report", interrupted)
    ran = run("check", job)
    assert ran.status == INTERRUPTED == 130
    assert ran.errors == ["dropleaf: interrupted; no file is half written"]


def test_a_closed_pipe_is_quiet(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    def gone(*_: object, **__: object) -> None:
        raise BrokenPipeError(32, "Broken pipe")

    monkeypatch.setattr(click, "echo", gone)
    monkeypatch.setattr("sheets.cli._let_go_of_output", lambda: None)
    assert main(["mounts"]) == NOBODY_READS == 141
    assert capsys.readouterr() == ("", "")


def test_a_reader_that_leaves() -> None:
    if sys.platform == "win32":
        lacking("pipes end otherwise")
    pipe = f"'{sys.executable}' -B -m sheets mounts | head -c 1"
    done = subprocess.run(["sh", "-c", pipe], cwd=ROOT, capture_output=True, text=True, check=True)
    assert done.stderr == ""


def test_a_console_that_lacks_characters(write: Callable, tmp_path: Path) -> None:
    job = write(tmp_path / "кулик.toml")
    console = {**os.environ, "PYTHONIOENCODING": "cp1252", "PYTHONUTF8": "0"}
    done = program("check", str(job), encoding="cp1252", env=console)
    assert done.returncode == 0
    assert "?????.toml" in done.stdout
    assert json.loads(program("check", str(job), "--json", env=console).stdout)["warnings"]
    done = program("check", str(job.with_name("улит.toml")), encoding="cp1252", env=console)
    assert done.returncode == 2
    assert "????.toml: there is no such file" in done.stderr
