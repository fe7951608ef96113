"""What every command shares: exit statuses, results, and how they reach standard output and error."""

import contextlib
import os
import re
import shlex
import shutil
import sys
from collections.abc import Callable, Iterator, Sequence
from contextvars import ContextVar
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple, TextIO, TypeVar

import click

from geometry.core.errors import DropleafError, Problem
from sheets.offered import jobs, samples
from sheets.words.as_json import headed
from sheets.words.tell import lines, tell
from sheets.words.wrap import folded, wrapped

if TYPE_CHECKING:
    from sheets.guide.talk import Talk

T = TypeVar("T")
F = TypeVar("F", bound=Callable[..., Any])

DONE, FAILED, WRONG, FAULT, INTERRUPTED, NOBODY_READS = 0, 1, 2, 70, 130, 141

# What a terminal of few characters shows instead of the trade's own signs.
_PLAIN = str.maketrans(
    {
        "×": "x", "Ø": "dia. ", "ø": "dia. ", "°": " deg", "±": "+/-", "·": "*", "–": "-", "−": "-", "—": "-",
        "“": '"', "”": '"', "″": '"', "’": "'", "‘": "'", "…": "...", "½": " 1/2", "²": "2", "³": "3",
        "é": "e", "ä": "ae", "ö": "oe", "ü": "ue", "ß": "ss", "√": "root of ",
        "≥": ">=", "≤": "<=", "→": "->", "µ": "u", "σ": "s", "Δ": "d",
    }
)  # fmt: skip
_printed: ContextVar[bool] = ContextVar("printed", default=False)
_PIPED, _LEAST, _MOST = 100, 40, 120
"""Characters a line where no terminal says how many it has, and the fewest and most that are taken of one."""
_FEW = 3
"""Fewer files than this are done before a bar would be read."""

_QUIET = "dropleaf.quiet"


def _hush(context: click.Context, parameter: click.Parameter, asked: bool) -> None:
    context.meta[_QUIET] = asked


JOBS = click.argument(
    "jobs", metavar="JOB...", nargs=-1, type=click.Path(path_type=Path), shell_complete=jobs
)
SAMPLE = click.option(
    "--sample",
    "sampled",
    multiple=True,
    metavar="NAME",
    help="Take a sample (see sample).",
    shell_complete=samples,
)
OUT = click.option(
    "-o",
    "--out",
    type=click.Path(path_type=Path),
    default=Path(),
    metavar="DIR",
    help="Folder for the files, created if need be. Default: here.",
)


def JSON(command: F) -> F:  # noqa: N802 - used as the decorators above
    """Add --json and --quiet, which say what standard output is for."""
    quiet = click.option(
        "-q", "--quiet", is_flag=True, expose_value=False, callback=_hush,
        help="Print no answer: the exit status tells, and standard error what is wrong.",
    )  # fmt: skip
    document = click.option(
        "--json", "as_json", is_flag=True, help="Print one JSON document and nothing else."
    )
    return document(quiet(command))


def jobs_of(jobs: Sequence[Path], sampled: Sequence[str]) -> list[tuple[Path, bool]]:
    """Return the jobs that a command line names, each with whether it is a sample, which lies with us."""
    from sheets.actions.samples import sample

    if not jobs and not sampled:
        raise click.UsageError(tell("cli.no_job"), click.get_current_context())
    return [*((path, False) for path in jobs), *((sample(name), True) for name in sampled)]


class Result(NamedTuple):
    """What became of one job: the status, the JSON entry, the text, and the problems, if any.

    `short` is what standard error says beside a text that tells the problems itself.
    """

    status: int
    entry: dict[str, Any]
    text: str = ""
    problems: tuple[str, ...] = ()
    short: str = ""


class UnwritableError(Exception):
    """Standard output takes no more."""

    def __init__(self, reason: OSError) -> None:
        """Keep what the system said."""
        super().__init__(str(reason))
        self.reason = reason


def failed(path: Path, error: DropleafError) -> Result:
    """Return the result of a file that could not be worked on; its problems become its JSON errors."""
    problems = tuple(lines(error))
    entry = headed("errors", {"job_file": str(path), "errors": list(problems)})
    return Result(error.exit_status, entry, "", problems)


def report(results: Sequence[Result], as_json: bool, foot: str = "") -> int:
    """Print results in the order of the jobs and return the worst status; `foot` ends the text.

    A text tells what stops its job, so that standard error only says of which job to read it; beside a
    document, which is for programs, it is told there.
    """
    from sheets.actions.manifest import text

    for result in results:
        for problem in result.problems if as_json or not result.short else (result.short,):
            complain(problem)
    if as_json:
        say(text(results[0].entry if len(results) == 1 else [result.entry for result in results]))
    else:
        texts = [_decorated(result.text) for result in results if result.text]
        if texts:
            say("\n".join([*texts, foot] if foot else texts).rstrip("\n"))
    return max(result.status for result in results)


def columns(stream: TextIO | None = None) -> int:
    """Return how many characters a line of text may have: the terminal's, or 100 in a file or a pipe."""
    if not (stream or sys.stdout).isatty():
        return _PIPED
    return min(_MOST, max(_LEAST, shutil.get_terminal_size((_PIPED, 24)).columns))


def progress(items: Sequence[T], doing: str) -> Iterator[T]:
    """Give the items one by one, with a bar on standard error where a terminal is there to show it.

    It stays silent in a pipe, and for so few items that nobody waits.
    """
    if len(items) < _FEW or not sys.stderr.isatty():
        yield from items
        return
    with click.progressbar(items, label=doing, file=sys.stderr, show_pos=True) as bar:
        yield from bar


def say(text: str) -> None:
    """Print on standard output, but for --quiet; raise UnwritableError where it takes no more."""
    context = click.get_current_context(silent=True)
    if context is None or not context.meta.get(_QUIET) or context.params.get("as_json"):
        _show(text)


def listed(text: str) -> None:
    """Print a listing as `say` does, its lines folded to a terminal; in a file or a pipe each stays whole."""
    say(folded(text, columns()) if sys.stdout.isatty() else text)


def _show(text: str) -> None:
    _printed.set(True)
    try:
        click.echo(_showable(text, sys.stdout), color=_coloured(sys.stdout))
    except OSError as error:
        raise UnwritableError(error) from error


def paragraph(text: str, to_error: bool = False) -> None:
    """Print a text wrapped at words to the width of the terminal, below its own first word; for talk.

    It goes to standard error where standard output is kept for a document. Raise UnwritableError as `say`.
    """
    stream = sys.stderr if to_error else sys.stdout
    for each in text.split("\n"):
        found = _HEAD.match(each)
        head = found[0] if found else ""
        whole = "\n".join(wrapped(each[len(head) :], columns(stream), head))
        if to_error:
            click.echo(_showable(whole, stream), err=True)
        else:
            _show(whole)


_HEAD = re.compile(r"\s*(?:[0-9]+  )?")
"""What a paragraph's other lines stand clear of: its indent, and its number where it has one."""


def prompted(prompt: str, to_error: bool = False) -> str:
    """Return what is typed after a prompt; click.Abort where nobody types any more."""
    return str(click.prompt(prompt, default="", show_default=False, err=to_error))


def terminal(to_error: bool = False) -> "Talk":
    """Return how people are asked and told at the terminal.

    It goes to standard error where standard output is kept for a document.
    """
    from sheets.guide.talk import Talk

    return Talk(lambda words: prompted(words, to_error), lambda line: paragraph(line, to_error))


@contextlib.contextmanager
def keeping_typed(text: Callable[[], str], folder: Path, name: str, command: str) -> Iterator[None]:
    """Put readings that were typed into a file where they are interrupted, and say where and how to go on."""
    try:
        yield
    except (click.Abort, KeyboardInterrupt):
        if whole := text():
            from sheets.guide.talk import keep_text

            file = shlex.quote(str(keep_text(folder, name, whole)))
            click.echo("", err=True)
            complain(tell("command.kept_readings", file=file, command=command))
        raise


def begin() -> None:
    """Forget what was printed: a command line begins."""
    _printed.set(False)


def refuse(lines: Sequence[str], as_json: bool) -> None:
    """Print what is wrong on standard error; with --json as a document too, where no other was printed.

    Raise UnwritableError where standard output takes no more.
    """
    for line in lines:
        complain(line)
    if as_json and not _printed.get():
        from sheets.actions.manifest import text

        say(text(headed("errors", {"errors": list(lines)})))


def complain(line: str) -> None:
    """Print one line on standard error; what cannot be printed on a line is shown as its escape."""
    whole = str(Problem("", line))
    safe = "".join(c if c.isprintable() else c.encode("unicode_escape", "replace").decode() for c in whole)
    name = click.style("dropleaf:", fg="red", bold=True)
    # Where there is no standard error to write to, nobody can be told.
    with contextlib.suppress(OSError):
        click.echo(f"{name} {_showable(safe, sys.stderr)}", err=True, color=_coloured(sys.stderr))


def _coloured(stream: TextIO) -> bool:
    """Tell whether a stream takes colour: a terminal does, and one variable each forbids and asks for it.

    NO_COLOR (no-color.org) and FORCE_COLOR (force-color.org) count unless they are empty, the first before
    the second, as Python itself has it (the manual of Python 3.13, "Controlling color").
    """
    if os.environ.get("NO_COLOR"):
        return False
    return bool(os.environ.get("FORCE_COLOR")) or (stream.isatty() and os.environ.get("TERM") != "dumb")


def _decorated(text: str) -> str:
    """Return an answer with its first line and the levels of what was found set off; words say the same."""
    styles = {tell(f"finding.level.{level}"): style for level, style in _LEVELS.items()}
    first, *rest = text.split("\n")
    found = re.compile(rf"  ({'|'.join(map(re.escape, styles))}) ")
    lines = [
        f"  {click.style(at[1], **styles[at[1]])} {line[at.end() :]}" if (at := found.match(line)) else line
        for line in rest
    ]
    return "\n".join([click.style(first, bold=True), *lines])


_LEVELS: dict[str, dict[str, Any]] = {
    "stop": {"fg": "red", "bold": True},
    "warn": {"fg": "yellow", "bold": True},
    "unknown": {"fg": "cyan", "bold": True},
    "note": {"dim": True},
}


def _showable(text: str, stream: TextIO) -> str:
    """Return a text as it is, or in plain characters where the stream has no others."""
    encoding = getattr(stream, "encoding", None) or "utf-8"
    try:
        text.encode(encoding)
    except (UnicodeEncodeError, LookupError):
        return text.translate(_PLAIN)
    return text
