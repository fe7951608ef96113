"""What carries a post that no known tube does: metal of the dropout along it and across it, by hand."""

from dataclasses import replace

import pytest

from geometry.mount.bosses import fit_bosses
from geometry.mount.carried import Carried, carried
from geometry.mount.outline import Outline, Round
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
    assert near(low, 35.0) == Carried("near", 0.0, 8.0, None)


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


def test_a_dropout_that_carries_a_post_is_told_with_how_much() -> None:
    setup = set_up_of(fork(points=POINTS, outline_from="tube"))
    assert "carrier-unknown" not in {each.code for each in setup.findings}
    (note,) = (each for each in setup.findings if each.code == "carried-by-dropout")
    assert note.level == "note" and "24.1 mm of its length and 8.0 mm of its width" in told(note.text)
    assert setup.load is not None
    assert any("near" in each and "held by the dropout's metal" in each for each in setup.load.words)


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
