"""How posts and bosses meet the host tube: heights, how deep they go in, and what they leave of the tube.

Everything is measured in space along the bolt's axis, which runs square to the mount face at the mount's own
z, from the face down to the tube's outside. A post is coped: cut to the tube, which stays whole. A flat
mount's boss is let in with a hole saw, through one wall or both, and takes the wall with it.
"""

import functools
import math
from collections.abc import Iterable
from dataclasses import replace
from typing import Literal

import numpy as np

from geometry.core.errors import GeometryError
from geometry.core.frozen import dataclass
from geometry.mount.placement import Hole, Placement
from geometry.tables.fasteners import FlatScrew, flat_screw
from geometry.tubes.lines import Lines
from geometry.tubes.tube import Tube, Vector, centre, frame, half_axes, section
from geometry.tubes.weakening import Share, left_by_boss

LEAST = 0.5
"""Share of wall and stiffness below which a hole is warned of, unless the job gives its own. Grade D, own
judgement: with half gone the boss's joint carries the stay; no published limit was found."""
CUT = 0.2
"""Share of the wall below which a hole has cut its tube in two, so that it must not be built. Grade D, own
judgement, drawn between what is built and what is not: a round stay of 22.2 keeps 62 % beside a boss of 12,
one of 16 keeps 42 %, an oval one 15 wide 29 to 41 %; three quarters gone is what one builder's page on flat
mounts calls insane (clandestine.cc, Flat mount), though others build it. A stay 13 wide keeps 10 %: the hole
then runs along its side walls."""

Meets = Literal["tube", "before", "beyond", "beside", "along"]
"""Where a bolt's axis meets the tube: on it, before its first station, beyond its known end, past its side,
or nowhere because it runs nearly along it."""
Side = Literal["outboard", "inboard"]

# A bolt that leans more than 80 degrees from square runs along the tube rather than into it.
_LEAN = math.cos(math.radians(80.0))
_RIM = 180
_COARSE = 48
_SEEN = 25
_NET = np.linspace(-1.0, 1.0, 33)
_TINY = 1e-6


@dataclass(frozen=True, slots=True)
class BossFit:
    """A boss or post at one bolt, mm; None where a number does not exist or was not given.

    `s` is where the bolt's axis meets the outside, `standoff` the mount face's height above it along the
    axis, `through` the face's height above the outside of the far wall. `rim` is the least and the most of
    the stand-off round the boss; `rim_open` says that part of the rim misses the tube. `miss` is by how far
    the axis passes the tube's side or its end. `goes_in` is length less stand-off, negative short of the
    tube. `beside` is the width of tube left beside the boss, outboard and inboard, 0 where it breaks out;
    `out_by` by how much it then stands past that side. `overhang` is how far the rim reaches past the
    tube's end. `share` is what is left of the tube (see weakening), None for a post, which is coped.
    """

    name: str
    coped: bool
    meets: Meets
    s: float | None
    standoff: float | None
    through: float | None
    rim: tuple[float, float] | None
    rim_open: bool
    miss: float | None
    miss_side: Side | None
    length: float | None
    goes_in: float | None
    beside: tuple[float, float] | None
    out_by: tuple[float, float] | None
    overhang: float
    share: Share | None
    under_head: float | None
    screw: FlatScrew | None

    @property
    def passes_through(self) -> bool:
        """Return whether the boss reaches the outside of the far wall at its axis."""
        if self.coped or self.through is None or self.length is None:
            return False
        return self.length >= self.through - _TINY

    @property
    def short(self) -> float | None:
        """Return by how much the length misses the rim's furthest point; None where it does not."""
        if self.rim is None or self.length is None:
            return None
        lacking = self.rim[1] - self.length
        return lacking if lacking > _TINY else None


@functools.lru_cache(maxsize=64)
def fit_bosses(
    placement: Placement,
    tube: Tube,
    *,
    diameter: float | None,
    length: float | None,
    near_length: float | None = None,
    wall: float | None = None,
    sleeve: float = 0.0,
) -> tuple[BossFit, ...]:
    """Return how a mount's bosses meet their host tube, near and far; nothing for a tab, which has none.

    `diameter` and `length` are the boss's, finished (without stock for facing), `near_length` the near one's
    where it has its own, `wall` the tube's, `sleeve` what thickens that at the bosses, all mm.
    The thickness under a rear flat mount's screw is the boss's length whether it passes through or not:
    the head must seat on the boss's end, because a hollow wall below it would be crushed.
    """
    if placement.interface.family == "tab":
        return ()
    own = {"near": length if near_length is None else near_length}
    return tuple(
        _fit(hole, placement, tube, diameter, own.get(hole.name, length), wall, sleeve)
        for hole in placement.holes
    )


def _fit(
    hole: Hole,
    placement: Placement,
    tube: Tube,
    diameter: float | None,
    length: float | None,
    wall: float | None,
    sleeve: float,
) -> BossFit:
    family, end = placement.interface.family, placement.interface.end
    through_screw = family == "flat" and end == "rear" and length is not None
    screw = None
    if through_screw and length is not None:
        try:
            screw = flat_screw(length)
        except GeometryError:
            screw = None
    origin = np.array(hole.centre)
    way = np.array([-placement.n[0], -placement.n[1], 0.0])
    axis = _meet(tube, origin[None, :], way)
    meets, miss = _where(tube, axis)
    rim = rim_open = beside = out_by = share = None
    overhang = 0.0
    if diameter is not None and axis is not None:
        radius = diameter / 2.0
        rim, rim_open, overhang = _rim(tube, origin, placement, way, radius)
    # A boss whose axis misses the tube may still cut into it with its rim.
    if diameter is not None and axis is not None and (rim is not None or meets == "tube"):
        spare = _spare(tube, origin, way, radius)
        beside = (max(0.0, spare[0]), max(0.0, spare[1]))
        out_by = (max(0.0, -spare[0]), max(0.0, -spare[1]))
        if family != "post" and length is not None:
            at = (float(axis.s_in[0]), float(axis.s_out[0]))
            share = left_by_boss(
                tube, origin, way, radius=radius, depth=length, at=at, wall=wall, sleeve=sleeve
            )
    on = axis if meets == "tube" else None
    standoff = float(on.enter[0]) if on is not None else None
    return BossFit(
        name=hole.name,
        coped=family == "post",
        meets=meets,
        s=float(on.s_in[0]) if on is not None else None,
        standoff=standoff,
        through=float(on.leave[0]) if on is not None else None,
        rim=rim,
        rim_open=bool(rim_open),
        miss=miss,
        miss_side=_side(axis) if meets == "beside" else None,
        length=length,
        goes_in=length - standoff if length is not None and standoff is not None else None,
        beside=beside,
        out_by=out_by,
        overhang=overhang,
        share=share,
        under_head=length if through_screw else None,
        screw=screw,
    )


@dataclass(frozen=True, slots=True)
class _Meeting:
    """Where lines meet a tube, arrays over the lines: depths below their origins, and s at those depths.

    `clear` is by how far a line passes the outside, negative where it enters; `across` its distance to the
    inboard side of the centre line where it enters. Without a meeting both depths are that of the nearest
    point.
    """

    enter: Vector
    leave: Vector
    s_in: Vector
    s_out: Vector
    clear: Vector
    across: Vector


def _meet(tube: Tube, origins: Vector, way: Vector) -> _Meeting | None:
    """Return where lines from `origins` (n, 3) along `way` meet the outside; None where they run along it.

    Beyond its stations the tube is taken to go on as it ends, so that what lies past its span can be told.
    """
    start, rise, to_s = _local(tube, origins, way)
    if abs(rise[0]) < _LEAN:
        return None
    lines = Lines(
        tube, np.stack([start[:, 2] * to_s, start[:, 0], start[:, 1]]), np.roll(rise, 1) * [to_s, 1, 1]
    )
    met = lines.pierced()
    on, _, across = lines.start[:, None] + lines.way[:, None, None] * np.stack([met.enter, met.leave])
    return _Meeting(
        enter=met.enter,
        leave=met.leave,
        s_in=on[0],
        s_out=on[1],
        clear=met.out * half_axes(tube, on[0])[1],
        across=across[0],
    )


def _local(tube: Tube, points: Vector, way: Vector) -> tuple[Vector, Vector, float]:
    """Return points and a direction along the tube's own axes, and s per mm along it.

    The axes are the side plane's upright, across to inboard, and the tube's own line from s = 0.
    """
    upright, across, along, stretch = frame(tube)
    axes = np.array([upright, across, along])
    return (points - centre(tube, 0.0)) @ axes.T, axes @ way, 1.0 / stretch


def _where(tube: Tube, axis: _Meeting | None) -> tuple[Meets, float | None]:
    """Return where a bolt's axis meets the tube, and by how far it misses it."""
    if axis is None:
        return "along", None
    start, end = tube.span
    s = float(axis.s_in[0])
    if s < start - _TINY:
        return "before", start - s
    if s > end + _TINY:
        return "beyond", s - end
    clear = float(axis.clear[0])
    return ("beside", clear) if clear >= 0.0 else ("tube", None)


def _side(axis: _Meeting | None) -> Side | None:
    if axis is None:
        return None
    return "inboard" if axis.across[0] > 0.0 else "outboard"


def _rim(
    tube: Tube, origin: Vector, placement: Placement, way: Vector, radius: float
) -> tuple[tuple[float, float] | None, bool, float]:
    """Return least and most stand-off round the rim, whether part of it misses, and its reach past the end.

    What lies past the tube's span is no part of the stand-off; it is told as a reach.
    """
    t, aside = np.array([*placement.t, 0.0]), np.array([0.0, 0.0, 1.0])
    start, end = tube.span

    def round_at(p: Vector) -> tuple[Vector, _Meeting]:
        points = origin + radius * (np.cos(p)[:, None] * t + np.sin(p)[:, None] * aside)
        met = _meet(tube, points, way)
        assert met is not None  # the axis, which is parallel, has met it
        known = (met.clear < 0.0) & (met.s_in >= start - _TINY) & (met.s_in <= end + _TINY)
        return np.where(known, met.enter, np.nan), met

    step = 2.0 * math.pi / _RIM
    turns = np.arange(_RIM, dtype=np.float64) * step
    heights, met = round_at(turns)
    overhang = max(0.0, float(start - met.s_in.min()), float(met.s_in.max() - end))
    is_open = bool((met.clear >= 0.0).any())
    if np.isnan(heights).all():
        return None, is_open, overhang
    # The least and the most are closed in on side by side.
    picks = (np.nanargmin, np.nanargmax)
    best = [int(pick(heights)) for pick in picks]
    places, found, width = turns[best], heights[best], step
    for _ in range(4):
        nets: Vector = places[:, None] + width * _NET
        close = round_at(nets.ravel())[0].reshape(nets.shape)
        at = [int(pick(row)) for pick, row in zip(picks, close, strict=True)]
        places, found, width = nets[[0, 1], at], close[[0, 1], at], width / 8.0
    return (float(found[0]), float(found[1])), is_open, overhang


def _spare(tube: Tube, origin: Vector, way: Vector, radius: float) -> tuple[float, float]:
    """Return the width of tube beside the boss, outboard and inboard, where its axis passes the middle.

    Negative where the boss stands past that side.
    """
    start, rise, to_s = _local(tube, origin[None, :], way)
    depth = -float(start[0, 0]) / float(rise[0])
    across = float(start[0, 1]) + depth * float(rise[1])
    half = section(tube, (float(start[0, 2]) + depth * float(rise[2])) * to_s).width / 2.0
    # The boss's silhouette across the tube: a splayed tube under a tilted bolt sees it a little narrower.
    wide = radius * math.sqrt(max(0.0, 1.0 - float(rise[1]) ** 2))
    return half + across - wide, half - across - wide


@dataclass(frozen=True, slots=True)
class Need:
    """How long a boss has to be for its whole rim to reach the tube, mm, where its axis meets it at all."""

    name: str
    meets: Meets
    length: float | None


def needed(placement: Placement, tube: Tube, diameter: float) -> tuple[Need, ...]:
    """Return how long bosses would have to be, near and far, to 0.03 mm; what `fit_bosses` says, in short."""
    way = np.array([-placement.n[0], -placement.n[1], 0.0])
    t, aside = np.array([*placement.t, 0.0]), np.array([0.0, 0.0, 1.0])
    found = []
    for hole in placement.holes:
        origin = np.array(hole.centre)
        axis = _meet(tube, origin[None, :], way)
        meets, _ = _where(tube, axis)
        length = None
        step = 2.0 * math.pi / _COARSE
        turns: Vector = np.arange(_COARSE, dtype=np.float64) * step
        for _ in range(2 if meets == "tube" else 0):
            ring = diameter / 2.0 * (np.cos(turns)[:, None] * t + np.sin(turns)[:, None] * aside)
            met = _meet(tube, origin + ring, way)
            assert met is not None  # the axis, which is parallel, has met it
            start, end = tube.span
            within = (met.s_in >= start - _TINY) & (met.s_in <= end + _TINY)
            known = (met.clear < 0.0) & within
            # Where the rim leaves the tube's side it is highest between two lines: the one beside counts too.
            counts = known | ((np.roll(known, 1) | np.roll(known, -1)) & within)
            if not counts.any():
                break
            best = int(np.argmax(np.where(counts, met.enter, -np.inf)))
            length = float(met.enter[best]) if length is None else max(length, float(met.enter[best]))
            turns = float(turns[best]) + step * _NET
        found.append(Need(hole.name, meets, length))
    return tuple(found)


def least_needed(placement: Placement, tube: Tube, diameter: float) -> tuple[Need, ...]:
    """Return how long bosses have to be at least wherever the tube lies sideways, near and far, mm.

    Nothing of a tube stands higher than its outline in the side view, so that a boss which ends above that
    somewhere along its rim ends short for every outset and splay. How much more it needs, and whether the
    tube is below it at all, is not known.
    """
    way, t = np.array([-placement.n[0], -placement.n[1], 0.0]), np.array([*placement.t, 0.0])
    along = diameter / 2.0 * np.linspace(-1.0, 1.0, _COARSE + 1)
    start, end = tube.span
    found = []
    for hole in placement.holes:
        origin = np.array(hole.centre)
        # Square to the side view, its middle below the bolt's axis: there it reaches its outline.
        below = replace(tube, outset=float(origin[2]), splay=0.0)
        meets, _ = _where(below, _meet(below, origin[None, :], way))
        length = None
        if meets == "tube":
            met = _meet(below, origin + along[:, None] * t, way)
            assert met is not None  # the axis, which is parallel, has met it
            within = (met.s_in >= start - _TINY) & (met.s_in <= end + _TINY)
            length = float(met.enter[within].max())
        found.append(Need(hole.name, meets, length))
    return tuple(found)


def joint(
    placement: Placement, tube: Tube, diameter: float, side: Side
) -> dict[str, tuple[tuple[float, float], ...]]:
    """Return where each boss's skin meets the tube as seen from one side: (along t, below the face), mm.

    From the boss's near edge to its far one, as far as that half of it stands on the tube; of a hole whose
    boss does not stand on the tube there is nothing.
    """
    way = np.array([-placement.n[0], -placement.n[1], 0.0])
    t, out = np.array([*placement.t, 0.0]), np.array([0.0, 0.0, 1.0 if side == "outboard" else -1.0])
    turns = np.linspace(math.pi, 0.0, _SEEN)
    aside = diameter / 2.0 * np.cos(turns)
    ring = aside[:, None] * t + diameter / 2.0 * np.sin(turns)[:, None] * out
    found: dict[str, tuple[tuple[float, float], ...]] = {}
    for hole in placement.holes:
        met = _meet(tube, np.array(hole.centre) + ring, way)
        if met is None:
            continue
        start, end = tube.span
        on = (met.clear < 0.0) & (met.s_in >= start - _TINY) & (met.s_in <= end + _TINY)
        if on.sum() > 1:
            pairs = zip(aside[on], met.enter[on], strict=True)
            found[hole.name] = tuple((float(u), float(depth)) for u, depth in pairs)
    return found


def made_length(fits: Iterable[BossFit]) -> float | None:
    """Return the length at which every rim reaches its tube all round, mm; None where no rim is known."""
    return max((fit.rim[1] for fit in fits if fit.rim is not None), default=None)


def blank_lengths(fits: Iterable[BossFit], facing: float) -> tuple[tuple[str, float], ...]:
    """Return the length to cut each boss to by its hole, mm, stock for facing in it; none that is not known.

    It is what the job gives, or what reaches the tube all round where that is more. Bosses of one length are
    cut alike; a near one that has its own stands by itself.
    """
    fits = tuple(fits)
    alike = len({fit.length for fit in fits}) == 1
    found = []
    for fit in fits:
        several = fits if alike else (fit,)
        needed = made_length(several)
        known = [each.length for each in several if each.length is not None]
        known += [] if needed is None else [needed]
        if known:
            found.append((fit.name, max(known) + facing))
    return tuple(found)
