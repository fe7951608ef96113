"""Line widths, patterns, the card and true circles, against standards as published."""

import cmath
import itertools
import math

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from sheets.ink.marks import (
    CARD,
    CHAIN,
    HIDDEN,
    INCH,
    INCH_BAR,
    MM_BAR,
    NARROW,
    PHANTOM,
    THICK,
    THIN,
    WIDE,
    arc,
    circle,
)
from sheets.ink.records import Commands

Cubic = tuple[complex, complex, complex, complex]


def test_two_line_widths_of_the_standards_series() -> None:
    # ISO 128-2, remembered: 0.13, 0.18, 0.25, 0.35, 0.5 ... by steps of the root of 2; wide to narrow 2 to 1
    assert (WIDE, NARROW) == (0.35, 0.18)
    assert pytest.approx(2.0, abs=0.06) == WIDE / NARROW
    assert (THICK.width, THIN.width, HIDDEN.width, CHAIN.width, PHANTOM.width) == (
        0.35,
        0.18,
        0.18,
        0.18,
        0.18,
    )
    assert (THICK.dash, THIN.dash) == ((), ())


def test_patterns_are_multiples_of_the_line_width() -> None:
    # ISO 128, remembered; the widely shipped ISO line-type definitions carry the same 12, -3 and
    # 24, -3, 0.5, -3 and 24, -3, 0.5, -3, 0.5, -3. At a line of 0.18: 2.16, 0.54, 4.32, 0.09.
    assert [length / 0.18 for length in HIDDEN.dash] == pytest.approx([12.0, 3.0])
    assert [length / 0.18 for length in CHAIN.dash] == pytest.approx([24.0, 3.0, 0.5, 3.0])
    assert [length / 0.18 for length in PHANTOM.dash] == pytest.approx([24.0, 3.0, 0.5, 3.0, 0.5, 3.0])
    assert HIDDEN.dash == (2.16, 0.54)
    assert CHAIN.dash == (4.32, 0.54, 0.09, 0.54)
    assert sum(CHAIN.dash) == pytest.approx(5.49)


def test_patterns_have_square_ends() -> None:
    # A round cap would lengthen each dash, and close each gap, by a line width.
    assert {style.cap for style in (THICK, THIN, HIDDEN, CHAIN, PHANTOM)} == {"butt"}


def test_the_card_and_the_inch() -> None:
    # ISO/IEC 7810 ID-1: 85.60 by 53.98. The inch: 25.4 by definition.
    assert CARD == (85.60, 53.98)
    assert INCH == 25.4
    # Bars: design of the sheets, 150 mm and 6 in
    assert (150.0, pytest.approx(152.4)) == (MM_BAR, INCH_BAR)


def _cubics(commands: Commands) -> list[Cubic]:
    """Return the cubics of one unbroken subpath as complex points."""
    (first, *rest) = commands
    assert first[0] == "M"
    at, found = complex(first[1], first[2]), []
    for command in rest:
        if command[0] == "Z":
            continue
        assert command[0] == "C"
        _, x1, y1, x2, y2, x3, y3 = command
        found.append((at, complex(x1, y1), complex(x2, y2), complex(x3, y3)))
        at = found[-1][3]
    return found


def _points(cubic: Cubic) -> list[complex]:
    a, b, c, d = cubic
    steps = [i / 40 for i in range(41)]
    return [(1 - t) ** 3 * a + 3 * (1 - t) ** 2 * t * b + 3 * (1 - t) * t**2 * c + t**3 * d for t in steps]


@given(st.tuples(st.floats(-400.0, 400.0), st.floats(-400.0, 400.0)), st.floats(0.5, 100.0))
@example((0.0, 0.0), 100.0)
def test_a_circle_is_round_to_a_twentieth_of_a_micrometre(centre: tuple[float, float], radius: float) -> None:
    # Own measurement: cubics of 30 degrees stray 0.00004 mm from a circle of 100 mm radius, those of 90
    # degrees 0.027.
    commands = circle(centre, 2.0 * radius)
    assert commands[-1] == ("Z",)
    middle = complex(*centre)
    cubics = _cubics(commands)
    for cubic in cubics:
        for point in _points(cubic):
            assert abs(abs(point - middle) - radius) <= 0.00005
        turn = cmath.phase((cubic[3] - middle) / (cubic[0] - middle))
        assert 0.0 < math.degrees(turn) <= 30.0 + 1e-6
    assert sum(cmath.phase((c[3] - middle) / (c[0] - middle)) for c in cubics) == pytest.approx(2.0 * math.pi)
    assert cubics[-1][3] == pytest.approx(cubics[0][0], abs=1e-9)


@given(st.floats(0.5, 100.0), st.floats(-360.0, 360.0), st.floats(0.5, 360.0), st.booleans())
@example(100.0, 17.0, 30.0, False)
@example(100.0, 17.0, 31.0, True)
def test_an_arc_begins_and_ends_where_it_should_and_stays_on_its_circle(
    radius: float, start: float, sweep: float, backward: bool
) -> None:
    end = start - sweep if backward else start + sweep
    cubics = _cubics(arc((0.0, 0.0), radius, start, end))
    assert len(cubics) == math.ceil(sweep / 30.0 - 1e-9)
    assert cubics[0][0] == pytest.approx(cmath.rect(radius, math.radians(start)), abs=1e-9)
    assert cubics[-1][3] == pytest.approx(cmath.rect(radius, math.radians(end)), abs=1e-9)
    turns = [cmath.phase(cubic[3] / cubic[0]) for cubic in cubics]
    assert math.degrees(sum(turns)) == pytest.approx(end - start, abs=1e-6)
    assert all(abs(abs(point) - radius) <= 0.00005 for cubic in cubics for point in _points(cubic))


def test_cubics_join_without_a_corner() -> None:
    for one, two in itertools.pairwise(_cubics(circle((10.0, 20.0), 60.0))):
        assert cmath.phase((one[3] - one[2]) / (two[1] - two[0])) == pytest.approx(0.0, abs=1e-9)
