"""Forms: as other programs see them, filled by other programs and read back, and what is no form of ours."""

import json
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pypdf
import pypdfium2
import pytest
from pypdf.generic import NameObject

from fonts.faces import face
from fonts.faces import run as run_of
from geometry.core.errors import InputError, ReadBackError
from geometry.core.say import Say
from sheets.files.read.form import read_form
from sheets.files.read.readback import verify_pdf
from sheets.files.write.fields import rows_in
from sheets.files.write.pdf import write_pdf
from sheets.ink.records import Field
from tests.files.forms import EMPTY, FIELDS, JOB, filed, form_sheet, type_in
from tests.files.shapes import full_sheet
from tests.outside_tools import run
from tests.raster import DPI, MM, mupdf, poppler

FILLED = {
    **EMPTY,
    "serial": "SCW-042 Ø",
    "reading.near": "-0,35",
    "date": "2026-03-04",
    "seen": "yes",
    "note": "One\nTwo",
}


@pytest.fixture
def packet(tmp_path: Path) -> Path:
    return filed(tmp_path, [full_sheet(), form_sheet()])


def test_a_fresh_form_is_found_by_two_readers_at_its_boxes(packet: Path) -> None:
    assert read_form(packet).values == EMPTY
    assert read_form(packet).attachments[JOB[0]] == JOB[1]
    assert verify_pdf(packet, [full_sheet(), form_sheet()], [JOB]) <= 0.001


def test_a_field_elsewhere_or_of_another_value_is_a_miss(packet: Path) -> None:
    def wanted(*fields: Field) -> None:
        verify_pdf(packet, [full_sheet(), form_sheet(*fields)], [JOB])

    with pytest.raises(
        ReadBackError, match=r"page=2, field='serial'\): readback\.field_off\(off=0\.(02|0200\d+|0199\d+),"
    ):
        wanted(replace(FIELDS[0], box=(30.02, 270.0, 100.0, 280.0)), *FIELDS[1:])
    with pytest.raises(ReadBackError, match=r"'cold'\): readback\.field_value\(found='Yes', wanted='Off'"):
        wanted(*FIELDS[:5], replace(FIELDS[5], value=""), FIELDS[6])
    with pytest.raises(ReadBackError, match=r"readback\.fields_elsewhere"):
        wanted(FIELDS[1], FIELDS[0], *FIELDS[2:])
    with pytest.raises(ReadBackError, match=r"fields_missing\(names='extra'"):
        wanted(*FIELDS, replace(FIELDS[0], name="extra"))


def test_what_other_readers_make_of_the_fields(packet: Path) -> None:
    reader = pypdf.PdfReader(packet)
    fields = reader.get_fields()
    assert fields is not None
    leaves = {name: each for name, each in fields.items() if "/FT" in each}
    assert set(leaves) == {field.name for field in FIELDS}
    assert {leaves[field.name]["/TU"] for field in FIELDS} == {field.label for field in FIELDS}
    page = reader.pages[1]
    assert page["/Tabs"] == "/S"
    assert [each.get_object()["/T"] for each in page["/Annots"]] == [
        field.name.rpartition(".")[2] for field in FIELDS
    ]
    for each in page["/Annots"]:
        shown = each.get_object()["/AP"]["/N"]
        if each.get_object()["/FT"] == "/Btn":
            assert set(shown) == {"/Yes", "/Off"}
        else:
            # An older reader takes the end of line behind an empty stream for what is in it.
            assert bool(shown.get_data().strip()) == bool(each.get_object()["/V"])
    assert "/OpenAction" not in reader.trailer["/Root"]
    assert "/AA" not in reader.trailer["/Root"]
    assert "No syntax or stream encoding errors found" in run("qpdf", "--check", packet)
    seen = json.loads(run("qpdf", "--json", "--json-key=acroform", packet))["acroform"]["fields"]
    assert {each["fullname"] for each in seen} == {field.name for field in FIELDS}
    assert {each["fullname"] for each in seen if each["ischeckbox"]} == {"seen", "cold"}
    assert "SCW-041" in run("pdftotext", packet, "-")


def pdfium(pdf: Path) -> np.ndarray:
    document = pypdfium2.PdfDocument(pdf)
    document.init_forms()
    picture = document[0].render(scale=DPI / 72, grayscale=True, may_draw_forms=True).to_numpy()
    document.close()
    return 1 - np.array(picture, float).reshape(picture.shape[:2]) / 255


@pytest.mark.parametrize("drawn_by", [poppler, mupdf, pdfium])
def test_a_value_shows_inside_its_box(drawn_by: Callable[[Path], np.ndarray], tmp_path: Path) -> None:
    """Ink of a form on a blank page lies in the boxes of filled fields and nowhere else."""
    blank = replace(full_sheet(), records=(), features=(), fields=FIELDS, full_size=False)
    dark = drawn_by(filed(tmp_path, [blank])) > 0.5
    for field in FIELDS:
        left, low, right, top = field.box
        rows = slice(round((297.0 - top) * MM) - 1, round((297.0 - low) * MM) + 1)
        part = dark[rows, round(left * MM) - 1 : round(right * MM) + 1]
        assert bool(part.any()) == bool(EMPTY[field.name]), field.name
        part[:] = False
    assert not dark.any()


def test_long_lines_are_broken_where_they_must_be() -> None:
    text = "a long line of words\n\nandonewordthatislongerthanall"
    field = Field("note", "", (0.0, 0.0, 21.6, 60.0), "lines", text, 3.5)
    rows = [row for row, *_ in rows_in(field)]
    assert "".join(rows).replace(" ", "") == "alonglineofwordsandonewordthatislongerthanall"
    assert all(run_of(row, 3.5, face("regular")) <= 20.0 for row in rows)
    assert rows.count("") == 1


def test_a_name_beyond_western_letters_shows_as_it_is_written(tmp_path: Path) -> None:
    """Polish, Greek and Cyrillic, which the encoding of forms lacks: by two readers that know no field."""
    fields = tuple(
        replace(FIELDS[0], name=f"name.{number}", value=value, box=(30.0, low, 100.0, low + 10.0))
        for number, (value, low) in enumerate((("Łabędź", 270.0), ("Ξάνθη", 250.0), ("Жук", 230.0)))
    )
    packet = filed(tmp_path, [form_sheet(*fields)])
    for said in (run("pdftotext", packet, "-"), run("mutool", "draw", "-F", "text", packet)):
        for field in fields:
            assert said.count(field.value) == 1
    assert {each.value for each in fields} == set(read_form(packet).values.values())


def test_no_field_has_a_script_and_every_font_is_embedded(packet: Path) -> None:
    reader = pypdf.PdfReader(packet)
    for each in reader.pages[1]["/Annots"]:
        assert not {"/A", "/AA"} & set(each.get_object())
    form = reader.trailer["/Root"]["/AcroForm"]
    assert "/NeedAppearances" not in form
    for font in form["/DR"]["/Font"].values():
        assert "/FontFile2" in font["/FontDescriptor"]


def by_pypdf(source: Path, target: Path) -> None:
    writer = pypdf.PdfWriter(clone_from=source)
    values = {name: FILLED[name] for name in ("serial", "reading.near", "date", "note")}
    writer.update_page_form_field_values(writer.pages[1], {**values, "seen": "/Yes"}, auto_regenerate=False)
    writer.write(target)


def by_pdfium(source: Path, target: Path) -> None:
    values = {name: FILLED[name] for name in ("serial", "reading.near", "date", "note")}
    type_in(source, target, values, ticks=["seen"])


@pytest.mark.parametrize("fill", [by_pypdf, by_pdfium])
def test_what_is_filled_in_reads_back_the_same(
    fill: Callable[[Path, Path], None], packet: Path, tmp_path: Path
) -> None:
    filled = tmp_path / "filled.pdf"
    fill(packet, filled)
    assert read_form(filled).values == FILLED
    assert read_form(filled).attachments == read_form(packet).attachments
    for program in (("qpdf",), ("mutool", "clean")):
        again = tmp_path / f"{program[0]}.pdf"
        run(*program, filled, again)
        assert read_form(again).values == FILLED


def test_half_filled_and_words_where_a_number_belongs_are_read_as_they_stand(
    packet: Path, tmp_path: Path
) -> None:
    half = tmp_path / "half.pdf"
    type_in(packet, half, {"reading.near": "ca. 3"})
    assert read_form(half).values == {**EMPTY, "reading.near": "ca. 3"}


# --- what is no form of ours


def refused(file: Path) -> Say:
    with pytest.raises(InputError) as caught:
        read_form(file)
    (problem,) = caught.value.problems
    assert problem.where == str(file)
    assert "\n" not in str(problem)
    assert isinstance(problem.what, Say)
    return problem.what


def test_files_that_are_no_packet(packet: Path, tmp_path: Path) -> None:
    other = tmp_path / "other.pdf"
    write_pdf([full_sheet()], other, title="", subject="")
    assert "from_elsewhere" in str(refused(other))
    (tmp_path / "text.pdf").write_text("hello")
    assert "pdf.no_pdf" in str(refused(tmp_path / "text.pdf"))
    (tmp_path / "empty.pdf").write_bytes(b"")
    assert "pdf.no_pdf" in str(refused(tmp_path / "empty.pdf"))
    assert "files.a_folder" in str(refused(tmp_path))
    assert "files.no_such_file" in str(refused(tmp_path / "none.pdf"))
    locked = tmp_path / "locked.pdf"
    run("qpdf", "--encrypt", "", "owner", "256", "--", packet, locked)
    assert "form.encrypted" in str(refused(locked))


@pytest.mark.parametrize("share", [0.02, 0.3, 0.6, 0.9, 0.99])
def test_a_truncated_packet(share: float, packet: Path, tmp_path: Path) -> None:
    part = tmp_path / "part.pdf"
    data = packet.read_bytes()
    part.write_bytes(data[: int(len(data) * share)])
    refused(part)


def test_flipped_bytes_are_refused_or_leave_all_as_it_was(packet: Path, tmp_path: Path) -> None:
    """Damage anywhere gives one clear line, or does not touch what is read; own arithmetic, no source."""
    data = np.frombuffer(packet.read_bytes(), np.uint8)
    random = np.random.default_rng(3)
    told = 0
    for _ in range(40):
        changed = data.copy()
        changed[random.integers(0, len(data), 30)] ^= 0x55
        file = tmp_path / "flipped.pdf"
        file.write_bytes(changed.tobytes())
        try:
            found = read_form(file)
        except InputError as error:
            assert len(error.problems) == 1
            told += 1
            continue
        assert found.attachments[JOB[0]] == JOB[1]
        assert set(found.values) == set(EMPTY)
    assert told > 20


def changed(packet: Path, *names: str, flat: bool = False) -> Path:
    """Write the packet without these attachments, or without its form, and return the file."""
    writer = pypdf.PdfWriter(clone_from=packet)
    held = writer.root_object["/Names"]["/EmbeddedFiles"]["/Names"]
    kept = [(key, each) for key, each in zip(held[::2], held[1::2], strict=True) if key not in names]
    held.clear()
    held.extend(part for pair in kept for part in pair)
    if flat:
        del writer.root_object["/AcroForm"]
        writer.pages[1][NameObject("/Annots")].clear()
    out = packet.with_name("changed.pdf")
    writer.write(out)
    return out


def test_a_packet_without_what_was_in_it(packet: Path) -> None:
    assert "form.attachment_missing(name='dropleaf-packet.json'" in str(
        refused(changed(packet, "dropleaf-packet.json"))
    )
    assert "form.attachment_missing(name='knot.toml'" in str(refused(changed(packet, "knot.toml")))
    assert "form.flattened" in str(refused(changed(packet, flat=True)))


@pytest.mark.parametrize(
    ("fields", "said"),
    [
        ((FIELDS[0], FIELDS[0]), "two fields are named serial"),
        ((FIELDS[1], replace(FIELDS[0], name="reading")), "reading is a part of another"),
        ((replace(FIELDS[0], name="a..b"),), "cannot be named"),
        ((replace(FIELDS[0], box=(10.0, 10.0, 11.0, 20.0)),), "too small to write in"),
    ],
)
def test_fields_that_cannot_be_are_refused(fields: tuple[Field, ...], said: str, tmp_path: Path) -> None:
    with pytest.raises(ValueError, match=said):
        filed(tmp_path, [form_sheet(*fields)])
