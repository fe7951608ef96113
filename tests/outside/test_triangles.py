"""Triangles worked in print. Handbook answers are rounded, so each is met within its last printed place."""

import math

import pytest

from geometry.core.plane import angle_of, polar, triangle_foot


def _angle(apex: tuple[float, float], one: tuple[float, float], two: tuple[float, float]) -> float:
    first = angle_of((one[0] - apex[0], one[1] - apex[1]))
    second = angle_of((two[0] - apex[0], two[1] - apex[1]))
    return abs((first - second + 180.0) % 360.0 - 180.0)


def _degrees(whole: int, minutes: int) -> float:
    return whole + minutes / 60.0


def _apex(base: float, left: float, right: float) -> tuple[float, float]:
    """Return the point above a base from (0, 0) to (base, 0), by the foot of the triangle."""
    x, height = triangle_foot(left, right, base)
    return -x, height


def test_three_sides() -> None:
    # Machinery's Handbook 31, p. 101: sides 8, 9, 10; angles 49 27', 58 44', 71 49'. The handbook takes each
    # angle from the one before, which costs the second about a minute; met within 2'.
    a, b, c = 8.0, 9.0, 10.0
    at_a, at_b = (0.0, 0.0), (c, 0.0)
    at_c = _apex(c, b, a)
    # The apex, own arithmetic: (8.1^2 ...) from x = (b^2 + c^2 - a^2) / 2c and Heron's formula.
    assert at_c == pytest.approx((5.85, 6.8394), abs=0.00005)
    found = [_angle(at_a, at_b, at_c), _angle(at_b, at_a, at_c), _angle(at_c, at_a, at_b)]
    printed = [_degrees(49, 27), _degrees(58, 44), _degrees(71, 49)]
    assert found == pytest.approx(printed, abs=2.0 / 60.0)
    assert found == pytest.approx([49.4584, 58.7516, 71.7900], abs=0.00005)


def test_the_same_triangle_by_its_foot() -> None:
    # Machinery's Handbook 31, p. 101. Its foot lies inside the base, so the near end counts as behind it.
    x, height = triangle_foot(9.0, 8.0, 10.0)
    assert (x, height) == pytest.approx((-5.85, 6.8394), abs=0.00005)


def test_two_sides_and_the_angle_between() -> None:
    # Machinery's Handbook 31, p. 100: 9 and 8 at 35 degrees, third side 5.2
    assert math.dist((9.0, 0.0), polar(35.0, 8.0)) == pytest.approx(5.2, abs=0.05)
    # and back again from the three sides
    third = math.dist((9.0, 0.0), polar(35.0, 8.0))
    assert angle_of(_apex(9.0, 8.0, third)) == pytest.approx(35.0, abs=1e-9)


def test_one_side_and_two_angles() -> None:
    # Machinery's Handbook 31, p. 100: a = 5 opposite 80 degrees, B 62: b = 4.483, c = 3.126
    a, b, c = 5.0, 4.483, 3.126
    apex = _apex(c, b, a)
    assert _angle((0.0, 0.0), (c, 0.0), apex) == pytest.approx(80.0, abs=0.02)
    assert _angle((c, 0.0), (0.0, 0.0), apex) == pytest.approx(62.0, abs=0.02)
    # Where the sides at 80 and 38 degrees cross, from the base up: the printed sides again.
    x, height = triangle_foot(b, a, c)
    assert math.hypot(x, height) == pytest.approx(4.483, abs=0.0005)
    assert height == pytest.approx(4.48284 * math.sin(math.radians(80.0)), abs=0.001)
