"""Bosses on their tube, against closed forms, integrals by scipy and the tube's own surface searched.

Ranges: tubes 14 to 40 mm across, bosses 8 to 16 mm, splay within 8 degrees and tilt within 30 (common
practice, no source, with room to spare).
"""

import dataclasses
import math
import re
from typing import Any

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy.integrate import quad
from scipy.optimize import fsolve

from geometry.mount.bosses import LEAST, BossFit, fit_bosses, made_length
from geometry.mount.placement import Placement, place
from geometry.tables.axles import axle
from geometry.tables.fasteners import screw
from geometry.tables.interfaces import resolve
from geometry.tubes.tube import Station, Tube, surface
from geometry.tubes.weakening import moments, share
from sheets.actions.manifest import setup_json
from sheets.job.read import from_bytes, parse, place_job, read, tubes_of
from sheets.pages.running.numbers import detail_pages
from sheets.setup.setup import set_up
from sheets.words.bosses import boss_words, paragraphs, rows, share_words
from sheets.words.tell import told
from tests.pages.jobs import SAMPLES

H, NEAR, FAR = 34.0, 40.0, 74.0


def mount(
    family: str = "flat-rear",
    *,
    h: float = H,
    z: float = 0.0,
    direction: float = 180.0,
    tilt: float = 0.0,
    turned: float = 0.0,
) -> Placement:
    """Return a mount of a family with face, bolts (NEAR and FAR up the tube) and z of the test's own."""
    row = resolve(family, "rear", 160.0, 160.0)
    placed = place(
        row, axle("142x12"), rotor=160.0, host="chainstay", direction=direction + turned, tilt=tilt
    )
    (tx, ty), (nx, ny) = placed.t, placed.n
    holes = tuple(
        dataclasses.replace(hole, centre=(h * nx + x * tx, h * ny + x * ty, z))
        for hole, x in zip(placed.holes, (NEAR, FAR), strict=True)
    )
    return dataclasses.replace(placed, holes=(holes[0], holes[1]), lateral_z=z)


def straight(diameter: float, **more: Any) -> Tube:
    return Tube(
        "chainstay", more.pop("direction", 180.0), (_round(0.0, diameter), _round(300.0, diameter)), **more
    )


def _round(s: float, diameter: float) -> Station:
    return Station(s, diameter, diameter)


def fits(placement: Placement, tube: Tube, **more: Any) -> tuple[BossFit, ...]:
    return fit_bosses(placement, tube, **{"diameter": 12.0, "length": 30.0, **more})


def said(found: tuple[BossFit, ...], **more: Any) -> tuple[str, str]:
    return paragraphs(boss_words(found, "chainstay", screw("M5"), **more))


# --- stand-off


@given(
    diameter=st.floats(14.0, 40.0),
    offset=st.floats(-10.0, 12.0),
    lateral=st.floats(-0.95, 0.95),
    direction=st.floats(0.0, 360.0),
)
def test_standoff_over_a_straight_round_tube(
    diameter: float, offset: float, lateral: float, direction: float
) -> None:
    """Pythagoras: at e beside the middle a tube of radius R is sqrt(R^2 - e^2) high."""
    e = lateral * diameter / 2.0
    chord = math.sqrt(diameter**2 / 4.0 - e**2)
    tube = straight(diameter, direction=direction, offset=offset, outset=-3.0)
    for fit, x in zip(fits(mount(z=e - 3.0, direction=direction), tube), (NEAR, FAR), strict=True):
        assert fit.standoff == pytest.approx(H - offset - chord, abs=1e-6)
        assert fit.through == pytest.approx(H - offset + chord, abs=1e-6)
        assert fit.s == pytest.approx(x, abs=1e-6)
        assert fit.goes_in == pytest.approx(30.0 - (H - offset - chord), abs=1e-6)


@given(
    low=st.tuples(st.floats(14.0, 30.0), st.floats(14.0, 30.0)),
    high=st.tuples(st.floats(14.0, 30.0), st.floats(14.0, 30.0)),
    splay=st.floats(-8.0, 8.0),
    tilt=st.floats(-30.0, 30.0),
    lateral=st.floats(-3.0, 3.0),
    offset=st.floats(-5.0, 10.0),
)
def test_standoff_is_where_the_axis_pierces_the_tubes_own_surface(
    low: tuple[float, float],
    high: tuple[float, float],
    splay: float,
    tilt: float,
    lateral: float,
    offset: float,
) -> None:
    """Tapered, oval, splayed and tilted: the surface's point on the axis is searched for by scipy."""
    stations = (Station(-60.0, *low), Station(200.0, *high))
    # Outset, so that the splayed tube passes under the bolt.
    tube = Tube("chainstay", 180.0, stations, offset, NEAR * math.tan(math.radians(splay)), splay)
    placement = mount(z=lateral, tilt=tilt)
    found = fits(placement, tube)[0]
    # A bolt low on the tube's flank is another test's.
    assume(found.meets == "tube" and min(found.beside or (0.0,)) > -4.0)
    origin, t, n = np.array(placement.holes[0].centre), np.array(placement.t), np.array(placement.n)

    def aside(place: np.ndarray) -> list[float]:
        point = surface(tube, np.array(place[0]), np.array(place[1])) - origin
        return [float(point[:2] @ t), float(point[2])]

    depths = []
    for s in np.linspace(0.0, 90.0, 7):
        for turn in (0.0, 0.6, -0.6, math.pi, math.pi + 0.6, math.pi - 0.6):
            place, _, done, _ = fsolve(aside, [s, turn], full_output=True, xtol=1e-13)
            if done == 1 and max(map(abs, aside(place))) < 1e-9:
                point = surface(tube, np.array(place[0]), np.array(place[1])) - origin
                depths.append(-float(point[:2] @ n))
    assert found.standoff == pytest.approx(min(depths), abs=1e-6)
    assert found.through == pytest.approx(max(depths), abs=1e-6)


@given(tilt=st.floats(-30.0, 30.0), turned=st.floats(-180.0, 180.0), lateral=st.floats(-3.0, 3.0))
def test_turning_mount_and_tube_together_changes_nothing(tilt: float, turned: float, lateral: float) -> None:
    stations = (Station(-60.0, 22.0, 16.0), Station(200.0, 26.0, 20.0))
    tubes = [Tube("chainstay", 180.0 + turn, stations, 2.0, 0.5, 3.0) for turn in (0.0, turned)]
    one, other = (
        fits(mount(z=lateral, tilt=tilt, turned=turn), tube)
        for turn, tube in zip((0.0, turned), tubes, strict=True)
    )
    for a, b in zip(one, other, strict=True):
        assert b.standoff == pytest.approx(a.standoff, abs=1e-7)
        assert b.rim == pytest.approx(a.rim, abs=1e-5)
        assert a.share is not None and b.share is not None
        assert dataclasses.astuple(b.share) == pytest.approx(dataclasses.astuple(a.share), abs=1e-6)


def test_the_rim_runs_from_the_crest_to_the_boss_sides() -> None:
    """Round tube R = 11, boss r = 6 in the middle: crest at R, sides at sqrt(121 - 36)."""
    fit = fits(mount("post"), straight(22.0))[0]
    assert fit.rim == pytest.approx((H - 11.0, H - math.sqrt(121.0 - 36.0)), abs=1e-6)
    assert not fit.rim_open
    assert made_length([fit]) == pytest.approx(H - math.sqrt(85.0), abs=1e-6)


# --- what is left


def test_a_whole_thin_ring() -> None:
    """Length 2 pi r and second moment pi r^3 t over t: the handbooks' thin ring."""
    assert moments(9.0, 9.0) == pytest.approx((2.0 * math.pi * 9.0, math.pi * 729.0, math.pi * 729.0))


@given(r=st.floats(4.0, 40.0), gap=st.floats(0.0, 3.0))
def test_a_ring_with_a_gap_on_top(r: float, gap: float) -> None:
    """Closed form about the centroid, which moves down by r sin(gap) / (pi - gap)."""
    left = math.pi - gap
    length, up, across = moments(r, r, [(gap, 2.0 * math.pi - gap)])
    assert length == pytest.approx(2.0 * r * left, rel=1e-9)
    moved = 2.0 * r**3 * math.sin(gap) ** 2 / left
    assert up == pytest.approx(r**3 * (left - math.sin(2.0 * gap) / 2.0) - moved, rel=1e-8, abs=1e-9)
    assert across == pytest.approx(r**3 * (left + math.sin(2.0 * gap) / 2.0), rel=1e-9)


@given(
    a=st.floats(5.0, 20.0),
    b=st.floats(5.0, 20.0),
    low=st.floats(-3.0, 3.0),
    run=st.floats(0.1, 2.0 * math.pi),
)
def test_an_arc_of_an_oval_against_quadrature(a: float, b: float, low: float, run: float) -> None:
    """scipy.integrate.quad over the same arc."""

    def line(p: float) -> float:
        return math.hypot(a * math.sin(p), b * math.cos(p))

    def over(weigh: Any) -> float:
        return float(
            quad(lambda p: weigh(p) * line(p), low, low + run, epsabs=1e-8, epsrel=1e-10, limit=200)[0]
        )

    length = over(lambda p: 1.0)
    wanted = [length]
    for part in (lambda p: a * math.cos(p), lambda p: b * math.sin(p)):
        middle = over(part) / length
        wanted.append(over(lambda p, part=part, middle=middle: (part(p) - middle) ** 2))
    assert moments(a, b, [(low, low + run)]) == pytest.approx(wanted, rel=1e-7, abs=1e-7)


@pytest.mark.parametrize("wall", [None, 0.9])
def test_a_hole_through_both_walls_of_a_round_tube(wall: float | None) -> None:
    """Gaps of half angle asin(r / R) top and bottom, R the middle of the wall or the outside."""
    fit = fits(mount(), straight(22.0), length=60.0, wall=wall)[0]
    gap = math.asin(6.0 / (11.0 - (wall or 0.0) / 2.0))
    assert fit.passes_through and fit.share is not None
    wanted = (
        1.0 - 2.0 * gap / math.pi,
        1.0 - (2.0 * gap + math.sin(2.0 * gap)) / math.pi,
        1.0 - (2.0 * gap - math.sin(2.0 * gap)) / math.pi,
    )
    assert dataclasses.astuple(fit.share) == pytest.approx(wanted, abs=1e-9)
    assert fit.beside == pytest.approx((5.0, 5.0), abs=1e-9)


def test_a_blind_hole_takes_the_upper_wall_alone() -> None:
    fit = fits(mount(), straight(22.0), length=H)[0]
    gap = math.asin(6.0 / 11.0)
    length, up, across = moments(11.0, 11.0, [(gap, 2.0 * math.pi - gap)])
    whole = math.pi * 11.0**3
    assert fit.share is not None and not fit.passes_through
    assert dataclasses.astuple(fit.share) == pytest.approx(
        (length / (22.0 * math.pi), up / whole, across / whole), abs=1e-9
    )


@given(
    sizes=st.tuples(st.floats(8.0, 16.0), st.floats(8.0, 16.0)),
    lengths=st.tuples(st.floats(10.0, 60.0), st.floats(10.0, 60.0)),
    lateral=st.floats(-10.0, 10.0),
    tilt=st.floats(-30.0, 30.0),
)
def test_more_boss_never_leaves_more(
    sizes: tuple[float, float], lengths: tuple[float, float], lateral: float, tilt: float
) -> None:
    stations = (Station(-60.0, 22.0, 16.0), Station(200.0, 26.0, 20.0))
    tube = Tube("chainstay", 180.0, stations, 2.0, 0.5, 3.0)
    placement = mount(z=lateral, tilt=tilt)
    less, more = (fits(placement, tube, diameter=pick(sizes), length=pick(lengths)) for pick in (min, max))
    for a, b in zip(less, more, strict=True):
        if a.share is None or b.share is None:
            assert a.share is None  # the larger boss reaches a tube that the smaller one misses
            continue
        for left, still in zip(dataclasses.astuple(a.share), dataclasses.astuple(b.share), strict=True):
            assert 0.0 <= still <= left + 1e-6
            assert left <= 1.0
        assert a.beside is not None and b.beside is not None
        assert b.beside[0] <= a.beside[0] and b.beside[1] <= a.beside[1]


@given(lateral=st.floats(0.0, 8.0), length=st.floats(20.0, 60.0))
def test_mirrored_sideways_the_sides_change_places(lateral: float, length: float) -> None:
    one, other = (fits(mount(z=z), straight(20.0), length=length)[0] for z in (lateral, -lateral))
    assert one.beside is not None and other.beside is not None
    assert one.beside == pytest.approx(other.beside[::-1], abs=1e-9)
    # + z is outboard: there the boss comes nearer to the tube's outboard side.
    assert one.beside[0] <= one.beside[1]
    assert one.share is not None and other.share is not None
    assert dataclasses.astuple(one.share) == pytest.approx(dataclasses.astuple(other.share), abs=1e-9)


# --- what goes wrong


def test_a_boss_wider_than_the_stay_breaks_out_on_both_sides() -> None:
    """Bosses of 14 on stays of 12.5 exist: interfaces reference, part 2, 1a and 1d."""
    found = fits(mount(), straight(12.5), diameter=14.0, length=60.0)
    for fit in found:
        assert fit.beside == (0.0, 0.0)
        assert fit.out_by == pytest.approx((0.75, 0.75), abs=1e-9)
        assert fit.rim_open
        assert fit.share is not None and fit.share.least == 0.0
    loud, _ = said(found)
    assert "near and far by 0.75 outboard and by 0.75 inboard" in loud
    assert "Take a wider chainstay or a smaller boss, or set the mount on a plate." in loud


def test_a_boss_past_one_side_leaves_the_other() -> None:
    fit = fits(mount(z=-4.0), straight(16.0), diameter=14.0, length=60.0)[0]
    assert fit.beside == pytest.approx((5.0, 0.0), abs=1e-9)
    assert fit.out_by == pytest.approx((0.0, 3.0), abs=1e-9)
    assert fit.share is not None and 0.0 < fit.share.wall < 0.5


def test_a_tube_beside_the_bolt_is_told_with_its_side() -> None:
    found = fits(mount(z=-13.5), straight(22.0))
    assert [fit.meets for fit in found] == ["beside", "beside"]
    assert found[0].miss == pytest.approx(2.5, abs=1e-9)
    assert found[0].standoff is None
    assert "misses the chainstay, near and far by 2.50 inboard" in said(found)[0]


def test_a_bolt_before_the_tube_or_past_its_straight_part() -> None:
    tube = Tube("chainstay", 180.0, (_round(50.0, 20.0), _round(300.0, 20.0)), straight_to=60.0)
    near, far = fits(mount(), tube)
    assert (near.meets, far.meets) == ("before", "beyond")
    assert near.miss == pytest.approx(10.0) and far.miss == pytest.approx(14.0)
    assert near.standoff is None and far.standoff is None
    # What carries the near one is told by sheets/setup/carried.py.
    loud, quiet = said((near, far))
    assert "near" not in loud + quiet
    assert "known to be straight, far by 14.00" in loud


def test_a_boss_over_the_tubes_end() -> None:
    fit = fits(mount(), Tube("chainstay", 180.0, (_round(37.0, 20.0), _round(300.0, 20.0))))[0]
    assert fit.overhang == pytest.approx(3.0, abs=1e-6)
    assert fit.standoff == pytest.approx(H - 10.0, abs=1e-6)


def test_bolts_along_the_tube_are_refused_in_words() -> None:
    found = fits(mount(tilt=90.0), straight(20.0))
    assert {fit.meets for fit in found} == {"along"}
    assert "run nearly along the chainstay" in said(found)[0]


def test_a_tab_has_no_bosses() -> None:
    row = resolve("is-rear", "rear", None, 160.0)
    tab = place(row, axle("135-qr"), rotor=160.0, host="chainstay", direction=180.0)
    assert fits(tab, straight(20.0)) == ()
    assert boss_words((), "chainstay", screw("M6")) == ()


# --- screws, lengths and words


def test_a_rear_flat_boss_is_what_its_screw_clamps() -> None:
    """Screws go in steps of 5, shank 13 longer: interfaces reference, part 2, 1a."""
    tube = straight(18.0, offset=12.0)  # the far wall lies 31 below a face at 34
    through = fits(mount(), tube, length=35.0)[0]
    assert through.passes_through and through.under_head == 35.0
    assert through.screw is not None and (through.screw.made_for, through.screw.shank) == (35, 48.0)
    blind = fits(mount(), tube, length=22.0)
    assert not blind[0].passes_through and blind[0].under_head == 22.0
    _, quiet = said(blind)
    assert "a boss 25 long needs no packing" in quiet
    assert "The head seats inside the chainstay, 22 below the face (near and far)" in quiet
    assert "Passing through takes 31.00: make it 35." in quiet
    assert "no screw is so long" in said(fits(mount(), straight(18.0), length=22.0))[1]
    assert "seats" not in said(fits(mount(), tube, length=35.0))[1]


def test_a_post_is_coped_and_takes_nothing() -> None:
    found = fits(mount("post"), straight(22.0), length=24.0)
    assert all(fit.coped and fit.share is None and fit.under_head is None for fit in found)
    loud, quiet = said(found, facing=0.5)
    # The rim's sides lie at 34 - sqrt(121 - 36) = 24.780.
    assert "near and far by 0.78: make it 24.78 or longer" in loud
    # Cut that long, and the stock on top: not to the 24 that falls short.
    assert "the face lies 0.5 higher. The post is 25.28 long before facing, 24.78 after." in quiet
    assert rows(found)[1][0] == ("near", "23.00", "23.00 to 24.78", "1.78", "24.78")
    assert said(fits(mount("post"), straight(22.0), length=25.0))[0] == ""


def test_the_warning_follows_the_share_asked_for() -> None:
    found = fits(mount(), straight(22.0), length=60.0)
    assert found[0].share is not None and found[0].share.least < LEAST
    left = share_words(found[0].share.least)
    what = f"The hole leaves {left} of the chainstay's stiffness, near and far"
    assert f"{what}; 50 % is asked for." in said(found)[0]
    assert said(found, share=0.0)[0] == ""
    assert f"{what}; the job asks for 90 %." in said(found, share=0.9)[0]
    assert "wall is not given" in said(found, wall=False)[1]


def test_shares_round_down() -> None:
    assert [share_words(each) for each in (1.0, 0.9999, 0.29, 0.0)] == ["100 %", "99 %", "29 %", "0 %"]
    assert share(9.0, 7.0, []).least == 0.0


@pytest.mark.parametrize("name", SAMPLES)
def test_every_sample_is_told_what_its_bosses_do(name: str) -> None:
    job = read(SAMPLES[name])
    placement = place_job(job)
    setup = set_up(job, placement, tubes_of(job))
    found = setup_json(setup)["bosses"]
    if placement.interface.family == "tab":
        assert found == []
        return
    assert [each["name"] for each in found] == ["near", "far"]
    assert any(each["standoff"] is not None for each in found)
    # The card has no room for it; it stands in full on the page behind it.
    printed = " ".join(text.text for sheet in detail_pages(job, placement, setup) for text in sheet.texts)
    for each in found:
        if each["standoff"] is not None:
            assert 0.0 < each["standoff"] < each["through"]
            assert f"{each['standoff']:.2f}" in printed
    for sentence in setup.boss_words:
        assert told(sentence.text) in printed and "\n" not in told(sentence.text)


@pytest.mark.parametrize(
    ("start", "code", "said"),
    [
        # The near hole's middle lies 34 along the stay, and it is 11 wide, so that its edge lies at 28.5.
        (20.0, None, ""),
        (26.0, "hole-near-start", "near 2.5 mm"),
        (30.0, "hole-past-start", "near by 1.50"),
    ],
)
def test_a_hole_where_its_tube_begins_is_told(start: float, code: str | None, said: str) -> None:
    text = SAMPLES["greenshank"].read_text(encoding="utf-8").replace('[[28, "1 in"]', f'[[{start}, "1 in"]')
    job = from_bytes(text.encode(), SAMPLES["greenshank"]).job
    setup = set_up(job, place_job(job), tubes_of(job))
    found = {each.code: each for each in setup.boss_words if each.code.endswith("-start")}
    assert list(found) == ([code] if code else [])
    for each in found.values():
        assert said in told(each.text)
        assert each.level == ("warn" if code == "hole-past-start" else "note")


def test_a_sleeve_is_joined_before_the_holes_and_both_lists_say_so() -> None:
    """Its wall of 0.058 in, 1.4732 mm, is what the strength of the weakened stay counts on."""
    job = read(SAMPLES["greenshank"])
    setup = set_up(job, place_job(job), tubes_of(job))
    step = next(each for each in setup.operations if each.key == "cut")
    for line in (step.text, step.brief):
        assert re.search(r"sleeve .*1\.47 mm thick.*[Ss]aw the (boss )?holes", line)
        assert line in " ".join(text for text, _ in setup.work) or line is step.text
    plain = job.model_copy(update={"boss": job.boss.model_copy(update={"sleeve": None})})
    bare = set_up(plain, place_job(plain), tubes_of(plain))
    assert "sleeve" not in next(each for each in bare.operations if each.key == "cut").text


def test_sizes_left_out_are_the_tables_and_said_so() -> None:
    job = parse(
        {
            "frame": {"id": "knot-1"},
            "mount": {"end": "rear", "interface": "flat-rear", "rotor": 140, "host": "chainstay"},
            "axle": {"system": "142x12"},
            "tubes": {"chainstay": {"diameters": [[20, 20]], "offset": 12, "outset": -3, "splay": 0}},
            "boss": {"share": "20 %"},
        }
    )
    setup = set_up(job, place_job(job), tubes_of(job))
    words = " ".join(told(each.text) for each in setup.boss_words)
    assert "The diameter 14 is the table's, grade D" in words
    assert "The length 20 is the table's, grade B" in words
    assert job.boss.share == 0.2
