"""Every command line that README, book or a command's help prints is run, in a copy of the project's samples.

Exempt are the README's set-up lines and its test command, which .ci/run runs, and names of commands alone.
"""

import contextlib
import io
import re
import shlex
import shutil
from collections.abc import Iterator
from pathlib import Path

import click
import pytest

from sheets.actions import book
from sheets.cli import dropleaf, main
from sheets.home import folder as home
from tests.commands.terminal import CTRL_C, typed

TOP = Path(__file__).parents[2]
README = (TOP / "README.md").read_text(encoding="utf-8")
PRINTED = "\n".join((README, *map(book.text, book.pages())))
# These ask at a terminal, so they are started at one and left.
ASKING = (
    "dropleaf start",
    "dropleaf start knot-7",
    "dropleaf start samples/dunlin.toml",
    "dropleaf learn",
)


def _printed() -> list[str]:
    """Return the lines of README and book in order, once each: fenced ones and those in the text."""
    fenced = [line for block in re.findall(r"```sh\n(.*?)```", PRINTED, re.S) for line in block.splitlines()]
    found = [line for line in fenced if line.startswith("dropleaf ")]
    inline = [
        text for text in re.findall(r"`(dropleaf [^`]+)`", PRINTED) if len(text.split()) > 2 or "-" in text
    ]
    return list(dict.fromkeys((*found, *inline)))


def _commands(group: click.Command, path: str = "dropleaf") -> Iterator[tuple[str, click.Command]]:
    yield path, group
    if isinstance(group, click.Group):
        context = click.Context(group)
        for name in group.list_commands(context):
            command = group.get_command(context, name)
            assert command is not None
            yield from _commands(command, f"{path} {name}")


COMMANDS = dict(_commands(dropleaf))


def _examples(name: str) -> list[str]:
    shown = click.Context(COMMANDS[name], info_name=name)
    text = COMMANDS[name].get_help(shown)
    _, _, after = text.partition("Example:")
    return [line.strip() for line in after.splitlines() if line.strip().startswith("dropleaf ")]


@pytest.fixture(scope="module")
def place(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Path]:
    """Return a folder with the samples, and what earlier lines have left; home is its own."""
    folder = tmp_path_factory.mktemp("printed")
    shutil.copytree(TOP / "samples", folder / "samples")
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv(home.HOME, str(folder / "home"))
        patch.chdir(folder)
        # The README's first line, which .ci/run takes word for word, and what help takes for granted.
        for line in (
            "dropleaf draw samples/dunlin.toml --out drawn",
            "dropleaf draw samples/dunlin.toml --out paper",
            "dropleaf printer add shop --paper A4 --across 174.5 --down 266",
            "dropleaf printer export shop shop-printer.toml",
        ):
            assert _run(line)[0] == 0
        yield folder


def _run(line: str) -> tuple[int, str]:
    out, errors = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(errors):
        status = main(shlex.split(line)[1:])
    return status, errors.getvalue()


def _check(line: str, folder: Path) -> None:
    if line in ASKING:
        ran = typed(shlex.split(line)[1:], lambda shown: CTRL_C, "]: ", folder)
        assert ran.status == 130, ran.shown
        return
    if line.startswith("dropleaf desk"):
        ran = typed(shlex.split(line)[1:], lambda shown: CTRL_C, "?token=", folder)
        assert ran.status == 0 and "http://127.0.0.1:" in ran.shown, ran.shown
        return
    if line.startswith("dropleaf printer add") and "--replace" not in line:
        _run("dropleaf printer remove shop")
    if line == "dropleaf printer remove shop":
        _run("dropleaf printer add shop --paper A4 --across 174.5 --down 266 --replace")
    if line.startswith("dropleaf printer export"):
        (folder / "shop-printer.toml").unlink(missing_ok=True)
    if "--from measuring-sheet-A4.pdf" in line:
        # Empty as it was printed, it says so; a filled one is proved in test_blank.py.
        status, errors = _run(line)
        assert status == 2 and "nothing is filled in" in errors
        return
    status, errors = _run(line)
    assert status == 0, errors


def test_the_lines_were_found() -> None:
    assert len(_printed()) >= 8
    assert set(COMMANDS) >= {
        f"dropleaf {name}" for name in ("draw", "start", "printer add", "verify", "shop")
    }


@pytest.mark.parametrize("line", _printed())
def test_every_line_of_readme_and_book_runs(line: str, place: Path) -> None:
    _check(line, place)


@pytest.mark.parametrize("name", COMMANDS)
def test_every_help_has_an_example_that_runs(name: str, place: Path) -> None:
    lines = _examples(name)
    assert lines, f"{name} --help shows no example"
    for line in lines:
        _check(line, place)


def test_every_command_is_named_in_the_book() -> None:
    for name in COMMANDS:
        assert " ".join(name.split()[:2]) in book.text("statuses")


def test_the_readme_is_short_and_leads_to_every_page_of_the_book() -> None:
    assert len(README.splitlines()) <= 120
    links = re.findall(r"\]\(([^)]+)\)", README)
    assert [link for link in links if not (TOP / link).is_file()] == []
    led_to = {(TOP / link).resolve() for link in links}
    assert {file.resolve() for file in book.FOLDER.glob("*.md")} - led_to == {book.FOLDER / "book.md"}


def test_pictures_named_in_the_readme_are_there_and_small() -> None:
    named = re.findall(r"\]\((samples/pictures/[^)]+)\)", README)
    assert len(named) >= 8
    for name in named:
        assert 2_000 < (TOP / name).stat().st_size < 120_000, name
    assert {Path(name).name for name in named} <= {file.name for file in (TOP / "samples/pictures").iterdir()}
