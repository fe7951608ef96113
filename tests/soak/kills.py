"""Runs struck at every point at which they change the disk, and what the next run makes of it.

A run is a child of this process, so that it need not load anything. In it every call that opens a file for
writing, writes, flushes, renames, links or deletes is counted, and the chosen one is struck: the child is
killed before it, is interrupted, or finds the disk full. No time is guessed and no point is missed. The large
profile kills every command that writes, and interrupts it, and fills its disk:

    python -m tests.soak.kills            every point of every command
    python -m tests.soak.kills draw 3     every third point of draw
"""

import contextlib
import errno
import functools
import io
import os
import shutil
import signal
import sys
import tempfile
import time
import traceback
import warnings
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from typing import Any

import click

from geometry.core.errors import DropleafError
from sheets.cli import main
from sheets.files import sets
from tests.soak.cases import CASES, SAMPLES, Case

FILED = Path(__file__).parents[1] / "filed" / "first"
SHEETS = Path(__file__).parents[2] / "sheets"
NEVER = 10**9
_CHANGES = {
    "os.rename", "os.link", "os.symlink", "os.mkdir", "os.remove", "os.rmdir", "os.truncate", "os.chmod",
    "os.utime", "shutil.copyfile",
}  # fmt: skip
_FILLING = {"open", "os.link", "os.symlink", "os.mkdir", "write", "fsync", "shutil.copyfile"}
_WRITING = os.O_WRONLY | os.O_RDWR | os.O_CREAT

Tree = dict[str, bytes]
Strike = Callable[[str, str], None]
"""What happens at a change: it is told which kind it is, and the file that it is about, if it has a name."""


def killed(_: str, __: str) -> None:
    """Die at once."""
    os.kill(os.getpid(), signal.SIGKILL)


def interrupted(_: str, __: str) -> None:
    """Get what Ctrl-C sends."""
    os.kill(os.getpid(), signal.SIGINT)


def full(what: str, file: str) -> None:
    """Find the disk full where something would take room."""
    if what in _FILLING:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC), *([file] if file else []))


def read_only(_: str, file: str) -> None:
    """Find the disk read-only; the system's own temporary files lie elsewhere."""
    raise OSError(errno.EROFS, os.strerror(errno.EROFS), file)


def tree(folder: Path) -> Tree:
    """Return all files below a folder with their bytes."""
    return {str(file.relative_to(folder)): file.read_bytes() for file in folder.rglob("*") if file.is_file()}


def staging_in(folder: Path) -> list[str]:
    """Return what is staged below a folder."""
    return [str(each.relative_to(folder)) for each in folder.rglob(f"{sets.PREFIX}*")]


def child(
    work: Callable[[], int], at: int = NEVER, strike: Strike = killed, *, lasting: bool = False
) -> tuple[int, int, str]:
    """Run work in a child that is struck at its change number `at`; return status, changes and what it said.

    The status is minus the signal's number for a child that died of one. `lasting` strikes at all later
    changes, too.
    """
    with tempfile.TemporaryFile() as counted, tempfile.TemporaryFile() as said:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", DeprecationWarning)
            pid = os.fork()
        if pid == 0:
            status = 70
            try:
                sys.stdout = io.StringIO()
                sys.stderr = io.TextIOWrapper(said, encoding="utf-8", write_through=True)
                signal.signal(signal.SIGINT, signal.default_int_handler)
                _watch(at, counted.fileno(), strike, lasting)
                status = work()
            finally:
                os._exit(status)
        status = os.waitstatus_to_exitcode(os.waitpid(pid, 0)[1])
        said.seek(0)
        return status, os.fstat(counted.fileno()).st_size, said.read().decode()


def _watch(at: int, counted: int, strike: Strike, lasting: bool) -> None:
    """Count this process's changes of the disk in the size of a file, and strike at number `at`."""
    count, own = 0, os.getpid()

    def change(what: str, file: str = "") -> None:
        nonlocal count
        # The children of a run are not counted.
        if os.getpid() != own:
            return
        count += 1
        os.write(counted, b".")
        if count == at or (lasting and count > at):
            strike(what, file)

    def heard(event: str, arguments: tuple[Any, ...]) -> None:
        if event in _CHANGES or (event == "open" and _writes(*arguments)):
            change(event, str(arguments[0]))

    flush = os.fsync

    def flushed(handle: int) -> None:
        change("fsync")
        flush(handle)

    def in_halves(mode: str) -> Callable[..., int]:
        def write(self: Path, data: Any, *more: Any, **named: Any) -> int:
            with self.open(mode, -1, *more, **named) as file:
                file.write(data[: len(data) // 2])
                file.flush()
                change("write")
                file.write(data[len(data) // 2 :])
            return len(data)

        return write

    os.fsync = flushed
    Path.write_bytes = in_halves("wb")  # type: ignore[method-assign]
    Path.write_text = in_halves("w")  # type: ignore[method-assign]
    sys.addaudithook(heard)


def _writes(file: object = None, mode: object = None, flags: object = 0) -> bool:
    # An open handle has no name, and a library's cache is no file of the builder's.
    named = isinstance(file, str | os.PathLike) and "__pycache__" not in str(file)
    return named and isinstance(flags, int) and bool(flags & _WRITING) and str(file) != os.devnull


class Bench:
    """A folder in which a case's command is run again and again from the same beginning.

    Its folders are `out`, `home` and `job`: each holds what a set wrote last, or what was there before.
    """

    def __init__(self, case: Case, place: Path) -> None:
        """Run what comes before the command, and the command once to its end."""
        self.case, self.folder, self._begin = case, place / "bench", place / "begin"
        for name in ("out", "home", "job"):
            (self.folder / name).mkdir(parents=True)
        self._names = {
            "out": str(self.folder / "out"),
            "job": str(self.folder / "job" / "dunlin.toml"),
            "samples": str(SAMPLES),
            "filed": str(FILED),
        }
        job = Path(self._names["job"])
        text = (SAMPLES / "dunlin.toml").read_text(encoding="utf-8")
        job.write_text(text, encoding="utf-8")
        with self._at_home():
            for line in case.before:
                assert main(self._split(line)) == 0, line
            if case.change:
                assert case.change[0] in text
                job.write_text(text.replace(*case.change), encoding="utf-8")
            shutil.copytree(self.folder, self._begin)
            # Once here, so that no child has to load anything.
            kept: list[dict[str, Tree]] = []
            with _putting(lambda: kept.append(self._trees(self.folder))) as self.putters:
                assert self._command() == case.status
            if not case.typed:
                # Who is typing has each answer kept; all else is put in place once.
                kept.clear()
            main(self._split(case.next))
        self.new = self._trees(self.folder)
        self._whole = [self._trees(self._begin), *kept, self.new]
        assert self._whole[0] != self.new
        self._restore()
        _, self.points, _ = self.run(NEVER, killed)

    def run(self, at: int, strike: Strike, *, lasting: bool = False) -> tuple[int, int, str]:
        """Run the command from the beginning, struck at a change; return what `child` does."""
        self._restore()
        with self._at_home():
            return child(self._command, at, strike, lasting=lasting)

    def after(self) -> tuple[int, str]:
        """Run the next command, and one that looks at home; return the worse status and what they said."""
        with self._at_home():
            lines = map(self._split, (self.case.next, "printer list"))
            ends = [child(functools.partial(main, line)) for line in lines]
        return max(status for status, _, _ in ends), "".join(said for _, _, said in ends)

    def wrong(self) -> list[str]:
        """Return what is wrong with the folders: what is neither the old nor the new, and what is staged."""
        now = self._trees(self.folder)
        places = {name: None for each in (now, *self._whole) for name in each}
        mixed = [
            name
            for name in places
            if not any(now.get(name, {}) == each.get(name, {}) for each in self._whole)
        ]
        return [*(f"{name} is neither old nor new" for name in mixed), *staging_in(self.folder)]

    def done(self) -> bool:
        """Tell whether all that the command writes is there."""
        return self._trees(self.folder) == self.new

    def _command(self) -> int:
        if self.case.asked is not None:
            return _answered(self.case.asked, Path(self._names["job"]))
        before, sys.stdin = sys.stdin, io.StringIO(self.case.typed)
        try:
            return main(self._split(self.case.command))
        finally:
            sys.stdin = before

    def _split(self, line: str) -> list[str]:
        return [word.format(**self._names).replace("@", " at ") for word in line.split()]

    def _restore(self) -> None:
        shutil.rmtree(self.folder)
        shutil.copytree(self._begin, self.folder)

    @contextlib.contextmanager
    def _at_home(self) -> Iterator[None]:
        before = os.environ.get("DROPLEAF_HOME")
        os.environ["DROPLEAF_HOME"] = str(self.folder / "home")
        try:
            with contextlib.redirect_stdout(io.StringIO()), contextlib.redirect_stderr(io.StringIO()):
                yield
        finally:
            if before is None:
                del os.environ["DROPLEAF_HOME"]
            else:
                os.environ["DROPLEAF_HOME"] = before

    @staticmethod
    def _trees(folder: Path) -> dict[str, Tree]:
        """Return what each folder holds: sets are put into one."""
        found: dict[str, Tree] = {}
        for file, raw in tree(folder).items():
            place, _, name = file.rpartition("/")
            if sets.PREFIX not in place:
                found.setdefault(place, {})[name] = raw
        return found


def _answered(asked: Callable[[Path], object], job: Path) -> int:
    """Do what a page asks for, and tell as its command line would what it tells in the browser."""
    try:
        asked(job)
    except DropleafError as error:
        click.echo("; ".join(str(error).splitlines()), err=True)
        return 2
    except KeyboardInterrupt:
        click.echo("interrupted", err=True)
        return 130
    return 0


@contextlib.contextmanager
def _putting(look: Callable[[], None]) -> Iterator[set[Path]]:
    """Give the modules that put files in place while the block runs; `look` is called before each does."""
    found: set[Path] = set()
    stage_in = sets.stage_in

    def noted(target: Path) -> Any:
        stack = [Path(frame.filename) for frame in traceback.extract_stack()]
        ours = [
            file for file in stack if file.is_relative_to(SHEETS) and file.parent.parent != SHEETS / "files"
        ]
        found.add(ours[-1])
        look()
        return stage_in(target)

    sets.stage_in = noted
    try:
        yield found
    finally:
        sets.stage_in = stage_in


def strike_all(bench: Bench, every: int = 1) -> list[str]:
    """Kill, interrupt and fill the disk of a command at every so manieth point; return what went wrong."""
    wrong = []
    for at in range(1, bench.points + 1, every):
        status, _, _ = bench.run(at, killed)
        next_status, said = bench.after()
        if status != -signal.SIGKILL:
            wrong.append(f"{bench.case.name} {at}: was not killed, {status}")
        if next_status not in (0, 1, 2) or "Traceback" in said:
            wrong.append(f"{bench.case.name} {at}: the next command ended in {next_status}: {said}")
        wrong += [f"{bench.case.name} killed at {at}: {each}" for each in bench.wrong()]
        strikes = [(interrupted, False, 130), (full, True, 2), (read_only, True, 2)]
        for strike, lasting, allowed in strikes[: 2 + (at == 1)]:
            status, _, said = bench.run(at, strike, lasting=lasting)
            name = f"{bench.case.name} {strike.__name__} at {at}"
            wrong += [f"{name}: {each}" for each in bench.wrong()]
            done = status == bench.case.status
            # Who was typing is told, too, where it is kept.
            most = 3 if bench.case.typed else 1
            if not done and (status != allowed or not 0 < said.count("\n") <= most):
                wrong.append(f"{name}: status {status}, {said!r}")
            if done and (status, allowed) != (130, 130) and not bench.done():
                wrong.append(f"{name}: a success was told and lost")
    return wrong


def run(names: Sequence[str], every: int) -> int:
    """Strike commands at every so manieth of their points, print what came of it, and return the status."""
    bad = 0
    never = {file for file in SHEETS.rglob("*.py") if "with staging(" in file.read_text(encoding="utf-8")}
    for case in CASES:
        if names and case.name not in names:
            continue
        began = time.monotonic()
        with tempfile.TemporaryDirectory(prefix="soak-") as folder:
            bench = Bench(case, Path(folder))
            wrong = strike_all(bench, every)
        never -= bench.putters
        bad += len(wrong)
        lines = (f"{len(wrong)} wrong, {time.monotonic() - began:.0f} s", *wrong)
        sys.stdout.write(f"{case.name}: {bench.points} points, " + "\n  ".join(lines) + "\n")
        sys.stdout.flush()
    if not names:
        bad += len(never)
        sys.stdout.write("".join(f"{file} writes, and no case strikes it\n" for file in sorted(never)))
    return int(bad > 0)


if __name__ == "__main__":
    given = sys.argv[1:]
    steps = [int(each) for each in given if each.isdigit()]
    sys.exit(run([each for each in given if not each.isdigit()], steps[0] if steps else 1))
