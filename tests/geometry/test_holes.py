"""What a boss's hole leaves of its tube, from what is built to what is cut in two, and what a sleeve adds."""

import pytest

from geometry.tables.fasteners import screw
from geometry.tubes.tube import Station, Tube
from sheets.words.bosses import boss_words
from tests.geometry.test_bosses import fits, mount, straight

# Size of the stay, boss, how far the boss's middle lies beside the stay's, and what is to be said. What is
# built is common practice, no source, but for the stay of which a boss takes three quarters (clandestine.cc,
# Flat mount), which its author would not build and others do.
HOLES = [
    ("a round stay of 28.6, large for its boss", (28.6, 28.6), 11.0, 0.0, ""),
    ("a round stay of 22.2", (22.2, 22.2), 12.0, 0.0, "hole-weakens"),
    ("a round stay of 19, the boss beside its middle", (19.0, 19.0), 12.0, 2.5, "hole-weakens"),
    ("a round stay of 16", (16.0, 16.0), 12.0, 0.0, "hole-weakens"),
    ("an oval stay 15 wide", (22.0, 15.0), 12.0, 0.0, "hole-weakens"),
    ("an oval stay 13 wide", (22.0, 13.0), 12.0, 0.0, "hole-cuts"),
    ("a round stay of 12.5, a boss of 14", (12.5, 12.5), 14.0, 0.0, "hole-cuts"),
]


@pytest.mark.parametrize(
    ("size", "diameter", "aside", "code"), [each[1:] for each in HOLES], ids=[each[0] for each in HOLES]
)
def test_a_hole_that_takes_a_tubes_whole_width_is_a_stop(
    size: tuple[float, float], diameter: float, aside: float, code: str
) -> None:
    height, width = size
    tube = Tube("chainstay", 180.0, (Station(0.0, height, width), Station(300.0, height, width)))
    found = fits(mount(z=aside), tube, diameter=diameter, length=60.0, wall=0.9)
    told_of = {each.code: each.level for each in boss_words(found, "chainstay", screw("M5"))}
    levels = {"hole-weakens": "warn", "hole-cuts": "stop"}
    assert {each: level for each, level in told_of.items() if each in levels} == (
        {code: levels[code]} if code else {}
    )
    # What the job asks for does not make a tube whole that is cut in two.
    none = {each.code for each in boss_words(found, "chainstay", screw("M5"), share=0.0)}
    assert ("hole-cuts" in none) is (code == "hole-cuts") and "hole-weakens" not in none


def test_a_sleeve_counts_with_what_it_adds_to_the_wall() -> None:
    """A hole of 11 in 25.4, stay 0.9 and sleeve 1.47: a ring 2 pi r t less its four arcs r asin(5.5/r) t.

    Bare, r = 12.25: 1 - 4 asin(0.4490)/2 pi = 0.7036 of it is left. Sleeved, r = 11.515:
    0.6837 x 11.515 x 2.37 over 12.25 x 0.9 is more than the bare tube, so all of it.
    """
    bare = fits(mount(), straight(25.4), diameter=11.0, length=60.0, wall=0.9)[0].share
    sleeved = fits(mount(), straight(25.4), diameter=11.0, length=60.0, wall=0.9, sleeve=1.47)[0].share
    thin = fits(mount(), straight(25.4), diameter=11.0, length=60.0, wall=0.9, sleeve=0.3)[0].share
    unsaid = fits(mount(), straight(25.4), diameter=11.0, length=60.0, sleeve=1.47)[0].share
    assert bare is not None and sleeved is not None and thin is not None and unsaid is not None
    assert bare.wall == pytest.approx(0.7036, abs=2e-4)
    # r = 12.1 with 0.3 more: (1 - 4 asin(5.5/12.1)/2 pi) x 12.1 x 1.2 / (12.25 x 0.9) = 0.9213
    assert thin.wall == pytest.approx(0.9213, abs=2e-4)
    assert sleeved.wall == 1.0
    # Without the stay's own wall nobody knows what the sleeve is to it.
    assert unsaid.wall < 0.75
