"""The SVG, as other programs see it: size, layers, ids, styles and coordinates."""

import re
from collections import Counter
from dataclasses import replace
from pathlib import Path as File
from xml.etree import ElementTree

import pytest
import svgelements
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from geometry.core.errors import ReadBackError
from sheets.files.read.readback import verify_svg
from sheets.files.write.svg import svg, write_svg
from sheets.files.write.svg_path import path_data
from sheets.ink.marks import label, lettered, lettering_style, strokes
from sheets.ink.paper import PAPERS
from sheets.ink.records import Label, Path, Sheet, Style
from tests.files.shapes import WIDE, full_sheet, polyline, sheet

SVG = "{http://www.w3.org/2000/svg}"
EDITOR = "{http://www.inkscape.org/namespaces/inkscape}"
LINE = polyline(((20.0, 20.0), (30.0, 20.0)))


def written(file: File, wanted: Sheet) -> ElementTree.Element:
    write_svg(wanted, file)
    return ElementTree.parse(file).getroot()


def by_svgelements(file: File) -> list[float]:
    """Return every coordinate that another reader finds, in mm from the lower-left corner, in order.

    It is asked for 25.4 units an inch, so that its units are mm.
    """
    parsed = svgelements.SVG.parse(str(file), ppi=25.4, reify=True)
    height = float(parsed.height)
    values: list[float] = []
    for path in parsed.select(lambda element: isinstance(element, svgelements.Path)):
        for step in path:
            match step:
                case svgelements.Close():
                    points = []
                case svgelements.CubicBezier():
                    points = [step.control1, step.control2, step.end]
                case _:
                    points = [step.end]
            values += [value for point in points for value in (point.x, height - point.y)]
    return values


def in_layers(wanted: Sheet) -> list[float]:
    layers = list(dict.fromkeys(path.layer for path in wanted.records))
    paths = sorted(wanted.records, key=lambda path: layers.index(path.layer))
    return [value for path in paths for _, *values in path.commands for value in values]


@pytest.mark.parametrize(
    ("name", "width", "height"),
    [
        ("A4", "210", "297"),
        ("A3", "297", "420"),
        ("Letter", "215.9", "279.4"),
        ("Legal", "215.9", "355.6"),
        ("Tabloid", "279.4", "431.8"),
    ],
)
def test_size_and_view_box_are_the_same_mm(tmp_path: File, name: str, width: str, height: str) -> None:
    root = written(tmp_path / "sheet.svg", full_sheet(PAPERS[name]))
    assert root.get("width") == f"{width}mm"
    assert root.get("height") == f"{height}mm"
    assert root.get("viewBox") == f"0 0 {width} {height}"
    groups = root.findall(f"{SVG}g")
    assert [group.get("transform") for group in groups] == [f"matrix(1 0 0 -1 0 {height})"]
    assert [element for element in root.iter() if element.get("transform")] == groups


def test_one_group_a_layer_in_order_of_first_use(tmp_path: File) -> None:
    root = written(tmp_path / "sheet.svg", full_sheet())
    layers = root.findall(f"{SVG}g/{SVG}g")
    assert [layer.get("id") for layer in layers] == ["features", "axes", "marks", "lettering"]
    assert [layer.get(f"{EDITOR}label") for layer in layers] == ["features", "axes", "marks", "lettering"]
    assert {layer.get(f"{EDITOR}groupmode") for layer in layers} == {"layer"}
    assert [len(list(layer.iter(f"{SVG}path"))) for layer in layers] == [8, 2, 2, 1]
    assert len(list(root.iter(f"{SVG}path"))) == 13


def test_titles_and_ids(tmp_path: File) -> None:
    names = ["boss near, mount side", "boss near: mount side", "marks", "Ø 6 × 2", "6 in", "–", "marks-2", ""]
    wanted = sheet(more=tuple(Path(LINE, WIDE, "marks", name) for name in names))
    root = written(tmp_path / "sheet.svg", wanted)
    assert root.findtext(f"{SVG}title") == "Ø test – sheet"
    paths = list(root.iter(f"{SVG}path"))
    assert [path.findtext(f"{SVG}title") or "" for path in paths] == names
    assert [path.get("id") for path in paths] == [
        "boss-near-mount-side",
        "boss-near-mount-side-2",
        "marks-2",
        "n-6-2",
        "n-6-in",
        "n",
        "marks-2-2",
        None,
    ]


@given(st.lists(st.text(max_size=6), max_size=12))
@settings(suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_ids_are_unique_and_valid_whatever_the_names(tmp_path: File, names: list[str]) -> None:
    paths = tuple(Path(LINE, WIDE, name, name[::-1]) for name in names)
    root = written(tmp_path / "sheet.svg", replace(sheet(more=paths), title="".join(names)))
    ids = [name for element in root.iter() if (name := element.get("id"))]
    assert max(Counter(ids).values(), default=1) == 1
    assert all(re.fullmatch(r"[a-z][a-z0-9-]*", name) for name in ids)
    assert len(list(root.iter(f"{SVG}path"))) == len(names)


def test_styles_become_attributes(tmp_path: File) -> None:
    paths = (
        Path(LINE, Style(0.35, (4.2, 1.05), "round"), "a"),
        Path(LINE, Style(0.18), "a"),
        Path(LINE, Style(0.18), "a"),
        Path(LINE, Style(0.18, fill=True), "a"),
        Path(LINE, Style(0.0, fill=True), "a"),
        Path((), Style(0.5), "b"),
    )
    root = written(tmp_path / "sheet.svg", sheet(more=paths))
    group = root.find(f"{SVG}g")
    assert group is not None
    assert {key: group.get(key) for key in ("fill", "fill-rule", "stroke", "stroke-miterlimit")} == {
        "fill": "none",
        "fill-rule": "evenodd",
        "stroke": "black",
        "stroke-miterlimit": "4",
    }
    data = "M20 20h10"
    layer = group.find(f"{SVG}g")
    assert layer is not None
    assert [(run.attrib, [path.get("d") for path in run]) for run in layer] == [
        (
            {
                "stroke-width": ".35",
                "stroke-dasharray": "4.2,1.05",
                "stroke-linecap": "round",
                "stroke-linejoin": "round",
            },
            [data],
        ),
        ({"stroke-width": ".18"}, [data, data]),
        ({"stroke-width": ".18", "fill": "black"}, [data]),
        ({"stroke": "none", "fill": "black"}, [data]),
    ]
    with pytest.raises(ValueError, match="neither stroke nor fill"):
        write_svg(sheet(more=(Path(LINE, Style(0.0), "a"),)), tmp_path / "unseen.svg")
    assert not (tmp_path / "unseen.svg").exists()


def test_what_all_paths_of_a_layer_share_stands_on_the_layer(tmp_path: File) -> None:
    root = written(tmp_path / "sheet.svg", sheet(more=(Path(LINE, WIDE, "a"), Path(LINE, WIDE, "a"))))
    layer = root.find(f"{SVG}g/{SVG}g")
    assert layer is not None and layer.get("stroke-width") == ".35"
    assert [path.attrib for path in layer] == [{"d": "M20 20h10"}] * 2


@pytest.mark.parametrize(
    ("commands", "data"),
    [
        ((("M", 1.0, -0.0), ("L", 3.5, 2.0), ("L", 3.5, 1.0004)), "M1 0l2.5 2v-1"),
        ((("M", 0.5, 0.25), ("L", 0.5, 1.0), ("L", 0.0, 0.5), ("Z",)), "M.5.25v.75l-.5-.5z"),
        # After Z the pen is at the start again; a pair that follows a move is a line.
        ((("M", 1.0, 1.0), ("L", 2.0, 1.0), ("Z",), ("M", 1.0, 2.0), ("L", 2.0, 3.0)), "M1 1h1zm0 1 1 1"),
        # A control that goes on just as the last one came is left out; after a line there is none.
        (
            (
                ("M", 0.0, 0.0),
                ("C", 1.0, 0.0, 2.0, 1.0, 2.0, 2.0),
                ("C", 2.0, 3.0, 1.0, 4.0, 0.0, 4.0),
                ("C", -1.0, 4.001, -2.0, 3.0, -2.0, 2.0),
            ),
            "M0 0c1 0 2 1 2 2s-1 2-2 2c-1 .001-2-1-2-2",
        ),
        # Rounded where it lies on the page: a thousand steps of 0.0004 mm are not lost.
        ((("M", 0.0, 0.0), *(("L", 0.0004 * i, 0.0) for i in range(1001))), None),
    ],
)
def test_path_data_is_short_and_adds_up(tmp_path: File, commands, data: str | None) -> None:
    if data is not None:
        assert path_data(commands) == data
    file = tmp_path / "sheet.svg"
    write_svg(sheet(more=(Path(commands, WIDE, "a"),)), file)
    wanted = [value for _, *values in commands for value in values]
    assert by_svgelements(file)[: len(wanted)] == pytest.approx(wanted, abs=0.00051)


@pytest.mark.parametrize("bad", [float("nan"), float("inf")])
def test_what_is_not_a_number_is_refused(bad: float) -> None:
    with pytest.raises(ValueError, match="not a finite number"):
        path_data((("M", 0.0, 0.0), ("L", bad, 1.0)))


def test_another_reader_finds_the_coordinates_of_the_sheet(tmp_path: File) -> None:
    file = tmp_path / "sheet.svg"
    wanted = full_sheet()
    write_svg(wanted, file)
    assert by_svgelements(file) == pytest.approx(in_layers(wanted), abs=0.001)


length = st.floats(0.0, 420.0)


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=25)
@given(st.lists(st.tuples(length, length), min_size=2, max_size=30, unique=True))
def test_any_line_reads_back_by_other_hands(tmp_path: File, points: list[tuple[float, float]]) -> None:
    file = tmp_path / "sheet.svg"
    write_svg(sheet(more=(Path(polyline(tuple(points)), WIDE, "a"),)), file)
    assert by_svgelements(file) == pytest.approx([value for pair in points for value in pair], abs=0.001)


LETTERED = (
    label("near: drill Ø6.2", (60.0, 200.0), 3.5),
    label("drill", (40.0, 60.0), 3.5, turn=90.0),
    Label("Éclair 7", 5.0, (1.002, 0.003, -0.001, 0.998, 70.0, 220.0)),
)


def labelled() -> Sheet:
    return sheet(
        more=tuple(lettered((each,), lettering_style(each.height), "lettering") for each in LETTERED)
    )


def test_each_character_of_a_label_is_kept_once_and_lies_where_its_strokes_do(tmp_path: File) -> None:
    root = written(tmp_path / "sheet.svg", labelled())
    lines = [each for each in root.iter(f"{SVG}g") if each.get("aria-label")]
    assert [each.get("aria-label") for each in lines] == [each.text for each in LETTERED]
    # n e a r : d i l Ø 6 . 2 at one height, and seven more at another; blanks leave no ink.
    assert len(root.findall(f"{SVG}defs/{SVG}path")) == 12 + 7
    assert len(list(root.iter(f"{SVG}use"))) == 14 + 5 + 7
    wanted = [value for one in LETTERED for _, *values in strokes(one) for value in values]
    # A place and a point in it are rounded apart, half a micrometre each way.
    assert by_svgelements(tmp_path / "sheet.svg") == pytest.approx(wanted, abs=0.002)
    assert verify_svg(tmp_path / "sheet.svg", labelled()) < 0.01


def test_labels_as_text_are_read_by_others_and_proven(tmp_path: File) -> None:
    file, wanted = tmp_path / "sheet.svg", labelled()
    file.write_bytes(svg(wanted, text=True))
    texts = list(svgelements.SVG.parse(str(file)).select(lambda each: isinstance(each, svgelements.Text)))
    assert [each.text for each in texts] == [each.text for each in LETTERED]
    assert verify_svg(file, wanted, text=True) < 0.01
    good = file.read_text(encoding="utf-8")
    for old, new, code in (
        ("near: drill", "near: drlil", "lost"),
        ("60 200", "60.02 200", "off"),
        ('textLength="', 'textLength="1', "off"),
    ):
        assert old in good
        file.write_text(good.replace(old, new, 1), encoding="utf-8")
        with pytest.raises(ReadBackError, match=f"text_{code}"):
            verify_svg(file, wanted, text=True)
    write_svg(wanted, file)
    with pytest.raises(ReadBackError, match="text_lost"):
        verify_svg(file, wanted, text=True)
