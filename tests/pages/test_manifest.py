"""What the manifest says of every sample, against the arithmetic of the axes done over again, to 0.001 mm."""

import cmath
import math
import re
from typing import Any

import numpy as np
import pytest

from sheets.actions.attached import shorter
from tests.pages.arithmetic import DRILL, FAMILY, SCREW, SLOT, TRACK, Floats, Mount, Skin, direction, mount
from tests.pages.conftest import Delivered
from tests.pages.jobs import DRAWN

NEAR = 0.001
Z = np.array([0.0, 0.0, 1.0])
HOLES = ("near", "far")
FULL_SIZE = {"template", "face"}
ELSEWHERE = ("bar ", "card ", "caliper ", "axle reaction", "slot way out", "cope ")
"""What stands beside the drawing, or on it by other arithmetic than the axes', and is checked elsewhere."""
All = dict[tuple[str, str], Delivered]
every_sheet = pytest.mark.parametrize(("name", "view"), DRAWN)


def close(value: Any) -> Any:
    return pytest.approx(value, abs=NEAR)


class OnPage:
    """A page's points brought back into its view: the side view as complex numbers, or (along t, z)."""

    def __init__(self, page: dict[str, Any]) -> None:
        self.axle = complex(*page["axle"])
        self.sign = 1.0 if page["view"] == "outboard" else -1.0

    def __call__(self, point: list[float]) -> complex:
        off = complex(*point) - self.axle
        return complex(self.sign * off.real, off.imag)


@every_sheet
def test_the_placement(delivered: All, name: str, view: str) -> None:
    document = delivered[name, view].document
    job, placement = document["job"], document["placement"]
    wanted = mount(job)
    assert placement["face_height"] == close(wanted.h)
    assert placement["datum_shift"] == close(wanted.datum)
    assert placement["rotor"]["radius"] == close(wanted.radius)
    assert placement["rotor"]["inner_face_z"] == close(wanted.disc[0])
    assert placement["rotor"]["outer_face_z"] == close(wanted.disc[1])
    # Through a tab a drill goes inboard, a rear flat screw goes in from below, the others from above.
    into = {"+n": wanted.n, "-n": -wanted.n, "-z": None}[SCREW[wanted.row]]
    way = [0.0, 0.0, -1.0] if into is None else [into.real, into.imag, 0.0]
    assert [hole["name"] for hole in placement["holes"]] == list(HOLES)
    for hole, centre in zip(placement["holes"], wanted.holes, strict=True):
        assert hole["centre"] == close([centre.real, centre.imag, wanted.z])
        assert hole["axis"] == close(way)
        assert hole["diameter"] == close(DRILL[wanted.row])


@every_sheet
def test_every_feature_of_the_side_view(delivered: All, name: str, view: str) -> None:
    document = delivered[name, view].document
    page = _page(delivered[name, view], "template")
    wanted, at, job = mount(document["job"]), OnPage(page), document["job"]
    skins = _skins(job)
    corners = job.get("dropout", {}).get("points", [])
    shape = [*corners, *corners[:1]]
    seen = set()
    for feature in page["features"]:
        which = feature["name"]
        if which.startswith(ELSEWHERE):
            continue
        seen.add(re.sub(r", part \d", "", which))
        if which.startswith("dropout hole"):
            x, y, size = job["dropout"]["holes"][int(which.rsplit(" ", 1)[1]) - 1]
            assert at(feature["centre"]) == close(complex(x, y))
            assert feature["diameter"] == close(size)
            seen.discard(which)
        elif feature["kind"] == "circle":
            hole = which.removeprefix("hole ")
            centre = wanted.holes[HOLES.index(hole)] if hole in HOLES else 0.0
            assert at(feature["centre"]) == close(centre)
            diameter = job["axle"]["dummy"] if which == "dummy axle" else DRILL[wanted.row]
            assert feature["diameter"] == close(diameter)
        elif feature["kind"] == "arc":
            assert feature["centre"] == page["axle"]
            edge = which.startswith("rotor edge")
            assert edge or which.startswith("brake track, inner edge")
            assert feature["diameter"] == close(2.0 * (wanted.radius if edge else wanted.radius - TRACK))
            assert 0.0 < feature["to"] - feature["from"] < 180.0
        elif which.startswith("pad"):
            ring = [complex(*each) for each in job["dropout"]["pad"]]
            for point in feature["points"]:
                assert min(abs(at(point) - each) for each in ring) == close(0.0)
        elif which in ("mount face", "hole line"):
            assert which == ("hole line" if FAMILY[wanted.row] == "tab" else "mount face")
            ends = [_along(wanted, at(feature[end])) for end in ("from", "to")]
            assert [end.imag for end in ends] == close([wanted.h, wanted.h])
            assert ends[0].real < wanted.x[0] < wanted.x[1] < ends[1].real
        elif which.startswith("bolt axis"):
            ends = [_along(wanted, at(feature[end])) for end in ("from", "to")]
            x = wanted.x[HOLES.index(which.removeprefix("bolt axis "))]
            assert [end.real for end in ends] == close([x, x])
            assert ends[0].imag > wanted.h > ends[1].imag
        elif which.startswith("boss"):
            x = wanted.x[HOLES.index(which.removeprefix("boss "))]
            length = job["boss"]["length"]
            if which == "boss near":
                length = job["boss"].get("near_length", length)
            half, low = job["boss"]["diameter"] / 2.0, wanted.h - length
            corners = [_along(wanted, at(point)) for point in feature["points"]]
            assert corners == close(
                [
                    complex(x + u, v)
                    for u, v in ((-half, wanted.h), (-half, low), (half, low), (half, wanted.h))
                ]
            )
        elif which == "dropout edge":
            assert [at(point) for point in feature["points"]] == close([complex(*each) for each in shape])
        else:
            tube, _, line = which.partition(" ")
            _check_side_line(skins[tube], line, [at(point) for point in _points(feature)])
    edges = ({"dropout edge"} if shape else set()) | ({"pad"} if job["dropout"].get("pad") else set())
    assert seen == _expected_in_side_view(wanted, skins) | edges


def _check_side_line(skin: Skin, line: str, points: list[complex]) -> None:
    """Check a tube's edge or centre line: s along the real axis, beside the axle along the imaginary one."""
    on_tube = [complex((p * skin.t0.conjugate()).real, (p * skin.n0.conjugate()).real) for p in points]
    if line == "centre line":
        assert [point.imag for point in on_tube] == close([skin.offset] * len(points))
        return
    t0, n0 = (np.array([way.real, way.imag, 0.0]) for way in (skin.t0, skin.n0))
    low, high = skin.silhouette(Z, t0, n0, _with_middles(on_tube).real)
    side = {"edge, mount side": high, "edge, far side": low}[line]
    assert _with_middles(on_tube).imag == close(side)
    assert on_tube[0].real >= skin.first - 1.0


@every_sheet
def test_every_feature_of_the_face_view(delivered: All, name: str, view: str) -> None:
    document = delivered[name, view].document
    wanted, job = mount(document["job"]), document["job"]
    if FAMILY[wanted.row] == "tab":
        assert [page["sheet"] for page in delivered[name, view].pdf_pages].count("face") == 0
        return
    page = _page(delivered[name, view], "face")
    at, skins = OnPage(page), _skins(job)
    levels = {
        "dropout inner face": 0.0,
        "disc, inner face": wanted.disc[0],
        "disc, outer face": wanted.disc[1],
    }
    levels["posts' middle line" if FAMILY[wanted.row] == "post" else "holes' middle line"] = wanted.z
    if wanted.datum:
        levels["pocket floor"] = wanted.datum
    host = job["mount"].get("host", "fork-leg")
    seen = set()
    for feature in page["features"]:
        which = feature["name"]
        if which.startswith(ELSEWHERE):
            continue
        seen.add(which)
        if which.startswith(("hole ", "boss ")):
            what, hole = which.split(" ")
            centre = complex(wanted.x[HOLES.index(hole)], wanted.z)
            if feature["kind"] == "slot":
                assert what == "hole"
                half = (SLOT[wanted.row] - DRILL[wanted.row]) / 2.0
                ends = sorted((at(feature["from"]), at(feature["to"])), key=lambda end: end.imag)
                assert ends == close([centre - half * 1j, centre + half * 1j])
                assert feature["width"] == close(DRILL[wanted.row])
            else:
                assert (what, wanted.row in SLOT) != ("hole", True)
                assert at(feature["centre"]) == close(centre)
                size = DRILL[wanted.row] if what == "hole" else job["boss"]["diameter"]
                assert feature["diameter"] == close(size)
            continue
        points = [at(point) for point in _points(feature)]
        if which == "axle line":
            assert [point.real for point in points] == close([0.0, 0.0])
            assert points[0].imag < min(levels.values()) < max(levels.values()) < points[1].imag
        elif which in levels:
            assert [point.imag for point in points] == close([levels[which]] * 2)
        else:
            _check_face_line(wanted, skins[host], which.removeprefix(f"{host} "), points)
    tube = {f"{host} {line}" for line in ("edge, outboard", "edge, inboard", "centre line")}
    drawn = {*levels, *tube, "axle line", *(f"{what} {hole}" for what in ("hole", "boss") for hole in HOLES)}
    assert seen == drawn


def _check_face_line(wanted: Mount, skin: Skin, line: str, points: list[complex]) -> None:
    t, n = (np.array([way.real, way.imag, 0.0]) for way in (wanted.t, wanted.n))
    if line == "centre line":
        ends = skin.centre(np.array([skin.first, skin.last]))
        slope = (ends[1, 2] - ends[0, 2]) / ((ends[1] - ends[0]) @ t)
        middle = [ends[0, 2] + slope * (point.real - ends[0] @ t) for point in points]
        assert [point.imag for point in points] == close(middle)
        return
    places = _with_middles(points)
    low, high = skin.silhouette(n, t, Z, places.real)
    assert places.imag == close({"edge, outboard": high, "edge, inboard": low}[line])


@every_sheet
def test_bars_and_card(delivered: All, name: str, view: str) -> None:
    for page in delivered[name, view].pdf_pages:
        if page["sheet"] not in FULL_SIZE:
            continue
        named = {
            each["name"]: each for each in page["features"] if each["name"].startswith(("bar ", "card "))
        }
        for way, across in (("across", True), ("down", False)):
            for unit, length in ((f"bar {way}", 150.0), (f"bar {way}, inch", 6 * 25.4)):
                _check_upright(named.pop(unit), length, across)
            if f"card {way}" in named:
                # ISO/IEC 7810 ID-1 (published tables): 85.60 by 53.98.
                _check_upright(named.pop(f"card {way}"), 85.60 if across else 53.98, across)
        assert not named


def _check_upright(feature: dict[str, Any], length: float, across: bool) -> None:
    run = complex(*feature["to"]) - complex(*feature["from"])
    assert run == close(complex(length, 0.0) if across else complex(0.0, length))
    assert feature["length"] == close(length)


@every_sheet
def test_both_files_tell_of_the_same_pages(delivered: All, name: str, view: str) -> None:
    in_pdf = [page for page in delivered[name, view].pdf_pages if page["sheet"] in FULL_SIZE]
    in_svg = [page for _, page in delivered[name, view].svgs if page["sheet"] in FULL_SIZE]
    assert in_pdf
    # Only the page's number in its file may differ.
    assert [page | {"number": 0} for page in in_svg] == [page | {"number": 0} for page in in_pdf]
    assert {page["view"] for page in in_pdf} == {view}


def test_the_arithmetic_itself() -> None:
    """The helpers agree with numbers that others print, so a slip in them would not pass for agreement."""
    # The rear triangle of 39.9, 78.1 and 51, rounded (own arithmetic): 35.25 up, 18.69 and 69.69 along.
    assert mount(_job("is-rear", "chainstay", 140))[4:6] == (
        pytest.approx(35.25, abs=0.005),
        pytest.approx((18.69, 69.69), abs=0.005),
    )
    # A post for 180 lies 10 mm further out at 60 degrees than one for 160 (design; own arithmetic).
    near160, near180 = (mount(_job("post", "chainstay", disc)).holes[0] for disc in (160, 180))
    assert abs(near180 - near160) == pytest.approx(10.0)
    # Along the chainstay to the front and up from it: forward is -x, so 180 - 60 degrees.
    assert math.degrees(cmath.phase(near180 - near160)) == pytest.approx(120.0)
    # A plain cone of 5 degrees a side, seen from the side: its edge leaves the middle by the taper alone.
    cone = Skin("cone", {"diameters": [[0, 10], [100, 20]]}, -1.0 + 0.0j)
    back, up = np.array([-1.0, 0.0, 0.0]), np.array([0.0, 1.0, 0.0])
    low, high = cone.silhouette(Z, back, up, np.array([0.0, 50.0]))
    assert [*low, *high] == pytest.approx([-5.0, -7.5, 5.0, 7.5])
    # A round cylinder leaning 60 degrees out of the page still shows its full radius.
    leaning = Skin("leaning", {"diameters": [[0, 10], [100, 10]], "splay": 60}, -1.0 + 0.0j)
    assert leaning.silhouette(Z, back, up, np.array([30.0]))[1] == pytest.approx(5.0)


def _job(row: str, host: str, disc: float) -> dict[str, Any]:
    mounted = {"interface": row, "end": "rear", "host": host, "rotor": disc}
    return {"mount": mounted, "axle": {"system": "142x12"}}


def _page(job: Delivered, sheet: str) -> dict[str, Any]:
    return next(page for page in job.pdf_pages if page["sheet"] == sheet)


def _skins(job: dict[str, Any]) -> dict[str, Skin]:
    # A brace runs from stay to stay, and has no part in the side view.
    tubes = {name: table for name, table in job["tubes"].items() if name != "brace"}
    return {name: Skin(name, table, direction(name, job)) for name, table in tubes.items()}


def _along(wanted: Mount, point: complex) -> complex:
    """Return a point of the side view as its place along t, and its height along n."""
    return complex((point * wanted.t.conjugate()).real, (point * wanted.n.conjugate()).real)


def _points(feature: dict[str, Any]) -> list[list[float]]:
    return feature["points"] if feature["kind"] == "curve" else [feature["from"], feature["to"]]


def _with_middles(points: list[complex]) -> Floats:
    """Return points with the middles between them."""
    line = np.array(points)
    return np.concatenate([line, (line[1:] + line[:-1]) / 2.0])


def _expected_in_side_view(wanted: Mount, skins: dict[str, Skin]) -> set[str]:
    lines = ("edge, mount side", "edge, far side", "centre line")
    names = {f"{tube} {line}" for tube in skins for line in lines}
    names |= {"hole near", "hole far", "dummy axle", "rotor edge", "brake track, inner edge"}
    if FAMILY[wanted.row] == "tab":
        return names | {"hole line"}
    return names | {"mount face", *(f"{what} {hole}" for what in ("bolt axis", "boss") for hole in HOLES)}


def test_a_packets_manifest_rounds_lengths_and_no_factors() -> None:
    """A factor of four places moves a line 150 mm long by up to 0.0075 mm, so that filed packets differ."""
    page = {"scale": [1.002865, 0.996241], "skew": 0.123457, "axle": [100.123456, 50.0], "number": 1}
    line = {"points": [[100.123456, 50.0], [1.0, 2.00049]]}
    found = shorter([page, line])
    assert found == [{**page, "axle": [100.1235, 50.0]}, {"points": [[100.123, 50.0], [1.0, 2.0]]}]
