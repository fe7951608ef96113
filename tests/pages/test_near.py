"""Clearances on paper: the stamp, the crosses at the nearest points, and the caliper's room to cut out."""

from dataclasses import replace
from typing import Any
from unittest.mock import patch

import pytest

from geometry.core.errors import FitError
from sheets.actions.pages import made
from sheets.ink.drawing import Drawing
from sheets.ink.records import Curve, Path, Sheet
from sheets.job.read import Job, parse, place_job, tubes_of
from sheets.pages.full_size import clearance_marks as near
from sheets.setup.setup import set_up
from sheets.words.tell import told
from tests.conftest import forget
from tests.pages.jobs import sheets_but_traveller

BASE: dict[str, Any] = {
    "frame": {"id": "plover-1"},
    "mount": {"end": "rear", "interface": "is-rear", "rotor": 160, "host": "seatstay"},
    "axle": {"system": "135-qr"},
    "dropout": {"thickness": 7},
    "tubes": {
        "chainstay": {"diameters": [[30, 14], [370, 22]], "outset": 5, "splay": 3},
        "seatstay": {"diameters": [[28, 14], [380, 16]], "outset": 5, "splay": 3, "included": 62},
    },
}
FAILING = {"tubes": {"seatstay": {**BASE["tubes"]["seatstay"], "outset": -5, "splay": 0}}}


def drawn(**changes: Any) -> tuple[list[Sheet], list[str], Job]:
    """Return a job's sheets, and every line lettered while they were drawn."""
    job = parse(BASE | changes)
    said: list[str] = []
    letter = Drawing.letter

    def noted(self: Drawing, text: str, *rest: Any, **more: Any) -> None:
        said.append(text)
        letter(self, text, *rest, **more)

    with patch.object(Drawing, "letter", noted):
        # Drawn anew, for sheets that are kept of an equal job are not lettered again.
        forget()
        sheets = sheets_but_traveller(job)
    return sheets, said, job


def crosses(sheet: Sheet) -> list[Path]:
    return [path for path in sheet.paths if path.layer == "clearance"]


def test_the_stamp_is_large_on_every_sheet() -> None:
    for face in ("is-rear", "post"):
        sheets, said, _ = drawn(**FAILING, mount={**BASE["mount"], "interface": face})
        stamped = [text for text in said if text.startswith("CLEARANCE FAILS: disc 160 to seatstay")]
        full_size = {sheet.kind for sheet in sheets if sheet.kind in ("template", "face")}
        assert len(stamped) >= len(full_size) + 1
    assert not any("CLEARANCE FAILS" in text for text in drawn()[1])


def test_the_nearest_point_is_crossed_where_it_lies() -> None:
    """The cross's middle on the page is the clearance's point in the side view, from the sheet's axle."""
    for view, sign in (("outboard", 1.0), ("inboard", -1.0)):
        sheets, said, job = drawn(**FAILING, paper={"view": view})
        setup = set_up(job, place_job(job), tubes_of(job))
        worst = setup.clear.failed[0]
        assert worst.second is not None
        # Where the label has no room in full, what was asked for is left out, and to what: never the gap.
        assert worst.told == "1.1"
        wanted = told(worst.short), told(worst.gap), "disc 160: 1.1 after 0.2 for run-out"
        labels = [text for text in said if "FAILS" not in text]
        assert any(each in " ".join(labels) for each in wanted)
        (path,) = crosses(sheets[0])
        ends = [command[1:] for command in path.commands[:8]]
        middle = [sum(values) / len(ends) for values in zip(*ends, strict=True)]
        x, y = sheets[0].axle
        assert middle == pytest.approx([x + sign * worst.second[0], y + worst.second[1]], abs=1e-6)


def test_the_caliper_to_cut_out_is_at_full_size_and_says_whose_it_is() -> None:
    own = {"length": 48, "height": 30, "depth": 9, "inboard": 16, "outboard": 20, "offset": 6}
    for caliper, wide, high, whose in (
        (None, 62.0, 40.0, "remembered, grade D"),
        (own, 48.0, 39.0, "your own measurements"),
    ):
        sheets, said, _ = drawn(**({"caliper": caliper} if caliper else {}), paper={"size": "A3"})
        room = next(each for each in sheets[0].features if each.name == "caliper room")
        assert isinstance(room, Curve) and room.points[0] == room.points[-1]
        xs, ys = zip(*room.points, strict=True)
        assert (max(xs) - min(xs), max(ys) - min(ys)) == pytest.approx((wide, high))
        assert whose in " ".join(said)


def test_without_room_for_the_words_the_sheet_is_drawn_all_the_same() -> None:
    """A page that takes no label and no long stamp: the marks go, then the stamp points to the card."""
    job = parse(BASE | FAILING)
    placement = place_job(job)
    setup = set_up(job, placement, tubes_of(job))
    tried: list[tuple[str, bool, str]] = []

    def fussy(stamp: str, marked: Any, count: str) -> Sheet:
        tried.append((stamp, marked is not None, count))
        if len(tried) < 4:
            raise FitError.at("paper.size", "too much")
        return made("template", job, placement, setup).sheets[0]

    assert near.stamped_to_fit(placement, setup, "sheet 1 of 1", fussy).kind == "template"
    assert [marked for _, marked, _ in tried] == [True, False, False, False]
    assert "disc 160 to seatstay" in tried[0][0] and tried[0][0] == tried[1][0]
    assert tried[2][0] == "CLEARANCE FAILS: see the card."
    assert tried[3] == ("", False, "FAILS: see card")
    tried.clear()
    with pytest.raises(FitError):
        near.stamped_to_fit(
            placement, replace(setup, clear=replace(setup.clear, clearances=())), "", fussy
        )  # with no failed clearance there is nothing to shorten
