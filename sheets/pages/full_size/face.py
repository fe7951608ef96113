"""The face view: looking square onto the mount face of a post or flat mount, to place it sideways."""

from collections.abc import Mapping

import numpy as np

from geometry.clearance.judged import missing
from geometry.core.errors import FitError
from geometry.core.say import named, say
from geometry.mount.placement import Placement
from geometry.tubes.tube import Tube, Vector, outline
from geometry.tubes.tube import centre as tube_centre
from sheets.ink.marks import BOLD, CHAIN, PHANTOM, THICK, THIN, break_line, cross, polyline
from sheets.ink.paper import PAPERS
from sheets.ink.records import Circle, Curve, Point, Segment, Sheet, Slot
from sheets.ink.tiling import Grid, mark_joins
from sheets.job.read import Job
from sheets.pages import title as words
from sheets.pages.frame import (
    Headed,
    Page,
    card,
    directions,
    finish,
    furnish,
    name_view,
    numbers,
    steps_beside,
)
from sheets.pages.full_size.clearance_marks import stamped_to_fit
from sheets.pages.full_size.face_inset import draw_inset
from sheets.pages.full_size.steps import face_steps
from sheets.pages.tiles import Large, extent_of, tiled
from sheets.pages.view import Look, first_that_fits, lay_out, name_hole, show_line
from sheets.setup.setup import SetUp
from sheets.words.lengths import units
from sheets.words.tell import tell, told

_PAST = 10.0
"""How far the long lines run past the holes and the foot, mm."""
_CROSS = 3.0
"""How far a hole's cross runs past its boss, mm."""
_COLUMN = 43.0
"""Width of the column of names beside the drawing, mm."""
_LABEL_ROOM = 22.0
"""Room kept for labels above the drawing, mm: most of what is named lies in a narrow band."""
_POCKET = 10.0
"""How far past the axle line the pocket's floor is shown: it lies there alone, mm."""
_MIDDLE = {"post": "posts' middle line", "flat": "holes' middle line"}
"""The feature along which a family's holes lie."""
_ACROSS = 8.0
"""How far the axle line and the holes' crosses run past what they cross, mm."""


def face(
    job: Job,
    placement: Placement,
    tubes: Mapping[str, Tube],
    setup: SetUp,
    sheet_of: str = "",
) -> Sheet:
    """Return the face-view sheet of a post or flat mount; raise FitError, in mm, where it is too big.

    Page X runs up the tube along t (the other way for the inboard view, which is mirrored), page Y
    outboard; the sheet's `axle` is where the axes' origin lies, the axle line on the dropout's inner face.
    """
    return stamped_to_fit(
        placement,
        setup,
        sheet_of,
        lambda stamp, _, count: first_that_fits(
            lambda aside, beside: _drawn(job, placement, tubes, count, (aside, beside), stamp)
        ),
    )


def face_tiles(
    job: Job,
    placement: Placement,
    tubes: Mapping[str, Tube],
    setup: SetUp,
    sheet_of: str = "",
) -> tuple[Sheet, ...]:
    """Return the face view on several pages of the job's paper, row by row; raise FitError for too many."""
    return stamped_to_fit(
        placement, setup, sheet_of, lambda stamp, _, count: _tiles(job, placement, tubes, count, stamp)
    )


def _drawn(
    job: Job,
    placement: Placement,
    tubes: Mapping[str, Tube],
    sheet_of: str,
    place: tuple[float | None, bool],
    stamp: str,
) -> Sheet:
    """Return the sheet with its view and its steps in a `place`."""
    headed, (aside, beside) = _headed(job, placement, tubes, sheet_of), place
    page = furnish(PAPERS[job.paper.size], job.paper.margin, headed, stamp, beside=beside)
    look = _draw_view(page, job, placement, tubes, aside)
    title, bookmark = tell("face.title", frame=job.frame.id), tell("face.bookmark")
    return finish(page, "face", title, job.paper.view, look.origin, full_size=True, bookmark=bookmark)


def _tiles(
    job: Job, placement: Placement, tubes: Mapping[str, Tube], sheet_of: str, stamp: str
) -> tuple[Sheet, ...]:
    headed = _headed(job, placement, tubes, sheet_of)
    large = Large(
        "face",
        tell("face.title", frame=job.frame.id),
        job.paper.view,
        extent_of(_must_show(job, placement)),
        lambda page, grid, aside: _draw_view(page, job, placement, tubes, aside, grid),
        lambda page, look: _draw_directions(page, look, placement, short=True),
        bookmark=tell("face.bookmark"),
    )
    return tiled(large, lambda: furnish(PAPERS[job.paper.size], job.paper.margin, headed, stamp, beside=True))


def _headed(job: Job, placement: Placement, tubes: Mapping[str, Tube], sheet_of: str) -> Headed:
    view = job.paper.view
    said = [words.boss_words(job, placement)]
    host, steps = tubes.get(placement.host), face_steps(job, placement)
    if host is not None and not host.placed:
        said.append(tell("face.no_lines", tube=named(host.name), measure=missing(host.name, host)))
    what = tell(f"face.heading.{view}", side=say(f"face.side.{view}"))
    return words.headed(job, placement, "face", what, sheet_of, steps, said)


def _draw_view(
    page: Page,
    job: Job,
    placement: Placement,
    tubes: Mapping[str, Tube],
    aside: float | None,
    grid: Grid | None = None,
) -> Look:
    """Draw everything but title block and bars, and return how the view lies; a grid is that of tiles."""
    view = job.paper.view
    look = lay_out(page, _must_show(job, placement), view, "face_view", _LABEL_ROOM, aside)
    _draw_planes(page, look, placement)
    _draw_tube(page, look, placement, tubes.get(placement.host))
    _draw_holes(page, look, job, placement)
    if grid is not None:
        mark_joins(page.drawing, grid)
    _name_lines(page, look, job, placement)
    numbers(page, tell(f"title.numbers_head.{units()}"), words.number_rows(placement), tell("title.sideways"))
    steps_beside(page)
    if grid is None:
        try:
            _draw_directions(page, look, placement)
        except FitError:
            _draw_directions(page, look, placement, short=True)
    _label(page, look, placement)
    if grid is None:
        draw_inset(page, placement)
    card(page)
    if grid is None:
        name_view(page, view, tell(f"face.view.{view}"))
    return look


def _ends(placement: Placement) -> tuple[float, float]:
    """Return from where to where along t the long lines run."""
    near, far = placement.interface.x_near, placement.interface.x_far
    return min(near, 0.0) - _PAST, max(far, 0.0) + _PAST


def _levels(placement: Placement) -> dict[str, float]:
    """Return the planes that cross the mount face, by name, as z."""
    rotor = placement.rotor
    levels = {"dropout inner face": 0.0}
    if placement.datum_shift:
        levels["pocket floor"] = placement.datum_shift
    if rotor.inner_face_z is not None and rotor.outer_face_z is not None:
        levels |= {"disc, inner face": rotor.inner_face_z, "disc, outer face": rotor.outer_face_z}
    return levels


def _must_show(job: Job, placement: Placement) -> list[Point]:
    half = words.boss_size(job, placement)[0] / 2.0
    # A stout boss reaches further out than the long lines.
    start = min(_ends(placement)[0], placement.interface.x_near - half - _CROSS)
    end = _column_at(job, placement) + _COLUMN
    heights = [*_levels(placement).values(), placement.lateral_z - half, placement.lateral_z + half]
    return [(x, z) for x in (start, end) for z in (min(heights) - _ACROSS, max(heights) + _ACROSS)]


def _column_at(job: Job, placement: Placement) -> float:
    """Return how far along t the column of names stands: clear of the lines and of the far boss."""
    reach = placement.interface.x_far + words.boss_size(job, placement)[0] / 2.0 + _CROSS
    return max(_ends(placement)[1] + 8.0, reach + 5.0)


def _draw_planes(page: Page, look: Look, placement: Placement) -> None:
    """Draw rotor, dropout, pocket floor, axle line and the holes' common line.

    All long lines end at one place, so that each is lettered at its own end; the pocket's floor is short.
    """
    start, end = _ends(placement)
    levels = _levels(placement)
    for name, z in levels.items():
        style = PHANTOM if name.startswith("disc") else THICK if name == "dropout inner face" else THIN
        until = min(end, _POCKET) if name == "pocket floor" else end
        show_line(page, look, ((start, z), (until, z)), name, style, "datum")
    discs = [look.page((end, z)) for name, z in levels.items() if name.startswith("disc")]
    if discs:
        page.drawing.draw(polyline(discs), THIN, "datum")
    low, high = min(levels.values()) - _ACROSS, max(levels.values()) + _ACROSS
    show_line(page, look, ((0.0, low), (0.0, high)), "axle line", CHAIN, "datum")
    z, near = placement.lateral_z, placement.interface.x_near
    middle = _MIDDLE[placement.interface.family]
    show_line(page, look, ((near - 14.0, z), (end, z)), middle, CHAIN, "mount")


def _draw_tube(page: Page, look: Look, placement: Placement, tube: Tube | None) -> None:
    """Draw edges and centre line of the host tube as they lie behind the face."""
    if tube is None or not tube.placed:
        return
    square = (*placement.n, 0.0)
    start, end = _ends(placement)
    lines = [_clip(_flat(placement, edge), start, end) for edge in outline(tube, square, (0.0, 0.0, 1.0))]
    for edge, side in zip(lines, ("outboard", "inboard"), strict=True):
        show_line(page, look, edge, f"{tube.name} edge, {side}", THICK, "tubes")
    middle = np.array([tube_centre(tube, s) for s in tube.span])
    show_line(
        page, look, _clip(_flat(placement, middle), start, end), f"{tube.name} centre line", CHAIN, "tubes"
    )
    for at in (0, -1):
        if all(len(edge) for edge in lines):
            # The tube goes on either way: it is broken off where its edges end.
            page.drawing.draw(break_line(look.page(lines[0][at]), look.page(lines[1][at])), THIN, "tubes")


def _flat(placement: Placement, points: Vector) -> Vector:
    """Return points in space as (along t, z), as seen along the mount's normal."""
    return np.column_stack([points[:, :2] @ np.asarray(placement.t), points[:, 2]])


def _clip(line: Vector, start: float, end: float) -> Vector:
    """Return the part of a line between two places along t."""
    if line[0, 0] > line[-1, 0]:
        line = line[::-1]
    low, high = max(start, float(line[0, 0])), min(end, float(line[-1, 0]))
    if low >= high:
        return line[:0]
    inner = line[(line[:, 0] > low) & (line[:, 0] < high), 0]
    stops = np.concatenate([[low], inner, [high]])
    return np.column_stack([stops, np.interp(stops, line[:, 0], line[:, 1])])


def _draw_holes(page: Page, look: Look, job: Job, placement: Placement) -> None:
    """Draw holes or slots, their crosses and the bosses round them."""
    form, z = placement.interface.hole, placement.lateral_z
    boss = words.boss_size(job, placement)[0]
    for hole, x in zip(placement.holes, (placement.interface.x_near, placement.interface.x_far), strict=True):
        at = look.page((x, z))
        name = f"hole {hole.name}"
        if form.length is None:
            page.drawing.show(Circle(name, at, hole.diameter), BOLD, "drill")
        else:
            half = (form.length - hole.diameter) / 2.0
            ends = (at[0], at[1] - half), (at[0], at[1] + half)
            page.drawing.show(Slot(name, *ends, hole.diameter), BOLD, "drill")
        page.drawing.show(Circle(f"boss {hole.name}", at, boss), THIN, "mount")
        page.drawing.draw(cross(at, boss / 2.0 + _CROSS), BOLD, "drill")


def _name_lines(page: Page, look: Look, job: Job, placement: Placement) -> None:
    """Name each body once, at the end of its line: tube, holes' middle line, dropout and disc."""
    names = {
        "dropout inner face": tell("face.dropout"),
        "disc, inner face": tell("template.disc", diameter=job.mount.rotor),
        _MIDDLE[placement.interface.family]: words.middle_line(placement),
        f"{placement.host} edge, outboard": told(named(placement.host)),
    }
    rotor = placement.rotor
    ends: list[tuple[str, Point]] = []
    for feature in page.drawing.features:
        match feature:
            case Segment(name="disc, inner face" as name, end=(x, y)):
                # The leader ends on the body, midway between its faces.
                middle = ((rotor.outer_face_z or 0.0) - (rotor.inner_face_z or 0.0)) / 2.0
                ends.append((names[name], (x, y + middle)))
            case Segment(name=name, end=end) | Curve(name=name, points=(*_, end)) if name in names:
                ends.append((names[name], end))
    page.drawing.column(ends, look.page((_column_at(job, placement), 0.0))[0], page.zone)


def _label(page: Page, look: Look, placement: Placement) -> None:
    """Name what else is on the drawing, each name where it covers nothing."""
    drawing = page.drawing
    for feature in tuple(drawing.features):
        match feature:
            case Circle(name=name, centre=centre, diameter=across) if name.startswith("boss"):
                hole = named(name.removeprefix("boss "))
                text = tell("face.hole", hole=hole, made=words.hole_words(placement))
                name_hole(page, (text, told(hole)), centre, look.heading(110.0), across / 2.0)
            case Segment(name="axle line", start=start):
                drawing.callout(tell("face.axle_line"), (start,), page.zone, prefer=look.heading(225.0))
            case Segment(name="pocket floor", start=start):
                drawing.callout(tell("face.pocket"), (start,), page.zone, prefer=look.heading(120.0))


def _draw_directions(page: Page, look: Look, placement: Placement, short: bool = False) -> None:
    """Draw which way is outboard, and up the tube, and say which way the disc runs under the mount.

    In `short` it is said in fewer words, for a tile's strip or a page that has little room left.
    """
    x, y = placement.t
    way = ("forward" if x < 0.0 else "rearward") if abs(x) > abs(y) else ("up" if y > 0.0 else "down")
    name = up_tube(placement)
    if way != "up" and not short:
        name = tell(f"face.way.{way}", up=name)
    # Rolling forward the wheel turns anticlockwise about z, and z x n = t: the disc runs up the tube here.
    note = tell("face.disc_runs_short") if short else tell("face.disc_runs", tube=named(placement.host))
    directions(page, ((name, look.heading(0.0)), (told(named("outboard")), 90.0)), 0.0, note)


def up_tube(placement: Placement) -> str:
    """Return the words beside the arrow along the tube, which the read-back looks for."""
    return tell("face.up", tube=named(placement.host))
