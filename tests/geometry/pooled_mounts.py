"""Simulated mounts: a known truth, a maker's spread, readings by a caliper, learned and pooled."""

import math
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from geometry.survey.learn import USUAL, expected, fitted
from geometry.survey.learn_readings import P, kinds, model
from geometry.survey.limits import numbers
from geometry.survey.pool import pooled_stack
from geometry.tables.interfaces import resolve

TAKEN = ("axle", "pin", "face-over", "along-near-over", "along-far-over", "spacing-over", "side")
REPEATS = 3


class Simulated(NamedTuple):
    """What pooling so many mounts came to: how often bands held, and their mean half width, mm."""

    held: float
    width: float


def simulated(
    makers: int, spread: float, draws: int, seed: int, each: Sequence[int] = (1,), within: float = 0.0
) -> Simulated:
    """Pool mounts of so many `makers`, whose height spreads by `spread` mm between them, in many draws.

    Makers have as many mounts as `each` says in turn, which spread by `within` mm. Every mount has its own
    caliper, which is off by up to what the table says, and pins that are shifted; each distance is read three
    times, to the caliper's step.
    """
    random = np.random.default_rng(seed)
    row = resolve("flat-rear", "rear", 140, 140)
    known = {kind.key: kind for kind in kinds("flat", "rear")}
    taken = [known[key] for key in TAKEN for _ in range(REPEATS)]
    truth = expected(row, [(known["axle"], 20.0), (known["pin"], 5.0)])
    who = [maker for maker in range(makers) for _ in range(each[maker % len(each)])]
    mounts = np.broadcast_to(truth, (draws * len(who), len(P))).copy()
    off_by = random.normal(0.0, spread, (draws, makers))[:, who]
    mounts[:, P.H] += (off_by + random.normal(0.0, within, off_by.shape)).ravel()
    shown, _ = model(taken)(mounts)
    hand, off = numbers()["reading.hand"].value, USUAL.off
    which = [TAKEN.index(kind.key) for kind in taken]
    shown = shown + random.uniform(-off, off, (len(mounts), len(TAKEN)))[:, which]
    pins = np.array([kind.pins for kind in taken])
    shown = shown + pins * random.uniform(-0.5, 0.5, (len(mounts), 1)) * USUAL.loose
    shown = np.round((shown + random.normal(0.0, hand, shown.shape)) / USUAL.step) * USUAL.step
    fit = fitted(taken, shown, truth)
    gradient = np.zeros(len(P))
    gradient[P.H] = 1.0
    own = (fit.band(gradient) / 2.0).reshape(draws, len(who))
    values = fit.estimate[:, P.H].reshape(draws, len(who))
    found = pooled_stack(values, own**2, who)
    return Simulated(float(np.mean(np.abs(found.mean - row.h) <= found.band)), float(np.mean(found.band)))


def error_of(held: float, draws: int) -> float:
    """Return the standard deviation of a share that was counted in so many draws."""
    return math.sqrt(held * (1.0 - held) / draws)
