"""SVGs printed by a browser, headless Chromium, and measured in the PDF that comes of it."""

import re
from pathlib import Path as File

import pytest

from sheets.files.write.svg import svg as made
from sheets.files.write.svg import write_svg
from sheets.ink.marks import label, lettered, lettering_style
from sheets.ink.paper import PAPERS
from tests.files.shapes import full_sheet, sheet
from tests.outside_tools import browser, run
from tests.pages.outside_readers import Seen, pdf_by_mupdf

OFF = 0.25
"""What the sheets let a bar be off, mm in 150; the browser itself lays a page out in pixels of 1/96 in."""


def printed(svg: File) -> list[Seen]:
    """Return the pages that a browser makes of an SVG, with nothing set by hand."""
    pdf = svg.with_suffix(".printed.pdf")
    own = f"--user-data-dir={svg.parent / 'browser'}"
    run(browser(), "--headless", "--no-sandbox", "--disable-gpu", own, f"--print-to-pdf={pdf}", svg.as_uri())
    return pdf_by_mupdf(pdf)


def longest(page: Seen) -> list[float]:
    """Return how long the longest line across and the longest line down are, mm, both straight."""
    runs = [abs(line[1] - line[0]) for line in page.lines if len(line) == 2]
    return [max(float(run[way]) for run in runs if run[1 - way] < 0.001) for way in (0, 1)]


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_bars_are_true_on_their_own_paper_and_one_page(tmp_path: File, paper: str) -> None:
    svg = tmp_path / "sheet.svg"
    write_svg(full_sheet(PAPERS[paper]), svg)
    (page,) = printed(svg)
    assert (page.width, page.height) == pytest.approx((PAPERS[paper].width, PAPERS[paper].height), abs=0.3)
    assert longest(page) == pytest.approx([150.0, 150.0], abs=OFF)


def test_without_its_own_page_it_is_shrunk(tmp_path: File) -> None:
    """The ruler can fail: what a browser does with the same sheet when the file does not name its paper."""
    svg = tmp_path / "sheet.svg"
    write_svg(full_sheet(), svg)
    text, count = re.subn(r"<style.*?</style>", "", svg.read_text(encoding="utf-8"))
    assert count == 1
    svg.write_text(text, encoding="utf-8")
    assert max(longest(printed(svg)[0])) < 149.0


def test_labels_as_text_are_found_in_what_is_printed(tmp_path: File) -> None:
    one = label("near: drill Ø6.2", (60.0, 200.0), 3.5)
    svg = tmp_path / "sheet.svg"
    svg.write_bytes(made(sheet(more=(lettered((one,), lettering_style(3.5), "lettering"),)), text=True))
    printed(svg)
    assert one.text in run("pdftotext", svg.with_suffix(".printed.pdf"), "-")
