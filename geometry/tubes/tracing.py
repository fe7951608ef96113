"""Curves on the outside of a tube, followed point by point: dense enough, split and cut where they must be.

Curves are sampled so that the middle of every chord lies within CHORD of the curve, in space. Laid flat on
either body a curve bends less than it does in space, so that holds on paper too.
"""

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from geometry.core.findings import Finding
from geometry.core.frozen import dataclass
from geometry.core.plane import short
from geometry.core.roots import zero
from geometry.core.say import Say, say
from geometry.tubes.development import pieces
from geometry.tubes.tube import Tube, Vector, locate

Trace = Callable[[Vector], Vector]
Part = tuple[NDArray[np.intp], tuple[Say, ...]]

CHORD = 0.002
"""Largest distance of a chord's middle from its curve, mm: 0.005 may be missed, and half of it is kept."""

_REFINEMENTS = 14
_SNAP = 1e-7


@dataclass(frozen=True, slots=True, eq=False)
class Crossing:
    """A curve on the outside of a tube. `space` (n, 3) and `s` in mm, `turn` in radians, unwrapped, (n,).

    A closed curve ends with its first point again. `breaks_out` tells that the other body's surface leaves
    the tube's outline, so that the curve ends there. `words` are what to say of it.
    """

    closed: bool
    space: Vector
    s: Vector
    turn: Vector
    breaks_out: bool
    words: tuple[Finding, ...]


def traced(at: Trace, share: Vector, tube: Tube) -> Vector:
    """Return the parameters of points along a curve, dense enough for CHORD.

    There is a point at each change of taper, and at each end of the tube's known part.
    """
    space = at(share)
    todo = np.ones(len(share) - 1, dtype=bool)
    for _ in range(_REFINEMENTS):
        open_ = np.flatnonzero(todo)
        if not len(open_):
            break
        half = (share[open_] + share[open_ + 1]) / 2.0
        mids = at(half)
        bad = _off_chord(space[open_], space[open_ + 1], mids) > CHORD
        place = open_[bad] + 1
        share, space = np.insert(share, place, half[bad]), np.insert(space, place, mids[bad], axis=0)
        todo = np.zeros(len(share) - 1, dtype=bool)
        new = place + np.arange(len(place))
        todo[new - 1] = todo[new] = True
    s = locate(tube, space)[0]
    for stop in sorted({stop for piece in pieces(tube) for stop in piece}):
        edges = np.flatnonzero((s[1:] > stop) != (s[:-1] > stop))

        def short_of(share: Vector, stop: float = stop) -> Vector:
            return stop - locate(tube, at(share))[0]

        share = np.insert(share, edges + 1, zero(short_of, share[edges], share[edges + 1]))
        s = np.insert(s, edges + 1, stop)
    return share


def _off_chord(start: Vector, end: Vector, mids: Vector) -> Vector:
    """Return how far each point (n, 3) lies from the chord between two others."""
    step = end - start
    length = np.maximum(np.sum(step * step, axis=-1), 1e-300)
    along = np.clip(np.sum((mids - start) * step, axis=-1) / length, 0.0, 1.0)
    return np.asarray(np.linalg.norm(mids - start - along[:, None] * step, axis=-1))


def on_tube(tube: Tube, space: Vector) -> tuple[Vector, Vector]:
    """Return s and the unwrapped turn of a curve; s is exact where the taper changes."""
    s, turn, _ = locate(tube, space)
    for stop in {stop for piece in pieces(tube) for stop in piece}:
        s = np.where(np.abs(s - stop) < _SNAP, stop, s)
    return s, np.unwrap(turn)


def kept_parts(s: Vector, span: tuple[float, float], closed: bool) -> list[Part]:
    """Return the parts of a curve that lie on the known tube: indices, and why its ends were cut off."""
    start, end = span
    steps = (np.minimum(s[1:], s[:-1]) >= start) & (np.maximum(s[1:], s[:-1]) <= end)
    index = np.arange(len(s))
    if steps.all():
        return [(index, ())]
    if closed:
        first = int(np.argmin(steps))
        # The last point is the first again, and must not stand twice.
        index = np.concatenate([index[first:-1], index[: first + 1]])
        steps = np.concatenate([steps[first:], steps[:first]])
    edges = np.flatnonzero(np.diff(np.concatenate([[0], steps.astype(int), [0]])))
    said = (
        *((say("tubes.begins", s=short(start)),) if float(s.min()) < start else ()),
        *((say("tubes.no_longer_known", s=short(end)),) if float(s.max()) > end else ()),
    )
    return [(index[low : high + 1], said) for low, high in edges.reshape(-1, 2)]


def clip_words(ends: tuple[Say, ...], where: Say) -> tuple[Finding, ...]:
    """Return what to say of a curve that was cut off; nothing of one that was not."""
    if not ends:
        return ()
    return (Finding("wrap-cut-off", "note", say("tubes.cut_off", where=where, ends=ends)),)
