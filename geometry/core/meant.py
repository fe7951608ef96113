"""What people type for a name that we know by another: "fork" for front, "QR" for quick release.

The usage of workshops and catalogues: common practice, no source. A word may stand for several names, of
which a question or a table has one; the first that it has is meant.
"""

import difflib
import functools
import re
from collections.abc import Iterable
from pathlib import Path

_FIRST = 0.5
"""How alike a name must be where nothing else tells, as difflib counts; own judgement, and `far` decides."""

_NOTHING, _OTHER = "-", "!"
_LONGEST = 200
"""Characters looked at: a longer text is no name, and comparing takes time."""


@functools.cache
def _words() -> dict[str, frozenset[str]]:
    """Return what is typed for each name, as the table beside this file has it."""
    text = Path(__file__).with_suffix(".txt").read_text(encoding="utf-8")
    lines = [line.partition(":") for line in text.splitlines() if line and not line.startswith("#")]
    return {name: frozenset(words.split()) for name, _, words in lines}


def bare(text: str) -> str:
    """Return a name's letters and digits alone, in small letters: what is left of how it may be written."""
    return "".join(sign for sign in text.casefold() if sign.isalnum())


def leaves_out(text: str) -> bool:
    """Tell whether somebody says so that he has no answer: "don't know", "n/a", "skip"."""
    return bare(text) in _words()[_NOTHING]


def meant(name: str, known: Iterable[str], sure: bool = False) -> str:
    """Return the known name that somebody means, "" where none is near.

    The same but for blanks and capitals comes first, then what is one slip away, what workshops say for it,
    word by word too, then, but where only what is `sure` counts, what is spelt most alike.
    """
    names = list(dict.fromkeys(known))
    typed = bare(name[:_LONGEST])
    if not typed or typed in _words()[_OTHER]:
        return ""
    for test in (_same, _slip, _said, _by_numbers, _said_in_part):
        found = test(name[:_LONGEST], typed, names)
        if found:
            return found
    # A number is another number.
    if sure or typed.isdigit():
        return ""
    close = difflib.get_close_matches(name[:_LONGEST], names, n=1, cutoff=_FIRST)
    return close[0] if close else ""


def _same(name: str, typed: str, names: list[str]) -> str:
    return next((each for each in names if bare(each) == typed), "")


def _slip(name: str, typed: str, names: list[str]) -> str:
    """Return a name that is a single slip away; of short ones every letter counts."""
    near = [each for each in names if len(typed) > 3 and len(bare(each)) > 3 and far(typed, bare(each)) <= 1]
    return near[0] if len(near) == 1 else ""


def _said(name: str, typed: str, names: list[str]) -> str:
    return next((each for each in names if typed in _words().get(each, ())), "")


def _by_numbers(name: str, typed: str, names: list[str]) -> str:
    """Return the first name with a number of its own for each that is typed: "12 mm" of 100x12, not 100x15.

    Names stand in their list with the usual one first. A name that is a number itself is another number.
    """
    wanted = set(re.findall(r"\d+", name))
    if not wanted:
        return ""
    having = ((each, set(re.findall(r"\d+", each))) for each in names)
    return next((each for each, has in having if len(has) > 1 and wanted <= has), "")


def _said_in_part(name: str, typed: str, names: list[str]) -> str:
    """Return the only name that a single word of several speaks of: "the fork" of front."""
    words = {bare(word) for word in name.split() if any(sign.isalpha() for sign in word)}
    if len(name.split()) < 2:
        return ""
    found = [each for each in names if words & {bare(each), *_words().get(each, ())}]
    return found[0] if len(found) == 1 else ""


def far(one: str, other: str) -> int:
    """Return by how many slips two texts differ: a letter more, one less, another one, or two exchanged.

    The optimal string alignment distance: F. J. Damerau's four slips, each place touched once.
    """
    before: list[int] = []
    row = list(range(len(other) + 1))
    for i, a in enumerate(one, 1):
        above, row, older = row, [i], before
        before = above
        for j, b in enumerate(other, 1):
            best = min(above[j] + 1, row[j - 1] + 1, above[j - 1] + (a != b))
            if i > 1 and j > 1 and a == other[j - 2] and one[i - 2] == b:
                best = min(best, older[j - 2] + 1)
            row.append(best)
    return row[-1]
