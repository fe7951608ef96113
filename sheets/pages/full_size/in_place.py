"""What is there beside the mount, drawn light where it stands: tab or screws, caliper, fixture, largest disc.

Nothing is cut or drilled by these lines. They are inked last and give way to every label, so that they cost
the page no room.
"""

import contextlib
import itertools
import math
from collections.abc import Iterable, Sequence

import numpy as np

from geometry.clearance.bodies import seat
from geometry.core.errors import FitError
from geometry.core.plane import along, line_in_box, polar
from geometry.fixture.belt import polygon
from geometry.mount.placement import Placement
from geometry.tables.fasteners import screw
from geometry.tubes.tube import Tube, outline
from sheets.ink.marks import PHANTOM, THIN, break_points, polyline
from sheets.ink.placing import Box, clear_of, grown
from sheets.ink.records import Arc, Circle, Point, Style
from sheets.job.read import Job
from sheets.pages import title as words
from sheets.pages.frame import Page
from sheets.pages.screws import screw_shapes
from sheets.pages.view import Look
from sheets.setup.setup import SetUp
from sheets.words.tell import tell

_STEP = 15.0
"""Steps of a rounded corner, degrees: light lines on which nothing is measured."""
_FINE = 3.0
"""Steps of a disc's edge, degrees."""
_INSIDE = 3.0
"""White between what is broken off and the edge of the drawing's room, mm."""
_CLEAR = 1.0
"""White between these lines and a label, mm."""


def draw_in_place(
    page: Page, look: Look, job: Job, placement: Placement, setup: SetUp, host: Tube | None
) -> None:
    """Draw what is only there, light, each with its name where the page has room for it.

    The caliper's room, the tab that may be cut, a fixture's plate, and the largest disc that is safe; posts'
    screws are drawn already, and get their name. What the page's edge cuts off ends at a break line.
    """

    def at(point: Point) -> Point:
        return look.page(along((0.0, 0.0), (point[0], placement.t), (point[1], placement.n)))

    shapes = [(tell("template.room_in_place"), _room(placement, setup))]
    # A tab that is part of the dropout's outline stands there as it is.
    drawn = setup.shape is not None and setup.shape.sure and setup.shape.tab is not None
    if placement.interface.family == "tab" and not drawn:
        thick = words.tab_thickness(job, placement)
        shapes.append((tell("template.tab_in_place", thick=thick), plain_tab(placement, host)))
    if setup.fixture is not None:
        outlined = polygon(setup.fixture.side_plate.outline, _STEP)
        around = [(float(x), float(up)) for x, up in (*outlined, outlined[0])]
        shapes.append((tell("template.plate_in_place"), around))
    for name, shape in shapes:
        _draw(page, name, [at(point) for point in shape])
    if placement.interface.family != "tab":
        one = screw(placement.interface.hole.screw)
        heads = [(x, up) for hole in ("far", "near") for x, up in screw_shapes(job, placement, hole)[1][2:4]]
        name = tell("template.screw_in_place", screw=one.name, washer=one.washer.outside.value)
        with contextlib.suppress(FitError):
            page.drawing.callout(name, [at(each) for each in heads], page.zone, most=2)
    for name, points in _largest_disc(page, placement, setup):
        _draw(page, name, points)


def label_foot(page: Page, look: Look, placement: Placement) -> None:
    """Name the foot, square over the axle, and say what it is, where there is room.

    Holes are measured from it along the tube. The table's footnote would cost pages in inches their room.
    """
    foot = look.page(along((0.0, 0.0), (placement.interface.h, placement.n)))
    for text in (tell("template.foot_told"), tell("template.foot")):
        with contextlib.suppress(FitError):
            page.drawing.callout(text, (foot,), page.zone, prefer=look.heading(225.0), most=2)
            return


def inner(zone: Box) -> Box:
    """Return the part of a page's zone in which a drawing is broken off, clear of rules and edges."""
    return grown(zone, -_INSIDE)


def _draw(page: Page, name: str, points: Sequence[Point]) -> None:
    """Draw a line clear of every label, and name it where there is room, if it has a name."""
    lines = _broken_off(points, inner(page.zone))
    boxes = [grown(box, _CLEAR) for _, box in page.drawing.labels]
    kept = [piece for line, _ in lines for piece in clear_of(line, page.zone, boxes, _CLEAR)]
    for line, style in lines:
        for piece in clear_of(line, page.zone, boxes, _CLEAR):
            page.drawing.draw(polyline(piece), style, "context")
    if kept and name:
        with contextlib.suppress(FitError):
            middles = [((a[0] + b[0]) / 2.0, (a[1] + b[1]) / 2.0) for a, b in kept]
            page.drawing.callout(name, middles[:: max(1, len(middles) // 4)], page.zone, most=2)


def _broken_off(points: Sequence[Point], zone: Box) -> list[tuple[list[Point], Style]]:
    """Return what of a line lies in a zone, and the break line where the zone's edge cuts a closed one."""
    lines: list[tuple[list[Point], Style]] = []
    cut: list[Point] = []
    for start, end in itertools.pairwise(points):
        inside = line_in_box(start, end, zone[:2], zone[2:])
        if inside is None or math.dist(*inside) == 0.0:
            continue
        lines.append((list(inside), PHANTOM))
        cut += [
            found for found, own in zip(inside, (start, end), strict=True) if math.dist(found, own) > 1e-6
        ]
    if len(cut) == 2 and math.dist(points[0], points[-1]) < 1e-6:
        lines.append((list(break_points(cut[0], cut[1])), THIN))
    return lines


def _largest_disc(page: Page, placement: Placement, setup: SetUp) -> Iterable[tuple[str, list[Point]]]:
    """Yield the largest disc that is known to be safe, beside the fitted one, where it is another."""
    largest = setup.clear.largest
    size = largest.sure if largest else None
    if size is None or abs(size / 2.0 - placement.rotor.radius) < 0.01:
        return
    name = tell("template.largest_in_place", diameter=size)
    for feature in tuple(page.drawing.features):
        match feature:
            case Arc(name=edge, start=start, end=end, centre=centre) if edge.startswith("rotor edge"):
                pass
            case Circle(name="rotor edge", centre=centre):
                start, end = 0.0, 360.0
            case _:
                continue
        count = max(2, math.ceil((end - start) / _FINE))
        turns = (start + (end - start) * i / count for i in range(count + 1))
        yield name, [along(centre, (size / 2.0, polar(turn))) for turn in turns]
        name = ""


def _room(placement: Placement, setup: SetUp) -> list[Point]:
    """Return the caliper's room, closed, in mm up the tube and square to it."""
    room = setup.clear.caliper
    at = seat(placement, room)
    left, right = (at.along + room.offset + half * room.length / 2.0 for half in (-1.0, 1.0))
    low, high = at.up - room.depth, at.up + room.height
    return [(left, low), (right, low), (right, high), (left, high), (left, low)]


def plain_tab(placement: Placement, host: Tube | None) -> list[Point]:
    """Return a plain tab's edge, open at its foot, in mm up the tube and square to it.

    It goes round both holes, and down to the tube's mount side, or to the tube's line where none is given.
    """
    face = placement.interface
    radius = words.tab_radius(placement)
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
