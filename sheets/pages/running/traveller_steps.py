"""The traveller's operations: a line each to do, to read and to sign, hold points framed."""

import math
from collections.abc import Mapping
from dataclasses import dataclass

from geometry.core.errors import FitError, Problem
from geometry.core.plane import along, polar
from geometry.mount.placement import Placement
from geometry.printing.distortion import numbers
from sheets.ink.marks import MM_BAR, THICK, box, polyline
from sheets.ink.records import Point
from sheets.job.read import Job
from sheets.pages.flow import READ, SMALL
from sheets.pages.running.traveller_form import LAYER, Form
from sheets.setup.setup import STACK_TOLERANCE, Operation, SetUp

STOP = "STOP AND CALL:"
_NUMBER, _TARGET, _READING, _INITIALS, _DATE, _DONE = 8.6, 28.6, 17.0, 14.2, 19.4, 9.6
_LEAST = 48.0
"""Narrowest column for what is to be done, mm."""
_ROW = 8.2
"""Least height of a line to sign, mm: room for handwriting."""
_AIR = 1.0
_DROP = 0.32
"""How far a baseline stands over the foot of its line, in type sizes."""


@dataclass(frozen=True, slots=True)
class Target:
    """What an operation aims at: a number large, and below it what it may be off by, and of what."""

    number: str = ""
    words: str = ""


def targets(job: Job, placement: Placement, setup: SetUp) -> dict[str, Target]:
    """Return what is known of each shipped operation's aim, by its key, mm unless it says otherwise."""
    off = numbers()["check read"].value
    found = {
        "prove-scale": Target(f"{MM_BAR:.2f}", f"bars, ±{off:g}"),
        "torque": Target("", "maker's N m"),
    }
    built, width = setup.build_up, placement.axle.width
    if built is not None and built.stack is not None:
        found["stack"] = Target(f"{built.stack:.2f}", f"to fill, ±{STACK_TOLERANCE:g}")
        if built.stack < 0.0:
            found["stack"] = Target(f"{-built.stack:.2f}", "least relief")
    if setup.fixture is not None and setup.fixture.line_in is not None:
        found["stack"] = Target(f"{setup.fixture.line_in:.2f}", "plate to bolt line")
    if job.process.amps is not None:
        found["heat"] = Target(f"{job.process.amps:g} A", "on the job")
    if width is not None:
        found["align"] = Target(f"{width.value:g}", "seat to seat")
    if job.process.facing:
        found["face"] = Target(f"{job.process.facing:.2f}", "to take off")
    found["final-check"] = _final(setup)
    return found


def _final(setup: SetUp) -> Target:
    """Return what the disc has to clear once the wheel is in: read where it runs nearest as it turns.

    That is after its run-out, like every clearance. Where a tube's place is not known, what to measure is
    said in its stead.
    """
    disc = setup.clear.disc
    unknown = [each for each in setup.clear.clearances if each.kind == "rotor" and each.left is None]
    if disc is None:
        # The column is narrow: the card says of which tube, and how.
        why = unknown[0].why.replace("tubes.", "").partition(" and ")[0] if unknown else ""
        return Target("unknown", why)
    least = "" if disc.least is None else f", min {disc.least:g}"
    tube = f"to {disc.name.partition(' to ')[2]},"
    runout = f" after {disc.allowance:g} run-out" if disc.allowance else ""
    return Target(f"{disc.told}{least}", f"{tube}{runout}".rstrip(","))


def steps(form: Form, setup: SetUp, aims: Mapping[str, Target]) -> None:
    """Set the operations in the job's order, each with boxes for reading, initials, date and a tick."""
    form.heading("Operations, in order; sign each one before the next", _ROW + 6.0)
    for hold in setup.unheld:
        form.flow.paragraph(f"{STOP} {hold}", READ, "bold")
    for danger in setup.dangers:
        form.flow.paragraph(danger, weight="bold")
    _heads(form)
    for number, step in enumerate(setup.operations, start=1):
        _step(form, number, step, aims.get(step.key, Target()))


def _edges(form: Form) -> tuple[float, ...]:
    """Return where the columns begin, and where the last one ends; FitError on too narrow a page."""
    flow = form.flow
    fixed = (_TARGET, _READING, _INITIALS, _DATE, _DONE)
    wide = flow.right - flow.left - _NUMBER - sum(fixed)
    if wide < _LEAST:
        what = (
            f"the traveller is {_LEAST - wide:.1f} mm too wide; use a larger paper or a smaller margin, or "
            "print = false in [traveller]"
        )
        raise FitError(Problem("paper.size", what))
    edges = [flow.left, flow.left + _NUMBER, flow.left + _NUMBER + wide]
    for each in fixed:
        edges.append(edges[-1] + each)
    return tuple(edges)


def _heads(form: Form) -> None:
    flow, edges = form.flow, _edges(form)
    heads = ("", "operation", "target, limits", "reading", "initials", "date", "done")
    baseline = flow.y - 3.5
    for head, x in zip(heads, edges, strict=False):
        if head:
            flow.put(head, x + 0.6, baseline, bold=True)
    flow.y -= 4.6


def _step(form: Form, number: int, step: Operation, aim: Target) -> None:
    """Set one operation: its name and text, what it aims at, its boxes, and its hold point if it has one."""
    flow, edges = form.flow, _edges(form)
    wide = edges[2] - edges[1] - 1.6
    after, lines = form.hanging(step.title, step.text, wide)
    if step.check:
        aim = Target(step.check, "readings")
    elif not (aim.number or aim.words) and step.record:
        aim = Target("", step.record)
    pitch = max(flow.leading(each) for each in (step.text, aim.words))
    first = max(flow.leading(each, READ, bold=True) for each in (step.title, step.hold or ""))
    text = first + pitch * (len(lines) - 1) + _AIR
    aimed = flow.lines(aim.words, _TARGET - 1.6) if aim.words else ()
    target = (first if aim.number else 0.0) + pitch * len(aimed) + _AIR
    stop = flow.lines(f"{STOP} {step.hold}", edges[4] - edges[1] - 2.0, READ, bold=True) if step.hold else ()
    upper = max(_ROW, text, target)
    height = upper + (first * len(stop) + _AIR if stop else 0.0)
    if form.together(height):
        _heads(form)
    top = flow.y
    flow.y -= height

    def base(tall: float) -> float:
        """Return the first baseline of a block of lines that stands in the middle of the row."""
        return top - (upper - tall) / 2.0 - 0.5 * _AIR - first + _DROP * READ

    words = base(text)
    flow.put(step.title, edges[1] + 0.8, words, READ, bold=True)
    for i, line in enumerate(lines):
        flow.put(line, edges[1] + 0.8 + (0.0 if i else after), words - i * pitch)
    aims = base(target) if aim.number else words + pitch
    if aim.number:
        flow.put(aim.number, edges[2] + 0.8, aims, READ, bold=bool(step.check))
    for i, line in enumerate(aimed):
        flow.put(line, edges[2] + 0.8, aims - (i + 1) * pitch)
    for i, line in enumerate(stop):
        flow.put(line, edges[1] + 0.8, top - upper - (i + 1) * first + _DROP * READ, READ, bold=True)
    _number(form, number, ((edges[0] + edges[1]) / 2.0, words + 0.36 * READ), bool(stop))
    label = f"operation {number}, {step.title.lower()}"
    stem, low = f"step.{number}", flow.y
    form.field(f"{stem}.reading", f"{label}: reading", (edges[3], top - upper, edges[4], top))
    form.field(f"{stem}.initials", f"{label}: initials", (edges[4], low, edges[5], top))
    form.field(f"{stem}.date", f"{label}: date", (edges[5], low, edges[6], top), "date", size=SMALL)
    form.field(f"{stem}.done", f"{label}: done", (edges[6], low, edges[7], top), "tick")
    form.rule()
    if stop:
        flow.drawing.draw(box((flow.left, low), (flow.right, top)), THICK, LAYER)


def _number(form: Form, number: int, centre: Point, hold: bool) -> None:
    """Set an operation's number, in an octagon where it is a hold point."""
    half = 1.35 if number < 10 else 2.75
    form.flow.put(f"{number}", centre[0] - half, centre[1] - 0.36 * READ, READ, bold=True)
    if hold:
        reach = 3.3 / math.cos(math.radians(22.5))
        corners = [along(centre, (reach, polar(22.5 + 45.0 * i))) for i in range(8)]
        form.flow.drawing.draw(polyline(corners, closed=True), THICK, LAYER)
