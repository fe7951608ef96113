"""[stance] and what a slot is measured from, as a job says them and as it may not."""

from collections.abc import Callable
from typing import Any

import pytest

from sheets.job.read import parse
from sheets.job.schema import schema

Document = dict[str, Any]
Problems = Callable[[Document], dict[str, str]]


def _with(document: Document, dropout: Document | None = None, stance: Document | None = None) -> Document:
    return document | {"dropout": dropout or {}, "stance": stance or {}}


def test_both_ends_are_read(rear: Document, front: Document) -> None:
    fork = parse(_with(front, {"slot": "40 deg", "slot_from": "tube"}, {"leg": "66 deg"}))
    assert (fork.dropout.slot, fork.dropout.slot_from) == (40.0, "tube")
    assert (fork.stance.of("front").angle, fork.stance.of("front").turns) == (66.0, (24.0,))
    frame = parse(_with(rear, {"slot": 0, "slot_from": "plumb"}, {"chainstay": 9}))
    assert frame.stance.of("rear").turns == (-9.0,)


def test_a_leg_comes_from_head_rake_and_length(front: Document) -> None:
    # Own arithmetic, no source: 72 less asin(45 / 390), 6.63 degrees; in inches asin(1.75 / 15.375) is 6.54.
    for blade, leg in (
        ({"head": 72, "rake": 45, "axle_to_crown": 390}, 65.37),
        ({"head": "72 deg", "rake": "1.75 in", "axle_to_crown": "15 3/8 in"}, 65.46),
        ({"head": 70, "rake": 0, "axle_to_crown": 400}, 70.0),
        ({"leg": 65.8, "head": 72, "rake": 45, "axle_to_crown": 390}, 65.8),
    ):
        found = parse(_with(front, stance=blade)).stance.of("front")
        assert found.angle == pytest.approx(leg, abs=0.01), blade


def test_an_old_job_is_read_and_nothing_is_taken_for_granted(front: Document, rear: Document) -> None:
    old = parse(_with(front, {"slot": 33}))
    assert old.dropout.slot_from is None
    assert not old.stance.of("front").known and len(old.stance.of("front").turns) > 10
    # What the other end's stance says is no matter here, and nothing is said of it.
    other = parse(_with(rear, stance={"leg": 66}))
    assert not other.stance.of("rear").known and other.findings == ()


@pytest.mark.parametrize(
    ("dropout", "stance", "where", "said"),
    [
        ({"slot_from": "plumb"}, {}, "dropout.slot_from", "but dropout.slot is not; say by how many degrees"),
        ({"slot": 3, "slot_from": "leg"}, {}, "dropout.slot_from", "allowed: tube, plumb"),
        ({"slot": 3, "slot_form": "tube"}, {}, "dropout.slot_form", "did you mean slot_from?"),
        ({"slot": 200, "slot_from": "tube"}, {}, "dropout.slot", "allowed -180 to 180 deg"),
        ({}, {"leg": 20}, "stance.leg", "allowed 40 to 95 deg"),
        ({}, {"chainstay": 45}, "stance.chainstay", "allowed -30 to 30 deg"),
        ({}, {"lag": 66}, "stance.lag", "did you mean leg?"),
        ({}, {"head": 72}, "stance.rake", "belong together, or give leg alone"),
        ({}, {"rake": 45, "axle_to_crown": 390}, "stance.head", "rake and axle_to_crown given"),
        ({}, {"leg": 66, "head": 72}, "stance.rake", "belong together"),
        (
            {},
            {"head": 72, "rake": 150, "axle_to_crown": 150},
            "stance.rake",
            "150 given; it must be less than axle_to_crown, 150",
        ),
        ({}, {"head": 72, "rake": 390, "axle_to_crown": 45}, "stance.rake", "allowed -100 to 200 mm"),
        # 65.4 from the three, so that 66 is 0.6 off, where an angle finder shows half a degree.
        (
            {},
            {"leg": 66, "head": 72, "rake": 45, "axle_to_crown": 390},
            "stance.leg",
            "come to a leg of 65.4 degrees, 0.6 off",
        ),
        (
            {},
            {"head": 46, "rake": 100, "axle_to_crown": 300},
            "stance.head",
            "a leg of 26.5 degrees; allowed",
        ),
    ],
)
def test_what_contradicts_is_refused(
    front: Document, problems: Problems, dropout: Document, stance: Document, where: str, said: str
) -> None:
    found = problems(_with(front, dropout, stance))
    assert where in found and len(found) <= 2
    assert said in found[where]


def test_every_angle_says_what_it_is_measured_from() -> None:
    tables = schema()["definitions"]
    said = {
        key: tables[table]["properties"][key]["description"]
        for table, key in (
            ("Dropout", "slot"), ("Dropout", "slot_from"), ("StanceTable", "leg"), ("StanceTable", "head"),
            ("StanceTable", "chainstay"),
        )
    }  # fmt: skip
    assert "slot_from" in said["slot"] and "no default" in said["slot"]
    assert "fork leg's line" in said["slot_from"] and "plumb down" in said["slot_from"]
    assert all("ground" in said[key] for key in ("leg", "head", "chainstay"))
