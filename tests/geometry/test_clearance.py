"""How near a disc comes to a tube, against scipy's own minimiser and closed forms."""

import itertools
import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import minimize

from geometry.clearance import gaps
from geometry.clearance.bodies import disc_body
from geometry.clearance.convex import Nearest, nearest
from geometry.clearance.gaps import largest_disc, tube_gap, tubes_gap
from geometry.core.say import say
from geometry.mount.placement import Rotor
from geometry.tables.adapters import Bolts, disc, takes
from geometry.tubes.tube import Station, Tube, surface

# Rear 135 mm quick release: rotor face 15.25 inboard of the dropout (interfaces: grade B), 1.8 thick (C).
REAR = Rotor(80.0, 1.8, 16.0, -15.25, -13.45)
ROOM = 3.0
"""Room to ask for, mm: any will do here, this is the table's."""


def straight(diameter: float, **changes: float) -> Tube:
    """Return a chainstay of one outside."""
    stations = (Station(25.0, diameter, diameter), Station(380.0, diameter, diameter))
    return Tube("chainstay", 180.0, stations, **changes)


def disc_gap(rotor: Rotor, tube: Tube) -> Nearest:
    """Return how near a disc comes to a tube; the second point lies on the tube."""
    body = disc_body(rotor)
    assert body is not None
    return tube_gap(body, tube)


def test_a_stay_level_with_the_disc_is_half_its_outside_nearer() -> None:
    """Own arithmetic: disc's outer face at -13.45, stay's inboard side at -8."""
    gap = disc_gap(REAR, straight(16.0))
    assert gap.distance == pytest.approx(13.45 - 8.0, abs=1e-9)
    assert gap.second[2] == pytest.approx(-8.0, abs=1e-9)


def test_beyond_the_rim_the_distance_is_to_the_rim() -> None:
    """A stay that begins outside the rim, level with the disc: its end is flat, 90 from the axle."""
    ahead = Tube("chainstay", 180.0, (Station(90.0, 10.0, 10.0), Station(300.0, 10.0, 10.0)), outset=-14.0)
    gap = disc_gap(REAR, ahead)
    assert gap.distance == pytest.approx(90.0 - 80.0, abs=1e-9)


def test_a_tube_in_the_disc_has_no_gap() -> None:
    assert disc_gap(REAR, straight(30.0)).distance == 0.0


def test_the_largest_disc_is_known_only_where_every_tube_is() -> None:
    """A stay of 16 leaves 13.45 - 8 of 3; what is not given or not measured makes it an upper bound."""
    stay = straight(16.0)
    unplaced = replace(REAR, inner_face_z=None, outer_face_z=None)
    assert largest_disc(unplaced, {"chainstay": stay}, [160.0], wanted=["chainstay"], room=ROOM) is None
    sure = largest_disc(REAR, {"chainstay": stay}, [140.0, 160.0], wanted=["chainstay"], room=ROOM)
    assert sure is not None and (sure.sure, sure.diameter, sure.unknown) == (160.0, 160.0, ())
    both = ["chainstay", "seatstay"]
    partly = largest_disc(REAR, {"chainstay": stay}, [140.0, 160.0], wanted=both, room=ROOM)
    assert partly is not None and (partly.sure, partly.diameter) == (None, 160.0)
    assert partly.unknown == (say("clearance.give", keys=("tubes.seatstay",)),)
    rough = largest_disc(
        REAR, {"chainstay": replace(stay, lacks=("outset",))}, [160.0], wanted=["chainstay"], room=ROOM
    )
    assert rough is not None and (rough.sure, rough.diameter, rough.gaps) == (None, None, ())
    assert rough.unknown == (say("clearance.measure", keys=("tubes.chainstay.outset",)),)


def test_the_room_is_asked_for_after_run_out() -> None:
    """13.45 - 8 = 5.45: of 5.4 asked for it keeps 5.45, and 5.25 after a run-out of 0.2."""
    for runout, fits in ((0.0, 160.0), (0.2, None)):
        found = largest_disc(
            REAR, {"chainstay": straight(16.0)}, [160.0], wanted=["chainstay"], room=5.4, runout=runout
        )
        assert found is not None and found.diameter == fits
        assert found.gaps[0][1].left == pytest.approx(5.45 - runout, abs=1e-9)


def test_a_stay_that_closes_in_is_nearest_at_the_rim_of_every_disc() -> None:
    """Own arithmetic: from the rim's front to a line through z = 10 that closes in by 5 degrees, less 8."""
    splay = math.radians(5.0)
    stay = straight(16.0, outset=10.0, splay=5.0)
    found = largest_disc(REAR, {"stay": stay}, [140.0, 160.0, 180.0], wanted=["stay"], room=8.0)
    assert found is not None and found.diameter == 160.0
    for size, gap in found.gaps:
        wanted = (10.0 - size / 2.0 * math.tan(splay) + 13.45) * math.cos(splay) - 8.0
        assert gap.distance == pytest.approx(wanted, abs=1e-6)


@pytest.mark.parametrize(
    ("mount", "sizes"),
    [
        (("flat", "rear", 140.0, 140.0), (140.0, 160.0)),
        (("flat", "front", 160.0, 140.0), (140.0, 160.0)),
        (("post", "front", 160.0, 160.0), (160.0, 180.0, 200.0, 203.0)),
        (("post", "rear", 160.0, 178.0), (160.0, 178.0, 180.0, 200.0, 203.0)),
        (("tab", "rear", 140.0, 140.0), (140.0, 160.0, 180.0, 200.0, 203.0)),
    ],
)
def test_a_mount_takes_what_its_adapters_reach(
    mount: tuple[Any, Any, float, float], sizes: tuple[float, ...]
) -> None:
    """Adapter steps of the table: flat 0 and 20, post 0, 18, 20, 23, 40, 43, tab 0 to 63; 178 when fitted."""
    family, end, native, fitted = mount
    assert takes(Bolts(family, end), native, fitted) == sizes
    assert set(sizes) - {mount[3]} <= set(disc().sizes)


def apart(tube: Tube, rotor: Rotor, s: float, turn: float) -> float:
    """Return how far a point of the outside is from the disc, as the test reckons it."""
    x, y, z = surface(tube, np.array(s), np.array(turn))
    assert rotor.inner_face_z is not None and rotor.outer_face_z is not None
    beside = max(rotor.inner_face_z - z, z - rotor.outer_face_z, 0.0)
    return math.hypot(max(math.hypot(x, y) - rotor.radius, 0.0), beside)


# Stays of 10 to 24, 0 to 12 outboard, splaying up to 8 degrees either way, from 20 to 60 off the axle.
stays = st.builds(
    lambda direction, start, h0, w0, h1, w1, outset, splay, offset: Tube(
        "stay",
        direction,
        (Station(start, h0, w0), Station(start + 300.0, h1, w1)),
        offset=offset,
        outset=outset,
        splay=splay,
    ),
    st.floats(90.0, 180.0),
    st.floats(20.0, 60.0),
    *(st.floats(10.0, 24.0) for _ in range(4)),
    st.floats(0.0, 12.0),
    st.floats(-8.0, 8.0),
    st.floats(-10.0, 10.0),
)


@given(stays, st.sampled_from([70.0, 80.0, 90.0, 101.5]))
def test_no_point_of_the_outside_is_nearer(tube: Tube, radius: float) -> None:
    """scipy's minimisers, from six starts, find nothing nearer and come as near.

    Where the stay begins beyond the rim its solid end may be nearer than any of its outside.
    """
    rotor = replace(REAR, radius=radius)
    gap = disc_gap(rotor, tube)
    low, high = tube.span
    bounds = ((low, high), (-1.0, 7.5))
    starts = [(s, turn) for s in (low, min(radius, high)) for turn in (0.5, 1.6, 4.0)]
    found = [
        minimize(lambda at: apart(tube, rotor, at[0], at[1]), start, bounds=bounds, method="L-BFGS-B")
        for start in starts
    ]
    # Its slopes are differences; the simplex needs none, and brings the best place to rest.
    best = minimize(
        lambda at: apart(tube, rotor, at[0], at[1]),
        min(found, key=lambda each: each.fun).x,
        bounds=bounds,
        method="Nelder-Mead",
        options={"xatol": 1e-9, "fatol": 1e-12, "maxiter": 2000},
    ).fun
    assert gap.distance <= best + 1e-6
    if math.hypot(*gap.second[:2]) < radius - 0.01:
        assert gap.distance >= best - 1e-6
    x, y, z = gap.second
    assert rotor.inner_face_z is not None and rotor.outer_face_z is not None
    beside = max(rotor.inner_face_z - z, z - rotor.outer_face_z, 0.0)
    assert math.hypot(max(math.hypot(x, y) - radius, 0.0), beside) == pytest.approx(gap.distance, abs=1e-7)


@given(
    st.tuples(st.floats(20.0, 40.0), st.floats(8.0, 16.0)),
    st.tuples(st.floats(8.0, 16.0), st.floats(16.0, 30.0)),
    st.floats(90.0, 180.0),
    st.floats(4.0, 8.0),
)
def test_an_oval_that_changes_is_cut_a_few_times_at_most(
    first: tuple[float, float], last: tuple[float, float], direction: float, splay: float
) -> None:
    """Where it seems nearest, so that the piece there hardly bulges; a search by halves cuts twenty times."""
    ends = (Station(30.0, *first), Station(300.0, *last))
    tube = Tube("stay", direction, ends, outset=14.0, splay=splay)
    with pytest.MonkeyPatch.context() as patch:
        looked = itertools.count()
        patch.setattr(gaps, "nearest", lambda *pair: (next(looked), nearest(*pair))[1])
        disc_gap(REAR, tube)
        assert next(looked) <= 6


@given(stays)
def test_a_larger_disc_is_never_further_off(tube: Tube) -> None:
    found = largest_disc(REAR, {"stay": tube}, [220.0, 140.0, 180.0], wanted=["stay"], room=ROOM)
    assert found is not None
    distances = [gap.distance for _, gap in found.gaps]
    assert [size for size, _ in found.gaps] == [140.0, 180.0, 220.0]
    assert all(a >= b - 1e-9 for a, b in itertools.pairwise(distances))
    clear = [size for size, gap in found.gaps if gap.distance >= ROOM]
    assert found.diameter == max(clear, default=None)


@pytest.mark.parametrize(("apart", "wanted"), [(30.0, 12.0), (18.0, 0.0), (10.0, 0.0)])
def test_two_tubes_side_by_side(apart: float, wanted: float) -> None:
    """Own arithmetic: the distance of the middle lines less half of each outside, 20 and 16."""
    ends = (Station(20.0, 20.0, 20.0), Station(300.0, 20.0, 20.0))
    thin = (Station(20.0, 16.0, 16.0), Station(300.0, 16.0, 16.0))
    one, other = Tube("one", 180.0, ends), Tube("other", 180.0, thin, offset=apart)
    assert tubes_gap(one, other).distance == pytest.approx(wanted, abs=1e-6)
    assert tubes_gap(other, one).distance == pytest.approx(wanted, abs=1e-6)


@pytest.mark.parametrize("thick", [0, 1, 2])
def test_a_tube_is_as_near_as_its_nearest_piece(thick: int) -> None:
    """Own arithmetic: middle lines 40 apart, a tube of 16, and one of 20 that is 40 thick at one station."""
    sizes = [40.0 if i == thick else 20.0 for i in range(3)]
    ends = tuple(Station(s, d, d) for s, d in zip((20.0, 100.0, 300.0), sizes, strict=True))
    one = Tube("one", 180.0, ends)
    other = Tube("other", 180.0, (Station(20.0, 16.0, 16.0), Station(300.0, 16.0, 16.0)), offset=40.0)
    assert tubes_gap(one, other).distance == pytest.approx(40.0 - 20.0 - 8.0, abs=1e-6)
    assert tubes_gap(other, one).distance == pytest.approx(40.0 - 20.0 - 8.0, abs=1e-6)


def test_stays_that_spread_from_the_axle_are_nearest_where_they_begin() -> None:
    """Own arithmetic: ends at s = 40, 60 degrees apart, are 40 apart; flat ends of 8 radius lean together."""
    ends = (Station(40.0, 16.0, 16.0), Station(300.0, 16.0, 16.0))
    chainstay, seatstay = Tube("chainstay", 180.0, ends), Tube("seatstay", 120.0, ends)
    # Each end's near corner lies 8 square to its own tube: 2 (40 sin 30 - 8 cos 30) between them.
    wanted = 2.0 * (40.0 * math.sin(math.radians(30.0)) - 8.0 * math.cos(math.radians(30.0)))
    assert tubes_gap(chainstay, seatstay).distance == pytest.approx(wanted, abs=1e-6)
