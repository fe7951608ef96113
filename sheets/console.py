"""What every command shares: exit statuses, results, and how they reach standard output and error."""

import contextlib
from collections.abc import Sequence
from pathlib import Path
from typing import Any, NamedTuple

import click

from geometry.errors import DropleafError, Problem

DONE, FAILED, WRONG, FAULT, INTERRUPTED, NOBODY_READS = 0, 1, 2, 70, 130, 141

JOBS = click.argument("jobs", metavar="JOB...", nargs=-1, required=True, type=click.Path(path_type=Path))
JSON = click.option("--json", "as_json", is_flag=True, help="Print one JSON document and nothing else.")


class Result(NamedTuple):
    """What became of one job: the status, the JSON entry, the text, and the problems, if any."""

    status: int
    entry: dict[str, Any]
    text: str = ""
    problems: tuple[str, ...] = ()


class UnwritableError(Exception):
    """Standard output takes no more."""

    def __init__(self, reason: OSError) -> None:
        """Keep what the system said."""
        super().__init__(str(reason))
        self.reason = reason


def failed(path: Path, error: DropleafError) -> Result:
    """Return the result of a file that could not be worked on; its problems become its JSON errors."""
    problems = tuple(str(problem) for problem in error.problems)
    return Result(error.exit_status, {"job_file": str(path), "errors": list(problems)}, "", problems)


def report(results: Sequence[Result], as_json: bool, foot: str = "") -> int:
    """Print results in the order of the jobs and return the worst status; `foot` ends the text."""
    from sheets.manifest import text

    for result in results:
        for problem in result.problems:
            complain(problem)
    if as_json:
        say(text(results[0].entry if len(results) == 1 else [result.entry for result in results]))
    else:
        texts = [result.text for result in results if result.text]
        if texts:
            say("\n".join([*texts, foot] if foot else texts).rstrip("\n"))
    return max(result.status for result in results)


def say(text: str) -> None:
    """Print on standard output; raise UnwritableError where it takes no more."""
    try:
        click.echo(text)
    except OSError as error:
        raise UnwritableError(error) from error


def complain(line: str) -> None:
    """Print one line on standard error; what cannot be printed on a line is shown as its escape."""
    whole = str(Problem("", line))
    safe = "".join(c if c.isprintable() else c.encode("unicode_escape", "replace").decode() for c in whole)
    # Where there is no standard error to write to, nobody can be told.
    with contextlib.suppress(OSError):
        click.echo(f"dropleaf: {safe}", err=True)
