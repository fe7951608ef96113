"""A reading sideways, seen along the tube that carries the mount: what touches what, as this job has it.

Seen so, outboard lies to the left and the mount's height is up, as on the measuring sheet. Everything lies
where the job has it, to one scale, but the jaws and the square, whose sizes nobody asks for.
"""

import math
from collections.abc import Callable, Sequence
from itertools import pairwise

from fonts.drafting import width
from geometry.core.frozen import dataclass
from geometry.core.say import named
from geometry.survey.model import Taken
from geometry.tubes.tube import Tube, centre, halves
from sheets.actions.survey import Bench
from sheets.desk.surroundings import drawn_tab
from sheets.ink.drawing import Drawing
from sheets.ink.marks import CHAIN, HIDDEN, SOLID, THICK, THIN, arrow_head, break_points, polyline
from sheets.ink.placing import Box
from sheets.ink.records import Point
from sheets.pages import title as sizes
from sheets.pages.running.jaws import beam
from sheets.setup.carried import loose
from sheets.setup.outline import plate
from sheets.words.tell import told

_LAYER = "jaws"
_NAME = 2.5
_LOW, _HIGH = -12.0, 12.0
"""How far a dropout reaches below and above the axle, as drawn, mm: across the tube nobody needs its edge."""
_UNKNOWN = 7.0
"""How thick a dropout is drawn, dashed, that nobody measured, mm."""
_SEAT = 4.5
"""Half the width of an axle's pocket, as drawn, mm."""
_PIN = 9.0
"""How far a pin stands up from a face, as drawn, mm."""
_MOST = 1.5
"""Largest scale."""
_HEAD, _BREAK = 12.0, 2.0
"""What is drawn of a mount above where it is broken off, and the white there, mm of the mount."""
_CURVE = 24
"""Pieces that a tube's round is drawn in."""


@dataclass(frozen=True, slots=True)
class Section:
    """What stands in the picture, mm, as (outboard, up) from the axle and the dropout's inner face.

    `mount` stands on `tube`, or is one with `dropout`; `tube` and `pin` may be empty. `thick` says whether
    the dropout's thickness is known, `placed` whether it is known where the tube lies sideways, `one` that
    mount and dropout are one plate.
    """

    dropout: tuple[Point, ...]
    tube: tuple[Point, ...]
    mount: tuple[Point, ...]
    pin: tuple[Point, ...]
    outer: float
    top: float
    thick: bool
    placed: bool
    one: bool

    @property
    def broken(self) -> tuple[float, float] | None:
        """Return between which heights a long mount is broken off, so that what matters is drawn larger."""
        below = max(up for _, up in (*self.dropout, *self.tube)) + 5.0
        above = self.top - _HEAD
        return (below, above) if above - below > _BREAK else None

    def shown(self, up: float) -> float:
        """Return how high a height is drawn."""
        broken = self.broken
        if broken is None or up <= broken[0]:
            return up
        return max(up - broken[1], 0.0) + broken[0] + _BREAK


def section_of(bench: Bench, taken: Taken) -> Section:
    """Return what a section through the mount at a reading's hole shows; between the holes for neither."""
    job, placement = bench.source.job, bench.placement
    form, thick = placement.interface, job.dropout.thickness
    outer = _UNKNOWN if thick is None else thick
    tube = bench.tubes.get(placement.host)
    x = {"near": form.x_near, "far": form.x_far}.get(taken.at, form.x_far)
    round_ = _round(placement.n, tube, x) if tube is not None else ()
    tab, z = form.family == "tab", placement.lateral_z
    one = tab and drawn_tab(bench)
    high = _HIGH
    if tab:
        top = form.h + sizes.tab_radius(placement)
        stock = job.process.facing if taken.reading.stage == "before" else 0.0
        sides = z - stock, z + sizes.tab_thickness(job, placement)
        foot = _HIGH if one else None
    else:
        top = form.h
        half = sizes.boss_size(job, placement)[0] / 2.0
        sides = z - half, z + half
        hole = taken.at or "far"
        # Posts end on the tube, or on the dropout where that carries them; bosses are let into the tube.
        deep = form.h - sizes.boss_length(job, placement, hole)
        carried = dict(loose(job, placement, bench.tubes)).get(hole)
        foot = deep if form.family == "flat" or carried is not None else None
        high = max(high, deep) if carried == "dropout" else high
    # A plate with the tab in it is seen below and above where it is broken off.
    high = high if one else max(high, _metal(bench, x))
    dropout = _dropout(outer, high, placement.pocket)
    low = _foot(sides, round_, top - 20.0) if foot is None else ((sides[1], foot), (sides[0], foot))
    pin = () if tab or not taken.reading.pins else _upright(z, sizes_of_pin(taken), (top, top + _PIN))
    mount = ((sides[0], top), (sides[1], top), *low)
    return Section(
        dropout, round_, mount, pin, outer, top, thick is not None, tube is not None and tube.placed, one
    )


def sizes_of_pin(taken: Taken) -> float:
    """Return half a pin's width as the reading has it: what it adds to the distance itself, mm."""
    return abs(taken.reading.offset)


def target(bench: Bench, taken: Taken) -> tuple[float, float]:
    """Return from where to where a reading goes sideways, mm outboard of the dropout's inner face."""
    reading = taken.reading
    base = 0.0 if reading.base == "inner" else bench.source.job.dropout.thickness or _UNKNOWN
    return base, base + reading.sign * reading.nominal


def draw_section(drawing: Drawing, zone: Box, bench: Bench, taken: Taken) -> None:
    """Draw a reading of the sideways kind, or a lean, into a zone."""
    drawing.begin_figure()
    left, low, right, high = zone
    seen = section_of(bench, taken)
    lean = taken.reading.kind == "lean"
    points = [*seen.dropout, *seen.tube, *seen.mount, *seen.pin]
    if not lean:
        points += [(each, 0.0) for each in target(bench, taken)]
    first, last = (pick(x for x, _ in points) for pick in (min, max))
    bottom, top = min(up for _, up in points), seen.shown(max(up for _, up in points))
    # Beside it there is room for a square or a ring, above it for the beam, below it for words.
    beside, above, below = (13.0 if lean else 9.0), 12.5, 7.5
    scale = min(
        (right - left - 2.0 * beside) / (last - first), (high - low - above - below) / (top - bottom), _MOST
    )
    middle = (left + right) / 2.0 + (first + last) / 2.0 * scale
    ground = low + below - bottom * scale

    def at(point: Point) -> Point:
        return middle - point[0] * scale, ground + seen.shown(point[1]) * scale

    _bodies(drawing, seen, at)
    axle = ground
    drawing.draw(polyline(((left, axle), (right, axle))), CHAIN, _LAYER)
    _words(drawing, zone, bench, seen, at, lean)
    if lean:
        _lean(drawing, bench, seen, at)
        return
    base, to = target(bench, taken)
    touched = seen.top + _PIN / 2.0 if seen.pin else seen.top
    start = max(up for x, up in seen.dropout if abs(x - base) < 1e-6)
    level = high - 4.5
    ends = (at((base, 0.0))[0], level), (at((to, 0.0))[0], level)
    beam(drawing, (at((base, start)), at((to, touched))), ends, "?")


def _bodies(drawing: Drawing, seen: Section, at: Callable[[Point], Point]) -> None:
    """Draw dropout, tube, mount and pin; what is not known dashed."""
    for points, style in (
        (seen.tube, THIN if seen.placed else HIDDEN),
        (() if seen.one else seen.dropout, THICK if seen.thick else HIDDEN),
        (seen.pin, THICK),
    ):
        if points:
            drawing.draw(polyline([at(each) for each in points], closed=True), style, _LAYER)
    inner, outer, *low = (at(each) for each in seen.mount)
    foot = low[::-1]
    if seen.one:
        # What is one plate has no line between: down its inner side and up its outer one.
        *inside, corner, bottom = (at(each) for each in seen.dropout)
        foot = [foot[0], *reversed(inside), bottom, corner, foot[-1]]
    if seen.broken is None:
        drawing.draw(polyline((inner, outer, *reversed(foot)), closed=True), THICK, _LAYER)
        return
    # The head above where it is broken off, and the foot below.
    below = at((0.0, seen.broken[0]))[1]
    above = at((0.0, seen.broken[1]))[1]
    for y, ends in ((above, [inner, outer]), (below, foot)):
        teeth = break_points((ends[0][0], y), (ends[-1][0], y), 0.0)
        drawing.draw(polyline((teeth[0], *ends, teeth[-1])), THICK, _LAYER)
        drawing.draw(polyline(teeth), THIN, _LAYER)


def _words(
    drawing: Drawing, zone: Box, bench: Bench, seen: Section, at: Callable[[Point], Point], lean: bool
) -> None:
    """Letter what is what: the face that is read from, which side is which, and the tube."""
    left, low, right, _ = zone
    face = told(named("inner_face"))
    half = width(face, _NAME) / 2.0
    x = min(max(at((0.0, 0.0))[0], left + half), right - half)
    lowest = min(up for _, up in (*seen.dropout, *seen.tube))
    drawing.letter(face, (x, at((0.0, lowest))[1] - 4.2), _NAME, 0.5, layer=_LAYER)
    outboard = told(named("outboard"))
    drawing.letter(outboard, (left + 4.0, low), _NAME, layer=_LAYER)
    drawing.draw(polyline(((left + 3.2, low + 1.2), (left, low + 1.2))), THIN, _LAYER)
    drawing.draw(arrow_head((left, low + 1.2), 180.0, 2.2), SOLID, _LAYER)
    if seen.tube:
        name = told(named(bench.placement.host))
        # On the side where no square stands, and off the axle's line.
        inboard = not lean or bench.placement.interface.family == "tab"
        x, y = at((min if inboard else max)(seen.tube))
        x += 1.0 if inboard else -1.0
        axle = at((0.0, 0.0))[1]
        y = axle + 1.0 if axle - _NAME - 1.0 < y - _NAME / 2.0 < axle + 1.0 else y - _NAME / 2.0
        end = x + width(name, _NAME) if inboard else x - width(name, _NAME)
        if left <= end <= right:
            drawing.letter(name, (x, y), _NAME, 0.0 if inboard else 1.0, layer=_LAYER)


def _lean(drawing: Drawing, bench: Bench, seen: Section, at: Callable[[Point], Point]) -> None:
    """Draw a square on the dropout's outer face, or on the dummy axle, and the gap that is read."""
    outer, inner = (pick(x for x, _ in seen.mount) for pick in (max, min))
    if bench.placement.interface.family == "tab":
        # It stands off the face by what its own beam takes; its blade runs as the face does.
        foot, away = _HIGH - 4.0, max(outer, seen.outer) + 6.0
        corner = at((away, foot))
        drawing.draw(
            polyline((at((seen.outer, foot)), corner, (corner[0], at((0.0, seen.top))[1] + 3.0))),
            THICK,
            _LAYER,
        )
        level = at((0.0, seen.top))[1] - 4.0
        beam(drawing, (at((outer, 0.0)), corner), ((at((outer, 0.0))[0], level), (corner[0], level)), "?")
        return
    half = bench.source.job.axle.dummy / 2.0
    ends = min(inner, seen.dropout[0][0], *(x for x, _ in seen.tube or seen.dropout)) - 4.0
    for up in (half, -half):
        drawing.draw(polyline((at((0.0, up)), at((ends - 4.0, up)))), THIN, _LAYER)
    blade = at((0.0, seen.top))[1] + 4.0
    corner = at((ends, 0.0))[0], blade
    drawing.draw(polyline((at((ends, half)), corner, (at((outer, 0.0))[0] - 4.0, blade))), THICK, _LAYER)
    x = at((outer, 0.0))[0] + 1.5
    beam(drawing, ((x, at((0.0, seen.top))[1]), (x, blade)), ((x, at((0.0, seen.top))[1]), (x, blade)), "?")


def _dropout(outer: float, high: float, pocket: float) -> tuple[Point, ...]:
    """Return the dropout cut through at the axle, with the axle's pocket in its inner face."""
    deep = min(pocket, outer - 0.5)
    notch = ((0.0, -_SEAT), (deep, -_SEAT), (deep, _SEAT), (0.0, _SEAT)) if pocket else ()
    return ((0.0, _LOW), *notch, (0.0, high), (outer, high), (outer, _LOW))


def _metal(bench: Bench, x: float) -> float:
    """Return how high the dropout's outline stands at a place up the tube, mm; its foot where it does not."""
    found = plate(bench.source.job, bench.placement)
    t, n = bench.placement.t, bench.placement.n
    heights = [_LOW]
    for (ax, ay), (bx, by) in pairwise((*found.outline.edge, found.outline.edge[0])) if found else ():
        a, b = ax * t[0] + ay * t[1], bx * t[0] + by * t[1]
        if min(a, b) <= x <= max(a, b) and a != b:
            share = (x - a) / (b - a)
            heights.append((ax + share * (bx - ax)) * n[0] + (ay + share * (by - ay)) * n[1])
    return max(heights)


def _round(n: Point, tube: Tube, x: float) -> tuple[Point, ...]:
    """Return a tube cut through where the hole is, or nearest to it where it is known."""
    s = min(max(x, tube.span[0]), tube.span[1])
    at = centre(tube, s)
    up = float(at[0]) * n[0] + float(at[1]) * n[1]
    tall, wide = halves(tube, s)
    turns = (math.tau * i / _CURVE for i in range(_CURVE))
    return tuple((float(at[2]) + wide * math.cos(a), up + tall * math.sin(a)) for a in turns)


def _foot(sides: tuple[float, float], round_: Sequence[Point], bare: float) -> tuple[Point, ...]:
    """Return the foot of what is coped over a tube, from outboard; `bare` where there is none under it."""
    inner, outer = sides
    upper = sorted(_upper(round_))
    within = [each for each in upper if inner < each[0] < outer]
    ends = [(side, _height(upper, side)) for side in (outer, inner)]
    known = [up for _, up in (*within, *((z, up) for z, up in ends if up is not None))]
    level = min(known, default=bare)
    (first, second) = ((z, level if up is None else up) for z, up in ends)
    return (first, *reversed(within), second)


def _upper(round_: Sequence[Point]) -> list[Point]:
    middle = sum(up for _, up in round_) / len(round_) if round_ else 0.0
    return [each for each in round_ if each[1] >= middle - 1e-9]


def _height(upper: Sequence[Point], z: float) -> float | None:
    """Return how high the line of a tube's upper side stands at z, None beside it."""
    for (a, low), (b, high) in pairwise(upper):
        if a <= z <= b and b > a:
            return low + (high - low) * (z - a) / (b - a)
    return None


def _upright(z: float, half: float, span: tuple[float, float]) -> tuple[Point, ...]:
    low, high = span
    return ((z - half, low), (z - half, high), (z + half, high), (z + half, low))
