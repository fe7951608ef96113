"""`dropleaf draw`: the packet of each job, one SVG a full-size sheet, and files for machines."""

from pathlib import Path

import click

from geometry.core.errors import DropleafError, InputError
from geometry.core.say import named
from sheets.console import JOBS, JSON, SAMPLE, Result, columns, failed, jobs_of, progress, report
from sheets.offered import printers
from sheets.words.tell import tell


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
    from sheets.actions import draw as drawing
    from sheets.actions import manifest
    from sheets.actions.writing import read_back
    from sheets.home.jobs import load
    from sheets.setup.findings import answer_lines, stopped
    from sheets.words.lengths import telling

    # A job that is wrong does not keep the others from being drawn; it is told, and the worst status counts.
    plans: dict[int, drawing.Plan] = {}
    results: dict[int, Result] = {}
    asked = jobs_of(jobs, sampled)
    for index, (path, ours) in enumerate(asked):
        try:
            folder = Path() if ours and out is None else out
            plans[index] = drawing.plan(load(path), folder, printer, plate=plate, dxf=dxf, cutter=cutter)
        except DropleafError as error:
            results[index] = failed(path, error)
    for index, problem in drawing.clashes(plans).items():
        results[index] = failed(plans.pop(index).source.path, InputError(problem))
    for index, plan in progress(tuple(plans.items()), tell("command.drawing")):
        try:
            worst = drawing.draw(plan, replace_kept=replace)
        except DropleafError as error:
            results[index] = failed(plan.source.path, error)
            continue
        found = plan.findings
        entry = manifest.drawn(plan.source.job, plan.placement, plan.files, found, plan.setup.fixture)
        with telling(plan.source.job.paper.units):
            lines = answer_lines(plan.source.job, found, columns())
            status, problems, short = stopped(plan.source.path, found)
        lines += ["", read_back(str(plan.source.path), worst)]
        lines += [f"  {file.path}" for file in plan.files]
        if plan.no_machine_file:
            lines.append(
                tell("draw.on_tiles", sheets=tuple(named(f"sheet.{kind}") for kind in plan.no_machine_file))
            )
        results[index] = Result(status, entry, "\n".join([*lines, ""]), problems, short)
    ordered = [results[index] for index in range(len(asked))]
    return report(ordered, as_json, tell("writing.before_use"))
