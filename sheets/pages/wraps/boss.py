"""The wraps of bosses and posts: their outlines on the host tube, and their own copes."""

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from geometry.core.errors import GeometryError
from geometry.core.findings import Finding
from geometry.core.frozen import dataclass
from geometry.core.plane import angle_of
from geometry.core.roots import zero
from geometry.core.say import Say, named, say
from geometry.mount.bosses import blank_lengths
from geometry.mount.placement import Placement
from geometry.tubes.crossing import RoundCrossing, cylinder_through
from geometry.tubes.tube import Station, Tube, Vector, centre, locate, surface
from sheets.job.operations import by_hand
from sheets.job.read import Job
from sheets.pages import title as words
from sheets.pages.wraps.brace import brace_marks
from sheets.pages.wraps.strip import Punch, Strip
from sheets.pages.wraps.tube import PAST, Mark, rank_name, strips_on
from sheets.setup.carried import Carrier, feet_of, loose
from sheets.setup.clearances import fits
from sheets.words.tell import tell, told

Found = tuple[list[Strip], list[Finding]]
_SEARCH = 2001
_LEAST = 1.0
"""Least length of a boss over its cope, mm: a shorter one is no boss."""


@dataclass(frozen=True, slots=True)
class _Boss:
    """One boss: its hole's name, its axis on its raw face, its length, the way in, and where it meets."""

    name: str
    x: float
    top: Vector
    raw: float
    into: Vector
    curves: tuple[RoundCrossing, ...]

    def side(self, side: str) -> list[RoundCrossing]:
        return [curve for curve in self.curves if curve.side == side]

    def depths(self, side: str) -> Vector:
        return np.concatenate([curve.depth for curve in self.side(side)])


def boss_strips(job: Job, placement: Placement, tube: Tube) -> Found:
    """Return the strips of a post or flat mount's bosses, and what has to be said of them."""
    said: list[Finding] = []
    bosses: list[_Boss] = []
    body = "wrap.body_post" if placement.interface.family == "post" else "wrap.body"
    part = named(placement.interface.part)
    tubes = {placement.host: tube}
    carriers: dict[str, Carrier] = dict(loose(job, placement, tubes))
    carriers |= dict.fromkeys(feet_of(job, placement, tubes), "dropout")
    diameter = words.boss_size(job, placement)[0]
    into = np.array([-placement.n[0], -placement.n[1], 0.0])
    for hole, x in zip(placement.holes, (placement.interface.x_near, placement.interface.x_far), strict=True):
        top = _at(placement, x, placement.interface.h + job.process.facing)
        try:
            curves = cylinder_through(tube, top, into, diameter / 2.0, body=say(body, hole=named(hole.name)))
        except GeometryError as error:
            said.append(_no_boss(placement, hole.name, carriers.get(hole.name), error))
            continue
        said += [word for curve in curves for word in curve.words]
        raw = words.boss_length(job, placement, hole.name) + job.process.facing
        bosses.append(_Boss(hole.name, x, top, raw, into, curves))
    if not bosses:
        return [], said
    coped = placement.interface.family == "post"
    marks: list[Mark] = []
    punches: list[Punch] = []
    notes: list[tuple[str, Say]] = []
    for boss in bosses:
        outlines, drills, note = _outlines(tube, boss, diameter, coped)
        marks += outlines
        punches += drills
        notes.append((boss.name, note))
        if not drills:
            what = say("wrap.no_pilot", hole=named(boss.name), part=part, tube=named(tube.name))
            said.append(Finding("no-pilot", "warn", what, f"{boss.name} boss"))
    blank = host_blank(job, placement, tube, tuple(punches), _merged(notes))
    others = [*rotor_marks(placement, tube), *brace_marks(job, tube)]
    strips, why = strips_on(blank, [*marks, *others], job.wrap.clear)
    said += why
    cuts = dict(blank_lengths(fits(job, placement, {placement.host: tube}), job.process.facing))
    for boss in bosses:
        if coped or boss.raw < float(boss.depths("entry").max()):
            more, why = _cope(job, placement, boss, diameter, cuts.get(boss.name))
            strips += more
            said += why
    return strips, said


def _no_boss(placement: Placement, hole: str, carrier: Carrier | None, error: GeometryError) -> Finding:
    """Return that a boss has no wrap, and why: what carries it is the reason, where that is known."""
    name, part, subject = named(hole), named(placement.interface.part), f"{hole} boss"
    if carrier != "dropout":
        what = say("wrap.no_boss", hole=name, part=part, why=error.problems[0].what)
        return Finding("no-wrap", "note", what, subject)
    short, do = say("wrap.on_dropout", hole=name, part=part), by_hand(hole, carrier)
    if placement.interface.family != "post":
        return Finding("no-wrap", "note", short, subject, False)
    return Finding(
        "no-wrap", "note", say("wrap.on_dropout_do", short=short, do=do), subject, False, short, do
    )


def _merged(notes: Sequence[tuple[str, Say]]) -> tuple[str, ...]:
    """Return what is said of each boss as sentences, one for both where the same is said."""
    said = {what: [name for name, each in notes if each == what] for _, what in notes}
    return tuple(
        tell("wrap.note", bosses=say(f"wrap.bosses.{'both' if len(names) > 1 else names[0]}"), what=what)
        for what, names in said.items()
    )


def _outlines(tube: Tube, boss: _Boss, diameter: float, coped: bool) -> tuple[list[Mark], list[Punch], Say]:
    """Return a boss's outlines on the walls that it reaches, where to drill, and what it does there."""
    raw = boss.raw
    drills = _pierced(tube, boss)
    # The far wall is cut where the boss reaches it on its axis.
    through = raw >= (drills["far"][0] if "far" in drills else float(np.mean(boss.depths("far"))))
    hole = named(boss.name)
    first, last = float(boss.depths("entry").min()), float(boss.depths("entry").max())
    sawn = not coped and raw >= last
    labels = {"mount": (told(hole),), "far": (tell("wrap.at_the_back", hole=hole), told(hole))}
    if not sawn:
        labels["mount"] = (tell("wrap.drill.no_hole", hole=hole), told(hole))
    marks = []
    for side, wall in (("entry", "mount"), ("far", "far"))[: 2 if through else 1]:
        for curve in boss.side(side):
            one = f", {curve.rank} of {curve.count}" if curve.count > 1 else ""
            name = f"boss {boss.name}, {wall} side{one}"
            marks.append(Mark(name, "hole", curve.s, curve.turn, labels[wall] if curve.rank == 1 else ()))
    if coped:
        note = say("wrap.drill.coped")
    elif not sawn:
        note = say("wrap.drill.on_tube")
    elif through:
        note = say("wrap.drill.through", diameter=diameter)
    else:
        note = say("wrap.drill.into", diameter=diameter, deep=raw - first)
    kept = [replace(punch, sawn=sawn) for wall, (_, punch) in drills.items() if through or wall == "mount"]
    return marks, kept, note


def host_blank(
    job: Job, placement: Placement, tube: Tube, punches: tuple[Punch, ...] = (), notes: tuple[str, ...] = ()
) -> Strip:
    """Return a strip of the host tube without lines on it."""
    host = named(placement.host)
    return Strip(
        name=f"{placement.host.replace('-', ' ')} wrap",
        title=tell("wrap.of_tube", tube=host),
        tube=tube,
        low=tube.span[0],
        high=tube.span[1],
        lines=(),
        punches=punches,
        zero=0.0,
        rate=math.cos(math.radians(tube.splay)),
        middle="mount",
        up=tell("wrap.up", tube=host),
        inside=(tell("wrap.clear", clear=job.wrap.clear),) if job.wrap.clear else (),
        notes=notes,
        paper=job.wrap.paper,
    )


def _at(placement: Placement, x: float, up: float) -> Vector:
    t, n = placement.t, placement.n
    return np.array([x * t[0] + up * n[0], x * t[1] + up * n[1], placement.lateral_z])


def _pierced(tube: Tube, boss: _Boss) -> dict[str, tuple[float, Punch]]:
    """Return where a boss's axis goes into the tube, "mount", and comes out, "far", each with its depth."""

    def out(depth: Vector) -> Vector:
        return locate(tube, boss.top + depth[:, None] * boss.into)[2] - 1.0

    deep = np.linspace(0.0, float(boss.depths("far").max()) + 20.0, _SEARCH)
    inside = np.flatnonzero(out(deep) < 0.0)
    if not len(inside):
        return {}
    found = {}
    for wall, edge, step in (("mount", inside[0], -1), ("far", inside[-1], 1)):
        if not 0 <= edge + step < len(deep):
            continue
        at = float(zero(out, deep[[edge]], deep[[edge + step]])[0])
        s, turn, _ = locate(tube, boss.top + at * boss.into)
        if tube.span[0] <= s <= tube.span[1]:
            found[wall] = (at, Punch(f"{boss.name}, {wall} side", float(s), float(turn)))
    return found


def _cope(job: Job, placement: Placement, boss: _Boss, diameter: float, cut: float | None) -> Found:
    """Return the strip for a boss's own end, cut to a length: it reaches up to the raw mount face."""
    part = named(placement.interface.part)
    if float(boss.depths("entry").min()) < _LEAST:
        what = say("wrap.no_cope", hole=named(boss.name), part=part)
        return [], [Finding("no-cope", "note", what, f"{boss.name} boss")]
    height = placement.interface.h + job.process.facing
    bottom = height - float(boss.depths("entry").max()) - PAST
    body = Tube(
        name=f"boss {boss.name}",
        direction=angle_of(placement.n),
        stations=(Station(bottom - 1.0, diameter, diameter), Station(height, diameter, diameter)),
        offset=-boss.x,
        outset=placement.lateral_z,
    )
    marks = []
    for curve in boss.side("entry"):
        s, turn, _ = locate(body, curve.space)
        name = f"boss {boss.name}, cope{rank_name(curve.rank, curve.count)}"
        marks.append(Mark(name, "edge", s, np.unwrap(turn), (tell("wrap.cut.keep"), tell("wrap.cut.bare"))))
    hole, facing = named(boss.name), job.process.facing
    code = "wrap.stock.facing" if facing else "wrap.stock.bare"
    blank = Strip(
        name=f"boss {boss.name}",
        title=tell("wrap.of_boss", hole=hole, part=part),
        tube=body,
        low=bottom,
        high=height,
        lines=(),
        punches=(),
        zero=height,
        rate=-1.0,
        middle="axle",
        up=tell("wrap.to_face"),
        inside=(),
        notes=() if cut is None else (tell(code, hole=hole, part=part, long=cut, faced=cut - facing),),
        paper=job.wrap.paper,
    )
    return strips_on(blank, marks, None)


def rotor_marks(placement: Placement, tube: Tube) -> list[Mark]:
    """Return the line along a tube where the disc passes nearest to it; none where that is not known."""
    rotor = placement.rotor
    if rotor.inner_face_z is None or rotor.outer_face_z is None:
        return []
    middle = (rotor.inner_face_z + rotor.outer_face_z) / 2.0
    s = np.linspace(*tube.span, _SEARCH)
    # The tube's side that faces the disc, as far as the rim covers it.
    turn = math.pi / 2.0 if middle < centre(tube, float(s[0]))[2] else -math.pi / 2.0
    points = surface(tube, s, np.full_like(s, turn))
    under = np.hypot(points[:, 0], points[:, 1]) <= rotor.radius
    if np.count_nonzero(under) < 2:
        return []
    ends = s[under][[0, -1]]
    return [
        Mark(f"{tube.name} wrap, nearest to the disc", "rotor", ends, np.full(2, turn), (tell("wrap.disc"),))
    ]
