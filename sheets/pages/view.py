"""From a view of the bicycle to the page: where the origin lies, mirrored or not, and what fits."""

import math
from collections.abc import Callable, Iterable, Sequence

import numpy as np
from numpy.typing import NDArray

from geometry.core.errors import FitError, Problem
from geometry.core.frozen import dataclass
from geometry.core.plane import line_in_box
from geometry.core.say import named, say
from sheets.ink.records import Curve, Feature, Point, Segment, Sheet, Style, View
from sheets.pages.frame import Page
from sheets.words.lengths import units

LABEL_ROOM = 9.0
"""Room kept for labels above the drawing, where the page has it, mm."""
_BELOW = 62.0
"""Height that tables take below a drawing, mm."""
_BESIDE = 84.0
"""Width that tables take beside a drawing, mm."""
_LABELS = 28.0
"""Width that labels right of a drawing take, mm."""
_EDGE = 1.0
_TRIED = (None, 0.95, 0.75, 0.5, 0.25, 0.05)
"""How far across the page a view is tried: as lay_out thinks best, then from right to left."""
_SHORTEST = 1.0


@dataclass(frozen=True, slots=True)
class Look:
    """How a flat view lies on the page; `sign` is -1 where it is mirrored left-right."""

    origin: Point
    sign: float

    def page(self, point: Sequence[float] | NDArray[np.float64]) -> Point:
        """Return a point of the view on the page."""
        return self.origin[0] + self.sign * float(point[0]), self.origin[1] + float(point[1])

    def heading(self, degrees: float) -> float:
        """Return a direction of the view on the page, degrees."""
        return degrees % 360.0 if self.sign > 0.0 else (180.0 - degrees) % 360.0


def first_that_fits(draw: Callable[[float | None, bool], Sheet]) -> Sheet:
    """Return the sheet that `draw` makes with its view in the first place where everything finds room.

    `draw` is given how far across the page the view goes (see lay_out), and whether the steps stand beside it
    because the page has no room for them at its head. Raise the first FitError with them beside it, which
    lacks least, where no place will do.
    """
    first: FitError | None = None
    for beside in (False, True):
        first = None
        for aside in _TRIED:
            try:
                return draw(aside, beside)
            except FitError as error:
                first = first or error
    assert first is not None
    raise first


def lay_out(
    page: Page,
    must_show: Iterable[Point],
    view: View,
    what: str,
    label_room: float = LABEL_ROOM,
    aside: float | None = None,
) -> Look:
    """Return a look that puts the points at the top of the zone, so that room is left in one piece.

    `aside` is where across the zone, 0 left to 1 right. Without it that is in the middle where there is room
    below for tables, and to the right where there is not; there labels keep what tables leave. Above the
    drawing `label_room` mm are kept for labels as far as the page has them.

    Raise FitError, with the overshoot in mm and what is named sheet.`what`, where they do not fit.
    """
    sign = 1.0 if view == "outboard" else -1.0
    points = list(must_show)
    xs, ys = [sign * x for x, _ in points], [y for _, y in points]
    left, low, right, top = page.zone
    spare_x = right - left - 2.0 * _EDGE - (max(xs) - min(xs))
    spare_y = top - low - 2.0 * _EDGE - (max(ys) - min(ys))
    if spare_x < 0.0 or spare_y < 0.0:
        which = "wide_and_tall" if max(spare_x, spare_y) < 0.0 else "wide" if spare_x < 0.0 else "tall"
        raise FitError(
            Problem(
                "paper.size",
                say(
                    f"paper.view.{which}",
                    sheet=named(f"sheet.{what}"),
                    wide=-spare_x,
                    tall=-spare_y,
                    paper=page.paper.name,
                    margin=page.margin,
                ),
            )
        )
    if aside is None:
        beyond = min(max(0.05 * spare_x, spare_x - _BESIDE), _LABELS)
        aside = 0.5 if spare_y > label_room + _BELOW else 1.0 - beyond / max(spare_x, beyond)
    x = left + _EDGE + aside * spare_x - min(xs)
    y = top - _EDGE - min(spare_y, label_room) - max(ys)
    return Look((round(x, 2), round(y, 2)), sign)


def show_line(
    page: Page,
    look: Look,
    points: Sequence[Sequence[float]] | NDArray[np.float64],
    name: str,
    style: Style,
    layer: str,
) -> None:
    """Show a line through points of the view, as one feature, as far as it lies in the zone."""
    kept: list[Point] = []
    low, high = page.zone[:2], page.zone[2:]
    for i in range(len(points) - 1):
        piece = line_in_box(look.page(points[i]), look.page(points[i + 1]), low, high)
        if piece is not None:
            kept += piece if not kept else piece[1:]
    if len(kept) < 2 or math.dist(kept[0], kept[-1]) < _SHORTEST:
        return
    feature: Feature = Segment(name, kept[0], kept[1]) if len(kept) == 2 else Curve(name, tuple(kept))
    page.drawing.show(feature, style, layer)


def name_hole(
    page: Page, texts: Sequence[str], centre: Point, prefer: float = 90.0, clear: float = 0.0
) -> None:
    """Name a hole by the first of some texts that has room, the last of them shortest; FitError for none.

    Only inches, which take more letters than mm, make it shorter or put it in two rows: its size stands in
    the steps and in the sheet's table besides.
    """
    if units() == "mm":
        page.drawing.callout(texts[0], (centre,), page.zone, prefer=prefer, clear=clear)
        return
    for text in texts:
        try:
            page.drawing.callout(text, (centre,), page.zone, prefer=prefer, clear=clear, most=2)
            return
        except FitError:
            if text == texts[-1]:
                raise
