"""Parallel straight lines through a tube: how deep each goes in and comes out, or passes it nearest.

Where the tube keeps its size a line meets an ellipse, which is a quadratic equation. On a taper it is solved
with the half axes at the last solution, again and again, each time nearer by the taper's share. The few lines
for which that does not settle, grazing ones mostly, are closed in on: the deepest place by golden section,
then both ends. Depths come out right to far less than 0.001 mm, be the tube round or oval, tapering or not.
"""

import math

import numpy as np

from geometry.core.frozen import dataclass
from geometry.core.roots import CLOSE, zero
from geometry.tubes.tube import Tube, Vector, half_axes

_GOLDEN = (math.sqrt(5.0) - 1.0) / 2.0
_SHRINKS = 42
_NET = 16
_TURNS = 12


@dataclass(frozen=True, slots=True, eq=False)
class Pierced:
    """Depths (...) at which lines enter and leave; both are the nearest place of a line that misses.

    `out` is negative where a line enters, and else how far outside it passes, as a share of the tube's size.
    """

    enter: Vector
    leave: Vector
    out: Vector


@dataclass(frozen=True, slots=True, eq=False)
class Lines:
    """Lines whose places at depth 0 are `start` (3, ...) and that go on by `way` (3,) for every mm of depth.

    Both are in the tube's own terms: s, along n0 and across. Beyond its stations the tube goes on as it ends.
    """

    tube: Tube
    start: Vector
    way: Vector

    def out(self, depth: Vector) -> Vector:
        """Return how far outside the tube points of lines are, as a share of its size: negative inside."""
        (s, up, aside), (more_s, more_up, more_aside) = self.start, self.way
        a, b = half_axes(self.tube, s + depth * more_s)
        return np.asarray(np.hypot((up + depth * more_up) / a, (aside + depth * more_aside) / b) - 1.0)

    def bracket(self) -> tuple[Vector, Vector]:
        """Return depths before and behind the tube; only between them may a line be inside."""
        _, up, aside = self.way
        square = up * up + aside * aside
        most = max(max(station.height, station.width) for station in self.tube.stations) / 2.0
        near, reach = -(self.start[1] * up + self.start[2] * aside) / square, 1.02 * most / math.sqrt(square)
        return near - reach, near + reach

    def pierced(self) -> Pierced:
        """Return where each line enters and leaves."""
        low, high = self.bracket()
        near = (low + high) / 2.0
        (more_s, more_up, more_aside), many = self.way, [1] * near.ndim
        s, up, aside = self.start + near * self.way.reshape(3, *many)
        side = np.array([-1.0, 1.0]).reshape(2, *many)
        depth = np.zeros((2, *near.shape))
        for _ in range(_TURNS):
            a, b = half_axes(self.tube, s + depth * more_s)
            y, z, run, rise = up / a, aside / b, more_up / a, more_aside / b
            square, half = run * run + rise * rise, y * run + z * rise
            room = half * half - square * (y * y + z * z - 1.0)
            before, depth = depth, (side * np.sqrt(np.maximum(room, 0.0)) - half) / square
            settled = np.abs(depth - before) <= CLOSE
            if settled.all():
                break
        enter, leave = near + depth
        good = np.all(settled & (room > 0.0), axis=0)
        out = np.where(good, -1.0, 0.0)
        if not good.all():
            enter[~good], leave[~good], out[~good] = Lines(
                self.tube, self.start[:, ~good], self.way
            )._closed_in()
        return Pierced(enter, leave, out)

    def _closed_in(self) -> tuple[Vector, Vector, Vector]:
        """Return what `pierced` does for lines (n,) that settle nowhere at once."""
        low, high = self.bracket()
        step = (high - low) / _NET
        best = np.argmin(self.out(np.linspace(low, high, _NET + 1)), axis=0)
        deep = self._deepest(low + (best - 1) * step, low + (best + 1) * step)
        out = self.out(deep)
        enter, leave = deep.copy(), deep.copy()
        if (inside := out < 0.0).any():
            some = Lines(self.tube, self.start[:, inside], self.way)
            enter[inside] = zero(some.out, low[inside], deep[inside])
            leave[inside] = zero(some.out, high[inside], deep[inside])
        return enter, leave, out

    def _deepest(self, low: Vector, high: Vector) -> Vector:
        """Return the depth between two others at which each line is deepest, by golden section."""
        first, second = high - _GOLDEN * (high - low), low + _GOLDEN * (high - low)
        out_first, out_second = self.out(first), self.out(second)
        for _ in range(_SHRINKS):
            left = out_first < out_second
            low, high = np.where(left, low, first), np.where(left, second, high)
            probe = np.where(left, high - _GOLDEN * (high - low), low + _GOLDEN * (high - low))
            out_probe = self.out(probe)
            first, second = np.where(left, probe, second), np.where(left, first, probe)
            out_first, out_second = (
                np.where(left, out_probe, out_second),
                np.where(left, out_first, out_probe),
            )
        return (first + second) / 2.0
