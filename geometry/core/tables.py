"""Reading the shipped tables: numbers that carry their source and grade."""

import difflib
import tomllib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Literal, get_args

from geometry.core.errors import Problem, TableError
from geometry.core.say import Say, say

Grade = Literal["A", "B", "C", "D", "own"]
CheckKind = Literal["scale", "closure", "fit"]
_ORDER: tuple[Grade, ...] = ("own", "A", "B", "C", "D")


@dataclass(frozen=True, slots=True)
class Check:
    """A second check of another kind than the source: a drawing's scale, closure with another row, a fit."""

    kind: CheckKind
    text: str


@dataclass(frozen=True, slots=True)
class Open:
    """A number of a row that no second check of another kind bears out, and what would settle it."""

    row: str
    key: str
    settle: str


@dataclass(frozen=True, slots=True)
class Number:
    """A number from a table: its value, how far it may be off, and how far to trust it.

    `tolerance` is plus or minus, None where none was found; `low` and `high` bound a derived number, or hold
    what published texts give otherwise. Grades: A a maker's or standard's text, B two independent sources,
    C one, D derived or remembered, "own" the job's. `check` bears it out by other means than a text.
    """

    value: float
    grade: Grade
    source: Say | str
    tolerance: float | None = None
    low: float | None = None
    high: float | None = None
    check: Check | None = None


def weakest(grades: Iterable[Grade]) -> Grade:
    """Return the least trusted of the grades; "own" where all are the job's own."""
    return max(grades, key=_ORDER.index)


def hint(name: str, known: Iterable[str]) -> Say | str:
    """Return ", did you mean ...?" for a misspelt name, to be the value of a longer sentence; "" for none."""
    close = difflib.get_close_matches(name, list(known), n=1, cutoff=0.5)
    return say("tell.did_you_mean", name=close[0]) if close else ""


def unknown(name: str, known: Iterable[str]) -> Say:
    """Return what is said of a name that a table does not have: which may be meant, and all there are."""
    names = tuple(known)
    return say("tables.unknown", name=repr(name), hint=hint(name, names), known=", ".join(names))


def load(file: Path) -> dict[str, Any]:
    """Return a table file's contents; raise TableError where it cannot be read as TOML."""
    try:
        return tomllib.loads(file.read_text(encoding="utf-8"))
    except (OSError, ValueError) as error:
        raise TableError(Problem(file.name, say("tables.unreadable", reason=str(error)))) from error


def number(
    raw: Mapping[str, Any], sources: Mapping[str, str], where: str, checks: Mapping[str, Any] | None = None
) -> Number:
    """Return a table entry as a Number; raise TableError where grade, source or check are not known ones.

    `checks` is the table's [checks], which an entry's `check` names.
    """
    source, grade = str(raw.get("source")), raw.get("grade")
    if source not in sources or grade not in _ORDER[1:]:
        raise TableError(Problem(where, say("tables.no_source")))
    return Number(
        float(raw["value"]),
        grade,
        sources[source],
        raw.get("tolerance"),
        raw.get("low"),
        raw.get("high"),
        _check(raw, checks, where) if checks is not None else None,
    )


def _check(raw: Mapping[str, Any], checks: Mapping[str, Any], where: str) -> Check | None:
    if "check" not in raw:
        return None
    found = checks.get(raw["check"])
    if found is None or found["kind"] not in get_args(CheckKind):
        raise TableError(Problem(where, say("tables.no_such_check", name=str(raw["check"]))))
    return Check(found["kind"], found["text"])


def open_numbers(table: Mapping[str, Any], rows: str) -> tuple[Open, ...]:
    """Return a table's [[open]] list; `rows` is the key under which an entry names its row or rows."""
    return tuple(
        Open(row, key, entry["settle"])
        for entry in table["open"]
        for row in ([entry[rows]] if isinstance(entry[rows], str) else entry[rows])
        for key in entry["keys"]
    )
