"""Numbers with units. 1 in = 25.4 mm by definition; every inch fraction is compared with that, exactly."""

from fractions import Fraction

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from geometry.core.errors import RefusedError
from sheets.job.units import angle, current, length
from sheets.words.tell import reason


@pytest.mark.parametrize(
    ("text", "mm"),
    [
        ("3/4 in", 19.05),
        ("0.75 in", 19.05),
        ('3/4"', 19.05),
        ("¾ in", 19.05),
        ("1 1/2 in", 38.1),
        ("1-1/2 in", 38.1),
        ("1½ in", 38.1),
        ("1 1/8 in", 28.575),
        ("5/8in", 15.875),
        ("1/4 inch", 6.35),
        ("0.035 in", 0.889),
        ("-1 1/2 in", -38.1),
        ("−2 mm", -2.0),
        ("+2 mm", 2.0),
        (".5 in", 12.7),
        ("19.05 mm", 19.05),
        ("19.05", 19.05),
        ("1.9 cm", 19.0),
        ("  7 MM ", 7.0),
        (19.05, 19.05),
        (19, 19.0),
    ],
)
def test_a_length_is_exact(text: object, mm: float) -> None:
    assert length(text) == mm


@pytest.mark.parametrize("text", ["62 deg", "62°", "62", "62.0 degrees", 62, 62.0])
def test_an_angle(text: object) -> None:
    assert angle(text) == 62.0


@pytest.mark.parametrize("amps", [90, "90", "90 A"])
def test_a_current(amps: object) -> None:
    assert current(amps) == 90.0


@given(st.integers(0, 99), st.integers(0, 999), st.integers(1, 128), st.sampled_from(["in", '"', "inch"]))
def test_every_inch_fraction_is_rounded_once(whole: int, top: int, bottom: int, unit: str) -> None:
    inches = whole + Fraction(top, bottom)
    assert length(f"{whole} {top}/{bottom} {unit}") == float(inches * Fraction(254, 10))
    assert length(f"-{whole}-{top}/{bottom}{unit}") == -length(f"{whole} {top}/{bottom} {unit}") + 0.0


@given(st.decimals(-999, 999, places=3))
def test_a_bare_number_reads_as_in_quotes(number: object) -> None:
    assert length(str(number)) == length(float(str(number))) == angle(str(number))


@pytest.mark.parametrize(
    ("value", "said"),
    [
        ("5 furlongs", "'5 furlongs': the unit furlongs is not known; use mm, cm, in, or deg for angles"),
        ("62 deg", "'62 deg' is an angle; a length is wanted"),
        ("19,05 mm", "write the decimals after a point"),
        ("1/0 in", "'1/0 in': nothing can be divided by 0"),
        ("wide", "'wide' is not a number with a unit"),
        ("", "'' is not a number with a unit"),
        ("nan", "is not a number with a unit"),
        ("1e5000", "is not known"),
        ("9" * 5000, "is not a number with a unit"),
        ("1/" + "9" * 30 + "/4", "is not a number with a unit"),
        (True, "true given"),
        (float("nan"), "nan given; it must be a finite number"),
        (float("-inf"), "-inf given; it must be a finite number"),
        (10**400, "it must be a finite number"),
        pytest.param(10**5000, "it must be a finite number", id="huge"),
        ([1], "a list given"),
        ({}, "a table given"),
        (None, "a length is wanted"),
    ],
)
def test_what_is_no_length_is_said(value: object, said: str) -> None:
    with pytest.raises(RefusedError) as caught:
        length(value)
    assert said in reason(caught.value)
    assert len(reason(caught.value)) < 200


def test_a_length_is_no_angle() -> None:
    with pytest.raises(RefusedError) as caught:
        angle("3 mm")
    assert reason(caught.value).startswith("'3 mm' is a length; an angle is wanted")


@example("0\ud7fc")
@given(st.one_of(st.text(), st.integers(), st.floats(), st.booleans(), st.none(), st.binary()))
def test_anything_is_a_number_or_an_error_in_words(value: object) -> None:
    for read in (length, angle, current):
        try:
            assert abs(read(value)) < float("inf")
        except RefusedError as error:
            assert reason(error).isprintable()
