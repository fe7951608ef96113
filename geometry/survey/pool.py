"""One number from several measured mounts: random effects of makers, and of each maker's mounts.

Mounts of one kind differ by more than their readings explain, because makers do, and what three mounts of one
maker tell is that maker's habit. So the maker is the level that spreads. Two stages (a cluster's mean first,
then one number from the clusters, as for trials in several centres; remembered and not read): how far mounts
of one maker differ is estimated within makers, each maker's mounts become one mean, and the means are pooled.

Both spreads solve the moments' equation that sets the weighted sum of squares to its expectation (Journal of
Research of the National Bureau of Standards 87, 1982, "Consensus values and weighting factors"), and each
maker is weighted by one over its mean's own variance and the spread of makers together. The band is Student's
with one freedom less than makers that tell (the square of the weights' sum over the sum of their squares:
three of one weight are three, and of two sharp ones and a blurred one hardly more than two), from the
weighted residuals (Statistics in Medicine 20, 2001, "On tests of the overall treatment effect in
meta-analysis with normally distributed responses", and 21, 2002, "A simple confidence interval for
meta-analysis"), never less than the readings alone allow. All remembered and not read; the count of makers
that tell is common in sampling (remembered), and that it serves here was simulated.

One or two makers tell no spread, nor do three whose bands are so unlike that one or two decide: there stated
priors stand in (`pool.between`, `pool.sideways` and `pool.within` in survey.toml, argued there), or what the
mounts show where that is more. Where mounts were read with one caliper, its own error is in all of them and
does not get better. All lengths mm.
"""

import math
from collections.abc import Hashable, Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from geometry.core.frozen import dataclass
from geometry.survey.limits import numbers
from geometry.survey.pull import student
from geometry.survey.trilateration import TWO_SIDED_95, Floats
from geometry.tables.interfaces import AGREEING

SIDEWAYS = "lateral"
"""The key of the number in which makers differ most: hubs, adapters and slots take up what it is off."""
_FREEDOMS = 200
"""Freedoms beyond which Student's factor no longer changes."""
_STEPS = 200
"""Halvings of the search for the spread: more than a double can tell apart."""


@dataclass(frozen=True, slots=True)
class Pooled:
    """A pooled number: `value` with `band`, 95 % either way, from `count` mounts of so many `makers`.

    `between` is one standard deviation between makers and `within` between mounts of one, `assumed` where
    the priors bound them: the band then holds only if makers spread no further than these. `makers` and
    `mounts` are how many the number rests on: fewer than were read where some are too blurred to tell.
    `weights` are the mounts' shares, `predicted` half the band about `value` in which a mount of another
    maker lies in 95 of 100.
    """

    value: float
    band: float
    count: int
    between: float
    within: float
    assumed: bool
    makers: int
    mounts: int
    weights: tuple[float, ...]
    predicted: float


@dataclass(frozen=True, slots=True)
class Stack:
    """Stacks of mounts pooled: the same as Pooled, an array for each, spreads as variances, mm^2."""

    mean: Floats
    band: Floats
    between: Floats
    within: Floats
    few: NDArray[np.bool_]
    telling: tuple[Floats, Floats]
    weights: Floats
    predicted: Floats


def spread(values: Floats, variances: Floats, groups: Floats) -> Floats:
    """Return the variance, mm^2, by which stacks of values (..., n) differ within `groups` (n, k) of ones.

    It comes besides the values' own variances, and is where the sum of weighted squares about the groups'
    weighted means is n - k, and 0 where it is less with none.
    """
    freedom = groups.shape[0] - groups.shape[1]
    low = np.zeros(values.shape[:-1])
    # At the sample's own scatter times n no weighted sum of squares is left above that.
    high = np.sum((values - values.mean(axis=-1, keepdims=True)) ** 2, axis=-1) + 1e-12
    for _ in range(_STEPS):
        middle = (low + high) / 2.0
        more = _squares(values, variances, groups, middle) > freedom
        low, high = np.where(more, middle, low), np.where(more, high, middle)
        if np.all(high - low <= 1e-13):
            break
    none = _squares(values, variances, groups, np.zeros_like(low)) <= freedom
    return np.where(none, 0.0, (low + high) / 2.0)


def _squares(values: Floats, variances: Floats, groups: Floats, more: Floats) -> Floats:
    weight = 1.0 / (variances + more[..., None])
    mean = ((weight * values) @ groups) / (weight @ groups)
    return np.asarray(np.sum(weight * (values - mean @ groups.T) ** 2, axis=-1))


def _judged() -> dict[str, float]:
    """Return the numbers of survey.toml by which mounts are pooled, mm where they are lengths."""
    return {
        key.removeprefix("pool."): each.value for key, each in numbers().items() if key.startswith("pool.")
    }


def prior(key: str) -> float:
    """Return how far makers are taken to differ in a number that they do not tell, one deviation, mm."""
    return _judged()["sideways" if key == SIDEWAYS else "between"]


def pooled_stack(
    values: Floats,
    variances: Floats,
    makers: Sequence[Hashable] | None = None,
    shared: float = 0.0,
    key: str = "",
) -> Stack:
    """Return what stacks of mounts (..., n) with their own variances come to; mm, mm^2.

    `makers` names each mount's maker, and mounts of one that nobody names are those of one maker; None takes
    every mount for another's. `shared` is what all readings have in common, one standard deviation. `key` is
    the number's, which says how far makers may differ in it.
    """
    named = range(values.shape[-1]) if makers is None else makers
    groups = np.array([[one == each for each in dict.fromkeys(named)] for one in named], dtype=np.float64)
    mounts, count = groups.shape
    of = _judged()
    apart, alike = prior(key) ** 2, of["within"] ** 2

    def of_makers(within: Floats) -> tuple[Floats, Floats]:
        weight = 1.0 / (variances + within[..., None])
        total = weight @ groups
        return ((weight * values) @ groups) / total, 1.0 / total

    none = np.zeros(values.shape[:-1])
    within = spread(values, variances, groups) if mounts > count else none
    telling = _telling(of_makers(none + alike)[1] + apart)
    few = telling < of["telling"]
    within = np.where(few, np.maximum(within, alike), within)
    means, own = of_makers(within)
    between = spread(means, own, np.ones((count, 1))) if count > 1 else none
    between = np.where(few, np.maximum(between, apart), between)
    weight = 1.0 / (own + between[..., None])
    total = np.sum(weight, axis=-1)
    mean = np.sum(weight * means, axis=-1) / total
    square, factor = TWO_SIDED_95**2 / total, none + TWO_SIDED_95
    if count >= AGREEING:
        residual = np.sum(weight * (means - mean[..., None]) ** 2, axis=-1) / (count - 1)
        alone = 1.0 / np.sum(1.0 / variances, axis=-1)
        factor = _factor(own + np.maximum(between, of["chance"] ** 2 * apart)[..., None])
        measured = factor**2 * np.maximum(residual / total, alone)
        square = np.where(few, np.maximum(measured, square), measured)
    band = np.sqrt(square + (TWO_SIDED_95 * shared) ** 2)
    shares = (weight * own / total[..., None]) @ groups.T / (variances + within[..., None])
    each = telling, _telling(variances + apart)
    next_one = np.hypot(band, factor * np.sqrt(between + within))
    return Stack(mean, band, between, within, few, each, shares, next_one)


def _telling(variances: Floats) -> Floats:
    """Return of how many alike ones these are worth, stacks of variances (..., n), mm^2."""
    weight = 1.0 / variances
    return np.asarray(np.sum(weight, axis=-1) ** 2 / np.sum(weight**2, axis=-1))


def _factor(variances: Floats) -> Floats:
    """Return Student's factor for makers of these variances (..., n), mm^2; at most a little much."""
    freedoms = np.maximum(_telling(variances) - 1.0, 1.0)
    low = np.minimum(np.floor(freedoms + 1e-9), _FREEDOMS)
    share = (1.0 / low - 1.0 / np.maximum(freedoms, low)) / (1.0 / low - 1.0 / (low + 1.0))
    known = {int(each): math.log(student(int(each))) for each in {*low.flat, *(low + 1.0).flat}}
    first, second = (np.vectorize(lambda each: known[int(each)])(some) for some in (low, low + 1.0))
    return np.asarray(np.exp(first + np.clip(share, 0.0, 1.0) * (second - first)))


def pooled(
    values: Sequence[float],
    bands: Sequence[float],
    makers: Sequence[Hashable] | None = None,
    shared: float = 0.0,
    key: str = "",
) -> Pooled:
    """Return one number from mounts' values and their 95 % half bands; the others as in `pooled_stack`."""
    # A band is two standard deviations (learn.py); a number that was exact would take all the weight.
    own = (np.maximum(np.array(bands, dtype=np.float64), 1e-3) / 2.0) ** 2
    found = pooled_stack(np.array(values, dtype=np.float64), own, makers, shared, key)
    count, of = len(values), len(values) if makers is None else len(set(makers))
    rests = [
        each if telling >= _judged()["telling"] else max(1, min(each, round(float(telling)), AGREEING - 1))
        for each, telling in zip((of, count), found.telling, strict=True)
    ]
    return Pooled(
        value=float(found.mean),
        band=float(found.band),
        count=count,
        between=math.sqrt(float(found.between)),
        within=math.sqrt(float(found.within)),
        assumed=bool(found.few),
        makers=rests[0],
        mounts=rests[1],
        weights=tuple(float(each) for each in found.weights),
        predicted=float(found.predicted),
    )


def odd_ones(values: Sequence[float], bands: Sequence[float], key: str = "") -> tuple[tuple[int, float], ...]:
    """Return which mounts stand apart from the others, by index, and how far from those together, mm.

    Two that lie apart on one side widen the spread by which each would be judged, and so hide each other.
    The search is therefore a forward one (Journal of the Royal Statistical Society B 54, 1992, "Identifying
    multiple outliers in multivariate data", and of the American Statistical Association 89, 1994, "Fast very
    robust methods for the detection of multiple outliers"; remembered and not read): it begins with the
    majority that lies closest together, takes in whichever mount is next, and ends where that lies further
    off than both bands and the spread explain. The spread is what those within show and the prior together,
    the prior worth as many mounts as `pool.screen` says. Of two nobody can tell which: both stand apart.
    """
    assumed, worth, critical = prior(key), _judged()["screen"], numbers()["test.critical"].value
    count = len(values)
    if count < AGREEING:
        apart = values[-1] - values[0] if values else 0.0
        deviation = math.sqrt(sum((band / 2.0) ** 2 + assumed**2 for band in bands))
        return ((0, -apart), (1, apart)) if abs(apart) > critical * deviation else ()
    order = sorted(range(count), key=lambda each: values[each])
    at = np.array([values[each] for each in order])
    own = (np.array([bands[each] for each in order]) / 2.0) ** 2
    half = count // 2 + 1
    low = int(np.argmin(at[half - 1 :] - at[: count - half + 1]))
    high = low + half
    while high - low < count:
        size = high - low
        shown = max(float(np.var(at[low:high], ddof=1) - np.mean(own[low:high])), 0.0)
        freedom = size - 1
        between = (worth * assumed**2 + freedom * shown) / (worth + freedom)
        weight = 1.0 / (own[low:high] + between)
        middle = float(np.sum(weight * at[low:high]) / np.sum(weight))
        off = at - middle
        far = np.abs(off) / np.sqrt(own + between + 1.0 / np.sum(weight))
        nearest = min((each for each in (low - 1, high) if 0 <= each < count), key=lambda each: far[each])
        if far[nearest] > critical:
            out = (each for each in range(count) if not low <= each < high)
            return tuple(sorted((order[each], float(off[each])) for each in out))
        low, high = min(low, nearest), max(high, nearest + 1)
    return ()


def furthest(values: Mapping[str, Sequence[float]]) -> float:
    """Return how far the two that lie furthest apart do, mm, over all numbers."""
    return max((max(each) - min(each) for each in values.values() if each), default=0.0)
