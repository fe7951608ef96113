"""Several runs at once: what one was told is kept stays kept, and a name that is taken is not taken twice."""

import contextlib
import os
import subprocess
import sys
from pathlib import Path

import pytest

from geometry.core.errors import DeliveryError
from sheets.files.write.deliver import staging
from sheets.home import folder, printers

_ROOT = Path(__file__).parents[2]
_ADD = """
import sys
from sheets.cli import main
sys.exit(main(["printer", "add", sys.argv[1], "--paper", "A4", "--across", "174.5", "--down", "266"]))
"""


def test_of_eight_printers_added_at_once_eight_are_kept(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv(folder.HOME, str(tmp_path / "home"))
    environment = {**os.environ, "PYTHONPATH": str(_ROOT)}
    names = [f"printer {number}" for number in range(8)]
    running = [
        subprocess.Popen(
            [sys.executable, "-c", _ADD, name],
            env=environment,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
        )
        for name in names
    ]
    said = [each.communicate() for each in running]
    assert [each.returncode for each in running] == [0] * 8, said
    assert sorted(printers.known()) == names
    # Nothing but the file lies in the builder's folder.
    assert [file.name for file in (tmp_path / "home").iterdir()] == [printers.FILE]


def test_a_run_that_holds_the_files_too_long_is_named(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv(folder.HOME, str(tmp_path))
    monkeypatch.setattr(folder, "PATIENCE", 0.05)
    hold = (
        "import sys; from sheets.home.folder import alone\nwith alone(): print('held', flush=True); input()"
    )
    environment = {**os.environ, "PYTHONPATH": str(_ROOT)}
    with subprocess.Popen(
        [sys.executable, "-c", hold],
        env=environment,
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    ) as other:
        assert other.stdout is not None
        assert other.stdout.readline() == "held\n"
        with pytest.raises(DeliveryError, match=r"own\.file\.held"), folder.alone():
            pass
        other.communicate("\n")
    with folder.alone():
        pass


def test_a_folder_that_cannot_be_held_is_used_all_the_same(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("tempfile.gettempdir", lambda: "/proc/none")
    entered = False
    with folder.alone():
        entered = True
    assert entered


@pytest.mark.parametrize("links", [True, False])
def test_a_fresh_file_takes_the_place_of_none(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, links: bool
) -> None:
    if not links:

        def refuse(self: Path, target: Path) -> None:
            if self.exists():
                raise FileExistsError(self)
            raise OSError("no links here")

        monkeypatch.setattr(Path, "hardlink_to", refuse)
    with staging(tmp_path, fresh=True) as stage:
        (stage / "a.pdf").write_bytes(b"first")
    with pytest.raises(DeliveryError, match=r"deliver\.just_made"), staging(tmp_path, fresh=True) as stage:
        (stage / "0.pdf").write_bytes(b"second")
        (stage / "a.pdf").write_bytes(b"second")
    assert {file.name: file.read_bytes() for file in tmp_path.iterdir()} == {"a.pdf": b"first"}


def test_an_error_inside_ends_the_hold(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv(folder.HOME, str(tmp_path))
    monkeypatch.setattr(folder, "PATIENCE", 0.05)
    with contextlib.suppress(KeyError), folder.alone():
        raise KeyError
    with folder.alone():
        pass


def test_a_name_that_was_claimed_in_vain_is_given_back(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(self: Path, target: Path) -> None:
        raise OSError("no links here, and no room")

    monkeypatch.setattr(Path, "hardlink_to", refuse)
    monkeypatch.setattr(Path, "replace", refuse)
    with pytest.raises(OSError, match="no room"), staging(tmp_path, fresh=True) as stage:
        (stage / "a.pdf").write_bytes(b"first")
    assert list(tmp_path.iterdir()) == []
