"""Programs that judge the files from outside: looked up here, so that none is ever skipped unseen."""

import os
import shutil
import subprocess
from pathlib import Path

import pytest


def tool(name: str) -> str:
    """Return the path of a program. Where it is missing the test is skipped, but fails where CI is "true"."""
    if path := shutil.which(name):
        return path
    if os.environ.get("CI") == "true":
        pytest.fail(f"{name} is not installed, and this run must not do without it")
    pytest.skip(f"{name} is not installed")


def run(name: str, *arguments: str | Path) -> str:
    """Return what a program prints on both outputs; fail the test if it reports failure."""
    command = [tool(name), *map(str, arguments)]
    done = subprocess.run(command, capture_output=True, text=True, timeout=60, check=False)
    printed = done.stdout + done.stderr
    if done.returncode:
        pytest.fail(f"{' '.join(command)} exits {done.returncode}: {printed}")
    return printed
