"""Where a boss, a plate or another tube meets the outside of a tube: curves in space, on both bodies.

A line of the other body that meets the tube is followed until it pierces the outside: see `lines`. The
closed forms that exist for round tubes serve as tests. Plates are in `plates`, and how a curve is sampled and
cut off in `tracing`.
"""

import itertools
import math
from typing import Literal

import numpy as np

from geometry.core.errors import GeometryError
from geometry.core.findings import Finding
from geometry.core.frozen import dataclass
from geometry.core.plane import short
from geometry.core.say import Say, say
from geometry.tubes.lines import Lines
from geometry.tubes.tracing import Crossing, clip_words, kept_parts, on_tube, traced
from geometry.tubes.tube import Direction, Tube, Vector, centre, frame, locate, outline

Side = Literal["entry", "far"]

NEAR = 0.05
"""A margin below this, mm, is called near-tangent: a saw wanders by more (own judgement)."""
GRAZE = 0.02
"""A body that enters a tube by less than this, mm, leaves no line to work to (own judgement)."""
STEEPEST = 20.0
"""Smallest angle between a boss and the tube, degrees: flatter, it runs along the tube (own judgement)."""

_BOSS, _BRACE = say("tubes.boss"), say("tubes.brace")
_NETS = 8
_FLAT = 1e-9
_TOUCH = 1e-6


@dataclass(frozen=True, slots=True)
class Cylinder:
    """A boss, post or brace: a round body about the line through `point` along the unit `direction`, mm.

    `direction` points the way the body goes into the tube.
    """

    point: Direction
    direction: Direction
    radius: float


@dataclass(frozen=True, slots=True, eq=False)
class RoundCrossing(Crossing):
    """A curve where a cylinder meets a tube, with the same points on the cylinder, each (n,).

    It is the `rank`th of `count` on its side. `around` in radians, unwrapped, is 0 on the cylinder's line
    furthest up the tube and grows about its direction; `depth` in mm runs along the direction from the
    cylinder's point. `margin`, mm, is the least distance that the cylinder stays inside the tube's outline,
    seen along its direction; negative outside.
    """

    side: Side
    rank: int
    count: int
    around: Vector
    depth: Vector
    margin: float


def between(first: Tube, s_first: float, second: Tube, s_second: float, radius: float) -> Cylinder:
    """Return the brace from one tube's centre line to another's, directed into the second, mm."""
    start, end = centre(first, s_first), centre(second, s_second)
    return cylinder(start, end - start, radius)


def cylinder(point: Vector | Direction, direction: Vector | Direction, radius: float) -> Cylinder:
    """Return a cylinder from any direction that is not nothing; raise GeometryError for one without size."""
    way = np.asarray(direction, dtype=np.float64)
    length = float(np.linalg.norm(way))
    if radius <= 0.0 or length == 0.0:
        raise GeometryError.at(say("tubes.cylinder"), say("tubes.no_size", radius=radius, length=length))
    x, y, z = (float(each) for each in way / length)
    px, py, pz = (float(each) for each in point)
    return Cylinder((px, py, pz), (x, y, z), radius)


def cylinder_through(
    tube: Tube,
    point: Vector | Direction,
    direction: Vector | Direction,
    radius: float,
    *,
    body: Say = _BOSS,
    points: int = 72,
) -> tuple[RoundCrossing, ...]:
    """Return the curves where a boss meets the tube's outside, mm: those of its entry side, then of its far.

    `direction` points the way the boss goes in, so the entry side looks against it. A boss wholly inside the
    outline gives one closed curve a side. One that leaves the outline gives open curves that end where its
    surface leaves the tube: one a side where it leaves on one side, two where it is wider than the tube.
    `points` is the number of steps to begin with; more are put in where a chord needs them. What lies where
    the tube is not known is cut off, and told. `body` is what the boss is called, as a sentence begins.
    Raise GeometryError for a boss that misses or only grazes the tube, or that runs almost along it.
    """
    solid = cylinder(point, direction, radius)
    where = say("tubes.on", body=body, tube=tube.name)
    margin, overlap, words = _fit(tube, solid, where)
    lines = _lines(tube, solid)
    spans = _spans(lines, where)
    if not spans:
        raise GeometryError.at(where, say("tubes.grazes", by=overlap))
    found: list[RoundCrossing] = []
    sides: tuple[Side, ...] = ("entry", "far")
    for side in sides:
        several = [each for span in spans for each in _followed(lines, span, side, points)]
        if not several:
            start, end = tube.span
            raise GeometryError.at(where, say("tubes.beyond", start=short(start), end=short(end)))
        parts = sorted(several, key=lambda each: _mean_s(lines, each))
        for rank, (t, depth, clipped) in enumerate(parts, start=1):
            space = lines.at(t, depth)
            s, turn = on_tube(tube, space)
            whole = len(spans) == 1 and spans[0][1] - spans[0][0] > 2.0 * math.pi - _FLAT
            found.append(
                RoundCrossing(
                    closed=whole and not clipped, space=space, s=s, turn=turn,
                    breaks_out=not whole, words=(*words, *clip_words(clipped, where)),
                    side=side, rank=rank, count=len(parts), around=t, depth=depth, margin=margin,
                )
            )  # fmt: skip
    return tuple(found)


def tube_against(branch: Cylinder | Tube, header: Tube, *, body: Say = _BRACE) -> tuple[RoundCrossing, ...]:
    """Return the cope of a straight round branch against a header: the entry side of `cylinder_through`.

    A branch given as a Tube must be round and of one size; it is coped where it comes down to the header
    from its own far end. Raise GeometryError as `cylinder_through` does, and for a branch not so.
    """
    if isinstance(branch, Tube):
        sizes = {size for station in branch.stations for size in (station.height, station.width)}
        if len(sizes) != 1:
            raise GeometryError.at(f"tubes.{branch.name}", say("tubes.no_branch"))
        _, _, axis, _ = frame(branch)
        branch = cylinder(centre(branch, branch.span[1]), -axis, sizes.pop() / 2.0)
    curves = cylinder_through(header, branch.point, branch.direction, branch.radius, body=body)
    return tuple(curve for curve in curves if curve.side == "entry")


# --- a cylinder's lines through the tube


@dataclass(frozen=True, slots=True)
class _Lines:
    """The lines of a cylinder. In `local`, point, way, up and aside are rows of (s, along n0, across)."""

    tube: Tube
    body: Cylinder
    up: Vector
    aside: Vector
    local: Vector

    def at(self, t: Vector, depth: Vector) -> Vector:
        """Return points (..., 3) of the cylinder at angles t and depths, in the axle frame."""
        ring = np.cos(t)[..., None] * self.up + np.sin(t)[..., None] * self.aside
        way = depth[..., None] * np.array(self.body.direction)
        return np.asarray(np.array(self.body.point) + self.body.radius * ring + way, dtype=np.float64)

    def through(self, t: Vector) -> Lines:
        """Return the lines at angles t, which start at depth 0."""
        point, way, up, aside = self.local
        shape = (3, *([1] * t.ndim))
        ring = np.cos(t) * up.reshape(shape) + np.sin(t) * aside.reshape(shape)
        return Lines(self.tube, point.reshape(shape) + self.body.radius * ring, way)

    def pierced(self, t: Vector, side: Side) -> Vector:
        """Return the depth at which each line enters or leaves; of one just missing, its nearest place."""
        found = self.through(t).pierced()
        return found.enter if side == "entry" else found.leave


def _lines(tube: Tube, body: Cylinder) -> _Lines:
    way, (u, w, axis, stretch) = np.array(body.direction), frame(tube)
    up = axis - (axis @ way) * way
    up /= np.linalg.norm(up)
    aside = np.cross(way, up)
    own = np.stack([axis / stretch, u, w], axis=-1)
    local = np.stack([np.array(body.point) - centre(tube, 0.0), way, up, aside]) @ own
    return _Lines(tube, body, up, aside, local)


def _fit(tube: Tube, body: Cylinder, where: Say) -> tuple[float, float, tuple[Finding, ...]]:
    """Return the margin to the tube's outline, by how much the body enters it, and what to say of them."""
    way, axis = np.array(body.direction), frame(tube)[2]
    sine = float(np.linalg.norm(np.cross(way, axis)))
    if sine < math.sin(math.radians(STEEPEST)):
        angle = math.degrees(math.asin(sine))
        raise GeometryError.at(where, say("tubes.along", angle=angle, least=STEEPEST))
    aside = np.cross(way, axis) / sine
    up = np.cross(aside, way)
    rooms = []
    for sign, line in zip((1.0, -1.0), outline(tube, body.direction, _triple(aside)), strict=True):
        seen = (line - np.array(body.point)) @ np.stack([up, sign * aside], axis=-1)
        # Beyond its stations the tube is held at its last size.
        far = np.array([abs(float(seen[:, 0].min())) + abs(float(seen[:, 0].max())) + 1e3, 0.0])
        seen = np.concatenate([seen[:1] - far, seen, seen[-1:] + far])
        level = float(np.interp(0.0, seen[:, 0], seen[:, 1]))
        rooms.append(math.copysign(min(_to_step(*step) for step in itertools.pairwise(seen)), level))
    left, right = rooms
    margin, overlap = min(rooms) - body.radius, min(rooms) + body.radius
    if overlap < 0.0:
        raise GeometryError.at(where, say("tubes.misses", by=-overlap))
    if overlap < GRAZE:
        raise GeometryError.at(where, say("tubes.grazes", by=overlap))
    said: list[Finding] = []
    if max(rooms) < body.radius - _TOUCH:
        what = say(
            "tubes.wider",
            where=where,
            across=2.0 * body.radius,
            tube=left + right,
            left=body.radius - left,
            right=body.radius - right,
        )
        said.append(Finding("wrap-wider", "warn", what))
    elif margin < -_TOUCH:
        said.append(Finding("wrap-open", "warn", say("tubes.open", where=where, by=-margin)))
    if abs(margin) < NEAR:
        said.append(Finding("wrap-grazes", "warn", say("tubes.near_side", where=where, by=abs(margin))))
    return margin, overlap, tuple(said)


def _triple(vector: Vector) -> Direction:
    return float(vector[0]), float(vector[1]), float(vector[2])


def _to_step(start: Vector, end: Vector) -> float:
    """Return the distance of the origin from a straight step."""
    step = end - start
    share = min(1.0, max(0.0, -float(start @ step) / float(step @ step)))
    return float(np.linalg.norm(start + share * step))


def _spans(lines: _Lines, where: Say) -> list[tuple[float, float]]:
    """Return the ranges of the cylinder's angle whose lines meet the tube; one whole turn where all do."""
    t = np.linspace(0.0, 2.0 * math.pi, 361)
    through = lines.through(t)
    signs = through.out(np.linspace(*through.bracket(), 33)) < 0.0
    if int(np.max(np.sum(signs[1:] != signs[:-1], axis=0))) > 2:
        raise GeometryError.at(where, say("tubes.waist"))
    # A body as wide as the tube touches its sides, and is not cut there.
    inside = through.pierced().out < _FLAT
    if inside.all():
        return [(0.0, 2.0 * math.pi)]
    edges = np.flatnonzero(inside[1:] != inside[:-1])
    low, high = t[edges], t[edges + 1]
    for _ in range(_NETS):
        nets = np.linspace(low, high, 33)
        same = (lines.through(nets).pierced().out < _FLAT) == inside[edges]
        last = np.argmin(same, axis=0)
        pick = np.arange(len(edges))
        low, high = nets[last - 1, pick], nets[last, pick]
    stops = (low + high) / 2.0
    if inside[0]:
        stops = np.append(stops[1:], stops[0] + 2.0 * math.pi)
    return [(float(start), float(end)) for start, end in stops.reshape(-1, 2)]


# --- following a curve


def _followed(
    lines: _Lines, span: tuple[float, float], side: Side, points: int
) -> list[tuple[Vector, Vector, tuple[Say, ...]]]:
    """Return the curve of one side over a range of the cylinder's angle: angles, depths, ends cut off."""
    middle, half = (span[0] + span[1]) / 2.0, (span[1] - span[0]) / 2.0
    closed = half > math.pi - _FLAT

    # Where its lines touch the tube the curve turns back at once, as a root does; the sine takes that out.
    def angle(share: Vector) -> Vector:
        return middle + half * (share if closed else np.sin(share * math.pi / 2.0))

    def at(share: Vector) -> Vector:
        t = angle(share)
        return lines.at(t, lines.pierced(t, side))

    share = traced(at, np.linspace(-1.0, 1.0, points + 1), lines.tube)
    t = angle(share)
    depth = lines.pierced(t, side)
    parts = kept_parts(on_tube(lines.tube, lines.at(t, depth))[0], lines.tube.span, closed)
    found = []
    for index, ends in parts:
        # A closed curve that is cut off is taken up behind the cut, so its angle may pass a whole turn.
        found.append((np.unwrap(t[index]), depth[index], ends))
    return found


def _mean_s(lines: _Lines, part: tuple[Vector, Vector, tuple[Say, ...]]) -> float:
    return float(np.mean(locate(lines.tube, lines.at(part[0], part[1]))[0]))
