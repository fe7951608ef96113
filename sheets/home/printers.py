"""Printers that the builder has measured: read from printers.toml, looked up, and what error they leave."""

import contextlib
import math
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from fonts.drafting import missing
from geometry.core.errors import DropleafError, InputError, Problem
from geometry.mount.placement import Placement
from geometry.printing.distortion import (
    Bars,
    Distortion,
    Fit,
    Readings,
    check_limits,
    checked_covariance,
    fit,
    left,
    numbers,
    paper_covariance,
)
from geometry.survey.limits import limits
from sheets.home.folder import home
from sheets.home.toml_file import document_of, text_of
from sheets.ink.paper import PAPERS
from sheets.job.read import Job
from sheets.job.units import given
from sheets.words.tell import nearest

FILE = "printers.toml"
USUAL = "a printer takes less than 1 kB"
"""What is said beside the size of a file that is too large."""
LONGEST = 40
"""Characters in a printer's name: it has to fit a title block."""
LONGEST_BAR = 2000.0
"""A bar longer than this is on no paper known here, mm."""
_NUMBERS = ("across_drawn", "down_drawn", "diagonals_wide", "diagonals_high", "across", "down", "ruler")
_MAY = ("rising", "falling")
_TEXTS = ("paper", "date", "note")


@dataclass(frozen=True, slots=True)
class Printer:
    """A measured printer: its name, the paper of its proof, what was read, when, and a note."""

    name: str
    paper: str
    readings: Readings
    date: str = ""
    note: str = ""

    @property
    def fit(self) -> Fit:
        """Return its distortion with what is not known of it; GeometryError where readings contradict."""
        return fit(self.readings)

    @property
    def distortion(self) -> Distortion:
        """Return what it makes of a drawing."""
        return self.fit.distortion

    @property
    def line(self) -> str:
        """Return what a corrected sheet says of its correction; the skew is the printer's, in degrees."""
        return correction_line(self.name, self.distortion)


def correction_line(name: str, distortion: Distortion) -> str:
    """Return what a sheet that is corrected for a printer of that name and distortion says of it."""
    across, down = distortion.factors
    skew = 0.0 if abs(distortion.skew) < 0.005 else distortion.skew
    return (
        f"Corrected for printer {name}: across ×{across:.4f}, down ×{down:.4f}, skew {skew:.2f}°; "
        "bars must read true."
    )


def file() -> Path:
    """Return the file in which printers are kept; it need not exist yet."""
    return home() / FILE


def known(source: Path | None = None) -> dict[str, Printer]:
    """Return the printers of a file by name, in its order; the builder's own file may be missing.

    Raise InputError with one line for each thing that is wrong with it.
    """
    where = file() if source is None else source
    return printers_in(where, text_of(where, USUAL, None if source is None else "there is no such file"))


def find(name: str, where: str) -> Printer:
    """Return a printer by name, whatever its capitals; raise InputError, led by `where`, for an unknown."""
    printers = known()
    for each in printers.values():
        if each.name.casefold() == name.strip().casefold():
            return each
    if not printers:
        hint = "no printer has been measured yet; measure it with dropleaf proof and dropleaf printer add"
    else:
        hint = f"no printer of that name has been measured{nearest(name, printers)} (known: "
        hint += f"{', '.join(printers)})"
    raise InputError.at(where, f"{given(name)} given; {hint}")


def printer_of(job: Job) -> Printer | None:
    """Return the printer that a job names, None for none; raise InputError for one that is not known."""
    return None if job.paper.printer is None else find(job.paper.printer, "paper.printer")


def error_left(job: Job, placement: Placement, printer: Printer | None) -> tuple[str, ...]:
    """Return in one or two sentences what error paper leaves from axle to holes, at about 95 %.

    Without a printer that of a print whose bars were checked. It is compared with the limit that a survey
    sets to the holes.
    """
    table = numbers()
    covariance = checked_covariance() if printer is None else printer.fit.covariance + paper_covariance()
    sign = 1.0 if job.paper.view == "outboard" else -1.0
    found = {hole.name: left((sign * hole.centre[0], hole.centre[1]), covariance) for hole in placement.holes}
    bands = ", ".join(f"±{band:.2f} {name}" for name, band in found.items())
    if printer is None:
        how = f"if both bars read true to {table['check.read'].value:g} in {table['check.bar'].value:g}"
    else:
        how = f"corrected for printer {printer.name}"
    form = placement.interface
    limit = limits(form)["near" if form.family == "tab" else "along"].value
    if max(found.values()) <= limit:
        said = f"their limit is ±{limit:g}"
    else:
        said = f"their limit is ±{limit:g}, set them by the readings"
    words = [f"Paper, axle to holes: {bands} mm in about 95 of 100, {how}; {said}."]
    if printer is not None and printer.paper != job.paper.size:
        other = f"Printer {printer.name} was measured on {printer.paper}, this is {job.paper.size}"
        words.append(f"{other}: read the bars.")
    return tuple(words)


def good_name(name: str) -> str:
    """Return a printer's name without outer blanks; raise InputError for one that no sheet could bear."""
    name = name.strip()
    wrong = sorted({c for c in name if not (c.isalnum() or c in " ._-")} | set(missing(name)))
    if not name or len(name) > LONGEST or wrong:
        has = f"; it has {', '.join(map(repr, wrong))}" if wrong else ""
        raise InputError.at(
            "NAME", f"{given(name)} given; 1 to {LONGEST} letters, digits, spaces, dots or dashes{has}"
        )
    return name


def same_name(one: str, other: str) -> bool:
    """Tell whether two names are one printer's: capitals do not tell printers apart."""
    return one.casefold() == other.casefold()


def printers_in(where: Path, text: str) -> dict[str, Printer]:
    """Return the printers of a text by name; raise InputError, led by the file, with all its problems."""
    document = document_of(where, text)
    problems = [
        Problem(f"{where}: {key}", "there is no such key; each printer is a table [printer.NAME]")
        for key in document
        if key != "printer"
    ]
    table = document.get("printer", {})
    if not isinstance(table, Mapping):
        raise InputError.at(f"{where}: printer", f"{given(table)} given; a table [printer.NAME] is wanted")
    found: dict[str, Printer] = {}
    for name, entry in table.items():
        try:
            each = _printer(name, entry)
            clash = next((other for other in found if same_name(other, each.name)), None)
            if clash is not None:
                raise InputError.at("", f"there is {clash} already; names differ in more than capitals")
            found[each.name] = each
        except DropleafError as error:
            place = f"{where}: printer.{name if good(name) else given(name)}"
            problems += [
                Problem(f"{place}.{one.where}" if one.where else place, one.what) for one in error.problems
            ]
    if problems:
        raise InputError(*problems)
    return found


def good(name: str) -> bool:
    """Tell whether a name is one that a printer may have."""
    with contextlib.suppress(InputError):
        return good_name(name) == name
    return False


def _printer(name: str, entry: object) -> Printer:
    """Return a printer of a parsed table; raise DropleafError with problems led by their keys."""
    if not good(name):
        raise InputError.at(
            "", f"no name for a printer: 1 to {LONGEST} letters, digits, spaces, dots or dashes"
        )
    if not isinstance(entry, Mapping):
        raise InputError.at("", f"{given(entry)} given; a table [printer.NAME] is wanted")
    keys = (*_NUMBERS, *_MAY, *_TEXTS)
    problems = [Problem(key, f"there is no such key{nearest(key, keys)}") for key in entry if key not in keys]
    problems += [Problem(key, "missing") for key in (*_NUMBERS, "paper") if key not in entry]
    if isinstance(entry.get("date"), date):
        # TOML has dates of its own, and a hand would write one.
        entry = {**entry, "date": entry["date"].isoformat()}
    for key, value in entry.items():
        number = isinstance(value, int | float) and not isinstance(value, bool)
        if key in (*_NUMBERS, *_MAY) and not (number and math.isfinite(value) and 0 < value <= LONGEST_BAR):
            problems.append(
                Problem(key, f"{given(value)} given; a length above 0 and up to 2000 mm is wanted")
            )
        elif key in _TEXTS and not isinstance(value, str):
            problems.append(Problem(key, f"{given(value)} given; a text in quotes is wanted"))
        elif key == "paper" and value not in PAPERS:
            problems.append(
                Problem(key, f"{given(value)} is no paper known here (known: {', '.join(PAPERS)})")
            )
        elif key == "date" and not _is_date(value):
            problems.append(Problem(key, f"{given(value)} given; a date is wanted, such as 2026-01-31"))
    if problems:
        raise InputError(*problems)
    n: dict[str, float] = {key: float(entry[key]) for key in (*_NUMBERS, *_MAY) if key in entry}
    bars = Bars(n["across_drawn"], n["down_drawn"], n["diagonals_wide"], n["diagonals_high"])
    readings = Readings(bars, n["across"], n["down"], n.get("rising"), n.get("falling"), n["ruler"])
    check_limits(fit(readings).distortion)
    return Printer(name, entry["paper"], readings, entry.get("date", ""), entry.get("note", ""))


def _is_date(text: str) -> bool:
    try:
        return date.fromisoformat(text).isoformat() == text
    except ValueError:
        return False


def corrected(job: Job, name: str | None = None) -> tuple[Job, Printer | None]:
    """Return a job ready to be drawn for a printer, and that printer; (job, None) where none is named.

    `name` is the command line's and goes before the job's own. Raise InputError for an unknown printer.
    """
    printer = printer_of(job) if name is None else find(name, "--printer")
    if printer is None:
        return job, None
    return job.model_copy(update={"paper": job.paper.corrected(printer.name, printer.line)}), printer
