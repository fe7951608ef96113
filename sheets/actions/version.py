"""Which Dropleaf this is, down to the build: 0.1.0+g2244b39a, and .changed where files were changed since.

A checkout asks git, when it is run as when a wheel is built of it (pyproject.toml calls `version`); an
installed program reads what was written then, and needs no git.
"""

import functools
import subprocess
from pathlib import Path

NUMBER = "0.1.0"
"""What a release is called; everything else of a version names its build."""
_TOP = Path(__file__).parents[2]
_SLOW = 10.0
"""Seconds after which git is not waited for."""
_BUILD = ("describe", "--always", "--exclude=*", "--abbrev=8", "--dirty=.changed")


@functools.cache
def version() -> str:
    """Return this Dropleaf's version, with "+source" where nothing tells which build it is."""
    if (_TOP / ".git").exists():
        return f"{NUMBER}+{_commit()}"
    unpacked = _TOP / "PKG-INFO"
    if unpacked.exists():
        lines = unpacked.read_text(encoding="utf-8").splitlines()
        return next(line for line in lines if line.startswith("Version: ")).removeprefix("Version: ")
    # Loading what reads it takes longer than the rest of --version.
    from importlib import metadata

    try:
        return metadata.version("dropleaf")
    except metadata.PackageNotFoundError:
        return f"{NUMBER}+source"


def _commit() -> str:
    try:
        done = subprocess.run(
            ["git", *_BUILD], cwd=_TOP, capture_output=True, text=True, timeout=_SLOW, check=True
        )
    except (OSError, subprocess.SubprocessError):
        return "source"
    return f"g{done.stdout.strip()}"
