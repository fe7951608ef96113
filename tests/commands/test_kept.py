"""What is worked out once for equal jobs changes nothing, whatever is drawn or measured in between."""

from collections.abc import Callable
from pathlib import Path

import pytest

from geometry.tubes.tube import frame, half_axes
from sheets.actions.pages import KINDS, made
from sheets.job.read import load, place_job, tubes_of
from sheets.setup.setup import set_up
from tests.conftest import forget

SAMPLES = Path(__file__).parents[2] / "samples"


def packet(run: Callable, job: Path, out: Path) -> dict[str, bytes]:
    """Return the bytes of every file that a job is drawn into."""
    ran = run("draw", job, "--out", out)
    assert ran.status == 0
    return {file.name: file.read_bytes() for file in out.iterdir()}


def test_a_job_drawn_between_changes_nothing(run: Callable, write: Callable, tmp_path: Path) -> None:
    """Two jobs that differ in one number, drawn as A, B, A, and A again with nothing kept."""
    first = write(tmp_path / "a" / "knot.toml")
    other = write(tmp_path / "b" / "knot.toml", ("outset = 5", "outset = 5.5"))
    forget()
    before = packet(run, first, tmp_path / "1")
    between = packet(run, other, tmp_path / "2")
    again = packet(run, first, tmp_path / "3")
    forget()
    afresh = packet(run, first, tmp_path / "4")
    assert before == again == afresh
    assert before.keys() == between.keys()
    assert before["knot-1.pdf"] != between["knot-1.pdf"]


def test_equal_jobs_have_one_set_up_and_one_set_of_sheets() -> None:
    done = []
    for _ in range(2):
        job = load(SAMPLES / "dunlin.toml").job
        placement, tubes = place_job(job), tubes_of(job)
        setup = set_up(job, placement, tubes)
        done.append((setup, [made(kind, job, placement, setup) for kind in KINDS if kind != "traveller"]))
    assert done[0][0] is done[1][0]
    assert all(one is other for one, other in zip(done[0][1], done[1][1], strict=True))


def test_a_usual_number_that_is_given_is_not_one_that_was_left_out(
    run: Callable, write: Callable, tmp_path: Path
) -> None:
    """The sheets of one say that the dummy axle was not measured, those of the other do not."""
    given = write(tmp_path / "a" / "knot.toml", ("[dropout]", "dummy = 19.05\n[dropout]"))
    left_out = write(tmp_path / "b" / "knot.toml")
    assert load(given).job.axle.dummy == load(left_out).job.axle.dummy
    assert load(given).job != load(left_out).job
    for job, told in ((given, False), (left_out, True), (given, False)):
        ran = run("draw", job, "--out", tmp_path / "paper", "--replace", "--json")
        said = [warning for warning in ran.json["warnings"] if "dummy axle is taken to be" in warning]
        assert bool(said) is told


def test_what_is_kept_of_a_tube_cannot_be_written() -> None:
    job = load(SAMPLES / "dunlin.toml").job
    tube = tubes_of(job)["chainstay"]
    for kept in frame(tube)[:3]:
        with pytest.raises(ValueError, match="read-only"):
            kept[0] = 1.0
    # What is worked out anew for each caller is the caller's own.
    half_axes(tube, frame(tube)[0])[0][0] = 1.0


def test_a_printer_measured_anew_is_asked_again(run: Callable, write: Callable, tmp_path: Path) -> None:
    """The job names its printer; what the ruler read on it is no part of the job."""
    job = write(tmp_path / "knot.toml", ("[axle]", '[paper]\nprinter = "kept-test"\n[axle]'))
    told = []
    for across in ("174.5", "175.5"):
        add = ("printer", "add", "kept-test", "--paper", "A4", "--across", across, "--down", "266")
        ran = run(*add, "--rising", "229.5", "--falling", "229", "--replace")
        assert ran.status == 0, ran.errors
        told.append(packet(run, job, tmp_path / across))
    assert told[0]["knot-1-template.svg"] != told[1]["knot-1-template.svg"]
