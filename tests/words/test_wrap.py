"""Listings in the lines of a terminal: no line too long, columns kept, and what is copied left whole."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sheets.actions import mounts_open
from sheets.actions.mounts import listing
from sheets.words.wrap import folded


def test_a_line_goes_on_below_its_own_column() -> None:
    line = "  h      30.92 ±0.06  shipped 30.50, +0.42: would change, inside its derived band"
    assert folded(line, 46).split("\n") == [
        "  h      30.92 ±0.06  shipped 30.50, +0.42:",
        "                      would change, inside its",
        "                      derived band",
    ]
    assert folded("    1. face-over: then ±2.00 mm; to the far side", 30).split("\n") == [
        "    1. face-over: then ±2.00",
        "       mm; to the far side",
    ]


def test_columns_stay_whole_where_they_can() -> None:
    line = "  a.toml  h -0.01  x near +0.00  x far +0.00  lateral +0.00   33 %"
    assert folded(line, 40).split("\n") == [
        "  a.toml  h -0.01  x near +0.00",
        "                   x far +0.00",
        "                   lateral +0.00  33 %",
    ]


@pytest.mark.parametrize(
    "line",
    ["uncertainty = { h = 0.28, x_near = 0.08, x_far = 0.12 }", "# from files whose SHA-256 begins 86"],
)
def test_toml_is_left_to_be_copied(line: str) -> None:
    assert folded(line, 20) == line


@given(st.text(alphabet="ab  \n.;1", max_size=300), st.integers(40, 120))
def test_no_word_is_lost_and_short_lines_stay_as_they_are(text: str, width: int) -> None:
    assert folded(text, width).split() == text.split()
    short = "\n".join(line[:width] for line in text.split("\n"))
    assert folded(short, width) == short


@pytest.mark.parametrize("width", [40, 80, 100])
def test_what_is_known_of_mounts_fits_a_terminal(width: int) -> None:
    for text in (listing(()), mounts_open.listing()):
        wide = [line for line in folded(text, width).split("\n") if len(line) > width]
        # An address is one word, and is not broken; a column that begins in the middle keeps 20 characters.
        assert all(" " not in line.strip() or width == 40 for line in wide), wide
        assert all(len(line) <= width // 2 + 44 for line in wide), wide
        assert folded(text, width).split() == text.split()
