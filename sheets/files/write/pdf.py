"""Sheets into a PDF of exact page boxes, drawn in millimetres under one matrix a page.

Paths are written as PDF operators here and handed to the canvas whole: one operation a Path, however many
subpaths it has. Operators after ISO 32000-1, 8.4.4 (graphics state) and 8.5 (paths).
"""

import pathlib
from collections.abc import Sequence
from typing import Any

from sheets.files.write.numbers import MITRE_LIMIT, number, path_text
from sheets.ink.records import Path, Sheet, Style, Text

POINTS_A_MM = 72 / 25.4

_ROOT = f"{POINTS_A_MM:.12f} 0 0 {POINTS_A_MM:.12f} 0 0 cm {MITRE_LIMIT} M"
_LETTERS = {"M": "%f %f m\n", "L": "%f %f l\n", "C": "%f %f %f %f %f %f c\n", "Z": "h\n"}
_BOXES = ("crop", "bleed", "trim", "art")


def write_pdf(sheets: Sequence[Sheet], file: pathlib.Path, *, title: str, subject: str) -> None:
    """Write one page a sheet to `file`; raises ValueError as `pdf` does, OSError as files do."""
    file.write_bytes(pdf(sheets, title=title, subject=subject))


def pdf(sheets: Sequence[Sheet], *, title: str, subject: str) -> bytes:
    """Return a file's bytes, one page a sheet; the same sheets give the same bytes.

    Raises ValueError for no sheets or for a path that no ink would show.
    """
    # Loading the library takes longer than most commands run, and only drawing needs it.
    from reportlab import rl_config
    from reportlab.pdfgen.canvas import Canvas

    if not sheets:
        raise ValueError("a PDF needs at least one sheet")
    # Else every page passes through ASCII base 85 in plain Python, which takes longer than all the rest.
    rl_config.useA85 = 0
    canvas = Canvas("", pageCompression=1, invariant=1)
    canvas.setTitle(title)
    canvas.setSubject(subject)
    _forget_fonts(canvas)
    for sheet in sheets:
        _draw_page(canvas, sheet)
    made: bytes = canvas.getpdfdata()
    return made


def _forget_fonts(canvas: Any) -> None:
    """Unlist the font that a new canvas lists on every page: it is not embedded, and no sheet uses it."""
    document = canvas._doc
    document.idToObject["BasicFonts"].dict.clear()
    document.fontMapping.clear()


def _draw_page(canvas: Any, sheet: Sheet) -> None:
    size = (sheet.paper.width * POINTS_A_MM, sheet.paper.height * POINTS_A_MM)
    canvas._pagesize = size
    for box in _BOXES:
        canvas.setCropBox((0, 0, *size), name=box)
    # The preamble would set the unembedded font; the page needs nothing there but its one matrix.
    canvas._preamble = _ROOT
    state = ""
    for path in sheet.paths:
        if not path.commands:
            continue
        if (wanted := _state(path.style)) != state:
            canvas.addLiteral(wanted)
            state = wanted
        canvas.addLiteral(path_text(path.commands, _LETTERS) + _paint(path))
    for text in sheet.texts:
        _draw_text(canvas, text)
    canvas.showPage()


def _draw_text(canvas: Any, text: Text) -> None:
    """Set a line in its face, which the canvas embeds as far as it is used."""
    from reportlab.pdfbase import pdfmetrics
    from reportlab.pdfbase.ttfonts import TTFont

    name = str(text.face)
    if name not in pdfmetrics.getRegisteredFontNames():
        pdfmetrics.registerFont(TTFont(name, name))
    canvas.setFont(name, text.size)
    canvas.drawString(*text.at, text.text)


def _state(style: Style) -> str:
    ends = "1 J 1 j" if style.cap == "round" else "0 J 0 j"
    dashes = " ".join(number(length) for length in style.dash)
    return f"{number(style.width)} w {ends} [{dashes}] {number(style.phase)} d"


def _paint(path: Path) -> str:
    if path.style.fill:
        return "B*" if path.style.width else "f*"
    if not path.style.width:
        raise ValueError(f"path {path.name!r} on layer {path.layer!r} has neither stroke nor fill")
    return "S"
