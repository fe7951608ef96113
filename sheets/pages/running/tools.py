"""Two figures behind the card: the dummy axle and the setting plate, with every number that makes them.

Both are true to a scale that is told. The axle is seen from behind in both dropouts, the plate from the side
that the template is seen from, with the holes or bosses that it carries. What nobody gave has no number.
"""

import itertools
import math
from collections.abc import Callable

import numpy as np

from fonts.drafting import width
from geometry.clearance.bodies import entry
from geometry.clearance.plate_room import LeastPlate
from geometry.core.errors import FitError
from geometry.core.plane import along as past
from geometry.core.plane import angle_of, line_in_box, polar
from geometry.core.polygon import covered
from geometry.core.say import Say, Value, named, say
from geometry.mount.placement import Placement
from geometry.mount.spacers import in_mm
from geometry.tubes.tube import outline
from sheets.ink.drawing import Drawing
from sheets.ink.marks import (
    BOLD,
    CHAIN,
    HIDDEN,
    PHANTOM,
    SOLID,
    THICK,
    THIN,
    arrow_head,
    box,
    break_line,
    circle,
    cross,
    polyline,
)
from sheets.ink.placing import Box
from sheets.ink.records import Point
from sheets.job.read import Job, tubes_of
from sheets.pages import title as words
from sheets.pages.flow import SMALL, Flow
from sheets.setup.lying import lie_flat
from sheets.setup.setup import SetUp
from sheets.words.tell import tell

_SCALES = (2.0, 2.5, 3.0, 4.0, 5.0, 6.0)
"""How many times smaller than the parts are the figures may be."""
_HIGH, _ROW = 2.5, 4.4
"""Height of lettering, and of a row of it with its air, mm."""
_END, _SHEET, _DROPOUT, _COLLAR = 26.0, 24.0, 17.0, 8.0
"""How far past its seat an end is shown, half heights of sheet and dropout, length of the collar, mm."""
_THIN_END, _UNKNOWN = 9.0, 7.0
"""How thick an end and a dropout are drawn that nobody gave, mm: neither bears a number."""
_RING = 5.0
"""Wall at which a ring behind the sheet is drawn, mm."""
_EDGE = 10.0
"""How far a plate is shown to reach past what it carries, mm."""
_HEAD = 2.0
_LAYER = "figures"
_At = Callable[[float, float], Point]


def tools_figures(flow: Flow, job: Job, placement: Placement, setup: SetUp) -> None:
    """Draw what is made before a mount is set up, below the cursor; FitError where no page has the room.

    A fixture has patterns of its own, and its plate none here.
    """
    _axle(flow, job, placement)
    if setup.fixture is None:
        _plate(flow, job, placement, setup.plate)


def _figure(flow: Flow) -> Drawing:
    """Return the page at the cursor, on which what is drawn is a figure from here on."""
    if not flow.drawing.figure:
        flow.drawing.begin_figure()
    return flow.drawing


def _axle(flow: Flow, job: Job, placement: Placement) -> None:
    """Draw the dummy axle between its dropouts with the sheet on it, and tell its numbers."""
    axle, bar = placement.axle, job.axle.dummy
    long = axle.width.value if axle.width else None
    drawn, pocket = 120.0 if long is None else long, max(0.0, placement.pocket)
    thick = _UNKNOWN if job.dropout.thickness is None else job.dropout.thickness
    (lies, off), room = _lying(job, placement), flow.right - flow.left - 2.0
    far = max(_END, thick - pocket + off + _COLLAR + 8.0)
    scale = next((each for each in _SCALES if (drawn + far + _END + 10.0) / each <= room), _SCALES[-1])
    half = max(_SHEET, bar / 2.0 + 6.0) / scale
    flow.need(2.0 * half + 4.2 * _ROW + 4.0 * SMALL)
    drawing, top = _figure(flow), flow.y
    middle, left = top - 1.5 * _ROW - half, flow.left + 1.0 + (room + (far - _END - drawn) / scale) / 2.0

    def at(z: float, up: float) -> Point:
        return left + z / scale, middle + up / scale

    end = axle.through or min(_THIN_END, bar)
    for seat, way, reach in ((0.0, -1.0, far), (drawn, 1.0, _END)):
        inner, outer = seat - way * pocket, seat - way * pocket + way * thick
        tip = at(seat + way * reach, 0.0)
        drawing.draw(polyline((at(seat, 0.0), (tip[0] + way * 2.0, tip[1]))), CHAIN, _LAYER)
        for side in (-1.0, 1.0):
            hole, bore = side * end / 2.0, side * bar / 2.0
            drawing.draw(polyline((at(seat, hole), (tip[0], middle + hole / scale))), THICK, _LAYER)
            floor = ((seat, hole), (seat, bore), (inner, bore)) if pocket else ((inner, hole),)
            profile = (*floor, (inner, side * _DROPOUT), (outer, side * _DROPOUT), (outer, hole))
            drawing.draw(polyline([at(*each) for each in profile], closed=True), THIN, _LAYER)
        drawing.draw(
            break_line(at(seat + way * reach, -end / 2.0), at(seat + way * reach, end / 2.0)), THIN, _LAYER
        )
    drawing.draw(box(at(0.0, -bar / 2.0), at(drawn, bar / 2.0)), THICK, _LAYER)
    row, under = top - _ROW + 0.6, middle - half - _HEAD - _ROW - 0.8
    _sheet(
        drawing,
        job,
        at,
        lies,
        (pocket if job.paper.view == "inboard" else pocket - thick, off),
        (row, under),
        flow.right,
    )
    drawing.letter(
        tell("tools.body", size=bar), at(drawn / 2.0, -_HIGH * scale / 2.0), _HIGH, 0.5, layer=_LAYER
    )
    name = tell("tools.end_through", size=axle.through) if axle.through else tell("tools.end_slot")
    tip = at(drawn + 0.85 * _END, -end / 2.0)
    drawing.draw(polyline((tip, (tip[0], under + _HIGH + 0.8))), THIN, _LAYER)
    last = min(flow.right, tip[0] + width(name, _HIGH) / 2.0)
    drawing.letter(name, (last, under), _HIGH, 1.0, layer=_LAYER)
    flow.y = middle - half - 0.4
    if long is not None:
        _across(
            drawing,
            at(0.0, -bar / 2.0),
            at(long, -bar / 2.0),
            flow.y - _HEAD,
            tell("tools.length", long=long),
            flow.right,
        )
    flow.y -= _ROW + _HEAD + 1.6
    collar = tell("tools.collar_ring", off=off) if off else tell("tools.collar_one")
    said: dict[str, Value] = {"seats": _seats(placement), "ends": _ends(job, placement)}
    collar = collar if job.paper.view == "outboard" else ""
    flow.paragraph(tell("tools.axle_seen", scale=scale, collar=collar, **said).rstrip())


def _seats(placement: Placement) -> Say:
    """Return how far the axle's shoulders are apart, and against what they lie."""
    if placement.axle.width is None:
        return say("tools.seats_unknown")
    long, pocket = placement.axle.width.value, placement.pocket
    if pocket <= 0.0:
        return say("tools.seats_faces", long=long)
    return say("tools.seats_floors", long=long, inner=long - 2.0 * pocket)


def _ends(job: Job, placement: Placement) -> str:
    """Return how thick the axle's ends are, and what goes into a pocket."""
    through, seat = placement.axle.through, entry("hub", "end").value
    said = tell("tools.ends_through", size=through) if through else tell("tools.ends_slot")
    if placement.pocket > 0.0 and job.axle.dummy > seat:
        return f"{said} {tell('tools.ends_turned', size=seat)}"
    return said


def _lying(job: Job, placement: Placement) -> tuple[str, float]:
    """Return where the sheet lies, in words, and how far a tube holds it off the dropout, mm.

    It is what the template's step says: where that does not know, nothing is claimed here.
    """
    flat = lie_flat(job, placement, tubes_of(job))
    if isinstance(flat, Say) and flat.code == "template.proud":
        values = dict(flat.values)
        off = values["by"]
        assert isinstance(off, float)
        return tell("tools.sheet_proud", off=off, face=values["face"]), off
    known = isinstance(flat, Say) and flat.code in ("template.flat", "template.given_flat")
    if job.paper.view == "inboard":
        return tell("tools.sheet_inner"), 0.0
    return tell("tools.sheet_outer" if known else "tools.sheet_unknown"), 0.0


def _sheet(
    drawing: Drawing,
    job: Job,
    at: _At,
    name: str,
    place: tuple[float, float],
    rows: tuple[float, float],
    right: float,
) -> None:
    """Draw the sheet where it lies, its name in the row above, its collar and that one's name below.

    `place` is the face that it belongs to, and how far it is held off that. Nothing reaches beyond `right`.
    """
    inside, (face, off) = job.paper.view == "inboard", place
    lies, bar = face + (off if inside else -off), job.axle.dummy
    for side in (-1.0, 1.0):
        drawing.draw(polyline((at(lies, side * bar / 2.0), at(lies, side * _SHEET))), BOLD, _LAYER)
    if off and not inside:
        # The ring that holds the sheet off goes round the collar.
        for side in (-1.0, 1.0):
            ends = sorted((side * bar / 2.0, side * (bar / 2.0 + _RING)))
            drawing.draw(box(at(face, ends[0]), at(lies, ends[1])), THICK, _LAYER)
    if not inside:
        drawing.draw(box(at(face, -bar / 2.0), at(lies - _COLLAR, bar / 2.0)), THICK, _LAYER)
        foot = at(lies - _COLLAR / 2.0, -bar / 2.0)
        drawing.draw(polyline((foot, (foot[0], rows[1] + _HIGH + 0.8))), THIN, _LAYER)
        drawing.letter(tell("tools.collar", size=bar), (foot[0] - 2.0, rows[1]), _HIGH, layer=_LAYER)
    tip = at(lies, _SHEET)
    drawing.draw(polyline((tip, (tip[0], rows[0] - 0.8))), THIN, _LAYER)
    drawing.letter(name, (min(tip[0] - 2.0, right - width(name, _HIGH)), rows[0]), _HIGH, layer=_LAYER)


def _plate(flow: Flow, job: Job, placement: Placement, least: LeastPlate | None) -> None:
    """Draw the setting plate with its bore and what it carries, each with where it is and how large."""
    face, facing = placement.interface, job.process.facing
    tab = face.family == "tab"
    bore = job.bench.plate_bore or job.axle.dummy
    across = face.hole.diameter.value if tab else words.boss_size(job, placement)[0]
    raised = 0.0 if tab else facing
    lows = [face.h - (across / 2.0 if tab else words.boss_length(job, placement, hole)) for hole in _HOLES]
    xs = (
        -bore / 2.0,
        bore / 2.0,
        *(x + s * across / 2.0 for x in (face.x_near, face.x_far) for s in (-1.0, 1.0)),
    )
    left, right = min(xs) - _EDGE, max(xs) + _EDGE
    low, high = min(-bore / 2.0, *lows) - _EDGE, max(bore / 2.0, face.h + raised + across / 2.0) + _EDGE
    height = tell("tools.length", long=face.h)
    beside = width(height, _HIGH) + 5.0
    room = flow.right - flow.left - beside - 1.0
    scale = next((each for each in _SCALES if (right - left) / each <= room), _SCALES[-1])
    tall = (high - low) / scale
    flow.need(tall + 7.0 * _ROW + 4.0 * SMALL)
    drawing, sign = _figure(flow), -1.0 if job.paper.view == "outboard" else 1.0
    top = flow.y - 2.6 * _ROW
    # The foot's own line carries the height, so that it stands on the side where nothing else is.
    middle = flow.left + beside + (room - (right - left) / scale) / 2.0
    start = middle - (sign * left if sign > 0.0 else -right) / scale

    def at(x: float, up: float) -> Point:
        return start + sign * x / scale, top - tall + (up - low) / scale

    around: Box = (*at(left if sign > 0.0 else right, low), *at(right if sign > 0.0 else left, high))
    if least is None:
        drawing.draw(box(at(left, low), at(right, high)), PHANTOM, _LAYER)
    else:
        _least(drawing, least, at)
        _tubes(drawing, job, placement, at, around)
    drawing.draw(circle(at(0.0, 0.0), bore / scale), BOLD, _LAYER)
    drawing.draw(cross(at(0.0, 0.0), bore / scale / 2.0 + 2.0), THIN, _LAYER)
    for x, floor in zip((face.x_near, face.x_far), lows, strict=True):
        if tab:
            drawing.draw(circle(at(x, face.h), across / scale), BOLD, _LAYER)
            drawing.draw(cross(at(x, face.h), across / scale / 2.0 + 1.5), THIN, _LAYER)
            continue
        drawing.draw(box(at(x - across / 2.0, floor), at(x + across / 2.0, face.h + raised)), THICK, _LAYER)
        drawing.draw(
            polyline((at(x, floor - 2.0 * scale), at(x, face.h + raised + 2.0 * scale))), CHAIN, _LAYER
        )
    drawing.draw(polyline((at(left, face.h), at(right, face.h))), CHAIN if tab else THIN, _LAYER)
    for rank, x in enumerate(sorted((face.x_near, face.x_far), key=abs)):
        level = top + 2.2 + rank * _ROW
        _across(drawing, at(0.0, 0.0), at(x, face.h), level, tell("tools.length", long=abs(x)), flow.right)
    foot, head = (at(right if sign < 0.0 else left, up) for up in (0.0, face.h))
    _upright(drawing, foot, head, height)
    drawing.draw(polyline((foot, at(0.0, 0.0))), THIN, _LAYER)
    flow.y = top - tall - 0.8 * _ROW
    zone: Box = (flow.left, flow.y - 0.4 * _ROW, flow.right, top)
    flow.y = min(flow.y, _named(drawing, job, placement, at, zone, bore, across, lows)) - 0.6 * _ROW
    thick = (
        say("tools.thick_unknown")
        if job.bench.plate is None
        else say("tools.thick_known", thick=in_mm(job.bench.plate))
    )
    line = say("tools.measured_line" if tab else "tools.measured_face")
    edge = say(
        "tools.edge_own" if least is None else "tools.edge_meets" if least.meets else "tools.edge_least"
    )
    said = [tell(f"tools.plate_{job.paper.view}", scale=scale, thick=thick, measured=line, edge=edge)]
    if raised:
        said.append(tell("tools.before_facing", raw=face.h + facing, h=face.h))
    flow.paragraph(" ".join(said))


def _least(drawing: Drawing, plate: LeastPlate, at: _At) -> None:
    """Draw the edge of the least plate, and a cross where something stands furthest into its room."""
    for arm in plate.arms:
        others = [each for each in plate.arms if each is not arm]
        run: list[Point] = []
        for start, end in itertools.pairwise((*arm, arm[0])):
            way = past(end, (-1.0, start))
            steps = max(1, math.ceil(math.dist(start, end)))
            places = [past(start, (i / steps, way)) for i in range(steps + 1)]
            middles = np.array(places[:-1]) / 2.0 + np.array(places[1:]) / 2.0
            for (a, b), hidden in zip(itertools.pairwise(places), covered(others, middles), strict=True):
                if hidden:
                    _run(drawing, run)
                    run = []
                elif run and a != start:
                    run[-1] = at(*b)
                else:
                    run += [at(*b)] if run else [at(*a), at(*b)]
        _run(drawing, run)
    for met in plate.meets:
        drawing.draw(cross(at(*met.at), 2.5, 0.0, 45.0), BOLD, _LAYER)


def _run(drawing: Drawing, run: list[Point]) -> None:
    if len(run) > 1:
        drawing.draw(polyline(run), PHANTOM, _LAYER)


def _tubes(drawing: Drawing, job: Job, placement: Placement, at: _At, around: Box) -> None:
    """Draw the tubes beside the plate, light, as far as the figure goes."""
    t, n = np.asarray(placement.t), np.asarray(placement.n)
    for tube in tubes_of(job).values():
        for edge in outline(tube, (0.0, 0.0, 1.0), (*tube.n0, 0.0)):
            run: list[Point] = []
            for start, end in itertools.pairwise(at(float(p[:2] @ t), float(p[:2] @ n)) for p in edge):
                piece = line_in_box(start, end, around[:2], around[2:])
                if piece is not None and math.dist(*piece) > 0.0:
                    run += [piece[1]] if run else piece
            if len(run) > 1:
                # A taper is straight as far as it can be seen here.
                drawing.draw(polyline((run[0], run[len(run) // 2], run[-1])), HIDDEN, _LAYER)


_HOLES = ("near", "far")


def _named(
    drawing: Drawing,
    job: Job,
    placement: Placement,
    at: _At,
    zone: Box,
    bore: float,
    across: float,
    lows: list[float],
) -> float:
    """Name bore and holes or bosses where each covers nothing; return how far down the names reach."""
    face = placement.interface
    code = "tools.hole" if face.family == "tab" else "tools.boss"
    part = named(face.part)
    named_: list[tuple[str, Point]] = [(tell("tools.bore", size=bore), at(0.0, -bore / 2.0))]
    for hole, x, floor in zip(_HOLES, (face.x_near, face.x_far), lows, strict=True):
        named_.append((tell(code, hole=named(hole), part=part, size=across), at(x, floor)))
    level = zone[1]
    for text, place in named_:
        try:
            drawing.callout(text, (place,), zone, _HIGH, prefer=270.0, layer=_LAYER)
        except FitError:
            # Below the plate there is always room, a row for each; its leader says whose it is.
            half = width(text, _HIGH) / 2.0
            x = min(max(place[0], zone[0] + half), zone[2] - half)
            level -= _ROW
            drawing.letter(text, (x, level), _HIGH, 0.5, layer=_LAYER)
            drawing.draw(polyline((place, (x, level + _HIGH + 0.8))), THIN, _LAYER)
    return level


def _across(drawing: Drawing, start: Point, end: Point, level: float, text: str, right: float) -> None:
    """Draw a length across at a level between the lines of two points, its text over it or beside it.

    Beside it is to its right as long as nothing reaches beyond `right`.
    """
    for x, y in (start, end):
        way = 1.0 if level > y else -1.0
        drawing.draw(polyline(((x, y + way * 0.8), (x, level + way * 1.0))), THIN, _LAYER)
    ends = (start[0], level), (end[0], level)
    _arrow(drawing, *ends)
    low, high = sorted((start[0], end[0]))
    room = high - low - 1.0
    # Past the heads, which stand outside where there is no room between.
    past_heads = 1.0 + (2.0 * _HEAD if high - low < 2.5 * _HEAD else 0.5)
    if width(text, _HIGH) <= room:
        drawing.letter(text, ((low + high) / 2.0, level + 0.7), _HIGH, 0.5, layer=_LAYER)
    elif high + past_heads + width(text, _HIGH) <= right:
        drawing.letter(text, (high + past_heads, level - 0.5 * _HIGH), _HIGH, layer=_LAYER)
    else:
        drawing.letter(text, (low - past_heads, level - 0.5 * _HIGH), _HIGH, 1.0, layer=_LAYER)


def _upright(drawing: Drawing, foot: Point, head: Point, text: str) -> None:
    """Draw a height between two points one over the other, its text to the left of it."""
    x = foot[0] - 3.0
    for each in (foot, head):
        drawing.draw(polyline(((x - 1.0, each[1]), (each[0], each[1]))), THIN, _LAYER)
    _arrow(drawing, (x, foot[1]), (x, head[1]))
    drawing.letter(text, (x - 1.0, (foot[1] + head[1] - _HIGH) / 2.0), _HIGH, 1.0, layer=_LAYER)


def _arrow(drawing: Drawing, start: Point, end: Point) -> None:
    """Draw a line with a head at both ends, outside where there is no room between them."""
    if start == end:
        return
    way = angle_of((end[0] - start[0], end[1] - start[1]))
    long = abs(end[0] - start[0]) + abs(end[1] - start[1])
    drawing.draw(polyline((start, end)), THIN, _LAYER)
    for tip, heading in ((start, way + 180.0), (end, way)):
        if long < 2.5 * _HEAD:
            drawing.draw(polyline((tip, past(tip, (2.0 * _HEAD, polar(heading))))), THIN, _LAYER)
            heading += 180.0
        drawing.draw(arrow_head(tip, heading, _HEAD), SOLID, _LAYER)
