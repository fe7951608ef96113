"""What every group of numbers in `check --all` is made of: a label, and what is told under it."""

from geometry.core.say import Say, Value, say
from geometry.core.tables import Number
from sheets.words.lengths import measured
from sheets.words.tell import tell

Row = tuple[Say | str, Say | str]
"""A label, and what is told under it."""


def mm(value: float | None, sign: bool = False, form: str = "cell") -> str:
    """Return a length to the micrometre, never as -0, or "not found" where the tables lack it.

    It is told in the job's units; those of a "cell" stand over it.
    """
    if value is None:
        return tell("check.not_found")
    if abs(value) < 0.0005:
        return "0.000"
    return measured(value, f"+.3f {form}" if sign else f".3f {form}")


def graded(number: Number | None) -> Say:
    """Return a table's number with its grade, or that it was not found."""
    if number is None:
        return say("check.not_found")
    return say("check.graded", value=number.value, grade=grade_of(number.grade))


def wide(number: Number | None) -> Say:
    """Return a length of a table with its grade, or that it was not found."""
    if number is None:
        return say("check.not_found")
    return say("check.graded_length", value=number.value, grade=grade_of(number.grade))


def grade_of(grade: str) -> Say:
    """Return a grade as it is told, an own number's too."""
    return say("check.own") if grade == "own" else say("check.grade", grade=grade)


def row(key: str, what: Say | str = "", /, **values: Value) -> Row:
    """Return a row by the key of its label; it says `what`, or else its own sentence with these values."""
    return say(f"check.row.{key}"), what or say(f"check.says.{key}", **values)
