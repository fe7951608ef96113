"""`dropleaf start`: questions about one's own frame, and a job file from the answers."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from sheets.console import DONE, paragraph, prompted, say
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
@click.option(
    "--out", type=click.Path(path_type=Path), metavar="DIR", default=Path(), help="Folder. Default: here."
)
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
@click.option("--yes", is_flag=True, help="Ask nothing: take the default where no answer is given.")
@click.option("--replace", is_flag=True, help="Write over a job file of the same name.")
@click.option("--draw/--no-draw", "drawn", default=None, help="Draw at once, or do not ask whether to.")
def command(
    out: Path,
    form: Path | None,
    answers: Path | None,
    pairs: tuple[str, ...],
    yes: bool,
    replace: bool,
    drawn: bool | None,
) -> int:
    """Ask about your frame and write a job file that `draw` takes.

    Each answer is read as soon as it is given, and what follows from it is shown.

    \b
    Example:
      dropleaf start --out bench --yes --set other.stay=no --set "tubes.chainstay.place.1=16 at 25"
      writes bench/frame-1.toml; without --yes it asks for everything else
    """
    from sheets.guide.starting import answers_file, settings, started, write

    given: dict[str, str] = {}
    if form is not None:
        from sheets.guide.form import answers_of

        given |= answers_of(form)
    if answers is not None:
        given |= answers_file(answers)
    given |= settings(pairs)
    talk = None if yes else _talk()
    if talk is not None:
        say(tell("command.welcome"))
    found, text = started(given, talk)
    name = found["frame.id"]
    if talk is not None and (out / f"{name}.toml").exists() and not replace:
        replace = click.confirm(tell("command.write_over", file=f"{out / name}.toml"), default=False)
    job = write(out, name, text, replace)
    say(tell("command.written", file=str(job)))
    if drawn is None and talk is not None:
        drawn = click.confirm(tell("command.draw_now"), default=True)
    if not drawn:
        say(tell("command.draw_later", file=str(job)))
        return DONE
    from sheets.commands.draw import command as draw

    status: int = click.get_current_context().invoke(
        draw, jobs=(job,), out=None, printer=None, replace=False, as_json=False
    )
    return status


def _talk() -> "Talk":
    from sheets.guide.talk import Talk

    return Talk(prompted, paragraph)
