"""The card's section with the stack beside it, or below where it leaves too little room."""

from geometry.mount.placement import Placement
from sheets.ink.records import Point
from sheets.job.read import Job
from sheets.pages.flow import READ, SMALL, Column, Flow
from sheets.pages.running.behind import orders
from sheets.pages.running.section import Section, draw_section
from sheets.setup.setup import SetUp
from sheets.words.fixture import stacking
from sheets.words.lengths import measured, units
from sheets.words.tell import tell, told

_BESIDE = 46.0
"""Least width for the stack beside the section, mm."""
_GAP = 3.0
_LEAST = (7.0, 17.0, 17.0, 11.0)
"""Least widths of the columns of pieces: number, size, total, and a box to tick, mm."""


def section_and_stack(flow: Flow, job: Job, placement: Placement, setup: SetUp, plate: bool = True) -> Point:
    """Draw the section, set the stack, and return where the section's origin lies.

    What the plate is leaves the card unless `plate`.

    Raise FitError where the page is full.
    """
    section = Section(job, placement, setup.build_up, setup.choice, setup.fixture)
    wide, high = section.size
    top, left, right = flow.y, flow.left, flow.right
    flow.space(high + 2.0)
    corner = (left + 1.0, flow.y)
    beside = left + 1.0 + wide + _GAP
    origin = draw_section(flow.drawing, section, (wide, high), corner, min(right, beside))
    foot = flow.y
    # Beside the section as long as that is lower than both, one below the other.
    room = right - beside
    if room >= _BESIDE and _height(flow, setup, room) <= high + _height(flow, setup, right - left):
        flow.left, flow.y = beside, top
        _stack(flow, setup)
        flow.left, flow.y = left, min(flow.y, foot)
    else:
        _stack(flow, setup)
    if plate and setup.plate_words:
        flow.paragraph(setup.plate_words)
    return origin


def _height(flow: Flow, setup: SetUp, wide: float) -> float:
    """Return how high the stack is in a column so wide, mm."""
    lines = len(flow.lines(" ".join(_words(setup)), wide)) + len(flow.lines(_chosen(setup), wide, bold=True))
    pieces = () if setup.choice is None or setup.fixture is not None else setup.choice.best.pieces
    rows = 6.2 * len(pieces) + (6.0 if pieces else 0.0)
    named = len(flow.lines(stacking(setup.fixture), wide, READ, True)) * READ if setup.fixture else 0.0
    return 9.0 + rows + (named + lines * SMALL) * flow.pitch


def _chosen(setup: SetUp) -> str:
    return "" if setup.choice is None else told(setup.choice.sentence)


def _words(setup: SetUp) -> list[str]:
    """Return what is to be done besides, and what the plate sits on the axle with."""
    said = list(orders(setup))
    if setup.sleeve is not None:
        said.append(tell("card.sleeve", inside=setup.sleeve.inside, outside=setup.sleeve.outside))
    return said


def _stack(flow: Flow, setup: SetUp) -> None:
    """List the pieces in the order of assembly with a running total, or the fixture's parts."""
    fix, choice = setup.fixture, setup.choice
    flow.heading(tell("card.stack" if fix is None else "card.fixture"))
    if fix is not None:
        flow.paragraph(stacking(fix), READ, "bold")
    elif setup.build_up is not None and choice is not None and choice.best.pieces:
        total = 0.0
        rows: list[list[str]] = []
        for number, piece in enumerate(choice.best.pieces, start=1):
            total += piece
            rows.append([f"{number}", measured(piece, ".3f cell"), measured(total, ".3f cell"), ""])
        heads = [tell(f"card.column.{which}") for which in ("piece", units(), "total", "done")]
        wide = [
            max(flow.width(head, bold=True) + 2.2, least) for head, least in zip(heads, _LEAST, strict=True)
        ]
        if units() == "both":
            # Millimetres and inches in one cell take more than the columns of either.
            wide[1:3] = (max(wide[i], *(flow.width(row[i], READ) + 2.2 for row in rows)) for i in (1, 2))
        columns = [Column(heads[i], wide[i], 1.0 if 0 < i < 3 else 0.0, box=i == 3) for i in range(4)]
        while sum(column.width for column in columns) > flow.right - flow.left and len(columns) > 2:
            columns, rows = columns[:-1], [row[:-1] for row in rows]
        flow.table(columns, rows, READ)
        flow.y -= 0.6
    if choice is not None:
        flow.paragraph(told(choice.sentence), weight="bold")
    if said := " ".join(_words(setup)):
        flow.paragraph(said, weight="bold")
