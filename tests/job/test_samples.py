"""The samples: clean models that a builder copies, and one difficulty each in the others, which they name."""

import re

import pytest

from geometry.tables.loads import kinds
from sheets.home.jobs import load
from sheets.job.read import place_job, tubes_of
from sheets.setup.setup import set_up
from tests.pages.jobs import SAMPLES

# The code of what is found, its level, and the words by which the file names it.
DIFFICULT = {
    "lapwing": ({"tube-weak": "warn"}, "a leg that is too light"),
    "redshank": ({"clearance-tight": "warn"}, "little room"),
    "sanderling": ({"hole-weakens": "warn"}, "a large hole"),
    "turnstone": (
        {"clearance-unknown": "unknown", "strength-unknown": "unknown"},
        "a tube that nobody measured",
    ),
}

CLEAN = {*SAMPLES} - {*DIFFICULT}


def _graver(name: str) -> dict[str, str]:
    """Return what is found of a sample that is more than a note: its codes and their levels."""
    source = load(SAMPLES[name])
    placement = place_job(source.job)
    setup = set_up(source.job, placement, tubes_of(source.job))
    found = (*source.job.findings, *placement.findings, *setup.findings)
    return {each.code: each.level for each in found if each.level != "note"}


def _first_words(name: str) -> str:
    """Return the first line of a sample after the one that names its schema."""
    first, second, *_ = SAMPLES[name].read_text(encoding="utf-8").splitlines()
    assert first == "#:schema job.schema.json"
    return second


def test_every_sample_is_a_model_or_shows_a_difficulty() -> None:
    assert {*DIFFICULT} <= {*SAMPLES} and len(CLEAN) >= 4


def test_the_story_has_every_sample() -> None:
    story = (SAMPLES["dunlin"].parent / "README.md").read_text(encoding="utf-8")
    clean, difficult = story.split("**Others taught something**")
    told = [{*re.findall(r"(?m)^- `(\w+)`", each)} for each in (clean, difficult)]
    assert told == [CLEAN, {*DIFFICULT}], "samples/README.md has a line for each sample, `NAME` first"


@pytest.mark.parametrize("name", sorted(CLEAN))
def test_a_clean_model_has_nothing_graver_than_notes(name: str) -> None:
    assert _first_words(name).startswith("# A clean model to copy: "), "or it stands in DIFFICULT above"
    assert _graver(name) == {}
    # Nothing is silenced to get there: no limit of the job's own.
    job = load(SAMPLES[name]).job
    assert job.boss.share is None and job.load.ratio is None
    # A load of the job's own is no lighter than what is taken without one.
    assert job.load.mass is None or job.load.mass > kinds()["solo"].mass.value
    assert not job.clearance.model_fields_set


@pytest.mark.parametrize("name", sorted(DIFFICULT))
def test_the_others_show_the_one_difficulty_that_they_name(name: str) -> None:
    found, words = DIFFICULT[name]
    assert _first_words(name).startswith(f"# Shows one difficulty, {words}: ")
    assert _graver(name) == found
