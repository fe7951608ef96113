"""`dropleaf survey`: readings on a finished mount, a verdict on it, and what to do."""

import shlex
from pathlib import Path
from typing import TYPE_CHECKING

import click

from geometry.core.errors import InputError
from geometry.core.say import say
from sheets.console import JSON, WRONG, complain, keeping_typed, terminal
from sheets.console import say as show
from sheets.offered import jobs
from sheets.words.as_json import headed

if TYPE_CHECKING:
    from sheets.actions.readings_file import Read
    from sheets.actions.survey import Bench


@click.command("survey")
@click.argument("job", metavar="JOB|FILE.pdf", type=click.Path(path_type=Path), shell_complete=jobs)
@click.option(
    "--readings",
    "file",
    type=click.Path(path_type=Path),
    metavar="FILE",
    help="Readings, TOML with a table per check point or CSV (point,reading,value,unit). Default: ask.",
)
@click.option(
    "--point",
    metavar="POINT",
    help="tacked, cold, aligned, faced or finished. Default: the last with readings.",
)
@click.option("--resolution", metavar="STEP", help="What the caliper shows to, mm. Default: 0.05.")
@click.option(
    "--pin",
    metavar="SIZE",
    help="Diameter of what stood in the holes, mm. Default: the job's pin, or a drill of the hole's size.",
)
@click.option(
    "--record/--no-record", default=True, show_default=True, help="Keep the errors in your pull history."
)
@click.option(
    "--packet",
    type=click.Path(path_type=Path),
    metavar="FILE.pdf",
    help="File the survey in a new revision of this packet. Default: of the packet that holds the readings.",
)
@click.option(
    "--file/--no-file", "filing", default=True, help="File it there, or only tell. Default: file it."
)
@JSON
def command(
    job: Path,
    file: Path | None,
    point: str | None,
    resolution: str | None,
    pin: str | None,
    record: bool,
    packet: Path | None,
    filing: bool,
    as_json: bool,
) -> int:
    """Survey a finished mount: from readings to a verdict and a remedy.

    Give a JOB and a file of readings, or answer the questions; or a packet whose traveller was filled in as a
    form, which gets a new revision with the survey beside it. A reading may be given several times. It is a
    record, no test; a brake mount that is out of tolerance is not ridden.

    Exit status: 0 right or usable with remedy; 1 not usable or cannot tell; 2 wrong input, or a verdict that
    could not be filed or kept.

    \b
    Example:
      dropleaf survey samples/dunlin.toml --readings samples/readings/dunlin.toml
      which has a table [finished] with axle-to-near-over = [52.6, 52.65] and so on
    """
    from sheets.actions import survey, survey_report
    from sheets.actions.manifest import text
    from sheets.filing import surveying
    from sheets.words.lengths import telling
    from sheets.words.tell import lines, tell

    step = survey.checked_resolution(resolution)
    _check_point(point)
    bench, found = _given(job, file, point, pin, as_json)
    with telling(bench.source.job.paper.units):
        target = packet or (job if job.suffix.lower() == ".pdf" else None)
        done = surveying.run(bench, found, point, step, record=record, packet=target if filing else None)
        result, filed = done.result, done.filed
        failed = [] if done.failed is None else lines(done.failed)
        document = survey_report.survey_document(result)
        if as_json:
            told = {"errors": failed} if failed else {}
            whole = {**document, "filed": None if filed is None else str(filed), **told}
            show(text(headed("survey", whole)))
        else:
            shown = [survey_report.survey_text(result).rstrip("\n")]
            if filed is not None:
                shown += ["", tell("survey.ask.filed", file=str(filed), packet=str(target))]
            show("\n".join(shown))
        for line in failed:
            complain(line)
        if result.status:
            reasons = (*result.verdict.reasons, *(each.text for each in result.verdict.remedies))
            code = "survey.ask.complaint_more" if len(reasons) > 1 else "survey.ask.complaint"
            verdict, more = survey_report.word(result.verdict), len(reasons) - 1
            complain(tell(code, job=str(job), verdict=verdict, reason=reasons[0], more=more))
        return WRONG if failed else result.status


def _check_point(point: str | None) -> None:
    from sheets.actions.readings_file import no_point
    from sheets.job.operations import CHECK_POINTS

    if point is not None and point not in CHECK_POINTS:
        raise InputError.at("--point", no_point(point))


def _given(
    job: Path, file: Path | None, point: str | None, pin: str | None, as_json: bool
) -> "tuple[Bench, Read]":
    """Return the job and the readings, from a filled packet, from a file, or asked for."""
    from sheets.actions import readings_file as survey_readings
    from sheets.actions import survey
    from sheets.guide.survey_readings import asked
    from sheets.home.jobs import load
    from sheets.words.lengths import telling
    from sheets.words.tell import tell

    if job.suffix.lower() == ".pdf":
        if file is not None:
            raise InputError.at("--readings", say("survey.ask.in_packet"))
        return survey.from_packet(job, survey.checked_pin(pin))
    bench = survey.bench_of(load(job), survey.checked_pin(pin))
    with telling(bench.source.job.paper.units):
        if file is not None:
            entries = survey_readings.entries_of(file)
            return bench, survey_readings.read(entries, bench.takeable, bench.left_out)
        typed = [""]
        told = tell("command.again_survey", job=shlex.quote(str(job)))
        with keeping_typed(lambda: typed[-1], job.parent, f"{job.stem}-readings", told):
            return bench, asked(bench, point, terminal(as_json), typed.append)
