"""A row learned from readings on a mount that works, set beside every shipped row of its family."""

import re
from collections.abc import Mapping
from datetime import date
from pathlib import Path
from typing import Any, get_args

from geometry.core.errors import InputError, Problem, RefusedError
from geometry.core.frozen import dataclass
from geometry.core.say import Say, named, say
from geometry.survey.adapted import check_adapter, without_adapter
from geometry.survey.fits import Fitting, Place, fitting
from geometry.survey.learn import Compared, Learned, Tools, compare, learn
from geometry.survey.learn_readings import Kind, kinds
from geometry.tables.axles import End
from geometry.tables.interface_rows import Family
from geometry.tables.interfaces import Interface, resolve, rows
from sheets.job import limits
from sheets.job import toml as toml_text
from sheets.job.limits import Range
from sheets.job.operations import CHECK_POINTS
from sheets.job.units import given, length, plain, unquoted
from sheets.words import fits as fit_words
from sheets.words.tell import nearest, tell, told

MOST = 300
"""Readings that are taken: ten of every distance."""
# What no caliper used here shows: both common practice, no source.
_SHOWN = Range(length, 0.5, 260, "mm")
_STEP = Range(length, 0.001, 1, "mm")
_TEXTS = ("on", "date", "by")
# A caliper that is further off is mended or thrown away; a pin that is looser falls out of its hole.
_OFF = Range(length, 0, 0.5, "mm")
_PLAY = Range(length, 0, 1, "mm")
_LENGTHS: Mapping[str, Range] = {
    "native": limits.ROTOR,
    "resolution": _STEP,
    "caliper": _OFF,
    "play": _PLAY,
    "hole": limits.HOLE,
    # From the first bicycles with discs to what nobody can have measured yet.
    "year": Range(plain, 1990, 2100, ""),
    # A cold shed and a hot one.
    "temperature": Range(plain, -10, 50, "°C"),
    "adapter": Range(length, -60, 80, "mm"),
}
HEAD = ("family", "end", "native", *_TEXTS, "resolution", "caliper", "play", "hole")
"""What is said before the readings, in order; what comes after `by` may be left out."""
NEEDED = HEAD[:6]
"""What has to be said."""
MORE = ("kind", "maker", "model", "year", "instrument", "temperature", "adapter")
"""What a report says besides, and any readings may: all of it may be left out."""
KINDS = ("frame", "fork", "caliper", "adapter")
"""What can be measured."""
FORMAT, VERSION = "dropleaf-mount-report", 2
"""How a report is known; its version is raised when an older program could not read it. The second says
maker and model."""
_OF_A_REPORT = ("format", "version", "row")
READINGS = "readings"
_WORDS: Mapping[str, tuple[str, ...]] = {"family": get_args(Family), "end": get_args(End), "kind": KINDS}
# A job file names the row, as it names a frame: the same signs.
_NAME = re.compile(r"[A-Za-z0-9_][A-Za-z0-9._-]{0,63}")


@dataclass(frozen=True, slots=True)
class Measured:
    """Readings on a mount, mm, with what was measured, when and by whom; `hole` is its drill, if read.

    `resolution`, `caliper` and `play` are its tools': see geometry.survey.learn.Tools. `kind` of part, its
    `maker`, `model` and `year`, empty or None where unknown, the `instrument` and the `temperature` in
    degrees Celsius go into reports; `by` is empty where nobody signed one. `adapter` is the step of the
    adapter on which the mount was read, mm.
    """

    family: Family
    end: End
    native: float
    on: str
    date: str
    by: str
    readings: tuple[tuple[Kind, float], ...]
    resolution: float | None = None
    caliper: float | None = None
    play: float | None = None
    hole: float | None = None
    kind: str = ""
    maker: str = ""
    model: str = ""
    year: float | None = None
    instrument: str = ""
    temperature: float | None = None
    adapter: float | None = None

    @property
    def source(self) -> str:
        """Return the line that is printed with the numbers."""
        if not self.by:
            return tell("lesson.unsigned", on=self.on, date=self.date)
        return tell("lesson.source", on=self.on, date=self.date, by=self.by)


@dataclass(frozen=True, slots=True)
class Lesson:
    """What readings came to; `shipped` is the row for the same mount and size, None where there is none.

    `fitting` is how near every row of the family lies, at every native size.
    """

    measured: Measured
    learned: Learned
    shipped: Interface | None
    compared: tuple[Compared, ...]
    fitting: Fitting

    @property
    def doubts(self) -> tuple[str, ...]:
        """Return what keeps the row from being saved: readings that contradict, or cannot have been taken."""
        return tuple(told(each) for each in self.learned.doubtful)

    @property
    def questions(self) -> tuple[str, ...]:
        """Return what has to be confirmed before the row is saved: another size fits, or none does."""
        return fit_words.doubts(self.fitting, self.measured.end, self.measured.native)


def document_of(file: Path) -> dict[str, Any]:
    """Return a readings file's document; raise InputError, led by its name, where it cannot be read."""
    usual, folder, pdf = (tell(f"lesson.file.{what}") for what in ("usual", "folder", "pdf"))
    return toml_text.document_in(file, usual, folder=folder, pdf=pdf)


def said(key: str, value: object) -> Any:
    """Return what is said under a key of HEAD, checked; RefusedError with what is allowed."""
    if key in _LENGTHS:
        return _LENGTHS[key](value)
    if key in _WORDS:
        allowed = _WORDS[key]
        word = value.strip().lower() if isinstance(value, str) else value
        if word not in allowed:
            hint = nearest(word, allowed) if isinstance(word, str) else ""
            raise RefusedError(
                say("lesson.not_allowed", given=given(value), hint=hint, allowed=", ".join(allowed))
            )
        return word
    if key == "date" and isinstance(value, date):
        value = value.isoformat()[:10]
    if not isinstance(value, str):
        raise RefusedError(say("lesson.no_text", given=given(value)))
    if key == "date":
        try:
            return date.fromisoformat(value.strip()).isoformat()
        except ValueError as error:
            raise RefusedError(say("lesson.no_date", given=given(value))) from error
    return limits.lettered(value.strip())


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
    if other := _another_kind(document):
        raise InputError.at(where, other)
    report = document.get("format") == FORMAT
    if report:
        made = document.get("version")
        if made is None:
            raise InputError.at(where, say("report.no_version"))
        if not isinstance(made, int) or isinstance(made, bool) or not 1 <= made <= VERSION:
            raise InputError.at(where, say("report.version", given=given(made), version=VERSION))
        # What it came to is worked out anew: a report's own row is for people.
        document = {key: value for key, value in document.items() if key not in _OF_A_REPORT}
    problems: list[Problem] = []
    head: dict[str, Any] = {}
    for key in document:
        if key not in (*HEAD, *MORE, READINGS):
            known_keys = (*HEAD, *MORE, READINGS)
            problems.append(Problem(unquoted(key), say("lesson.no_key", hint=nearest(key, known_keys))))
    head |= {"by": ""} if report else {}
    for key in (*HEAD, *MORE):
        if key in document:
            try:
                head[key] = said(key, document[key])
            except RefusedError as error:
                problems.append(Problem(key, error.what))
        elif key in NEEDED and key not in head:
            problems.append(Problem(key, say("lesson.missing", wanted=wanted(key), key=key)))
    table = document.get(READINGS, {})
    if not isinstance(table, Mapping):
        problems.append(Problem(READINGS, say("lesson.no_table", given=given(table))))
        table = {}
    found: list[tuple[Kind, float]] = []
    if "family" in head and "end" in head:
        known = {kind.key: kind for kind in kinds(head["family"], head["end"])}
        if not any(head["end"] in row.ends and row.family == head["family"] for row in rows().values()):
            problems.append(Problem("family", say("lesson.no_mount", **mount(head["family"], head["end"]))))
        for key, value in table.items():
            if key not in known:
                what = say(
                    "lesson.no_reading",
                    **mount(head["family"], head["end"]),
                    hint=nearest(key, known),
                    known=", ".join(known),
                )
                problems.append(Problem(f"{READINGS}.{unquoted(key)}", what))
                continue
            try:
                found += [(known[key], each) for each in values(known[key], head["family"], value)]
            except RefusedError as error:
                problems.append(Problem(f"{READINGS}.{key}", error.what))
    if len(found) > MOST:
        problems.append(Problem(READINGS, say("lesson.too_many", count=len(found), most=MOST)))
    result = None if problems else Measured(**head, readings=tuple(found))
    if result is not None:
        try:
            limits.lettered(result.source)
        except RefusedError as error:
            problems.append(Problem("on", error.what))
    if problems or result is None:
        raise InputError(*(each.under(where) if where else each for each in problems))
    return result


def _another_kind(document: Mapping[str, Any]) -> Say | None:
    """Return what a document is that was meant for another command, None for any other."""
    if READINGS in document:
        return None
    if "mount" in document or "frame" in document:
        return say("lesson.a_job")
    return say("lesson.for_survey") if set(CHECK_POINTS) & set(document) else None


def wanted(key: str) -> Say:
    """Return what is wanted under a key of HEAD or MORE."""
    return say(f"lesson.wanted.{key}")


def mount(family: Family, end: End) -> dict[str, Say]:
    """Return the names of a mount and of its end, as sentences take them."""
    return {"mount": named(f"{family}-mount"), "end": named(end)}


def lesson(found: Measured) -> Lesson:
    """Return what readings come to; raise InputError where they settle no mount."""
    tools = Tools(found.resolution, found.caliper, found.play)
    step = found.adapter or 0.0
    check_adapter(found.family, found.end, found.native, step)
    learned = learn(found.readings, looked_for(found.family, found.end, found.native + step), tools)
    learned = without_adapter(learned, found.family, found.end, found.native, step)
    bands = {each.key.removesuffix("_radius"): each.band for each in learned.quantities}
    side = None if learned.lateral is None else learned.lateral.value
    place = Place(learned.h.value, learned.x_near.value, learned.x_far.value, bands, side)
    fits = fitting(found.family, found.end, found.native, place)
    if fits.named is None:
        return Lesson(found, learned, None, (), fits)
    row = resolve(fits.named.row, found.end, found.native, found.native)
    return Lesson(found, learned, row, compare(learned.quantities, row), fits)


def looked_for(family: Family, end: End, native: float) -> Interface:
    """Return the shipped row near which a mount is looked for: of its family and end, of the nearest size."""
    found = [
        resolve(name, end, row.nearest(native), native)
        for name, row in rows().items()
        if row.family == family and end in row.ends
    ]
    return min(found, key=lambda each: abs(each.native - native))


def check_new_name(name: str, replaces: bool) -> None:
    """Raise InputError where no row can be kept under a name, whatever is measured.

    `replaces` says that the row shall stand in for the shipped one of that name.
    """
    if _NAME.fullmatch(name) is None:
        raise InputError.at("--save", say("lesson.no_name", given=given(name)))
    if name in rows() and not replaces:
        raise InputError.at("--save", say("lesson.shipped_name", name=name))


def check_name(found: Lesson, name: str) -> None:
    """Raise InputError where a row could not be used under this name: nothing would place it sideways."""
    if found.learned.lateral is None and name not in rows():
        of = found.measured
        shipped = looked_for(of.family, of.end, of.native).name
        raise InputError.at("--save", say("lesson.no_lateral", given=given(name), shipped=shipped))
