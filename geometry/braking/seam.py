"""How large a seam round a post's lower end must be to have as much section as the screen counts there.

The screen of the mount (mount_strength.py) takes a post's whole section as joined. That says how much seam it
counts on, and no more: no published rule for such a joint was read, and none is judged.
"""

import math

from geometry.core.frozen import dataclass

_STEP = 0.1


@dataclass(frozen=True, slots=True)
class Seam:
    """A fillet all round a post: its throat and the leg of one with even legs, mm, rounded up to 0.1."""

    throat: float
    leg: float


def seam(diameter: float, bore: float) -> Seam:
    """Return the least seam all round a bored post that has its area and its section modulus, mm.

    The throat is laid flat round the post as a ring, as it is usually reckoned. Derived, no source.
    """
    outer, inner = diameter / 2.0, bore / 2.0
    area = outer**2 - inner**2
    modulus = (outer**4 - inner**4) / outer
    throat = 0.0
    while True:
        throat = round(throat + _STEP, 1)
        ring = outer + throat
        if ring**2 - outer**2 >= area and (ring**4 - outer**4) / ring >= modulus:
            return Seam(throat, math.ceil(throat * math.sqrt(2.0) / _STEP - 1e-9) * _STEP)
