"""The week's packets drawn in one go: in processes of their own, told one by one, given up on asking.

Each is drawn by the same functions as `dropleaf draw` draws it, so that it is the same byte for byte.
"""

import threading
from collections.abc import Sequence
from pathlib import Path
from typing import Any, NamedTuple

from geometry.core.errors import DropleafError, InputError, Problem
from geometry.core.frozen import dataclass
from geometry.core.say import say
from sheets.actions import draw as drawing
from sheets.actions.workers import cores, in_order
from sheets.actions.writing import read_back
from sheets.desk.state import Desk
from sheets.home.jobs import load
from sheets.setup.findings import stopped
from sheets.words.lengths import telling
from sheets.words.tell import line, tell


class Task(NamedTuple):
    """A job to draw; `jobs` are the folder's own files, which nothing is drawn over."""

    name: str
    file: Path
    jobs: frozenset[str]
    replace: bool


@dataclass(frozen=True, slots=True)
class Outcome:
    """What became of a frame: drawn with its packet's name, stamped too, failed, or left; and why."""

    name: str
    state: str
    said: tuple[str, ...] = ()
    packet: str = ""


def drawn(task: Task) -> Outcome:
    """Return what became of one job: drawn, read back and put in place, or failed; nothing is raised."""
    try:
        plan = drawing.plan(load(task.file), None)
        drawing.spare(plan, task.jobs)
        worst = drawing.draw(plan, replace_kept=task.replace)
        with telling(plan.source.job.paper.units):
            status, problems, _ = stopped(task.file, plan.findings)
    except DropleafError as error:
        return _failed(task, error.problems)
    except Exception as error:
        # One frame's fault is told in its place.
        reason = f"{type(error).__name__}: {error}"
        return Outcome(task.name, "failed", (tell("desk.fault", reason=reason),))
    packet = plan.packet.path.name
    return Outcome(task.name, "stamped" if status else "drawn", (read_back(packet, worst), *problems), packet)


def _failed(task: Task, problems: Sequence[Problem]) -> Outcome:
    """Return a failure and why; the frame is named beside it, so that its file need not be."""
    return Outcome(task.name, "failed", tuple(line(each.inside(str(task.file))) for each in problems))


def _gone(task: Task) -> Outcome:
    """Return the failure of a frame whose process was taken away twice."""
    return Outcome(task.name, "failed", (tell("desk.worker_gone"),))


class Batch:
    """The one run of drawing that a desk has at a time."""

    def __init__(self, desk: Desk) -> None:
        """Have drawn nothing yet."""
        self._desk = desk
        self._lock = threading.Lock()
        self._given_up = threading.Event()
        self._thread: threading.Thread | None = None
        self._tasks: Sequence[Task] = ()
        self._done: dict[str, Outcome] = {}

    def start(self, names: Sequence[str], replace: bool) -> None:
        """Begin to draw frames; raise InputError for none, for one twice, and while others are drawn."""
        files = [self._desk.job_path(name) for name in dict.fromkeys(names)]
        if not files:
            raise InputError.at("", say("desk.batch.none"))
        with self._lock:
            if self._thread is not None and self._thread.is_alive():
                raise InputError.at("", say("desk.batch.running"))
            jobs = frozenset(drawing.same_file(each) for each in self._desk.folder.glob("*.toml"))
            self._tasks = [Task(file.stem, file, jobs, replace) for file in files]
            self._done = {}
            self._given_up.clear()
            self._thread = threading.Thread(target=self._work, args=(list(self._tasks),), daemon=True)
            self._thread.start()

    def cancel(self) -> None:
        """Give up what is not drawn yet; what is drawn stays."""
        self._given_up.set()

    def state(self) -> dict[str, Any]:
        """Return how far the last run is: each frame with what became of it, "waits" where nothing yet."""
        with self._lock:
            running = self._thread is not None and self._thread.is_alive()
            rest = "waits" if running and not self._given_up.is_set() else "left"
            frames = [self._done.get(each.name, Outcome(each.name, rest)) for each in self._tasks]
        count = sum(each.state not in ("waits", "left") for each in frames)
        bad = sum(each.state == "failed" for each in frames)
        how = "going" if running else "given_up" if any(each.state == "left" for each in frames) else "done"
        said = tell(f"desk.batch.{how}", count=count, total=len(frames), failed=bad) if frames else ""
        told = {each: tell(f"desk.batch.state.{each}") for each in {frame.state for frame in frames}}
        listed = [
            {
                "frame": each.name,
                "state": each.state,
                "told": told[each.state],
                "said": each.said,
                "packet": each.packet,
            }
            for each in frames
        ]
        return {"running": running, "done": count, "total": len(frames), "said": said, "frames": listed}

    def _work(self, asked: Sequence[Task]) -> None:
        try:
            tasks = self._without_clashes(asked)
            coming = in_order(drawn, tasks, cores(), here=False, given_up=self._given_up.is_set, broke=_gone)
            for outcome, task in zip(coming, tasks, strict=True):
                self._keep(task, outcome)
        except KeyboardInterrupt:
            # Given up: what was under way was interrupted, and delivers nothing.
            return
        except Exception as error:
            reason = tell("desk.fault", reason=f"{type(error).__name__}: {error}")
            for task in asked:
                if task.name not in self._done:
                    self._keep(task, Outcome(task.name, "failed", (reason,)))

    def _without_clashes(self, tasks: Sequence[Task]) -> list[Task]:
        """Return the tasks that may be drawn in one run; of the others it is told why."""
        targets: dict[int, drawing.Target] = {}
        for index, task in enumerate(tasks):
            try:
                targets[index] = drawing.target(load(task.file), None)
            except DropleafError as error:
                self._keep(task, _failed(task, error.problems))
        for index, problem in drawing.clashes(targets).items():
            self._keep(tasks[index], _failed(tasks[index], (problem,)))
            del targets[index]
        return [tasks[index] for index in targets]

    def _keep(self, task: Task, outcome: Outcome) -> None:
        with self._lock:
            self._done[task.name] = outcome
