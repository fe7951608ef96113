"""The dropout on the template: its edge, cut-outs and holes, full size, to lay the sheet by."""

import contextlib
import itertools
import math
from collections.abc import Iterator

from geometry.core.errors import FitError
from geometry.core.plane import line_in_box
from geometry.core.polygon import Ring
from geometry.mount.placement import Placement
from sheets.ink.marks import HIDDEN, THICK, THIN
from sheets.ink.records import Circle, Curve, Point, Segment
from sheets.pages.frame import Page
from sheets.pages.view import Look
from sheets.setup.outline import Shape
from sheets.words.tell import tell

_SAME = 0.05
"""A drawn hole as near as this to the mount's, and as wide, mm, is not drawn over it."""
_SHORTEST = 1.0
_LAYER = "dropout"
_NAME, _PAD = "dropout edge", "pad"


def draw_dropout(page: Page, look: Look, placement: Placement, shape: Shape) -> None:
    """Draw the dropout as far as the zone goes; dashed where the job does not say which way it stands."""
    style = THICK if shape.sure else HIDDEN
    for number, ring in enumerate(shape.outline.rings):
        name = _NAME if number == 0 else f"dropout cut-out {number}"
        runs = [run for run in _runs(page, look, ring) if _long(run)]
        for i, run in enumerate(runs, start=1):
            part = f"{name}, part {i}" if len(runs) > 1 else name
            line = Segment(part, *run) if len(run) == 2 else Curve(part, run)
            page.drawing.show(line, style, _LAYER)
    if shape.pad is not None:
        # It lies on the inner face, behind the plate as it is seen from outboard.
        runs = [run for run in _runs(page, look, shape.pad.ring) if _long(run)]
        for i, run in enumerate(runs, start=1):
            page.drawing.show(
                Curve(f"{_PAD}, part {i}" if len(runs) > 1 else _PAD, run),
                THIN if look.sign < 0.0 else HIDDEN,
                _LAYER,
            )
    low, high = page.zone[:2], page.zone[2:]
    for number, hole in enumerate(shape.outline.holes, start=1):
        x, y = centre = look.page(hole.centre)
        radius = hole.diameter / 2.0
        inside = min(x - low[0], high[0] - x, y - low[1], high[1] - y) >= radius
        own = any(
            math.dist(hole.centre, each.centre[:2]) < _SAME and abs(hole.diameter - each.diameter) < _SAME
            for each in placement.holes
        )
        if inside and not own:
            # Light, so that beside the mount's own no hole of the dropout is taken for one to drill.
            light = THIN if shape.sure else HIDDEN
            page.drawing.show(Circle(f"dropout hole {number}", centre, hole.diameter), light, _LAYER)


def label_dropout(page: Page, shape: Shape) -> None:
    """Name the dropout's edge by the file that it comes from."""
    anchors: list[Point] = []
    for feature in page.drawing.features:
        if feature.name.startswith(_NAME):
            points = feature.points if isinstance(feature, Curve) else ()
            anchors += points[:: max(1, len(points) // 6)]
    if not anchors:
        return
    text = tell("outline.template", file=shape.file) if shape.file else tell("outline.template_points")
    if not shape.sure:
        text = tell("outline.template_unsure", label=text)
    page.drawing.callout(text, anchors, page.zone, prefer=300.0, most=2)


def label_pad(page: Page, shape: Shape) -> None:
    """Name the pad where the page has room for it: its height stands in the figure of the post besides."""
    if shape.pad is None:
        return
    points = [
        point
        for feature in page.drawing.features
        if feature.name.startswith(_PAD) and isinstance(feature, Curve)
        for point in feature.points
    ]
    if points:
        with contextlib.suppress(FitError):
            text = tell("outline.pad_label", high=shape.pad.high)
            page.drawing.callout(text, points[:4], page.zone, prefer=300.0, most=2)


def _runs(page: Page, look: Look, ring: Ring) -> Iterator[tuple[Point, ...]]:
    """Yield the parts of a closed line that lie in the zone; a whole one ends where it begins."""
    low, high = page.zone[:2], page.zone[2:]
    corners = [look.page(each) for each in (*ring, ring[0])]
    found: list[list[Point]] = []
    for start, end in itertools.pairwise(corners):
        piece = line_in_box(start, end, low, high)
        if piece is None or math.dist(*piece) == 0.0:
            continue
        if found and math.dist(found[-1][-1], piece[0]) < 1e-9:
            found[-1].append(piece[1])
        else:
            found.append(list(piece))
    if len(found) > 1 and math.dist(found[-1][-1], found[0][0]) < 1e-9:
        # What is cut elsewhere goes on through the corner where the line begins.
        found[0] = [*found.pop(), *found[0][1:]]
    return (tuple(run) for run in found)


def _long(run: tuple[Point, ...]) -> bool:
    return sum(math.dist(a, b) for a, b in itertools.pairwise(run)) >= _SHORTEST
