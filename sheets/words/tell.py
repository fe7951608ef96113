"""Sentences out of codes and values, in the language spoken.

A language is a folder of tables beside this file, one table an area: the sentence of "printing.skew" is the
entry `skew` of `printing.toml`. Its places are those of `str.format`, filled from the values by name; a value
that is to be said itself is told first, several are listed. What a language lacks is told in English. A place
that holds a length is marked behind its format, `{by:.2f mm}`, and told in the units of the job
(`sheets/words/lengths.py`).
"""

import functools
import os
import re
import string
import tomllib
import unicodedata
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from contextvars import ContextVar
from pathlib import Path

from geometry.core.errors import DropleafError, InputError, Problem, why
from geometry.core.say import Say, Value, say
from geometry.core.tables import hint
from sheets.words.lengths import as_said, in_millimetres, to_be_told, units

_HERE = Path(__file__).parent
ENGLISH = _HERE / "english"
_spoken: list[Path] = []
_paper: ContextVar[bool] = ContextVar("paper", default=False)
_TABLES = "axle|bench|boss|caliper|dropout|load|mount|process|stance|tubes"
_BESIDE = re.compile(rf" ?\(([^()]*\b(?:{_TABLES})\.[a-z][^()]*)\)")
_KEY = re.compile(rf"\[?\b({_TABLES})\.([a-z_-]*[a-z])(?:\.([a-z_]*[a-z]))?\b\]?")
"""A job's keys: in brackets beside what they are called, or alone, or as the head of a table."""


def speak(language: Path | None) -> None:
    """Speak the language of a folder of tables from now on; None: that of the environment, else English.

    Sheets that are kept in the process are not told anew.
    """
    _spoken[:] = [] if language is None else [language]


def spoken() -> Path:
    """Return the folder of the language spoken; raise InputError where DROPLEAF_LANGUAGE names none."""
    if not _spoken:
        name = os.environ.get("DROPLEAF_LANGUAGE") or ENGLISH.name
        known = sorted(each.name for each in _languages())
        if name not in known:
            _spoken.append(ENGLISH)
            raise InputError.at("DROPLEAF_LANGUAGE", say("tell.no_language", name=name, known=tuple(known)))
        _spoken.append(_HERE / name)
    return _spoken[0]


def _languages() -> set[Path]:
    """Return the folders that hold sentences."""
    return {file.parent for file in _HERE.glob("*/*.toml")}


@contextmanager
def on_paper() -> Iterator[None]:
    """Tell for paper for a while: a builder sees what a thing is called, not the job's key for it."""
    before = _paper.set(True)
    try:
        yield
    finally:
        _paper.reset(before)


def _called(found: re.Match[str]) -> str:
    """Return what a key of a job is called; what only looks like one stays as it is."""
    table, key, last = found.groups()
    code = f"{table}.{last or 'tube'}" if table == "tubes" else f"{table}.{key}"
    names, things = sentences(spoken(), "key") or sentences(ENGLISH, "key"), sentences(ENGLISH, "name")
    tube = key.replace("-", "_")
    if code not in names or (table == "tubes" and tube not in things):
        return found[0]
    return names[code].format(tube=tell(f"name.{tube}") if table == "tubes" else "")


def _without_keys(text: str) -> str:
    """Return a text as paper tells it: keys in brackets go, and others give way to what they are called."""
    bare = _BESIDE.sub(lambda found: "" if _KEY.sub(_called, found[1]) != found[1] else found[0], text)
    return _KEY.sub(_called, bare)


def keys_in(text: str) -> list[str]:
    """Return the job's keys that a text told off paper names, each once, in its order."""
    found = (".".join(filter(None, each.groups())) for each in _KEY.finditer(text))
    return list(dict.fromkeys(found))


def tell(code: str, /, **values: Value) -> str:
    """Return the sentence of a code with its values."""
    return told(Say(code, tuple(values.items())))


def told(what: Say | str) -> str:
    """Return something said as its sentence; a text, such as a frame's name, as it is.

    On paper keys of the job give way to what they are called. A code that no language has, or a value that
    its sentence misses, is a fault of ours: KeyError.
    """
    text = what if isinstance(what, str) else _told(what)
    return _without_keys(text) if _paper.get() and "." in text else text


def _told(what: Say) -> str:
    if units() == "mm":
        return sentence(what.code).format(**{name: _filled(value) for name, value in what.values})
    values = {name: _in_units(value) for name, value in what.values}
    return _found(what.code, sentences).format(**values)


def sentence(code: str) -> str:
    """Return the sentence of a code in mm, with its places open; KeyError where no language has it."""
    return _found(code, _millimetres)


def _found(code: str, entries_of: Callable[[Path, str], Mapping[str, str]]) -> str:
    area, _, key = code.partition(".")
    for language in (spoken(), ENGLISH):
        if key in (entries := entries_of(language, area)):
            return entries[key]
    raise KeyError(f"no sentence for {code}")


def says(code: str, text: str, **values: str) -> bool:
    """Tell whether a text is a sentence with these values, whatever its others, in any language we have.

    For a sentence that was kept where its values were not; capitals do not count.
    """
    area, _, key = code.partition(".")
    for language in (spoken(), *_languages()):
        parts = string.Formatter().parse(sentences(language, area).get(key, ""))
        form = (
            re.escape(before) + ("" if name is None else re.escape(values[name]) if name in values else ".*")
            for before, name, _, _ in parts
        )
        if re.fullmatch("".join(form).casefold(), text.casefold()):
            return True
    return False


@functools.cache
def _millimetres(language: Path, area: str) -> Mapping[str, str]:
    """Return the same sentences with the marks of their lengths taken out: they tell millimetres."""
    return {key: in_millimetres(text) for key, text in sentences(language, area).items()}


@functools.cache
def sentences(language: Path, area: str) -> Mapping[str, str]:
    """Return a language's sentences of an area by key, "table.key" within a table; none where it has none."""
    file = language / f"{area}.toml"
    return dict(_flat("", tomllib.loads(file.read_text(encoding="utf-8")))) if file.exists() else {}


def line(problem: Problem) -> str:
    """Return a problem in one line: where, and what is wrong."""
    where, what = told(problem.where), told(problem.what)
    return " ".join((f"{where}: {what}" if where else what).split())


def lines(error: DropleafError) -> list[str]:
    """Return what an error says, a line a problem."""
    return [line(problem) for problem in error.problems]


def reason(error: Exception) -> str:
    """Return what an error says, ours or another library's, without where."""
    return told(why(error))


def nearest(name: str, known: Iterable[str]) -> str:
    """Return a hint ", did you mean ...?" for a misspelt name, or an empty string."""
    return told(hint(name, known))


def listed(items: Iterable[Say | str]) -> str:
    """Return "a", "a and b" or "a, b and c"; nothing of nothing."""
    *first, last = [told(each) for each in items] or [""]
    return tell("tell.and", first=", ".join(first), last=last) if first else last


def either(items: Iterable[Say | str]) -> str:
    """Return "a" or "a or b or c"."""
    return functools.reduce(lambda first, last: tell("tell.or", first=first, last=last), map(told, items))


def first_of(items: Sequence[Say | str]) -> str:
    """Return the first of some things, and how many more there are."""
    first, count = told(items[0]), len(items) - 1
    return tell("tell.and_more", first=first, count=count) if count else first


def _in_units(value: Value) -> object:
    return as_said(told(value)) if isinstance(value, Say) else to_be_told(_filled(value))


def _filled(value: Value) -> str | float:
    if isinstance(value, Say):
        return told(value)
    if isinstance(value, tuple):
        return listed(each if isinstance(each, Say) else visible(f"{each}") for each in value)
    return visible(value) if isinstance(value, str) else value


def visible(text: str) -> str:
    """Return a text with every character that moves the others, or shows nothing, as its escape.

    Names and values come out of files that a stranger may have made: a line feed would forge a line of ours,
    an escape sequence reach the terminal, a direction mark turn the rest of the line round.
    """
    if text.isprintable():
        return text
    return "".join(each if _shows(each) else _escape(each) for each in text)


def _shows(character: str) -> bool:
    # Blanks of any width are none that `isprintable` takes, but for the common one.
    return character.isprintable() or unicodedata.category(character) == "Zs"


def _escape(character: str) -> str:
    return character.encode("unicode_escape", "replace").decode()


def _flat(before: str, table: Mapping[str, object]) -> Iterable[tuple[str, str]]:
    for key, entry in table.items():
        if isinstance(entry, Mapping):
            yield from _flat(f"{before}{key}.", entry)
        else:
            yield f"{before}{key}", str(entry)
