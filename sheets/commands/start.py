"""`dropleaf start`: questions about one's own frame, and a job file from the answers."""

import contextlib
import shlex
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import click

from sheets.console import DONE, OUT, complain, paragraph, say, terminal
from sheets.offered import jobs
from sheets.words.tell import tell

if TYPE_CHECKING:
    from sheets.guide.talk import Talk


def _keys(context: click.Context, parameter: click.Parameter, asked: bool) -> None:
    """Print the questions' keys, and leave."""
    if not asked or context.resilient_parsing:
        return
    from sheets.guide.asking import listed

    say(listed())
    context.exit()


@click.command("start")
@click.argument("job", metavar="[NAME|JOB.toml]", required=False, shell_complete=jobs)
@OUT
@click.option(
    "--from",
    "form",
    type=click.Path(path_type=Path),
    metavar="FILE.pdf",
    help="Take a filled measuring sheet (see blank).",
)
@click.option(
    "--answers", type=click.Path(path_type=Path), metavar="FILE.toml", help="Answers by their keys."
)
@click.option("--set", "pairs", multiple=True, metavar="KEY=VALUE", help="One answer; may be given often.")
@click.option(
    "--keys",
    is_flag=True,
    expose_value=False,
    is_eager=True,
    callback=_keys,
    help="List the questions with their keys, for --set and --answers, and exit.",
)
@click.option(
    "--units",
    type=click.Choice(("mm", "in", "both")),
    help="Ask and tell in these units, and keep them in the job. in: a bare number is inches. "
    "Default: the job's own, else mm.",
)
@click.option("--yes", is_flag=True, help="Ask nothing: take the default where no answer is given.")
@click.option("--replace", is_flag=True, help="Write over a job file of the same name.")
@click.option("--draw/--no-draw", "drawn", default=None, help="Draw at once, or do not ask whether to.")
def command(
    job: str | None,
    out: Path,
    form: Path | None,
    answers: Path | None,
    pairs: tuple[str, ...],
    units: str | None,
    yes: bool,
    replace: bool,
    drawn: bool | None,
) -> int:
    """Ask about your frame and write a job file that `draw` takes.

    Each answer is read as soon as it is given, what follows from it is shown, and it is kept in NAME.draft:
    start NAME goes on with a job that was left, whatever stopped it. ? explains a question, < goes back, what
    the trade calls a thing is asked back.

    With a job file that is there, its answers are listed, and each may be changed, as may every other key;
    what that does to the verdict is shown before anything is written. Until then changes are kept in
    NAME.changes, and start NAME.toml goes on with them.

    With --units in, questions ask for inches, and a bare number that is typed or --set is inches: it is kept
    as typed, with its unit. A unit that is typed always counts. In files, bare numbers are mm.

    \b
    Example:
      dropleaf start frame-1 --out bench --yes --set other.stay=no --set "tubes.chainstay.place.1=25: 16"
      writes bench/frame-1.toml; without --yes it asks for everything else
    """
    from sheets.guide.lengths import UNITS
    from sheets.guide.opening import named, units_in, with_settings
    from sheets.guide.starting import answers_file, settings

    given: dict[str, str] = {} if units is None else {UNITS: units}
    if form is not None:
        from sheets.guide.form import answers_of

        given = {**answers_of(form), **given}
    if answers is not None:
        given = {**given, **answers_file(answers), **({} if units is None else {UNITS: units})}
    talk = None if yes else terminal()
    folder, name, there = (out, "", False) if job is None else named(job, out)
    given = with_settings(given, settings(pairs), units_in(folder, name, there))
    if there:
        from sheets.guide.changing import changed
        from sheets.guide.draft import changes_of

        file = folder / f"{name}.toml"
        # A sheet says these two too, which no job file does.
        given = {key: answer for key, answer in given.items() if key not in ("axle.kind", "other.stay")}
        with _kept_in(lambda: changes_of(file), file):
            if changed(file, given, talk, paragraph) is None:
                return DONE
    else:
        file = _new(folder, {"frame.id": name, **given} if name else given, talk, name, replace)
    say(tell("command.written", file=str(file)))
    later = tell("command.draw_later", file=shlex.quote(str(file)))
    if drawn is None and talk is not None:
        from sheets.guide.talk import agreed

        first = tell("command.written_already", file=shlex.quote(str(file)))
        try:
            drawn = agreed(talk, tell("command.draw_now"), True, tell("command.what_draw_does"), first=first)
        except (click.Abort, KeyboardInterrupt):
            click.echo("", err=True)
            complain(later)
            raise
    if not drawn:
        say(later)
        return DONE
    from sheets.commands.draw import command as draw

    status: int = click.get_current_context().invoke(
        draw, jobs=(file,), out=None, printer=None, replace=False, as_json=False
    )
    return status


@contextlib.contextmanager
def _kept_in(kept: Callable[[], Path | None], job: Path | None = None) -> Iterator[None]:
    """Say of questions that are interrupted where their answers are kept; start goes on with it, or `job`."""
    try:
        yield
    except (click.Abort, KeyboardInterrupt):
        file = kept()
        if file is not None and file.is_file():
            click.echo("", err=True)
            complain(tell("command.kept", file=str(file), job=shlex.quote(str(job or file))))
        raise


def _new(out: Path, given: dict[str, str], talk: "Talk | None", name: str, replace: bool) -> Path:
    """Return the job file that was written; where it is asked for, each answer is kept in its draft."""
    from sheets.guide.draft import Draft
    from sheets.guide.lengths import UNITS, units_of
    from sheets.guide.opening import gone_on, other_name, taken_up, units_in
    from sheets.guide.starting import started, write

    if talk is None:
        draft = Draft(out)
        found, text = started({**taken_up(draft, name, given), **given}, None)
        if not given.get("mount.interface"):
            from sheets.guide.proposals import proposal

            paragraph(proposal(found))
        file = write(out, found["frame.id"], text, replace)
        draft.done()
        return file
    units = units_of({UNITS: units_in(out, name, False), **given})
    paragraph(tell("command.welcome", bare=tell(f"command.bare.{units}")))
    draft = Draft(out)
    with _kept_in(lambda: draft.file):
        before, start, given = gone_on(draft, name, given, talk)
        found, text = started(given, talk, start, before, draft.keep)
        while not replace:
            named = other_name(out, found, text, talk)
            if named is None:
                found, text = started({}, talk, list(found)[-1], found, draft.keep)
                continue
            found, text, replace = named
            draft.keep(found)
            break
        file = write(out, found["frame.id"], text, replace)
    if draft.kept_apart is not None:
        paragraph(tell("command.kept_apart", file=str(draft.kept_apart)))
    draft.done()
    return file
