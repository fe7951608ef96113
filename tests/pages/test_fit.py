"""What does not fit is refused with the overshoot in mm, and that much more paper is just enough."""

import math
import re
from pathlib import Path as FilePath
from typing import Any

import pytest

from geometry.core.errors import FitError
from geometry.core.say import Say
from sheets.cli import main
from sheets.ink.bounds import sheet_bounds
from sheets.ink.marks import arc
from sheets.ink.paper import PAPERS
from sheets.ink.records import Paper, Path, Style
from sheets.job.read import Job, parse
from sheets.words.tell import told
from tests.pages.jobs import SAMPLES, catch, every_mount, on_paper, sample


def refusal(job: Job) -> Say | None:
    """Return the one problem with which a job is refused, or None where it is drawn."""
    try:
        catch(job)
    except FitError as error:
        (problem,) = error.problems
        assert problem.where == "paper.size"
        assert isinstance(problem.what, Say)
        return problem.what
    return None


def long_mount(**interface: Any) -> Job:
    """Return a job whose own row reaches as far as is asked."""
    mount = every_mount()["post-160-chainstay"]
    own = {"h": 60.0, "x_near": 10.0, "x_far": 84.0, "lateral": -4.25, "source": "own"} | interface
    return parse(mount | {"interface": own})


@pytest.mark.parametrize("name", SAMPLES)
def test_a_margin_of_40_on_a4_is_refused_by_how_much(name: str) -> None:
    # The bar is 152.4 long, 3 mm stand past it, and 16.5 before it hold the other bar: own arithmetic.
    least = (152.4 + 3.0 + 16.5 + 1.0) - (210.0 - 2 * 40.0)
    what = refusal(on_paper(sample(name), size="A4", margin=40.0))
    assert what is not None
    assert (what.code, what["paper"], what["margin"]) == ("paper.no_room_bars", "A4", 40.0)
    assert least <= what["over"] <= least + 2.0


def test_the_overshoot_of_the_bars_is_just_what_lacks(monkeypatch: pytest.MonkeyPatch) -> None:
    job = on_paper(sample("avocet"), size="A4", margin=40.0)
    what = refusal(job)
    assert what is not None
    for more, lacking in ((what["over"] - 0.1, True), (what["over"] + 0.1, False)):
        monkeypatch.setitem(PAPERS, "A4", Paper("A4", 210.0 + more, 297.0 + more))
        still = refusal(job)
        assert (still is not None and still.code == what.code) is lacking


@pytest.mark.parametrize(
    ("reach", "way"), [({"x_far": 150.0}, "wide"), ({"h": 190.0}, "tall"), ({"x_near": -60.0}, "wide")]
)
def test_the_overshoot_of_a_drawing_is_just_what_lacks(
    monkeypatch: pytest.MonkeyPatch, reach: dict[str, float], way: str
) -> None:
    job = long_mount(**reach)
    what = refusal(job)
    assert what is not None
    assert (what.code, what["paper"], what["margin"]) == (f"paper.view.{way}", "A4", 10.0)
    assert what["sheet"].code in ("name.sheet.template", "name.sheet.face_view")
    over = what[way]
    for more, lacking in ((over - 0.1, True), (over + 0.1, False)):
        size = (210.0 + more, 297.0) if way == "wide" else (210.0, 297.0 + more)
        monkeypatch.setitem(PAPERS, "A4", Paper("A4", *size))
        still = refusal(job)
        assert (still is not None and dict(still.values).get("sheet") == what["sheet"]) is lacking
    monkeypatch.undo()
    assert refusal(on_paper(job, size="A3")) is None


def test_both_ways_at_once_are_told() -> None:
    what = refusal(long_mount(h=190.0, x_far=190.0))
    assert what is not None
    assert re.match(r"the template is \d+\.\d mm too wide and \d+\.\d mm too tall for A4", told(what))


def test_the_command_refuses_with_status_2_and_leaves_nothing(
    tmp_path: FilePath, capsys: pytest.CaptureFixture[str]
) -> None:
    text = SAMPLES["avocet"].read_text(encoding="utf-8").replace('size = "A4"', 'size = "A4"\nmargin = 40')
    job = tmp_path / "job.toml"
    job.write_text(text, encoding="utf-8")
    assert main(["draw", str(job), "--out", str(tmp_path / "out")]) == 2
    printed = capsys.readouterr()
    (line,) = printed.err.splitlines()
    assert f" {job}: paper.size: " in line
    assert "mm too small" in line
    assert sorted(tmp_path.rglob("*")) == [job]


def test_bounds_follow_a_curve_and_not_its_handles() -> None:
    # From 75 to 103 degrees, in one cubic, a circle of radius 80 tops out at 80: own arithmetic.
    drawn = [Path(arc((0.0, 0.0), 80.0, 75.0, 103.0), Style(0.4), "rotor")]
    handles = max(command[4] for command in drawn[0].commands if command[0] == "C")
    assert handles > 80.4
    x, y = (80.0 * turn(math.radians(75.0)) for turn in (math.cos, math.sin))
    wanted = (-80.0 * math.sin(math.radians(13.0)) - 0.2, y - 0.2, x + 0.2, 80.2)
    assert sheet_bounds(drawn) == pytest.approx(wanted, abs=1e-3)
