"""Reading the shipped tables: numbers that carry their source and grade."""

import difflib
import tomllib
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Literal

from geometry.errors import Problem, TableError

Grade = Literal["A", "B", "C", "D", "own"]
_ORDER: tuple[Grade, ...] = ("own", "A", "B", "C", "D")


@dataclass(frozen=True, slots=True)
class Number:
    """A number from a table: its value, how far it may be off, and how far to trust it.

    `tolerance` is plus or minus, None where none was found; `low` and `high` bound a derived number.
    Grades: A a maker's or standard's text, B two independent sources, C one, D derived or remembered,
    "own" the job's.
    """

    value: float
    grade: Grade
    source: str
    tolerance: float | None = None
    low: float | None = None
    high: float | None = None


def weakest(grades: Iterable[Grade]) -> Grade:
    """Return the least trusted of the grades; "own" where all are the job's own."""
    return max(grades, key=_ORDER.index)


def nearest(name: str, known: Iterable[str]) -> str:
    """Return a hint ", did you mean ...?" for a misspelt name, or an empty string."""
    close = difflib.get_close_matches(name, list(known), n=1, cutoff=0.5)
    return f", did you mean {close[0]}?" if close else ""


def load(file: Path) -> dict[str, Any]:
    """Return a table file's contents; raise TableError where it cannot be read as TOML."""
    try:
        return tomllib.loads(file.read_text(encoding="utf-8"))
    except (OSError, ValueError) as error:
        raise TableError(Problem(file.name, f"the table cannot be read: {error}")) from error


def number(raw: dict[str, Any], sources: dict[str, str], where: str) -> Number:
    """Return a table entry as a Number; raise TableError where grade or source are missing or unknown."""
    source, grade = raw.get("source"), raw.get("grade")
    if source not in sources or grade not in _ORDER[1:]:
        raise TableError(Problem(where, "every number needs a grade A to D and a listed source"))
    return Number(
        float(raw["value"]), grade, sources[source], raw.get("tolerance"), raw.get("low"), raw.get("high")
    )
