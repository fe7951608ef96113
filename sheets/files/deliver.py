"""Files put where they should go: all of a set, or none.

A set is written into a staging folder inside its target, so that putting it in place is a matter of names
and not of copying. Until the last file is in place each one that it replaces is kept under a second name.
"""

import contextlib
import errno
import os
import pathlib
import shutil
import tempfile
from collections.abc import Iterator

from geometry.errors import DeliveryError, Problem

STAGING_PREFIX = ".dropleaf-"

_ADVICE = {
    errno.ENOSPC: "the disk is full; free some space, or choose another folder with --out",
    errno.EDQUOT: "the disk quota is used up; free some space, or choose another folder with --out",
    errno.EFBIG: "the file would be larger than the system allows; raise the limit, or choose another folder",
    errno.EACCES: "no permission to write here; choose another folder with --out",
    errno.EPERM: "no permission to write here; choose another folder with --out",
    errno.EROFS: "this disk is read-only; choose another folder with --out",
    errno.ENAMETOOLONG: "the name is too long; shorten it",
    errno.ENOTDIR: "this is a file, not a folder; choose another folder with --out",
    errno.EEXIST: "this is a file, not a folder; choose another folder with --out",
    errno.EISDIR: "a folder of this name is in the way; move it, or choose another folder with --out",
}
# A write that fails names no file.
_WRITING = {errno.ENOSPC, errno.EDQUOT, errno.EFBIG, errno.EROFS, errno.EIO}


@contextlib.contextmanager
def staging(target: pathlib.Path) -> Iterator[pathlib.Path]:
    """Give a folder to write files into; when the block ends without an error, put them all into `target`.

    `target` is created if need be. Each file that was there is replaced whole or not at all: if one cannot
    be put in place, those before it are put back. After any error, an interrupt included, nothing new stays
    behind, a folder created here included. Raises DeliveryError for whatever the system refuses in the
    target; an OSError about a place elsewhere is the caller's and passes unchanged.
    """
    created = _missing_folders(target)
    stage: pathlib.Path | None = None
    try:
        target.mkdir(parents=True, exist_ok=True)
        stage = pathlib.Path(tempfile.mkdtemp(prefix=STAGING_PREFIX, dir=target))
        new, kept = stage / "new", stage / "kept"
        new.mkdir()
        kept.mkdir()
        yield new
        _put_in_place(new, kept, target)
        shutil.rmtree(stage, ignore_errors=True)
    except BaseException as error:
        if stage is not None:
            shutil.rmtree(stage, ignore_errors=True)
        for folder in created:
            # Only what is empty goes: somebody else may have put a file there meanwhile.
            with contextlib.suppress(OSError):
                folder.rmdir()
        if isinstance(error, OSError) and _is_ours(error, target):
            raise DeliveryError(_problem(error, target)) from error
        raise


def _missing_folders(target: pathlib.Path) -> list[pathlib.Path]:
    """Return the folders that will have to be created, the deepest first."""
    with contextlib.suppress(OSError):
        return [folder for folder in (target, *target.parents) if not folder.exists()]
    return []


def _put_in_place(new: pathlib.Path, kept: pathlib.Path, target: pathlib.Path) -> None:
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
            (new / name).replace(target / name)
    except BaseException:
        for name in names:
            # What is no longer in the staging folder was put in place, even if an interrupt came just then.
            if not (new / name).exists():
                _put_back(kept / name, target / name)
        raise
    with contextlib.suppress(OSError):
        _flush(target)


def _keep(file: pathlib.Path, second: pathlib.Path) -> None:
    """Give an existing file a second name: a link where the disk has links, else a copy."""
    try:
        second.hardlink_to(file)
    except FileNotFoundError:
        return
    except OSError:
        shutil.copy2(file, second, follow_symlinks=False)


def _put_back(kept: pathlib.Path, file: pathlib.Path) -> None:
    # One file that cannot be put back must not keep the others from it.
    with contextlib.suppress(OSError):
        if os.path.lexists(kept):
            kept.replace(file)
        else:
            file.unlink()


def _flush(path: pathlib.Path) -> None:
    handle = os.open(path, os.O_RDONLY)
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


def _problem(error: OSError, target: pathlib.Path) -> Problem:
    place = pathlib.Path(os.fsdecode(error.filename)) if error.filename else target
    inside = place.relative_to(target).parts if place.is_relative_to(target) else ()
    if inside and inside[0].startswith(STAGING_PREFIX):
        # The staging folder means nothing to the reader, who knows a file by its final name.
        place = target.joinpath(*inside[2:])
    what = _ADVICE.get(error.errno or 0, f"{error.strerror or error}; choose another folder with --out")
    return Problem(str(place), what)
