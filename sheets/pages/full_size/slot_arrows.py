"""The axle's push on an open slot, drawn beside it on a template."""

import contextlib
import copy
import math
from collections.abc import Iterator
from dataclasses import replace

from geometry.braking.slot import SlotForce
from geometry.core.errors import FitError
from geometry.core.plane import along, angle_of, line_in_box, polar
from geometry.core.say import say
from geometry.tables.stance import slot_way
from sheets.ink.marks import INCH, SOLID, THICK, THIN, arrow_head
from sheets.ink.placing import Box
from sheets.ink.records import Segment
from sheets.pages.frame import Page
from sheets.pages.view import Look
from sheets.setup.setup import SetUp
from sheets.words.lengths import units
from sheets.words.tell import tell

_STEPS = (50.0, 100.0, 200.0, 500.0, 1000.0)
"""Newtons for a millimetre of arrow."""
_LONGEST = 32.0
_SHORTEST = 6.0
_HEAD = 4.0
"""Length at an arrow's tip that words keep off, mm."""
_SLOT = 14.0
"""Length of the arrow along the slot, mm."""


def draw_push(page: Page, look: Look, setup: SetUp, around: float) -> bool:
    """Draw the axle's force and the slot's way out, from `around` mm off the axle; tell whether it was drawn.

    Nothing is drawn for closed holes, where the slot's direction is open, or for want of room. Features
    "axle reaction", as long as its lettered scale says, and "slot way out".
    """
    load = setup.load
    if load is None or load.slot.direction is None:
        return False
    force, way = load.forces.axle, slot_way(load.slot.direction)
    heading, out = look.heading(angle_of(force)), look.heading(angle_of(way))
    start, foot = along(look.origin, (around, polar(heading))), along(look.origin, (around, polar(out)))
    room = _room(page, start, heading)
    newtons = math.hypot(*force)
    per = next((step for step in _STEPS if newtons / step <= min(_LONGEST, room)), None)
    if per is None or newtons / per < _SHORTEST or _room(page, foot, out) < _SLOT:
        return False
    push = Segment("axle reaction", start, along(start, (newtons / per, polar(heading))))
    slot = Segment("slot way out", foot, along(foot, (_SLOT, polar(out))))
    pushes = tell("push.pushes_at_worst" if load.slot.unknown else "push.pushes", newtons=newtons)
    opens = _opens(load.slot)
    # The scale is the force's alone: at the slot's arrow, which is drawn to none, it would seem the slot's.
    texts = _scaled(pushes, per), opens
    # Beside a dropout that is drawn, a long line finds room in two.
    most = 1 if setup.shape is None else 2
    # An arrow without its words would be a riddle, so that all are tried aside before any is drawn.
    for rows in (most, most + 1):
        with contextlib.suppress(FitError):
            _arrows(
                replace(page, drawing=copy.deepcopy(page.drawing)), (push, heading), (slot, out), texts, rows
            )
            _arrows(page, (push, heading), (slot, out), texts, rows)
            return True
    return False


def _scaled(pushes: str, per: float) -> str:
    return tell(f"push.scaled.{units()}", pushes=pushes, newtons=per, an_inch=per * INCH)


def _arrows(
    page: Page, push: tuple[Segment, float], slot: tuple[Segment, float], texts: tuple[str, str], most: int
) -> None:
    """Draw both arrows, each with its heading, then their words off either; FitError for want of room.

    Words may take up to `most` lines.
    """
    for (line, heading), style in ((push, THICK), (slot, THIN)):
        page.drawing.show(line, style, "push")
        page.drawing.draw(arrow_head(line.end, heading), SOLID, "push")
    for text, (line, heading), (other, _) in zip(texts, (push, slot), (slot, push), strict=True):
        with _kept_free(page, _round(other)):
            page.drawing.callout(text, (line.end,), page.zone, prefer=heading, clear=1.0, most=most)


def _opens(slot: SlotForce) -> str:
    """Return what is lettered at the slot's arrow: its angle as the job gives it, and from where."""
    angle = slot.given or 0.0
    line = say(f"push.line.{slot.end}_{slot.reference or 'either'}")
    way = "along" if angle == 0.0 else "forward" if angle > 0.0 else "rearward"
    return tell(f"push.opens.{way}", angle=abs(angle), line=line)


@contextlib.contextmanager
def _kept_free(page: Page, place: Box) -> Iterator[None]:
    """Keep words off a place while the block runs: an arrow will be drawn there."""
    page.drawing.reserve(place)
    kept = page.drawing.labels[-1]
    try:
        yield
    finally:
        page.drawing.labels.remove(kept)


def _round(line: Segment) -> Box:
    """Return a box about the last part of an arrow, its head, that no words may enter."""
    (x, y), (dx, dy) = line.end, (line.start[0] - line.end[0], line.start[1] - line.end[1])
    share = min(1.0, _HEAD / math.hypot(dx, dy))
    x2, y2 = x + share * dx, y + share * dy
    return min(x, x2) - 0.6, min(y, y2) - 0.6, max(x, x2) + 0.6, max(y, y2) + 0.6


def _room(page: Page, start: tuple[float, float], heading: float) -> float:
    """Return how far a line from a point runs inside the page's zone, mm."""
    far = along(start, (500.0, polar(heading)))
    left, low, right, top = page.zone
    inside = line_in_box(start, far, (left + 1.0, low + 1.0), (right - 1.0, top - 1.0))
    return 0.0 if inside is None or math.dist(inside[0], start) > 1e-6 else math.dist(*inside)
