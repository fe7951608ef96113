"""Packets filed before labels were text and forms had no scripts: still verified, surveyed and revised."""

import shutil
from collections.abc import Callable
from pathlib import Path

import pypdf
import pytest

from tests.commands.conftest import Ran
from tests.files.forms import type_in

Run = Callable[..., Ran]
FILED = Path(__file__).parents[1] / "filed" / "stroked"
"""One as it was drawn, and the revision in which its filled-in traveller was surveyed, kept as they were."""
# A tab whose holes lie 25 beside the leg's line, 42.95 up and 51 apart, read as it should be, repeatedly.
READINGS = {"axle-to-near-over": "62.43", "axle-to-far-over": "99.54", "near-to-far-over": "57"}


@pytest.fixture(autouse=True)
def own_home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Give each test a folder of its own for the pull history."""
    monkeypatch.setenv("DROPLEAF_HOME", str(tmp_path / "home"))


@pytest.mark.parametrize("name", ["stilt-1", "stilt-1-rev2"])
def test_it_is_intact_and_measured(run: Run, name: str) -> None:
    said = run("verify", FILED / f"{name}.pdf", "--json").json
    assert (said["intact"], said["one_to_one"], said["changes"]) == (True, True, [])
    # What it has that a packet of today has not, so that it goes on being what these tests need.
    page, *_ = pypdf.PdfReader(FILED / f"{name}.pdf").pages
    assert "mm" not in page.extract_text()


def test_it_is_filled_in_and_surveyed_into_a_revision(run: Run, tmp_path: Path) -> None:
    packet = tmp_path / "stilt-1.pdf"
    shutil.copy(FILED / "stilt-1.pdf", tmp_path / "empty.pdf")
    type_in(tmp_path / "empty.pdf", packet, {f"reading.cold.{key}": at for key, at in READINGS.items()})
    ran = run("survey", packet, "--json")
    assert ran.status in (0, 1), ran.errors
    assert ran.json["state"] == "cold"
    assert len(ran.json["readings"]) == len(READINGS)
    revision = run("verify", tmp_path / "stilt-1-rev2.pdf", "--json").json
    assert (revision["intact"], revision["revision"]) == (True, 2)


def test_its_revision_is_surveyed_into_the_next(run: Run, tmp_path: Path) -> None:
    shutil.copy(FILED / "stilt-1-rev2.pdf", tmp_path)
    ran = run("survey", tmp_path / "stilt-1-rev2.pdf", "--json")
    assert (ran.status, ran.json["verdict"], ran.json["state"]) == (0, "right", "finished")
    revision = run("verify", tmp_path / "stilt-1-rev3.pdf", "--json").json
    assert (revision["intact"], revision["revision"]) == (True, 3)
