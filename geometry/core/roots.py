"""Where functions change their sign: many at once, each between two places of its own."""

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

CLOSE = 1e-12
"""How near to the change of sign the search ends, in the unit of the place."""
_MOST = 100


def zero(value: Callable[[Floats], Floats], low: Floats, high: Floats) -> Floats:
    """Return where `value` changes its sign between `low` and `high`, element by element, to CLOSE.

    `value` maps an array of places to one of values, one by one; its signs at both ends have to differ, and
    what is not below 0 counts as above. Parabolas through the last three places where these are safe, halves
    where not: Advances in Engineering Software 28, 1997 (the method as remembered, its paper not read).
    """
    a, b = np.array(low, dtype=np.float64), np.array(high, dtype=np.float64)
    if not a.size:
        return a
    at_a, at_b = value(a), value(b)
    share: Floats | float = 0.5
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        for _ in range(_MOST):
            new = a + share * (b - a)
            found = value(new)
            # The change lies between a, the newest, and b; c is the place that was left out.
            same = (found < 0.0) == (at_a < 0.0)
            c, at_c = np.where(same, a, b), np.where(same, at_a, at_b)
            b, at_b = np.where(same, b, a), np.where(same, at_b, at_a)
            a, at_a = new, found
            least = CLOSE / 2.0 / np.abs(b - a)
            if np.all((least > 0.5) | (at_a == 0.0)):
                break
            along, up = (a - b) / (c - b), (at_a - at_b) / (at_c - at_b)
            bent = at_a / (at_b - at_a) * at_c / (at_b - at_c)
            bent += (c - a) / (b - a) * at_a / (at_c - at_a) * at_b / (at_c - at_b)
            safe = (up * up < along) & ((1.0 - up) ** 2 < 1.0 - along)
            share = np.clip(np.where(safe, bent, 0.5), least, 1.0 - least)
    return np.where(np.abs(at_a) < np.abs(at_b), a, b)
