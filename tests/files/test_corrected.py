"""Files corrected for a printer: what is in them, what is measured of them, and what they print."""

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path as File

import numpy as np
import pypdf
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import ndimage

from geometry.core.errors import FitError, ReadBackError
from geometry.printing.distortion import Distortion
from sheets.files.read.readback import verify_pdf, verify_svg
from sheets.files.write.svg import write_svg
from sheets.ink.corrected import in_file, on_paper, point_in_file
from sheets.ink.paper import PAPERS
from sheets.ink.records import Circle, Field, Segment, Sheet
from sheets.pages.running.proof import proof
from sheets.words.tell import lines
from tests import raster
from tests.files.shapes import full_sheet, sheet

MakePacket = Callable[..., File]

OFF = Distortion(0.972, 1.021, 0.35)
"""A printer 2.8 % short across and 2.1 % long down, and not square."""
PRINTERS = st.builds(Distortion, st.floats(0.96, 1.04), st.floats(0.96, 1.04), st.floats(-1.0, 1.0))


def as_printed(x: float, y: float, paper, printer: Distortion) -> tuple[float, float]:
    """Return where a printer puts a point of the page: about the middle, leaning right. Own arithmetic."""
    lean = np.radians(printer.skew)
    x, y = x - paper.width / 2, y - paper.height / 2
    return (
        paper.width / 2 + printer.across * x + printer.down * y * np.sin(lean),
        paper.height / 2 + printer.down * y * np.cos(lean),
    )


@given(PRINTERS, st.sampled_from(list(PAPERS.values())), st.floats(0, 300), st.floats(0, 430))
def test_a_point_of_the_file_prints_where_the_paper_wants_it(printer, paper, x: float, y: float) -> None:
    there = point_in_file((x, y), paper, printer)
    assert as_printed(*there, paper, printer) == pytest.approx((x, y), abs=1e-9)
    assert on_paper(np.array([there]), paper, printer)[0] == pytest.approx((x, y), abs=1e-9)


@pytest.mark.parametrize("size", PAPERS)
def test_a_corrected_file_measures_true_on_paper_and_its_page_is_untouched(
    make_packet: MakePacket, tmp_path: File, size: str
) -> None:
    paper = PAPERS[size]
    # The proof is the sheet that reaches furthest.
    sheets = [full_sheet(paper), proof(paper)]
    packet = make_packet(*(in_file(each, OFF) for each in sheets))
    assert verify_pdf(packet, sheets, (), OFF) <= 0.001
    for page in pypdf.PdfReader(packet).pages:
        for box in (page.mediabox, page.cropbox, page.trimbox, page.bleedbox, page.artbox):
            measured = [float(value) / 72 * 25.4 for value in box]
            assert measured == pytest.approx([0, 0, paper.width, paper.height], abs=1e-4)
    assert pypdf.PdfReader(packet).root_object["/ViewerPreferences"]["/PrintScaling"] == "/None"
    svg = tmp_path / "sheet.svg"
    for each in sheets:
        write_svg(in_file(each, OFF), svg)
        assert verify_svg(svg, each, OFF) <= 0.001


@pytest.mark.parametrize(
    "wrong",
    [None, Distortion(), replace(OFF, across=0.9725), replace(OFF, down=1.0205), replace(OFF, skew=0.34)],
)
def test_a_file_corrected_for_another_printer_is_noticed(
    make_packet: MakePacket, tmp_path: File, wrong: Distortion | None
) -> None:
    wanted = full_sheet()
    packet = make_packet(in_file(wanted, OFF))
    with pytest.raises(ReadBackError):
        verify_pdf(packet, [wanted], (), wrong)
    svg = tmp_path / "sheet.svg"
    write_svg(in_file(wanted, OFF), svg)
    with pytest.raises(ReadBackError):
        verify_svg(svg, wanted, wrong)
    # A file that was not corrected is noticed too.
    with pytest.raises(ReadBackError):
        verify_pdf(make_packet(wanted), [wanted], (), OFF)


def test_ink_beyond_the_page_is_refused_with_the_overshoot() -> None:
    """For a printer 2 % short a line of 104 from the middle ends at 104 / 0.98 = 106.12, and 105 is the edge;
    half a stroke of 0.35 counts too (own arithmetic).
    """
    edge = Segment("edge", (1.0, 100.0), (209.0, 100.0))
    narrow = sheet(edge, margin=0.5)
    with pytest.raises(FitError) as caught:
        in_file(narrow, Distortion(0.98, 1.0))
    (told,) = lines(caught.value)
    assert "1.30 mm beyond the page" in told
    assert "give a margin of at least" in told
    assert in_file(narrow, Distortion(1.02, 1.0)).paper == narrow.paper


def test_ink_beyond_the_page_in_the_file_is_noticed(make_packet: MakePacket, tmp_path: File) -> None:
    """Written all the same, it does not pass: on the paper it would be right, on the page it is lost."""
    edge = Segment("edge", (1.0, 100.0), (209.0, 100.0))
    printer = Distortion(0.98, 1.0)
    narrow = sheet(edge, margin=0.5)
    wide = replace(
        narrow,
        records=tuple(
            replace(
                path,
                commands=tuple(
                    (c[0], *point_in_file((c[1], c[2]), narrow.paper, printer)) for c in path.commands
                ),
            )
            for path in narrow.paths
        ),
    )
    with pytest.raises(ReadBackError, match=r"readback\.border\(amount=[\d.]+, margin=0\)"):
        verify_pdf(make_packet(wide), [narrow], (), printer)


def test_cards_and_travellers_are_left_alone() -> None:
    """Who draws a sheet says whether it is one; nothing is read out of what stands on it."""
    plain = full_sheet()
    card = replace(plain, full_size=False)
    fields = (Field("a", "b", (20.0, 20.0, 60.0, 30.0)),)
    assert in_file(card, OFF) is card
    assert in_file(plain, OFF).records != plain.records
    assert in_file(replace(card, fields=fields), OFF).fields == fields
    with pytest.raises(ValueError, match="full size, and has running text or fields"):
        replace(plain, fields=fields)


def test_a_corrected_file_keeps_every_command_in_its_place() -> None:
    """As many moves, lines, curves and styles as before; a curve's controls are mapped like its ends."""
    wanted = full_sheet()
    made = in_file(wanted, OFF)
    assert made.features == ()
    assert made.axle == point_in_file(wanted.axle, wanted.paper, OFF)
    for path, other in zip(wanted.paths, made.paths, strict=True):
        assert (path.style, path.layer, path.name) == (other.style, other.layer, other.name)
        for one, two in zip(path.commands, other.commands, strict=True):
            assert one[0] == two[0]
            for i in range(1, len(one), 2):
                there = as_printed(two[i], two[i + 1], wanted.paper, OFF)
                assert there == pytest.approx((one[i], one[i + 1]), abs=1e-9)


# --- pictures


def paper_picture(picture: raster.Picture, wanted: Sheet, printer: Distortion) -> raster.Picture:
    """Return what a printer makes of a picture of the page: each pixel of the paper is fetched from the file.

    The inverse of the two lines of `as_printed`, solved by hand.
    """
    lean = np.radians(printer.skew)
    rows, columns = np.indices(picture.shape)
    x = (columns + 0.5) / raster.MM - wanted.paper.width / 2
    y = wanted.paper.height - (rows + 0.5) / raster.MM - wanted.paper.height / 2
    up = y / (printer.down * np.cos(lean))
    across = (x - printer.down * up * np.sin(lean)) / printer.across
    from_column = (across + wanted.paper.width / 2) * raster.MM - 0.5
    from_row = (wanted.paper.height / 2 - up) * raster.MM - 0.5
    fetched: raster.Picture = ndimage.map_coordinates(picture, [from_row, from_column], order=1)
    return fetched


def test_a_picture_of_a_corrected_page_prints_true(make_packet: MakePacket) -> None:
    wanted = full_sheet(PAPERS["Letter"])
    picture = raster.poppler(make_packet(in_file(wanted, OFF)))
    height = wanted.paper.height
    page = paper_picture(picture, wanted, OFF)
    measured = 0
    for feature in wanted.features:
        match feature:
            case Circle(centre=centre, diameter=diameter):
                there, found = raster.circle_in(page, centre, diameter, height)
                assert there == pytest.approx(centre, abs=0.05)
                assert found == pytest.approx(diameter, abs=0.05)
                measured += 1
            case Segment(start=start, end=end):
                length = np.hypot(end[0] - start[0], end[1] - start[1])
                assert raster.bar_in(page, start, end, height) == pytest.approx(length, abs=0.05)
                measured += 1
    assert measured == 4
    # The picture itself is not true: it is off by as much as the printer is, the other way.
    bar = wanted.features[2]
    assert isinstance(bar, Segment)
    ends = [point_in_file(end, wanted.paper, OFF) for end in (bar.start, bar.end)]
    assert raster.bar_in(picture, *ends, height) == pytest.approx(150.0 / 0.972, abs=0.05)
