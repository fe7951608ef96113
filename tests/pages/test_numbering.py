"""A packet's pages are numbered through, each once, in the room that its title block keeps for that."""

import pytest

from fonts.drafting import width
from sheets.actions.draw import plan
from sheets.ink.bounds import sheet_bounds
from sheets.ink.records import Path
from sheets.job.read import load
from sheets.pages.numbering import numbered
from sheets.words.tell import tell
from tests.pages.jobs import SAMPLES


@pytest.mark.parametrize("name", SAMPLES)
def test_every_page_that_is_laid_on_metal_bears_its_number(name: str) -> None:
    each = plan(load(SAMPLES[name]), None)
    count = len(each.sheets)
    for number, (alone, sheet) in enumerate(zip(each.sheets, each.packet.sheets, strict=True), start=1):
        if alone.number_at is None:
            assert not alone.full_size
            assert sheet == alone
            continue
        # Nothing else is changed, and what is new lies left of its place, on its line.
        *before, last = sheet.records
        assert tuple(before) == alone.records
        assert isinstance(last, Path)
        left, low, right, top = sheet_bounds((last,))
        (x, y), wide = alone.number_at, width(tell("packet.page", number=number, count=count), 3.5)
        assert (left, right) == pytest.approx((x - wide, x), abs=1.0)
        assert y - 1.5 < low < top < y + 4.5


def test_the_room_kept_is_enough_for_a_long_packet() -> None:
    assert width(tell("packet.page", number=28, count=28), 3.5) < 36.0


def test_of_none_there_are_none() -> None:
    assert numbered(()) == ()
