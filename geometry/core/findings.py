"""What is found out about a job: what it is by a code, how bad, and the sentence that tells it."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any, Literal

Level = Literal["stop", "warn", "unknown", "note"]
"""A check that failed, something to mend, something that nobody measured, something to know."""
LEVELS: tuple[Level, ...] = ("stop", "warn", "unknown", "note")
"""All levels, the gravest first."""


@dataclass(frozen=True, slots=True)
class Finding:
    """One finding. What reads it goes by `code` and `level`, never by the text, which is for people.

    `subject` is what it is found of, such as "near post" or "tubes.seatstay", empty for the whole job.
    `large` is lettered large on every full-size sheet.
    """

    code: str
    level: Level
    text: str
    subject: str = ""
    large: bool = False


def texts(found: Iterable[Finding]) -> tuple[str, ...]:
    """Return the sentences of some findings."""
    return tuple(each.text for each in found)


def of(found: Iterable[Finding], code: str) -> tuple[str, ...]:
    """Return the sentences of one code."""
    return tuple(each.text for each in found if each.code == code)


def by_level(found: Sequence[Finding]) -> tuple[Finding, ...]:
    """Return findings with the gravest first, in the order in which they came where they are as grave."""
    return tuple(sorted(found, key=lambda each: LEVELS.index(each.level)))


def document(found: Iterable[Finding]) -> list[dict[str, Any]]:
    """Return findings as JSON has them."""
    return [
        {"code": each.code, "level": each.level, "subject": each.subject, "text": each.text} for each in found
    ]
