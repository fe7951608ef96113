"""One number from several measured mounts: random effects, a spread between them besides their own bands.

Mounts of one kind differ by more than their readings explain, because makers do. The spread between them is
estimated from the readings by the moments' equation that sets the weighted sum of squares to its expectation
(Journal of Research of the National Bureau of Standards 87, 1982, "Consensus values and weighting factors";
its first step is that of Controlled Clinical Trials 7, 1986, "Meta-analysis in clinical trials"), and each
mount is weighted by one over its own variance and that spread together. The band is Student's with one
freedom less than mounts that tell (the square of the weights' sum over the sum of their squares: three of
one weight are three, and of two sharp ones and a blurred one hardly more than two), from the weighted
residuals (Statistics in Medicine 20, 2001, "On tests of the overall treatment effect in meta-analysis with
normally distributed responses", and 21, 2002, "A simple confidence interval for meta-analysis"), never less
than the readings alone allow. All four remembered and not read; the count of mounts that tell is common in
sampling (remembered), and that it serves here was simulated.

One or two mounts tell no spread, nor do three whose bands are so unlike that one or two decide: there a
stated prior stands in (`pool.between` in survey.toml, own judgement), or what the mounts show where that is
more. Where mounts were read with one caliper, its own error is in all of them and does not get better.
All lengths mm.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from geometry.survey.limits import numbers
from geometry.survey.pull import student
from geometry.survey.trilateration import TWO_SIDED_95, Floats
from geometry.tables.interfaces import AGREEING

_TELLING = AGREEING - 0.2
"""Mounts that must tell before their spread is believed: own judgement, simulated. Three with bands as hands
and calipers make them come to more; with one read on an adapter to less."""
_LEAST = 0.2
"""Share of the prior below which no spread is taken where mounts that tell are counted: own judgement,
simulated. By chance mounts may show none, and the sharpest would then seem to tell alone."""
_FREEDOMS = 200
"""Freedoms beyond which Student's factor no longer changes."""
_STEPS = 200
"""Halvings of the search for the spread: more than a double can tell apart."""


@dataclass(frozen=True, slots=True)
class Pooled:
    """A pooled number: `value` with `band`, 95 % either way, from `count` mounts; `between` is their spread.

    `between` is one standard deviation between mounts, `assumed` where the prior bounds it. `telling` is of
    how many alike mounts they are worth. `weights` are the mounts' shares. `predicted` is half the band about
    `value` in which the next mount lies in 95 of 100.
    """

    value: float
    band: float
    count: int
    between: float
    assumed: bool
    telling: float
    weights: tuple[float, ...]
    predicted: float

    @property
    def mounts(self) -> int:
        """Return how many mounts the number rests on: fewer than AGREEING where too few tell their spread."""
        return min(self.count, max(1, min(round(self.telling), AGREEING - 1))) if self.assumed else self.count


def spread_between(values: Floats, variances: Floats) -> Floats:
    """Return the variance between mounts, mm^2, of stacks of values (..., n) with their own variances.

    It is where the sum of weighted squares about the weighted mean is n - 1, and 0 where it is less with
    none.
    """
    count = values.shape[-1]
    low = np.zeros(values.shape[:-1])
    # At the sample's own scatter times n no weighted sum of squares is left above n - 1.
    high = np.sum((values - values.mean(axis=-1, keepdims=True)) ** 2, axis=-1) + 1e-12
    for _ in range(_STEPS):
        middle = (low + high) / 2.0
        more = _squares(values, variances, middle) > count - 1
        low, high = np.where(more, middle, low), np.where(more, high, middle)
        if np.all(high - low <= 1e-13):
            break
    return np.where(_squares(values, variances, np.zeros_like(low)) <= count - 1, 0.0, (low + high) / 2.0)


def first_step(values: Floats, variances: Floats) -> float:
    """Return the variance between mounts, mm^2, by the first step alone: no spread in the weights."""
    weight = 1.0 / variances
    mean = float(np.sum(weight * values) / np.sum(weight))
    squares = float(np.sum(weight * (values - mean) ** 2))
    scale = float(np.sum(weight) - np.sum(weight**2) / np.sum(weight))
    return max(0.0, (squares - (len(values) - 1)) / scale)


def _squares(values: Floats, variances: Floats, between: Floats) -> Floats:
    weight = 1.0 / (variances + between[..., None])
    mean = np.sum(weight * values, axis=-1) / np.sum(weight, axis=-1)
    return np.asarray(np.sum(weight * (values - mean[..., None]) ** 2, axis=-1))


def pooled_stack(
    values: Floats, variances: Floats, prior: float, shared: float = 0.0
) -> tuple[Floats, Floats, Floats]:
    """Return means, half bands at 95 % and variances between mounts of stacks (..., n); mm, mm^2.

    `prior` is the standard deviation between mounts that stands in where fewer than three tell, `shared`
    what all readings have in common, one standard deviation.
    """
    count = values.shape[-1]
    between = spread_between(values, variances) if count > 1 else np.zeros(values.shape[:-1])
    few = _telling(variances + prior**2) < _TELLING
    between = np.where(few, np.maximum(between, prior**2), between)
    own = variances + between[..., None]
    weight = 1.0 / own
    total = np.sum(weight, axis=-1)
    mean = np.sum(weight * values, axis=-1) / total
    square = TWO_SIDED_95**2 / total
    if count >= AGREEING:
        residual = np.sum(weight * (values - mean[..., None]) ** 2, axis=-1) / (count - 1)
        alone = 1.0 / np.sum(1.0 / variances, axis=-1)
        apart = np.maximum(between, (_LEAST * prior) ** 2)
        factor = _factor(variances + apart[..., None])
        measured = factor**2 * np.maximum(residual / total, alone)
        square = np.where(few, np.maximum(measured, square), measured)
    band = np.sqrt(square + (TWO_SIDED_95 * shared) ** 2)
    return mean, band, between


def _telling(variances: Floats) -> Floats:
    """Return of how many mounts of one variance these are worth, stacks of variances (..., n), mm^2."""
    weight = 1.0 / variances
    return np.asarray(np.sum(weight, axis=-1) ** 2 / np.sum(weight**2, axis=-1))


def _factor(variances: Floats) -> Floats:
    """Return Student's factor for mounts of these variances (..., n), mm^2; at most a little much."""
    freedoms = np.maximum(_telling(variances) - 1.0, 1.0)
    low = np.minimum(np.floor(freedoms + 1e-9), _FREEDOMS)
    share = (1.0 / low - 1.0 / np.maximum(freedoms, low)) / (1.0 / low - 1.0 / (low + 1.0))
    known = {int(each): math.log(student(int(each))) for each in {*low.flat, *(low + 1.0).flat}}
    first, second = (np.vectorize(lambda each: known[int(each)])(some) for some in (low, low + 1.0))
    return np.asarray(np.exp(first + np.clip(share, 0.0, 1.0) * (second - first)))


def pooled(values: Sequence[float], bands: Sequence[float], shared: float = 0.0) -> Pooled:
    """Return one number from mounts' values and their 95 % half bands; `shared` as in `pooled_stack`."""
    at = np.array(values, dtype=np.float64)
    # A band is two standard deviations (learn.py); a number that was exact would take all the weight.
    own = (np.maximum(np.array(bands, dtype=np.float64), 1e-3) / 2.0) ** 2
    prior = numbers()["pool.between"].value
    mean, band, between = pooled_stack(at, own, prior, shared)
    weight = 1.0 / (own + float(between))
    count = len(values)
    telling = float(_telling(own + prior**2))
    factor = (
        TWO_SIDED_95 if count < AGREEING else float(_factor(own + max(float(between), (_LEAST * prior) ** 2)))
    )
    return Pooled(
        value=float(mean),
        band=float(band),
        count=count,
        between=math.sqrt(float(between)),
        assumed=telling < _TELLING,
        telling=telling,
        weights=tuple(float(each) for each in weight / weight.sum()),
        predicted=math.hypot(float(band), factor * math.sqrt(float(between))),
    )


def odd_ones(values: Sequence[float], bands: Sequence[float]) -> tuple[tuple[int, float], ...]:
    """Return which mounts stand apart from all others, by index, and how far from those together, mm.

    A mount stands apart that lies further from the others together than both bands and the spread of mounts
    explain: the spread that the others show, and never less than the prior. Of two nobody can tell which:
    both stand apart.
    """
    found = []
    prior, critical = numbers()["pool.between"].value, numbers()["test.critical"].value
    if len(values) < AGREEING:
        apart = values[-1] - values[0] if values else 0.0
        deviation = math.sqrt(sum((band / 2.0) ** 2 + prior**2 for band in bands))
        return ((0, -apart), (1, apart)) if abs(apart) > critical * deviation else ()
    for index, value in enumerate(values):
        rest = [each for i, each in enumerate(values) if i != index]
        widths = [each for i, each in enumerate(bands) if i != index]
        other = pooled(rest, widths)
        deviation = math.sqrt(
            (bands[index] / 2.0) ** 2 + max(other.between, prior) ** 2 * (1.0 + 1.0 / len(rest))
        )
        off = value - other.value
        if abs(off) > critical * deviation:
            found.append((index, off))
    return tuple(found)


def furthest(values: Mapping[str, Sequence[float]]) -> float:
    """Return how far the two that lie furthest apart do, mm, over all numbers."""
    return max((max(each) - min(each) for each in values.values() if each), default=0.0)
