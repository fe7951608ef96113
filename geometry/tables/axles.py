"""Axle systems: what the hub's end and the dropout do to the sideways position of disc and mount."""

import functools
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Literal

from geometry.core.errors import Problem, TableError
from geometry.core.tables import Number, Open, load, nearest, number, open_numbers

End = Literal["front", "rear"]
_FILE = Path(__file__).with_name("axles.toml")


@dataclass(frozen=True, slots=True)
class Axle:
    """One axle system, lengths in mm; None where the table has no number.

    `width` is over the hub's ends, `pocket` the depth of the dropout's pocket a side, `rotor` the way
    from the hub's end inboard to the rotor face on the hub flange.
    """

    name: str
    title: str
    end: End
    kind: Literal["quick release", "thru axle"]
    width: Number | None
    pocket: Number | None
    rotor: Number | None


@functools.cache
def _table() -> dict[str, Any]:
    return load(_FILE)


@functools.cache
def axles() -> dict[str, Axle]:
    """Return every axle system by name, in the table's order."""
    return {row["name"]: _axle(row, _table()) for row in _table()["axle"]}


def unchecked() -> tuple[Open, ...]:
    """Return the numbers of axle systems that no second check of another kind bears out."""
    return open_numbers(_table(), "axles")


def axle(name: str) -> Axle:
    """Return one axle system; raise TableError naming the nearest one where there is none."""
    if name not in axles():
        raise TableError(Problem("axle.system", f"{name!r} {no_axle(name)}"))
    return axles()[name]


def no_axle(name: str) -> str:
    """Return what is told of a name that no axle system has: which may be meant, and all there are."""
    # "12x100" is 100x12 said the other way round, and not its nearest neighbour.
    turned = "x".join(reversed(name.casefold().replace("×", "x").replace(" ", "").split("x")))
    hint = f", did you mean {turned}?" if turned in axles() else nearest(name, axles())
    return f"is not in the table{hint} (known: {', '.join(axles())})"


def _axle(row: dict[str, Any], table: dict[str, Any]) -> Axle:
    def entry(key: str) -> Number | None:
        where = f"axle {row['name']} {key}"
        return number(row[key], table["sources"], where, table["checks"]) if key in row else None

    return Axle(
        row["name"], row["title"], row["end"], row["kind"], entry("width"), entry("pocket"), entry("rotor")
    )
