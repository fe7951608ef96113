"""What each reading tells of a mount, and how: parameters of a surveyed mount, and the readings' model.

A mount is surveyed in its own frame: `along` its holes up the host tube and `up` to its mount side, both
turned about the axle by `turn` from where they should lie. All lengths are mm, the turn is radians.
"""

import itertools
from collections.abc import Mapping, Sequence
from dataclasses import replace
from enum import IntEnum

import numpy as np

from geometry.core.errors import GeometryError
from geometry.core.frozen import dataclass
from geometry.core.say import named, say
from geometry.mount.placement import Placement
from geometry.survey.limits import numbers
from geometry.survey.reading import At, Kind, Reading
from geometry.survey.trilateration import Floats
from geometry.tubes.tube import Tube, outline

LEAN_BASE = 50.0
"""Length over which a square's blade is read, mm."""
LEAN = f"square-across-in-{LEAN_BASE:.0f}"
"""The key of that reading."""
BEFORE_FACING = ("tacked", "cold", "aligned")
"""Check points at which stock for facing is still on the mount."""


class P(IntEnum):
    """The parameters: middle of both holes' heights and far less near, holes along, turn; the same sideways,
    and the lean of the face across the holes.
    """

    UP = 0
    UP_MORE = 1
    NEAR = 2
    FAR = 3
    TURN = 4
    SIDE = 5
    SIDE_MORE = 6
    LEAN = 7


@dataclass(frozen=True, slots=True)
class Taken:
    """A reading that can be taken on a mount."""

    reading: Reading

    @property
    def key(self) -> str:
        """Return its name in forms and reading files."""
        return self.reading.key

    @property
    def kind(self) -> Kind:
        """Return what it is taken for."""
        return self.reading.kind

    @property
    def at(self) -> At:
        """Return at which hole it is taken, "" for both at once or at the axle."""
        return self.reading.at

    @property
    def sign(self) -> float:
        """Return -1 where what is shown shrinks as what it is taken for grows, else 1."""
        return self.reading.sign


@dataclass(frozen=True, slots=True)
class Line:
    """A tube's edge in the side view: a point of it, and the unit normal towards the mount."""

    point: tuple[float, float]
    normal: tuple[float, float]


def takeable(readings: Sequence[Reading], family: str) -> tuple[Taken, ...]:
    """Return every reading that a survey understands.

    Those of the sheets, those that may be taken at each hole besides, and the stand-off of a square's blade
    across the holes.
    """
    found: list[Taken] = []
    for reading in readings:
        found.append(Taken(reading))
        if reading.kind in ("side", "face"):
            holes: tuple[At, At] = ("near", "far")
            for hole in holes:
                how = say("reading.how.at_hole", how=reading.how, hole=named(hole))
                if reading.kind == "face":
                    how = say(f"reading.face_at.{reading.base}", hole=named(hole))
                pins: tuple[At, ...] = (hole,) if reading.pins else ()
                key = f"{reading.key}-at-{hole}"
                found.append(Taken(replace(reading, key=key, how=how, at=hole, pins=pins)))
    what = say("reading.what.lean", base=LEAN_BASE)
    how = say("reading.how.lean_tab" if family == "tab" else "reading.how.lean_face", base=LEAN_BASE)
    limit = numbers()["limit.square_across"]
    low, high = -limit.value, limit.value
    lean = Reading(LEAN, what, how, 0.0, low, high, 0.0, "", "lean", jaws="blade", limit=limit)
    return (*found, Taken(lean))


def nominal(placement: Placement) -> Floats:
    """Return the parameters of the mount as it should be."""
    form = placement.interface
    return np.array([form.h, 0.0, form.x_near, form.x_far, 0.0, placement.lateral_z, 0.0, 0.0])


@dataclass(frozen=True, slots=True)
class Readings:
    """The model of some readings: `taken` in order, `free` the parameters that they can move.

    Called with the free parameters it returns the distances behind the readings and their derivatives.
    """

    placement: Placement
    taken: tuple[Taken, ...]
    free: tuple[P, ...]
    edges: Mapping[At, Line]
    thickness: float | None

    def __call__(self, at: Floats) -> tuple[Floats, Floats]:
        """Return distances (..., n) and derivatives (..., n, free) at free parameters (..., free)."""
        whole = self.whole(at)
        shown = np.empty((*at.shape[:-1], len(self.taken)))
        slopes = np.zeros((*at.shape[:-1], len(self.taken), len(P)))
        for i, each in enumerate(self.taken):
            self._one(each, whole, shown[..., i], slopes[..., i, :])
        return shown, slopes[..., list(self.free)]

    def whole(self, at: Floats) -> Floats:
        """Return all parameters (..., 8), the free ones put in."""
        whole = np.broadcast_to(nominal(self.placement), (*at.shape[:-1], len(P))).copy()
        whole[..., list(self.free)] = at
        return whole

    def _one(self, each: Taken, p: Floats, shown: Floats, slope: Floats) -> None:
        form = self.placement.interface
        tab = form.family == "tab"
        if each.kind in ("near", "far"):
            x = P.NEAR if each.kind == "near" else P.FAR
            if tab:
                shown[...] = np.hypot(p[..., x], p[..., P.UP])
                slope[..., x] = p[..., x] / shown
                slope[..., P.UP] = p[..., P.UP] / shown
            else:
                shown[...] = each.sign * p[..., x]
                slope[..., x] = each.sign
        elif each.kind == "spacing":
            shown[...] = p[..., P.FAR] - p[..., P.NEAR]
            slope[..., P.FAR], slope[..., P.NEAR] = 1.0, -1.0
        elif each.kind == "face":
            # A straightedge over both faces, read where it stands over the axle: the faces' line at the foot.
            share = -(form.x_near + form.x_far) / 2.0 / (form.x_far - form.x_near)
            share = {"": share, "near": -0.5, "far": 0.5}[each.at]
            shown[...] = p[..., P.UP] + share * p[..., P.UP_MORE]
            slope[..., P.UP], slope[..., P.UP_MORE] = 1.0, share
        elif each.kind == "side":
            start = 0.0 if each.reading.base == "inner" else self.thickness or 0.0
            sign = each.sign
            share = {"": 0.0, "near": -0.5, "far": 0.5}[each.at]
            shown[...] = sign * (p[..., P.SIDE] + share * p[..., P.SIDE_MORE] - start)
            slope[..., P.SIDE], slope[..., P.SIDE_MORE] = sign, sign * share
        elif each.kind == "edge":
            self._edge(each.at, p, shown, slope)
        else:
            shown[...] = p[..., P.LEAN]
            slope[..., P.LEAN] = 1.0

    def _edge(self, at: At, p: Floats, shown: Floats, slope: Floats) -> None:
        line = self.edges[at]
        point, moves = hole_at(self.placement, p, at == "far")
        shown[...] = (point - np.array(line.point)) @ np.array(line.normal)
        slope[...] = np.einsum("...kp,k->...p", moves, np.array(line.normal))


def hole_at(placement: Placement, p: Floats, far: bool) -> tuple[Floats, Floats]:
    """Return a hole's centre (..., 2) in the side view, mm, and its derivatives (..., 2, 8).

    For a post or boss it is where its axis meets its face.
    """
    x = P.FAR if far else P.NEAR
    share = 0.5 if far else -0.5
    up = p[..., P.UP] + share * p[..., P.UP_MORE]
    c, s = np.cos(p[..., P.TURN]), np.sin(p[..., P.TURN])
    turn = np.stack((np.stack((c, -s), axis=-1), np.stack((s, c), axis=-1)), axis=-2)
    t, n = turn @ np.array(placement.t), turn @ np.array(placement.n)
    point = p[..., x, None] * t + up[..., None] * n
    moves = np.zeros((*p.shape[:-1], 2, len(P)))
    moves[..., x] = t
    moves[..., P.UP] = n
    moves[..., P.UP_MORE] = share * n
    moves[..., P.TURN] = np.stack((-point[..., 1], point[..., 0]), axis=-1)
    return point, moves


def model_of(
    placement: Placement, taken: Sequence[Taken], tube: Tube | None, thickness: float | None
) -> Readings:
    """Return the model of readings taken on a mount.

    What they cannot tell is held as it should be: the turn without a reading to the tube, the faces level
    and the mount square where it was read at one place alone. Raise GeometryError for a reading to a tube or
    from an outer face that is not known.
    """
    edges: dict[At, Line] = {}
    for each in taken:
        if each.kind == "edge":
            if tube is None:
                raise GeometryError.at(f"tubes.{placement.host}", say("reading.to_edge", key=each.key))
            edges[each.at] = _edge_line(placement, tube, each.at == "far")
        if each.kind == "side" and each.reading.base == "outer" and thickness is None:
            raise GeometryError.at("dropout.thickness", say("reading.from_outer", key=each.key))
    places = {kind: {each.at for each in taken if each.kind == kind} for kind in ("face", "side")}
    free = [P.UP, P.NEAR, P.FAR, P.SIDE]
    if placement.interface.family != "tab" and len(places["face"]) > 1:
        free.append(P.UP_MORE)
    if len(places["side"]) > 1:
        free.append(P.SIDE_MORE)
    if edges:
        free.append(P.TURN)
    if any(each.kind == "lean" for each in taken):
        free.append(P.LEAN)
    return Readings(placement, tuple(taken), tuple(sorted(free)), edges, thickness)


def _edge_line(placement: Placement, tube: Tube, far: bool) -> Line:
    """Return the edge of the host that a hole is measured from: the stretch below its nominal place."""
    hole = placement.holes[1 if far else 0]
    edge, other = (line[:, :2] for line in outline(tube, (0.0, 0.0, 1.0), (*placement.n, 0.0)))
    point = np.asarray(hole.centre[:2])
    best: tuple[tuple[float, float], Line] | None = None
    for start, end in itertools.pairwise(edge):
        run = end - start
        share = float((point - start) @ run / (run @ run))
        past = max(0.0, -share, share - 1.0) * float(np.hypot(*run))
        normal = np.array([-run[1], run[0]]) / float(np.hypot(*run))
        if (other[0] - start) @ normal > 0.0:
            normal = -normal
        line = Line((float(start[0]), float(start[1])), (float(normal[0]), float(normal[1])))
        rank = past, abs(float((point - start) @ normal))
        if best is None or rank < best[0]:
            best = rank, line
    if best is None:
        raise GeometryError.at(f"tubes.{tube.name}", say("reading.no_edge"))
    return best[1]
