"""The wraps of bosses and posts: their outlines on the host tube, and their own copes."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from geometry.core.errors import GeometryError
from geometry.core.findings import Finding
from geometry.core.plane import angle_of
from geometry.mount.bosses import blank_lengths, fit_bosses
from geometry.mount.placement import Placement
from geometry.tubes.crossing import RoundCrossing, cylinder_through
from geometry.tubes.tube import Station, Tube, Vector, centre, locate, surface
from sheets.job.read import Job
from sheets.pages import title as words
from sheets.pages.wraps.strip import Punch, Strip
from sheets.pages.wraps.tube import PAST, Mark, strips_on
from sheets.words.tell import told

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
    diameter = words.boss_size(job, placement)[0]
    into = np.array([-placement.n[0], -placement.n[1], 0.0])
    for hole, x in zip(placement.holes, (placement.interface.x_near, placement.interface.x_far), strict=True):
        top = _at(placement, x, placement.interface.h + job.process.facing)
        try:
            curves = cylinder_through(tube, top, into, diameter / 2.0, name=f"boss {hole.name}")
        except GeometryError as error:
            what = f"No wrap for the {hole.name} boss: it {told(error.problems[0].what)}."
            said.append(Finding("no-wrap", "note", what, f"{hole.name} boss"))
            continue
        said += [word for curve in curves for word in curve.words]
        raw = words.boss_length(job, placement, hole.name) + job.process.facing
        bosses.append(_Boss(hole.name, x, top, raw, into, curves))
    if not bosses:
        return [], said
    coped = placement.interface.family == "post"
    marks: list[Mark] = []
    punches: list[Punch] = []
    notes: list[tuple[str, str]] = []
    for boss in bosses:
        outlines, drills, note = _outlines(tube, boss, diameter, coped)
        marks += outlines
        punches += drills
        notes.append((boss.name, note))
        if not drills:
            what = (
                f"The axis of the {boss.name} boss passes beside the {words.plain(tube.name)}: a pilot drill "
                "has no place to start."
            )
            said.append(Finding("no-pilot", "warn", what, f"{boss.name} boss"))
    blank = host_blank(job, placement, tube, tuple(punches), _merged(notes))
    strips, why = strips_on(blank, [*marks, *rotor_marks(placement, tube)], job.wrap.clear)
    said += why
    length, near = words.boss_size(job, placement)[1], words.boss_length(job, placement, "near")
    fits = fit_bosses(placement, tube, diameter=diameter, length=length, near_length=near)
    cuts = dict(blank_lengths(fits, job.process.facing))
    for boss in bosses:
        if coped or boss.raw < float(boss.depths("entry").max()):
            more, why = _cope(job, placement, boss, diameter, cuts.get(boss.name))
            strips += more
            said += why
    return strips, said


def _merged(notes: Sequence[tuple[str, str]]) -> tuple[str, ...]:
    """Return what is said of each boss as sentences, one for all of which the same is said."""
    said = {what: [name for name, each in notes if each == what] for _, what in notes}
    return tuple(f"{' and '.join(names).capitalize()}: {what}." for what, names in said.items())


def _outlines(tube: Tube, boss: _Boss, diameter: float, coped: bool) -> tuple[list[Mark], list[Punch], str]:
    """Return a boss's outlines on the walls that it reaches, where to drill, and what it does there."""
    raw = boss.raw
    drills = _pierced(tube, boss)
    out = [depth for depth, punch in drills if punch.name.endswith("far side")]
    # The far wall is cut where the boss reaches it on its axis.
    through = raw >= (out[0] if out else float(np.mean(boss.depths("far"))))
    marks = []
    for side, word in (("entry", "mount side"), ("far", "far side"))[: 2 if through else 1]:
        several = boss.side(side)
        for rank, curve in enumerate(several, start=1):
            one = f", {rank} of {len(several)}" if len(several) > 1 else ""
            label = boss.name if side == "entry" else f"{boss.name}, at the back"
            name = f"boss {boss.name}, {word}{one}"
            marks.append(Mark(name, "hole", curve.s, curve.turn, "" if rank > 1 else label))
    first, last = float(boss.depths("entry").min()), float(boss.depths("entry").max())
    if coped:
        note = "outline only, to sit its coped end by"
    elif raw < last:
        note = "outline only, the boss ends on the tube"
    elif through:
        note = f"hole saw Ø{diameter:g} through both walls"
    else:
        note = f"hole saw Ø{diameter:g} through this wall, the boss goes {raw - first:.1f} in"
    kept = [punch for _, punch in drills if through or punch.name.endswith("mount side")]
    return marks, kept, note


def host_blank(
    job: Job, placement: Placement, tube: Tube, punches: tuple[Punch, ...] = (), notes: tuple[str, ...] = ()
) -> Strip:
    """Return a strip of the host tube without lines on it."""
    host = words.plain(placement.host)
    return Strip(
        title=f"{host} wrap",
        tube=tube,
        low=tube.span[0],
        high=tube.span[1],
        lines=(),
        punches=punches,
        zero=0.0,
        rate=math.cos(math.radians(tube.splay)),
        middle="mount side",
        up=f"up the {host}",
        inside=(f"no vent, guide or hole within {job.wrap.clear:g} of the joint",) if job.wrap.clear else (),
        notes=notes,
        paper=job.wrap.paper,
    )


def _at(placement: Placement, x: float, up: float) -> Vector:
    t, n = placement.t, placement.n
    return np.array([x * t[0] + up * n[0], x * t[1] + up * n[1], placement.lateral_z])


def _pierced(tube: Tube, boss: _Boss) -> list[tuple[float, Punch]]:
    """Return where a boss's axis goes into the tube and where it comes out, each with its depth."""
    deep = np.linspace(0.0, float(boss.depths("far").max()) + 20.0, _SEARCH)
    inside = np.flatnonzero(locate(tube, boss.top + deep[:, None] * boss.into)[2] < 1.0)
    if not len(inside):
        return []
    found = []
    for side, edge, step in (("mount side", inside[0], -1), ("far side", inside[-1], 1)):
        if not 0 <= edge + step < len(deep):
            continue
        a, b = float(deep[edge]), float(deep[edge + step])
        for _ in range(60):
            middle = (a + b) / 2.0
            within = float(locate(tube, boss.top + middle * boss.into)[2]) < 1.0
            a, b = (middle, b) if within else (a, middle)
        s, turn, _ = locate(tube, boss.top + a * boss.into)
        if tube.span[0] <= s <= tube.span[1]:
            found.append((a, Punch(f"{boss.name}, {side}", float(s), float(turn))))
    return found


def _cope(job: Job, placement: Placement, boss: _Boss, diameter: float, cut: float | None) -> Found:
    """Return the strip for a boss's own end, cut to a length: it reaches up to the raw mount face."""
    if float(boss.depths("entry").min()) < _LEAST:
        what = f"No cope for the {boss.name} boss: its mount face lies in the tube."
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
        marks.append(
            Mark(curve.name.replace("entry side", "cope"), "edge", s, np.unwrap(turn), "cut, keep above")
        )
    long = "" if cut is None else f"{cut:.2f} long or more"
    facing = f", {job.process.facing:g} for facing in it" if job.process.facing else ""
    blank = Strip(
        title=f"boss {boss.name}",
        tube=body,
        low=bottom,
        high=height,
        lines=(),
        punches=(),
        zero=height,
        rate=-1.0,
        middle="axle side",
        up="to the mount face",
        inside=(),
        notes=(f"Stock for the {boss.name} boss: {long}{facing}.",) if long else (),
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
    return [Mark(f"{tube.name} wrap, nearest to the disc", "rotor", ends, np.full(2, turn), "disc")]
