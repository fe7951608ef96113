"""Files for machines: what of each sheet is cut, drilled and marked, as DXF and as SVG of one colour each.

DXF is read by ezdxf and SVG by svgelements, which the project does not read by; areas are shapely's.
"""

import functools
import itertools
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import ezdxf
import numpy as np
import pytest
import shapely
import svgelements
from ezdxf.path import make_path

from geometry.core.errors import ReadBackError
from sheets.actions.manifest import feature_json
from sheets.actions.pages import page
from sheets.files.read.cutter import verify_cutter
from sheets.files.read.dxf import verify_dxf
from sheets.files.write.cutter import write_cutter
from sheets.files.write.dxf import write_dxf
from sheets.home.jobs import load
from sheets.ink.machining import operations
from sheets.ink.records import Sheet
from tests.files.test_dxf import area_of
from tests.pages.jobs import SAMPLES
from tests.pages.test_outside import outline

# A tab with its brace, posts on a fork, a flat mount on a stay, a dropout that has the tab in it.
JOBS = {name: SAMPLES[name] for name in ("dunlin", "godwit", "greenshank")}
JOBS["stint"] = SAMPLES["dunlin"].parent / "dropouts" / "stint.toml"
every_job = pytest.mark.parametrize("name", JOBS)


@functools.cache
def sheets(name: str) -> list[Sheet]:
    source = load(JOBS[name])
    found = [
        each for kind in ("template", "face", "wrap", "plate") for each in page(source, kind, plate=True)
    ]
    return [each for each in found if operations(each)]


def lines(sheet: Sheet, operation: str) -> list[Any]:
    """Return what the manifest's features of an operation come to, lines that meet merged into rings."""
    # Rounded, so that ends that were worked out apart meet.
    shapes = [np.round(outline(feature_json(feature)), 3) for feature in operations(sheet).get(operation, ())]
    return list(shapely.get_parts(shapely.line_merge(shapely.MultiLineString(shapes))))


def area(rings: list[Any]) -> float:
    return sum(shapely.Polygon(each.coords).area for each in rings if each.is_ring)


@every_job
def test_a_dxf_is_sound_and_its_areas_are_the_manifests(tmp_path: Path, name: str) -> None:
    for index, sheet in enumerate(sheets(name)):
        file = tmp_path / f"{index}.dxf"
        write_dxf(sheet, file)
        assert verify_dxf(file, sheet) < 1e-6
        document = ezdxf.readfile(file)
        audit = document.audit()
        assert audit.errors == [] and audit.fixes == []
        space = document.modelspace()
        low, high = document.header["$EXTMIN"], document.header["$EXTMAX"]
        points = np.array(
            [(point.x, point.y) for each in space for point in make_path(each).flattening(0.0005)]
        )
        assert np.array([low[:2], high[:2]]) == pytest.approx(
            np.array([points.min(axis=0), points.max(axis=0)]), abs=0.002
        )
        assert {each.dxf.layer for each in space} == {key.upper() for key in operations(sheet)}
        for operation in ("cut", "drill"):
            own = space.query(f"*[layer=='{operation.upper()}']")
            total = sum(np.pi * each.dxf.radius**2 for each in own.query("CIRCLE"))
            total += sum(area_of(each) for each in own.query("LWPOLYLINE") if each.closed)
            assert total == pytest.approx(area(lines(sheet, operation)), rel=1e-4)


@every_job
def test_a_cutters_svg_holds_the_same_in_colours(tmp_path: Path, name: str) -> None:
    colours = {"cut": "#ff0000", "drill": "#0000ff", "mark": "#008000"}
    for index, sheet in enumerate(sheets(name)):
        file = tmp_path / f"{index}.svg"
        write_cutter(sheet, file)
        assert verify_cutter(file, sheet) < 0.0005
        # 25.4 units an inch, so that its units are mm.
        read = svgelements.SVG.parse(str(file), ppi=25.4, reify=True)
        assert (float(read.width), float(read.height)) == pytest.approx(
            (sheet.paper.width, sheet.paper.height)
        )
        shapes = list(read.elements(lambda each: isinstance(each, svgelements.Shape)))
        assert {each.stroke.hex for each in shapes} == {colours[key] for key in operations(sheet)}
        for operation in ("cut", "drill"):
            own = [each for each in shapes if each.stroke.hex == colours[operation]]
            whole = [each for each in own if isinstance(each, svgelements.Circle)]
            closed = [
                each for each in own if isinstance(each, svgelements.Path) and each.d().endswith(("Z", "z"))
            ]
            rings = [
                [(p.x, p.y) for p in map(svgelements.Path(each).point, np.linspace(0, 1, 2001))]
                for each in closed
            ]
            total = sum(np.pi * each.implicit_r**2 for each in whole) + sum(
                shapely.Polygon(r).area for r in rings
            )
            assert total == pytest.approx(area(lines(sheet, operation)), rel=2e-3)


def test_what_is_cut_drilled_and_marked(tmp_path: Path) -> None:
    """By hand: what a builder would have a machine do with these sheets."""

    def named(sheet: Sheet) -> dict[str, set[str]]:
        return {key: {each.name for each in features} for key, features in operations(sheet).items()}

    template, wrap, tab, *_ = map(named, sheets("dunlin"))
    assert template["cut"] == {"dummy axle"} and template["drill"] == {"hole near", "hole far"}
    # Its tab stands beside the dropout: whoever cut out the dropout's edge would lose the holes.
    assert "dropout edge" in template["mark"] and "axle reaction" not in template["mark"]
    assert {"brace, cope at the chainstay", "seatstay wrap, seam"} < wrap["cut"]
    assert "tab, inner face" in wrap["mark"] and "cut" not in tab
    stint, *_ = map(named, sheets("stint"))
    assert stint["cut"] == {"dropout edge", "dummy axle"}
    # What is punched within a boss's outline must not fall out with it.
    tubes = [named(each) for each in sheets("godwit") if each.kind == "wrap"]
    assert "punch far, mount side" in tubes[0]["cut"] and "boss far, mount side" in tubes[0]["mark"]
    posts = named(sheets("godwit")[0])
    assert "drill" not in posts and "mount face" in posts["mark"]


def test_the_same_job_gives_the_same_bytes(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    days = itertools.count(1e9, 86400.0)
    monkeypatch.setattr("time.time", lambda: next(days))
    sheet = sheets("stint")[0]
    for write, ending in ((write_dxf, "dxf"), (write_cutter, "svg")):
        files = [tmp_path / f"{i}.{ending}" for i in range(2)]
        for file in files:
            write(sheet, file)
        assert files[0].read_bytes() == files[1].read_bytes()


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ('r="3.1"', 'r="3.102"'),
        ("#0000ff", "#ff0000"),
        ("#0000ff", "#123456"),
        ("</svg>", '<g stroke="#ff0000"><path d="M1 1L2 2"/></g></svg>'),
        ("</svg>", "<rect/></svg>"),
        ("mm", "in"),
        ("Z", ""),
    ],
)
def test_a_spoilt_cutters_svg_is_not_delivered(tmp_path: Path, old: str, new: str) -> None:
    sheet, file = sheets("stint")[0], tmp_path / "a.svg"
    write_cutter(sheet, file)
    text = file.read_text(encoding="utf-8")
    assert old in text
    file.write_text(text.replace(old, new), encoding="utf-8")
    with pytest.raises(ReadBackError):
        verify_cutter(file, sheet)


def test_nothing_but_shapes_is_in_a_cutters_svg(tmp_path: Path) -> None:
    write_cutter(sheets("dunlin")[-1], tmp_path / "a.svg")
    root = ElementTree.parse(tmp_path / "a.svg").getroot()
    kinds = {each.tag.rpartition("}")[2] for each in root.iter()}
    assert kinds <= {"svg", "title", "desc", "g", "circle", "path"}
    assert not any(each.get("transform") or each.get("style") for each in root.iter())
