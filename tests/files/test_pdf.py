"""The drawn PDF, as other programs see it: page boxes, operators, fonts."""

import math
import re
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path as File

import pypdf
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from sheets.files.write.pdf import write_pdf
from sheets.ink.paper import PAPERS
from sheets.ink.records import Path, Sheet, Style
from tests.files.shapes import WIDE, full_sheet, polyline, sheet
from tests.outside_tools import run

HALF = 0.000501
"""A file's numbers are thousandths of a millimetre, so that each is half of one off at most."""
BOXES = ("MediaBox", "CropBox", "BleedBox", "TrimBox", "ArtBox")


def drawn(file: File, *sheets: Sheet) -> pypdf.PdfReader:
    write_pdf(sheets, file, title="Ø test", subject="templates")
    return pypdf.PdfReader(file)


def content(page: pypdf.PageObject) -> str:
    contents = page.get_contents()
    assert contents is not None
    return contents.get_data().decode("ascii")


def coordinates(page: pypdf.PageObject) -> Iterator[float]:
    """Yield every coordinate that is drawn to, in mm from the page's corner, as the operators say."""
    scale = 1.0
    for operands, operator in pypdf.generic.ContentStream(page.get_contents(), None).operations:
        if operator == b"cm":
            a, b, c, d, e, f = map(float, operands)
            assert (b, c, e, f) == (0, 0, 0, 0)
            assert a == d
            scale *= a * 25.4 / 72
        elif operator in (b"m", b"l", b"c"):
            yield from (float(value) * scale for value in operands)


@pytest.mark.parametrize("paper", PAPERS.values(), ids=PAPERS)
def test_page_boxes_are_exact(tmp_path: File, paper) -> None:
    file = tmp_path / "pages.pdf"
    page = drawn(file, full_sheet(paper)).pages[0]
    for name in BOXES:
        box = [float(value) * 25.4 / 72 for value in page[f"/{name}"]]
        assert box == pytest.approx([0, 0, paper.width, paper.height], abs=1e-4)
    printed = run("pdfinfo", "-box", file)
    for name in BOXES:
        size = re.search(rf"{name}: +0\.00 +0\.00 +([\d.]+) +([\d.]+)", printed)
        assert size is not None
        assert [float(value) for value in size.groups()] == pytest.approx(
            [paper.width / 25.4 * 72, paper.height / 25.4 * 72], abs=0.006
        )


def test_a4_is_not_rounded_to_points(tmp_path: File) -> None:
    page = drawn(tmp_path / "pages.pdf", full_sheet()).pages[0]
    assert [str(value) for value in page.mediabox] == ["0", "0", "595.2756", "841.8898"]


def test_one_matrix_a_page_and_one_painting_a_path(tmp_path: File) -> None:
    one, other = full_sheet(), full_sheet(PAPERS["A3"])
    pages = drawn(tmp_path / "pages.pdf", one, other).pages
    assert len(pages) == 2
    for page, wanted in zip(pages, (one, other), strict=True):
        stream = pypdf.generic.ContentStream(page.get_contents(), None)
        operators = [operator.decode() for _, operator in stream.operations]
        assert operators.count("cm") == 1
        painted = [operator for operator in operators if operator in ("S", "B*", "f*")]
        assert len(painted) == len(wanted.records)


def test_styles_become_operators(tmp_path: File) -> None:
    line = polyline(((20.0, 20.0), (30.0, 20.0)))
    paths = (
        Path(line, Style(0.35, (4.2, 1.05), "round"), "a"),
        Path(line, Style(0.18), "a"),
        Path(line, Style(0.18, fill=True), "a"),
        Path(line, Style(0.0, fill=True), "a"),
        Path((), Style(0.5), "a"),
    )
    page = drawn(tmp_path / "pages.pdf", sheet(more=paths)).pages[0]
    assert content(page).split("\n") == [
        "0.002834645669291 0 0 0.002834645669291 0 0 cm 4 M",
        "/Artifact BMC",
        "350 w",
        "1 J 1 j",
        "[4200 1050] 0 d",
        "20000 20000 m",
        "30000 20000 l",
        "S",
        "180 w",
        "0 J 0 j",
        "[] 0 d",
        "20000 20000 m",
        "30000 20000 l",
        "S",
        "20000 20000 m",
        "30000 20000 l",
        "B*",
        "0 w",
        "20000 20000 m",
        "30000 20000 l",
        "f*",
        "EMC",
    ]


def test_coordinates_read_from_the_operators_are_those_of_the_sheet(tmp_path: File) -> None:
    wanted = full_sheet()
    page = drawn(tmp_path / "pages.pdf", wanted).pages[0]
    values = [value for path in wanted.records for _, *values in path.commands for value in values]
    assert list(coordinates(page)) == pytest.approx(values, abs=HALF)


length = st.floats(0.0, 420.0)


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=25)
@given(st.lists(st.tuples(length, length), min_size=1, max_size=50))
def test_any_line_reads_back_by_other_hands(tmp_path: File, points: list[tuple[float, float]]) -> None:
    wanted = sheet(more=(Path(polyline(tuple(points)), WIDE, "a"),))
    page = drawn(tmp_path / "pages.pdf", wanted).pages[0]
    assert list(coordinates(page)) == pytest.approx([value for pair in points for value in pair], abs=HALF)


def test_no_font_is_listed(tmp_path: File) -> None:
    file = tmp_path / "pages.pdf"
    drawn(file, full_sheet())
    assert run("pdffonts", file).splitlines()[2:] == []
    assert run("qpdf", "--check", file)


def test_what_would_not_show_is_refused(tmp_path: File) -> None:
    unseen = Path(polyline(((20.0, 20.0), (30.0, 20.0))), Style(0.0), "marks", "ghost")
    with pytest.raises(ValueError, match="'ghost' on layer 'marks' has neither stroke nor fill"):
        write_pdf([sheet(more=(unseen,))], tmp_path / "a.pdf", title="", subject="")
    with pytest.raises(ValueError, match="at least one sheet"):
        write_pdf([], tmp_path / "a.pdf", title="", subject="")
    with pytest.raises(ValueError, match="not a finite number"):
        nowhere = Path(polyline(((math.nan, 20.0), (30.0, 20.0))), WIDE, "marks")
        write_pdf([sheet(more=(nowhere,))], tmp_path / "a.pdf", title="", subject="")
    assert not list(tmp_path.iterdir())


def test_title_in_any_script(tmp_path: File) -> None:
    file = tmp_path / "pages.pdf"
    write_pdf([replace(full_sheet(), records=())], file, title="Übergröße 日本 №1", subject="für Ø 35")
    metadata = pypdf.PdfReader(file).metadata
    assert metadata is not None
    assert (metadata.title, metadata.subject) == ("Übergröße 日本 №1", "für Ø 35")
