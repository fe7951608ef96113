"""What the dropout's plate comes near to: the disc, the disc's screws, and the caliper's room.

The plate lies from its inner face, z = 0, outboard. All of these stand straight on the side view, so that how
near two come is the distance in the side view and the distance sideways, at right angles to each other.
"""

import functools
import math
from collections.abc import Iterator

import numpy as np

from geometry.clearance.bodies import Heads, OwnCaliper, bolt_ring, caliper, disc_body, entry, seat
from geometry.clearance.convex import Nearest
from geometry.clearance.judged import (
    Clearance,
    Kind,
    OwnLimits,
    judged,
    limit_of,
    no_disc,
    paired,
    unknown,
)
from geometry.core.frozen import dataclass
from geometry.core.plane import Point, along
from geometry.core.polygon import Sides, apart, away_from, nearest_on, sides
from geometry.core.say import named, say
from geometry.mount.outline import Outline, Pad, every_side, in_metal, in_plate
from geometry.mount.placement import Placement

_TAB = 3.0
"""How far about the line through its holes metal is a tab's, and the caliper's seat, in hole diameters:
our own judgement, half as much again as a tab that is cut with the metal that is asked for."""
_STEP = 0.5
"""Length of the pieces of an edge that are taken for the tab's or not, mm."""


@dataclass(frozen=True, slots=True)
class Plate:
    """The dropout as the job has it: `sure` where the job says which way its drawing stands.

    `pad` lies on its inner face, None where none does.
    """

    outline: Outline
    sure: bool
    pad: Pad | None = None


def dropout_room(
    placement: Placement,
    plate: Plate,
    limits: OwnLimits,
    own: OwnCaliper | None,
    heads: Heads | None,
    turning: bool,
) -> Iterator[Clearance]:
    """Yield what the plate comes near to; `turning` leaves out what stays when the mount is turned.

    How thick the plate is changes nothing: disc and screws lie inboard of it, and the caliper reaches past
    its inner face or does not. A pad on that face is a part of the mount, which stands nearer to the disc
    than a frame may.
    """
    if not turning:
        yield from _disc(placement, plate, limits, heads)
    yield _caliper(placement, plate, limits, own)
    if plate.pad is not None:
        yield from _pad(placement, plate, plate.pad, limits, own, heads, turning)


def _disc(
    placement: Placement, plate: Plate, limits: OwnLimits, heads: Heads | None, pad: Pad | None = None
) -> Iterator[Clearance]:
    """Yield what disc and screws come near to, the plate or a pad on it, and its face at a level."""
    rotor = placement.rotor
    runout = entry("limits", "runout").value if limits.runout is None else limits.runout
    near, at = _nearest_metal(plate.outline if pad is None else Outline(pad.ring))
    level, metal = (0.0, named("dropout")) if pad is None else (-pad.high, named("pad"))
    disc = say("clearance.name.disc", size=2.0 * rotor.radius)
    kinds: tuple[Kind, Kind] = ("rotor", "bolts") if pad is None else ("mount", "heads")
    for what, body, kind in (
        (disc, disc_body(rotor), kinds[0]),
        (named("disc-screws"), bolt_ring(rotor, heads), kinds[1]),
    ):
        name = paired(what, metal)
        limit = limit_of(limits, kind)
        if body is None:
            yield unknown("dropout", name, limit, no_disc(placement.axle.name))
            continue
        # The furthest point of a body that way is its outboard face, and outward its rim.
        high, radius = body((0.0, 0.0, 1.0))[2], math.hypot(*body((1.0, 0.0, 0.0))[:2])
        aside, out = max(0.0, near - radius), max(0.0, level - high)
        share = 0.0 if near == 0.0 else min(1.0, radius / near)
        gap = math.hypot(aside, out)
        points = (share * at[0], share * at[1], min(high, level)), (*at, level)
        found = Nearest(gap, gap, *points)
        screws = kind == kinds[1] and heads is None
        said = say("clearance.heads_remembered") if screws else ""
        binding = not screws
        yield judged("dropout", name, found, limit, less=runout, binding=binding, remedy=said)


def _pad(
    placement: Placement,
    plate: Plate,
    pad: Pad,
    limits: OwnLimits,
    own: OwnCaliper | None,
    heads: Heads | None,
    turning: bool,
) -> Iterator[Clearance]:
    """Yield what the pad comes near to; unknown where it is not known which way the outline stands."""
    if not plate.sure:
        disc = say("clearance.name.disc", size=2.0 * placement.rotor.radius)
        why = say("clearance.give", keys=("dropout.outline_from",))
        yield unknown("mount", paired(disc, named("pad")), limit_of(limits, "mount"), why)
        return
    if not turning:
        yield from _disc(placement, plate, limits, heads, pad)
    yield _caliper(placement, Plate(Outline(pad.ring), True), limits, own, -pad.high)


def _nearest_metal(outline: Outline) -> tuple[float, Point]:
    """Return how near the metal comes to the axle's middle, and where; 0 where it goes through metal."""
    if in_metal(outline, (0.0, 0.0)):
        return 0.0, (0.0, 0.0)
    bore = outline.bore
    if bore is None:
        return nearest_on(every_side(outline), (0.0, 0.0))
    # From a bore's own middle any way is as near as another.
    off = math.hypot(*bore.centre)
    away = (1.0, 0.0) if off == 0.0 else (-bore.centre[0] / off, -bore.centre[1] / off)
    return bore.diameter / 2.0 - off, along(bore.centre, (bore.diameter / 2.0, away))


def _caliper(
    placement: Placement, plate: Plate, limits: OwnLimits, own: OwnCaliper | None, level: float = 0.0
) -> Clearance:
    """Return how near the caliper's room comes to the plate, but for the tab on which it is bolted.

    Its inner face lies at a level, mm outboard of the dropout's: below it the plate is a pad.
    """
    room = caliper(placement, own)
    limit = limit_of(limits, "caliper", room.grade)
    name = paired(named("caliper"), named("dropout" if level == 0.0 else "pad"))
    rotor = placement.rotor
    if rotor.inner_face_z is None or rotor.outer_face_z is None:
        return unknown("dropout", name, limit, no_disc(placement.axle.name))
    if not plate.sure:
        return unknown("dropout", name, limit, say("clearance.give", keys=("dropout.outline_from",)))
    at = seat(placement, room)
    ends = [at.along + room.offset + half * room.length / 2.0 for half in (-1.0, 1.0)]
    ups = [at.up - room.depth, at.up + room.height]
    corners = [(ends[0], ups[0]), (ends[1], ups[0]), (ends[1], ups[1]), (ends[0], ups[1])]
    box = tuple(along((0.0, 0.0), (x, placement.t), (up, placement.n)) for x, up in corners)
    metal = _without_tab(placement, plate.outline)
    distance, first, second = apart(sides(box), metal)
    middle = along((0.0, 0.0), (sum(ends) / 2.0, placement.t), (sum(ups) / 2.0, placement.n))
    if placement.interface.family != "tab" and in_plate(plate.outline, middle):
        distance, first, second = 0.0, middle, middle
    high = (rotor.inner_face_z + rotor.outer_face_z) / 2.0 + room.outboard
    gap = math.hypot(distance, max(0.0, level - high))
    found = Nearest(gap, gap, (*first, min(high, level)), (*second, level))
    why = "" if room.own else say("clearance.caliper_remembered")
    return judged("dropout", name, found, limit, binding=room.own, why=why, room=True)


def _without_tab(placement: Placement, outline: Outline) -> Sides:
    """Return a plate's sides without its tab about the mount's own holes; all of them for other mounts."""
    if placement.interface.family != "tab":
        return every_side(outline)
    near, far = (hole.centre[:2] for hole in placement.holes)
    reach = _TAB * placement.interface.hole.diameter.value
    cut = _cut_up(outline)
    kept = away_from(near, far, (cut[:, :2] + cut[:, 2:]) / 2.0) > reach
    return cut[kept] if kept.any() else cut


# A mount is tried at a hundred tilts before the same plate.
@functools.lru_cache(maxsize=16)
def _cut_up(outline: Outline) -> Sides:
    """Return a plate's sides in pieces of at most _STEP."""
    found = np.concatenate([_pieces(each) for each in every_side(outline)])
    found.setflags(write=False)
    return found


def _pieces(side: Sides) -> Sides:
    """Return a side cut into pieces of at most _STEP."""
    start, end = side[:2], side[2:]
    count = max(1, math.ceil(math.dist(start, end) / _STEP))
    stops = start + np.linspace(0.0, 1.0, count + 1)[:, None] * (end - start)
    return np.column_stack([stops[:-1], stops[1:]])
