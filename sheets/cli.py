"""The command line. What each command needs is imported when it runs, so that help comes at once.

Exit status: 0 done · 1 a check or a read-back failed · 2 the job or the command line is wrong ·
70 a fault in this program (the number that BSD's sysexits.h gives to internal faults) ·
130 interrupted · 141 whoever was reading the output has gone.
"""

import contextlib
import gc
import importlib
import os
import sys
from collections.abc import Sequence
from typing import Any

import click

from geometry.core.errors import DropleafError
from sheets import commands, interrupts
from sheets.console import (
    DONE,
    FAULT,
    INTERRUPTED,
    NOBODY_READS,
    WRONG,
    UnwritableError,
    begin,
    columns,
    complain,
    refuse,
    say,
)
from sheets.offered import known_commands
from sheets.words.as_json import headed
from sheets.words.tell import lines, tell


class _InterruptedError(Exception):
    """The user has stopped the command."""


class _Commands(click.Group):
    """The commands, each from its module; an interrupt passes through, where click would add a line."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Return the commands' names: those of the modules."""
        return known_commands()

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """Return the command of a module, or None where there is none of that name."""
        if cmd_name not in known_commands():
            return None
        found: click.Command = importlib.import_module(f"{commands.__name__}.{cmd_name}").command
        return found

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
    try:
        status = main()
        interrupts.no_more()
    except KeyboardInterrupt:
        # It came after the last word.
        return INTERRUPTED
    # On leaving, the interpreter would look thrice through all that the system frees anyway.
    gc.freeze()
    return status


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the command line (default: the process's own) and return its exit status; never raises."""
    for stream in (sys.stdout, sys.stderr):
        # A console that lacks a character should show a question mark, not stop the work.
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="replace")
    try:
        return _run(arguments)
    except (click.Abort, KeyboardInterrupt, _InterruptedError):
        return _interrupted()
    except SystemExit as error:
        # click leaves this way when nobody reads its help.
        _let_go_of_output()
        return NOBODY_READS if error.code else DONE
    except UnwritableError as error:
        _let_go_of_output()
        if isinstance(error.reason, BrokenPipeError):
            return NOBODY_READS
        complain(tell("cli.unwritable", reason=error.reason.strerror or str(error.reason)))
        return WRONG
    except Exception as error:
        if interrupts.came():
            return _interrupted()
        if os.environ.get("DROPLEAF_DEBUG") == "1":
            import traceback

            traceback.print_exc()
        complain(_fault(error))
        return FAULT


def _interrupted() -> int:
    interrupts.no_more()
    complain(tell("cli.interrupted"))
    return INTERRUPTED


def _refused(problems: list[str], status: int, arguments: Sequence[str] | None) -> int:
    """Tell why a command ended before it had a result, to a program as JSON too; return its status."""
    for problem in problems:
        complain(problem)
    if "--json" in (sys.argv[1:] if arguments is None else arguments):
        from sheets.actions.manifest import text

        with contextlib.suppress(UnwritableError):
            say(text(headed("errors", {"errors": problems})))
    return status


def _run(arguments: Sequence[str] | None) -> int:
    """Run the command line and return its exit status, having told what is wrong with it or with a job."""
    begin()
    try:
        interrupts.let_come()
        status = dropleaf.main(args=arguments, prog_name="dropleaf", standalone_mode=False)
        return status if isinstance(status, int) else DONE
    except DropleafError as error:
        refuse(lines(error), _json_asked(arguments))
        return error.exit_status
    except click.ClickException as error:
        refuse([_usage(error)], _json_asked(arguments))
        return WRONG


def _json_asked(arguments: Sequence[str] | None) -> bool:
    """Tell whether the command line has --json, which may be wrong before click knows; names follow --."""
    given = list(sys.argv[1:] if arguments is None else arguments)
    return "--json" in (given[: given.index("--")] if "--" in given else given)


def _version() -> None:
    """Print the version, which names the build."""
    from sheets.actions.version import version

    say(f"dropleaf {version()}")


@click.group(
    cls=_Commands,
    no_args_is_help=False,
    invoke_without_command=True,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100},
)
@click.option(
    "-V",
    "--version",
    "version_asked",
    is_flag=True,
    help="Show the version and exit.",
)
@click.option("--changes", is_flag=True, help="With --version: show what changed, too.")
@click.pass_context
def dropleaf(context: click.Context, version_asked: bool, changes: bool) -> None:
    """Print full-size templates for placing disc-brake mounts on bicycle frames and forks.

    A job is a TOML file that describes one mount; samples/ has one for every kind.

    \b
    Example:
      dropleaf draw samples/dunlin.toml --out paper
      writes paper/dunlin-1.pdf to print, and the same template as SVG
      dropleaf help printing
      opens a page of the book; dropleaf help shows which there are

    Exit status: 0 done, 1 a check failed, 2 the job or the command line is wrong, 70 a fault in this program,
    130 interrupted, 141 whoever was reading has gone.
    """
    if version_asked or changes:
        _version()
        if changes:
            from sheets.actions.book import CHANGES, shown

            say(f"\n{shown(CHANGES, columns())}")
        context.exit()
    if context.invoked_subcommand is None:
        raise click.UsageError("Missing command", context)


def _usage(error: click.ClickException) -> str:
    """Return a wrong command line in one line, with the nearest name and where help is."""
    from sheets.words.tell import nearest

    message = error.format_message().rstrip(".")
    context = getattr(error, "ctx", None)
    name = context.command_path if context else "dropleaf"
    group = context.command if context and isinstance(context.command, click.Group) else None
    names = group.list_commands(context) if group and context else []
    if message.startswith("Missing command"):
        message = tell("cli.no_command", known=", ".join(names))
    elif isinstance(error, click.NoSuchOption):
        options = [o for p in context.command.params for o in p.opts] if context else []
        message = tell("cli.no_option", option=error.option_name, hint=nearest(error.option_name, options))
    elif group and message.startswith("No such command"):
        tried = message.split("'")[1] if "'" in message else ""
        message = tell("cli.unknown_command", name=tried, hint=nearest(tried, names), known=", ".join(names))
    return tell("cli.see_help", message=message, name=name)


def _fault(error: Exception) -> str:
    said = " ".join(str(error).split())
    reason = f"{type(error).__name__}: {said}" if said else type(error).__name__
    return tell("cli.fault", reason=reason)


def _let_go_of_output() -> None:
    """Send what is still to be flushed nowhere, or the interpreter would complain of it on leaving."""
    try:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
    except (OSError, ValueError):
        return
