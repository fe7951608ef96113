"""The order of work of one job: shipped operations, the builder's own, and the order that the job asks for.

The builder's own operations lie in operations.toml in the builder's folder (sheets/home/folder.py), a list of
[[operation]] with key, text, hold and check; one that takes the place of a shipped operation says
replaces = true.
"""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

from geometry.core.errors import InputError, Problem
from geometry.tables.interfaces import Family
from sheets.home.folder import home
from sheets.home.toml_file import document_of, text_of
from sheets.job.operations import CHECK_POINTS, Operation, operations
from sheets.job.read import Job
from sheets.job.traveller_keys import REPLACES, OperationRow, operation_row
from sheets.job.units import given
from sheets.words.tell import nearest

FILE = "operations.toml"
"""The file in the builder's folder."""
_TUBES = {"rear": ("chainstay", "seatstay", "brace"), "front": ("fork-leg",)}


def work(job: Job, family: Family) -> tuple[Operation, ...]:
    """Return a job's operations in order.

    Raise InputError, naming file and key, for an operation that is not known or not told, for a check point
    at which nobody or two would measure, and for the heat number of a tube that the job's end has not.
    """
    table = job.traveller
    stray = [name for name in table.heats.given() if name not in _TUBES[job.mount.end]]
    if stray:
        raise InputError.at(
            f"traveller.heats.{stray[0]}",
            f"the job's end is {job.mount.end}; tubes there: {', '.join(_TUBES[job.mount.end])}",
        )
    shipped = operations(job.process.method, family, job.process.facing)
    file = home() / FILE
    known = known_operations(shipped, own_operations(file), file)
    if table.operations is None:
        steps = tuple(known[step.key] for step in shipped)
        _measured(steps, str(file))
        return steps
    steps = tuple(_step(each, number, known) for number, each in enumerate(table.operations))
    _measured(steps, "traveller.operations")
    return steps


def own_operations(file: Path) -> tuple[OperationRow, ...]:
    """Return the builder's own operations, none where there is no such file; InputError with all problems."""
    document = document_of(file, text_of(file, "a full list takes about 4 kB"))
    listed = document.pop("operation", [])
    problems = [
        Problem(f"{file}: {key}", "there is no such key; the file is a list of [[operation]]")
        for key in document
    ]
    if not isinstance(listed, list):
        problems.append(
            Problem(f"{file}: operation", "a single table given; begin each one with [[operation]]")
        )
        listed = []
    rows: list[OperationRow] = []
    for number, value in enumerate(listed):
        problem = _row(value, {row.key for row in rows})
        if isinstance(problem, str):
            problems.append(Problem(f"{file}: operation[{number}]", problem))
        else:
            rows.append(problem)
    if problems:
        raise InputError(*problems)
    return tuple(rows)


def _row(value: Any, before: set[str]) -> OperationRow | str:
    """Return the operation in a table of the file, or what is wrong with it."""
    try:
        row = operation_row(value, (REPLACES,))
    except ValueError as error:
        return str(error)
    if row.text is None:
        return f"{given(row.key)} has no text; say what is to be done"
    if row.key in before:
        return f"{given(row.key)} is there already; each key once"
    return row


def known_operations(
    shipped: Sequence[Operation], own: Sequence[OperationRow], file: Path
) -> dict[str, Operation]:
    """Return every known operation by key, the builder's own among them; InputError where one may not be.

    A replaced operation keeps its check point and its hold point unless the builder gives another.
    """
    known = {step.key: step for step in shipped}
    ours = set(known)
    problems: list[Problem] = []
    for number, row in enumerate(own):
        where = f"{file}: operation[{number}]"
        if row.key in ours and not row.replaces:
            what = f"{given(row.key)} is a shipped operation; choose another key, or say replaces = true"
            problems.append(Problem(where, what))
        elif row.replaces and row.key not in ours:
            what = f"replaces = true, but {given(row.key)} is no shipped operation{nearest(row.key, ours)}"
            problems.append(Problem(where, f"{what} (shipped: {', '.join(step.key for step in shipped)})"))
        else:
            known[row.key] = _own(row, known.get(row.key))
    if problems:
        raise InputError(*problems)
    return known


def _own(row: OperationRow, replaced: Operation | None = None) -> Operation:
    text = row.text or ""
    if replaced is None:
        return Operation(row.key, text, row.check or "", row.hold or "", brief=text)
    return replace(
        replaced,
        text=text,
        check=replaced.check if row.check is None else row.check,
        hold=replaced.hold if row.hold is None else row.hold,
        brief=text if replaced.brief else "",
    )


def _step(each: str | OperationRow, number: int, known: Mapping[str, Operation]) -> Operation:
    """Return the operation that an entry of the job's list means."""
    where = f"traveller.operations[{number}]"
    if isinstance(each, str):
        if each not in known:
            raise InputError.at(
                where,
                f"{given(each)} is no known operation{nearest(each, known)} (known: {', '.join(known)}; or "
                "write { key, text, hold, check })",
            )
        return known[each]
    if each.key in known:
        raise InputError.at(
            where,
            f"{given(each.key)} is known already; name it alone, choose another key, or replace it in "
            f"{home() / FILE}",
        )
    if each.text is None:
        raise InputError.at(where, f"{given(each.key)} has no text; say what is to be done")
    return _own(each)


def _measured(steps: Sequence[Operation], where: str) -> None:
    """Raise InputError unless each check point ends exactly one operation."""
    shipped = {step.check: step.key for step in operations(None, "tab", 0.0) if step.check}
    problems = []
    for point in CHECK_POINTS:
        at = [step.key for step in steps if step.check == point]
        if not at:
            problems.append(
                f"readings are asked for when {point}, but no operation has that check point; add "
                f'"{shipped[point]}", or give one of your own check = "{point}"'
            )
        elif len(at) > 1:
            problems.append(
                f"readings have one box when {point}, but {' and '.join(at)} both have that check point"
            )
    if problems:
        raise InputError(*(Problem(where, problem) for problem in problems))
