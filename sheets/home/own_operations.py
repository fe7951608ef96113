"""The order of work of one job: shipped operations, the builder's own, and the order that the job asks for.

The builder's own operations lie in operations.toml in the builder's folder (sheets/home/folder.py), a list of
[[operation]] with key, text, hold and check; one that takes the place of a shipped operation says
replaces = true.
"""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path

from pydantic import Field

from geometry.core.errors import InputError, Problem
from geometry.core.say import named, say
from geometry.core.tables import hint
from geometry.tables.interface_rows import Family
from sheets.files.bounded import blaming
from sheets.home.entries import checked, collected, entries
from sheets.home.folder import home
from sheets.home.toml_file import document_of, text_of
from sheets.job.limits import Text
from sheets.job.operations import CHECK_POINTS, Making, Operation, operations
from sheets.job.read import Job
from sheets.job.traveller_keys import OperationRow, Yes
from sheets.job.units import given
from sheets.words.tell import tell

FILE = "operations.toml"
"""The file in the builder's folder."""
BEGINS = "[[operation]]"
"""How an entry of it begins."""
_TUBES = {"rear": ("chainstay", "seatstay", "brace"), "front": ("fork-leg",)}


class KeptOperation(OperationRow):
    """An operation of the builder's own file."""

    text: Text = Field(description="what is to be done")
    replaces: Yes = Field(
        default=False, description="true where it stands in for the shipped operation of that key"
    )


def work(job: Job, family: Family, making: Making) -> tuple[Operation, ...]:
    """Return a job's operations in order.

    Raise InputError, naming file and key, for an operation that is not known or not told, for a check point
    at which nobody or two would measure, and for the heat number of a tube that the job's end has not.
    """
    table = job.traveller
    stray = [name for name in table.heats.given() if name not in _TUBES[job.mount.end]]
    if stray:
        tubes = ", ".join(_TUBES[job.mount.end])
        what = say("own.operation.other_ends_heat", end=named(job.mount.end), tubes=tubes)
        raise InputError.at(f"traveller.heats.{stray[0]}", what)
    shipped = operations(job.process.method, family, job.process.facing, making)
    file = home() / FILE
    known = known_operations(shipped, own_operations(file), file)
    if table.operations is None:
        without = () if job.tubes.brace else ("brace",)
        steps = tuple(known[step.key] for step in shipped if step.key not in without)
        _measured(steps, str(file))
        return steps
    steps = tuple(_step(each, number, known) for number, each in enumerate(table.operations))
    _measured(steps, "traveller.operations")
    return steps


def own_operations(file: Path) -> tuple[KeptOperation, ...]:
    """Return the builder's own operations, none where there is no such file; InputError with all problems."""
    return operations_in(file, text_of(file, say("own.operation.usual_size")))


def operations_in(file: Path, text: str) -> tuple[KeptOperation, ...]:
    """Return the operations in the text of such a file; InputError, led by the file, with all problems."""
    document = document_of(file, text)
    rows: dict[str, KeptOperation] = {}
    wrong: list[Problem] = []
    with blaming(file):
        for number, raw in enumerate(entries(document, BEGINS)):
            with collected(wrong, f"operation[{number}]"):
                row = checked(KeptOperation, raw, BEGINS)
                if row.key in rows:
                    raise InputError.at("key", say("own.operation.twice", key=given(row.key)))
                rows[row.key] = row
        if wrong:
            raise InputError(*wrong)
    return tuple(rows.values())


def known_operations(
    shipped: Sequence[Operation], own: Sequence[KeptOperation], file: Path
) -> dict[str, Operation]:
    """Return every known operation by key, the builder's own among them; InputError where one may not be.

    A replaced operation keeps its check point and its hold point unless the builder gives another.
    """
    known = {step.key: step for step in shipped}
    ours = tuple(known)
    wrong: list[Problem] = []
    for number, row in enumerate(own):
        where = f"{file}: operation[{number}]"
        if row.key in ours and not row.replaces:
            wrong.append(Problem(where, say("own.operation.shipped_too", key=given(row.key))))
        elif row.replaces and row.key not in ours:
            near, known_ = hint(row.key, ours), ", ".join(ours)
            what = say("own.operation.replaces_none", key=given(row.key), hint=near, shipped=known_)
            wrong.append(Problem(where, what))
        else:
            known[row.key] = _own(row, known.get(row.key))
    if wrong:
        raise InputError(*wrong)
    return known


def _own(row: OperationRow, replaced: Operation | None = None) -> Operation:
    text, hold = row.text or "", row.hold
    if isinstance(hold, bool):
        hold = tell("operations.unsigned") if hold else ""
    if replaced is None:
        return Operation(row.key, text, row.check or "", hold or "", brief=text)
    return replace(
        replaced,
        text=text,
        check=row.check or replaced.check,
        hold=replaced.hold if hold is None else hold,
        brief=text if replaced.brief else "",
    )


def _step(each: str | OperationRow, number: int, known: Mapping[str, Operation]) -> Operation:
    """Return the operation that an entry of the job's list means."""
    where = f"traveller.operations[{number}]"
    if isinstance(each, str):
        if each not in known:
            names = ", ".join(known)
            what = say("own.operation.unknown", name=given(each), hint=hint(each, known), known=names)
            raise InputError.at(where, what)
        return known[each]
    if each.key in known:
        what = say("own.operation.known_already", key=given(each.key), file=str(home() / FILE))
        raise InputError.at(where, what)
    if each.text is None:
        raise InputError.at(where, say("own.operation.no_text", key=given(each.key)))
    return _own(each)


def _measured(steps: Sequence[Operation], where: str) -> None:
    """Raise InputError unless each check point ends exactly one operation."""
    shipped = {step.check: step.key for step in operations(None, "tab", 0.0) if step.check}
    problems = []
    for point in CHECK_POINTS:
        at = [step.key for step in steps if step.check == point]
        if not at:
            what = say("own.operation.unread", when=named(point), point=point, shipped=shipped[point])
            problems.append(Problem(where, what))
        elif len(at) > 1:
            what = say("own.operation.read_twice", when=named(point), operations=tuple(at))
            problems.append(Problem(where, what))
    if problems:
        raise InputError(*problems)
