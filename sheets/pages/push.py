"""The axle's push on an open slot, drawn beside it on a template."""

import contextlib
import math

from geometry.errors import FitError
from geometry.plane import along, angle_of, line_in_box, polar
from geometry.slot import way_out
from sheets.ink.marks import SOLID, THICK, THIN, arrow_head
from sheets.ink.records import Segment
from sheets.pages.frame import Page
from sheets.pages.looking import Look
from sheets.setup import SetUp

_STEPS = (50.0, 100.0, 200.0, 500.0, 1000.0)
"""Newtons for a millimetre of arrow."""
_LONGEST = 32.0
_SHORTEST = 6.0
_SLOT = 14.0
"""Length of the arrow along the slot, mm."""


def draw_push(page: Page, look: Look, setup: SetUp | None, around: float) -> bool:
    """Draw the axle's force and the slot's way out, from `around` mm off the axle; tell whether it was drawn.

    Nothing is drawn for closed holes, where the slot's direction is not known, or for want of room. Features
    "axle reaction", as long as its lettered scale says, and "slot way out".
    """
    load = setup.load if setup is not None else None
    if load is None or load.slot.direction is None:
        return False
    force, way = load.forces.axle, way_out(load.slot.direction)
    heading, out = look.heading(angle_of(force)), look.heading(angle_of(way))
    start, foot = along(look.origin, (around, polar(heading))), along(look.origin, (around, polar(out)))
    room = _room(page, start, heading)
    newtons = math.hypot(*force)
    per = next((step for step in _STEPS if newtons / step <= min(_LONGEST, room)), None)
    if per is None or newtons / per < _SHORTEST or _room(page, foot, out) < _SLOT:
        return False
    push = Segment("axle reaction", start, along(start, (newtons / per, polar(heading))))
    slot = Segment("slot way out", foot, along(foot, (_SLOT, polar(out))))
    # Words without their arrow would be a riddle, so that both have room or neither is drawn.
    with contextlib.suppress(FitError):
        text = f"axle pushes {newtons:.0f} N"
        page.drawing.callout(text, (push.end,), page.zone, prefer=heading, clear=1.0)
        page.drawing.callout(f"slot opens; 1 mm = {per:g} N", (slot.end,), page.zone, prefer=out, clear=1.0)
        page.drawing.show(push, THICK, "push")
        page.drawing.draw(arrow_head(push.end, heading), SOLID, "push")
        page.drawing.show(slot, THIN, "push")
        page.drawing.draw(arrow_head(slot.end, out), SOLID, "push")
        return True
    return False


def _room(page: Page, start: tuple[float, float], heading: float) -> float:
    """Return how far a line from a point runs inside the page's zone, mm."""
    far = along(start, (500.0, polar(heading)))
    left, low, right, top = page.zone
    inside = line_in_box(start, far, (left + 1.0, low + 1.0), (right - 1.0, top - 1.0))
    return 0.0 if inside is None or math.dist(inside[0], start) > 1e-6 else math.dist(*inside)
