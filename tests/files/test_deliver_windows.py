"""Delivery on a system that behaves as Windows does, as far as that can be played here.

From the documentation of FlushFileBuffers, MoveFileEx and DeleteFile (learn.microsoft.com): a handle must be
open for writing to be flushed; a file that another program has open without sharing its deletion can neither
be replaced nor deleted, and nor can any other name of it.
"""

import errno
import fcntl
import os
import time
from collections.abc import Callable
from pathlib import Path

import pytest

from geometry.core.errors import DeliveryError, Problem
from geometry.core.say import say
from sheets.files.sets import PREFIX
from sheets.files.write import deliver
from sheets.files.write.deliver import staging
from tests.files.test_deliver import put, tree


class Windows:
    """The rules of the system, and which files are open in another program."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch) -> None:
        self.held: set[Path] = set()
        self.flushed: list[int] = []
        self.waited: list[float] = []
        self.freed_after = 10**6
        real = {name: getattr(os, name) for name in ("fsync", "open", "replace", "unlink", "rmdir")}

        def fsync(handle: int) -> None:
            if fcntl.fcntl(handle, fcntl.F_GETFL) & os.O_ACCMODE == os.O_RDONLY:
                raise OSError(errno.EBADF, "Bad file descriptor")
            self.flushed.append(os.fstat(handle).st_ino)
            real["fsync"](handle)

        def opened(path: object, flags: int, *more: object, **named: object) -> int:
            if "dir_fd" not in named and Path(str(path)).is_dir():
                raise PermissionError(errno.EACCES, "Permission denied", str(path))
            return int(real["open"](path, flags, *more, **named))

        def replace(source: object, target: object, **named: object) -> None:
            if self._is_held(Path(str(target))):
                raise PermissionError(errno.EACCES, "Access is denied", str(source), None, str(target))
            real["replace"](source, target, **named)

        def sleep(seconds: float) -> None:
            self.waited.append(seconds)
            if len(self.waited) >= self.freed_after:
                self.held.clear()

        monkeypatch.setattr(os, "fsync", fsync)
        monkeypatch.setattr(deliver.os, "open", opened)
        monkeypatch.setattr(os, "replace", replace)
        monkeypatch.setattr(time, "sleep", sleep)
        monkeypatch.setattr("sys.platform", "win32")

    def _is_held(self, path: Path) -> bool:
        # By what the file is, not by its name: other names of an open file are held with it.
        return any(path.exists() and each.exists() and path.samefile(each) for each in self.held)


@pytest.fixture
def windows(monkeypatch: pytest.MonkeyPatch) -> Windows:
    return Windows(monkeypatch)


def test_every_file_is_flushed_by_a_handle_that_may_write(windows: Windows, tmp_path: Path) -> None:
    (tmp_path / "a").write_text("old")
    put(tmp_path, a="new a", b="new b")
    assert tree(tmp_path) == {"a": "new a", "b": "new b"}
    # By what the file is: it was flushed under another name.
    *files, _ = windows.flushed
    # Both files, and after them the journal of the set.
    assert files == [(tmp_path / name).stat().st_ino for name in "ab"]


def test_a_file_open_elsewhere_is_one_clear_line_and_nothing_half_done(
    windows: Windows, tmp_path: Path
) -> None:
    for name in ("a", "b", "c"):
        (tmp_path / name).write_text(f"old {name}")
    before = tree(tmp_path)
    windows.held.add(tmp_path / "b")
    with pytest.raises(DeliveryError) as caught:
        put(tmp_path, a="new a", b="new b", c="new c")
    assert caught.value.problems == (
        Problem(str(tmp_path / "b"), say("deliver.held", other=say("deliver.other_folder"))),
    )
    assert caught.value.exit_status == 2
    assert tree(tmp_path) == before
    windows.held.clear()
    put(tmp_path, a="new a", b="new b", c="new c")
    assert tree(tmp_path) == {"a": "new a", "b": "new b", "c": "new c"}


def test_no_second_name_is_made_of_a_file_that_may_be_open(windows: Windows, tmp_path: Path) -> None:
    """Deleting it again would be refused, and the staging folder would stay."""
    (tmp_path / "a").write_text("old a")
    windows.held.add(tmp_path / "a")
    names = []
    with pytest.raises(DeliveryError), staging(tmp_path) as stage:
        (stage / "a").write_text("new a")
        kept = stage.parent / "kept"
        real = os.replace

        def looked(source: object, target: object) -> None:
            names.extend((file.name, file.samefile(tmp_path / "a")) for file in kept.iterdir())
            real(source, target)

        with pytest.MonkeyPatch.context() as patch:
            patch.setattr(os, "replace", looked)
            deliver._put_in_place(stage.parent, tmp_path)
    assert names[0] == ("a", False)
    assert not [file for file in tmp_path.iterdir() if file.name.startswith(PREFIX)]


def test_a_file_held_for_a_moment_is_waited_for(windows: Windows, tmp_path: Path) -> None:
    (tmp_path / "a").write_text("old a")
    windows.held.add(tmp_path / "a")
    windows.freed_after = 2
    put(tmp_path, a="new a")
    assert tree(tmp_path) == {"a": "new a"}
    assert 0.0 < sum(windows.waited) < 1.0


@pytest.mark.parametrize("there", [True, False], ids=["replaced", "new"])
def test_what_cannot_be_put_back_is_kept_and_told(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, there: bool
) -> None:
    """Neither the new file nor the old one may be lost without a word; on any system."""
    if there:
        (tmp_path / "a").write_text("old a")
    real: Callable[..., None] = os.replace

    def replace(source: object, target: object) -> None:
        if Path(str(target)).name == "b" or Path(str(source)).parent.name == "kept":
            raise PermissionError(errno.EACCES, "Access is denied", str(source), None, str(target))
        real(source, target)

    def unlink(path: object) -> None:
        raise PermissionError(errno.EACCES, "Access is denied", str(path))

    monkeypatch.setattr(os, "replace", replace)
    monkeypatch.setattr(os, "unlink", unlink)
    with pytest.raises(DeliveryError) as caught:
        put(tmp_path, a="new a", b="new b")
    monkeypatch.undo()
    assert [each.where for each in caught.value.problems] == [str(tmp_path / "b"), str(tmp_path / "a")]
    assert (tmp_path / "a").read_text() == "new a"
    if there:
        (old,) = tmp_path.glob(f"{PREFIX}*/kept/a")
        assert old.read_text() == "old a"
        assert caught.value.problems[1].what == say("deliver.stuck", kept=str(old))
    else:
        assert caught.value.problems[1].what == say("deliver.stray")


def test_the_staging_folder_is_no_more_private_than_any(tmp_path: Path) -> None:
    """On Windows what is moved out of a private folder stays private: Python's notes on CVE-2024-4030."""
    (tmp_path / "plain").mkdir()
    with staging(tmp_path) as stage:
        assert stage.parent.stat().st_mode == (tmp_path / "plain").stat().st_mode
