"""Sheets that stand alone, as files: a printer's proof, and the measuring sheet."""

import re
from pathlib import Path

from geometry.core.errors import InputError
from geometry.core.say import say
from geometry.tables.interfaces import no_row, rows
from sheets.actions.manifest import Drawn
from sheets.actions.version import version
from sheets.actions.writing import deliver
from sheets.home.printers import Printer
from sheets.ink.paper import PAPERS
from sheets.ink.records import Paper
from sheets.job.units import given
from sheets.pages.running.blank import BOTH, Families, blank, families
from sheets.pages.running.mount_sheet import mount_sheet
from sheets.pages.running.proof import proof
from sheets.words.lengths import Units, telling
from sheets.words.measures import Known
from sheets.words.tell import nearest, tell


def paper_named(name: str) -> Paper:
    """Return a paper by name, whatever its capitals; raise InputError for one that is not known here."""
    found = {each.casefold(): paper for each, paper in PAPERS.items()}
    if name.strip().casefold() not in found:
        hint = nearest(name.strip().capitalize(), PAPERS)
        raise InputError.at(
            "--paper", say("writing.no_paper", name=given(name), hint=hint, known=", ".join(PAPERS))
        )
    return found[name.strip().casefold()]


def write_proof(paper: Paper, printer: Printer | None, out: Path) -> tuple[tuple[Drawn, ...], float]:
    """Write a paper's proof to `out` as PDF and SVG; return both files, and the largest deviation read, mm.

    It is corrected for the printer, if one is given. Raise DropleafError as `deliver` does.
    """
    sheet = proof(paper, printer.line if printer else "")
    name, subject = "proof-" + paper.name, tell("writing.proof")
    if printer is not None:
        name += "-" + re.sub(r"\W+", "-", printer.name).strip("-")
        subject = tell("writing.proof_corrected", corrected=printer.line)
    distortion = printer.distortion if printer else None
    files = tuple(Drawn(out / f"{name}.{kind}", kind, (sheet,), distortion) for kind in ("pdf", "svg"))
    return files, deliver(files, "proof", sheet.title, subject, "out")


def write_mount_sheet(paper: Paper, out: Path) -> tuple[Drawn, float]:
    """Write a paper's pages to measure a mount on to `out`; return the file, and the largest deviation, mm.

    Raise DropleafError as `deliver` does.
    """
    drawn = Drawn(out / f"mount-sheet-{paper.name}.pdf", "pdf", mount_sheet(paper))
    base = {"dropleaf": version(), "revision": 1, "parent": None, "frame": ""}
    title = drawn.sheets[0].title
    return drawn, deliver((drawn,), "mount-blank", title, tell("writing.mount_sheet_subject"), "out", base)


def mount_named(name: str) -> Families:
    """Return what the measuring sheet shows for a mount; raise InputError for one that is not known."""
    known = {each.casefold(): each for each in rows()}
    found = known.get(name.strip().casefold())
    if found is None:
        raise InputError.at("--for", no_row(name, given(name), tuple(rows())))
    return families(found)


def write_blank(
    paper: Paper, out: Path, shown: Families = BOTH, units: Units = "mm", known: Known | None = None
) -> tuple[Drawn, float]:
    """Write a paper's measuring sheet to `out`; return the file, and the largest deviation read, mm.

    `shown` are the mounts in its figure, `known` is what a job has already, whose name it then bears. A sheet
    that asks for other `units` than mm says so in its name, and in its record for whoever reads it. Raise
    DropleafError as `deliver` does.
    """
    asks = {} if units == "mm" else {"units": units}
    frame = known.frame if known else ""
    name = "-".join(filter(None, ("measuring-sheet", frame, paper.name, *asks.values())))
    with telling(units):
        drawn = Drawn(out / f"{name}.pdf", "pdf", blank(paper, shown, known))
    base = {"dropleaf": version(), "revision": 1, "parent": None, "frame": frame, **asks}
    return drawn, deliver(
        (drawn,), "blank", tell("writing.blank"), tell("writing.blank_subject"), "out", base
    )
