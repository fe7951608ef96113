"""The smallest set of spacers from which every one of several stacks can be made, one stack at a time.

Lengths are worked out in steps of 0.05 mm, of which every thickness in the catalogue is a multiple. The set
of totals that pieces can make is the bits of one whole number: a piece more is one shift and one "or".
"""

import functools
import math
from collections.abc import Sequence
from pathlib import Path

from geometry.core.errors import GeometryError
from geometry.core.frozen import dataclass
from geometry.core.say import say
from geometry.core.tables import table

_FILE = Path(__file__).with_name("spacer_set.toml")
_STEP = 0.05
# Sets looked at before the search gives up being exact: about a second.
_PATIENCE = 300_000


@dataclass(frozen=True, slots=True)
class SpacerSet:
    """Pieces, longest first, mm; `exact` where no smaller set does, and what each stack takes of them.

    `stacks` has one tuple of pieces for each length asked for, in that order.
    """

    pieces: tuple[float, ...]
    exact: bool
    stacks: tuple[tuple[float, ...], ...]


@functools.cache
def catalogue() -> tuple[float, ...]:
    """Return the thicknesses of the shipped catalogue, longest first, mm; the table says whose judgement."""
    return tuple(sorted(table(_FILE).values("catalogue"), reverse=True))


def smallest_set(
    lengths: Sequence[float], tolerance: float = _STEP, known: Sequence[float] | None = None
) -> SpacerSet:
    """Return the fewest pieces from a catalogue from which each length can be made to within a tolerance, mm.

    Pieces are shared: frames are set up one at a time. Ties go to the thicker pieces. Beyond a bound of work
    the set is made stack by stack, and is then said not to be `exact`. Raise GeometryError for a length that
    no pieces of the catalogue make, or one that is none.
    """
    sizes = catalogue() if known is None else tuple(sorted(set(known), reverse=True))
    units = [round(size / _STEP) for size in sizes]
    if any(abs(unit * _STEP - size) > 1e-9 or unit < 1 for unit, size in zip(units, sizes, strict=True)):
        raise GeometryError.at("catalogue", say("spacers.catalogue", step=_STEP))
    goals = [_goal(length, tolerance) for length in lengths]
    hardest = max((goal.bit_length() for goal in goals), default=1)
    wanted = [goal for goal in dict.fromkeys(goals) if not goal & 1]
    alone = [_fewest(goal, units, length) for goal, length in zip(goals, lengths, strict=True)]
    least = max(map(len, alone), default=0)
    found = _search(wanted, units, least, hardest)
    exact = found is not None
    if found is None:
        found = _greedy(alone)
    stacks = tuple(tuple(unit * _STEP for unit in _subset(found, goal)) for goal in goals)
    rounded = tuple(tuple(round(piece, 6) for piece in stack) for stack in stacks)
    return SpacerSet(tuple(round(unit * _STEP, 6) for unit in found), exact, rounded)


def _goal(length: float, tolerance: float) -> int:
    """Return the totals that do for a length as bits, one a step."""
    if not (math.isfinite(length) and length >= -tolerance):
        raise GeometryError.at("stack", say("spacers.nothing_to_fill", length=length))
    low = max(0, math.ceil((length - tolerance) / _STEP - 1e-9))
    high = math.floor((length + tolerance) / _STEP + 1e-9)
    return sum(1 << step for step in range(low, high + 1))


def _fewest(goal: int, units: Sequence[int], length: float) -> tuple[int, ...]:
    """Return the fewest pieces that make one of the totals of a goal, any size as often as need be."""
    if goal & 1 or not goal:
        if not goal:
            raise GeometryError.at("stack", say("spacers.no_step", length=length))
        return ()
    came: dict[int, int] = {0: 0}
    edge = [0]
    while edge:
        following = []
        for total in edge:
            for unit in units:
                after = total + unit
                if after in came or after >= goal.bit_length():
                    continue
                came[after] = unit
                if goal >> after & 1:
                    pieces = []
                    while after:
                        pieces.append(came[after])
                        after -= came[after]
                    return tuple(sorted(pieces, reverse=True))
                following.append(after)
        edge = following
    raise GeometryError.at("stack", say("spacers.no_pieces", length=length))


def _search(goals: Sequence[int], units: Sequence[int], least: int, hardest: int) -> tuple[int, ...] | None:
    """Return the fewest pieces that reach every goal, or None where that would take too long to find."""
    looked = 0
    mask = (1 << hardest) - 1

    def deeper(pieces: tuple[int, ...], totals: int, first: int, left: int) -> tuple[int, ...] | None:
        nonlocal looked
        looked += 1
        if looked > _PATIENCE:
            raise TimeoutError
        open_ = [goal for goal in goals if not totals & goal]
        if not open_:
            return pieces
        # Each piece more at best doubles the totals, and so what can be reached of the goals.
        if not left or len(open_) > totals.bit_count() * (2**left - 1):
            return None
        for i in range(first, len(units)):
            grown = (totals | totals << units[i]) & mask
            if (found := deeper((*pieces, units[i]), grown, i, left - 1)) is not None:
                return found
        return None

    count = least
    try:
        while True:
            if (found := deeper((), 1, 0, count)) is not None:
                return found
            count += 1
    except TimeoutError:
        return None


def _greedy(alone: Sequence[tuple[int, ...]]) -> tuple[int, ...]:
    """Return the pieces that serve every stack if each takes its own fewest: an upper bound."""
    most: dict[int, int] = {}
    for stack in alone:
        for unit in set(stack):
            most[unit] = max(most.get(unit, 0), stack.count(unit))
    return tuple(sorted((unit for unit, count in most.items() for _ in range(count)), reverse=True))


def _subset(pieces: Sequence[int], goal: int) -> tuple[int, ...]:
    """Return the fewest of the pieces whose total is in the goal."""
    best: dict[int, tuple[int, ...]] = {0: ()}
    for unit in pieces:
        for total, used in list(best.items()):
            after = (*used, unit)
            if len(after) < len(best.get(total + unit, (0,) * 99)):
                best[total + unit] = after
    return min((used for total, used in best.items() if goal >> total & 1), key=len)
