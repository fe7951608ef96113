"""What a terminal shows: a bar for long runs and silence in a pipe, plain signs where there are few."""

import io
import os
import re
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from sheets import console
from tests.commands.terminal import ROOT, typed


def _three(write: Callable[..., Path], folder: Path) -> list[Path]:
    return [write(folder / f"{name}.toml", ("knot-1", name)) for name in ("knot", "dunlin", "curlew")]


def test_a_bar_shows_on_a_terminal(write: Callable[..., Path], tmp_path: Path) -> None:
    jobs = [str(job) for job in _three(write, tmp_path)]
    ran = typed(["check", *jobs], lambda shown: "", "no prompt", tmp_path)
    assert ran.status == 0
    assert "checking" in ran.shown and "3/3" in ran.shown
    few = typed(["check", jobs[0]], lambda shown: "", "no prompt", tmp_path)
    assert "checking" not in few.shown


def test_a_pipe_stays_silent(write: Callable[..., Path], tmp_path: Path) -> None:
    jobs = [str(job) for job in _three(write, tmp_path)]
    done = subprocess.run(
        [sys.executable, "-m", "sheets", "check", "--json", *jobs],
        capture_output=True, text=True, check=True, cwd=tmp_path, env={**os.environ, "PYTHONPATH": str(ROOT)},
    )  # fmt: skip
    assert done.stderr == ""
    assert done.stdout.startswith("[")


COLOUR = "\x1b["
# no-color.org: a variable that is there and not empty. force-color.org: the same. The first counts before the
# other (the manual of Python 3.13, "Controlling color").
SETTINGS = (
    ({}, True, False),
    ({"NO_COLOR": "1"}, False, False),
    ({"NO_COLOR": ""}, True, False),
    ({"FORCE_COLOR": "1"}, True, True),
    ({"FORCE_COLOR": "1", "NO_COLOR": "1"}, False, False),
    ({"TERM": "dumb"}, False, False),
)


@pytest.mark.parametrize(("variables", "terminal", "pipe"), SETTINGS)
def test_colour_sets_off_levels_on_a_terminal_alone(
    variables: dict[str, str], terminal: bool, pipe: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    for name, value in ({"TERM": "xterm", "NO_COLOR": "", "FORCE_COLOR": ""} | variables).items():
        monkeypatch.setenv(name, value)
    answer = console.Result(
        1, {}, "knot-1 may not be built\n  STOP     Metal meets.\n  note     Look.", ("x",)
    )
    for is_terminal, expected in ((True, terminal), (False, pipe)):
        shown = []
        for stream in ("stdout", "stderr"):
            there = io.StringIO()
            monkeypatch.setattr(there, "isatty", lambda yes=is_terminal: yes)
            monkeypatch.setattr(sys, stream, there)
            shown.append(there)
        console.report([answer], False)
        for each in shown:
            assert (COLOUR in each.getvalue()) == expected
        # Colour is decoration: without it the same words are there, and lines are as long.
        assert re.sub(r"\x1b\[[0-9;]*m", "", shown[0].getvalue()) == f"{answer.text}\n"


@pytest.mark.parametrize(
    ("encoding", "shown"), [("ascii", "142 x 12, dia. 6.4, 3 deg"), ("utf-8", "142 × 12, Ø6.4, 3°")]
)
def test_few_characters_get_plain_ones(monkeypatch: pytest.MonkeyPatch, encoding: str, shown: str) -> None:
    out = io.TextIOWrapper(io.BytesIO(), encoding=encoding)
    monkeypatch.setattr(sys, "stdout", out)
    console.say("142 × 12, Ø6.4, 3°")
    out.flush()
    assert out.buffer.getvalue().decode(encoding) == f"{shown}\n"  # type: ignore[attr-defined]


def test_a_listing_is_folded_at_a_terminal_and_whole_in_a_pipe(tmp_path: Path) -> None:
    ran = typed(["mounts", "--open"], lambda shown: "", "no prompt", tmp_path)
    assert ran.status == 0 and "flat-front spacing" in ran.shown
    assert max(map(len, ran.shown.replace("\r", "").split("\n"))) <= 120
    done = subprocess.run(
        [sys.executable, "-m", "sheets", "mounts", "--open"],
        capture_output=True, text=True, check=True, cwd=tmp_path, env={**os.environ, "PYTHONPATH": str(ROOT)},
    )  # fmt: skip
    assert max(map(len, done.stdout.split("\n"))) > 200
