"""Numbers that were shipped and were wrong: by how much, and what a mount does that was built to them."""

import math

import pytest

from geometry.survey.recall import effect, of_row, recalls
from geometry.survey.survey import survey
from geometry.tables.interfaces import OwnRow, resolve
from tests.geometry.test_survey_verdict import TAB, look

# What was shipped first, and by how far it puts both holes off with the hole line kept parallel to its host:
# own arithmetic from the triangles 39.9, 79.1, 51 against 78.1, and 49.9, 87.3, 51 against 49.7.
OFF = {"is-rear": 1.77, "is-front": 0.40}


def _foot(near: float, far: float, spacing: float) -> tuple[float, float]:
    x = (far * far - near * near - spacing * spacing) / (2.0 * spacing)
    return x, math.sqrt(near * near - x * x)


@pytest.mark.parametrize("recall", recalls(), ids=lambda recall: recall.row)
def test_both_holes_lie_off_by_the_published_amount(recall) -> None:  # type: ignore[no-untyped-def]
    built = effect(recall)
    assert (built.near, built.far) == pytest.approx((OFF[recall.row],) * 2, abs=0.005)
    form = resolve(recall.row, recall.end, None, 0.0)
    x, h = _foot(*recall.radii)
    assert built.near == pytest.approx(math.hypot(x - form.x_near, h - form.h))


def test_every_tab_is_recalled_and_only_tabs() -> None:
    assert {each.row for each in recalls()} == set(OFF)
    assert all(each.was != each.now for each in recalls())
    for each in recalls():
        assert (each.sentence["was"], each.sentence["now"]) == (each.was, each.now)


def test_what_a_rear_tab_does_that_was_built_to_the_old_row() -> None:
    """1.7 along the track, turned by 1.6 degrees; 0.1 to 0.5 off radially, by where the pads are taken to be.

    Own arithmetic on the pads' radius, 61.1, at 44 to 58 degrees to the hole line: the two places at which
    one adapter puts pads on their track on both tabs.
    """
    (recall,) = of_row(resolve("is-rear", "rear", None, 160.0))
    built = effect(recall)
    x, h = _foot(*recall.radii)
    u, v = _foot(39.9, 78.1, 51.0)
    radii, turns = [], []
    for degrees in (44.0, 58.0):
        p = 61.13 * math.cos(math.radians(degrees)), 61.13 * math.sin(math.radians(degrees))
        q = p[0] + x - u, p[1] + h - v
        radii.append(math.hypot(*q) - 61.13)
        turns.append(degrees - math.degrees(math.atan2(q[1], q[0])))
    assert min(radii) - 0.03 <= built.outward <= max(radii) + 0.03
    assert built.turned == pytest.approx(sum(turns) / 2.0, abs=0.1)
    assert built.along == pytest.approx(1.7, abs=0.05)
    # The highest pads are 16.0 (o-l-a-v.github.io, 2023-08-20): they still end inside the disc's edge.
    assert built.inside == pytest.approx(70.0 - 61.13 - built.outward - 8.0, abs=0.01)
    assert built.inside > 0.0


def test_a_survey_tells_a_mount_of_recalled_numbers_once_all_three_lengths_are_read() -> None:
    (recall,), form = of_row(TAB.interface), TAB.interface
    x, h = _foot(*recall.radii)
    seen = look(TAB, UP=h - form.h, NEAR=x - form.x_near, FAR=x + recall.radii[2] - form.x_far)
    assert seen.recall == recall
    assert look(TAB).recall is None
    rows = list(zip(seen.taken, seen.shown, strict=True))
    for kind in ("near", "far", "spacing"):
        assert survey(TAB, [row for row in rows if row[0].kind in (kind, "lean")]).recall is None
    # As far off the other way is no mount that anybody was told to build.
    assert look(TAB, UP=form.h - h, NEAR=form.x_near - x, FAR=form.x_near - x).recall is None


def test_a_jobs_own_row_is_never_recalled() -> None:
    own = OwnRow("is-rear", "bench", "tab", 140.0, 6.2, 0.1, 0.0, radii=(39.9, 79.1, 51.0))
    assert of_row(resolve("is-rear", "rear", None, 140.0, own)) == ()
    assert of_row(resolve("post", "rear", 160.0, 160.0)) == ()
