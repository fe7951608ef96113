"""Sheets as files: written aside, read back and measured, and put in place together."""

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from geometry.core.errors import InputError
from geometry.core.say import say
from sheets.actions.manifest import Drawn
from sheets.actions.pages import pdf, svg
from sheets.files.read.cutter import verify_cutter
from sheets.files.read.dxf import verify_dxf
from sheets.files.read.readback import verify_pdf, verify_svg
from sheets.files.write.cutter import write_cutter
from sheets.files.write.deliver import staging
from sheets.files.write.dxf import write_dxf
from sheets.files.write.packet import assembled
from sheets.keeping.overwriting import Way, must_give_way
from sheets.words.tell import tell


def written(
    file: Drawn,
    stage: Path,
    *,
    title: str = "",
    subject: str = "",
    attachments: Sequence[tuple[str, bytes]] = (),
    base: Mapping[str, Any] | None = None,
    kind: str = "",
    about: str = "",
    text: bool = False,
) -> float:
    """Write a file into a folder and read it back; return the largest deviation measured, mm.

    An SVG says `about` itself, its labels strokes or `text`. A PDF gets a form and a record that begins with
    `base`, without one neither; the rest is as `assembled` takes it. Raise FitError where ink would leave the
    page for a printer's correction, ReadBackError where the file is not what its sheets say.
    """
    made = stage / file.path.name
    if file.kind == "dxf":
        write_dxf(file.sheets[0], made)
        return verify_dxf(made, file.sheets[0])
    if file.kind == "cutter":
        write_cutter(file.sheets[0], made)
        return verify_cutter(made, file.sheets[0])
    if file.kind == "svg":
        made.write_bytes(svg(file.sheets[0], file.distortion, about, text=text))
        return verify_svg(made, file.sheets[0], file.distortion, text=text)
    made.write_bytes(
        assembled(
            pdf(file.sheets, file.distortion, title=title, subject=subject),
            title=title,
            subject=subject,
            attachments=attachments,
            sheets=file.sheets,
            base=base,
            kind=kind,
        )
    )
    return verify_pdf(made, file.sheets, attachments, file.distortion)


def deliver(
    files: Sequence[Drawn],
    kind: str,
    title: str,
    subject: str,
    way: Way,
    base: Mapping[str, Any] | None = None,
) -> float:
    """Write pages of a kind that are no packet to files of one folder; return the largest deviation, mm.

    `way` and the errors for a file that may not be lost are those of `must_give_way`. Else raise as `written`
    does, and DeliveryError where the files cannot be put in place; nothing is left behind then.
    """
    for file in files:
        must_give_way(file.path, kind, way)
    with staging(files[0].path.parent) as stage:
        return max(written(file, stage, title=title, subject=subject, base=base, kind=kind) for file in files)


def must_be_pdf(target: Path) -> None:
    """Raise InputError for the name of a page's file that is no PDF's."""
    if target.suffix.lower() != ".pdf":
        raise InputError.at("--pdf", say("writing.no_pdf", file=str(target)))


def read_back(what: str, worst: float) -> str:
    """Return that something was drawn and read back, with the largest deviation measured, mm."""
    return tell("writing.read_back_true" if worst < 0.0001 else "writing.read_back", what=what, worst=worst)
