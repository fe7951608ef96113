"""A plane frame of straight members with any taper, solved exactly by the direct stiffness method.

Members bend after Euler and Bernoulli and stretch; shear's own part in bending is left out, as usual for
slender tubes. A member's flexibility is integrated along it (Gauss-Legendre between the places where its
section has a corner), so that a taper is exact and no mesh has to be chosen. Lengths mm, forces N, moments
N mm anticlockwise positive, moduli MPa. Method: any textbook of structural analysis, such as the matrix
displacement method of plane frames.
"""

from collections.abc import Callable, Mapping, Sequence
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from geometry.core.errors import GeometryError
from geometry.core.frozen import dataclass
from geometry.core.plane import Point
from geometry.core.say import named, say

Floats = NDArray[np.float64]
Stiffness = Callable[[Floats], tuple[Floats, Floats]]
"""Axial and bending stiffness EA (N) and EI (N mm2) at distances (n,) from a member's start, mm."""
_POINTS, _WEIGHTS = np.polynomial.legendre.leggauss(8)


@dataclass(frozen=True, slots=True)
class Member:
    """A straight member from node `start` to node `end`, rigidly joined to both.

    `corners` are the distances from the start at which its stiffness has a corner or a step, mm. It begins
    `arm` away from its start's node, on a rigid arm.
    """

    start: str
    end: str
    stiffness: Stiffness
    corners: tuple[float, ...] = ()
    arm: Point = (0.0, 0.0)


@dataclass(frozen=True, slots=True)
class Solved:
    """What a frame does: each node's move (x, y in mm, turn in radians), support reactions, member ends.

    `ends` are the forces on each member at start and end, in its own axes: along it, square to it
    (its direction turned by +90 degrees), and the moment.
    """

    moves: Mapping[str, tuple[float, float, float]]
    reactions: Mapping[str, tuple[float, float, float]]
    ends: tuple[tuple[tuple[float, float, float], tuple[float, float, float]], ...]


@dataclass(frozen=True, slots=True, eq=False)
class Frame:
    """A frame put together, to be solved for any loads: its whole stiffness, and what each member adds.

    `order` is where each node's moves begin; `parts` are a member's stiffness in its own axes, the turn into
    these, and the places of its moves.
    """

    order: Mapping[str, int]
    stiffness: Floats
    parts: tuple[tuple[Floats, Floats, NDArray[np.intp]], ...]


def assembled(nodes: Mapping[str, Point], members: Sequence[Member]) -> Frame:
    """Return a frame put together; raise GeometryError for a member without length."""
    order = {name: 3 * i for i, name in enumerate(nodes)}
    size = 3 * len(order)
    stiffness = np.zeros((size, size))
    parts = []
    for member in members:
        local, turn = _local(member, nodes), _turn(member, nodes)
        places = np.r_[order[member.start] + np.arange(3), order[member.end] + np.arange(3)]
        stiffness[np.ix_(places, places)] += turn.T @ local @ turn
        parts.append((local, turn, places))
    return Frame(order, stiffness, tuple(parts))


def solve(
    nodes: Mapping[str, Point],
    members: Sequence[Member],
    held: Mapping[str, tuple[bool, bool, bool]],
    loads: Mapping[str, tuple[float, float, float]],
) -> Solved:
    """Return how a frame carries loads, as `carried` does."""
    return carried(assembled(nodes, members), held, loads)


def carried(
    frame: Frame,
    held: Mapping[str, tuple[bool, bool, bool]],
    loads: Mapping[str, tuple[float, float, float]],
) -> Solved:
    """Return how a frame carries loads at its nodes: fx, fy in N and a moment in N mm.

    `held` says of a support which of its moves x, y and turn are held. Raise GeometryError for a frame that
    is a mechanism.
    """
    order, stiffness = frame.order, frame.stiffness
    size = len(stiffness)
    force = np.zeros(size)
    for name, load in loads.items():
        force[order[name] : order[name] + 3] += load
    fixed = np.zeros(size, dtype=bool)
    for name, ways in held.items():
        fixed[order[name] : order[name] + 3] = ways
    free = ~fixed
    moves = np.zeros(size)
    if free.any():
        moves[free] = _moves(stiffness[np.ix_(free, free)], force[free])
    reaction = stiffness @ moves - force
    reaction[free] = 0.0
    ends = []
    for local, turn, places in frame.parts:
        end = local @ turn @ moves[places]
        ends.append((_triple(end[:3]), _triple(end[3:])))
    return Solved(
        {name: _triple(moves[at : at + 3]) for name, at in order.items()},
        {name: _triple(reaction[order[name] : order[name] + 3]) for name in held},
        tuple(ends),
    )


def _moves(stiffness: Floats, force: Floats) -> Floats:
    """Return the moves of the free nodes; scaled, so that turns and moves weigh alike in the condition."""
    own = np.diag(stiffness)
    if not np.all(own > 0.0):
        raise GeometryError.at(named("frame"), say("strength.frame.held_by_nothing"))
    scale = 1.0 / np.sqrt(own)
    scaled = scale[:, None] * stiffness * scale
    if np.linalg.cond(scaled) > 1e12:
        raise GeometryError.at(named("frame"), say("strength.frame.mechanism"))
    return np.asarray(scale * np.linalg.solve(scaled, scale * force), dtype=np.float64)


def _run(member: Member, nodes: Mapping[str, Point]) -> tuple[float, float, float]:
    (x, y), (u, v) = nodes[member.start], nodes[member.end]
    x, y = x + member.arm[0], y + member.arm[1]
    long = float(np.hypot(u - x, v - y))
    if long <= 0.0:
        raise GeometryError.at(
            named("frame"), say("strength.frame.no_length", start=member.start, end=member.end)
        )
    return (u - x) / long, (v - y) / long, long


def _turn(member: Member, nodes: Mapping[str, Point]) -> Floats:
    c, s, _ = _run(member, nodes)
    one = np.array([[c, s, 0.0], [-s, c, 0.0], [0.0, 0.0, 1.0]])
    whole = np.zeros((6, 6))
    whole[:3, :3] = whole[3:, 3:] = one
    # The arm's end moves with its node, and aside as that turns.
    rigid = np.eye(6)
    rigid[0, 2], rigid[1, 2] = -member.arm[1], member.arm[0]
    return np.asarray(whole @ rigid, dtype=np.float64)


def _local(member: Member, nodes: Mapping[str, Point]) -> Floats:
    """Return a member's stiffness in its own axes, (6, 6), from its flexibility as a cantilever held at 0.

    An end load (n, v, m) moves the end by F: with u the distance to the end, F_vv is the integral of
    u^2 / EI, F_vm of u / EI, F_mm of 1 / EI, and F_nn of 1 / EA.
    """
    _, _, long = _run(member, nodes)
    stops = [0.0, *sorted(each for each in member.corners if 0.0 < each < long), long]
    flexible = np.zeros((3, 3))
    for low, high in pairwise(stops):
        at = (low + high) / 2.0 + (high - low) / 2.0 * _POINTS
        weight = (high - low) / 2.0 * _WEIGHTS
        axial, bending = member.stiffness(at)
        u = long - at
        flexible[0, 0] += np.sum(weight / axial)
        flexible[1, 1] += np.sum(weight * u * u / bending)
        flexible[1, 2] += np.sum(weight * u / bending)
        flexible[2, 2] += np.sum(weight / bending)
    flexible[2, 1] = flexible[1, 2]
    end = np.linalg.inv(flexible)
    # The start's forces hold the end's in balance: its moment takes the end's lateral force times the length.
    balance = np.array([[-1.0, 0.0, 0.0], [0.0, -1.0, 0.0], [0.0, -long, -1.0]])
    whole = np.zeros((6, 6))
    whole[3:, 3:] = end
    whole[:3, 3:] = balance @ end
    whole[3:, :3] = whole[:3, 3:].T
    whole[:3, :3] = balance @ end @ balance.T
    return whole


def _triple(values: Floats) -> tuple[float, float, float]:
    x, y, turn = (float(each) for each in values)
    return x, y, turn
