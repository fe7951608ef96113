"""Wheels that move: where the pads run while the axle goes along its slot, and whether the wheel comes out.

The caliper stands still with its mount and the axle moves. What comes out badly warns and does not fail,
because a mount on the slider moves with the wheel. Lengths are mm; a slot's direction is the way out along it
in the package's axes, in degrees from straight down, + forward. Where a job leaves several directions open,
each is gone through, and the worst counts.
"""

import math
from collections.abc import Sequence
from dataclasses import replace

from geometry.clearance.bodies import Caliper, seat
from geometry.core.frozen import dataclass
from geometry.core.plane import Point, angle_of, arcs_in_box
from geometry.core.say import Say, say
from geometry.mount.placement import Placement
from geometry.tables.stance import slot_way


@dataclass(frozen=True, slots=True)
class Travel:
    """The pads over a wheel's travel, mm.

    `start` and `end` are the pads' middle from the axle at either end of the travel, `nearest` the least on
    the way. `play` is how far the pads may move in or out before they leave the track, `reach` how far the
    wheel may go until then; `ok` whether they stay on it. None where the slot's direction is not known.
    """

    travel: float
    start: float
    end: float | None
    nearest: float | None
    play: float
    reach: float | None
    ok: bool | None
    sentence: Say

    @property
    def brief(self) -> Say:
        """Return what happens over the travel, without its numbers' grades and what to do."""
        if self.ok is None or self.reach is None:
            return say("travel.brief.unknown", travel=self.travel)
        code = "travel.brief.stays" if self.ok else "travel.brief.leaves"
        return say(code, travel=self.travel, after=self.reach, play=self.play)


@dataclass(frozen=True, slots=True)
class WayOut:
    """Whether the disc leaves the caliper along the slot: `meets` is how far it comes before the bridge, mm.

    `free` is None where no slot is given.
    """

    free: bool | None
    meets: float | None
    sentence: Say

    @property
    def clause(self) -> Say:
        """Return the same without a word of what it is about."""
        clause: Say = self.sentence["clause"]
        return clause


def pad_radius(pad: Point, way: Point, gone: float) -> float:
    """Return the pads' middle from an axle that has gone so far along its slot, mm."""
    return math.hypot(pad[0] - gone * way[0], pad[1] - gone * way[1])


def reach(pad: Point, way: Point, play: float) -> float:
    """Return how far the axle goes along its slot until the pads' radius has changed by `play`, mm.

    With p the pads' middle and d the way, the radius squared is r^2 - 2 g p.d + g^2 at g.
    """
    radius = math.hypot(*pad)
    ahead = pad[0] * way[0] + pad[1] * way[1]
    outward = ahead + math.sqrt(ahead * ahead + play * (2.0 * radius + play))
    square = ahead * ahead - play * (2.0 * radius - play)
    if ahead > 0.0 and square >= 0.0:
        return min(outward, ahead - math.sqrt(square))
    return outward


def over_travel(placement: Placement, room: Caliper, slot: float | None, travel: float) -> Travel | None:
    """Return where the pads run over the travel; None where the wheel does not move.

    The pads are taken as centred on their track where the dummy axle sits, so that the play either way is
    half of what the track is wider than they are.
    """
    if travel <= 0.0:
        return None
    pad = seat(placement, room).pad
    start = math.hypot(*pad)
    play = max(0.0, (room.track.value - room.pad_height.value) / 2.0)
    rides = say("travel.rides")
    if slot is None:
        told = say("travel.no_way", travel=travel, rides=rides)
        return Travel(travel, start, None, None, play, None, None, told)
    way = slot_way(slot)
    ahead = pad[0] * way[0] + pad[1] * way[1]
    end = pad_radius(pad, way, travel)
    least = pad_radius(pad, way, min(travel, max(0.0, ahead)))
    far = reach(pad, way, play)
    ok = far >= travel
    run = say("travel.run", start=start, end=end)
    if least < min(start, end) - 0.05:
        run = say("travel.run_with_least", start=start, end=end, least=least)
    whose = "own" if room.track.grade == room.pad_height.grade == "own" else "usual"
    pads, track = room.pad_height.value, room.track.value
    numbers = say(f"travel.numbers.{whose}", pads=pads, track=track, play=play)
    where = "stays" if ok else "leaves"
    sentence = say(f"travel.over.{where}", travel=travel, run=run, after=far, numbers=numbers, rides=rides)
    return Travel(travel, start, end, least, play, far, ok, sentence)


def way_out(placement: Placement, room: Caliper, slot: float | None) -> WayOut:
    """Return whether the wheel leaves along its slot with the caliper in place.

    A caliper is open towards the axle and closed by its bridge beyond the disc's edge, over the pads. The
    disc slides out between the pads unless its edge comes up to the bridge first.
    """
    if slot is None and placement.axle.kind == "thru axle":
        return WayOut(None, None, _out(say("travel.axle_first")))
    if slot is None:
        return WayOut(None, None, _out(say("travel.no_slot")))
    radius = placement.rotor.radius
    rim = radius + room.bridge.value
    at, half = seat(placement, room), room.bridge_length.value / 2.0
    low = (at.along - half, at.up - room.depth)
    high = (at.along + half, at.up + room.height)
    way = slot_way(slot)
    inside = (
        way[0] * placement.t[0] + way[1] * placement.t[1],
        way[0] * placement.n[0] + way[1] * placement.n[1],
    )
    heading = angle_of(inside)
    turns = [_apart(heading, arc) for arc in arcs_in_box((0.0, 0.0), rim, low, high)]
    bridge = say("travel.bridge", beyond=room.bridge.value, grade=room.bridge.grade)
    ahead = rim * math.cos(math.radians(min(turns, default=180.0)))
    square = ahead * ahead - (rim * rim - radius * radius)
    if ahead <= 0.0 or square < 0.0:
        return WayOut(True, None, _out(say("travel.free", bridge=bridge)))
    meets = ahead - math.sqrt(square)
    return WayOut(False, meets, _out(say("travel.held", after=meets, bridge=bridge)))


def _out(clause: Say) -> Say:
    return say("travel.wheel_out", clause=clause)


def worst_over_travel(
    placement: Placement, room: Caliper, slots: Sequence[float], travel: float
) -> Travel | None:
    """Return where the pads run over the travel in the worst of a slot's directions; none: unknown."""
    found = [over_travel(placement, room, slot, travel) for slot in slots or (None,)]
    known = [each for each in found if each is not None]
    if not known:
        return None
    worst = min(known, key=lambda each: math.inf if each.reach is None else each.reach)
    if worst.ok or len(known) == 1:
        return worst
    return replace(worst, sentence=say("travel.worst", sentence=worst.sentence))


def worst_way_out(placement: Placement, room: Caliper, slots: Sequence[float]) -> WayOut:
    """Return whether the wheel leaves in every one of a slot's directions; none: unknown."""
    found = [way_out(placement, room, slot) for slot in slots or (None,)]
    worst = min(found, key=lambda each: math.inf if each.meets is None else each.meets)
    if len(found) == 1 or worst.free is not False:
        return worst
    return replace(worst, sentence=_out(say("travel.worst", sentence=worst.clause)))


def _apart(heading: float, arc: tuple[float, float]) -> float:
    """Return by how many degrees a heading misses an arc, 0 within it."""
    start, end = arc
    if (heading - start) % 360.0 <= end - start:
        return 0.0
    return min(abs((heading - each + 180.0) % 360.0 - 180.0) for each in arc)
