"""Which discs a mount takes, and by what adapter."""

import pytest

from geometry.core.errors import Problem, TableError
from geometry.core.say import named, say
from geometry.tables.adapters import Bolts, adapter, disc
from geometry.tables.axles import End
from geometry.tables.interface_rows import Family


@pytest.mark.parametrize(
    ("family", "end", "native", "reach"),
    [
        # +20 sold by five makers: a published adapter list. 18 and 43: Hayes service manual, 2006.
        # The front plate turned end for end: nomulabworkshop.com 5063. Larger steps: remembered.
        ("tab", "rear", 140.0, [140, 160, 180, 183, 200, 203]),
        ("tab", "front", 160.0, [160, 180, 200, 203, 220, 223]),
        ("post", "front", 160.0, [160, 178, 180, 183, 200, 203]),
        ("post", "rear", 180.0, [180, 200, 203, 220]),
        ("flat", "rear", 140.0, [140, 160]),
        ("flat", "rear", 160.0, [160, 180]),
        ("flat", "front", 140.0, [140, 160]),
        ("flat", "front", 160.0, [140, 160]),
    ],
)
def test_the_discs_that_adapters_reach(family: Family, end: End, native: float, reach: list[int]) -> None:
    for size in range(100, 300):
        if size in reach:
            assert adapter(Bolts(family, end), native, size).step == size - native
        else:
            with pytest.raises(TableError) as caught:
                adapter(Bolts(family, end), native, size)
            none = say(
                "tables.adapter.none",
                mount=named(f"{family}-mount"),
                native=native,
                rotor=size,
                step=size - native,
                reach=", ".join(map(str, reach)),
            )
            assert caught.value.problems == (Problem("mount.rotor", none),)


def test_an_adapter_names_itself_its_grade_and_its_source() -> None:
    step = adapter(Bolts("post", "rear"), 160.0, 180.0)
    assert (step.name, step.grade) == ("a +20 post adapter", "B")
    assert "adapter list" in step.source
    assert adapter(Bolts("post", "rear"), 160.0, 160.0).name == "none"
    assert adapter(Bolts("tab", "rear"), 140.0, 140.0).name == "the plain tab adapter for the native size"
    assert adapter(Bolts("flat", "front"), 140.0, 160.0).name == "the caliper's plate, turned end for end"
    assert (
        adapter(Bolts("flat", "front"), 160.0, 160.0).name
        == "the caliper's plate, as it is marked for this disc"
    )
    assert adapter(Bolts("post", "front"), 160.0, 203.0).grade == "A"
    assert adapter(Bolts("post", "front"), 180.0, 203.0).grade == "D"


@pytest.mark.parametrize(
    ("family", "end", "native", "grades"),
    [
        ("tab", "rear", 140.0, {0: "B", 20: "B", 40: "D", 43: "D", 60: "D", 63: "D"}),
        ("post", "front", 160.0, {0: "B", 18: "A", 20: "B", 23: "D", 40: "D", 43: "A"}),
        ("flat", "rear", 140.0, {0: "C", 20: "B"}),
        ("flat", "front", 140.0, {0: "B", 20: "B"}),
        ("flat", "front", 160.0, {0: "B", -20: "B"}),
    ],
)
def test_each_step_has_its_grade(family: Family, end: End, native: float, grades: dict[int, str]) -> None:
    assert {step: adapter(Bolts(family, end), native, native + step).grade for step in grades} == grades


def test_the_discs() -> None:
    # wiklou.org, Disque: 140, 160, 180, 203, 220, and 200. velonews.com 2011-10: 1.8, 1.60, 1.80, 1.75, 2.0;
    # road.cc: 1.8 worn to 1.5, and 1.85 to 1.55. Track: o-l-a-v.github.io, 2023-08-20: 14.4 to 16.0.
    assert disc().sizes == (140.0, 160.0, 180.0, 200.0, 203.0, 220.0)
    assert (disc().thickness.value, disc().thickness.grade) == (1.8, "B")
    assert (disc().track.value, disc().track.grade) == (16.0, "C")
    assert (disc().thickness.low, disc().thickness.high) == (1.6, 2.0)
    assert (disc().track.low, disc().track.high) == (14.4, 16.0)
