"""What each test of a file calls of geometry/, and how long it takes: a plugin for pytest.

`SEEN=slot.json python -m pytest -p tests.soak.seen tests/geometry/test_slot.py` writes one JSON object,
by the tests' ids. What is called before a test begins, in fixtures or in loading, counts for all.
"""

import json
import os
import sys
import time
from collections.abc import Iterator
from pathlib import Path
from types import FrameType
from typing import Any

import pytest

_OURS, _TESTS = f"{os.sep}geometry{os.sep}", f"{os.sep}tests{os.sep}"
_shared: set[str] = set()
_called = _shared
_tests: dict[str, tuple[float, set[str]]] = {}


def place(file: str | Path, line: int) -> str:
    """Return how a function is named here: by its file, and the line where it or its decorator begins."""
    return f"{file}:{line}"


def _call(frame: FrameType, event: str, argument: object) -> None:
    code = frame.f_code
    if _OURS in code.co_filename and _TESTS not in code.co_filename:
        _called.add(place(code.co_filename, code.co_firstlineno))


def _forget() -> None:
    """Have whatever is kept between calls worked out again, so that each test is seen to ask for it.

    What a sheet or a test keeps hides what it was made of: only the first to ask would be seen.
    """
    for name, module in list(sys.modules.items()):
        if name.startswith(("geometry.", "sheets.", "tests.")):
            for each in list(vars(module).values()):
                if hasattr(each, "cache_clear"):
                    each.cache_clear()


@pytest.hookimpl(wrapper=True)
def pytest_runtest_call(item: pytest.Item) -> Iterator[None]:
    """Note what one test calls."""
    global _called
    _forget()
    _called, began = set(), time.process_time()
    sys.settrace(_call)
    try:
        return (yield)
    finally:
        _tests[item.nodeid] = (time.process_time() - began, _called)
        _called = _shared


def pytest_sessionfinish(session: pytest.Session, exitstatus: int) -> None:
    """Write what was seen; nothing where a test failed, which would notice every mutant."""
    sys.settrace(None)
    if exitstatus == 0:
        found: dict[str, Any] = {
            name: [took, sorted(each | _shared)] for name, (took, each) in _tests.items()
        }
        Path(os.environ["SEEN"]).write_text(json.dumps(found), encoding="utf-8")


sys.settrace(_call)
