"""The bar's pattern: its top and its plate side in one piece, folded over the arris between them."""

from geometry.belt import Line
from geometry.fixture import Fixture
from geometry.fixture_shape import Drill, Part
from geometry.fixture_words import table
from geometry.placement import Placement
from geometry.plane import along, polar
from sheets.ink.marks import CHAIN, SOLID, THICK, THIN, arrow_head, cross, polyline
from sheets.ink.paper import PAPERS
from sheets.ink.records import Circle, Point, Segment, Sheet, Slot, View
from sheets.job import Job
from sheets.pages.frame import Page, card, finish, furnish
from sheets.pages.looking import lay_out
from sheets.pages.plate_table import drill_table, sentences, title

_PAST = 5.0
"""How far lines run past the bar, mm."""
_LABEL_ROOM = 12.0


class _Fold:
    """Where the two faces lie on the page: `sign` is -1 where the bar's `along` runs to the left."""

    def __init__(self, origin: Point, sign: float, fix: Fixture) -> None:
        self.x, self.y = origin
        self.sign = sign
        self.way = 1.0 if fix.face == "inside" else -1.0
        self.surface = fix.surface_z
        self.crown = fix.level + (fix.bar[1] if fix.bar else 0.0)

    def top(self, u: float, z: float) -> Point:
        return self.x + self.sign * u, self.y + self.way * (z - self.surface)

    def side(self, u: float, v: float) -> Point:
        return self.x + self.sign * u, self.y + v - self.crown


def bar_sheet(
    job: Job, placement: Placement, fix: Fixture, marked: tuple[str, str], told: tuple[str, ...] = ()
) -> Sheet:
    """Return the bar's page; raise FitError, in mm, where it is too big.

    The upper strip is the bar's top, seen square onto it, Y running away from the plate; the lower is the
    side that lies on the plate. `marked` is where the sheet is counted and its stamp, `told` what to do. The
    sheet's `axle` is where the axes' origin lies in the upper strip.
    """
    _, top, side = fix.parts
    what = f"Bar, top and plate side: {top.stock}"
    sheet_of, stamp = marked
    how = "Fold the pattern on the chain line over the bar's arris."
    lines = title(job, placement, what, sheet_of, how)
    page = furnish(PAPERS[job.paper.size], job.paper.margin, lines, stamp)
    width, height = fix.bar or (0.0, 0.0)
    start, end = _ends(top)
    sign = -1.0 if fix.face == "outside" else 1.0
    left, right = sorted((sign * start, sign * end))
    corners = [(left - _PAST, -height), (right + _PAST, width)]
    look = lay_out(page, corners, "outboard", "bar", _LABEL_ROOM)
    at = _Fold(look.origin, sign, fix)
    _draw(page, at, fix, top, side)
    _label(page, at, top, side)
    _arrow(page, at, (start + end) / 2.0, height)
    rows = [(name, end, across, "", made) for name, end, across, made in table(top)[1]]
    rows += [(name, end, "", across, made) for name, end, across, made in table(side)[1]]
    heads = ("hole", "from end", "from plate side", "up from underside", "make")
    drill_table(page, f"Drill table, mm; the end is the one that lies {_datum_end(sign)}", heads, rows)
    if told:
        sentences(page, "Plate, bar and fixture", told)
    card(page)
    view: View = "outboard" if fix.face == "outside" else "inboard"
    return finish(page, "plate", f"{job.frame.id}: fixture, bar", view, at.top(0.0, 0.0))


def _arrow(page: Page, at: _Fold, middle: float, height: float) -> None:
    """Draw which way is up the tube, below the labels of the lower strip."""
    heading = 180.0 if at.sign < 0.0 else 0.0
    way = polar(heading)
    foot = (at.x + at.sign * middle, at.y - height - 15.0)
    start, tip = along(foot, (-10.0, way)), along(foot, (10.0, way))
    page.drawing.draw(polyline((start, along(tip, (-1.5, way)))), THICK, "directions")
    page.drawing.draw(arrow_head(tip, heading), SOLID, "directions")
    left = max(start[0], tip[0]) + 2.0
    page.drawing.letter("along, up the tube", (left, foot[1] - 1.75), 3.5, layer="directions")


def _datum_end(sign: float) -> str:
    return "right" if sign < 0.0 else "left"


def _ends(part: Part) -> tuple[float, float]:
    xs = [piece.start[0] for piece in part.outline if isinstance(piece, Line)]
    return min(xs), max(xs)


def _draw(page: Page, at: _Fold, fix: Fixture, top: Part, side: Part) -> None:
    for number, piece in enumerate(top.outline, start=1):
        assert isinstance(piece, Line)
        fold = piece.start[1] == piece.end[1] == top.edge
        name = "fold" if fold else f"bar outline, top {number}"
        segment = Segment(name, at.top(*piece.start), at.top(*piece.end))
        # A bar is sawn: on a cutter its outline is at most scribed.
        page.drawing.show(segment, CHAIN if fold else THICK, "mark")
    for number, piece in enumerate(side.outline, start=1):
        assert isinstance(piece, Line)
        if min(piece.start[1], piece.end[1]) < at.crown:
            segment = Segment(f"bar outline, side {number}", at.side(*piece.start), at.side(*piece.end))
            page.drawing.show(segment, THICK, "mark")
    start, end = _ends(top)
    z = top.holes[0].up
    line = Segment("bolt line", at.top(start - _PAST, z), at.top(end + _PAST, z))
    page.drawing.show(line, CHAIN, "mark")
    for hole in top.holes:
        centre = at.top(hole.along, hole.up)
        _show(page, hole, centre)
    for hole in side.holes:
        centre = at.side(hole.along, hole.up)
        page.drawing.show(Circle(f"bar {hole.name}", centre, hole.diameter), THICK, "drill")
        page.drawing.draw(cross(centre, hole.diameter / 2.0 + 3.0), THIN, "drill")


def _show(page: Page, hole: Drill, centre: Point) -> None:
    """Draw a hole for the mount; a slot runs up the page, which is along the axle."""
    if hole.length is None:
        page.drawing.show(Circle(f"bar hole {hole.name}", centre, hole.diameter), THICK, "drill")
        page.drawing.draw(cross(centre, hole.diameter / 2.0 + 3.0), THIN, "drill")
        return
    half = (hole.length - hole.diameter) / 2.0
    low, high = (centre[0], centre[1] - half), (centre[0], centre[1] + half)
    page.drawing.show(Slot(f"slot {hole.name}", low, high, hole.diameter), THICK, "cut")
    for end in (low, high):
        page.drawing.draw(cross(end, 1.3, gap=0.4), THIN, "drill")


def _label(page: Page, at: _Fold, top: Part, side: Part) -> None:
    drawing, zone = page.drawing, page.zone
    end = _ends(top)[0 if at.sign < 0.0 else 1]
    depths = [piece.start[1] for piece in top.outline if isinstance(piece, Line)]
    middle = at.top(end, (min(depths) + max(depths)) / 2.0)
    drawing.callout("top", (middle,), zone, prefer=0.0)
    drawing.callout("plate side", (at.side(end, side.edge + 4.0),), zone, prefer=0.0)
    drawing.callout("fold", (at.top(end, top.edge),), zone, prefer=0.0)
    for hole in top.holes:
        text = (
            f"{hole.name} Ø{hole.diameter:g}"
            if hole.length is None
            else f"{hole.name} {hole.diameter:g} × {hole.length:g}"
        )
        clear = (hole.length or hole.diameter) / 2.0 + 1.0
        drawing.callout(text, (at.top(hole.along, hole.up),), zone, prefer=90.0, clear=clear)
    for hole in side.holes:
        centre = at.side(hole.along, hole.up)
        drawing.callout(
            f"{hole.name} Ø{hole.diameter:g}", (centre,), zone, prefer=270.0, clear=hole.diameter / 2.0 + 1.0
        )
