"""What `check` and `draw` answer first: a verdict, findings by level in two lines each, ten numbers a mount.

How many lines and numbers there are is the project's own promise (book); no standard has it.
"""

import re
from collections.abc import Callable
from pathlib import Path

import pytest

from geometry.core.findings import LEVELS, Finding
from geometry.core.say import say
from sheets.actions.check import report
from sheets.home.jobs import load
from sheets.job.read import parse, place_job, tubes_of
from sheets.setup.findings import answer_lines, finding_lines, verdict
from sheets.setup.setup import set_up
from sheets.setup.ten import ten
from tests.frames import BAD, GOOD
from tests.pages.jobs import SAMPLES, sample

NAMES = sorted(SAMPLES)
FRAMES = [
    pytest.param(getattr(each, "document", each), id=f"{family}, {name}")
    for frames in ({**GOOD}, {**BAD})
    for family in frames
    for name, each in frames[family].items()
]
HEADS = {"stop": "STOP", "warn": "warning", "unknown": "unknown", "note": "note"}


def _found(level: str, large: bool = False) -> Finding:
    return Finding("made-up", level, "It is so.", large=large)  # type: ignore[arg-type]


@pytest.mark.parametrize("name", NAMES)
def test_the_answer_comes_first_then_findings_then_ten_numbers(run: Callable, name: str) -> None:
    out = run("check", SAMPLES[name]).out
    first, *rest = out.splitlines()
    assert first.startswith(f"{load(SAMPLES[name]).job.frame.id} ") and " may be drawn" in first
    levels = [line.split()[0] for line in rest if re.match(r"  (STOP|warning|unknown|note)  ", line)]
    assert levels and levels == sorted(levels, key=[*HEADS.values()].index)
    numbers = out.partition("Ten numbers for the bench")[2].splitlines()[1:-1]
    # A number is one line of 100 characters, each with its unit.
    assert len(numbers) == 10 and all(len(line) <= 100 for line in numbers)
    assert out.splitlines()[-1] == f"  Every number with its source: dropleaf check --all {SAMPLES[name]}"


@pytest.mark.parametrize("name", NAMES)
def test_all_prints_every_caution_reading_and_source_too(run: Callable, name: str) -> None:
    short, whole = (run("check", SAMPLES[name], *more).out for more in ((), ("--all",)))
    assert whole.startswith(short.partition("\n\n")[0])
    flat = " ".join(whole.split())
    done = report(load(SAMPLES[name]))
    for source in done.placement.interface.sources:
        assert " ".join(source.split()) in flat
    assert all(f"{each.mm.nominal} mm, " in flat for each in done.setup.readings)
    assert all(f"step {number}, " in flat for number, _ in done.setup.numbered)


@pytest.mark.parametrize("document", FRAMES)
def test_a_finding_is_two_lines_at_most_and_there_are_ten_numbers(document: dict) -> None:
    job = parse(document)
    placement, tubes = place_job(job), tubes_of(job)
    setup = set_up(job, placement, tubes)
    for each in (*placement.findings, *setup.findings):
        lines = finding_lines([each], 100)
        assert len(lines) <= 2, "\n".join(lines)
        assert all(len(line) <= 100 for line in lines)
    assert len(ten(job, placement, setup, tubes)) == 10


@pytest.mark.parametrize("name", NAMES)
def test_draw_finds_what_check_finds(run: Callable, name: str, delivered: dict) -> None:
    drawn = delivered[name, sample(name).paper.view].document
    assert drawn["findings"] == run("check", SAMPLES[name], "--json").json["findings"]


# What was found is told by one function; a tab, a post and a flat mount.
@pytest.mark.parametrize("name", ["dunlin", "avocet", "redshank"])
def test_draw_tells_the_same_as_check_and_then_the_files(run: Callable, name: str, tmp_path: Path) -> None:
    checked, drawn = run("check", SAMPLES[name]), run("draw", SAMPLES[name], "--out", tmp_path)
    answer, _, rest = drawn.out.partition("\n\n")
    assert answer == checked.out.partition("\n\n")[0]
    assert rest.index("drawn and read back") < rest.index(".pdf")


def test_the_gravest_level_is_the_verdict_and_a_stamped_row_is_never_good() -> None:
    found = [_found(level) for level in reversed(LEVELS)]
    for level in ("stop", "warn", "unknown"):
        assert verdict(found) == level
        found = [each for each in found if each.level != level]
    assert verdict(found) == "good" and verdict([]) == "good"
    assert verdict([*found, _found("note", large=True)]) == "confirm"


@pytest.mark.parametrize("width", [60, 80, 100])
def test_lines_keep_to_the_width_and_break_at_words(width: int) -> None:
    done = report(load(SAMPLES["redshank"]))
    lines = answer_lines(done.source.job, done.findings, width)
    assert all(len(line) <= width for line in lines)
    wide = " ".join(answer_lines(done.source.job, done.findings, 1000))
    assert " ".join(" ".join(lines).split()) == " ".join(wide.split())


def test_several_jobs_are_counted_on_the_last_line(run: Callable, tmp_path: Path) -> None:
    missing = tmp_path / "none.toml"
    ran = run("check", SAMPLES["lapwing"], SAMPLES["godwit"], missing)
    assert ran.status == 2
    assert ran.out.splitlines()[-1] == "3 jobs: 1 has warnings, 1 may be built and 1 could not be read."
    assert "jobs:" not in run("check", SAMPLES["dunlin"]).out


def test_what_turns_on_a_place_that_nobody_measured_is_unknown() -> None:
    text = say("clearance.stays_cross", x=0.0, y=0.0)
    (line,) = finding_lines([Finding("x", "unknown", text, brief="It is open.")], 100)
    assert line == "  unknown  It is open."
