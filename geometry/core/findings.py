"""What is found out about a job: what it is by a code, how bad, and what is to be said of it."""

from collections.abc import Iterable, Sequence
from typing import Literal

from geometry.core.frozen import dataclass
from geometry.core.say import Say

Level = Literal["stop", "warn", "unknown", "note"]
"""A check that failed, something to mend, something that nobody measured, something to know."""
LEVELS: tuple[Level, ...] = ("stop", "warn", "unknown", "note")
"""All levels, the gravest first."""

_OF_STRENGTH = ("mount-near", "tube-near", "fork-test-held", "fork-test", "fork-test-unknown", "slot-on-pads")
"""What may hurt a rider stands before all else of its level: a card has room for the first few."""


@dataclass(frozen=True, slots=True)
class Finding:
    """One finding. What reads it goes by `code` and `level`, never by the text, which is for people.

    `subject` is what it is found of, such as "near post" or "tubes.seatstay", empty for the whole job.
    `large` is lettered large on every full-size sheet. `text` is the whole, for paper and documents. Where
    that is long, a terminal tells `brief`, what is the matter with its numbers, and `remedy`, what to do.
    """

    code: str
    level: Level
    text: Say | str
    subject: str = ""
    large: bool = False
    brief: Say | str = ""
    remedy: Say | str = ""


def texts(found: Iterable[Finding]) -> tuple[Say | str, ...]:
    """Return what is to be said of some findings."""
    return tuple(each.text for each in found)


def by_level(found: Sequence[Finding]) -> tuple[Finding, ...]:
    """Return findings with the gravest first, in the order in which they came where they are as grave."""
    return tuple(sorted(found, key=lambda each: (LEVELS.index(each.level), each.code not in _OF_STRENGTH)))
