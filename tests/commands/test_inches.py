"""Readings of a job that tells inches: in the form of its packet, and asked for at the keyboard."""

from pathlib import Path

import pytest

from sheets.actions.readings_file import form_entries, with_unit
from sheets.job.read import place_job
from sheets.words.lengths import Units, telling
from sheets.words.readings import limit_words
from sheets.words.tell import tell
from tests.commands.conftest import REAR, Run
from tests.pages.jobs import sample


@pytest.mark.parametrize(
    ("written", "units", "read"),
    [
        ("1.571", "in", "1.571 in"),
        ("1-3/8", "in", "1-3/8 in"),
        ("-0.010", "in", "-0.010 in"),
        ("39.9 mm", "in", "39.9 mm"),
        ("1.571 in", "in", "1.571 in"),
        ("about 2", "in", "about 2"),
        ("", "in", ""),
        # A sheet of both asks for mm, and inches say so.
        ("39.9", "both", "39.9"),
        ("39.9", "mm", "39.9"),
    ],
)
def test_a_bare_number_is_inches_only_where_the_sheet_asks_for_inches(
    written: str, units: Units, read: str
) -> None:
    assert with_unit(written, units) == read
    (entry,) = form_entries(Path("a.pdf"), {"reading.cold.far": written}, units)
    assert entry.value == read


@pytest.mark.parametrize(("units", "spacing"), [("in", "2.008 in"), ("both", "51.00 mm (2.008 in)")])
def test_check_tells_inches_and_what_was_typed(run: Run, tmp_path: Path, units: str, spacing: str) -> None:
    """By hand: 51 mm is 2.0079 in. REAR types its dropout as 1/4 in."""
    job = tmp_path / "knot.toml"
    job.write_text(f'{REAR}[paper]\nunits = "{units}"\n', encoding="utf-8")
    short = run("check", job)
    assert f"{spacing} between middles" in " ".join(short.out.split())
    whole = " ".join(run("check", job, "--all").out.split())
    assert "go 2.065 to 2.070" in whole
    document = run("check", job, "--json").json
    assert document["job"]["dropout"]["thickness"] == 6.35
    assert document["job"]["paper"]["units"] == units


def test_units_that_are_not_known_are_refused_with_those_that_are(run: Run, tmp_path: Path) -> None:
    job = tmp_path / "knot.toml"
    job.write_text(f'{REAR}[paper]\nunits = "inch"\n', encoding="utf-8")
    ran = run("check", job)
    assert ran.status == 2
    assert "paper.units" in ran.errors[0]
    assert all(each in ran.errors[0] for each in ("mm", "in", "both"))


@pytest.mark.parametrize(("units", "said"), [("in", "0.005 in*"), ("both", "0.15 (0.005 in)*")])
def test_how_far_near_and_far_may_differ_is_told_inward(units: Units, said: str) -> None:
    """By hand: 0.15 mm is 0.0059 in; who lets 0.006 in pass lets 0.152 mm pass."""
    drawn = sample("dunlin")
    with telling(units):
        words = limit_words(place_job(drawn), (), None, ())
    assert any(f"must agree to {said}" in each for each in words)


@pytest.mark.parametrize(
    ("units", "said"), [("mm", "in 50"), ("in", "in 1.969 in"), ("both", "in 50 (1.969 in)")]
)
def test_what_lies_square_across_is_told_in_the_packets_units(units: Units, said: str) -> None:
    """By hand: 50 mm is 1.9685 in."""
    with telling(units):
        assert tell("reading.what.lean", base=50.0) == f"square across {said}"
        assert tell("tubes.begins", s=45.0).startswith("where the tube begins, ")
        assert "/" not in tell("tubes.begins", s=45.0)
