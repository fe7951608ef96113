"""The samples drawn once a run by the command itself, whichever worker asks first: its JSON and its files."""

import contextlib
import io
import json
import os
import shutil
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any, NamedTuple

import pytest

from sheets.cli import main
from tests import kept_once
from tests.pages.jobs import DRAWN, SAMPLES


class Delivered(NamedTuple):
    """What the command said of one job."""

    document: dict[str, Any]
    status: int = 0

    @property
    def pdf(self) -> Path:
        """Return the packet."""
        return Path(next(file["path"] for file in self.document["files"] if file["kind"] == "pdf"))

    @property
    def pdf_pages(self) -> list[dict[str, Any]]:
        """Return the packet's pages."""
        return next(file["pages"] for file in self.document["files"] if file["kind"] == "pdf")

    @property
    def svgs(self) -> list[tuple[Path, dict[str, Any]]]:
        """Return each SVG with its one page."""
        files = [file for file in self.document["files"] if file["kind"] == "svg"]
        assert all(len(file["pages"]) == 1 for file in files)
        return [(Path(file["path"]), file["pages"][0]) for file in files]


class Lazily(dict[Any, Any]):
    """A dictionary whose values are made when they are first asked for: not every worker needs them all."""

    def __init__(self, make: Callable[[Any], Any]) -> None:
        super().__init__()
        self._make = make

    def __missing__(self, key: Any) -> Any:
        self[key] = self._make(key)
        return self[key]


def draw(job: Path, out: Path) -> Delivered:
    """Return what the command draws of a job file."""
    printed = io.StringIO()
    # What other ways of drawing are compared with is drawn by itself.
    with contextlib.redirect_stdout(printed), kept_once.aside():
        status = main(["draw", str(job), "--out", str(out), "--json"])
    document = json.loads(printed.getvalue())
    # A clearance that fails gives 1 and is drawn all the same; after any other failure there are no files.
    assert status in (0, 1)
    assert document.get("files"), document
    return Delivered(document, status)


_PATIENCE = 600.0
"""Seconds after which a worker that draws for the others is taken to have died."""


def once(place: Path, make: Callable[[], Delivered]) -> Delivered:
    """Return what is made in a new folder by the first worker that asks; the others wait and read it."""
    done = place / "delivered.json"
    try:
        place.mkdir(parents=True)
    except FileExistsError:
        end = time.monotonic() + _PATIENCE
        while not done.exists():
            if not place.exists():
                return once(place, make)
            assert time.monotonic() < end, f"nothing came of {place}"
            time.sleep(0.05)
        return Delivered(*json.loads(done.read_text(encoding="utf-8")))
    try:
        made = make()
    except BaseException:
        # Whoever asks next shall see the fault too, and not wait.
        shutil.rmtree(place)
        raise
    part = place / "part.json"
    part.write_text(json.dumps(made), encoding="utf-8")
    part.replace(done)
    return made


@pytest.fixture(scope="session")
def delivered(tmp_path_factory: pytest.TempPathFactory) -> dict[tuple[str, str], Delivered]:
    """Return what is drawn of the samples, by name and view; each is drawn when it is first asked for."""
    # Above a worker's own folder is the run's.
    base = tmp_path_factory.getbasetemp()
    folder = (base.parent if "PYTEST_XDIST_WORKER" in os.environ else base) / "delivered"

    def drawn(key: tuple[str, str]) -> Delivered:
        assert key in DRAWN
        name, view = key
        text = SAMPLES[name].read_text(encoding="utf-8").replace('view = "inboard"\n', "")
        assert text.count("[paper]\n") == 1
        place = folder / f"{name}-{view}"

        def made() -> Delivered:
            job = place / f"{name}.toml"
            job.write_text(text.replace("[paper]\n", f'[paper]\nview = "{view}"\n'), encoding="utf-8")
            return draw(job, place / "out")

        return once(place, made)

    return Lazily(drawn)
