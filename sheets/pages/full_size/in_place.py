"""What is there beside the mount, drawn light where it stands: the tab as it may be cut, the caliper's room.

Nothing is cut or drilled by these lines. They are inked last and give way to every label, so that they cost
the page no room.
"""

import contextlib
import itertools
import math
from collections.abc import Iterable, Sequence

import numpy as np

from geometry.clearance.bodies import entry, seat
from geometry.core.errors import FitError
from geometry.core.plane import along, line_in_box
from geometry.mount.placement import Placement
from geometry.tubes.tube import Tube, outline
from sheets.ink.marks import PHANTOM, polyline
from sheets.ink.placing import Box, grown
from sheets.ink.records import Point
from sheets.pages.frame import Page
from sheets.pages.view import Look
from sheets.setup.setup import SetUp
from sheets.words.tell import tell

_STEP = 15.0
"""Steps of a rounded corner, degrees: light lines on which nothing is measured."""
_CLEAR = 1.0
"""White between these lines and a label, mm."""


def draw_in_place(page: Page, look: Look, placement: Placement, setup: SetUp, host: Tube | None) -> None:
    """Draw the tab that may be cut, and the caliper's room in place, each named where there is room.

    A tab that is part of the dropout's outline stands there as it is.
    """
    shapes = [("template.room_in_place", _room(placement, setup))]
    drawn = setup.shape is not None and setup.shape.sure and setup.shape.tab is not None
    if placement.interface.family == "tab" and not drawn:
        shapes.append(("template.tab_in_place", _tab(placement, host)))
    for code, shape in shapes:
        points = [look.page(along((0.0, 0.0), (x, placement.t), (up, placement.n))) for x, up in shape]
        kept = list(_kept(page, points))
        for piece in kept:
            page.drawing.draw(polyline(piece), PHANTOM, "context")
        if kept:
            with contextlib.suppress(FitError):
                middles = [((a[0] + b[0]) / 2.0, (a[1] + b[1]) / 2.0) for a, b in kept]
                page.drawing.callout(tell(code), middles[:: max(1, len(middles) // 4)], page.zone)


def _room(placement: Placement, setup: SetUp) -> list[Point]:
    """Return the caliper's room, closed, in mm up the tube and square to it."""
    room = setup.clear.caliper
    at = seat(placement, room)
    left, right = (at.along + room.offset + half * room.length / 2.0 for half in (-1.0, 1.0))
    low, high = at.up - room.depth, at.up + room.height
    return [(left, low), (right, low), (right, high), (left, high), (left, low)]


def _tab(placement: Placement, host: Tube | None) -> list[Point]:
    """Return a plain tab's edge, open at its foot, in mm up the tube and square to it.

    It goes round both holes, and down to the tube's mount side, or to the tube's line where none is given.
    """
    face = placement.interface
    radius = face.hole.diameter.value * (0.5 + entry("metal", "asked").value)
    ends = face.x_far + radius, face.x_near - radius
    foot = (0.0, 0.0) if host is None else _mount_side(placement, host, ends)
    turns = [math.radians(_STEP * i) for i in range(int(90.0 / _STEP) + 1)]
    far = [(face.x_far + radius * math.cos(a), face.h + radius * math.sin(a)) for a in turns]
    near = [(face.x_near - radius * math.sin(a), face.h + radius * math.cos(a)) for a in turns]
    return [(ends[0], foot[0]), *far, *near, (ends[1], foot[1])]


def _mount_side(placement: Placement, host: Tube, places: tuple[float, float]) -> tuple[float, float]:
    """Return how high the tube's edge on the mount side stands at two places up the mount's own line, mm."""
    edge = outline(host, (0.0, 0.0, 1.0), (*host.n0, 0.0))[0][:, :2]
    along_t, along_n = edge @ np.asarray(placement.t), edge @ np.asarray(placement.n)
    order = np.argsort(along_t)
    first, second = np.interp(places, along_t[order], along_n[order])
    return float(first), float(second)


def _kept(page: Page, points: Sequence[Point]) -> Iterable[tuple[Point, Point]]:
    """Return what of a line lies in the page's zone and clear of every label and table."""
    boxes = [grown(box, _CLEAR) for _, box in page.drawing.labels]
    for start, end in itertools.pairwise(points):
        inside = line_in_box(start, end, page.zone[:2], page.zone[2:])
        if inside is not None and math.dist(*inside) > 0.0:
            yield from _without(*inside, boxes)


def _without(start: Point, end: Point, boxes: Sequence[Box]) -> Iterable[tuple[Point, Point]]:
    """Return the parts of a segment that lie in none of the boxes."""
    whole = math.dist(start, end)
    taken = sorted(
        (math.dist(start, hit[0]) / whole, math.dist(start, hit[1]) / whole)
        for box in boxes
        if (hit := line_in_box(start, end, box[:2], box[2:])) is not None
    )
    way, at = (end[0] - start[0], end[1] - start[1]), 0.0
    for enter, leave in (*taken, (1.0, 1.0)):
        if (enter - at) * whole > _CLEAR:
            yield along(start, (at, way)), along(start, (enter, way))
        at = max(at, leave)
