"""Axle systems: what the hub's end and the dropout do to the sideways position of disc and mount."""

import functools
from pathlib import Path
from typing import Literal

from geometry.core.errors import TableError
from geometry.core.frozen import dataclass
from geometry.core.say import Say, say
from geometry.core.tables import Number, Open, Table, hint, open_numbers, table

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
    width: Number | None = None
    pocket: Number | None = None
    rotor: Number | None = None

    @property
    def through(self) -> float | None:
        """Return how thick the axle itself is, mm, as a thru axle's name says, 12 of 142x12; else None."""
        return float(self.name.partition("x")[2]) if self.kind == "thru axle" else None


@functools.cache
def _table() -> Table:
    return table(_FILE)


@functools.cache
def axles() -> dict[str, Axle]:
    """Return every axle system by name, in the table's order."""
    return {each.name: each for each in _table().rows("axle", Axle)}


def unchecked() -> tuple[Open, ...]:
    """Return the numbers of axle systems that no second check of another kind bears out."""
    return open_numbers(_table(), "axles")


def axle(name: str) -> Axle:
    """Return one axle system; raise TableError naming the nearest one where there is none."""
    if name not in axles():
        raise TableError.at("axle.system", no_axle(name, repr(name)))
    return axles()[name]


def no_axle(name: str, shown: str) -> Say:
    """Return what is said of a name that no axle system has, as it is shown: which may be meant, and all."""
    # "12x100" is 100x12 said the other way round, and not its nearest neighbour.
    turned = "x".join(reversed(name.casefold().replace("×", "x").replace(" ", "").split("x")))
    meant = turned if turned in axles() else name
    return say("tables.unknown", name=shown, hint=hint(meant, axles()), known=", ".join(axles()))
