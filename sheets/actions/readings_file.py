"""Readings as a builder writes them: from a TOML or CSV file or a filled form, refused where wrong."""

import csv
import io
import re
import tomllib
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from geometry.core.errors import InputError, Problem
from geometry.survey.limits import numbers
from geometry.survey.model import BEFORE_FACING, Taken
from sheets.files.bounded import blaming, decoded, read_bytes
from sheets.job.operations import CHECK_POINTS
from sheets.job.units import given, length
from sheets.words.tell import nearest, reason

MOST = 300
"""Readings taken of one check point: more are a slip, and would be slow to sift."""
FIELD = "reading."
"""What the name of a form's field for a reading begins with."""
_COLUMNS = ("point", "reading", "value", "unit")
_INCH = 25.4
_ODD, _NEAR = 3.0, 1.0
"""A value this far off that would be this close in inches was meant in inches: own judgement, mm."""
_COMMA = re.compile(r"\s*[+-]?[0-9]+,[0-9]+\s*[^0-9,]*")
Row = tuple[Taken, float]


@dataclass(frozen=True, slots=True)
class Entry:
    """One reading as written: where it stands, its check point and name, and the value as it was given."""

    where: str
    point: str
    name: str
    value: object


@dataclass(frozen=True, slots=True)
class Read:
    """Readings by check point, mm, in the order given, and notes on how some were read."""

    rows: Mapping[str, tuple[Row, ...]]
    notes: tuple[str, ...]


def entries_of(path: Path) -> tuple[Entry, ...]:
    """Return the entries of a file of readings, TOML or CSV by its ending; InputError where it is neither."""
    ending = path.suffix.lower()
    if ending not in (".toml", ".csv"):
        raise InputError.at(str(path), "not a file of readings; give a .toml or .csv file")
    text = _text(path)
    return _toml(path, text) if ending == ".toml" else _csv(path, text)


def form_entries(path: Path, values: Mapping[str, str]) -> tuple[Entry, ...]:
    """Return the entries of a filled form, by its fields' names: reading.POINT.NAME.

    Several readings in one field stand apart by a semicolon.
    """
    found = []
    for field, text in values.items():
        if field.startswith(FIELD):
            point, _, name = field.removeprefix(FIELD).partition(".")
            found += [Entry(f"{path}: {field}", point, name, part) for part in re.split(r"[;\n]", text)]
    return tuple(found)


def read(entries: Iterable[Entry], takeable: Sequence[Taken], left_out: Mapping[str, str]) -> Read:
    """Return the readings of some entries, mm; an empty value is not measured.

    What `left_out` names, with why no caliper can take it, stands on sheets of before: it is left out here
    too, and a note says so.
    Raise InputError with a line for each problem: a check point or reading that is not known, a reading that
    is not taken then, a value that is no length, or one so far off that it was misread or in another unit.
    """
    known = {each.key: each for each in takeable}
    rows: dict[str, list[Row]] = {}
    notes: list[str] = []
    problems: list[Problem] = []
    for entry in entries:
        try:
            key = _key(entry.name)
            if entry.point in CHECK_POINTS and key in left_out:
                notes += [f"{entry.where} is left out: {left_out[key]}."] if _given(entry.value) else []
                continue
            one = _one(entry, known)
        except InputError as error:
            problems += error.problems
            continue
        if one is None:
            continue
        taken, value, note = one
        notes += [note] if note else []
        rows.setdefault(entry.point, []).append((taken, value))
    problems += [
        Problem(point, f"{len(each)} readings given; at most {MOST} are taken")
        for point, each in rows.items()
        if len(each) > MOST
    ]
    if problems:
        # A list's readings share their place: what is wrong with each alike is told once.
        raise InputError(*dict.fromkeys(problems))
    ordered = {point: tuple(rows[point]) for point in CHECK_POINTS if point in rows}
    return Read(ordered, tuple(dict.fromkeys(notes)))


def _one(entry: Entry, known: Mapping[str, Taken]) -> tuple[Taken, float, str] | None:
    if entry.point not in CHECK_POINTS:
        hint = nearest(entry.point, CHECK_POINTS)
        told = f"{given(entry.point)} is no check point{hint} (known: {', '.join(CHECK_POINTS)})"
        raise InputError.at(entry.where, told)
    key = _key(entry.name)
    if key not in known:
        listed = nearest(key, known) or f" (known: {', '.join(known)})"
        raise InputError.at(entry.where, f"{given(entry.name)} is no reading of this mount{listed}")
    if not _given(entry.value):
        return None
    if not taken_at(known[key], entry.point):
        stock = (
            "stock for facing is still on then"
            if entry.point in BEFORE_FACING
            else "the stock is faced off by then"
        )
        raise InputError.at(
            entry.where, f"{key} is not taken when {entry.point}: {stock}; use its other name"
        )
    value, note = value_of(known[key], entry.value, entry.where)
    return known[key], value, note


def _key(name: str) -> str:
    return re.sub(r"[^a-z0-9]+", "-", name.lower()).strip("-")


def _given(value: object) -> bool:
    return not isinstance(value, str) or bool(value.strip())


def taken_at(taken: Taken, point: str) -> bool:
    """Tell whether a reading is taken at a check point: stock for facing is there before, and gone after."""
    stage = taken.reading.stage
    return stage == "" or (stage == "before") == (point in BEFORE_FACING)


def value_of(taken: Taken, value: object, where: str) -> tuple[float, str]:
    """Return a reading in mm and a note on how it was read, or ""; InputError, led by `where`, as `read`."""
    note = ""
    if isinstance(value, str) and _COMMA.fullmatch(value):
        text = value.strip()
        value = text.replace(",", ".")
        note = f"{where}: {given(text)} is read as {value}."
    try:
        found = length(value)
    except ValueError as error:
        raise InputError.at(where, reason(error)) from error
    _refuse_slip(taken, found, where)
    return found, note


def _refuse_slip(taken: Taken, value: float, where: str) -> None:
    """Raise InputError for a value that cannot have been read on a mount set to the sheet."""
    wanted, most = taken.reading.nominal, numbers()["test slip"].value
    off = abs(value - wanted)
    inch = abs(value * _INCH - wanted)
    if off <= most and not (off > _ODD and inch < _NEAR):
        return
    told = f"{value:g} mm, but about {wanted:.2f} is wanted, {off:.1f} off"
    if inch < min(off, most):
        raise InputError.at(where, f'{told}; this looks like inches: write "{value:g} in"')
    if abs(value / _INCH - wanted) < min(off, most):
        raise InputError.at(where, f"{told}; this looks like mm written as inches: write {value / _INCH:g}")
    raise InputError.at(
        where, f"{told}; more than {most:g} is a slip: read it again, or see which reading this is"
    )


def _text(path: Path) -> str:
    raw = read_bytes(path, "a file of readings takes about 2 kB", folder="the file")
    with blaming(path):
        return decoded(raw, "files.not_utf8_save")


def _toml(path: Path, text: str) -> tuple[Entry, ...]:
    try:
        document: dict[str, Any] = tomllib.loads(text)
    except (ValueError, RecursionError) as error:
        comma = (
            "; decimals stand after a point, or the value in quotes"
            if re.search(r"=\s*[0-9]+,[0-9]", text)
            else ""
        )
        raise InputError.at(str(path), f"not TOML: {error}{comma}") from error
    found: list[Entry] = []
    problems: list[Problem] = []
    for point, table in document.items():
        if not isinstance(table, Mapping):
            told = f"{given(table)} given; readings stand in a table of their check point, such as [cold]"
            problems.append(Problem(f"{path}: {given(point)[1:-1]}", told))
            continue
        for name, value in table.items():
            where = f"{path}: {given(point)[1:-1]}.{given(name)[1:-1]}"
            found += [
                Entry(where, point, name, each) for each in (value if isinstance(value, list) else [value])
            ] or [Entry(where, point, name, "")]
        if not table:
            found.append(Entry(f"{path}: {given(point)[1:-1]}", point, "", ""))
    if problems:
        raise InputError(*problems)
    return tuple(each for each in found if each.name or each.point not in CHECK_POINTS)


def _csv(path: Path, text: str) -> tuple[Entry, ...]:
    lines = text.splitlines()
    head = lines[0] if lines else ""
    mark = next((each for each in (";", "\t") if each in head), ",")
    try:
        rows = list(csv.reader(io.StringIO(text), delimiter=mark, strict=True))
    except csv.Error as error:
        raise InputError.at(str(path), f"not CSV: {error}") from error
    columns = [each.strip().lower() for each in rows[0]] if rows else []
    wrong = [each for each in columns if each not in _COLUMNS]
    lacking = [each for each in _COLUMNS[:3] if each not in columns]
    if wrong or lacking or len(set(columns)) < len(columns):
        raise InputError.at(
            f"{path}: line 1",
            f"columns {', '.join(columns) or 'none'} given; wanted: point, reading, value and perhaps unit",
        )
    found: list[Entry] = []
    problems: list[Problem] = []
    for number, row in enumerate(rows[1:], 2):
        where = f"{path}: line {number}"
        if not any(each.strip() for each in row):
            continue
        if len(row) > len(columns):
            problems.append(
                Problem(where, f"{len(row)} columns, {len(columns)} wanted; put a decimal comma in quotes")
            )
            continue
        cell = dict(zip(columns, (each.strip() for each in row), strict=False))
        value = cell.get("value", "")
        unit = cell.get("unit", "")
        point, name = cell.get("point", ""), cell.get("reading", "")
        found.append(Entry(where, point, name, f"{value} {unit}".strip() if value else ""))
    if problems:
        raise InputError(*problems)
    return tuple(found)
