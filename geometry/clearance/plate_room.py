"""What stands in the room of a setting plate: tubes, a pad on the dropout, and the dummy axle's own way.

A plate lies flat on one of the dropout's faces. Whatever its edge is, it has to reach from the dummy axle's
bore to what it holds: that much of it is looked at, two arms with some metal round what they hold. A tube
that stands past that face there holds the plate off, so that nothing which is stacked on it is true.
"""

import itertools
import math
from collections.abc import Mapping, Sequence
from typing import Literal

import numpy as np

from geometry.clearance.bodies import axle_bodies
from geometry.clearance.gaps import tube_gap
from geometry.core.frozen import dataclass
from geometry.core.plane import Point
from geometry.core.polygon import Ring, covered, inside
from geometry.mount.outline import Pad
from geometry.mount.placement import Placement
from geometry.tubes.tube import Tube, Vector, half_axes
from geometry.tubes.tube import centre as tube_centre

ROUND = 5.0
"""Metal that a plate has round its bore and round what it holds, mm. Common practice, no source."""
HELD = 12.0
"""How much of a post's length below its face a plate holds, mm: a clamp's jaw. Common practice, no source."""
ARM = 12.0
"""How wide an arm of a plate is at least, mm. Common practice, no source."""
_SEEN = 0.1
"""What a plate does not feel, mm: the step to which clearances are told."""
_REACH = 200.0
_ALONG, _ACROSS = 161, 13
_TURNS = 24


@dataclass(frozen=True, slots=True)
class Meeting:
    """What stands in a plate's room: its name, how far it stands past the plate's face, mm, and where.

    `at` is where it stands furthest in, along t and up n from the axle.
    """

    what: str
    by: float
    at: Point


@dataclass(frozen=True, slots=True)
class LeastPlate:
    """The least plate that holds a mount: arms that overlap, and what of its room is taken.

    `arms` are convex rings, mm along t and up n from the axle.
    """

    arms: tuple[Ring, ...]
    meets: tuple[Meeting, ...]


@dataclass(frozen=True, slots=True)
class Held:
    """What a plate holds, mm: its own `bore`, the diameter `across` of posts or of a tab's holes.

    `free` is by hole how much of a post stands free below its face, empty for a tab.
    """

    bore: float
    across: float
    free: Mapping[str, float]


def least_plate(
    placement: Placement,
    held: Held,
    tubes: Mapping[str, Tube],
    face: Literal["inside", "outside"],
    thickness: float | None,
    pad: Pad | None = None,
) -> LeastPlate:
    """Return the least plate on a dropout's face, of two shapes the one that meets less.

    One runs from the bore to what it holds near and on to what it holds far; the other first square up from
    the axle, so that more of the corner towards the host tube stays free. Other arguments are `in_plate`'s.
    """
    form = placement.interface
    turns = np.linspace(0.0, 2.0 * math.pi, _TURNS, endpoint=False)
    ring = np.column_stack([np.cos(turns), np.sin(turns)])
    bore, half = ring * (held.bore / 2.0 + ROUND), held.across / 2.0 + ROUND

    def about(name: str, x: float) -> Vector:
        if form.family == "tab":
            return ring * half + (x, form.h)
        low = form.h - min(held.free.get(name, HELD), HELD)
        return np.array([(x + side * half, up) for side in (-1.0, 1.0) for up in (low, form.h)])

    near, far = about("near", form.x_near), about("far", form.x_far)
    # An arm of the least width, which leaves the other stay its place on the far side of the axle.
    side = math.copysign(ARM, form.x_near)
    over = np.array([(u, up) for u in (0.0, side) for up in (near[:, 1].min(), near[:, 1].max())])
    shapes: list[tuple[Vector, ...]] = [(bore, near, far)]
    if abs(form.x_near) > half:
        shapes.append((bore, over, near, far))
    found = []
    for shape in shapes:
        arms = tuple(_hull(np.concatenate(pair)) for pair in itertools.pairwise(shape))
        found.append(LeastPlate(arms, in_plate(placement, tubes, arms, face, thickness, pad)))
    return min(found, key=lambda each: sum(met.by for met in each.meets if met.what != "pad"))


def in_plate(
    placement: Placement,
    tubes: Mapping[str, Tube],
    arms: Sequence[Ring],
    face: Literal["inside", "outside"],
    thickness: float | None,
    pad: Pad | None = None,
) -> tuple[Meeting, ...]:
    """Return the tubes, and the pad, that stand past the dropout's face into a plate's room.

    `face` is the one that the plate lies on, `thickness` the dropout's, None where it is not known: then
    nothing is known of its outer face. A tube that is not placed sideways is left out, being unknown.
    """
    found = []
    if face == "inside" and pad is not None and pad.high > _SEEN:
        middle = np.mean(np.array(pad.ring), axis=0)
        corners = [_flat(placement, (x, y)) for x, y in (*pad.ring, (float(middle[0]), float(middle[1])))]
        if any(inside(arm, each) for each in corners for arm in arms):
            found.append(Meeting("pad", pad.high, corners[-1]))
    if face == "outside" and thickness is None:
        return tuple(found)
    level = 0.0 if face == "inside" else thickness or 0.0
    for name, tube in tubes.items():
        if tube.placed and (met := _stands(placement, tube, arms, face, level)) is not None:
            found.append(Meeting(name, *met))
    return tuple(found)


def axle_meets(placement: Placement, tubes: Mapping[str, Tube], dummy: float) -> tuple[str, ...]:
    """Return the tubes that the dummy axle, `dummy` mm thick, runs into."""
    body = dict(axle_bodies(placement, dummy))["dummy-axle"]
    return tuple(
        name for name, tube in tubes.items() if tube.placed and tube_gap(body, tube, 1.0).distance == 0.0
    )


def _flat(placement: Placement, point: Point) -> Point:
    t, n = placement.t, placement.n
    return point[0] * t[0] + point[1] * t[1], point[0] * n[0] + point[1] * n[1]


def _stands(
    placement: Placement, tube: Tube, arms: Sequence[Ring], face: Literal["inside", "outside"], level: float
) -> tuple[float, Point] | None:
    """Return how far a tube stands past a level where the plate covers it, and where; None for not at all."""
    low, high = tube.span
    s = np.linspace(low, min(high, low + _REACH), _ALONG)
    a, b = half_axes(tube, s)
    middles = np.array([tube_centre(tube, float(at)) for at in s])
    shares = np.linspace(-1.0, 1.0, _ACROSS)[:, None]
    side: Vector = np.tile(middles, (_ACROSS, 1, 1))
    side[..., :2] += (shares * a)[..., None] * np.asarray(tube.n0)
    across = b * np.sqrt(np.maximum(0.0, 1.0 - shares * shares))
    past = (level - (side[..., 2] - across) if face == "inside" else side[..., 2] + across - level).ravel()
    axes = np.column_stack([placement.t, placement.n])
    flat = (side[..., :2] @ axes).reshape(-1, 2)
    there = np.flatnonzero(past > _SEEN)
    there = there[covered(arms, flat[there])]
    if not there.size:
        return None
    worst = there[np.argmax(past[there])]
    return float(past[worst]), (float(flat[worst, 0]), float(flat[worst, 1]))


def _hull(points: Vector) -> Ring:
    """Return the convex hull of points (n, 2), anticlockwise (monotone chain)."""
    ordered: list[Point] = sorted({(float(x), float(y)) for x, y in points})

    def chain(every: list[Point]) -> list[Point]:
        kept: list[Point] = []
        for x, y in every:
            while len(kept) > 1:
                (ax, ay), (bx, by) = kept[-2:]
                if (bx - ax) * (y - ay) - (by - ay) * (x - ax) > 0.0:
                    break
                kept.pop()
            kept.append((x, y))
        return kept[:-1]

    return tuple(chain(ordered) + chain(ordered[::-1]))
