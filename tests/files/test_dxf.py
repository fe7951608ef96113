"""DXF files of patterns: read by ezdxf and by plain group codes, with what is wrong in them found."""

import math
import re
import sys
from collections.abc import Callable
from pathlib import Path

import ezdxf
import pytest
from ezdxf.entities import LWPolyline

from geometry.core.errors import InputError, ReadBackError
from sheets.files.read.dxf import read_dxf, verify_dxf
from sheets.files.write import dxf
from sheets.files.write.dxf import must_have_ezdxf, write_dxf
from sheets.ink.drawing import Drawing
from sheets.ink.machining import joined
from sheets.ink.marks import THICK
from sheets.ink.paper import PAPERS
from sheets.ink.records import Arc, Circle, Curve, Feature, Segment, Sheet, Slot

# A D-shaped plate 40 wide with a hollow of radius 10 in its straight side, two holes, a slot and two marks.
CUT: list[Feature] = [
    Segment("outline 1", (80.0, 100.0), (90.0, 100.0)),
    Arc("outline 2", (100.0, 100.0), 20.0, 0.0, 180.0),
    Segment("outline 3", (110.0, 100.0), (120.0, 100.0)),
    Arc("outline 4", (100.0, 100.0), 40.0, 0.0, 180.0),
    Slot("slot", (85.0, 110.0), (85.0, 113.0), 5.5),
]
DRILLED: list[Feature] = [Circle("hole near", (100.0, 115.0), 6.4), Circle("hole far", (110.123, 111.0), 5.0)]
MARKED: list[Feature] = [
    Segment("line", (70.0, 90.0), (130.0, 95.0)),
    Curve("curve", ((70.0, 80.0), (80.0, 81.0), (90.0, 83.0))),
    Arc("open arc", (50.0, 50.0), 30.0, 20.0, 100.0),
]


@pytest.fixture
def sheet() -> Sheet:
    """Return a sheet with a pattern, its axle at (100, 100), and a named thing that is no pattern."""
    drawing = Drawing()
    for layer, features in (("cut", CUT), ("drill", DRILLED), ("mark", MARKED)):
        for feature in features:
            drawing.show(feature, THICK, layer)
    drawing.show(Segment("bar across", (20.0, 20.0), (170.0, 20.0)), THICK, "scale")
    features = tuple(drawing.features)
    return Sheet(
        "plate",
        "knot: plate",
        PAPERS["A4"],
        10.0,
        "outboard",
        (100.0, 100.0),
        True,
        drawing.records(),
        features,
    )


def test_ezdxf_finds_no_fault_and_every_layer(sheet: Sheet, tmp_path: Path) -> None:
    write_dxf(sheet, tmp_path / "a.dxf")
    document = ezdxf.readfile(tmp_path / "a.dxf")
    audit = document.audit()
    assert audit.errors == [] and audit.fixes == []
    assert document.units == 4  # Millimetres, AutoCAD DXF reference, $INSUNITS.
    layers = {layer.dxf.name: layer.description for layer in document.layers}
    assert {"CUT", "DRILL", "MARK"} <= set(layers)
    assert "kerf" in layers["CUT"] and "kerf" in layers["DRILL"]
    assert dict(document.header.custom_vars.properties)["Kerf"].startswith("none allowed for")
    space = document.modelspace()
    circles = {(each.dxf.center.x, each.dxf.center.y, each.dxf.radius) for each in space.query("CIRCLE")}
    expected = {(0.0, 15.0, 3.2), (10.123, 11.0, 2.5)}
    assert {tuple(round(value, 9) for value in each) for each in circles} == expected
    assert len(space) == 2 + 2 + 3  # outline and slot, holes, marks; the scale bar is not there


def test_what_the_library_adds_has_the_same_order_in_every_process(sheet: Sheet, tmp_path: Path) -> None:
    """It keeps them in a set, whose order is the process's own."""
    write_dxf(sheet, tmp_path / "a.dxf")
    added = [tuple(each) for each in ezdxf.readfile(tmp_path / "a.dxf").classes.classes]
    assert len(added) > 5 and added == sorted(added)


def area_of(line: LWPolyline) -> float:
    """Return the area of a closed polyline, its bulges taken as the arcs that they are."""
    points = list(line.get_points("xyb"))
    total = 0.0
    for (x0, y0, bulge), (x1, y1, _) in zip(points, [*points[1:], points[0]], strict=True):
        sweep = 4.0 * math.atan(bulge)
        chord = math.hypot(x1 - x0, y1 - y0)
        radius = chord / 2.0 / math.sin(sweep / 2.0) if bulge else 0.0
        total += (x0 * y1 - x1 * y0 + radius**2 * (sweep - math.sin(sweep))) / 2.0
    return abs(total)


def test_the_outline_is_one_closed_polyline_of_the_right_area(sheet: Sheet, tmp_path: Path) -> None:
    write_dxf(sheet, tmp_path / "a.dxf")
    slot, outline = ezdxf.readfile(tmp_path / "a.dxf").modelspace().query("LWPOLYLINE[layer=='CUT']")
    assert outline.closed and slot.closed
    areas = [area_of(line) for line in (outline, slot)]
    # A half disc of 20 less one of 10; a slot 5.5 wide with centres 3 apart: own arithmetic.
    assert areas[0] == pytest.approx(math.pi / 2.0 * (400.0 - 100.0), abs=1e-6)
    assert areas[1] == pytest.approx(math.pi * 2.75**2 + 3.0 * 5.5, abs=1e-6)


def test_it_reads_back_and_a_change_of_2_micrometres_is_found(sheet: Sheet, tmp_path: Path) -> None:
    file = tmp_path / "a.dxf"
    write_dxf(sheet, file)
    assert verify_dxf(file, sheet) < 1e-9
    good = file.read_text(encoding="utf-8")
    near = next(edge for edge in read_dxf(file) if edge.radius == 3.2)
    assert near.centre == (0.0, 15.0)
    for old, new, name in (
        (r"(AcDbCircle\s+10\s+)10\.123\d*", r"\g<1>10.125", "hole far"),
        (r"( 40\s+)3\.2\s", r"\g<1>3.202\n", "hole near"),
    ):
        bad, count = re.subn(old, new, good)
        assert count == 1
        file.write_text(bad, encoding="utf-8")
        with pytest.raises(ReadBackError, match=rf"{name}: readback\.off_limit\(off=0\.002"):
            verify_dxf(file, sheet)


@pytest.mark.parametrize(
    ("spoil", "said"),
    [
        (lambda text: text.replace("DRILL\n100\nAcDbCircle", "CUT\n100\nAcDbCircle"), "hole near"),
        (lambda text: text[: len(text) // 2], r"readback\.dxf_(no_pairs|short|ends_early)"),
        (lambda text: text.replace("$INSUNITS\n 70\n4", "$INSUNITS\n 70\n1"), r"readback\.dxf_no_mm"),
        (lambda text: text.replace("  0\nCIRCLE", "  0\nSPLINE", 1), "SPLINE"),
    ],
)
def test_a_spoilt_file_is_no_good(
    sheet: Sheet, tmp_path: Path, spoil: Callable[[str], str], said: str
) -> None:
    file = tmp_path / "a.dxf"
    write_dxf(sheet, file)
    good = file.read_text(encoding="utf-8")
    bad = spoil(good)
    assert bad != good
    file.write_text(bad, encoding="utf-8")
    with pytest.raises(ReadBackError, match=said):
        verify_dxf(file, sheet)


def test_what_a_sheet_has_not_is_found_too(sheet: Sheet, tmp_path: Path) -> None:
    file = tmp_path / "a.dxf"
    write_dxf(sheet, file)
    document = ezdxf.readfile(file)
    document.modelspace().add_circle((0, 0), 3.0, dxfattribs={"layer": "DRILL"})
    document.saveas(file)
    with pytest.raises(ReadBackError, match=r"readback\.stray_lines\(count=1\)"):
        verify_dxf(file, sheet)


def test_loops_close_whichever_way_their_arcs_are_given() -> None:
    loops, rest = joined([*CUT[:4], Circle("free", (0.0, 0.0), 2.0)])
    assert len(loops) == 1 and len(loops[0]) == 4 and len(rest) == 1
    # The hollow is run against its arc, the round side with it; or the other way round.
    signs = sorted(math.copysign(1.0, vertex[2]) for vertex in loops[0] if vertex[2])
    assert signs == [-1.0, 1.0]


def test_without_ezdxf_the_message_has_the_line_to_type(
    sheet: Sheet, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(dxf, "find_spec", lambda name: None)
    with pytest.raises(InputError, match=r"bench\.dxf: dxf\.no_ezdxf"):
        must_have_ezdxf("bench.dxf")
    with pytest.raises(InputError):
        write_dxf(sheet, tmp_path / "a.dxf")
    assert list(tmp_path.iterdir()) == [] and "ezdxf" in sys.modules
