"""Which reading settles a row's open numbers fastest: the one that takes most of what is not known.

What a row leaves open is a spread about its numbers: half of a derived band, a tolerance, or where neither
was found how far mounts of one kind may differ. Each reading is tried, the best is taken, and the next is
tried with what that one told. Axle and pins are taken as measured. All lengths mm.
"""

import math

import numpy as np

from geometry.core.frozen import dataclass
from geometry.core.tables import Number
from geometry.survey.learn import USUAL, expected
from geometry.survey.learn_readings import Kind, P, kinds, model, reachable
from geometry.survey.limits import numbers
from geometry.survey.trilateration import Floats
from geometry.tables.axles import End
from geometry.tables.interface_rows import Row
from geometry.tables.interfaces import resolve

_OVER = {P.AXLE: 12.0, P.PIN: 5.0}
"""Dummy axle and pins that are taken, mm: those of a workshop."""
_PLACED = (P.H, P.X_NEAR, P.X_FAR, P.LATERAL)
_WORTH = 0.75
"""A further reading is worth its while that leaves less than this share of what is open: own judgement."""


@dataclass(frozen=True, slots=True)
class Step:
    """A reading, and the 95 % band within which every number of the mount is known after it, mm."""

    kind: Kind
    band: float


@dataclass(frozen=True, slots=True)
class Plan:
    """How to settle a row at one end and size: the `band` before, and the readings in their order."""

    row: str
    end: End
    native: float
    band: float
    steps: tuple[Step, ...]


def plan(row: Row, end: End, native: float) -> Plan:
    """Return which readings settle a row fastest at one end and native size."""
    form = resolve(row.name, end, native, native)
    at = expected(form)
    for parameter, value in _OVER.items():
        at[parameter] = value
    spread = _spread(row, end, native)
    first = _band(spread)
    steps: list[Step] = []
    left = [kind for kind in kinds(row.family, end) if _taken(kind) and reachable(kind, at)]
    while left:
        after = [(_told(spread, kind, at), kind) for kind in left]
        best, kind = min(after, key=lambda each: float(np.sqrt(np.trace(each[0][np.ix_(_PLACED, _PLACED)]))))
        open_, now = (float(np.sqrt(np.trace(each[np.ix_(_PLACED, _PLACED)]))) for each in (spread, best))
        if now > _WORTH * open_:
            break
        spread = best
        steps.append(Step(kind, _band(spread)))
        left.remove(kind)
    return Plan(row.name, end, native, first, tuple(steps))


def _taken(kind: Kind) -> bool:
    """Tell whether a caliper shows a reading by itself; diameters and widths are asked for anyhow."""
    return kind.key.endswith(("-over", "-between")) or kind.key in ("side", "side-outer", "side-inner")


def _told(spread: Floats, kind: Kind, at: Floats) -> Floats:
    """Return what is open after a reading: the covariance once it is taken."""
    slope = model([kind])(at)[1][0]
    gain = spread @ slope / (slope @ spread @ slope + USUAL.deviation(kind) ** 2)
    return np.asarray(spread - np.outer(gain, slope @ spread), dtype=np.float64)


def _band(spread: Floats) -> float:
    return 2.0 * math.sqrt(max(spread[each, each] for each in _PLACED))


def _spread(row: Row, end: End, native: float) -> Floats:
    """Return the covariance (8, 8) of what a row leaves open, mm^2."""
    found = np.zeros((len(P), len(P)))
    if row.radii is not None:
        # Radii and spacing in h and both places, by the slopes of their triangle.
        form = resolve(row.name, end, native, native)
        near, far = form.radii
        slopes = np.array(
            [
                [form.h / near, form.x_near / near, 0.0],
                [form.h / far, 0.0, form.x_far / far],
                [0.0, -1.0, 1.0],
            ]
        )
        back = np.linalg.inv(slopes)
        own = np.diag([_open(each) ** 2 for each in (row.radii.near, row.radii.far, row.radii.spacing)])
        found[:3, :3] = back @ own @ back.T
    else:
        place = row.path if row.path is not None else row.at[f"{native:g}"]
        # What was derived for one size is open at every other at least as far.
        alike = [place, *row.at.values()]
        h, near = (max(_open(getattr(each, key)) for each in alike) ** 2 for key in ("h", "x_near"))
        wide = _open(row.spacing) ** 2 if row.spacing is not None else 0.0
        found[P.H, P.H], found[P.X_NEAR, P.X_NEAR] = h, near
        found[P.X_FAR, P.X_FAR] = near + wide
        found[P.X_NEAR, P.X_FAR] = found[P.X_FAR, P.X_NEAR] = near
    found[P.LATERAL, P.LATERAL] = _open(row.lateral[end].number) ** 2
    for parameter in (P.AXLE, P.PIN):
        found[parameter, parameter] = numbers()["reading.caliper"].value ** 2
    for parameter in (P.WIDTH, P.POCKET):
        found[parameter, parameter] = (numbers()["pool.kind"].value / 2.0) ** 2
    return found


def _open(number: Number) -> float:
    """Return a number's spread, one standard deviation: half of what is not known of it either way."""
    most = numbers()["pool.kind"].value
    # A number that texts agree on has its tolerance; one that they do not, the band that holds them all.
    either = [number.tolerance] if number.tolerance is not None else []
    if number.low is not None and number.high is not None:
        either.append(max(number.high - number.value, number.value - number.low))
    return max(either, default=most) / 2.0
