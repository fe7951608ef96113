"""Whether a flat sheet lies flat on the dropout, or a tube holds it off."""

from collections.abc import Iterable
from typing import Literal

import numpy as np

from geometry.core.frozen import dataclass
from geometry.tubes.tube import Tube, outline

UNDER_SHEET = 30.0
"""How far past the far hole a template shows the host tube, and so lies over it, mm."""


@dataclass(frozen=True, slots=True)
class Proud:
    """A tube that stands past the dropout's face: by how much, mm, and at which s up the tube."""

    tube: str
    by: float
    at: float


def untold(tubes: Iterable[Tube], reach: float) -> tuple[Tube, ...]:
    """Return the tubes under the sheet that are not placed: how far they stand out is not known."""
    return tuple(tube for tube in tubes if not tube.placed and tube.span[0] < reach)


def proud(
    tubes: Iterable[Tube], face_z: float, side: Literal["outboard", "inboard"], reach: float
) -> Proud | None:
    """Return the tube that stands furthest past a dropout face at `face_z`, or None where none does.

    Only what lies within `reach` of the axle, up the tube, is under the sheet. The tube's crest over its
    length is the contour seen in the side plane, square to the tube, so splay and taper are taken in full. A
    tube that is not placed is passed over: see `untold`.
    """
    sign = 1.0 if side == "outboard" else -1.0
    worst: Proud | None = None
    for tube in tubes:
        if not tube.placed:
            continue
        crest = outline(tube, (*tube.n0, 0.0), (0.0, 0.0, sign))[0]
        at = crest[:, :2] @ np.asarray(tube.t0)
        if at[0] >= reach:
            continue
        inside = at < reach
        stops = np.append(at[inside], reach) if not inside.all() else at
        heights = np.interp(stops, at, crest[:, 2])
        past = sign * (heights - face_z)
        top = int(np.argmax(past))
        if past[top] > 0.0 and (worst is None or past[top] > worst.by):
            worst = Proud(tube.name, float(past[top]), float(stops[top]))
    return worst
