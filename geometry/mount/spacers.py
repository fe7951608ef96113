"""Which spacers of a drawer make up a length: the fewest pieces, exactly, and what to make where none do."""

import math
from collections import Counter
from collections.abc import Iterable, Sequence

from geometry.core.errors import GeometryError
from geometry.core.frozen import dataclass
from geometry.core.say import Say, say
from geometry.core.shown import Pieces, Shown

# Lengths become whole numbers of 1/80 micrometre, in which 0.001 mm, 0.001 in and 1/128 in are all exact.
_UNITS, _GRAIN, _LEAST = 80_000, 80, 0.001
# Above so many bits for all pieces together a drawer is taken to the micrometre; above so many remembered
# sets the search for fewer different sizes ends. Either keeps the worst drawer to about a second.
_FINE, _PATIENCE = 10_000_000, 50_000
# A turned ring thinner than this bends in the fingers: common practice, no source.
THIN = 1.0
_BEST = 3
# How many different sizes a set of pieces has, and the pieces in units, longest first.
_Set = tuple[int, tuple[int, ...]]


@dataclass(frozen=True, slots=True)
class Stack:
    """Pieces, longest first, their total, and `leftover` = length less total: + where a gap stays, mm.

    `make` is the one piece to cut or turn that closes the gap, None where the pieces are within tolerance.
    """

    pieces: tuple[float, ...]
    total: float
    leftover: float
    make: float | None


@dataclass(frozen=True, slots=True)
class Choice:
    """The best stack for a length, up to two others, and what says it at the bench."""

    length: float
    tolerance: float
    reached: bool
    best: Stack
    alternatives: tuple[Stack, ...]
    sentence: Say


def choose(length: float, stock: Sequence[float], tolerance: float = 0.05) -> Choice:
    """Return the fewest pieces of the stock that make up a length to within a tolerance, mm.

    Every entry of `stock` is one piece. Ties go to the smaller leftover, then to fewer different sizes, then
    to the longest pieces first. Where no pieces come within the tolerance, the best is the longest total that
    stays below, with the piece to make. Exact; a large drawer of odd sizes is taken to the micrometre.
    Raise GeometryError for a piece that is no length.
    """
    if not math.isfinite(length) or not (math.isfinite(tolerance) and tolerance >= 0.0):
        raise GeometryError.at("stack", say("spacers.no_length", length=length, tolerance=tolerance))
    for piece in (stock := sorted(stock, reverse=True)):
        if not (math.isfinite(piece) and piece >= _LEAST):
            raise GeometryError.at("bench.spacers", say("spacers.no_spacer", piece=piece))
    goal, play = round(length * _UNITS), math.floor(tolerance * _UNITS + 1e-6)
    if goal < -play:
        told = say("spacers.beyond_plate", by=in_mm(-length))
        return Choice(length, tolerance, False, Stack((), 0.0, length, None), (), told)
    units = [round(piece * _UNITS) for piece in stock]
    step = math.gcd(*(size for size in units if size <= goal + play)) or 1
    if len(units) * (goal + play) > _FINE * step:
        step, units = _GRAIN, [round(size / _GRAIN) * _GRAIN for size in units]
    counts = sorted(Counter(size for size in units if size <= goal + play).items(), reverse=True)
    number, whole = sum(count for _, count in counts), sum(size * count for size, count in counts)
    most, found = 2, list[tuple[int, ...]]()
    while len(found) < _BEST and most < 2 * number + 4:
        most *= 2
        shelf = _Shelf(counts, step, min(goal + play, whole), min(most, number))
        found = _first(shelf, _near(shelf, goal, play))
    reached = bool(found)
    if not reached:
        found = _first(shelf, _below(shelf))
    # Pieces that round to one size are alike for the search, and then the longest of them is taken first.
    stacks = []
    for pieces in found:
        places = [units.index(size) + pieces[:i].count(size) for i, size in enumerate(pieces)]
        stacks.append(_stack([stock[place] for place in places], length, reached))
    # Where nothing is to be made up, a handful of shims is no alternative.
    others = tuple(stacks[1:]) if found[0] or not reached else ()
    return Choice(length, tolerance, reached, stacks[0], others, _said(stacks[0], length, tolerance))


def twins(stock: Iterable[float]) -> list[float]:
    """Return what is left of a stock where each piece is wanted twice, for two equal stacks side by side."""
    return [size for size, count in Counter(stock).items() for _ in range(count // 2)]


def _stack(pieces: list[float], length: float, reached: bool) -> Stack:
    rest = round(length - (total := round(math.fsum(pieces), 7)), 7)
    return Stack(tuple(pieces), total, rest, None if reached else rest)


def _said(best: Stack, length: float, tolerance: float) -> Say:
    if best.make is None and not best.pieces:
        return say("spacers.none", length=in_mm(length))
    stack = Pieces(" + ".join(in_mm(piece) for piece in best.pieces), best.pieces)
    total = in_mm(best.total)
    if best.make is None:
        missed = round(best.leftover, 3)
        way = "short" if missed > 0.0 else "over" if missed else "exact"
        values = {"stack": stack, "total": total, "by": in_mm(abs(missed)), "within": in_mm(tolerance)}
        return say(f"spacers.fit.{way}", **values)
    make = _make(best.make, best.pieces)
    if not best.pieces:
        return say("spacers.none_fits", make=make)
    within = in_mm(tolerance)
    return say("spacers.missed", within=within, length=in_mm(length), stack=stack, total=total, make=make)


def _make(size: float, pieces: Iterable[float]) -> Say:
    """Return which piece to make; of one too thin to turn, what to use instead."""
    if size >= THIN:
        return say("spacers.make.piece", size=in_mm(size))
    swap = min((piece for piece in pieces if piece + size >= THIN), default=None)
    if swap is None:
        return say("spacers.make.thin", size=in_mm(size))
    return say("spacers.make.thin_or", size=in_mm(size), swap=in_mm(swap), instead=in_mm(swap + size))


class _Shelf:
    """Which totals the pieces can make: `reach[i][n]` for n pieces of the sizes from the i-th down.

    Totals live in the bits of a Python integer, bit b for b steps, where a step is the sizes' common
    divisor: a drawer of tenths is a few hundred bits.
    """

    def __init__(self, counts: Sequence[tuple[int, int]], step: int, high: int, most: int) -> None:
        self.counts, self.step = counts, step
        self.memo: dict[tuple[int, int, int], tuple[_Set, ...]] = {}
        mask, layers = (1 << (high // step + 1)) - 1, [1, *[0] * most]
        reach = [layers]
        for size, count in reversed(counts):
            layers = list(layers)
            for _ in range(count):
                for n in range(most, 0, -1):
                    layers[n] |= layers[n - 1] << (size // step) & mask
            reach.append(layers)
        self.reach = reach[::-1]

    def sets(self, start: int, pieces: int, total: int) -> tuple[_Set, ...]:
        """Return the best sets of exactly so many pieces and that total, of the sizes from `start` down."""
        if pieces == 0:
            return ((0, ()),) if total == 0 else ()
        key = (start, pieces, total)
        if key not in self.memo:
            found: list[_Set] = []
            for i in range(start, len(self.counts)):
                size, count = self.counts[i]
                if not self.reach[i][pieces] >> total // self.step & 1:
                    break
                for used in range(min(count, pieces, total // size), 0, -1):
                    rest = self.sets(i + 1, pieces - used, total - used * size)
                    found += [(kinds + 1, (size,) * used + smaller) for kinds, smaller in rest]
                # Among countless equal sets the longest pieces first will do.
                if found and len(self.memo) > _PATIENCE:
                    break
            # A set's rank among equals stays the same whatever longer pieces precede it, so three will do.
            self.memo[key] = _ranked(found)[:_BEST]
        return self.memo[key]


def _first(shelf: _Shelf, groups: Iterable[list[tuple[int, int]]]) -> list[tuple[int, ...]]:
    """Return up to three sets of pieces from groups of equally good (pieces, total), the best group first."""
    found: list[tuple[int, ...]] = []
    for group in groups:
        found += [each for _, each in _ranked(each for pair in group for each in shelf.sets(0, *pair))]
        if len(found) >= _BEST:
            break
    return found[:_BEST]


def _near(shelf: _Shelf, goal: int, play: int) -> Iterable[list[tuple[int, int]]]:
    """Return what lies within `play` of the goal: fewest pieces first, then the nearest."""
    low = max(0, -((play - goal) // shelf.step))
    for pieces, bits in enumerate(shelf.reach[0]):
        window, misses = bits >> low, dict[int, list[tuple[int, int]]]()
        while window:
            total = (low + (window & -window).bit_length() - 1) * shelf.step
            misses.setdefault(abs(total - goal), []).append((pieces, total))
            window &= window - 1
        yield from (misses[miss] for miss in sorted(misses))


def _below(shelf: _Shelf) -> Iterable[list[tuple[int, int]]]:
    """Return what stays below a goal that nothing comes near: longest total first, then fewest pieces."""
    layers = list(shelf.reach[0])
    while top := max(bits.bit_length() for bits in layers):
        for pieces, bits in enumerate(layers):
            if bits.bit_length() == top:
                yield [(pieces, (top - 1) * shelf.step)]
                layers[pieces] ^= 1 << (top - 1)


def _ranked(sets: Iterable[_Set]) -> tuple[_Set, ...]:
    return tuple(sorted(sets, key=lambda each: (each[0], [-size for size in each[1]])))


def in_mm(value: float) -> Shown:
    """Return a length to the micrometre without trailing zeros."""
    text = f"{value:.3f}".rstrip("0").rstrip(".") if round(value, 3) else "0"
    return Shown(text, value)
