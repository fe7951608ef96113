"""Files put where they should go: all of a set, or none.

A set is written into a staging folder inside its target, so that putting it in place is a matter of names
and not of copying. Until the last file is in place each one that it replaces is kept under a second name.

It is written for Windows too, where only a handle that may write can be flushed, no folder can, a file that
another program holds open can neither be replaced nor its second name be deleted, and what looks through
new files, as a virus scanner does, holds each for a moment. tests/files/test_deliver_windows.py plays that.
"""

import contextlib
import errno
import os
import pathlib
import secrets
import shutil
import time
from collections.abc import Iterator

from geometry.core.errors import DeliveryError, Problem
from geometry.core.say import Say, say
from sheets.files.names import windows

STAGING_PREFIX = ".dropleaf-"

_ADVICE = {
    errno.ENOSPC: "deliver.full",
    errno.EDQUOT: "deliver.quota",
    errno.EFBIG: "deliver.too_large",
    errno.EACCES: "deliver.no_permission",
    errno.EPERM: "deliver.no_permission",
    errno.EROFS: "deliver.read_only",
    errno.ENAMETOOLONG: "deliver.long_name",
    errno.ENOTDIR: "deliver.a_file",
    errno.EEXIST: "deliver.a_file",
    errno.EISDIR: "deliver.a_folder",
}
_OTHER = say("deliver.other_folder")
_WAITS = (0.05, 0.1, 0.2, 0.4)
"""Seconds to wait for a file that is held for a moment, one after the other; own judgement."""
# A write that fails names no file.
_WRITING = {errno.ENOSPC, errno.EDQUOT, errno.EFBIG, errno.EROFS, errno.EIO}


class _StuckError(DeliveryError):
    """A file that was there could not be put back; it lies in the staging folder, which stays."""


@contextlib.contextmanager
def staging(target: pathlib.Path, other: Say = _OTHER, *, fresh: bool = False) -> Iterator[pathlib.Path]:
    """Give a folder to write files into; when the block ends without an error, put them all into `target`.

    `other` says how to have another folder where this one will not do. `fresh` files take the place of none:
    where one came to be there meanwhile, it stays.

    `target` is created if need be. Each file that was there is replaced whole or not at all: if one cannot
    be put in place, those before it are put back. After any error, an interrupt included, nothing new stays
    behind, a folder created here included. Raises DeliveryError for whatever the system refuses in the
    target, which says where the old file lies in case it could not even be put back; an OSError about a place
    elsewhere is the caller's and passes unchanged.
    """
    created = _missing_folders(target)
    stage: pathlib.Path | None = None
    try:
        target.mkdir(parents=True, exist_ok=True)
        stage = _folder_in(target)
        new, kept = stage / "new", stage / "kept"
        new.mkdir()
        kept.mkdir()
        yield new
        if fresh:
            _put_beside(new, target)
        else:
            _put_in_place(new, kept, target, other)
        shutil.rmtree(stage, ignore_errors=True)
    except BaseException as error:
        if stage is not None and not isinstance(error, _StuckError):
            shutil.rmtree(stage, ignore_errors=True)
        for folder in created:
            # Only what is empty goes: somebody else may have put a file there meanwhile.
            with contextlib.suppress(OSError):
                folder.rmdir()
        if isinstance(error, OSError) and _is_ours(error, target):
            raise DeliveryError(_problem(error, target, other)) from error
        raise


def _folder_in(target: pathlib.Path) -> pathlib.Path:
    """Return a new folder in the target, with the rights that the target gives.

    The standard library's temporary folders are private. On Windows a file that is moved out of one stays so,
    and nobody else in the shop could open it.
    """
    stage = target / f"{STAGING_PREFIX}{secrets.token_hex(8)}"
    stage.mkdir()
    return stage


def _missing_folders(target: pathlib.Path) -> list[pathlib.Path]:
    """Return the folders that will have to be created, the deepest first."""
    with contextlib.suppress(OSError):
        return [folder for folder in (target, *target.parents) if not folder.exists()]
    return []


def _put_in_place(new: pathlib.Path, kept: pathlib.Path, target: pathlib.Path, other: Say = _OTHER) -> None:
    names = sorted(file.name for file in new.iterdir())
    for name in names:
        # Otherwise a full disk could show itself only after the old file has gone.
        _flush(new / name)
        if (target / name).is_dir():
            raise IsADirectoryError(errno.EISDIR, os.strerror(errno.EISDIR), str(target / name))
    for name in names:
        _keep(target / name, kept / name)
    try:
        for name in names:
            _replace(new / name, target / name)
    except BaseException as error:
        # What is no longer in the staging folder was put in place, even if an interrupt came just then.
        placed = [name for name in names if not (new / name).exists()]
        # One file that cannot be put back must not keep the others from it.
        stuck = [name for name in placed if not _put_back(kept / name, target / name)]
        if stuck:
            cause = [_problem(error, target, other)] if isinstance(error, OSError) else []
            raise _StuckError(*cause, *(_stuck(target / name, kept / name) for name in stuck)) from error
        raise
    _flush_folder(target)


def _put_beside(new: pathlib.Path, target: pathlib.Path) -> None:
    """Put new files in place where none of their names is taken; else raise DeliveryError, and none is there.

    Whether a name is taken is asked and settled at once, by the disk itself: of two runs one gets it.
    """
    placed: list[pathlib.Path] = []
    try:
        for file in sorted(new.iterdir()):
            _flush(file)
            place = target / file.name
            try:
                _claim(file, place)
            except FileExistsError as error:
                raise DeliveryError.at(str(place), say("deliver.just_made")) from error
            placed.append(place)
    except BaseException:
        for place in placed:
            place.unlink(missing_ok=True)
        raise
    _flush_folder(target)


def _claim(file: pathlib.Path, place: pathlib.Path) -> None:
    """Give a file a second name that nobody has; raise FileExistsError where somebody has."""
    try:
        place.hardlink_to(file)
    except FileExistsError:
        raise
    except OSError:
        # A disk without links: the name is taken first, and what belongs there is copied over it whole.
        place.touch(exist_ok=False)
        try:
            file.replace(place)
        except BaseException:
            place.unlink(missing_ok=True)
            raise


def _replace(source: pathlib.Path, target: pathlib.Path) -> None:
    """Move a file over another; on Windows wait a little for one that is held for a moment."""
    for wait in _WAITS if windows() else ():
        try:
            source.replace(target)
        except PermissionError:
            time.sleep(wait)
        else:
            return
    source.replace(target)


def _keep(file: pathlib.Path, second: pathlib.Path) -> None:
    """Give an existing file a second name: a link where the disk has links, else a copy.

    On Windows a copy, because no name of a file that another program has open can be deleted again.
    """
    if not windows():
        with contextlib.suppress(OSError):
            second.hardlink_to(file)
            return
    with contextlib.suppress(FileNotFoundError):
        shutil.copy2(file, second, follow_symlinks=False)


def _put_back(kept: pathlib.Path, file: pathlib.Path) -> bool:
    """Put back what was there, nothing included; return whether that worked."""
    try:
        if os.path.lexists(kept):
            _replace(kept, file)
        else:
            file.unlink(missing_ok=True)
    except OSError:
        return False
    return True


def _stuck(file: pathlib.Path, kept: pathlib.Path) -> Problem:
    if not os.path.lexists(kept):
        return Problem(str(file), say("deliver.stray"))
    what = say("deliver.stuck", kept=str(kept))
    return Problem(str(file), what)


def _flush(file: pathlib.Path) -> None:
    # Opened for writing, because Windows flushes no handle that may only read.
    with file.open("r+b") as held:
        os.fsync(held.fileno())


def _flush_folder(folder: pathlib.Path) -> None:
    """Have the names in a folder written to the disk, where the system can."""
    if windows():
        return
    with contextlib.suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def _is_ours(error: OSError, target: pathlib.Path) -> bool:
    """Tell whether the error is about the target: it names a place there, or is that of a failed write."""
    names = [name for name in (error.filename, error.filename2) if name is not None]
    if not names:
        return error.errno in _WRITING
    places = [pathlib.Path(os.fsdecode(name)) for name in names]
    return any(place.is_relative_to(target) or target.is_relative_to(place) for place in places)


def _problem(error: OSError, target: pathlib.Path, other: Say) -> Problem:
    place = pathlib.Path(os.fsdecode(error.filename)) if error.filename else target
    inside = place.relative_to(target).parts if place.is_relative_to(target) else ()
    if inside and inside[0].startswith(STAGING_PREFIX):
        # The staging folder means nothing to the reader, who knows a file by its final name.
        place = target.joinpath(*inside[2:])
    if isinstance(error, PermissionError) and error.filename2 is not None:
        # Two names: a file was to be moved over another, in a folder that may be written.
        return Problem(str(place), say("deliver.held", other=other))
    known = _ADVICE.get(error.errno or 0, "deliver.other")
    return Problem(str(place), say(known, reason=error.strerror or str(error), other=other))
