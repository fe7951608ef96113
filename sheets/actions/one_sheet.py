"""A printer's proof as files: written aside, read back and measured like every sheet, and put in place."""

import re
from pathlib import Path

from geometry.core.errors import InputError
from sheets.actions.manifest import Drawn
from sheets.files.read.readback import verify_pdf, verify_svg
from sheets.files.write.deliver import staging
from sheets.files.write.packet import assembled
from sheets.files.write.pdf import pdf
from sheets.files.write.svg import write_svg
from sheets.home.printers import Printer
from sheets.ink.corrected import in_file
from sheets.ink.paper import PAPERS
from sheets.ink.records import Paper
from sheets.job.units import given
from sheets.keeping.overwriting import must_give_way
from sheets.pages.running.proof import proof
from sheets.words.tell import nearest


def paper_named(name: str) -> Paper:
    """Return a paper by name, whatever its capitals; raise InputError for one that is not known here."""
    found = {each.casefold(): paper for each, paper in PAPERS.items()}
    if name.strip().casefold() not in found:
        hint = nearest(name.strip().capitalize(), PAPERS)
        raise InputError.at(
            "--paper", f"{given(name)} is no paper known here{hint} (known: {', '.join(PAPERS)})"
        )
    return found[name.strip().casefold()]


def write_proof(paper: Paper, printer: Printer | None, out: Path) -> tuple[tuple[Drawn, ...], float]:
    """Write a paper's proof to `out` as PDF and SVG; return both files, and the largest deviation read, mm.

    It is corrected for the printer, if one is given. Raise InputError for a file there that may not be lost,
    ReadBackError where a file does not measure what its sheet says, DeliveryError where the files cannot be
    put in place; nothing is left behind then.
    """
    sheet = proof(paper, printer.line if printer else "")
    distortion = printer.distortion if printer else None
    name = "proof-" + paper.name
    if printer is not None:
        name += "-" + re.sub(r"\W+", "-", printer.name).strip("-")
    files = tuple(Drawn(out / f"{name}.{kind}", kind, (sheet,), distortion) for kind in ("pdf", "svg"))
    title = f"Printer proof, {paper.name}"
    subject = f"{printer.line if printer else 'Not corrected'}; print at 100 %, actual size"
    for file in files:
        must_give_way(file.path, "proof", "choose another folder with --out")
    with staging(out) as stage:
        drawn = in_file(sheet, distortion)
        whole, alone = stage / f"{name}.pdf", stage / f"{name}.svg"
        pages = pdf([drawn], title=title, subject=subject)
        whole.write_bytes(assembled(pages, title=title, subject=subject, attachments=(), kind="proof"))
        write_svg(drawn, alone)
        worst = max(verify_pdf(whole, [sheet], (), distortion), verify_svg(alone, sheet, distortion))
    return files, worst
