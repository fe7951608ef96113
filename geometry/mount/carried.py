"""What carries a post or boss that no known tube does: the dropout's metal, where its outline is known.

The plate lies from its inner face, z = 0, outboard, and may bear a pad on that face. What counts is how much
of the post's own axis runs through metal as the side view shows it, how much of the post's width lies within
it sideways, and how much of its foot stands on it (geometry/mount/foot.py).
"""

import functools
import math
from collections.abc import Iterable
from pathlib import Path

from geometry.core.frozen import dataclass
from geometry.core.tables import Number, table
from geometry.mount.bosses import BossFit
from geometry.mount.foot import FIT, Foot, foot, in_metal_along
from geometry.mount.outline import Outline, Pad
from geometry.mount.placement import Hole, Placement
from geometry.tables.fasteners import screw
from geometry.tables.interface_rows import HoleForm, HoleKind

_TINY = 1e-6


@dataclass(frozen=True, slots=True)
class Carried:
    """What a post or boss beyond the tube's known beginning finds of the dropout, mm.

    `deep` is how much of its axis lies in the dropout's metal, `wide` how much of its width lies within that
    sideways (negative: it passes the dropout by that much). `short` is how far its end stops short of
    the metal along its own axis; None where it reaches it, or where none lies that way. `foot` is how its
    end stands on it.
    """

    name: str
    deep: float
    wide: float
    short: float | None
    foot: Foot

    @property
    def stands(self) -> bool:
        """Return whether there is metal to join it to: beside it, or under the whole of its foot."""
        least = _least().value - _TINY
        # Where the dropout's thickness is not known, it is asked for besides.
        under = self.foot.shape == "whole" or (self.foot.share is None and self.foot.depths is not None)
        on = under and (self.short or 0.0) <= FIT
        return (self.deep >= least or on) and self.wide >= least

    @property
    def overhangs(self) -> bool:
        """Return whether too little of the foot stands on metal; never where that is not known."""
        share = self.foot.share
        return share is not None and share < overhang_limit().value


def _entry(part: str, key: str) -> Number:
    return table(Path(__file__).with_name("carried.toml")).number(part, key)


@functools.cache
def _least() -> Number:
    """Return how much metal a post has to meet, along it and across it, to be said to stand on it, mm."""
    return _entry("seam", "least")


def hole_limit() -> Number:
    """Return how much metal a post or boss keeps round its hole, mm, below which it is warned of."""
    return _entry("hole", "beside")


def hole_across(hole: HoleForm) -> tuple[float, HoleKind]:
    """Return how far a hole reaches across a post or boss, mm, and by what: its thread, its slot, or itself.

    A slot that is wider than it is long, or a drill that is wider than its thread, reaches as a plain hole.
    """
    thread = screw(hole.screw).diameter if hole.kind == "thread" else 0.0
    reach = max(hole.diameter.value, hole.length or 0.0, thread)
    return reach, hole.kind if reach > hole.diameter.value else "plain"


def overhang_limit() -> Number:
    """Return the share of a foot's area that has to stand on metal, below which it is warned of."""
    return _entry("foot", "least")


def carried(
    placement: Placement,
    fits: Iterable[BossFit],
    outline: Outline,
    *,
    thickness: float | None,
    diameter: float,
    pad: Pad | None = None,
) -> tuple[Carried, ...]:
    """Return what carries each post or boss whose axis meets its tube below where that is known.

    `outline` is the dropout as it lies in the axes of the package, and `pad` what lies on its inner face;
    `thickness` is the plate's (None: it is taken to reach outboard without end, which the set-up asks for
    elsewhere), `diameter` the posts', mm. A post of
    unknown length is left out: nothing is known of its end.
    """
    holes = {hole.name: hole for hole in placement.holes}
    return tuple(
        _carried(placement, holes[fit.name], outline, thickness, diameter, fit.length, pad)
        for fit in fits
        if fit.meets == "before" and fit.length is not None
    )


def _carried(
    placement: Placement,
    hole: Hole,
    outline: Outline,
    thickness: float | None,
    diameter: float,
    length: float,
    pad: Pad | None,
) -> Carried:
    x, y, z = hole.centre
    way = (-placement.n[0], -placement.n[1])
    stands = foot(
        hole.name,
        hole.centre,
        (placement.t, placement.n),
        outline,
        thickness=thickness,
        pad=pad,
        diameter=diameter,
        length=length,
    )
    top = math.inf if thickness is None else thickness
    low = 0.0 if stands.metal is None else stands.metal[0]
    wide = min(z + diameter / 2.0, top) - max(z - diameter / 2.0, low)
    stretches = in_metal_along(outline, (x, y), way)
    deep = sum(max(0.0, min(end, length) - start) for start, end in stretches)
    first = min((start for start, _ in stretches), default=None)
    beyond = None if first is None or first < length else first - length
    return Carried(hole.name, deep, wide, beyond, stands)
