"""How wraps are put on pages: it always ends, whatever fraction of a millimetre a strip leaves of a page."""

from collections.abc import Iterator
from contextlib import contextmanager
from unittest.mock import patch

import pytest
from hypothesis import given
from hypothesis import strategies as st

from geometry.core.errors import FitError
from sheets.ink.drawing import Drawing
from sheets.ink.placing import Box
from sheets.job.read import Job, place_job, tubes_of
from sheets.pages.wraps import sheet as wrap
from sheets.pages.wraps.parts import parts
from tests.pages.jobs import sample
from tests.pages.test_clean import faults
from tests.pages.wrapped import drawn

ZONE = (31.35, 84.65, 204.65, 286.65)
"""A zone as an A4 page leaves it, its sides no whole millimetres, as title blocks make them."""
INNER = (ZONE[0] + 2.0, ZONE[1] + 2.0, ZONE[2] - 2.0, ZONE[3] - 2.0)
MOST = 40
"""More pages than any case here can take: one that goes on for ever is stopped, not waited for."""
STEPS = [step / 2 for step in range(120, 181)]


def asking(clear: float) -> Job:
    """Return the job of the fork whose strips came out just shorter than a page, with another zone."""
    job = sample("godwit")
    return job.model_copy(update={"wrap": job.wrap.model_copy(update={"clear": clear})})


@contextmanager
def counted() -> Iterator[None]:
    """Fail as soon as more pages are begun than there can be."""
    begun = 0

    def begin() -> Drawing:
        nonlocal begun
        begun += 1
        assert begun <= MOST, "pages are added for ever"
        return Drawing()

    with patch.object(wrap, "Drawing", begin):
        yield


def block(size: tuple[float, float]) -> wrap._Block:
    return wrap._Block("strip", size, lambda drawing, corner, grid: None)


def boxes(placed: list[list[tuple[wrap._Block, tuple[float, float]]]]) -> list[list[Box]]:
    return [[(x, y, x + b.size[0], y + b.size[1]) for b, (x, y) in page] for page in placed]


# Hundredths up to the very size of an empty page.
wide = st.integers(500, round((INNER[2] - INNER[0]) * 100)).map(lambda value: value / 100)
tall = st.integers(500, round((INNER[3] - INNER[1]) * 100)).map(lambda value: value / 100)


@given(st.lists(st.tuples(wide, tall), min_size=1, max_size=8))
def test_every_block_that_fits_a_page_gets_a_place_clear_of_the_others(
    sizes: list[tuple[float, float]],
) -> None:
    with counted():
        placed = wrap._packed([block(size) for size in sizes], ZONE)
    assert sum(len(page) for page in placed) == len(sizes)
    assert all(placed)
    for page in boxes(placed):
        for number, (left, low, right, top) in enumerate(page):
            assert left >= INNER[0] - 1e-9 and low >= INNER[1] - 1e-9
            assert right <= INNER[2] + 1e-9 and top <= INNER[3] + 1e-9
            for other in page[:number]:
                assert left >= other[2] or right <= other[0] or low >= other[3] or top <= other[1]


@pytest.mark.parametrize("less", [0.0, 0.01, 0.3, 0.5, 0.99, 1.0, 1.5])
def test_a_block_hardly_smaller_than_the_page_is_put_on_one(less: float) -> None:
    size = (INNER[2] - INNER[0] - less, INNER[3] - INNER[1] - less)
    with counted():
        placed = wrap._packed([block(size), block(size)], ZONE)
    # Each fills a page: two of them can never share one.
    assert [len(page) for page in placed] == [1, 1]


def test_no_zone_round_the_joint_makes_pages_without_end() -> None:
    for clear in STEPS:
        job = asking(clear)
        placement, tubes = place_job(job), tubes_of(job)
        with counted():
            made = parts(job, placement, tubes)
            zone = wrap._page(job, placement, made, "", "wraps 1 of 1").zone
            fitting, large = wrap._blocks(job, made, zone)
            pages = wrap._packed(fitting, zone)
        assert sum(len(page) for page in pages) == len(fitting), clear
        assert len(fitting) + len(large) == len(made.strips) + len(made.plates), clear
        assert len(pages) <= len(fitting), clear


@pytest.mark.parametrize("clear", [73.9, 74.2, 74.5, 74.8])
def test_a_strip_hardly_shorter_than_its_page_is_drawn_clean(clear: float) -> None:
    with counted():
        done = drawn(asking(clear))
    assert done.wraps.sheets
    # What a strip is too tall by is said of tiles alone; here each has a page.
    assert all(sheet.tile is None for sheet in done.wraps.sheets)
    for caught in done.caught:
        assert faults(caught) == []


def test_a_strip_too_tall_is_refused_where_tiles_are() -> None:
    job = asking(90.0)
    job = job.model_copy(update={"paper": job.paper.model_copy(update={"tile": "never"})})
    with pytest.raises(FitError, match=r"wrap\.too_large\(.*wrap\.over\.tall.*size='A4'"):
        drawn(job)
