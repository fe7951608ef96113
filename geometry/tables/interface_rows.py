"""The rows of interfaces.toml as values; the table's head says what each key means. Lengths are mm."""

import re
from collections.abc import Mapping
from dataclasses import field
from typing import Literal, get_args

from geometry.core.errors import TableError
from geometry.core.frozen import dataclass
from geometry.core.say import say
from geometry.core.tables import Itself, Number
from geometry.tables.axles import End

Family = Literal["tab", "post", "flat"]
Screw = Literal["-z", "+n", "-n"]
HoleKind = Literal["plain", "thread", "slot"]


@dataclass(frozen=True, slots=True, kw_only=True)
class HoleForm:
    """What is made at each hole: `diameter` is the drill's, or a slot's width; `length` a slot's, overall."""

    kind: HoleKind
    diameter: Itself
    length: float | None = None
    screw: str


@dataclass(frozen=True, slots=True)
class Lateral:
    """Where a row's mount lies sideways, mm, and what that number is only as good as: "rotor", or nothing."""

    number: Itself
    rests_on: Literal["", "rotor"] = ""


@dataclass(frozen=True, slots=True)
class Radii:
    """A row's place by three lengths, mm: axle to near and to far hole, and hole to hole."""

    near: Number
    far: Number
    spacing: Number


@dataclass(frozen=True, slots=True)
class At:
    """A row's place at one native size, mm, and what has to be said of it there."""

    h: Number
    x_near: Number
    note: str = ""


@dataclass(frozen=True, slots=True)
class SizePath:
    """A row's place at one native size, mm, and the angle in degrees along which it moves from size to size.

    The native sizes go from `from_` to `to`.
    """

    native: float
    from_: float
    to: float
    angle: Number
    h: Number
    x_near: Number


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """A row as interfaces.toml has it, whose head says what each key means.

    Its place is given by `radii`, by `path` with `spacing`, or by `at` with `spacing`. `dropleaf mounts`
    prints the numbers in the order of these fields.
    """

    name: str
    title: str
    family: Family
    ends: tuple[End, ...]
    screw: Screw
    note: str
    radii: Radii | None = None
    path: SizePath | None = None
    at: Mapping[str, At] = field(default_factory=dict)
    spacing: Number | None = None
    lateral: Mapping[str, Lateral]
    hole: HoleForm
    boss: Mapping[str, Number] = field(default_factory=dict)
    native: tuple[float, ...] = ()
    disagrees: str = ""
    provisional: bool = False

    @property
    def sizes(self) -> tuple[float, ...]:
        """Return the native sizes: each of them, or for a row with a path the smallest and the largest."""
        if self.path is not None:
            return self.path.from_, self.path.to
        return self.native or tuple(map(float, self.at))

    @property
    def hole_spacing(self) -> Number:
        """Return how far apart the holes are, mm; raise TableError where the row does not say."""
        found = self.spacing if self.radii is None else self.radii.spacing
        if found is None:
            raise TableError.at(f"{self.name}.spacing", say("tables.missing"))
        return found

    @property
    def apart(self) -> float:
        """Return how far apart the holes are as a value, mm."""
        return self.hole_spacing.value

    def nearest(self, wanted: float) -> float:
        """Return the native size nearest to one that is wanted."""
        if self.path is not None:
            return min(max(wanted, self.path.from_), self.path.to)
        return min(self.sizes, key=lambda size: abs(size - wanted))


@dataclass(frozen=True, slots=True)
class SecondSet:
    """A second published set for a row: the angle of its path, and axle to near hole by native size, mm."""

    row: str
    angle: Number
    near_radius: Mapping[str, Number]


@dataclass(frozen=True, slots=True)
class Disagreement:
    """Where two rows cannot both be right: what is said of it, and the reading that settles it."""

    said: str
    settle: str


def without_end(row: Row) -> str:
    """Return a row's title without the end that titles of rows for one end name last."""
    return row.title.removesuffix(f", {row.ends[0]}") if len(row.ends) == 1 else row.title


def check_row(row: Row, where: str) -> None:
    """Raise TableError, saying which key and why, for a row that a sheet could not print or place."""
    if re.fullmatch(r"[a-z]+(-[a-z0-9]+)*", row.name) is None:
        raise TableError.at(f"{where}.name", say("tables.row.name", name=row.name))
    if row.lateral.keys() != set(row.ends):
        raise TableError.at(f"{where}.lateral", say("tables.row.lateral", ends=", ".join(row.ends)))
    if (row.radii, row.path, row.at or None).count(None) != 2:
        raise TableError.at(where, say("tables.row.place"))
    _check_title(row, f"{where}.title")
    if row.radii is None and row.spacing is None:
        raise TableError.at(f"{where}.spacing", say("tables.missing"))


def _check_title(row: Row, where: str) -> None:
    ending = f", {row.ends[0]}" if len(row.ends) == 1 else ""
    if ending and not row.title.endswith(ending):
        raise TableError.at(where, say("tables.row.title_end", title=row.title, ending=ending))
    if not ending and row.title.endswith((", rear", ", front")):
        raise TableError.at(where, say("tables.row.title_both", title=row.title))
    # What has a digit in it is passed over, and so is what is shorter than a word: see tests/words.
    words = [each for each in re.findall(r"[\w.-]+", without_end(row)) if re.fullmatch("[A-Za-z]{3,}", each)]
    if len(words) < 2 and not set(words) & set(get_args(Family)):
        raise TableError.at(where, say("tables.row.title_words", title=row.title))
