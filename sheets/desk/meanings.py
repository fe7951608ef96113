"""What the words mean that a page uses: out of the book's page of words, so that both say the same."""

import functools
import re
from collections.abc import Iterable
from typing import Any

from sheets.actions import book

PAGE = "words"
"""The book's page that has them, a word an item: "- **run-out**: what it is"."""
_ITEM = re.compile(r"^- \*\*(?P<words>[^*]+)\*\*: (?P<means>.+)$", re.MULTILINE)
_ONLY = {
    "over": r"jaws\s+over\b",
    "between": r"jaws\s+between\b|inside\s+jaws\b",
    "grade": r"\b[Gg]rades? [A-DM]\b",
}
"""Where a word is meant that people use for other things too."""


@functools.cache
def _known() -> tuple[tuple[str, str, re.Pattern[str]], ...]:
    """Return each item of the page: its words, what they mean, and what finds them in a text."""
    return tuple(
        (found["words"], found["means"], re.compile("|".join(map(_pattern, found["words"].split(", ")))))
        for found in _ITEM.finditer(book.text(PAGE))
    )


def _pattern(word: str) -> str:
    """Return what finds a word, its plural and what is made of it; units are found as they are written."""
    if word in _ONLY:
        return _ONLY[word]
    if word[:1].isupper():
        return rf"(?<=\d )\b{word}\b"
    return rf"(?i:\b{word}(?:s|d)?\b)"


def used(texts: Iterable[str]) -> list[dict[str, Any]]:
    """Return the words of the book's page that stand in some texts, in its order, with what they mean."""
    whole = "\n".join(texts)
    return [{"word": words, "means": means} for words, means, pattern in _known() if pattern.search(whole)]
