"""Readings on a finished mount, asked for at a terminal one after the other, with a way back."""

from collections.abc import Callable, Sequence

from geometry.core.errors import RefusedError
from geometry.core.say import Say, also, named, say
from geometry.core.tables import hint
from geometry.survey.plan import Asked
from geometry.survey.reading import Printed, Reading
from sheets.actions import readings_file
from sheets.actions.readings_file import Read, value_of, with_unit
from sheets.actions.survey import Bench
from sheets.guide.talk import BACK, Talk, in_turn, nearest_of, typed
from sheets.job.operations import CHECK_POINTS
from sheets.job.toml import written
from sheets.words.lengths import Units, measured, telling
from sheets.words.readings import often
from sheets.words.tell import tell, told

_UNITS: dict[Units, tuple[str, ...]] = {"mm": ("mm",), "in": ("in",), "both": ("mm", "in")}
"""In which units targets are told; a bare number has the first."""


def asked_at(bench: Bench, point: str) -> list[Asked]:
    """Return the readings that are asked for at a check point, the one that settles most first."""
    before = {
        each.key.replace("before-facing", "faced"): each
        for each in bench.takeable
        if each.reading.stage == "before"
    }
    return [
        each if readings_file.taken_at(each.taken, point) else Asked(before[each.taken.key], each.times)
        for each in bench.asked
    ]


def target(reading: Reading, units: Units) -> Say | str:
    """Return what a caliper must read in these units, with its limits where it has any."""
    return also(_target(reading.inch if unit == "in" else reading.mm, unit) for unit in _UNITS[units])


def asked(
    bench: Bench, point: str | None, talk: Talk, keep: Callable[[str], None] = lambda text: None
) -> Read:
    """Return the readings that are typed at a check point, mm; each says how often the verdict needs it.

    Empty is not measured, < goes back, several stand apart by ";". None asks for the point first.
    `keep` is handed all that was read after each reading, as a readings file has it.
    """
    at = point or _point(talk)
    listed = asked_at(bench, at)
    told_in = bench.source.job.paper.units
    talk.say(tell(f"reading.ask.how.{told_in}"))
    talk.say(tell("reading.ask.order"))
    given: dict[int, list[tuple[float, str]]] = {}

    def ask(index: int) -> bool | None:
        taken, reading = listed[index].taken, listed[index].taken.reading
        question = tell(
            "reading.ask.reading",
            number=index + 1,
            count=len(listed),
            name=reading.name,
            often=often(listed[index].times),
            how=reading.how,
            target=target(reading, told_in),
        )

        def read(text: str) -> list[tuple[float, str]]:
            parts = [with_unit(part.strip(), told_in) for part in text.split(";") if part.strip()]
            return [value_of(taken, part, reading.name) for part in parts]

        explain = (
            tell("reading.ask.explain", name=reading.name, how=reading.how, often=often(listed[index].times)),
            tell(f"reading.ask.how.{told_in}"),
        )
        found = typed(talk, f"  [{_UNITS[told_in][0]}]", read, ("", question), explain=lambda: explain)
        if found is None:
            return None
        given[index] = found
        if told_in != "mm" and found:
            # What was typed in one unit is told in both, so that a slip of units is seen at once.
            with telling("both"):
                talk.say(f"  = {'; '.join(measured(value, '.2f mm') for value, _ in found)}")
        for _, note in found:
            if note:
                talk.say(f"  {note}")
        keep(_file_text(at, [(listed[i].taken.key, given[i]) for i in sorted(given)]))
        return True

    in_turn(talk, len(listed), ask, tell("reading.ask.first"))
    rows = tuple((listed[i].taken, value) for i in sorted(given) for value, _ in given[i])
    notes = tuple(note for i in sorted(given) for _, note in given[i] if note)
    return Read({at: rows} if rows else {}, notes)


def _file_text(point: str, readings: Sequence[tuple[str, Sequence[tuple[float, str]]]]) -> str:
    lines = [f"{key} = {written([value for value, _ in each])}\n" for key, each in readings if each]
    return f"[{point}]\n{''.join(lines)}" if lines else ""


def _target(printed: Printed, unit: str) -> Say:
    """Return what a caliper must read in mm or in, with its limits where it has any."""
    low, high = printed.low, printed.high
    if low is None or high is None:
        return say(f"reading.ask.target.{unit}", target=printed.nominal)
    return say(f"reading.ask.target_and_limits.{unit}", target=printed.nominal, low=low, high=high)


def _point(talk: Talk) -> str:
    """Return the check point that is typed; nothing typed takes the last."""

    def read(text: str) -> str:
        if text.lower() in BACK:
            raise RefusedError(say("reading.ask.first"))
        point = text.lower() or CHECK_POINTS[-1]
        if point not in CHECK_POINTS:
            raise RefusedError(say("reading.ask.no_point", typed=point, hint=hint(point, CHECK_POINTS)))
        return point

    last = CHECK_POINTS[-1]
    talk.say(tell("reading.ask.point", points=", ".join(CHECK_POINTS)))
    means = (
        tell("reading.ask.point_means", point=told(named(each)), means=tell(f"reading.point_means.{each}"))
        for each in CHECK_POINTS
    )
    explain = (tell("reading.ask.point_is", last=last), *means)
    near = nearest_of(*CHECK_POINTS)
    return typed(talk, f"  [{last}]", read, back=(), explain=lambda: explain, means=near) or last
