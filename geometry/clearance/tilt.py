"""Where a mount can go: the tilts from its host tube at which every clearance holds, and what ends them.

Whatever turns with the mount about the axle is judged: the caliper's room, the keys' ways, posts and bosses
with their lengths, and whether the holes still lie over their host, on the near side of any other tube. The
disc stays where it is. Degrees.

A range that ends where the search ends has no limit there, so that its middle means nothing: a tilt is
advised only in a range with a limit at either end.
"""

import itertools
import math
from collections.abc import Callable, Iterable, Mapping, Sequence

from geometry.clearance.judged import Clearance
from geometry.core.frozen import dataclass
from geometry.core.plane import Point
from geometry.core.say import Say, also, named, say
from geometry.mount.bosses import Need
from geometry.mount.placement import Placement
from geometry.tubes.tube import Tube, section

SEARCHED = (-45.0, 45.0)
"""Tilts that are looked at: further round, a mount no longer belongs to its host tube (own judgement)."""
_STEP = 1.0
_FINE = 0.01
_HALF = 0.5


@dataclass(frozen=True, slots=True)
class Range:
    """Tilts from `low` to `high` that hold; what ends them is named, empty where the search ended there."""

    low: float
    high: float
    low_limit: Say | str
    high_limit: Say | str

    @property
    def limited(self) -> bool:
        """Return whether something ends it on either side, and not the search alone."""
        return bool(self.low_limit and self.high_limit)

    @property
    def middle(self) -> float:
        """Return the middle, to the half degree where the range is wide enough for that."""
        middle = (self.low + self.high) / 2.0
        near = round(middle * 2.0) / 2.0
        return near if self.low <= near <= self.high else middle


@dataclass(frozen=True, slots=True)
class Tilts:
    """The ranges that hold, from the lowest tilt up, the one that is advised, and what is to be said.

    `advised` is the widest of those that are limited at either end; None without one. `known` is False where
    a number is missing that would have to be known first: then there are no ranges.
    """

    ranges: tuple[Range, ...]
    advised: Range | None
    judged: tuple[Say, ...]
    sentences: tuple[Say, ...]
    known: bool = True


Spare = tuple[float, Say | str]
"""How much is left over what is asked for, negative where it does not hold, and of what."""
Evaluate = Callable[[float], tuple[Sequence[Clearance], Spare]]
"""The clearances that turn with the mount at a tilt, and how the mount lies over its host (see on_host and
on_length; the least of them counts)."""


def least(spares: Iterable[Spare]) -> Spare:
    """Return what is left over the least; of equal ones the same in every language. Nothing: no end to it."""
    return min(spares, key=_rank, default=(math.inf, ""))


def _rank(spare: Spare) -> tuple[float, str]:
    return spare[0], str(spare[1])


def on_host(placement: Placement, tubes: Mapping[str, Tube]) -> Spare:
    """Return how far the holes lie above their host's edge, mm, or the far one short of another tube, deg.

    The least of them counts, by its sign. Without the host tube there is nothing to say.
    """
    host = tubes.get(placement.host)
    if host is None:
        return math.inf, ""
    name, spares = named(placement.host), list[Spare]()
    for hole in placement.holes:
        s, up = _in_host(host, hole.centre[:2])
        edge = host.offset + section(host, s).height / 2.0
        spares.append((up - edge, say("tilt.hole_at_edge", hole=named(hole.name), tube=name)))
    s, up = _in_host(host, placement.holes[1].centre[:2])
    for other in tubes.values():
        along, above = _in_host(host, other.t0)
        if other is not host and above > 0.0:
            short = math.degrees(math.atan2(above, along) - math.atan2(up, s))
            spares.append((short, say("tilt.far_hole_at", tube=named(other.name))))
    return least(spares)


def on_length(needs: Iterable[Need], lengths: Mapping[str, float], part: str, host: str) -> Spare:
    """Return how much longer bosses are than they have to be, mm; the least counts.

    `lengths` are theirs by hole, `part` and `host` the keys of mount and tube. One that lies before the
    tube's first station stands where no tube is given, and is passed over.
    """
    spares: list[Spare] = []
    for each in needs:
        names = {"hole": named(each.name), "part": named(part), "tube": named(host)}
        if each.length is not None:
            spares.append((lengths[each.name] - each.length, say("tilt.short_of", **names)))
        elif each.meets != "before":
            spares.append((-1.0, say("tilt.past", **names)))
    return least(spares)


def nearer(excess: Callable[[float], float], tilt: float) -> float | None:
    """Return the nearest tilt, to half a degree, at which bosses that end short at `tilt` are long enough.

    `excess` is by how much they are too short at a tilt, mm. None where no turn that shortens the way to the
    tube steadily gets there.
    """
    now = excess(tilt)
    for way in (1.0, -1.0):
        place, before = tilt, now
        while SEARCHED[0] <= place + way * _HALF <= SEARCHED[1]:
            place = _half(place, way)
            lacking = excess(place)
            if lacking <= 0.0:
                return place
            if lacking >= before:
                break
            before = lacking
    return None


def _half(tilt: float, way: float) -> float:
    """Return the next half degree beyond a tilt."""
    steps = tilt / _HALF
    return (math.floor(steps + 1e-9) + 1 if way > 0.0 else math.ceil(steps - 1e-9) - 1) * _HALF


def _in_host(host: Tube, point: Point) -> Point:
    """Return a side-view point as lengths up the host tube and to its mount side."""
    (tx, ty), (nx, ny), (x, y) = host.t0, host.n0, point
    return x * tx + y * ty, x * nx + y * ny


def tilts(evaluate: Evaluate, host: str, tilt: float | None, rough: Evaluate | None = None) -> Tilts:
    """Return the tilts at which every clearance keeps what is asked for, ends to 0.01 degree.

    `evaluate` gives the clearances that turn with the mount at a tilt; `host` is the host tube's key, `tilt`
    the job's, None where it gives none. A pocket narrower than a degree may be missed. Nothing is said while
    one of them is unknown. `rough` does the same in less time, and is right only in whether all holds.
    """
    drawn = evaluate(tilt or 0.0)
    rough, found = rough or evaluate, drawn[0]
    lacking = [each.why for each in found if each.state == "unknown"]
    if lacking:
        told = say("tilt.not_known", tube=named(host), why=also(lacking))
        return Tilts((), None, (), (told,), known=False)
    judged = tuple(each.name for each in found)
    count = round((SEARCHED[1] - SEARCHED[0]) / _STEP)
    places = [SEARCHED[0] + _STEP * i for i in range(count + 1)]
    worst = [_worst(*rough(place)) for place in places]
    ranges = []
    for holds, group in itertools.groupby(range(len(places)), key=lambda i: worst[i][0] >= 0.0):
        if not holds:
            continue
        members = list(group)
        first, last = members[0], members[-1]
        low = (places[first], "") if first == 0 else _edge(evaluate, rough, places[first], places[first - 1])
        high = (places[last], "") if last == count else _edge(evaluate, rough, places[last], places[last + 1])
        ranges.append(Range(low[0], high[0], low[1], high[1]))
    if not ranges:
        worst = [_worst(*evaluate(place)) for place in places]
    limited = [each for each in ranges if each.limited]
    advised = max(limited, key=lambda each: each.high - each.low, default=None)
    said = tuple(_said(ranges, advised, _worst(*drawn), worst, host, tilt))
    return Tilts(tuple(ranges), advised, judged, said)


def _worst(found: Iterable[Clearance], on_host: Spare) -> Spare:
    """Return the least of what is left over what is asked for, and whose it is.

    What meets does not hold, whatever is asked.
    """
    spares: list[Spare] = [
        (each.left - each.asked if each.distance else min(-1e-9, each.left - each.asked), each.name)
        for each in found
        if each.left is not None
    ]
    return least([on_host, *spares])


def _edge(evaluate: Evaluate, rough: Evaluate, holds: float, fails: float) -> Spare:
    """Return the last tilt that holds between one that does and one that does not, and what ends it there."""
    while abs(fails - holds) > _FINE:
        middle = (holds + fails) / 2.0
        if _worst(*rough(middle))[0] >= 0.0:
            holds = middle
        else:
            fails = middle
    return holds, _worst(*evaluate(fails))[1]


def _said(
    ranges: Sequence[Range],
    advised: Range | None,
    drawn: Spare,
    worst: Sequence[Spare],
    host: str,
    tilt: float | None,
) -> Iterable[Say]:
    tube = named(host)
    if not ranges:
        best = max(worst, key=_rank)[1]
        yield say("tilt.none", tube=tube, low=SEARCHED[0], high=SEARCHED[1], best=best)
        return
    for each in ranges:
        low, high = _inward(each.low, 1), _inward(each.high, -1)
        yield say(
            "tilt.holds", tube=tube, low=low, at=_end(each.low_limit), high=high, to=_end(each.high_limit)
        )
    if drawn[0] < 0.0 and tilt is None:
        yield say("tilt.fails_undrawn", what=drawn[1])
    elif drawn[0] < 0.0 and tilt is not None:
        yield say("tilt.fails", tilt=tilt, what=drawn[1])
    if advised is None or (tilt is not None and drawn[0] >= 0.0):
        return
    which = "only" if len(ranges) == 1 else "widest"
    yield say(f"tilt.{'advised' if tilt is not None else 'advised_undrawn'}.{which}", middle=advised.middle)


def _end(limit: Say | str) -> Say:
    return say("tilt.ended_by", what=limit) if limit else say("tilt.search_ends")


def _inward(value: float, way: int) -> str:
    """Return an end to a tenth of a degree, rounded into the range."""
    tenth = math.ceil(value * 10.0 - 1e-6) if way > 0 else math.floor(value * 10.0 + 1e-6)
    return f"{tenth / 10.0 + 0.0:+.1f}"
