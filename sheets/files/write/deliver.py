"""Files put where they should go: all of a set, or none.

A set is written into a staging folder inside its target, so that putting it in place is a matter of names
and not of copying, and a journal there lets the next run finish what a dead one began (sheets/files/sets.py).
Until the last file is in place each one that it replaces is kept under a second name.

It is written for Windows too, where only a handle that may write can be flushed, no folder can, a file that
another program holds open can neither be replaced nor its second name be deleted, and what looks through
new files, as a virus scanner does, holds each for a moment. tests/files/test_deliver_windows.py plays that.
"""

import contextlib
import errno
import os
import pathlib
import shutil
from collections.abc import Callable, Iterator

from geometry.core.errors import DeliveryError, Problem
from geometry.core.say import Say, say
from sheets.files import sets
from sheets.files.names import windows

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
# A write that fails names no file.
_WRITING = {errno.ENOSPC, errno.EDQUOT, errno.EFBIG, errno.EROFS, errno.EIO}


@contextlib.contextmanager
def staging(
    target: pathlib.Path,
    other: Say = _OTHER,
    *,
    fresh: bool = False,
    check: Callable[[], None] | None = None,
) -> Iterator[pathlib.Path]:
    """Give a folder to write files into; when the block ends without an error, put them all into `target`.

    `other` says how to have another folder where this one will not do. `fresh` files take the place of none:
    where one came to be there meanwhile, it stays. `check` raises where what is there shall not be replaced;
    it runs last of all, while no other run can put anything in place.

    `target` is created if need be. Each file that was there is replaced whole or not at all: if one cannot
    be put in place, those before it are put back. After any error, an interrupt included, nothing new stays
    behind, a folder created here included. Raises DeliveryError for whatever the system refuses in the
    target, which says where the old file lies in case it could not even be put back; an OSError about a place
    elsewhere is the caller's and passes unchanged.
    """
    created = _missing_folders(target)
    try:
        target.mkdir(parents=True, exist_ok=True)
        sets.recover(target)
        with sets.stage_in(target) as stage:
            yield stage / "new"
            with sets.alone_in(target):
                # A set that a dead run left half in place goes first: its other half must not follow ours.
                sets.recover_alone(target)
                if check is not None:
                    check()
                _put_in_place(stage, target, other, fresh)
    except BaseException as error:
        for folder in created:
            # Only what is empty goes: somebody else may have put a file there meanwhile.
            with contextlib.suppress(OSError):
                folder.rmdir()
        if isinstance(error, OSError) and _is_ours(error, target):
            raise DeliveryError(_problem(error, target, other)) from error
        raise
    for folder in created:
        sets.flush_folder(folder.parent)


def _missing_folders(target: pathlib.Path) -> list[pathlib.Path]:
    """Return the folders that will have to be created, the deepest first."""
    with contextlib.suppress(OSError):
        return [folder for folder in (target, *target.parents) if not folder.exists()]
    return []


def _put_in_place(
    stage: pathlib.Path, target: pathlib.Path, other: Say = _OTHER, fresh: bool = False
) -> None:
    """Put the files in a staging folder in place, all or none; raise what the system refuses."""
    new, kept = stage / "new", stage / "kept"
    names = sorted(file.name for file in new.iterdir())
    for name in names:
        # Otherwise a full disk could show itself only after the old file has gone.
        _flush(new / name)
        if (target / name).is_dir():
            raise IsADirectoryError(errno.EISDIR, os.strerror(errno.EISDIR), str(target / name))
    sets.flush_folder(new)
    entries = []
    for name in names:
        looks, was = sets.look(new / name), None if fresh else sets.look(target / name)
        if was is not None:
            _keep(target / name, kept / name)
        entries.append(sets.Entry(name, looks or (0, 0), was))
    sets.commit(stage, entries)
    try:
        for name in names:
            if fresh:
                _claim(new / name, target / name)
            else:
                sets.replace(new / name, target / name)
    except BaseException as error:
        sets.turn_back(stage)
        # One file that cannot be put back does not keep the others from it.
        if stuck := sets.settle(stage):
            cause = [_problem(error, target, other)] if isinstance(error, OSError) else []
            raise DeliveryError(*cause, *(_stuck(target / name, kept / name) for name in stuck)) from error
        raise


def _claim(file: pathlib.Path, place: pathlib.Path) -> None:
    """Give a file a second name that nobody has; raise DeliveryError where somebody has.

    Whether a name is taken is asked and settled at once, by the disk itself: of two runs one gets it.
    """
    try:
        try:
            place.hardlink_to(file)
            file.unlink()
        except FileExistsError:
            raise
        except OSError:
            # A disk without links: the name is taken first, and what belongs there is moved over it whole.
            place.touch(exist_ok=False)
            file.replace(place)
    except FileExistsError as error:
        raise DeliveryError.at(str(place), say("deliver.just_made")) from error


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


def _stuck(file: pathlib.Path, kept: pathlib.Path) -> Problem:
    if not os.path.lexists(kept):
        return Problem(str(file), say("deliver.stray"))
    what = say("deliver.stuck", kept=str(kept))
    return Problem(str(file), what)


def _flush(file: pathlib.Path) -> None:
    # Opened for writing, because Windows flushes no handle that may only read.
    with file.open("r+b") as held:
        os.fsync(held.fileno())


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
    if inside and sets.staged(inside[0]):
        # The staging folder means nothing to the reader, who knows a file by its final name.
        place = target.joinpath(*inside[2:])
    if isinstance(error, PermissionError) and error.filename2 is not None:
        # Two names: a file was to be moved over another, in a folder that may be written.
        return Problem(str(place), say("deliver.held", other=other))
    known = _ADVICE.get(error.errno or 0, "deliver.other")
    return Problem(str(place), say(known, reason=error.strerror or str(error), other=other))
