"""Lengths told in mm, in inches or in both.

The inch is 25.4 mm exactly: NIST Special Publication 811 (2008), appendix B.8, "inch (in)" in boldface, which
marks an exact factor. So 0.001 in is 0.0254 mm, and 5/8 in is 15.875 mm.
"""

import re
import string
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from geometry.core.shown import Down, Pieces, Shown, Typed
from sheets.job import units as parsed
from sheets.words.lengths import (
    INCH,
    Units,
    drill,
    fraction,
    in_millimetres,
    measured,
    of_text,
    rule,
    stack,
    telling,
    to_be_told,
    units,
)
from sheets.words.tell import ENGLISH, sentences, tell

MARKS = ("mm", "bare", "cell", "rule", "metric", "prose")
LENGTHS = st.floats(-1200.0, 1200.0)


def told(value: float, form: str, how: Units) -> str:
    """Return a length in a form, told in some units."""
    with telling(how):
        return measured(value, form)


def test_an_inch_is_25_4_mm() -> None:
    assert INCH == 25.4
    assert told(0.0254, ".2f bare", "in") == "0.0010 in"
    assert told(15.875, "g bare", "in") == "0.625 in"


@given(LENGTHS, st.sampled_from([".0f", ".1f", ".2f", ".3f", "g"]), st.sampled_from(["mm", "bare"]))
def test_what_is_told_in_inches_is_read_within_half_of_its_last_place(
    value: float, spec: str, mark: str
) -> None:
    text = told(value, f"{spec} {mark}", "in")
    number = text.removesuffix(" in")
    half = 0.5 * 10.0 ** -len(number.partition(".")[2])
    assert abs(parsed.length(text) / 25.4 - value / 25.4) <= half + 1e-9
    assert len(number.partition(".")[2]) >= (2 if spec == ".0f" else 3)


@given(LENGTHS)
def test_both_tell_mm_first_and_the_same_inches(value: float) -> None:
    inch = told(value, ".2f mm", "in")
    assert told(value, ".2f mm", "both") == f"{value:.2f} mm ({inch})"
    assert told(value, ".2f bare", "both") == f"{value:.2f} ({inch})"
    assert told(value, ".2f mm", "mm") == f"{value:.2f} mm"
    assert told(value, ".2f cell", "mm") == told(value, ".2f bare", "mm") == f"{value:.2f}"


@given(LENGTHS)
def test_a_rule_reads_a_fraction_to_a_64th_and_what_is_left(value: float) -> None:
    with telling("in"):
        text = rule(value)
    part, _, left = text.partition(" in")
    assert Fraction(part.lstrip("-").replace("-", " ").split()[-1]).denominator in (1, 2, 4, 8, 16, 32, 64)
    rest = float(left.strip(" (").removesuffix(" in)") or 0.0)
    assert abs(rest) <= 1 / 128 + 0.0005
    assert abs(parsed.length(f"{part} in") / 25.4 + rest - value / 25.4) <= 0.0005 + 1e-9


@pytest.mark.parametrize(
    ("mm", "text"), [(0.0, "0"), (25.4, "1"), (30.1625, "1-3/16"), (0.396875, "1/64"), (-12.7, "-1/2")]
)
def test_a_fraction_is_reduced(mm: float, text: str) -> None:
    assert fraction(mm) == text


def test_no_length_is_told_as_nothing_that_is_more() -> None:
    """The caliper's own step, 0.0005 in, is 0.0127 mm (common practice, no source)."""
    assert told(0.02, ".2f bare", "in") == "0.0008 in"
    assert told(-0.001, ".2f bare", "in") == "0.0000 in"
    assert told(0.0, "+.2f bare", "in") == "0.000 in"


@given(st.integers(0, 3000))
def test_a_gap_is_rounded_down_in_inches_too(tenths: int) -> None:
    text = Down(f"{tenths / 10:.1f}")
    with telling("in"):
        inch = of_text(text, "bare")
    assert Decimal(inch.removesuffix(" in")) * Decimal("25.4") <= Decimal(text)
    assert Decimal(text) - Decimal(inch.removesuffix(" in")) * Decimal("25.4") < Decimal("0.0254")


def test_what_was_typed_in_inches_comes_back_as_typed() -> None:
    value = Typed(15.875, "5/8 in")
    assert value == 15.875
    assert told(value, "g bare", "in") == "5/8 in"
    assert told(value, "g bare", "both") == "15.875 (5/8 in)"
    assert told(value, "g bare", "mm") == "15.875"
    assert told(value + 0.0, "g bare", "in") == "0.625 in", "what is worked out from it is a plain number"


def test_a_rounded_length_is_told_from_the_whole_of_it() -> None:
    """1.0049 mm is 0.03956 in by hand; its text in mm, 1, would be 0.03937 and so 0.039."""
    with telling("in"):
        assert format(to_be_told(Shown("1", 1.0049)), " bare") == "0.040 in"
        assert format(to_be_told(Pieces("10 + 6.35", (10.0, Typed(6.35, "1/4 in")))), " bare") == (
            "0.394 + 1/4 in"
        )


@pytest.mark.parametrize(
    ("hole", "most", "size"),
    [
        # ISO 273's fine hole for M6 is 6.4: 1/4 in, 6.35, lies between.
        (6.2, 6.4, "1/4"),
        # ISO 965 6H lets M6 be drilled to 5.153 (the table's own source); 13/64 in is 5.159.
        (5.0, 5.153, ""),
        (19.05, None, "3/4"),
        (6.2, None, ""),
        (6.38, 6.5, ""),
    ],
)
def test_a_drill_is_named_only_where_it_is_as_good(hole: float, most: float | None, size: str) -> None:
    assert drill(hole, most) == size


def test_units_are_those_of_the_sentence_alone() -> None:
    assert units() == "mm"
    with telling("both"):
        assert units() == "both"
        with telling("in"):
            assert units() == "in"
        assert units() == "both"
    assert units() == "mm"


def test_a_number_in_a_tables_own_words_is_a_length() -> None:
    said = "tab face to disc is 14.50, a 12 mm axle 0.75 mm further, at 160 and 30.33°"
    with telling("in"):
        assert tell("tables.interface.note", said=said) == (
            "tab face to disc is 0.571 in, a 12 mm axle 0.030 in further, at 160 and 30.33°"
        )
    assert tell("tables.interface.note", said=said) == said


def test_pieces_are_told_end_to_end() -> None:
    assert stack((10.0, 0.5)) == "10 + 0.5"


AREAS = sorted(file.stem for file in ENGLISH.glob("*.toml"))


@pytest.mark.parametrize("area", AREAS)
def test_every_mark_is_known_and_leaves_a_form_of_mm(area: str) -> None:
    """A mark that is misspelt would end in a fault where it is told, and only there."""
    for key, text in sentences(ENGLISH, area).items():
        for _, name, spec, _ in string.Formatter().parse(in_millimetres(text)):
            if name is not None and spec:
                assert format(1 if spec[-1] in "dX" else 1.0, spec), f"{area}.{key}"
        for spec in re.findall(r"\{\w+:([^}]*)\}", text):
            words = re.findall(r"[a-z]{2,}", spec)
            assert all(word in MARKS for word in words), f"{area}.{key}: {spec}"


@pytest.mark.parametrize("area", AREAS)
def test_no_marked_length_is_an_angle_a_force_or_a_stress(area: str) -> None:
    """What follows a place tells what it is: degrees, N or MPa are no inches."""
    for key, text in sentences(ENGLISH, area).items():
        odd = re.search(
            r"\{\w+:[^}]*(mm|bare|cell|rule)\}\s*(N\b|MPa|°|deg|%|kg|A\b|times\b|frames\b|million|cycles)",
            text,
        )
        assert odd is None, f"{area}.{key}: {odd and odd[0]}"
