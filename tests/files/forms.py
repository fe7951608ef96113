"""A small sheet with a form, and what fills it in from outside."""

import ctypes
import json
from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

import pypdf
import pypdfium2
from pypdfium2 import raw

from sheets.files import objects, record, seeing
from sheets.files.write.packet import assemble
from sheets.files.write.pdf import write_pdf
from sheets.ink.records import Field, Sheet
from tests.files.shapes import full_sheet

FIELDS = (
    Field("serial", "Serial number", (30.0, 270.0, 100.0, 280.0), "text", "SCW-041"),
    Field("reading.near", "Reading at the near hole, mm", (30.0, 255.0, 60.0, 263.0), "number"),
    Field("reading.far", "Reading at the far hole, mm", (70.0, 255.0, 100.0, 263.0), "number", "12.345", 0.0),
    Field("date", "Date, year-month-day", (110.0, 255.0, 150.0, 263.0), "date"),
    Field("seen", "Seen by a second person", (160.0, 255.0, 166.0, 261.0), "tick"),
    Field("cold", "Cold to the hand", (170.0, 255.0, 176.0, 261.0), "tick", "yes"),
    Field("note", "Note", (110.0, 190.0, 190.0, 249.0), "lines", "First line\nSecond: Ø 6.2 – fine"),
)
EMPTY = {
    "serial": "SCW-041",
    "reading.near": "",
    "reading.far": "12.345",
    "date": "",
    "seen": "",
    "cold": "yes",
    "note": "First line\nSecond: Ø 6.2 – fine",
}
JOB = ("knot.toml", b'[frame]\nid = "knot-1"\n')


def form_sheet(*fields: Field) -> Sheet:
    """Return a sheet with these fields, or with one of each kind."""
    return replace(full_sheet(), fields=fields or FIELDS, full_size=False)


def filed(
    folder: Path, sheets: Sequence[Sheet], attachments: Sequence[tuple[str, bytes]] = (JOB,), **base: Any
) -> Path:
    """Write sheets as a packet with its record and return where it lies."""
    pages, out = folder / "pages.pdf", folder / "packet.pdf"
    write_pdf(sheets, pages, title="t", subject="s")
    assemble(
        pages,
        out,
        title="Ø – form",
        subject="s",
        attachments=attachments,
        sheets=sheets,
        base={"revision": 1, "frame": "knot-1", **base},
    )
    pages.unlink()
    return out


def type_in(source: Path, target: Path, texts: Mapping[str, str], ticks: Sequence[str] = ()) -> None:
    """Fill a form as a viewer does, by clicks and keys in PDFium, and save it."""
    document = pypdfium2.PdfDocument(source)
    document.init_forms()
    form = document.formenv.raw
    for index in range(len(document)):
        # Held by name, because a page that nobody holds is closed.
        held = document[index]
        page = held.raw
        raw.FORM_OnAfterLoadPage(page, form)
        for name, box in _places(form, page).items():
            x, y = (box.left + box.right) / 2, (box.top + box.bottom) / 2
            if name in texts or name in ticks:
                raw.FORM_OnMouseMove(form, page, 0, x, y)
                raw.FORM_OnLButtonDown(form, page, 0, x, y)
                raw.FORM_OnLButtonUp(form, page, 0, x, y)
            if name in texts:
                raw.FORM_SelectAllText(form, page)
                for key in texts[name]:
                    raw.FORM_OnChar(form, page, 13 if key == "\n" else ord(key), 0)
            raw.FORM_ForceToKillFocus(form)
    document.save(target)
    document.close()


def _places(form: Any, page: Any) -> dict[str, Any]:
    places = {}
    for index in range(raw.FPDFPage_GetAnnotCount(page)):
        widget = raw.FPDFPage_GetAnnot(page, index)
        size = raw.FPDFAnnot_GetFormFieldName(form, widget, None, 0)
        held = (ctypes.c_ushort * (size // 2))()
        raw.FPDFAnnot_GetFormFieldName(form, widget, held, size)
        box = raw.FS_RECTF()
        raw.FPDFAnnot_GetRect(widget, box)
        raw.FPDFPage_CloseAnnot(widget)
        places[bytes(held)[:-2].decode("utf-16-le")] = box
    return places


def kept(packet: Path) -> dict[str, Any]:
    """Return the record in a packet, by a reader that did not write it."""
    raw = pypdf.PdfReader(packet).attachments["dropleaf-packet.json"][0]
    return json.loads(raw)


def told(file: Path, packet: Path) -> list[str]:
    """Return what of a file has changed, by the record in the packet that it was made from."""
    seen = seeing.seen(objects.opened(file.read_bytes()))
    return list(record.changes(seen, kept(packet)))


def by_appending(source: Path, out: Path) -> None:
    """Fill by adding to the end of the file, as many viewers do."""
    writer = pypdf.PdfWriter(source, incremental=True)
    writer.update_page_form_field_values(writer.pages[2], {"serial": "SCW-9"}, auto_regenerate=False)
    writer.write(out)
    assert out.read_bytes().startswith(source.read_bytes())
