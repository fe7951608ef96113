"""The commands. What each one needs is imported when it runs, so that help comes at once.

Exit status: 0 done · 1 a check or a read-back failed · 2 the job or the command line is wrong ·
70 a fault in this program (the number that BSD's sysexits.h gives to internal faults) ·
130 interrupted · 141 whoever was reading the output has gone.
"""

import contextlib
import gc
import os
import sys
import traceback
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

import click

from geometry.errors import DropleafError, InputError, Problem

if TYPE_CHECKING:
    from sheets.clear import Clear

DONE, FAILED, WRONG, FAULT, INTERRUPTED, NOBODY_READS = 0, 1, 2, 70, 130, 141

_JOBS = click.argument("jobs", metavar="JOB...", nargs=-1, required=True, type=click.Path(path_type=Path))
_JSON = click.option("--json", "as_json", is_flag=True, help="Print one JSON document and nothing else.")


class Result(NamedTuple):
    """What became of one job: the status, the JSON entry, the text, and the problems, if any."""

    status: int
    entry: dict[str, Any]
    text: str = ""
    problems: tuple[str, ...] = ()


class _UnwritableError(Exception):
    """Standard output takes no more."""

    def __init__(self, reason: OSError) -> None:
        super().__init__(str(reason))
        self.reason = reason


class _InterruptedError(Exception):
    """The user has stopped the command."""


class _Commands(click.Group):
    """The commands; an interrupt passes through the library, which would put an empty line before ours."""

    def invoke(self, ctx: click.Context) -> Any:
        """Run the command that the line names."""
        try:
            return super().invoke(ctx)
        except KeyboardInterrupt as error:
            raise _InterruptedError from error


def program() -> int:
    """Run the process's own command line and return its exit status."""
    # A run is over in a second or two, and in that time the collector finds nothing to free but looks often.
    gc.disable()
    return main()


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the command line (default: the process's own) and return its exit status; never raises."""
    for stream in (sys.stdout, sys.stderr):
        # A console that lacks a character should show a question mark, not stop the work.
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="replace")
    try:
        status = dropleaf.main(args=arguments, prog_name="dropleaf", standalone_mode=False)
        return status if isinstance(status, int) else DONE
    except DropleafError as error:
        for problem in error.problems:
            _complain(str(problem))
        return error.exit_status
    except click.ClickException as error:
        _complain(_usage(error))
        return WRONG
    except (click.Abort, KeyboardInterrupt, _InterruptedError):
        _complain("interrupted; no file is half written")
        return INTERRUPTED
    except SystemExit as error:
        # click leaves this way when nobody reads its help.
        _let_go_of_output()
        return NOBODY_READS if error.code else DONE
    except _UnwritableError as error:
        _let_go_of_output()
        if isinstance(error.reason, BrokenPipeError):
            return NOBODY_READS
        _complain(f"standard output cannot be written: {error.reason.strerror or error.reason}")
        return WRONG
    except Exception as error:
        if os.environ.get("DROPLEAF_DEBUG") == "1":
            traceback.print_exc()
        _complain(_fault(error))
        return FAULT


def _version(context: click.Context, parameter: click.Parameter, asked: bool) -> None:
    """Print the version of the installed package, where there is one, and leave."""
    if not asked or context.resilient_parsing:
        return
    from importlib.metadata import PackageNotFoundError, version

    try:
        _say(f"dropleaf {version('dropleaf')}")
    except PackageNotFoundError:
        _say("dropleaf, run from its source and not installed")
    context.exit()


@click.group(
    cls=_Commands,
    no_args_is_help=False,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100},
)
@click.option(
    "--version",
    is_flag=True,
    expose_value=False,
    is_eager=True,
    callback=_version,
    help="Show the version and exit.",
)
def dropleaf() -> None:
    """Print full-size templates for placing disc-brake mounts on bicycle frames and forks.

    A job is a TOML file that describes one mount; samples/ has one for every kind.

    \b
    Example:
      dropleaf draw samples/dunlin.toml --out paper
      writes paper/dunlin-1.pdf to print, and the same template as SVG
    """


@dropleaf.command()
@_JOBS
@click.option(
    "--out",
    type=click.Path(path_type=Path),
    metavar="DIR",
    help="Folder for the files, created if need be. Default: beside each job file.",
)
@_JSON
def draw(jobs: tuple[Path, ...], out: Path | None, as_json: bool) -> int:
    """Draw the templates of each JOB as PDF and SVG.

    Every file is opened again and measured before it is put in place. Print the PDF at 100 %, actual
    size, and measure both bars before use.

    \b
    Example:
      dropleaf draw samples/dunlin.toml --out paper
      writes paper/dunlin-1.pdf and paper/dunlin-1-template.svg
    """
    from sheets import draw as drawing
    from sheets import manifest
    from sheets.job import load

    plans: dict[int, drawing.Plan] = {}
    results: dict[int, Result] = {}
    for index, path in enumerate(jobs):
        try:
            plans[index] = drawing.plan(load(path), out)
        except DropleafError as error:
            results[index] = _failed(path, error)
    for index, problem in drawing.clashes(plans).items():
        results[index] = _failed(plans.pop(index).source.path, InputError(problem))
    for index, plan in plans.items():
        try:
            worst = drawing.draw(plan)
        except DropleafError as error:
            results[index] = _failed(plan.source.path, error)
            continue
        warnings = plan.warnings
        entry = manifest.drawn(plan.source.job, plan.placement, plan.files, warnings)
        miss = "below 0.0001" if worst < 0.0001 else f"{worst:.4f}"
        lines = [f"{plan.source.path}: drawn and read back, largest deviation {miss} mm"]
        lines += [f"  {file.path}" for file in plan.files]
        lines += [f"  warning: {warning}" for warning in warnings]
        results[index] = _checked(plan.source.path, plan.setup.clear, entry, "\n".join(lines))
    ordered = [results[index] for index in range(len(jobs))]
    return _report(ordered, as_json, f"{drawing.PRINTING}; measure both bars before use")


@dropleaf.command()
@_JOBS
@_JSON
def check(jobs: tuple[Path, ...], as_json: bool) -> int:
    """Print every number of each JOB; draw nothing.

    That is every computed number with its grade and source, and every warning.

    x runs rearward, y up, z outboard, from the axle line on the left dropout's inner face; mm and degrees.

    \b
    Example:
      dropleaf check samples/dunlin.toml
      prints where both holes lie, the disc's planes, the adapter and the sources
    """
    from sheets import manifest
    from sheets.check import report
    from sheets.job import blaming, load

    results = []
    for path in jobs:
        try:
            source = load(path)
            with blaming(path):
                placement, setup, warnings, text = report(source)
        except DropleafError as error:
            results.append(_failed(path, error))
            continue
        entry = manifest.checked(source.job, placement, setup, warnings)
        results.append(_checked(path, setup.clear, entry, f"{text}\n"))
    return _report(results, as_json)


@dropleaf.command()
@_JSON
def mounts(as_json: bool) -> int:
    """Print the tables of interfaces, adapters and axles.

    Each number comes with its grade and source; one that was not found says so.

    \b
    Example:
      dropleaf mounts
      the row post is a mount that a job asks for with interface = "post"
    """
    from sheets.manifest import text
    from sheets.mounts import document, listing

    _say(text(document()) if as_json else listing())
    return DONE


def _checked(path: Path, clear: "Clear", entry: dict[str, Any], text: str) -> Result:
    """Return a job's result, with each clearance that fails as a problem of its own."""
    problems = tuple(f"{path}: CLEARANCE FAILS: {each.sentence}" for each in clear.failed)
    return Result(FAILED if problems else DONE, entry, text, problems)


def _failed(path: Path, error: DropleafError) -> Result:
    problems = tuple(str(problem) for problem in error.problems)
    return Result(error.exit_status, {"job_file": str(path), "errors": list(problems)}, "", problems)


def _report(results: Sequence[Result], as_json: bool, foot: str = "") -> int:
    """Print results in the order of the jobs and return the worst status."""
    from sheets.manifest import text

    for result in results:
        for problem in result.problems:
            _complain(problem)
    if as_json:
        _say(text(results[0].entry if len(results) == 1 else [result.entry for result in results]))
    else:
        texts = [result.text for result in results if result.text]
        if texts:
            _say("\n".join([*texts, foot] if foot else texts).rstrip("\n"))
    return max(result.status for result in results)


def _usage(error: click.ClickException) -> str:
    """Return a wrong command line in one line, with the nearest name and where help is."""
    from geometry.tables import nearest

    message = error.format_message().rstrip(".")
    context = getattr(error, "ctx", None)
    name = context.command_path if context else "dropleaf"
    if message.startswith("Missing command"):
        message = f"no command given (known: {', '.join(sorted(dropleaf.commands))})"
    elif isinstance(error, click.MissingParameter) and error.param and error.param.name == "jobs":
        message = "no job file given"
    elif isinstance(error, click.NoSuchOption):
        known = [o for p in context.command.params for o in p.opts] if context else []
        message = f"there is no option {error.option_name}{nearest(error.option_name, known)}"
    elif isinstance(context and context.command, click.Group) and message.startswith("No such command"):
        tried = message.split("'")[1] if "'" in message else ""
        known = sorted(dropleaf.commands)
        message = f"there is no command {tried!r}{nearest(tried, known)} (known: {', '.join(known)})"
    return f"{message}; see {name} --help"


def _fault(error: Exception) -> str:
    reason = f"{type(error).__name__}: {error}" if str(error) else type(error).__name__
    return (
        f"this is a fault in dropleaf, not in your job: {reason} (set DROPLEAF_DEBUG=1 to see where; "
        "please report it with the job file)"
    )


def _say(text: str) -> None:
    try:
        click.echo(text)
    except OSError as error:
        raise _UnwritableError(error) from error


def _complain(line: str) -> None:
    """Print one line on standard error; what cannot be printed on a line is shown as its escape."""
    whole = str(Problem("", line))
    safe = "".join(c if c.isprintable() else c.encode("unicode_escape", "replace").decode() for c in whole)
    # Where there is no standard error to write to, nobody can be told.
    with contextlib.suppress(OSError):
        click.echo(f"dropleaf: {safe}", err=True)


def _let_go_of_output() -> None:
    """Send what is still to be flushed nowhere, or the interpreter would complain of it on leaving."""
    try:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
    except (OSError, ValueError):
        return
