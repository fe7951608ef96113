"""Printers that the builder has measured: read from printers.toml, looked up, and what error they leave."""

from pathlib import Path
from typing import Annotated

from pydantic import Field

from fonts.drafting import missing
from geometry.core.errors import InputError, Problem, RefusedError
from geometry.core.frozen import dataclass
from geometry.core.say import Say, named, say
from geometry.core.tables import hint
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
from sheets.files.bounded import blaming
from sheets.home.entries import checked, collected, entries
from sheets.home.folder import home
from sheets.home.toml_file import document_of, text_of
from sheets.job.closed import Table
from sheets.job.limits import Range
from sheets.job.paper_keys import Paper
from sheets.job.read import Job
from sheets.job.refused import path
from sheets.job.traveller_keys import Date
from sheets.job.units import given, length
from sheets.words import lengths
from sheets.words.tell import tell, told

FILE = "printers.toml"
USUAL = say("own.printer.usual_size")
"""What is said beside the size of a file that is too large."""
LONGEST = 40
"""Characters in a printer's name: it has to fit a title block."""
# A longer bar is on no paper known here.
BAR = Range(length, 0.01, 2000, "mm")
Bar = Annotated[float, BAR]
_BEGINS = "[printer.NAME]"


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


class PrinterTable(Table):
    """A printer as printers.toml has it."""

    paper: Paper = Field(description="the proof's paper")
    across_drawn: Bar = Field(description="bar across as it was drawn, mm")
    down_drawn: Bar = Field(description="bar down as it was drawn, mm")
    diagonals_wide: Bar = Field(description="width of the rectangle that has the diagonals, mm")
    diagonals_high: Bar = Field(description="height of that rectangle, mm")
    across: Bar = Field(description="bar across as it was read, mm")
    down: Bar = Field(description="bar down as it was read, mm")
    rising: Bar | None = Field(
        default=None, description="diagonal from lower left to upper right as read, mm"
    )
    falling: Bar | None = Field(
        default=None, description="diagonal from upper left to lower right as read, mm"
    )
    ruler: Bar = Field(description="what the ruler was read to, mm")
    date: Date | None = Field(default=None, description="day of reading, year-month-day")
    note: str = Field(default="", description="anything to remember")

    def printer(self, name: str) -> Printer:
        """Return the printer of that name; raise GeometryError for one further off than is corrected."""
        bars = Bars(self.across_drawn, self.down_drawn, self.diagonals_wide, self.diagonals_high)
        readings = Readings(bars, self.across, self.down, self.rising, self.falling, self.ruler)
        check_limits(fit(readings).distortion)
        return Printer(name, self.paper, readings, self.date or "", self.note)


def correction_line(name: str, distortion: Distortion) -> str:
    """Return what a sheet that is corrected for a printer of that name and distortion says of it."""
    across, down = distortion.factors
    skew = 0.0 if abs(distortion.skew) < 0.005 else distortion.skew
    return tell("own.printer.line", name=name, across=across, down=down, skew=skew)


def file() -> Path:
    """Return the file in which printers are kept; it need not exist yet."""
    return home() / FILE


def known(source: Path | None = None) -> dict[str, Printer]:
    """Return the printers of a file by name, in its order; the builder's own file may be missing.

    Raise InputError with one line for each thing that is wrong with it.
    """
    where = file() if source is None else source
    return printers_in(where, text_of(where, USUAL, must_be=source is not None))


def find(name: str, where: str) -> Printer:
    """Return a printer by name, whatever its capitals; raise InputError, led by `where`, for an unknown."""
    printers = known()
    for each in printers.values():
        if each.name.casefold() == name.strip().casefold():
            return each
    if not printers:
        raise InputError.at(where, say("own.printer.none_measured", name=given(name)))
    near, known_ = hint(name, printers), ", ".join(printers)
    raise InputError.at(where, say("own.printer.unknown", name=given(name), hint=near, known=known_))


def printer_of(job: Job) -> Printer | None:
    """Return the printer that a job names, None for none; raise InputError for one that is not known."""
    return None if job.paper.printer is None else find(job.paper.printer, "paper.printer")


def error_left(job: Job, placement: Placement, printer: Printer | None) -> tuple[Say, ...]:
    """Return in one or two sentences what error paper leaves from axle to holes, at about 95 %.

    Without a printer that of a print whose bars were checked. It is compared with the limit that a survey
    sets to the holes.
    """
    table = numbers()
    if printer is None:
        covariance = checked_covariance()
        how = say("own.printer.checked", read=table["check.read"].value, bar=table["check.bar"].value)
    else:
        covariance = printer.fit.covariance + paper_covariance()
        how = say("own.printer.corrected", name=printer.name)
    sign = 1.0 if job.paper.view == "outboard" else -1.0
    found = {hole.name: left((sign * hole.centre[0], hole.centre[1]), covariance) for hole in placement.holes}
    bands = ", ".join(f"±{lengths.measured(band)} {told(named(name))}" for name, band in found.items())
    if lengths.units() == "mm":
        bands += " mm"
    form = placement.interface
    limit = limits(form)["near" if form.family == "tab" else "along"].value
    within = say("own.printer.within" if max(found.values()) <= limit else "own.printer.beyond", limit=limit)
    said = [say("own.printer.error_left", bands=bands, how=how, limit=within)]
    if printer is not None and printer.paper != job.paper.size:
        measured, size = printer.paper, job.paper.size
        said.append(say("own.printer.other_paper", name=printer.name, measured=measured, size=size))
    return tuple(said)


def good_name(name: str) -> str:
    """Return a printer's name as it is; raise RefusedError for one that no sheet could bear."""
    wrong = sorted({c for c in name if not (c.isalnum() or c in " ._-")} | set(missing(name)))
    if wrong:
        signs = ", ".join(map(repr, wrong))
        raise RefusedError(say("own.printer.odd_name", name=given(name), longest=LONGEST, signs=signs))
    if not name or len(name) > LONGEST or name != name.strip():
        raise RefusedError(say("own.printer.no_name", name=given(name), longest=LONGEST))
    return name


def printers_in(where: Path, text: str) -> dict[str, Printer]:
    """Return the printers of a text by name; raise InputError, led by the file, with all its problems."""
    found: dict[str, Printer] = {}
    wrong: list[Problem] = []
    document = document_of(where, text)
    with blaming(where):
        for name, raw in entries(document, _BEGINS).items():
            with collected(wrong, path(("printer", name))):
                try:
                    good_name(name)
                except RefusedError as error:
                    raise InputError.at("", error.what) from error
                clash = next((each for each in found if each.casefold() == name.casefold()), None)
                if clash is not None:
                    raise InputError.at("", say("own.printer.twice", name=clash))
                found[name] = checked(PrinterTable, raw, _BEGINS).printer(name)
        if wrong:
            raise InputError(*wrong)
    return found


def corrected(job: Job, name: str | None = None) -> tuple[Job, Printer | None]:
    """Return a job ready to be drawn for a printer, and that printer; (job, None) where none is named.

    `name` is the command line's and goes before the job's own. Raise InputError for an unknown printer.
    """
    printer = printer_of(job) if name is None else find(name, "--printer")
    if printer is None:
        return job, None
    return job.model_copy(update={"paper": job.paper.corrected(printer.name, printer.line)}), printer
