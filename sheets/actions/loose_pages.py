"""Pages that are no packet of a frame, as a PDF: written aside, read back, and put in place."""

from collections.abc import Sequence
from pathlib import Path

from sheets.files.read.readback import verify_pdf
from sheets.files.write.deliver import staging
from sheets.files.write.packet import assembled
from sheets.files.write.pdf import pdf
from sheets.ink.records import Sheet


def write_loose(sheets: Sequence[Sheet], target: Path, title: str, subject: str, kind: str) -> float:
    """Write pages of a kind to a PDF without form and record; return the largest deviation read, mm.

    Raise ReadBackError where the file is not what its sheets say, DeliveryError where it cannot be put in
    place; nothing is left behind then.
    """
    with staging(target.parent) as stage:
        finished = stage / target.name
        made = pdf(sheets, title=title, subject=subject)
        finished.write_bytes(assembled(made, title=title, subject=subject, attachments=(), kind=kind))
        return verify_pdf(finished, sheets)
