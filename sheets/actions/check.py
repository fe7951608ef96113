"""Every computed number of a job as aligned text, for reading at a terminal."""

import math
from collections.abc import Iterable, Mapping
from dataclasses import replace
from operator import mul

from geometry.braking.forces import Forces
from geometry.braking.slot import SlotForce
from geometry.clearance.bodies import tab_band
from geometry.clearance.judged import down, missing
from geometry.clearance.tilt import Tilts
from geometry.core.findings import Finding
from geometry.core.plane import short
from geometry.core.tables import Number
from geometry.mount.placement import Placement
from geometry.mount.spacers import Stack
from geometry.mount.standoff import UNDER_SHEET, proud, untold
from geometry.tables.interfaces import HoleForm
from geometry.tables.loads import entry
from geometry.tables.stance import rearward, upward
from geometry.tubes.tube import Tube
from sheets.job.read import JobFile, place_job, tubes_of
from sheets.pages.wraps.parts import unshown
from sheets.setup.brake_screen import Loaded, stands_words
from sheets.setup.clearances import Clear, tilts_of
from sheets.setup.findings import all_findings, finding_lines
from sheets.setup.fixture import fixture_rows
from sheets.setup.setup import SetUp, left_words, set_up
from sheets.words.bosses import rows as boss_rows
from sheets.words.slot import measured, push
from sheets.words.tell import tell, told


def report(source: JobFile) -> tuple[Placement, SetUp, tuple[Finding, ...], str]:
    """Return a job's placement, its set-up, all findings and the text that prints them.

    Raise DropleafError as placing and setting up do.
    """
    placement = place_job(source.job)
    job, interface = source.job, placement.interface
    title = " ".join(part for part in (job.frame.id, job.frame.name) if part)
    lines = [f"{title}  ({source.path})", ""]
    lines += _columns(_what(source, placement))
    lines += ["", *_holes(placement), ""]
    lines += _columns(_numbers(placement))
    tubes = tubes_of(job)
    lines += ["", *_columns(_tubes(source, placement, tubes))]
    lines += ["", *_columns([("grade", placement.grade), *(("source", each) for each in interface.sources)])]
    setup = set_up(job, placement, tubes)
    lines += ["", *_columns(_setup(setup))]
    found = tilts_of(job, tubes)
    lines += ["", *_columns(_clear(setup.clear, found))]
    if setup.load is not None:
        lines += ["", *_columns(_load(setup.load))]
    if setup.fixture is not None:
        lines += ["", *_columns(fixture_rows(setup.fixture))]
    findings = all_findings(job, placement, setup, unshown(job, placement, tubes))
    if findings:
        lines += ["", *finding_lines(findings)]
    return placement, replace(setup, tilts=found), findings, "\n".join(lines)


def mm(value: float | None, sign: bool = False) -> str:
    """Return a length to the micrometre, never as -0, or "not found" where the tables lack it."""
    if value is None:
        return "not found"
    if abs(value) < 0.0005:
        return "0.000"
    return f"{value:+.3f}" if sign else f"{value:.3f}"


def graded(number: Number | None) -> str:
    """Return a table's number with its grade, or "not found"."""
    return f"{number.value:g} ({_grade(number.grade)})" if number else "not found"


def _grade(grade: str) -> str:
    return "the job's own" if grade == "own" else f"grade {grade}"


def _what(source: JobFile, placement: Placement) -> list[tuple[str, str]]:
    interface, axle, adapter = placement.interface, placement.axle, placement.adapter
    own = ", the job's own row" if interface.own else ""
    pocket = f"{placement.pocket:g} ({_grade(placement.pocket_grade)})"
    datum = (
        "the dropout's inner face"
        if placement.end == "rear"
        else f"the pocket's floor, {placement.datum_shift:g} outboard of the dropout's inner face"
    )
    return [
        ("mount", f"{told(interface.title)} ({interface.name}{own}), made for {interface.native:g}"),
        ("disc", f"{source.job.mount.rotor:g}"),
        (
            "adapter",
            f"{adapter.name}, {adapter.step:+g} ({_grade(adapter.grade)})"
            + (f"; {told(adapter.sentence)}" if adapter.sentence else ""),
        ),
        ("axle", f"{axle.title} ({axle.name}), {graded(axle.width)} over the hub's ends"),
        ("pocket", f"{pocket} a side"),
        ("datum", datum),
        ("host", f"{placement.host}, tilt {placement.tilt:g} deg"),
    ]


def _holes(placement: Placement) -> list[str]:
    """Return the table of hole centres; x rearward, y up, z outboard of the dropout's inner face."""
    rows: list[tuple[str, ...]] = [("hole", "x", "y", "z", "from axle")]
    for hole, radius in zip(placement.holes, placement.interface.radii, strict=True):
        rows.append((hole.name, *(mm(value) for value in hole.centre), mm(radius)))
    lines = [f"  {name:<8}" + "".join(f"{value:>12}" for value in values) for name, *values in rows]
    x, y, z = placement.holes[0].axis
    made = _made(placement.interface.hole)
    return [*lines, f"  each {made}; the screw goes in along ({mm(x)}, {mm(y)}, {mm(z)})"]


def _made(hole: HoleForm) -> str:
    size = f"{hole.diameter.value:g}"
    if hole.kind == "slot" and hole.length is not None:
        size = f"{size} x {hole.length:g}"
    kind = {"plain": "a plain hole", "thread": "a tapping drill", "slot": "a slot"}[hole.kind]
    return f"{kind} {size} for {hole.screw} ({_grade(hole.diameter.grade)})"


def _numbers(placement: Placement) -> list[tuple[str, str]]:
    interface, rotor = placement.interface, placement.rotor
    level = "hole line" if interface.family == "tab" else "mount face"
    sideways = "tab's inner face" if interface.family == "tab" else "middle of the holes"
    band = f"plus or minus {interface.tolerance:g}" if interface.tolerance is not None else "not found"
    return [
        (f"{level} above the axle", mm(interface.h)),
        ("foot to near hole", mm(interface.x_near)),
        ("foot to far hole", mm(interface.x_far)),
        ("near to far hole", mm(interface.x_far - interface.x_near)),
        ("tolerance of what places the holes", band),
        (
            f"{sideways}, z",
            f"{mm(placement.lateral_z, sign=True)}, that is {mm(interface.lateral.value, sign=True)} "
            f"from the datum ({_grade(interface.lateral.grade)})",
        ),
        ("disc's radius", mm(rotor.radius)),
        ("brake track, inner radius", mm(rotor.radius - rotor.track)),
        ("disc's inner face, z", mm(rotor.inner_face_z, sign=True)),
        ("disc's outer face, z", mm(rotor.outer_face_z, sign=True)),
    ]


def _tubes(source: JobFile, placement: Placement, tubes: Mapping[str, Tube]) -> list[tuple[str, str]]:
    given = source.job.tubes.given()
    taken = {name for name, table in given.items() if "offset" not in table.model_fields_set}
    rows = [
        (
            name,
            f"{tube.direction:g} deg in the side view, known from "
            + " to ".join(map(short, tube.span))
            + (", its middle line taken to pass through the axle (no offset is given)" * (name in taken)),
        )
        for name, tube in tubes.items()
    ]
    if placement.host not in tubes:
        rows.append((placement.host, "not given: a template shows its direction alone"))
    thickness, view = source.job.dropout.thickness, source.job.paper.view
    if thickness is None and view == "outboard":
        return [*rows, ("stand-off", "not known, the dropout's thickness is not given")]
    face = thickness if thickness is not None and view == "outboard" else 0.0
    reach = placement.interface.x_far + UNDER_SHEET
    high = proud(tubes.values(), face, view, reach)
    side = "outer" if view == "outboard" else "inner"
    for tube in untold(tubes.values(), reach):
        rows.append(("stand-off", f"not known for the {tube.name}; {missing(tube.name, tube)}"))
    if high is None and untold(tubes.values(), reach):
        return rows
    if high is None:
        return [*rows, ("stand-off", f"none, no tube given is proud of the dropout's {side} face")]
    return [*rows, ("stand-off", f"{mm(high.by)}, the {high.tube} past the dropout's {side} face")]


def _clear(clear: Clear, tilts: Tilts) -> list[tuple[str, str]]:
    """Return every clearance with its state and nearest points, what a moving wheel does, and the tilts."""
    words = {"ok": "clearance", "warn": "clearance, tight", "fail": "CLEARANCE FAILS", "unknown": "clearance"}
    rows = []
    for each in clear.clearances:
        at = "" if each.second is None else f" at ({', '.join(f'{value:.1f}' for value in each.second)})"
        rows.append((words[each.state], f"{each.sentence.removesuffix('.')}{at}"))
    if clear.travel is not None:
        rows.append(("travel", clear.travel.sentence))
    rows.append(("wheel out", clear.way_out.sentence.removeprefix("Wheel out: ")))
    return [*rows, *(("tilt", sentence) for sentence in tilts.sentences)]


_TESTS = (("second", "repeated, second stage"), ("static", "held for a minute"))
"""The fork test's other forces, by their keys in the loads' table."""


def _load(load: Loaded) -> list[tuple[str, str]]:
    """Return the screen of forces: what it was reckoned with, the forces, the slot and the tube."""
    numbers = [(f"load, {told(name)}", number) for name, number in load.load.numbers]
    numbers.append(("load, friction under the screws", load.load.friction))
    numbers.append(("load, yield over stress asked", load.load.ratio))
    numbers.append(("load, out of a slot and held, N", entry("rest", "slot")))
    found = load.strength
    if found.test_force is not None and found.test_arm is not None:
        numbers.append(("fork test, force, N", found.test_force))
        numbers += [(f"fork test, {name}, N", entry("test", key)) for key, name in _TESTS]
        numbers.append((f"fork test, arm, {told(found.test_arm_words)}, mm", found.test_arm))
    if load.material is not None:
        numbers.append((f"yield as delivered, {load.material.name}, MPa", load.material.delivered))
        numbers.append((f"yield beside a joint, {load.material.name}, MPa", load.material.beside))
    rows = [
        (name, f"{each.value:g} ({_grade(each.grade)}{'' if each.grade == 'own' else f': {each.source}'})")
        for name, each in numbers
    ]
    forces = load.forces
    rows += [
        ("stance", stands_words(load.stance, forces.turn)),
        ("brake at the tyre", f"{load.load.brake:.0f} N, weight on the wheel {load.load.wheel:.0f} N"),
        (
            "disc on caliper",
            f"{_newtons(forces, forces.on_caliper)} at a radius of {forces.pad_radius:.1f} mm",
        ),
        ("axle on dropout", _newtons(forces, forces.axle)),
        ("braking moment", f"{forces.torque / 1000.0:.1f} N·m"),
    ]
    for screw in forces.screws:
        pulled = f", pulled {screw.pull:.0f} N" if screw.pull else ""
        across = f"{screw.shear:.0f} N across{pulled}; friction {load.load.friction.value:g} alone would ask"
        rows.append((f"{screw.name} screw", f"{across} {screw.clamp:.0f} N of clamping"))
    rows.append(("slot", load.slot.sentence))
    rows += _slot(load.slot)
    rows += [("strength", sentence) for sentence in load.words[2:]]
    if load.strength.stop and load.strength.missing:
        rows.append(("strength, not given", ", ".join(map(told, load.strength.missing))))
    return [*rows, ("screen", tell("strength.screen"))]


def _slot(slot: SlotForce) -> list[tuple[str, str]]:
    """Return what is told of a slot besides its sentence: how it lies, what would serve, what is open."""
    rows = []
    if slot.direction is not None:
        line = "the fork leg's line" if slot.end == "front" else "square down from the chainstay"
        rows.append(("slot on the sheet", f"opens {slot.direction:.1f} deg from {line}, + forward"))
    if slot.vanishes is not None:
        where = measured(slot.end, slot.reference or "tube")
        rows.append(("slot without push", f"opens {slot.vanishes:.1f} deg from {where}, + forward"))
    if slot.pads is not None:
        least, most = tab_band()
        where = (
            f"{least.value:g} to {most.value:g} deg from the hole line (grade {most.grade}: {most.source})"
        )
        rows.append(
            ("slot, pads elsewhere", f"at the worst {told(push(slot.pads))} with the pads at {where}")
        )
    if slot.unknown:
        rows.append(("slot, not given", ", ".join(slot.unknown)))
    return rows


def _newtons(forces: Forces, force: tuple[float, float]) -> str:
    """Return a force and its parts along the ground and up from it."""
    back, up = (sum(map(mul, force, way)) for way in (rearward(forces.turn), upward(forces.turn)))
    return f"{math.hypot(*force):.0f} N ({back:+.0f} rearward, {up:+.0f} up from the ground)"


def _setup(setup: SetUp) -> list[tuple[str, str]]:
    """Return the card's numbers: stack, readings, screws, disc, order of work and cautions."""
    rows: list[tuple[str, str]] = []
    if setup.build_up is not None:
        built = setup.build_up
        where = "in the fixture, " if setup.fixture else ""
        rows.append(("stack", f"{where}from the dropout's {built.plate_face}, {told(built.filling)}"))
        rows.append(("chain", f"worst case {built.worst_case:.3f}, root of squares {built.rss:.3f}"))
    if setup.choice is not None:
        rows.append(("pieces", told(setup.choice.sentence)))
        rows += [("or", _pieces(other)) for other in setup.choice.alternatives]
    rows += [("", sentence) for sentence in setup.stack_words]
    for reading in setup.readings:
        limits = f", go {reading.mm.low} to {reading.mm.high}" if reading.mm.low else ""
        mark = "*" if reading.judged else ""
        grade = f"{mark} ({_grade(reading.limit.grade)})" if reading.limit is not None and limits else ""
        often = "once" if reading.times == 1 else f"{reading.times} times"
        shown = f"{reading.mm.nominal} mm{limits}{grade}; {reading.inch.nominal} in; read {often}"
        rows.append((reading.name, shown))
    rows += [("readings", each) for each in (*setup.reading_words, *setup.how_words)]
    rows += [(f"screw, {tell(f'setup.screw.{key}')}", value) for key, value in setup.screws]
    heads, lines = boss_rows(setup.bosses) if setup.bosses else ((), ())
    for name, *values in lines:
        row = ", ".join(f"{head} {value}" for head, value in zip(heads[1:], values, strict=True))
        rows.append((f"boss, {name}", row))
    rows += [("boss", told(each.text)) for each in setup.boss_words if each.level == "note"]
    clear = setup.clear
    if clear.disc_words:
        rows.append(("disc to tube", clear.disc_words))
    largest = clear.largest
    if largest is not None and largest.gaps:
        after = f"after {largest.runout:g} for run-out, " if largest.runout else ""
        gaps = ", ".join(f"{size:g}: {down(gap.left)}" for size, gap in largest.gaps)
        rows.append(("disc to tube by size", f"{after}{gaps}"))
    rows.append(("largest disc", clear.largest_words.removeprefix("largest disc").lstrip(": ")))
    rows += [("paper", sentence.removeprefix("Paper, ")) for sentence in setup.print_words]
    rows += [
        (
            f"step {number}, {step.key}",
            f"{step.text}{f' Check point: {step.check}.' if step.check else ''}"
            f"{f' STOP AND CALL: {step.hold}' if step.hold else ''}",
        )
        for number, step in enumerate(setup.operations, start=1)
    ]
    return rows + [(f"caution, {each.group}", f"{each.text} [{each.source}]") for each in setup.cautions]


def _pieces(stack: Stack) -> str:
    pieces = " + ".join(f"{piece:g}" for piece in stack.pieces) or "none"
    return f"{pieces}, {left_words(stack)}"


def _columns(rows: Iterable[tuple[str, str]]) -> list[str]:
    rows = list(rows)
    wide = max(len(name) for name, _ in rows)
    return [f"  {name:<{wide}}  {value}" for name, value in rows]
