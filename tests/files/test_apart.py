"""Reading in a child: it gives what the work gives, and is stopped at its limits, whatever the work does.

The limits are those of the system's own setrlimit (POSIX.1-2017); here they are lowered, so that none waits.
"""

import ctypes
import os
import signal
import time
from pathlib import Path
from typing import Any

import pytest

from geometry.core.errors import InputError, NoPacketError, Problem
from geometry.core.say import Say, say
from sheets.files import apart as module
from sheets.files import memory
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


def _fill(_: int) -> None:
    held = []
    while len(held) < 200:
        held.append(b"x" * 10_000_000)
        time.sleep(0.005)
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


def test_memory_is_watched_where_the_system_bounds_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(module, "_bound", lambda: None)
    monkeypatch.setattr(module, "_BOUNDS", False)
    monkeypatch.setattr(module, "MEMORY", memory.taken(os.getpid()) + 200_000_000)
    assert refused(_fill, 0).code == "files.too_much"
    assert apart(FILE, divmod, 17, 5) == (3, 2)
    monkeypatch.setattr(module, "WAIT", 0.2)
    assert refused(_sleep, 0).code == "files.too_long"


def test_what_a_process_has_is_told_by_whatever_tells_it_here(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """Held against the peak that getrusage tells, in kB on Linux (getrusage(2))."""
    import resource

    # The peak is asked for last: what is taken may grow between the two.
    taken = memory.taken(os.getpid())
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * 1024
    assert peak / 4 < taken <= peak * 1.01
    assert memory.taken(2**30) == 0
    monkeypatch.setattr(memory, "PROC", tmp_path / "none")
    monkeypatch.setenv("PATH", str(tmp_path))
    assert memory.taken(os.getpid()) == 0
    teller = tmp_path / "ps"
    teller.write_text(f'#!/bin/sh\n[ "$*" = "-o rss= -p {os.getpid()}" ] && echo " 1234"\n', encoding="utf-8")
    teller.chmod(0o755)
    assert memory.taken(os.getpid()) == 1234 * 1024


class _Kernel:
    """What Windows would say of a process that took 5 MB, and has 3 of them in memory."""

    def __init__(self) -> None:
        self.OpenProcess = lambda right, inherit, process: (
            77 if (right, inherit, process) == (0x1000, False, 9) else 0
        )
        self.closed: list[int] = []

    def K32GetProcessMemoryInfo(self, handle: Any, place: Any, size: int) -> int:  # noqa: N802
        counters = place._obj
        assert size == 8 + 8 * ctypes.sizeof(ctypes.c_size_t)
        counters.resident, counters.committed = 3_000_000, 5_000_000
        return int(handle.value == 77)

    def CloseHandle(self, handle: Any) -> None:  # noqa: N802
        self.closed.append(handle.value)


def test_windows_is_asked_and_given_back_its_handle() -> None:
    kernel = _Kernel()
    assert memory._on_windows(9, kernel) == 5_000_000
    assert kernel.closed == [77]


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


def _named_late(file: Path) -> str:
    """Return a file's name once the one after it has been begun, if it is the first of two."""
    file.with_suffix(".begun").touch()
    end = time.monotonic() + 60.0
    while file.stem == "first" and not file.with_name("second.begun").exists():
        if time.monotonic() > end:
            raise NoPacketError(Problem(str(file), say("verify.no_pdf")))
        time.sleep(0.01)
    if file.stem == "broken":
        raise NoPacketError(Problem(str(file), say("verify.no_pdf")))
    return file.name


def test_two_at_once_are_told_in_order_and_a_broken_one_is_one_of_them(tmp_path: Path) -> None:
    """The first waits for the second to begin, which one after the other never would."""
    files = [tmp_path / f"{name}.pdf" for name in ("first", "second", "broken", "last")]
    found = list(module.each_apart(_named_late, files, 2))
    assert [file for file, _ in found] == files
    names = [each if isinstance(each, str) else type(each).__name__ for _, each in found]
    assert names == ["first.pdf", "second.pdf", "NoPacketError", "last.pdf"]
    assert list(module.each_apart(_named_late, [], 2)) == []


def _never(file: Path) -> None:
    file.write_text(str(os.getpid()), encoding="ascii")
    time.sleep(1000.0)


def test_who_stops_asking_leaves_no_child_at_work(tmp_path: Path) -> None:
    files = [tmp_path / str(number) for number in range(2)]

    def interrupted() -> Any:
        yield from files
        while not all(file.exists() and file.read_text(encoding="ascii") for file in files):
            time.sleep(0.01)
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        list(module.each_apart(_never, interrupted(), 3))
    for file in files:
        with pytest.raises(ProcessLookupError):
            os.kill(int(file.read_text(encoding="ascii")), 0)
