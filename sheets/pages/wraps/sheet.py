"""The wraps: full-size strips to bend round the tubes, several to a page, that show where to saw and cope."""

import contextlib
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from functools import partial

from geometry.core.errors import FitError, Problem
from geometry.core.findings import Finding
from geometry.core.frozen import dataclass
from geometry.core.plane import short
from geometry.core.say import Say, named, say
from geometry.mount.placement import Placement
from geometry.tubes.tube import Tube
from sheets.ink.drawing import Drawing
from sheets.ink.paper import PAPERS
from sheets.ink.placing import Box
from sheets.ink.records import Point, Sheet
from sheets.ink.tiling import Grid, mark_joins
from sheets.job.operations import vent_words
from sheets.job.read import Job
from sheets.pages import title as words
from sheets.pages.frame import Headed, Page, card, finish, furnish, steps_beside
from sheets.pages.tiles import Large, tiled
from sheets.pages.view import Look
from sheets.pages.wraps.foot import FootFigure, in_room
from sheets.pages.wraps.foot_views import draw_foot
from sheets.pages.wraps.lettering import draw_words
from sheets.pages.wraps.parts import Parts, parts
from sheets.pages.wraps.strip import Laid, Strip, draw_lines
from sheets.pages.wraps.tab import Plate, draw_plate
from sheets.pages.wraps.tube import apart
from sheets.setup.setup import SetUp
from sheets.words.lengths import units
from sheets.words.tell import tell, told

_AIR = 2.0
"""Kept round a block, mm: what Drawing.free_box keeps."""
_SHARES = (0.0, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1.0)
"""How far down the room to spare a block on tiles is tried."""


@dataclass(frozen=True, slots=True)
class Wraps:
    """The sheets of a job's wraps, none or several, and what has to be said of them."""

    sheets: tuple[Sheet, ...]
    findings: tuple[Finding, ...]


@dataclass(frozen=True, slots=True)
class _Block:
    """Something to put on a page: its size, and how it is drawn with its lower left corner at a place.

    A grid is that of the tiles that it is cut into; its register marks are drawn too. Without a strip it is a
    tab's pattern, or a `figure`, which is looked at and not cut out.
    """

    title: str
    size: tuple[float, float]
    draw: Callable[[Drawing, Point, Grid | None], None]
    strip: Strip | None = None
    figure: bool = False


def wraps(job: Job, placement: Placement, tubes: Mapping[str, Tube], setup: SetUp) -> Wraps:
    """Return the wraps of a job, those that no page holds as tiles that are joined, after the others.

    They are stamped where a clearance of the set-up fails or anything else stops. Raise FitError, with the
    overshoot in mm, for a wrap that does not fit a page of a job without tiles, or that takes too many.
    """
    made = parts(job, placement, tubes)
    stamp = words.stamp(placement, setup.clear.failed, setup.stops)
    if not made.strips and not made.plates and not made.feet:
        return Wraps((), made.findings)
    empty = partial(_page, job, placement, made, stamp)
    # Room is what a page has that says all that any of them says: none of them says more.
    figures = _figures(made, empty)
    if not made.strips and not made.plates:
        return Wraps(_sheets(job, empty, ([], []), figures.zone, figures), made.findings)
    zone = empty(_of(1, 1)).zone
    found = _blocks(job, made, zone)
    if found[1] or len(found[0]) != len(made.strips) + len(made.plates):
        # Steps at the head of a page must not cost a strip its page: then they stand beside it, if they can.
        taller = empty(_of(1, 1), beside=True).zone
        best = _blocks(job, made, taller)
        if [len(each) for each in found] != [len(each) for each in best]:
            with contextlib.suppress(_NoRoomBesideError):
                sheets = _sheets(job, partial(empty, beside=True), best, taller, figures)
                return Wraps(sheets, made.findings)
    return Wraps(_sheets(job, empty, found, zone, figures), made.findings)


@dataclass(frozen=True, slots=True)
class _Shown:
    """What a page shows: its strips, whether patterns of a tab, and whether figures of posts' ends."""

    strips: tuple[Strip, ...]
    patterns: bool
    figures: bool = False

    @property
    def kind(self) -> str:
        """Return what they are together."""
        if self.patterns:
            return "both" if self.strips else "patterns"
        return "strips" if self.strips or not self.figures else "figures"


@dataclass(frozen=True, slots=True)
class _Figures:
    """Pages of figures, each a block and its corner, and the room that such a page has."""

    pages: tuple[list[tuple[_Block, Point]], ...]
    zone: Box


def _figures(made: Parts, empty: Callable[..., Page]) -> _Figures:
    """Return the figures on pages of their own, each as large as such a page takes it.

    Beside strips they would have little room, and are looked at where strips are cut up.
    """
    zone = empty(_of(1, 1), shows=_Shown((), False, True)).zone if made.feet else (0.0, 0.0, 0.0, 0.0)
    room = zone[2] - zone[0] - 2.0 * _AIR, zone[3] - zone[1] - 2.0 * _AIR
    blocks = [_foot_block(in_room(one, room)) for one in made.feet]
    return _Figures(tuple(_packed(blocks, zone)), zone)


class _NoRoomBesideError(Exception):
    """No page of the strips has room for the steps beside them."""


def _sheets(
    job: Job,
    empty: Callable[..., Page],
    found: tuple[list[_Block], list[_Block]],
    zone: Box,
    figures: _Figures,
) -> tuple[Sheet, ...]:
    """Return the pages of the blocks that fit the zone of an empty one, of figures, and the others' tiles."""
    blocks, large = found
    if large and job.paper.tile == "never":
        raise _too_large(job, large[0], _over(large[0], zone))
    pages = [*_packed(blocks, zone), *figures.pages]
    count = len(pages) + len(large)
    sheets: list[Sheet] = []
    for number, placed in enumerate(pages, start=1):
        shows = _shown(block for block, _ in placed)
        page = empty(_of(number, count), shows=shows, **({"beside": False} if shows.figures else {}))
        for block, corner in placed:
            block.draw(page.drawing, corner, None)
        try:
            steps_beside(page)
        except FitError as error:
            raise _NoRoomBesideError from error
        card(page)
        code = "wrap.sheet.page" if count > 1 else "wrap.sheet.only"
        title = tell(code, id=job.frame.id, number=number)
        bookmark = tell("packet.wraps_page" if count > 1 else "packet.wraps", number=number)
        corner = page.zone[0], page.zone[1]
        sheets.append(finish(page, "wrap", title, "outboard", corner, full_size=True, bookmark=bookmark))
    for number, block in enumerate(large, start=len(pages) + 1):
        of = _of(number, count)
        try:
            sheets += _tiles(job, block, partial(empty, of, joined=True, beside=False, shows=_shown([block])))
        except FitError as error:
            # By how much it is too large for a page helps more than what its tiles lacked.
            raise _too_large(job, block, _over(block, zone)) from error
    return tuple(sheets)


def _tiles(job: Job, block: _Block, empty: Callable[[], Page]) -> tuple[Sheet, ...]:
    """Return the tiles of a block that no page holds."""

    def draw(page: Page, grid: Grid, aside: float | None) -> Look:
        left, low, right, top = page.zone
        spare = right - left - 2.0 - block.size[0], top - low - 2.0 - block.size[1]
        if min(spare) >= 0.0:
            x = round(left + 1.0 + spare[0] * (0.5 if aside is None else aside), 2)
            for share in _SHARES:
                corner = x, round(top - 1.0 - block.size[1] - share * spare[1], 2)
                tried = Drawing()
                block.draw(tried, corner, grid)
                if not any(text and _covered(box, grid) for text, box in tried.labels):
                    block.draw(page.drawing, corner, grid)
                    return Look(corner, 1.0)
        raise FitError.at("paper.size", say("wrap.no_room", title=block.title))

    title = tell("wrap.sheet.tiled", id=job.frame.id, title=block.title)
    # A strip has its own arrows, and lies printed side out: there is no other view of it.
    large = Large("wrap", title, "outboard", block.size, draw, lambda page, look: None, head=block.title)
    return tiled(replace(large, bookmark=tell("packet.wraps_tiled", title=block.title)), empty)


def _covered(box: Box, grid: Grid) -> bool:
    """Tell whether the edge of a sheet on top, the left or the upper of two, runs through a label."""
    (across, up), (wide, high) = grid.seams, grid.overlap
    beside = any(box[0] < x + wide / 2.0 < box[2] for x in across)
    return beside or any(box[1] < y - high / 2.0 < box[3] for y in up)


def _page(
    job: Job,
    placement: Placement,
    made: Parts,
    stamp: str,
    of: str,
    *,
    joined: bool = False,
    beside: bool = False,
    shows: _Shown | None = None,
) -> Page:
    shown = shows or _Shown(made.strips, bool(made.plates))
    headed = _headed(job, placement, shown, made, of, joined)
    return furnish(PAPERS[job.paper.size], job.paper.margin, headed, stamp, beside=beside)


def _shown(blocks: Iterable[_Block]) -> _Shown:
    """Return what blocks show."""
    listed = tuple(blocks)
    return _Shown(
        tuple(block.strip for block in listed if block.strip is not None),
        any(block.strip is None and not block.figure for block in listed),
        any(block.figure for block in listed),
    )


def _headed(job: Job, placement: Placement, shown: _Shown, made: Parts, of: str, joined: bool) -> Headed:
    """Return whose wraps these are, of what, and how they are used: only what is on the page is told."""
    said = dict.fromkeys(
        [
            *(note for strip in shown.strips for note in strip.notes),
            *(told(each.brief or each.text) for each in made.findings),
        ]
    )
    # The page of a strip that is cut apart has little room, and says only what makes it one again.
    steps, small = [tell("wrap.how.join")], ""
    if not joined:
        steps, small = _steps(shown), " ".join(_small(job, placement, shown.strips))
    of_what = told(_parts(job, placement))
    lines = [" ".join((of_what[:1].upper() + of_what[1:] + ".", *said))]
    head = tell(f"wrap.head.{shown.kind}")
    use = "wrap" if shown.kind == "strips" else f"wrap_{shown.kind}"
    return words.headed(job, placement, use, head, of, steps, lines, [small])


def _steps(shown: _Shown) -> list[str]:
    """Return how strips and patterns are used; where one is punched, that too."""
    codes = []
    if shown.strips:
        punches = [punch for strip in shown.strips for punch in strip.punches]
        mark = "punch" if any(punch.sawn for punch in punches) else "seat" if punches else "mark"
        codes += ["cut", "bend", mark]
    if shown.patterns:
        codes += ["tape", "prick"]
    if shown.figures:
        codes.append("foot")
    return [tell(f"steps.wrap.{code}") for code in codes]


def _small(job: Job, placement: Placement, strips: Sequence[Strip]) -> Iterator[str]:
    """Yield what is to be known of the strips of a page, each where one of them has it."""
    if not strips:
        return
    yield tell("wrap.how.middle", paper=job.wrap.paper)
    ticks, part = say(f"wrap.ticks.{units()}"), named(placement.interface.part)
    kinds = [{"axle": "own", "mount": "tube", "rear": "brace"}[strip.middle] for strip in strips]
    for kind in dict.fromkeys(kinds):
        yield tell(f"wrap.how.ticks_{kind}", ticks=ticks, part=part)
    roles = {line.role for strip in strips for line in strip.lines}
    if "zone" in roles:
        yield tell("wrap.how.zone", clear=job.wrap.clear)
    if "tube" in kinds:
        yield told(vent_words(placement.interface.family, job.wrap.clear))
    if "rotor" in roles:
        yield tell("wrap.how.disc")


def _parts(job: Job, placement: Placement) -> Say:
    family = placement.interface.family
    if family != "tab":
        code = "wrap.parts.post" if family == "post" else "wrap.parts.flat"
        return say(code, sizes=words.boss_sizes(job, placement))
    code = "wrap.parts.tab_taken" if job.boss.thickness is None else "wrap.parts.tab"
    return say(code, thick=short(words.tab_thickness(job, placement) + job.process.facing))


def _of(number: int, count: int) -> str:
    return tell("wrap.of", number=number, count=count)


def _blocks(job: Job, made: Parts, zone: Box) -> tuple[list[_Block], list[_Block]]:
    """Return the blocks that fit the zone, the tallest first, and those that are to be tiled.

    A strip too tall for the zone is cut apart between its joints first.
    """
    left, low, right, top = zone
    room = right - left - 2.0 * _AIR, top - low - 2.0 * _AIR
    blocks = [*map(_plate_block, made.plates)]
    for strip in made.strips:
        whole = _strip_block(job, strip)
        several = [whole]
        if whole.size[1] > room[1]:
            several = [_strip_block(job, each) for each in apart(strip)]
        blocks += several
    large = [block for block in blocks if _over(block, zone)]
    fitting = [block for block in blocks if block not in large]
    return sorted(fitting, key=lambda block: -block.size[1]), large


def _over(block: _Block, zone: Box) -> tuple[Say, ...]:
    """Return by how much a block is too large for a zone; nothing where it fits."""
    room = zone[2] - zone[0] - 2.0 * _AIR, zone[3] - zone[1] - 2.0 * _AIR
    sizes = zip(block.size, room, ("wide", "tall"), strict=True)
    return tuple(say(f"wrap.over.{way}", by=size - free) for size, free, way in sizes if size > free)


def _too_large(job: Job, block: _Block, over: tuple[Say, ...]) -> FitError:
    size, margin = job.paper.size, job.paper.margin
    too_large = say("wrap.too_large", title=block.title, over=over, size=size, margin=margin)
    return FitError(Problem("paper.size", too_large))


def _strip_block(job: Job, strip: Strip) -> _Block:
    def draw(drawing: Drawing, corner: Point, grid: Grid | None) -> None:
        laid = Laid(strip, corner)
        draw_lines(drawing, laid)
        if grid is not None:
            mark_joins(drawing, grid)
        draw_words(drawing, laid, job.frame.id)

    return _Block(strip.title, Laid(strip).size, draw, strip)


def _plate_block(plate: Plate) -> _Block:
    def draw(drawing: Drawing, corner: Point, grid: Grid | None) -> None:
        draw_plate(drawing, plate, corner)
        if grid is not None:
            mark_joins(drawing, grid)

    return _Block(plate.title, plate.size, draw)


def _foot_block(one: FootFigure) -> _Block:
    def draw(drawing: Drawing, corner: Point, grid: Grid | None) -> None:
        draw_foot(drawing, one, corner)
        if grid is not None:
            mark_joins(drawing, grid)

    return _Block(one.title, one.size, draw, figure=True)


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
        seats = ((number, each.free_box(block.size, inner)) for number, each in enumerate(pages))
        number, found = next((seat for seat in seats if seat[1] is not None), (len(pages), None))
        if found is None:
            # A page of its own always takes it, at its corner, and is not searched: a search goes by whole
            # millimetres, and may miss room that is there to a fraction of one.
            pages.append(Drawing())
            placed.append([])
            found = (inner[0], inner[1], inner[0] + block.size[0], inner[1] + block.size[1])
        pages[number].reserve(found)
        placed[number].append((block, (found[0], found[1])))
    return placed
