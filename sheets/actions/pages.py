"""A job's sheets by kind, each made without the others, and sheets as bytes; no file is written or read.

`draw` makes a packet of the same sheets. What equal jobs have in common is worked out once in a process, by
the value of all that goes in: the builder's files are read first, and what they say is part of it.
"""

import functools
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from typing import Literal, get_args

from fonts.faces import Face
from geometry.core.errors import FitError
from geometry.core.findings import Finding
from geometry.core.frozen import dataclass
from geometry.mount.placement import Placement
from geometry.printing.distortion import Distortion
from geometry.tubes.tube import Tube
from sheets.actions.own_face import own_face_of
from sheets.files.write import pdf as pdf_writer
from sheets.files.write import svg as svg_writer
from sheets.files.write.dxf import must_have_ezdxf
from sheets.home.printers import corrected
from sheets.ink.corrected import in_file
from sheets.ink.records import Sheet
from sheets.job.identity import REVISION, job_digest, qr_text
from sheets.job.read import Job, JobFile, blaming, place_job, tubes_of
from sheets.pages.fixture.plate import plates
from sheets.pages.full_size.bending import bent_page
from sheets.pages.full_size.face import face, face_tiles
from sheets.pages.full_size.loads import loads
from sheets.pages.full_size.template import template, template_tiles
from sheets.pages.running.card import card
from sheets.pages.running.cautions import caution_pages
from sheets.pages.running.numbers import detail_pages, number_pages
from sheets.pages.running.traveller import Identity, traveller
from sheets.pages.wraps.sheet import wraps
from sheets.setup.setup import SetUp, set_up
from sheets.words.lengths import telling
from sheets.words.tell import on_paper, tell

Kind = Literal[
    "template", "face", "wrap", "plate", "card", "cautions", "loads", "traveller", "details", "numbers"
]  # fmt: skip
KINDS: tuple[Kind, ...] = get_args(Kind)
"""The kinds of sheets in a packet, in its order."""


@dataclass(frozen=True, slots=True)
class Ready:
    """A job ready to be drawn: placed, and set up, for the printer that it names or that was asked for.

    `own` is the job's own face for characters that the card's lacks, `distortion` the printer's.
    """

    source: JobFile
    placement: Placement
    setup: SetUp
    own: Face | None
    distortion: Distortion | None


@dataclass(frozen=True, slots=True)
class Made:
    """The sheets of one kind, none where the job has none, and what they could not show."""

    sheets: tuple[Sheet, ...]
    findings: tuple[Finding, ...] = ()


def ready(source: JobFile, printer: str | None = None, *, plate: bool = False, dxf: bool = False) -> Ready:
    """Return a job ready to be drawn; raise DropleafError, led by the file's name, where it cannot be.

    `printer` is the name of a measured one to correct for, before the one that the job may name.
    `plate` asks for the fixture's patterns, `dxf` tells that DXFs will be written, whatever the job says.
    """
    with blaming(source.path), telling(source.job.paper.units):
        job, measured = corrected(_asked(source.job, plate, dxf), printer)
        placement = place_job(job)
        setup = set_up(job, placement, tubes_of(job))
        own = own_face_of(source)
    distortion = measured.distortion if measured else None
    return Ready(replace(source, job=job), placement, setup, own, distortion)


def _asked(job: Job, plate: bool, dxf: bool) -> Job:
    """Return the job with the fixture that is asked for; raise InputError for want of ezdxf."""
    if dxf or job.bench.dxf:
        must_have_ezdxf("bench.dxf" if job.bench.dxf else "--dxf")
    if not (plate or job.bench.dxf):
        return job
    return job.model_copy(update={"bench": job.bench.model_copy(update={"fixture": True})})


def page(
    source: JobFile, kind: Kind, printer: str | None = None, *, plate: bool = False
) -> tuple[Sheet, ...]:
    """Return the sheets of one kind, none where the job has none, as the paper shall show them.

    No other sheet is drawn. Raise DropleafError as `ready` does, and where this kind does not fit the paper.
    """
    return sheets_of(ready(source, printer, plate=plate), kind).sheets


def sheets_of(one: Ready, kind: Kind) -> Made:
    """Return the sheets of one kind; raise DropleafError, led by the job file, where one does not fit."""
    with blaming(one.source.path), telling(one.source.job.paper.units), on_paper():
        if kind == "traveller":
            return Made(_traveller(one))
        return made(kind, one.source.job, one.placement, one.setup, one.own)


def packet(one: Ready) -> Made:
    """Return all sheets of a job in the packet's order, and what they could not show.

    Raise DropleafError, led by the job file, where one does not fit the paper.
    """
    found = [sheets_of(one, kind) for kind in KINDS]
    sheets = tuple(each for kind in found for each in kind.sheets)
    return Made(sheets, tuple(each for kind in found for each in kind.findings))


@functools.lru_cache(maxsize=12 * len(KINDS))
def made(kind: Kind, job: Job, placement: Placement, setup: SetUp, own: Face | None = None) -> Made:
    """Return a job's sheets of one kind but the traveller, which bears the digest of the job's bytes.

    All that a sheet shows is in these values, so that equal ones have the same sheets. Those of a dozen jobs
    are kept, some 8 MB each. Raise DropleafError where a sheet does not fit the paper.
    """
    with telling(job.paper.units), on_paper():
        return _made(kind, job, placement, setup, own)


def _made(kind: Kind, job: Job, placement: Placement, setup: SetUp, own: Face | None) -> Made:
    tubes, tab = tubes_of(job), placement.interface.family == "tab"
    match kind:
        case "template":
            said = tell("pages.full_size", number=1, count=1 if tab else 2)
            return Made(_full_size(template, template_tiles, job, placement, tubes, setup, said))
        case "face" if not tab:
            said = tell("pages.full_size", number=2, count=2)
            return Made(_full_size(face, face_tiles, job, placement, tubes, setup, said))
        case "wrap":
            found = wraps(job, placement, tubes, setup)
            return Made(found.sheets, found.findings)
        case "plate":
            return Made(plates(job, placement, tubes, setup))
        case "card":
            return Made(card(job, placement, setup, own))
        case "cautions":
            return Made(caution_pages(job, placement, setup, own))
        case "details":
            return Made(detail_pages(job, placement, setup, own))
        case "numbers":
            return Made(number_pages(job, placement, setup, own))
        case "loads" if setup.load is not None:
            return Made((loads(job, placement, tubes, setup), bent_page(job, setup.load)))
    return Made(())


def _full_size(
    whole: Callable[..., Sheet],
    tiles: Callable[..., tuple[Sheet, ...]],
    job: Job,
    placement: Placement,
    tubes: Mapping[str, Tube],
    setup: SetUp,
    sheet_of: str,
) -> tuple[Sheet, ...]:
    """Return a view on one page, or on tiles where it is too large and the job lets it be cut."""
    try:
        return (whole(job, placement, tubes, setup, sheet_of),)
    except FitError:
        if job.paper.tile == "never":
            raise
    return tiles(job, placement, tubes, setup, sheet_of)


def _traveller(one: Ready) -> tuple[Sheet, ...]:
    """Return the traveller, or nothing where the job wants none."""
    job = one.source.job
    if not job.traveller.print:
        return ()
    digest = job_digest(one.source.raw)
    identity = Identity(digest, REVISION, qr_text(job.frame.id, digest, REVISION))
    return traveller(job, one.placement, one.setup, identity, one.own)


def svg(sheet: Sheet, distortion: Distortion | None = None, about: str = "", *, text: bool = False) -> bytes:
    """Return a sheet as an SVG in mm, drawn the other way for a printer's distortion if it is full size.

    It says `about` itself; its labels are strokes, or else `text`. Raise FitError where ink would leave the
    page for that.
    """
    return svg_writer.svg(in_file(sheet, distortion), about, text=text)


def pdf(
    sheets: Sequence[Sheet], distortion: Distortion | None = None, *, title: str = "", subject: str = ""
) -> bytes:
    """Return sheets as a PDF, a page each, without form, attachments and record; else as `svg` does."""
    return pdf_writer.pdf([in_file(sheet, distortion) for sheet in sheets], title=title, subject=subject)
