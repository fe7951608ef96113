"""What a hole leaves of a thin-walled tube: its share of the wall and of the bending stiffness.

A section of the wall is a line, round or oval, of even thickness. Where nothing but ratios are asked for the
thickness drops out, so that these are shares to first order in wall over radius. The metal of whatever
stands in the hole is not counted.
"""

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from geometry.core.frozen import dataclass
from geometry.core.roots import zero
from geometry.tubes.tube import Tube, Vector, centre, frame, half_axes

Arc = tuple[float, float]
WHOLE: tuple[Arc, ...] = ((0.0, 2.0 * math.pi),)
_NODES, _WEIGHTS = (np.asarray(part, dtype=np.float64) for part in np.polynomial.legendre.leggauss(24))
_TURNS = 1440
_STEP = 1.0


@dataclass(frozen=True, slots=True)
class Share:
    """What is left, 0 to 1: of the wall's line, and of its stiffness in the side plane and across it."""

    wall: float
    side: float
    across: float

    @property
    def least(self) -> float:
        """Return the smallest of the three."""
        return min(self.wall, self.side, self.across)


def moments(a: float, b: float, arcs: Sequence[Arc] = WHOLE) -> tuple[float, float, float]:
    """Return length, and both second moments over the thickness, of arcs of an oval of half axes a and b.

    Units mm and mm3: the first moment of inertia is for bending in the plane of a, the second in that of b,
    each about the centroid of what is left. Arcs are pairs of ascending parameters in radians; the point at
    p is (a cos p, b sin p). Round and whole they are 2 pi r and pi r^3 twice (handbooks' thin ring).
    """
    pieces: list[Arc] = []
    for low, high in arcs:
        count = max(1, math.ceil((high - low) / (math.pi / 4.0)))
        edges = np.linspace(low, high, count + 1)
        pieces += [(float(edges[i]), float(edges[i + 1])) for i in range(count)]
    if not pieces:
        return 0.0, 0.0, 0.0
    ends = np.array(pieces)
    half = (ends[:, 1] - ends[:, 0]) / 2.0
    p = (ends.sum(axis=1) / 2.0)[:, None] + half[:, None] * _NODES
    line = np.hypot(a * np.sin(p), b * np.cos(p)) * half[:, None] * _WEIGHTS
    length = float(line.sum())
    found = []
    for across in (a * np.cos(p), b * np.sin(p)):
        middle = float((line * across).sum()) / length if length > 0.0 else 0.0
        found.append(float((line * (across - middle) ** 2).sum()))
    return length, found[0], found[1]


def share(
    a: float,
    b: float,
    arcs: Sequence[Arc],
    *,
    whole: tuple[float, float] | None = None,
    times: float = 1.0,
) -> Share:
    """Return what arcs of an oval of half axes a and b are of a whole one, `times` as thick as it.

    `whole` are the whole one's half axes, mm, where they differ: that of a bare tube inside its sleeve.
    """
    left, all_of_it = moments(a, b, arcs), moments(*(whole or (a, b)))
    wall, side, across = (max(0.0, min(1.0, times * x / y)) for x, y in zip(left, all_of_it, strict=True))
    return Share(wall, side, across)


def left_by_boss(
    tube: Tube,
    origin: Vector,
    way: Vector,
    *,
    radius: float,
    depth: float,
    at: Sequence[float],
    wall: float | None = None,
    sleeve: float = 0.0,
) -> Share | None:
    """Return the least that a round boss leaves of a tube in any section square to it; None off the tube.

    The boss runs from `origin` along the unit `way` to `depth` (mm, may be infinite) and takes the wall with
    it. Sections are looked at about each s in `at` in steps of a millimetre, so the one through the
    boss's axis is among them; what is beyond the tube's span is not. The line of the wall is its middle,
    or its outside where `wall` is None. Each of the three shares is the least of its own.

    `sleeve` is by how much a sleeve or a plug thickens the wall there, mm. What is left of both is then told
    as a share of the bare wall, at most all of it. Where the wall is not known a sleeve is not credited.
    """
    start, end = tube.span
    lean = abs(float(way @ np.array([*tube.n0, 0.0])))
    count = math.ceil((radius / max(lean, 0.1) + 1.0) / _STEP)
    places = {round(s + i * _STEP, 9) for s in at for i in range(-count, count + 1)}
    stops = sorted(s for s in places if start <= s <= end)
    if not stops:
        return None
    thick = 0.0 if wall is None else wall + sleeve
    times = 1.0 if wall is None else thick / wall
    bare = [half - (wall or 0.0) / 2.0 for half in half_axes(tube, np.array(stops))]
    a, b = (half - thick / 2.0 for half in half_axes(tube, np.array(stops)))
    kept = _kept(tube, np.array(stops), (a, b), origin, way, radius, depth)
    found = [
        share(float(a[i]), float(b[i]), arcs, whole=(float(bare[0][i]), float(bare[1][i])), times=times)
        for i, arcs in enumerate(kept)
    ]
    return Share(
        min(one.wall for one in found), min(one.side for one in found), min(one.across for one in found)
    )


def _kept(
    tube: Tube,
    stops: Vector,
    half: tuple[Vector, Vector],
    origin: Vector,
    way: Vector,
    radius: float,
    depth: float,
) -> list[list[Arc]]:
    """Return the arcs of each section that lie outside the boss; `half` are the wall's half axes there."""
    middles = np.array([centre(tube, float(s)) for s in stops]) - origin
    u, w, _, _ = frame(tube)

    def out(i: NDArray[np.intp], p: Vector) -> Vector:
        """Return how far points of the wall, at turn p of the i-th section, lie outside the boss."""
        point = middles[i] + (half[0][i] * np.cos(p))[..., None] * u + (half[1][i] * np.sin(p))[..., None] * w
        along = point @ way
        aside = np.linalg.norm(point - along[..., None] * way, axis=-1)
        return np.asarray(np.maximum(aside - radius, along - depth), dtype=np.float64)

    # Half a step off the axes, so that a symmetric hole is seen symmetrically.
    p = np.asarray((np.arange(_TURNS + 1) + 0.5) * (2.0 * math.pi / _TURNS), dtype=np.float64)
    seen = out(np.arange(len(stops))[:, None], p[None, :]) >= 0.0
    row, column = np.nonzero(seen[:, 1:] != seen[:, :-1])
    edges = zero(lambda turn: out(row, turn), p[column], p[column + 1])
    return [_arcs(bool(seen[i, 0]), [float(edge) for edge in edges[row == i]]) for i in range(len(stops))]


def _arcs(free: bool, edges: list[float]) -> list[Arc]:
    """Return the arcs between edges, in ascending turn; `free` says whether what comes before is kept."""
    if not edges:
        return list(WHOLE) if free else []
    if free:
        # What is kept runs through the first sample: begin at the last edge, one turn back.
        edges = [edges[-1] - 2.0 * math.pi, *edges[:-1]]
    return [(edges[i], edges[i + 1]) for i in range(0, len(edges), 2)]
