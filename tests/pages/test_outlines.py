"""Cards and travellers as SVG: text as outlines shows what the PDF's type shows, and fields are boxes.

Pictures by poppler, which draws the type itself, and librsvg; outlines traced by svgelements.
"""

import functools
import re
from dataclasses import replace
from pathlib import Path
from xml.etree import ElementTree

import pytest
from fontTools.pens.boundsPen import BoundsPen
from fontTools.ttLib import TTFont
from svgelements import Path as Traced

from fonts.faces import face, glyph
from sheets.actions.pages import Kind, page, pdf, svg
from sheets.ink.records import Field, Sheet, Text
from sheets.job.read import load
from tests import raster
from tests.files.shapes import full_sheet
from tests.pages.jobs import SAMPLES

SVG = "{http://www.w3.org/2000/svg}"
SHARE = 0.3
"""The most of the inked pixels that may differ: small type is mostly edge, and poppler and librsvg smooth
edges differently; up to 0.24 was measured. Where ink lies is held to a pixel, a tenth of a millimetre."""
READ = (("card", 0), ("cautions", 0), ("traveller", 0), ("traveller", 1), ("numbers", 0))
PAGES = [(name, kind, index) for name in ("dunlin", "avocet") for kind, index in READ]


@functools.cache
def sheets(name: str, kind: Kind) -> tuple[Sheet, ...]:
    """Return a sample's sheets of a kind, what is filled in left out: a viewer sets that in its own face."""
    return tuple(replace(each, fields=()) for each in page(load(SAMPLES[name]), kind))


def pictures(drawn: Sheet, outlined: Sheet, folder: Path) -> list[str]:
    """Return how the PDF of one sheet and the SVG of another differ as pictures."""
    (folder / "page.pdf").write_bytes(pdf([drawn]))
    (folder / "page.svg").write_bytes(svg(outlined))
    shown = raster.poppler(folder / "page.pdf"), raster.librsvg(folder / "page.svg")
    return raster.differences(*shown, share=SHARE)


@pytest.mark.parametrize(("name", "kind", "index"), PAGES)
def test_outlines_show_what_type_shows(name: str, kind: Kind, index: int, tmp_path: Path) -> None:
    sheet = sheets(name, kind)[index]
    assert len(sheet.texts) > 50
    assert pictures(sheet, sheet, tmp_path) == []


@pytest.mark.parametrize(("right", "up"), [(0.4, 0.0), (0.0, -0.4)])
def test_a_line_out_of_place_would_be_seen(right: float, up: float, tmp_path: Path) -> None:
    sheet = sheets("dunlin", "card")[0]
    last = sheet.texts[-1]
    moved = replace(last, at=(last.at[0] + right, last.at[1] + up))
    records = tuple(moved if record is last else record for record in sheet.records)
    (told,) = pictures(sheet, replace(sheet, records=records), tmp_path)
    assert told.startswith("ink astray")


@pytest.mark.parametrize("character", "aÅ%8ß")
def test_an_outline_is_as_large_as_the_face_says(character: str) -> None:
    """Against the box that fontTools reckons in the face's own units; 0.1 is what numbers are rounded to."""
    file = face("regular").file
    with TTFont(file) as font:
        name, em = font.getBestCmap()[ord(character)], font["head"].unitsPerEm
        pen = BoundsPen(font.getGlyphSet())
        font.getGlyphSet()[name].draw(pen)
        wanted = [side * 1000.0 / em for side in pen.bounds]
        advance = font["hmtx"][name][0] * 1000.0 / em
    one = glyph(file, character)
    # A PDF's widths are whole thousandths of the em, and every file sets letters by them.
    assert one.advance == round(advance)
    assert Traced(one.outline).bbox() == pytest.approx(wanted, abs=0.1)
    assert glyph(file, " ").outline == ""


def test_a_glyph_is_kept_once_and_a_line_can_be_read_aloud() -> None:
    plain = face("regular")
    lines = (
        Text("all small", (20.0, 100.0), 3.5, plain.file, 1.0),
        Text("all", (20.0, 90.0), 7.14286, plain.file, 1.0),
    )
    root = ElementTree.fromstring(svg(replace(full_sheet(), full_size=False, records=lines)))
    assert len(root.findall(f"{SVG}defs/{SVG}path")) == len(set("allsmall"))
    drawn = [each for each in root.iter(f"{SVG}g") if each.get("aria-label")]
    assert [each.get("aria-label") for each in drawn] == ["all small", "all"]
    assert [each.get("transform") for each in drawn] == [
        "matrix(0.0035 0 0 0.0035 20 100)",
        "matrix(0.00714286 0 0 0.00714286 20 90)",
    ]
    # Two same letters stand apart by the face's own advance.
    first, second = (float(each.get("x", "")) for each in list(drawn[1])[1:])
    assert second - first == pytest.approx(1000.0 * plain.advances[ord("l")], abs=0.1)


def test_fields_are_boxes_with_their_names_and_what_they_hold() -> None:
    sheet = page(load(SAMPLES["dunlin"]), "traveller")[0]
    root = ElementTree.fromstring(svg(sheet))
    layer = next(each for each in root.iter(f"{SVG}g") if each.get("id") == "fields")
    found = list(layer.findall(f"{SVG}rect"))
    assert len(found) == len(sheet.fields) > 50
    for box, field in zip(found, sheet.fields, strict=True):
        x, y, wide, high = (float(box.get(key, "")) for key in ("x", "y", "width", "height"))
        # Each number is written to a thousandth, and two are added here.
        assert (x, y, x + wide, y + high) == pytest.approx(field.box, abs=1.001e-3)
        assert box.get("id") == f"field-{re.sub('[^a-z0-9]+', '-', field.name.lower())}"
        assert box.get("stroke") == "none"
        assert box.findtext(f"{SVG}title") == field.label
    held = [each.get("aria-label") for each in layer.iter(f"{SVG}g") if each.get("aria-label")]
    assert held == [field.value for field in sheet.fields if field.value]


def test_a_tick_and_letters_that_the_face_lacks() -> None:
    fields = (
        Field("done", "done", (20.0, 20.0, 30.0, 30.0), "tick", "yes"),
        Field("open", "open", (40.0, 20.0, 50.0, 30.0), "tick"),
        Field("note", "note", (20.0, 40.0, 90.0, 70.0), "lines", "one\n\u4e2d two"),
    )
    root = ElementTree.fromstring(svg(replace(full_sheet(), full_size=False, records=(), fields=fields)))
    (cross,) = [each for each in root.iter(f"{SVG}path") if each.get("stroke-linecap") == "round"]
    # 0.36 of the box to each side of its middle, as in the PDF.
    assert Traced(cross.get("d")).bbox() == pytest.approx((21.4, 21.4, 28.6, 28.6), abs=1e-4)
    assert [each.get("aria-label") for each in root.iter(f"{SVG}g") if each.get("aria-label")] == [
        "one",
        "? two",
    ]
