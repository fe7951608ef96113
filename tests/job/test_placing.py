"""From a job to tubes and placement."""

from typing import Any

import pytest

from geometry.core.errors import DropleafError
from sheets.job.read import parse, place_job, tubes_of
from tests.job.conftest import refused

Document = dict[str, Any]


def test_directions_are_those_of_the_axes(rear: Document, front: Document) -> None:
    """Chainstay 180, seatstay 180 less the included angle, fork leg 90."""
    assert {name: tube.direction for name, tube in tubes_of(parse(rear)).items()} == {
        "chainstay": 180.0,
        "seatstay": 118.0,
    }
    assert {name: tube.direction for name, tube in tubes_of(parse(front)).items()} == {"fork-leg": 90.0}


def test_a_lone_station_has_a_known_span(rear: Document) -> None:
    stay = rear["tubes"]["seatstay"]
    assert tubes_of(parse(rear))["seatstay"].span == (28.0, 428.0)
    stay["straight_to"] = 210
    assert tubes_of(parse(rear))["seatstay"].span == (28.0, 210.0)


def test_straight_to_ends_the_span(rear: Document) -> None:
    rear["tubes"]["chainstay"]["straight_to"] = 200
    assert tubes_of(parse(rear))["chainstay"].span == (25.0, 200.0)


def test_an_oval_station_has_height_and_width(front: Document) -> None:
    station = tubes_of(parse(front))["fork-leg"].stations[-1]
    assert (station.s, station.height, station.width) == (350.0, 28.0, 22.0)


def test_the_post_at_160(rear: Document) -> None:
    """h 55.9, near 6.8, far 81.0 (grade C formula, see the table's source)."""
    placement = place_job(parse(rear))
    assert placement.holes[0].centre == pytest.approx((-6.8, 55.9, -4.25))
    assert placement.holes[1].centre == pytest.approx((-81.0, 55.9, -4.25))


def test_tilt_and_pocket_reach_the_placement(front: Document) -> None:
    front["mount"]["tilt"] = "10 deg"
    front["axle"]["pocket"] = 2.5
    placement = place_job(parse(front))
    assert placement.tilt == 10.0
    assert placement.datum_shift == 2.5


@pytest.mark.parametrize(
    ("table", "change", "said"),
    [
        (
            "mount",
            {"interface": "is-front"},
            r"mount\.interface: tables\.interface\.other_end\(name='is-front'",
        ),
        ("mount", {"rotor": 170}, r"tables\.adapter\.none"),
        (
            "mount",
            {"interface": "flat-rear", "rotor": 203},
            r"^mount\.rotor: tables\.interface\.no_size",
        ),
        (
            "mount",
            {"interface": "is-rear", "rotor": 170},
            r"none\(mount=name\.tab_mount, native=140",
        ),
        ("axle", {"system": "100-qr"}, r"placement\.other_end\(axle='100-qr', its=name\.front, end='rear'"),
        ("axle", {"system": "157x12"}, r"placement\.needs_rotor\(axle='157x12'"),
    ],
)
def test_what_the_tables_refuse(rear: Document, table: str, change: Document, said: str) -> None:
    rear[table] |= change
    if change == {"rotor": 170}:
        rear["mount"]["native"] = 160
    with pytest.raises(DropleafError, match=said):
        place_job(parse(rear))


def test_a_seatstay_host_needs_the_seatstay(rear: Document) -> None:
    rear["mount"]["host"] = "seatstay"
    assert place_job(parse(rear)).host == "seatstay"
    del rear["tubes"]["seatstay"]
    with refused(r"tubes\.seatstay: the table \[tubes\.seatstay\] is missing"):
        place_job(parse(rear))
