"""Weighted least squares over redundant readings: position, covariance, and which reading contradicts.

Readings y with standard deviations d are explained by parameters p through y = f(p) + error. The estimate
makes the sum of ((y - f(p)) / d)^2 least; its covariance is the inverse of the normal
matrix J' W J, with J the derivatives of f and W = 1 / d^2. What the readings leave open stays where it
began. Everything takes stacks of readings, shape (..., n), so that many surveys are worked out at once.
"""

import math
from collections.abc import Callable, Collection

import numpy as np
from numpy.typing import NDArray

from geometry.core.errors import GeometryError
from geometry.core.frozen import dataclass
from geometry.core.say import say

Floats = NDArray[np.float64]
Model = Callable[[Floats], tuple[Floats, Floats]]
"""From parameters (..., p) to what readings show (..., n) and its derivatives (..., n, p)."""

JOINT_95 = -2.0 * math.log(0.05)
"""Chi-square of two degrees of freedom at 95 %: 1 - exp(-x/2) = 0.95, exact."""
TWO_SIDED_95 = 1.959964
"""Standard normal quantile at 97.5 %: 95 % lie between plus and minus this."""
_STEPS = 30
_STILL = 1e-9
_OPEN = 1e-10
_CONTROLLED = 1e-6
_ALIKE = 0.99
"""Residuals correlated by more than this cannot be told apart: own judgement."""


@dataclass(frozen=True, slots=True)
class Adjusted:
    """Readings adjusted: `estimate` (..., p) and its `covariance` (..., p, p), mm and mm^2.

    `residuals` (..., n) are shown less adjusted, `redundancy` how much of each reading the others control (0
    to 1), `normalised` the residuals over their own standard deviation (0 where nothing controls them),
    `alike` (..., n, n) how far two residuals are correlated. `settled` (..., p, p) keeps of a direction in
    the parameters what the readings settle. `converged` (...) says where the steps came to rest.
    """

    estimate: Floats
    covariance: Floats
    residuals: Floats
    redundancy: Floats
    normalised: Floats
    alike: Floats
    settled: Floats
    converged: NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Doubt:
    """Readings that contradict the others, by their places; one alone is the one that is off by `by` mm.

    Several cannot be told apart: one of them is off. `normalised` is the largest normalised residual.
    """

    places: tuple[int, ...]
    normalised: float
    by: float


@dataclass(frozen=True, slots=True)
class Ellipse:
    """Where a point lies at 95 %, both coordinates jointly: half axes in mm, the longer's angle in deg."""

    long: float
    short: float
    angle: float


def adjust(model: Model, start: Floats, observed: Floats, deviations: Floats) -> Adjusted:
    """Return the parameters that explain readings best, beginning at `start` (p,); see the module.

    `observed` is (..., n) and `deviations` (n,), mm. Steps that do not come to rest are marked, not raised.
    """
    weight = 1.0 / deviations**2
    at = np.broadcast_to(start, (*observed.shape[:-1], start.size)).astype(np.float64)
    moved = np.full(observed.shape[:-1], np.inf)
    for _ in range(_STEPS):
        shown, slopes = model(at)
        normal = np.einsum("...ni,n,...nj->...ij", slopes, weight, slopes)
        side = np.einsum("...ni,n,...n->...i", slopes, weight, observed - shown)
        step = np.einsum("...ij,...j->...i", _inverse(normal), side)
        at = at + step
        moved = np.max(np.abs(step), axis=-1, initial=0.0)
        if not np.any(moved > _STILL):
            break
    shown, slopes = model(at)
    normal = np.einsum("...ni,n,...nj->...ij", slopes, weight, slopes)
    covariance = _inverse(normal)
    taken = np.einsum("...ni,...ij,...mj->...nm", slopes, covariance, slopes)
    spread = np.eye(deviations.size) * deviations**2 - taken
    own = np.diagonal(spread, axis1=-2, axis2=-1)
    redundancy = np.where(own / deviations**2 > _CONTROLLED, own / deviations**2, 0.0)
    scale = np.sqrt(np.where(redundancy > 0.0, own, np.inf))
    residuals = observed - shown
    return Adjusted(
        estimate=at,
        covariance=covariance,
        residuals=residuals,
        redundancy=redundancy,
        normalised=residuals / scale,
        alike=spread / (scale[..., :, None] * scale[..., None, :]),
        settled=covariance @ normal,
        converged=moved <= 1e3 * _STILL,
    )


def _inverse(normal: Floats) -> Floats:
    """Return the pseudo-inverse: directions that no reading settles have no part in it."""
    return np.asarray(np.linalg.pinv(normal, rcond=_OPEN, hermitian=True), dtype=np.float64)


def is_settled(found: Adjusted, gradient: Floats) -> bool:
    """Tell whether the readings settle a quantity with this gradient in the parameters (one survey)."""
    size = float(np.linalg.norm(gradient))
    return size == 0.0 or float(np.linalg.norm(gradient @ found.settled - gradient)) < 1e-6 * size


def deviation(covariance: Floats, gradient: Floats) -> float:
    """Return the standard deviation of a quantity with this gradient in the parameters."""
    return math.sqrt(max(0.0, float(gradient @ covariance @ gradient)))


def trimmed(found: Adjusted, readings: int, parameters: int) -> Adjusted:
    """Return the part of an adjustment that is of the first readings and the first parameters.

    What comes after them is settled by rows of its own, so that it leaves nothing open in the part.
    """
    return Adjusted(
        estimate=found.estimate[..., :parameters],
        covariance=found.covariance[..., :parameters, :parameters],
        residuals=found.residuals[..., :readings],
        redundancy=found.redundancy[..., :readings],
        normalised=found.normalised[..., :readings],
        alike=found.alike[..., :readings, :readings],
        settled=found.settled[..., :parameters, :parameters],
        converged=found.converged,
    )


def ellipse(covariance: Floats) -> Ellipse:
    """Return the joint 95 % ellipse of a point's covariance (2, 2)."""
    values, vectors = np.linalg.eigh(covariance)
    short, long = (math.sqrt(max(0.0, float(each)) * JOINT_95) for each in values)
    angle = math.degrees(math.atan2(vectors[1, 1], vectors[0, 1])) % 180.0
    return Ellipse(long, short, angle)


def doubts(
    model: Model,
    start: Floats,
    observed: Floats,
    deviations: Floats,
    critical: float,
    sure: Collection[int] = (),
) -> tuple[tuple[Doubt, ...], tuple[int, ...]]:
    """Return what contradicts, and the places of the readings that are left to go by.

    The reading with the largest normalised residual beyond `critical` is named and left out, and the others
    are adjusted anew (data snooping: Netherlands Geodetic Commission, Publications on Geodesy 2 no. 5, 1968,
    remembered); where its residual cannot be told apart from others' the whole group is named, and stays in.
    Places in `sure` are never named: no reading, they hold a term that readings share.
    """
    kept = list(range(observed.size))
    found: list[Doubt] = []
    settled: set[int] = set(sure)
    while kept:
        places = np.array(kept)
        fitted = adjust(_only(model, places), start, observed[places], deviations[places])
        sizes = np.abs(fitted.normalised)
        sizes[[i for i, place in enumerate(kept) if place in settled]] = 0.0
        worst = int(np.argmax(sizes))
        if sizes[worst] <= critical:
            break
        group = [
            i
            for i in range(places.size)
            if i == worst or (abs(fitted.alike[worst, i]) > _ALIKE and kept[i] not in sure)
        ]
        off = float(fitted.residuals[worst] / fitted.redundancy[worst])
        found.append(Doubt(tuple(kept[i] for i in group), float(sizes[worst]), off))
        if len(group) == 1:
            del kept[worst]
        else:
            settled |= {kept[i] for i in group}
    return tuple(found), tuple(kept)


def _only(model: Model, places: NDArray[np.intp]) -> Model:
    """Return a model of some of the readings."""

    def part(at: Floats) -> tuple[Floats, Floats]:
        shown, slopes = model(at)
        return shown[..., places], slopes[..., places, :]

    return part


def solved(
    model: Model, start: Floats, observed: Floats, deviations: Floats, places: tuple[int, ...]
) -> Adjusted:
    """Return one survey adjusted by the readings at `places`.

    Raise GeometryError where no mount explains them, such as three lengths that close no triangle.
    """
    chosen = np.array(places, dtype=np.intp)
    found = adjust(_only(model, chosen), start, observed[chosen], deviations[chosen])
    if not bool(found.converged) or not np.all(np.isfinite(found.estimate)):
        raise GeometryError.at("readings", say("survey.no_mount"))
    return found
