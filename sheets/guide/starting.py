"""From answers to a job file that draws: checked as a whole before anything is written."""

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

from geometry.core.errors import DropleafError, InputError, Problem
from geometry.core.say import Say
from sheets.actions.check import report
from sheets.actions.manifest import text as json_text
from sheets.files.write.deliver import staging
from sheets.guide.asking import ask_all, asked, settle
from sheets.guide.bench_questions import QUESTIONS
from sheets.guide.boss_questions import TILT
from sheets.guide.job_text import job_text
from sheets.guide.lengths import units_of
from sheets.guide.talk import Talk
from sheets.home.jobs import from_bytes
from sheets.job import toml as toml_text
from sheets.job.read import place_job, tubes_of
from sheets.job.schema import FILE, schema
from sheets.job.units import given as shown
from sheets.words.lengths import telling
from sheets.words.tell import lines, told


def answers_file(path: Path) -> dict[str, str]:
    """Return the answers in a TOML file, by question; tables and dotted keys are the same thing.

    Raise InputError where it cannot be read or holds what is no answer.
    """
    document = toml_text.document_in(path, "a file of answers takes about 2 kB")
    found: dict[str, str] = {}
    problems: list[Problem] = []
    _flatten(document, "", found, problems, str(path))
    if problems:
        raise InputError(*problems)
    return found


def _flatten(
    node: Mapping[str, Any], before: str, found: dict[str, str], problems: list[Problem], where: str
) -> None:
    for key, value in node.items():
        name = f"{before}{key}"
        if isinstance(value, dict):
            _flatten(value, f"{name}.", found, problems, where)
        elif isinstance(value, bool):
            found[name] = "yes" if value else "no"
        elif isinstance(value, str | int | float):
            found[name] = str(value)
        elif isinstance(value, list) and all(isinstance(each, str | int | float) for each in value):
            found[name] = "; ".join(str(each) for each in value)
        else:
            problems.append(Problem(f"{where}: {name}", f"{shown(value)} given; one answer is wanted"))


def settings(pairs: tuple[str, ...]) -> dict[str, str]:
    """Return the answers of KEY=VALUE texts; raise InputError for one without the sign."""
    found = {}
    for pair in pairs:
        key, sign, value = pair.partition("=")
        if not sign:
            raise InputError(Problem("--set", f"{shown(pair)} given; write KEY=VALUE, as mount.end=rear"))
        found[key.strip()] = value
    return found


def started(
    given: Mapping[str, str],
    talk: Talk | None,
    start: str = "",
    before: Mapping[str, str] | None = None,
    keep: Callable[[Mapping[str, str]], None] = lambda answers: None,
) -> tuple[dict[str, str], str]:
    """Return the answers and the text of a job file that can be placed.

    They are asked for through `talk`, where there is one, from the question `start` on with the answers
    `before` it, and handed to `keep` after each. What only the whole job shows is told, and asking goes on at
    the question that it is about; without a `talk` it is an InputError.
    """
    if talk is None:
        answers = settle(given)
        written = job_text(answers)
        _placed(written)
        return answers, written
    answers = ask_all(given, talk, start, before, keep)
    tilt_asked = False
    while True:
        written = job_text(answers)
        try:
            _placed(written)
        except DropleafError as error:
            with telling(units_of(answers)):
                problems = lines(error)
            for problem in problems:
                talk.say(f"  {problem}")
            answers = ask_all({}, talk, _about(error.problems[0].where), answers, keep)
        else:
            if tilt_asked or not _needs_tilt(written, talk):
                return answers, written
            tilt_asked = True
            answers["mount.tilt"] = asked(TILT, answers, talk) or answers.get("mount.tilt", "")
            keep(answers)


def _needs_tilt(written: str, talk: Talk) -> bool:
    """Tell whether a mount does not hold at its tilt but does at others, which are told then."""
    try:
        checked = report(from_bytes(written.encode(), Path()))
    except DropleafError:
        # What the whole set-up refuses, drawing tells; a tilt is no answer to it.
        return False
    tilts, tilt = checked.setup.tilts, checked.source.job.mount.tilt
    if tilts is None or not tilts.ranges or any(each.low <= tilt <= each.high for each in tilts.ranges):
        return False
    talk.say("")
    for sentence in tilts.sentences:
        with telling(checked.source.job.paper.units):
            said = told(sentence)
        talk.say(f"  {said}")
    return True


def _placed(written: str) -> None:
    # The bytes that will be written, by the reader of files, so that what passes here draws.
    job = from_bytes(written.encode(), Path()).job
    place_job(job)
    tubes_of(job)


def _about(where: Say | str) -> str:
    """Return the key of the question that a problem of the job is about."""
    keys = [question.key for question in QUESTIONS]
    if isinstance(where, Say):
        return "mount.end"
    if where in keys:
        return where
    tube = where.rpartition(".diameters")[0]
    return f"{tube}.place.1" if f"{tube}.place.1" in keys else "mount.end"


def write(folder: Path, name: str, written: str, replace: bool) -> Path:
    """Write the job file, and the schema for editors beside it, into a folder; return the job file.

    Raise InputError where a file of that name is there and is not to be replaced, DeliveryError where the
    files cannot be put there.
    """
    target = folder / f"{name}.toml"
    if target.exists() and not replace:
        raise InputError(
            Problem(str(target), "is there already; give another frame.id or folder, or --replace it")
        )
    with staging(folder) as stage:
        (stage / target.name).write_text(written, encoding="utf-8", newline="\n")
        (stage / FILE).write_text(json_text(schema()) + "\n", encoding="utf-8", newline="\n")
    return target
