"""The read-back lets through what is right, and nothing that is off by more than its limit."""

import math
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path as File

import pypdf
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from reportlab.pdfgen.canvas import Canvas

from geometry.core.errors import ReadBackError
from sheets.files.read.readback import verify_pdf, verify_svg
from sheets.files.write.svg import write_svg
from sheets.ink.paper import PAPERS
from sheets.ink.records import Arc, Circle, Curve, Feature, Path, Segment, Sheet, Slot
from tests.files.shapes import WIDE, arc, full_sheet, outline, polyline, redrawn, sheet

WriteAndVerify = Callable[[Sheet, Sheet], float]
GOOD = full_sheet()
BY_NAME = {feature.name: feature for feature in GOOD.features}


def moved(feature: Feature, dx: float, dy: float) -> Feature:
    def shift(point: tuple[float, float]) -> tuple[float, float]:
        return (point[0] + dx, point[1] + dy)

    match feature:
        case Circle() | Arc():
            return replace(feature, centre=shift(feature.centre))
        case Segment() | Slot():
            return replace(feature, start=shift(feature.start), end=shift(feature.end))
        case Curve():
            return replace(feature, points=tuple(map(shift, feature.points)))


def test_every_kind_measures_what_it_should(write_and_verify: WriteAndVerify) -> None:
    assert write_and_verify(GOOD, GOOD) <= 0.001


@pytest.mark.parametrize("paper", PAPERS.values(), ids=PAPERS)
def test_every_paper(write_and_verify: WriteAndVerify, paper) -> None:
    drawn = full_sheet(paper)
    assert write_and_verify(drawn, drawn) <= 0.001


@pytest.mark.parametrize("name", BY_NAME)
@pytest.mark.parametrize("way", [(1, 0), (0, -1), (0.6, 0.8)])
def test_a_move_of_11_micrometres_is_a_miss_and_of_9_is_not(
    write_and_verify: WriteAndVerify, name: str, way: tuple[float, float]
) -> None:
    x, y = way
    nearly = write_and_verify(redrawn(GOOD, moved(BY_NAME[name], 0.009 * x, 0.009 * y)), GOOD)
    assert nearly == pytest.approx(0.009, abs=0.001)
    with pytest.raises(ReadBackError, match=rf"'{name}'.*amount=0\.01[01]\d*\), limit=0\.01\)"):
        write_and_verify(redrawn(GOOD, moved(BY_NAME[name], 0.0112 * x, 0.0112 * y)), GOOD)


def test_a_scale_of_a_thousandth_is_a_miss(write_and_verify: WriteAndVerify) -> None:
    def scaled(path: Path) -> Path:
        return replace(
            path,
            commands=tuple(
                (letter, *(1.001 * value for value in values)) for letter, *values in path.commands
            ),
        )

    with pytest.raises(ReadBackError) as caught:
        write_and_verify(replace(GOOD, records=tuple(map(scaled, GOOD.records))), GOOD)
    assert {problem.where["what"] for problem in caught.value.problems} == set(BY_NAME)


@pytest.mark.parametrize(
    ("name", "wrong"),
    [
        ("hole near", replace(BY_NAME["hole near"], diameter=6.2112)),
        ("rotor", replace(BY_NAME["rotor"], diameter=159.98)),
        ("bar across", Segment("", (20.0, 20.0), (170.0112, 20.0))),
        ("edge", replace(BY_NAME["edge"], end=334.9)),
        ("edge", replace(BY_NAME["edge"], start=200.1)),
        ("edge", replace(BY_NAME["edge"], end=250.0)),
        ("edge", replace(BY_NAME["edge"], start=335.0, end=560.0)),
        ("slot", replace(BY_NAME["slot"], width=6.5112)),
        ("slot", replace(BY_NAME["slot"], end=(131.02, 67.5))),
        ("cope", Curve("", BY_NAME["cope"].points[:-1])),
        ("cope", Curve("", (*BY_NAME["cope"].points[:30], (60.0, 200.0), *BY_NAME["cope"].points[31:]))),
    ],
)
def test_a_wrong_size_is_a_miss(write_and_verify: WriteAndVerify, name: str, wrong: Feature) -> None:
    with pytest.raises(ReadBackError, match=f"what='{name}'"):
        write_and_verify(redrawn(GOOD, replace(wrong, name=name)), GOOD)


@pytest.mark.parametrize("name", BY_NAME)
def test_what_is_missing_is_a_miss(write_and_verify: WriteAndVerify, name: str) -> None:
    without = replace(GOOD, records=tuple(path for path in GOOD.records if path.name != name))
    with pytest.raises(ReadBackError, match=rf"'{name}'.*readback\.(nearest|nothing)") as caught:
        write_and_verify(without, GOOD)
    assert len(caught.value.problems) == 1


def test_nothing_of_its_kind(write_and_verify: WriteAndVerify) -> None:
    bare = sheet(Segment("bar", (20.0, 20.0), (90.0, 20.0)))
    others = [feature for feature in GOOD.features if not isinstance(feature, Segment)]
    with pytest.raises(ReadBackError) as caught:
        write_and_verify(bare, replace(bare, features=tuple(others)))
    codes = [problem.what["what"].code for problem in caught.value.problems]
    assert codes == ["readback.nothing"] * len(others)


@pytest.mark.parametrize(
    "commands",
    [
        arc((60.0, 80.0), 3.1, 0, 359.5),
        arc((60.0, 80.0), 3.1, 0, 330),
        (*arc((60.0, 80.0), 3.1, 0, 330), ("Z",)),
        (*arc((60.0, 80.0), 3.1, 0, 720), ("Z",)),
        # Four points on the circle, joined by chords.
        (
            *polyline(tuple((60 + 3.1 * x, 80.0 + 3.1 * y) for x, y in ((1, 0), (0, 1), (-1, 0), (0, -1)))),
            ("Z",),
        ),
        # The same joined by curves that bulge too far, as a box that only looks at corners would not see.
        (
            ("M", 63.1, 80.0),
            ("C", 63.1, 82.0, 62.0, 83.1, 60.0, 83.1),
            ("C", 58.0, 83.1, 56.9, 82.0, 56.9, 80.0),
            ("C", 56.9, 78.0, 58.0, 76.9, 60.0, 76.9),
            ("C", 62.0, 76.9, 63.1, 78.0, 63.1, 80.0),
            ("Z",),
        ),
    ],
    ids=["gap", "open", "chord", "twice round", "square", "bulging"],
)
def test_a_circle_that_is_not_whole_and_round_is_a_miss(write_and_verify: WriteAndVerify, commands) -> None:
    wrong = tuple(
        replace(path, commands=commands) if path.name == "hole near" else path for path in GOOD.records
    )
    with pytest.raises(ReadBackError, match="what='hole near'"):
        write_and_verify(replace(GOOD, records=wrong), GOOD)


def test_an_arc_of_the_same_ends_and_another_bulge_is_a_miss(write_and_verify: WriteAndVerify) -> None:
    wanted = Arc("edge", (100.0, 100.0), 60.0, 0.0, 180.0)
    for radius, start, end in ((30.0, 180.0, 360.0), (60.0, 60.0, 120.0)):
        centre = (100.0, 100.0 - radius * math.sin(math.radians(start)))
        drawn = Path(arc(centre, radius, start, end), WIDE, "marks")
        with pytest.raises(ReadBackError, match="what='edge'"):
            write_and_verify(sheet(more=(drawn,)), sheet(wanted))


def test_ink_that_cannot_be_seen_is_a_miss(tmp_path: File) -> None:
    bar = sheet(Segment("bar", (20.0, 20.0), (170.0, 20.0)))
    file = tmp_path / "sheet.svg"
    write_svg(bar, file)
    assert verify_svg(file, bar) <= 0.001
    file.write_text(file.read_text().replace('stroke="black"', 'stroke="none"'))
    with pytest.raises(ReadBackError, match=r"'bar'.*readback\.nothing"):
        verify_svg(file, bar)


def test_a_pdf_path_that_is_not_painted_is_a_miss(make_packet, tmp_path: File) -> None:
    bar = sheet(Segment("bar", (20.0, 20.0), (170.0, 20.0)))
    writer = pypdf.PdfWriter(clone_from=make_packet(bar))
    page = writer.pages[0]
    painted = pypdf.generic.ContentStream(page.get_contents(), writer)
    painted.operations = [(numbers, b"n" if name == b"S" else name) for numbers, name in painted.operations]
    page.replace_contents(painted)
    writer.write(tmp_path / "changed.pdf")
    with pytest.raises(ReadBackError, match=r"'bar'.*readback\.nothing"):
        verify_pdf(tmp_path / "changed.pdf", [bar])


def test_the_worst_part_is_named(write_and_verify: WriteAndVerify) -> None:
    hole = BY_NAME["hole near"]
    way = math.radians(1.9)
    for wrong, parts, off in (
        (moved(hole, 0.5 * math.cos(way), 0.5 * math.sin(way)), {"centre", "outline"}, 0.5),
        (replace(hole, diameter=6.4), {"diameter"}, 0.2),
        (replace(BY_NAME["edge"], diameter=60.5), {"radius", "end"}, 0.25),
        (replace(BY_NAME["slot"], width=6.7), {"width"}, 0.2),
    ):
        with pytest.raises(ReadBackError) as caught:
            write_and_verify(redrawn(GOOD, wrong), GOOD)
        (problem,) = caught.value.problems
        assert problem.where["what"] == wrong.name
        found = problem.what["what"]
        assert found.code.removeprefix("readback.part.") in parts
        # To the micrometre: files have their numbers rounded.
        assert found["amount"] == pytest.approx(off, abs=1e-3)


def test_an_ellipse_of_the_same_size_on_average_is_a_miss(write_and_verify: WriteAndVerify) -> None:
    hole = Circle("hole", (60.0, 80.0), 6.2)
    x, y = hole.centre
    squeezed = []
    for letter, *values in outline(hole):
        scaled = [
            y + (value - y) * 0.995 if index % 2 else x + (value - x) * 1.005
            for index, value in enumerate(values)
        ]
        squeezed.append((letter, *scaled))
    drawn = sheet(more=(Path(tuple(squeezed), WIDE, "features"),))
    with pytest.raises(ReadBackError, match=r"'hole'.*part\.outline\(amount=0\.01[56]"):
        write_and_verify(drawn, replace(drawn, features=(hole,)))


def test_a_page_box_off_by_a_twentieth_is_a_miss(write_and_verify: WriteAndVerify) -> None:
    wide = replace(GOOD, paper=replace(GOOD.paper, width=210.05))
    with pytest.raises(ReadBackError, match=r"'page'.*box\(width=210\.05\d*, height=297, left=0,"):
        write_and_verify(wide, GOOD)


@pytest.mark.parametrize(
    ("commands", "depth"),
    [
        (polyline(((8.1, 100.0), (8.1, 110.0))), 0.075),
        (polyline(((100.0, 291.0), (100.0, 250.0))), 2.175),
        # The controls of this curve stay within the border, and its bulge too, but not its stroke.
        ((*arc((20.0, 150.0), 11.9, 0, 360), ("Z",)), 0.075),
    ],
)
def test_ink_in_the_border_is_a_miss(write_and_verify: WriteAndVerify, commands, depth: float) -> None:
    inked = replace(GOOD, records=(*GOOD.records, Path(commands, WIDE, "marks")))
    with pytest.raises(ReadBackError) as caught:
        write_and_verify(inked, GOOD)
    (problem,) = caught.value.problems
    assert problem.where["what"] == "border"
    # To the micrometre: files have their numbers rounded.
    assert problem.what["what"]["amount"] == pytest.approx(depth, abs=1e-3)
    assert problem.what["what"]["margin"] == 8.0


def test_a_curve_whose_controls_alone_enter_the_border_is_no_miss(write_and_verify: WriteAndVerify) -> None:
    bow = Path((("M", 8.5, 100.0), ("C", 7.9, 105.0, 8.4, 105.0, 8.5, 110.0)), WIDE, "marks")
    drawn = replace(GOOD, records=(*GOOD.records, bow))
    assert write_and_verify(drawn, GOOD) <= 0.001


def test_either_direction_and_pieces_of_longer_lines_are_found(write_and_verify: WriteAndVerify) -> None:
    frame = Path(
        (*polyline(((20.0, 20.0), (105.6, 20.0), (105.6, 73.98), (20.0, 73.98))), ("Z",)), WIDE, "card"
    )
    back = Path(arc((100.0, 200.0), 30.0, 120.0, 10.0), WIDE, "marks")
    bend = arc((150.0, 130.0), 10.0, 270, 360)[1:]
    corner = (("M", 100.0, 120.0), ("L", 150.0, 120.0), *bend, ("L", 160.0, 180.0))
    rounded = Path(corner, WIDE, "marks")
    ring = ((30.0, 100.0), (40.0, 100.0), (40.0, 110.0))
    wanted = (
        Segment("top", (105.6, 73.98), (20.0, 73.98)),
        Segment("closing side", (20.0, 20.0), (20.0, 73.98)),
        Arc("back", (100.0, 200.0), 60.0, 10.0, 120.0),
        Arc("corner", (150.0, 130.0), 20.0, 270.0, 360.0),
        Segment("after the corner", (160.0, 130.0), (160.0, 180.0)),
        Curve("ring", (ring[0], *reversed(ring))),
    )
    loop = Path((*polyline(ring), ("Z",)), WIDE, "marks")
    drawn = replace(sheet(more=(frame, back, rounded, loop)), features=wanted)
    assert write_and_verify(drawn, drawn) <= 0.001


def test_a_wrong_number_of_pages_is_a_miss(make_packet) -> None:
    with pytest.raises(ReadBackError, match=r"page_count\(now=2, wanted=1\)"):
        verify_pdf(make_packet(GOOD, GOOD), [GOOD])
    with pytest.raises(ReadBackError, match=r"page=2\), what='hole near'\): .*(nearest|nothing)"):
        verify_pdf(make_packet(GOOD, sheet()), [GOOD, GOOD])


def test_an_empty_page_measures_nothing(write_and_verify: WriteAndVerify) -> None:
    assert write_and_verify(sheet(), sheet()) <= 0.001


@pytest.mark.parametrize("box", ["/MediaBox", "/CropBox", "/BleedBox", "/TrimBox", "/ArtBox"])
def test_any_box_that_is_off_is_a_miss(make_packet, tmp_path: File, box: str) -> None:
    writer = pypdf.PdfWriter(clone_from=make_packet(GOOD))
    shift = 0.05 / 25.4 * 72
    left, bottom, right, top = writer.pages[0][box]
    writer.pages[0][pypdf.generic.NameObject(box)] = pypdf.generic.RectangleObject(
        (float(left), float(bottom) - shift, float(right), float(top) - shift)
    )
    changed = tmp_path / "changed.pdf"
    writer.write(changed)
    with pytest.raises(
        ReadBackError,
        match=rf"page=1\), what='{box[1:]}'.*width=210, height=297, left=0, low=-0\.05",
    ):
        verify_pdf(changed, [GOOD])


def test_a_turned_page_is_a_miss(make_packet, tmp_path: File) -> None:
    writer = pypdf.PdfWriter(clone_from=make_packet(GOOD))
    writer.pages[0].rotate(90)
    writer.write(tmp_path / "changed.pdf")
    with pytest.raises(ReadBackError, match=r"page=1\), what='page'.*width=297, height=210,"):
        verify_pdf(tmp_path / "changed.pdf", [GOOD])


def test_running_text_in_the_border_is_a_miss(tmp_path: File) -> None:
    for x, inside in ((10.0, True), (5.0, False)):
        file = tmp_path / "text.pdf"
        canvas = Canvas(str(file), pagesize=(210 / 25.4 * 72, 297 / 25.4 * 72))
        canvas.setViewerPreference("PrintScaling", "None")
        canvas.drawString(x / 25.4 * 72, 300, "HHH")
        canvas.save()
        if inside:
            assert verify_pdf(file, [sheet()]) <= 0.001
        else:
            with pytest.raises(ReadBackError, match=r"readback\.border\(amount=2"):
                verify_pdf(file, [sheet()])


@pytest.mark.parametrize(
    "content", [b"", b"%PDF-1.4\nrubbish", b"<svg", b"<svg xmlns='http://www.w3.org/2000/svg'/>"]
)
def test_what_cannot_be_read_is_an_error_that_names_the_file(tmp_path: File, content: bytes) -> None:
    broken = tmp_path / "broken"
    broken.write_bytes(content)
    with pytest.raises(ReadBackError, match="broken: "):
        verify_pdf(broken, [GOOD])
    with pytest.raises(ReadBackError, match="broken: "):
        verify_svg(broken, GOOD)


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("<defs>", '<circle cx="100" cy="100" r="5" /><defs>'),
        (' d="M', ' d="h5M'),
        (' d="M', ' d="M5 '),
        (' d="M', ' d="M5 5q1 1 2 2M'),
        (' d="M', ' d="M5 5c1 1 2 2 3M'),
        (' d="M', ' d="M5 5a1 1 0 0 1 2 2M'),
        ('width="210mm"', 'width="210"'),
        ('width="210mm"', 'width="200mm"'),
        ("matrix(1 0 0 -1 0 297)", "rotate(180)"),
    ],
)
def test_svg_that_cannot_be_measured_is_refused(tmp_path: File, old: str, new: str) -> None:
    file = tmp_path / "sheet.svg"
    write_svg(GOOD, file)
    text = file.read_text()
    assert old in text
    file.write_text(text.replace(old, new, 1))
    with pytest.raises(ReadBackError):
        verify_svg(file, GOOD)


def test_svg_transforms_and_view_boxes_are_honoured(tmp_path: File) -> None:
    file = tmp_path / "sheet.svg"
    write_svg(GOOD, file)
    text = file.read_text()
    moved_back = text.replace(
        "matrix(1 0 0 -1 0 297)", "translate(0,10) scale(2,-2) translate(0 -143.5) scale(.5)"
    )
    boxed = text.replace('"0 0 210 297"', '"0 0 420 594"').replace("(1 0 0 -1 0 297)", "(2 0 0 -2 0 594)")
    for changed in (moved_back, boxed):
        assert changed != text
        file.write_text(changed)
        assert verify_svg(file, GOOD) <= 0.001


coordinate = st.floats(40.0, 150.0)
point = st.tuples(coordinate, coordinate)
size = st.floats(2.0, 50.0)
feature = st.one_of(
    st.builds(Circle, st.just(""), point, size),
    st.builds(Segment, st.just(""), point, point),
    st.builds(
        lambda centre, diameter, start, sweep: Arc("", centre, diameter, start, start + sweep),
        point,
        size,
        st.floats(-360.0, 360.0),
        st.floats(1.0, 359.0),
    ),
    st.builds(Slot, st.just(""), point, point, size),
    st.builds(Curve, st.just(""), st.lists(point, min_size=2, max_size=20).map(tuple)),
)


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.lists(feature, min_size=1, max_size=12), st.integers(0, 11), st.floats(0, 2 * math.pi))
def test_any_features_are_found_and_any_move_is_noticed(
    write_and_verify: WriteAndVerify, features: list[Feature], chosen: int, direction: float
) -> None:
    named = [replace(feature, name=f"feature {index}") for index, feature in enumerate(features)]
    drawn = sheet(*named)
    assert write_and_verify(drawn, drawn) <= 0.001
    victim = named[chosen % len(named)]
    wrong = moved(victim, 0.5 * math.cos(direction), 0.5 * math.sin(direction))
    # Half a mm away, unless another feature happens to lie just there.
    alone = sum(type(feature) is type(victim) for feature in named) == 1
    if alone:
        with pytest.raises(ReadBackError, match=victim.name):
            write_and_verify(redrawn(drawn, wrong), drawn)


def test_outline_helper_draws_what_it_names() -> None:
    """The shapes used here are themselves right: an arc's points lie on its circle to 0.1 micrometre."""
    commands = outline(Circle("", (0.0, 0.0), 200.0))
    for command in commands:
        if len(command) > 1:
            assert math.hypot(*command[-2:]) == pytest.approx(100.0, abs=1e-9)
