"""Pictures from independent programs agree, and measure what the sheet says."""

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path as File

import numpy as np
import pytest

from sheets.files.write.svg import write_svg
from sheets.ink.paper import PAPERS
from sheets.ink.records import Circle, Command, Segment, Sheet
from tests import raster
from tests.files.shapes import full_sheet

MakePacket = Callable[..., File]


def shifted(sheet: Sheet, dx: float, dy: float) -> Sheet:
    def shift(command: Command) -> Command:
        letter, *values = command
        return (letter, *(value + (dy if index % 2 else dx) for index, value in enumerate(values)))

    paths = (replace(path, commands=tuple(map(shift, path.commands))) for path in sheet.records)
    return replace(sheet, records=tuple(paths))


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_pdf_and_svg_show_the_same_and_a_shift_is_noticed(
    make_packet: MakePacket, tmp_path: File, paper: str
) -> None:
    sheet = full_sheet(PAPERS[paper])
    svg = tmp_path / "sheet.svg"
    from_pdf = raster.poppler(make_packet(sheet))
    write_svg(sheet, svg)
    assert raster.differences(from_pdf, raster.librsvg(svg)) == []
    write_svg(shifted(sheet, 0.05, 0.05), svg)
    assert raster.differences(from_pdf, raster.librsvg(svg))


def test_the_comparer_sees_what_is_wrong() -> None:
    page = np.zeros((300, 200))
    page[50:54, 20:180] = 1
    assert raster.differences(page, page) == []
    assert raster.differences(page * 0, page * 0) == ["both pictures are empty"]
    assert raster.differences(page, np.roll(page, 1, axis=0)) == ["50.0% of the inked pixels differ"]
    assert len(raster.differences(page, np.roll(page, 2, axis=0))) == 2
    speck = page.copy()
    speck[200, 100] = 1
    assert raster.differences(page, speck) == [
        "ink astray, the first 10.0 mm from the left and 20.0 mm from the top"
    ]
    assert raster.differences(page[:290], np.pad(page, ((0, 1), (0, 1)))) == []


@pytest.mark.parametrize("render", [raster.poppler, raster.mupdf, raster.ghostscript])
@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_holes_and_bars_measure_what_they_should(make_packet: MakePacket, render, paper: str) -> None:
    sheet = full_sheet(PAPERS[paper])
    # Of two pages, so that the right one must be drawn.
    picture = render(make_packet(full_sheet(PAPERS["A3"]), sheet), 2)
    measured = 0
    for feature in sheet.features:
        match feature:
            case Circle(centre=wanted, diameter=diameter):
                centre, found = raster.circle_in(picture, wanted, diameter, sheet.paper.height)
                assert centre == pytest.approx(wanted, abs=0.05)
                assert found == pytest.approx(diameter, abs=0.05)
                measured += 1
            case Segment(start=start, end=end):
                length = np.hypot(end[0] - start[0], end[1] - start[1])
                found = raster.bar_in(picture, start, end, sheet.paper.height)
                assert found == pytest.approx(length, abs=0.05)
                measured += 1
    assert measured == 4


def test_the_ruler_for_pictures_is_itself_right(make_packet: MakePacket) -> None:
    """A hole moved, a hole widened and a bar lengthened by 0.2 mm measure just that much more."""
    sheet = full_sheet()
    hole, bar = sheet.features[0], sheet.features[2]
    assert isinstance(hole, Circle)
    assert isinstance(bar, Segment)
    moved = shifted(sheet, 0.2, -0.2)
    picture = raster.poppler(make_packet(moved))
    centre, diameter = raster.circle_in(picture, hole.centre, hole.diameter, sheet.paper.height)
    assert centre == pytest.approx((hole.centre[0] + 0.2, hole.centre[1] - 0.2), abs=0.02)
    assert diameter == pytest.approx(hole.diameter, abs=0.02)
    stretched = tuple(
        replace(path, commands=(path.commands[0], ("L", bar.end[0] + 0.2, bar.end[1])))
        if path.name == bar.name
        else path
        for path in sheet.records
    )
    picture = raster.poppler(make_packet(replace(sheet, records=stretched)))
    assert raster.bar_in(picture, bar.start, bar.end, sheet.paper.height) == pytest.approx(150.2, abs=0.03)
