"""Bosses that lean against their tube, and what the side view alone says where nobody measured sideways."""

import dataclasses
import math
import re

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from geometry.mount.bosses import least_needed
from geometry.tubes.tube import Tube, locate
from sheets.job.read import from_bytes, place_job, tubes_of
from sheets.setup.setup import set_up
from sheets.words.tell import told
from tests.geometry.test_bosses import FAR, NEAR, H, _round, fits, mount, straight
from tests.pages.jobs import SAMPLES


@given(
    diameter=st.floats(14.0, 40.0),
    taper=st.floats(0.0, 6.0),
    offset=st.floats(-10.0, 12.0),
    tilt=st.floats(-30.0, 30.0),
    outset=st.floats(-6.0, 6.0),
    splay=st.floats(-8.0, 8.0),
)
def test_no_place_sideways_lets_a_shorter_boss_reach_than_the_side_view_asks_for(
    diameter: float, taper: float, offset: float, tilt: float, outset: float, splay: float
) -> None:
    """What the side view asks for is the least: the whole rim needs as much for every outset and splay."""
    stations = (_round(0.0, diameter), _round(300.0, diameter - taper))
    placement = mount(tilt=tilt)
    least = least_needed(placement, Tube("chainstay", 180.0, stations, offset), 12.0)
    placed = Tube("chainstay", 180.0, stations, offset, outset, splay)
    for side, fit in zip(least, fits(placement, placed), strict=True):
        assume(fit.meets == "tube" and fit.rim is not None and not fit.rim_open and not fit.overhang)
        # A tapered tube that is splayed shows its thicker end a little, by far less than anybody reads.
        assert side.length is not None and fit.rim is not None
        assert side.length <= fit.rim[1] + 0.01


@given(
    tilt=st.floats(-30.0, 30.0),
    taper=st.floats(0.0, 6.0),
    offset=st.floats(-6.0, 6.0),
    outset=st.floats(-6.0, 6.0),
    splay=st.floats(-8.0, 8.0),
)
def test_a_leaning_bolt_meets_its_tube_where_it_is_told_to(
    tilt: float, taper: float, offset: float, outset: float, splay: float
) -> None:
    """The point so far down the bolt lies on the outside, at the s told; by hand where all is level."""
    stations = (_round(0.0, 24.0), _round(300.0, 24.0 - taper))
    tube, placement = Tube("chainstay", 180.0, stations, offset, outset, splay), mount(tilt=tilt)
    for hole, fit in zip(placement.holes, fits(placement, tube), strict=True):
        assume(fit.meets == "tube")
        assert fit.standoff is not None and fit.through is not None
        for depth in (fit.standoff, fit.through):
            point = np.array(hole.centre) - depth * np.array([*placement.n, 0.0])
            s, _, out = locate(tube, point)
            assert out == pytest.approx(1.0, abs=1e-9)
            assert depth != fit.standoff or fit.s == pytest.approx(float(s), abs=1e-9)
    lean = math.radians(tilt)
    for x, fit in zip((NEAR, FAR), fits(placement, straight(24.0)), strict=True):
        # The face's point lies H along n and x along t; 12 over the stay's line its bolt is met.
        up = H * math.cos(lean) - x * math.sin(lean) - 12.0
        if fit.meets == "tube":
            along = H * math.sin(lean) + x * math.cos(lean) - up * math.tan(lean)
            assert fit.s == pytest.approx(along, abs=1e-9)


def test_the_least_length_is_the_gap_of_the_side_view() -> None:
    """By hand: a level tube of 20, 5 above the axle, reaches 15; a face at 34 lies 19 above it, all along."""
    unplaced = straight(20.0, offset=5.0, lacks=("outset", "splay"))
    assert [each.length for each in least_needed(mount(), unplaced, 12.0)] == pytest.approx([19.0, 19.0])
    # Below where the tube is known nothing is known, and nothing is said.
    late = dataclasses.replace(unplaced, stations=(_round(60.0, 20.0), _round(300.0, 20.0)))
    assert [each.length for each in least_needed(mount(), late, 12.0)] == [None, pytest.approx(19.0)]


@given(tilt=st.floats(-30.0, 30.0), direction=st.floats(0.0, 360.0), offset=st.floats(-10.0, 12.0))
def test_under_a_tilt_the_least_length_is_that_of_the_rims_lower_edge(
    tilt: float, direction: float, offset: float
) -> None:
    """By hand: a bolt leans by the tilt against the tube's side, which lies 10 off its middle.

    From a point v over that side it is v / cos(tilt) down the bolt, and of a rim of 12 the point is counted
    that stands 6 sin(tilt) higher.
    """
    lean = math.radians(tilt)
    found = least_needed(
        mount(direction=direction, tilt=tilt), straight(20.0, direction=direction, offset=offset), 12.0
    )
    for side, along in zip(found, (NEAR, FAR), strict=True):
        over = H * math.cos(lean) - along * math.sin(lean) - offset - 10.0
        if side.meets == "tube":
            assert side.length == pytest.approx((over + 6.0 * abs(math.sin(lean))) / math.cos(lean), abs=1e-6)
    assert abs(tilt) > 10.0 or {side.meets for side in found} == {"tube"}


def test_posts_that_end_short_are_told_though_nobody_measured_sideways() -> None:
    text = SAMPLES["avocet"].read_text(encoding="utf-8")
    for key in ("outset", "splay"):
        text = re.sub(rf"(?m)^{key} = .*\n", "", text)
    for length, is_short in ((12, True), (60, False)):
        changed = re.sub(r"(?m)^\[boss\]\n(.+\n)*", f"[boss]\nlength = {length}\n", text)
        job = from_bytes(changed.encode(), SAMPLES["avocet"]).job
        placement = place_job(job)
        found = set_up(job, placement, tubes_of(job)).boss_words
        assert ("too-short" in [each.code for each in found]) == is_short
        # A gap seen from the side is a gap; what nobody measured stays unknown beside it.
        assert "host-unplaced" in [each.code for each in found]
        told_of = [told(each.text) for each in found if each.code == "too-short"]
        assert all("the side view alone shows it" in each for each in told_of)
