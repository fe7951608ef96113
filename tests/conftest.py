"""Settings that all tests share: how many examples a law is tried on, and a home that is not the user's.

A plain run, and that of CI, tries each law on the same examples wherever it is run, so that a first run is
everybody's. `pytest --hypothesis-profile=long` tries more, chosen anew each time; its seed ends its report.
"""

import atexit
import gc
import os
import secrets
import shutil
import sys
import tempfile
from collections.abc import Generator, Iterator
from typing import Any

import pytest
from hypothesis import settings

from tests import kept_once

# Commands that keep things between runs would otherwise read, and change, what their user keeps.
os.environ["DROPLEAF_HOME"] = tempfile.mkdtemp(prefix="dropleaf-home-")
atexit.register(shutil.rmtree, os.environ["DROPLEAF_HOME"], ignore_errors=True)

# Commands that tests start find their modules compiled, as a user's do, also where the environment forbids
# that: compiling them anew takes longer than all else that they do.
os.environ.pop("PYTHONDONTWRITEBYTECODE", None)

settings.register_profile("dev", max_examples=25, deadline=None, derandomize=True)
settings.register_profile("ci", max_examples=40, deadline=None, derandomize=True)
settings.register_profile("long", max_examples=400, deadline=None, derandomize=False, print_blob=True)
settings.load_profile("ci" if os.environ.get("CI") else "dev")


class Patching(pytest.MonkeyPatch):
    """A monkeypatch that forgets what the program keeps of equal jobs wherever it changes the program.

    What is kept rests on no variable and no folder: files are read before anything is looked up.
    """

    def setattr(self, *arguments: Any, **options: Any) -> None:
        """Change an attribute."""
        forget()
        super().setattr(*arguments, **options)

    def setitem(self, *arguments: Any, **options: Any) -> None:
        """Change an item."""
        forget()
        super().setitem(*arguments, **options)

    def undo(self) -> None:
        """Take back every change; nothing that was made under one may stay."""
        if self._setattr or self._setitem:
            forget()
        super().undo()


@pytest.fixture
def monkeypatch() -> Iterator[pytest.MonkeyPatch]:
    """Return what patches for one test."""
    patching = Patching()
    yield patching
    patching.undo()


_TOLD = (
    ("sheets.actions.pages", "made"),
    ("sheets.pages.running.traveller", "traveller"),
    ("sheets.pages.wraps.parts", "_unshown"),
    ("sheets.setup.setup", "_worked_out"),
    ("sheets.setup.setup", "_on_paper"),
    ("sheets.setup.setup", "_stacked"),
    ("sheets.setup.cited", "cited"),
)
"""What is kept in the words of a language."""
_KEPT = (
    *_TOLD,
    ("sheets.setup.brake_screen", "_screened"),
    ("sheets.setup.clearances", "_clear"),
    ("sheets.setup.outline", "_shape"),
    ("sheets.setup.clearances", "_nearer_of"),
    ("sheets.setup.clearances", "_tilts_of"),
)


def forget(*, told: bool = False) -> None:
    """Forget every sheet and set-up that was worked out before, or only those in words, if any there are."""
    for module, name in _TOLD if told else _KEPT:
        if module in sys.modules:
            getattr(sys.modules[module], name).cache_clear()
    kept_once.forget()


@pytest.hookimpl(tryfirst=True)
def pytest_configure(config: pytest.Config) -> None:
    """Choose the seed of a long run where none is given, before it is handed on to every worker."""
    if config.getoption("--hypothesis-profile") == "long" and config.getoption("--hypothesis-seed") is None:
        config.option.hypothesis_seed = str(secrets.randbits(32))


@pytest.hookimpl(wrapper=True, optionalhook=True)
def pytest_xdist_auto_num_workers() -> Generator[None, int, int]:
    """Start half as many workers again as there are cores: one that waits for a page leaves its core idle."""
    cores = yield
    if "PYTEST_XDIST_AUTO_NUM_WORKERS" in os.environ:
        return cores
    return cores + (cores + 1) // 2


def pytest_collection_finish() -> None:
    """Make equal things once, and have the collector leave alone what the run itself holds."""
    kept_once.install(_KEPT)
    _let_be()


@pytest.hookimpl(trylast=True)
def pytest_runtest_teardown(item: pytest.Item, nextitem: pytest.Item | None) -> None:
    """Leave alone what a file's tests have kept for the next one's, too."""
    if nextitem is None or nextitem.path != item.path:
        _let_be()


def _let_be() -> None:
    """Collect what is garbage now, and never again look through what is not.

    Each command collects what it leaves, and would go through every test and library for that. With those out
    of its sight the collector would think little of going through all that is left, so it is told to wait.
    """
    gc.collect()
    gc.freeze()
    gc.set_threshold(50_000, 50, 50)


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter, config: pytest.Config) -> None:
    """Print what repeats a run with examples of its own choice."""
    if config.getoption("--hypothesis-profile") == "long":
        seed = config.getoption("--hypothesis-seed")
        terminalreporter.write_line(f"to repeat: --hypothesis-profile=long --hypothesis-seed={seed}")
