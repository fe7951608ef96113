"""Reading the shipped tables: numbers that carry their source and grade."""

import tomllib
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import MISSING, field, fields, is_dataclass
from pathlib import Path
from types import UnionType
from typing import Annotated, Any, Literal, TypeVar, Union, get_args, get_origin, get_type_hints

from geometry.core.errors import Problem, TableError
from geometry.core.frozen import dataclass
from geometry.core.meant import meant
from geometry.core.say import Say, say

Grade = Literal["A", "M", "B", "C", "D", "own"]
CheckKind = Literal["scale", "closure", "fit"]
# Mounts that were read and agree stand above texts about mounts, below the text that mounts are made to.
_ORDER: tuple[Grade, ...] = ("own", "A", "M", "B", "C", "D")


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
    what published texts give otherwise. Grades: A a maker's or standard's text, M measured on several mounts
    that agree, B two independent sources, C one, D derived or remembered, "own" the job's. `check` bears it
    out by other means than a text.
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
    """Return ", did you mean ...?" for a name misspelt or as others call it, to be a value; "" for none."""
    found = meant(name, known)
    return say("tell.did_you_mean", name=found) if found else ""


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


def table(file: Path) -> "Table":
    """Return a table file, to make numbers and rows of it; raise TableError where it cannot be read."""
    raw = load(file)
    return Table(file.name, raw, raw.get("sources", {}), raw.get("checks", {}))


Source = Annotated[str, "source"]
"""A field of a row that names a source, and is read as that source."""
Itself = Annotated[Number, "itself"]
"""A field of a row that is a number with further keys; those of the number stand in the row itself."""
_OF_A_NUMBER = ("value", "grade", "source", "unit", "tolerance", "low", "high", "check")
_Row = TypeVar("_Row")


@dataclass(frozen=True, slots=True)
class Table:
    """A table file as it was read: what is made of it is checked, and TableError says where it is wrong.

    `name` is the file's; `sources` and `checks` are what its numbers may name.
    """

    name: str
    raw: Mapping[str, Any]
    sources: Mapping[str, str]
    checks: Mapping[str, Any]
    # A search asks for the same number at every step, and checking it anew costs more than the step.
    _checked: dict[tuple[str, ...], Number] = field(
        default_factory=dict, init=False, compare=False, repr=False
    )

    def number(self, *keys: str) -> Number:
        """Return the number under some keys: number("rest", "friction") is friction in [rest]."""
        if keys not in self._checked:
            self._checked[keys] = self._number(self._under(keys), ".".join(keys))
        return self._checked[keys]

    def numbers(self, part: str) -> dict[str, Number]:
        """Return every number of a part by its key."""
        return {key: self.number(part, key) for key in self._under((part,))}

    def values(self, *keys: str) -> tuple[float, ...]:
        """Return a list of numbers that share a source."""
        found = self._value(tuple[float, ...], self._under((*keys, "values")), ".".join(keys))
        return tuple(found)

    def rows(self, key: str, kind: type[_Row]) -> tuple[_Row, ...]:
        """Return every [[key]] as a value of a dataclass, in the table's order.

        Its fields' types say what the keys may be: str, int, float, bool, Number, Source, Itself, Literal,
        a tuple, a Mapping, another dataclass. What has a default may be left out, and `from_` is the key
        "from". A key "x_source" names the source of an `x` that has none in itself.
        """
        return tuple(
            self._made(kind, row, f"{key} {row.get('name', number)}")
            for number, row in enumerate(self._under((key,)), start=1)
        )

    def parts(self, key: str, kind: type[_Row]) -> dict[str, _Row]:
        """Return every part of [key] as a value of a dataclass by its own key: see `rows`."""
        return {each: self._made(kind, raw, f"{key}.{each}") for each, raw in self._under((key,)).items()}

    def part(self, key: str, kind: type[_Row]) -> _Row:
        """Return [key] as a value of a dataclass: see `rows`."""
        made: _Row = self._made(kind, self._under((key,)), key)
        return made

    def _made(self, kind: Any, raw: Any, place: str) -> Any:
        if not isinstance(raw, Mapping):
            raise self._wrong(place, raw, kind)
        hints = {key.rstrip("_"): each for key, each in get_type_hints(kind, include_extras=True).items()}
        alone = Itself not in hints.values()
        for key in raw:
            if key.endswith("_source"):
                self._value(Source, raw[key], f"{place}.{key}")
            elif key not in hints and (alone or key not in _OF_A_NUMBER):
                raise self._fault(f"{place}.{key}", say("tables.no_key", hint=hint(key, hints)))
        found = {}
        for column in fields(kind):
            key = column.name.rstrip("_")
            if hints[key] == Itself:
                found[column.name] = self._number(
                    {each: raw[each] for each in raw if each in _OF_A_NUMBER}, place
                )
            elif key in raw:
                found[column.name] = self._value(hints[key], raw[key], f"{place}.{key}")
            elif column.default is MISSING and column.default_factory is MISSING:
                raise self._fault(f"{place}.{key}", say("tables.missing"))
        return kind(**found)

    def _value(self, kind: Any, raw: Any, place: str) -> Any:
        outer, inner = get_origin(kind), get_args(kind)
        if kind == Source and raw in self.sources:
            return self.sources[raw]
        if kind is Number:
            return self._number(raw, place)
        if is_dataclass(kind):
            return self._made(kind, raw, place)
        if outer in (Union, UnionType):
            return self._value(inner[0], raw, place)
        if outer is tuple and isinstance(raw, list):
            return tuple(self._value(inner[0], each, place) for each in raw)
        if outer is Mapping and isinstance(raw, Mapping):
            return {key: self._value(inner[1], each, f"{place}.{key}") for key, each in raw.items()}
        if kind is float and type(raw) in (int, float):
            return float(raw)
        if type(raw) is kind or (outer is Literal and raw in inner):
            return raw
        raise self._wrong(place, raw, kind)

    def _number(self, raw: Any, place: str) -> Number:
        if not isinstance(raw, Mapping):
            raise self._wrong(place, raw, Number)
        for key in raw:
            if key not in _OF_A_NUMBER:
                raise self._fault(f"{place}.{key}", say("tables.no_key", hint=hint(key, _OF_A_NUMBER)))
        for key in ("value", "tolerance", "low", "high"):
            self._value(float, raw.get(key, 0.0 if key != "value" else None), f"{place}.{key}")
        return number(raw, self.sources, f"{self.name}: {place}", self.checks)

    def _under(self, keys: Iterable[str]) -> Any:
        found: Any = self.raw
        for key in keys:
            if key not in found:
                raise self._fault(".".join(keys), say("tables.missing"))
            found = found[key]
        return found

    def _wrong(self, place: str, given: Any, kind: Any) -> TableError:
        wanted = ", ".join(map(str, get_args(kind))) or kind.__name__
        return self._fault(place, say("tables.wrong", given=repr(given), wanted=wanted))

    def _fault(self, place: str, what: Say) -> TableError:
        return TableError(Problem(f"{self.name}: {place}", what))


def numbered(made: object, place: str = "") -> Iterator[tuple[str, Number]]:
    """Yield every number of a row and of its parts with the keys that lead to it, such as "radii.near"."""
    if isinstance(made, Number):
        yield place, made
        return
    parts: Iterable[tuple[str, Any]] = ()
    if isinstance(made, Mapping):
        parts = made.items()
    elif is_dataclass(made):
        kinds = get_type_hints(type(made), include_extras=True)
        parts = ((key if kinds[key] != Itself else "", getattr(made, key)) for key in kinds)
    for key, each in parts:
        yield from numbered(each, ".".join(filter(None, (place, key))))


def number(
    raw: Mapping[str, Any], sources: Mapping[str, str], where: str, checks: Mapping[str, Any]
) -> Number:
    """Return a table entry as a Number; raise TableError where grade, source or check are not known ones.

    `checks` is the table's [checks], which an entry's `check` names.
    """
    source, grade = str(raw.get("source")), raw.get("grade")
    if source not in sources or grade not in _ORDER[1:]:
        raise TableError(Problem(where, say("tables.no_source")))
    check = None
    if "check" in raw:
        found = checks.get(raw["check"])
        if found is None or found["kind"] not in get_args(CheckKind):
            raise TableError(Problem(where, say("tables.no_such_check", name=str(raw["check"]))))
        check = Check(found["kind"], found["text"])
    band = raw.get("tolerance"), raw.get("low"), raw.get("high")
    return Number(float(raw["value"]), grade, sources[source], *band, check)


def open_numbers(table: Table, rows: str) -> tuple[Open, ...]:
    """Return a table's [[open]] list; `rows` is the key under which an entry names its row or rows."""
    return tuple(
        Open(row, key, entry["settle"])
        for entry in table.raw["open"]
        for row in ([entry[rows]] if isinstance(entry[rows], str) else entry[rows])
        for key in entry["keys"]
    )
