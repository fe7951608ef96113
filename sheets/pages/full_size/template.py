"""The side-view template: laid over the dropout, it shows where the mount goes."""

import copy
import math
from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from geometry.core.errors import FitError
from geometry.core.plane import along, angle_of, arcs_in_box, turned
from geometry.core.say import named
from geometry.mount.placement import Placement
from geometry.mount.standoff import UNDER_SHEET
from geometry.tubes.tube import Tube, Vector, outline
from sheets.ink.marks import (
    BOLD,
    CHAIN,
    HIDDEN,
    PHANTOM,
    SCRIBED,
    THICK,
    THIN,
    cross,
    polyline,
)
from sheets.ink.paper import PAPERS
from sheets.ink.records import Arc, Circle, Point, Segment, Sheet, Style
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
    note,
    numbers,
    steps_beside,
)
from sheets.pages.full_size.clearance_marks import cut_out, mark_nearest, stamped_to_fit
from sheets.pages.full_size.dropout import draw_dropout, label_dropout, label_pad
from sheets.pages.full_size.in_place import draw_in_place, inner, label_foot
from sheets.pages.full_size.label_places import all_round, along_arc
from sheets.pages.full_size.on_tube import break_off, draw_bosses
from sheets.pages.full_size.slot_arrows import draw_push
from sheets.pages.full_size.steps import template_steps
from sheets.pages.screws import screw_shapes
from sheets.pages.tiles import Large, extent_of, tiled
from sheets.pages.view import Look, first_that_fits, lay_out, show_line
from sheets.setup.lying import absent
from sheets.setup.setup import SetUp
from sheets.words.lengths import measured, units
from sheets.words.tell import tell, told

_PAST_HOLE = 12.0
"""How far mount face and hole line run past the holes, mm."""
_PAST_FACE = 14.0
"""How far a bolt axis stands out of the mount face, mm."""
_PAST_BOSS = 5.0
"""How far a bolt axis runs past the boss's end, mm."""
_STAY_SHOWN = 70.0
"""How much of the second stay is shown, mm."""
_FOOT = 4.0
"""Arms of the mark at the foot, from which holes are measured along the tube, mm."""
_ARC_PAST = 12.0
"""How far the rotor's arcs run past the holes, degrees."""
_BARE_FROM = 20.0
"""Where the direction line of a tube that the job does not give starts, clear of the axle, mm."""


def template(
    job: Job,
    placement: Placement,
    tubes: Mapping[str, Tube],
    setup: SetUp,
    sheet_of: str = "",
) -> Sheet:
    """Return the side-view sheet of a placement; raise FitError, with the overshoot in mm, if it is too big.

    Page coordinates are the side view's, x mirrored for the inboard view, moved so that the axle lies at
    the sheet's `axle`. Clearances of the set-up that fail are stamped, nearest points marked, and the
    caliper's room shown to cut out where the page has room for it.
    """
    return stamped_to_fit(
        placement,
        setup,
        sheet_of,
        lambda stamp, marked, count: first_that_fits(
            lambda aside, beside: _drawn(job, placement, tubes, setup, count, (aside, beside), stamp, marked)
        ),
    )


def template_tiles(
    job: Job,
    placement: Placement,
    tubes: Mapping[str, Tube],
    setup: SetUp,
    sheet_of: str = "",
) -> tuple[Sheet, ...]:
    """Return the side view on several pages of the job's paper, row by row; raise FitError for too many."""
    return stamped_to_fit(
        placement,
        setup,
        sheet_of,
        lambda stamp, marked, count: _tiles(job, placement, tubes, setup, count, stamp, marked),
    )


def _drawn(
    job: Job,
    placement: Placement,
    tubes: Mapping[str, Tube],
    setup: SetUp,
    sheet_of: str,
    place: tuple[float | None, bool],
    stamp: str,
    marks: SetUp | None,
) -> Sheet:
    """Return the sheet with view and steps in a `place`; it marks the points of the set-up `marks`."""
    headed = _headed(job, placement, tubes, setup, sheet_of)
    aside, beside = place
    page = furnish(PAPERS[job.paper.size], job.paper.margin, headed, stamp, beside=beside)
    look = _draw_view(page, job, placement, tubes, setup, aside, marks)
    title, bookmark = tell("template.title", frame=job.frame.id), tell("template.bookmark")
    return finish(page, "template", title, job.paper.view, look.origin, full_size=True, bookmark=bookmark)


def _tiles(
    job: Job,
    placement: Placement,
    tubes: Mapping[str, Tube],
    setup: SetUp,
    sheet_of: str,
    stamp: str,
    marks: SetUp | None,
) -> tuple[Sheet, ...]:
    headed = _headed(job, placement, tubes, setup, sheet_of)
    large = Large(
        "template",
        tell("template.title", frame=job.frame.id),
        job.paper.view,
        extent_of(_must_show(job, placement)),
        lambda page, grid, aside: _draw_view(page, job, placement, tubes, setup, aside, marks, grid),
        _draw_directions,
        bookmark=tell("template.bookmark"),
    )
    return tiled(large, lambda: furnish(PAPERS[job.paper.size], job.paper.margin, headed, stamp, beside=True))


def _headed(job: Job, placement: Placement, tubes: Mapping[str, Tube], setup: SetUp, sheet_of: str) -> Headed:
    steps = template_steps(job, placement, tubes, setup)
    said = _unknown(placement, tubes), words.boss_words(job, placement)
    what = tell("template.heading", seen=words.seen_from(job.paper.view))
    return words.headed(job, placement, "template", what, sheet_of, steps, said)


def _unknown(placement: Placement, tubes: Mapping[str, Tube]) -> str:
    """Say beside which tubes nothing is known, and what that leaves open; nothing where all are placed."""
    lacking = absent(placement, tubes)
    names = [*lacking, *(name for name, tube in tubes.items() if not tube.placed)]
    if not names:
        return ""
    code = "template.near_or_off_unknown" if lacking and tubes else "template.near_unknown"
    return tell(code, tubes=tuple(map(named, names)))


def _draw_directions(page: Page, look: Look) -> None:
    arrows = (tell("frame.forward"), look.heading(180.0)), (tell("frame.up"), 90.0)
    directions(page, arrows, look.sign, tell("frame.wheel_turns"))


def _draw_view(
    page: Page,
    job: Job,
    placement: Placement,
    tubes: Mapping[str, Tube],
    setup: SetUp,
    aside: float | None,
    marks: SetUp | None,
    grid: Grid | None = None,
) -> Look:
    """Draw everything but title block and bars, and return how the view lies; a grid is that of tiles.

    Tiles have the arrows of direction each, and not in the big drawing.
    """
    look = lay_out(page, _must_show(job, placement), job.paper.view, "template", aside=aside)
    _draw_tubes(page, look, placement, tubes)
    _draw_rotor(page, look, placement, whole=job.paper.disc == "whole")
    _draw_mount(page, look, job, placement, tubes.get(placement.host))
    if setup.shape is not None:
        draw_dropout(page, look, placement, setup.shape)
    page.drawing.show(Circle("dummy axle", look.origin, job.axle.dummy), BOLD, "cut")
    page.drawing.draw(cross(look.origin, job.axle.dummy / 2.0 + 5.0), THIN, "cut")
    if grid is not None:
        mark_joins(page.drawing, grid)
    if marks is not None:
        draw_push(page, look, marks, job.axle.dummy / 2.0 + 6.0)
    numbers(page, tell(f"title.numbers_head.{units()}"), words.number_rows(placement), tell("title.sideways"))
    steps_beside(page)
    if grid is None:
        _draw_directions(page, look)
    # Where room is lacking is said before anything is named, else where there is room left.
    lacking = marks is not None and bool(marks.clear.failed)
    for first in (True, False):
        if marks is not None and lacking is first:
            mark_nearest(page, look, marks)
        if first:
            _label(page, look, job, placement)
    if setup.shape is not None:
        label_dropout(page, setup.shape)
    label_foot(page, look, placement)
    card(page)
    if marks is not None:
        cut_out(page, look, marks)
    if grid is None:
        # The view's name would else break off the light lines that are inked after it.
        tried = replace(page, drawing=copy.deepcopy(page.drawing))
        if marks is not None:
            draw_in_place(tried, look, job, placement, marks, tubes.get(placement.host))
        name_view(page, job.paper.view, tell(f"frame.view.{job.paper.view}"), tried.drawing)
    if setup.shape is not None and grid is None:
        label_pad(page, setup.shape)
    if marks is not None and grid is None:
        draw_in_place(page, look, job, placement, marks, tubes.get(placement.host))
    if placement.confirm and grid is None:
        # The first sheet that names a grade says what the letters mean, where it has room left.
        note(page, tell("title.grades"))
    return look


def _must_show(job: Job, placement: Placement) -> list[Point]:
    """Return side-view points that have to be on the sheet."""
    face = placement.interface
    ends = (face.x_near - _PAST_HOLE, face.x_far + _PAST_HOLE)
    places = [(x, up) for x in ends for up in (0.0, face.h + _PAST_FACE)]
    if face.family != "tab":
        half = words.boss_size(job, placement)[0] / 2.0
        for hole, x in (("near", face.x_near), ("far", face.x_far)):
            foot = face.h - words.boss_length(job, placement, hole)
            places += [(x - half, foot), (x + half, foot), (x, foot - _PAST_BOSS)]
            places += [point for shape in screw_shapes(job, placement, hole) for point in shape]
    mount = [along((0.0, 0.0), (x, placement.t), (up, placement.n)) for x, up in places]
    around = job.axle.dummy / 2.0 + 6.0
    if job.paper.disc == "whole":
        around = max(around, placement.rotor.radius + 1.0)
    return [*mount, (-around, -around), (around, around)]


def _draw_tubes(page: Page, look: Look, placement: Placement, tubes: Mapping[str, Tube]) -> None:
    """Draw edges and centre line of the host tube, and of the other stay where the job gives it."""
    far = placement.interface.x_far + UNDER_SHEET
    page = replace(page, zone=inner(page.zone))
    for name, tube in tubes.items():
        host = name == placement.host
        reach = far if host else _STAY_SHOWN
        edges = outline(tube, (0.0, 0.0, 1.0), (*tube.n0, 0.0))
        for edge, side in zip(edges, ("mount side", "far side"), strict=True):
            style = THICK if host else THIN
            show_line(page, look, _cut(edge, tube, reach), f"{name} edge, {side}", style, "tubes")
        break_off(page, name, tube)
        ends = [
            along((0.0, 0.0), (tube.offset, tube.n0), (s, tube.t0))
            for s in (tube.span[0] - 6.0, min(reach, tube.span[1]) + 4.0)
        ]
        show_line(page, look, ends, f"{name} centre line", CHAIN, "tubes")
    if placement.host not in tubes:
        t0 = turned(placement.t, -placement.tilt)
        line = [along((0.0, 0.0), (s, t0)) for s in (_BARE_FROM, far)]
        show_line(page, look, line, f"{placement.host} direction", CHAIN, "tubes")


def _cut(edge: Vector, tube: Tube, reach: float) -> Vector:
    """Return the part of a contour up to a distance `reach` up the tube."""
    at = edge[:, :2] @ np.asarray(tube.t0)
    if at[-1] <= reach or at[0] >= reach:
        return edge
    stops = np.append(at[at < reach], reach)
    return np.column_stack([np.interp(stops, at, edge[:, axis]) for axis in range(3)])


def _draw_rotor(page: Page, look: Look, placement: Placement, whole: bool = False) -> None:
    """Draw the disc's edge and the inner edge of its track, beside the mount or as whole circles."""
    if whole:
        for name, radius, style in _disc_lines(placement):
            page.drawing.show(Circle(name, look.origin, 2.0 * radius), style, "rotor")
        return
    turns = [math.degrees(math.atan2(h.centre[1], h.centre[0])) for h in placement.holes]
    middle = math.degrees(
        math.atan2(
            sum(math.sin(math.radians(a)) for a in turns), sum(math.cos(math.radians(a)) for a in turns)
        )
    )
    half = max(abs((a - middle + 180.0) % 360.0 - 180.0) for a in turns) + _ARC_PAST
    start = (look.heading(middle) - half) % 360.0
    zone = inner(page.zone)
    low, high = zone[:2], zone[2:]
    for name, radius, style in _disc_lines(placement):
        pieces = sorted(
            (max(a + shift, start), min(b + shift, start + 2.0 * half))
            for shift in (-360.0, 0.0, 360.0)
            for a, b in arcs_in_box(look.origin, radius, low, high)
        )
        kept: list[tuple[float, float]] = []
        for a, b in pieces:
            if kept and a <= kept[-1][1] < b:
                # A whole circle comes in turns; where one ends the next goes on.
                kept[-1] = (kept[-1][0], b)
            elif a < b:
                kept.append((a, b))
        # Parts are counted forward round the wheel, whichever way that is on the page.
        kept = [(a, b) for a, b in kept if b - a > 2.0][:: 1 if look.sign > 0.0 else -1]
        for i, (a, b) in enumerate(kept):
            part = f", part {i + 1}" if len(kept) > 1 else ""
            page.drawing.show(Arc(f"{name}{part}", look.origin, 2.0 * radius, a, b), style, "rotor")


def _disc_lines(placement: Placement) -> tuple[tuple[str, float, Style], ...]:
    """Return the disc's lines: name, radius and style."""
    rotor = placement.rotor
    return (
        ("rotor edge", rotor.radius, PHANTOM),
        ("brake track, inner edge", rotor.radius - rotor.track, HIDDEN),
    )


def _draw_mount(page: Page, look: Look, job: Job, placement: Placement, host: Tube | None) -> None:
    """Draw holes with their crosses, and for posts and flats the face, the bolt axes and the bosses.

    What is punched or scribed is bold. The line of holes or the face is marked at its foot, over the axle.
    """
    face, t, n = placement.interface, placement.t, placement.n

    def at(x: float, up: float) -> Point:
        return look.page(along((0.0, 0.0), (x, t), (up, n)))

    tab = face.family == "tab"
    start = min(face.x_near - _PAST_HOLE, -_FOOT)
    line = Segment(
        "hole line" if tab else "mount face", at(start, face.h), at(face.x_far + _PAST_HOLE, face.h)
    )
    page.drawing.show(line, CHAIN if tab else BOLD, "mount")
    page.drawing.draw(polyline((at(0.0, face.h - _FOOT), at(0.0, face.h + _FOOT / 2.0))), THIN, "mount")
    turn = look.heading(angle_of(t))
    for hole, x in zip(placement.holes, (face.x_near, face.x_far), strict=True):
        centre = look.page((hole.centre[0], hole.centre[1]))
        page.drawing.show(Circle(f"hole {hole.name}", centre, hole.diameter), BOLD if tab else THIN, "drill")
        style = BOLD if tab else THIN
        page.drawing.draw(cross(centre, hole.diameter / 2.0 + 3.5, turn=turn), style, "drill")
        if not tab:
            reach = words.boss_length(job, placement, hole.name) + _PAST_BOSS
            axis = Segment(f"bolt axis {hole.name}", at(x, face.h + _PAST_FACE), at(x, face.h - reach))
            page.drawing.show(axis, SCRIBED, "mount")
    if not tab:
        draw_bosses(page, job, placement, host, at)


def _label(page: Page, look: Look, job: Job, placement: Placement) -> None:
    """Name what is on the drawing, each name where it covers nothing."""
    face, drawing, zone = placement.interface, page.drawing, page.zone
    outward, up_tube = look.heading(angle_of(placement.n)), look.heading(angle_of(placement.t))
    radius = job.axle.dummy / 2.0
    axle = tell("template.axle", diameter=job.axle.dummy)
    drawing.callout(axle, (look.origin,), zone, prefer=300.0, clear=radius, most=2)
    for hole in placement.holes:
        centre, clear = look.page(hole.centre[:2]), hole.diameter / 2.0 + 1.0
        texts = [told(named(hole.name))]
        if face.family == "tab":
            texts = [tell("template.drill", hole=texts[0], diameter=hole.diameter)]
        else:
            # A page that has no room for the boss's size has it in its title block all the same.
            size = words.boss_size(job, placement)[0]
            long = measured(words.boss_length(job, placement, hole.name), "g bare")
            texts.insert(0, tell(f"template.boss.{face.family}", hole=texts[0], diameter=size, length=long))
        for text in texts:
            try:
                drawing.callout(text, (centre,), zone, prefer=outward, clear=clear, most=2)
                break
            except FitError:
                if text is texts[-1]:
                    raise
    disc = tell("template.disc", diameter=job.mount.rotor)
    track = tell("template.track", wide=placement.rotor.track)
    for feature in tuple(drawing.features):
        match feature:
            case Segment(name="mount face", start=(x1, y1), end=(x2, y2)):
                middle = ((x1 + x2) / 2.0, (y1 + y2) / 2.0)
                ends = feature.end, feature.start, middle
                drawing.callout(tell("template.mount_face"), ends, zone, prefer=up_tube)
            case Arc(name="rotor edge" | "rotor edge, part 1"):
                drawing.callout(disc, along_arc(feature), zone, prefer=outward, most=2)
            case Arc(name="brake track, inner edge" | "brake track, inner edge, part 1"):
                drawing.callout(track, along_arc(feature), zone, prefer=outward, most=2)
            case Circle(name="rotor edge"):
                drawing.callout(disc, all_round(feature, outward), zone, prefer=outward)
            case Circle(name="brake track, inner edge"):
                drawing.callout(track, all_round(feature, outward), zone, prefer=outward)
            case Segment(name=name) if name.endswith((" centre line", " direction")):
                tube = name.removesuffix(" centre line").removesuffix(" direction")
                drawing.callout(told(named(tube)), (feature.end,), zone, prefer=up_tube)
