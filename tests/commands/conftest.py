"""The commands run in this process, and a job file to give them."""

import contextlib
import io
import json
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any, NamedTuple

import pytest

from sheets.cli import main
from sheets.home import folder as home
from tests.commands.measured_mounts import by, mount
from tests.pages.conftest import delivered as delivered

REAR = """
[frame]
id = "knot-1"
name = "Knot"
[mount]
end = "rear"
interface = "is-rear"
rotor = 160
host = "chainstay"
[axle]
system = "135-qr"
[dropout]
thickness = "1/4 in"
[tubes.chainstay]
diameters = [[25, 16], [180, 19], [380, 22]]
outset = 5
splay = "3 deg"
"""


class Ran(NamedTuple):
    """What a command left: exit status, standard output, and the lines of standard error."""

    status: int
    out: str
    errors: list[str]

    @property
    def json(self) -> Any:
        """Return standard output as a document; nothing else may be there."""
        return json.loads(self.out, parse_constant=pytest.fail)


Run = Callable[..., Ran]


@pytest.fixture(scope="session")
def run() -> Run:
    """Return a function that runs a command line and returns what it left."""

    def command(*arguments: object) -> Ran:
        out, errors = io.StringIO(), io.StringIO()
        with contextlib.redirect_stdout(out), contextlib.redirect_stderr(errors):
            status = main([str(argument) for argument in arguments])
        lines = errors.getvalue().splitlines()
        assert all(line.startswith("dropleaf: ") for line in lines), lines
        assert "Traceback" not in errors.getvalue()
        assert bool(lines) == (status != 0)
        return Ran(status, out.getvalue(), lines)

    return command


@pytest.fixture
def job(tmp_path: Path) -> Path:
    """Return a good job file of a tab, alone in its folder."""
    return write(tmp_path / "jobs" / "knot.toml")


def write(file: Path, *changes: tuple[str, str]) -> Path:
    """Write the good job, changed by replacing texts, and return the file."""
    text = REAR
    for old, new in changes:
        assert old in text
        text = text.replace(old, new)
    file.parent.mkdir(parents=True, exist_ok=True)
    file.write_text(text, encoding="utf-8")
    return file


@pytest.fixture(name="write")
def write_fixture() -> Callable[..., Path]:
    """Return the function that writes a changed job."""
    return write


@pytest.fixture
def own_home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    """Give each test a builder's folder of its own."""
    monkeypatch.setenv(home.HOME, str(tmp_path / "home"))
    yield tmp_path / "home"


@pytest.fixture
def three(tmp_path: Path) -> list[Path]:
    """Return the readings of three mounts that agree."""
    return [
        mount(tmp_path / f"{name}.toml", f"frame {name}", up, by(maker))
        for name, maker, up in (("a", "Avocet", 0.0), ("b", "Bittern", 0.2), ("c", "Curlew", -0.1))
    ]
