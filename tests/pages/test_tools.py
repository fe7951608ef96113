"""The figures of dummy axle and setting plate behind the card: every number that makes them, and no other."""

import tomllib
from typing import Any

import pytest

from fonts.drafting import width
from sheets.ink.records import Sheet
from sheets.job.read import Job, parse, place_job, tubes_of
from sheets.pages.running.card import card, has_whole_work
from sheets.pages.running.numbers import detail_pages
from sheets.pages.title import boss_sizes
from sheets.setup.setup import set_up
from tests.pages.jobs import SAMPLES, every_mount


def _job(name: str, **tables: dict[str, Any]) -> Job:
    raw = tomllib.loads(SAMPLES[name].read_text(encoding="utf-8"))
    for key, table in tables.items():
        raw[key] = {**raw.get(key, {}), **table}
    return parse(raw)


def _details(job: Job) -> tuple[Sheet, ...]:
    placement = place_job(job)
    return detail_pages(job, placement, set_up(job, placement, tubes_of(job)))


def _lettered(job: Job) -> set[str]:
    """Return what is lettered on the figures."""
    paths = (path for sheet in _details(job) for path in sheet.paths if path.layer == "figures")
    return {label.text for path in paths for label in path.labels}


def _said(job: Job) -> str:
    return " ".join(text.text for sheet in _details(job) for text in sheet.texts)


def test_the_axle_has_the_width_between_its_seats_and_the_sheets_place() -> None:
    """135 between the dropouts' inner faces: the quick-release end's own width (sheldonbrown.com)."""
    dunlin = _job("dunlin")
    assert {"Ø19.05, jaws here", "135.00", "collar Ø19.05", "to your slots"} <= _lettered(dunlin)
    assert "sheet, 3.3 off the outer face" in _lettered(dunlin)
    assert "inner faces, 135.00 apart" in _said(dunlin)


def test_a_thru_axle_seats_in_its_pockets_and_names_its_own_thickness() -> None:
    """142 over the hub's ends less two pockets of 3.5 is 135 (trekmountain.typepad.com, 2009-10)."""
    avocet = _job("avocet")
    assert {"142.00", "Ø12"} <= _lettered(avocet) and "to your slots" not in _lettered(avocet)
    assert "floors of the pockets, 142.00 apart; the dropouts' inner faces are 135.00 apart" in _said(avocet)
    assert "Ø19.2 or less" not in _said(avocet)
    # A bar thicker than a hub's end does not go into the pocket.
    assert "What enters a pocket must be Ø19.2 or less." in _said(_job("avocet", axle={"dummy": 20}))


def test_a_tabs_plate_has_both_pins_by_foot_and_height() -> None:
    """Near 39.90 and far 78.10 with 51.00 between: foot to near 18.69, to far 69.69, 35.25 up (by hand)."""
    found = _lettered(_job("dunlin"))
    assert {"18.69", "69.69", "35.25", "near Ø6.2", "far Ø6.2", "bore Ø19.05"} <= found
    assert "8 thick" in _said(_job("dunlin"))
    bored = _job("dunlin", bench={"plate_bore": 25})
    assert "bore Ø25" in _lettered(bored) and "bore Ø19.05" not in _lettered(bored)


def test_what_nobody_gave_has_no_number() -> None:
    bare = tomllib.loads(SAMPLES["dunlin"].read_text(encoding="utf-8"))
    bare["bench"], bare["dropout"] = {}, {}
    job = parse(bare)
    assert "its thickness not given" in _said(job) and "sheet, outside the dropout" in _lettered(job)


def test_a_face_that_is_faced_stands_higher_before_that() -> None:
    """The avocet's posts: face 55.90 up, 0.5 left for facing."""
    assert "The face stands 56.40 up before facing, 55.90 after." in _said(_job("avocet"))
    assert "before facing" not in _said(_job("godwit")).partition("What was found")[0]


def test_with_a_fixture_its_own_patterns_show_the_plate() -> None:
    found = _lettered(_job("dunlin", bench={"fixture": True}))
    assert "135.00" in found and not any(text.startswith("bore") for text in found)


@pytest.mark.parametrize(("size", "view", "units"), [("A4", "outboard", "mm"), ("Letter", "inboard", "both")])
@pytest.mark.parametrize("name", (*every_mount(), *SAMPLES))
def test_nothing_lettered_leaves_its_column_or_meets_another(
    name: str, size: str, view: str, units: str
) -> None:
    paper = {"size": size, "view": view, "units": units}
    job = _job(name, paper=paper) if name in SAMPLES else parse(every_mount()[name] | {"paper": paper})
    for sheet in _details(job):
        labels = [one for path in sheet.paths if path.layer == "figures" for one in path.labels]
        left, right = sheet.margin, sheet.paper.width - sheet.margin
        boxes = []
        for one in labels:
            x, y = one.matrix[4], one.matrix[5]
            assert left <= x and x + width(one.text, one.height) <= right, one.text
            boxes.append((x, y, x + width(one.text, one.height), y + one.height, one.text))
        for i, a in enumerate(boxes):
            for b in boxes[i + 1 :]:
                apart = a[2] <= b[0] or b[2] <= a[0] or a[3] <= b[1] or b[3] <= a[1]
                assert apart, (a[4], b[4])


def test_an_order_of_work_that_is_whole_on_the_card_is_not_told_again() -> None:
    dunlin = _job("dunlin")
    placement = place_job(dunlin)
    setup = set_up(dunlin, placement, tubes_of(dunlin))
    (sheet,) = card(dunlin, placement, setup)
    on_card = " ".join(text.text for text in sheet.texts)
    assert has_whole_work(dunlin, placement, setup)
    for text, _ in setup.work:
        assert text in " ".join(on_card.split()) and text not in _said(dunlin)


def test_a_faced_boss_has_one_length_before_and_one_after_wherever_it_stands() -> None:
    """The greenshank's bosses are 35 long from the faced face, and 0.3 is left on it for facing."""
    job = _job("greenshank")
    assert boss_sizes(job, place_job(job)) == "Ø11 × 35 faced"
    assert "The boss is 35.3 long before facing, 35 after." in _said(job)
