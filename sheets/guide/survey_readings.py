"""Readings on a finished mount, asked for at a terminal one after the other, with a way back."""

from geometry.core.errors import RefusedError
from geometry.core.say import say
from geometry.core.tables import hint
from geometry.survey.plan import Asked
from sheets.actions import readings_file
from sheets.actions.readings_file import Read, value_of
from sheets.actions.survey import Bench
from sheets.guide.talk import Talk, in_turn, nearest_of, typed
from sheets.job.operations import CHECK_POINTS
from sheets.words.readings import often
from sheets.words.tell import tell


def asked(bench: Bench, point: str | None, talk: Talk) -> Read:
    """Return the readings that are typed at a check point, mm; each says how often the verdict needs it.

    Empty is not measured, b goes back, several stand apart by ";". None asks for the point first.
    """
    at = point or _point(talk)
    before = {
        each.key.replace("before-facing", "faced"): each
        for each in bench.takeable
        if each.reading.stage == "before"
    }
    listed = []
    for each in bench.asked:
        taken = each.taken if readings_file.taken_at(each.taken, at) else before[each.taken.key]
        listed.append(Asked(taken, each.times))
    talk.say(tell("reading.ask.how"))
    talk.say(tell("reading.ask.order"))
    given: dict[int, list[tuple[float, str]]] = {}

    def ask(index: int) -> bool | None:
        taken, reading = listed[index].taken, listed[index].taken.reading
        low, high = reading.mm.low, reading.mm.high
        code = "reading.ask.target" if low is None or high is None else "reading.ask.target_and_limits"
        question = tell(
            "reading.ask.reading",
            number=index + 1,
            count=len(listed),
            name=reading.name,
            often=often(listed[index].times),
            how=reading.how,
            target=say(code, target=reading.mm.nominal, low=low or "", high=high or ""),
        )

        def read(text: str) -> list[tuple[float, str]]:
            return [value_of(taken, part.strip(), reading.name) for part in text.split(";") if part.strip()]

        found = typed(talk, "  [mm]", read, ("", question))
        if found is None:
            return None
        given[index] = found
        for _, note in found:
            if note:
                talk.say(f"  {note}")
        return True

    in_turn(talk, len(listed), ask, tell("reading.ask.first"))
    rows = tuple((listed[i].taken, value) for i in sorted(given) for value, _ in given[i])
    notes = tuple(note for i in sorted(given) for _, note in given[i] if note)
    return Read({at: rows} if rows else {}, notes)


def _point(talk: Talk) -> str:
    """Return the check point that is typed; nothing typed takes the last."""

    def read(text: str) -> str:
        point = text.lower() or CHECK_POINTS[-1]
        if point not in CHECK_POINTS:
            raise RefusedError(say("reading.ask.no_point", typed=point, hint=hint(point, CHECK_POINTS)))
        return point

    question = tell("reading.ask.point", points=", ".join(CHECK_POINTS), last=CHECK_POINTS[-1])
    return typed(talk, question, read, back=(), means=nearest_of(*CHECK_POINTS)) or CHECK_POINTS[-1]
