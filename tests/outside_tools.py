"""Programs that judge the files from outside, and devices: looked up here, so that none is skipped unseen."""

import os
import shutil
import subprocess
import sys
from pathlib import Path
from typing import NoReturn

import pytest


def tool(name: str) -> str:
    """Return the path of a program. Where it is missing the test is skipped, but fails where CI is "true"."""
    path = shutil.which(name)
    if path is None:
        lacking(f"{name} is not installed")
    return path


def browser() -> str:
    """Return the path of Chromium, on the same terms.

    Its shell without windows lays out and runs pages as the whole browser does, for half the processor time.
    """
    return shutil.which("chromium-headless-shell") or tool("chromium")


def device(name: str) -> Path:
    """Return the path of a device, such as /dev/full, on the same terms."""
    if not Path(name).exists():
        lacking(f"there is no {name} here")
    return Path(name)


def limits_of_memory() -> None:
    """Go on only where the system can limit what a process takes, on the same terms."""
    if sys.platform != "linux":
        lacking("this system limits no process's memory")


def pipe(file: Path) -> Path:
    """Make a pipe that nobody writes to, and return its path, on the same terms."""
    if not hasattr(os, "mkfifo"):
        lacking("there are no pipes among files here")
    os.mkfifo(file)
    return file


def lacking(what: str) -> NoReturn:
    """Skip a test for what this system lacks, but fail it where CI is "true"."""
    if os.environ.get("CI") == "true":
        pytest.fail(f"{what}, and this run must not do without it")
    pytest.skip(what)


def run(name: str, *arguments: str | Path) -> str:
    """Return what a program prints on both outputs; fail the test if it reports failure."""
    command = [tool(name), *map(str, arguments)]
    done = subprocess.run(command, capture_output=True, text=True, timeout=60, check=False)
    printed = done.stdout + done.stderr
    if done.returncode:
        pytest.fail(f"{' '.join(command)} exits {done.returncode}: {printed}")
    return printed
