"""What is wrong with a frame, or lacking, as its page tells it: by what is asked for, and with a way out.

A problem keeps the key that it is about, so that the page leads to its field; what stands on the screen is
what that field is called. A table that is not there yet is told by the questions in it that must be answered.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any

from geometry.core.errors import Problem
from geometry.core.say import Say
from sheets.desk.answers import asked_of, called
from sheets.guide.entries import Entry, answers_of, entries
from sheets.words.tell import on_paper, tell, told

Told = dict[str, str]
"""A problem: its key, what that is called, and what is wrong; `offer` is an answer that would be taken,
and `wanted` says that it is only not given yet."""
_NEEDED = {
    "frame": ("frame.id",),
    "mount": ("mount.end", "mount.interface", "mount.host", "mount.rotor"),
    "axle": ("axle.system",),
}
"""The tables that every job has to have, and what has to be answered in each."""


def plain(problems: Iterable[Problem], document: Mapping[str, Any], answered: str = "") -> list[Told]:
    """Return problems as a frame's page tells them; those of one question are told once.

    `answered` is the key of an answer that is refused: the document does not have it, and it is not lacking.
    """
    placed = [(told(each.where), each.what) for each in problems]
    with on_paper():
        found = list(_told(placed, entries(document), answered))
    return [each for i, each in enumerate(found) if each not in found[:i]]


def _told(
    problems: Iterable[tuple[str, Say | str]], listed: Sequence[Entry], answered: str
) -> Iterator[Told]:
    values = {each.key: each.value for each in listed}
    for where, what in problems:
        if where in _NEEDED and not any(values[key] for key in values if key.startswith(f"{where}.")):
            for key in _NEEDED[where]:
                yield _wanted(key)
        elif where in values and not values[where] and where != answered:
            yield _wanted(where)
        else:
            yield _problem(where, told(what), known=where in values or asked_of(where) is not None)


def offer(key: str, answer: str, document: Mapping[str, Any]) -> str:
    """Return the answer that somebody meant whose own was refused, "" where none can be told."""
    listed = entries(document)
    question = asked_of(key)
    if question is None or not answer.strip():
        return ""
    try:
        answers = answers_of(list(listed))
        meant = question.means(answer, answers)
        question.read(meant, answers)
    except (ValueError, LookupError):
        return ""
    return meant if meant != answer else ""


def _wanted(key: str) -> Told:
    """Return that an answer is not given yet: the page lists them in one line."""
    return {**_problem(key, tell("desk_frame.wanted")), "wanted": "yes"}


def _problem(where: str, text: str, known: bool = True) -> Told:
    return {"where": where, "label": called(where) if known else "", "text": text}
