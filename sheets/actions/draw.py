"""From a job file to delivered files: placed, drawn, written aside, read back and put in place together.

Nothing is delivered unless every file of the job was opened again and measured.
"""

import os
from collections.abc import Container, Mapping
from pathlib import Path
from typing import NamedTuple

from geometry.core.errors import FitError, InputError, Problem
from geometry.core.findings import Finding
from geometry.core.frozen import dataclass
from geometry.core.say import say
from geometry.mount.placement import Placement
from geometry.printing.distortion import Distortion
from sheets.actions import attached as filed
from sheets.actions.manifest import Drawn
from sheets.actions.pages import packet, ready
from sheets.actions.views import truths
from sheets.actions.writing import written
from sheets.files.read.joins import verify_joins
from sheets.files.read.views import verify_views
from sheets.files.write.deliver import staging
from sheets.ink.machining import operations
from sheets.ink.records import Sheet
from sheets.job.read import JobFile
from sheets.keeping.overwriting import Fresh, kept
from sheets.pages.numbering import numbered
from sheets.setup.findings import all_findings
from sheets.setup.setup import SetUp
from sheets.words.tell import tell

_ENDINGS = {"dxf": ".dxf", "cutter": "-cutter.svg"}
"""How the names of files for machines end."""


@dataclass(frozen=True, slots=True)
class Plan:
    """A job's sheets before any file exists; `folder` is where its files will go.

    `unwrapped` says what the wraps could not show, or not in one piece. The sheets are as the paper shall
    show them; `distortion` is that of the printer for which their files are corrected. `machine` has the
    kinds of files for machines that are asked for, "dxf" and "cutter"; `svg_text` makes labels of
    SVGs text instead of strokes.
    """

    source: JobFile
    placement: Placement
    sheets: tuple[Sheet, ...]
    folder: Path
    setup: SetUp
    unwrapped: tuple[Finding, ...]
    distortion: Distortion | None = None
    machine: tuple[str, ...] = ()
    svg_text: bool = False

    @property
    def findings(self) -> tuple[Finding, ...]:
        """Return what is found of the job, the mount's numbers first, then what they come to."""
        return all_findings(self.source.job, self.placement, self.setup, self.unwrapped)

    @property
    def packet(self) -> Drawn:
        """Return the PDF that holds every sheet, numbered through; a file of one sheet has no number."""
        file = self.folder / f"{self.source.job.frame.id}.pdf"
        return Drawn(file, "pdf", numbered(self.sheets), self.distortion)

    @property
    def files(self) -> tuple[Drawn, ...]:
        """Return every file of the job: the packet, then each full-size sheet alone, and for machines.

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
            for kind in self.machine if operations(sheet) else ():
                # A machine has no paper, so its file is the true size whatever the printer does.
                singles.append(Drawn(file.with_name(f"{file.stem}{_ENDINGS[kind]}"), kind, (sheet,)))
        return (self.packet, *singles)

    @property
    def no_machine_file(self) -> tuple[str, ...]:
        """Return the kinds of sheets that are asked for machines and have no such file, being on tiles."""
        tiled = [sheet.kind for sheet in self.sheets if sheet.tile is not None]
        return tuple(dict.fromkeys(tiled)) if self.machine else ()


def plan(
    source: JobFile,
    out: Path | None,
    printer: str | None = None,
    *,
    plate: bool = False,
    dxf: bool = False,
    cutter: bool = False,
    svg_text: bool = False,
) -> Plan:
    """Return the sheets of a job and where their files will go; `out` None means beside the job file.

    `printer` is the name of a measured one to correct for, before the one that the job may name.
    `plate` asks for the fixture's patterns, whatever the job says, `dxf` and `cutter` for such a file of each
    full-size sheet that a machine can cut or drill.
    Raise DropleafError, led by the file's name, where the job cannot be placed or does not fit the paper.
    """
    one = ready(source, printer, plate=plate, dxf=dxf)
    made = packet(one)
    folder = _folder(source, out)
    asked = {"dxf": dxf or source.job.bench.dxf, "cutter": cutter}
    machine = tuple(kind for kind, wanted in asked.items() if wanted)
    found = made.findings
    return Plan(
        one.source, one.placement, made.sheets, folder, one.setup, found, one.distortion, machine, svg_text
    )


class Target(NamedTuple):
    """What is known of a job before it is drawn: its own file, and its packet, after which all are named."""

    source: Path
    packet: Path


def target(source: JobFile, out: Path | None) -> Target:
    """Return where a job's packet will lie; `out` None means beside the job file."""
    return Target(source.path, _folder(source, out) / f"{source.job.frame.id}.pdf")


def clashes(targets: Mapping[int, Target]) -> dict[int, Problem]:
    """Return, by the targets' keys, what forbids a job to be drawn in one run with the others.

    No job may be given twice, and no two may write the same packet. Other files begin with the packet's name,
    so that jobs whose packets differ write none that are the same.
    """
    jobs: dict[str, list[int]] = {}
    packets: dict[str, list[int]] = {}
    for key, each in targets.items():
        jobs.setdefault(same_file(each.source), []).append(key)
        packets.setdefault(same_file(each.packet), []).append(key)
    found = {}
    for key, each in targets.items():
        if len(jobs[same_file(each.source)]) > 1:
            found[key] = Problem(str(each.source), say("draw.given_twice"))
        elif others := [other for other in packets[same_file(each.packet)] if other != key]:
            other = str(targets[others[0]].source)
            said = say("draw.same_file", other=other, path=str(each.packet))
            found[key] = Problem(f"{each.source}: frame.id", said)
    return found


def spare(each: Plan, jobs: Container[str]) -> None:
    """Raise InputError where a plan would write over one of the run's job files, named by `same_file`."""
    for file in each.files:
        if same_file(file.path) in jobs:
            where = f"{each.source.path}: frame.id"
            raise InputError.at(where, say("draw.is_a_job", path=str(file.path)))


def draw(each: Plan, *, replace_kept: bool = False) -> float:
    """Write, read back and deliver the files of a plan; return the largest deviation measured, mm.

    Raise ReadBackError where a file does not measure what its sheet says, InputError where one that is there
    must not be lost and `replace_kept` is not set, DeliveryError where the files cannot be put in place;
    nothing is left behind then, and nothing is changed.
    """
    job, placement = each.source.job, each.placement
    title = tell("draw.title", id=job.frame.id)
    subject = tell(
        "draw.subject",
        mount=placement.interface.title,
        native=placement.interface.native,
        rotor=job.mount.rotor,
        axle=placement.axle.title,
    )
    attached = filed.attachments(each.source, placement, each.files, each.findings, each.setup)
    base = filed.base(each.source, placement, [caution.id for caution in each.setup.cautions])
    with staging(each.folder) as stage:
        packet, *singles = each.files
        try:
            worst = written(packet, stage, title=title, subject=subject, attachments=attached, base=base)
        except FitError as error:
            raise FitError(*(problem.under(str(each.source.path)) for problem in error.problems)) from error
        finished = stage / packet.path.name
        worst = max(worst, verify_joins(finished, packet.sheets, each.distortion))
        verify_views(finished, packet.sheets, truths(job, placement), job.paper.view, each.distortion)
        sources = tell("draw.sources", sources="; ".join(placement.interface.sources))
        about = f"{subject}. {sources}"
        worst = max([worst, *(written(single, stage, about=about, text=each.svg_text) for single in singles)])
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


def _folder(source: JobFile, out: Path | None) -> Path:
    return source.path.parent if out is None else out


def same_file(path: Path) -> str:
    """Return a path in a form in which two names of one file are equal on any machine."""
    # Folded, because some disks take two names that differ in case alone for one.
    return os.path.realpath(path).casefold()
