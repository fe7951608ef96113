"""What a job says and may say: every key of the schema as an entry, with its value as it is typed."""

import copy
import re
import tomllib
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

from geometry.core.errors import InputError
from geometry.core.frozen import dataclass
from geometry.core.say import say
from sheets.actions.readings_file import with_unit
from sheets.guide.bench_questions import QUESTIONS
from sheets.guide.explain import is_length, keys, kind
from sheets.guide.job_text import listed_text, value_text
from sheets.guide.lengths import Shape, in_file, joined, units_of
from sheets.guide.lengths import each as each_length
from sheets.guide.lengths import shown as shown_so
from sheets.guide.mount_questions import with_axle_kind
from sheets.guide.question import Question, yes_or_no
from sheets.home.toml_file import Place, document_of, put_value, with_value
from sheets.job.toml import written as as_toml
from sheets.words.lengths import Units
from sheets.words.measures import letter
from sheets.words.tell import nearest, reason

LEAVE_OUT = "-"
_SHOWN = 60
"""Characters of a value that are listed."""


@dataclass(frozen=True, slots=True)
class Entry:
    """One thing that a job says, or may say: key, place, and value as it is typed, "" for not given.

    One that is `rare` is not given, and no question asks for it.
    """

    key: str
    place: Place
    value: str
    question: Question | None
    units: Units = "mm"

    @property
    def shape(self) -> Shape:
        """Return how it holds lengths: a key that no question has may be one length."""
        if self.question is not None:
            return self.question.lengths
        return "place" if ".place." in self.key else "one" if is_length(self.key) else ""

    @property
    def rare(self) -> bool:
        """Tell whether it is listed by its key alone."""
        return not self.value and (self.question is None or self.place[-1] == "diameters")

    @property
    def line(self) -> str:
        """Return it for the list."""
        mark = letter(self.key)
        name = f"{self.key} ({mark})" if mark else self.key
        value = shown_so(self.shape, self.value, self.units) if self.value else ""
        value = value if len(value) <= _SHOWN else f"{value[:_SHOWN]}..."
        return f"{name}: {value or 'not given'}"


def entries(document: Mapping[str, Any]) -> list[Entry]:
    """Return what a job says, in its own order, then the questions that come up and have no answer yet.

    Last comes each key of the schema that is neither; a tube that is not there has its first place there.
    """
    questions = {question.key: question for question in QUESTIONS}
    found = [Entry(key, place, value, questions.get(key)) for key, place, value in _leaves(document, (), "")]
    answers = answers_of(found)
    given = {each.key for each in found}
    tubes = {each.place[1] for each in found if each.place[0] == "tubes" and len(each.place) > 1}
    for key, question in questions.items():
        if key in given or key in ("axle.kind", "other.stay") or not question.when({**answers, key: "0"}):
            continue
        place: Place = tuple(key.split("."))
        if place[0] == "tubes" and place[1] not in tubes:
            # A tube that is not there at all begins with its first place, below.
            continue
        if ".place." in key:
            place = ("tubes", place[1], "diameters", int(place[3]) - 1)
        found.append(Entry(key, place, "", question))
    listed = {each.key for each in found}
    tables = {key[: match.start()] for key in listed for match in re.finditer(r"\.", key)}
    for key in keys():
        place = tuple(key.split("."))
        if place[-1] == "diameters":
            key = f"tubes.{place[1]}.place.1"
            found += [] if key in listed else [Entry(key, place, "", questions[key])]
            continue
        if key not in listed and key not in tables:
            found.append(Entry(key, place, "", None))
    units = units_of(answers)
    return found if units == "mm" else [_told_in(each, units) for each in found]


def _told_in(entry: Entry, units: Units) -> Entry:
    """Return an entry of a job that tells these units; where questions ask for inches its bare mm say so."""
    marked = each_length(entry.shape, entry.value, lambda one: in_file(one, units))
    return replace(entry, value=marked if units == "in" and entry.value else entry.value, units=units)


def _leaves(node: Any, place: Place, key: str) -> Iterator[tuple[str, Place, str]]:
    for name, value in node.items():
        here, at = (f"{key}.{name}" if key else name), (*place, name)
        if isinstance(value, dict):
            yield from _leaves(value, at, here)
        elif name == "diameters" and _is_places(value):
            for i, station in enumerate(value):
                sizes = " x ".join(str(each) for each in station[1:])
                yield f"{key}.place.{i + 1}", (*at, i), f"{station[0] if station else ''}: {sizes}"
        elif isinstance(value, list) and value and not any(isinstance(each, dict | list) for each in value):
            yield here, at, joined([str(each) for each in value])
        elif isinstance(value, str | int | float) and not isinstance(value, bool):
            yield here, at, str(value)
        else:
            yield here, at, as_toml(value) if isinstance(value, bool | list) else str(value)


def _is_places(value: object) -> bool:
    """Tell whether diameters are a list of places; what else was written by hand is shown as a whole."""
    return isinstance(value, list) and bool(value) and all(isinstance(each, list) for each in value)


def answers_of(found: list[Entry]) -> dict[str, str]:
    """Return the answers that entries are, by question."""
    answers = with_axle_kind({each.key: each.value for each in found if each.value})
    stays = sum(f"tubes.{tube}.place.1" in answers for tube in ("chainstay", "seatstay"))
    return {**answers, "other.stay": "yes" if stays > 1 else "no"}


def values(file: Path, text: str) -> dict[str, str]:
    """Return all that a job says by key, as its file has it."""
    return {key: value for key, _, value in _leaves(document_of(file, text), (), "")}


def set_by_key(file: Path, text: str, key: str, answer: str, filed: bool = False) -> str:
    """Return a job's text with one answer exchanged; a bare length of one that was `filed` is mm.

    Raise InputError for a key that the job cannot have and for what cannot be read.
    """
    listed = entries(document_of(file, text))
    entry = entry_of(listed, key)
    if filed and entry.units == "in":
        answer = each_length(entry.shape, answer, lambda one: in_file(one, "in"))
    try:
        return with_entry(file, text, entry, answer, answers_of(listed))
    except ValueError as error:
        raise InputError.at(key, reason(error)) from error


def document_with(document: dict[str, Any], key: str, answer: str) -> dict[str, Any]:
    """Return a job's document with one answer exchanged, as `set_by_key` does to its text, and far faster."""
    listed = entries(document)
    entry = entry_of(listed, key)
    try:
        value = _toml(entry, answer, answers_of(listed))
    except ValueError as error:
        raise InputError.at(key, reason(error)) from error
    if value or entry.value:
        document = copy.deepcopy(document)
        new = tomllib.loads(f"value = {value}")["value"] if value else None
        try:
            put_value(document, entry.place, new, dict)
        except (TypeError, LookupError) as error:
            # What should be a table is none.
            raise InputError.at(key, say("own.file.by_hand", key=key, name="")) from error
    return document


def entry_of(listed: Sequence[Entry], key: str) -> Entry:
    """Return the entry of a key; raise InputError, with the nearest one, where a job cannot have it."""
    entry = next((each for each in listed if each.key == key), None)
    if entry is None:
        raise InputError.at(key, f"this job has no such answer{nearest(key, [each.key for each in listed])}")
    return entry


def with_entry(file: Path, text: str, entry: Entry, answer: str, answers: Mapping[str, str]) -> str:
    """Return a job's text with another answer in an entry, "" or - takes it out.

    Raise ValueError where the answer cannot be read, InputError where the file cannot be changed so.
    """
    value = _toml(entry, answer, answers)
    if not value and not entry.value:
        return text
    return with_value(file, text, entry.place, value)


def _toml(entry: Entry, answer: str, answers: Mapping[str, str]) -> str:
    """Return an answer as TOML, "" for one that is to be left out; ValueError where it cannot be read."""
    if answer in ("", LEAVE_OUT):
        return ""
    if entry.question is not None:
        # The kind of axle is told by the axle itself, so that another kind may be chosen.
        own = (entry.key, "axle.kind") if entry.key == "axle.system" else (entry.key,)
        others = {key: value for key, value in answers.items() if key not in own}
        text = value_text(entry.key, entry.question.read(answer, others))
        return f"[{text}]" if entry.place[-1] == "diameters" else text
    if ".place." in entry.key:
        return value_text(entry.key, answer)
    sort = kind(entry.key)
    if sort == "text":
        return as_toml(answer)
    if sort == "flag":
        said = {"true": "yes", "false": "no"}.get(answer.lower(), answer)
        return "true" if yes_or_no(said, answers) == "yes" else "false"
    if entry.shape == "one" and (kept := with_unit(answer, entry.units)) != answer:
        return as_toml(kept)
    if sort == "list" and not answer.lstrip().startswith("["):
        return listed_text(answer)
    try:
        value = tomllib.loads(f"value = {answer}")
    except ValueError:
        return as_toml(answer)
    return answer if len(value) == 1 and "\n" not in answer else as_toml(answer)
