"""What the pictures of readings show of a job: what touches in the frame touches in the picture."""

import math
from itertools import pairwise

import pytest

from geometry.survey.model import Taken
from sheets.actions import survey
from sheets.actions.survey import Bench
from sheets.desk.reading_picture import pictures
from sheets.desk.section_picture import Section, section_of, target
from sheets.desk.surroundings import around, body, drawn_tab
from sheets.home.jobs import load
from sheets.ink.records import Point
from tests.desk.conftest import SAMPLES

TABS = ("dunlin", "curlew", "dropouts/stint")
POSTS = ("avocet", "godwit", "turnstone", "whimbrel")
FLATS = ("greenshank", "lapwing", "redshank", "sanderling")


def bench_of(name: str) -> Bench:
    return survey.bench_of(load(SAMPLES / f"{name}.toml"))


def sideways(bench: Bench) -> list[Taken]:
    return [each for each in bench.takeable if each.reading.kind == "side"]


def _inside(ring: tuple[Point, ...], at: Point) -> bool:
    """Tell whether a point lies in a ring, by crossings of a ray."""
    x, y = at
    crossed = False
    for (ax, ay), (bx, by) in pairwise((*ring, ring[0])):
        if (ay > y) != (by > y) and x < ax + (y - ay) / (by - ay) * (bx - ax):
            crossed = not crossed
    return crossed


def _touches(seen: Section) -> bool:
    """Tell whether the mount below its face meets the tube or the dropout, or comes 0.2 mm near."""
    _, _, *foot = seen.mount
    edges = [*pairwise((seen.mount[1], *foot, seen.mount[0]))]
    steps = [i / 40.0 for i in range(41)]
    along = [(a[0] + s * (b[0] - a[0]), a[1] + s * (b[1] - a[1])) for a, b in edges for s in steps]
    near = [(0.2 * math.cos(a), 0.2 * math.sin(a)) for a in (0.0, 1.6, 3.1, 4.7)]
    return any(
        _inside(ring, (x + dx, up + dy))
        for ring in (seen.tube, seen.dropout)
        if ring
        for x, up in along
        for dx, dy in near
    )


@pytest.mark.parametrize("name", [*TABS, *POSTS, *FLATS])
def test_a_mount_stands_on_its_tube_or_its_dropout(name: str) -> None:
    bench = bench_of(name)
    for each in sideways(bench):
        seen = section_of(bench, each)
        assert seen.one or _touches(seen), each.key


def test_a_flush_tab_is_drawn_flush_and_one_that_stands_off_as_far_as_it_does() -> None:
    # samples/dunlin.toml and the drop-out with the tab in it: flush with the inner face. samples/curlew.toml:
    # a front tab, whose inner face lies 4 mm outboard of the fork end's: geometry/tables/interfaces.toml.
    for name, off in (("dunlin", 0.0), ("dropouts/stint", 0.0), ("curlew", 4.0)):
        bench = bench_of(name)
        (near,) = [each for each in sideways(bench) if each.key == "inner-face-to-tab-at-near"]
        seen = section_of(bench, near)
        assert min(x for x, _ in seen.dropout) == 0.0
        assert min(x for x, _ in seen.mount) == pytest.approx(off, abs=1e-9)
        assert target(bench, near) == pytest.approx((0.0, off), abs=1e-9)
        assert seen.one == (name == "dropouts/stint")


@pytest.mark.parametrize("name", [*TABS, *POSTS, *FLATS])
def test_the_jaws_go_to_what_is_drawn(name: str) -> None:
    bench = bench_of(name)
    for each in sideways(bench):
        seen, (base, to) = section_of(bench, each), target(bench, each)
        assert base == (0.0 if each.reading.base == "inner" else bench.source.job.dropout.thickness)
        edges = seen.pin or seen.mount
        if bench.placement.interface.hole.kind == "slot":
            # The slot runs sideways in its boss; the reading goes to its end.
            assert min(x for x, _ in edges) < to < max(x for x, _ in edges)
        else:
            assert min(abs(x - to) for x, _ in edges) < 1e-6, each.key


def test_the_side_view_shows_what_the_job_says_stands_there() -> None:
    plate, brazed = bench_of("dropouts/stint"), bench_of("dunlin")
    assert drawn_tab(plate) and not drawn_tab(brazed)
    # As one plate it is drawn bold as a whole, with both holes in it.
    form = plate.placement.interface
    outer = max(body(plate), key=len)
    for at in ((form.x_near, form.h), (form.x_far, form.h), (0.0, -14.0)):
        assert _inside(outer, at)
    # A brace of 12.7 mm (samples/dunlin.toml): two lines as far apart.
    first, second = around(brazed)[-2:]
    (ax, ay), (bx, by) = first
    x, y = second[0]
    apart = abs((bx - ax) * (y - ay) - (by - ay) * (x - ax)) / math.dist(first[0], first[1])
    assert apart == pytest.approx(12.7, abs=1e-6)
    # The plain tab ends on the seatstay: its foot has the height of a line of that tube.
    (tab,) = body(brazed)
    assert min(up for _, up in tab) == pytest.approx(7.0, abs=1.0)


@pytest.mark.parametrize("name", ["avocet", "godwit", "turnstone", "whimbrel"])
def test_a_face_is_read_beside_the_hole_that_is_named(name: str) -> None:
    """One picture for both had the far face read at the near post."""
    bench = bench_of(name)
    at = {
        taken.reading.at: pictures(bench, taken) for taken in bench.takeable if taken.reading.kind == "face"
    }
    assert {"near", "far"} <= set(at) and at["near"] != at["far"]
