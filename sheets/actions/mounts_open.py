"""What is open in the tables: provisional, from one text, or unnoticed if wrong, and what settles it."""

from collections.abc import Iterable, Iterator
from typing import Any

from geometry.core.tables import numbered
from geometry.survey.limits import numbers
from geometry.survey.next_reading import Plan, plan
from geometry.survey.open_numbers import Unnoticed, unnoticed
from geometry.tables import interfaces
from geometry.tables.axles import unchecked as axles_unchecked
from geometry.tables.interface_rows import Row
from geometry.tables.row_checks import expectations
from sheets.actions.row_checks import checked, state
from sheets.words.tell import tell, told

_USUAL = 160.0
"""The size at which a row that has any size is measured: most such mounts are made for it."""


def document() -> dict[str, Any]:
    """Return what is open for JSON: rows with their open numbers and readings, slips, and failing checks."""
    rows = sorted(interfaces.rows().values(), key=lambda row: -max(each.band for each in _plans(row)))
    return {
        "rows": [_row(row) for row in rows],
        "others": [
            {"row": each.row, "key": each.key, "settle": each.settle}
            for each in (*interfaces.unchecked(), *axles_unchecked())
            if each.row not in interfaces.rows()
        ],
        "unnoticed": [
            {"row": each.row, "key": each.key, "slips": [round(slip, 4) for slip in each.slips]}
            for each in unnoticed()
        ],
        "failing": [each for each in checked() if each["state"] == "disagrees"],
    }


def _plans(row: Row) -> tuple[Plan, ...]:
    """Return how to settle a row, at each end and size that it is made for."""
    sizes = row.sizes if row.path is None else (_USUAL,)
    return tuple(plan(row, end, size) for end in row.ends for size in sizes)


def _row(row: Row) -> dict[str, Any]:
    listed = [each for each in interfaces.unchecked() if each.row == row.name]
    known = dict(numbered(row))
    return {
        "name": row.name,
        "title": row.title,
        "provisional": row.provisional,
        "open": [
            {"key": each.key, "value": known[each.key].value, "grade": known[each.key].grade}
            for each in listed
            if each.key in known
        ],
        "settle": list(dict.fromkeys(each.settle for each in listed)),
        "readings": [
            {
                "end": each.end,
                "native": each.native,
                "band": round(each.band, 4),
                "steps": [
                    {"key": step.kind.key, "how": told(step.kind.how), "band": round(step.band, 4)}
                    for step in each.steps
                ],
            }
            for each in _plans(row)
        ],
    }


def listing() -> str:
    """Return what is open as text for a terminal, the row that is known worst first."""
    found = document()
    lines = [tell("open.head", most=numbers()["pool.kind"].value)]
    for row in found["rows"]:
        lines += ["", *_lines(row)]
    lines += ["", tell("open.others")]
    grouped: dict[str, list[str]] = {}
    for each in found["others"]:
        grouped.setdefault(each["settle"], []).append(f"{each['row']} {each['key']}")
    for how, names in grouped.items():
        lines += [f"  {', '.join(names)}", f"    {tell('open.settle', how=how)}"]
    slip = expectations()["plant.slip"].value
    lines += ["", tell("open.slips", slip=slip), *(f"  {each}" for each in _slips(unnoticed()))]
    if found["failing"]:
        lines += ["", tell("open.failing")]
    for check in found["failing"]:
        lines += [f"  {check['name']} ({', '.join(check['rows'])})", f"    {state(check)}"]
        lines += [f"    {tell('row_check.one_wrong', how=check['settle'])}"] if check["settle"] else []
    return "\n".join(lines)


def _lines(row: dict[str, Any]) -> Iterator[str]:
    yield tell("open.row", name=row["name"], title=row["title"])
    if row["provisional"]:
        yield f"  {tell('open.provisional')}"
    listed = ", ".join(tell("open.number", **each) for each in row["open"])
    yield f"  {tell('open.numbers', numbers=listed)}"
    yield from (f"  {tell('open.settle', how=how)}" for how in row["settle"])
    told_: list[list[str]] = []
    for each in row["readings"]:
        part = tell(f"open.part.{each['end']}")
        steps = [
            tell("open.step", number=number, **step) for number, step in enumerate(each["steps"], start=1)
        ]
        # Sizes that are settled alike are told once.
        if [step["key"] for step in each["steps"]] not in told_:
            told_.append([step["key"] for step in each["steps"]])
            yield f"  {tell('open.on', part=part, native=each['native'], band=each['band'])}"
            yield from (f"    {step}" for step in steps)


def _slips(found: Iterable[Unnoticed]) -> Iterator[str]:
    for each in found:
        if "*" in each.key:
            part = each.key.replace("*", "").replace("at.", "").strip(".")
            code = "open.all_ends" if part == "lateral" else "open.all_sizes"
            yield tell(code, row=each.row, key=tell(f"open.key.{part}"))
        elif len(each.slips) > 1:
            yield tell("open.slip_both", row=each.row, key=each.key)
        else:
            code = "open.slip_more" if each.slips[0] > 0.0 else "open.slip_less"
            yield tell(code, row=each.row, key=each.key)
