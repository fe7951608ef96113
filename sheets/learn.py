"""A row learned from readings on a mount that works, set beside the shipped row and written out."""

import json
import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any, get_args

from pydantic import TypeAdapter, ValidationError

from geometry.axles import End
from geometry.errors import InputError, Problem
from geometry.interfaces import Family, Interface, natives, resolve, rows
from geometry.learn import Compared, Learned, compare, learn
from geometry.learn_readings import Kind, kinds
from geometry.tables import nearest
from sheets import limits, toml_text
from sheets.job import blaming
from sheets.limits import Lettered, Range
from sheets.units import given, length

LARGEST = 256_000
"""Bytes in the largest file of readings that is read; a full one takes about 1,000."""
MOST = 300
"""Readings that are taken: ten of every distance."""
# What no caliper used here shows: both common practice, no source.
_SHOWN = Range(length, 0.5, 260, "mm")
_STEP = Range(length, 0.001, 1, "mm")
_TEXTS = ("on", "date", "by")
_LENGTHS: Mapping[str, Range] = {"native": limits.ROTOR, "resolution": _STEP, "hole": limits.HOLE}
HEAD = ("family", "end", "native", *_TEXTS, "resolution", "hole")
"""What is said before the readings, in order; resolution and hole may be left out."""
NEEDED = HEAD[:6]
"""What has to be said."""
READINGS = "readings"
# A job file names the row, as it names a frame: the same signs.
_NAME = re.compile(r"[A-Za-z0-9_][A-Za-z0-9._-]{0,63}")


@dataclass(frozen=True, slots=True)
class Measured:
    """Readings on a mount, mm, with what was measured, when and by whom; `hole` is its drill, if read."""

    family: Family
    end: End
    native: float
    on: str
    date: str
    by: str
    readings: tuple[tuple[Kind, float], ...]
    resolution: float | None = None
    hole: float | None = None

    @property
    def source(self) -> str:
        """Return the line that is printed with the numbers."""
        return f"measured on {self.on}, {self.date}, by {self.by}"


@dataclass(frozen=True, slots=True)
class Lesson:
    """What readings came to; `shipped` is the row for the same mount and size, None where there is none."""

    measured: Measured
    learned: Learned
    shipped: Interface | None
    compared: tuple[Compared, ...]

    @property
    def doubts(self) -> tuple[str, ...]:
        """Return what keeps the row from being saved: readings that contradict each other."""
        return self.learned.doubtful


def document_of(file: Path) -> dict[str, Any]:
    """Return a readings file's document; raise InputError, led by its name, where it cannot be read."""
    try:
        with file.open("rb") as stream:
            raw = stream.read(LARGEST + 1)
    except FileNotFoundError as error:
        raise InputError.at(str(file), "there is no such file") from error
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or error
        raise InputError.at(str(file), f"it cannot be read: {reason}") from error
    with blaming(file):
        toml_text.no_pdf(raw, "give a file of readings, a TOML text; see dropleaf learn --help")
    if len(raw) > LARGEST:
        raise InputError.at(str(file), f"larger than {LARGEST // 1000} kB; a full one takes about 1 kB")
    with blaming(file):
        return toml_text.document(raw)


def said(key: str, value: object) -> Any:
    """Return what is said under a key of HEAD, checked; ValueError with what is allowed."""
    if key in _LENGTHS:
        return _LENGTHS[key](value)
    if key in ("family", "end"):
        allowed = get_args(Family if key == "family" else End)
        word = value.strip().lower() if isinstance(value, str) else value
        if word not in allowed:
            hint = nearest(word, allowed) if isinstance(word, str) else ""
            raise ValueError(f"{given(value)} given{hint}; allowed: {', '.join(allowed)}")
        return word
    if key == "date" and isinstance(value, date):
        value = value.isoformat()[:10]
    if not isinstance(value, str):
        raise ValueError(f"{given(value)} given; a text in quotes is wanted")
    if key == "date":
        try:
            return date.fromisoformat(value.strip()).isoformat()
        except ValueError as error:
            raise ValueError(f"{given(value)} given; a date is wanted, such as 2026-01-31") from error
    try:
        return str(TypeAdapter(Lettered).validate_python(value.strip()))
    except ValidationError as error:
        raise ValueError(error.errors()[0]["msg"].removeprefix("Value error, ")) from error


def values(kind: Kind, family: Family, value: object) -> tuple[float, ...]:
    """Return the readings under a key, mm: a number, a text such as "52.6; 52.65", or a list of either."""
    listed = value if isinstance(value, list) else value.split(";") if isinstance(value, str) else [value]
    allowed = _range(kind, family)
    return tuple(allowed(each) for each in listed if not (isinstance(each, str) and not each.strip()))


def _range(kind: Kind, family: Family) -> Range:
    """Return what a reading may be."""
    known = {
        "axle": limits.DUMMY,
        "pin": limits.PIN,
        "pocket": limits.POCKET,
        "width": limits.TAB if family == "tab" else limits.BOSS_DIAMETER,
        "along-near": limits.ALONG,
        "along-far": limits.ALONG,
    }
    return limits.LATERAL if kind.key.startswith("side") else known.get(kind.key, _SHOWN)


def measured(document: Mapping[str, Any], where: str = "") -> Measured:
    """Return the readings in a document, whose problems are led by `where`; raise InputError with all."""
    problems: list[Problem] = []
    head: dict[str, Any] = {}
    for key in document:
        if key not in (*HEAD, READINGS):
            problems.append(Problem(key, f"there is no such key{nearest(key, (*HEAD, READINGS))}"))
    for key in HEAD:
        if key in document:
            try:
                head[key] = said(key, document[key])
            except ValueError as error:
                problems.append(Problem(key, str(error)))
        elif key in NEEDED:
            problems.append(Problem(key, f"missing; {MISSING[key]}, here or with --{key}"))
    table = document.get(READINGS, {})
    if not isinstance(table, Mapping):
        problems.append(Problem(READINGS, f"{given(table)} given; a table [readings] is wanted"))
        table = {}
    found: list[tuple[Kind, float]] = []
    if "family" in head and "end" in head:
        known = {kind.key: kind for kind in kinds(head["family"], head["end"])}
        if not any(head["end"] in row["ends"] and row["family"] == head["family"] for row in rows().values()):
            problems.append(Problem("family", f"no {head['family']} mount is known at the {head['end']}"))
        for key, value in table.items():
            if key not in known:
                what = f"no reading on a {head['family']} mount at the {head['end']}{nearest(key, known)}"
                problems.append(Problem(f"{READINGS}.{key}", f"{what}; known: {', '.join(known)}"))
                continue
            try:
                found += [(known[key], each) for each in values(known[key], head["family"], value)]
            except ValueError as error:
                problems.append(Problem(f"{READINGS}.{key}", str(error)))
    if len(found) > MOST:
        problems.append(Problem(READINGS, f"{len(found)} given; {MOST} at most"))
    result = None if problems else Measured(**head, readings=tuple(found))
    if result is not None:
        try:
            TypeAdapter(Lettered).validate_python(result.source)
        except ValidationError as error:
            problems.append(Problem("on", error.errors()[0]["msg"].removeprefix("Value error, ")))
    if problems or result is None:
        raise InputError(*(Problem(f"{where}: {each.where}" if where else each.where, each.what)
                           for each in problems))  # fmt: skip
    return result


MISSING = {
    "family": "tab, post or flat",
    "end": "rear or front",
    "native": "the disc that the mount is made for without adapter, mm",
    "on": "what was measured, such as a frame, a caliper or an adapter",
    "date": "when, such as 2026-01-31",
    "by": "who measured",
    "resolution": "what the caliper shows to, mm",
    "hole": "drill or slot width, mm",
}
"""What each key of HEAD is, in words."""


def lesson(found: Measured) -> Lesson:
    """Return what readings come to; raise InputError where they settle no mount."""
    name = shipped_name(found.family, found.end)
    sizes = natives(name)
    ranged = "path" in rows()[name]
    known = sizes[0] <= found.native <= sizes[-1] if ranged else found.native in sizes
    near = min(max(found.native, sizes[0]), sizes[-1]) if ranged else min(
        sizes, key=lambda size: abs(size - found.native)
    )  # fmt: skip
    row = resolve(name, found.end, near, near)
    learned = learn(found.readings, row, found.resolution)
    return Lesson(found, learned, row if known else None, compare(learned, row) if known else ())


def shipped_name(family: Family, end: End) -> str:
    """Return the name of the shipped row of a family at an end."""
    return next(name for name, row in rows().items() if row["family"] == family and end in row["ends"])


def check_new_name(name: str, replaces: bool) -> None:
    """Raise InputError where no row can be kept under a name, whatever is measured.

    `replaces` says that the row shall stand in for the shipped one of that name.
    """
    if _NAME.fullmatch(name) is None:
        raise InputError.at(
            "--save",
            f"{given(name)} given; allowed are up to 64 letters a to z, digits, - _ and ., beginning with a "
            "letter, digit or _",
        )
    if name in rows() and not replaces:
        raise InputError.at(
            "--save",
            f"{name} is a shipped row; choose another name, or give --replaces for yours to stand in for it",
        )


def check_name(found: Lesson, name: str) -> None:
    """Raise InputError where a row could not be used under this name: nothing would place it sideways."""
    if found.learned.lateral is None and name not in rows():
        shipped = shipped_name(found.measured.family, found.measured.end)
        raise InputError.at(
            "--save",
            f"{given(name)} is no shipped row's name, and no reading places the mount sideways; read side, "
            f"or side-outer and width, or save it as {shipped} with --replaces, to take the shipped lateral",
        )


def up(band: float) -> float:
    """Return a band rounded up to 0.01 mm: a rounded band holds no less than it did."""
    return math.ceil(band * 100.0 - 1e-9) / 100.0


def block(found: Lesson, name: str | None = None, replaces: bool = False) -> str:
    """Return the row as TOML: a job's [interface], or with a `name` a [[row]] of the builder's own table."""
    learned, of = found.learned, found.measured
    head: dict[str, object] = {} if name is None else {"name": name, "end": of.end}
    numbers = {"h": learned.h, "x_near": learned.x_near, "x_far": learned.x_far, "lateral": learned.lateral}
    read = {key: each for key, each in numbers.items() if each is not None}
    pairs = {**head, "family": of.family, "native": of.native}
    pairs |= {key: round(each.value, 3) + 0.0 for key, each in read.items()}
    if of.hole is not None:
        pairs["hole"] = of.hole
    pairs["source"] = of.source
    lines = ["[interface]" if name is None else "[[row]]"]
    lines += [f"{key} = {_toml(value)}" for key, value in pairs.items()]
    bands = ", ".join(f"{key} = {up(each.band)}" for key, each in read.items())
    lines += ['grade = "measured"', f"uncertainty = {{ {bands} }}"]
    lines += ["replaces = true"] if name is not None and replaces else []
    if learned.lateral is None:
        lines.append(
            "# lateral was not measured; without it the shipped row's is used, if that has this name"
        )
    return "\n".join(lines) + "\n"


def _toml(value: object) -> str:
    # A JSON string is a TOML one but for U+007F, which no text here may have.
    return json.dumps(value, ensure_ascii=False)


def change(each: Compared, provisional: bool) -> str:
    """Return what a number learned says of the shipped one, in words."""
    step = f"{each.shipped:.2f}, {each.difference:+.2f}"
    bounds = ""
    if each.low is not None and each.high is not None:
        inside = each.low <= each.measured.value <= each.high
        bounds = f", {'inside' if inside else 'OUTSIDE'} its derived band {each.low:g} to {each.high:g}"
    if each.verdict == "agrees":
        return f"shipped {step}: agrees{bounds}"
    if each.verdict == "within tolerance":
        return f"shipped {step}: within its tolerance ±{each.tolerance:g}{bounds}"
    return f"shipped {step}: {'would change' if provisional else 'DIFFERS'}{bounds}"


def sentences(found: Lesson) -> tuple[str, ...]:
    """Return what is to be said of a row learned: how good it is, and where it and the shipped one differ."""
    learned, row, of = found.learned, found.shipped, found.measured
    how = "assumed, too few repeats to tell" if learned.assumed else "from the readings themselves"
    freedom = "1 degree" if learned.freedom == 1 else f"{learned.freedom} degrees"
    words = [
        f"{freedom} of freedom; one reading's spread {learned.spread:.3f} mm, {how}; caliper's step "
        f"{learned.resolution:g} mm. The caliper's own error, and how far it was held askew, is in no band."
    ]
    if row is None:
        words.append(f"No shipped row is for a {of.family} mount, {of.end}, made for {of.native:g}.")
    else:
        off = [each for each in found.compared if each.verdict == "differs"]
        named = ", ".join(f"{each.measured.name} by {each.difference:+.2f}" for each in off)
        if row.provisional:
            changed = f"would change {named}" if off else "would change nothing beyond the bands"
            words.append(f"The shipped row {row.name} is PROVISIONAL: these readings {changed}.")
        elif off:
            words.append(f"They differ from the shipped row {row.name} beyond the bands: {named}.")
        else:
            words.append(f"They agree with the shipped row {row.name}, grade {row.grade}.")
    if learned.lateral is None:
        words.append("Nothing read settles the lateral: side, or side-outer with width.")
    if learned.mirrored:
        words.append(
            "The same readings fit a near hole on the other side of the axle: read along-near, or near, far "
            "and spacing."
        )
    return (*words, *(f"{each[0].upper()}{each[1:]}." for each in learned.doubtful))


def text(found: Lesson, shown: str) -> str:
    """Return a row learned for a terminal, with the block `shown` at its end."""
    of = found.measured
    beside = {each.measured.name: each for each in found.compared}
    provisional = found.shipped is not None and found.shipped.provisional
    lines = [
        f"A {of.family} mount, {of.end}, made for {of.native:g}: {found.learned.readings} readings, "
        f"{of.source}",
        "",
    ]
    for each in found.learned.quantities:
        said_ = change(beside[each.name], provisional) if each.name in beside else ""
        lines.append(f"  {each.name:<11} {each.value:8.2f} ±{up(each.band):.2f}  {said_}".rstrip())
    lines += [
        "  ± holds the true number in about 95 of 100; mm",
        "",
        *sentences(found),
        "",
        shown.rstrip("\n"),
    ]
    return "\n".join(lines)


def document(found: Lesson, shown: str, saved: Sequence[str] = ()) -> dict[str, Any]:
    """Return a row learned as JSON, mm; `saved` names the file, if any, that it was put into."""
    learned, of, row = found.learned, found.measured, found.shipped
    beside = {each.measured.name: each for each in found.compared}
    numbers = {}
    for each in learned.quantities:
        other = beside.get(each.name)
        numbers[each.name.replace(" ", "_")] = {
            "value": round(each.value, 6) + 0.0,
            "band": round(each.band, 6),
            "shipped": other and round(other.shipped, 6) + 0.0,
            "difference": other and round(other.difference, 6) + 0.0,
            "tolerance": other and other.tolerance,
            "derived_band": [other.low, other.high] if other and other.low is not None else None,
            "verdict": other and other.verdict,
        }
    return {
        "family": of.family,
        "end": of.end,
        "native": of.native,
        "source": of.source,
        "readings": learned.readings,
        "freedom": learned.freedom,
        "spread": round(learned.spread, 6),
        "spread_assumed": learned.assumed,
        "resolution": learned.resolution,
        "numbers": numbers,
        "shipped": row and {"name": row.name, "grade": row.grade, "provisional": row.provisional},
        "doubts": list(learned.doubtful),
        "mirrored": learned.mirrored,
        "sentences": list(sentences(found)),
        "block": shown,
        "saved": next(iter(saved), None),
    }
