"""What each reading tells of a mount, beside plain geometry: places of holes, faces and edges."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from geometry.mount.placement import Placement
from geometry.survey.errors import common
from geometry.survey.model import P, Readings, Taken, model_of, nominal
from geometry.survey.reading import Reading, distance_from
from geometry.tubes.tube import Station
from tests.geometry.test_survey_fit import FRONT, POST, REAR, STAY, only, taken

WAIST = (Station(10.0, 30.0, 30.0), Station(50.0, 12.0, 12.0), Station(160.0, 28.0, 28.0))


@pytest.mark.parametrize("stations", [STAY.stations, WAIST])
@pytest.mark.parametrize("offset", [-20.0, 0.0, 18.0])
@pytest.mark.parametrize("placement", [REAR, POST])
def test_a_tube_that_passes_the_axle_by_is_read_to_on_the_mounts_side(
    placement: Placement, offset: float, stations: tuple[Station, ...]
) -> None:
    # Whether the axle's line lies in the tube or to either side of it, a reading means the sheet's distance,
    # at each hole from the stretch that lies below it.
    tube = replace(STAY, offset=offset, stations=stations)
    which = [each for each in taken(placement, tube) if each.kind == "edge"]
    assert which
    model = model_of(placement, which, tube, 7.0)
    distances = [distance_from(each.reading) for each in which]
    assert model(nominal(placement)[list(model.free)])[0] == pytest.approx(distances, abs=1e-6)


@given(*[st.floats(-2.0, 2.0)] * 5, st.sampled_from([REAR, FRONT, POST]))
def test_each_reading_is_a_length_between_places_of_the_mount(
    up: float, level: float, side: float, more: float, lean: float, placement: Placement
) -> None:
    """Plain geometry: each hole has its own height and place sideways, and a straightedge lies on both."""
    form, tab = placement.interface, placement.interface.family == "tab"
    level = 0.0 if tab else level
    high = {"near": form.h + up - level / 2.0, "far": form.h + up + level / 2.0}
    out = {hole: placement.lateral_z + side + sign * more / 2.0 for hole, sign in (("near", -1), ("far", 1))}
    along = {"near": form.x_near, "far": form.x_far}
    steep = (high["far"] - high["near"]) / (form.x_far - form.x_near)
    high[""] = high["near"] - steep * form.x_near
    out[""] = (out["near"] + out["far"]) / 2.0
    model = Readings(placement, taken(placement), tuple(P), {}, 7.0)
    at = nominal(placement) + np.array([up, level, 0.0, 0.0, 0.0, side, more, lean])
    for each, shown_ in zip(model.taken, model(at)[0], strict=True):
        if each.kind in ("near", "far"):
            length = math.hypot(along[each.kind], form.h + up) if tab else abs(along[each.kind])
        elif each.kind == "side":
            away = out[each.at] - (0.0 if each.reading.base == "inner" else 7.0)
            nominally = placement.lateral_z - (0.0 if each.reading.base == "inner" else 7.0)
            length = away if nominally > -1e-9 else -away
        else:
            length = {"spacing": form.x_far - form.x_near, "face": high[each.at], "lean": lean}[each.kind]
        assert shown_ == pytest.approx(length, abs=1e-9), each.key


def test_the_blade_across_lies_on_a_tabs_side_or_on_a_face() -> None:
    codes = [
        next(each for each in taken(one) if each.kind == "lean").reading.how.code for one in (REAR, POST)
    ]
    assert codes == ["reading.how.lean_tab", "reading.how.lean_face"]


def test_a_pin_of_whose_play_nothing_is_said_is_taken_to_stand_still() -> None:
    one = only(taken(REAR), "axle-to-near-over")[0].reading
    plain = Reading("one", one.what, one.how, 50.0, None, None, 0.0, "", pins=("near",))
    assert common([Taken(plain)]).names == ("outside jaws",)
    assert common([Taken(one)]).names == ("outside jaws", "near pin")
