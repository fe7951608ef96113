"""Asking one thing after the other, with a way back: the one loop of `start`, `learn` and `survey`."""

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TypeVar

from geometry.core.errors import InputError
from geometry.core.frozen import dataclass
from geometry.core.meant import meant
from sheets.files.write.deliver import staging
from sheets.job.units import given
from sheets.words.tell import lines, reason

_Answer = TypeVar("_Answer")
BACK = ("<", "b", "back")
"""What goes back a question."""
_EXPLAIN = ("?", "??", "help")
_KEEP = "="
_LONGEST = 56
"""Characters of an answer in a prompt: the narrowest terminals have 60 to a line."""
_YES, _NO = ("", "y", "yes"), ("n", "no")


@dataclass(frozen=True, slots=True)
class Talk:
    """How a person is asked and told: `ask` shows a prompt and returns what was typed, `say` a line."""

    ask: Callable[[str], str]
    say: Callable[[str], None]


def nobody_means(text: str) -> str:
    """Return no nearest answer: what is typed is taken as it is or refused."""
    return ""


def nearest_of(*names: str) -> Callable[[str], str]:
    """Return what tells the name that somebody means, of these."""
    return lambda text: meant(text, names)


def typed(
    talk: Talk,
    prompt: str,
    read: Callable[[str], _Answer],
    question: Sequence[str] = (),
    back: Sequence[str] = BACK,
    explain: Callable[[], Sequence[str]] = lambda: (),
    means: Callable[[str], str] = nobody_means,
) -> _Answer | None:
    """Return an answer as soon as one can be read, None for the way back, which one of `back` takes.

    `read` raises ValueError or InputError with what is wrong, which is told; prompt and question then come
    again. `?` tells what `explain` has to say, = is Enter. Where nothing can be read from a text but `means`
    knows what it means, that is asked back, and Enter takes it.
    """
    offered = ""
    if len(prompt) > _LONGEST:
        # A long answer is told, where it is wrapped, and a prompt is not.
        talk.say(f"  Now: {prompt.strip()[1:-1]}")
        prompt = "  [as it is]"
    while True:
        for line in question:
            talk.say(line)
        text = talk.ask(f"  [{offered[:_LONGEST]}]" if offered else prompt).strip()
        if text.lower() in back:
            return None
        if text.lower() in _EXPLAIN and (told := explain()):
            for line in told:
                talk.say(f"  {line}")
            continue
        if text == _KEEP:
            text = ""
        if offered and text.lower() in _NO:
            offered = ""
            continue
        if offered and text.lower() in _YES:
            text = offered
        offered = ""
        try:
            return read(text)
        except InputError as error:
            wrong = lines(error)
        except ValueError as error:
            wrong = [reason(error)]
        for line in wrong:
            talk.say(f"  {line}")
        offered = means(text) if text else ""
        if offered:
            talk.say(f"  Do you mean {offered}? Enter takes it, n does not; or type another answer.")


def agreed(
    talk: Talk, question: str, default: bool | None, explain: str, back: bool = False, first: str = ""
) -> bool | None:
    """Return whether somebody agrees, None for the way back; a `default` of None needs an answer.

    Where there is no way `back`, `first` says so.
    """
    talk.say(question)

    def read(text: str) -> bool:
        word = text.lower()
        if word in BACK:
            raise ValueError(first or "This is the first question.")
        if word in _NO or (word in _YES and (word or default is not None)):
            return word not in _NO if word else bool(default)
        raise ValueError(
            f"{given(text)} given; answer y or n" if text else "An answer is needed here: y or n."
        )

    prompt = "needed" if default is None else "yes" if default else "no"
    return typed(
        talk,
        f"  [{prompt}]",
        read,
        back=BACK if back else (),
        explain=lambda: (explain,),
        means=nearest_of("yes", "no"),
    )


def keep_text(folder: Path, name: str, text: str) -> Path:
    """Put what was typed into a file of its own, NAME.toml or the first of NAME-1 and on that is free.

    Raise DeliveryError where that cannot be done.
    """
    tries = (folder / f"{name}{end}.toml" for end in ("", *(f"-{number}" for number in range(1, 1000))))
    file = next(each for each in tries if not each.exists())
    with staging(folder) as stage:
        (stage / file.name).write_text(text, encoding="utf-8", newline="\n")
    return file


def in_turn(
    talk: Talk,
    count: int,
    ask: Callable[[int], bool | None],
    first: str,
    start: int = 0,
    before: Sequence[int] = (),
) -> None:
    """Ask a number of questions, begun at `start`; `before` are those that were answered earlier.

    `ask` tells whether its question was answered; False where it does not come up, None for the way back, to
    the last that was answered. From the first there is none, as `first` says.
    """
    answered = list(before)
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
