"""`dropleaf check`: whether each job may be drawn and built, and nothing drawn."""

from pathlib import Path

import click

from geometry.core.errors import DropleafError
from sheets.console import JOBS, JSON, SAMPLE, Result, columns, failed, jobs_of, progress, report, say
from sheets.words.tell import tell


def _schema(context: click.Context, parameter: click.Parameter, asked: bool) -> None:
    """Print the schema, which needs no job, and leave."""
    if not asked or context.resilient_parsing:
        return
    from sheets.actions.manifest import text
    from sheets.job.schema import schema

    say(text(schema()))
    context.exit()


@click.command("check")
@JOBS
@SAMPLE
@JSON
@click.option(
    "--schema",
    is_flag=True,
    expose_value=False,
    is_eager=True,
    callback=_schema,
    help="Print the JSON schema of a job file, for editors, and exit.",
)
@click.option("--all", "everything", is_flag=True, help="Print every number too, with grade and source.")
def command(jobs: tuple[Path, ...], sampled: tuple[str, ...], as_json: bool, everything: bool) -> int:
    """Tell whether each JOB may be drawn and built; draw nothing.

    First comes the verdict, then what was found, the gravest first: STOP, warning, unknown, note. Ten numbers
    for the bench follow; --all prints every number instead, with its grade and source. A JOB of - is
    read from standard input.

    x runs rearward, y up, z outboard, from the axle line on the left dropout's inner face; mm and degrees.

    \b
    Example:
      dropleaf check samples/dunlin.toml
      answers whether Dunlin may be built, and tells where its holes lie
    """
    from sheets.actions import manifest
    from sheets.actions.check import report as checked
    from sheets.home.jobs import load
    from sheets.job.read import blaming
    from sheets.setup.findings import several, stopped, verdict
    from sheets.words.lengths import telling

    results, verdicts, width = [], [], columns()
    asked = jobs_of(jobs, sampled)
    for path, _ in progress(asked, tell("command.checking")):
        try:
            source = load(path)
            with blaming(path):
                found = checked(source)
                text = found.whole(width) if everything else found.short(width)
        except DropleafError as error:
            results.append(failed(path, error))
            continue
        entry = manifest.checked(source.job, found.placement, found.setup, found.findings)
        with telling(source.job.paper.units):
            status, problems, short = stopped(path, found.findings)
        verdicts.append(verdict(found.findings))
        results.append(Result(status, entry, f"{text}\n", problems, short))
    return report(results, as_json, several(verdicts, len(asked)))
