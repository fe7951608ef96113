"""Clearances on a template: the stamp, the nearest points, and the caliper's room to cut out."""

import contextlib
import math
from collections.abc import Callable
from typing import TypeVar

from fonts.drafting import LINE_PITCH, wrap
from geometry.clearance.margins import Clearance
from geometry.core.errors import FitError
from geometry.mount.placement import Placement
from sheets.ink.marks import CHAIN, THIN, cross
from sheets.ink.records import Curve, Point, Segment
from sheets.pages import title as words
from sheets.pages.frame import Page
from sheets.pages.view import Look
from sheets.setup.setup import SetUp
from sheets.words.lengths import units
from sheets.words.tell import tell, told

_ARM = 2.5
"""Arm of the cross at a nearest point, mm."""
_APART = 3.0
"""Nearest points closer together than this share a cross, mm."""
_MOST = 3
_SMALL = 2.5
_INSET = 2.0
_Made = TypeVar("_Made")


def stamped_to_fit(
    placement: Placement,
    setup: SetUp,
    sheet_of: str,
    draw: Callable[[str, SetUp | None, str], _Made],
) -> _Made:
    """Return what `draw` makes of a stamp, of the set-up whose points it marks or None, and of `sheet_of`.

    What stops must not keep the sheet from being drawn: where the words in full find no room, the marks are
    left out, then the stamp points to the card, and at last it stands where the sheet is counted.
    Raise the last FitError where nothing fits: no larger sheet is needed than what that one lacks.
    """
    failed, stops = setup.clear.failed, setup.stops
    lacking: FitError | None = None
    pushed = setup.load.stamp if setup.load is not None else ""
    plain = " ".join(each for each in (pushed, words.stamp(placement)) if each)
    full = " ".join(each for each in (pushed, words.stamp(placement, failed, stops)) if each)
    tries: list[tuple[str, SetUp | None, str]] = [(full, setup, sheet_of), (full, None, sheet_of)]
    if failed:
        tries.append((f"{tell('marks.see_the_card')} {plain}".strip(), None, sheet_of))
    if failed or stops:
        tries.append((plain, None, tell("marks.see_card")))
    for stamp, marked, count in tries:
        try:
            return draw(stamp, marked, count)
        except FitError as error:
            lacking = error
    assert lacking is not None
    raise lacking


def mark_nearest(page: Page, look: Look, setup: SetUp) -> int:
    """Cross the nearest points that lie on the sheet, each with its label; return how many found room.

    These are where something is nearer than asked for, the worst first, and where the disc is nearest a tube.
    """
    found: list[Point] = []
    left, low, right, top = page.zone
    for each in _shown(setup.clear.clearances):
        if each.second is None or len(found) == _MOST:
            continue
        x, y = point = look.page(each.second[:2])
        inside = left + _ARM < x < right - _ARM and low + _ARM < y < top - _ARM
        covered = any(
            box[0] - _ARM < x < box[2] + _ARM and box[1] - _ARM < y < box[3] + _ARM
            for _, box in page.drawing.labels
        )
        if not inside or covered or any(math.dist(point, other) < _APART for other in found):
            continue
        # The cross lies on what the body comes near, so that this need not be said.
        for text in map(told, (each.short, each.gap, each.brief)):
            # A cross without its words would be a riddle, so that either has room or neither is drawn.
            with contextlib.suppress(FitError):
                page.drawing.callout(text, (point,), page.zone, clear=_ARM + 0.5, prefer=250.0, most=2)
                page.drawing.draw(cross(point, _ARM, turn=45.0), THIN, "clearance")
                found.append(point)
                break
    return len(found)


def _shown(clearances: tuple[Clearance, ...]) -> list[Clearance]:
    """Return the clearances worth a mark: what fails, what is tight, and the disc's least."""
    known = [each for each in clearances if each.left is not None]
    order = {"fail": 0, "warn": 1, "ok": 2}
    discs = sorted((each for each in known if each.kind == "rotor"), key=lambda each: each.left or 0.0)
    short = [each for each in known if each.state != "ok"]
    return sorted([*short, *(each for each in discs[:1] if each.state == "ok")], key=lambda e: order[e.state])


def cut_out(page: Page, look: Look, setup: SetUp) -> bool:
    """Draw the caliper's room in the side view, to be cut out and laid on the job; False for want of room.

    The mount's normal points up the page, and the tube runs as it does in the page's view.
    """
    room = setup.clear.caliper
    wide, high = room.length, room.height + room.depth
    rows = wrap(_words(setup), _SMALL, wide - 2.0 * _INSET)
    pitch = LINE_PITCH * _SMALL
    feet = _feet(len(rows), high, room.depth)
    if len(rows) * pitch + _INSET > high or (feet and feet[-1] < 0.3 * _SMALL):
        return False
    if units() != "mm" and feet[-1] < room.depth:
        # Below the seat words would meet its cross; inches take more rows than mm.
        return False
    found = page.drawing.free_box((wide + 1.0, high + 1.0), page.zone)
    if found is None:
        return False
    left, low = found[0] + 0.5, found[1] + 0.5
    right, top, seat = left + wide, low + high, low + room.depth
    corners = ((left, low), (right, low), (right, top), (left, top), (left, low))
    page.drawing.show(Curve("caliper room", corners), THIN, "caliper")
    if room.depth > 0.0:
        page.drawing.show(Segment("caliper seat", (left, seat), (right, seat)), CHAIN, "caliper")
    # With the normal up the page, up the tube is to the left seen from outboard.
    middle = (left + right) / 2.0 + look.sign * room.offset
    page.drawing.draw(cross((middle, seat), _INSET), THIN, "caliper")
    part = page.drawing.part("P")
    for row, foot in zip(rows, feet, strict=True):
        page.drawing.letter(row, (left + _INSET, low + foot), _SMALL, layer="caliper", part=part)
    page.drawing.reserve(found)
    return True


def _feet(count: int, high: float, depth: float) -> list[float]:
    """Return how high over the room's foot each of so many rows stands, clear of the seat's line, mm."""
    feet, y = [], high - _INSET
    for _ in range(count):
        y -= _SMALL
        if y - 0.3 * _SMALL < depth + 0.5 < y + _SMALL + 0.5:
            y = depth - 1.0 - _SMALL
        feet.append(y)
        y -= LINE_PITCH * _SMALL - _SMALL
    return feet


def _words(setup: SetUp) -> str:
    room = setup.clear.caliper
    return tell(
        "marks.room_measured" if room.own else "marks.room_remembered",
        length=room.length,
        high=room.height + room.depth,
        inboard=room.inboard,
        outboard=room.outboard,
    )
