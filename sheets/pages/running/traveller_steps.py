"""The traveller's operations: a line each to do, to read and to sign, hold points framed."""

import math
from collections.abc import Mapping

from geometry.core.errors import FitError
from geometry.core.frozen import dataclass
from geometry.core.plane import along, polar
from geometry.core.say import Say, named, say
from geometry.mount.placement import Placement
from geometry.printing.distortion import numbers
from sheets.ink.marks import MM_BAR, THICK, box, polyline
from sheets.ink.placing import Box
from sheets.ink.records import Part, PartKind, Point
from sheets.job.read import Job
from sheets.pages.flow import READ, SMALL
from sheets.pages.running.traveller_form import LAYER, Form, Kind
from sheets.setup.setup import STACK_TOLERANCE, Operation, SetUp
from sheets.words.lengths import Units, measured, units
from sheets.words.tell import tell, told

_NUMBER, _TARGET, _READING, _INITIALS, _DATE, _DONE = 11.0, 28.6, 17.0, 14.2, 19.4, 9.6
_MORE: dict[Units, float] = {"mm": 0.0, "in": 4.4, "both": 7.0}
"""How much wider the column of targets is for inches, mm."""
_COLUMNS = ("operation", "target", "reading", "initials", "date", "done")
"""What stands over the columns after the number's."""
_CELLS: tuple[PartKind, ...] = ("Row", "TD", "TD")
"""The columns that have words: number, what is to be done, its target."""
_LEAST = 48.0
"""Narrowest column for what is to be done, mm."""
_ROW = 7.8
"""Least height of a line to sign, mm: room for handwriting."""
_AIR = 1.0
_OCTAGON = 3.4
"""Half the height of the octagon round a hold point's number, mm."""
_DROP = 0.32
"""How far a baseline stands over the foot of its line, in type sizes."""


@dataclass(frozen=True, slots=True)
class Target:
    """What an operation aims at: a number large, and below it what it may be off by, and of what."""

    number: str = ""
    words: str = ""


def targets(job: Job, placement: Placement, setup: SetUp) -> dict[str, Target]:
    """Return what is known of each shipped operation's aim, by its key, mm unless it says otherwise."""
    found = {
        "prove-scale": Target(_bars(), tell("target.bars", off=numbers()["check.read"].value)),
        "torque": Target("", tell("target.torque")),
    }
    built, width = setup.build_up, placement.axle.width
    if built is not None and built.stack is not None:
        found["stack"] = Target(measured(built.stack), tell("target.stack", tolerance=STACK_TOLERANCE))
        if built.stack < 0.0:
            found["stack"] = Target(measured(-built.stack), tell("target.relief"))
    if setup.fixture is not None and setup.fixture.line_in is not None:
        found["stack"] = Target(measured(setup.fixture.line_in), tell("target.bolt_line"))
    if job.process.amps is not None:
        found["heat"] = Target(f"{job.process.amps:g} A", tell("target.amps"))
    if width is not None:
        found["align"] = Target(measured(width.value, "g bare"), tell("target.width"))
    if job.process.facing:
        found["face"] = Target(measured(job.process.facing), tell("target.facing"))
    found["final-check"] = _final(setup)
    return found


def _bars() -> str:
    """Return what both bars must read: their inch side is 6 in, their other one 150 mm."""
    return {"mm": f"{MM_BAR:.2f}", "in": "6.000 in", "both": f"{MM_BAR:.2f} mm, 6.000 in"}[units()]


def _final(setup: SetUp) -> Target:
    """Return what the disc has to clear once the wheel is in: read where it runs nearest as it turns.

    That is after its run-out, like every clearance. Where a tube's place is not known, what to measure is
    said in its stead.
    """
    disc = setup.clear.disc
    if disc is None:
        unknown = next((each.why for each in setup.clear.clearances if each.kind == "rotor"), "")
        return Target(tell("target.unknown"), told(_first(unknown)))
    number = tell("target.gap", gap=disc.told, asked=disc.asked)
    code = "target.to_tube_after" if disc.allowance else "target.to_tube"
    return Target(number, tell(code, tube=disc.name["other"], runout=disc.allowance))


def _first(why: Say | str) -> Say | str:
    """Return what to give or to measure with its first key alone.

    The column is narrow: the card says of which tube, and how.
    """
    if isinstance(why, Say) and why.code in ("clearance.give", "clearance.measure"):
        return say(why.code, keys=why["keys"][:1])
    return why


def steps(form: Form, setup: SetUp, aims: Mapping[str, Target]) -> None:
    """Set the operations in the job's order, each with boxes for reading, initials, date and a tick."""
    form.heading(tell("traveller.operations"), _ROW + 6.0)
    for hold in setup.unheld:
        form.flow.paragraph(tell("traveller.stop", hold=hold), READ, "bold")
    for danger in setup.dangers:
        form.flow.paragraph(danger, weight="bold")
    _head(form)
    for place, (number, step) in enumerate(setup.numbered, start=1):
        _step(form, place, number, step, aims.get(step.key, Target()))


def _target() -> float:
    """Return the least width of the column of targets, mm: inches take more letters."""
    return _TARGET + _MORE[units()]


def _heads() -> list[str]:
    return [tell(f"traveller.column.{key}") for key in _COLUMNS]


def _edges(form: Form) -> tuple[float, ...]:
    """Return where the columns begin, and where the last one ends; FitError on too narrow a page.

    A column gets what its head takes, and the first one what the others leave it.
    """
    flow = form.flow
    fixed = [
        max(least, flow.width(head, bold=True) + 0.7)
        for head, least in zip(_heads()[1:], (_target(), _READING, _INITIALS, _DATE, _DONE), strict=True)
    ]
    wide = flow.right - flow.left - _NUMBER - sum(fixed)
    if wide < _LEAST:
        raise FitError.at("paper.size", say("traveller.too_wide", over=_LEAST - wide))
    edges = [flow.left, flow.left + _NUMBER, flow.left + _NUMBER + wide]
    for each in fixed:
        edges.append(edges[-1] + each)
    return tuple(edges)


def _head(form: Form) -> None:
    flow = form.flow
    form.table()
    line = form.line()
    flow.drawing.vacant.append(flow.part("TD", line))
    for head, x in zip(_heads(), _edges(form)[1:], strict=False):
        flow.put(head, x + 0.6, flow.y - 3.5, bold=True, part=flow.part("Column", line))
    flow.y -= 4.6


def _step(form: Form, place: int, number: str, step: Operation, aim: Target) -> None:
    """Set one operation: its name and text, what it aims at, its boxes, and its hold point if it has one.

    Fields go by its place among all of them, and paper by its number on the card.
    """
    flow, edges = form.flow, _edges(form)
    wide = edges[2] - edges[1] - 1.6
    title, said = step.title, step.text
    hold = tell("traveller.stop", hold=step.hold) if step.hold else ""
    after, lines = form.hanging(title, said, wide)
    if step.check:
        aim = Target(told(named(step.check)), tell("target.readings"))
    elif not (aim.number or aim.words) and step.record:
        aim = Target("", step.record)
    aim = _narrowed(form, aim)
    pitch = max(flow.leading(each) for each in (said, aim.words))
    first = max(flow.leading(each, READ, bold=True) for each in (title, hold))
    text = first + pitch * (len(lines) - 1) + _AIR
    aimed = flow.lines(aim.words, _target() - 1.6) if aim.words else ()
    target = (first if aim.number else 0.0) + pitch * len(aimed) + _AIR
    stop = flow.lines(hold, edges[4] - edges[1] - 2.0, READ, bold=True) if hold else ()
    upper = max(_ROW, text, target)
    height = upper + (first * len(stop) + _AIR if stop else 0.0)
    if form.together(height):
        _head(form)
    top = flow.y
    flow.y -= height

    def base(tall: float) -> float:
        """Return the first baseline of a block of lines that stands in the middle of the row."""
        return top - (upper - tall) / 2.0 - 0.5 * _AIR - first + _DROP * READ

    words, row = base(text), form.line()
    head, does, target_at = (flow.part(kind, row) for kind in _CELLS)
    flow.put(title, edges[1] + 0.8, words, READ, bold=True, part=does)
    for i, line in enumerate(lines):
        flow.put(line, edges[1] + 0.8 + (0.0 if i else after), words - i * pitch, part=does)
    aims = base(target) if aim.number else words + pitch
    if aim.number:
        flow.put(aim.number, edges[2] + 0.8, aims, READ, bold=bool(step.check), part=target_at)
    for i, line in enumerate(aimed):
        flow.put(line, edges[2] + 0.8, aims - (i + 1) * pitch, part=target_at)
    if not (aim.number or aimed):
        flow.drawing.vacant.append(target_at)
    for i, line in enumerate(stop):
        at = top - upper - (i + 1) * first + _DROP * READ
        flow.put(line, edges[1] + 0.8, at, READ, bold=True, part=does)
    # A hold point's octagon stays below the rule over it.
    level = min(words + 0.36 * READ - 0.7, top - _OCTAGON - 0.3) if stop else words + 0.36 * READ
    _number(form, number, ((edges[0] + edges[1]) / 2.0, level), bool(stop), head)
    low, what = flow.y, step.name
    boxes: tuple[tuple[str, Box, Kind, float], ...] = (
        ("reading", (edges[3], top - upper, edges[4], top), "text", READ),
        ("initials", (edges[4], low, edges[5], top), "text", READ),
        ("date", (edges[5], low, edges[6], top), "date", SMALL),
        ("done", (edges[6], low, edges[7], top), "tick", READ),
    )
    for key, field, kind, size in boxes:
        label = tell(f"traveller.step.{key}", number=number, operation=what)
        form.field(f"step.{place}.{key}", label, field, kind, size=size, part=flow.part("TD", row))
    form.rule()
    if stop:
        flow.drawing.draw(box((flow.left, low), (flow.right, top)), THICK, LAYER)


def _narrowed(form: Form, aim: Target) -> Target:
    """Return an aim whose number has room in its column: what has none stands with the words below it."""
    if form.flow.width(aim.number, READ, bold=True) <= _target() - 1.6 or units() == "mm":
        return aim
    first, mark, rest = aim.number.partition(", ")
    if (mark and form.flow.width(first, READ, bold=True) > _target() - 1.6) or not mark:
        first, mark, rest = aim.number.partition(" (")
    return Target(first, f"{mark.strip(', ')}{rest}; {aim.words}") if mark else aim


def _number(form: Form, number: str, centre: Point, hold: bool, part: Part) -> None:
    """Set an operation's number, in an octagon where it is a hold point."""
    size = SMALL if hold and len(number) > 1 else READ
    wide = form.flow.width(number, size, bold=True)
    form.flow.put(number, centre[0] - wide / 2.0, centre[1] - 0.36 * size, size, bold=True, part=part)
    if hold:
        reach = _OCTAGON / math.cos(math.radians(22.5))
        corners = [along(centre, (reach, polar(22.5 + 45.0 * i))) for i in range(8)]
        form.flow.drawing.draw(polyline(corners, closed=True), THICK, LAYER)
