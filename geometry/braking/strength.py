"""A screen of a frame's tubes under braking: the weakest sections of every tube, and how they stand to yield.

It is no strength proof. One hard stop of the bicycle's own must not bend a tube for good; the published fork
test's force is told beside it for forks, by its name. Which stance counts where it is not known is the worst.
Sections are those of the tubes alone, without mount, fillet or butt (see geometry/braking/tube_frame.py).
"""

import functools
import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Literal

from geometry.braking.forces import Forces, forces
from geometry.braking.tube_frame import (
    Bent,
    Brace,
    Cut,
    Far,
    Foot,
    Sideways,
    Wall,
    bend,
    feet,
    left_share,
    peaks,
    section,
    sideways,
    with_sideways,
)
from geometry.core.frozen import dataclass
from geometry.core.plane import Point
from geometry.core.say import Say, say
from geometry.core.tables import Number, Table, table
from geometry.mount.placement import Placement
from geometry.tables.loads import Load, arm, entry
from geometry.tables.materials import Material, near_joint
from geometry.tubes.tube import Tube, halves

_FILE = Path(__file__).with_name("strength.toml")
Case = Literal["stop", "test"]
"""The bicycle's own hard stop, or the published fork test's repeated force."""
Level = Literal["good", "look", "weak", "unknown"]
At = Literal["start", "foot", "foot_top", "brace", "end", "between"]
"""Where on a tube: at the dropout, the mount's foot or its upper end, the brace, its far end, or between."""


Joint = Literal["welded", "brazed", "unknown"]
"""How a mount is joined: how often a joint bears a stop is on file for a welded one alone."""


def joint_of(method: str | None) -> Joint:
    """Return how a job's method joins: "brazed" for fillet and silver, "unknown" where it names none."""
    if method is None:
        return "unknown"
    return "welded" if method == "tig" else "brazed"


@dataclass(frozen=True, slots=True)
class Weak:
    """A weak section: the cut, where it is, and the yield that counts there, None for no known material.

    `joint` tells that it lies beside a joint, where heat has lowered the yield.
    """

    cut: Cut
    at: At
    limit: Number | None
    joint: bool

    @property
    def ratio(self) -> float | None:
        """Return yield over stress; None where no yield is known, or nothing stresses it."""
        if self.limit is None or self.cut.stress == 0.0:
            return None
        return self.limit.value / self.cut.stress


@dataclass(frozen=True, slots=True)
class Screened:
    """A tube under one load: its weakest section and the second weakest peak, None where it has only one."""

    tube: str
    weakest: Weak
    second: Weak | None


@dataclass(frozen=True, slots=True)
class Usual:
    """What the weakest section of a frame would be with a usual wall where none was given, mm and MPa."""

    wall: float
    tube: str
    stress: float


@dataclass(frozen=True, slots=True)
class Strength:
    """The screen of a job.

    `stop` and `test` hold every tube's weak sections, the weakest tube first, empty where a number is missing
    that they need, which `missing` names; `test` is for forks alone. `bent` is the frame in its own stop,
    with `turn` the ground's, degrees, that counts. `usual` is what usual walls come to where walls are
    missing. `aside` is the sideways couple that the plane frame leaves out, None where it is not known how
    the host lies sideways, and `bound` the host's weakest section if it alone took that couple. `level` is
    the worst of the own stop, that bound counted; `by_aside` tells that the bound alone makes it so. `cure`
    are walls, mm, with which all tubes together bear it, by the tubes that want one; None: a larger tube.
    `beside` is the yield beside a joint.
    """

    level: Level
    stop: tuple[Screened, ...]
    test: tuple[Screened, ...]
    bent: Bent | None
    walls: tuple[Wall, ...]
    turn: float
    aside: Sideways | None
    usual: tuple[Usual, ...]
    missing: tuple[Say | str, ...]
    test_force: Number | None
    test_arm: Number | None
    test_arm_words: Say | str
    bound: Weak | None = None
    by_aside: bool = False
    braced: bool = False
    cure: tuple[tuple[str, float | None], ...] = ()
    beside: Number | None = None

    @property
    def worst(self) -> Weak | None:
        """Return the weakest section in the bicycle's own stop."""
        return self.stop[0].weakest if self.stop else None


@functools.cache
def _table() -> Table:
    return table(_FILE)


def entry_of(part: str, key: str) -> Number:
    """Return a number of the table, such as entry_of("line", "warn")."""
    return _table().number(part, key)


def usual_walls() -> tuple[float, ...]:
    """Return the usual walls, mm."""
    return _table().values("wall", "usual")


def ordinary_sums() -> tuple[float, float]:
    """Return the least and the most that ordinary disc forks make of the fork test's repeated stages."""
    least, most = _table().values("fatigue", "ordinary")
    return least, most


@dataclass(frozen=True, slots=True)
class Given:
    """What a job says of the tubes at its dropout: the tubes, their walls (None: not given), and the brace.

    `brace_lacks` tells that a brace is there whose wall is not given, so that it is not credited. `past` is
    how far the mount's foot runs past its holes along the host, mm; `turns` are the
    ground's, degrees.
    """

    tubes: Mapping[str, Tube]
    walls: Mapping[str, float | None]
    brace: Brace | None
    brace_lacks: bool
    past: float
    turns: Sequence[float]


def strength(
    placement: Placement,
    towards: Point,
    own: Load,
    given: Given,
    material: Material | None,
    wheel: float | None = None,
    apart: float | None = None,
) -> Strength:
    """Return the screen of a placement's tubes; what it cannot know is named in it.

    `towards` is where the pads' middle lies, `wheel` the diameter over the tyre, mm. `apart` is by how many
    degrees the steerer stands steeper than the leg, to which the fork test's force is square; None, not
    known, takes it square to the leg, which bends it most.
    """
    wanted = ("chainstay", "seatstay") if placement.end == "rear" else ("fork-leg",)
    missing: list[Say | str] = [f"tubes.{name}" for name in wanted if name not in given.tubes]
    missing += [
        f"tubes.{name}.wall" for name in wanted if name in given.tubes and given.walls.get(name) is None
    ]
    lateral = _lateral(placement)
    if lateral is None:
        missing.append(say("strength.discs_place", axle=placement.axle.name))
    if given.brace_lacks:
        missing.append("tubes.brace.wall")
    if material is None:
        missing.append("process.material")
    length, words = arm(wheel) if placement.end == "front" else (None, "")
    force = entry("test", "fatigue") if placement.end == "front" else None
    beside = None if material is None else material.beside
    bare = Strength(
        "unknown", (), (), None, (), 0.0, None, (), tuple(missing), force, length, words, beside=beside
    )
    if lateral is None or any(name not in given.tubes for name in wanted):
        return bare
    if any(given.walls.get(name) is None for name in wanted):
        usual = []
        for each in usual_walls():
            walls = [_wall(given.tubes[name], given.walls.get(name) or each) for name in wanted]
            found = _stop(placement, towards, own, given, walls, lateral)
            worst = max((cut for _, _, bent in found for cut in bent.cuts), key=lambda cut: cut.stress)
            usual.append(Usual(each, worst.tube, worst.stress))
        return replace(bare, usual=tuple(usual))
    walls = [_wall(given.tubes[name], given.walls[name] or 0.0) for name in wanted]
    cases = _stop(placement, towards, own, given, walls, lateral)
    turn, push, bent = max(cases, key=lambda case: max(cut.stress for cut in case[2].cuts))
    entering = feet(placement, push, given.tubes[placement.host], given.past)
    asked = own.ratio.value
    stop = _screened(tuple(each for _, _, each in cases), walls, entering, given.brace, material)
    test: tuple[Screened, ...] = ()
    if force is not None and length is not None:
        pushed = forces(
            placement,
            Load(force.value, 0.0, length.value, own.friction, own.ratio, ()),
            towards,
            apart or 0.0,
        )
        under = _bent(placement, pushed, given, walls, lateral)
        test = _screened((under,), walls, entering, None, material)
    host = next(each for each in walls if each.tube.name == placement.host)
    rotor = placement.rotor
    middle = (rotor.inner_face_z or 0.0) + rotor.thickness / 2.0
    aside = sideways(push, host, entering[-1].high, middle) if host.tube.placed else None
    bound = None
    if aside is not None:
        bound = _bound(cases, host, middle, _joints(host, entering, given.brace), material)
    seen, level = _level((stop[0].weakest,), asked), _level(_known(stop[0].weakest, bound), asked)
    cure: tuple[tuple[str, float | None], ...] = ()
    if seen == "weak":

        def again(thicker: Sequence[Wall]) -> tuple[Screened, ...]:
            bents = [each for _, _, each in _stop(placement, towards, own, given, thicker, lateral)]
            return _screened(bents, thicker, entering, given.brace, material)

        cure = _cure(again, walls, stop, asked)
    return Strength(
        level=level,
        stop=stop,
        test=test,
        bent=bent,
        walls=tuple(walls),
        turn=turn,
        aside=aside,
        usual=(),
        missing=tuple(missing),
        test_force=force,
        test_arm=length,
        test_arm_words=words,
        bound=bound,
        by_aside=level != seen,
        braced=given.brace is not None,
        cure=cure,
        beside=beside,
    )


def _lateral(placement: Placement) -> tuple[float, float] | None:
    """Return the disc's middle plane inboard of the left hub seat, and the hub's width; None: not known."""
    axle = placement.axle
    if axle.rotor is None or axle.width is None:
        return None
    return axle.rotor.value - placement.rotor.thickness / 2.0, axle.width.value


def _wall(tube: Tube, wall: float) -> Wall:
    return Wall(tube, wall, max(entry_of("length", tube.name).value, tube.stations[-1].s))


def _stop(
    placement: Placement,
    towards: Point,
    own: Load,
    given: Given,
    walls: Sequence[Wall],
    lateral: tuple[float, float],
) -> list[tuple[float, Forces, Bent]]:
    """Return the frame in the bicycle's own stop, for the outermost stances and the one amid."""
    ends = sorted({given.turns[0], given.turns[len(given.turns) // 2], given.turns[-1]})
    found = []
    for turn in ends:
        push = forces(placement, own, towards, turn)
        found.append((turn, push, _bent(placement, push, given, walls, lateral)))
    return found


def _bent(
    placement: Placement, push: Forces, given: Given, walls: Sequence[Wall], lateral: tuple[float, float]
) -> Bent:
    far: tuple[Far, ...] = ("clamped", "hinged") if placement.end == "rear" else ("clamped",)
    entering = feet(placement, push, given.tubes[placement.host], given.past)
    return bend(walls, placement.host, left_share(push, *lateral), entering, far=far, brace=given.brace)


def _screened(
    bents: Sequence[Bent],
    walls: Sequence[Wall],
    entering: Sequence[Foot],
    brace: Brace | None,
    material: Material | None,
) -> tuple[Screened, ...]:
    """Return every tube's weak sections, by how yield stands to stress, the weakest tube first."""
    told = []
    for wall in walls:
        name = wall.tube.name
        worst: dict[float, Cut] = {}
        for bent in bents:
            for cut in bent.of(name):
                if cut.s not in worst or cut.stress > worst[cut.s].stress:
                    worst[cut.s] = cut
        joints = _joints(wall, entering if _is_host(wall, entering, bents) else (), brace)
        weak = [_weak(cut, joints, material) for cut in peaks([worst[s] for s in sorted(worst)])]
        weak.sort(key=_rank)
        told.append(Screened(name, weak[0], weak[1] if len(weak) > 1 else None))
    return tuple(sorted(told, key=lambda each: _rank(each.weakest)))


def _is_host(wall: Wall, entering: Sequence[Foot], bents: Sequence[Bent]) -> bool:
    return bool(entering) and any(bent.host == wall.tube.name for bent in bents)


def _rank(weak: Weak) -> float:
    return weak.ratio if weak.ratio is not None else -weak.cut.stress


def _joints(wall: Wall, entering: Sequence[Foot], brace: Brace | None) -> list[tuple[At, float, float]]:
    """Return the stretches of a tube at which something is joined to it, by what it is, s in mm."""
    tube = wall.tube
    start, end = tube.stations[0].s, wall.length
    found: list[tuple[At, float, float]] = [("foot", foot.low, foot.high) for foot in entering]
    found += [("start", start, start), ("end", end, end)]
    if brace is not None:
        at = {"chainstay": brace.on_chainstay, "seatstay": brace.on_seatstay}.get(tube.name)
        if at is not None:
            found.append(("brace", at - brace.diameter / 2.0, at + brace.diameter / 2.0))
    return found


def _weak(cut: Cut, joints: Sequence[tuple[At, float, float]], material: Material | None) -> Weak:
    near = near_joint().value
    beside = [(max(0.0, low - cut.s, cut.s - high), name, high) for name, low, high in joints]
    away, name, high = min(beside)
    joint = away <= near
    at: At = name if joint else "between"
    if at == "foot" and cut.s > high - near and high == max(end for each, _, end in joints if each == "foot"):
        at = "foot_top"
    limit = None if material is None else material.beside if joint else material.delivered
    return Weak(cut, at, limit, joint)


def wall_for(wall: Wall, cut: Cut, times: float) -> float | None:
    """Return about the wall, mm, to 0.05, whose section modulus is so many times a tube's own; None for none.

    What a stiffer tube draws to itself is left out, so that it is about.
    """
    a, b = (2.0 * half for half in halves(wall.tube, cut.s))
    wanted = times * section(a, b, wall.wall)[2]
    for step in range(1, math.ceil(min(a, b) / 2.0 / 0.05) + 1):
        if section(a, b, step * 0.05)[2] >= wanted:
            return round(step * 0.05, 2)
    return None


def _cure(
    again: Callable[[Sequence[Wall]], tuple[Screened, ...]],
    walls: Sequence[Wall],
    stop: tuple[Screened, ...],
    asked: float,
) -> tuple[tuple[str, float | None], ...]:
    """Return walls with which all tubes together bear the stop; a stiffer tube draws more to itself.

    They grow by 0.05 until all do. None stands for a tube that no wall on sale helps, and what walls the
    others want is then not told: a larger tube there alters it.
    """
    most = entry_of("wall", "most").value
    thin = {each.tube.name: each for each in walls}
    before = {name: each.wall for name, each in thin.items()}
    thick = dict(before)
    while weak := [each for each in stop if (each.weakest.ratio or math.inf) < asked]:
        growing = [each for each in weak if thick[each.tube] < most]
        if not growing:
            break
        for each in growing:
            about, weakest = None, each.weakest
            if thick == before and weakest.limit is not None:
                times = asked * weakest.cut.stress / weakest.limit.value
                about = wall_for(thin[each.tube], weakest.cut, times)
            thick[each.tube] = min(most, max(about or 0.0, round(thick[each.tube] + 0.05, 2)))
        stop = again([replace(each, wall=thick[each.tube.name]) for each in walls])
    if weak:
        return tuple((each.tube, None) for each in weak)
    return tuple((name, wall) for name, wall in thick.items() if wall != before[name])


def _known(weakest: Weak, bound: Weak | None) -> tuple[Weak, ...]:
    return (weakest,) if bound is None else (weakest, bound)


def _bound(
    cases: Sequence[tuple[float, Forces, Bent]],
    host: Wall,
    middle: float,
    joints: Sequence[tuple[At, float, float]],
    material: Material | None,
) -> Weak:
    """Return the host's weakest section if it alone took the couple by which the disc lies beside it."""
    # Whichever end of the tube takes the couple: it is counted all along.
    found = (
        _weak(with_sideways(cut, host, sideways(push, host, cut.s, middle)), joints, material)
        for _, push, bent in cases
        for cut in bent.of(host.tube.name)
    )
    return min(found, key=_rank)


def _level(weak: Sequence[Weak], warn: float) -> Level:
    ratio = min((each.ratio for each in weak if each.ratio is not None), default=None)
    if ratio is None:
        return "unknown"
    if ratio < warn:
        return "weak"
    return "look" if ratio < max(warn, entry_of("line", "look").value) else "good"


def stops_borne(stress: float) -> float:
    """Return how often a stress range, MPa, is borne by the class of welded detail that the table names.

    N = cycles (class / range) ** slope, the straight part of its curve.
    """
    band, cycles, slope = (entry_of("fatigue", key).value for key in ("range", "cycles", "slope"))
    return float(cycles * (band / stress) ** slope)
