"""What `check --all` tells of a hard stop: forces, slot, and what the tubes bear."""

import math
from operator import mul

from geometry.braking.forces import Forces
from geometry.braking.slot import SlotForce
from geometry.clearance.bodies import tab_band
from geometry.core.say import Say, Value, named, say
from geometry.core.tables import Number
from geometry.tables.loads import LENGTHS, entry
from geometry.tables.stance import rearward, upward
from sheets.actions.check_rows import Row, grade_of, graded, row, wide
from sheets.setup.brake_screen import Loaded, stands_words
from sheets.words.lengths import units
from sheets.words.slot import line, push
from sheets.words.tell import told
from sheets.words.two import figures


def load_rows(load: Loaded) -> list[Row]:
    """Return the screen of forces: what it was reckoned with, the forces, the slot and the tube."""
    numbers = [(say("check.load.number", name=name), number) for name, number in load.load.numbers]
    numbers.append((say("check.load.friction"), load.load.friction))
    numbers.append((say("check.load.ratio"), load.load.ratio))
    numbers.append((say("check.load.slot"), entry("rest", "slot")))
    found, metal = load.strength, load.material
    if found.test_force is not None and found.test_arm is not None:
        numbers.append((say("check.load.test_force"), found.test_force))
        numbers += [(say(f"check.test.{key}"), entry("test", key)) for key in ("second", "static")]
        numbers.append((say(f"check.load.test_arm.{units()}", arm=found.test_arm_words), found.test_arm))
    if metal is not None:
        numbers.append((say("check.load.delivered", material=metal.name), metal.delivered))
        numbers.append((say("check.load.beside", material=metal.name), metal.beside))
    rows: list[Row] = [
        (
            name,
            wide(each) if each.grade == "own" and _is_length(name) else _sourced(each, name),
        )
        for name, each in numbers
    ]
    forces = load.forces
    rows += [
        row("stance", stands_words(load.stance, forces.turn)),
        row("tyre", brake=load.load.brake, wheel=load.load.wheel),
        row("caliper", force=_newtons(forces, forces.on_caliper), radius=forces.pad_radius),
        row("dropout", _newtons(forces, forces.axle)),
        row("moment", f"{forces.torque / 1000.0:.1f} N·m"),
    ]
    for screw in forces.screws:
        of_screw = {"shear": screw.shear, "pull": screw.pull, "clamp": screw.clamp}
        code = "check.screw_pulled" if screw.pull else "check.screw"
        across = say(code, **of_screw, friction=load.load.friction.value)
        rows.append((say("check.label.screw", name=named(screw.name)), across))
    rows.append(row("slot", load.slot.sentence))
    rows += _slot(load.slot)
    rows += [row("strength", sentence) for sentence in load.words[2:]]
    if load.strength.stop and load.strength.missing:
        rows.append(row("not_given", ", ".join(map(told, load.strength.missing))))
    return [*rows, row("screen", say("strength.screen"))]


def _is_length(name: Say) -> bool:
    """Tell whether a number of the screen is a length, by what it is called."""
    what = dict(name.values).get("name")
    return name.code.startswith("check.load.test_arm") or (isinstance(what, Say) and what.code in LENGTHS)


def _sourced(number: Number, name: Say) -> Say:
    """Return a number of the screen with its grade and source, an own one with its grade."""
    if number.grade == "own":
        return graded(number)
    values: dict[str, Value] = {
        "value": number.value,
        "grade": grade_of(number.grade),
        "source": number.source,
    }
    if _is_length(name):
        return say("check.sourced_length", **values)
    values["value"] = figures(number)
    return say("check.sourced", **values)


def _slot(slot: SlotForce) -> list[Row]:
    """Return what is told of a slot besides its sentence: how it lies, what would serve, what is open."""
    rows = []
    if slot.direction is not None:
        rows.append(row("on_sheet", say(f"check.slot.{slot.end}", angle=slot.direction)))
    if slot.vanishes is not None:
        where = line(slot.end, slot.reference or "tube")
        rows.append(row("no_push", angle=slot.vanishes, where=where))
    if slot.pads is not None:
        least, most = tab_band()
        rows.append(
            row(
                "pads",
                push=push(slot.pads),
                least=least.value,
                most=most.value,
                grade=most.grade,
                source=most.source,
            )
        )
    if slot.unknown:
        rows.append(row("slot_lacks", ", ".join(slot.unknown)))
    return rows


def _newtons(forces: Forces, force: tuple[float, float]) -> Say:
    """Return a force and its parts along the ground and up from it."""
    back, up = (sum(map(mul, force, way)) for way in (rearward(forces.turn), upward(forces.turn)))
    return say("check.newtons", force=math.hypot(*force), back=back, up=up)
