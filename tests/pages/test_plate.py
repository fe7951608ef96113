"""The fixture's patterns of all samples: SVG, PDF and DXF against the placement and each other.

SVG is read by svgelements, PDF by MuPDF, DXF by ezdxf; what is expected comes from the manifest's placement.
"""

import functools
import json
import math
from pathlib import Path
from typing import Any

import ezdxf
import numpy as np
import pytest

from sheets.actions.manifest import Drawn
from sheets.actions.manifest import drawn as manifest
from sheets.actions.manifest import text as text_of
from sheets.files.read.dxf import verify_dxf
from sheets.files.write.dxf import write_dxf
from sheets.files.write.pdf import write_pdf
from sheets.files.write.svg import write_svg
from sheets.home.printers import printers_in
from sheets.ink.machining import operations
from sheets.job.read import load, place_job, tubes_of
from sheets.pages.fixture.plate import plates
from sheets.setup.setup import set_up
from tests.pages.conftest import Delivered, Lazily, draw
from tests.pages.jobs import SAMPLES
from tests.pages.outside_readers import Floats, pdf_by_mupdf, svg_by_svgelements
from tests.pages.test_outside import missed

All = dict[str, Delivered]
every_sample = pytest.mark.parametrize("name", SAMPLES)
CLOSE = 0.001


@pytest.fixture(scope="module")
def drawn(tmp_path_factory: pytest.TempPathFactory) -> All:
    """Return the patterns of every sample, from a copy that asks for a fixture and its DXF.

    They alone are written, by the very writers of `draw`; that the command delivers them is tested elsewhere.
    """
    folder = tmp_path_factory.mktemp("plates")

    def made(name: str) -> Delivered:
        text = SAMPLES[name].read_text(encoding="utf-8")
        assert text.count("[bench]\n") == 1
        copy = folder / f"{name}.toml"
        copy.write_text(text.replace("[bench]\n", "[bench]\nfixture = true\ndxf = true\n"), encoding="utf-8")
        job = load(copy).job
        placement, tubes = place_job(job), tubes_of(job)
        setup = set_up(job, placement, tubes)
        sheets = plates(job, placement, tubes, setup)
        files = [Drawn(folder / f"{name}.pdf", "pdf", sheets)]
        write_pdf(sheets, files[0].path, title=name, subject=name)
        for number, sheet in enumerate(sheets, start=1):
            files.append(Drawn(folder / f"{name}-{number}.svg", "svg", (sheet,)))
            write_svg(sheet, files[-1].path)
            if operations(sheet):
                files.append(Drawn(folder / f"{name}-{number}.dxf", "dxf", (sheet,)))
                write_dxf(sheet, files[-1].path)
                assert verify_dxf(files[-1].path, sheet) < CLOSE
        document = json.loads(text_of(manifest(job, placement, files, (), setup.fixture)))
        return Delivered(document)

    return Lazily(made)


def pages(job: Delivered) -> list[dict[str, Any]]:
    """Return the packet's pages of kind plate."""
    return [page for page in job.pdf_pages if page["sheet"] == "plate"]


def dxfs(job: Delivered) -> list[tuple[Path, dict[str, Any]]]:
    """Return each DXF with its one page."""
    files = [file for file in job.document["files"] if file["kind"] == "dxf"]
    return [(Path(file["path"]), file["pages"][0]) for file in files]


@functools.cache
def opened(file: Path) -> Any:
    """Return a DXF as ezdxf reads it."""
    return ezdxf.readfile(file)


def circles_of(page: dict[str, Any]) -> dict[str, dict[str, Any]]:
    """Return a page's circles by name."""
    return {each["name"]: each for each in page["features"] if each["kind"] == "circle"}


def in_plane(placement: dict[str, Any], hole: dict[str, Any]) -> tuple[float, float]:
    """Return a hole's centre along t and along n."""
    x, y, _ = hole["centre"]
    (tx, ty), (nx, ny) = placement["t"], placement["n"]
    return x * tx + y * ty, x * nx + y * ny


@every_sample
def test_svg_and_pdf_hold_every_feature(drawn: All, name: str) -> None:
    job = drawn[name]
    plates = [(file, page) for file, page in job.svgs if page["sheet"] == "plate"]
    assert [page["number"] for _, page in plates] == [1] * len(pages(job)) and plates
    for file, page in plates:
        assert missed(svg_by_svgelements(file), page) == []
    seen = pdf_by_mupdf(job.pdf)
    for page, (_, single) in zip(pages(job), plates, strict=True):
        assert missed(seen[page["number"] - 1], page) == []
        # One sheet in two files: every feature at the same place.
        assert page["features"] == single["features"] and page["axle"] == single["axle"]
        kinds = {each["name"] for each in page["features"]}
        assert {"bar across", "bar down", "bar across, inch", "bar down, inch"} <= kinds


@every_sample
def test_every_drill_centre_of_the_dxf_is_the_placements(drawn: All, name: str) -> None:
    job = drawn[name]
    document = job.document
    placement, fixture = document["placement"], document["fixture"]
    files = dxfs(job)
    tab = placement["interface"]["family"] == "tab"
    assert len(files) == (1 if tab else 2)
    read = [opened(file) for file, _ in files]
    for each in read:
        audit = each.audit()
        assert audit.errors == [] and audit.fixes == [] and each.units == 4
    view = document["job"].get("paper", {}).get("view", "outboard")
    # Seen from outboard with the mount side up, the way up the tube runs to the left.
    sign = -1.0 if view == "outboard" else 1.0
    drills = drilled(read[0], "DRILL")
    bore = drilled(read[0], "CUT")
    assert [close((0.0, 0.0), each[:2]) for each in bore] == [True]
    assert bore[0][2] == pytest.approx(fixture["bore"], abs=CLOSE)
    plate_table = [row for row in fixture["parts"][0]["drill"] if row["name"] not in ("axle", "relief")]
    assert len(drills) == len(plate_table)
    for row in plate_table:
        assert any(close((sign * row["along"], row["up"]), each[:2]) for each in drills)
    if tab:
        for hole in placement["holes"]:
            along, up = in_plane(placement, hole)
            assert any(close((sign * along, up), each[:2]) for each in drills)
        return
    # The bar is seen with its plate side down: up the tube runs left where the plate is outside.
    sign = -1.0 if fixture["face"] == "outside" else 1.0
    way = -1.0 if fixture["face"] == "outside" else 1.0
    holes = drilled(read[1], "DRILL")
    slots = slots_of(read[1])
    for hole in placement["holes"]:
        along, up = in_plane(placement, hole)
        facing = document["job"].get("process", {}).get("facing", 0.0)
        assert up == pytest.approx(fixture["level"] - facing, abs=CLOSE)
        at = (sign * along, way * hole["centre"][2])
        assert any(close(at, each[:2]) for each in [*holes, *slots])
    assert len(holes) + len(slots) == 2 + len(plate_table)


@every_sample
def test_the_dxf_has_the_sheets_lines(drawn: All, name: str) -> None:
    """Everything on the layers of a DXF lies where the page has it, less the axle."""
    for file, page in dxfs(drawn[name]):
        space = opened(file).modelspace()
        wanted = circles_of(page)
        axle = np.array(page["axle"])
        found = [(np.array(each.dxf.center)[:2], 2.0 * each.dxf.radius) for each in space.query("CIRCLE")]
        assert len(found) == len(wanted)
        for circle in wanted.values():
            centre = np.array(circle["centre"]) - axle
            assert any(
                np.hypot(*(at - centre)) < CLOSE and abs(size - circle["diameter"]) < CLOSE
                for at, size in found
            ), circle["name"]
        outline = [each for each in page["features"] if each["name"].startswith("plate outline")]
        if outline:
            (line,) = space.query("LWPOLYLINE[layer=='CUT']")
            assert line.closed and len(line) == len(outline)
            corners = np.array([point[:2] for point in line.get_points("xy")]) + axle
            for each in outline:
                for end in ends_of(each):
                    assert np.hypot(*(corners - end).T).min() < CLOSE


def test_slots_are_parallel_to_the_axle_and_to_each_other(drawn: All) -> None:
    flats = [job for job in drawn.values() if job.document["fixture"]["key_rod"]]
    assert len(flats) == 3
    for job in flats:
        bar = next(page for page in pages(job) if any(each["kind"] == "slot" for each in page["features"]))
        slots = [each for each in bar["features"] if each["kind"] == "slot"]
        assert [each["name"] for each in slots] == ["slot near", "slot far"]
        # On the page the axle runs up and down; the fold, along the plate, is square to it.
        fold = next(each for each in bar["features"] if each["name"] == "fold")
        turns = [heading(each) for each in slots]
        assert turns == pytest.approx([90.0, 90.0], abs=0.01)
        assert heading(fold) % 180.0 == pytest.approx(0.0, abs=0.01)
        placed = job.document["placement"]["holes"]
        apart = math.dist(placed[0]["centre"], placed[1]["centre"])
        middles = [np.add(each["from"], each["to"]) / 2.0 for each in slots]
        assert np.hypot(*(middles[1] - middles[0])) == pytest.approx(apart, abs=CLOSE)
        for file, page in job.svgs:
            if page["sheet"] == "plate" and any(each["kind"] == "slot" for each in page["features"]):
                assert missed(svg_by_svgelements(file), page) == []


@every_sample
def test_holes_that_parts_share_lie_over_each_other(drawn: All, name: str) -> None:
    """Laid on the plate by its straight edge and its underside, the bar's holes are the plate's."""
    job = drawn[name]
    fixture = job.document["fixture"]
    if fixture["bar"] is None:
        return
    plate, bar = pages(job)[:2]
    view = job.document["job"].get("paper", {}).get("view", "outboard")
    on_plate = -1.0 if view == "outboard" else 1.0
    on_bar = -1.0 if fixture["face"] == "outside" else 1.0
    fold = next(each for each in bar["features"] if each["name"] == "fold")["from"][1]
    underside = next(each for each in plate["features"] if each["name"] == "bar underside")["from"][1]
    shared = [each for each in circles_of(bar) if each.startswith(("bar screw", "bar dowel"))]
    assert len(shared) == 4
    for title in shared:
        one, two = circles_of(bar)[title], circles_of(plate)[title.removeprefix("bar ")]
        along = on_bar * (one["centre"][0] - bar["axle"][0]), on_plate * (two["centre"][0] - plate["axle"][0])
        up = one["centre"][1] - (fold - fixture["bar"][1]), two["centre"][1] - underside
        assert along[0] == pytest.approx(along[1], abs=CLOSE)
        assert up[0] == pytest.approx(up[1], abs=CLOSE)


def test_patterns_are_corrected_for_a_printer_and_the_dxf_is_not(
    tmp_path: Path, drawn: All, monkeypatch: pytest.MonkeyPatch
) -> None:
    home = tmp_path / "home"
    home.mkdir()
    monkeypatch.setenv("DROPLEAF_HOME", str(home))
    text = (
        '[printer.bench]\npaper = "A4"\nacross = 179.1\ndown = 239.5\nruler = 0.1\nacross_drawn = 180\n'
        "down_drawn = 240\ndiagonals_wide = 180\ndiagonals_high = 240\n"
    )
    assert "bench" in printers_in(home / "printers.toml", text)
    (home / "printers.toml").write_text(text, encoding="utf-8")
    copy = tmp_path / "dunlin.toml"
    plain = SAMPLES["dunlin"].read_text(encoding="utf-8")
    keys = "[bench]\nfixture = true\ndxf = true\n"
    plain = plain.replace("[bench]\n", keys).replace("[paper]\n", '[paper]\nprinter = "bench"\n')
    copy.write_text(plain, encoding="utf-8")
    job = draw(copy, tmp_path / "out")
    page = pages(job)[0]
    assert page["scale"] == pytest.approx([180.0 / 179.1, 240.0 / 239.5], abs=1e-5)
    (file, straight), (_, before) = (
        next(each for each in dxfs(one) if "plate outline" in str(each[1]["features"]))
        for one in (job, drawn["dunlin"])
    )
    assert "scale" not in straight
    assert [each["name"] for each in straight["features"]] == [each["name"] for each in before["features"]]
    holes = {name: each for name, each in circles_of(straight).items() if name.startswith("hole")}
    (near, far) = (np.array(holes[f"hole {each}"]["centre"]) for each in ("near", "far"))
    assert np.hypot(*(far - near)) == pytest.approx(51.0, abs=CLOSE)
    space = ezdxf.readfile(file).modelspace()
    centres = [np.array(each.dxf.center)[:2] for each in space.query("CIRCLE[layer=='DRILL']")]
    assert np.hypot(*(centres[0] - centres[1])) == pytest.approx(51.0, abs=CLOSE)


def drilled(document: Any, layer: str) -> list[tuple[float, float, float]]:
    """Return a layer's circles: x, y, diameter."""
    return [
        (each.dxf.center.x, each.dxf.center.y, 2.0 * each.dxf.radius)
        for each in document.modelspace().query(f"CIRCLE[layer=='{layer}']")
    ]


def slots_of(document: Any) -> list[Floats]:
    """Return the middles of the closed polylines that are cut."""
    return [
        np.array(each.get_points("xy")).mean(axis=0)
        for each in document.modelspace().query("LWPOLYLINE[layer=='CUT']")
    ]


def close(one: tuple[float, float], two: Any) -> bool:
    """Tell whether two points are the same to a micrometre."""
    return math.dist(one, two) < CLOSE


def heading(feature: dict[str, Any]) -> float:
    """Return a feature's direction on the page, degrees."""
    (x0, y0), (x1, y1) = feature["from"], feature["to"]
    return math.degrees(math.atan2(y1 - y0, x1 - x0))


def ends_of(feature: dict[str, Any]) -> list[Floats]:
    """Return the ends of a segment or an arc."""
    if feature["kind"] == "segment":
        return [np.array(feature["from"]), np.array(feature["to"])]
    turns = np.radians([feature["from"], feature["to"]])
    points = np.column_stack([np.cos(turns), np.sin(turns)]) * feature["diameter"] / 2.0
    return list(np.array(feature["centre"]) + points)
