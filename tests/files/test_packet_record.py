"""The packet's record: checked with SHA-256 by programs that did not write it, and what changes it tells."""

import hashlib
import json
import re
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pypdf
import pypdfium2
import pytest
from pypdf.annotations import FreeText
from pypdf.generic import (
    ArrayObject,
    DictionaryObject,
    FloatObject,
    NameObject,
    TextStringObject,
)

from sheets.files import record, seal
from sheets.files.write.pdf import write_pdf
from sheets.ink.paper import PAPERS
from tests.files.forms import JOB, by_appending, filed, form_sheet, kept, told, type_in
from tests.files.shapes import EVERY_KIND, full_sheet, sheet
from tests.outside_tools import run

SHEETS = (
    full_sheet(),
    replace(sheet(*EVERY_KIND[:5], paper=PAPERS["A3"]), kind="wrap", title="knot: wraps", bookmark="Wraps"),
    form_sheet(),
)


@pytest.fixture
def packet(tmp_path: Path) -> Path:
    return filed(tmp_path, SHEETS, [JOB, ("dropleaf-manifest.json", b'{"files": []}\n')])


# --- what the record says, by SHA-256 alone


def test_the_second_line_seals_the_file(packet: Path) -> None:
    first, second, rest = packet.read_bytes().split(b"\n", 2)
    assert first == b"%PDF-1.7"
    assert second == "%âãÏÓ dropleaf sha256 ".encode("latin-1") + hashlib.sha256(rest).hexdigest().encode()
    assert seal.untouched(packet.read_bytes())
    assert not seal.untouched(packet.read_bytes() + b"\n")
    assert not seal.untouched(packet.read_bytes().replace(b" dropleaf", b" raven   "))


def test_every_digest_is_found_again_from_outside(packet: Path, tmp_path: Path) -> None:
    said = kept(packet)
    numbers = re.findall(r"content:\n\s+(\d+) 0 R", run("qpdf", "--show-pages", packet))
    assert len(numbers) == len(SHEETS)
    for number, page in zip(numbers, said["pages"], strict=True):
        out = tmp_path / "content"
        run("mutool", "show", "-b", "-o", out, packet, number)
        assert page["content"] == hashlib.sha256(out.read_bytes()).hexdigest()
    found = pypdf.PdfReader(packet)
    attached = {name: content[0] for name, content in found.attachments.items()}
    own = attached.pop("dropleaf-packet.json")
    assert said["attachments"] == {
        name: hashlib.sha256(content).hexdigest() for name, content in attached.items()
    }
    assert found.trailer["/ID"][0].original_bytes == hashlib.sha256(own).digest()[:16]
    for page, wanted in zip(said["pages"], SHEETS, strict=True):
        size = [0, 0, wanted.paper.width / 25.4 * 72, wanted.paper.height / 25.4 * 72]
        assert page["boxes"].keys() == {"MediaBox", "CropBox", "BleedBox", "TrimBox", "ArtBox"}
        assert all(box == pytest.approx(size, abs=0.001) for box in page["boxes"].values())


def test_the_record_says_what_it_is_and_how_to_check_it(packet: Path) -> None:
    said = kept(packet)
    assert said["format"] == "dropleaf-packet"
    assert "no test of a frame and no claim that anything conforms" in said["says"]
    assert "no signature" in said["says"]
    assert all(part in " ".join(said["scheme"]) for part in ("SHA-256", "content stream", "attached file"))
    assert [each["sheet"] for each in said["pages"]] == ["template", "wrap", "template"]
    assert "date" not in json.dumps([said[key] for key in said if key not in ("scheme", "fields")]).lower()


def test_bookmarks_and_labels_name_the_sheets(packet: Path) -> None:
    lines = run("mutool", "show", packet, "outline").splitlines()
    assert [line.split('"')[1] for line in lines] == [
        "Ø test – sheet, 1 of 2",
        "Wraps",
        "Ø test – sheet, 2 of 2",
    ]
    assert [int(re.search(r"#page=(\d)", line)[1]) for line in lines] == [1, 2, 3]
    assert pypdf.PdfReader(packet).page_labels == ["template 1", "wrap", "template 2"]


def test_the_same_input_gives_the_same_bytes(tmp_path: Path) -> None:
    (tmp_path / "a").mkdir()
    (tmp_path / "b").mkdir()
    one, two = (filed(tmp_path / name, SHEETS).read_bytes() for name in "ab")
    assert one == two
    assert filed(tmp_path / "a", SHEETS, revision=2).read_bytes() != one


# --- what stays intact


def by_qpdf(source: Path, out: Path) -> None:
    run("qpdf", "--object-streams=generate", "--recompress-flate", "--compression-level=9", source, out)


def by_mutool(source: Path, out: Path) -> None:
    run("mutool", "clean", "-gggz", source, out)


def by_pdfium(source: Path, out: Path) -> None:
    document = pypdfium2.PdfDocument(source)
    document.save(out)
    document.close()


def by_pypdf(source: Path, out: Path) -> None:
    pypdf.PdfWriter(clone_from=source).write(out)


def by_filling(source: Path, out: Path) -> None:
    type_in(source, out, {"serial": "SCW-9", "note": "as\nmeasured"}, ["seen"])


_FILL = """
var doc = new PDFDocument("%s"), held = doc.loadPage(2).getWidgets();
for (var i = 0; i < held.length; ++i) {
  if (held[i].getFieldType() == "text") held[i].setTextValue(i ? "12.5" : "SCW-9 \\u0141, as measured");
  else held[i].toggle();
  held[i].update();
}
doc.save("%s", "");
"""


def by_mupdf(source: Path, out: Path) -> None:
    """Fill in every field as MuPDF does, which shows a dot for a letter that the face lacks."""
    script = out.with_suffix(".js")
    script.write_text(_FILL % (source, out), encoding="utf-8")
    run("mutool", "run", script)


@pytest.mark.parametrize(
    "save", [by_qpdf, by_mutool, by_pdfium, by_pypdf, by_filling, by_appending, by_mupdf]
)
def test_saved_again_with_equal_content_is_intact_but_not_untouched(
    save: Callable[[Path, Path], None], packet: Path, tmp_path: Path
) -> None:
    out = tmp_path / "again.pdf"
    save(packet, out)
    assert told(out, out) == []
    assert not seal.untouched(out.read_bytes())


def test_a_fresh_packet_is_intact(packet: Path) -> None:
    assert told(packet, packet) == []


# --- what does not


def edited(packet: Path, edit: Callable[[pypdf.PdfWriter], object]) -> list[str]:
    writer = pypdf.PdfWriter(clone_from=packet)
    edit(writer)
    out = packet.with_name("edited.pdf")
    writer.write(out)
    return told(out, packet)


def content(writer: pypdf.PdfWriter) -> None:
    stream = writer.pages[1]["/Contents"].get_object()
    stream.set_data(stream.get_data() + b"\n0 0 m 10 10 l S")


def unscaled(writer: pypdf.PdfWriter) -> None:
    writer.root_object["/ViewerPreferences"][NameObject("/PrintScaling")] = NameObject("/AppDefault")


def boxed(writer: pypdf.PdfWriter) -> None:
    writer.pages[0].cropbox = pypdf.generic.RectangleObject((10, 10, 500, 800))


def swapped(writer: pypdf.PdfWriter) -> None:
    held = writer.root_object["/Names"]["/EmbeddedFiles"]["/Names"]
    place = held[held.index(JOB[0]) + 1].get_object()
    stream = pypdf.generic.DecodedStreamObject()
    stream.set_data(JOB[1].replace(b"knot", b"teal"))
    place[NameObject("/EF")] = DictionaryObject({NameObject("/F"): writer._add_object(stream)})


def twofold(writer: pypdf.PdfWriter) -> None:
    held = writer.root_object["/Names"]["/EmbeddedFiles"]["/Names"]
    stream = pypdf.generic.DecodedStreamObject()
    stream.set_data(JOB[1].replace(b"knot", b"teal"))
    held[held.index(JOB[0]) + 1].get_object()["/EF"][NameObject("/F")] = writer._add_object(stream)


def unit(writer: pypdf.PdfWriter) -> None:
    writer.pages[2][NameObject("/UserUnit")] = FloatObject(1.5)


def noted(writer: pypdf.PdfWriter) -> None:
    writer.add_annotation(0, FreeText(text="hello", rect=(50, 550, 200, 650)))


def scripted(writer: pypdf.PdfWriter) -> None:
    script = {
        NameObject("/S"): NameObject("/JavaScript"),
        NameObject("/JS"): TextStringObject("app.alert(1)"),
    }
    writer.root_object[NameObject("/OpenAction")] = DictionaryObject(script)


def shifted(writer: pypdf.PdfWriter) -> None:
    widget = writer.pages[2]["/Annots"][0].get_object()
    widget[NameObject("/Rect")] = ArrayObject(FloatObject(side + 3) for side in widget["/Rect"])


def titled(writer: pypdf.PdfWriter) -> None:
    writer.add_metadata({"/Title": "another"})


def fonts(writer: pypdf.PdfWriter) -> None:
    state = DictionaryObject({NameObject("/LW"): FloatObject(9)})
    writer.pages[0]["/Resources"][NameObject("/ExtGState")] = DictionaryObject({NameObject("/G"): state})


def renamed(writer: pypdf.PdfWriter) -> None:
    writer.pages[2]["/Annots"][0].get_object()[NameObject("/T")] = TextStringObject("other")


def rewritten(writer: pypdf.PdfWriter) -> None:
    held = writer.root_object["/Names"]["/EmbeddedFiles"]["/Names"]
    stream = held[held.index("dropleaf-packet.json") + 1].get_object()["/EF"]["/F"].get_object()
    stream.set_data(stream.get_data().replace(b'"revision":1', b'"revision":7'))


def _field(writer: pypdf.PdfWriter, label: str) -> Any:
    """Return a field's place, by its label."""
    places = (each.get_object() for each in writer.pages[2]["/Annots"])
    return next(each for each in places if each["/TU"] == label)


def lying(writer: pypdf.PdfWriter) -> None:
    look = _field(writer, "Reading at the far hole, mm")["/AP"]["/N"]
    assert b"31322e333435" in look.get_data()
    look.set_data(look.get_data().replace(b"31322e333435", b"31332e333435"))


def hidden(writer: pypdf.PdfWriter) -> None:
    look = _field(writer, "Serial number")["/AP"]["/N"]
    look.set_data(look.get_data().replace(b"\n0 g ", b"\n1 g "))


def drawn_over(writer: pypdf.PdfWriter) -> None:
    look = _field(writer, "Reading at the near hole, mm")["/AP"]["/N"]
    look.set_data(look.get_data() + b" 0 0 m 30 9 l S")


def stretched(writer: pypdf.PdfWriter) -> None:
    look = _field(writer, "Serial number")["/AP"]["/N"]
    look[NameObject("/Matrix")] = ArrayObject(map(FloatObject, (1, 0, 0.5, 1, 0, 0)))


def stale(writer: pypdf.PdfWriter) -> None:
    _field(writer, "Serial number")[NameObject("/V")] = TextStringObject("SCW-042")


def unmarked(writer: pypdf.PdfWriter) -> None:
    _field(writer, "Cold to the hand")[NameObject("/AS")] = NameObject("/Off")


def unlooked(writer: pypdf.PdfWriter) -> None:
    _field(writer, "Cold to the hand")[NameObject("/AS")] = NameObject("/On")


def stateless(writer: pypdf.PdfWriter) -> None:
    del _field(writer, "Seen by a second person")["/AS"]


def widened(writer: pypdf.PdfWriter) -> None:
    box = _field(writer, "Serial number")["/AP"]["/N"]["/BBox"]
    box[2] = FloatObject(box[2] + 1)


def crowded(writer: pypdf.PdfWriter) -> None:
    look = _field(writer, "Reading at the far hole, mm")["/AP"]["/N"]
    look.set_data(look.get_data().replace(b" Td", b" 3 Td"))


def collected(writer: pypdf.PdfWriter) -> None:
    writer._info[NameObject("/Collection")] = FloatObject(1)


def lent(writer: pypdf.PdfWriter) -> None:
    writer.pages[1]["/Contents"].get_object()[NameObject("/Resources")] = FloatObject(1)


def uncrossed(writer: pypdf.PdfWriter) -> None:
    _field(writer, "Cold to the hand")["/AP"]["/N"]["/Yes"].get_object().set_data(b"")


def reset(writer: pypdf.PdfWriter) -> None:
    _field(writer, "Date, year-month-day")[NameObject("/F")] = pypdf.generic.NumberObject(2)


def bookmarked(writer: pypdf.PdfWriter) -> None:
    item = writer.root_object["/Outlines"]["/First"]["/Next"].get_object()
    item[NameObject("/Title")] = TextStringObject("Template")


def labelled(writer: pypdf.PdfWriter) -> None:
    writer.root_object["/PageLabels"]["/Nums"][1].get_object()[NameObject("/P")] = TextStringObject("wrap")


def refaced(writer: pypdf.PdfWriter) -> None:
    face = writer.root_object["/AcroForm"]["/DR"]["/Font"]["/Face"].get_object()
    face[NameObject("/BaseFont")] = NameObject("/Courier")


def played(writer: pypdf.PdfWriter) -> None:
    writer.pages[1][NameObject("/Trans")] = DictionaryObject({NameObject("/S"): NameObject("/Wipe")})


def loosened(writer: pypdf.PdfWriter) -> None:
    writer.root_object["/AcroForm"]["/Fields"].pop()


CHANGES: tuple[tuple[Callable[[pypdf.PdfWriter], object], str], ...] = (
    (content, "page 2: content changed"),
    (unscaled, "PrintScaling: AppDefault, was None"),
    (boxed, "page 1: CropBox is 172.86 × 278.69 mm at 3.53, 3.53, was 210.00 × 297.00 mm"),
    (swapped, "attachment knot.toml: changed"),
    (twofold, "attachment knot.toml: there is another of the same name"),
    (unit, "page 3: its user unit is 1.5, was 1"),
    (noted, "page 1: an annotation was added (FreeText)"),
    (scripted, "document: OpenAction was added"),
    (shifted, "field serial: its box is 70.00 × 10.00 mm at 31.06, 271.06, was 70.00 × 10.00 mm at 30.00"),
    (titled, "title: 'another', was 'Ø – form'"),
    (fonts, "page 1: fonts or other resources changed"),
    (lying, "field reading.far: it does not plainly show its value"),
    (hidden, "field serial: it does not plainly show its value"),
    (drawn_over, "field reading.near: it does not plainly show its value"),
    (stretched, "field serial: it does not plainly show its value"),
    (stale, "field serial: it does not plainly show its value"),
    (unmarked, "field cold: it does not plainly show its value"),
    (crowded, "field reading.far: it does not plainly show its value"),
    (collected, "document: Info/Collection was added"),
    (lent, "page 2: Contents/Resources was added"),
    (unlooked, "field cold: it does not plainly show its value"),
    (stateless, "field seen: it does not plainly show its value"),
    (widened, "field serial: it does not plainly show its value"),
    (uncrossed, "field cold: how it is set up changed"),
    (reset, "field date: how it is set up changed"),
    (bookmarked, "document: Outlines changed"),
    (labelled, "document: PageLabels changed"),
    (refaced, "document: AcroForm/DR/Font/Face changed"),
    (played, "page 2: Trans was added"),
    (loosened, "form: its fields are not those that lie on the pages"),
    (rewritten, "attachment dropleaf-packet.json: it is not the record that this file was written with"),
    (lambda writer: writer.pages[1].rotate(90), "page 2: turned by 90 degrees"),
    (lambda writer: writer.add_attachment("more.txt", b"1"), "attachment more.txt: added"),
    (lambda writer: writer.add_attachment(JOB[0], b"1"), "attachment knot.toml: "),
)


@pytest.mark.parametrize(("edit", "said"), CHANGES)
def test_a_change_is_told_as_what_it_is(
    edit: Callable[[pypdf.PdfWriter], object], said: str, packet: Path
) -> None:
    first, *more = edited(packet, edit)
    assert first.startswith(said)
    # What is drawn on three pages alike hangs together in the file, but one change must not be told as many.
    assert all(each.startswith(said[:6]) for each in more)


def test_a_field_that_is_gone_and_one_that_is_new(packet: Path) -> None:
    assert edited(packet, renamed) == ["field serial: gone", "field other: added on page 3"]
    flat = edited(packet, lambda writer: writer.remove_annotations(None))
    assert "form: all 7 fields are gone; it was flattened or printed to a new file" in flat


def test_pages_added_taken_and_changed_about(packet: Path, tmp_path: Path) -> None:
    other, out = tmp_path / "other.pdf", tmp_path / "out.pdf"
    write_pdf([sheet(EVERY_KIND[0])], other, title="", subject="")
    run("qpdf", packet, "--pages", packet, "1", other, "1", packet, "2-z", "--", out)
    assert told(out, packet) == ["pages: 4, were 3", "page 2: added, or its content changed"]
    run("qpdf", packet, "--pages", packet, "1", packet, "3", "--", out)
    assert told(out, packet) == [
        "pages: 2, were 3",
        "page 2 as drawn (wrap): gone, or its content changed",
    ]
    run("qpdf", packet, "--pages", packet, "2,1,3", "--", out)
    assert "page 1: content changed; it is what page 2 was" in told(out, packet)


def test_a_program_that_writes_the_content_anew_is_told(packet: Path, tmp_path: Path) -> None:
    out = tmp_path / "gs.pdf"
    run("gs", "-q", "-sDEVICE=pdfwrite", "-o", out, packet)
    changes = told(out, packet)
    assert changes[0].startswith("pages 1 to 3: the content of all was written anew")
    assert any(each.startswith("PrintScaling: not set") for each in changes)
    assert any("flattened" in each for each in changes)


@pytest.mark.parametrize(
    ("raw", "said"),
    [
        (b"{", "record.damaged"),
        (b"[]", "record.no_record"),
        (b'{"format": "dropleaf-packet", "version": 99}', "record.newer_version.*given='99'"),
        (b'{"format": "dropleaf-packet", "version": 1, "pages": []}', "record.missing_key.key='fields'"),
        (
            b'{"format": "dropleaf-packet", "version": 1, "pages": [1], "fields": [], "attachments": {}, '
            b'"title": "", "revision": 1}',
            "record.incomplete_page.number=1",
        ),
    ],
)
def test_a_record_that_cannot_be_read_is_refused(raw: bytes, said: str) -> None:
    with pytest.raises(ValueError, match=said):
        record.decoded(raw)
