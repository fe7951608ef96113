"""`dropleaf learn`: from readings on a mount that works to an interface row of one's own."""

from pathlib import Path
from typing import Any

import click

from sheets.console import DONE, FAILED, JSON, complain, say


@click.command("learn")
@click.option(
    "--readings", "file", type=click.Path(path_type=Path), metavar="FILE.toml", help="Default: ask for them."
)
@click.option("--family", metavar="FAMILY", help="tab, post or flat.")
@click.option("--end", metavar="END", help="rear or front.")
@click.option("--native", metavar="MM", help="Disc that the mount is made for, without adapter.")
@click.option("--on", metavar="TEXT", help="What was measured: a frame, a caliper, an adapter.")
@click.option("--date", metavar="DATE", help="When it was measured, such as 2026-01-31.")
@click.option("--by", metavar="TEXT", help="Who measured it.")
@click.option("--resolution", metavar="MM", help="What the caliper shows to. Default: 0.05.")
@click.option("--save", metavar="NAME", help="Keep the row in your own table under this name.")
@click.option("--replaces", is_flag=True, help="With --save: the row stands in for the shipped one of NAME.")
@click.option("--replace", is_flag=True, help="With --save: write over your own row of this name and size.")
@JSON
def command(
    file: Path | None, save: str | None, replaces: bool, replace: bool, as_json: bool, **told: str | None
) -> int:
    """Make an interface row from readings on a mount that works.

    Measure a frame, a caliper or an adapter. Give several readings of each distance: their spread says how
    good the row is. The row is compared with the shipped one, and printed for a job file.

    \b
    A readings file; any length may be a list, or a text with a unit:
      family = "flat"        # tab, post or flat
      end = "rear"           # or front
      native = 140
      on = "a frame that works"
      date = 2026-01-31
      by = "the builder"
      resolution = 0.05      # may be left out, as may hole
      [readings]
      axle = 12.0            # what it is read over: axle, pin
      pin = 5.0
      face-over = [37.1, 37.15]     # over both, -between, or alone: worked out
      along-near-over = [34.4, 34.35]
      spacing-over = 39.55
      side = -3.05           # or side-outer with width; front: side-inner with pocket
    Tabs have near, far and spacing; posts and flats face, along-near, along-far and spacing.

    Exit status: 0 done; 1 readings contradict each other; 2 wrong input.

    \b
    Example:
      dropleaf learn --readings samples/readings/flat-rear.toml --save shop-flat
      a job then says interface = "shop-flat"
    """
    from geometry.errors import InputError
    from sheets import learn
    from sheets.job import blaming
    from sheets.manifest import text

    if save is None and (replaces or replace):
        flag = "--replaces" if replaces else "--replace"
        raise InputError.at(flag, "given without --save NAME; it says how the row is kept")
    if save is not None:
        # Before anything is asked: nobody should read a mount for a name that cannot be kept.
        learn.check_new_name(save, replaces)
    given = _told(told)
    if file is not None:
        found = learn.measured({**learn.document_of(file), **given}, str(file))
        with blaming(file):
            lesson = learn.lesson(found)
    else:
        lesson = learn.lesson(learn.measured(_asked(given, as_json)))
    shown = learn.block(lesson, save, replaces)
    kept = []
    if save is not None:
        learn.check_name(lesson, save)
    if save is not None and not lesson.doubts:
        from sheets.own_table_file import keep

        kept = [str(keep(shown, replace))]
    if as_json:
        say(text(learn.document(lesson, shown, kept)))
    else:
        say("\n".join((learn.text(lesson, shown), *(f"\n{each}: row {save} kept" for each in kept))))
    for doubt in lesson.doubts:
        complain(f"{file or 'readings'}: {doubt}" + (f"; {save} was not kept" if save else ""))
    return FAILED if lesson.doubts else DONE


def _told(told: dict[str, str | None]) -> dict[str, Any]:
    """Return what the command line says, checked; raise InputError, led by the option, with all problems."""
    from geometry.errors import InputError, Problem
    from sheets import learn

    found: dict[str, Any] = {}
    problems = []
    for key, value in told.items():
        try:
            if value is not None:
                found[key] = learn.said(key, value)
        except ValueError as error:
            problems.append(Problem(f"--{key}", str(error)))
    if problems:
        raise InputError(*problems)
    return found


def _asked(given: dict[str, Any], as_json: bool) -> dict[str, Any]:
    """Return what is typed at the terminal; with --json all talk goes to standard error."""
    from sheets.learn_asking import asked

    def prompt(words: str) -> str:
        return str(click.prompt(words, default="", show_default=False, err=as_json))

    def tell(line: str) -> None:
        click.echo(line, err=as_json)

    return asked(given, prompt, tell)
