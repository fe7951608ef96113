"""Reading in a child: it gives what the work gives, and is stopped at its limits, whatever the work does.

The limits are those of the system's own setrlimit (POSIX.1-2017); here they are lowered, so that none waits.
"""

import os
import signal
import time
from pathlib import Path

import pytest

from geometry.core.errors import InputError, NoPacketError, Problem
from geometry.core.say import Say, say
from sheets.files import apart as module
from sheets.files.apart import apart
from tests.outside_tools import limits_of_memory

FILE = "paper/plover-1.pdf"


@pytest.fixture(autouse=True)
def _limited() -> None:
    limits_of_memory()


def refused(work: object, *args: object) -> Say:
    """Return what a file is refused for; only that one file is blamed."""
    with pytest.raises(InputError) as caught:
        apart(FILE, work, *args)
    (problem,) = caught.value.problems
    assert problem.where == FILE
    assert isinstance(problem.what, Say)
    return problem.what


def _grow(_: int) -> None:
    held = [bytearray(10_000_000) for _ in range(1000)]
    raise AssertionError(len(held))


def _turn(_: int) -> None:
    while True:
        pass


def _sleep(_: int) -> None:
    time.sleep(1000.0)


def _die(number: int) -> None:
    os.kill(os.getpid(), number)


def _break(_: int) -> None:
    raise OverflowError("a number\nwith a line of its own")


def _deep(level: int) -> int:
    return _deep(level + 1) + 1


def _large(count: int) -> bytes:
    return bytes(count)


def test_what_the_work_gives_comes_back() -> None:
    assert apart(FILE, divmod, 17, 5) == (3, 2)
    assert apart(FILE, _large, 3_000_000) == bytes(3_000_000)


def test_what_the_work_refuses_is_refused_with_all_it_says() -> None:
    def work() -> None:
        raise NoPacketError(Problem("here", say("form.flattened")), Problem("there", "b"), kind="card")

    with pytest.raises(NoPacketError) as caught:
        apart(FILE, work)
    assert caught.value.problems == (Problem("here", say("form.flattened")), Problem("there", "b"))
    assert caught.value.kind == "card"


def test_memory_is_bounded(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(module, "MEMORY", 100_000_000)
    assert refused(_grow, 0) == say("files.too_much", size=100)


def test_processor_time_is_bounded(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(module, "SECONDS", 1)
    assert refused(_turn, 0).code == "files.too_long"


def test_time_is_bounded_even_where_nothing_is_done(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(module, "WAIT", 0.2)
    assert refused(_sleep, 0).code == "files.too_long"


def test_an_answer_is_bounded(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(module, "ANSWER", 1_000_000)
    assert refused(_large, 2_000_000).code == "files.too_much"


def test_a_child_that_breaks_is_one_refused_file() -> None:
    assert refused(_break, 0) == say("files.broke", reason="OverflowError: a number with a line of its own")
    assert refused(_deep, 0)["reason"].startswith("RecursionError")
    assert refused(_die, signal.SIGSEGV) == say("files.broke", reason="SIGSEGV")
    assert refused(_die, signal.SIGKILL).code == "files.too_much"


def test_no_child_is_left(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    def work() -> None:
        (tmp_path / "pid").write_text(str(os.getpid()))
        time.sleep(1000.0)

    monkeypatch.setattr(module, "WAIT", 0.5)
    assert refused(work).code == "files.too_long"
    with pytest.raises(ProcessLookupError):
        os.kill(int((tmp_path / "pid").read_text()), 0)
