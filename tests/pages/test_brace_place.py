"""Where a brace goes is told where it is made and fitted: on wraps and card."""

import tomllib

import numpy as np
import pytest

from sheets.ink.records import Curve
from sheets.job.operations import SHIPPED
from sheets.job.read import Job, parse, place_job, tubes_of
from sheets.pages.running.card import card
from sheets.pages.wraps.sheet import wraps
from sheets.setup.setup import SetUp, set_up
from sheets.words.tell import tell
from tests.pages.jobs import SAMPLES


def _job(on_seatstay: float) -> Job:
    raw = tomllib.loads(SAMPLES["dunlin"].read_text(encoding="utf-8"))
    raw["tubes"]["brace"]["on_seatstay"] = on_seatstay
    return parse(raw)


def _set_up(job: Job) -> SetUp:
    return set_up(job, place_job(job), tubes_of(job))


def test_the_card_says_how_far_up_each_stay_it_is() -> None:
    job = _job(112.5)
    setup = _set_up(job)
    place = "Its middle meets the chainstay 115 mm and the seatstay 112.5 mm from the axle."
    (step,) = (each for each in setup.operations if each.key == "brace")
    assert place in step.brief
    (sheet,) = card(job, place_job(job), setup)
    assert place in " ".join(text.text for text in sheet.texts)


def test_a_brace_that_is_only_in_the_order_of_work_has_no_place() -> None:
    raw = tomllib.loads(SAMPLES["dunlin"].read_text(encoding="utf-8"))
    del raw["tubes"]["brace"]
    raw["traveller"] = {"operations": list(SHIPPED)}
    (step,) = (each for each in _set_up(parse(raw)).operations if each.key == "brace")
    assert step.text.endswith(tell("operations.brace_unplaced")) and "from the axle" not in step.text


@pytest.mark.parametrize("s", [112.5, 115.0])
def test_the_stays_wrap_has_a_line_where_its_middle_comes(s: float) -> None:
    """The line lies s up the stay in the side view: square to it through the axle, by the points in space."""
    job = _job(s)
    tubes = tubes_of(job)
    found = wraps(job, place_job(job), tubes, _set_up(job))
    curves = [each for sheet in found.sheets for each in sheet.features if isinstance(each, Curve)]
    (line,) = (each for each in curves if each.name == "seatstay wrap, brace")
    assert line.space is not None
    up = np.asarray(line.space)[:, :2] @ np.asarray(tubes["seatstay"].t0)
    assert up == pytest.approx(s, abs=0.5)
    said = [label.text for sheet in found.sheets for path in sheet.paths for label in path.labels]
    assert ("brace," in said and f"{s:g}" in said) or f"brace, {s:g}" in said
    assert any(f"its middle 115 up the chainstay and {s:g} up the" in text for text in said)


def test_a_line_that_the_strip_does_not_reach_is_left_out() -> None:
    job = _job(180.0)
    found = wraps(job, place_job(job), tubes_of(job), _set_up(job))
    assert not any(each.name.endswith("wrap, brace") for sheet in found.sheets for each in sheet.features)
