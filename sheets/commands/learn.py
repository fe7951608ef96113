"""`dropleaf learn`: from readings on a mount that works to an interface row of one's own."""

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

import click

from sheets.console import DONE, FAILED, JSON, WRONG, complain, keeping_typed, listed, say, terminal
from sheets.offered import papers
from sheets.words.as_json import headed
from sheets.words.lengths import Units
from sheets.words.tell import tell

if TYPE_CHECKING:
    from sheets.actions.learn import Lesson
    from sheets.ink.records import Paper


class _Keeping(NamedTuple):
    """How a pooled row is kept: under which name, in whose place, and whether in spite of what was found."""

    save: str | None
    replaces: bool
    replace: bool
    despite: bool


@click.command("learn")
@click.argument("files", nargs=-1, type=click.Path(path_type=Path), metavar="[FILES]...")
@click.option("--pool", "pooling", is_flag=True, help="Put the mounts of several FILES together.")
@click.option(
    "--readings", "file", type=click.Path(path_type=Path), metavar="FILE.toml", help="Default: ask for them."
)
@click.option(
    "--units",
    type=click.Choice(("mm", "in", "both")),
    default="mm",
    help="Ask in these units. in: a bare length that is typed is inches, in options too. Files are mm. "
    "Default: mm.",
)
@click.option("--family", metavar="FAMILY", help="tab, post or flat.")
@click.option("--end", metavar="END", help="rear or front.")
@click.option("--native", metavar="MM", help="Disc that the mount is made for, without adapter.")
@click.option("--on", metavar="TEXT", help="What was measured: a frame, a caliper, an adapter.")
@click.option("--date", metavar="DATE", help="When it was measured, such as 2026-01-31.")
@click.option("--by", metavar="TEXT", help="Who measured it.")
@click.option("--resolution", metavar="MM", help="What the caliper shows to. Default: 0.05.")
@click.option("--caliper", metavar="MM", help="How far the caliper itself may read off. Default: 0.03.")
@click.option("--play", metavar="MM", help="How loose the pins are: hole less pin. Default: up to 0.1.")
@click.option("--hole", metavar="MM", help="Drill of the holes, or width of the slots.")
@click.option("--kind", metavar="KIND", help="What was measured: frame, fork, caliper or adapter.")
@click.option("--maker", metavar="TEXT", help="Who made the part. Pooled mounts are counted by makers.")
@click.option("--model", metavar="TEXT", help="Which model it is.")
@click.option("--year", metavar="YEAR", help="Of which year it is.")
@click.option("--instrument", metavar="TEXT", help="What it was read with, such as a caliper of 150.")
@click.option("--temperature", metavar="C", help="How warm it was, degrees Celsius.")
@click.option(
    "--adapter",
    metavar="MM",
    help="Step of the adapter on which the mount was read, such as 20. Default: none.",
)
@click.option(
    "--report",
    type=click.Path(path_type=Path),
    metavar="DIR",
    help="Write a report to this folder: one page, and one small file that others can pool.",
)
@click.option("--name", metavar="TEXT", help="With --report: who measured. Default: the report names nobody.")
@click.option(
    "--paper", metavar="PAPER", shell_complete=papers, help="With --report: its paper. Default: A4."
)
@click.option("--save", metavar="NAME", help="Keep the row in your own table under this name.")
@click.option("--replaces", is_flag=True, help="With --save: the row stands in for the shipped one of NAME.")
@click.option("--replace", is_flag=True, help="With --save: write over your own row of this name and size.")
@click.option(
    "--despite",
    is_flag=True,
    help="With --save: keep it although another size fits better, or none does. With --pool: count it.",
)
@JSON
def command(
    files: tuple[Path, ...],
    pooling: bool,
    file: Path | None,
    report: Path | None,
    name: str | None,
    paper: str | None,
    save: str | None,
    replaces: bool,
    replace: bool,
    despite: bool,
    units: Units,
    as_json: bool,
    **told: str | None,
) -> int:
    """Make an interface row from readings on a mount that works.

    Measure a frame, a caliper or an adapter. Give several readings of each distance: their spread says how
    good the row is. The row is compared with every shipped one of its family, and printed for a job file.
    Where another native size fits better than the one you name, or none does, it is kept only with --despite.
    Save a second mount under the same name: until then every sheet says MEASURED ON ONE MOUNT.

    \b
    A readings file; any length may be a list, or a text with a unit:
      family = "flat"        # tab, post or flat
      end = "rear"           # or front
      native = 140
      on = "a frame that works"
      date = 2026-01-31
      by = "the builder"
      maker = "Saltmarsh"    # of the part: three makers make grade M; leave out if unknown
      resolution = 0.05      # may be left out, as may caliper, play and hole;
                             # and so may what a report says: see the options
      [readings]
      axle = 12.0            # what it is read over: axle, pin
      pin = 5.0
      face-over = [37.1, 37.15]     # over both, -between, or alone: worked out
      along-near-over = [34.4, 34.35]
      spacing-over = 39.55
      side = -3.05           # or side-outer with width; front: side-inner with pocket
    Tabs have near, far and spacing; posts and flats face, along-far and spacing, and along-near where the
    pin stands out beyond the axle. Readings over and between together make up for loose pins.

    A report (--report DIR) is one page and one small file, which names nobody unless you say --name. Put the
    files of several mounts together with --pool: where mounts of three makers agree, the row is graded M. A
    file that cannot be read, that fits another size than it says, or that is one of the others again is named
    and left out; then nothing is kept without --despite. Mounts that do not agree make no row.

    Exit status: 0 done; 1 readings contradict each other, or fit another size; 2 wrong input.

    \b
    Example:
      dropleaf learn --readings samples/readings/flat-rear.toml --save shop-flat
      a job then says interface = "shop-flat"
      dropleaf learn --readings samples/readings/flat-rear.toml --report drawn
      dropleaf learn --pool samples/readings/flat-rear.toml
    """
    from geometry.core.errors import DropleafError, InputError
    from sheets.actions import learn, learn_keep, learn_words
    from sheets.actions.manifest import text
    from sheets.job.read import blaming

    if pooling:
        others: dict[str, Any] = {"--readings": file, "--report": report, "--name": name, "--paper": paper}
        others |= {f"--{key}": value for key, value in told.items()}
        return _pooled(files, others, _Keeping(save, replaces, replace, despite), as_json)
    if files:
        raise InputError.at(str(files[0]), tell("pool.needs_pool"))
    for flag, given_ in (("--replaces", replaces), ("--replace", replace), ("--despite", despite)):
        if save is None and given_:
            raise InputError.at(flag, tell("lesson.save_first"))
    for flag, also in (("--name", name), ("--paper", paper)):
        if report is None and also is not None:
            raise InputError.at(flag, tell("report.without"))
    page = None if report is None else _paper_and_name(paper, name)
    if save is not None:
        # Before anything is asked: nobody should read a mount for a name that cannot be kept.
        learn.check_new_name(save, replaces)
    given = _told(told, units)
    document = None
    if file is not None:
        found = learn.measured({**learn.document_of(file), **given}, str(file))
        with blaming(file):
            lesson = learn.lesson(found)
    else:
        document = _asked(given, None if replace else save, as_json, learn.MORE if report else (), units)
        try:
            lesson = learn.lesson(learn.measured(document))
        except InputError:
            _keep_typed(document, as_json)
            raise
        if save is not None and not despite and not lesson.doubts:
            lesson, despite = _confirmed(lesson, as_json)
    keeping, shown, joined, apart, kept = learn_keep.kept(lesson, save, replaces, replace, despite)
    if document is not None and save is not None and not kept:
        _keep_typed(document, as_json)
    reported = None
    if report is not None and page is not None and not lesson.doubts:
        from sheets.actions.mount_report import write_report

        try:
            reported = write_report(lesson, report, *page)
        except DropleafError:
            if document is not None:
                _keep_typed(document, as_json)
            raise
    if as_json:
        told_of = {} if reported is None else {"report": reported.document}
        say(text(headed("learn", {**learn_words.document(lesson, shown, kept, joined), **told_of})))
    else:
        kept_in = (f"\n{tell('lesson.kept', file=each, name=str(save))}" for each in kept)
        ends = () if reported is None else ("", *reported.lines)
        listed("\n".join((learn_words.text(lesson, shown, joined), *kept_in, *ends)))
    if apart:
        complain(f"{file or 'readings'}: {apart}")
        return FAILED
    if report is not None and lesson.doubts:
        complain(tell("report.not_written", where=str(file or "readings")))
    return _complaints(lesson, f"{file or 'readings'}", save, keeping, despite)


def _pooled(files: Sequence[Path], also: Mapping[str, Any], keeping: _Keeping, as_json: bool) -> int:
    """Put the mounts of several files together, print what they come to, and return the exit status."""
    from geometry.core.errors import InputError, Problem
    from sheets.actions import learn, pool_words
    from sheets.actions.manifest import text
    from sheets.actions.pool import pool
    from sheets.actions.pool_keep import outcome

    problems = [Problem(flag, tell("pool.not_with")) for flag, value in also.items() if value is not None]
    unsaved = {"--replaces": keeping.replaces, "--replace": keeping.replace}
    if keeping.save is None:
        problems += [Problem(flag, tell("lesson.save_first")) for flag, value in unsaved.items() if value]
    if problems:
        raise InputError(*problems)
    if keeping.save is not None:
        learn.check_new_name(keeping.save, keeping.replaces)
    found = pool(files, keeping.despite)
    done = outcome(found, *keeping)
    if as_json:
        kept = [done.kept] if done.kept else []
        say(text(headed("pool", pool_words.document(found, done.shown, kept))))
    else:
        kept_in = [f"\n{tell('lesson.kept', file=done.kept, name=str(keeping.save))}"] if done.kept else []
        listed("\n".join((pool_words.text(found, done.shown), *kept_in)))
    for each in done.said:
        complain(each)
    if found.wrong:
        return WRONG
    return DONE if done.good else FAILED


def _paper_and_name(paper: str | None, name: str | None) -> tuple["Paper", str]:
    """Return a report's paper and who measured; raise InputError, led by the option, for a wrong one."""
    from geometry.core.errors import InputError, RefusedError
    from sheets.actions.one_sheet import paper_named
    from sheets.job.limits import lettered

    try:
        return paper_named(paper or "A4"), lettered(name.strip()) if name and name.strip() else ""
    except RefusedError as error:
        raise InputError.at("--name", error.what) from error


def _complaints(lesson: "Lesson", where: str, save: str | None, kept: bool, despite: bool) -> int:
    """Tell why a row was not kept, or should not be; return the exit status."""
    lost = save if save and not kept else ""
    for doubt in lesson.doubts:
        complain(tell("lesson.not_kept", where=where, what=doubt, name=lost) if lost else f"{where}: {doubt}")
    asked = () if despite and save is not None else lesson.questions
    for question in asked:
        said = f"{where}: {question}"
        if lost and not lesson.doubts:
            said = tell("lesson.despite", where=where, what=question, name=lost)
        complain(said)
    return FAILED if lesson.doubts or asked else DONE


def _confirmed(lesson: "Lesson", as_json: bool) -> tuple["Lesson", bool]:
    """Ask at the terminal whether a mount that fits another size is kept; return it, and whether it is."""
    from dataclasses import replace

    from sheets.actions import learn
    from sheets.guide.learn_readings import confirmed

    while lesson.questions:
        answer = confirmed(lesson, terminal(as_json))
        if isinstance(answer, bool):
            return lesson, answer
        lesson = learn.lesson(replace(lesson.measured, native=answer))
    return lesson, False


def _told(told: dict[str, str | None], units: Units) -> dict[str, Any]:
    """Return what the command line says, checked; raise InputError, led by the option, with all problems."""
    from geometry.core.errors import InputError, Problem, RefusedError
    from sheets.actions import learn
    from sheets.actions.readings_file import with_unit
    from sheets.guide.learn_readings import LENGTHS

    found: dict[str, Any] = {}
    problems = []
    for key, value in told.items():
        try:
            if value is not None:
                found[key] = learn.said(key, with_unit(value, units) if key in LENGTHS else value)
        except RefusedError as error:
            problems.append(Problem(f"--{key}", error.what))
    if problems:
        raise InputError(*problems)
    return found


def _asked(
    given: dict[str, Any], save: str | None, as_json: bool, more: Sequence[str], units: Units
) -> dict[str, Any]:
    """Return what is typed at the terminal, for a row that is to be kept under the name `save`, if any.

    `more` are keys that are asked for too.
    """
    from sheets.actions.learn_keep import row_of
    from sheets.actions.learn_second import check_takes
    from sheets.guide.learn_readings import asked, file_text

    def check(head: Mapping[str, Any]) -> None:
        kept = None if save is None else row_of(save, head["end"], head["native"])
        if kept is not None:
            check_takes(kept, head["on"])

    typed: dict[str, Any] = {}
    with keeping_typed(
        lambda: f"{file_text(typed)}\n" if typed else "",
        Path(),
        "learn-readings",
        tell("command.again_learn"),
    ):
        return asked(given, terminal(as_json), check, more, units, typed.update)


def _keep_typed(document: dict[str, Any], as_json: bool) -> None:
    """Show readings that came to nothing as a readings file: mended, it can be given with --readings."""
    from sheets.guide.learn_readings import file_text

    click.echo(f"\n{tell('lesson.typed')}\n{file_text(document)}\n", err=as_json)
