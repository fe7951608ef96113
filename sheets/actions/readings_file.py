"""Readings as a builder writes them: from a TOML or CSV file or a filled form, refused where wrong."""

import csv
import io
import re
import tomllib
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from typing import Any

from geometry.core.errors import InputError, Problem, why
from geometry.core.frozen import dataclass
from geometry.core.say import Say, say
from geometry.core.tables import hint
from geometry.survey.limits import numbers
from geometry.survey.model import BEFORE_FACING, Taken
from sheets.files.bounded import blaming, decoded, read_bytes
from sheets.job.operations import CHECK_POINTS
from sheets.job.units import bare, given, length
from sheets.words.lengths import Units
from sheets.words.lengths import units as now
from sheets.words.tell import tell

MOST = 300
"""Readings taken of one check point: more are a slip, and would be slow to sift."""
KEPT = ".readings"
"""What the name of a file ends with that keeps what was typed at the desk."""
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

    where: Say | str
    point: str
    name: str
    value: object


@dataclass(frozen=True, slots=True)
class Read:
    """Readings by check point, mm, in the order given, and notes on how some were read."""

    rows: Mapping[str, tuple[Row, ...]]
    notes: tuple[str, ...]


def entries_of(path: Path) -> tuple[Entry, ...]:
    """Return the entries of a file of readings, TOML or CSV by its ending; InputError where it is neither.

    What was typed at the desk is kept as TOML too, in a file that is not taken for a job.
    """
    ending = path.suffix.lower()
    if ending not in (".toml", KEPT, ".csv"):
        raise InputError.at(str(path), say("reading.file.ending"))
    text = _text(path)
    return _csv(path, text) if ending == ".csv" else _toml(path, text)


def form_entries(path: Path, values: Mapping[str, str], units: Units = "mm") -> tuple[Entry, ...]:
    """Return the entries of a filled form, by its fields' names: reading.POINT.NAME.

    Several readings in one field stand apart by a semicolon. `units` are those that its sheet was told in: a
    bare number is inches where that asked for inches alone, and mm else.
    """
    found = []
    for field, text in values.items():
        if field.startswith(FIELD):
            point, _, name = field.removeprefix(FIELD).partition(".")
            parts = (with_unit(part, units) for part in re.split(r"[;\n]", text))
            found += [Entry(f"{path}: {field}", point, name, part) for part in parts]
    return tuple(found)


def with_unit(text: str, units: Units) -> str:
    """Return what was written where inches alone are asked for, with its unit if it has none."""
    return f"{text.strip()} in" if units == "in" and bare(text) else text


def with_point(text: str) -> str:
    """Return a number that was written with a decimal comma, and perhaps a unit, with a point."""
    return text.replace(",", ".") if _COMMA.fullmatch(text) else text


def read(entries: Iterable[Entry], takeable: Sequence[Taken], left_out: Mapping[str, Say]) -> Read:
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
                left = tell("reading.file.left_out", where=entry.where, why=left_out[key])
                notes += [left] if _given(entry.value) else []
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
        Problem(point, say("reading.file.too_many", count=len(each), most=MOST))
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
        raise InputError.at(entry.where, no_point(entry.point))
    key = _key(entry.name)
    if key not in known:
        listed = hint(key, known) or say("reading.file.known", names=", ".join(known))
        what = say("reading.file.no_reading", name=given(entry.name), hint=listed)
        raise InputError.at(entry.where, what)
    if not _given(entry.value):
        return None
    if not taken_at(known[key], entry.point):
        code = "reading.file.before_facing" if entry.point in BEFORE_FACING else "reading.file.after_facing"
        raise InputError.at(entry.where, say(code, reading=key, point=entry.point))
    value, note = value_of(known[key], entry.value, entry.where)
    return known[key], value, note


def no_point(name: str) -> Say:
    """Return that there is no check point of a name, and which there are."""
    points = ", ".join(CHECK_POINTS)
    return say("reading.file.no_point", name=given(name), hint=hint(name, CHECK_POINTS), points=points)


def _key(name: str) -> str:
    return re.sub(r"[^a-z0-9]+", "-", name.lower()).strip("-")


def _given(value: object) -> bool:
    return not isinstance(value, str) or bool(value.strip())


def taken_at(taken: Taken, point: str) -> bool:
    """Tell whether a reading is taken at a check point: stock for facing is there before, and gone after."""
    stage = taken.reading.stage
    return stage == "" or (stage == "before") == (point in BEFORE_FACING)


def value_of(taken: Taken, value: object, where: Say | str) -> tuple[float, str]:
    """Return a reading in mm and a note on how it was read, or ""; InputError, led by `where`, as `read`."""
    note = ""
    if isinstance(value, str) and (text := value.strip()) != (value := with_point(text)):
        note = tell("reading.file.comma", where=where, text=given(text), value=value)
    try:
        found = length(value)
    except ValueError as error:
        raise InputError.at(where, why(error)) from error
    _refuse_slip(taken, found, where)
    return found, note


def _refuse_slip(taken: Taken, value: float, where: Say | str) -> None:
    """Raise InputError for a value that cannot have been read on a mount set to the sheet."""
    wanted, most = taken.reading.nominal, numbers()["test.slip"].value
    off = abs(value - wanted)
    inch = abs(value * _INCH - wanted)
    if off <= most and not (off > _ODD and inch < _NEAR):
        return
    shown = say("reading.file.far_off", value=value, wanted=wanted, off=off)
    what = say("reading.file.slip", shown=shown, most=most)
    if abs(value / _INCH - wanted) < min(off, most):
        what = say(f"reading.file.in_mm.{now()}", shown=shown, value=value / _INCH)
    if inch < min(off, most):
        what = say("reading.file.in_inches", shown=shown, value=value)
    raise InputError.at(where, what)


def _text(path: Path) -> str:
    raw = read_bytes(path, say("reading.file.usual_size"), folder=say("reading.file.the_file"))
    with blaming(path):
        return decoded(raw, "files.not_utf8_save")


def _line(path: Path, number: int) -> Say:
    return say("tell.under", place=str(path), where=say("files.line", line=number))


def _toml(path: Path, text: str) -> tuple[Entry, ...]:
    try:
        document: dict[str, Any] = tomllib.loads(text)
    except (ValueError, RecursionError) as error:
        comma = re.search(r"=\s*[0-9]+,[0-9]", text)
        code = "reading.file.not_toml_comma" if comma else "reading.file.not_toml"
        raise InputError.at(str(path), say(code, reason=str(error))) from error
    found: list[Entry] = []
    problems: list[Problem] = []
    for point, table in document.items():
        if not isinstance(table, Mapping):
            what = say("reading.file.no_table", given=given(table))
            problems.append(Problem(f"{path}: {given(point)[1:-1]}", what))
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
        raise InputError.at(str(path), say("reading.file.not_csv", reason=str(error))) from error
    columns = [each.strip().lower() for each in rows[0]] if rows else []
    wrong = [each for each in columns if each not in _COLUMNS]
    lacking = [each for each in _COLUMNS[:3] if each not in columns]
    if wrong or lacking or len(set(columns)) < len(columns):
        none = say("reading.file.no_columns")
        what = say("reading.file.columns", columns=", ".join(columns) or none)
        raise InputError.at(_line(path, 1), what)
    found: list[Entry] = []
    problems: list[Problem] = []
    for number, row in enumerate(rows[1:], 2):
        where = _line(path, number)
        if not any(each.strip() for each in row):
            continue
        if len(row) > len(columns):
            what = say("reading.file.too_wide", count=len(row), wanted=len(columns))
            problems.append(Problem(where, what))
            continue
        cell = dict(zip(columns, (each.strip() for each in row), strict=False))
        value = cell.get("value", "")
        unit = cell.get("unit", "")
        point, name = cell.get("point", ""), cell.get("reading", "")
        found.append(Entry(where, point, name, f"{value} {unit}".strip() if value else ""))
    if problems:
        raise InputError(*problems)
    return tuple(found)
