"""A view too large for its paper on tiles: read by others, laid together by the origins, and compared."""

import itertools
import json
import math
from dataclasses import replace
from pathlib import Path as File
from typing import Any

import numpy as np
import pytest

from geometry.core.errors import FitError, ReadBackError
from geometry.core.say import Say
from geometry.printing.distortion import Distortion
from sheets.actions import draw as drawing
from sheets.actions.manifest import file_json
from sheets.actions.views import truths
from sheets.cli import main
from sheets.files.read.joins import verify_joins
from sheets.files.read.views import verify_views
from sheets.files.write.pdf import write_pdf
from sheets.ink.drawing import Drawing
from sheets.ink.marks import shifted
from sheets.ink.paper import PAPERS
from sheets.ink.records import Arc, Circle, Curve, Paper, Path, Segment, Sheet, Slot, Style, Tile
from sheets.ink.tiling import MOST_TILES, OVERLAP, Grid, cut, grids, needed
from sheets.job.read import load, parse, place_job, tubes_of
from sheets.pages import tiles
from sheets.pages.frame import Headed, furnish
from sheets.pages.full_size.face import face, face_tiles
from sheets.pages.full_size.template import template
from sheets.setup.setup import set_up
from tests.conftest import forget
from tests.pages.conftest import Delivered, draw
from tests.pages.jobs import SAMPLES, every_mount, on_paper, sample
from tests.pages.outside_readers import Floats, Seen, pdf_by_mupdf, svg_by_svgelements
from tests.raster import MM, differences, poppler

JOIN = 0.02
DISC = 203.0


def job_text(size: str, view: str, more: str = "") -> str:
    """Return avocet with a 203 disc shown whole, which neither A4 nor Letter holds."""
    text = SAMPLES["avocet"].read_text(encoding="utf-8").replace("rotor = 160 ", "rotor = 203 ")
    old = '[paper]\nsize = "A4"'
    assert text.count(old) == 1
    return text.replace(old, f'[paper]\nsize = "{size}"\nview = "{view}"\ndisc = "whole"\n{more}')


@pytest.fixture(scope="module", params=[("A4", "outboard"), ("Letter", "inboard")], ids=lambda p: p[0])
def tiled(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Delivered:
    """Return the whole disc on either paper, drawn by the command."""
    folder = tmp_path_factory.mktemp("tiles")
    (folder / "job.toml").write_text(job_text(*request.param), encoding="utf-8")
    return draw(folder / "job.toml", folder / "out")


@pytest.fixture(scope="module")
def traced(tiled: Delivered) -> list[Seen]:
    """Return the packet's pages as MuPDF traces them."""
    return pdf_by_mupdf(tiled.pdf)


def tile_pages(delivered: Delivered) -> list[tuple[int, dict[str, Any]]]:
    return [(i, page) for i, page in enumerate(delivered.pdf_pages) if "tile" in page]


def laid(lines: list[Floats], page: dict[str, Any]) -> list[Floats]:
    """Return lines of a page on the whole drawing: drawing = page - origin."""
    return [line - np.array(page["tile"]["origin"]) for line in lines]


def test_tiles_are_pages_of_one_size_each_with_bars_and_its_place(tiled: Delivered) -> None:
    pages = [page for _, page in tile_pages(tiled)]
    places = [(page["tile"]["row"], page["tile"]["column"]) for page in pages]
    shape = {(page["tile"]["rows"], page["tile"]["columns"]) for page in pages}
    assert shape == {(2, 2)}
    assert places == [(1, 1), (1, 2), (2, 1), (2, 2)]
    assert {page["sheet"] for page in pages} == {"template"}
    assert len({(page["width"], page["height"], page["paper"]) for page in pages}) == 1
    axles = [np.array(page["axle"]) - page["tile"]["origin"] for page in pages]
    assert np.ptp(axles, axis=0) == pytest.approx([0.0, 0.0], abs=1e-6)
    for page in pages:
        bars = {f["name"]: f["length"] for f in page["features"] if f["name"].startswith("bar ")}
        assert bars == pytest.approx(
            {"bar across": 150, "bar across, inch": 152.4, "bar down": 150, "bar down, inch": 152.4}
        )
    names = [path.name for path, page in tiled.svgs if page["sheet"] == "template"]
    assert names == [f"avocet-3-template-{i}.svg" for i in (1, 2, 3, 4)]


def test_every_feature_is_whole_on_a_tile_or_covered_by_its_pieces(tiled: Delivered) -> None:
    pages = [page for _, page in tile_pages(tiled)]
    whole = [{f["name"]: f for f in page["features"]} for page in pages]
    for name in ("dummy axle", "hole near", "hole far"):
        assert any(each.get(name, {}).get("kind") == "circle" for each in whole), name
    arcs = [f for each in whole for f in each.values() if f["name"].startswith("rotor edge, piece")]
    assert {f["diameter"] for f in arcs} == {DISC}
    covered = np.zeros(3600, dtype=bool)
    for arc in arcs:
        turns = np.arange(math.ceil(arc["from"] * 10), math.floor(arc["to"] * 10) + 1) % 3600
        covered[turns] = True
    assert covered.all()
    for page in pages:
        # What a window holds lies in it; the frame of the page has the rest.
        for feature in page["features"]:
            for key in ("from", "to", "centre"):
                if isinstance(feature.get(key), list):
                    assert 10 <= feature[key][0] <= page["width"] - 10 or "piece" in feature["name"]


def test_the_disc_is_one_circle_on_the_tiles_laid_together_by_others(
    tiled: Delivered, traced: list[Seen]
) -> None:
    svgs = [(path, page) for path, page in tiled.svgs if page["sheet"] == "template"]
    by_pdf = [line for i, page in tile_pages(tiled) for line in laid(traced[i].lines, page)]
    by_svg = [line for path, page in svgs for line in laid(svg_by_svgelements(path).lines, page)]
    page = tile_pages(tiled)[0][1]
    axle = np.array(page["axle"]) - page["tile"]["origin"]
    for lines in (by_pdf, by_svg):
        turned = []
        for line in lines:
            x, y = (line - axle).T
            if len(line) > 20 and np.abs(np.hypot(x, y) - DISC / 2).max() < JOIN:
                turned.append(np.unwrap(np.arctan2(y, x)))
        # Pieces overlap in the shared strips, so that together they run more than once round.
        assert sum(float(np.ptp(each)) for each in turned) > 2 * math.pi
        ends = sorted((float(each.min()), float(each.max())) for each in turned)
        marks = np.linspace(-math.pi, math.pi, 3600)
        hit = np.zeros(3600, dtype=bool)
        for (low, high), shift in itertools.product(ends, (-2 * math.pi, 0.0, 2 * math.pi)):
            hit |= (marks >= low + shift - 1e-6) & (marks <= high + shift + 1e-6)
        assert hit.all()


def test_register_marks_lie_on_each_other_by_an_outside_reader(tiled: Delivered, traced: list[Seen]) -> None:
    found: dict[str, list[Floats]] = {}
    for i, page in tile_pages(tiled):
        origin = np.array(page["tile"]["origin"])
        straight = np.array([line for line in traced[i].lines if len(line) == 2])
        for feature in page["features"]:
            if not feature["name"].startswith("register") or feature["kind"] != "segment":
                continue
            want = np.array((feature["from"], feature["to"]))
            off = np.abs(straight - want).max(axis=(1, 2))
            found.setdefault(feature["name"], []).append(straight[off.argmin()] - origin)
    # Two marks on each of the four joins, each with two arms, on two tiles at least.
    assert len(found) == 2 * 4 * 2
    for each in found.values():
        assert len(each) >= 2
        for one, two in itertools.combinations(each, 2):
            assert np.abs(one - two).max() < JOIN
            assert np.hypot(*(one[1] - one[0])) == pytest.approx(8.0, abs=0.01)


@pytest.fixture(scope="module")
def caught(tmp_path_factory: pytest.TempPathFactory) -> tuple[drawing.Plan, Drawing, Grid, list[Sheet]]:
    """Return the plan of an A4 job, the whole drawing that was cut, its grid and the tiles."""
    kept: list[tuple[Drawing, Grid]] = []

    def noted(whole: Drawing, grid: Grid, tile: Any) -> Any:
        kept.append((whole, grid))
        return cut(whole, grid, tile)

    folder = tmp_path_factory.mktemp("plan")
    (folder / "job.toml").write_text(job_text("A4", "outboard"), encoding="utf-8")
    # Drawn anew, for sheets that are kept of an equal job are not cut again.
    forget()
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(tiles, "cut", noted)
        plan = drawing.plan(load(folder / "job.toml"), folder / "out")
        forget()
    return plan, *kept[0], [sheet for sheet in plan.sheets if sheet.tile is not None]


def test_tiles_pasted_by_their_origins_look_like_the_whole_drawing(
    caught: tuple[drawing.Plan, Drawing, Grid, list[Sheet]], tmp_path: File
) -> None:
    _, whole, grid, sheets = caught
    assert sheets[0].tile is not None
    # The same part of a pixel as on every tile, so that pixels lie on pixels.
    x, y = (round(each % (1 / MM), 6) for each in sheets[0].tile.origin)
    _, _, wide, high = grid.zone
    paths = [path for path in whole.records() if isinstance(path, Path)]
    # Labels as strokes, because renderers set type on a grid of its own, of a quarter of a pixel.
    moved = tuple(replace(path, commands=shifted(path.commands, (x, y)), labels=()) for path in paths)
    stroked = [
        replace(sheet, records=tuple(replace(path, labels=()) for path in sheet.paths)) for sheet in sheets
    ]
    big = Paper("big", math.ceil(wide) + 1.0, math.ceil(high) + 1.0)
    write_pdf(
        [replace(sheets[0], paper=big, records=moved, features=(), tile=None)],
        tmp_path / "big.pdf",
        title="big",
        subject="big",
    )
    write_pdf(stroked, tmp_path / "tiles.pdf", title="tiles", subject="tiles")
    wanted = poppler(tmp_path / "big.pdf")
    pasted = np.zeros_like(wanted)
    for number, sheet in enumerate(sheets, start=1):
        assert sheet.tile is not None
        picture = poppler(tmp_path / "tiles.pdf", number)
        left, low, right, top = sheet.tile.window
        across = round((sheet.tile.origin[0] - x) * MM)
        down = round((sheet.paper.height - sheet.tile.origin[1] + y - big.height) * MM)
        # Half a millimetre less all round: there runs the window's own frame.
        rows = slice(round((big.height - y - top + 0.5) * MM), round((big.height - y - low - 0.5) * MM))
        columns = slice(round((left + x + 0.5) * MM), round((right + x - 0.5) * MM))
        part = picture[rows.start + down : rows.stop + down, columns.start + across : columns.stop + across]
        pasted[rows, columns] = np.maximum(pasted[rows, columns], part)
    assert (wanted >= 0.5).sum() > 20_000
    assert differences(pasted, wanted, share=0.02) == []


def test_labels_are_whole_on_a_tile_and_halves_are_left_out(
    caught: tuple[drawing.Plan, Drawing, Grid, list[Sheet]],
) -> None:
    _, whole, grid, _ = caught
    labels = [(text, box) for text, box in whole.labels if text]
    assert len(labels) > 20
    assert all(grid.holds(box) for _, box in labels)


def test_a_tile_moved_by_a_twentieth_is_not_delivered(
    caught: tuple[drawing.Plan, Drawing, Grid, list[Sheet]],
) -> None:
    plan, *_, sheets = caught
    bad = sheets[1]
    assert bad.tile is not None
    # The page measures what its sheet says; only its neighbours can tell.
    off = replace(bad, tile=replace(bad.tile, origin=(bad.tile.origin[0], bad.tile.origin[1] + 0.05)))
    changed = tuple(off if sheet is bad else sheet for sheet in plan.sheets)
    with pytest.raises(ReadBackError, match=r"mark_apart\(name='register .*amount=0\.05\)"):
        drawing.draw(replace(plan, sheets=changed))
    assert not plan.folder.exists() or not any(plan.folder.iterdir())


def test_a_line_that_misses_its_other_half_is_not_delivered(
    caught: tuple[drawing.Plan, Drawing, Grid, list[Sheet]],
) -> None:
    plan, *_, sheets = caught
    bad, name = sheets[1], "brake track, inner edge, piece 1"
    records = tuple(
        replace(path, commands=shifted(path.commands, (0.0, 0.05))) if path.name == name else path
        for path in bad.paths
    )
    features = tuple(
        replace(f, centre=(f.centre[0], f.centre[1] + 0.05)) if isinstance(f, Arc) and f.name == name else f
        for f in bad.features
    )
    assert records != bad.records
    off = replace(bad, records=records, features=features)
    changed = tuple(off if sheet is bad else sheet for sheet in plan.sheets)
    with pytest.raises(
        ReadBackError, match=r"line_apart\(sheet=readback\.page_alone\(page=\d\), .*amount=0\.0(4|5)"
    ):
        drawing.draw(replace(plan, sheets=changed))


def test_tiles_corrected_for_a_printer_still_join(
    caught: tuple[drawing.Plan, Drawing, Grid, list[Sheet]], tmp_path: File
) -> None:
    plan = replace(caught[0], folder=tmp_path, distortion=Distortion(1.004, 0.997, 0.1))
    assert drawing.draw(plan) < 0.01


def test_what_fits_is_one_page_without_a_tile(tmp_path: File) -> None:
    plan = drawing.plan(load(SAMPLES["avocet"]), tmp_path)
    kinds = [sheet.kind for sheet in plan.sheets]
    assert (kinds.count("template"), kinds.count("face")) == (1, 1)
    assert '"tile":' not in json.dumps([file_json(file) for file in plan.files])


def test_never_refuses_with_the_overshoot(tmp_path: File, capsys: pytest.CaptureFixture[str]) -> None:
    job = tmp_path / "job.toml"
    job.write_text(job_text("A4", "outboard", 'tile = "never"\n'), encoding="utf-8")
    assert main(["draw", str(job), "--out", str(tmp_path / "out")]) == 2
    (line,) = capsys.readouterr().err.splitlines()
    # The disc with a millimetre each side, and the mount beyond it, in the zone of A4: about 35 mm lack.
    assert "paper.size: the template is " in line
    assert "mm too wide" in line
    assert "for A4 with margins of 10 mm" in line
    assert sorted(tmp_path.rglob("*")) == [job]


def test_too_many_tiles_are_refused_by_how_much() -> None:
    def empty() -> Any:
        return furnish(PAPERS["A4"], 10.0, Headed([], []), beside=True)

    window = tiles._window(empty().zone)
    wide, high = window[2] - window[0], window[3] - window[1]
    covered = MOST_TILES * wide - (MOST_TILES - 1) * OVERLAP
    # 2 mm of air and 1 of edge on both sides: own arithmetic.
    large = tiles.Large("template", "x", "outboard", (covered + 7.5 - 6.0, 50.0), _unwanted, _unwanted)
    with pytest.raises(FitError) as caught:
        tiles.tiled(large, empty)
    (problem,) = caught.value.problems
    assert isinstance(problem.what, Say)
    assert problem.what.code == "paper.tiles.wide"
    assert (problem.what["paper"], problem.what["count"], problem.what["most"]) == ("A4", 13, 12)
    assert problem.what["wide"] == pytest.approx(7.5)
    assert needed((covered, high), (wide, high)) == (1, 12)
    assert [g.rows * g.columns for g in grids((covered, high), (wide, high))] == [12]


def _unwanted(*_: Any) -> Any:
    raise AssertionError("what takes too many tiles is not drawn")


def test_a_face_view_too_wide_is_tiled_and_told_from_its_ink(tmp_path: File) -> None:
    mount = every_mount()["post-160-chainstay"]
    own = {"h": 60.0, "x_near": 10.0, "x_far": 150.0, "lateral": -4.25, "source": "own"}
    job = on_paper(parse(mount | {"interface": own}), view="inboard", size="Letter")
    placement, tubes = place_job(job), tubes_of(job)
    setup = set_up(job, placement, tubes)
    with pytest.raises(FitError, match=r"paper\.view\.wide\(sheet=name\.sheet\.face_view"):
        face(job, placement, tubes, setup)
    sheets = face_tiles(job, placement, tubes, setup)
    assert [(sheet.kind, sheet.tile is not None) for sheet in sheets] == [("face", True)] * 2
    write_pdf(sheets, tmp_path / "face.pdf", title="face", subject="face")
    assert 0.0 < verify_joins(tmp_path / "face.pdf", sheets) < JOIN
    verify_views(tmp_path / "face.pdf", sheets, truths(job, placement), "inboard")
    with pytest.raises(
        ReadBackError,
        match=r"readback\.drawing\(.*kind='face'\): readback\.other_view\(found=readback\.view\.inboard",
    ):
        verify_views(tmp_path / "face.pdf", sheets, truths(job, placement), "outboard")


def test_a_whole_disc_that_fits_is_one_page_with_two_circles() -> None:
    job = on_paper(sample("avocet"), size="A3", disc="whole")
    placement, tubes = place_job(job), tubes_of(job)
    sheet = template(job, placement, tubes, set_up(job, placement, tubes))
    assert sheet.tile is None
    circles = {f.name: f.diameter for f in sheet.features if isinstance(f, Circle)}
    # The sample's disc is 160, its track 16 wide on either side.
    assert circles["rotor edge"] == 160.0
    assert circles["brake track, inner edge"] == pytest.approx(160.0 - 2 * place_job(job).rotor.track)
    assert not any(isinstance(f, Arc) for f in sheet.features)


def test_dashes_go_on_where_a_line_is_cut() -> None:
    style = Style(0.18, (4.0, 1.0))
    whole = Drawing()
    whole.show(Segment("long", (3.0, 5.0), (103.0, 5.0)), style, "line")
    grid = Grid((60.0, 60.0), 1, 2)
    phases = []
    for column in (1, 2):
        window = grid.window(1, column)
        shown = cut(whole, grid, Tile(1, column, 1, 2, (0.0, 0.0), window))
        (path,) = shown.records
        assert isinstance(path, Path)
        phases.append(path.style.phase)
        assert [f.name for f in shown.features] == ["long, piece 1"]
    # The second window begins at 46, 43 along the line, and 43 is 3 into its ninth dash and gap of 5.
    assert phases == pytest.approx([0.0, 3.0])


def test_what_is_left_of_every_kind_of_feature_is_named_with_its_piece() -> None:
    whole = Drawing()
    for feature in (
        Circle("ring", (50.0, 30.0), 20.0),
        Slot("slot", (40.0, 10.0), (60.0, 10.0), 6.0),
        Curve("bend", ((40.0, 45.0), (52.0, 50.0), (58.0, 45.0))),
        Circle("small", (20.0, 30.0), 10.0),
    ):
        whole.show(feature, Style(0.18), "x")
    window = (0.0, 0.0, 50.0, 60.0)
    shown = cut(whole, Grid((60.0, 60.0), 1, 2), Tile(1, 1, 1, 2, (5.0, 7.0), window))
    found = {feature.name: feature for feature in shown.features}
    assert found["small"] == Circle("small", (25.0, 37.0), 10.0)
    assert found["ring, piece 1"] == Arc("ring, piece 1", (55.0, 37.0), 20.0, 90.0, 270.0)
    assert sorted(found)[0] == "bend, piece 1"
    bend = found["bend, piece 1"]
    assert isinstance(bend, Curve)
    # At x 50 the line has climbed ten twelfths of 5 mm.
    assert bend.points[-1] == pytest.approx((55.0, 52.0 + 5.0 * 10 / 12))
    lines = [f for name, f in found.items() if name.startswith("slot, piece 1, line")]
    assert sorted(type(f).__name__ for f in lines) == ["Arc", "Segment", "Segment"]
