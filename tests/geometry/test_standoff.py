"""Whether a tube holds a flat sheet off, against the surface itself."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from geometry.mount.standoff import Proud, proud, untold
from geometry.tubes.tube import Station, Tube

SIZE = st.floats(8.0, 60.0)


def _stay(name: str, outset: float, *stations: tuple[float, float], splay: float = 0.0) -> Tube:
    return Tube(name, 180.0, tuple(Station(s, d, d) for s, d in stations), outset=outset, splay=splay)


def test_a_tube_below_the_face_holds_nothing_off() -> None:
    # Own arithmetic: a tube of 16 whose middle lies 5 inboard reaches to 3 outboard.
    tube = _stay("chainstay", -5.0, (20.0, 16.0), (300.0, 16.0))
    assert proud([tube], 3.0, "outboard", 150.0) is None
    assert proud([tube], 4.0, "outboard", 150.0) is None
    found = proud([tube], 2.0, "outboard", 150.0)
    assert found == Proud("chainstay", pytest.approx(1.0), pytest.approx(20.0))


def test_from_inboard_the_other_side_of_the_tube_counts() -> None:
    # The same tube reaches to 13 inboard: 13 past the dropout's inner face at 0.
    tube = _stay("chainstay", -5.0, (20.0, 16.0), (300.0, 16.0))
    found = proud([tube], 0.0, "inboard", 150.0)
    assert found == Proud("chainstay", pytest.approx(13.0), pytest.approx(20.0))
    assert proud([tube], -13.5, "inboard", 150.0) is None


def test_the_tube_furthest_past_is_named() -> None:
    low, high = (_stay(name, 0.0, (20.0, d), (300.0, d)) for name, d in (("low", 16.0), ("high", 20.0)))
    for tubes in ([low, high], [high, low]):
        found = proud(tubes, 6.0, "outboard", 150.0)
        assert found == Proud("high", pytest.approx(4.0), pytest.approx(20.0))
    assert proud([], 6.0, "outboard", 150.0) is None


def test_only_what_lies_under_the_sheet_counts() -> None:
    # A tube that swells from 16 to 36 between 100 and 200, on a face 8 out: at 150 it is 26 across, 5 proud.
    tube = _stay("seatstay", 0.0, (20.0, 16.0), (100.0, 16.0), (200.0, 36.0), (300.0, 36.0))
    assert proud([tube], 8.0, "outboard", 90.0) is None
    assert proud([tube], 8.0, "outboard", 150.0) == Proud(
        "seatstay", pytest.approx(5.0), pytest.approx(150.0)
    )
    assert proud([tube], 8.0, "outboard", 900.0) == Proud(
        "seatstay", pytest.approx(10.0), pytest.approx(200.0)
    )
    assert proud([tube], 0.0, "outboard", 20.0) is None


@pytest.mark.parametrize("lacks", ["outset", "splay"])
def test_what_is_not_placed_is_untold_where_it_lies_under_the_sheet(lacks: str) -> None:
    """Of a sheet that reaches to 150: of a stay that begins at 20 it is not known how far it stands out."""
    placed = _stay("chainstay", 30.0, (20.0, 16.0), (300.0, 16.0))
    near = replace(placed, lacks=(lacks,))
    beyond = replace(_stay("seatstay", 30.0, (160.0, 16.0), (300.0, 16.0)), lacks=(lacks,))
    assert untold([placed, near, beyond], 150.0) == (near,)
    assert proud([near], 0.0, "outboard", 150.0) is None


def test_splay_takes_the_tube_out_of_the_way_or_into_it() -> None:
    # Seen in the plane of tube and axle, a tube of diameter d leaning by the splay reaches d / 2 / cos(splay)
    # past its middle line at the same s. Own arithmetic.
    leaning = math.radians(5.0)
    inboard = _stay("chainstay", 0.0, (20.0, 16.0), (300.0, 16.0), splay=5.0)
    found = proud([inboard], 4.0, "outboard", 250.0)
    start = 20.0 + 8.0 * math.sin(leaning)
    assert found == Proud(
        "chainstay",
        pytest.approx(8.0 / math.cos(leaning) - start * math.tan(leaning) - 4.0),
        pytest.approx(start),
    )
    outboard = _stay("chainstay", 0.0, (20.0, 16.0), (300.0, 16.0), splay=-5.0)
    found = proud([outboard], 4.0, "outboard", 250.0)
    assert found == Proud(
        "chainstay",
        pytest.approx(8.0 / math.cos(leaning) + 250.0 * math.tan(leaning) - 4.0),
        pytest.approx(250.0),
    )


@given(SIZE, SIZE, SIZE, SIZE, st.floats(-12.0, 12.0), st.floats(0.0, 360.0), st.sampled_from([1.0, -1.0]))
def test_a_tube_is_as_proud_as_its_surface(
    h0: float, w0: float, h1: float, w1: float, splay: float, direction: float, sign: float
) -> None:
    assume(max(abs(h1 - h0), abs(w1 - w0)) <= 40.0)
    tube = Tube("leg", direction, (Station(30.0, h0, w0), Station(250.0, h1, w1)), 5.0, 2.0, splay)
    side = "outboard" if sign > 0.0 else "inboard"
    # Low enough that the tube always stands past; the part under the sheet ends at 200.
    found = proud([tube], -200.0 * sign, side, 200.0)
    assert found is not None
    slope = math.tan(math.radians(splay))
    cosine = math.cos(math.radians(splay))
    best = -math.inf
    # The crest lies where the width is square to the side plane: at s its z is outset - s * slope
    # +- w / 2 * cos(splay), and it lies w / 2 * sin(splay) further up or down the tube than its s.
    for s in np.linspace(30.0, 250.0, 4401):
        half = (w0 + (w1 - w0) * (s - 30.0) / 220.0) / 2.0
        if s + sign * half * math.sin(math.radians(splay)) <= 200.0:
            best = max(best, sign * (2.0 - s * slope) + half * cosine)
    assert found.by == pytest.approx(best + 200.0, abs=0.05)
