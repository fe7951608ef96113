"""Where a mount can go: the tilts from its host tube at which every clearance holds, and what ends them.

Whatever turns with the mount about the axle is judged: the caliper's room, the keys' ways, and whether the
holes still lie over their host, on the near side of any other tube. The disc stays where it is. Degrees.
"""

import itertools
import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass

from geometry.margins import Clearance
from geometry.placement import Placement
from geometry.plane import Point
from geometry.tube import Tube, section

SEARCHED = (-45.0, 45.0)
"""Tilts that are looked at: further round, a mount no longer belongs to its host tube (own judgement)."""
_STEP = 1.0
_FINE = 0.01


@dataclass(frozen=True, slots=True)
class Range:
    """Tilts from `low` to `high` that hold; what ends them is named, empty where the search ended there."""

    low: float
    high: float
    low_limit: str
    high_limit: str

    @property
    def middle(self) -> float:
        """Return the middle, to the half degree where the range is wide enough for that."""
        middle = (self.low + self.high) / 2.0
        near = round(middle * 2.0) / 2.0
        return near if self.low <= near <= self.high else middle


@dataclass(frozen=True, slots=True)
class Tilts:
    """The ranges that hold, from the lowest tilt up, the widest of them, and sentences that say so."""

    ranges: tuple[Range, ...]
    widest: Range | None
    judged: tuple[str, ...]
    sentences: tuple[str, ...]


Spare = tuple[float, str]
"""How much is left over what is asked for, negative where it does not hold, and of what."""
Evaluate = Callable[[float], tuple[Sequence[Clearance], Spare]]
"""The clearances that turn with the mount at a tilt, and how the mount lies over its host (see on_host)."""


def on_host(placement: Placement, tubes: Mapping[str, Tube]) -> Spare:
    """Return how far the holes lie above their host's edge, mm, or the far one short of another tube, deg.

    The least of them counts, by its sign. Without the host tube there is nothing to say.
    """
    host = tubes.get(placement.host)
    if host is None:
        return math.inf, ""
    name = placement.host.replace("-", " ")
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


def _in_host(host: Tube, point: Point) -> Point:
    """Return a side-view point as lengths up the host tube and to its mount side."""
    (tx, ty), (nx, ny), (x, y) = host.t0, host.n0, point
    return x * tx + y * ty, x * nx + y * ny


def tilts(evaluate: Evaluate, host: str, tilt: float | None) -> Tilts:
    """Return the tilts at which every known clearance keeps what is asked for, ends to 0.01 degree.

    `evaluate` gives the clearances that turn with the mount at a tilt; `tilt` is the job's, None where it
    gives none. A pocket narrower than a degree may be missed.
    """
    count = round((SEARCHED[1] - SEARCHED[0]) / _STEP)
    places = [SEARCHED[0] + _STEP * i for i in range(count + 1)]
    worst = [_worst(*evaluate(place)) for place in places]
    judged = tuple(each.name for each in evaluate(tilt or 0.0)[0] if each.state != "unknown")
    if not judged:
        told = f"Tilt on the {host}: not checked, no clearance that turns with the mount is known."
        return Tilts((), None, (), (told,))
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
    widest = max(ranges, key=lambda each: each.high - each.low, default=None)
    return Tilts(tuple(ranges), widest, judged, tuple(_said(ranges, widest, worst, host, tilt)))


def _worst(found: Iterable[Clearance], on_host: Spare) -> Spare:
    """Return the least of what is left over what is asked for, and whose it is; unknowns are passed over."""
    return min([on_host, *((each.left - each.asked, each.name) for each in found if each.left is not None)])


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
    widest: Range | None,
    worst: Sequence[tuple[float, str]],
    host: str,
    tilt: float | None,
) -> Iterable[str]:
    searched = f"{SEARCHED[0]:g} to {SEARCHED[1]:+g}"
    if widest is None:
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
    if tilt is None:
        if not any(each.low <= 0.0 <= each.high for each in ranges):
            yield "Without tilt, as drawn, it does not all hold."
        yield f"No tilt is given, and 0 is drawn; the middle of the widest range is tilt = {widest.middle:g}."
    elif not any(each.low <= tilt <= each.high for each in ranges):
        middle = f"the widest range's middle is {widest.middle:g}"
        yield f"At the job's tilt of {tilt:g} it does not all hold; {middle}."


def _inward(value: float, way: int) -> str:
    """Return an end to a tenth of a degree, rounded into the range."""
    tenth = math.ceil(value * 10.0 - 1e-6) if way > 0 else math.floor(value * 10.0 + 1e-6)
    return f"{tenth / 10.0 + 0.0:+.1f}"
