"""Reading what may be hostile: in a process of its own, with so much memory and time and no more.

PDFs and fonts are read by libraries that unpack whatever a file asks for, and a few kilobytes can ask for
gigabytes, or for ever. None of those libraries can be bounded from inside, so the reading is done by a child
that the system stops; where a system sets no limits, the parent watches its memory and time. A child that is
stopped, or that breaks, is one refused file; nothing else is touched.
"""

import contextlib
import faulthandler
import pickle
import signal
import sys
import time
import warnings
from collections import deque
from collections.abc import Callable, Iterable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any, ParamSpec, TypeVar

from geometry.core.errors import DropleafError, InputError
from geometry.core.say import Say, say
from sheets.files import memory

if TYPE_CHECKING:
    from multiprocessing.connection import Connection

P = ParamSpec("P")
T = TypeVar("T")

SECONDS = 20
"""Processor time that the reading of one file may take; a packet takes about one. Own judgement."""
WAIT = 120.0
"""Seconds after which a child is stopped whatever it does, for a busy machine. Own judgement."""
MEMORY = 1_000_000_000
"""Bytes that a reading may take beyond what the program has already. Own judgement."""
ANSWER = 256_000_000
"""Bytes of the largest answer of a child. Own judgement."""

_BOUNDS = sys.platform == "linux"
"""Whether the system keeps a process to the memory that it is set. Others may not, or have no such limit."""
_LOOK = 0.05
"""Seconds between two looks at a child's memory where nothing else bounds it. Own judgement."""
_STATUS = Path("/proc/self/status")
_OUT_OF_TIME, _OUT_OF_MEMORY, _BROKE = "files.too_long", "files.too_much", "files.broke"


def apart(where: object, work: Callable[P, T], *args: P.args, **kwargs: P.kwargs) -> T:
    """Return `work(*args, **kwargs)` as a child worked it out; `where` names the file in what is refused.

    Function, arguments and result must be picklable. What the work itself raises as a DropleafError is
    raised here. Raise InputError where the child is out of time or memory, or breaks in any other way.
    """
    begun = _Begun(where, work, args, kwargs)
    try:
        return begun.answer()  # type: ignore[no-any-return]
    finally:
        # Whatever happens here, Ctrl-C included, no child goes on reading.
        begun.end()


def each_apart(
    work: Callable[[Path], T], files: Iterable[Path], at_once: int
) -> Iterator[tuple[Path, T | DropleafError]]:
    """Yield each file in order with `work(file)`, as `apart` has it, or with what was raised of it.

    So many children are at work at once, each with bounds of its own.
    """
    # Where the parent has to watch a child, it can watch but one.
    most = at_once if _BOUNDS else 1
    waiting: deque[tuple[Path, _Begun]] = deque()
    try:
        for file in files:
            if len(waiting) >= most:
                yield _first(waiting)
            waiting.append((file, _Begun(file, work, (file,), {})))
        while waiting:
            yield _first(waiting)
    finally:
        for _, begun in waiting:
            begun.end()


def _first(waiting: "deque[tuple[Path, _Begun]]") -> tuple[Path, Any]:
    """Return the first file and what its child answers; the child is then no more."""
    file, begun = waiting[0]
    try:
        answer = begun.answer()
    except DropleafError as error:
        answer = error
    begun.end()
    waiting.popleft()
    return file, answer


class _Begun:
    """A child at work."""

    def __init__(
        self, where: object, work: Callable[..., Any], args: tuple[Any, ...], kwargs: dict[str, Any]
    ) -> None:
        self._where = where
        context = processes()
        self._receiver, sender = context.Pipe(duplex=False)
        self._child = context.Process(target=_child, args=(sender, work, args, kwargs))
        with forking():
            self._child.start()
        sender.close()

    def answer(self) -> Any:
        """Return what the child worked out; raise DropleafError as `apart` does."""
        kind, value = _answer(self._receiver, self._child.pid)
        if kind == "done":
            return value
        if kind == "refused":
            raise value
        if kind == "died":
            self._child.join()
            kind, value = _cause(self._child.exitcode)
        raise InputError.at(str(self._where), _said(kind, value))

    def end(self) -> None:
        """End the child, whatever it does."""
        self._child.kill()
        self._child.join()
        self._receiver.close()


def processes() -> Any:
    """Return what children are made by: copies of this process where the system makes sound ones."""
    # Loaded here, since every command knows this module and few need a child.
    import multiprocessing

    return multiprocessing.get_context("fork" if sys.platform == "linux" else "spawn")


def _cause(status: int | None) -> tuple[str, str]:
    """Return why a child died without an answer, by its exit status, a signal as its negative."""
    name = signal.Signals(-status).name if status is not None and status < 0 else f"status {status}"
    if name == "SIGXCPU":
        return _OUT_OF_TIME, ""
    # A reader that gets no memory aborts, or is killed by a system that has none left.
    return (_OUT_OF_MEMORY, "") if name in ("SIGABRT", "SIGKILL") else (_BROKE, name)


def _said(code: str, reason: str) -> Say:
    if code == _OUT_OF_TIME:
        return say(code, seconds=SECONDS)
    if code == _OUT_OF_MEMORY:
        return say(code, size=MEMORY // 1_000_000)
    return say(code, reason=reason)


def _answer(receiver: "Connection", process: int) -> tuple[str, Any]:
    end = time.monotonic() + WAIT
    # A system that bounds a child needs no watch, and a quick answer comes before the first look.
    while not receiver.poll(WAIT if _BOUNDS else _LOOK):
        if time.monotonic() >= end:
            return _OUT_OF_TIME, ""
        if memory.taken(process) > MEMORY:
            return _OUT_OF_MEMORY, ""
    try:
        raw = receiver.recv_bytes(ANSWER)
    except EOFError:
        return "died", ""
    except OSError:
        return _OUT_OF_MEMORY, ""
    # The child is a copy of this program, and only its own values are in what it sends.
    answer: tuple[str, Any] = pickle.loads(raw)
    return answer


def _child(
    sender: "Connection", work: Callable[..., Any], args: tuple[Any, ...], kwargs: dict[str, Any]
) -> None:
    # Ctrl-C goes to both: this end says nothing of it.
    signal.signal(signal.SIGINT, signal.SIG_DFL)
    # How it ends is told by the parent, in one line.
    faulthandler.disable()
    _bound()
    try:
        answer = ("done", work(*args, **kwargs))
    except DropleafError as error:
        answer = ("refused", error)
    except MemoryError:
        answer = (_OUT_OF_MEMORY, "")
    except Exception as error:
        # A hostile file breaks its reader in more ways than can be listed.
        reason = " ".join(str(error).split())[:120]
        answer = (_BROKE, f"{type(error).__name__}: {reason}" if reason else type(error).__name__)
    try:
        raw = pickle.dumps(answer)
    except (MemoryError, RecursionError):
        raw = pickle.dumps((_OUT_OF_MEMORY, ""))
    sender.send_bytes(raw)


def _bound() -> None:
    """Set the system's limits for this process; where it has none, the parent watches it."""
    try:
        import resource
    except ImportError:
        return
    with contextlib.suppress(OSError, ValueError):
        resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
    with contextlib.suppress(OSError, ValueError):
        spent = resource.getrusage(resource.RUSAGE_SELF)
        limit = int(spent.ru_utime + spent.ru_stime) + SECONDS
        resource.setrlimit(resource.RLIMIT_CPU, (limit, limit + 2))
    with contextlib.suppress(OSError, ValueError):
        resource.setrlimit(resource.RLIMIT_DATA, (_data() + MEMORY,) * 2)


def _data() -> int:
    """Return how many bytes of private memory this process has asked for; 0 where nothing tells."""
    with contextlib.suppress(OSError, ValueError), _STATUS.open(encoding="ascii") as status:
        for entry in status:
            if entry.startswith("VmData:"):
                return int(entry.split()[1]) * 1024
    return 0


@contextlib.contextmanager
def forking() -> Iterator[None]:
    """Start a child without the warning that libraries have threads: the child calls none of theirs."""
    with warnings.catch_warnings():
        warnings.filterwarnings("ignore", message=".*fork.*", category=DeprecationWarning)
        yield
