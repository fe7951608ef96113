"""What a builder must be told before and after heat: one table of statements, each with source and grade.

A value that is only remembered (grade D) never prints: the statement then stands without the number.
"""

import functools
import re
import unicodedata
from collections.abc import Mapping
from pathlib import Path
from string import Formatter
from typing import Any, Literal

from geometry.core.errors import InputError, TableError
from geometry.core.frozen import dataclass
from geometry.core.say import say
from geometry.core.tables import Grade, Number, load, number, weakest
from geometry.tables.axles import End
from geometry.tables.interface_rows import Family
from geometry.tables.loads import entry

Method = Literal["tig", "fillet-braze", "silver-braze"]
Material = Literal["steel", "stainless", "titanium"]
UNITS = frozenset(
    ("mm", "in", "m", "ft", "m/min", "ft/min", "kPa", "psi", "min", "N", "F", "C", "cycles", "shade", "A")
)
"""The units that a value may have; C and F are temperatures."""
_FILE = Path(__file__).with_name("cautions.toml")
_BAG = re.compile(r"(?<![A-Z])B[\W_]*AG[\W_]*([0-9]+)(?:([A-Z])(?![A-Z]))?")
_BRONZE = re.compile(r"(?<![A-Z])RBCUZN[\W_]*([A-Z])(?![A-Z])")
_ROD = re.compile(r"(?<![A-Z])ER[\W_]*([0-9]+)[\W_]*S[\W_]*(D?[0-9]+)(?![0-9])")
# The cadmium group of the older European and of the ISO designations: remembered, and refused all the same.
_AG3 = re.compile(r"(?<![A-Z])AG[\W_]*3[0-9]{2}(?![0-9])")
_FREE = re.compile(
    r"(?:CADMIUM|\bCD)[\W_]*FREE|FREE[\W_]+(?:OF|FROM)[\W_]+(?:CADMIUM|CD\b)"
    r"|\b(?:NO|NON|WITHOUT)[\W_]*(?:CADMIUM|CD\b)"
)
_UNDATED = ("", "as in force", "none stated")
_CADMIUM = re.compile(r"CADMIUM|(?<![A-Z])CD(?![A-Z])")
# Told apart by the words and alloy names that builders write: common practice, no source.
_MATERIALS: tuple[tuple[Material, str], ...] = (
    ("titanium", r"TITAN|\bTI\b|\bTI[\W_]*[0-9]|[36][\W_]*AL(?![A-Z])"),
    ("stainless", r"STAINLESS|INOX|\b(?:304|316|321|174|155)(?![0-9])"),
    ("steel", r"(?<!STAINLESS )STEEL|CHROM|\bCR[\W_]*MO|4130|25CRMO4"),
)


@dataclass(frozen=True, slots=True)
class Value:
    """A number of the table with its unit and the edition of its source; `where` is its row and name."""

    where: str
    number: Number
    unit: str
    edition: str

    def __str__(self) -> str:
        """Return the value as it prints; shades are bare, Fahrenheit and Celsius bring each other."""
        amount = self.number.value
        if self.unit == "shade":
            return f"{amount:g}"
        if self.unit == "F":
            return f"{amount:g} °F ({(amount - 32.0) / 1.8:.0f} °C)"
        if self.unit == "C":
            return f"{amount:g} °C ({amount * 1.8 + 32.0:.0f} °F)"
        return f"{amount:.0f} {self.unit}" if self.unit == "cycles" else f"{amount:g} {self.unit}"


@dataclass(frozen=True, slots=True)
class Caution:
    """One statement, its sources, and the weakest grade that it rests on.

    `values` are the numbers in it by their names, and `names` what else it names: classes and standards.
    """

    id: str
    group: str
    text: str
    sources: tuple[str, ...]
    grade: Grade
    values: tuple[tuple[str, Value], ...] = ()
    names: tuple[tuple[str, str], ...] = ()

    @property
    def source(self) -> str:
        """Return its sources in one line."""
        return "; ".join(self.sources)


def cautions(
    method: Method | None,
    material: str | None,
    filler: str | None,
    amps: float | None,
    family: Family | None = None,
    end: End | None = None,
) -> tuple[Caution, ...]:
    """Return what the card must say for a process, in reading order: heat first, the last words at the end.

    A fork's tests are told of forks alone, by `end`. None, or a material that is not recognised, leaves
    nothing out. Raise InputError for a filler that holds cadmium, and for a current that is none.
    """
    kinds = material_kinds(material)
    refuse_cadmium(filler)
    found = [_melting(filler)]
    if method in (None, "tig"):
        found.append(_arc_shade(amps))
    for row in _table()["caution"]:
        asked = (("methods", method), ("families", family), ("ends", end))
        fits = all(value is None or value in row.get(key, (value,)) for key, value in asked)
        if fits and not kinds.isdisjoint(row.get("materials", kinds)):
            found.append(_statements()[row["id"]])
    order: list[str] = _table()["order"]
    # The filler's range belongs at the end of what is said of heat, the shade first of what is said of eyes.
    return tuple(sorted(found, key=lambda each: (order.index(each.group), each.id == "filler-range")))


def material_kinds(material: str | None) -> frozenset[Material]:
    """Return which materials a job's words name; every one of them where the words name none."""
    words = re.sub(r"[\W_]+", " ", _plain(material or "").replace("17-4", "174").replace("15-5", "155"))
    found = frozenset(kind for kind, form in _MATERIALS if re.search(form, words))
    return found or frozenset(kind for kind, _ in _MATERIALS)


def refuse_cadmium(filler: str | None) -> None:
    """Raise InputError where a filler's class or words say that it holds cadmium."""
    words = _plain(filler or "")
    bad = {int(digits) for name in _cadmium_classes() for digits in re.findall("[0-9]+", name)}
    hits = [f"BAg-{hit[1]}{(hit[2] or '').lower()}" for hit in _BAG.finditer(words) if int(hit[1]) in bad]
    hits += [hit[0] for hit in _AG3.finditer(words)]
    if hits:
        raise InputError.at("process.filler", say("tables.caution.cadmium_class", filler=hits[0]))
    if _CADMIUM.search(_FREE.sub(" ", words)):
        raise InputError.at("process.filler", say("tables.caution.cadmium"))


def values() -> tuple[Value, ...]:
    """Return every value of the table, for a test or a list of sources."""
    table = _table()
    rows = [value for row in table["caution"] for value in _values(row["id"], row.get("values", {})).values()]
    bands = [_band(i) for i in range(len(table["tig"]["band"]))]
    melts = [value for row in table["melt"] for value in _melt(row).values()]
    return (*rows, *(value for pair in bands for value in pair), *melts)


@functools.cache
def _table() -> dict[str, Any]:
    raw = load(_FILE)
    for row in raw["caution"]:
        _check(row)
        for name, value in row.get("values", {}).items():
            _check_value(f"caution.{row['id']}.{name}", value, raw["editions"])
    return raw


def _check_value(where: str, value: Mapping[str, Any], editions: Mapping[str, str]) -> None:
    """Raise TableError for a value without a unit that is known, or whose source has no edition."""
    if value.get("unit") not in UNITS:
        listed = ", ".join(sorted(UNITS))
        raise TableError.at(where, say("tables.caution.no_unit", unit=str(value.get("unit")), known=listed))
    source = value.get("edition", value.get("source"))
    if source not in editions:
        raise TableError.at(where, say("tables.caution.no_edition", source=str(source)))


def _check(row: dict[str, Any]) -> None:
    """Raise TableError for a statement with a bare number, or a remembered one that would print."""
    graded = {
        name: entry(*raw["load"].split(".")).grade if "load" in raw else raw.get("grade")
        for name, raw in row.get("values", {}).items()
    }
    known = graded.keys() | row.get("names", {}).keys()
    for text in (row["text"], row.get("plain", "")):
        bare = "".join(part for part, *_ in Formatter().parse(text))
        if re.search("[0-9]", bare) or not _fields(text) <= known:
            raise TableError.at(f"caution.{row['id']}", say("tables.caution.bare_number"))
    remembered = {name for name, grade in graded.items() if grade == "D"}
    printed = row.get("plain", row["text"]) if _fields(row["text"]) & remembered else row["text"]
    if _fields(printed) & remembered:
        raise TableError.at(f"caution.{row['id']}", say("tables.caution.no_plain"))


def _fields(text: str) -> set[str]:
    return {name for _, name, _, _ in Formatter().parse(text) if name}


@functools.cache
def _statements() -> dict[str, Caution]:
    """Return the table's statements by their ids: what a process leaves out changes none that it keeps."""
    return {row["id"]: _caution(row) for row in _table()["caution"]}


def _caution(row: dict[str, Any]) -> Caution:
    found = _values(row["id"], row.get("values", {}))
    return _worded(row["id"], row["group"], row, found, row.get("names", {}))


def _worded(
    name: str, group: str, row: Mapping[str, Any], found: Mapping[str, Value], names: Mapping[str, str]
) -> Caution:
    """Return a statement with its values in it, or its plain words where one of them is only remembered."""
    text: str = row["text"]
    if any(found[key].number.grade == "D" for key in _fields(text) if key in found):
        text = row["plain"]
    used = {key: found[key] for key in found if key in _fields(text)}
    listed = _table()["sources"]
    lines = [_dated(listed[row["source"]], _table()["editions"].get(row["source"], ""))]
    lines += [_dated(str(value.number.source), value.edition) for value in used.values()]
    grade = weakest([row["grade"], *(value.number.grade for value in used.values())])
    told = text.format_map({**{key: str(value) for key, value in found.items()}, **names})
    sources = tuple(dict.fromkeys(lines))
    return Caution(name, group, told, sources, grade, tuple(used.items()), tuple(names.items()))


def _dated(source: str, edition: str) -> str:
    # A rule without a year is cited as it stands; a page without one has nothing to add.
    cite, mark, more = source.partition(": ")
    return source if edition in _UNDATED else f"{cite}, {edition}{mark}{more}"


def _values(name: str, raw: Mapping[str, Mapping[str, Any]]) -> dict[str, Value]:
    return {key: _value(f"{name}.{key}", dict(each)) for key, each in raw.items()}


def _value(where: str, raw: dict[str, Any]) -> Value:
    if "load" in raw:
        # The loads' table has it for the tubes as well: one value feeds both.
        found = entry(*raw["load"].split("."))
    else:
        found = number(raw, _table()["sources"], f"caution.{where}", {})
    editions = _table()["editions"]
    _check_value(f"caution.{where}", raw, editions)
    return Value(where, found, raw["unit"], editions[raw.get("edition", raw.get("source"))])


def _melt(row: dict[str, Any]) -> dict[str, Value]:
    shared = {"unit": _table()["filler"]["unit"], "grade": row["grade"], "source": row["source"]}
    ends = [key for key in ("solidus", "liquidus", "low", "high") if key in row]
    return {key: _value(f"{row['name']}.{key}", {"value": row[key], **shared}) for key in ends}


def _melting(filler: str | None) -> Caution:
    """Return what is on file for a filler: its range, its use as a rod, or that nothing is."""
    words, form = _plain(filler or ""), _table()["filler"]
    names = [f"BAg-{int(hit[1])}{(hit[2] or '').lower()}" for hit in _BAG.finditer(words)]
    names += [f"RBCuZn-{hit[1]}" for hit in _BRONZE.finditer(words)]
    names += [f"ER{hit[1]}S-{hit[2]}" for hit in _ROD.finditer(words)]
    melts = {row["name"]: row for row in _table()["melt"]}
    for name in names:
        if name in melts:
            row = melts[name]
            worded = {"text": form["text"] if row["grade"] != "D" else form["plain"], **_cited(row)}
            return _worded("filler-range", "heat", worded, _melt(row), {"name": name})
        if name in form["rods"]:
            worded = {"text": form["rod"], "source": "chromoly", "grade": "C"}
            return _worded("filler-range", "heat", worded, {}, {"name": name})
    told = form["none"] if filler and filler.strip() else form["unnamed"]
    return _worded("filler-range", "heat", {"text": told, "source": "governs", "grade": "D"}, {}, {})


def _cited(row: dict[str, Any]) -> dict[str, Any]:
    return {"source": row["source"], "grade": row["grade"]}


def _band(i: int) -> tuple[Value, Value]:
    """Return a band's upper end in A and its least shade."""
    raw = _table()["tig"]["band"][i]
    end = _value(f"tig.band.{i}.below", {**raw, "value": raw["below"]})
    return end, _value(f"tig.band.{i}.shade", {**raw, "value": raw["shade"], "unit": "shade"})


def _arc_shade(amps: float | None) -> Caution:
    """Return the least shade at a current; at a band's end the darker one, without a current all of them."""
    form = _table()["tig"]
    bands = [_band(i) for i in range(len(form["band"]))]
    cited = _cited(form["band"][0])
    if amps is None:
        (limit, shade), (_, dark) = bands[-2], bands[-1]
        found = {"shade": shade, "limit": limit, "dark": dark}
        return _worded("shade-tig", "eyes", {"text": form["both"], **cited}, found, {})
    if not amps > 0.0:
        raise InputError.at("process.amps", say("tables.caution.no_current", amps=amps))
    for end, shade in bands:
        if amps < end.number.value or (end is bands[-1][0] and amps == end.number.value):
            return _worded("shade-tig", "eyes", {"text": form["text"], **cited}, {"shade": shade}, {})
    top = {"top": bands[-1][0]}
    return _worded("shade-tig", "eyes", {"text": form["none"], **cited}, top, {})


def _cadmium_classes() -> tuple[str, ...]:
    return tuple(name for row in _table()["cadmium"] for name in row["classes"])


def _plain(text: str) -> str:
    """Return a text in capitals, with the look-alikes of ordinary letters and digits made ordinary."""
    return unicodedata.normalize("NFKC", text).upper()
