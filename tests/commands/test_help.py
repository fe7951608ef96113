"""The book that `help` opens, the manual page, what a shell completes, and how a misspelt word fares."""

import os
import re
import subprocess
import sys
from pathlib import Path

import click
import pytest

from sheets import console
from sheets.actions import book
from sheets.cli import dropleaf, main
from sheets.manual import manual
from tests.commands.conftest import Run
from tests.commands.terminal import ROOT, typed

PAGES = sorted(("samples", *(file.stem for file in book.FOLDER.glob("*.md"))))


def test_the_contents_name_every_page_and_every_link_leads_somewhere() -> None:
    assert sorted(book.pages()) == PAGES
    for name in PAGES:
        for link in re.findall(r"\]\(([^)]+)\)", book.text(name)):
            assert (book.FOLDER / link).is_file(), (name, link)


@pytest.mark.parametrize("width", [40, 100])
@pytest.mark.parametrize("name", PAGES)
def test_a_page_is_shown_whole_within_the_terminal(name: str, width: int) -> None:
    page, shown = book.text(name), book.shown(name, width)
    # Every word of the page is there; only fenced lines, and single words, may be wider than the terminal.
    words = re.sub(r"\]\([^)]*\)", " ", re.sub(r"^```\w*$", "", page, flags=re.MULTILINE))
    assert set(re.findall(r"\w+", words.casefold())) <= set(re.findall(r"\w+", shown.casefold()))
    wide = [line for line in shown.split("\n") if len(line) > width and " " in line.strip()]
    assert all(line.startswith("    ") and line.strip() in page for line in wide), wide
    assert not re.search(r"\*\*|`|\]\(", shown)


def test_help_opens_pages_and_commands_by_what_people_call_them(run: Run) -> None:
    for words, first in (
        ((), "THE BOOK OF DROPLEAF"),
        (("printing",), "PRINTING TRUE"),
        (("grade",), "WHAT A GRADE IS"),
        (("changelog",), "CHANGES"),
        (("exit", "status"), "COMMANDS AND EXIT STATUSES"),
        (("draw",), "Usage: dropleaf draw "),
        (("printer", "add"), "Usage: dropleaf printer add "),
    ):
        assert run("help", *words).out.startswith(first), words
    ran = run("help", "qwxz")
    assert ran.status == 2 and "measuring" in ran.errors[0]


def test_a_long_page_goes_by_the_pager_on_a_terminal(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("PAGER", "head -n 2")
    assert "is advised on it" not in typed(["help", "heat"], lambda shown: "", "no prompt", tmp_path).shown
    monkeypatch.setenv("LINES", "400")
    assert "is advised on it" in typed(["help", "heat"], lambda shown: "", "no prompt", tmp_path).shown


# What others call it: common practice, no source.
@pytest.mark.parametrize(
    ("tried", "meant"),
    [("drwa", "draw"), ("render", "draw"), ("lint", "check"), ("init", "start"), ("demo", "sample")],
)
def test_an_unknown_command_is_answered_by_spelling_and_by_meaning(run: Run, tried: str, meant: str) -> None:
    (line,) = run(tried).errors
    assert f"did you mean {meant}?" in line


def test_the_version_tells_the_changes_from_the_book(run: Run) -> None:
    short = run("-V").out
    assert short == run("--version").out and short.startswith("dropleaf ")
    long = run("--version", "--changes").out
    assert long.startswith(short) and "79.1" in long
    assert run("--changes").out == long


def test_every_exit_status_is_told_in_help_and_in_the_book() -> None:
    known = {
        console.DONE,
        console.FAILED,
        console.WRONG,
        console.FAULT,
        console.INTERRUPTED,
        console.NOBODY_READS,
    }
    assert {
        int(each) for each in re.findall(r"^\| ([0-9]+) \|", book.text("statuses"), re.MULTILINE)
    } == known
    assert dropleaf.help is not None
    told = dropleaf.help.partition("Exit status:")[2]
    assert {int(each) for each in re.findall(r"\b[0-9]+\b", told)} == known


def test_the_manual_page_has_every_command_and_option_and_no_stray_macro() -> None:
    with click.Context(dropleaf, info_name="dropleaf") as top:
        page = manual(top)
        options = {
            option
            for name in dropleaf.list_commands(top)
            for parameter in (dropleaf.get_command(top, name) or dropleaf).params
            if isinstance(parameter, click.Option)
            for option in parameter.opts
        }
        names = dropleaf.list_commands(top)
    plain = page.replace("\\-", "-")
    assert all(f".SS dropleaf {name} " in plain for name in names)
    assert [option for option in options if not re.search(rf"^\.B .*{option}\b", plain, re.MULTILINE)] == []
    macros = set(re.findall(r"^[.'](\S*)", page, re.MULTILINE))
    # The macros of man(7) that are used, as its manual names them.
    assert macros <= {"TH", "SH", "SS", "PP", "TP", "B", "nf", "fi"}
    assert ".SH EXIT STATUS" in page and ".B 141" in page


def _offered(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], *words: str) -> list[str]:
    """Return what bash is offered for the last word, which is begun."""
    monkeypatch.setenv("_DROPLEAF_COMPLETE", "bash_complete")
    monkeypatch.setenv("COMP_WORDS", " ".join(("dropleaf", *words)))
    monkeypatch.setenv("COMP_CWORD", str(len(words)))
    main([])
    return capsys.readouterr().out.splitlines()


def test_tab_offers_values(
    run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("DROPLEAF_HOME", str(tmp_path / "home"))
    run("printer", "add", "shop", "--paper", "A4", "--across", 174.5, "--down", 266)
    (tmp_path / "jobs").mkdir()
    for name in ("knot.toml", "knot.pdf"):
        (tmp_path / "jobs" / name).touch()
    for words, expected in (
        (("proof", "--paper", "t"), ["plain,Tabloid"]),
        (("draw", "--printer", "s"), ["plain,shop"]),
        (("draw", "--sample", "w"), ["plain,whimbrel"]),
        (("sample", "cur"), ["plain,curlew"]),
        (("blank", "--for", "flat"), ["plain,flat-rear", "plain,flat-front"]),
        (("check", "jobs/k"), ["plain,jobs/knot.toml"]),
        # Where no job lies, the shell looks itself.
        (("check", "j"), ["file,j"]),
        (("check", "nowhere/j"), ["file,nowhere/j"]),
        (("help", "gra"), ["plain,grades"]),
        (("dr",), ["plain,draw"]),
    ):
        assert _offered(monkeypatch, capsys, *words) == expected, words
    # A file of printers that cannot be read offers nothing, and breaks no line that is being typed.
    (tmp_path / "home" / "printers.toml").write_text("?", encoding="utf-8")
    assert _offered(monkeypatch, capsys, "draw", "--printer", "s") == [""]


@pytest.mark.parametrize(
    ("shell", "begun", "answer"), [("zsh", "3", "plain\nwhimbrel\n_\n"), ("fish", "w", "plain,whimbrel\n")]
)
def test_other_shells_ask_and_are_answered_in_their_own_way(
    shell: str, begun: str, answer: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    # What their scripts hand over and expect ("Shell Completion" in the manual of click): zsh which word is
    # begun, fish the word itself.
    monkeypatch.setenv("_DROPLEAF_COMPLETE", f"{shell}_complete")
    monkeypatch.setenv("COMP_WORDS", "dropleaf draw --sample w")
    monkeypatch.setenv("COMP_CWORD", begun)
    main([])
    assert capsys.readouterr().out == answer


def test_bash_completes_with_its_own_script(tmp_path: Path) -> None:
    program = tmp_path / "dropleaf"
    program.write_text(f'#!/bin/sh\nexec "{sys.executable}" -m sheets "$@"\n', encoding="utf-8")
    program.chmod(0o755)
    script = (
        'eval "$(_DROPLEAF_COMPLETE=bash_source dropleaf)"; COMP_WORDS=(dropleaf sample gree) COMP_CWORD=2; '
        '_dropleaf_completion dropleaf; echo "${COMPREPLY[@]}"'
    )
    variables = os.environ | {"PATH": f"{tmp_path}:{os.environ['PATH']}", "PYTHONPATH": str(ROOT)}
    done = subprocess.run(["bash", "-c", script], capture_output=True, text=True, check=True, env=variables)
    assert done.stdout == "greenshank\n"
