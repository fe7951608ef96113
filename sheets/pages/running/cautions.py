"""The page of cautions, to hang by the bench: all of them once, by subject, with their sources."""

import itertools
from collections.abc import Sequence

from fonts.faces import Face
from geometry.mount.placement import Placement
from geometry.tables.cautions import Caution
from sheets.ink.records import Sheet
from sheets.job.read import Job
from sheets.pages.flow import PITCHES, SMALL
from sheets.pages.running.head import Columns
from sheets.setup.cited import Cited, cited
from sheets.setup.setup import SetUp
from sheets.words.tell import tell

_SIZES = (4.56, 4.21, 3.86, SMALL)
"""Type sizes from that of a notice to that of running text, mm: capitals of 3.25, 3.0, 2.75 and 2.5."""
_AIR = 0.22
"""White above each caution, in type sizes."""
_INDENT = 3.2


def caution_pages(job: Job, placement: Placement, setup: SetUp, own: Face | None = None) -> tuple[Sheet, ...]:
    """Return the page of cautions, in the largest type in which it is one page; more where none will do.

    Raise FitError where the paper is too narrow.
    """
    numbers = cited(job, placement, setup)
    for size, pitch in itertools.product(_SIZES, PITCHES[:4]):
        pages = _fill(job, setup.cautions, numbers, own, size, pitch)
        if len(pages.pages) == 1:
            break
    return pages.sheets()


def _fill(
    job: Job, cautions: Sequence[Caution], numbers: Cited, own: Face | None, size: float, pitch: float
) -> Columns:
    pages = Columns(job, "cautions", own, pitch)
    flow = pages.flow
    for group, members in itertools.groupby(cautions, key=lambda each: each.group):
        several = list(members)
        flow.heading(tell(f"card.group.{group}"), follow=3.0 * size * pitch)
        for each in several:
            said = tell("cautions.cited", text=each.text, sources=numbers.caution(each.id))
            lines = len(flow.lines(said, flow.right - flow.left - _INDENT, size))
            flow.need(lines * pitch * size + _AIR * size)
            flow.y -= _AIR * size
            flow.item(tell("cautions.mark"), said, indent=_INDENT, size=size)
    flow.y -= 2.0
    flow.paragraph(tell("cautions.where"))
    return pages
