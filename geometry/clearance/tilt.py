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
from dataclasses import dataclass

from geometry.clearance.judged import Clearance
from geometry.core.plane import Point
from geometry.mount.bosses import Need
from geometry.mount.placement import Placement
from geometry.tubes.tube import Tube, plain, section

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
    low_limit: str
    high_limit: str

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
    """The ranges that hold, from the lowest tilt up, the one that is advised, and sentences that say so.

    `advised` is the widest of those that are limited at either end; None without one. `known` is False where
    a number is missing that would have to be known first: then there are no ranges.
    """

    ranges: tuple[Range, ...]
    advised: Range | None
    judged: tuple[str, ...]
    sentences: tuple[str, ...]
    known: bool = True


Spare = tuple[float, str]
"""How much is left over what is asked for, negative where it does not hold, and of what."""
Evaluate = Callable[[float], tuple[Sequence[Clearance], Spare]]
"""The clearances that turn with the mount at a tilt, and how the mount lies over its host (see on_host and
on_length; the least of them counts)."""


def on_host(placement: Placement, tubes: Mapping[str, Tube]) -> Spare:
    """Return how far the holes lie above their host's edge, mm, or the far one short of another tube, deg.

    The least of them counts, by its sign. Without the host tube there is nothing to say.
    """
    host = tubes.get(placement.host)
    if host is None:
        return math.inf, ""
    name = plain(placement.host)
    spares: list[Spare] = []
    for hole in placement.holes:
        s, up = _in_host(host, hole.centre[:2])
        edge = host.offset + section(host, s).height / 2.0
        spares.append((up - edge, f"the {hole.name} hole at the {name}'s edge"))
    s, up = _in_host(host, placement.holes[1].centre[:2])
    for other in tubes.values():
        along, above = _in_host(host, other.t0)
        if other is not host and above > 0.0:
            short = math.degrees(math.atan2(above, along) - math.atan2(up, s))
            spares.append((short, f"the far hole at the {other.name.replace('-', ' ')}"))
    return min(spares)


def on_length(needs: Iterable[Need], lengths: Mapping[str, float], part: str, host: str) -> Spare:
    """Return how much longer bosses are than they have to be, mm; the least counts.

    `lengths` are theirs by hole, `part` what they are called. One that lies before the tube's first station
    stands where no tube is given, and is passed over.
    """
    spares: list[Spare] = []
    for each in needs:
        if each.length is not None:
            spares.append((lengths[each.name] - each.length, f"the {each.name} {part}, short of the {host}"))
        elif each.meets != "before":
            spares.append((-1.0, f"the {each.name} {part}, past the {host}"))
    return min(spares, default=(math.inf, ""))


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


def tilts(evaluate: Evaluate, host: str, tilt: float | None) -> Tilts:
    """Return the tilts at which every clearance keeps what is asked for, ends to 0.01 degree.

    `evaluate` gives the clearances that turn with the mount at a tilt; `tilt` is the job's, None where it
    gives none. A pocket narrower than a degree may be missed. Nothing is said while one of them is unknown.
    """
    drawn = tilt or 0.0
    found = evaluate(drawn)[0]
    lacking = dict.fromkeys(each.why for each in found if each.state == "unknown")
    if lacking:
        told = f"Tilt on the {host}: not known; {'; '.join(lacking)}."
        return Tilts((), None, (), (told,), known=False)
    judged = tuple(each.name for each in found)
    count = round((SEARCHED[1] - SEARCHED[0]) / _STEP)
    places = [SEARCHED[0] + _STEP * i for i in range(count + 1)]
    worst = [_worst(*evaluate(place)) for place in places]
    ranges = []
    for holds, group in itertools.groupby(range(len(places)), key=lambda i: worst[i][0] >= 0.0):
        if not holds:
            continue
        members = list(group)
        first, last = members[0], members[-1]
        low, low_limit = places[first], ""
        high, high_limit = places[last], ""
        if first > 0:
            low, low_limit = _edge(evaluate, places[first], places[first - 1])
        if last < count:
            high, high_limit = _edge(evaluate, places[last], places[last + 1])
        ranges.append(Range(low, high, low_limit, high_limit))
    limited = [each for each in ranges if each.limited]
    advised = max(limited, key=lambda each: each.high - each.low, default=None)
    said = tuple(_said(ranges, advised, _worst(*evaluate(drawn)), worst, host, tilt))
    return Tilts(tuple(ranges), advised, judged, said)


def _worst(found: Iterable[Clearance], on_host: Spare) -> Spare:
    """Return the least of what is left over what is asked for, and whose it is.

    What meets does not hold, whatever is asked.
    """
    spares = [
        (each.left - each.asked if each.distance else min(-1e-9, each.left - each.asked), each.name)
        for each in found
        if each.left is not None
    ]
    return min([on_host, *spares])


def _edge(evaluate: Evaluate, holds: float, fails: float) -> tuple[float, str]:
    """Return the last tilt that holds between one that does and one that does not, and what ends it there."""
    name = _worst(*evaluate(fails))[1]
    while abs(fails - holds) > _FINE:
        middle = (holds + fails) / 2.0
        spare, which = _worst(*evaluate(middle))
        if spare >= 0.0:
            holds = middle
        else:
            fails, name = middle, which
    return holds, name


def _said(
    ranges: Sequence[Range],
    advised: Range | None,
    drawn: Spare,
    worst: Sequence[Spare],
    host: str,
    tilt: float | None,
) -> Iterable[str]:
    searched = f"{SEARCHED[0]:g} to {SEARCHED[1]:+g}"
    if not ranges:
        name = max(worst)[1]
        yield f"Tilt on the {host}: none from {searched} degrees holds everything; the best fails at {name}."
        return
    for each in ranges:
        ends = [
            f"ended by {name}" if name else "where the search ends"
            for name in (each.low_limit, each.high_limit)
        ]
        span = f"{_inward(each.low, 1)} ({ends[0]}) to {_inward(each.high, -1)} ({ends[1]})"
        yield f"Tilt on the {host}: what turns with the mount holds from {span} degrees."
    if drawn[0] < 0.0:
        where = "Without tilt, as drawn," if tilt is None else f"At the job's tilt of {tilt:g}"
        yield f"{where} it does not all hold: {drawn[1]}."
    if advised is None or (tilt is not None and drawn[0] >= 0.0):
        return
    middle = f"the middle of {'the range' if len(ranges) == 1 else 'the widest range with two limits'}"
    start = "No tilt is given, and 0 is drawn; " if tilt is None else ""
    text = f"{start}{middle} is tilt = {advised.middle:g}."
    yield text[0].upper() + text[1:]


def _inward(value: float, way: int) -> str:
    """Return an end to a tenth of a degree, rounded into the range."""
    tenth = math.ceil(value * 10.0 - 1e-6) if way > 0 else math.floor(value * 10.0 + 1e-6)
    return f"{tenth / 10.0 + 0.0:+.1f}"
