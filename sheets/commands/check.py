"""`dropleaf check`: every number of each job, and nothing drawn."""

from pathlib import Path

import click

from geometry.core.errors import DropleafError
from sheets.console import JOBS, JSON, Result, failed, progress, report, say
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
@JSON
@click.option(
    "--schema",
    is_flag=True,
    expose_value=False,
    is_eager=True,
    callback=_schema,
    help="Print the JSON schema of a job file, for editors, and exit.",
)
def command(jobs: tuple[Path, ...], as_json: bool) -> int:
    """Print every number of each JOB; draw nothing.

    That is every computed number with its grade and source, and every warning.

    x runs rearward, y up, z outboard, from the axle line on the left dropout's inner face; mm and degrees.

    \b
    Example:
      dropleaf check samples/dunlin.toml
      prints where both holes lie, the disc's planes, the adapter and the sources
    """
    from sheets.actions import manifest
    from sheets.actions.check import report as checked
    from sheets.home.jobs import load
    from sheets.job.read import blaming
    from sheets.setup.clearances import judged

    results = []
    for path in progress(jobs, tell("command.checking")):
        try:
            source = load(path)
            with blaming(path):
                placement, setup, found, text = checked(source)
        except DropleafError as error:
            results.append(failed(path, error))
            continue
        entry = manifest.checked(source.job, placement, setup, found)
        status, problems = judged(path, setup.clear)
        results.append(Result(status, entry, f"{text}\n", problems))
    return report(results, as_json)
