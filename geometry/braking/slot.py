"""Whether braking pushes the axle out of an open slot, in every case that a job leaves open.

A slot's angle says which way it lets the wheel out, degrees, + forward, from the tube's line or from plumb
(geometry/tables/stance.py). What it is measured from, how the bicycle stands, and where on a tab the caliper
sits may each be unknown: then all that they may be is gone through, and the worst counts. The words stand in
sheets/words/slot.py.
"""

import itertools
import math
from collections.abc import Sequence
from typing import Literal

from geometry.braking.forces import Vector, axle_force, disc_force
from geometry.core.frozen import dataclass
from geometry.core.plane import Point
from geometry.core.tables import Number
from geometry.mount.placement import Placement
from geometry.tables.axles import End
from geometry.tables.loads import Load, entry
from geometry.tables.stance import REFERENCES, Reference, Stance, directions, in_frame, slot_way

Verdict = Literal["thru", "held", "retention", "never", "unknown"]
"""A thru axle, a wheel held by its slot's shape, retention needed, a push that no secured wheel need bear."""
LOUD: tuple[Verdict, ...] = ("retention", "never")
"""What is warned of."""


@dataclass(frozen=True, slots=True)
class Case:
    """One thing that a job may mean: what its slot is measured from, how the ground is turned, degrees.

    `direction` is then the slot's in the package's axes, and `axle` what the axle puts on the dropout, N.
    """

    reference: Reference
    turn: float
    direction: float
    axle: Vector

    @property
    def out(self) -> float:
        """Return what pushes out of the slot, N; minus: into it."""
        return push_out(self.axle, self.direction)


@dataclass(frozen=True, slots=True)
class SlotForce:
    """What braking does at a slot, `out` N along the way out (minus: into it) in the worst case.

    `out`, `taken` and `least` are None for no open slot known. `taken` is the worst and `least` the best case
    with the caliper where it is taken to sit; `pads` the worst where it may sit on a tab, None for other
    mounts. Where that alone makes a worse verdict `on_pads` says so, and `out` is `pads`; else it is `taken`.
    `force` is the axle's whole push, N, in the case that decides, and `turn` the ground's there. `down` and
    `back` are what would push out of a slot straight down and one straight rearward, N.
    `given` is the job's angle and `reference` what it is measured from; `direction` is the same from straight
    down in the package's axes, None where it is not settled. `vanishes` is the angle nearest to straight down
    at which nothing pushes out in any case, wherever the pads may sit, measured as `reference` says, and
    without one from the tube's line; None where there is none. `unknown` names the job's keys that would
    settle what is open, `turns` says whether the verdict turns on them, and `spread` is the stance's least
    and most angle.
    `sentence` says it in words, `asks` what is unknown and wanted, or nothing; `loud`: to be warned of.
    """

    end: End
    verdict: Verdict
    out: float | None
    taken: float | None
    least: float | None
    pads: float | None
    on_pads: bool
    weight: float
    force: float
    turn: float
    down: float
    back: float
    given: float | None
    reference: Reference | None
    direction: float | None
    vanishes: float | None
    unknown: tuple[str, ...]
    turns: bool
    spread: tuple[float, float]
    loud: bool
    sentence: str = ""
    asks: str = ""


def push_out(axle: Point, direction: float) -> float:
    """Return what of an axle force pushes out of a slot, N; minus: into it."""
    way = slot_way(direction)
    return axle[0] * way[0] + axle[1] * way[1]


def vanishing(axle: Point) -> float:
    """Return the slot direction nearest to straight down along which an axle force has no part."""
    # The part along the way out is -x sin d - y cos d.
    if axle[0] == 0.0:
        return 90.0
    return math.degrees(math.atan(-axle[1] / axle[0]))


def secured() -> Number:
    """Return what a wheel that is properly secured must bear at one end of its axle, along its slot, N."""
    return entry("rest", "secured")


def verdict_of(out: float) -> Verdict:
    """Return what to say of so much push out of a slot, N.

    Held: braking pushes into the slot, or by less than the table's limit out of it. Never: by more than a
    secured wheel must bear at one end of its axle.
    """
    if out <= entry("rest", "slot").value:
        return "held"
    return "never" if out > secured().value else "retention"


def slot_force(
    placement: Placement,
    load: Load,
    towards: Point,
    stance: Stance,
    slot: float | None,
    reference: Reference | None,
    elsewhere: Sequence[Point] = (),
) -> SlotForce:
    """Return what braking does at a slot, without words; a thru axle has no open slot.

    `towards` is where the pads' middle lies from the axle, `elsewhere` where on a tab it may lie too.
    """
    either = REFERENCES if reference is None else (reference,)
    thru = placement.axle.kind == "thru axle"
    given = None if thru else slot

    def cases(at: float, *pads: Point) -> list[Case]:
        discs = [disc_force(placement, load, pad) for pad in pads]
        return [
            Case(each, turn, in_frame(at, each, turn), axle_force(disc, load, turn))
            for disc, turn, each in itertools.product(discs, stance.turns, either)
        ]

    found = cases(given or 0.0, towards)
    wider = [*found, *cases(given or 0.0, *elsewhere)]
    # Numbers and arrows are those of the case that decides; for a thru axle, the one with most at the axle.
    case = max(found, key=(lambda each: math.hypot(*each.axle)) if thru else _out)
    verdict: Verdict = "thru" if thru else "unknown"
    out = taken = least = pads = None
    turns = on_pads = loud = False
    if given is not None:
        out = taken = case.out
        least = min(each.out for each in found)
        verdict = verdict_of(out)
        turns = verdict_of(least) != verdict
        pads = max(map(_out, wider)) if elsewhere else None
        if pads is not None and verdict_of(pads) != verdict:
            case, on_pads = max(wider, key=_out), True
            out, verdict = pads, verdict_of(pads)
        # A frame's wheel is told of, and shouted about only where a secured one may come out: many good
        # frames have upright slots under a seatstay's tab and would all be stamped, and no fork's wheel comes
        # back once it has left (own judgement).
        loud = verdict in LOUD and (placement.end == "front" or verdict == "never")
    meant = () if given is None else directions(given, reference, stance.turns)
    return SlotForce(
        end=placement.end,
        verdict=verdict,
        out=out,
        taken=taken,
        least=least,
        pads=pads,
        on_pads=on_pads,
        weight=load.wheel,
        force=math.hypot(*case.axle),
        turn=case.turn,
        # Where on its tab a caliper sits is not known either, and the worst counts.
        down=max(map(_out, cases(0.0, towards, *elsewhere))),
        back=max(map(_out, cases(-90.0, towards, *elsewhere))),
        given=given,
        reference=None if thru else reference,
        direction=meant[0] if len(meant) == 1 else None,
        vanishes=None if thru else safe_from(wider, reference),
        unknown=() if thru else _unknown(slot, reference, stance),
        turns=turns,
        spread=(stance.of(max(stance.turns)), stance.of(min(stance.turns))),
        loud=loud,
    )


def safe_from(cases: Sequence[Case], reference: Reference | None) -> float | None:
    """Return the slot's angle nearest to straight down at which no case pushes out, degrees, or None.

    It is measured from plumb where `reference` says so, else from the tube's line. An axle that is pushed
    rearward lets go of a slot that opens further forward, and the other way round; where it is pushed either
    way by case, no angle near straight down serves all.
    """
    plumb = reference == "plumb"
    angles = [vanishing(case.axle) + (case.turn if plumb else 0.0) for case in cases]
    if all(case.axle[0] > 0.0 for case in cases):
        return max(angles)
    if all(case.axle[0] < 0.0 for case in cases):
        return min(angles)
    return None


def _out(case: Case) -> float:
    return case.out


def _unknown(slot: float | None, reference: Reference | None, stance: Stance) -> tuple[str, ...]:
    lacking = (
        ("dropout.slot", slot is None),
        ("dropout.slot_from", reference is None),
        (f"stance.{stance.name}", not stance.known),
    )
    return tuple(key for key, lacks in lacking if lacks)
