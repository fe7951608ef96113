"""The wraps: full-size strips to bend round the tubes, several to a page, that show where to saw and cope."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from geometry.errors import FitError, Problem
from geometry.placement import Placement
from geometry.tube import Tube
from sheets.ink.drawing import Drawing
from sheets.ink.paper import PAPERS
from sheets.ink.records import Point, Sheet
from sheets.ink.room import Box
from sheets.job import Job
from sheets.pages import words
from sheets.pages.frame import Page, TitleLine, card, finish, furnish
from sheets.pages.wrap_parts import Parts, parts
from sheets.pages.wrap_plate import Plate, draw_plate
from sheets.pages.wrap_strip import Laid, Strip, draw_lines
from sheets.pages.wrap_tube import apart
from sheets.pages.wrap_words import draw_words
from sheets.setup import SetUp

_AIR = 2.0
"""Kept round a block, mm: what Drawing.free_box keeps."""


@dataclass(frozen=True, slots=True)
class Wraps:
    """The sheets of a job's wraps, none or several, and what has to be said of them."""

    sheets: tuple[Sheet, ...]
    warnings: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class _Block:
    """Something to put on a page: its size, and how it is drawn with its lower left corner at a place."""

    title: str
    size: tuple[float, float]
    draw: Callable[[Drawing, Point], None]


def wraps(job: Job, placement: Placement, tubes: Mapping[str, Tube], setup: SetUp | None = None) -> Wraps:
    """Return the wraps of a job; raise FitError, with the overshoot in mm, where one does not fit a page.

    They are stamped where a clearance of the set-up fails.
    """
    made = parts(job, placement, tubes)
    stamp = words.stamp(placement, setup.clear.failed if setup else ())
    if not made.strips and not made.plates:
        return Wraps((), made.warnings)
    zone = _page(job, placement, made, stamp, "wraps 1 of 1").zone
    pages = _packed(_blocks(job, made, zone), zone)
    sheets = []
    for number, placed in enumerate(pages, start=1):
        of = f"wraps {number} of {len(pages)}"
        page = _page(job, placement, made, stamp, of)
        for block, corner in placed:
            block.draw(page.drawing, corner)
        card(page)
        title = f"{job.frame.id}: wraps" + (f", page {number}" if len(pages) > 1 else "")
        sheets.append(finish(page, "wrap", title, "outboard", (page.zone[0], page.zone[1])))
    return Wraps(tuple(sheets), made.warnings)


def _page(job: Job, placement: Placement, made: Parts, stamp: str, of: str) -> Page:
    title = _title(job, placement, made, of)
    return furnish(PAPERS[job.paper.size], job.paper.margin, title, stamp)


def _title(job: Job, placement: Placement, made: Parts, of: str) -> list[TitleLine]:
    """Return the title block: whose wraps, of what, and how they are used."""
    interface = placement.interface
    loud = [each for each in placement.warnings if each.startswith("Grade")]
    said = dict.fromkeys([*(note for strip in made.strips for note in strip.notes), *made.warnings])
    small = (
        "Cut out a strip, lay its middle line on the tube's centre line on the mount side, bend it round and "
        f"let the left edge meet the seam. Girths are the paper's own, {job.wrap.paper:g} thick, at half its "
        "thickness outside the tube. If the edges gape or lap, the tube is not what the job says: do not use "
        "the strip. Ticks: mm along the tube from the axle; on a boss from its raw face, on a brace from the "
        "chainstay's centre line. "
        f"Dashed: no vent, guide or hole within {job.wrap.clear:g} of the joint (common practice). "
        "Chain with two dots: nearest to the disc. " + words.CAUTION
    )
    return [
        TitleLine(words.heading(job), 7.0, words.lettered(job.frame.maker or "")),
        TitleLine("Wraps: lay the printed side out", 5.0, f"{job.paper.size}, {of}"),
        TitleLine(
            f"{interface.title} ({interface.name}), made for {interface.native:g}; {_process(job, placement)}"
        ),
        *(TitleLine(each) for each in loud),
        *([TitleLine(" ".join(said))] if said else []),
        *words.last_lines(job, (small,)),
    ]


def _process(job: Job, placement: Placement) -> str:
    if placement.interface.family == "tab":
        return f"tab {words.tab_thickness(job, placement):g} thick"
    diameter, length = words.boss_size(job, placement)
    return f"bosses Ø{diameter:g} × {length:g}"


def _blocks(job: Job, made: Parts, zone: Box) -> list[_Block]:
    """Return the blocks, the tallest first; a strip too tall for the zone is cut apart between its joints."""
    left, low, right, top = zone
    room = right - left - 2.0 * _AIR, top - low - 2.0 * _AIR
    blocks = [_plate_block(plate) for plate in made.plates]
    for strip in made.strips:
        whole = _strip_block(job, strip)
        several = [whole]
        if whole.size[1] > room[1]:
            several = [_strip_block(job, each) for each in apart(strip)]
        blocks += several
    for block in blocks:
        over = [
            f"{size - free:.1f} mm too {way}"
            for size, free, way in zip(block.size, room, ("wide", "tall"), strict=True)
            if size > free
        ]
        if over:
            raise FitError(
                Problem(
                    "paper.size",
                    f"the {block.title} is {' and '.join(over)} for {job.paper.size} with margins of "
                    f"{job.paper.margin:g} mm; use a larger paper",
                )
            )
    return sorted(blocks, key=lambda block: -block.size[1])


def _strip_block(job: Job, strip: Strip) -> _Block:
    def draw(drawing: Drawing, corner: Point) -> None:
        laid = Laid(strip, corner)
        draw_lines(drawing, laid)
        draw_words(drawing, laid, job.frame.id)

    return _Block(strip.title, Laid(strip).size, draw)


def _plate_block(plate: Plate) -> _Block:
    return _Block(plate.title, plate.size, lambda drawing, corner: draw_plate(drawing, plate, corner))


def _packed(blocks: Sequence[_Block], zone: Box) -> list[list[tuple[_Block, Point]]]:
    """Return the blocks page by page, each with its lower left corner: on the first page that has room.

    Each of them fits an empty page's zone, `_AIR` in from its edges.
    """
    left, low, right, top = zone
    inner = (left + _AIR, low + _AIR, right - _AIR, top - _AIR)
    # Only what lies in the zone matters here, so a bare drawing stands in for each page.
    pages: list[Drawing] = []
    placed: list[list[tuple[_Block, Point]]] = []
    for block in blocks:
        found = None
        number = 0
        while found is None:
            if number == len(pages):
                pages.append(Drawing())
                placed.append([])
            found = pages[number].free_box(block.size, inner)
            number += 1
        pages[number - 1].reserve(found)
        placed[number - 1].append((block, (found[0], found[1])))
    return placed
