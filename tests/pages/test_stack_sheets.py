"""The stack on every sheet that shows it: card, section, wraps and fixture say one thing."""

from typing import Any

import numpy as np
import pytest

from sheets.ink.records import Curve, Sheet
from sheets.job import Job, parse, place_job, tubes_of
from sheets.pages.card import card
from sheets.pages.wrap_parts import parts
from sheets.setup import SetUp, set_up

TAB: dict[str, Any] = {
    "frame": {"id": "ruff-1"},
    "mount": {"end": "rear", "interface": "is-rear", "rotor": 160, "host": "seatstay"},
    "axle": {"system": "135-qr"},
    "dropout": {"thickness": 7},
    "tubes": {"seatstay": {"diameters": [[28, 14], [380, 16]], "included": 62, "outset": 4.5}},
    "boss": {"thickness": 6},
    "bench": {"plate": 8, "plate_face": "inside", "spacers": [10, 5, 3, 2, 1, 1, 0.5]},
    "process": {"facing": 0.5},
}


def job_of(base: dict[str, Any], **tables: dict[str, Any]) -> Job:
    """Return a job with some keys of its tables changed."""
    return parse({key: {**base.get(key, {}), **tables.get(key, {})} for key in {**base, **tables}})


def made(job: Job) -> tuple[SetUp, tuple[Sheet, ...], str]:
    """Return a job's set-up, its card and the card's running text."""
    placement = place_job(job)
    setup = set_up(job, placement, tubes_of(job))
    sheets = card(job, placement, setup)
    return setup, sheets, " ".join(text.text for sheet in sheets for text in sheet.texts)


def test_the_card_sets_a_tab_with_its_stock_on_as_its_readings_have_it() -> None:
    setup, sheets, said = made(job_of(TAB))
    assert "No spacers" not in said and setup.choice is None
    assert "less stock left for facing 0.50: -0.50 to fill" in said
    assert "relieve the plate 0.5 mm deep there" in said
    before = next(each for each in setup.readings if each.name == "inner face to tab, before facing")
    assert setup.build_up is not None and before.nominal == setup.build_up.stack == -0.5
    # In the section the page's Y is z at full size: 0.5 of stock inboard, 6 finished outboard.
    (tab,) = [each for each in sheets[0].features if isinstance(each, Curve) and each.name == "tab"]
    axle_y = sheets[0].axle[1]
    levels = {round(y - axle_y, 6) for _, y in tab.points}
    assert levels == {-0.5, 6.0}


def test_left_alone_the_set_up_looks_for_the_face_that_asks_for_no_relief() -> None:
    free = {key: value for key, value in TAB["bench"].items() if key != "plate_face"}
    setup, _, _ = made(parse({**TAB, "bench": free}))
    assert setup.build_up is not None
    # Outside 7 to the datum, less the 6 of the finished tab: own arithmetic.
    assert (setup.build_up.plate_face, setup.build_up.stack) == ("outside", 1.0)


@pytest.mark.parametrize(("facing", "inner"), [(0.0, 0.0), (0.5, -0.5)])
def test_a_tabs_cope_is_cut_with_the_stock_on(facing: float, inner: float) -> None:
    job = job_of(TAB, process={"facing": facing})
    placement = place_job(job)
    found = {
        plate.edge.face: np.unique(np.round(np.asarray(plate.edge.space)[:, 2], 6))
        for plate in parts(job, placement, tubes_of(job)).plates
    }
    assert {face: list(z) for face, z in found.items()} == {"inner": [inner], "outer": [6.0]}
