"""Numbers as both writers print them."""

import math
import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sheets.files.write.numbers import number, path_text


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (0.1 + 0.2, "0.30000"),
        (1e-17, "0"),
        (-1e-17, "0"),
        (-0.0, "0"),
        (-0.000004, "0"),
        (-0.000006, "-0.00001"),
        (210, "210"),
        (-10.0, "-10"),
        (100.00001, "100.00001"),
        (0.000001, "0"),
        (1e7, "10000000"),
    ],
)
def test_number(value: float, text: str) -> None:
    assert number(value) == text


@given(st.floats(-1e6, 1e6))
def test_any_number_is_plain_and_near(value: float) -> None:
    text = number(value)
    assert re.fullmatch(r"-?\d+(\.\d{5})?", text)
    assert text != "-0"
    assert abs(float(text) - value) <= 0.500001e-5


@pytest.mark.parametrize("bad", [math.nan, math.inf, -math.inf])
def test_what_is_not_a_number_is_refused(bad: float) -> None:
    with pytest.raises(ValueError, match="not a finite number"):
        number(bad)
    with pytest.raises(ValueError, match="not a finite number"):
        path_text((("M", 0.0, 0.0), ("L", bad, 1.0)), {"M": "M%f %f", "L": "L%f %f"})


def test_path_text_prints_each_command_in_its_pattern() -> None:
    commands = (("M", 1.0, -0.0), ("L", 100.00000, 2.5), ("C", 1, 2, 3, 4, 5, 6), ("Z",))
    patterns = {"M": "%f %f m ", "L": "%f %f l ", "C": "%f %f %f %f %f %f c ", "Z": "h"}
    assert path_text(commands, patterns) == "1 0 m 100 2.50000 l 1 2 3 4 5 6 c h"
