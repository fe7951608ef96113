"""What of a job is an arrow on its pictures: its measures with letter and value, and which are missing."""

from collections.abc import Mapping, Sequence

from geometry.core.frozen import dataclass
from sheets.guide.entries import Entry, answers_of
from sheets.job.keys import HOSTS
from sheets.words.measures import letter

_UNLETTERED = ("mount.rotor",)
"""Shown too, though they are chosen and not measured."""


@dataclass(frozen=True, slots=True)
class Measure:
    """One measure: its job key, its letter, "" for none, and its value as typed.

    `missing` says that nobody measured it and nothing stands in for it.
    """

    key: str
    letter: str
    value: str
    missing: bool

    @property
    def tube(self) -> str:
        """Return the tube that it is of, or ""."""
        return self.key.split(".")[1] if self.key.startswith("tubes.") else ""


def measures(found: Sequence[Entry]) -> dict[str, Measure]:
    """Return the measures among a job's entries by key, those given and those still to be taken."""
    answers = answers_of(list(found))
    tubes = HOSTS["front" if answers.get("mount.end") == "front" else "rear"]
    shown = {}
    for each in found:
        mark = letter(each.key).replace(" and ", " ")
        if not (mark or each.key in _UNLETTERED) or not (each.value or each.question):
            continue
        if each.place[0] == "tubes" and each.place[1] not in tubes:
            continue
        missing = not each.value and _lacks(each, answers)
        if each.value or missing or (each.question and not each.question.stands_in) or _turns(each):
            shown[each.key] = Measure(each.key, mark, each.value, missing)
    return shown


def _turns(entry: Entry) -> bool:
    """Tell whether an entry is shown though nothing is missing: what is dragged or has a stand-in."""
    return entry.key in ("mount.tilt", "boss.length", "boss.diameter", "axle.dummy", "axle.pocket")


def _lacks(entry: Entry, answers: Mapping[str, str]) -> bool:
    question = entry.question
    return question is not None and not question.stands_in and not entry.key.endswith((".offset", ".pocket"))
