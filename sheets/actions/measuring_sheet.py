"""The measuring sheet as a file: written aside, read back, and put in place."""

from pathlib import Path

from sheets.actions.attached import version
from sheets.actions.manifest import Drawn
from sheets.files.read.readback import verify_pdf
from sheets.files.write.deliver import staging
from sheets.files.write.packet import assembled
from sheets.files.write.pdf import pdf
from sheets.ink.records import Paper
from sheets.keeping.overwriting import must_give_way
from sheets.pages.running.blank import blank

_TITLE = "Measuring sheet"
_SUBJECT = "What dropleaf start asks, to be noted at the bench or filled in here"


def write_blank(paper: Paper, out: Path) -> tuple[Drawn, float]:
    """Write a paper's measuring sheet to `out`; return the file, and the largest deviation read, mm.

    Raise InputError where one is there that was filled in, ReadBackError where the file is not what its sheet
    says, DeliveryError where it cannot be put in place; nothing is left behind then.
    """
    sheet = blank(paper)
    drawn = Drawn(out / f"measuring-sheet-{paper.name}.pdf", "pdf", (sheet,))
    must_give_way(drawn.path, "blank", "choose another folder with --out")
    base = {"dropleaf": version(), "revision": 1, "parent": None, "frame": ""}
    with staging(out) as stage:
        finished, made = stage / drawn.path.name, pdf([sheet], title=_TITLE, subject=_SUBJECT)
        told = {"title": _TITLE, "subject": _SUBJECT, "kind": "blank"}
        finished.write_bytes(assembled(made, **told, attachments=(), sheets=[sheet], base=base))
        worst = verify_pdf(finished, [sheet])
    return drawn, worst
