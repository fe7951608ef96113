"""Which numbers of rows nothing bears out, found by trying: each is moved by a slip, and no check may notice.

A number is told apart where a slip either way makes a check fail that holds today. One that is not stands in
the list of open numbers, which `dropleaf mounts --open` prints. What a row says of all its native sizes is
moved together too, and so is the sideways number of both ends: each alone stands out beside the others, and
all of them together may not.
"""

import functools
import math
from collections.abc import Iterator, Mapping
from dataclasses import fields, is_dataclass, replace
from typing import Any

from geometry.clearance.pad_checks import pad_checks
from geometry.core.errors import DropleafError
from geometry.core.frozen import dataclass
from geometry.core.tables import Number, numbered
from geometry.tables.interfaces import rows, second_sets
from geometry.tables.row_checks import RowCheck, Rows, Seconds, closures, expectations

_TOGETHER = ("h", "x_near")


@dataclass(frozen=True, slots=True)
class Unnoticed:
    """A number in which a slip is noticed by no check: its row, its key, and the slips, mm or degrees.

    A key with "*" in it is that of all native sizes, or of both ends, together.
    """

    row: str
    key: str
    slips: tuple[float, ...]


def row_checks(known: Rows | None = None, seconds: Seconds | None = None) -> tuple[RowCheck, ...]:
    """Return every check between rows, the shipped ones or those given."""
    found = rows() if known is None else known
    return (*closures(found, second_sets() if seconds is None else seconds), *pad_checks(found))


@functools.cache
def unnoticed() -> tuple[Unnoticed, ...]:
    """Return every number of a shipped row that could be a slip off, either way, without being noticed."""
    return tuple(_unnoticed())


def _unnoticed() -> Iterator[Unnoticed]:
    by = expectations()["plant.slip"].value
    for row in rows().values():
        keys = [key for key, _ in numbered(row)]
        keys += [f"at.*.{key}" for key in _TOGETHER if len(row.at) > 1]
        keys += ["lateral.*"] if len(row.lateral) > 1 else []
        for key in keys:
            step = by
            if key == "path.angle" and row.path is not None:
                # The turn that moves the mount by as much at the end of its path.
                reach = max(abs(end - row.path.native) / 2.0 for end in (row.path.from_, row.path.to))
                step = math.degrees(math.asin(by / reach))
            slips = tuple(slip for slip in (step, -step) if not noticed(row.name, key, slip))
            if slips:
                yield Unnoticed(row.name, key, slips)


def noticed(row: str, key: str, by: float) -> tuple[RowCheck, ...] | bool:
    """Return which checks that hold today fail where one number is moved; True where no mount is left.

    `key` is the number's, as `numbered` has it, of a row or of the second set for it ("second." before it),
    with "*" for every native size. Nothing fails where the slip goes unnoticed: an empty tuple.
    """
    today = {each.key: each.state for each in row_checks()}
    known, seconds = dict(rows()), dict(second_sets())
    first, _, rest = key.partition(".")
    if first == "second":
        seconds[row] = slipped(seconds[row], rest, by)
    else:
        known[row] = slipped(known[row], key, by)
    try:
        found = row_checks(known, seconds)
    except DropleafError:
        return True
    return tuple(
        each for each in found if each.settles and each.state == "disagrees" and today[each.key] == "holds"
    )


def slipped(made: Any, key: str, by: float) -> Any:
    """Return a row, or a part of one, with the number under some keys moved."""
    if isinstance(made, Number):
        return replace(made, value=made.value + by)
    if isinstance(made, float):
        return made + by
    first, _, rest = key.partition(".")
    if isinstance(made, Mapping):
        which = made if first == "*" else (first,)
        return {**made, **{each: slipped(made[each], rest, by) for each in which}}
    if not is_dataclass(made):
        raise KeyError(key)
    if not key:
        # The number that is the part itself, its further keys beside it.
        first = next(each.name for each in fields(made) if isinstance(getattr(made, each.name), Number))
    return replace(made, **{first: slipped(getattr(made, first), rest, by)})  # type: ignore[type-var]
