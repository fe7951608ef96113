"""The view from behind to scale: how far outboard everything lies, and an arrow for each measure of that.

Seen from behind the rider's left is on the left, so that outboard is to the left. A tube that is not placed
sideways is drawn dashed at the inner face, where nobody said that it is.
"""

import math
from collections.abc import Iterator, Mapping
from dataclasses import replace

import numpy as np

from geometry.clearance.bodies import (
    axle_bodies,
    bolt_ring,
    bosses,
    caliper,
    corridors,
    disc_body,
    room_solid,
)
from geometry.clearance.convex import Solid, Space
from geometry.core.plane import Point
from geometry.mount.placement import Placement
from geometry.tubes.tube import Tube, centre, outline, section
from sheets.desk import flat
from sheets.desk.arrows import Arrows, Picture, framed
from sheets.desk.flat import Flat, arc, arrow, group, line, screen
from sheets.desk.labels import laid_out
from sheets.desk.measured import Measure
from sheets.desk.picture import way_sign
from sheets.job.read import Job, tubes_of
from sheets.pages import title as sizes
from sheets.setup.clearances import own_caliper
from sheets.setup.outline import plate
from sheets.words.tell import tell

ACROSS: Space = (0.0, 0.0, 1.0)
UP: Space = (0.0, 1.0, 0.0)
_BEHIND = (1.0, 0.0, 0.0)
_NARROW = 280.0
_GUESS = 7.0
"""How thick a dropout is drawn that nobody measured, dashed, mm."""
_LEVEL = 0.25
"""A tube that rises less than this, as a share, is seen end on."""


def behind(
    job: Job, placement: Placement, measures: Mapping[str, Measure], width: float, height: float
) -> Picture:
    """Return the view from behind, drawn for a screen of so many pixels."""
    tubes = tubes_of(job)
    narrow = width < _NARROW
    view = flat.fitted(_must_show(job, placement, tubes), width, height, 30.0 if narrow else 44.0, -1.0)
    arrows = Arrows(measures, narrow)
    parts = [
        *_disc(view, job, placement),
        *_tubes(view, tubes, arrows),
        *_axle(view, job, placement),
        *_dropout(view, job, placement, arrows),
        *_mount(view, job, placement, arrows),
    ]
    axle = view.at((0.0, 0.0))
    inner = line((view.at((0.0, _low(view))), view.at((0.0, _high(view)))), "helper")
    parts.append(group((inner,), "sign"))
    boxes = laid_out(arrows.pins, (width, height), [(axle, 10.0), *way_sign(view)], arrows.lines)
    leaders = group((line(each.leader, "leader") for each in boxes), "leaders")
    svg = framed(view, tell("desk_frame.behind.alt"), [*parts, *_signs(view), leaders, *arrows.drawn])
    return Picture(svg, tuple(boxes), (), view)


def _low(view: Flat) -> float:
    return view.seen(26.0)[0][1]


def _high(view: Flat) -> float:
    return view.seen(10.0)[1][1]


def _must_show(job: Job, placement: Placement, tubes: Mapping[str, Tube]) -> Iterator[Point]:
    """Give what has to be seen, (z, y): mount and caliper, the dropout, and the tubes beside them."""
    yield from ((20.0, -34.0), (-34.0, -34.0))
    room = room_solid(placement, caliper(placement, own_caliper(job)))
    if room is not None:
        yield from flat.silhouette(room, ACROSS, UP)
    yield from ((hole.centre[2], hole.centre[1]) for hole in placement.holes)
    for tube in tubes.values():
        for s in (tube.span[0], min(tube.span[1], placement.interface.x_far + 18.0)):
            _, y, z = centre(tube, s)
            half = section(tube, s).width / 2.0
            yield from ((float(z) - half, float(y)), (float(z) + half, float(y)))


def _drawn(view: Flat, solid: Solid | None, kind: str) -> str:
    if solid is None:
        return ""
    return line(map(view.at, flat.silhouette(solid, ACROSS, UP)), kind, True)


def _disc(view: Flat, job: Job, placement: Placement) -> Iterator[str]:
    disc = _drawn(view, disc_body(placement.rotor), "body.disc.mid")
    if disc:
        yield group(
            (disc, _drawn(view, bolt_ring(placement.rotor), "thin.quiet.dotted")), "part", what="disc"
        )


def _tubes(view: Flat, tubes: Mapping[str, Tube], arrows: Arrows) -> Iterator[str]:
    for number, (name, tube) in enumerate(tubes.items()):
        kind = "part" if tube.placed else "part.unplaced"
        end_on = abs(tube.t0[1]) < _LEVEL
        drawn = _end_on(view, tube) if end_on else _rising(view, tube)
        yield group(drawn, kind, what=name)
        _sideways(view, name, tube, end_on, number, arrows)


def _end_on(view: Flat, tube: Tube) -> Iterator[str]:
    """Draw a tube that runs away from who looks: where it begins, and how far it strays on its way."""
    start, end = tube.span
    far = min(end, start + 200.0)
    ends = []
    for s in (far, start):
        _, y, z = centre(tube, s)
        size = section(tube, s)
        turns = np.radians(np.arange(0, 360, 6))
        ring = [
            view.at((float(z) + size.width / 2.0 * c, float(y) + size.height / 2.0 * d))
            for c, d in zip(np.cos(turns), np.sin(turns), strict=True)
        ]
        ends.append(ring)
    yield line(ends[0], "thin.quiet.dashed", True)
    yield line(ends[1], "fill.metal.mid", True)
    yield line((view.at(centre(tube, start)[[2, 1]]), view.at(centre(tube, far)[[2, 1]])), "thin.quiet.chain")


def _rising(view: Flat, tube: Tube) -> Iterator[str]:
    """Draw a tube that rises, broken off where the screen ends."""
    reach = tube.span[0] + 5.0
    top = _high(view)
    reach = max(reach, min(tube.span[1], (top - tube.offset * tube.n0[1]) / tube.t0[1]))
    seen = replace(tube, straight_to=reach)
    first, second = (
        [view.at(point[[2, 1]]) for point in edge] for edge in outline(seen, _BEHIND, (0.0, 0.0, 1.0))
    )
    yield line([*first, *reversed(second)], "fill.metal", True)
    yield line(first, "mid")
    yield line(second, "mid")
    yield line((first[0], second[0]), "mid")
    if reach < tube.span[1] - 0.1:
        yield flat.broken(first[-1], second[-1], "thin")
    else:
        yield line((first[-1], second[-1]), "mid")
    yield line((view.at(centre(tube, 0.0)[[2, 1]]), view.at(centre(tube, reach)[[2, 1]])), "thin.quiet.chain")


def _sideways(view: Flat, name: str, tube: Tube, end_on: bool, number: int, arrows: Arrows) -> None:
    """Draw a tube's outset, level with the axle, and its splay."""
    _, y, z = centre(tube, 0.0)
    foot = view.at((float(z), float(y)))
    down = 18.0 + 24.0 * number
    face = view.at((0.0, float(y)))
    level = foot[1] + (down if not end_on else -section(tube, tube.span[0]).height / 2.0 * view.scale - 12.0)
    ends = (face[0], level), (foot[0], level)
    helpers = line((foot, (foot[0], level)), "helper")
    if "outset" in tube.lacks:
        ends = (face[0], level), (face[0] - 22.0, level)
        helpers = ""
    arrows.span(f"tubes.{name}.outset", ends[0], ends[1], 180.0 if not end_on else 60.0, helpers)
    if end_on:
        far = view.at(centre(tube, min(tube.span[1], tube.span[0] + 200.0))[[2, 1]])
        level = foot[1] + section(tube, tube.span[0]).height / 2.0 * view.scale + 12.0
        tip = (far[0] if "splay" not in tube.lacks else foot[0] + 24.0, level)
        helpers = line((far, (far[0], level)), "helper") + line((foot, (foot[0], level)), "helper")
        arrows.span(f"tubes.{name}.splay", (foot[0], level), tip, -60.0, helpers)
        return
    # The lean is seen shortened where the tube does not stand upright: its arrow is drawn as it is seen.
    lean = math.degrees(math.atan2(math.tan(math.radians(tube.splay)), tube.t0[1]))
    lean = lean if "splay" not in tube.lacks else 8.0
    radius = max(40.0, 0.62 * (foot[1] - 12.0))
    radius -= 26.0 * number
    plumb = line((foot, screen(foot, radius + 8.0, 90.0)), "helper")
    drawn = arc(foot, radius, 90.0, 90.0 - lean)
    arrows.add(f"tubes.{name}.splay", screen(foot, radius, 90.0 - lean / 2.0), 30.0, plumb, drawn)


def _axle(view: Flat, job: Job, placement: Placement) -> Iterator[str]:
    for name, solid in axle_bodies(placement, job.axle.dummy):
        yield group(
            (_drawn(view, solid, "thin.quiet.dashed" if name == "hub-end" else "thin"),), "part", what=name
        )
    low, high = view.seen(6.0)
    yield group((line((view.at((low[0], 0.0)), view.at((high[0], 0.0))), "thin.quiet.chain"),), "part",
                what="axle")  # fmt: skip


def _dropout(view: Flat, job: Job, placement: Placement, arrows: Arrows) -> Iterator[str]:
    """Draw the dropout cut through the axle: as thick as it is, with the pocket in its inner face."""
    found = plate(job, placement)
    ys = [y for x, y in found.outline.edge if abs(x) < 14.0] if found else []
    low, high = (min(ys), max(ys)) if len(ys) > 1 else (-15.0, 15.0)
    thick = job.dropout.thickness
    outer = _GUESS if thick is None else thick
    pocket = min(placement.pocket, outer - 0.5)
    half = min(9.6, high * 0.8, -low * 0.8)
    ring = [
        (0.0, low), (outer, low), (outer, high), (0.0, high), (0.0, half), (pocket, half), (pocket, -half),
        (0.0, -half),
    ]  # fmt: skip
    kind = "fill.plate.mid" if thick is not None and found else "fill.plate.mid.dashed"
    shapes = [line(map(view.at, ring), kind, True)]
    if found is not None and found.pad is not None:
        base, top = min(y for _, y in found.pad.ring), max(y for _, y in found.pad.ring)
        block = [(0.0, base), (0.0, top), (-found.pad.high, top), (-found.pad.high, base)]
        shapes.append(line(map(view.at, block), "fill.plate.mid", True))
    yield group(shapes, "part", what="dropout")
    level = view.at((0.0, low))[1] + 14.0
    ends = [(view.at((z, 0.0))[0], level) for z in (0.0, outer)]
    helpers = "".join(line(((x, view.at((0.0, low))[1] + 2.0), (x, level + 4.0)), "helper") for x, _ in ends)
    arrows.span("dropout.thickness", ends[0], ends[1], 250.0, helpers)
    y = half * 0.55
    arrows.span("axle.pocket", view.at((0.0, y)), view.at((pocket, y)), 0.0)


def _mount(view: Flat, job: Job, placement: Placement, arrows: Arrows) -> Iterator[str]:
    diameter = sizes.boss_size(job, placement)[0]
    tab = placement.interface.family == "tab"
    thick = sizes.tab_thickness(job, placement)
    lengths = {
        each.name: thick if tab else sizes.boss_length(job, placement, each.name) for each in placement.holes
    }
    diameter = 2.0 * max(hole.diameter for hole in placement.holes) if tab else diameter
    every = bosses(placement, diameter, lengths)
    shapes = [_drawn(view, solid, "fill.tab.bold") for _, solid in every]
    yield group(shapes, "part", what="mount")
    room = room_solid(placement, caliper(placement, own_caliper(job)))
    yield group((_drawn(view, room, "fill.room.thin.dashed"),), "part", what="caliper")
    for way in corridors(placement, boss_length=job.boss.length, tab_thickness=job.boss.thickness):
        if way.rod is not None:
            yield group((_drawn(view, way.rod, "thin.quiet.dotted"),), "part.way", what="key")
    if tab:
        hole = placement.holes[1]
        y = hole.centre[1] + diameter / 2.0 + 10.0 / view.scale
        z = placement.lateral_z
        arrows.span("boss.thickness", view.at((z, y)), view.at((z + thick, y)), 150.0)


def _signs(view: Flat) -> Iterator[str]:
    y = view.height - 14.0
    words = flat.text(tell("desk_frame.outboard"), (54.0, y), "small", "start")
    yield group((arrow((48.0, y), (14.0, y), both=False), words), "sign")
