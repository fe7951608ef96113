"""From a job file to delivered files: placed, drawn, written aside, read back and put in place together.

Nothing is delivered unless every file of the job was opened again and measured.
"""

import functools
import os
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, replace
from pathlib import Path

from fonts.faces import Face, own_face
from geometry.core.errors import FitError, InputError, Problem, ReadBackError
from geometry.core.findings import Finding, texts
from geometry.mount.placement import Placement
from geometry.printing.distortion import Distortion
from geometry.tubes.tube import Tube
from sheets.actions import attached as filed
from sheets.actions.manifest import Drawn
from sheets.actions.views import truths
from sheets.files.kinds import PACKET
from sheets.files.read.dxf import verify_dxf
from sheets.files.read.joins import verify_joins
from sheets.files.read.readback import verify_pdf, verify_svg
from sheets.files.read.views import verify_views
from sheets.files.write.deliver import staging
from sheets.files.write.dxf import by_layer, must_have_ezdxf, write_dxf
from sheets.files.write.packet import assemble
from sheets.files.write.pdf import write_pdf
from sheets.files.write.svg import write_svg
from sheets.home.printers import corrected
from sheets.ink.corrected import in_file
from sheets.ink.records import Sheet
from sheets.job.identity import REVISION, job_digest, qr_text
from sheets.job.read import Job, JobFile, blaming, place_job, tubes_of
from sheets.keeping.overwriting import Fresh, kept
from sheets.pages.fixture.plate import plates
from sheets.pages.full_size.bending import bent_page
from sheets.pages.full_size.face import face, face_tiles
from sheets.pages.full_size.loads import loads
from sheets.pages.full_size.template import template, template_tiles
from sheets.pages.running.card import card
from sheets.pages.running.traveller import Identity, traveller
from sheets.pages.wraps.sheet import wraps
from sheets.setup.findings import all_findings
from sheets.setup.setup import SetUp, set_up

PRINTING = "print at 100 %, actual size"


@dataclass(frozen=True, slots=True)
class Plan:
    """A job's sheets before any file exists; `folder` is where its files will go.

    `unwrapped` says what the wraps could not show, or not in one piece. The sheets are as the paper shall
    show them; `distortion` is that of the printer for which their files are corrected.
    """

    source: JobFile
    placement: Placement
    sheets: tuple[Sheet, ...]
    folder: Path
    setup: SetUp
    unwrapped: tuple[Finding, ...]
    distortion: Distortion | None = None

    @property
    def findings(self) -> tuple[Finding, ...]:
        """Return what is found of the job, the mount's numbers first, then what they come to."""
        return all_findings(self.source.job, self.placement, self.setup, self.unwrapped)

    @property
    def warnings(self) -> tuple[str, ...]:
        """Return the findings' sentences."""
        return texts(self.findings)

    @property
    def packet(self) -> Drawn:
        """Return the PDF that holds every sheet."""
        return Drawn(self.folder / f"{self.source.job.frame.id}.pdf", "pdf", self.sheets, self.distortion)

    @property
    def files(self) -> tuple[Drawn, ...]:
        """Return every file of the job: the packet, then an SVG a template; cards are in the packet alone.

        Sheets of one kind are numbered where there are several.
        """
        name = self.source.job.frame.id
        alone = [sheet for sheet in self.sheets if sheet.full_size]
        kinds = [sheet.kind for sheet in alone]
        singles = []
        for i, sheet in enumerate(alone):
            number = f"-{kinds[: i + 1].count(sheet.kind)}" if kinds.count(sheet.kind) > 1 else ""
            file = self.folder / f"{name}-{sheet.kind}{number}.svg"
            singles.append(Drawn(file, "svg", (sheet,), self.distortion))
            if self.source.job.bench.dxf and sheet.kind == "plate" and by_layer(sheet):
                # A machine has no paper, so its file is the true size whatever the printer does.
                singles.append(Drawn(file.with_suffix(".dxf"), "dxf", (sheet,)))
        return (self.packet, *singles)


def plan(
    source: JobFile,
    out: Path | None,
    printer: str | None = None,
    *,
    plate: bool = False,
    dxf: bool = False,
) -> Plan:
    """Return the sheets of a job and where their files will go; `out` None means beside the job file.

    `printer` is the name of a measured one to correct for, before the one that the job may name.
    `plate` asks for the fixture's patterns, `dxf` for those as DXF too, whatever the job says.
    Raise DropleafError, led by the file's name, where the job cannot be placed or does not fit the paper.
    """
    with blaming(source.path):
        job, measured = corrected(asked(source.job, plate, dxf), printer)
        source = replace(source, job=job)
        placement = place_job(source.job)
        font = source.job.paper.font
        setup = set_up(source.job, placement, tubes_of(source.job))
        own = own_face(source.path.parent / font) if font else None
        sheets, unwrapped = pages(source.job, placement, setup, own)
        sheets = (*sheets, *_followed(source, placement, setup, own))
    folder = source.path.parent if out is None else out
    distortion = measured.distortion if measured else None
    return Plan(source, placement, sheets, folder, setup, unwrapped, distortion)


def asked(job: Job, plate: bool, dxf: bool) -> Job:
    """Return the job with the fixture that the command line asks for; raise InputError for want of ezdxf."""
    if not (plate or dxf or job.bench.dxf):
        return job
    dxf = dxf or job.bench.dxf
    if dxf:
        must_have_ezdxf("bench.dxf" if job.bench.dxf else "--dxf")
    return job.model_copy(update={"bench": job.bench.model_copy(update={"fixture": True, "dxf": dxf})})


@functools.lru_cache(maxsize=12)
def pages(
    job: Job, placement: Placement, setup: SetUp, own: Face | None = None
) -> tuple[tuple[Sheet, ...], tuple[Finding, ...]]:
    """Return the sheets of a job in the order of its packet, and what its wraps could not show.

    They are side view, face view, wraps, the fixture's patterns, setup card and the two pages of loads.
    `own` is the job's own face for characters that the card's lacks. All that a sheet shows is in these
    values, so that equal ones have the same sheets. Those of a dozen jobs are kept, some 8 MB each.
    """
    tubes = tubes_of(job)
    makers = [template] if placement.interface.family == "tab" else [template, face]
    full_size = (
        sheet
        for number, make in enumerate(makers, start=1)
        for sheet in _full_size(make, job, placement, tubes, f"full size {number} of {len(makers)}", setup)
    )
    wrapped = wraps(job, placement, tubes, setup)
    pushed: tuple[Sheet, ...] = ()
    if setup.load is not None:
        pushed = loads(job, placement, tubes, setup.load), bent_page(job, setup.load)
    shop = (*wrapped.sheets, *plates(job, placement, tubes, setup))
    return (*full_size, *shop, *card(job, placement, setup, own), *pushed), wrapped.findings


def _full_size(
    make: Callable[..., Sheet],
    job: Job,
    placement: Placement,
    tubes: Mapping[str, Tube],
    sheet_of: str,
    setup: SetUp,
) -> tuple[Sheet, ...]:
    """Return a view on one page, or on tiles where it is too large and the job lets it be cut."""
    try:
        return (make(job, placement, tubes, setup, sheet_of),)
    except FitError:
        if job.paper.tile == "never":
            raise
    cut = template_tiles if make is template else face_tiles
    return cut(job, placement, tubes, setup, sheet_of)


def _followed(source: JobFile, placement: Placement, setup: SetUp, own: Face | None) -> tuple[Sheet, ...]:
    """Return the traveller, which follows the setup card, or nothing where the job wants none."""
    job = source.job
    if not job.traveller.print:
        return ()
    digest = job_digest(source.raw)
    identity = Identity(digest, REVISION, qr_text(job.frame.id, digest, REVISION))
    return traveller(job, placement, setup, identity, own)


def clashes(plans: Mapping[int, Plan]) -> dict[int, Problem]:
    """Return, by the plans' keys, what forbids a plan to be drawn in one run with the others.

    No job may be given twice, no two may write the same file, and none may write over a job file.
    """
    jobs: dict[str, list[int]] = {}
    files: dict[str, list[int]] = {}
    for key, each in plans.items():
        jobs.setdefault(_same(each.source.path), []).append(key)
        for file in each.files:
            files.setdefault(_same(file.path), []).append(key)
    return {key: problem for key in plans if (problem := _clash(key, plans, jobs, files)) is not None}


def _clash(
    key: int, plans: Mapping[int, Plan], jobs: Mapping[str, list[int]], files: Mapping[str, list[int]]
) -> Problem | None:
    each = plans[key]
    source = each.source.path
    if len(jobs[_same(source)]) > 1:
        return Problem(str(source), "this job is given more than once; give it once")
    for file in each.files:
        if _same(file.path) in jobs:
            what = f"{file.path} is a job file and would be overwritten; choose another folder with --out"
            return Problem(f"{source}: frame.id", what)
        others = [other for other in files[_same(file.path)] if other != key]
        if others:
            what = f"{plans[others[0]].source.path} would write {file.path} too; give each job its own id"
            return Problem(f"{source}: frame.id", what)
    return None


def draw(each: Plan, *, replace_kept: bool = False) -> float:
    """Write, read back and deliver the files of a plan; return the largest deviation measured, mm.

    Raise ReadBackError where a file does not measure what its sheet says, InputError where one that is there
    must not be lost and `replace_kept` is not set, DeliveryError where the files cannot be put in place;
    nothing is left behind then, and nothing is changed.
    """
    job, placement = each.source.job, each.placement
    title = f"{job.frame.id}: {PACKET}"
    subject = (
        f"{placement.interface.title}, made for {placement.interface.native:g}, disc {job.mount.rotor:g}, "
        f"{placement.axle.title}; {PRINTING}"
    )
    attached = filed.attachments(each.source, placement, each.files, each.findings, each.setup.fixture)
    base = filed.base(each.source, placement, [caution.id for caution in each.setup.cautions])
    with staging(each.folder) as stage, _known_as(stage, each.folder):
        packet, *singles = each.files
        loose = stage.parent / "pages.pdf"
        with blaming(each.source.path):
            paper = [in_file(sheet, each.distortion) for sheet in packet.sheets]
        write_pdf(paper, loose, title=title, subject=subject)
        finished = stage / packet.path.name
        assemble(
            loose,
            finished,
            title=title,
            subject=subject,
            attachments=attached,
            sheets=packet.sheets,
            base=base,
        )
        worst = verify_pdf(finished, packet.sheets, attached, each.distortion)
        worst = max(worst, verify_joins(finished, packet.sheets, each.distortion))
        verify_views(finished, packet.sheets, truths(job, placement), job.paper.view, each.distortion)
        for single in singles:
            file = stage / single.path.name
            if single.kind == "dxf":
                write_dxf(single.sheets[0], file)
                worst = max(worst, verify_dxf(file, single.sheets[0]))
                continue
            write_svg(in_file(single.sheets[0], each.distortion), file)
            worst = max(worst, verify_svg(file, single.sheets[0], each.distortion))
        # Last, so that as little time as can be lies between the look and the putting in place.
        _guard(each, stage, replace_kept)
    return worst


def _guard(each: Plan, stage: Path, replace_kept: bool) -> None:
    """Raise InputError for each file of a plan that would be put over one that is kept."""
    values = {field.name: field.value for sheet in each.sheets for field in sheet.fields}
    fresh = Fresh(each.source.job.frame.id, each.source.name, values)
    found = (
        kept(file.path, (stage / file.path.name).read_bytes(), fresh, replace_kept) for file in each.files
    )
    if problems := [problem for problem in found if problem is not None]:
        raise InputError(*problems)


@contextmanager
def _known_as(stage: Path, folder: Path) -> Iterator[None]:
    """Name a file that measures wrong by where it would have gone; the staging folder is gone by then."""
    try:
        yield
    except ReadBackError as error:
        raise ReadBackError(
            *(
                Problem(problem.where.replace(str(stage), str(folder)), problem.what)
                for problem in error.problems
            )
        ) from error


def _same(path: Path) -> str:
    """Return a path in a form in which two names of one file are equal on any machine."""
    # Folded, because some disks take two names that differ in case alone for one.
    return os.path.realpath(path).casefold()
