"""Patterns for a fixture: the side plate at full size, to be glued on, centre-punched, drilled and sawn."""

from collections.abc import Callable, Iterator, Mapping, Sequence

import numpy as np

from geometry.belt import Line, Piece, polygon
from geometry.errors import FitError
from geometry.fixture import Fixture
from geometry.fixture_shape import Drill
from geometry.fixture_words import checking, giving, heat, making, straying, table, using
from geometry.placement import Placement
from geometry.plane import along, turned
from geometry.tube import Tube, outline
from sheets.ink.marks import CHAIN, HIDDEN, PHANTOM, THICK, THIN, cross
from sheets.ink.paper import PAPERS
from sheets.ink.records import Arc, Circle, Feature, Point, Segment, Sheet
from sheets.job import Job
from sheets.pages import words
from sheets.pages.frame import Page, card, directions, finish, furnish
from sheets.pages.looking import Look, first_that_fits, lay_out, show_line
from sheets.pages.near import stamped_to_fit
from sheets.pages.plate_bar import bar_sheet
from sheets.pages.plate_table import drill_table, sentences, title
from sheets.setup import SetUp

_PAST = 6.0
"""How far lines run past the plate, mm."""
_LABEL_ROOM = 12.0
"""Room kept for labels over the plate, mm."""
_MOST = 3
"""Most pages of words."""
_SHORT, _TABLED = 25, 420
"""What a sentence takes beyond its letters, and the drill table, both as letters."""
_TABLE = "Drill table, mm from the axle's centre; angle from along"
_Make = Callable[[str, SetUp | None, str], Sheet]


def plates(job: Job, placement: Placement, tubes: Mapping[str, Tube], setup: SetUp) -> tuple[Sheet, ...]:
    """Return the fixture's patterns, none where there is no fixture; raise FitError, in mm.

    On the plate's page X runs down the tube along -t (the other way where it is seen from inboard), Y to the
    mount side; the sheet's `axle` is the bore's centre.
    """
    fix = setup.fixture
    if fix is None:
        return ()
    told = (*making(fix), *checking(fix), *using(fix), *straying(fix), *heat(fix))
    told = (*told, *(f"{giving(each)}." for each in fix.gives))
    for spread in range(_MOST + 1):
        try:
            return tuple(_sheets(job, placement, tubes, setup, fix, told, spread))
        except FitError:
            if spread == _MOST:
                raise
    return ()


def _parted(said: Sequence[str], spread: int) -> list[tuple[str, ...]]:
    """Return sentences in so many parts of about one length; the first has a table beside it where all fill
    more than one page.
    """
    lengths = [len(each) + _SHORT for each in said]
    whole = sum(lengths) + (_TABLED if spread > 1 else 0)
    parts: list[list[str]] = [[] for _ in range(spread)]
    if not parts:
        return []
    filled = _TABLED if spread > 1 else 0
    for each, length in zip(said, lengths, strict=True):
        parts[min(spread - 1, int((filled + length / 2.0) * spread / whole))].append(each)
        filled += length
    return [tuple(part) for part in parts]


def _sheets(
    job: Job,
    placement: Placement,
    tubes: Mapping[str, Tube],
    setup: SetUp,
    fix: Fixture,
    told: tuple[str, ...],
    spread: int,
) -> Iterator[Sheet]:
    """Give the pages; what to do is on the last pattern, or on `spread` pages of its own.

    Spread over two or more, the side plate's drill table is there too.
    """
    on_plate = told if fix.bar is None and spread == 0 else ()

    def plate(stamp: str, _: SetUp | None, sheet_of: str) -> Sheet:
        return first_that_fits(
            lambda aside: _side_plate(
                job, placement, tubes, fix, (sheet_of, stamp), aside, on_plate, spread < 2
            )
        )

    def bar(stamp: str, _: SetUp | None, sheet_of: str) -> Sheet:
        return bar_sheet(job, placement, fix, (sheet_of, stamp), told if spread == 0 else ())

    def words_alone(part: tuple[str, ...], tabled: bool) -> _Make:
        def make(stamp: str, _: SetUp | None, sheet_of: str) -> Sheet:
            lines = title(job, placement, "Fixture: what to do", sheet_of, "")
            page = furnish(PAPERS[job.paper.size], job.paper.margin, lines, stamp)
            sentences(page, "Plate, bar and fixture" if fix.bar else "Plate and fixture", part)
            if tabled:
                drill_table(page, f"Side plate: {_TABLE}", *table(fix.side_plate))
            card(page)
            return finish(page, "plate", f"{job.frame.id}: fixture, what to do", job.paper.view, (0.0, 0.0))

        return make

    makers: list[_Make] = [plate, *([bar] if fix.bar else [])]
    parts = _parted(told, spread)
    makers += [words_alone(part, spread > 1 and number == 0) for number, part in enumerate(parts)]
    for number, make in enumerate(makers, start=1):
        yield stamped_to_fit(placement, setup, f"plate {number} of {len(makers)}", make)


def outline_features(pieces: Sequence[Piece], at: "Seen", name: str) -> list[Feature]:
    """Return an outline's pieces as features on the page, named and counted in the outline's order."""
    found: list[Feature] = []
    for number, piece in enumerate(pieces, start=1):
        title = f"{name}, {'line' if isinstance(piece, Line) else 'arc'} {number}"
        if isinstance(piece, Line):
            found.append(Segment(title, at.page(piece.start), at.page(piece.end)))
            continue
        start, end = piece.start, piece.start + piece.sweep
        if at.sign < 0.0:
            start, end = 180.0 - start, 180.0 - end
        low, high = sorted((start, end))
        turns = low // 360.0 * 360.0
        found.append(Arc(title, at.page(piece.centre), 2.0 * piece.radius, low - turns, high - turns))
    return found


class Seen:
    """How a part's own axes lie on the page: `sign` is -1 where `along` runs to the left."""

    def __init__(self, look: Look, sign: float) -> None:
        """Take a look that is never mirrored itself, and the sign of `along`."""
        self.look, self.sign = look, sign

    def page(self, point: Sequence[float]) -> Point:
        """Return a point of the part on the page."""
        return self.look.page((self.sign * point[0], point[1]))


def _side_plate(
    job: Job,
    placement: Placement,
    tubes: Mapping[str, Tube],
    fix: Fixture,
    marked: tuple[str, str],
    aside: float | None,
    told: tuple[str, ...],
    tabled: bool,
) -> Sheet:
    """Return the side plate's page, the plate lying `aside` across it."""
    view, part = job.paper.view, fix.side_plate
    sheet_of, stamp = marked
    glue = f"Glue on the {view} face of the {part.stock} mm."
    lines = title(job, placement, f"Side plate, {words.seen_from(view)}", sheet_of, glue)
    page = furnish(PAPERS[job.paper.size], job.paper.margin, lines, stamp)
    # Up the tube runs to the left where the bicycle is seen from outboard with the mount side up.
    sign = -1.0 if view == "outboard" else 1.0
    around = polygon(part.outline, 5.0) * (sign, 1.0)
    low, high = around.min(axis=0), around.max(axis=0)
    corners = [(float(low[0]) - _PAST, float(low[1])), (float(high[0]) + _PAST, float(high[1]))]
    at = Seen(lay_out(page, corners, "outboard", "plate", _LABEL_ROOM, aside), sign)
    for feature in outline_features(part.outline, at, "plate outline"):
        page.drawing.show(feature, THICK, "cut")
    _mark(page, at, placement, tubes, fix)
    for hole in part.holes:
        _show_hole(page, at, hole)
    if tabled:
        drill_table(page, _TABLE, *table(part))
    up_tube = 180.0 if sign < 0.0 else 0.0
    directions(page, (("along", up_tube), ("up", 90.0)), -sign, "wheel turns")
    _label(page, at, fix)
    if told:
        sentences(page, "Plate and fixture", told)
    card(page)
    return finish(page, "plate", f"{job.frame.id}: fixture, side plate", view, at.page((0.0, 0.0)))


def _mark(page: Page, at: Seen, placement: Placement, tubes: Mapping[str, Tube], fix: Fixture) -> None:
    """Draw what is scribed: the tube's direction, the line of holes or the bar's underside, the relief."""
    around = polygon(fix.side_plate.outline, 5.0)
    left, right = float(around[:, 0].min()), float(around[:, 0].max())
    # The tube is where it is, however the mount is tilted from it.
    run = turned((1.0, 0.0), placement.tilt)
    start, end = (at.page(along((0.0, 0.0), (far, run))) for far in (8.0 + fix.bore / 2.0, right))
    page.drawing.show(Segment("tube direction", start, end), CHAIN, "mark")
    tab = fix.bar is None
    start, end = at.page((left - _PAST if tab else left, fix.level)), at.page((right + _PAST, fix.level))
    line = Segment("hole line" if tab else "bar underside", start, end)
    page.drawing.show(line, CHAIN if tab else THIN, "mark")
    relief = fix.side_plate.relief
    if relief is not None:
        centre = at.page((relief.along, relief.up))
        page.drawing.show(Circle("relief", centre, relief.diameter), HIDDEN, "mark")
        page.drawing.draw(cross(centre, 5.0), THIN, "mark")
    host = tubes.get(placement.host)
    if host is None:
        return
    edges = outline(host, (0.0, 0.0, 1.0), (*host.n0, 0.0))
    for edge, side in zip(edges, ("mount side", "far side"), strict=True):
        flat = np.column_stack([edge[:, :2] @ np.asarray(placement.t), edge[:, :2] @ np.asarray(placement.n)])
        shown = flat[flat[:, 0] <= right + 10.0]
        if len(shown) < len(flat):
            stop = np.interp(right + 10.0, flat[:, 0], flat[:, 1])
            shown = np.vstack([shown, (right + 10.0, stop)])
        seen = [(at.sign * float(x), float(y)) for x, y in shown]
        show_line(page, at.look, seen, f"{host.name} edge, {side}", PHANTOM, "tubes")


def _show_hole(page: Page, at: Seen, hole: Drill) -> None:
    bore = hole.name == "axle"
    centre = at.page((hole.along, hole.up))
    name = "axle bore" if bore else f"hole {hole.name}" if hole.name in ("near", "far") else hole.name
    page.drawing.show(Circle(name, centre, hole.diameter), THICK, "cut" if bore else "drill")
    page.drawing.draw(cross(centre, hole.diameter / 2.0 + (5.0 if bore else 3.0)), THIN, "drill")


def _label(page: Page, at: Seen, fix: Fixture) -> None:
    """Name holes and lines where each covers nothing."""
    drawing, zone, part = page.drawing, page.zone, fix.side_plate
    left, right = part.holes[1].along, part.holes[-1].along
    places = [at.page((left + share * (right - left), part.edge)) for share in (0.5, 0.7, 0.3, 0.9, 0.1)]
    drawing.callout("straight edge", places, zone, prefer=90.0)
    for hole in part.holes:
        axle = hole.name == "axle"
        text = f"axle: bore Ø{hole.diameter:g}" if axle else f"{hole.name} Ø{hole.diameter:g}"
        centre, clear = at.page((hole.along, hole.up)), hole.diameter / 2.0 + 1.0
        drawing.callout(text, (centre,), zone, prefer=315.0 if axle else 90.0, clear=clear)
    if part.relief is not None:
        size, centre = part.relief.diameter, at.page((part.relief.along, part.relief.up))
        drawing.callout(f"relief Ø{size:g}", (centre,), zone, prefer=300.0, clear=size / 2.0)
    for feature in tuple(drawing.features):
        if isinstance(feature, Segment) and feature.name in ("bar underside", "tube direction"):
            drawing.callout(feature.name, (feature.end,), zone, prefer=90.0)
