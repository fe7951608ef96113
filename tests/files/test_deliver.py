"""A set of files arrives whole or not at all, whatever the system refuses."""

import errno
import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from geometry.core.errors import DeliveryError, ReadBackError
from sheets.files.sets import PREFIX
from sheets.files.write.deliver import staging
from sheets.files.write.svg import write_svg
from tests.files.shapes import full_sheet
from tests.outside_tools import device

ROOT = Path(__file__).parents[2]


def tree(folder: Path) -> dict[str, str]:
    """Return every file below `folder` with its text, and every folder with none."""
    return {
        str(path.relative_to(folder)): path.read_text() if path.is_file() else "/"
        for path in sorted(folder.rglob("*"))
    }


def put(target: Path, **texts: str) -> None:
    with staging(target) as stage:
        for name, text in texts.items():
            (stage / name).write_text(text)


def failing(name: str, error: BaseException) -> Callable[[Path, Path], Path]:
    """Return a stand-in for Path.replace that fails where it should put the file `name` in place."""
    real = Path.replace

    def replace(self: Path, target: Path) -> Path:
        if target.name == name and self.parent.name == "new":
            raise error
        return real(self, target)

    return replace


def test_files_arrive_and_nothing_else(tmp_path: Path) -> None:
    (tmp_path / "other").write_text("other")
    (tmp_path / "b").write_text("old")
    with staging(tmp_path) as stage:
        (stage / "a").write_text("new a")
        (stage / "b").write_text("new b")
        assert stage.parent.name.startswith(PREFIX)
        assert stage.parent.parent == tmp_path
        assert (tmp_path / "b").read_text() == "old"
    assert tree(tmp_path) == {"a": "new a", "b": "new b", "other": "other"}


def test_folders_are_created_on_the_way(tmp_path: Path) -> None:
    put(tmp_path / "x" / "y", a="new")
    assert tree(tmp_path) == {"x": "/", "x/y": "/", "x/y/a": "new"}


@pytest.mark.parametrize(
    "error", [ReadBackError.at("a", "is off"), KeyboardInterrupt(), ValueError("a defect")]
)
def test_an_error_while_writing_leaves_nothing(tmp_path: Path, error: BaseException) -> None:
    (tmp_path / "a").write_text("old")
    before = tree(tmp_path)
    for target in (tmp_path, tmp_path / "x" / "y"):
        with pytest.raises(type(error)), staging(target) as stage:
            (stage / "a").write_text("new")
            raise error
        assert tree(tmp_path) == before


@pytest.mark.parametrize("links", [True, False], ids=["links", "no links"])
@pytest.mark.parametrize("error", [OSError(errno.EIO, "I/O error"), KeyboardInterrupt()])
def test_a_failure_in_the_middle_puts_back_what_was_there(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, links: bool, error: BaseException
) -> None:
    (tmp_path / "a").write_text("old a")
    (tmp_path / "c").write_text("old c")
    before = tree(tmp_path)
    if not links:

        def refuse(self: Path, target: Path) -> None:
            target.lstat()
            raise OSError(errno.EOPNOTSUPP, "this disk has no links")

        monkeypatch.setattr(Path, "hardlink_to", refuse)
    monkeypatch.setattr(Path, "replace", failing("c", error))
    with pytest.raises(DeliveryError if isinstance(error, OSError) else KeyboardInterrupt):
        put(tmp_path, a="new a", b="new b", c="new c")
    assert tree(tmp_path) == before
    monkeypatch.undo()
    put(tmp_path, a="new a", b="new b", c="new c")
    assert tree(tmp_path) == {"a": "new a", "b": "new b", "c": "new c"}


def test_an_interrupt_just_after_a_file_arrived_puts_it_back_too(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "a").write_text("old a")
    real = Path.replace

    def interrupted(self: Path, target: Path) -> Path:
        placed = real(self, target)
        if self.parent.name == "new" and target.name == "a":
            raise KeyboardInterrupt
        return placed

    monkeypatch.setattr(Path, "replace", interrupted)
    with pytest.raises(KeyboardInterrupt):
        put(tmp_path, a="new a", b="new b")
    assert tree(tmp_path) == {"a": "old a"}


def test_a_link_is_replaced_and_what_it_led_to_stays(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "real").write_text("real")
    link = tmp_path / "a"
    link.symlink_to("real")
    monkeypatch.setattr(Path, "replace", failing("b", OSError(errno.EIO, "I/O error")))
    with pytest.raises(DeliveryError):
        put(tmp_path, a="new", b="new")
    assert link.is_symlink()
    monkeypatch.undo()
    put(tmp_path, a="new")
    assert tree(tmp_path) == {"a": "new", "real": "real"}


def test_the_target_is_a_file(tmp_path: Path) -> None:
    (tmp_path / "out").write_text("a file")
    for target in (tmp_path / "out", tmp_path / "out" / "deeper"):
        with pytest.raises(DeliveryError, match=r"out.*: deliver\.a_file") as caught:
            put(target, a="new")
        assert caught.value.exit_status == 2
        assert len(caught.value.problems) == 1
    assert tree(tmp_path) == {"out": "a file"}


def test_a_folder_is_in_the_way_of_a_file(tmp_path: Path) -> None:
    (tmp_path / "b").mkdir()
    (tmp_path / "a").write_text("old")
    before = tree(tmp_path)
    with pytest.raises(DeliveryError, match=r"/b: deliver\.a_folder"):
        put(tmp_path, a="new", b="new")
    assert tree(tmp_path) == before


def test_a_name_too_long(tmp_path: Path) -> None:
    name = "n" * 300
    with pytest.raises(DeliveryError, match=rf"{name}: deliver\.long_name") as caught:
        put(tmp_path / "out", a="fine", **{name: "new"})
    assert PREFIX not in str(caught.value)
    with pytest.raises(DeliveryError, match=rf"{name}: deliver\.long_name"):
        put(tmp_path / name, a="new")
    assert tree(tmp_path) == {}


def test_a_full_disk(tmp_path: Path) -> None:
    with pytest.raises(DeliveryError, match=r"deliver\.full"), staging(tmp_path) as stage:
        (stage / "sheet.svg").symlink_to(device("/dev/full"))
        write_svg(full_sheet(), stage / "sheet.svg")
    assert tree(tmp_path) == {}


@pytest.mark.parametrize(
    ("number", "said"),
    [
        (errno.EACCES, "deliver.no_permission"),
        (errno.EROFS, "deliver.read_only"),
        (errno.ENOSPC, "deliver.full"),
        (errno.EMFILE, "deliver.other(reason='Too many open files', other=deliver.other_folder)"),
    ],
)
def test_what_the_system_says_becomes_one_line(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, number: int, said: str
) -> None:
    target = tmp_path / "out"

    real = Path.mkdir

    def refuse(self: Path, **keywords: bool) -> None:
        if self.name.startswith(PREFIX):
            raise OSError(number, os.strerror(number), str(self))
        real(self, **keywords)

    monkeypatch.setattr(Path, "mkdir", refuse)
    with pytest.raises(DeliveryError) as caught:
        put(target, a="new")
    assert str(caught.value).startswith(f"{target}: {said}")
    assert "\n" not in str(caught.value)
    assert tree(tmp_path) == {}


def test_a_folder_without_permission(tmp_path: Path) -> None:
    tmp_path.chmod(0o500)
    # Root may write anywhere, so the test gives its rights away for a moment; 65534 is nobody.
    root = os.geteuid() == 0
    if root:
        os.seteuid(65534)
    try:
        with pytest.raises(DeliveryError, match=r"deliver\.no_permission"):
            put(tmp_path, a="new")
    finally:
        if root:
            os.seteuid(0)
        tmp_path.chmod(0o700)


def test_errors_from_elsewhere_pass_unchanged(tmp_path: Path) -> None:
    with pytest.raises(FileNotFoundError), staging(tmp_path / "out"):
        Path("/nowhere/at/all").read_text()
    with pytest.raises(BrokenPipeError), staging(tmp_path / "out"):
        raise BrokenPipeError(errno.EPIPE, "Broken pipe")
    assert tree(tmp_path) == {}


LIMITED = """
import pathlib, resource, sys
from geometry.core.errors import DeliveryError
from sheets.files.write.deliver import staging
from sheets.files.write.packet import assemble
from sheets.files.write.pdf import write_pdf
from sheets.files.write.svg import write_svg
from tests.files.shapes import full_sheet

target = pathlib.Path(sys.argv[1])
resource.setrlimit(resource.RLIMIT_FSIZE, (int(sys.argv[2]), resource.RLIM_INFINITY))
try:
    with staging(target) as stage:
        write_svg(full_sheet(), stage / "sheet.svg")
        write_pdf([full_sheet()] * 9, stage / "packet.pdf", title="", subject="")
except DeliveryError as error:
    print(error)
    sys.exit(error.exit_status)
"""


def test_a_limit_on_file_size(tmp_path: Path) -> None:
    (tmp_path / "sheet.svg").write_text("old")
    before = tree(tmp_path)

    def limited(size: int) -> subprocess.CompletedProcess[str]:
        # Python's own caches would hit the limit too.
        environment = os.environ | {"PYTHONPATH": str(ROOT), "PYTHONDONTWRITEBYTECODE": "1"}
        command = [sys.executable, "-c", LIMITED, str(tmp_path), str(size)]
        return subprocess.run(
            command, env=environment, cwd=ROOT, capture_output=True, text=True, timeout=60, check=False
        )

    for size in (1000, 12_000):
        done = limited(size)
        assert (done.returncode, done.stderr) == (2, "")
        assert done.stdout.count("\n") == 1
        assert "deliver.too_large" in done.stdout
        assert tree(tmp_path) == before
    assert limited(1_000_000).returncode == 0
    assert {path.name for path in tmp_path.iterdir()} == {"sheet.svg", "packet.pdf"}
    assert (tmp_path / "sheet.svg").stat().st_size > 1000


def test_no_clock_is_asked(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """What is there may be from the future, where a clock was set back, and what comes from long ago."""
    (tmp_path / "a").write_text("old a")
    os.utime(tmp_path / "a", (4e9, 4e9))
    os.utime(tmp_path, (4e9, 4e9))
    monkeypatch.setattr("time.time", lambda: -1.0)
    put(tmp_path, a="new a", b="new b")
    with pytest.raises(ZeroDivisionError), staging(tmp_path) as stage:
        (stage / "a").write_text(str(1 // 0))
    assert tree(tmp_path) == {"a": "new a", "b": "new b"}


def folding(monkeypatch: pytest.MonkeyPatch) -> None:
    """Let names that differ in case alone be one, as on the disks of most Macs: the first one's spelling."""

    def spelled(name: object) -> object:
        if not isinstance(name, str | os.PathLike):
            return name
        path = Path(os.fspath(name))
        try:
            there = real["listdir"](path.parent)
        except OSError:
            return name
        same = (each for each in there if each.casefold() == path.name.casefold())
        return str(path.parent / next(same, path.name))

    names = ("listdir", "stat", "lstat", "replace", "link", "unlink", "open")
    real = {name: getattr(os, name) for name in names}
    for name in names[1:]:

        def folded(*paths: object, _real: Callable[..., object] = real[name], **named: object) -> object:
            return _real(*map(spelled, paths), **named)

        monkeypatch.setattr(os, name, folded)


def test_on_a_disk_that_folds_case_the_old_file_is_replaced_and_put_back(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "Knot.pdf").write_text("old")
    folding(monkeypatch)
    with pytest.raises(DeliveryError, match=r"deliver\.just_made"), staging(tmp_path, fresh=True) as stage:
        (stage / "knot.pdf").write_text("new")
    with pytest.raises(KeyboardInterrupt), pytest.MonkeyPatch.context() as patch, staging(tmp_path) as stage:
        (stage / "knot.pdf").write_text("new")
        (stage / "last.svg").write_text("new")
        patch.setattr(Path, "replace", failing("last.svg", KeyboardInterrupt()))
    assert tree(tmp_path) == {"Knot.pdf": "old"}
    put(tmp_path, **{"knot.pdf": "new", "last.svg": "new"})
    assert tree(tmp_path) == {"Knot.pdf": "new", "last.svg": "new"}
