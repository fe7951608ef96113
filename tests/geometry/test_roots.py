"""Changes of sign: against closed forms, and in few looks."""

import math

import numpy as np
import pytest
from numpy.typing import NDArray

from geometry.core.roots import zero

Floats = NDArray[np.float64]


def test_each_change_is_found_between_its_own_two_places() -> None:
    levels = np.array([0.5, 2.0, 9.0, 1e-6])
    found = zero(lambda x: x * x - levels, np.zeros(4), np.array([1.0, 2.0, 100.0, 1.0]))
    assert found == pytest.approx(np.sqrt(levels), abs=1e-11)
    assert zero(np.cos, np.array([3.0]), np.array([0.0])) == pytest.approx(math.pi / 2.0, abs=1e-11)


def test_a_kink_or_a_flat_place_does_not_mislead_it() -> None:
    found = zero(lambda x: np.where(x < 0.3, -1.0, x - 0.3 + 1e-9), np.zeros(1), np.ones(1))
    assert found == pytest.approx(0.3, abs=1e-9)
    assert zero(lambda x: (x - 0.7) ** 9, np.zeros(1), np.ones(1)) == pytest.approx(0.7, abs=1e-3)


def test_a_smooth_change_takes_a_quarter_of_the_looks_of_halving() -> None:
    looks = []

    def value(x: Floats) -> Floats:
        looks.append(len(x))
        return np.hypot(3.0, x) - 5.0

    assert zero(value, np.zeros(7), np.full(7, 60.0)) == pytest.approx(4.0, abs=1e-11)
    # Halving 60 mm down to a millionth of a micrometre takes 36.
    assert len(looks) <= 18


def test_no_places_give_no_changes() -> None:
    assert zero(np.cos, np.empty(0), np.empty(0)).shape == (0,)
