"""The proof: what a ruler is laid along is as long as it says, and it is as clean as every other sheet."""

import math
from unittest.mock import patch

import pytest
import svgelements

from geometry.core.errors import FitError
from sheets.files.write.svg import write_svg
from sheets.ink.corrected import in_file
from sheets.ink.long_bars import bars_of
from sheets.ink.paper import PAPERS
from sheets.ink.records import Circle, Segment
from sheets.pages.running import proof as page
from sheets.pages.running.proof import proof
from tests.pages.jobs import SIZES, Caught, Noted, sample
from tests.pages.test_clean import faults

LINE = "Corrected for printer Shop laser: across ×0.9915, down ×1.0115, skew 0.38°; bars must read true."
NAMES = [
    "bar across",
    "bar down",
    "diagonal rising",
    "diagonal falling",
    "circle",
    "card across",
    "card down",
]


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("line", ["", LINE])
def test_a_proof_is_clean_and_shows_everything(size: str, line: str) -> None:
    drawing = Noted()
    with patch.object(page, "Drawing", lambda: drawing):
        sheet = proof(PAPERS[size], line)
    caught = Caught(sample("dunlin"), sheet, tuple(drawing.lettered))
    # The card's lettering stands by itself, not in a column of its own.
    assert [fault for fault in faults(caught) if "stray line" not in fault] == []
    assert [feature.name for feature in sheet.features] == NAMES
    assert (sheet.kind, sheet.margin) == ("proof", 10.0)
    title = caught.title
    for said in ("Print at 100 %, actual size", f"--paper {size} --across [1] --down [2]", line):
        assert said in title
    assert [label for label in "1234" if label not in caught.labels] == []


@pytest.mark.parametrize("size", SIZES)
def test_bars_are_as_long_as_fits_and_measure_so_in_the_file(size: str, tmp_path) -> None:
    """Whole fives, within the margins; read from the SVG by a library that the project does not use."""
    paper, bars = PAPERS[size], bars_of(PAPERS[size])
    sheet = proof(paper)
    # A border of 10, 12 or 10 of figures beside the other bar, and not another 5 left (own arithmetic).
    for length, room, beside in ((bars.across, paper.width, 12.0), (bars.down, paper.height, 10.0)):
        assert 0.0 <= room - 20.0 - beside - 1.0 - length < 5.0
        assert length % 5.0 == 0.0
    file = tmp_path / "proof.svg"
    write_svg(sheet, file)
    svg = svgelements.SVG.parse(str(file), ppi=25.4)
    found = {each.id: each for each in svg.elements() if isinstance(each, svgelements.Path)}
    for name, length in (
        ("bar-across", bars.across),
        ("bar-down", bars.down),
        ("diagonal-rising", math.hypot(bars.wide, bars.high)),
        ("diagonal-falling", math.hypot(bars.wide, bars.high)),
    ):
        line = found[name]
        assert abs(line.point(1.0) - line.point(0.0)) == pytest.approx(length, abs=1e-3)


def test_ticks_are_millimetres_and_sixteenths() -> None:
    """Feet of the ticks along the bar across: every mm above it, every 25.4 / 16 below it."""
    sheet = proof(PAPERS["A4"])
    bar = sheet.features[0]
    assert isinstance(bar, Segment)
    x0, y0 = bar.start
    above, below = set(), set()
    for path in sheet.paths:
        if path.layer != "scale" or path.name or path.style.cap == "round":
            continue
        for one, two in zip(path.commands, path.commands[1:], strict=False):
            if one[0] == "M" and two[0] == "L" and one[2] == y0 and one[1] >= x0 and one[1] == two[1]:
                (above if two[2] > y0 else below).add(round(one[1] - x0, 6))
    assert above == {0.0, *(float(mm) for mm in range(5, 176))}
    # 175 mm are 110 sixteenths and a bit.
    assert below == {round(25.4 * part / 16, 6) for part in range(111)}


def test_the_same_paper_has_the_same_bars_corrected_or_not() -> None:
    assert proof(PAPERS["A4"]).features == proof(PAPERS["A4"], LINE).features


def test_words_that_are_too_tall_are_refused() -> None:
    with pytest.raises(FitError, match=r"proof\.too_tall"):
        proof(PAPERS["A4"], " ".join([LINE] * 5))


def test_a_sheet_without_a_distortion_is_itself() -> None:
    sheet = proof(PAPERS["A4"])
    assert in_file(sheet, None) is sheet
    assert any(isinstance(feature, Circle) and feature.diameter == 50.0 for feature in sheet.features)
