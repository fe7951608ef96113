"""Paper sizes as published, in millimetres and in points of 1/72 inch."""

import pytest

from sheets.ink.paper import PAPERS

# ISO 216 (A4, A3): mainthebest.com and distromedia.com tables. Letter, Legal, Tabloid by their inches:
# simplewoody.com and unitplanet.com. Points: own arithmetic, mm * 72 / 25.4.
SIZES = {
    "A4": ((210.0, 297.0), (595.2756, 841.8898)),
    "A3": ((297.0, 420.0), (841.8898, 1190.5512)),
    "Letter": ((215.9, 279.4), (612.0, 792.0)),
    "Legal": ((215.9, 355.6), (612.0, 1008.0)),
    "Tabloid": ((279.4, 431.8), (792.0, 1224.0)),
}


@pytest.mark.parametrize("name", SIZES)
def test_a_paper_is_as_large_as_published(name: str) -> None:
    paper = PAPERS[name]
    mm, points = SIZES[name]
    assert paper.name == name
    assert (paper.width, paper.height) == pytest.approx(mm, abs=1e-9)
    assert (paper.width * 72 / 25.4, paper.height * 72 / 25.4) == pytest.approx(points, abs=0.00005)


def test_no_paper_is_shipped_that_is_not_checked_here() -> None:
    assert list(PAPERS) == list(SIZES)


def test_a_sheet_halved_keeps_its_shape() -> None:
    # ISO 216: each A size is half of the one before it and of the same shape, rounded down to whole mm.
    a4, a3 = PAPERS["A4"], PAPERS["A3"]
    assert (a3.width, a3.height // 2) == (a4.height, a4.width)
    for paper in (a4, a3):
        assert paper.height / paper.width == pytest.approx(2**0.5, abs=0.5 / paper.width * 2**0.5)
