"""A job's screen of forces: worked out once, for card, template, its own page and `check`."""

import math
from collections.abc import Mapping
from dataclasses import dataclass

from geometry.forces import Forces, forces
from geometry.loads import Load, Material, OwnLoad, entry, load_on, material
from geometry.placement import Placement
from geometry.room import Caliper, seat, tab_pads
from geometry.slot import SlotForce, slot_force
from geometry.slot_words import brief, worded
from geometry.stance import Stance
from geometry.tube import Tube
from geometry.tube_stress import TubeScreen, screen
from sheets.job import Job

_TAB_PAST = 12.0
"""How far a tab's foot is taken to run past its holes along the tube, mm: the edge that its pattern shows."""

SCREEN = "A screen of forces, no strength proof and no claim of conformity: have a new design tested."

_OUTSIDE = {
    "tandem": "The fork test that the screen measures by leaves tandems out (remembered, not read).",
    "cargo": "The fork test that the screen measures by leaves cargo bicycles out (remembered, not read).",
}


@dataclass(frozen=True, slots=True)
class Loaded:
    """The screen: load, forces, slot and host tube; `braced` is the tube with the job's brace, or None.

    `stance` is how the bicycle stands; where it is not known, `forces` are those of the stance that decides.
    `words` are the sentences of its page and `check`, `card` the short of it, `warnings` what is to be warned
    of, `stamp` what the template letters large, or an empty text.
    """

    load: Load
    stance: Stance
    forces: Forces
    slot: SlotForce
    material: Material | None
    tube: TubeScreen
    braced: TubeScreen | None
    words: tuple[str, ...]
    card: str
    warnings: tuple[str, ...]
    stamp: str


def loaded(job: Job, placement: Placement, tubes: Mapping[str, Tube], room: Caliper) -> Loaded:
    """Return the screen of a job with a caliper's room; what it cannot know is named in it."""
    table = job.load
    load = load_on(
        placement.end,
        OwnLoad(
            table.kind, table.mass, table.deceleration, table.share, table.wheel, table.friction, table.ratio
        ),
    )
    towards = seat(placement, room).pad
    stands = job.stance.of(placement.end)
    dropout = job.dropout
    slot = worded(
        slot_force(placement, load, towards, stands, dropout.slot, dropout.slot_from, tab_pads(placement))
    )
    found = forces(placement, load, towards, slot.turn)
    host = job.tubes.given().get(job.mount.host)
    made_of = material(job.process.material)
    family = placement.interface.family
    usual = placement.interface.boss_diameter or placement.interface.hole.diameter
    diameter = usual.value if job.boss.diameter is None else job.boss.diameter

    def screened(brace: float | None) -> TubeScreen:
        return screen(
            placement,
            tubes.get(placement.host),
            towards,
            wall=host.wall if host else None,
            half_foot=_TAB_PAST if family == "tab" else diameter / 2.0,
            wheel=table.wheel,
            material=made_of,
            wanted=load.ratio.value,
            brace=brace,
            own=load,
            turns=stands.turns,
        )

    tube = screened(None)
    braced = None if (at := _brace_at(job, placement)) is None else screened(at)
    if braced == tube:
        # A brace that meets the stay below the top of the foot holds nothing, and is not told of as held.
        braced = None
    words = (_force_words(found), slot.sentence, *_tube_words(tube, braced, made_of))
    warnings = [slot.asks] if slot.asks else []
    warnings += [slot.sentence] if slot.loud else []
    warnings += _tube_warnings(braced or tube, placement, load, made_of, braced is not None)
    if table.kind in _OUTSIDE:
        warnings.append(_OUTSIDE[table.kind])
    stamp = ""
    if slot.loud and slot.out is not None:
        most = "up to " if slot.unknown or slot.on_pads else ""
        stamp = f"BRAKING PUSHES THE WHEEL OUT: {most}{slot.out:.0f} N along the open slot, {slot.verdict}."
    card = _card(found, slot, braced or tube, made_of)
    return Loaded(load, stands, found, slot, made_of, tube, braced, words, card, tuple(warnings), stamp)


def stands_words(stands: Stance, turn: float) -> str:
    """Say how the bicycle stands, or for which stance the numbers hold where nobody has said it."""
    tube = "fork leg" if stands.end == "front" else "chainstay"
    if stands.known:
        return f"The bicycle stands with its {tube} at {stands.of(turn):.1f} degrees to the ground."
    least, most = stands.least, stands.most
    return (
        f"How the bicycle stands is not given (stance.{stands.name}): drawn for a {tube} at "
        f"{stands.of(turn):.0f} degrees to the ground, the worst of {least.value:g} to {most.value:g} (grade "
        f"{least.grade})."
    )


def _brace_at(job: Job, placement: Placement) -> float | None:
    brace = job.tubes.brace
    if brace is None:
        return None
    return {"chainstay": brace.on_chainstay, "seatstay": brace.on_seatstay}.get(placement.host)


def _force_words(found: Forces) -> str:
    near, far = found.screws
    axle, drag = math.hypot(*found.axle), math.hypot(*found.on_disc)
    pulled = f", pulled {near.pull:.0f} and {far.pull:.0f}" if near.pull or far.pull else ""
    clamp = max(near.clamp, far.clamp)
    across = f"{near.shear:.0f} N near, {far.shear:.0f} far{pulled}"
    return (
        f"Braked hard: {drag:.0f} N at the pads, {axle:.0f} N at the axle, across the screws {across}; "
        f"friction alone would ask {clamp:.0f} N of clamping."
    )


def _card(found: Forces, slot: SlotForce, tube: TubeScreen, made_of: Material | None) -> str:
    """Return the card's line: newtons, and where to read on."""
    near, far = found.screws
    axle, drag = math.hypot(*found.axle), math.hypot(*found.on_disc)
    screws = f"across the screws {near.shear:.0f} and {far.shear:.0f}"
    said = f"Braked hard: pads {drag:.0f} N, axle {axle:.0f}, {screws}"
    if few := brief(slot):
        said += f"; {few}"
    if tube.worst is not None:
        limit = f", yield {made_of.limit.value:g}" if made_of else ""
        said += f"; {tube.tube.replace('-', ' ')} at most {tube.worst.stress:.0f} MPa alone{limit}"
    return f"{said}: see the page of loads, a screen and no strength proof."


def _tube_words(tube: TubeScreen, braced: TubeScreen | None, made_of: Material | None) -> list[str]:
    name = tube.tube.replace("-", " ")
    worst = tube.worst
    if worst is None:
        lacking = ", ".join(each for each in tube.missing if "material" not in each)
        return [f"The {name}'s stress is unknown: {lacking or 'it ends below the mount'} is not given."]
    said = (
        f"Screen of the {name} with {tube.force.value:g} N on an arm of {tube.arm.value:g}: at most "
        f"{worst.stress:.0f} MPa, {worst.name}, if it alone carries all "
        f"({tube.under(worst, 'static'):.0f} with the static test's {entry('test', 'static').value:g} N, "
        f"{worst.stop or 0.0:.0f} braked hard)"
    )
    if braced is not None and braced.worst is not None:
        said += f", {braced.worst.stress:.0f} with the brace"
    if made_of is None:
        return [f"{said}; no yield is known for the material."]
    limit = made_of.limit
    said = f"{said}; yield {limit.value:g} ({made_of.name}, grade {limit.grade}), less where heated."
    if tube.tube == "chainstay":
        said += " Told and not warned of: dropout and seatstay back a chainstay."
    return [said]


def _tube_warnings(
    tube: TubeScreen, placement: Placement, load: Load, made_of: Material | None, braced: bool
) -> list[str]:
    """Return the warning of a fork leg or a seatstay that the screen finds weak.

    A chainstay is backed by seatstay and dropout, so that the bound of one tube alone says little there.
    """
    worst = tube.worst
    if worst is None or worst.ratio is None or made_of is None or placement.host == "chainstay":
        return []
    stop = max(place.stop or 0.0 for place in tube.places)
    if worst.ratio >= load.ratio.value and stop <= made_of.limit.value:
        return []
    name = placement.host.replace("-", " ")
    ways = []
    if worst.wall_for is not None:
        ways.append(f"a wall of {worst.wall_for:.2f} there")
    if tube.reach is not None:
        ways.append(f"a foot that reaches up to s = {tube.reach:.0f}")
    if placement.host == "seatstay" and not braced:
        ways.append("a brace to the chainstay from above the foot")
    helped = f"; what helps: {' or '.join(ways)}" if ways else "; no wall of this tube is enough"
    return [
        f"Screen: {name} {worst.stress:.0f} MPa, {worst.name}, yield over it {worst.ratio:.2f}, asked "
        f"{load.ratio.value:g}, and {stop:.0f} MPa braked hard, "
        f"{'with the brace' if braced else 'if it alone carries all'}{helped}. {SCREEN}"
    ]
