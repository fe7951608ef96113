"""A job file that is there, opened to change what it says: comments and order stay, and nothing is written
before it is shown what the change does."""

import functools
import tomllib
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from geometry.core.errors import DeliveryError, DropleafError, InputError, Problem
from geometry.core.meant import meant
from sheets.actions.changed import changed_lines
from sheets.actions.check import Checked, report
from sheets.actions.readings_file import with_unit
from sheets.files.bounded import blaming
from sheets.files.write.deliver import staging
from sheets.guide.asking import asked
from sheets.guide.bench_questions import QUESTIONS
from sheets.guide.explain import described, is_length
from sheets.guide.job_text import value_text
from sheets.guide.lengths import UNITS, Shape, bare_is, in_file, joined, units_of
from sheets.guide.lengths import each as each_length
from sheets.guide.lengths import shown as shown_so
from sheets.guide.mount_questions import with_axle_kind
from sheets.guide.question import Question
from sheets.guide.talk import Talk, typed
from sheets.home.jobs import from_bytes
from sheets.home.toml_file import Place, document_of, text_of, with_value
from sheets.job.toml import written as as_toml
from sheets.job.units import given as shown
from sheets.words.lengths import Units, telling
from sheets.words.measures import letter
from sheets.words.tell import lines, nearest, reason

_LEAVE_OUT = "-"
_SHOWN = 60
"""Characters of a value that are listed."""


@dataclass(frozen=True, slots=True)
class Entry:
    """One thing that a job says, or may say: key, place, and value as it is typed, "" for not given."""

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
    def line(self) -> str:
        """Return it for the list."""
        mark = letter(self.key)
        name = f"{self.key} ({mark})" if mark else self.key
        value = shown_so(self.shape, self.value, self.units) if self.value else ""
        value = value if len(value) <= _SHOWN else f"{value[:_SHOWN]}..."
        return f"{name}: {value or 'not given'}"


def entries(document: Mapping[str, Any]) -> list[Entry]:
    """Return what a job says, in its own order, then the questions that come up and have no answer yet."""
    questions = {question.key: question for question in QUESTIONS}
    found = [Entry(key, place, value, questions.get(key)) for key, place, value in _leaves(document, (), "")]
    answers = _answers(found)
    given = {each.key for each in found}
    for key, question in questions.items():
        if key in given or key in ("axle.kind", "other.stay") or not question.when({**answers, key: "0"}):
            continue
        place: Place = tuple(key.split("."))
        if ".place." in key:
            _, tube, _, number = key.split(".")
            place = ("tubes", tube, "diameters", int(number) - 1)
            # A tube that is not there at all is more than one number.
            if place[:2] not in {each.place[:2] for each in found}:
                continue
        if place[0] == "tubes" and place[:2] not in {each.place[:2] for each in found}:
            continue
        found.append(Entry(key, place, "", question))
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
        elif name == "diameters" and isinstance(value, list) and value and isinstance(value[0], list):
            for i, station in enumerate(value):
                sizes = " x ".join(str(each) for each in station[1:])
                yield f"{key}.place.{i + 1}", (*at, i), f"{station[0] if station else ''}: {sizes}"
        elif isinstance(value, list) and value and not any(isinstance(each, dict | list) for each in value):
            yield here, at, joined([str(each) for each in value])
        elif isinstance(value, str | int | float) and not isinstance(value, bool):
            yield here, at, str(value)
        else:
            yield here, at, as_toml(value) if isinstance(value, bool | list) else str(value)


def _answers(found: list[Entry]) -> dict[str, str]:
    answers = with_axle_kind({each.key: each.value for each in found})
    stays = sum(f"tubes.{tube}.place.1" in answers for tube in ("chainstay", "seatstay"))
    return {**answers, "other.stay": "yes" if stays > 1 else "no"}


def changed(
    file: Path, given: Mapping[str, str], talk: Talk | None, show: Callable[[str], None]
) -> Path | None:
    """Change a job file by what is given, then by what is typed; return it, or None where it stays as it was.

    Without a `talk` what is given is written at once; `show` is handed what it does, a line each. Raise
    InputError for a key that the job cannot have and for what cannot be read.
    """
    before = text = text_of(file, "a job file takes about 2 kB", must_be=True)
    problems: list[Problem] = []
    # The units first, since they say what the other answers are.
    for key, answer in sorted(given.items(), key=lambda item: item[0] != UNITS):
        try:
            text = _set_by_key(file, text, key, answer)
        except DropleafError as error:
            problems += error.problems
    if problems:
        raise InputError(*problems)
    if talk is None:
        with blaming(file):
            _checked(file, text)
    for line in _effect(file, before, text) if text != before else ():
        show(f"  {line}")
    if talk is not None:
        text = _talked(file, before, text, talk)
    if text == before:
        return None
    _write(file, before, text)
    return file


def _set_by_key(file: Path, text: str, key: str, answer: str) -> str:
    listed = entries(document_of(file, text))
    entry = next((each for each in listed if each.key == key), None)
    if entry is None:
        hint = nearest(key, [each.key for each in listed])
        raise InputError.at(key, f"this job has no such answer{hint}")
    try:
        return with_value(file, text, entry.place, _toml(entry, answer, _answers(listed)))
    except ValueError as error:
        raise InputError.at(key, reason(error)) from error


def _toml(entry: Entry, answer: str, answers: Mapping[str, str]) -> str:
    """Return an answer as TOML, "" for one that is to be left out; ValueError where it cannot be read."""
    if answer in ("", _LEAVE_OUT):
        return ""
    if entry.question is not None:
        others = {key: value for key, value in answers.items() if key != entry.key}
        return value_text(entry.key, entry.question.read(answer, others))
    if ".place." in entry.key:
        return value_text(entry.key, answer)
    if entry.shape == "one" and (kept := with_unit(answer, entry.units)) != answer:
        return as_toml(kept)
    try:
        value = tomllib.loads(f"value = {answer}")
    except ValueError:
        return as_toml(answer)
    return answer if len(value) == 1 and "\n" not in answer else as_toml(answer)


def _talked(file: Path, before: str, text: str, talk: Talk) -> str:
    """Ask what to change until there is no more, and whether to write it; return the text that is wanted."""
    listed = entries(document_of(file, text))
    talk.say("")
    for line in (f"{file} says:", *_list(listed)):
        talk.say(line)
    while True:
        entry = _asked_for(listed, talk)
        if entry == _NONE:
            if text == before:
                talk.say("Nothing is changed.")
                return before
            if (wrong := _refused(file, text)) and not _again(wrong, talk):
                return before
            if not wrong:
                return text if _agreed(file, talk) else before
            continue
        text = _one(file, before, text, entry, talk)
        listed = entries(document_of(file, text))


def _list(listed: list[Entry]) -> list[str]:
    return [f"{number:>4}  {each.line}" for number, each in enumerate(listed, 1)]


def _asked_for(listed: list[Entry], talk: Talk) -> Entry:
    """Ask which answer is changed; _NONE for no more."""
    talk.say("")
    talk.say("Which do you change?  (its number, letter or key; ? lists them again; Enter: no more)")
    chosen = typed(
        talk,
        "  [no more]",
        lambda word: _which(word, listed),
        back=(),
        explain=lambda: _list(listed),
        means=_means(listed),
    )
    return chosen or _NONE


_NONE = Entry("", (), "", None)


def _which(word: str, listed: list[Entry]) -> Entry:
    if not word:
        return _NONE
    if word.isdigit() and 0 < int(word[:6]) <= len(listed):
        return listed[int(word[:6]) - 1]
    found = [each for each in listed if each.key == word.lower()]
    found = found or [each for each in listed if letter(each.key) == word.upper()]
    found = found or [each for each in listed if word.lower() == each.key.rpartition(".")[2]]
    if len(found) == 1:
        return found[0]
    if found:
        raise ValueError(f"{shown(word)} is one of {', '.join(each.key for each in found)}; give one of them")
    raise ValueError(f"{shown(word)} is not in the list; give a number from 1 to {len(listed)}, or a key")


def _means(listed: list[Entry]) -> Any:
    def means(word: str) -> str:
        keys = [each.key for each in listed]
        lasts = {key.rpartition(".")[2]: key for key in reversed(keys)}
        return meant(word, keys) or lasts.get(meant(word, lasts), "")

    return means


def _one(file: Path, before: str, text: str, entry: Entry, talk: Talk) -> str:
    """Ask for one new value and show what it does; return the text with it, or without where it goes back."""
    answers = _answers(entries(document_of(file, text)))
    if entry.question is not None:
        answer = asked(entry.question, answers, talk)
    else:
        talk.say("")
        unit = f"; {bare_is(entry.units)}" if entry.shape and bare_is(entry.units) else ""
        talk.say(f"{entry.key}?  ({described(entry.key) or 'a value as TOML has it'}{unit}; - takes it out)")
        offered = shown_so(entry.shape, entry.value, entry.units)
        answer = typed(
            talk,
            f"  [{offered or 'not given'}]",
            lambda word: entry.value if word in ("", offered) else word,
        )
    if answer is None or answer == entry.value:
        talk.say("  It stays as it is.")
        return text
    try:
        tried = (
            with_value(file, text, entry.place, _toml(entry, answer, answers))
            if answer or entry.value
            else text
        )
    except InputError as error:
        for line in lines(error):
            talk.say(f"  {line}")
        return text
    except ValueError as error:
        talk.say(f"  {reason(error)}")
        return text
    for line in _effect(file, before, tried):
        talk.say(f"  {line}")
    wrong = _refused(file, tried)
    if wrong and not _again(wrong, talk):
        return text
    return tried


def _effect(file: Path, before: str, text: str) -> list[str]:
    """Return what a change does, or why the job is refused with it."""
    try:
        after = _checked(file, text)
    except DropleafError as error:
        return lines(error)
    try:
        with telling(after.source.job.paper.units):
            return changed_lines(_checked(file, before), after)
    except DropleafError as error:
        return [f"Before, this job was refused: {line}" for line in lines(error)] + ["Now it can be drawn."]


def _again(wrong: list[str], talk: Talk) -> bool:
    """Ask whether a job that is refused so is changed further; else the last change is taken back."""
    talk.say("  So it cannot be written. Change what is named there too?  (Enter or y: yes; <: take it back)")

    def read(word: str) -> bool:
        if word.lower() in ("", "y", "yes"):
            return True
        if word.lower() in ("n", "no"):
            return False
        raise ValueError(f"{shown(word)} given; answer y, or < to take it back")

    return bool(typed(talk, "  [yes]", read))


def _agreed(file: Path, talk: Talk) -> bool:
    def read(word: str) -> bool:
        if word.lower() not in ("y", "yes", "n", "no"):
            raise ValueError("Answer y to write over it, or n to leave it as it was.")
        return word.lower() in ("y", "yes")

    talk.say("")
    talk.say(f"Write this over {file}?  (y: write; n: leave the file as it was)")
    if typed(talk, "  [needed]", read):
        return True
    talk.say(f"{file} stays as it was.")
    return False


def _refused(file: Path, text: str) -> list[str]:
    try:
        _checked(file, text)
    except DropleafError as error:
        return lines(error)
    return []


@functools.lru_cache(maxsize=8)
def _checked(file: Path, text: str) -> Checked:
    # The job as it was and the one tried last are looked at again and again.
    return report(from_bytes(text.encode(), file))


def _write(file: Path, before: str, text: str) -> None:
    """Put the changed job in place; raise DeliveryError where somebody else has changed it meanwhile."""
    if text_of(file, "a job file takes about 2 kB", must_be=True) != before:
        raise DeliveryError(Problem(str(file), "was changed by another program meanwhile; begin again"))
    with staging(file.parent) as stage:
        (stage / file.name).write_text(text, encoding="utf-8", newline="")
