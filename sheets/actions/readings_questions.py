"""Readings asked for at a terminal, one after the other, with a way back."""

from collections.abc import Callable, Sequence

from geometry.core.errors import InputError
from geometry.survey.plan import Asked
from sheets.actions.readings_file import Read, Row, value_of
from sheets.words.tell import lines, nearest

BACK = ("b", "back")
Prompt = Callable[[str], str]
Say = Callable[[str], None]


def asked_point(points: Sequence[str], prompt: Prompt, say: Say) -> str:
    """Return the check point that is typed; nothing typed takes the last."""
    while True:
        typed = prompt(f"Check point ({', '.join(points)}) [{points[-1]}]").strip().lower() or points[-1]
        if typed in points:
            return typed
        say(f"  {typed!r} is no check point{nearest(typed, points)}.")


def asked(point: str, listed: Sequence[Asked], prompt: Prompt, say: Say) -> Read:
    """Return the readings that are typed at a check point, mm; each says how often the verdict needs it."""
    say("Enter: not measured. b: back. Several readings of one distance: 52.6; 52.65. Inches: 2.07 in.")
    say("What settles most comes first; a verdict needs each reading as often as is said.")
    given: dict[int, tuple[Row, ...]] = {}
    notes: dict[int, tuple[str, ...]] = {}
    at = 0
    while at < len(listed):
        taken, reading = listed[at].taken, listed[at].taken.reading
        often = "once" if listed[at].times == 1 else f"{listed[at].times} times"
        limits = f", go {reading.mm.low} to {reading.mm.high}" if reading.mm.low else ""
        say("")
        say(
            f"{at + 1} of {len(listed)}  {reading.name}, {often}: {reading.how}  "
            f"(target {reading.mm.nominal}{limits})"
        )
        typed = prompt("  [mm]").strip()
        if typed.lower() in BACK:
            if at == 0:
                say("  This is the first reading.")
            at = max(0, at - 1)
            continue
        try:
            read = [value_of(taken, part.strip(), reading.name) for part in typed.split(";") if part.strip()]
        except InputError as error:
            for problem in lines(error):
                say(f"  {problem}")
            continue
        given[at] = tuple((taken, value) for value, _ in read)
        notes[at] = tuple(note for _, note in read if note)
        for note in notes[at]:
            say(f"  {note}")
        at += 1
    found = tuple(row for i in sorted(given) for row in given[i])
    return Read({point: found} if found else {}, tuple(note for i in sorted(notes) for note in notes[i]))
