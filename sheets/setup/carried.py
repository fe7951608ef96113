"""What carries posts and bosses that the host tube, as far as it is known, does not: what to say of it."""

import functools
from collections.abc import Iterator, Mapping, Sequence
from typing import Literal, TypeAlias

from geometry.core.findings import Finding, Level
from geometry.core.plane import short
from geometry.core.say import Say, Value, named, say
from geometry.mount.bosses import BossFit
from geometry.mount.carried import Carried, carried, hole_across, hole_limit, overhang_limit
from geometry.mount.foot import FIT, Foot
from geometry.mount.placement import Placement
from geometry.tubes.tube import Tube
from sheets.job.read import Job
from sheets.setup.clearances import fits as fits_of
from sheets.setup.clearances import mount_sizes
from sheets.setup.outline import Shape
from sheets.setup.outline import shape as shape_of

Carrier: TypeAlias = Literal["dropout", "unknown"]
"""What holds a post or boss that no known tube does: the dropout's metal, or nobody knows what."""


def carriers(
    job: Job, placement: Placement, fits: Sequence[BossFit], shape: Shape | None
) -> dict[str, Carrier]:
    """Return by hole what carries each post or boss that lies below where its tube is known."""
    found = _met(job, placement, fits, shape)
    return {
        fit.name: "dropout" if fit.name in found and found[fit.name].stands else "unknown"
        for fit in fits
        if fit.meets == "before"
    }


def holders(job: Job, placement: Placement, fits: Sequence[BossFit], shape: Shape | None) -> dict[str, str]:
    """Return by hole what the screen of strength may count on: as `carriers`, but "dropout_part" for a
    lower end that does not stand whole on the dropout's metal.
    """
    found = _met(job, placement, fits, shape)
    held = carriers(job, placement, fits, shape)
    return {
        name: "dropout_part" if carrier == "dropout" and found[name].foot.shape != "whole" else carrier
        for name, carrier in held.items()
    }


def loose(job: Job, placement: Placement, tubes: Mapping[str, Tube]) -> tuple[tuple[str, Carrier], ...]:
    """Return the posts that stand below where their tube is known, so that no wrap shows them, by hole.

    Each with what carries it; nothing for a mount that has no posts.
    """
    if placement.interface.family != "post":
        return ()
    met = carriers(job, placement, fits_of(job, placement, tubes), shape_of(job, placement))
    return tuple(met.items())


def carrier_findings(
    job: Job, placement: Placement, fits: Sequence[BossFit], shape: Shape | None, start: float
) -> tuple[Finding, ...]:
    """Return what is said of each: a note with how much metal carries it, or that it is not known.

    `start` is how far up the host tube is known from, mm.
    """
    found = _met(job, placement, fits, shape)
    part, tube = named(placement.interface.part), named(placement.host)
    said: list[Finding] = []
    for name, carrier in carriers(job, placement, fits, shape).items():
        subject, hole = f"{name} {placement.interface.part}", named(name)
        if carrier == "dropout":
            said += _stands(found[name], hole, part, subject)
            continue
        why = _why(shape, found.get(name))
        brief = say("bosses.carrier_brief", hole=hole, part=part, why=why)
        whole = say("bosses.carrier_unknown", hole=hole, part=part, tube=tube, start=short(start), why=why)
        do = say("bosses.give_carrier" if shape is None else "bosses.mend_carrier", part=part)
        text = say("outline.told", what=whole, do=do)
        said.append(Finding("carrier-unknown", "unknown", text, subject, brief=brief, remedy=do))
    return tuple(said)


def _stands(met: Carried, hole: Say, part: Say, subject: str) -> Iterator[Finding]:
    """Yield how a post or boss stands on the dropout; a warning where too little of its foot finds metal."""
    foot = met.foot
    key = "boss.near_length" if hole.code == "name.near" else "boss.length"
    where: dict[str, Value] = {"hole": hole, "part": part, "deep": met.deep, "wide": met.wide}
    if foot.share is None:
        yield Finding("carried-by-dropout", "note", say("bosses.stands", **where), subject)
        return
    spare = foot.spare or 0.0
    if met.overhangs:
        least = overhang_limit().value * 100.0
        brief = say("bosses.overhangs", share=foot.share * 100.0, least=least, **where)
        do = say("bosses.overhangs_remedy", hole=hole, part=part)
        whole = say("outline.told", what=brief, do=do)
        yield Finding("foot-overhangs", "warn", whole, subject, brief=brief, remedy=do)
    elif foot.shape != "whole":
        what = say(f"bosses.stands_{foot.shape or 'part'}", share=foot.share * 100.0, **where)
        yield Finding("carried-by-dropout", "note", what, subject)
    elif spare > FIT:
        need = foot.depths[1] if foot.depths else 0.0
        what = say("bosses.stands_long", by=spare, need=need, key=key, **where)
        yield Finding("carried-by-dropout", "note", what, subject)
    else:
        yield Finding("carried-by-dropout", "note", say("bosses.stands_whole", **where), subject)


def hole_findings(job: Job, placement: Placement) -> Iterator[Finding]:
    """Tell where little of a post or boss is left round its hole, or nothing; a tab has no such wall."""
    face, size = placement.interface, mount_sizes(job, placement).diameter
    if face.family == "tab" or size is None:
        return
    (across, kind), least = hole_across(face.hole), hole_limit().value
    left, enough = (size.value - across) / 2.0, across + 2.0 * least
    # A diameter in inches may be told, and typed, some hundredths off.
    if left >= least - 0.01:
        return
    own = job.interface is not None and job.interface.hole is not None
    part = named(face.part)
    level: Level
    if left > 0.0:
        level, brief = "warn", say(f"bosses.beside_hole.{kind}", part=part, left=left, least=least)
    else:
        level, brief = "stop", say(f"bosses.no_wall.{kind}", part=part, diameter=size.value, across=across)
    do = say(f"bosses.wider.{'own_row' if own else 'part'}", part=part, enough=enough)
    whole = say("outline.told", what=brief, do=do)
    yield Finding("hole-wall", level, whole, "boss.diameter", brief=brief, remedy=do)


def feet_of(job: Job, placement: Placement, tubes: Mapping[str, Tube]) -> dict[str, Foot]:
    """Return by hole the foot of each post or boss that stands on the dropout."""
    fits, shape = fits_of(job, placement, tubes), shape_of(job, placement)
    return {name: each.foot for name, each in _met(job, placement, fits, shape).items() if each.stands}


def whys(job: Job, placement: Placement, tubes: Mapping[str, Tube]) -> dict[str, tuple[Say, Say]]:
    """Return by hole why it is not known what carries a post or boss, and what to do."""
    fits, shape = fits_of(job, placement, tubes), shape_of(job, placement)
    found, part = _met(job, placement, fits, shape), named(placement.interface.part)
    do = say("bosses.give_carrier" if shape is None else "bosses.mend_carrier", part=part)
    return {
        name: (_why(shape, found.get(name)), do)
        for name, carrier in carriers(job, placement, fits, shape).items()
        if carrier == "unknown"
    }


def _met(
    job: Job, placement: Placement, fits: Sequence[BossFit], shape: Shape | None
) -> Mapping[str, Carried]:
    """Return what each finds of the dropout; nothing where it is not known which way its outline stands."""
    size = mount_sizes(job, placement).diameter
    if shape is None or not shape.sure or size is None:
        return {}
    return {each.name: each for each in _carried(placement, tuple(fits), shape, size.value)}


# Card, sheets, order of work and screen all ask for it, and it looks along a hundred lines.
@functools.lru_cache(maxsize=64)
def _carried(
    placement: Placement, fits: tuple[BossFit, ...], shape: Shape, diameter: float
) -> tuple[Carried, ...]:
    return carried(
        placement, fits, shape.outline, thickness=shape.thickness, diameter=diameter, pad=shape.pad
    )


def _why(shape: Shape | None, met: Carried | None) -> Say:
    """Return why it is not known what carries a post or boss."""
    if shape is None:
        return say("bosses.why.no_outline")
    if not shape.sure:
        return say("bosses.why.no_direction")
    if met is None:
        return say("bosses.why.no_length")
    if met.wide <= 0.0:
        return say("bosses.why.beside", by=-met.wide)
    if met.short is not None:
        return say("bosses.why.short", by=met.short)
    if met.deep <= 0.0:
        return say("bosses.why.no_metal")
    return say("bosses.why.little", deep=met.deep, wide=met.wide)
