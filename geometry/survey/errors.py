"""How far readings may be off: each by itself, and several together by what they share.

By itself a reading is off by the caliper's step and the hand. Readings share the caliper's own error, one for
each kind of jaws; the play of a pin in its hole, which outside jaws press one way and inside jaws the other;
and the dropout's thickness, read once. What is shared does not get smaller by reading again. All numbers are
in survey.toml, grade D.
"""

import math
from collections.abc import Sequence

import numpy as np

from geometry.core.frozen import dataclass
from geometry.core.say import say
from geometry.core.tables import Number
from geometry.survey.limits import numbers
from geometry.survey.model import Readings, Taken
from geometry.survey.trilateration import Floats


@dataclass(frozen=True, slots=True)
class ReadingError:
    """How far a reading may be off, mm: the caliper's step, and one standard deviation of the hand.

    `edge` is the hand's at a tube's edge; `caliper` is half of the span in which the caliper's own error
    lies. None takes the table's (survey.toml, grade D).
    """

    resolution: float | None = None
    hand: float | None = None
    edge: float | None = None
    caliper: float | None = None

    def used(self) -> dict[str, Number]:
        """Return what is reckoned with, by name: the own numbers, and the table's in place of the others."""
        given = {
            "resolution": self.resolution,
            "hand": self.hand,
            "edge": self.edge,
            "caliper": self.caliper,
        }
        return {
            key: numbers()[f"reading.{key}"]
            if value is None
            else Number(value, "own", say("reading.limits.given"))
            for key, value in given.items()
        }

    def deviation(self, taken: Taken) -> float:
        """Return the standard deviation of one reading by itself, mm.

        A step s spreads evenly over s, which makes s / sqrt(12).
        """
        used = self.used()
        step, hand = used["resolution"].value, used["edge" if taken.kind == "edge" else "hand"].value
        return math.hypot(step / math.sqrt(12.0), hand)


USUAL = ReadingError()
"""The table's reading error throughout."""


@dataclass(frozen=True, slots=True)
class Common:
    """What some readings share: its names, the standard deviation of each, mm, and what it does to each.

    `effects` (readings, terms) is what a reading shows more for each mm of a term.
    """

    names: tuple[str, ...]
    deviations: Floats
    effects: Floats


def common(taken: Sequence[Taken], error: ReadingError = USUAL) -> Common:
    """Return what readings share.

    Half a span a spreads evenly over 2 a, which makes a / sqrt(3); a pin with play p stands anywhere within
    p / 2 of the middle, p / sqrt(12).
    """
    caliper = error.used()["caliper"].value / math.sqrt(3.0)
    step, hand = error.used()["resolution"].value, error.used()["hand"].value
    sizes: dict[str, float] = {}
    parts: list[dict[str, float]] = []
    for each in taken:
        one = each.reading
        mine: dict[str, float] = {}
        if one.jaws != "blade":
            mine[f"{one.jaws} jaws"] = 1.0
            sizes[f"{one.jaws} jaws"] = caliper
        for pin in one.pins:
            name = f"{pin} pin"
            # Outside jaws press the pin towards the other jaw, inside jaws away from it.
            mine[name] = 1.0 if one.jaws == "inside" else -1.0
            sizes[name] = max(sizes.get(name, 0.0), one.play / math.sqrt(12.0))
        if one.kind == "side" and one.base == "outer":
            mine["thickness"] = -each.sign
            sizes["thickness"] = math.hypot(step / math.sqrt(12.0), hand)
        parts.append(mine)
    names = tuple(name for name, size in sizes.items() if size > 0.0)
    effects = np.array([[mine.get(name, 0.0) for name in names] for mine in parts], dtype=np.float64)
    deviations = np.array([sizes[name] for name in names], dtype=np.float64)
    return Common(names, deviations, effects.reshape(len(parts), len(names)))


@dataclass(frozen=True, slots=True)
class Together:
    """The model of readings with what they share: a parameter more for each term, and a row that holds it.

    The rows of the terms come after the readings', and each was observed to be 0 with its own deviation.
    """

    model: Readings
    shared: Common

    def __call__(self, at: Floats) -> tuple[Floats, Floats]:
        """Return distances and terms (..., n + k) and derivatives (..., n + k, p + k)."""
        free = len(self.model.free)
        shown, slopes = self.model(at[..., :free])
        terms = at[..., free:]
        effects = self.shared.effects
        count = len(self.shared.names)
        shown = np.concatenate((shown + terms @ effects.T, terms), axis=-1)
        stack = at.shape[:-1]
        upper = np.concatenate((slopes, np.broadcast_to(effects, (*stack, *effects.shape))), axis=-1)
        lower = np.concatenate((np.zeros((count, free)), np.eye(count)), axis=-1)
        return shown, np.concatenate((upper, np.broadcast_to(lower, (*stack, *lower.shape))), axis=-2)

    def start(self, start: Floats) -> Floats:
        """Return where to begin: parameters (p,), and every term at 0."""
        return np.concatenate((start, np.zeros(len(self.shared.names))))

    def observed(self, shown: Floats) -> Floats:
        """Return what was observed: the readings (..., n), and 0 for every term."""
        return np.concatenate((shown, np.zeros((*shown.shape[:-1], len(self.shared.names)))), axis=-1)

    def deviations(self, own: Floats) -> Floats:
        """Return the standard deviations of the readings (n,) and of the terms, mm."""
        return np.concatenate((own, self.shared.deviations))
