"""The list of all that a job says and may say, as the page shows it: a field for each, with what it means."""

import re
from collections.abc import Sequence
from itertools import groupby

from geometry.core.frozen import dataclass
from sheets.guide.entries import Entry, answers_of
from sheets.guide.explain import about, described, kind, left_out
from sheets.guide.lengths import each as each_length
from sheets.guide.lengths import spoken, units_of
from sheets.guide.question import Answers
from sheets.words.lengths import Units
from sheets.words.measures import letter
from sheets.words.tell import tell

_MOST_CHOICES = 60


@dataclass(frozen=True, slots=True)
class Field:
    """One answer: its key and letter, what is asked, why, and more of it, its value and its choices."""

    key: str
    letter: str
    ask: str
    why: str
    more: tuple[str, ...]
    value: str
    choices: tuple[tuple[str, str], ...]
    rare: bool

    @property
    def id(self) -> str:
        """Return it as a page's id."""
        return re.sub(r"[^a-z0-9]+", "-", self.key)


@dataclass(frozen=True, slots=True)
class Group:
    """The answers of one table of the job: its name and title, those that are usual, and the rare ones."""

    name: str
    title: str
    usual: tuple[Field, ...]
    rare: tuple[Field, ...]


def groups(listed: Sequence[Entry]) -> list[Group]:
    """Return the fields of a job's entries, by table, in the order of the job file."""
    answers = answers_of(list(listed))
    order: dict[str, int] = {}
    for each in listed:
        order.setdefault(_table(each), len(order))
    found = []
    for name, some in groupby(sorted(listed, key=lambda each: order[_table(each)]), key=_table):
        fields = [_field(each, answers) for each in some]
        usual, rare = ([each for each in fields if each.rare == which] for which in (False, True))
        found.append(Group(name, _title(name), tuple(usual), tuple(rare)))
    return found


def layout(listed: Sequence[Entry]) -> str:
    """Return what tells whether a page's list is still the one that a job has."""
    return " ".join(f"{each.key}{'-' if each.rare else ''}" for each in listed)


def echo(entry: Entry) -> str:
    """Return a length in both units where it was typed in another than the job's, else nothing."""
    if not entry.value or not entry.shape:
        return ""
    try:
        told = each_length(entry.shape, entry.value, lambda one: _both(one, entry.units))
    except ValueError:
        return ""
    return "" if told == entry.value else tell("desk_frame.echo", told=told)


def _both(text: str, units: Units) -> str:
    told = spoken(text, units)
    return text if told == f"{text} mm" else told


def _table(entry: Entry) -> str:
    return ".".join(map(str, entry.place[: 2 if entry.place[0] == "tubes" else 1]))


def _title(table: str) -> str:
    """Return what a table is called; one that no job has, by its name."""
    word = table.replace(".", "_").replace("-", "_")
    try:
        return tell(f"desk_frame.table.{word}")
    except KeyError:
        return table


def _field(entry: Entry, answers: Answers) -> Field:
    question = entry.question
    mark = letter(entry.key).replace(" and ", " ")
    if question is None:
        what = described(entry.key) or entry.key
        choices = _yes_no(entry)
        return Field(entry.key, mark, _sentence(what), "", (), entry.value, choices, entry.rare)
    given = question.choices(answers)
    choices = tuple(given) if len(given) <= _MOST_CHOICES else ()
    if entry.value and choices and entry.value not in [value for value, _ in choices]:
        choices = ((entry.value, ""), *choices)
    more = about(question, units_of(answers))
    if question.optional:
        more.append(left_out(question))
    inch = entry.units == "in" and question.why_inch
    return Field(
        entry.key, mark, question.ask, _why(question.why_inch if inch else question.why), tuple(more),
        entry.value, choices, entry.rare,
    )  # fmt: skip


def _yes_no(entry: Entry) -> tuple[tuple[str, str], ...]:
    if kind(entry.key) != "flag":
        return ()
    return (("true", tell("desk_frame.yes")), ("false", tell("desk_frame.no")))


def _why(text: str) -> str:
    """Return why something is asked, without what Enter does at a terminal."""
    return "; ".join(part for part in text.split("; ") if not part.startswith("Enter"))


def _sentence(text: str) -> str:
    whole = text.strip()
    return whole[:1].upper() + whole[1:]
