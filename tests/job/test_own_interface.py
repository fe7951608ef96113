"""The job's own [interface] row: both forms, what it replaces and what it may not contradict."""

import math
from collections.abc import Callable
from typing import Any

import pytest

from geometry.core.errors import DropleafError
from sheets.job.read import parse, place_job

Document = dict[str, Any]
Problems = Callable[[Document], dict[str, str]]
RADII = {"near": 39.7, "far": 66.8, "spacing": 34, "source": "measured on a frame that works"}
LINE = {"h": 31, "x_near": 24, "x_far": 58, "source": "measured on a frame that works"}


def test_radii_by_the_law_of_cosines(rear: Document) -> None:
    rear["mount"]["interface"] = "flat-rear"
    rear["mount"]["rotor"] = 140
    rear["interface"] = RADII
    placement = place_job(parse(rear))
    x = (66.8**2 - 39.7**2 - 34**2) / (2 * 34)
    assert placement.interface.x_near == pytest.approx(x, abs=1e-9)
    assert placement.interface.h == pytest.approx(math.sqrt(39.7**2 - x**2), abs=1e-9)
    assert placement.interface.own
    assert RADII["source"] in placement.interface.sources


def test_a_line_of_a_mount_that_no_table_knows(rear: Document) -> None:
    rear["mount"]["interface"] = "barn-door"
    rear["interface"] = {**LINE, "family": "post", "native": 160, "lateral": -4, "hole": 5, "tolerance": 0.2}
    placement = place_job(parse(rear))
    assert placement.interface.name == "barn-door"
    assert placement.holes[0].centre == pytest.approx((-24, 31, -4))
    assert placement.holes[1].centre == pytest.approx((-58, 31, -4))
    assert placement.grade == "own"


def test_an_unknown_mount_needs_family_and_lateral(rear: Document) -> None:
    rear["mount"]["interface"] = "barn-door"
    rear["interface"] = LINE
    with pytest.raises(DropleafError, match=r"tables\.interface\.no_family"):
        place_job(parse(rear))
    rear["interface"] = {**LINE, "family": "tab"}
    with pytest.raises(DropleafError, match=r"tables\.interface\.no_lateral"):
        place_job(parse(rear))


@pytest.mark.parametrize(
    ("change", "where", "said"),
    [
        ({"source": None}, "interface.source", "missing; where the numbers come from"),
        ({"near": None}, "interface", "far, spacing given; give near, far and spacing, or h"),
        ({"h": 30}, "interface", "none of the others"),
        ({"near": None, "far": None, "spacing": None}, "interface", "none of them given"),
        ({"near": 70}, "interface.near", "the near hole comes first, below far 66.8"),
        ({"near": "wide"}, "interface.near", "is not a number"),
        ({"name": "other"}, "interface.name", "but mount.interface is 'post'"),
        ({"native": 140}, "interface.native", "140, but mount.native is 160"),
        ({"family": "tap"}, "interface.family", "did you mean tab?"),
        ({"hole": 0}, "interface.hole", "allowed 1 to 20"),
        ({"lateral": 51}, "interface.lateral", "allowed -50 to 50"),
    ],
)
def test_what_a_row_may_not_be(
    rear: Document, problems: Problems, change: Document, where: str, said: str
) -> None:
    rear["mount"]["native"] = 160
    row = {**RADII, **change}
    rear["interface"] = {key: value for key, value in row.items() if value is not None}
    found = problems(rear)
    assert list(found) == [where]
    assert said in found[where]


def test_a_line_in_the_wrong_order(rear: Document, problems: Problems) -> None:
    rear["interface"] = {**LINE, "x_far": 24}
    assert "below x_far 24" in problems(rear)["interface.x_near"]


def test_radii_that_close_no_triangle(rear: Document) -> None:
    rear["interface"] = {**RADII, "spacing": 150}
    with pytest.raises(DropleafError, match=r"plane\.base_too_long"):
        place_job(parse(rear))
