"""What a question is, and how answers are read: by the same rules as the job file.

A question's key is the job key that it fills, but for axle.kind, other.stay and a tube's places. Answers are
texts as they were typed, units and all, so that the job file says what its owner said.
"""

import re
from collections.abc import Callable, Mapping
from typing import Any

from geometry.core.frozen import dataclass
from geometry.core.meant import meant
from sheets.guide.lengths import Shape, joined, refuse_mixed, split, units_of, within
from sheets.job import limits
from sheets.job.units import given, length

Answers = Mapping[str, str]
Choices = tuple[tuple[str, str], ...]
Reader = Callable[[str, Answers], str]


def always(answers: Answers) -> bool:
    """Return True: the question always comes up."""
    return True


def no_choices(answers: Answers) -> Choices:
    """Return no choices: anything may be answered."""
    return ()


def nothing(answers: Answers) -> str:
    """Return an empty text: no default, or nothing that follows."""
    return ""


def no_one(text: str, answers: Answers) -> str:
    """Return no answer that is meant by a text."""
    return ""


@dataclass(frozen=True, slots=True)
class Question:
    """One question. `read` returns an answer as it will be kept, or raises ValueError with what is allowed.

    `default` is what Enter alone takes; for an `optional` question "" leaves the key out. `choices` are
    value and words, to be numbered. `follows` says what an answer comes to, or nothing. `more` is what `?`
    tells beyond the job key's own description. `means` is the answer that a text means which cannot be read.
    `proposes` says why the default is what it is, or nothing. `left` is what is taken where it is
    left out; where that `stands_in` for a measure, none is missing.
    `lengths` is how an answer holds lengths; `why_inch` and `more_inch` stand in for `why` and `more` where
    inches are asked for.
    """

    key: str
    ask: str
    why: str
    read: Callable[[str, Answers], str]
    default: Callable[[Answers], str] = nothing
    choices: Callable[[Answers], Choices] = no_choices
    when: Callable[[Answers], bool] = always
    follows: Callable[[Answers], str] = nothing
    optional: bool = False
    more: str = ""
    means: Callable[[str, Answers], str] = no_one
    proposes: Callable[[Answers], str] = nothing
    stands_in: bool = False
    left: str = "It is then not known, never 0, and check says where that matters."
    lengths: Shape = ""
    why_inch: str = ""
    more_inch: str = ""


def text_of(checked: Callable[[str], str]) -> Callable[[str, Answers], str]:
    """Return the reader of a text of one of the job's kinds, such as limits.lettered."""
    return lambda text, answers: checked(text)


@dataclass(frozen=True, slots=True)
class Measured:
    """The reader of one number within a range; the text is kept, unit and all.

    Where inches are asked for, a bare length is inches and gets its unit.
    """

    allowed: limits.Range

    def __call__(self, text: str, answers: Answers) -> str:
        """Return the text; raise ValueError with what is allowed."""
        return within(self.allowed, text, units_of(answers))


def number(key: str, ask: str, why: str, allowed: limits.Range, **more: Any) -> Question:
    """Return a question for one number within a range, which knows what a careless text means."""
    read = Measured(allowed)
    shape: Shape = "one" if allowed.parse is length else ""

    def means(text: str, answers: Answers) -> str:
        return mended(text, read, answers)

    return Question(key, ask, why, read, means=means, lengths=shape, **more)


_DECIMAL_COMMA = re.compile(r"(?<=[0-9]),(?=[0-9])")
_ONE_NUMBER = re.compile(
    r"(?<![\w.])(?P<number>[-+]?(?:[0-9]+[ -])?[0-9]+(?:/[0-9]+|\.[0-9]*)?)"
    r"\s*(?P<unit>mm|cm|inches|inch|in|deg(?:rees?)?|[\"″”°])?(?![\w/.])",
    re.IGNORECASE,
)
# A number of these is another number in any unit known here, so that none is guessed.
_OTHER_UNIT = re.compile(
    r"\b(?:ft|feet|foot|yards?|thou|mils?|m|km|um|µm|rad|grad|gauge|ga|swg)\b", re.IGNORECASE
)


def mended(text: str, read: Reader, answers: Answers) -> str:
    """Return the answer that a careless number means, "" where none can be read.

    A decimal comma, a fraction without its unit, and words about a lone number are the usual slips. A unit is
    never dropped, and a number that is only too large or too small means no other. Where a sign has a
    meaning, words such as inboard say it, and a number with other words means none.
    """
    pointed = _DECIMAL_COMMA.sub(".", re.sub("[Øø]", " ", text[:_LONGEST]))
    found = list(_ONE_NUMBER.finditer(pointed))
    if _OTHER_UNIT.search(pointed) or len(found) != 1:
        return ""
    number, unit = found[0]["number"], found[0]["unit"] or ("in" if "/" in found[0]["number"] else "")
    words = {*re.findall(r"[a-z]+", f"{pointed[: found[0].start()]} {pointed[found[0].end() :]}".lower())}
    words -= _IDLE
    if words and _reads(f"-{number.lstrip('-+')} {unit}", read, answers):
        if not words <= _PLUS | _MINUS or (words & _PLUS and words & _MINUS) or number[0] in "-+":
            return ""
        number = f"-{number}" if words & _MINUS else number
    tried = f"{number} {unit}".strip()
    if "".join(tried.split()) == "".join(text.split()):
        return ""
    try:
        return read(tried, answers)
    except ValueError:
        return ""


def _reads(text: str, read: Reader, answers: Answers) -> bool:
    try:
        read(text, answers)
    except ValueError:
        return False
    return True


# What says the sign of a number, as the questions give it, and what says nothing.
_MINUS = frozenset(
    ["inboard", "inward", "inwards", "inside", "in", "rearward", "rearwards", "backward", "back"]
)
_PLUS = frozenset(["outboard", "outward", "outwards", "outside", "out", "forward", "forwards"])
_IDLE = frozenset(
    ["about", "approx", "approximately", "ca", "circa", "roughly", "or", "so", "nearly", "just"]
)
_LONGEST = 80
"""Characters of a text in which a number is looked for."""


def numbers(allowed: limits.Range) -> Callable[[str, Answers], str]:
    """Return the reader of several numbers within a range, with spaces or semicolons between them."""

    def read(text: str, answers: Answers) -> str:
        if re.search(r"[0-9],[0-9]", text):
            raise ValueError(f"{given(text)} given; put a space between numbers, and decimals after a point")
        refuse_mixed(text)
        return joined([within(allowed, part, units_of(answers)) for part in split(text)])

    return read


_TIMES = re.compile(r"\b(1?[0-9])\s*[x×]\s*(?=[0-9.])", re.IGNORECASE)


def listed_meant(read: Reader) -> Reader:
    """Return what tells the numbers of a list that is written with commas, or as 2 x 10.

    A lone comma between two numbers may be either, and means nothing.
    """

    def means(text: str, answers: Answers) -> str:
        tried = text[:_LONGEST]
        if _TIMES.search(tried):
            parts = re.split(r"\s*;\s*|\s*,\s+|\s+(?![x×])(?<![x×]\s)", tried.strip())
            each = [(_TIMES.match(part), part) for part in parts]
            tried = "; ".join("; ".join([part[m.end() :]] * int(m[1])) if m else part for m, part in each)
        if _DECIMAL_COMMA.search(tried):
            apart = re.search(r"[;\s]", tried.strip())
            tried = _DECIMAL_COMMA.sub(".", tried) if apart else tried.replace(",", "; ")
            if not apart and tried.count(";") < 2:
                return ""
        return read(tried, answers) if tried != text and _reads(tried, read, answers) else ""

    return means


def chosen(choices: Callable[[Answers], Choices]) -> Callable[[str, Answers], str]:
    """Return the reader of a choice: its number in the list, its value, or the beginning of either text."""

    def read(text: str, answers: Answers) -> str:
        known = choices(answers)
        wanted = re.sub(r"\s*[x×]\s*", "x", text.strip().lower())
        # A value counts before a number in the list: "160" is a disc, never the hundred and sixtieth line.
        for found in (
            [value for value, _ in known if value.lower() == wanted],
            [value for i, (value, _) in enumerate(known, 1) if str(i) == wanted],
            [value for value, words in known if len(wanted) > 2 and words.lower().startswith(wanted)],
        ):
            if len(found) == 1:
                return found[0]
        listed = ", ".join(value for value, _ in known)
        raise ValueError(f"{given(text)} given; allowed: {listed}, or a number from 1 to {len(known)}")

    return read


def _names(known: Choices) -> list[str]:
    return [value for value, _ in known]


def choice_meant(choices: Callable[[Answers], Choices]) -> Callable[[str, Answers], str]:
    """Return what tells the choice that a text means: by its value, what others call it, or its words."""

    def means(text: str, answers: Answers) -> str:
        known = choices(answers)
        found = meant(text, _names(known))
        if not found:
            words = meant(text, [each for _, each in known])
            found = next((value for value, each in known if each == words), "")
        return found

    return means


def yes_or_no(text: str, answers: Answers) -> str:
    """Return "yes" or "no"; ValueError for anything else."""
    word = text.strip().lower()
    if word not in ("y", "yes", "n", "no"):
        raise ValueError(f"{given(text)} given; write y or n")
    return "yes" if word.startswith("y") else "no"


def when_is(key: str, value: str) -> Callable[[Answers], bool]:
    """Return the condition that another question was answered so."""
    return lambda answers: answers.get(key) == value


def pairs(words: Mapping[str, str]) -> Callable[[Answers], Choices]:
    """Return choices that do not depend on the answers so far."""
    return lambda answers: tuple(words.items())


def choice(key: str, ask: str, why: str, choices: Callable[[Answers], Choices], **more: Any) -> Question:
    """Return a question with choices and the reader that belongs to them."""
    means = choice_meant(choices)
    return Question(key, ask, why, chosen(choices), choices=choices, means=means, **more)
