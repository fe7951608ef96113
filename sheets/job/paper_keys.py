"""The keys of a job file that say what it is printed on, and the paper that is wrapped round tubes."""

from pathlib import PureWindowsPath
from typing import Annotated, Literal

from pydantic import AfterValidator, BeforeValidator, Field, PrivateAttr

from geometry.core.errors import RefusedError
from geometry.core.say import say
from geometry.core.tables import hint
from sheets.ink.paper import PAPERS
from sheets.job import limits
from sheets.job.closed import Table
from sheets.job.limits import Lettered, Text
from sheets.job.units import given
from sheets.words.lengths import Units

View = Literal["outboard", "inboard"]


def _as_written(size: object) -> object:
    written = size.strip().casefold() if isinstance(size, str) else size
    return next((paper for paper in PAPERS if paper.casefold() == written), size)


def _known(size: str) -> str:
    if size not in PAPERS:
        near = hint(size, PAPERS) or hint(size.capitalize(), PAPERS)
        raise RefusedError(say("job.no_paper", size=given(size), hint=near, known=", ".join(PAPERS)))
    return size


Paper = Annotated[str, BeforeValidator(_as_written), AfterValidator(_known)]
"""A paper's name, whatever its capitals."""


def _beside(name: str) -> str:
    # Whoever opens a stranger's packet must not have any file of his own opened by it.
    parts = PureWindowsPath(name)
    if parts.is_absolute() or parts.drive or parts.root or ".." in parts.parts:
        raise RefusedError(say("job.font_elsewhere", name=name))
    return name


class PaperTable(Table):
    """What it is printed on."""

    size: Paper = Field(default="A4", description="paper size: A4, A3, Letter, Legal or Tabloid")
    view: View = Field(default="outboard", description="the side from which the template is seen")
    margin: Annotated[float, limits.MARGIN] = Field(
        default=10.0, description="border that the printer leaves white, mm"
    )
    font: Annotated[Text, AfterValidator(_beside)] | None = Field(
        default=None, description="a TrueType file, beside the job, for characters the card's face lacks"
    )
    tile: Literal["auto", "never"] = Field(
        default="auto",
        description="what to do with a full-size view too large for the paper: auto cuts it into tiles that "
        "join, never refuses it",
    )
    disc: Literal["arc", "whole"] = Field(
        default="arc",
        description="how much of the disc the template shows: arc, the part by the mount, or whole",
    )
    units: Units = Field(
        default="mm",
        description="units in which the paper and check tell lengths: mm, in, or both; bare numbers in this "
        "file are mm whatever it says",
    )
    printer: Lettered | None = Field(
        default=None, description="the name of a printer that has been measured; sheets are corrected for it"
    )
    _correction: str = PrivateAttr(default="")
    _typed: tuple[str, ...] = PrivateAttr(default=())

    @property
    def correction(self) -> str:
        """Return what corrected sheets say of it; empty until the printer has been looked up."""
        return self._correction

    @property
    def telling(self) -> tuple[Units, tuple[str, ...]]:
        """Return how lengths are told: the units, and what was typed in inches and comes back so.

        Two jobs that are equal but for this have other sheets, so that what is kept goes by it.
        """
        return self.units, self._typed

    @property
    def typed(self) -> tuple[str, ...]:
        """Return what was typed in inches and comes back so; nothing where all is told in mm."""
        return self._typed

    def as_typed(self, texts: tuple[str, ...]) -> "PaperTable":
        """Return this table of a job in which these texts were typed in inches."""
        table = self.model_copy()
        table._typed = texts
        return table

    def corrected(self, printer: str, line: str) -> "PaperTable":
        """Return this table for a printer that was looked up, with the line that its sheets bear."""
        table = self.model_copy(update={"printer": printer})
        table._correction = line
        return table


class Wrap(Table):
    """The paper that is wrapped round tubes, and the room asked for near a joint."""

    # Office paper of 80 g is about a tenth thick; common practice, no source.
    paper: Annotated[float, limits.WRAP_PAPER] = Field(
        default=0.1, description="thickness of the paper that wraps are printed on, mm"
    )
    # How far vents, guides and holes stay from a joint: common practice, no source.
    clear: Annotated[float, limits.CLEAR] = Field(
        default=40.0, description="zone near the joint in which no vent, guide or hole should be, mm"
    )
