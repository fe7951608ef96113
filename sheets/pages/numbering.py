"""Which page of its packet a sheet is: lettered last, because no sheet knows how many others there are."""

from collections.abc import Sequence
from dataclasses import replace

from sheets.ink.drawing import Drawing
from sheets.ink.records import Sheet
from sheets.words.tell import tell

_READ = 3.5


def numbered(sheets: Sequence[Sheet]) -> tuple[Sheet, ...]:
    """Return a packet's sheets with "page 3 of 8" on each that has a place for it.

    A sheet made alone has no number: which of how many it is stands on a packet's pages alone.
    """
    return tuple(_numbered(sheet, number, len(sheets)) for number, sheet in enumerate(sheets, start=1))


def _numbered(sheet: Sheet, number: int, count: int) -> Sheet:
    if sheet.number_at is None:
        return sheet
    drawing = Drawing()
    said = tell("packet.page", number=number, count=count)
    # A reader of pages has their numbers from the packet's labels.
    part = drawing.part("Artifact")
    drawing.letter(said, sheet.number_at, _READ, 1.0, layer="title block", part=part)
    return replace(sheet, records=(*sheet.records, *drawing.records()))
