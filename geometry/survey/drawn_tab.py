"""A tab that is drawn as part of its dropout: its holes against the row's, as a survey would judge them.

Radii and spacing do not change when the dropout is turned about the axle, so that they are judged by the
survey's limits whatever way the drawing stands. By how much the pair is turned is told beside it.
"""

import math
from collections.abc import Iterator
from itertools import permutations
from typing import Literal

from geometry.core.frozen import dataclass
from geometry.core.plane import Point
from geometry.core.tables import Number
from geometry.mount.outline import Outline, Round
from geometry.mount.placement import Placement
from geometry.survey.limits import limits
from geometry.tables.fasteners import screw

NEAR_BY = 6.0
"""How far radii and spacing of two drawn holes may be off the row's, mm, and still be meant for its mount:
less than a hole is wide, so that a rack's eye or a mudguard's is not taken for one."""
_EVEN = 1e-6

Fit = Literal["fits", "off", "misfit"]
"""Within the limits; beyond one; or beyond it by more than a screw can move in its hole."""


@dataclass(frozen=True, slots=True)
class DrawnHole:
    """A drawn hole and the row's that it is meant for: both places in the side view, mm, and its diameter."""

    name: str
    at: Point
    wanted: Point
    diameter: float

    @property
    def off(self) -> float:
        """Return how far it lies from where the sheet has it, mm."""
        return math.dist(self.at, self.wanted)


@dataclass(frozen=True, slots=True)
class Error:
    """By how much a radius or the spacing is too long, mm, and its limit."""

    key: str
    by: float
    limit: Number

    @property
    def beyond(self) -> float:
        """Return by how much it is beyond its limit, mm; 0 within."""
        return max(0.0, abs(self.by) - self.limit.value)


@dataclass(frozen=True, slots=True)
class DrawnTab:
    """The two holes that are meant for the mount, near first.

    `turn` is by how much the pair is turned about the axle from the row's holes, degrees anticlockwise.
    `mirrored` where they fit the other way round alone. `play` is how far a screw can move in its hole, mm.
    """

    holes: tuple[DrawnHole, DrawnHole]
    errors: tuple[Error, Error, Error]
    turn: float
    mirrored: bool
    play: float

    @property
    def fit(self) -> Fit:
        """Return how the holes fit the row."""
        most = max(each.beyond for each in self.errors)
        return "fits" if most <= _EVEN else "off" if most <= self.play + _EVEN else "misfit"

    @property
    def carried(self) -> float:
        """Return how far the turn alone carries the far hole, mm."""
        return math.hypot(*self.holes[1].wanted) * abs(math.radians(self.turn))


def drawn_tab(placement: Placement, outline: Outline) -> DrawnTab | None:
    """Return the two drawn holes that are meant for a tab; None where there are none, or for other mounts."""
    face = placement.interface
    if face.family != "tab":
        return None
    found = sorted(_pairs(placement, outline), key=lambda each: each[:2])
    if not found:
        return None
    mirrored, _, near, far = found[0]
    wanted = [hole.centre[:2] for hole in placement.holes]
    pair = (near, far)
    turned = [(-x, y) for x, y in wanted] if mirrored else wanted
    across = sum(w[0] * h.centre[1] - w[1] * h.centre[0] for w, h in zip(turned, pair, strict=True))
    ahead = sum(w[0] * h.centre[0] + w[1] * h.centre[1] for w, h in zip(turned, pair, strict=True))
    published = limits(face)
    return DrawnTab(
        (
            DrawnHole("near", near.centre, wanted[0], near.diameter),
            DrawnHole("far", far.centre, wanted[1], far.diameter),
        ),
        (
            Error("near", math.hypot(*near.centre) - face.radii[0], published["near"]),
            Error("far", math.hypot(*far.centre) - face.radii[1], published["far"]),
            Error(
                "spacing",
                math.dist(near.centre, far.centre) - (face.x_far - face.x_near),
                published["spacing"],
            ),
        ),
        math.degrees(math.atan2(across, ahead)),
        mirrored,
        max(0.0, face.hole.diameter.value - screw(face.hole.screw).diameter),
    )


def _pairs(placement: Placement, outline: Outline) -> Iterator[tuple[bool, float, Round, Round]]:
    """Yield each pair of drawn holes near the row's: mirrored or not, how far off, near hole and far hole."""
    face = placement.interface
    (nx, ny), (fx, fy) = (hole.centre[:2] for hole in placement.holes)
    hand = nx * fy - ny * fx
    for one, other in permutations(outline.drilled, 2):
        off = max(
            abs(math.hypot(*one.centre) - face.radii[0]),
            abs(math.hypot(*other.centre) - face.radii[1]),
            abs(math.dist(one.centre, other.centre) - (face.x_far - face.x_near)),
        )
        if off < NEAR_BY:
            theirs = one.centre[0] * other.centre[1] - one.centre[1] * other.centre[0]
            yield hand * theirs < 0.0, off, one, other
