"""The side view of a frame to scale, from outboard: what is there, and an arrow for each measure.

Job and placement alone make it, in some thousandths of a second, so that it follows every keystroke; what is
found of the job comes later and lights up parts of it by their names. A part is a group with "data-what", a
measure's arrow one with "data-key". The boxes into which measures are typed are no part of the drawing: where
they go is told beside it.
"""

import math
from collections.abc import Iterator, Mapping
from dataclasses import replace

from geometry.clearance.bodies import axle_bodies, bolt_ring, caliper, corridors, seat
from geometry.clearance.convex import Solid, Space
from geometry.core.plane import Point, along, angle_of, line_in_box, polar
from geometry.mount.placement import MEETING, Placement
from geometry.tubes.tube import Tube, outline, section
from sheets.desk import flat
from sheets.desk.arrows import Arrows, Handle, Picture, framed
from sheets.desk.flat import INSET, Flat, arrow, circle, cross, group, line, screen
from sheets.desk.labels import laid_out
from sheets.desk.measured import Measure
from sheets.desk.turns import angles
from sheets.job.read import Job, tubes_of
from sheets.pages import title as sizes
from sheets.pages.full_size.in_place import plain_tab
from sheets.setup.clearances import own_caliper
from sheets.setup.outline import plate, shape
from sheets.words.lengths import units
from sheets.words.tell import tell

ACROSS: Space = (1.0, 0.0, 0.0)
UP: Space = (0.0, 1.0, 0.0)
_OUT: Space = (0.0, 0.0, 1.0)
_NARROW = 560.0
"""Below this many pixels a box shows its letter alone until it is typed in."""
_STEP = 16.0
"""How far apart the points of a tube are that boxes keep off, pixels."""
_GHOST = {"seatstay": 118.0, "chainstay": 180.0, "fork-leg": 90.0}
"""Where a tube that nobody measured is hinted at, degrees; a seatstay's own angle is not known either."""


def side(
    job: Job, placement: Placement, measures: Mapping[str, Measure], width: float, height: float
) -> Picture:
    """Return the side view, drawn for a screen of so many pixels."""
    tubes = tubes_of(job)
    narrow = width < _NARROW
    view = flat.fitted(_must_show(job, placement, tubes), width, height, 34.0 if narrow else 56.0)
    arrows = Arrows(measures, narrow)
    handles: list[Handle] = []
    parts = [
        *_disc(view, placement),
        *_ghosts(view, placement, tubes, arrows),
        *_tubes(view, job, placement, tubes, arrows, handles),
        *_dropout(view, job, placement),
        *_axle(view, job, placement, arrows),
        *_mount(view, job, placement, tubes, arrows),
        *_caliper(view, job, placement),
    ]
    angles(view, job, placement, tubes, arrows, handles)
    free = [(view.at(hole.centre), 12.0) for hole in placement.holes] + [(view.at((0.0, 0.0)), 16.0)]
    free += [(each.at, 12.0) for each in handles]
    # The scale's bar with its words, and which way is forward.
    free += [((width - 14.0 - share * 50.0 * view.scale, height - 22.0), 12.0) for share in (0.2, 0.5, 0.8)]
    free += way_sign(view)
    over = [spot for tube in tubes.values() for spot in _body(view, tube)]
    boxes = laid_out(arrows.pins, (width, height), free, arrows.lines, over)
    leaders = group((line(each.leader, "leader") for each in boxes), "leaders")
    svg = framed(view, tell("desk_frame.side.alt"), [*parts, *_signs(view), leaders, *arrows.drawn])
    return Picture(svg, tuple(boxes), tuple(handles), view)


def _must_show(job: Job, placement: Placement, tubes: Mapping[str, Tube]) -> Iterator[Point]:
    reach = placement.rotor.radius
    yield from ((reach, reach * 0.72), (-reach, -reach * 0.72), (0.0, reach), (0.0, -reach))
    yield from (hole.centre[:2] for hole in placement.holes)
    yield from _room(job, placement)
    far = placement.interface.x_far + 26.0
    yield from (along((0.0, 0.0), (far, tube.t0), (tube.offset, tube.n0)) for tube in tubes.values())
    shape = plate(job, placement)
    yield from shape.outline.edge if shape else ()


def _disc(view: Flat, placement: Placement) -> Iterator[str]:
    rotor, axle = placement.rotor, view.at((0.0, 0.0))
    disc = [circle(axle, rotor.radius * view.scale, "body.disc.mid")]
    disc.append(circle(axle, (rotor.radius - rotor.track) * view.scale, "thin.quiet"))
    ring = bolt_ring(rotor)
    if ring is not None:
        disc.append(line(map(view.at, flat.silhouette(ring, ACROSS, UP)), "thin.quiet.dotted", True))
    yield group(disc, "part", what="disc")


def _ghosts(view: Flat, placement: Placement, tubes: Mapping[str, Tube], arrows: Arrows) -> Iterator[str]:
    """Hint at each tube that such a frame has and nobody measured, with the box of its first place."""
    for name in MEETING[placement.end]:
        if name in tubes:
            continue
        way = polar(_GHOST[name])
        ends = _run(view, (0.0, 0.0), way, 20.0)
        if ends is None:
            continue
        start, end = ends
        yield group((line((start, end), "ghost"),), "part", what=name)
        middle = ((start[0] + end[0]) / 2.0, (start[1] + end[1]) / 2.0)
        arrows.add(f"tubes.{name}.place.1", middle, _GHOST[name] - 90.0, line((start, end), "shaft"))


def _run(view: Flat, start: Point, way: Point, first: float) -> tuple[Point, Point] | None:
    """Return what the screen shows of a line from `first` mm on, on the screen; None for nothing."""
    low, high = view.seen(INSET)
    seen = line_in_box(along(start, (first, way)), along(start, (2000.0, way)), low, high)
    return None if seen is None else (view.at(seen[0]), view.at(seen[1]))


def _reach(view: Flat, tube: Tube) -> float:
    """Return how far up a tube the screen shows it, mm."""
    low, high = view.seen(INSET)
    start = along((0.0, 0.0), (tube.offset, tube.n0))
    seen = line_in_box(start, along(start, (2000.0, tube.t0)), low, high)
    far = math.dist(start, seen[1]) if seen else 0.0
    return max(tube.span[0] + 5.0, min(far, tube.span[1]))


def _body(view: Flat, tube: Tube) -> Iterator[Point]:
    """Return points all over a tube as the screen shows it."""
    step, start = _STEP / view.scale, tube.span[0]
    foot = along((0.0, 0.0), (tube.offset, tube.n0))
    for i in range(int((_reach(view, tube) - start) / step) + 1):
        half = section(tube, start + i * step).height / 2.0
        count = max(2, math.ceil(2.0 * half / step) + 1)
        for j in range(count):
            up = half * (2.0 * j / (count - 1) - 1.0)
            yield view.at(along(foot, (start + i * step, tube.t0), (up, tube.n0)))


def _tubes(
    view: Flat,
    job: Job,
    placement: Placement,
    tubes: Mapping[str, Tube],
    arrows: Arrows,
    handles: list[Handle],
) -> Iterator[str]:
    """Draw the tubes, broken off where they go on, with what is measured across and along them."""
    order = sorted(tubes.items(), key=lambda item: item[0] == placement.host)
    for name, tube in order:
        reach = _reach(view, tube)
        seen = replace(tube, straight_to=reach)
        first, second = ([view.at(point) for point in edge] for edge in outline(seen, _OUT, (*tube.n0, 0.0)))
        shapes = [
            line([*first, *reversed(second)], "fill.metal", True),
            line(first, "mid"),
            line(second, "mid"),
            line((first[0], second[0]), "mid"),
            flat.broken(first[-1], second[-1], "thin")
            if reach < tube.span[1] - 0.1
            else line((first[-1], second[-1]), "mid"),
        ]
        foot = along((0.0, 0.0), (tube.offset, tube.n0))
        ends = view.at(foot), view.at(along(foot, (reach, tube.t0)))
        shapes.append(line(ends, "thin.quiet.chain"))
        kind = "part" if tube.placed else "part.unplaced"
        yield group(shapes, kind, what=name)
        _across(view, job, tube, reach, arrows, handles, name == placement.host)
    brace = job.tubes.brace
    if brace is not None and {"chainstay", "seatstay"} <= tubes.keys():
        a, b = (
            along((0.0, 0.0), (tube.offset, tube.n0), (s, tube.t0))
            for tube, s in (
                (tubes["chainstay"], brace.on_chainstay),
                (tubes["seatstay"], brace.on_seatstay),
            )
        )
        far = math.dist(a, b) or 1.0
        side_way = (-(b[1] - a[1]) / far * brace.diameter / 2.0, (b[0] - a[0]) / far * brace.diameter / 2.0)
        edges = [
            [view.at((x + sign * side_way[0], y + sign * side_way[1])) for x, y in (a, b)] for sign in (1, -1)
        ]
        shapes = [line([*edges[0], *reversed(edges[1])], "fill.metal", True)]
        yield group([*shapes, *(line(edge, "mid") for edge in edges)], "part", what="brace")
        for key, tube, s, at in (
            ("on_chainstay", tubes["chainstay"], brace.on_chainstay, a),
            ("on_seatstay", tubes["seatstay"], brace.on_seatstay, b),
        ):
            handles.append(_slider(view, f"tubes.brace.{key}", at, s, tube))


def _slider(view: Flat, key: str, at: Point, value: float, tube: Tube) -> Handle:
    return Handle(key, view.at(at), value, way=(view.sign * tube.t0[0], -tube.t0[1]))


def _across(
    view: Flat, job: Job, tube: Tube, reach: float, arrows: Arrows, handles: list[Handle], host: bool
) -> None:
    """Draw what is measured across a tube: its outside at each place, its wall, how it passes the axle."""
    low, high = view.seen(INSET)
    foot = along((0.0, 0.0), (tube.offset, tube.n0))
    away = angle_of(tube.n0) + (0.0 if not host else 180.0)
    table = job.tubes.given()[tube.name]  # type: ignore[index]
    for number, (s, *_) in enumerate(table.diameters, 1):
        at = min(s, reach)
        half = section(tube, s).height / 2.0
        ends = [along(foot, (at, tube.t0), (up, tube.n0)) for up in (half, -half)]
        key = f"tubes.{tube.name}.place.{number}"
        if s <= reach + 0.1:
            depth = -half - 9.0 / view.scale if host else half + 9.0 / view.scale
            more = _measured_up(view, foot, tube, s, depth)
            near, far = (view.at(end) for end in (reversed(ends) if host else ends))
            arrows.span(key, near, far, away, more, about=near)
            spot = along(foot, (s, tube.t0))
            if low[0] < spot[0] < high[0] and low[1] < spot[1] < high[1]:
                handles.append(_slider(view, key, spot, s, tube))
        else:
            # It lies beyond the screen: an arrow points there from where the tube is broken off.
            end = view.at(along(foot, (reach, tube.t0), ((-half if host else half) * 0.5, tube.n0)))
            start = screen(end, 22.0, angle_of(tube.t0) + 180.0)
            arrows.add(key, start, away, arrow(start, end, both=False))
    wall = table.wall or 1.0
    s = tube.span[0] + 0.62 * (reach - tube.span[0])
    edge = -section(tube, s).height / 2.0 if host else section(tube, s).height / 2.0
    inner = edge + (wall if host else -wall)
    points = [view.at(along(foot, (s, tube.t0), (up, tube.n0))) for up in (edge, inner)]
    arrows.span(f"tubes.{tube.name}.wall", points[0], points[1], away)
    s = tube.span[0] + 0.8 * (reach - tube.span[0])
    points = [view.at(along((0.0, 0.0), (s, tube.t0), (up, tube.n0))) for up in (0.0, tube.offset)]
    line_of_axle = view.at((0.0, 0.0)), view.at(along((0.0, 0.0), (reach, tube.t0)))
    more = line(line_of_axle, "helper") if abs(tube.offset) > 0.05 else ""
    arrows.span(f"tubes.{tube.name}.offset", points[0], points[1], away + 180.0, more)


def _measured_up(view: Flat, foot: Point, tube: Tube, s: float, depth: float) -> str:
    """Return how far up a tube a place lies: shown while it is typed."""
    ends = [view.at(along(foot, (each, tube.t0), (depth, tube.n0))) for each in (0.0, s)]
    down = line((view.at(foot), ends[0]), "helper") + line(
        (view.at(along(foot, (s, tube.t0))), ends[1]), "helper"
    )
    return group((down, arrow(ends[0], ends[1])), "more")


def _dropout(view: Flat, job: Job, placement: Placement) -> Iterator[str]:
    found = plate(job, placement)
    if found is None:
        # Nobody drew it: what is known is that it is there.
        yield group((circle(view.at((0.0, 0.0)), 15.0 * view.scale, "ghost"),), "part", what="dropout")
        return
    every = [[view.at(point) for point in ring] for ring in found.outline.rings]
    shapes = [flat.rings(every, "fill.plate.mid" if found.sure else "fill.plate.mid.dashed")]
    for hole in found.outline.holes:
        shapes.append(circle(view.at(hole.centre), hole.diameter / 2.0 * view.scale, "hole.thin"))
    if found.pad is not None:
        # It lies behind the plate.
        shapes.append(line(map(view.at, found.pad.ring), "thin.dashed", True))
    yield group(shapes, "part", what="dropout")


def _axle(view: Flat, job: Job, placement: Placement, arrows: Arrows) -> Iterator[str]:
    centre = view.at((0.0, 0.0))
    for name, solid in axle_bodies(placement, job.axle.dummy):
        drawn = line(map(view.at, flat.silhouette(solid, ACROSS, UP)), "thin" + _AXLE[name], True)
        yield group((drawn,), "part", what=name)
    yield group((cross(centre, 11.0, "thin"),), "part", what="axle")
    radius = job.axle.dummy / 2.0 * view.scale
    ends = screen(centre, radius, 215.0), screen(centre, radius, 35.0)
    arrows.span("axle.dummy", ends[0], ends[1], 325.0, about=ends[0])
    at = screen(centre, placement.rotor.radius * view.scale, -48.0)
    inside = screen(centre, placement.rotor.radius * view.scale - 26.0, -48.0)
    arrows.add("mount.rotor", at, -48.0, arrow(inside, at, both=False))


_AXLE = {"hub-end": ".quiet.dashed", "dummy-axle": ".mid"}


def _mount(
    view: Flat, job: Job, placement: Placement, tubes: Mapping[str, Tube], arrows: Arrows
) -> Iterator[str]:
    face = placement.interface
    diameter, _ = sizes.boss_size(job, placement)

    def at(u: float, up: float) -> Point:
        return view.at(along((0.0, 0.0), (u, placement.t), (up, placement.n)))

    shapes: list[str] = []
    holes = placement.holes
    if face.family == "tab":
        # A plain tab as paper draws it: round both holes, and down to its tube, where it is coped.
        shapes.append(line([at(*each) for each in _tab(job, placement, tubes)], "fill.tab.mid", True))
        for hole in holes:
            shapes.append(circle(view.at(hole.centre), hole.diameter / 2.0 * view.scale, "bold.hole"))
    else:
        half = diameter / 2.0
        for hole, x in zip(holes, (face.x_near, face.x_far), strict=True):
            long = sizes.boss_length(job, placement, hole.name)
            corners = [
                at(x + u, face.h - down) for u, down in ((-half, 0), (-half, long), (half, long), (half, 0))
            ]
            shapes.append(line(corners, "fill.tab.bold", True))
            for side_way in (-hole.diameter / 2.0, hole.diameter / 2.0):
                ends = at(x + side_way, face.h), at(x + side_way, face.h - long)
                shapes.append(line(ends, "thin.quiet.dashed"))
            shapes.append(line((at(x, face.h + 6.0), at(x, face.h - long - 4.0)), "thin.quiet.chain"))
        shapes.append(line((at(face.x_near - half - 3, face.h), at(face.x_far + half + 3, face.h)), "bold"))
        far_long = sizes.boss_length(job, placement, "far")
        u = face.x_far + half + 7.0 / view.scale
        out = angle_of(placement.t)
        arrows.span("boss.length", at(u, face.h), at(u, face.h - far_long), out)
        low = face.h - 0.28 * far_long
        arrows.span("boss.diameter", at(face.x_far - half, low), at(face.x_far + half, low), out)
    for hole in holes:
        shapes.append(cross(view.at(hole.centre), 10.0, "thin"))
    yield group(shapes, "part", what="mount")


def _tab(job: Job, placement: Placement, tubes: Mapping[str, Tube]) -> list[Point]:
    """Return a tab's edge, mm up the mount's line and square to it: two eyes where no tube is known."""
    drawn = shape(job, placement)
    if drawn is not None and drawn.sure and drawn.tab is not None:
        # The dropout has it, and is drawn as it is: here its eyes alone.
        return _eyes(placement)
    return plain_tab(placement, tubes[placement.host]) if placement.host in tubes else _eyes(placement)


def _eyes(placement: Placement) -> list[Point]:
    """Return the outline of two eyes and what joins them."""
    face, radius = placement.interface, max(hole.diameter for hole in placement.holes)
    turns = [polar(90.0 - i * 10.0) for i in range(19)]
    far = [(face.x_far + radius * x, face.h + radius * y) for x, y in turns]
    return far + [(face.x_near - radius * x, face.h - radius * y) for x, y in turns]


def _room(job: Job, placement: Placement) -> list[Point]:
    """Return the corners of the caliper's room in the side view, mm."""
    room = caliper(placement, own_caliper(job))
    at = seat(placement, room)
    first, last = at.along + room.offset - room.length / 2.0, at.along + room.offset + room.length / 2.0
    low, high = at.up - room.depth, at.up + room.height
    return [
        along((0.0, 0.0), (u, placement.t), (up, placement.n))
        for u, up in ((first, low), (last, low), (last, high), (first, high))
    ]


def _caliper(view: Flat, job: Job, placement: Placement) -> Iterator[str]:
    room = caliper(placement, own_caliper(job))
    box = line(map(view.at, _room(job, placement)), "fill.room.thin.dashed", True)
    pad = view.at(seat(placement, room).pad)
    yield group(
        (box, circle(pad, room.pad_height.value / 2.0 * view.scale, "thin.quiet")), "part", what="caliper"
    )
    ways = corridors(placement, boss_length=job.boss.length, tab_thickness=job.boss.thickness)
    for way in ways:
        if way.rod is not None:
            yield group((_solid(view, way.rod),), "part.way", what="key")


def _solid(view: Flat, solid: Solid) -> str:
    return line(map(view.at, flat.silhouette(solid, ACROSS, UP)), "thin.quiet.dotted", True)


def way_sign(view: Flat) -> list[tuple[Point, float]]:
    """Return what the arrow with its word in the lower left corner takes, as circles."""
    return [((20.0 + 18.0 * i, view.height - 14.0), 9.0) for i in range(6)]


def _signs(view: Flat) -> Iterator[str]:
    """Draw the bar of the scale, and which way is forward, in the corners."""
    y = view.height - 14.0
    long, words = (50.8, tell("desk_frame.bar.in")) if units() == "in" else (50.0, tell("desk_frame.bar.mm"))
    right = view.width - 14.0
    left = right - long * view.scale
    bar = line(((left, y - 5.0), (left, y), (right, y), (right, y - 5.0)), "thin")
    yield group((bar, flat.text(words, ((left + right) / 2.0, y - 9.0), "small")), "sign")
    ahead = (
        arrow((48.0, y), (14.0, y), both=False),
        flat.text(tell("desk_frame.forward"), (54.0, y), "small", "start"),
    )
    yield group(ahead, "sign")
