"""Labels as text: found by a search once and not twice, where and as wide as the strokes are."""

import unicodedata
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path as File

import numpy as np
import pypdf
import pytest
from shapely import MultiLineString

from fonts import outlined
from fonts.drafting import GRID, STROKE, alphabet, characters, placed, width
from geometry.core.errors import ReadBackError
from sheets.files.read.readback import verify_pdf
from sheets.files.write.svg import write_svg
from sheets.ink.clip import subpaths
from sheets.ink.drawing import Drawing
from sheets.ink.records import Commands, Sheet
from tests import raster
from tests.files.shapes import full_sheet
from tests.outside_tools import run
from tests.pages.conftest import delivered as delivered
from tests.pages.jobs import DRAWN

MakePacket = Callable[..., File]


def labelled(*words: tuple[str, tuple[float, float], float, float]) -> Sheet:
    """Return a sheet with labels: text, place, height and turn."""
    drawing = Drawing()
    for text, at, height, turn in words:
        drawing.letter(text, at, height, turn=turn)
    good = full_sheet()
    return replace(good, records=(*good.records, *drawing.records()))


WORDS = (
    ("near: drill 4.2 mm, Ø 6.2 – fit (a\\b)", (40.0, 150.0), 3.5, 0.0),
    ("AVATAR, Łabędź: 3/8 in", (40.0, 160.0), 7.0, 0.0),
    ("down the page", (186.0, 100.0), 2.5, 90.0),
)


def test_a_search_finds_each_label_once(make_packet: MakePacket, tmp_path: File) -> None:
    packet = make_packet(labelled(*WORDS))
    for said in (
        run("pdftotext", packet, "-"),
        run("mutool", "draw", "-F", "text", packet),
        pypdf.PdfReader(packet).pages[0].extract_text(),
    ):
        for text, *_ in WORDS:
            assert said.count(text) == 1, text


@pytest.mark.parametrize(("name", "view"), DRAWN[:4])
def test_a_packet_says_everything_once_and_letters_nothing_besides(
    delivered: dict, name: str, view: str
) -> None:
    """Each page's text by a reader that has no part in writing it, against what its content sets."""
    packet = delivered[name, view].pdf
    pages = run("pdftotext", packet, "-").split("\f")
    for page, said in zip(pypdf.PdfReader(packet).pages, pages, strict=False):
        operations = pypdf.generic.ContentStream(page.get_contents(), None).operations
        lines, places = [], []
        for operands, operator in operations:
            if operator == b"BT":
                matrix = (1.0, 0.0, 0.0, 1.0, 0.0, 0.0)
            elif operator == b"Tm":
                matrix = tuple(map(float, operands))
            elif operator == b"Td":
                # Moves along the line's own axes, from where the last line began.
                (a, b, c, d, x, y), (right, up) = matrix, map(float, operands)
                matrix = (a, b, c, d, x + right * a + up * c, y + right * b + up * d)
            elif operator == b"Tj":
                places.append(matrix)
                lines.append(operands[0].original_bytes.decode("latin-1"))
        assert len(set(zip(places, lines, strict=True))) == len(lines) > 5
        # The pen of lettering has round ends, and nothing else has.
        assert ([1], b"J") not in operations
        found = "".join(said.split())
        for line in lines:
            if line.isascii():
                assert "".join(line.split()) in found, line


def test_pdf_and_svg_show_the_same_letters(make_packet: MakePacket, tmp_path: File) -> None:
    sheet = labelled(*WORDS)
    write_svg(sheet, tmp_path / "sheet.svg")
    from_pdf = raster.poppler(make_packet(sheet))
    assert raster.differences(from_pdf, raster.librsvg(tmp_path / "sheet.svg")) == []
    moved = labelled(*((text, (x + 0.1, y), *rest) for text, (x, y), *rest in WORDS))
    write_svg(moved, tmp_path / "sheet.svg")
    assert raster.differences(from_pdf, raster.librsvg(tmp_path / "sheet.svg"))


def test_letters_are_what_a_round_pen_draws() -> None:
    """The outline of strokes widened by shapely and that of the font: 2.5 thousandths of a capital apart."""
    pen, unit = outlined.EM * STROKE / 2.0, outlined.EM / GRID
    drawn = [each for each in alphabet() if not unicodedata.combining(each) and placed(each).strokes]
    for character in drawn:
        one = placed(character)
        strokes = MultiLineString([
            [((x + one.lead) * unit, y * unit) for x, y in _flat(sub)] for sub in subpaths(one.strokes)
        ])  # fmt: skip
        contours = MultiLineString([_flat_parabolas(*each) for each in outlined.contours(character)])
        inked = strokes.buffer(pen, quad_segs=32)
        assert inked.buffer(2.5).contains(contours), character
        assert contours.buffer(2.5).contains(inked.boundary), character


def _flat(sub: Commands) -> list[tuple[float, float]]:
    """Return points along a subpath, forty a cubic."""
    points = [sub[0][1:]]
    for command in sub[1:]:
        if command[0] == "C":
            corners = np.array([points[-1], command[1:3], command[3:5], command[5:7]])
            t = np.linspace(0.0, 1.0, 41)[1:, None]
            shares = np.hstack(((1 - t) ** 3, 3 * t * (1 - t) ** 2, 3 * t * t * (1 - t), t**3))
            points += map(tuple, shares @ corners)
        else:
            points.append(sub[0][1:] if command[0] == "Z" else command[1:])
    return points


def _flat_parabolas(start: tuple[float, float], *parts: tuple[float, float]) -> list[tuple[float, float]]:
    points = [start]
    for control, end in zip(parts[::2], parts[1::2], strict=True):
        corners = np.array([points[-1], control, end])
        t = np.linspace(0.0, 1.0, 9)[1:, None]
        points += map(tuple, np.hstack(((1 - t) ** 2, 2 * t * (1 - t), t * t)) @ corners)
    return points


@pytest.mark.parametrize("height", [2.5, 7.0])
def test_a_line_of_the_font_is_as_wide_as_its_strokes(height: float) -> None:
    text = "Łabędź 3/8 in, Ø 6.2 – axle to near hole"
    advances = sum(outlined.advance(each) for each in characters(text)) / outlined.EM * height
    first, last = placed(text[0], height), placed(text[-1], height)
    assert advances - first.lead - last.trail - 0.2 * height == pytest.approx(width(text, height), abs=1e-9)


def test_a_label_elsewhere_wider_or_of_other_words_is_a_miss(make_packet: MakePacket) -> None:
    text, at, height, _ = WORDS[0]
    packet = make_packet(labelled((text, at, height, 0.0)))
    assert verify_pdf(packet, [labelled((text, at, height, 0.0))]) <= 0.001
    for wrong, said in (
        ((text, (at[0] + 0.011, at[1]), height, 0.0), r"readback\.text_off\(text='near.*off=0\.011"),
        ((text, at, height * 1.001, 0.0), r"readback\.text_off\(text='near.*off=0\.07"),
        ((text, at, height, 0.02), r"readback\.text_off\(text='near.*off=0\.02"),
        ((text.replace("near", "far"), at, height, 0.0), r"readback\.text_lost\(text='far"),
    ):
        with pytest.raises(ReadBackError, match=said):
            verify_pdf(packet, [labelled(wrong)])
