"""A survey at hand for its remedies: its errors and their bands, what is beyond help, and whom to ask.

Heat on a thin stay does harm of its own. A mount is cut off only where a maker's or published limit (grade C
or better, or the job's own) is surely passed by more than every play of the parts can take. Where the limit
is our own judgement, or some part may still take the error, the caliper's maker is asked before any heat. No
shipped limit of posts and flat mounts is better than grade D, so that "cannot tell" is their worst verdict.
"""

import math
from collections.abc import Mapping
from dataclasses import field
from typing import Literal

from geometry.core.frozen import dataclass
from geometry.core.say import Say, also, say
from geometry.core.tables import Number
from geometry.survey.limits import allowed
from geometry.survey.remedy_room import pads_once_level
from geometry.survey.survey import Pads, Survey
from geometry.survey.trilateration import TWO_SIDED_95
from geometry.tables.interfaces import Interface

Kind = Literal["face", "shim", "slots", "play", "track", "rotor", "tilt", "offer", "ask", "redo"]
HOLES = ("near", "far")
_STEP = 0.01
"""Amounts are told to this, mm: a hundredth is what a dial shows."""


@dataclass(frozen=True, slots=True)
class Remedy:
    """One remedy in shop words. `amounts` are mm by place; `leaves` the least thickness then left, mm.

    `least` is the thickness below which nothing goes, None where none is known; `answers` the errors' keys.
    """

    kind: Kind
    text: Say | str
    answers: tuple[str, ...]
    amounts: tuple[tuple[str, float], ...] = ()
    leaves: float | None = None
    least: Number | None = None


@dataclass(frozen=True, slots=True)
class Shop:
    """What is known of the mount itself and of the frame, mm.

    `size` is the tab's thickness or the boss's length once faced, `width` the face's across the holes, both
    None where the job does not say; `largest` the largest disc that the frame takes as far as its tubes are
    known, 0 for none, and `certain` that all of them are.
    """

    size: float | None = None
    width: float | None = None
    largest: float | None = None
    certain: bool = True


UNKNOWN = Shop()
"""Nothing known of mount and frame."""


@dataclass(slots=True)
class Work:
    """A survey at hand; `thinned` is what facing takes beyond the stock, by hole.

    `height` is what facing or a shim leaves of the face's error in height, None where it stays as it is.
    """

    survey: Survey
    shop: Shop
    thinned: dict[str, float] = field(default_factory=lambda: dict.fromkeys(HOLES, 0.0))
    height: float | None = None

    @property
    def form(self) -> Interface:
        """Return the interface that the mount was made to."""
        return self.survey.placement.interface

    @property
    def tab(self) -> bool:
        """Return whether the mount is a tab."""
        return self.form.family == "tab"

    def beyond(self, *keys: str) -> tuple[str, ...]:
        """Return those of the errors that are surely beyond their limits."""
        return tuple(key for key in keys if (one := self.survey.miss(key)) and one.state == "beyond")

    def error(self, key: str) -> float:
        """Return an error, mm or degrees; 0 where it is not told."""
        one = self.survey.miss(key)
        return 0.0 if one is None or one.error is None else one.error

    def band(self, key: str) -> float:
        """Return how far an error may be from what was found, at 95 %."""
        one = self.survey.miss(key)
        return 0.0 if one is None or one.deviation is None else TWO_SIDED_95 * one.deviation

    def excess(self, key: str) -> float:
        """Return by how much an error is surely, at 95 %, beyond what its limit and published band allow."""
        one = self.survey.miss(key)
        if one is None or one.limit is None or one.error is None:
            return 0.0
        low, high = allowed(one.limit, one.band)
        return max(0.0, one.error - self.band(key) - high, low - one.error - self.band(key))

    def condemns(self, key: str, takes: float) -> bool:
        """Tell whether an error asks for a new mount: its limit is known, and no part takes the rest."""
        one = self.survey.miss(key)
        known = one is not None and one.limit is not None and one.limit.grade != "D"
        return known and self.excess(key) > takes

    @property
    def pads(self) -> Pads | None:
        """Return where the pads go once the face's height is seen to."""
        return pads_once_level(self.survey, self.height)


def lost(work: Work, wrong: tuple[str, ...], why: Say | str, takes: Mapping[str, float]) -> Remedy:
    """Return a new mount where an error asks for one, or else to ask the caliper's maker.

    `takes` is the most that the play of all parts can take of each error, mm; of one not named, nothing.
    """
    gone = any(work.condemns(key, takes.get(key, 0.0)) for key in wrong)
    return Remedy("redo" if gone else "ask", why, wrong)


def redo_for(found: list[Remedy]) -> Remedy:
    """Return one remedy for all errors that ask for a new mount."""
    why, keys = _joined(found)
    return Remedy("redo", say("remedy.redo", why=why), keys)


def ask_for(work: Work, found: list[Remedy]) -> Remedy:
    """Return one remedy for all errors about which the caliper's maker is asked."""
    why, keys = _joined(found)
    grades = [one.limit.grade for key in keys if (one := work.survey.miss(key)) and one.limit]
    doubtful = all(grade == "D" for grade in grades)
    known = say("remedy.ask.limits_doubtful" if doubtful else "remedy.ask.parts_may_take")
    return Remedy("ask", say("remedy.ask.maker", why=why, known=known), keys)


def _joined(found: list[Remedy]) -> tuple[Say | str, tuple[str, ...]]:
    why = also(each.text for each in found)
    return why, tuple(dict.fromkeys(key for each in found for key in each.answers))


def down(value: float) -> float:
    """Return an amount rounded down, so that nobody takes off more than is there to take."""
    return max(0.0, math.floor(value / _STEP + 1e-6) * _STEP)
