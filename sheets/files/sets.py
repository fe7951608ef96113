"""Sets of files on their way into a folder: their staging folders, their journals, and what dead runs left.

A set is written into `.dropleaf-XXXX/new` beside its target. Once all of it is on the disk a journal,
`go.json`, names its files; from then on the set counts as delivered, and whoever finds it finishes it. A run
that cannot finish renames the journal to `back.json`, and whoever finds that puts back what was there. A
staging folder without a journal holds nothing that counts.

Whether the run that made a staging folder still lives is told by a lock on a file in it, which the system
lets go of however a process ends: a process number may be another's by now, and clocks are set. A disk
without locks keeps what dead runs left.
"""

import contextlib
import hashlib
import importlib
import json
import os
import secrets
import shutil
import tempfile
import time
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any, NamedTuple

from geometry.core.errors import DeliveryError
from geometry.core.say import say
from sheets.files.names import windows

PREFIX = ".dropleaf-"
PATIENCE = 20.0
"""Seconds for which a run waits for another that puts its files in place, which takes a hundredth of that."""
_PAUSE = 0.01
_LONGEST = 1_000_000
"""Characters of a journal that are read; one of ours has a hundred a file."""
_LOCK, _PART, _GO, _BACK = "lock", "journal.part", "go.json", "back.json"
_clean: dict[str, int] = {}
"""Folders in which nothing was staged, and when they were last changed, ns."""
_settled: set[str] = set()
"""Folders that are let be for a while."""

Look = tuple[int, int]
"""What tells one state of a file from another: its size and when it was changed, ns."""


class Entry(NamedTuple):
    """One file of a set: its name, how the new one looks, and the one that was there, if any."""

    name: str
    new: Look
    was: Look | None


def staged(name: str) -> bool:
    """Tell whether a folder of this name is a staging folder."""
    return name.startswith(PREFIX)


@contextlib.contextmanager
def stage_in(target: Path) -> Iterator[Path]:
    """Give a new staging folder with `new` and `kept` in it, held as long as the block runs, then settled.

    It has the rights that the target gives. The standard library's temporary folders are private: on Windows
    a file that is moved out of one stays so, and nobody else in the shop could open it.
    """
    stage, handle = _held_stage(target)
    try:
        (stage / "new").mkdir()
        (stage / "kept").mkdir()
        yield stage
    finally:
        _let_go(stage, handle)


def _held_stage(target: Path) -> tuple[Path, int]:
    while True:
        stage = target / f"{PREFIX}{secrets.token_hex(8)}"
        stage.mkdir()
        try:
            handle = _open(stage / _LOCK)
        except FileNotFoundError:
            # Until it is held another run may take it for a dead one's, and take it away.
            continue
        except BaseException:
            _take_away(stage)
            raise
        try:
            if _grip(handle) and os.path.samestat(os.fstat(handle), (stage / _LOCK).stat()):
                return stage, handle
        except FileNotFoundError:
            pass
        except OSError:
            # A disk without locks, on which no other run can take it for a dead one's.
            return stage, handle
        os.close(handle)


@contextlib.contextmanager
def alone_in(folder: Path, patience: float = PATIENCE) -> Iterator[None]:
    """Keep every other run from putting files in place in a folder until the block ends.

    Raise DeliveryError where another is not done in `patience` seconds. Where nothing can be held, as on some
    disks of other machines, the block runs all the same. What is held is the folder itself; Windows cannot
    hold one, and has an empty file among its temporary ones instead.
    """
    until = time.monotonic() + patience
    with contextlib.ExitStack() as held:
        try:
            handle = _open(_stand_in(folder)) if windows() else os.open(folder, os.O_RDONLY)
            held.callback(os.close, handle)
            while not _grip(handle):
                if time.monotonic() > until:
                    raise DeliveryError.at(str(folder), say("deliver.busy", seconds=patience))
                time.sleep(_PAUSE)
        except OSError:
            pass
        yield


def _stand_in(folder: Path) -> Path:
    name = hashlib.sha256(os.fsencode(os.path.normcase(os.path.realpath(folder)))).hexdigest()[:16]
    return Path(tempfile.gettempdir(), f"dropleaf-{name}.lock")


def _open(file: Path) -> int:
    return os.open(file, os.O_RDWR | os.O_CREAT, 0o666)


def _grip(handle: int) -> bool:
    """Lock an open file and return True, or False where another run has it; OSError where none can."""
    try:
        import fcntl
    except ImportError:
        # Windows; its module cannot be looked at elsewhere.
        system: Any = importlib.import_module("msvcrt")
        try:
            system.locking(handle, system.LK_NBLCK, 1)
        except PermissionError:
            return False
        return True
    try:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError:
        return False
    return True


def look(file: Path) -> Look | None:
    """Return how a file looks, None where there is none."""
    try:
        found = file.lstat()
    except FileNotFoundError:
        return None
    return found.st_size, found.st_mtime_ns


def commit(stage: Path, entries: Sequence[Entry]) -> None:
    """Write a set's journal: it is to be finished from now on, by whoever finds it."""
    part = stage / _PART
    with part.open("w", encoding="utf-8") as file:
        json.dump(entries, file)
        file.flush()
        os.fsync(file.fileno())
    part.replace(stage / _GO)
    flush_folder(stage)


def turn_back(stage: Path) -> None:
    """Have a set undone from now on, by whoever finds it."""
    (stage / _GO).replace(stage / _BACK)
    flush_folder(stage)


def settle(stage: Path) -> list[str]:
    """Finish or undo a set by its journal, and take the staging folder away; return the names that refuse.

    Where any does, the staging folder stays with its journal, and the next run tries again. A file that
    somebody else has put or changed in the meantime is left as it is.
    """
    journal = next((file for file in (stage / _BACK, stage / _GO) if file.is_file()), None)
    stuck = []
    if journal is not None:
        for entry in _entries(stage, journal):
            try:
                (_finish if journal.name == _GO else _undo)(stage, entry)
            except OSError:
                stuck.append(entry.name)
        flush_folder(stage.parent)
        if stuck:
            return stuck
        # Before all else: without a journal nothing in the folder counts any more.
        journal.unlink()
    _take_away(stage)
    return []


def _take_away(stage: Path) -> None:
    """Delete a staging folder that holds nothing that counts, what says that it is one of ours last."""
    for name in ("new", "kept"):
        shutil.rmtree(stage / name, ignore_errors=True)
    with contextlib.suppress(OSError):
        for name in (_PART, _LOCK):
            (stage / name).unlink(missing_ok=True)
        stage.rmdir()


def _entries(stage: Path, journal: Path) -> list[Entry]:
    """Return what a journal names; raise ValueError for one that is not ours: the folder may be anybody's."""
    with journal.open(encoding="utf-8") as file:
        read = json.loads(file.read(_LONGEST))
    entries = [Entry(name, tuple(new), None if was is None else tuple(was)) for name, new, was in read]
    if any(entry.name in ("", "..") or Path(entry.name).name != entry.name for entry in entries):
        raise ValueError(f"{journal} names what is no file of its folder")
    if any((stage / each).is_symlink() for each in ("new", "kept")):
        raise ValueError(f"{stage} leads elsewhere")
    return entries


def _finish(stage: Path, entry: Entry) -> None:
    new, place = stage / "new" / entry.name, stage.parent / entry.name
    now = look(place)
    # A name may be claimed by an empty file where the disk has no links.
    if now in (None, entry.was) or (entry.was is None and now is not None and now[0] == 0):
        with contextlib.suppress(FileNotFoundError):
            new.replace(place)


def _undo(stage: Path, entry: Entry) -> None:
    place, kept = stage.parent / entry.name, stage / "kept" / entry.name
    if look(place) != entry.new:
        return
    if entry.was is None:
        place.unlink()
    elif os.path.lexists(kept):
        replace(kept, place)


def recover(folder: Path) -> None:
    """Finish or undo what runs that are gone left in a folder, and take their staging folders away.

    What living runs are about to put there is let be. Where the system refuses, it all stays as it is.
    """
    if str(folder) in _settled:
        return
    with contextlib.suppress(OSError):
        changed = folder.stat().st_mtime_ns
        if _clean.get(str(folder)) == changed:
            return
        if not _staging_in(folder):
            _clean[str(folder)] = changed
            return
        with contextlib.suppress(DeliveryError), alone_in(folder, 0.0):
            recover_alone(folder)


@contextlib.contextmanager
def recovered(folder: Path) -> Iterator[None]:
    """Recover a folder once for many files that are read there, and let it be for as long as that lasts.

    Each look goes through all that lies in a folder where a run is alive.
    """
    recover(folder)
    _settled.add(str(folder))
    try:
        yield
    finally:
        _settled.discard(str(folder))


def recover_alone(folder: Path) -> None:
    """Do as `recover`; the caller is alone in the folder."""
    for stage in _staging_in(folder):
        with contextlib.suppress(OSError, ValueError, TypeError, RecursionError):
            _recover(stage)


def _staging_in(folder: Path) -> list[Path]:
    with os.scandir(folder) as found:
        return sorted(
            Path(each) for each in found if staged(each.name) and each.is_dir(follow_symlinks=False)
        )


def _recover(stage: Path) -> None:
    # Looked at before the lock, which a living run makes first.
    filled, lock = (stage / "new").is_dir(), stage / _LOCK
    if not lock.exists():
        # Of before there were locks, and with it goes all but the only copy of what was there; or begun only,
        # by a run that died then, or one that lives and will make another.
        if filled and not any((stage / "kept").iterdir()):
            _take_away(stage)
        else:
            stage.rmdir()
        return
    handle = os.open(lock, os.O_RDWR)
    try:
        alive = not _grip(handle)
    except BaseException:
        os.close(handle)
        raise
    if alive:
        os.close(handle)
    else:
        _let_go(stage, handle)


def _let_go(stage: Path, handle: int) -> None:
    """Settle what a staging folder holds, and hold it no longer; its lock is `handle`."""
    if windows():
        # It deletes no file that is open.
        os.close(handle)
    try:
        with contextlib.suppress(OSError):
            try:
                settle(stage)
            except KeyboardInterrupt:
                # It takes a moment, and then the run ends as it was told to.
                settle(stage)
                raise
    finally:
        if not windows():
            os.close(handle)


WAITS = (0.05, 0.1, 0.2, 0.4)
"""Seconds to wait for a file that is held for a moment, one after the other; own judgement."""


def replace(source: Path, target: Path) -> None:
    """Move a file over another; on Windows wait a little for one that is held for a moment."""
    for wait in WAITS if windows() else ():
        try:
            source.replace(target)
        except PermissionError:
            time.sleep(wait)
        else:
            return
    source.replace(target)


def flush_folder(folder: Path) -> None:
    """Have the names in a folder written to the disk, where the system can."""
    if windows():
        return
    with contextlib.suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
