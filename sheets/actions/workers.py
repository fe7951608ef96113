"""Many jobs on all cores: each in a process of its own, told in the order in which they were asked for.

A worker is a copy of this program that has loaded what it needs, takes one job after the other, and holds
none that it has done. With one core, or one job, the work is done here, unless somebody waits here for else.
"""

import contextlib
import gc
import os
import signal
import threading
import time
from collections import deque
from collections.abc import Callable, Iterator, Sequence
from typing import TYPE_CHECKING, Any, TypeVar

from geometry.core.errors import InputError
from geometry.core.say import say
from sheets.files.apart import forking, processes

if TYPE_CHECKING:
    from concurrent.futures import Future

Task = TypeVar("Task")
Answer = TypeVar("Answer")

_AHEAD = 2
"""Jobs a worker that are handed out before their turn to be told, so that none waits for a slow neighbour."""

_ORPHAN = 1.0
"""Seconds between two looks of a worker at whether its run still lives."""
_LOOK = 0.2
"""Seconds between two looks at whether work is given up."""


def cores() -> int:
    """Return how many processors this program may use."""
    with contextlib.suppress(AttributeError):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


def in_order(
    work: Callable[[Task], Answer],
    tasks: Sequence[Task],
    most: int,
    *,
    here: bool = True,
    given_up: Callable[[], bool] = lambda: False,
    broke: Callable[[Task], Answer] | None = None,
) -> Iterator[Answer]:
    """Yield work(task) for each task in order, worked out by `most` processes at once.

    Work, tasks and answers must be picklable. What is left where the system takes a process away, for want of
    memory as a rule, is done here, one after the other. An interrupt goes to every worker, which gives up
    what it has begun. Without `here` a single job has a process of its own, too; then KeyboardInterrupt is
    raised soon after `given_up` says so, and nothing is ever done here: a task whose process is taken away is
    tried once more in one of its own, and where that is taken away too, `broke` says what it comes to; raise
    InputError where nothing does.
    """
    if not tasks or (here and min(most, len(tasks)) < 2):
        for number, task in enumerate(tasks):
            if number:
                # What the job before left; after the last one the program ends, which is quicker.
                gc.collect()
            yield work(task)
        return
    # Loaded here, since a single job needs neither.
    from concurrent.futures import ProcessPoolExecutor, wait
    from concurrent.futures.process import BrokenProcessPool

    count = max(1, min(most, len(tasks)))
    context = processes()
    # Others may have children of their own, which are not to be interrupted.
    workers = context.SimpleQueue()
    pool = ProcessPoolExecutor(count, context, _begin, (workers, os.getpid()))
    waiting: deque[tuple[Task, Future[Answer] | None]] = deque()

    def hand_out(task: Task) -> None:
        try:
            with forking():
                waiting.append((task, pool.submit(_done, work, task)))
        except BrokenProcessPool:
            waiting.append((task, None))

    def answer() -> Answer:
        task, coming = waiting.popleft()
        while coming is not None and not here and not wait((coming,), _LOOK).done:
            if given_up():
                raise KeyboardInterrupt
        try:
            if coming is not None:
                return coming.result()
        except BrokenProcessPool:
            pass
        if here:
            return work(task)
        if len(tasks) > 1:
            return next(in_order(work, [task], 1, here=False, given_up=given_up, broke=broke))
        if broke is None:
            raise InputError.at("", say("desk.worker_gone"))
        return broke(task)

    try:
        for task in tasks:
            if len(waiting) >= count * (1 + _AHEAD):
                yield answer()
            hand_out(task)
        while waiting:
            yield answer()
    except BaseException:
        while not workers.empty():
            # A terminal tells them all; whoever else interrupts tells this process alone.
            with contextlib.suppress(OSError, AttributeError):
                os.kill(workers.get(), signal.SIGINT)
        raise
    finally:
        pool.shutdown(cancel_futures=True)


_stopped: list[int] = []
_at_work: list[int] = []


def _begin(workers: Any, parent: int) -> None:
    """Have a worker say who it is, give up at an interrupt, take no further job, and end with its parent."""
    workers.put(os.getpid())
    # The collector is off where a run is over in a second; a worker draws a year's frames.
    gc.enable()
    signal.signal(signal.SIGINT, _stop)
    threading.Thread(target=_end_with, args=(parent,), daemon=True).start()


def _end_with(parent: int) -> None:
    """End once another is this process's parent: a run that is killed cannot end its workers itself."""
    while os.getppid() == parent:
        time.sleep(_ORPHAN)
    os._exit(1)


def _stop(number: int, _: object) -> None:
    first = not _stopped
    _stopped.append(number)
    # One that waits holds the others' queue in its hands, and would tear it.
    if first and _at_work:
        raise KeyboardInterrupt


def _done(work: Callable[[Task], Answer], task: Task) -> Answer:
    _at_work.append(1)
    try:
        if _stopped:
            raise KeyboardInterrupt
        return work(task)
    finally:
        _at_work.clear()
