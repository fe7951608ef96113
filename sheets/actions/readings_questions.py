"""Readings asked for at a terminal, one after the other, with a way back."""

from collections.abc import Callable, Sequence

from geometry.core.errors import InputError
from geometry.core.say import say
from geometry.core.tables import hint
from geometry.survey.plan import Asked
from sheets.actions.readings_file import Read, Row, value_of
from sheets.words.readings import often
from sheets.words.tell import lines, tell

BACK = ("b", "back")
Prompt = Callable[[str], str]
Show = Callable[[str], None]


def asked_point(points: Sequence[str], prompt: Prompt, show: Show) -> str:
    """Return the check point that is typed; nothing typed takes the last."""
    while True:
        question = tell("reading.ask.point", points=", ".join(points), last=points[-1])
        typed = prompt(question).strip().lower() or points[-1]
        if typed in points:
            return typed
        show("  " + tell("reading.ask.no_point", typed=typed, hint=hint(typed, points)))


def asked(point: str, listed: Sequence[Asked], prompt: Prompt, show: Show) -> Read:
    """Return the readings that are typed at a check point, mm; each says how often the verdict needs it."""
    show(tell("reading.ask.how"))
    show(tell("reading.ask.order"))
    given: dict[int, tuple[Row, ...]] = {}
    notes: dict[int, tuple[str, ...]] = {}
    at = 0
    while at < len(listed):
        taken, reading = listed[at].taken, listed[at].taken.reading
        low, high = reading.mm.low, reading.mm.high
        code = "reading.ask.target" if low is None or high is None else "reading.ask.target_and_limits"
        question = tell(
            "reading.ask.reading",
            number=at + 1,
            count=len(listed),
            name=reading.name,
            often=often(listed[at].times),
            how=reading.how,
            target=say(code, target=reading.mm.nominal, low=low or "", high=high or ""),
        )
        show("")
        show(question)
        typed = prompt("  [mm]").strip()
        if typed.lower() in BACK:
            if at == 0:
                show("  " + tell("reading.ask.first"))
            at = max(0, at - 1)
            continue
        try:
            read = [value_of(taken, part.strip(), reading.name) for part in typed.split(";") if part.strip()]
        except InputError as error:
            for problem in lines(error):
                show(f"  {problem}")
            continue
        given[at] = tuple((taken, value) for value, _ in read)
        notes[at] = tuple(note for _, note in read if note)
        for note in notes[at]:
            show(f"  {note}")
        at += 1
    found = tuple(row for i in sorted(given) for row in given[i])
    return Read({point: found} if found else {}, tuple(note for i in sorted(notes) for note in notes[i]))
