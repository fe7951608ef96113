"""Every number that a packet rests on, each once, and the numbering of its sources.

The page of numbers lists what stands here; any other sheet prints a short reference to it, such as [3] or
[1, 4], which `Cited.of` gives by the row that a number stands in. On paper a source is cited by what its text
says before the first ": "; how a number was derived or checked comes after, and the manifest has it all.
Names of numbers are in number.toml, by table, key and place. What the job's author typed is listed as the
builder's own, and a table's number that it replaces is left out.
"""

import functools
from collections.abc import Iterable, Iterator, Mapping
from typing import Any

from geometry.core.frozen import dataclass
from geometry.core.say import Say, say
from geometry.core.tables import Number
from geometry.mount.placement import MEETING, Placement
from geometry.tables.cautions import Caution
from sheets.job.closed import Table
from sheets.job.own_row import own_row
from sheets.job.read import Job
from sheets.setup.listed import GROUPS, METRIC, OF_FORKS, is_listed, name_of, unit_of
from sheets.setup.setup import SetUp
from sheets.setup.tables_used import rows_used, sources
from sheets.words.lengths import measured, of_text, units
from sheets.words.tell import told

_SECOND_UNIT = {"_inch": "", "_feet": ""}
"""How keys end that give a number once more in inches or feet."""


@dataclass(frozen=True, slots=True)
class Entry:
    """A number as it is listed: what it is, its value with unit, its grade, and the numbers of its sources.

    `group` is the heading that it stands under, `row` the table and key that it comes from. The grade of the
    builder's own numbers is "own", and they have no source but one that the job names. `texts` are the
    sources in full.
    """

    group: str
    row: tuple[str, str]
    name: Say
    value: Say | str
    grade: str
    sources: tuple[int, ...]
    texts: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Cited:
    """The numbers of a packet in reading order, and their sources as paper cites them, from number 1 on."""

    entries: tuple[Entry, ...]
    sources: tuple[str, ...]
    cautions: tuple[tuple[str, tuple[int, ...]], ...]

    def of(self, table: str, key: str) -> str:
        """Return the reference to the sources of all listed numbers of a table's key, "" for none.

        The mount's own row is ("interfaces", "row"), the axle's ("axles", "axle").
        """
        found = {each for entry in self.entries if entry.row == (table, key) for each in entry.sources}
        return reference(found)

    def source(self, text: Say | str) -> str:
        """Return the reference to a source of the tables by its text, "" where none lists it."""
        told_ = citation(text) if isinstance(text, str) else ""
        return reference([self.sources.index(told_) + 1] if told_ in self.sources else ())

    def caution(self, name: str) -> str:
        """Return the reference to the sources of a caution by its id."""
        return reference(dict(self.cautions)[name])


def reference(numbers: Iterable[int]) -> str:
    """Return a reference as it is printed, "[1–3, 7]"; "" for none."""
    runs: list[list[int]] = []
    for number in sorted(set(numbers)):
        if runs and number == runs[-1][-1] + 1:
            runs[-1].append(number)
        else:
            runs.append([number])
    said = (
        f"{run[0]}–{run[-1]}" if len(run) > 2 else ", ".join(map(str, run))  # two are listed as two
        for run in runs
    )
    return f"[{', '.join(said)}]" if runs else ""


def citation(source: str) -> str:
    """Return what a source of the tables is cited by on paper."""
    return source.partition(": ")[0]


class _Sources:
    """The list of sources as it grows: each citation once; what the job's author names is cited whole."""

    def __init__(self, typed: Iterable[str | None]) -> None:
        self.told: dict[str, int] = {}
        self._typed = frozenset(typed)

    def number(self, text: str) -> int:
        return self.told.setdefault(text if text in self._typed else citation(text), len(self.told) + 1)

    def numbers(self, texts: Iterable[str]) -> tuple[int, ...]:
        return tuple(dict.fromkeys(map(self.number, texts)))


@functools.lru_cache(maxsize=24)
def cited(job: Job, placement: Placement, setup: SetUp) -> Cited:
    """Return the numbers that a job's packet rests on, with their sources numbered in reading order."""
    own = job.interface
    found = _Sources((own.source, own.second_source) if own else ())
    replaced = frozenset(_replaced(job))
    raw: list[tuple[str, tuple[str, str], Say, Say | str, str, tuple[str, ...]]] = []
    for table, key, _, row in rows_used(job, placement, ()):
        if not is_listed(table, key, row, job, placement, setup):
            continue
        texts = sources(table, key)
        if key == "adapter":
            row = {"step": {**row, "value": placement.adapter.step}}
        for place, entry in entries_of(table, key, row):
            last = name_of(key, place)
            if (table, key, last) in replaced or not _is_this(place, placement):
                continue
            if (table, key, last) in OF_FORKS and placement.end == "rear":
                continue
            value = _shown(entry, unit_of(table, key, place))
            said = say(f"number.{table}.{key}.{last}", row=_row_name(row))
            source = (texts[entry["source"]],)
            raw.append((GROUPS[table, key], (table, key), said, value, entry["grade"], source))
    raw += _own_row(job, placement)
    raw += (each for caution in setup.cautions for each in _of_caution(caution))
    order = list(dict.fromkeys(GROUPS.values()))
    raw.sort(key=lambda each: order.index(each[0]))
    raw += _own(job)
    entries = tuple(
        Entry(group, row, name, value, grade, found.numbers(texts), texts)
        for group, row, name, value, grade, texts in raw
    )
    cautions = tuple((each.id, found.numbers(each.sources)) for each in setup.cautions)
    return Cited(entries, tuple(found.told), cautions)


def cited_json(found: Cited, cautions: Iterable[Caution]) -> dict[str, Any]:
    """Return every number and caution with its sources in full, and the numbers by which paper cites them."""
    refs = dict(found.cautions)
    return {
        "numbers": [
            {
                "name": told(each.name),
                "value": told(each.value),
                "grade": each.grade,
                "cited": each.sources,
                "sources": each.texts,
            }
            for each in found.entries
        ],
        "cautions": [
            {"id": each.id, "text": told(each.text), "cited": refs[each.id], "sources": each.sources}
            for each in cautions
        ],
    }


def entries_of(table: str, key: str, value: Any, place: str = "") -> Iterator[tuple[str, Mapping[str, Any]]]:
    """Yield the graded numbers of a row, or lists of them, and where each stands in it."""
    if not isinstance(value, dict) or (table, key) == ("cautions", "caution"):
        return
    if "grade" in value and ("value" in value or isinstance(value.get("values"), list)):
        yield place, value
        return
    for part, each in value.items():
        yield from entries_of(table, key, each, f"{place}.{part}".lstrip("."))


def _is_this(place: str, placement: Placement) -> bool:
    """Tell whether what stands there is for this end and native size."""
    face = placement.interface
    parts = place.split(".")
    if place in ("chainstay", "seatstay", "fork-leg"):
        return place in MEETING[face.end]
    if parts[0] in ("front", "rear") or (len(parts) > 1 and parts[1] in ("front", "rear")):
        return face.end in parts[:2]
    if parts[0] in ("at", "near_radius", "turned"):
        return parts[1] == f"{face.native:g}"
    if parts[-1] in ("M5", "M6"):
        return parts[-1] == face.hole.screw
    return True


def _row_name(row: Mapping[str, Any]) -> str:
    """Return what a name may say of its row: a screw's or a material's name, letters of a fit, a wheel."""
    if "letters" in row:
        return f"{row['letters']}, {row['over']:g}–{row['to']:g}"
    found = row.get("name") or row.get("wheel") or row.get("materials") or ""
    return ", ".join(found) if isinstance(found, list) else str(found)


def _shown(entry: Mapping[str, Any], unit: str) -> Say | str:
    """Return a value with its unit, its tolerance and its band."""
    scale = 100.0 if unit == "%" else 1.0
    if "values" in entry:
        return _with(", ".join(f"{each * scale:g}" for each in entry["values"]), unit)
    shown = f"{entry['value'] * scale:.7g}"
    if entry.get("tolerance") is not None:
        shown = f"{shown} ±{entry['tolerance'] * scale:g}"
    low, high = entry.get("low"), entry.get("high")
    if low is None or high is None:
        return _with(shown, unit)
    bare, least = shown, f"{low * scale:g}"
    if unit == "mm":
        bare, least = of_text(bare, "bare"), of_text(least, "bare")
    return say("number.band", value=bare, low=least, high=_with(f"{high * scale:g}", unit))


def _with(shown: str, unit: str) -> str:
    if unit == "mm":
        return of_text(shown)
    unit = "mm" if unit == METRIC else unit
    return f"{shown}{'' if unit == '°' else ' '}{unit}".rstrip()


def _of_caution(caution: Caution) -> Iterator[tuple[Any, ...]]:
    """Yield the numbers of a caution; one that is given in a second unit is listed once."""
    values = dict(caution.values)
    for key, value in values.items():
        if any(key.endswith(end) for end in _SECOND_UNIT):
            continue
        again = next((values[f"{key}{end}"] for end in _SECOND_UNIT if f"{key}{end}" in values), None)
        shown = str(value) if again is None else f"{value} ({again})"
        text = str(value.number.source)
        if value.edition and value.edition not in text:
            dated = next((each for each in caution.sources if each.startswith(citation(text))), text)
        else:
            dated = text
        said = say(f"number.cautions.{caution.id.replace('-', '_')}.{key}")
        yield "cautions", ("cautions", caution.id), said, shown, value.number.grade, (dated,)


_OWN_ROW = ("near", "far", "spacing", "h", "x_near", "x_far", "lateral", "hole", "tolerance")


def _own_row(job: Job, placement: Placement) -> Iterator[tuple[Any, ...]]:
    """Yield the numbers of a row of the builder's own, and those of the table that it was completed with."""
    face, own = placement.interface, job.interface
    if own is None or not face.own:
        return
    row = ("interfaces", "row")
    for key in _OWN_ROW:
        value = getattr(own, key)
        if value is not None:
            band = own.uncertainty.get(key)  # type: ignore[call-overload]
            shown = f"{value:g}" if band is None else f"{value:g} ±{band:g}"
            texts = tuple(each for each in (own.source, own.second_source) if each)
            measured = key in own.uncertainty and own_row(own, face.name).grade == "M"
            grade = "M" if measured else own.grade
            yield "mount", row, say(f"number.own_row.{key}"), _with(shown, "mm"), grade, texts
    boss = job.boss
    lent: tuple[tuple[str, Number | None, Any], ...] = (
        ("lateral", face.lateral, own.lateral),
        ("hole", face.hole.diameter, own.hole),
        ("boss_diameter", face.boss_diameter, boss.diameter),
        ("boss_length", face.boss_length, boss.length),
        ("boss_thickness", face.tab_thickness, boss.thickness),
    )
    for key, number, typed in lent:
        if number is not None and typed is None and isinstance(number.source, str):
            said = say(f"number.interfaces.row.{key}", row=face.name)
            yield "mount", row, said, _with(f"{number.value:g}", "mm"), number.grade, (number.source,)


def _replaced(job: Job) -> Iterator[tuple[str, str, str]]:
    """Yield the tables' numbers that the job has its own for, or no use: table, key, name in number.toml."""
    boss, clearance, load = job.boss, job.clearance, job.load
    for key in ("diameter", "length", "thickness"):
        if getattr(boss, key) is not None:
            yield "interfaces", "row", f"boss_{key}"
    if job.axle.pocket is not None:
        yield "axles", "axle", "pocket"
    if job.axle.heads is not None:
        yield from (("caliper", "bolts", key) for key in ("circle", "head", "height"))
    if job.caliper is not None:
        given = job.caliper.model_dump(exclude_none=True)
        yield from (("caliper", "room", key) for key in given)
        if job.caliper.pad_height is not None:
            yield "caliper", "pads", "height"
        if job.caliper.track is not None:
            yield "interfaces", "disc", "track"
    for key, value in clearance.model_dump(exclude_none=True).items():
        if value is not None:
            yield "caliper", "limits", key
            yield "caliper", "limits", f"{key}_least"
    loads = {
        "mass": "kind",
        "deceleration": "end",
        "share": "end",
        "wheel": "rest",
        "friction": "rest",
        "ratio": "rest",
    }
    yield from (("loads", table, key) for key, table in loads.items() if getattr(load, key) is not None)
    # How the other end's tube stands, and what forks make of their test, is nothing to this one.
    rear, stance = job.mount.end == "rear", job.stance
    if rear or stance.leg is not None or stance.head is not None:
        yield from (("loads", "stance", key) for key in ("leg_least", "leg_most"))
    if not rear or stance.chainstay is not None:
        yield from (("loads", "stance", key) for key in ("chainstay_least", "chainstay_most"))
    if rear:
        yield "strength", "fatigue", "ordinary"


_MOST_ROWS = 12
"""Rows of numbers that are listed one by one; the job file that is attached has all."""
OWN_TABLES = (
    *("mount", "axle", "dropout", "stance", "tubes", "boss"),
    *("process", "bench", "caliper", "clearance", "load", "wrap"),
)
"""The tables of a job whose numbers are listed as the builder's own; a row of his own is the mount's."""


def _own(job: Job) -> Iterator[tuple[Any, ...]]:
    """Yield the numbers that the job's author typed."""
    for name in OWN_TABLES:
        yield from _typed(name, getattr(job, name), "")


def _typed(table: str, value: Any, row: str) -> Iterator[tuple[Any, ...]]:
    if not isinstance(value, Table):
        return
    for key in type(value).model_fields:
        each = getattr(value, key)
        if key not in value.model_fields_set or each is None:
            continue
        if isinstance(each, Table):
            yield from _typed(table, each, key)
        elif shown := _own_value(each, unit_of("own", table, key)):
            said = say(f"number.own.{table}.{key}", row=say(f"name.{row}") if row else "")
            yield "own", ("own", table), said, shown, "own", ()


def _own_value(value: Any, unit: str) -> Say | str:
    """Return a typed number, or numbers, as they are shown; "" for what is none."""
    if isinstance(value, bool | str):
        return ""
    if isinstance(value, int | float) and unit == "mm":
        return measured(value, "g mm")
    if isinstance(value, int | float):
        return _with(f"{value * (100.0 if unit == '%' else 1.0):g}", unit)
    if isinstance(value, tuple) and len(value) > _MOST_ROWS:
        return say("number.rows", count=len(value))
    if isinstance(value, tuple) and value and all(isinstance(each, tuple) for each in value):
        stations = (": ".join((f"{s:g}", " × ".join(f"{each:g}" for each in wide))) for s, *wide in value)
        return _with("; ".join(stations), unit)
    if isinstance(value, tuple) and value and all(isinstance(each, int | float) for each in value):
        counts = {each: value.count(each) for each in value}
        if unit == "mm" and units() != "mm":
            inches = ((measured(each, "g bare"), count) for each, count in counts.items())
            return ", ".join(one if count == 1 else f"{count} × {one}" for one, count in inches)
        several = (f"{each:g}" if count == 1 else f"{count} × {each:g}" for each, count in counts.items())
        return _with(", ".join(several), unit)
    return ""
