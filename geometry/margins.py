"""The clearances of a mount: what comes how near to what, where, and whether that is enough.

A clearance that is less than asked for warns. It fails where it is less than the least allowed, and only
where the numbers beneath it can bear that: the gap between disc and tube, a caliper that the job measured, a
mount whose size and sideways place are better than remembered. Where a number is missing it is unknown, in
words.
"""

import math
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from geometry.clearance import tube_gap
from geometry.convex import Nearest, Solid, Space, nearest
from geometry.placement import Placement
from geometry.room import (
    OwnCaliper,
    bolt_ring,
    bosses,
    caliper,
    corridors,
    disc_body,
    entry,
    room_solid,
)
from geometry.tables import Grade, Number, weakest
from geometry.tube import Tube

State = Literal["ok", "warn", "fail", "unknown"]
Kind = Literal["rotor", "bolts", "caliper", "key", "mount", "spokes"]


@dataclass(frozen=True, slots=True)
class OwnLimits:
    """The job's own clearances, mm; None takes the table's. An own number is asked for and the least."""

    rotor: float | None = None
    runout: float | None = None
    bolts: float | None = None
    caliper: float | None = None
    key: float | None = None
    mount: float | None = None
    spokes: float | None = None


@dataclass(frozen=True, slots=True)
class Mount:
    """What is known of the mount itself, mm: posts or bosses, or a tab; own where the job gave the size."""

    diameter: Number | None = None
    length: Number | None = None
    thickness: Number | None = None


@dataclass(frozen=True, slots=True)
class Clearance:
    """One clearance: `name` is "disc 180 to chainstay", `distance` the smallest, mm, 0 where they meet.

    `left` is the distance less an `allowance` for run-out; less than `asked` warns, less than `least` fails
    (None: it cannot fail). `first` and `second` are the nearest points (x, y, z) on either. Distances and
    points are None where the state is unknown, and `why` says which number is missing.
    """

    kind: Kind
    name: str
    distance: float | None
    allowance: float
    asked: float
    least: float | None
    grade: Grade
    source: str
    first: Space | None
    second: Space | None
    state: State
    why: str = ""

    @property
    def left(self) -> float | None:
        """Return what is left of the distance, mm; never less than nothing."""
        return None if self.distance is None else max(0.0, self.distance - self.allowance)

    @property
    def limit(self) -> float:
        """Return the limit that was not kept, or else the one asked for, mm."""
        return self.least if self.state == "fail" and self.least is not None else self.asked

    @property
    def short(self) -> str:
        """Return it in a few words: "disc 180 to chainstay 1.2, asked 2.0"."""
        if self.left is None:
            return f"{self.name}: unknown, {self.why}"
        meet = " (they meet)" if self.distance == 0.0 else ""
        return f"{self.name} {_down(self.left, 1)}{meet}, asked {self.limit:.1f}"

    @property
    def sentence(self) -> str:
        """Return it in full, with its allowance, limits and grade."""
        if self.left is None:
            return f"{self.name}: unknown, {self.why}."
        told = f"{self.name}: {_down(self.left, 2)} mm"
        if self.distance == 0.0:
            told = f"{self.name}: they meet"
        elif self.allowance:
            told += f" after {self.allowance:g} for run-out"
        told += f", asked {self.asked:g}"
        if self.least is not None and self.least != self.asked:
            told += f", at least {self.least:g}"
        told += " (the job's own limit" if self.grade == "own" else f" (grade {self.grade}"
        return f"{told}{'; ' + self.why if self.why else ''})."


def _down(value: float, places: int) -> str:
    """Return a distance rounded down, so that no shortfall is rounded away."""
    step = 10.0**places
    return f"{math.floor(value * step + 1e-6) / step + 0.0:.{places}f}"


@dataclass(frozen=True, slots=True)
class _Limit:
    asked: float
    least: float
    grade: Grade
    source: str


def clearances(
    placement: Placement,
    tubes: Mapping[str, Tube],
    *,
    wanted: Sequence[str],
    rough: Collection[str] = (),
    own: OwnCaliper | None = None,
    limits: OwnLimits = OwnLimits(),
    mount: Mount = Mount(),
    turning: bool = False,
) -> tuple[Clearance, ...]:
    """Return the clearances of a mount, those of the disc first.

    `wanted` names the tubes that such a frame has, `rough` those whose sideways place the job left out.
    `turning` leaves out what stays the same when the mount is turned about the axle.
    """
    work = _Work(placement, tubes, wanted, rough, limits)
    if turning:
        return (*work.caliper(own), *work.keys(mount))
    return (
        *work.disc(),
        *work.caliper(own),
        *work.keys(mount),
        *work.mount(mount),
        *work.spokes(mount),
    )


class _Work:
    """The clearances of one placement, group by group."""

    def __init__(
        self,
        placement: Placement,
        tubes: Mapping[str, Tube],
        wanted: Sequence[str],
        rough: Collection[str],
        limits: OwnLimits,
    ) -> None:
        self.placement, self.tubes, self.wanted, self.rough = placement, tubes, wanted, rough
        self.limits = limits
        self.no_disc = f"the table has no rotor position for {placement.axle.name}"

    def disc(self) -> Iterable[Clearance]:
        rotor = self.placement.rotor
        runout = self.limits.runout
        allowed = entry("limits", "runout").value if runout is None else runout
        limit, ring = self._limit("rotor"), self._limit("bolts")
        bodies: tuple[tuple[Kind, str, Solid | None, float, _Limit, bool], ...] = (
            ("rotor", f"disc {2.0 * rotor.radius:g}", disc_body(rotor), allowed, limit, True),
            ("bolts", "disc's screws", bolt_ring(rotor), allowed, ring, self.limits.bolts is not None),
        )
        for kind, name, body, less, each, binding in bodies:
            for tube in self.wanted:
                yield self._to_tube(kind, name, body, tube, each, less=less, binding=binding)

    def caliper(self, own: OwnCaliper | None) -> Iterable[Clearance]:
        room = caliper(self.placement, own)
        body = room_solid(self.placement, room)
        limit = self._limit("caliper", room.grade)
        for tube in self.wanted:
            # A flat mount's caliper sits on its host; that distance is the mount's own.
            if self.placement.interface.family == "flat" and tube == self.placement.host:
                continue
            why = "" if room.own else "the caliper's size is remembered: give your own in [caliper]"
            yield self._to_tube("caliper", "caliper", body, tube, limit, binding=room.own, why=why)

    def keys(self, mount: Mount) -> Iterable[Clearance]:
        found = corridors(
            self.placement,
            boss_length=_own(mount.length),
            tab_thickness=_own(mount.thickness),
        )
        disc = disc_body(self.placement.rotor)
        for way in found:
            limit = self._limit("key", way.grade)
            name = f"key at the {way.screw} screw"
            if way.rod is None:
                yield self._unknown("key", name, limit, f"{way.missing} is not given")
                continue
            near: tuple[Nearest, str] | None = None
            if disc is not None:
                near = nearest(way.rod, disc), "disc"
            for tube in self.tubes:
                # Under a rear flat mount the head sits in its host.
                through = self.placement.interface.screw == "+n" and tube == self.placement.host
                if through or tube in self.rough:
                    continue
                far = math.inf if near is None else near[0].distance
                other = tube_gap(way.rod, self.tubes[tube], far)
                if other.distance < far:
                    near = other, _plain(tube)
            if near is None:
                yield self._unknown("key", name, limit, f"{self.no_disc}, and no other tube is given")
                continue
            yield self._judged("key", f"{name} to {near[1]}", near[0], limit, self.limits.key is not None)

    def mount(self, mount: Mount) -> Iterable[Clearance]:
        """Return how near posts, bosses or tab come to the disc."""
        tab = self.placement.interface.family == "tab"
        what = "tab" if tab else "post" if self.placement.interface.family == "post" else "boss"
        hole = self.placement.interface.hole.diameter
        # About a tab's hole there is as much metal as the hole is wide: common practice, no source.
        wide = Number(2.0 * hole.value, hole.grade, hole.source) if tab else mount.diameter
        length = mount.thickness if tab else mount.length
        lateral = self.placement.interface.lateral.grade
        binding = lateral != "D" and (tab or (wide is not None and wide.grade == "own"))
        limit, disc = self._limit("mount", lateral), disc_body(self.placement.rotor)
        if wide is None or length is None:
            missing = "boss.thickness" if tab else "boss.diameter" if wide is None else "boss.length"
            yield self._unknown("mount", f"{what} to disc", limit, f"{missing} is not given")
            return
        if disc is None:
            yield self._unknown("mount", f"{what} to disc", limit, self.no_disc)
            return
        why = "" if binding else "where the mount sits sideways, or its size, is remembered"
        for name, body in bosses(self.placement, wide.value, length.value):
            yield self._judged(
                "mount", f"{name} {what} to disc", nearest(body, disc), limit, binding, why=why
            )

    def spokes(self, mount: Mount) -> Iterable[Clearance]:
        """Return how far outboard the mount stays of the disc's wheel side, where the spokes begin."""
        face, z, inner = self.placement.interface, self.placement.lateral_z, self.placement.rotor.inner_face_z
        limit = self._limit("spokes", face.lateral.grade)
        tab = face.family == "tab"
        name = "mount to the disc's spoke side"
        if inner is None:
            yield self._unknown("spokes", name, limit, self.no_disc)
        elif not tab and mount.diameter is None:
            yield self._unknown("spokes", name, limit, "boss.diameter is not given")
        else:
            low = z if tab or mount.diameter is None else z - mount.diameter.value / 2.0
            x, y, _ = self.placement.holes[0].centre
            points = ((x, y, low), (x, y, inner))
            away = max(0.0, low - inner)
            yield self._judged("spokes", name, Nearest(away, away, *points), limit, False)

    def _to_tube(
        self,
        kind: Kind,
        name: str,
        body: Solid | None,
        tube: str,
        limit: _Limit,
        *,
        less: float = 0.0,
        binding: bool,
        why: str = "",
    ) -> Clearance:
        name = f"{name} to {_plain(tube)}"
        if body is None:
            return self._unknown(kind, name, limit, self.no_disc)
        if tube not in self.tubes:
            return self._unknown(kind, name, limit, f"tubes.{tube} is not given")
        near = tube_gap(body, self.tubes[tube])
        if tube in self.rough:
            told = f"tubes.{tube}.outset is not given (with 0 it would be {near.distance:.1f})"
            return self._unknown(kind, name, limit, told)
        return self._judged(kind, name, near, limit, binding, less, why)

    def _judged(
        self,
        kind: Kind,
        name: str,
        near: Nearest,
        limit: _Limit,
        binding: bool,
        less: float = 0.0,
        why: str = "",
    ) -> Clearance:
        left = max(0.0, near.distance - less)
        least = limit.least if binding else None
        state: State = "ok"
        # What meets fails whatever the limit, an own one of 0 too.
        if least is not None and (left < least - 1e-9 or near.distance == 0.0):
            state = "fail"
        elif left < limit.asked - 1e-9:
            state = "warn"
        told = (limit.asked, least, limit.grade, limit.source)
        return Clearance(kind, name, near.distance, less, *told, near.first, near.second, state, why)

    def _unknown(self, kind: Kind, name: str, limit: _Limit, why: str) -> Clearance:
        told = (limit.asked, None, limit.grade, limit.source)
        return Clearance(kind, name, None, 0.0, *told, None, None, "unknown", why)

    def _limit(self, kind: Kind, *grades: Grade) -> _Limit:
        """Return what is asked for, and the least; `grades` are of the sizes that the distance rests on."""
        own: float | None = getattr(self.limits, kind)
        if own is not None:
            return _Limit(own, own, weakest(["own", *grades]), "the job's own limit")
        asked = entry("limits", kind)
        least = entry("limits", f"{kind}_least") if kind in ("rotor", "caliper", "mount") else asked
        return _Limit(asked.value, least.value, weakest([asked.grade, *grades]), asked.source)


def _own(size: Number | None) -> float | None:
    return None if size is None or size.grade != "own" else size.value


def _plain(tube: str) -> str:
    return tube.replace("-", " ")
