"""A child that judges jobs, so that the page stays live: the newest question of a page ends its older one.

A child that works at what nobody asks for any more is stopped, and the next question starts another. Those
of other pages wait for their turn, also where they show the same frame: two that ended each other's questions
would both go without an answer.
"""

import asyncio
import contextlib
import os
import signal
import threading
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, TypeVar

from geometry.core.errors import DropleafError, InputError
from geometry.core.say import say
from sheets.files.apart import forking, processes

if TYPE_CHECKING:
    from multiprocessing.connection import Connection

Answer = TypeVar("Answer")

SECONDS = 60.0
"""After which a child is stopped whatever it does: findings take one, cures some. Own judgement."""
_LOOK = 0.2
"""Seconds between two looks at whether a child still lives. Own judgement."""


@dataclass(slots=True)
class Judge:
    """One child, whom several pages ask; `newest` numbers the questions of each page that waits for one."""

    newest: dict[str, int] = field(default_factory=dict)
    waiting: dict[str, int] = field(default_factory=dict)
    asked_by: str = ""
    child: Any = None
    pipe: "Connection | None" = None
    turn: asyncio.Lock = field(default_factory=asyncio.Lock)
    # The child is started in a thread and stopped from the loop: not while it is half started.
    starting: threading.Lock = field(default_factory=threading.Lock)

    async def ask(self, page: str, work: Callable[..., Answer], *given: Any) -> Answer | None:
        """Return `work(*given)` as the child worked it out, None where the same page asked anew meanwhile.

        All must be picklable. What the work raises as a DropleafError is raised here; raise InputError where
        the child breaks in any other way.
        """
        number = self.newest[page] = self.newest.get(page, 0) + 1
        self.waiting[page] = self.waiting.get(page, 0) + 1
        if self.asked_by == page:
            self.stop()
        try:
            answer = await self._in_turn(page, number, work, given)
        finally:
            self.waiting[page] -= 1
            if not self.waiting[page]:
                del self.waiting[page], self.newest[page]
        return answer

    async def _in_turn(
        self, page: str, number: int, work: Callable[..., Answer], given: tuple[Any, ...]
    ) -> Answer | None:
        async with self.turn:
            if self.newest[page] != number:
                return None
            self.asked_by = page
            coming = asyncio.get_running_loop().run_in_executor(
                None, self._answer, work, given, lambda: self.newest.get(page) == number
            )
            try:
                await asyncio.wait({coming}, timeout=SECONDS)
            finally:
                # Out of time, or whoever asked is gone, as when the desk ends.
                if not coming.done():
                    self.stop()
                self.asked_by = ""
            kind, value = await coming
        if self.newest[page] != number:
            return None
        if kind == "refused":
            raise value
        if kind == "broke":
            raise InputError.at("", say("desk_frame.not_judged"))
        answer: Answer = value
        return answer

    def stop(self) -> None:
        """Stop the child, whatever it does."""
        with self.starting:
            child, self.child = self.child, None
        if child is not None:
            child.kill()
            child.join()

    def _answer(
        self, work: Callable[..., Any], given: tuple[Any, ...], wanted: Callable[[], bool]
    ) -> tuple[str, Any]:
        with self.starting:
            # A newer question that came before the child had nobody to stop.
            if not wanted():
                return "broke", None
            if self.child is None:
                self._start()
            child, pipe = self.child, self.pipe
        assert pipe is not None
        try:
            pipe.send((work, given))
            # A copy of this process that began meanwhile may hold the other end open: then no end of file
            # tells that the child is gone.
            while not pipe.poll(_LOOK):
                if not child.is_alive() and not pipe.poll(0.0):
                    raise EOFError
            answer: tuple[str, Any] = pipe.recv()
        except (EOFError, OSError):
            if self.child is child:
                self.stop()
            return "broke", None
        return answer

    def _start(self) -> None:
        if self.pipe is not None:
            self.pipe.close()
        context = processes()
        self.pipe, theirs = context.Pipe()
        child = context.Process(target=_judging, args=(theirs, self.pipe), daemon=True)
        with forking():
            child.start()
        self.child = child
        theirs.close()


def _judging(pipe: "Connection", other: "Connection") -> None:
    """Answer one question after the other, until whoever asks is gone."""
    # Ctrl-C goes to both: the desk ends, and its end of the pipe with it.
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    signal.signal(signal.SIGTERM, signal.SIG_DFL)
    with contextlib.suppress(OSError):
        other.close()
    if processes().get_start_method() == "fork":
        # A copy holds the desk's sockets too, which must close when the desk closes them.
        os.closerange(3, pipe.fileno())
        os.closerange(pipe.fileno() + 1, 4096)
    while True:
        try:
            work, given = pipe.recv()
        except (EOFError, OSError):
            return
        try:
            answer = ("done", work(*given))
        except DropleafError as error:
            answer = ("refused", error)
        except Exception:
            # A fault in one frame is that frame's alone.
            answer = ("broke", None)
        try:
            pipe.send(answer)
        except (OSError, EOFError):
            return
