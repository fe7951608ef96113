"""The tubes that meet at a dropout as a plane frame: how a braked wheel's forces bend each of them.

The left dropout is rigid, with every tube clamped to it where it begins. The far ends lie somewhere between
clamped and hinged, so that both are solved and the worse counts. The mount's force enters where mount and
host meet, over that length. Side view only: what the disc's distance from the tubes does sideways is
estimated apart (`sideways`). Axes of the package; N, mm, N mm, MPa.
"""

import functools
import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import field, replace
from typing import Literal

import numpy as np

from geometry.braking.forces import Forces, screw_points
from geometry.braking.plane_frame import Floats, Frame, Member, Solved, Stiffness, assembled, carried
from geometry.core.frozen import dataclass
from geometry.core.plane import Point
from geometry.mount.placement import Placement
from geometry.tubes.tube import Tube, centre, half_axes, halves

Far = Literal["clamped", "hinged"]
_STEEL = 205_000.0
"""MPa: with one modulus throughout, stresses do not depend on it."""
_SHARES = 9
"""Points over which a foot's force is spread."""
_EVERY = 5.0
"""Distance between looked-at sections, mm; corners and ends of feet are looked at besides."""
_NEAR = 0.5
"""Places nearer to each other than this, mm, share a node."""


@dataclass(frozen=True, slots=True)
class Wall:
    """A tube of the frame with its wall, and how far up from the axle it is held at its far end, mm.

    Beyond its last station it goes on as it was measured there.
    """

    tube: Tube
    wall: float
    length: float


@dataclass(frozen=True, slots=True)
class Brace:
    """A round tube between the stays' centre lines, by how far up each it meets them, mm."""

    diameter: float
    wall: float
    on_chainstay: float
    on_seatstay: float


@dataclass(frozen=True, slots=True)
class Foot:
    """A stretch of the host over which a force at `point` enters it rigidly, s from `low` to `high`, mm."""

    low: float
    high: float
    point: Point
    force: Point


@dataclass(frozen=True, slots=True)
class Cut:
    """A section of a tube: s, bending moment and normal force there, and the highest stress, by far ends."""

    tube: str
    s: float
    moment: float
    normal: float
    stress: float
    far: Far


@dataclass(frozen=True, slots=True)
class Bent:
    """What a frame does under a load: every section looked at, and how its joints move when clamped, mm.

    `host` is the tube that the mount stands on. `lines` are each tube's centre line as points and the same
    points' moves, for drawing.
    """

    host: str
    cuts: tuple[Cut, ...]
    # They follow from the cuts' loads and count in no digest, for a mapping has none.
    lines: Mapping[str, tuple[tuple[Point, Point], ...]] = field(hash=False)

    def of(self, tube: str) -> tuple[Cut, ...]:
        """Return a tube's sections, each with its worse far end, in order of s."""
        worst: dict[float, Cut] = {}
        for cut in self.cuts:
            if cut.tube == tube and (cut.s not in worst or cut.stress > worst[cut.s].stress):
                worst[cut.s] = cut
        return tuple(worst[s] for s in sorted(worst))


def section(height: float, width: float, wall: float) -> tuple[float, float, float]:
    """Return area, second moment for bending in the plane of `height`, and section modulus: mm2, mm4, mm3.

    A hollow ellipse of even wall along its axes, pi/4 (a^3 b - a1^3 b1); a round tube is pi/64 (D^4 - d^4).
    """
    a, b = height / 2.0, width / 2.0
    a1, b1 = max(0.0, a - wall), max(0.0, b - wall)
    area = math.pi * (a * b - a1 * b1)
    second = math.pi / 4.0 * (a**3 * b - a1**3 * b1)
    return area, second, second / a


def _sections(wall: "Wall", s: Floats) -> tuple[Floats, Floats, Floats]:
    """Return `section` of a tube at each s, (n,)."""
    a, b = half_axes(wall.tube, s)
    a1, b1 = np.maximum(0.0, a - wall.wall), np.maximum(0.0, b - wall.wall)
    second = math.pi / 4.0 * (a**3 * b - a1**3 * b1)
    return math.pi * (a * b - a1 * b1), second, second / a


def left_share(found: Forces, z: float, width: float) -> Point:
    """Return what the axle puts on the left dropout, N: G/2 + (1 - z/W) D.

    `z` is the disc's middle plane inboard of the left hub seat and `width` the hub's, mm. The ground's force
    G acts midway between the dropouts, the pads' force on the disc D in the disc's plane; moments about the
    right dropout.
    """
    share = 1.0 - z / width
    return (
        found.ground[0] / 2.0 + share * found.on_disc[0],
        found.ground[1] / 2.0 + share * found.on_disc[1],
    )


def lever_of(foot: Foot, tube: Tube) -> float:
    """Return how far a foot's force passes the middle of where it enters its tube, mm."""
    x, y = _on(tube, (foot.low + foot.high) / 2.0)
    (u, v), (fx, fy) = foot.point, foot.force
    return abs((u - x) * fy - (v - y) * fx) / math.hypot(fx, fy)


def feet(placement: Placement, found: Forces, tube: Tube, past: float) -> tuple[Foot, ...]:
    """Return where the mount's force enters its host: a tab over its whole foot, posts and bosses at each.

    `past` is how far a tab's foot runs past its holes along the host, or a boss's radius, mm.
    """
    points = screw_points(placement)
    up = [point[0] * tube.t0[0] + point[1] * tube.t0[1] for point in points]
    if placement.interface.family == "tab":
        return (Foot(min(up) - past, max(up) + past, found.pad, found.on_caliper),)
    t, n = placement.t, placement.n
    return tuple(
        Foot(
            s - past,
            s + past,
            point,
            (one.along * t[0] + one.square * n[0], one.along * t[1] + one.square * n[1]),
        )
        for s, point, one in zip(up, points, found.screws, strict=True)
    )


def bend(
    tubes: Sequence[Wall],
    host: str,
    axle: Point,
    entering: Iterable[Foot],
    *,
    far: Sequence[Far] = ("clamped", "hinged"),
    brace: Brace | None = None,
) -> Bent:
    """Return how tubes that meet at a dropout are bent by the axle's force on it and what enters their host.

    A lone tube, as a fork's leg, is held at its far end alone: give far = ("clamped",). What enters below a
    tube's first station enters the dropout. Raise GeometryError where nothing holds the frame.
    """
    wall = next(each for each in tubes if each.tube.name == host)
    spread = _spread(wall.tube, entering)
    build = _built(tuple(tubes), host, tuple(spread), brace)
    loads = _loads(build.nodes, axle, wall, spread, brace)
    solved = [
        (carried(build.frame, dict.fromkeys(build.ends, (True, True, way == "clamped")), loads), way)
        for way in far
    ]
    cuts = [cut for found, way in solved for cut in build.cuts(found, way)]
    return Bent(host, tuple(cuts), build.lines(solved[0][0]))


@dataclass(frozen=True, slots=True)
class Sideways:
    """How far the disc's plane lies from a tube at its mount, mm, and what that couple does at most, MPa.

    `moment` and `twist` are the couple's parts across and along the tube, N mm, if this tube alone took them;
    `stress` is of both after Mises, from `bending` and `shear`.
    """

    lever: float
    moment: float
    twist: float
    stress: float
    bending: float
    shear: float


def sideways(found: Forces, wall: Wall, s: float, disc: float) -> Sideways:
    """Return an upper bound of what the plane leaves out: the caliper's force acts at the disc's z, `disc`.

    Its part along the tube bends it sideways, its part across twists it. Hub and other side take most of the
    couple in a frame; here the one tube takes all. Stress after Mises, bending beside twist.
    """
    tube = wall.tube
    lever = float(centre(tube, s)[2]) - disc
    f = found.on_caliper
    along = f[0] * tube.t0[0] + f[1] * tube.t0[1]
    across = f[0] * tube.n0[0] + f[1] * tube.n0[1]
    a, b = (2.0 * half for half in halves(tube, s))
    moment, twist = abs(along * lever), abs(across * lever)
    _, _, flat = section(b, a, wall.wall)
    _, _, tall = section(a, b, wall.wall)
    # A thin round tube's twist modulus is twice its bending one; the smaller stands for an oval.
    shear = twist / (2.0 * min(flat, tall))
    bending = moment / flat
    return Sideways(lever, moment, twist, math.hypot(bending, math.sqrt(3.0) * shear), bending, shear)


def with_sideways(cut: Cut, wall: Wall, aside: Sideways) -> Cut:
    """Return a section with the stress that it has at most once what the side view leaves out is counted.

    Both moments bend the tube about axes at right angles: no fibre has both in full, and round its outside,
    an ellipse, the highest is sqrt((M/W)^2 + (M'/W')^2), beside the normal force. Twist counts after Mises
    (handbooks: bending about two axes, and Huber-Mises).
    """
    a, b = (2.0 * half for half in halves(wall.tube, cut.s))
    area, _, modulus = section(a, b, wall.wall)
    normal = abs(cut.normal) / area + math.hypot(cut.moment / modulus, aside.bending)
    return replace(cut, stress=math.hypot(normal, math.sqrt(3.0) * aside.shear))


@dataclass(frozen=True, slots=True, eq=False)
class _Run:
    """The stretch of a tube that is a member: where it is looked at, with its area and modulus there."""

    tube: str
    at: Floats
    area: Floats
    modulus: Floats


@dataclass(frozen=True, slots=True, eq=False)
class _Built:
    """The frame of some tubes, whatever loads it: its nodes, the far ones, and each member's run."""

    nodes: Mapping[str, Point]
    ends: tuple[str, ...]
    runs: tuple[_Run | None, ...]
    frame: Frame

    def cuts(self, found: Solved, far: Far) -> list[Cut]:
        seen: list[Cut] = []
        for run, (start, _) in zip(self.runs, found.ends, strict=True):
            if run is None:
                continue
            moment = start[1] * (run.at - run.at[0]) - start[2]
            stress = np.abs(moment) / run.modulus + abs(start[0]) / run.area
            seen += [
                Cut(run.tube, s, m, -start[0], sigma, far)
                for s, m, sigma in zip(run.at.tolist(), moment.tolist(), stress.tolist(), strict=True)
            ]
        return seen

    def lines(self, found: Solved) -> dict[str, tuple[tuple[Point, Point], ...]]:
        told: dict[str, list[tuple[Point, Point]]] = {}
        for name, (x, y) in self.nodes.items():
            tube = name.partition(" ")[0]
            u, v, _ = found.moves[name]
            told.setdefault(tube, []).append(((x, y), (u, v)))
        first = told.pop("axle")
        return {tube: (*first, *points) for tube, points in told.items()}


# A stop is looked at in several stances and with far ends held in two ways: the frame itself stays the same.
@functools.lru_cache(maxsize=16)
def _built(tubes: tuple[Wall, ...], host: str, entered: tuple[float, ...], brace: Brace | None) -> _Built:
    """Return the frame of some tubes, with a node at each s of the host at which a force enters."""
    nodes: dict[str, Point] = {"axle": (0.0, 0.0)}
    members: list[Member] = []
    runs: list[_Run | None] = []
    ends: list[str] = []
    for wall in tubes:
        tube, high = wall.tube, wall.length
        low, meets = tube.stations[0].s, _meets(wall, brace)
        inner = [] if meets is None else [meets]
        inner += _places(wall, entered, brace).values() if tube.name == host else ()
        before, at = "axle", low
        for s in sorted({high, *(s for s in inner if low < s < high)}):
            name = _node(tube.name, s)
            nodes[name] = _on(tube, s)
            corners = tuple(station.s - at for station in tube.stations)
            arm = _on(tube, low) if before == "axle" else (0.0, 0.0)
            members.append(Member(before, name, _stiffness(wall, at), corners, arm))
            runs.append(_run(wall, at, s))
            before, at = name, s
        ends.append(before)
    if brace is not None:
        both = sorted(tubes, key=lambda each: each.tube.name)
        names = [_node(each.tube.name, met) for each in both if (met := _meets(each, brace)) is not None]
        area, second, _ = section(brace.diameter, brace.diameter, brace.wall)
        members.append(Member(names[0], names[1], _even(_STEEL * area, _STEEL * second)))
        runs.append(None)
    return _Built(nodes, tuple(ends), tuple(runs), assembled(nodes, members))


def _run(wall: Wall, low: float, high: float) -> _Run:
    corners = {each.s for each in wall.tube.stations if low < each.s < high}
    many = max(2, math.ceil((high - low) / _EVERY) + 1)
    at = np.array(sorted({*np.linspace(low, high, many).tolist(), *corners}))
    area, _, modulus = _sections(wall, at)
    return _Run(wall.tube.name, at, area, modulus)


def _places(wall: Wall, entered: Iterable[float], brace: Brace | None) -> dict[float, float]:
    """Return at which s of a node each place is taken at which a force enters a tube.

    What lies below the tube's beginning presses on the dropout, what lies past its end on its end. Places
    nearer than _NEAR to each other share a node: a member as short as that is stiffer than all others by more
    than numbers have digits.
    """
    low, high, meets = wall.tube.stations[0].s, wall.length, _meets(wall, brace)
    nodes = [low, high, *(() if meets is None else (meets,))]
    found = {}
    for s in sorted(entered):
        nearest = min(nodes, key=lambda node: abs(node - s))
        if low < s < high and abs(nearest - s) >= _NEAR:
            nodes.append(s)
            nearest = s
        found[s] = nearest if low < s < high else low if s <= low else high
    return found


def _loads(
    nodes: Mapping[str, Point], axle: Point, wall: Wall, spread: Mapping[float, Point], brace: Brace | None
) -> dict[str, tuple[float, float, float]]:
    """Return the loads at nodes: the axle's, and what enters the host."""
    tube, places = wall.tube, _places(wall, spread, brace)
    loads = {"axle": (axle[0], axle[1], 0.0)}
    for s, (fx, fy) in spread.items():
        x, y = _on(tube, s)
        name = "axle" if places[s] == tube.stations[0].s else _node(tube.name, places[s])
        u, v = nodes[name]
        fore = loads.get(name, (0.0, 0.0, 0.0))
        loads[name] = (fore[0] + fx, fore[1] + fy, fore[2] + (x - u) * fy - (y - v) * fx)
    return loads


def _node(tube: str, s: float) -> str:
    return f"{tube} {s:.6f}"


def _on(tube: Tube, s: float) -> Point:
    """Return the centre line's point at s in the side view."""
    x, y, _ = (float(each) for each in centre(tube, s))
    return x, y


def _meets(wall: Wall, brace: Brace | None) -> float | None:
    """Return at which s of a node a brace meets a tube: nearer than _NEAR to its end, that end has it.

    It meets no tube below its beginning, which is part of the joint at the axle.
    """
    at = None
    if brace is not None:
        at = {"chainstay": brace.on_chainstay, "seatstay": brace.on_seatstay}.get(wall.tube.name)
    if at is None:
        return None
    return wall.length if at > wall.length - _NEAR else max(at, wall.tube.stations[0].s + _NEAR)


def _even(axial: float, bending: float) -> Stiffness:
    return lambda at: (np.full_like(at, axial), np.full_like(at, bending))


def _stiffness(wall: Wall, start: float) -> Stiffness:
    def along(at: Floats) -> tuple[Floats, Floats]:
        area, second, _ = _sections(wall, start + at)
        return _STEEL * area, _STEEL * second

    return along


def _spread(tube: Tube, entering: Iterable[Foot]) -> dict[float, Point]:
    """Return the forces that enter a tube at places s along it: each foot's, evenly, and its couple linearly.

    A rigid foot on an even bed presses so: the force alike all along, the couple as pressures across the tube
    that grow from its middle.
    """
    qx, qy = -tube.t0[1], tube.t0[0]
    found: dict[float, Point] = {}
    for foot in entering:
        at = np.linspace(foot.low, foot.high, _SHARES)
        share = np.full(_SHARES, 1.0)
        share[[0, -1]] = 0.5
        share /= share.sum()
        middle = (foot.low + foot.high) / 2.0
        x, y = _on(tube, middle)
        couple = (foot.point[0] - x) * foot.force[1] - (foot.point[1] - y) * foot.force[0]
        away = at - middle
        press = couple * share * away / float(np.sum(share * away * away))
        for s, part, q in zip(at.tolist(), share.tolist(), press.tolist(), strict=True):
            fx, fy = found.get(s, (0.0, 0.0))
            found[s] = (fx + part * foot.force[0] + q * qx, fy + part * foot.force[1] + q * qy)
    return found


def peaks(cuts: Sequence[Cut]) -> tuple[Cut, ...]:
    """Return the sections of a tube at which the stress is higher than beside them, the highest first."""
    stress = [-1.0, *(cut.stress for cut in cuts), -1.0]
    tops = [
        cut
        for cut, (before, here, after) in zip(
            cuts, zip(stress, stress[1:], stress[2:], strict=False), strict=True
        )
        if here >= before and here > after
    ]
    return tuple(sorted(tops, key=lambda cut: -cut.stress))
