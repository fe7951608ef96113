"""What is only there, drawn where it stands: bosses on their tube, screws, tab, disc, fixture and foot."""

import itertools
import math
import tomllib
from typing import Any

import numpy as np
import pytest

from geometry.core.plane import along
from geometry.mount.bosses import joint
from sheets.actions.pages import made
from sheets.ink.records import Curve, Path, Sheet
from sheets.job.read import Job, parse, place_job, tubes_of
from sheets.pages.full_size.in_place import inner
from sheets.pages.screws import screw_shapes
from sheets.setup.setup import SetUp, set_up
from tests.pages.jobs import SAMPLES, Caught, catch, sample, sample_sheets

POST: dict[str, Any] = {
    "frame": {"id": "plover-1"},
    "mount": {"end": "rear", "interface": "post", "rotor": 160, "host": "chainstay"},
    "axle": {"system": "142x12"},
    "dropout": {"thickness": 8},
    "tubes": {"chainstay": {"diameters": [[0, 24], [300, 24]], "offset": 1, "outset": -2.25, "splay": 0}},
    "boss": {"diameter": 12, "length": 60},
}


def template_of(name: str, size: str = "A4") -> Caught:
    return next(
        each for each in sample_sheets(name, sample(name).paper.view, size) if each.sheet.kind == "template"
    )


@pytest.mark.parametrize("view", ["outboard", "inboard"])
def test_a_post_meets_its_tube_where_two_round_rods_cross(view: str) -> None:
    """Hand arithmetic: at w across a rod of radius R its skin lies sqrt(R² - w²) over its middle."""
    job = parse(POST | {"paper": {"view": view}})
    placement = place_job(job)
    found = joint(placement, tubes_of(job)["chainstay"], 12.0, job.paper.view)
    # The post's middle lies 2 inboard of the tube's: at -4.25, and the tube at -2.25.
    aside = 2.0 if view == "inboard" else -2.0
    for hole in ("near", "far"):
        for u, depth in found[hole]:
            w = math.sqrt(max(0.0, 6.0**2 - u**2)) + aside
            assert depth == pytest.approx(55.9 - 1.0 - math.sqrt(12.0**2 - w**2), abs=1e-6)
        assert (found[hole][0][0], found[hole][-1][0]) == pytest.approx((-6.0, 6.0))
    sheet = made("template", job, placement, set_up(job, placement, tubes_of(job))).sheets[0]
    cope = next(each for each in sheet.features if each.name == "cope near")
    assert isinstance(cope, Curve)
    sign = 1.0 if view == "outboard" else -1.0
    for (x, y), (u, depth) in zip(cope.points, found["near"], strict=True):
        place = along((0.0, 0.0), (6.8 + u, placement.t), (55.9 - depth, placement.n))
        assert (sign * (x - sheet.axle[0]), y - sheet.axle[1]) == pytest.approx(place, abs=1e-6)


def test_beyond_the_known_tube_a_boss_has_no_cope() -> None:
    short = {"chainstay": {"diameters": [[40, 24], [300, 24]], "outset": -2.25, "splay": 0}}
    job = parse(POST | {"tubes": short})
    assert set(joint(place_job(job), tubes_of(job)["chainstay"], 12.0, "outboard")) == {"far"}


def test_a_post_that_ends_short_of_its_tube_all_round_has_no_cope() -> None:
    """The tube's nearest lies 55.9 - 1 - 12 = 42.9 under the face: drawn there, a line ran into the steps."""
    for length, names in ((42.0, set()), (44.0, {"cope near", "cope far"})):
        job = parse(POST | {"boss": {"diameter": 12, "length": length}})
        setup = set_up(job, place_job(job), tubes_of(job))
        sheet = made("template", job, place_job(job), setup).sheets[0]
        assert {each.name for each in sheet.features if each.name.startswith("cope")} == names


def test_screws_are_as_large_as_the_standards_say_and_go_in_from_their_side() -> None:
    """ISO 4762 M6 and M5: heads 10 × 6 and 8.5 × 5; ISO 7089: washers 12 × 1.6 and 10 × 1."""
    for name, sizes, way in (
        ("avocet", ((12.0, 1.6), (10.0, 6.0)), 1),
        ("greenshank", ((10.0, 1.0), (8.5, 5.0)), -1),
    ):
        job = sample(name)
        placement = place_job(job)
        shapes = screw_shapes(job, placement, "far")
        for shape, (wide, high) in zip(shapes, sizes, strict=True):
            corners = np.array(shape)
            assert np.ptp(corners, axis=0) == pytest.approx((wide, high))
            assert (corners[:4, 0].min() + corners[:4, 0].max()) / 2.0 == pytest.approx(
                placement.interface.x_far
            )
        # A post's screws come from outside, a rear flat mount's from under the stay.
        ups = [up for shape in shapes for _, up in shape]
        assert (min(ups) > placement.interface.h) if way > 0 else (max(ups) < placement.interface.h)


@pytest.mark.parametrize("name", SAMPLES)
def test_the_foot_is_marked_and_named(name: str) -> None:
    """The near hole's number counts from there; the mark lies square over the axle, as high as the face."""
    caught = template_of(name, "A3")
    face = place_job(caught.job).interface
    assert any(text == "foot" or text.startswith("foot: ") for text in caught.labels)
    line = next(each for each in caught.sheet.features if each.name in ("hole line", "mount face"))
    start = line.start  # type: ignore[union-attr]
    off = math.dist(start, caught.sheet.axle)
    assert off**2 == pytest.approx(face.h**2 + min(face.x_near - 12.0, -4.0) ** 2, rel=1e-6)


def test_posts_and_tabs_say_their_size() -> None:
    assert {"far: post Ø11.5 × 65"} & joined(template_of("godwit", "A3"))
    assert {"near: post Ø11.5 × 24.5"} & joined(template_of("godwit", "A3"))
    assert {"tab 6 thick, yours may differ"} & joined(template_of("curlew", "A3"))


def joined(caught: Caught) -> set[str]:
    """Return the labels of a sheet, each also with the one that was lettered after it."""
    texts = [line.text for line in caught.lettered if line.layer == "lettering"]
    return {*texts, *(" ".join(pair) for pair in itertools.pairwise(texts))}


def test_the_largest_disc_is_drawn_where_it_is_known_and_another() -> None:
    caught = template_of("dunlin", "A3")
    assert "largest disc 203" in joined(caught)
    points = context_points(caught.sheet)
    radii = np.hypot(*(points - np.array(caught.sheet.axle)).T)
    assert (np.abs(radii - 101.5) < 0.01).sum() > 4


def test_no_disc_is_drawn_as_safe_beside_a_tube_that_is_not_given() -> None:
    """Without its seatstay what clears greenshank's chainstay is no more than an upper bound."""
    raw = tomllib.loads(SAMPLES["greenshank"].read_text(encoding="utf-8"))
    del raw["tubes"]["seatstay"]
    (caught,) = (each for each in catch(parse(raw)) if each.sheet.kind == "template")
    largest = caught_setup(caught).clear.largest
    assert largest is not None and largest.sure is None
    assert largest.unknown
    assert not any(text.startswith("largest") for text in caught.labels)


def caught_setup(caught: Caught) -> SetUp:
    return set_up(caught.job, place_job(caught.job), tubes_of(caught.job))


def context_points(sheet: Sheet) -> Any:
    return np.array(
        [
            command[-2:]
            for path in sheet.records
            if isinstance(path, Path) and path.layer == "context"
            for command in path.commands
        ]
    )


@pytest.mark.parametrize("name", ["dunlin", "curlew", "godwit", "greenshank"])
def test_what_is_only_there_is_light_and_broken_off_inside_the_page(name: str) -> None:
    sheet = template_of(name).sheet
    assert {p.style.width for p in sheet.records if isinstance(p, Path) and p.layer == "context"} == {0.18}
    edge = sheet.margin + 0.35
    _, _, right, top = inner((edge, edge, sheet.paper.width - edge, sheet.paper.height - edge))
    points = context_points(sheet)
    # A break line's ends run a tooth past the line that it ends.
    assert points[:, 0].max() <= right + 1.6 and points[:, 1].max() <= top + 1.6


def test_a_fixture_that_is_asked_for_is_outlined() -> None:
    asked = parse(
        POST | {"mount": POST["mount"] | {"interface": "is-rear", "rotor": 140}, "boss": {}} | FIXTURE
    )
    plain = parse(POST | {"mount": POST["mount"] | {"interface": "is-rear", "rotor": 140}, "boss": {}})
    with_it, without = (len(context_points(template_sheet(job))) for job in (asked, plain))
    assert with_it > without


FIXTURE: dict[str, Any] = {"bench": {"fixture": True, "plate": 8}, "paper": {"size": "A3"}}


def template_sheet(job: Job) -> Sheet:
    placement = place_job(job)
    return made("template", job, placement, set_up(job, placement, tubes_of(job))).sheets[0]


def test_what_is_cut_or_punched_is_the_boldest() -> None:
    sheet = template_of("curlew").sheet
    width = {each.name: each.style.width for each in sheet.records if isinstance(each, Path) and each.name}
    assert width["dummy axle"] == width["hole near"] == width["hole far"] == 0.5
    assert width["fork-leg edge, mount side"] == 0.35
    assert width["rotor edge"] == 0.18
