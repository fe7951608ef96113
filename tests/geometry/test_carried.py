"""What carries a post that no known tube does: metal of the dropout along it and across it, by hand."""

import math
from dataclasses import replace

import pytest

from geometry.braking.seam import seam
from geometry.mount.bosses import fit_bosses
from geometry.mount.carried import Carried, carried
from geometry.mount.foot import Foot, foot
from geometry.mount.outline import Outline, Pad, Round
from geometry.mount.placement import Placement, place
from geometry.tables.axles import axle
from geometry.tables.interfaces import resolve
from geometry.tubes.tube import Station, Tube
from sheets.job.read import parse, place_job, tubes_of
from sheets.setup.setup import SetUp, set_up
from sheets.words.tell import told
from tests.frames import Document, front

# A leg that is known from 45 up, and a fork end of 45 by 35 about the axle with its rear edge at x = 30.
LEG = Tube("fork-leg", 90.0, (Station(45.0, 24.0, 24.0), Station(380.0, 24.0, 24.0)), outset=2.5)
PLATE = Outline(((-15.0, -15.0), (30.0, -15.0), (30.0, 20.0), (-15.0, 20.0)))
POINTS = [[-15, -15], [30, -15], [30, 20], [-15, 20]]


def post() -> Placement:
    """Return a front post for 160 on a 12 mm axle: face 55.9 out, near hole 6.8 up, middle at z = 2.5."""
    face = resolve("post", "front", 160, 160)
    return place(face, axle("100x12"), rotor=160, host="fork-leg", direction=90.0)


def near(plate: Outline, length: float, thickness: float | None = 8.0) -> Carried:
    fits = fit_bosses(post(), LEG, diameter=12.0, length=60.0, near_length=length)
    (found,) = carried(post(), fits, plate, thickness=thickness, diameter=12.0)
    assert found.name == "near"
    return found


def test_metal_along_and_across_a_post() -> None:
    """Its end lies at x = 55.9 - 35 = 20.9, 9.1 into the metal; sideways it reaches from -3.5 to 8.5."""
    found = near(PLATE, 35.0)
    assert found.deep == pytest.approx(30.0 - 20.9) and found.short is None and found.stands
    assert found.wide == pytest.approx(8.0)
    assert near(PLATE, 35.0, 5.0).wide == pytest.approx(5.0)
    assert near(PLATE, 35.0, None).wide == pytest.approx(8.5)


def test_a_hole_under_a_post_is_no_metal() -> None:
    drilled = replace(PLATE, holes=(Round((25.5, 6.8), 4.0),))
    assert near(drilled, 35.0).deep == pytest.approx(9.1 - 4.0)


def test_a_post_that_ends_short_stands_on_nothing() -> None:
    """Its end lies at x = 35.9, 5.9 before the metal; one that only touches it has no seam either."""
    found = near(PLATE, 20.0)
    assert found.deep == 0.0 and found.short == pytest.approx(5.9) and not found.stands
    touching = near(PLATE, 26.4)
    assert touching.deep == pytest.approx(0.5) and touching.short is None and not touching.stands
    low = Outline(((-15.0, -15.0), (30.0, -15.0), (30.0, 5.0), (-15.0, 5.0)))
    beside = near(low, 35.0)
    assert (beside.deep, beside.wide, beside.short) == (0.0, 8.0, None) and not beside.stands


# What the whole of a post's lower end stands on: the plate is 8 thick, and the post reaches from -3.5 to 8.5.
PAD = Pad(((30.0, -2.0), (30.0, 15.0), (24.0, 15.0), (24.0, -2.0)), 4.0)


def footed(length: float, thickness: float | None, pad: Pad | None = None, plate: Outline = PLATE) -> Foot:
    fits = fit_bosses(post(), LEG, diameter=12.0, length=60.0, near_length=length)
    (found,) = carried(post(), fits, plate, thickness=thickness, diameter=12.0, pad=pad)
    return found.foot


def segment(radius: float, off: float) -> float:
    """Return which share of a circle lies beyond a chord so far off its middle: a segment."""
    return (math.acos(off / radius) - off / radius * math.sqrt(1.0 - (off / radius) ** 2)) / math.pi


@pytest.mark.parametrize("thick", [5.0, 8.0, 12.0])
def test_how_much_of_a_foot_stands_on_a_plate(thick: float) -> None:
    """What hangs over inboard of the face, and outboard of the other, are segments of the post's round."""
    found = footed(35.0, thick)
    outboard = segment(6.0, thick - 2.5) if thick < 8.5 else 0.0
    assert found.share == pytest.approx(1.0 - segment(6.0, 2.5) - outboard, abs=0.003)
    assert found.past == pytest.approx((3.5, max(0.0, 8.5 - thick))) and found.metal == (0.0, thick)
    assert found.shape == ("slot" if thick < 8.5 else "notch")


def test_a_pad_under_all_of_it_lets_a_foot_stand_whole() -> None:
    """The edge lies at x = 30, 25.9 below the face; a post that ends there stands on it."""
    found = footed(25.9, 12.0, PAD)
    assert found.shape == "whole" and found.share == pytest.approx(1.0)
    assert found.depths == pytest.approx((25.9, 25.9)) and found.askew == pytest.approx(0.0)
    assert found.room == pytest.approx((0.5, 3.5)) and found.past == (0.0, 0.0)
    assert found.spare == pytest.approx(0.0, abs=1e-6)
    low = replace(PAD, high=2.0)
    assert footed(25.9, 12.0, low).shape == "notch"
    # A pad that the post only half covers along the tube leaves the rest of it on nothing but the plate.
    half = replace(PAD, ring=((30.0, 6.8), (30.0, 15.0), (24.0, 15.0), (24.0, 6.8)))
    assert footed(25.9, 12.0, half).share == pytest.approx(1.0 - segment(6.0, 2.5) / 2.0, abs=0.01)


@pytest.mark.parametrize(
    ("z", "metal", "deep"), [(2.5, (0.0, 8.0), 25.9), (-2.0, (-4.0, 0.0), 28.9), (0.5, (-4.0, 8.0), 25.9)]
)
def test_what_a_slim_post_passes_beside_is_no_metal_under_it(
    z: float, metal: tuple[float, float], deep: float
) -> None:
    """A post of 3 over the plate alone, whose edge is 25.9 deep, over a pad alone, 3 further, or both."""
    hole = post().holes[0]
    pad = replace(PAD, ring=((27.0, -2.0), (27.0, 15.0), (20.0, 15.0), (20.0, -2.0)))
    found = foot(
        "near", (*hole.centre[:2], z), (post().t, post().n), PLATE,
        thickness=8.0, pad=pad, diameter=3.0, length=29.0,
    )  # fmt: skip
    assert found.metal == metal and found.depths == pytest.approx((deep, deep))
    assert found.room == pytest.approx((z - 1.5 - metal[0], metal[1] - z - 1.5))
    assert found.shape == "whole" and found.share == pytest.approx(1.0)


@pytest.mark.parametrize("z", [13.0, -13.0])
def test_a_post_beside_all_metal_has_no_foot(z: float) -> None:
    hole = post().holes[0]
    found = foot(
        "near", (*hole.centre[:2], z), (post().t, post().n), PLATE,
        thickness=8.0, pad=PAD, diameter=6.0, length=29.0,
    )  # fmt: skip
    assert (found.edge, found.metal, found.share, found.shape) == ((), None, 0.0, None)


def test_a_whole_foot_stands_by_its_end_and_a_part_of_one_wants_a_seam() -> None:
    fits = fit_bosses(post(), LEG, diameter=12.0, length=60.0, near_length=25.8)
    for pad, stands in ((PAD, True), (None, False)):
        (found,) = carried(post(), fits, PLATE, thickness=12.0, diameter=12.0, pad=pad)
        assert found.stands == stands


def test_an_edge_that_falls_is_told_by_how_much() -> None:
    """From 30 at the near side of the post to 28 at its far one: 2 in 12."""
    plate = Outline(((-15.0, -15.0), (30.0, -15.0), (30.0, 0.8), (28.0, 12.8), (28.0, 20.0), (-15.0, 20.0)))
    found = footed(
        27.9, 12.0, replace(PAD, ring=((30.0, 0.8), (28.0, 12.8), (20.0, 12.8), (20.0, 0.8))), plate
    )
    assert found.shape == "whole" and found.askew == pytest.approx(math.degrees(math.atan2(2.0, 12.0)))
    assert found.depths == pytest.approx((25.9, 27.9)) and found.bends < 0.01


def test_what_is_not_known_of_a_foot_is_not_judged() -> None:
    found = footed(35.0, None)
    assert found.share is None and found.shape is None and found.metal is None
    low = Outline(((-15.0, -15.0), (30.0, -15.0), (30.0, 0.0), (-15.0, 0.0)))
    assert footed(35.0, 8.0, plate=low).depths is None


def fork(**dropout: object) -> Document:
    leg = {"diameters": [[45, 24], [380, 24]], "wall": 1.5, "outset": 2.5, "splay": 0}
    boss = {"diameter": 12, "length": 60, "near_length": 50}
    process = {"material": "CrMo"}
    return front("post", 160, "100x12", leg, boss=boss, process=process) | {
        "dropout": {"thickness": 8, **dropout}
    }


# Its near post's end lies at x = 5.9, and its root is the more stressed one.
def set_up_of(document: Document) -> SetUp:
    job = parse(document)
    return set_up(job, place_job(job), tubes_of(job))


def test_what_carries_a_post_is_asked_for_first_and_the_screen_claims_no_tube() -> None:
    setup = set_up_of(fork())
    first = setup.findings[0]
    assert (first.code, first.level, first.subject) == ("carrier-unknown", "unknown", "near post")
    assert told(first.brief) == "What carries the near post is not known: no outline of the dropout is given."
    assert told(first.text).startswith(
        "What carries the near post is not known: the fork leg is known from 45 up, and no outline of the "
        "dropout is given."
    )
    assert told(first.remedy).startswith("Give the dropout's outline, by a drawing or by points, or the tube")
    assert setup.load is not None
    roots = [each for each in setup.load.words if "near post or boss" in each]
    assert len(roots) == 1 and "held by the tube" not in roots[0] and "no known tube does" in roots[0]


def codes(setup: SetUp) -> dict[str, str]:
    return {each.code: each.level for each in setup.findings if each.subject == "near post"}


@pytest.mark.parametrize(
    ("thick", "pad", "found"),
    [
        (8, None, {"carried-by-dropout": "note"}),
        (3.5, None, {"foot-overhangs": "warn"}),
        (3.5, [[30, -2], [30, 15], [24, 15], [24, -2]], {"carried-by-dropout": "note"}),
    ],
)
def test_too_little_metal_under_a_foot_is_warned_of(
    thick: float, pad: list[list[float]] | None, found: dict[str, str]
) -> None:
    """A plate of 3.5 takes a third of this post; a pad that reaches under the rest makes it good."""
    more: Document = {} if pad is None else {"pad": pad, "pad_height": 4}
    document = fork(points=POINTS, outline_from="tube", thickness=thick, **more)
    document["boss"]["near_length"] = 30
    assert codes(set_up_of(document)) == found


def test_the_screen_says_which_seam_it_counts_on_and_none_where_part_hangs_over() -> None:
    pad = {"pad": [[30, -2], [30, 15], [24, 15], [24, -2]], "pad_height": 4, "thickness": 12}
    document = fork(points=POINTS, outline_from="tube", **pad)
    document["boss"]["near_length"] = 25.9
    for one, said in (
        (document, "throat of 2.2 mm"),
        (fork(points=POINTS, outline_from="tube"), "does not stand whole"),
    ):
        load = set_up_of(one).load
        assert load is not None and len([each for each in load.words if said in each]) == 1


def test_a_seam_has_a_post_s_own_section() -> None:
    """A ring of the throat round the post has no less area and modulus than the bar."""
    for diameter, bore in ((11.5, 5.0), (12.0, 5.0), (20.0, 0.0)):
        found = seam(diameter, bore)
        bar = diameter**2 - bore**2, (diameter**4 - bore**4) / diameter
        for throat, enough in ((found.throat, True), (found.throat - 0.1, False)):
            outer = diameter + 2.0 * throat
            ring = outer**2 - diameter**2, (outer**4 - diameter**4) / outer
            assert (ring[0] >= bar[0] and ring[1] >= bar[1]) == enough
        assert (
            found.leg == pytest.approx(found.throat * math.sqrt(2.0), abs=0.1) and found.leg >= found.throat
        )


def test_a_dropout_that_carries_a_post_is_told_with_how_much() -> None:
    setup = set_up_of(fork(points=POINTS, outline_from="tube"))
    assert "carrier-unknown" not in {each.code for each in setup.findings}
    (note,) = (each for each in setup.findings if each.code == "carried-by-dropout")
    assert note.level == "note" and "24.1 mm of its length and 8.0 mm of its width" in told(note.text)
    assert setup.load is not None
    assert any(
        "near" in each and "if all of its lower end were joined to the dropout" in each
        for each in setup.load.words
    )


@pytest.mark.parametrize(
    ("dropout", "why"),
    [
        ({"points": POINTS}, "how the dropout's outline stands is not given"),
        (
            {"points": [[-15, -15], [5, -15], [5, 20], [-15, 20]], "outline_from": "tube"},
            "it ends 0.9 mm short of the dropout's metal",
        ),
        (
            {"points": [[-15, -15], [30, -15], [30, 0], [-15, 6]], "outline_from": "tube"},
            "the dropout's outline has no metal there",
        ),
    ],
)  # fmt: skip
def test_an_outline_that_carries_nothing_says_why(dropout: Document, why: str) -> None:
    found = [each for each in set_up_of(fork(**dropout)).findings if each.code == "carrier-unknown"]
    assert len(found) == 1 and why in told(found[0].text)
