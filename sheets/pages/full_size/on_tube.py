"""Posts and bosses as they stand on their tube, and the tube as it is broken off, in the side view."""

import math
from collections.abc import Callable

from geometry.mount.bosses import joint
from geometry.mount.placement import Placement
from geometry.tubes.tube import Tube, section
from sheets.ink.marks import HIDDEN, PHANTOM, THICK, THIN, break_line, polyline
from sheets.ink.records import Curve, Point, Segment
from sheets.job.read import Job
from sheets.pages import title as words
from sheets.pages.frame import Page
from sheets.pages.screws import screw_shapes

_SLANT = 2.5
"""How slantwise a tube may be broken off, in its own widths."""


def draw_bosses(
    page: Page,
    job: Job,
    placement: Placement,
    host: Tube | None,
    at: Callable[[float, float], Point],
) -> None:
    """Draw each boss down to where it meets the tube, that line, and its blank below it, dashed."""
    face = placement.interface
    diameter = words.boss_size(job, placement)[0]
    half = diameter / 2.0
    met = joint(placement, host, diameter, job.paper.view) if host is not None and host.placed else {}
    for hole, x in zip(placement.holes, (face.x_near, face.x_far), strict=True):
        length, line = words.boss_length(job, placement, hole.name), met.get(hole.name, ())
        if all(down > length for _, down in line):
            # It ends short of the tube all round: what it would meet is no part of it.
            line = ()
        corners = ((x - half, 0.0), (x - half, length), (x + half, length), (x + half, 0.0))
        boss = Curve(f"boss {hole.name}", tuple(at(u, face.h - down) for u, down in corners))
        page.drawing.show(boss, HIDDEN if line else THIN, "mount")
        # The hole runs in the paper's plane, as a drawing's dashed walls say. The ring called "hole near" is
        # no hole to drill: it is a witness, of the hole's diameter, where the axis meets the face.
        for wall in (x - hole.diameter / 2.0, x + hole.diameter / 2.0):
            page.drawing.draw(polyline((at(wall, face.h), at(wall, face.h - length))), HIDDEN, "mount")
        for shape in screw_shapes(job, placement, hole.name):
            page.drawing.draw(polyline([at(u, up) for u, up in shape]), PHANTOM, "context")
        if not line:
            continue
        cope = Curve(f"cope {hole.name}", tuple(at(x + u, face.h - down) for u, down in line))
        page.drawing.show(cope, THICK, "mount")
        for side, (u, down) in ((-half, line[0]), (half, line[-1])):
            # Where an edge of the boss passes the tube's end it runs on to the end of its blank.
            low = min(down, length) if abs(u - side) < half / 10.0 else length
            page.drawing.draw(polyline((at(x + side, face.h), at(x + side, face.h - low))), THIN, "mount")


def break_off(page: Page, name: str, tube: Tube) -> None:
    """Draw the line at which a tube is broken off where its edges stop: it goes on up from there."""
    ends = []
    for feature in page.drawing.features[-2:]:
        match feature:
            case Segment(name=line, end=end) | Curve(name=line, points=(*_, end)):
                if line.startswith(f"{name} edge"):
                    ends.append(end)
    if len(ends) == 2 and math.dist(*ends) < _SLANT * section(tube, tube.span[0]).height:
        page.drawing.draw(break_line(ends[0], ends[1]), THIN, "tubes")
