"""The figure of a post that stands on the dropout: its edge, lengths, the metal sideways, what is asked."""

import math
import tomllib
from typing import Any

import pytest

from geometry.mount.placement import Placement
from sheets.ink.records import Curve, Sheet
from sheets.job.read import Job, parse, place_job, tubes_of
from sheets.pages.wraps.foot import FORMS
from sheets.pages.wraps.sheet import wraps
from sheets.setup.setup import set_up
from tests.pages.jobs import SAMPLES

SHOWN = ("avocet", "godwit", "lapwing", "turnstone", "whimbrel")


def _job(name: str, **tables: dict[str, Any]) -> Job:
    raw = tomllib.loads(SAMPLES[name].read_text(encoding="utf-8"))
    for key, table in tables.items():
        raw[key] = {**raw.get(key, {}), **table}
    return parse({key: {k: v for k, v in each.items() if v is not None} for key, each in raw.items()})


def _sheets(job: Job) -> tuple[Placement, tuple[Sheet, ...]]:
    placement = place_job(job)
    tubes = tubes_of(job)
    return placement, wraps(job, placement, tubes, set_up(job, placement, tubes)).sheets


def _said(job: Job) -> str:
    """Return what is lettered on the pages of wraps, in the order of drawing."""
    every = (label.text for sheet in _sheets(job)[1] for path in sheet.paths for label in path.labels)
    return " ".join(every)


def _curves(job: Job) -> dict[str, Curve]:
    found = (each for sheet in _sheets(job)[1] for each in sheet.features if isinstance(each, Curve))
    return {each.name: each for each in found if " lower end, " in each.name}


@pytest.mark.parametrize("name", SAMPLES)
def test_a_figure_is_drawn_where_a_post_or_boss_stands_on_the_dropout_and_nowhere_else(name: str) -> None:
    assert bool(_curves(_job(name))) == (name in SHOWN)


@pytest.mark.parametrize("name", ["avocet", "godwit", "turnstone", "whimbrel"])
def test_the_dropouts_edge_is_the_jobs_at_that_place(name: str) -> None:
    """Every corner of the job's edge that the figure shows lies on the drawn edge, at the figure's scale."""
    job = _job(name)
    placement, found = place_job(job), _curves(_job(name))
    cut = found["near lower end, cut"].points
    scale = next(k for k, *_ in FORMS if abs(math.dist(cut[0], cut[-1]) / k - 11.5) < 0.05)
    hole = placement.holes[0].centre
    middle = (cut[0][0] + cut[-1][0]) / 2.0
    t, n = placement.t, placement.n

    def deep(x: float, y: float) -> tuple[float, float]:
        dx, dy = x - hole[0], y - hole[1]
        return dx * t[0] + dy * t[1], -(dx * n[0] + dy * n[1])

    corners = [deep(x, y) for x, y in job.dropout.points or ()]
    drawn = [point for key, each in found.items() if ", edge 1" in key for point in each.points]
    length = job.boss.near_length or 0.0
    shown = [(u, v) for u, v in corners if abs(u) < 5.75 + 8.9 and length - 3.5 < v < length + 5.0]
    assert shown
    # The cut lies near_length below the face, to a tenth.
    level = (cut[0][1] + cut[-1][1]) / 2.0 + scale * length
    for u, v in shown:
        assert min(math.dist((middle - scale * u, level - scale * v), each) for each in drawn) < 0.1 * scale


def test_lengths_are_those_before_facing_where_stock_is_left() -> None:
    """The avocet's edge lies 18.98 to 19.02 below the face once faced, and 0.5 is left on it."""
    said = _said(_job("avocet"))
    assert "Cut it square, 19.52 below the mount face before facing (0.5 is faced off)" in said
    bare = _said(_job("avocet", process={"facing": 0}))
    assert "Cut it square, 19.02 below the mount face, and file it" in bare


def test_it_says_where_the_post_stands_what_is_beside_it_and_which_seam_is_counted_on() -> None:
    """Post 4.25 inboard, 5.75 either way; pad 11 inboard, plate 10: 1.0 and 8.5 are left beside it."""
    said = _said(_job("avocet"))
    for words in (
        "Its middle stands 4.25 inboard of the dropout's inner face.",
        "Beside it there is metal: 1.0 inboard, 8.5 outboard.",
        "a throat of 2.0 or more, a fillet with legs of 2.9",
        "it is not judged",
    ):
        assert words in said


def test_an_end_that_hangs_over_says_by_how_much_and_claims_no_seam() -> None:
    """Without its pad the avocet's post has 1.5 of its 11.5 on metal: it hangs over by 10 inboard."""
    said = _said(_job("avocet", dropout={"pad": None, "pad_height": None}, boss={"near_length": 27}))
    assert "It hangs over by 10.0 inboard and by 0.0 outboard." in said and "notch it on the side" in said
    assert "Join it all round" not in said
    slotted = _said(_job("lapwing"))
    assert "slot it over the dropout: 8.0 wide, 8.0 deep" in slotted and "Join it all round" not in slotted


def test_a_longer_post_is_told_to_be_cut_off() -> None:
    said = _said(_job("whimbrel", boss={"near_length": 47}))
    assert "The job gives 47.00: what is longer is cut off." in said


def test_what_is_not_known_is_asked_for() -> None:
    none = {"points": None, "holes": None, "pad": None, "pad_height": None, "outline_from": None}
    job = _job("avocet", dropout=none)
    said = _said(job)
    assert "lower end is shaped is not known: no outline of the dropout is given." in said
    assert "Give the dropout's outline" in said and not _curves(job)
    turned = _said(_job("whimbrel", dropout={"outline_from": None}))
    assert "how the dropout's outline stands is not given" in turned
    thin = _said(_job("avocet", dropout={"thickness": None}, bench={"plate_face": "inside"}))
    assert "measure the dropout's thickness" in thin and "Join it all round" not in thin


@pytest.mark.parametrize("size", ["A4", "Letter"])
@pytest.mark.parametrize("units", ["mm", "in", "both"])
def test_it_fits_its_page_in_any_units(size: str, units: str) -> None:
    for name in SHOWN:
        assert _curves(_job(name, paper={"size": size, "units": units}))
