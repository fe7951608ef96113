"""What a boss leaves of a tube: gaps by hand, and the least section of all, looked for one by one.

Ranges: stays of 16 to 26 mm, bosses 6 to 16 mm, bolts within 30 degrees of square to the tube (common
practice, no source).
"""

import math
from dataclasses import astuple

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from geometry.tubes.tube import Station, Tube
from geometry.tubes.weakening import left_by_boss, moments

DOWN = np.array([0.0, -1.0, 0.0])


def stay(first: float, last: float) -> Tube:
    """Return a stay that runs forward, its mount side up."""
    return Tube("chainstay", 180.0, (Station(0.0, first, first), Station(300.0, last, last)))


@pytest.mark.parametrize("side", [-1.0, 1.0])
@pytest.mark.parametrize("depth", [40.0, math.inf])
def test_a_hole_beside_the_crest_leaves_the_crest(side: float, depth: float) -> None:
    """A boss of 6, its axis 5 off the middle of a stay of 22, takes asin(2 / 11) to asin(8 / 11) of a wall.

    At a depth of 40 from 40 over the middle it has gone through the upper wall alone.
    """
    found = left_by_boss(
        stay(22.0, 22.0), np.array([-100.0, 40.0, 5.0 * side]), DOWN, radius=3.0, depth=depth, at=(100.0,)
    )
    low, high = math.asin(2.0 / 11.0), math.asin(8.0 / 11.0)
    arcs = [(high, low + 2.0 * math.pi)]
    if depth == math.inf:
        arcs = [(high, math.pi - high), (math.pi - low, low + 2.0 * math.pi)]
    length, up, across = moments(11.0, 11.0, arcs)
    assert length / 11.0 == pytest.approx(2.0 * math.pi - (high - low) * (2.0 if depth == math.inf else 1.0))
    whole = math.pi * 11.0**3
    assert found is not None
    assert astuple(found) == pytest.approx((length / (22.0 * math.pi), up / whole, across / whole), abs=1e-9)


@given(
    sizes=st.tuples(st.floats(16.0, 26.0), st.floats(16.0, 26.0)),
    radius=st.floats(3.0, 8.0),
    lean=st.floats(-30.0, 30.0),
    aside=st.floats(-8.0, 8.0),
    depth=st.floats(30.0, 70.0),
)
def test_no_section_further_off_has_less_left(
    sizes: tuple[float, float], radius: float, lean: float, aside: float, depth: float
) -> None:
    """The least is that of all sections of the stay a millimetre apart, and not of those looked at alone."""
    angle, tube = math.radians(lean), stay(*sizes)
    way = np.array([math.sin(angle), -math.cos(angle), 0.0])
    origin = np.array([-150.0, 0.0, aside]) - 45.0 * way
    # Where the axis meets the stay, or nearly, so that all sections lie a whole number of millimetres apart.
    reach = (sizes[0] + sizes[1]) / 4.0 * math.tan(angle)
    ends = (round(150.0 + reach), round(150.0 - reach))
    found, every = (
        left_by_boss(tube, origin, way, radius=radius, depth=depth, at=at)
        for at in (ends, range(min(ends) - 40, max(ends) + 41))
    )
    assert found is not None and every is not None
    for few, all_ in zip(astuple(found), astuple(every), strict=True):
        assert few == pytest.approx(all_, abs=1e-9)


def test_a_boss_past_the_tubes_end_takes_nothing_of_it() -> None:
    """Its axis lies 20 past the end and it is 12 thick: no section that it could cut is there to be told."""
    tube, origin = stay(22.0, 22.0), np.array([20.0, 40.0, 0.0])
    assert left_by_boss(tube, origin, DOWN, radius=6.0, depth=60.0, at=(-20.0,)) is None
