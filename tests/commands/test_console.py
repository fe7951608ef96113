"""What a terminal shows: a bar for long runs and silence in a pipe, plain signs where there are few."""

import io
import os
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


def test_no_colour_is_ever_sent(write: Callable[..., Path], tmp_path: Path) -> None:
    jobs = [str(job) for job in _three(write, tmp_path)]
    for arguments in (["check", jobs[0]], ["draw", "--help"], ["drow"]):
        assert "\x1b[3" not in typed(arguments, lambda shown: "", "no prompt", tmp_path).shown


@pytest.mark.parametrize(
    ("encoding", "shown"), [("ascii", "142 x 12, dia. 6.4, 3 deg"), ("utf-8", "142 × 12, Ø6.4, 3°")]
)
def test_few_characters_get_plain_ones(monkeypatch: pytest.MonkeyPatch, encoding: str, shown: str) -> None:
    out = io.TextIOWrapper(io.BytesIO(), encoding=encoding)
    monkeypatch.setattr(sys, "stdout", out)
    console.say("142 × 12, Ø6.4, 3°")
    out.flush()
    assert out.buffer.getvalue().decode(encoding) == f"{shown}\n"  # type: ignore[attr-defined]
