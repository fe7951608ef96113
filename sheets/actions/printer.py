"""From what a builder read on a proof to a printer that may be kept: read, judged, and told in words."""

import datetime
from collections.abc import Sequence
from typing import Any, Literal

import numpy as np

from geometry.core.errors import DropleafError, GeometryError, InputError, Problem, RefusedError
from geometry.core.frozen import dataclass
from geometry.core.plane import Point
from geometry.core.say import Say, say
from geometry.printing.distortion import (
    Bars,
    Fit,
    Readings,
    Shrink,
    check_limits,
    fit,
    fitted,
    left,
    numbers,
    paper_covariance,
)
from sheets.home.printers import BAR, Printer, good_name
from sheets.ink.long_bars import bars_of
from sheets.ink.paper import PAPERS
from sheets.ink.records import Paper
from sheets.job.units import given, in_inches, length
from sheets.words.tell import listed, tell

RULER = (0.01, 2.0)
"""Resolutions of rulers, mm, from a reading microscope's to a tape of inches: own judgement."""
_NOTE = 200
_SHOWN = 100.0
"""Length for which the error left is told, mm: about the distance from axle to far hole."""
_BARS, _DIAGONALS = ("--across", "--down"), ("--rising", "--falling")
_ISO = ("A4", "A3")
_NAMED = 2
"""Fits to a paper named at most: beyond that nobody reads on."""


_SIX_INCHES = 152.4
"""The other bar of a sheet, mm: NIST SP 811, B.8 has the inch."""


@dataclass(frozen=True, slots=True)
class Given:
    """What the command line gave: numbers as typed, which may carry a unit."""

    name: str
    paper: Paper
    across: str
    down: str
    rising: str | None
    falling: str | None
    ruler: str
    date: str | None
    note: str


def judged(typed: Given) -> tuple[Printer, tuple[str, ...]]:
    """Return the printer that readings tell of, and what else is to be said of it.

    Raise InputError with one line a problem: a number that is none, readings that contradict each other, a
    printer further off than is corrected. A page that was fitted to a paper is recognised by its ratio.
    """
    printer = _read(typed)
    found = printer.fit
    shrinks = fitted(found, (typed.paper.width, typed.paper.height), _sizes())
    try:
        check_limits(found.distortion)
    except GeometryError as error:
        raise _explained(error, printer, found, shrinks) from error
    said = []
    ratio = _ratio(found)
    repeat = numbers()["printer.repeat"].value
    if shrinks:
        said.append(tell("printer.could_be", fitted=_fitted(printer.paper, shrinks), ratio=ratio))
    if max(abs(found.distortion.across - 1.0), abs(found.distortion.down - 1.0)) > repeat:
        said.append(tell("printer.print_again", share=100.0 * repeat))
    if printer.readings.rising is None and printer.readings.falling is None:
        said.append(tell("printer.no_diagonal", skew=numbers()["printer.skew"].value))
    return printer, tuple(said)


def _fitted(page: str, shrinks: Sequence[Shrink]) -> Say:
    """Return how a page may have been fitted: "an A4 page shrunk to Letter"."""
    onto = [
        say("printer.onto_border", paper=each.onto, margin=each.margin) if each.margin else each.onto
        for each in shrinks[:_NAMED]
    ]
    to = onto[0] if len(onto) == 1 else say("printer.or_to", first=onto[0], second=onto[1])
    way = "shrunk" if shrinks[0].ratio < 1.0 else "enlarged"
    # Two sentences, because papers of the two standards take another article in some languages.
    return say(f"printer.{way}.{'iso' if page in _ISO else 'ansi'}", page=page, to=to)


@dataclass(frozen=True, slots=True)
class BarsRead:
    """What both bars of a sheet come to: cut by it, correct for the printer, or stop; and what is said."""

    state: Literal["go", "correct", "stop"]
    said: tuple[str, ...]


def bars_read(paper: Paper, across: str, down: str) -> BarsRead:
    """Return what the bars of a sheet came to, as a ruler read them before the sheet is used.

    A length in inches was read on the bar of 6 in, any other on that of mm. Raise InputError, a line a
    problem, for what is no length of such a bar.
    """
    table, problems, shares = numbers(), [], {}
    bar, most = table["check.bar"].value, table["check.read"].value
    for key, text in (("across", across), ("down", down)):
        where = say(f"bars.read.{key}")
        try:
            value = length(text)
        except RefusedError as error:
            problems.append(Problem(where, error.what))
            continue
        if not BAR.low < value <= BAR.high:
            problems.append(
                Problem(where, say("printer.outside", given=given(text), low=BAR.low, high=BAR.high))
            )
        elif abs(value / 6.0 - 1.0) < 2.0 * table["printer.repeat"].value:
            problems.append(Problem(where, say("bars.in_inches", given=given(text))))
        shares[key] = value / (_SIX_INCHES if in_inches(text) else bar)
    if problems:
        raise InputError(*problems)
    off = {key: (share - 1.0) * bar for key, share in shares.items()}
    if all(abs(each) <= most + 1e-9 for each in off.values()):
        return BarsRead("go", (tell("bars.go", off=most),))
    said = [tell("bars.off", across=off["across"], down=off["down"], most=most)]
    # As if a proof's bars had been that long: what is too far off, and what looks fitted, is told alike.
    found = fit(Readings(Bars(bar, bar, bar, bar), *(bar * shares[key] for key in ("across", "down"))))
    shrinks = fitted(found, (paper.width, paper.height), _sizes())
    try:
        check_limits(found.distortion)
    except GeometryError:
        stop = tell("bars.stop", most=100.0 * table["printer.most"].value)
        if shrinks:
            looks = say("printer.looks_like", fitted=_fitted(paper.name, shrinks), ratio=_ratio(found))
            stop = tell("bars.stop_fitted", what=looks)
        return BarsRead("stop", (*said, stop))
    if shrinks:
        be = say("printer.could_be", fitted=_fitted(paper.name, shrinks), ratio=_ratio(found))
        said.append(tell("bars.fitted", what=be))
    return BarsRead("correct", (*said, tell("bars.correct", paper=paper.name)))


def described(printer: Printer) -> str:
    """Return a printer in one line: its factors, skew, error left, paper, date and note."""
    found = printer.fit
    across, down = found.distortion.factors
    error = left((_SHOWN * np.sqrt(0.5), _SHOWN * np.sqrt(0.5)), found.covariance + paper_covariance())
    rest = [tell("printer.measured_on", paper=printer.paper), printer.date, printer.note]
    return tell(
        "printer.described",
        name=printer.name,
        across=across,
        down=down,
        skew=found.distortion.skew,
        error=error,
        length=_SHOWN,
        rest=", ".join(each for each in rest if each),
    )


def printer_json(printer: Printer) -> dict[str, Any]:
    """Return a printer as a document: readings, drawn lengths, factors, skew and the error left in 100 mm."""
    readings, bars = printer.readings, printer.readings.bars
    found = printer.fit
    error = left((_SHOWN * np.sqrt(0.5), _SHOWN * np.sqrt(0.5)), found.covariance + paper_covariance())
    return {
        "name": printer.name,
        "paper": printer.paper,
        "date": printer.date,
        "note": printer.note,
        "drawn": {"across": bars.across, "down": bars.down, "diagonal": round(bars.diagonal, 6)},
        "read": {
            "across": readings.across,
            "down": readings.down,
            "rising": readings.rising,
            "falling": readings.falling,
            "ruler": readings.ruler,
        },
        "scale": [round(each, 6) for each in found.distortion.factors],
        "skew": round(found.distortion.skew, 6),
        "error_in_100": round(error, 4),
    }


def _sizes() -> dict[str, Point]:
    return {name: (paper.width, paper.height) for name, paper in PAPERS.items()}


def _ratio(found: Fit) -> float:
    return float(np.sqrt(found.distortion.across * found.distortion.down))


def _read(typed: Given) -> Printer:
    """Return the printer as typed, its readings fitted once, so that they are known to go together."""
    problems: list[Problem] = []
    values: dict[str, float] = {}
    for key in ("across", "down", "rising", "falling", "ruler"):
        text = getattr(typed, key)
        if text is None:
            continue
        low, high = RULER if key == "ruler" else (0.0, BAR.high)
        try:
            value = length(text)
        except RefusedError as error:
            problems.append(Problem(f"--{key}", error.what))
            continue
        values[key] = value
        if not low <= value <= high or value == 0.0:
            what = say("printer.outside", given=given(text), low=low, high=high)
            problems.append(Problem(f"--{key}", what))
    name = typed.name.strip()
    try:
        good_name(name)
    except RefusedError as error:
        problems.append(Problem("NAME", error.what))
    date = typed.date or datetime.date.today().isoformat()
    try:
        date = datetime.date.fromisoformat(date.strip()).isoformat()
    except ValueError:
        problems.append(Problem("--date", say("printer.no_date", given=given(date))))
    note = " ".join(typed.note.split())
    if len(note) > _NOTE or not note.isprintable():
        problems.append(Problem("--note", say("printer.no_note", given=given(note), most=_NOTE)))
    if problems:
        raise InputError(*problems)
    bars = bars_of(typed.paper)
    readings = Readings(
        bars, values["across"], values["down"], values.get("rising"), values.get("falling"), values["ruler"]
    )
    try:
        fit(readings)
    except DropleafError as error:
        _other_mistake(readings, typed.paper.name)
        raise type(error)(*_by_flag(error)) from error
    return Printer(name, typed.paper.name, readings, date, note)


def _by_flag(error: DropleafError) -> list[Problem]:
    """Return an error's problems, each at the flags that gave what is wrong."""
    return [
        Problem(listed(_DIAGONALS) if one.where == say("printing.diagonals") else f"--{one.where}", one.what)
        for one in error.problems
    ]


def _explained(error: GeometryError, printer: Printer, found: Fit, shrinks: Sequence[Shrink]) -> InputError:
    """Return the error of a printer that is too far off, with the likeliest cause where one can be named."""
    _other_mistake(printer.readings, printer.paper)
    if shrinks:
        what = say("printer.looks_like", fitted=_fitted(printer.paper, shrinks), ratio=_ratio(found))
        return InputError(Problem(listed(_BARS), what))
    return InputError(*_by_flag(error))


def _other_mistake(readings: Readings, paper: str) -> None:
    """Raise InputError where readings fit another unit or another paper's proof to within 1 %."""
    close = numbers()["printer.repeat"].value
    inches = [each * 25.4 for each in (readings.across, readings.down)]
    drawn = (readings.bars.across, readings.bars.down)
    if all(abs(inch / wanted - 1.0) < 2.0 * close for inch, wanted in zip(inches, drawn, strict=True)):
        what = say("printer.in_inches", across=readings.across, down=readings.down)
        raise InputError.at(listed(_BARS), what)
    for other in PAPERS.values():
        bars = bars_of(other)
        pairs = ((readings.across, bars.across), (readings.down, bars.down))
        if other.name != paper and all(abs(read / wanted - 1.0) < close for read, wanted in pairs):
            raise InputError.at("--paper", say("printer.other_proof", paper=paper, other=other.name))
