"""The list of all that a job says and may say, as the page shows it: a field for each, with what it means.

Its order is the page's own and never that of the file or of the answers: a field stays where it is when it,
or another one, is answered. Keys of the file are told where its text is edited, and nowhere else.
"""

import re
from collections.abc import Sequence
from dataclasses import replace

from geometry.core.frozen import dataclass
from sheets.desk.assumed import takes
from sheets.files.record import digest
from sheets.guide.bench_questions import QUESTIONS
from sheets.guide.entries import Entry, answers_of
from sheets.guide.explain import about, described, keys, kind, left_out
from sheets.guide.lengths import each as each_length
from sheets.guide.lengths import spoken, units_of
from sheets.guide.question import Answers, Choices, Question
from sheets.words.lengths import Units
from sheets.words.measures import letter
from sheets.words.tell import on_paper, tell, told

_MOST_CHOICES = 60
_TABLES = (
    "frame", "paper", "mount", "axle", "dropout", "tubes.chainstay", "tubes.seatstay", "tubes.fork-leg",
    "stance", "tubes.brace", "boss", "process", "bench", "caliper", "clearance", "load", "wrap", "traveller",
    "interface", "outline",
)  # fmt: skip
"""Tables in the order of the page, which is that in which a frame is thought of; another one comes after."""
_READ_FROM_A_DRAWING = "outline"
"""The table that no builder fills in: it is listed where a job has it."""
_OTHER_END = {
    "front": ("tubes.chainstay", "tubes.seatstay", "tubes.brace"),
    "rear": ("tubes.fork-leg",),
}
"""The tubes that an end of the bicycle does not have: they are listed where a job has them all the same."""
_ASKED = {question.key: (place, question) for place, question in enumerate(QUESTIONS)}


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
    def takes(self) -> bool:
        """Return whether something may be taken in its stead, which is told below it."""
        return takes(self.key)

    @property
    def id(self) -> str:
        """Return it as a page's id."""
        return re.sub(r"[^a-z0-9]+", "-", self.key)

    @property
    def version(self) -> str:
        """Return what tells whether a page shows the field as it is now, whatever its value."""
        return digest(repr(replace(self, value="")).encode())[:12]


@dataclass(frozen=True, slots=True)
class Group:
    """The answers of one table of the job: its name and title, those that are usual, and the rare ones."""

    name: str
    title: str
    usual: tuple[Field, ...]
    rare: tuple[Field, ...]


def groups(listed: Sequence[Entry]) -> list[Group]:
    """Return the fields of a job's entries, by table, in the page's own order."""
    # Both stays are asked about here, each as soon as it is begun.
    answers = {**answers_of(list(listed)), "other.stay": "yes"}
    begun = {_table(each) for each in listed if each.value}
    tables: dict[str, list[Entry]] = {}
    for each in sorted(listed, key=lambda each: _place(each.key)):
        tables.setdefault(_table(each), []).append(each)
    found = []
    for name in sorted(tables, key=lambda name: _TABLES.index(name) if name in _TABLES else len(_TABLES)):
        if name not in begun and (
            name == _READ_FROM_A_DRAWING or name in _OTHER_END.get(answers.get("mount.end", ""), ())
        ):
            continue
        with on_paper():
            fields = [_field(each, answers, name in begun) for each in tables[name]]
        usual, rare = ([each for each in fields if each.rare == which] for which in (False, True))
        found.append(Group(name, _title(name), tuple(usual), tuple(rare)))
    return found


def layout(found: Sequence[Group]) -> str:
    """Return what tells whether a page's list is still the one that a job has."""
    every = (f"{each.key} {each.version}" for group in found for each in (*group.usual, *group.rare))
    return digest("\n".join(every).encode())[:16]


def called(key: str) -> str:
    """Return what a key is called in plain words, for where no field stands beside it."""
    return _ask(key)


def asked_of(key: str) -> Question | None:
    """Return the question of a key, whether it comes up or not."""
    return _ASKED[key][1] if key in _ASKED else None


def _place(key: str) -> tuple[int, int, int]:
    """Return where an answer stands within its table: as questions ask, then as the schema has it."""
    stem, _, last = key.rpartition(".place.")
    number = int(last) if stem and last.isdecimal() else 0
    asked = _ASKED.get(f"{stem}.place.1" if number else key)
    if asked is not None:
        return 0, asked[0], number
    return 1, keys().index(key) if key in keys() else len(keys()), number


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


def _comes_up(key: str, answers: Answers, begun: bool) -> Question | None:
    """Return the question of a key where it comes up, answered or not: a field does not move once it is."""
    question = asked_of(key)
    if question is None or (key.startswith("tubes.") and not begun and not key.endswith(".place.1")):
        return None
    return question if question.when({**answers, key: "0"}) else None


def _field(entry: Entry, answers: Answers, begun: bool) -> Field:
    """Return an entry as its field; `begun` says that something of its table is given."""
    question = _comes_up(entry.key, answers, begun)
    mark = letter(entry.key).replace(" and ", " ")
    if question is None:
        choices = _yes_no(entry)
        return Field(entry.key, mark, _ask(entry.key), "", (), entry.value, choices, True)
    if entry.key == "axle.system":
        # Which kind it is follows from the answer itself: another kind may be chosen.
        answers = {key: value for key, value in answers.items() if key != "axle.kind"}
    given = question.choices(answers)
    choices = _plain(given) if len(given) <= _MOST_CHOICES else ()
    if entry.value and choices and entry.value not in [value for value, _ in choices]:
        choices = ((entry.value, entry.value), *choices)
    more = about(question, units_of(answers))
    if question.optional:
        more.append(left_out(question))
    inch = entry.units == "in" and question.why_inch
    return Field(
        entry.key, mark, question.ask, _why(question.why_inch if inch else question.why),
        tuple(map(told, more)), entry.value, choices, False,
    )  # fmt: skip


def _plain(given: Choices) -> tuple[tuple[str, str], ...]:
    """Return choices by value as they are shown: by their words, and by their names where those are known.

    The file's own word for a choice, such as is-rear, is told where two are called alike.
    """
    words = [word for _, word in given]
    return tuple(
        (value, (word or value) if _says(word, value) and words.count(word) == 1 else f"{value}: {word}")
        for value, word in given
    )


def _says(word: str, value: str) -> bool:
    """Tell whether words do without the value beside them: a name such as A4 is what people say."""
    return not word or not value[:1].isupper()


def _ask(key: str) -> str:
    """Return what is asked for under a key: by its question, by our own words, or by the schema's."""
    stem, _, number = key.rpartition(".place.")
    if stem and key not in _ASKED and number.isdecimal():
        return tell("desk_frame.further_place", number=number)
    if key in _ASKED:
        return _ASKED[key][1].ask
    table, _, rest = key.partition(".")
    code = f"tube_{rest.rpartition('.')[2]}" if table == "tubes" else key.replace(".", "_").replace("-", "_")
    try:
        return tell(f"desk_frame.ask.{code}")
    except KeyError:
        return _sentence(described(key) or key)


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
