"""The checks between rows, as `mounts` shows them: what they expect, what they find, and what settles it."""

from collections.abc import Mapping
from typing import Any

from geometry.core.say import Say, say
from geometry.survey.open_numbers import row_checks
from geometry.tables.interfaces import disagreements, rows
from geometry.tables.row_checks import RowCheck
from sheets.words.tell import tell, told


def checked() -> list[dict[str, Any]]:
    """Return every check between the shipped rows for JSON, those that fail first; mm, degrees or a ratio."""
    found = sorted(row_checks(), key=lambda each: each.state == "holds")
    return [
        {
            "code": each.code,
            "rows": list(each.rows),
            "disc": each.at,
            "name": told(each.name),
            "unit": each.unit,
            "expected": round(each.expected, 6) + 0.0,
            "tolerance": round(each.tolerance, 6),
            "found": round(each.found, 6) + 0.0,
            "state": each.state,
            "settles": each.settles,
            "grade": each.grade,
            "source": told(each.source),
            "settle": _settle(each),
        }
        for each in found
    ]


def lines(found: list[dict[str, Any]]) -> list[str]:
    """Return the checks as text for a terminal: each once, with every disc size that it holds for."""
    said = [tell("row_check.head")]
    for each in found:
        names = {"name": each["name"], "rows": ", ".join(each["rows"])}
        head = tell("row_check.line", **names)
        if each["disc"] is not None:
            head = tell("row_check.line_at", **names, at=each["disc"])
        said += [f"  {head}", f"    {state(each)}; {_why(each)}"]
        if each["settle"]:
            said.append(f"    {tell('row_check.one_wrong', how=each['settle'])}")
    return said


def state(each: Mapping[str, Any]) -> str:
    """Return what a check found beside what it expected."""
    unit = each["unit"]
    expected = say("row_check.expected", value=_in(each["expected"], unit), off=_in(each["tolerance"], unit))
    return tell(f"row_check.state.{each['state']}", found=_in(each["found"], unit), expected=expected)


def _why(each: Mapping[str, Any]) -> str:
    if not each["settles"]:
        return tell("row_check.alike")
    return tell("row_check.graded", grade=each["grade"], source=each["source"])


def _in(value: float, unit: str) -> Say:
    return say(f"row_check.unit.{unit}", value=value)


def _settle(check: RowCheck) -> str:
    """Return the reading that tells which row is wrong, where a check fails and the table names one."""
    if check.state == "holds":
        return ""
    known = disagreements()
    return next((known[key].settle for each in check.rows if (key := rows()[each].disagrees) in known), "")
