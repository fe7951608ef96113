"""Where a caliper's jaws go on a mount: side view and section, each reading numbered, not to scale."""

import math
from collections.abc import Callable, Mapping
from typing import Literal

from fonts.drafting import width
from geometry.core.frozen import dataclass
from geometry.core.plane import along
from geometry.core.say import named
from geometry.tables.axles import End
from geometry.tables.interface_rows import Family
from sheets.ink.drawing import Drawing
from sheets.ink.marks import CHAIN, SOLID, THICK, THIN, arrow_head, box, circle, polyline
from sheets.ink.placing import Box, clear_of, grown
from sheets.ink.records import Point
from sheets.words.tell import told

_LAYER = "jaws"
_NUMBER, _NAME = 3.5, 2.5
_RING = 5.4
"""Ring about a reading's number, mm."""
_STEP = 6.8
"""From beam to beam, mm."""
_SIDE = 52.0
"""Width that the section takes, mm."""
_PIN = 13.0
"""How far a pin stands up from a mount face, as drawn, in mm of the mount."""
SIDEWAYS = ("side", "side-outer", "side-inner", "width", "pocket", "from-outer", "lean")
"""Readings that the section shows; all others stand in the side view."""
_WHITE = 0.8
"""White between a word and what is drawn around, mm."""
_THICK, _THIN = 11.0, 5.0
"""A dropout's thickness as drawn, mm; thinner where it is read from its outer face."""


@dataclass(frozen=True, slots=True)
class Mounted:
    """A mount as its jaws meet it, mm: holes, what is read over, and which kind it is.

    `edge` is the host tube's edge under a hole, up from the axle line, None where nothing is read to it; `at`
    is the hole at which a reading of the section is taken, which the side view then points out, and `face_at`
    that beside which the face is touched. Where a job
    says more, `body` has the outlines of its mount and `around` the lines of what it stands on, as points up
    the tube and square to it; else the mount alone is hinted at.
    """

    family: Family
    end: End
    h: float
    x_near: float
    x_far: float
    axle: float
    pin: float
    edge: float | None = None
    at: Literal["", "near", "far"] = ""
    body: tuple[tuple[Point, ...], ...] = ()
    around: tuple[tuple[Point, ...], ...] = ()
    face_at: Literal["", "near", "far"] = ""


def jaws(
    drawing: Drawing, zone: Box, mount: Mounted, numbers: Mapping[str, str], *, pointed: bool = False
) -> None:
    """Draw a mount into a zone with its readings, each a beam between two jaws and its number in a ring.

    `numbers` gives each reading's number by its key (learn_readings.kinds, and "edge-near", "edge-far",
    "from-outer" and "lean" of a survey); what is not in it is not drawn. Readings of the section alone have
    no side view; `pointed` gives that view alone instead, without jaws, its number at the hole `mount.at`.
    """
    drawing.begin_figure()
    left, low, right, top = zone
    if pointed:
        _side_view(drawing, zone, mount, numbers)
        return
    if numbers and all(key in SIDEWAYS for key in numbers):
        _section(drawing, zone, mount, numbers)
        return
    aside = any(key in SIDEWAYS for key in numbers)
    edge = right - _SIDE if aside else right
    _side_view(drawing, (left, low, edge, top), mount, numbers)
    if aside:
        _section(drawing, (edge + 3.0, low, right, top), mount, numbers)


def _side_view(drawing: Drawing, zone: Box, mount: Mounted, numbers: Mapping[str, str]) -> None:
    left, low, right, top = zone
    levels = [key for key in numbers if key.startswith("along")]
    face = [key for key in numbers if key.startswith("face")]
    over = [key for key in numbers if key.startswith("spacing")]
    pin = _PIN if mount.family != "tab" else mount.pin / 2.0 + 2.0
    if mount.family == "tab" and mount.body:
        # Its edge is drawn as it is, and no beam lies on it.
        pin = max(up for line in mount.body for _, up in line) - mount.h + 1.5
    below = mount.axle / 2.0
    wide = mount.x_far + max(below, -mount.x_near) + 14.0
    high = mount.h + pin + below
    # A slanting beam beside the far radius ends below the axle.
    slant = 2.0 if any(key.split("-")[0] == "far" for key in numbers) else 0.0
    above = len(over) + (2 if mount.at else 0)
    room = (
        right - left - _STEP * (len(face) + 1) - 8.0,
        top - low - _STEP * (len(levels) + above + 1) - 2.0 - slant,
    )
    scale = min(room[0] / wide, room[1] / high)
    origin = (
        right - _STEP * (len(face) + 1) - max(below, -mount.x_near) * scale,
        low + slant + _STEP * (len(levels) + 0.6) + below * scale,
    )

    def at(x: float, up: float) -> Point:
        return origin[0] - x * scale, origin[1] + up * scale

    _mount(drawing, mount, at, scale)
    if mount.edge is not None and not mount.around:
        drawing.draw(polyline((at(-4.0, mount.edge), at(mount.x_far + 8.0, mount.edge))), THICK, _LAYER)
    if mount.at:
        x = mount.x_near if mount.at == "near" else mount.x_far
        out = mount.pin / 2.0 * scale + 1.4 * _RING
        middle = at(x, mount.h)[0], at(x, mount.h + (0.0 if mount.family == "tab" else _PIN))[1] + out
        drawing.draw(polyline((at(x, mount.h), along(middle, (_RING / 2.0, (0.0, -1.0))))), THIN, _LAYER)
        _ringed(drawing, middle, next(iter(numbers.values())))
    _diameters(drawing, mount, at, scale, numbers)
    for i, key in enumerate(levels):
        first, last = _ends(key, mount, 0.0, mount.x_near if "near" in key else mount.x_far)
        foot = low + _STEP * (len(levels) - i) - 1.5
        up = mount.h + pin - 3.0 if mount.family != "tab" else mount.h
        _beam(drawing, at(first, 0.0), at(last, up), (0.0, foot), numbers[key])
    for i, key in enumerate(over):
        radius = mount.pin / 2.0 * _way(key)
        first, last = mount.x_near - radius, mount.x_far + radius
        height = origin[1] + (mount.h + pin) * scale + _STEP * (i + 0.8)
        start = mount.h + pin - 3.0 if mount.family != "tab" else mount.h
        _beam(drawing, at(first, start), at(last, start), (0.0, height), numbers[key])
    for i, key in enumerate(face):
        foot_at = -_way(key) * below
        place, touched = (
            origin[0] + max(below, -mount.x_near) * scale + _STEP * (i + 1),
            min(mount.x_near, 0.0),
        )
        if mount.face_at == "far":
            # Beyond the far hole, where the face is touched: beside the axle it would be near's.
            place, touched = at(mount.x_far + 12.0, 0.0)[0], mount.x_far + 4.0
        _beam(drawing, at(0.0, foot_at), at(touched, mount.h), (place, 0.0), numbers[key])
    for hole, x in (("near", mount.x_near), ("far", mount.x_far)):
        if (key := f"edge-{hole}") in numbers and mount.edge is not None:
            radius = mount.pin / 2.0 if mount.family == "tab" else 0.0
            beside = at(x, 0.0)[0] + (1.0 if hole == "near" else -1.0) * (mount.pin / 2.0 * scale + _RING)
            _beam(drawing, at(x, mount.edge), at(x, mount.h - radius), (beside, 0.0), numbers[key])
    for hole, x, turn in (("near", mount.x_near, 1.0), ("far", mount.x_far, -1.0)):
        for i, key in enumerate(each for each in numbers if each.split("-")[0] == hole):
            radius = math.hypot(mount.h, x)
            way = (-x / radius, mount.h / radius)
            pin_out = mount.pin / 2.0 if mount.family == "tab" else 0.0
            begin = along(at(0.0, 0.0), (-_way(key) * below * scale, way))
            finish = along(at(x, mount.h), (_way(key) * pin_out * scale, way))
            across = (way[1] * turn, -way[0] * turn)
            reach = (below * scale + 2.5) + _STEP * i
            _slanted(drawing, begin, finish, across, reach, numbers[key])
    _surround(drawing, zone, mount, at)


def _surround(drawing: Drawing, zone: Box, mount: Mounted, at: Callable[[float, float], Point]) -> None:
    """Draw what the mount is and stands on, broken off at the zone's edge and clear of every letter."""
    boxes = [
        grown(box, _WHITE if text and text[0].isalpha() else _RING / 2.0) for text, box in drawing.labels
    ]
    for style, lines in ((THICK, mount.body), (THIN, mount.around)):
        for line in lines:
            for piece in clear_of([at(*point) for point in line], zone, boxes, 0.0):
                drawing.draw(polyline(piece), style, _LAYER)


def _way(key: str) -> float:
    """Return 1 for jaws over both, -1 between both, 0 for what was worked out from centre to centre."""
    return 1.0 if key.endswith("-over") else -1.0 if key.endswith("-between") else 0.0


def _ends(key: str, mount: Mounted, start: float, end: float) -> tuple[float, float]:
    way = _way(key)
    return start - way * mount.axle / 2.0, end + way * mount.pin / 2.0


def _mount(drawing: Drawing, mount: Mounted, at: Callable[[float, float], Point], scale: float) -> None:
    """Draw axle, the tube's line, mount and pins."""
    drawing.draw(circle(at(0.0, 0.0), mount.axle * scale), THICK, _LAYER)
    drawing.draw(polyline((at(-2.0, 0.0), at(mount.x_far + 8.0, 0.0))), CHAIN, _LAYER)
    drawing.draw(polyline((at(0.0, -2.0), at(0.0, mount.h + 2.0))), CHAIN, _LAYER)
    holes = (mount.x_near, mount.x_far)
    if mount.family == "tab":
        for x in holes:
            drawing.draw(circle(at(x, mount.h), mount.pin * scale), THICK, _LAYER)
        if mount.body:
            return
        ring = 6.0
        outline = (
            at(holes[0] - ring, mount.h - 9.0), at(holes[0] - ring, mount.h + ring),
            at(holes[1] + ring, mount.h + ring), at(holes[1] + ring, mount.h - 9.0),
        )  # fmt: skip
        drawing.draw(polyline(outline), THICK, _LAYER)
        return
    for x in holes:
        half = mount.pin / 2.0
        drawing.draw(box(at(x + half, mount.h), at(x - half, mount.h + _PIN)), THICK, _LAYER)
        drawing.draw(polyline((at(x, mount.h - 6.0), at(x, mount.h + _PIN + 1.5))), CHAIN, _LAYER)
    if mount.body:
        return
    drawing.draw(
        polyline(
            (
                at(holes[0] - 9.0, mount.h - 8.0), at(holes[0] - 9.0, mount.h),
                at(holes[1] + 9.0, mount.h), at(holes[1] + 9.0, mount.h - 8.0),
            )
        ),
        THICK,
        _LAYER,
    )  # fmt: skip


def _diameters(
    drawing: Drawing,
    mount: Mounted,
    at: Callable[[float, float], Point],
    scale: float,
    numbers: Mapping[str, str],
) -> None:
    """Letter the names of axle and holes, and beside them the numbers of both diameters."""
    centre, radius = at(0.0, 0.0), mount.axle / 2.0 * scale
    # Both holes' names stand between them, where no jaw goes.
    half, drop = mount.pin / 2.0 * scale + 1.5, 1.25 if mount.family == "tab" else 4.5
    near, far = at(mount.x_near, mount.h), at(mount.x_far, mount.h)
    for name, place, anchor, number in (
        ("axle", (centre[0] - radius - 1.0, centre[1] + 0.5 * radius), 1.0, "axle"),
        ("near", (near[0] - half, near[1] - drop), 1.0, ""),
        ("far", (far[0] + half, far[1] - drop), 0.0, "pin"),
    ):
        said = told(named(name))
        drawing.letter(said, place, _NAME, anchor, layer=_LAYER)
        if number in numbers:
            away = width(said, _NAME) + _RING / 2.0 + 1.0
            ring = place[0] + (away if anchor == 0.0 else -away), place[1] + _NAME / 2.0
            _ringed(drawing, ring, numbers[number])


def _ringed(drawing: Drawing, middle: Point, number: str) -> None:
    # A number of two digits has a wider ring, which still keeps clear of the next beam.
    drawing.draw(circle(middle, max(_RING, width(number, _NUMBER) + 1.6)), THIN, _LAYER)
    drawing.letter(number, (middle[0], middle[1] - _NUMBER / 2.0), _NUMBER, 0.5, layer=_LAYER)


def _beam(drawing: Drawing, first: Point, last: Point, level: tuple[float, float], number: str) -> None:
    """Draw an upright or level beam with its jaws: at the height level[1], or at the x of level[0]."""
    if level[0] == 0.0:
        ends = (first[0], level[1]), (last[0], level[1])
    else:
        ends = (level[0], first[1]), (level[0], last[1])
    beam(drawing, (first, last), ends, number)


def _slanted(drawing: Drawing, first: Point, last: Point, across: Point, reach: float, number: str) -> None:
    """Draw a beam beside a slanting distance."""
    ends = along(first, (reach, across)), along(last, (reach, across))
    beam(drawing, (first, last), ends, number)


def beam(
    drawing: Drawing,
    touched: tuple[Point, Point],
    ends: tuple[Point, Point],
    number: str,
    share: float = 0.5,
) -> None:
    """Draw two jaws and the beam between their tips, its number in a ring at a share of it.

    Tips that lie on each other, as of faces that are flush, are pointed out from the left and the right.
    """
    long = math.dist(*ends)
    for start, tip in zip(touched, ends, strict=True):
        drawing.draw(polyline((start, tip)), THIN, _LAYER)
    way = ((ends[1][0] - ends[0][0]) / long, (ends[1][1] - ends[0][1]) / long) if long else (1.0, 0.0)
    heading = math.degrees(math.atan2(way[1], way[0]))
    if long > 2.0 * _RING:
        middle = along(ends[0], (long * share, way))
        drawing.draw(polyline((ends[0], along(middle, (-_RING / 2.0, way)))), THIN, _LAYER)
        drawing.draw(polyline((along(middle, (_RING / 2.0, way)), ends[1])), THIN, _LAYER)
        drawing.draw(arrow_head(ends[1], heading, 2.2), SOLID, _LAYER)
        drawing.draw(arrow_head(ends[0], heading + 180.0, 2.2), SOLID, _LAYER)
    else:
        # Too short for a number inside: heads point in from both sides, and the number stands beyond.
        for tip, turn in ((ends[0], 0.0), (ends[1], 180.0)):
            drawing.draw(arrow_head(tip, heading + turn, 2.2), SOLID, _LAYER)
        drawing.draw(polyline((along(ends[0], (-4.0, way)), along(ends[1], (4.0, way)))), THIN, _LAYER)
        middle = along(ends[1], (4.0 + _RING / 2.0, way))
    _ringed(drawing, middle, number)


def _section(drawing: Drawing, zone: Box, mount: Mounted, numbers: Mapping[str, str]) -> None:
    """Draw dropout and mount from behind, outboard to the left, and the readings across."""
    _, low, right, top = zone
    inner = right - 13.0
    floor = inner - (5.0 if mount.end == "front" else 0.0)
    thick, axle = _THIN if "from-outer" in numbers else _THICK, low + 13.0
    datum = floor if mount.end == "front" else inner
    rows = [key for key in numbers if key in SIDEWAYS]
    head = top - 6.5 - _STEP * len([key for key in rows if key != "pocket"])
    drawing.draw(
        polyline(
            (
                (inner, axle - 7.0), (inner, axle - 3.5), (floor, axle - 3.5), (floor, axle + 3.5),
                (inner, axle + 3.5), (inner, axle + 10.0), (inner - thick, axle + 10.0),
                (inner - thick, axle - 7.0),
            ),
            closed=True,
        ),
        THICK,
        _LAYER,
    )  # fmt: skip
    drawing.draw(polyline(((inner - thick - 4.0, axle), (right, axle))), CHAIN, _LAYER)
    wide = 8.0 if mount.family == "tab" else 14.0
    # Not to scale: what lies flush or a little inboard is drawn apart from its datum, to be seen.
    near = datum - 11.0 if mount.end == "front" or mount.family == "tab" else datum - 4.0 + wide
    middle = near - wide / 2.0
    drawing.draw(box((near - wide, axle + 12.0), (near, head)), THICK, _LAYER)
    to = near if mount.family == "tab" else middle
    if mount.family != "tab":
        drawing.draw(polyline(((middle, axle + 14.0), (middle, head + 3.0))), CHAIN, _LAYER)
    spans = {
        "side": (datum, to),
        "side-outer": (datum, near - wide),
        "side-inner": (inner, to),
        "width": (near, near - wide),
        "from-outer": (inner - thick, to),
    }
    y = top - 9.5
    drawing.letter(told(named("inner_face")), (inner, axle - 11.5), 2.5, 0.5, layer=_LAYER)
    for key in rows:
        if key == "lean":
            _lean(drawing, mount, (near - wide, near, axle + 12.0, head), numbers[key])
            continue
        if key == "pocket":
            beam(
                drawing,
                ((inner, axle + 3.5), (floor, axle + 3.5)),
                ((inner, axle + 6.5), (floor, axle + 6.5)),
                numbers[key],
            )
            continue
        first, last = spans[key]
        begin = axle + 10.0 if first in (inner, datum, inner - thick) else head
        share = 0.36 if key == "side-outer" else 0.5
        beam(drawing, ((first, begin), (last, head)), ((first, y), (last, y)), numbers[key], share)
        y -= _STEP


def _lean(drawing: Drawing, mount: Mounted, body: Box, number: str) -> None:
    """Draw a square's blade along a tab's outer side, or across a face, and the gap that is read."""
    outer, inner, low, top = body
    if mount.family == "tab":
        blade, foot = outer - 6.0, low - 2.0
        drawing.draw(polyline(((inner + 10.0, foot), (blade, foot), (blade, top + 3.0))), THICK, _LAYER)
        ends = (outer, top - 4.0), (blade, top - 4.0)
        beam(drawing, ends, ends, number)
        return
    blade = top + 4.0
    drawing.draw(polyline(((outer - 4.0, blade), (inner + 2.5, blade), (inner + 2.5, low))), THICK, _LAYER)
    ends = (outer + 1.0, top), (outer + 1.0, blade)
    beam(drawing, ends, ends, number)
