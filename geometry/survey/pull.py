"""How far mounts move from tacked to cold: the builder's own record, and what to set against it.

Every frame surveyed tacked and cold gives one movement. Movements are gathered by process, end and family of
mount; from the third frame on their mean is worth setting against, with the spread of frames and the interval
in which the mean lies at 95 % (Student's t).
"""

import functools
import math
from collections.abc import Iterable, Mapping, Sequence

from geometry.core.frozen import dataclass
from geometry.core.say import Say, say
from geometry.survey.limits import numbers

FROM, TO = "tacked", "cold"
"""Between which check points a pull is counted."""
_EVEN, _ODD = 0, 1
QUANTITIES = ("height", "along_near", "along_far", "lateral", "square_along", "turn")
"""What is recorded of a frame, by the errors' keys (survey.py)."""


@dataclass(frozen=True, slots=True)
class Record:
    """One frame at one check point: what it is, and its errors against the drawing, mm or degrees."""

    frame: str
    point: str
    end: str
    family: str
    method: str
    values: Mapping[str, float]

    @property
    def key(self) -> tuple[str, str, str]:
        """Return what tells records apart: frame, end and check point."""
        return self.frame, self.end, self.point


@dataclass(frozen=True, slots=True)
class Pull:
    """How one quantity moves, over `count` frames: mean, standard deviation, and the mean's 95 % interval."""

    quantity: str
    count: int
    mean: float
    deviation: float
    low: float
    high: float

    @property
    def told(self) -> bool:
        """Return whether the interval leaves out no movement at all."""
        return self.low > 0.0 or self.high < 0.0

    @property
    def name(self) -> Say:
        """Return what it is that moves."""
        return say(f"pull.name.{self.quantity}")

    @property
    def sentence(self) -> Say:
        """Return how it moves, and what to set against it where that can be told from chance."""
        more, less = (
            say(f"pull.{way}.{self.quantity}", by=abs(self.mean))
            for way in (("more", "less") if self.mean >= 0.0 else ("less", "more"))
        )
        # A turn is in degrees, everything else a length.
        told, chance = (
            ("pull.told_turn", "pull.chance_turn")
            if self.quantity == "turn"
            else ("pull.told", "pull.chance")
        )
        return say(
            told if self.told else chance,
            moved=more,
            against=less,
            frames=self.count,
            deviation=self.deviation,
            low=self.low,
            high=self.high,
        )


def replaced(records: Iterable[Record], new: Iterable[Record]) -> tuple[Record, ...]:
    """Return records with new ones added; one of the same frame, end and check point is replaced."""
    kept = {each.key: each for each in records}
    kept |= {each.key: each for each in new}
    return tuple(kept.values())


def pulls(records: Iterable[Record], end: str, family: str, method: str) -> tuple[Pull, ...]:
    """Return how mounts of an end, family and process move; nothing for fewer than three frames."""
    alike = [each for each in records if (each.end, each.family, each.method) == (end, family, method)]
    before = {each.frame: each.values for each in alike if each.point == FROM}
    after = {each.frame: each.values for each in alike if each.point == TO}
    found = []
    for quantity in QUANTITIES:
        moved = [
            after[frame][quantity] - before[frame][quantity]
            for frame in before
            if frame in after and quantity in after[frame] and quantity in before[frame]
        ]
        if len(moved) >= numbers()["pull.frames"].value:
            found.append(_pull(quantity, moved))
    return tuple(found)


def _pull(quantity: str, moved: Sequence[float]) -> Pull:
    count = len(moved)
    mean = math.fsum(moved) / count
    spread = math.sqrt(math.fsum((each - mean) ** 2 for each in moved) / (count - 1))
    half = student(count - 1) * spread / math.sqrt(count)
    return Pull(quantity, count, mean, spread, mean - half, mean + half)


@functools.cache
def student(freedom: int) -> float:
    """Return the t that holds 95 % of Student's distribution between plus and minus it."""
    low, high = 0.0, 1e3
    while high - low > 1e-12 * high:
        middle = (low + high) / 2.0
        low, high = (middle, high) if _between(middle, freedom) < 0.95 else (low, middle)
    return (low + high) / 2.0


def _between(t: float, freedom: int) -> float:
    """Return the share between -t and t: Handbook of Mathematical Functions 26.7.3, 26.7.4."""
    angle = math.atan2(t, math.sqrt(freedom))
    c, s = math.cos(angle), math.sin(angle)
    if freedom % 2 == _EVEN:
        term, total = 1.0, 1.0
        for k in range(2, freedom, 2):
            term *= (k - 1) / k * c * c
            total += term
        return s * total
    if freedom == _ODD:
        return 2.0 * angle / math.pi
    term, total = c, c
    for k in range(3, freedom, 2):
        term *= (k - 1) / k * c * c
        total += term
    return 2.0 / math.pi * (angle + s * total)
