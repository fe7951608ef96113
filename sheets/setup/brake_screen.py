"""A job's screen of forces: worked out once, for card, template, its own pages and `check`."""

import functools
import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from types import MappingProxyType
from typing import Any

from geometry.braking.forces import Forces, forces
from geometry.braking.fork_test import ForkTest, fork_test
from geometry.braking.mount_strength import Hold, Part, holds, parts
from geometry.braking.slot import SlotForce, slot_force
from geometry.braking.strength import Given, Joint, Strength, joint_of, strength
from geometry.braking.tube_frame import Brace, feet, lever_of
from geometry.clearance.bodies import Caliper, seat, tab_pads
from geometry.core.findings import Finding
from geometry.core.frozen import dataclass
from geometry.core.plane import Point
from geometry.mount.bosses import BossFit
from geometry.mount.placement import Placement
from geometry.tables.fasteners import torque
from geometry.tables.loads import Load, OwnLoad, load_on
from geometry.tables.materials import Material, is_vague, material, material_words
from geometry.tables.stance import Stance
from geometry.tubes.tube import Tube
from sheets.job.read import Job
from sheets.words import fork_test as fork_words
from sheets.words import strength as words
from sheets.words.as_json import as_json
from sheets.words.slot import asks_brief, brief, loud_brief, loud_remedy, pads_brief, stamp, worded
from sheets.words.tell import listed, tell

_TAB_PAST = 12.0
"""How far a tab's foot is taken to run past its holes along the tube, mm: the edge that its pattern shows."""
_OUTSIDE = {"tandem": "brake.tandem", "cargo": "brake.cargo"}
"""What the fork test leaves out, by the kind of bicycle."""
_VERDICTS = {
    "thru": "thru axle",
    "held": "held by shape",
    "retention": "retention needed",
    "never": "not with this slot",
}
_PLACES = {"foot_top": "top of foot"}
"""Verdicts on a slot, and places on a tube, as documents have them, which are read by programs."""


@dataclass(frozen=True, slots=True)
class Loaded:
    """The screen: load, forces, slot, tubes, screws and the mount's parts.

    `stance` is how the bicycle stands; where it is not known, `forces` are those of the stance that decides.
    `words` are the sentences of its pages and `check`, `after` those of them that follow on the tubes,
    `tested` is what the published fork test does to a leg, None where it is no fork or not known.
    `card` the short of it, `findings` what is to be told of, `stamp` what the template letters large, or an
    empty text.
    """

    load: Load
    stance: Stance
    forces: Forces
    slot: SlotForce
    material: Material | None
    strength: Strength
    tested: ForkTest | None
    holds: tuple[Hold, Hold]
    parts: tuple[Part, ...]
    words: tuple[str, ...]
    after: tuple[str, ...]
    card: str
    findings: tuple[Finding, ...]
    stamp: str


def loaded(
    job: Job,
    placement: Placement,
    tubes: Mapping[str, Tube],
    room: Caliper,
    bosses: Sequence[BossFit] = (),
    carriers: Mapping[str, str] = MappingProxyType({}),
) -> Loaded:
    """Return the screen of a job with a caliper's room; what it cannot know is named in it.

    `bosses` are how its bosses meet their tube, empty where that is not known, and `carriers` what holds
    those that no known tube does (sheets/setup/carried.py).
    """
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
    made_of = material(job.process.material)
    past = _past(job, placement)
    brace, lacking = _brace(job)
    screened = _screened(
        placement,
        towards,
        load,
        tuple(tubes.items()),
        tuple((name, each.wall) for name, each in job.tubes.given().items()),
        (brace, lacking, past, tuple(stands.turns)),
        made_of,
        table.wheel,
        _apart(job),
    )
    held = holds(placement, found, load.friction.value)
    made = _parts(job, placement, tubes, found, past, screened, bosses)
    metal = None if made_of is None else made_of.beside
    joint = joint_of(job.process.method)
    forked = _tested(screened, joint)
    following = (
        words.aside_words(screened),
        *fork_words.test_words(screened, forked),
        words.life_words(screened, joint),
        words.hold_words(held, placement.interface.hole.screw, load.friction.value, torque()),
        *words.part_words(made, metal, carriers),
        *words.seam_words(made, carriers),
        tell("strength.retention") if placement.axle.kind == "quick release" else "",
    )
    after = tuple(each for each in following if each)
    said = (_force_words(found), slot.sentence, *words.stop_words(screened), *after)
    kind = table.kind
    found_out = (
        *_at_slot(slot),
        *_borne(screened, load, made_of, made, carriers, job.process.material or ""),
        *_forked(screened, forked),
        *((Finding("outside-test", "note", tell(_OUTSIDE[kind])),) if kind in _OUTSIDE else ()),
    )
    return Loaded(
        load=load,
        stance=stands,
        forces=found,
        slot=slot,
        material=made_of,
        strength=screened,
        tested=forked,
        holds=held,
        parts=made,
        words=said,
        after=after,
        card=_card(found, slot, screened),
        findings=found_out,
        stamp=stamp(slot),
    )


def _at_slot(slot: SlotForce) -> Iterator[Finding]:
    """Give what is found of braking at the dropout's slot."""
    where = "dropout.slot"
    if slot.asks:
        do = tell("slot.remedy.asks", keys=slot.unknown)
        yield Finding("slot-unknown", "unknown", slot.asks, where, brief=asks_brief(slot), remedy=do)
    if slot.loud:
        said, do = loud_brief(slot), loud_remedy(slot)
        yield Finding("slot-pushes-out", "warn", slot.sentence, where, brief=said, remedy=do)
    elif slot.on_pads:
        # Told and no more: a frame's closed quick release holds the worst of it, wherever the caliper sits;
        # else it would be loud. Many good frames have upright slots, and are not called unknown.
        said, do = pads_brief(slot), tell("slot.remedy.on_pads")
        yield Finding("slot-on-pads", "note", slot.sentence, where, brief=said, remedy=do)


def _borne(
    screened: Strength,
    load: Load,
    made_of: Material | None,
    made: tuple[Part, ...],
    carriers: Mapping[str, str],
    named: str,
) -> Iterator[Finding]:
    """Give what is found of the strength of tubes and mount."""
    metal = None if made_of is None else made_of.beside
    if text := words.unknown_words(screened):
        said = tell("strength.brief.unknown_what")
        do = tell("strength.brief.unknown_remedy", missing=screened.missing)
        if named and made_of is None and screened.missing == ("process.material",):
            do = tell("strength.brief.material_remedy", named=named, words=material_words())
        yield Finding("strength-unknown", "unknown", text, brief=said, remedy=do)
    if made_of is not None and is_vague(named):
        said = tell("strength.brief.vague", named=named, taken=made_of.name)
        do = tell("strength.brief.vague_remedy")
        yield Finding("material-vague", "note", f"{said} {do}", brief=said, remedy=do)
    if text := words.warning(screened, load, made_of):
        said, do = words.weak_brief(screened, load), words.weak_remedy(screened)
        yield Finding("tube-weak", "warn", text, brief=said, remedy=do)
    if metal is not None and (text := words.overloaded(made, metal, load.ratio.value, carriers)):
        worst = max(stress for _, stress in words.judged(made))
        said = tell("strength.brief.part", stress=worst, limit=metal.value, grade=metal.grade)
        yield Finding("mount-weak", "warn", text, brief=said, remedy=tell("strength.brief.part_remedy"))
    near = words.near_part(made, metal, load.ratio.value)
    if near is not None and metal is not None and near.stress is not None:
        text = f"{tell('strength.part_near')} {' '.join(words.part_words((near,), metal, carriers))}"
        said = tell("strength.brief.part_near", stress=near.stress, limit=metal.value, grade=metal.grade)
        yield Finding("mount-near", "note", text, brief=said, remedy=tell("strength.brief.part_near_remedy"))
    if text := words.look_words(screened):
        said, do = words.look_brief(screened), tell("strength.brief.look_remedy")
        yield Finding("tube-near", "note", text, brief=said, remedy=do)


def _tested(screened: Strength, joint: Joint) -> ForkTest | None:
    """Return what the published fork test does to the leg; None where it is no fork, or not known."""
    if not screened.test or screened.test_arm is None:
        return None
    (leg,) = screened.walls
    return fork_test(screened.test[0].weakest, leg, screened.test_arm.value, joint)


def _forked(screened: Strength, forked: ForkTest | None) -> Iterator[Finding]:
    """Give where the published fork test may bend or break the leg.

    Notes and no warnings: by this model ordinary disc forks come short of it too, so that it parts no good
    fork from a bad one (tests/outside/test_frames.py).
    """
    if forked is None:
        return
    text = " ".join(fork_words.test_words(screened, forked))
    if forked.bends:
        said, do = fork_words.held_brief(forked), tell("fork_test.brief.held_remedy")
        yield Finding("fork-test-held", "note", text, brief=said, remedy=do)
    if forked.short:
        said, do = fork_words.test_brief(forked), tell("fork_test.brief.repeated_remedy")
        yield Finding("fork-test", "note", text, brief=said, remedy=do)
    elif forked.joint == "brazed":
        said, do = tell("fork_test.brief.brazed"), tell("fork_test.brief.brazed_remedy")
        yield Finding("fork-test-unknown", "note", text, brief=said, remedy=do)


def stands_words(stands: Stance, turn: float) -> str:
    """Return how the bicycle stands, or for which stance the numbers hold where nobody has said it."""
    if stands.known:
        return tell(f"brake.stands.{stands.end}", angle=stands.of(turn))
    least, most = stands.least, stands.most
    return tell(
        f"brake.stance_open.{stands.end}",
        angle=stands.of(turn),
        least=least.value,
        most=most.value,
        grade=least.grade,
    )


def loaded_json(load: Loaded | None) -> dict[str, Any] | None:
    """Return the screen for a document: without the many sections and lines that only a drawing needs."""
    if load is None:
        return None
    document: dict[str, Any] = as_json(replace(load, strength=replace(load.strength, bent=None, walls=())))
    slot, strength = document["slot"], document["strength"]
    del strength["bent"], strength["walls"]
    if document["tested"] is not None:
        # It stands as the weakest of the strength's `test` already.
        del document["tested"]["weak"]
    slot["verdict"] = _VERDICTS.get(slot["verdict"], slot["verdict"])
    weak = [each[which] for each in (*strength["stop"], *strength["test"]) for which in ("weakest", "second")]
    weak.append(strength["bound"])
    for section in filter(None, weak):
        section["at"] = _PLACES.get(section["at"], section["at"])
    for part in document["parts"]:
        part["missing"] = listed(part["missing"])
    return document


@functools.lru_cache(maxsize=64)
def _screened(
    placement: Placement,
    towards: Point,
    load: Load,
    tubes: tuple[tuple[str, Tube], ...],
    walls: tuple[tuple[str, float | None], ...],
    beside: tuple[Brace | None, bool, float, tuple[float, ...]],
    made_of: Material | None,
    wheel: float | None,
    apart: float | None,
) -> Strength:
    """Return the screen of the tubes, the longest to work out, once for equal ones."""
    given = Given(dict(tubes), dict(walls), *beside)
    return strength(placement, towards, load, given, made_of, wheel, apart)


def _past(job: Job, placement: Placement) -> float:
    """Return how far the mount's foot runs past its holes along the host, mm."""
    if placement.interface.family == "tab":
        return _TAB_PAST
    usual = placement.interface.boss_diameter or placement.interface.hole.diameter
    return (usual.value if job.boss.diameter is None else job.boss.diameter) / 2.0


def _brace(job: Job) -> tuple[Brace | None, bool]:
    """Return the job's brace, and whether its wall lacks, without which it is not credited."""
    brace = job.tubes.brace
    if brace is None:
        return None, False
    if brace.wall is None:
        return None, True
    return Brace(brace.diameter, brace.wall, brace.on_chainstay, brace.on_seatstay), False


def _apart(job: Job) -> float | None:
    """Return by how many degrees the steerer stands steeper than the leg; None where that is not known."""
    head, leg = job.stance.head, job.stance.of("front").angle
    return None if head is None or leg is None else head - leg


def _parts(
    job: Job,
    placement: Placement,
    tubes: Mapping[str, Tube],
    found: Forces,
    past: float,
    screened: Strength,
    bosses: Sequence[BossFit],
) -> tuple[Part, ...]:
    face, boss = placement.interface, job.boss
    host = tubes.get(placement.host)
    foot = face.x_far - face.x_near + 2.0 * past
    lever = 0.0
    if host is not None and face.family == "tab":
        (entering,) = feet(placement, found, host, past)
        lever = lever_of(entering, host)
    usual = face.boss_diameter
    shares = [each.share.least for each in bosses if each.share is not None]
    tube = None
    if screened.bent is not None and shares:
        at = [each.s for each in bosses if each.s is not None]
        cuts = screened.bent.of(placement.host)
        tube = max((min(cuts, key=lambda cut: abs(cut.s - s)).stress for s in at), default=None)
    return parts(
        placement,
        found,
        thickness=boss.thickness,
        diameter=boss.diameter if boss.diameter is not None or usual is None else usual.value,
        lengths=_free(job, bosses),
        foot=foot,
        lever=lever,
        share=min(shares, default=None),
        tube=tube,
    )


def _free(job: Job, bosses: Sequence[BossFit]) -> tuple[float | None, float | None]:
    """Return how far near and far post or boss stand free of their tube, mm, or else how long they are."""
    stands = {each.name: each.standoff for each in bosses}
    near = job.boss.length if job.boss.near_length is None else job.boss.near_length
    found = [
        length if (out := stands.get(name)) is None else max(0.0, out)
        for name, length in (("near", near), ("far", job.boss.length))
    ]
    return found[0], found[1]


def _force_words(found: Forces) -> str:
    near, far = found.screws
    return tell(
        "brake.forces_pulled" if near.pull or far.pull else "brake.forces",
        drag=math.hypot(*found.on_disc),
        axle=math.hypot(*found.axle),
        near=near.shear,
        far=far.shear,
        near_pull=near.pull,
        far_pull=far.pull,
    )


def _card(found: Forces, slot: SlotForce, screened: Strength) -> str:
    """Return the card's line: newtons, and where to read on."""
    near, far = found.screws
    few = brief(slot)
    return tell(
        "brake.card_slot" if few else "brake.card",
        drag=math.hypot(*found.on_disc),
        axle=math.hypot(*found.axle),
        near=near.shear,
        far=far.shear,
        slot=few,
        tubes=words.card_words(screened),
    )
