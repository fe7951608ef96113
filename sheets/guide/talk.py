"""Asking one thing after the other, with a way back: the one loop of `start`, `learn` and `survey`."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TypeVar

from geometry.core.errors import InputError
from sheets.words.tell import lines, reason

_Answer = TypeVar("_Answer")
_BACK = ("b", "back")


@dataclass(frozen=True, slots=True)
class Talk:
    """How a person is asked and told: `ask` shows a prompt and returns what was typed, `say` a line."""

    ask: Callable[[str], str]
    say: Callable[[str], None]


def typed(
    talk: Talk,
    prompt: str,
    read: Callable[[str], _Answer],
    question: Sequence[str] = (),
    back: Sequence[str] = _BACK,
) -> _Answer | None:
    """Return an answer as soon as one can be read, None for the way back, which one of `back` takes.

    `read` raises ValueError or InputError with what is wrong, which is told; prompt and question then come
    again.
    """
    while True:
        for line in question:
            talk.say(line)
        text = talk.ask(prompt).strip()
        if text.lower() in back:
            return None
        try:
            return read(text)
        except InputError as error:
            wrong = lines(error)
        except ValueError as error:
            wrong = [reason(error)]
        for line in wrong:
            talk.say(f"  {line}")


def in_turn(talk: Talk, count: int, ask: Callable[[int], bool | None], first: str, start: int = 0) -> None:
    """Ask a number of questions, begun at `start`.

    `ask` tells whether its question was answered; False where it does not come up, None for the way back, to
    the last that was answered. From the first there is none, as `first` says.
    """
    answered: list[int] = []
    at = start
    while at < count:
        settled = ask(at)
        if settled is None and answered:
            at = answered.pop()
        elif settled is None:
            talk.say(f"  {first}")
        else:
            answered += [at] if settled else []
            at += 1
