"""`dropleaf draw`: the packet of each job, one SVG a full-size sheet, and files for machines."""

from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

import click

from geometry.core.errors import DropleafError, InputError
from geometry.core.say import named
from sheets.console import JOBS, JSON, SAMPLE, Result, columns, failed, jobs_of, progress, report
from sheets.offered import printers
from sheets.words.tell import tell

if TYPE_CHECKING:
    from sheets.job.read import JobFile


@click.command("draw")
@JOBS
@SAMPLE
@click.option(
    "-o",
    "--out",
    type=click.Path(path_type=Path),
    metavar="DIR",
    help="Folder for the files, created if need be. Default: beside each job file; here for - and samples.",
)
@click.option(
    "--printer",
    metavar="NAME",
    shell_complete=printers,
    help="Correct the sheets for a measured printer. Default: the job's own paper.printer, if any.",
)
@click.option("--replace", is_flag=True, help="Write over what is not as it was drawn, too.")
@click.option("--plate", is_flag=True, help="Add patterns for a fixture made from plate and bar.")
@click.option(
    "--dxf",
    is_flag=True,
    help="Write what a machine cuts, drills or marks as DXF too, in mm; with --plate also that.",
)
@click.option(
    "--cutter", is_flag=True, help="Write the same as SVG too, one colour an operation, for a laser or knife."
)
@click.option(
    "--jobs",
    "at_once",
    type=click.IntRange(min=1),
    metavar="N",
    help="Draw so many jobs at once. Default: as many as there are processors.",
)
@click.option(
    "--svg-text", is_flag=True, help="Labels of SVGs as text to search and edit, not as single strokes."
)
@JSON
def command(
    jobs: tuple[Path, ...],
    sampled: tuple[str, ...],
    out: Path | None,
    printer: str | None,
    replace: bool,
    plate: bool,
    dxf: bool,
    cutter: bool,
    at_once: int | None,
    svg_text: bool,
    as_json: bool,
) -> int:
    """Draw the templates of each JOB as PDF and SVG.

    Every file is opened again and measured before it is put in place. Print the PDF at 100 %, actual
    size, and measure both bars before use. A JOB of - is read from standard input.

    A file that is not as it was drawn is kept, a filled packet or an SVG that you changed; --replace writes
    over it. A packet that a revision was made from is never written over.

    \b
    Example:
      dropleaf draw samples/dunlin.toml --out paper
      writes paper/dunlin-1.pdf and paper/dunlin-1-template.svg
      dropleaf draw --sample dunlin --out paper
      draws a sample that comes with the program
    """
    # Here, so that every worker has it from the start.
    from sheets.actions import draw as drawing
    from sheets.actions.workers import cores, in_order
    from sheets.home.jobs import load

    # A job that is wrong does not keep the others from being drawn; it is told, and the worst status counts.
    results: dict[int, Result] = {}
    targets: dict[int, drawing.Target] = {}
    piped: dict[int, JobFile] = {}
    asked = jobs_of(jobs, sampled)
    folders = [Path() if ours and out is None else out for _, ours in asked]
    for index, (path, _) in enumerate(asked):
        try:
            source = load(path)
        except DropleafError as error:
            results[index] = failed(path, error)
            continue
        targets[index] = drawing.target(source, folders[index])
        if str(path) == "-":
            piped[index] = source
    for index, problem in drawing.clashes(targets).items():
        results[index] = failed(targets.pop(index).source, InputError(problem))
    names = frozenset(drawing.same_file(path) for path, _ in asked)
    wanted = {"plate": plate, "dxf": dxf, "cutter": cutter, "svg_text": svg_text}
    tasks = [
        _Task(
            piped.get(index, each.source), folders[index], printer, wanted, replace, names, columns(), as_json
        )
        for index, each in targets.items()
    ]
    drawn = in_order(_drawn, tasks, at_once or cores())
    for index, result in zip(progress(tuple(targets), tell("command.drawing")), drawn, strict=True):
        results[index] = result
    ordered = [results[index] for index in range(len(asked))]
    return report(ordered, as_json, tell("writing.before_use"))


class _Task(NamedTuple):
    """A job to draw, its file or what was read from a pipe, and how; `jobs` are the run's own files."""

    job: "Path | JobFile"
    out: Path | None
    printer: str | None
    wanted: dict[str, bool]
    replace: bool
    jobs: frozenset[str]
    width: int
    as_json: bool

    @property
    def path(self) -> Path:
        return self.job if isinstance(self.job, Path) else self.job.path


def _drawn(task: _Task) -> Result:
    """Return what became of one job: drawn, read back and put in place, or refused."""
    from sheets.actions import draw as drawing
    from sheets.actions import manifest
    from sheets.actions.writing import read_back
    from sheets.home.jobs import load
    from sheets.setup.findings import answer_lines, stopped
    from sheets.words.lengths import telling

    try:
        source = load(task.job) if isinstance(task.job, Path) else task.job
        plan = drawing.plan(source, task.out, task.printer, **task.wanted)
        drawing.spare(plan, task.jobs)
        worst = drawing.draw(plan, replace_kept=task.replace)
    except DropleafError as error:
        return failed(task.path, error)
    found = plan.findings
    with telling(source.job.paper.units):
        lines = [] if task.as_json else answer_lines(source.job, found, task.width)
        status, problems, short = stopped(task.path, found)
    if task.as_json:
        entry = manifest.drawn(source.job, plan.placement, plan.files, found, plan.setup.fixture)
        return Result(status, entry, "", problems, short)
    lines += ["", read_back(str(task.path), worst)]
    lines += [f"  {file.path}" for file in plan.files]
    if plan.no_machine_file:
        lines.append(
            tell("draw.on_tiles", sheets=tuple(named(f"sheet.{kind}") for kind in plan.no_machine_file))
        )
    return Result(status, {}, "\n".join([*lines, ""]), problems, short)
