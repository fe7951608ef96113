"""Which rows of the tables a job rests on, with numbers and digests, and what of them has changed since."""

import functools
import hashlib
import json
from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path
from typing import Any

import geometry
from geometry.clearance.bodies import room_of
from geometry.core.frozen import dataclass
from geometry.core.say import say
from geometry.core.tables import load
from geometry.mount.placement import Placement
from geometry.tables.loads import entry
from sheets.job.read import Job
from sheets.words.tell import tell

FOLDER = Path(geometry.__file__).parent
"""Where the tables lie."""


def tables(folder: Path) -> list[Path]:
    """Return the tables in a folder and below it, by name: packets know them by their names alone."""
    return sorted(folder.rglob("*.toml"), key=lambda file: file.name)


@dataclass(frozen=True, slots=True)
class Change:
    """A number of a table that is not what it was: table and row, its key, what it was and is, None: none.

    Without a key nothing but words changed: a source, a grade or a note.
    """

    row: str
    key: str
    was: float | None
    now: float | None

    @property
    def sentence(self) -> str:
        """Return the change in words."""
        if not self.key:
            return tell("tables_used.words_changed", row=self.row)
        none = say("tables_used.none")
        was, now = (none if each is None else f"{each:.12g}" for each in (self.was, self.now))
        return tell("tables_used.number_changed", row=self.row, key=self.key, was=was, now=now)


def digest_of_all() -> str:
    """Return the digest of all table files: that of the lines NAME DIGEST, sorted."""
    lines = (f"{file.name} {hashlib.sha256(file.read_bytes()).hexdigest()}\n" for file in tables(FOLDER))
    return hashlib.sha256("".join(lines).encode()).hexdigest()


def used(job: Job, placement: Placement, cautions: Iterable[str]) -> dict[str, dict[str, Any]]:
    """Return the rows that a job rests on by name: {"digest": .., "numbers": {key: number}}.

    `cautions` are the ids of those on its card. A row that only other mounts, axles, screws or processes use
    is left out. Of a list that is not known here the rows are kept that the job names, or all where it names
    none of them.
    """
    return {
        name: {"digest": _digest(row), "numbers": dict(_of(_numbers(row, ""), placement))}
        for _, _, name, row in rows_used(job, placement, cautions)
    }


Row = tuple[str, str, str, dict[str, Any]]
"""A row: the table that it stands in, the key under which, its name, and what it holds."""


def rows_used(job: Job, placement: Placement, cautions: Iterable[str]) -> tuple[Row, ...]:
    """Return the rows that a job rests on, in the order of the tables; see `used`."""
    said = frozenset(cautions)
    words = tuple(_words(job.model_dump(exclude={"frame"}, exclude_none=True)))
    rows = list(_rows())
    told = {(table, key) for table, key, _, row in rows if _is_named(row, words)}
    return tuple(
        (table, key, name, row)
        for table, key, name, row in rows
        if _is_used(table, key, row, job, placement, said)
        and ((table, key) not in told or (table, key) in _KNOWN or _is_named(row, words))
    )


def sources(table: str, key: str) -> Mapping[str, str]:
    """Return the sources that hold for what stands under a key of a table, by their short names."""
    raw = _read(FOLDER)[table]
    part = raw.get(key)
    own = part.get("sources", {}) if isinstance(part, dict) else {}
    return {**raw.get("sources", {}), **own}


_KNOWN = {
    *(("interfaces", "row"), ("interfaces", "adapter"), ("axles", "axle"), ("fasteners", "screw")),
    *(("caliper", "room"), ("cautions", "caution")),
}
"""Lists of which `_is_used` tells by their own keys what a job rests on."""


def _words(value: Any) -> Iterator[str]:
    """Yield every text in a job, in small letters."""
    if isinstance(value, str):
        yield value.lower()
    elif isinstance(value, dict):
        for each in value.values():
            yield from _words(each)
    elif isinstance(value, list | tuple):
        for each in value:
            yield from _words(each)


def _is_named(row: Mapping[str, Any], words: Iterable[str]) -> bool:
    """Tell whether a job names a row, or has one of the words that stand for it."""
    names = [str(row["name"]).lower()] if "name" in row else []
    stand = [str(each).lower() for each in row.get("words", ())]
    return any(word in names or any(each in word for each in stand) for word in words)


def changed(kept: Mapping[str, Any]) -> Iterator[Change]:
    """Yield what is different today in rows that a packet has kept, numbers first told one by one."""
    today = {name: row for _, _, name, row in _rows()}
    for name, was in kept.items():
        row = today.get(name)
        if row is not None and _digest(row) == str(was["digest"])[:_DIGITS]:
            continue
        before = {_today(name, key): number for key, number in was["numbers"].items()}
        now = {} if row is None else dict(_numbers(row, ""))
        now |= {
            key: number
            for (place, key), (to, there) in _MOVED.items()
            if place == name and (number := dict(_numbers(today.get(to), "")).get(there)) is not None
        }
        # What is new in a part that was left out, as another end's, is none of this packet's.
        new = sorted(key for key in now.keys() - before.keys() if not key.startswith(_PARTS))
        keys = [key for key in (*before, *new) if before.get(key) != now.get(key)]
        yield from (Change(name, key, before.get(key), now.get(key)) for key in keys)
        if not keys:
            yield Change(name, "", None, None)


_YIELDS = (
    "air-hardening steel",
    "mild steel",
    "stainless tube",
    "Ti-3Al-2.5V, cold worked and stress relieved",
    "commercially pure titanium, grade 2",
    "austenitic stainless, annealed",
)
_MOVED = {
    ("caliper.toml, pads", "track"): ("interfaces.toml, disc", "track"),
    ("materials.toml, material 4130 normalised", "yield"): (
        "materials.toml, material chromoly steel", "heated",
    ),
    **{
        (f"materials.toml, material {name}", "yield"): (f"materials.toml, material {name}", "delivered")
        for name in _YIELDS
    },
}  # fmt: skip
"""Numbers that stand in another row since a packet was drawn: where they stood, and where they stand now."""
_RENAMED = {("fasteners.toml, flat_rear", "codes"): "thicknesses"}
"""Keys that bear another name since: what they were called in which row, and what they are called now."""
_DIGITS = 16
"""Digits kept of a row's digest, of which a packet has many; packets of before kept all 64."""
_PARTS = ("lateral.", "at.")
"""Parts of a row that hold something for each end, or for each native size."""


def _today(row: str, key: str) -> str:
    """Return what a number's key is called today."""
    first, dot, rest = key.partition(".")
    return f"{_RENAMED.get((row, first), first)}{dot}{rest}"


def _of(numbers: Iterable[tuple[str, float]], placement: Placement) -> Iterator[tuple[str, float]]:
    """Yield the numbers of a row but those for the other end or for other native sizes."""
    face = placement.interface
    mine = f"lateral.{face.end}", f"at.{face.native:g}."
    return ((key, each) for key, each in numbers if not key.startswith(_PARTS) or key.startswith(mine))


@functools.cache
def _read(folder: Path) -> dict[str, dict[str, Any]]:
    return {file.stem: load(file) for file in tables(folder)}


def _rows() -> Iterator[Row]:
    """Yield the tables' rows: table, key, name and content; what stands alone under a key is a row too."""
    told: dict[str, int] = {}
    for table, raw in _read(FOLDER).items():
        for key, value in raw.items():
            if key in ("sources", "editions", "checks", "disagreements"):
                continue
            if isinstance(value, dict):
                yield table, key, f"{table}.toml, {key}", {k: v for k, v in value.items() if k != "sources"}
            elif isinstance(value, list) and all(isinstance(row, dict) for row in value):
                for row in value:
                    name = f"{table}.toml, {key} {_name(row)}"
                    told[name] = told.get(name, 0) + 1
                    yield table, key, name if told[name] == 1 else f"{name} ({told[name]})", row


def _name(row: Mapping[str, Any]) -> str:
    """Return what tells a row from others of its list: its name, its family and steps, or its materials."""
    if "steps" in row:
        steps = ", ".join(f"{step:g}" for step in row["steps"])
        return f"{row.get('row', row['family'])}{' ' + row['end'] if 'end' in row else ''} +{steps}"
    named = row.get("id") or row.get("name") or row.get("materials") or next(iter(row.values()))
    return ", ".join(map(str, named)) if isinstance(named, list) else str(named)


def _is_used(
    table: str, key: str, row: Mapping[str, Any], job: Job, placement: Placement, said: frozenset[str]
) -> bool:
    face = placement.interface
    match table, key:
        case "interfaces", "row":
            return bool(row["name"] == job.mount.interface)
        case "interfaces", "second":
            return bool(row["row"] == face.name) and not face.own
        case "interfaces", "adapter_spread":
            return placement.adapter.spread is not None
        case (_, "open") | ("recalls", _) | ("row_checks", _) | ("survey", "pool"):
            # What is checked of rows, and how several mounts are put together, is in no packet.
            return False
        case "interfaces", "adapter":
            ours = row["row"] == face.name if "row" in row else row["family"] == face.family
            return bool(ours and placement.adapter.step in row["steps"])
        case "axles", "axle":
            return bool(row["name"] == job.axle.system)
        case "fasteners", "screw":
            return bool(row["name"] == face.hole.screw)
        case "fasteners", "flat_rear":
            return face.family == "flat" and face.end == "rear"
        case "caliper", "room":
            return bool(row["name"] == room_of(face.name, face.family, face.end).name)
        case "carried", "hole":
            return face.family != "tab"
        case "carried", _:
            # A tab stands on nothing: it is part of the dropout, or welded to it.
            return face.family != "tab" and job.dropout.shaped
        case "caliper", "metal":
            return job.dropout.shaped
        case "cautions", "caution":
            return row["id"] in said
        case "cautions", _:
            return job.process.method is not None or job.process.filler is not None
        case "printer", "margin":
            # How a viewer may have shrunk a page: nothing on a sheet rests on it.
            return False
    return True


def _digest(row: Mapping[str, Any]) -> str:
    plain = json.dumps(row, sort_keys=True, separators=(",", ":"), ensure_ascii=False, default=str)
    return hashlib.sha256(plain.encode()).hexdigest()[:_DIGITS]


def _numbers(value: Any, place: str) -> Iterator[tuple[str, float]]:
    """Yield where each number of a row stands, and the number; a lone value goes by the key above it."""
    if isinstance(value, bool):
        return
    if isinstance(value, int | float):
        yield place, value
    elif isinstance(value, dict) and "load" in value:
        # A caution's number that the loads' table holds.
        yield place, entry(*value["load"].split(".")).value
    elif isinstance(value, dict):
        for key, each in value.items():
            yield from _numbers(each, place if key == "value" and place else f"{place}.{key}".lstrip("."))
    elif isinstance(value, list):
        for index, each in enumerate(value):
            yield from _numbers(each, f"{place}[{index}]")
