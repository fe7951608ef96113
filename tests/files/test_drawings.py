"""Drawings that somebody gives: read as svgelements and ezdxf read them, and bad ones told in one line."""

import io
import math
import re
import time

import ezdxf
import pytest
import svgelements
from ezdxf import path as ezpath
from ezdxf.document import Drawing as Dxf
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import LineString, Point, Polygon

from geometry.core.errors import RefusedError
from geometry.mount.outline import Outline
from sheets.files.drawings.dxf import read_dxf
from sheets.files.drawings.loops import Asked, read_outline
from sheets.files.drawings.svg import read_svg
from sheets.words.tell import told

EDGE = "M-20-20H-5V0A5 5 0 1 0 5 0V-20H20V15C20 28 10 34 0 34S-20 28-20 15z"
HOLES = '<circle cx="-12" cy="18" r="2.6"/><circle cx="12" cy="18" r="3.1"/>'
HEAD = '<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="100mm" viewBox="-50 -50 100 100"'


def svg(inside: str, head: str = f"{HEAD}>") -> bytes:
    return f"{head}{inside}</svg>".encode()


GOOD = svg(f'<path id="edge" d="{EDGE}"/>{HOLES}')


def outline(raw: bytes, name: str = "d.svg", **asked: str) -> Outline:
    return read_outline(raw, name, Asked(**asked))


def refused(raw: bytes, name: str = "d.svg", **asked: str) -> str:
    with pytest.raises(RefusedError) as caught:
        outline(raw, name, **asked)
    line = told(caught.value.what)
    assert line and "\n" not in line
    return caught.value.what.code


# --- what takes long


WILD = "M0 0" + "C-9999 8000 9000-7000 9999 9999" * 300 + "z"
BULGES = "".join(f"10\n{i % 2 * 90000}\n20\n{i}\n42\n1.0\n" for i in range(300))
TRIANGLES = "".join(f"M{i % 40 + 1} {i // 40 + 1}h.5v.5z" for i in range(500))
LONG = {
    "curves": ("outline.too_detailed", "d.svg", svg(f'<path d="{WILD}"/>')),
    "arcs": (
        "outline.too_detailed",
        "d.dxf",
        f"0\nSECTION\n2\nHEADER\n9\n$INSUNITS\n70\n4\n0\nENDSEC\n0\nSECTION\n2\nENTITIES\n"
        f"0\nLWPOLYLINE\n70\n1\n{BULGES}0\nENDSEC\n0\nEOF\n".encode(),
    ),
    "windows": ("outline.too_many_windows", "d.svg", svg(f'<path d="M0 0H90V90H0z{TRIANGLES}"/>')),
    "blanks": ("outline.transform", "d.svg", svg(f'<path transform="{" " * 3000}x" d="M0 0h30v30z"/>')),
    "open lines": (
        "outline.too_many",
        "d.svg",
        svg(f'<path d="{"".join(f"M{i} 0l1 1" for i in range(9000))}"/>'),
    ),
}


@pytest.mark.parametrize("name", LONG)
def test_a_small_file_that_asks_for_much_is_refused_before_it_takes_long(name: str) -> None:
    code, file, raw = LONG[name]
    start = time.process_time()
    assert refused(raw, file) == code
    # Unbounded these took from seconds to minutes.
    assert time.process_time() - start < 2.0


# --- SVG


def test_a_sound_drawing_comes_out_in_mm_with_y_up() -> None:
    found = outline(GOOD)
    assert found.size == pytest.approx((40.0, 54.0), abs=0.01)
    assert [(h.centre, h.diameter) for h in found.holes] == [((12.0, -18.0), 6.2), ((-12.0, -18.0), 5.2)]


NUMBER = st.floats(-30, 30).map(lambda each: round(each, 2))
PAIR = st.tuples(NUMBER, NUMBER).map(lambda pair: f"{pair[0]} {pair[1]}")
FLAG = st.sampled_from("01")
STEP = st.one_of(
    st.tuples(st.sampled_from("Ll"), PAIR).map(" ".join),
    st.tuples(st.sampled_from("HhVv"), NUMBER.map(str)).map(" ".join),
    st.tuples(st.sampled_from("Qq"), PAIR, PAIR, st.sampled_from("Tt"), PAIR).map(" ".join),
    st.tuples(st.sampled_from("Cc"), PAIR, PAIR, PAIR, st.sampled_from("Ss"), PAIR, PAIR).map(" ".join),
    st.tuples(
        st.sampled_from("Aa"), st.floats(1, 40).map(str), st.floats(1, 40).map(str),
        st.integers(0, 180).map(str), FLAG, FLAG, PAIR,
    ).map(" ".join),
)  # fmt: skip


@settings(max_examples=40)
@given(PAIR, st.lists(STEP, min_size=1, max_size=4))
def test_any_path_runs_where_svgelements_says(start: str, steps: list[str]) -> None:
    data = f"M{start} {' '.join(steps)}"
    ours = [point for piece in read_svg(svg(f'<path d="{data}"/>'), None) for point in piece.points]
    theirs = svgelements.Path(data)
    if not ours:
        assert theirs.length() < 1e-5
        return
    drawn = LineString([(x, -y) for x, y in ours])
    for segment in theirs:
        for i in range(0 if isinstance(segment, svgelements.Move) else 9):
            at = segment.point(i / 8)
            assert drawn.distance(Point(at.x, at.y)) < 0.01


def test_a_smooth_curve_after_another_kind_bends_on_from_its_own_start() -> None:
    """SVG 1.1, 8.3.6 and 8.3.7: the first control point is then the current point."""
    smooth = read_svg(svg('<path d="M0 0C0 9 9 9 9 0T20 5M0 0Q5 9 9 0S20 9 20 5"/>'), None)
    plain = read_svg(svg('<path d="M0 0C0 9 9 9 9 0L20 5M0 0Q5 9 9 0C9 0 20 9 20 5"/>'), None)
    assert LineString(smooth[0].points).hausdorff_distance(LineString(plain[0].points)) < 1e-9
    assert smooth[1].points == plain[1].points


@pytest.mark.parametrize(
    "transform",
    ["translate(3 4)", "rotate(30)", "rotate(30,5,6)", "scale(2)", "scale(-1 1)", "skewX(10)", "skewY(10)",
     "matrix(1 2 3 4 5 6)", "translate(5) rotate(40) scale(.5,2)"],
)  # fmt: skip
@pytest.mark.parametrize("shape", ['<rect x="1" y="2" width="30" height="20" rx="4"/>',
                                   '<ellipse cx="3" cy="4" rx="10" ry="6"/>',
                                   '<polygon points="0,0 10,0 4,8"/>'])  # fmt: skip
def test_shapes_and_transforms_are_those_of_svgelements(transform: str, shape: str) -> None:
    raw = svg(f'<g transform="{transform}">{shape}</g>', '<svg xmlns="http://www.w3.org/2000/svg">')
    (piece,) = read_svg(raw, "mm")
    # Points are moved one by one: the library itself keeps the arcs of skewed circles circles.
    plain = io.BytesIO(svg(shape, '<svg xmlns="http://www.w3.org/2000/svg">'))
    (theirs,) = svgelements.SVG.parse(plain).select(lambda e: isinstance(e, svgelements.Shape))
    moves = svgelements.Matrix(transform)
    ring = Polygon([(x, -y) for x, y in piece.points]).exterior
    for segment in svgelements.Path(theirs):
        for i in range(0 if isinstance(segment, svgelements.Move) else 9):
            at = moves.point_in_matrix_space(segment.point(i / 8))
            assert ring.distance(Point(at.x, at.y)) < 0.01


@pytest.mark.parametrize(
    ("size", "asked", "scale"),
    [
        ('width="100mm" height="100mm" viewBox="-50 -50 100 100"', None, 1.0),
        ('width="10cm" viewBox="-50 -50 200 200"', None, 0.5),
        ('width="4in" height="4in" viewBox="0 0 4 4"', None, 25.4),
        ('viewBox="0 0 100 100"', "mm", 1.0),
        ('width="378" height="378"', "in", 25.4),
    ],
)
def test_the_unit_is_the_files_or_the_one_that_was_said(size: str, asked: str | None, scale: float) -> None:
    line = '<line x1="1" y1="0" x2="2" y2="0"/>'
    (piece,) = read_svg(svg(line, f'<svg xmlns="http://www.w3.org/2000/svg" {size}>'), asked)
    assert [v for p in piece.points for v in p] == pytest.approx([scale, 0.0, 2.0 * scale, 0.0])


def test_a_named_edge_leaves_notes_alone_and_still_has_every_hole() -> None:
    notes = '<g id="notes"><path d="M0-40H60"/><circle cx="40" cy="40" r="3"/></g>'
    raw = svg(f'<g id="plate"><path d="{EDGE}"/></g>{HOLES}{notes}')
    assert refused(raw) == "outline.open"
    assert len(outline(raw, line="plate").holes) == 2
    assert refused(raw, line="plates") == "outline.no_such_name"


def test_the_axle_may_be_a_circle_in_the_slot_and_a_pocket_is_drawn_about_its_hole() -> None:
    moved = f'<g transform="translate(7 9)"><path d="{EDGE}"/>{HOLES}<circle id="axle" r="4"/></g>'
    assert refused(svg(moved)) == "outline.several"
    found = outline(svg(moved), axle="axle")
    assert found.holes[0].centre == (12.0, -18.0)
    pocket = svg(f'<path d="{EDGE}"/><circle cy="20" r="3"/><circle cy="20" r="6"/>')
    assert [hole.diameter for hole in outline(pocket).holes] == [12.0]
    assert refused(svg(moved), axle="axel") == "outline.no_such_name"


def test_lines_drawn_one_by_one_are_joined() -> None:
    lines = "M-20-20H20", "M20 20V-20", "M20 20H-20", "M-20 20V-20"
    raw = svg("".join(f'<path d="{each}"/>' for each in lines))
    assert outline(raw).size == (40.0, 40.0)


BAD = {
    "outline.empty": b" \n",
    "outline.no_svg": b"<svg",
    "outline.other_root": b"<html/>",
    "outline.script": svg("<script>alert(1)</script>"),
    "outline.entity": b'<!DOCTYPE svg [<!ENTITY a "b">]>' + GOOD,
    "outline.external": svg('<image href="https://example.com/a.png"/>'),
    "outline.too_deep": svg("<g>" * 100 + "</g>" * 100),
    "outline.too_detailed": svg(f'<path d="M0 0{" h1 v1" * 30000}"/>'),
    "outline.nested": svg("<svg/>"),
    "outline.clone": svg(f'{HOLES}<use href="#edge"/>'),
    "outline.path_data": svg('<path d="M0 0 L5"/>'),
    "outline.transform": svg('<path transform="shear(3)" d="M0 0L5 5"/>'),
    "outline.no_number_in": svg('<circle r="wide"/>'),
    "outline.no_number": svg('<path d="M0 0L1e300 5"/>'),
    "outline.no_unit": svg(f'<path d="{EDGE}"/>', '<svg xmlns="http://www.w3.org/2000/svg">'),
    "outline.two_scales": svg("", '<svg width="9mm" height="8mm" viewBox="0 0 9 9">'),
    "outline.no_path": svg("<text>dropout</text>"),
    "outline.open": svg('<path d="M-20-20H20V20"/>'),
    "outline.several": svg('<path d="M-20-20H20V20H-20z"/><path d="M50 0h9v9z"/>'),
    "outline.only_circle": svg('<circle r="20"/>'),
    "outline.no_size": svg('<path d="M-1-1H1V1H-1z"/>'),
    "outline.crosses": svg('<path d="M-20-20L20 20V-20L-20 20z"/>'),
    "outline.lines_meet": svg(f'<path d="{EDGE}"/><path d="M8 10h30v5h-30z"/>'),
    "outline.hole_out": svg(f'<path d="{EDGE}"/><circle cx="18" r="4"/>'),
    "outline.holes_meet": svg(f'<path d="{EDGE}"/>{HOLES}<circle cx="14" cy="20" r="3"/>'),
    "outline.axle_outside": svg(f'<path transform="translate(60)" d="{EDGE}"/>'),
}


@pytest.mark.parametrize("code", BAD)
def test_a_bad_drawing_is_told_in_one_line(code: str) -> None:
    assert refused(BAD[code]) == code


@pytest.mark.parametrize(
    "inside",
    ['<path onload="x()" d="M0 0L1 1"/>', "<foreignObject/>", '<a href="file:///etc/passwd"/>',
     "<style>@import 'a.css';</style>", "<style>g{fill:url(http://a/b)}</style>",
     '<path style="fill:url(a.svg#b)"/>', '<use href="other.svg#edge"/>'],
)  # fmt: skip
def test_nothing_that_runs_or_fetches_passes(inside: str) -> None:
    assert refused(svg(inside)) in ("outline.script", "outline.external")


def test_what_drawing_programs_add_does_no_harm() -> None:
    """A document type without entities, licences, hidden layers, gradients, pictures within the file."""
    doctype = b'<?xml version="1.0"?><!DOCTYPE svg PUBLIC "-//W3C//DTD SVG 1.1//EN" "svg11.dtd">'
    extra = (
        '<defs><path d="M0 0L1 1"/></defs><g style="display: none"><path d="M0 0L99 99"/></g>'
        '<image href="data:image/png;base64,AAAA"/>'
        '<path style="fill:url(#g)" visibility="hidden" d="M0 0L9 9"/>'
        '<metadata><license resource="http://example.com/by-sa"/></metadata>'
    )
    assert outline(doctype + GOOD.replace(b"</svg>", f"{extra}</svg>".encode())) == outline(GOOD)


# --- DXF


def text(document: Dxf) -> bytes:
    stream = io.StringIO()
    document.write(stream)
    return stream.getvalue().encode()


def plate(units: int = 4) -> Dxf:
    document = ezdxf.new("R2010", units=units)
    space = document.modelspace()
    corners = [(-20, 20, 0, 0, 0), (-20, -20, 0, 0, 0.4), (20, -20, 0, 0, 0), (20, 20, 0, 0, 0)]
    space.add_lwpolyline(corners, format="xyseb", close=True)
    space.add_circle((0, 0), 6)
    space.add_circle((12, 12), 3.1)
    return document


def test_a_dxf_comes_out_in_mm() -> None:
    found = outline(text(plate()), "d.dxf")
    # Over the chord of 40 a bulge of 0.4 stands off by 0.4 of half of it: 8.
    assert found.size == pytest.approx((40.0, 48.0), abs=0.01)
    assert found.holes[1].centre == (12.0, 12.0) and found.holes[1].diameter == pytest.approx(6.2)


@pytest.mark.parametrize(("units", "scale"), [(1, 25.4), (4, 1.0), (5, 10.0)])
def test_a_dxf_is_in_the_unit_that_it_says(units: int, scale: float) -> None:
    document = ezdxf.new("R2000", units=units)
    document.modelspace().add_line((1, 0), (2, 1))
    (piece,) = read_dxf(text(document), None)
    assert [v for p in piece.points for v in p] == pytest.approx([scale, 0.0, 2 * scale, scale])


def test_every_kind_of_curve_runs_where_ezdxf_flattens_it() -> None:
    document = ezdxf.new("R2010", units=4)
    space = document.modelspace()
    drawn = [
        space.add_arc((3, 4), 10, 350, 80),
        space.add_arc((3, 4), 10, 20, 200, dxfattribs={"extrusion": (0, 0, -1)}),
        space.add_circle((5, 1), 7, dxfattribs={"extrusion": (0, 0, -1)}),
        space.add_ellipse((1, 2), (10, 3), 0.4, 0.3, 4.0),
        space.add_ellipse((1, 2), (10, 3), 0.4, 0.3, 4.0, dxfattribs={"extrusion": (0, 0, -1)}),
        space.add_ellipse((1, 2), (10, 3), 0.4),
        space.add_lwpolyline([(0, 0, 0.5), (10, 0, -0.3), (10, 10, 0)], format="xyb"),
        space.add_polyline2d([(0, 0, 0.5), (10, 0, -2), (10, 10, 0)], format="xyb", close=True),
        space.add_open_spline([(0, 0), (5, 20), (10, -20), (15, 20), (20, 0)], degree=3),
        space.add_rational_spline([(0, 0), (5, 20), (20, 20), (20, 0)], weights=[1, 3, 0.5, 1], degree=3),
    ]
    pieces = read_dxf(text(document), None)
    assert len(pieces) == len(drawn)
    for entity, piece in zip(drawn, pieces, strict=True):
        own = hasattr(entity, "flattening")
        curve = entity.flattening(0.0005) if own else ezpath.make_path(entity, segments=64).flattening(0.0005)
        theirs = LineString([(v.x, v.y) for v in curve])
        ours = LineString([*piece.points, *piece.points[: 1 if piece.closed else 0]])
        assert max(theirs.distance(Point(each)) for each in ours.coords) < 0.01
        assert max(ours.distance(Point(each)) for each in theirs.coords) < 0.01


def test_layers_name_the_edge_and_those_that_are_off_are_not_seen() -> None:
    document = plate()
    document.layers.add("NOTES").off()
    document.layers.add("DIMS")
    space = document.modelspace()
    space.add_line((0, 0), (90, 0), dxfattribs={"layer": "NOTES"})
    assert outline(text(document), "d.dxf") == outline(text(plate()), "d.dxf")
    space.add_line((0, 0), (90, 0), dxfattribs={"layer": "DIMS"})
    assert refused(text(document), "d.dxf") == "outline.open"
    assert outline(text(document), "d.dxf", line="0") == outline(text(plate()), "d.dxf")
    document.layers.get("0").freeze()
    assert refused(text(document), "d.dxf", line="0") == "outline.no_such_name"


def _bad_dxf() -> dict[str, bytes]:
    block, away, tilted, unread = plate(), plate(), plate(), plate()
    block.blocks.new("PART")
    block.modelspace().add_blockref("PART", (0, 0))
    away.add_xref_def("other.dwg", "OTHER")
    tilted.modelspace().add_circle((0, 12), 2, dxfattribs={"extrusion": (1, 0, 0)})
    unread.modelspace().add_mline([(0, 0), (5, 5)])
    return {
        "outline.binary_dxf": b"AutoCAD Binary DXF\r\n\x1a\x00",
        "outline.no_dxf": b"0\nSECTION\n2\nHEADER\n",
        "outline.no_unit": text(plate(units=0)),
        "outline.block": text(block),
        "outline.external": text(away),
        "outline.not_flat": text(tilted),
        "outline.unread": text(unread),
    }


@pytest.mark.parametrize("code", _bad_dxf())
def test_a_bad_dxf_is_told_in_one_line(code: str) -> None:
    assert refused(_bad_dxf()[code], "d.dxf") == code


def test_a_unit_that_contradicts_the_file_is_refused() -> None:
    assert refused(GOOD, unit="in") == "outline.other_unit"
    assert refused(text(plate()), "d.dxf", unit="in") == "outline.other_unit"
    assert outline(text(plate(units=0)), "d.dxf", unit="mm") == outline(text(plate()), "d.dxf")


# --- anything


@st.composite
def broken(draw: st.DrawFn, raw: bytes) -> bytes:
    """Return a sound file with some bytes changed, put in or taken out."""
    data = bytearray(raw)
    for _ in range(draw(st.integers(1, 6))):
        at = draw(st.integers(0, len(data) - 1))
        data[at : at + draw(st.integers(0, 4))] = draw(
            st.one_of(
                st.binary(max_size=3),
                st.sampled_from([b"9e99", b"-", b"nan", b"<g>", b"\n0\nEND\n", b"1e-320"]),
            )
        )
    return bytes(data)


SMALL_DXF = re.sub(
    rb"(?s)  0\nSECTION\n  2\nCLASSES.*?ENDSEC\n|  0\nSECTION\n  2\nOBJECTS.*?ENDSEC\n", b"", text(plate())
)


@pytest.mark.parametrize(("raw", "name"), [(GOOD, "d.svg"), (SMALL_DXF[-2500:], "d.dxf")], ids=["svg", "dxf"])
@settings(max_examples=60)
@given(st.data())
def test_whatever_is_broken_in_a_file_it_is_read_or_refused(
    raw: bytes, name: str, data: st.DataObject
) -> None:
    try:
        found = outline(data.draw(broken(raw)), name, **({"unit": "mm"} if name == "d.dxf" else {}))
    except RefusedError as error:
        assert told(error.what)
    else:
        assert all(math.isfinite(value) for point in found.edge for value in point)
