"""Which shipped numbers a mount fits: every row of its family at every native size, and recalled numbers.

A mount of one native size that is called by another puts its caliper 10 mm from where it belongs, for a size
that is 20 larger or smaller. All lengths mm.
"""

import math
from collections.abc import Iterator, Mapping
from dataclasses import replace
from typing import get_args

from geometry.core.frozen import dataclass
from geometry.core.plane import triangle_foot
from geometry.core.tables import numbered
from geometry.survey.recall import Recall, recalls
from geometry.tables.adapters import disc
from geometry.tables.axles import End, axles
from geometry.tables.interface_rows import Family, Row
from geometry.tables.interfaces import Interface, resolve, rows

NEAR = 2.0
"""How far the hole that is further off may lie from a row that is near: own judgement, a fifth of what native
sizes lie apart. A row of derived numbers is near over all of its derived band."""
CLEARLY = 1.0
"""By how much a row must fit better than another to fit clearly better: own judgement; adapters of different
makers put one mount's caliper that far apart (grade C, interfaces.toml)."""
_ALIKE = 0.01
"""What lies apart by less lies at one place."""
_ON_SALE = 1.0
"""How far a size along a path may be from one on sale to count as that."""


@dataclass(frozen=True, slots=True)
class Place:
    """Where a mount's holes lie in the side view, and half the 95 % band of each number by its key, mm.

    Keys are h, x_near, x_far, near, far, spacing, lateral; a number without a band is taken as exact. The
    `lateral` counts from the datum face of the end that the mount is called by; None where it was not read.
    """

    h: float
    x_near: float
    x_far: float
    bands: Mapping[str, float]
    lateral: float | None = None

    @property
    def band(self) -> float:
        """Return how far a hole may lie from its place: the larger of both, up and along together."""
        up, along = self.bands.get("h", 0.0), max(self.bands.get(key, 0.0) for key in ("x_near", "x_far"))
        return math.hypot(up, along)


@dataclass(frozen=True, slots=True)
class Fit:
    """How far a mount lies from a row at one end and native size: `off` is the hole's that is further off.

    `within` says that it lies in the band to which the row's numbers were derived.
    """

    row: str
    end: End
    native: float
    off: float
    within: bool
    provisional: bool

    def near(self, band: float) -> bool:
        """Tell whether the row is near, for a mount whose holes are known to within this band, mm."""
        return self.within or self.off <= NEAR + band


@dataclass(frozen=True, slots=True)
class Across:
    """How a mount lies sideways whose row is alike at both ends in the side view, mm.

    `named` and `other` are how far it lies from the place that the row has at the end it is called by and at
    the other one, None where it was not read sideways. `room` is how far a mount may lie off and still be
    that end's.
    """

    named: float | None = None
    other: float | None = None
    room: float = 0.0

    @property
    def other_end(self) -> bool:
        """Tell whether the other end fits clearly better."""
        return None not in (self.named, self.other) and (self.named or 0.0) - (self.other or 0.0) > self.room

    @property
    def untold(self) -> bool:
        """Tell whether nothing that was read tells the ends apart."""
        return not self.other_end and (self.named is None or self.named > self.room)


@dataclass(frozen=True, slots=True)
class Fitting:
    """What a mount fits: every row and size, the best first.

    `named` is the fit of the end and size that it is called by, None where no row is made for that. `recall`
    are numbers, since corrected, that it fits better than today's, and `surely` says that it cannot fit both.
    `stranger` is a row of another family that is near where none of its own is. `across` is how the mount
    lies sideways, where its row is one for both ends. `alike` are native sizes that lie where the named one
    does, so that no reading tells them apart.
    """

    fits: tuple[Fit, ...]
    named: Fit | None
    band: float
    recall: Recall | None = None
    surely: bool = False
    stranger: Fit | None = None
    across: "Across | None" = None
    alike: tuple[float, ...] = ()

    @property
    def best(self) -> Fit:
        """Return the row and size that fits best."""
        return self.fits[0]

    @property
    def other(self) -> Fit | None:
        """Return the row and size that fits clearly better than the one named, None where none does."""
        if not self.best.near(self.band) or self.best == self.named:
            return None
        if self.named is None or self.named.off - self.best.off > CLEARLY + self.band:
            return self.best
        return None

    @property
    def stray(self) -> bool:
        """Tell whether no row is near."""
        return not any(each.near(self.band) for each in self.fits)

    @property
    def doubtful(self) -> bool:
        """Tell whether the mount may be called by a wrong size, or be a wrong one."""
        across = self.across is not None and self.across.other_end
        return self.other is not None or self.stray or self.surely or across


def fitting(family: Family, end: End, native: float, place: Place) -> Fitting:
    """Return what a mount fits that is called by this family, end and native size."""
    found = list(_fits(family, end, native, place))
    called = [each for each in found if (each.end, each.native) == (end, native)]
    named = min(called, key=lambda each: each.off, default=None)
    # Of sizes at one place the named one comes first: a plate turned end for end serves two.
    best = min(each.off for each in found)
    found.sort(key=lambda each: (max(each.off - best, _ALIKE), each != named, each.off))
    fit, surely = _recalled(family, end, place)
    made = Fitting(tuple(found), named, place.band, fit, surely)
    if named is not None and made.other is None and not made.stray:
        row = {each.native for each in found if (each.row, each.end) == (named.row, end)} - {named.native}
        alike = tuple(size for size in sorted(row) if _one_place(named, size))
        made = replace(made, across=_across(rows()[named.row], end, place), alike=alike)
    if not made.stray:
        return made
    others = [each for kind in get_args(Family) if kind != family for each in _fits(kind, end, native, place)]
    near = (each for each in others if each.near(place.band))
    return replace(made, stranger=min(near, key=lambda each: each.off, default=None))


def _fits(family: Family, end: End, native: float, place: Place) -> Iterator[Fit]:
    """Yield how far the mount lies from each row: at its end, or where a row has not that at its own."""
    for name, row in rows().items():
        if row.family != family:
            continue
        for there in (end,) if end in row.ends else row.ends:
            sizes = row.sizes
            if row.path is not None:
                inside = (native,) if row.path.from_ <= native <= row.path.to else ()
                sizes = tuple(dict.fromkeys((*inside, _along(row, there, place))))
            yield from (_fit(resolve(name, there, size, size), place) for size in sizes)


def _across(row: Row, end: End, place: Place) -> Across | None:
    """Return how a mount lies sideways, of a row for both ends; None for any other row."""
    if len(row.ends) < 2:
        return None
    if place.lateral is None:
        return Across()
    here, there = (row.lateral[each].number for each in (end, "front" if end == "rear" else "rear"))
    # Datum is the dropout's inner face at the rear and the pocket's floor at the front. Read from the other
    # end's datum a mount lies by its pocket's depth elsewhere, and nobody says how deep that is.
    deep = max(each.pocket.value for each in axles().values() if each.pocket and each.end != end)
    low, high = (there.value, there.value + deep) if end == "rear" else (there.value - deep, there.value)
    off = max(low - place.lateral, place.lateral - high, 0.0)
    band = place.bands.get("lateral", 0.0)
    return Across(abs(place.lateral - here.value), off, max(CLEARLY, here.tolerance or 0.0) + band)


def _one_place(fit: Fit, size: float) -> bool:
    """Tell whether a row has another size's holes just where it has those of a fit."""
    one, other = (resolve(fit.row, fit.end, each, each) for each in (fit.native, size))
    return math.hypot(one.h - other.h, one.x_near - other.x_near) < _ALIKE


def _along(row: Row, end: End, place: Place) -> float:
    """Return the native size along a row's path that fits best; one that is on sale where that is as near."""
    low, high = row.sizes
    first, last = (resolve(row.name, end, size, size) for size in (low, high))
    up, along = last.h - first.h, last.x_near - first.x_near
    middle = (place.x_near - first.x_near + place.x_far - first.x_far) / 2.0
    share = ((place.h - first.h) * up + middle * along) / (up**2 + along**2)
    size = low + (high - low) * min(max(share, 0.0), 1.0)
    sold = min((each for each in disc().sizes if low <= each <= high), key=lambda each: abs(each - size))
    return sold if abs(sold - size) <= _ON_SALE else round(size, 1)


def _fit(form: Interface, place: Place) -> Fit:
    up = place.h - form.h
    aside = place.x_near - form.x_near, place.x_far - form.x_far
    return Fit(
        form.name,
        form.end,
        form.native,
        max(math.hypot(up, each) for each in aside),
        _within(form, place, aside[1] - aside[0]),
        form.provisional,
    )


def _within(form: Interface, place: Place, wider: float) -> bool:
    """Tell whether a mount lies in the band to which a row's numbers were derived, its holes as far apart."""
    at = rows()[form.name].at.get(f"{form.native:g}")
    if at is None:
        return False
    for key, value, derived in (("h", place.h, at.h), ("x_near", place.x_near, at.x_near)):
        band, low, high = place.bands.get(key, 0.0), derived.low, derived.high
        if low is None or high is None or not low - band <= value <= high + band:
            return False
    return abs(wider) <= NEAR


def _recalled(family: Family, end: End, place: Place) -> tuple[Recall | None, bool]:
    """Return the recalled numbers that a mount fits better than today's, and whether it surely has not those.

    It fits where each of three lengths is as recalled, within the row's tolerance and its own band.
    """
    lengths = {
        "near": math.hypot(place.h, place.x_near),
        "far": math.hypot(place.h, place.x_far),
        "spacing": place.x_far - place.x_near,
    }
    for each in recalls():
        row = rows()[each.row]
        if row.family != family or each.end != end:
            continue
        now = dict(numbered(row.radii))
        room = {key: (now[key].tolerance or 0.0) + place.bands.get(key, 0.0) for key in lengths}
        was = dict(zip(lengths, each.radii, strict=True))
        if any(abs(length - was[key]) > room[key] for key, length in lengths.items()):
            continue
        today = resolve(each.row, end, None, 0.0)
        x_near, h = triangle_foot(*each.radii, each.row)
        then = replace(today, h=h, x_near=x_near, x_far=x_near + each.radii[2])
        surely = any(abs(length - now[key].value) > room[key] for key, length in lengths.items())
        if surely or _fit(then, place).off < _fit(today, place).off:
            return each, surely
    return None, False
