"""Lines through a tube: against the chord of a circle and of an ellipse, and against the surface itself."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from geometry.tubes.lines import Lines
from geometry.tubes.tube import Station, Tube

ROUND = Tube("chainstay", 180.0, (Station(0.0, 20.0, 20.0), Station(300.0, 20.0, 20.0)))
OVAL = Tube("chainstay", 180.0, (Station(0.0, 30.0, 18.0), Station(300.0, 30.0, 18.0)))
TAPERED = Tube(
    "chainstay", 180.0, (Station(0.0, 16.0, 12.0), Station(90.0, 30.0, 18.0), Station(300.0, 22.0, 22.0))
)


def down(tube: Tube, *aside: float) -> Lines:
    """Return lines square to a tube from 40 mm over its middle, each so far aside."""
    across = np.array(aside)
    start = np.stack([np.full_like(across, 150.0), np.full_like(across, 40.0), across])
    return Lines(tube, start, np.array([0.0, -1.0, 0.0]))


def test_a_line_square_to_a_tube_cuts_its_chord() -> None:
    # Half a chord at distance d: sqrt(r^2 - d^2) of a circle, a sqrt(1 - d^2 / b^2) of an ellipse.
    found = down(ROUND, 0.0, 6.0, -8.0).pierced()
    assert found.enter == pytest.approx([30.0, 32.0, 34.0], abs=1e-11)
    assert found.leave == pytest.approx([50.0, 48.0, 46.0], abs=1e-11)
    half = 15.0 * math.sqrt(1.0 - (4.0 / 9.0) ** 2)
    found = down(OVAL, 4.0).pierced()
    assert [found.enter[0], found.leave[0]] == pytest.approx([40.0 - half, 40.0 + half], abs=1e-11)
    assert (found.out < 0.0).all()


def test_a_line_beside_the_tube_comes_back_with_its_nearest_place() -> None:
    found = down(ROUND, 10.5, 0.0, 9.9999999).pierced()
    assert found.out[0] == pytest.approx(0.05, abs=1e-9)
    assert [found.enter[0], found.leave[0]] == pytest.approx([40.0, 40.0], abs=1e-4)
    assert list(found.out < 0.0) == [False, True, True]
    assert found.leave[2] - found.enter[2] == pytest.approx(2.0 * math.sqrt(100.0 - 9.9999999**2), rel=1e-5)


def test_a_quadratic_equation_is_not_closed_in_on(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where the tube keeps its size, and on a taper no steeper than a stay's, no search is needed."""
    stay = Tube("chainstay", 180.0, (Station(0.0, 22.0, 22.0), Station(300.0, 14.0, 14.0)))
    wanted = [down(tube, 0.0, 5.0, -6.5).pierced() for tube in (ROUND, OVAL, stay)]
    monkeypatch.delattr(Lines, "_closed_in")
    for tube, found in zip((ROUND, OVAL, stay), wanted, strict=True):
        assert down(tube, 0.0, 5.0, -6.5).pierced().enter == pytest.approx(found.enter)


@given(st.floats(-60.0, 60.0), st.floats(-1.0, 1.0), st.floats(20.0, 240.0))
def test_both_ends_lie_on_a_tapering_oval(lean: float, share: float, s: float) -> None:
    angle = math.radians(lean)
    way = np.array([math.sin(angle), -math.cos(angle), 0.0])
    # Through a point of the tube's inside, from outside.
    start = np.array([s, 0.0, share * 5.9])[:, None] - 80.0 * way[:, None]
    lines = Lines(TAPERED, start, way)
    found = lines.pierced()
    assert found.out[0] < 0.0
    assert found.enter[0] < 80.0 < found.leave[0]
    for depth in (found.enter, found.leave):
        assert lines.out(depth)[0] == pytest.approx(0.0, abs=1e-11)
