"""The clearances of a mount: what comes how near to what, where, and whether that is enough.

The gap between disc and tube can fail, and so can a caliper that the job measured, or a mount whose size and
sideways place are better than remembered; the rest warns. See `judged` for what meets and what is unknown.
"""

import math
from collections.abc import Iterable, Mapping, Sequence

from geometry.clearance.bodies import (
    Heads,
    OwnCaliper,
    bolt_ring,
    bosses,
    caliper,
    corridors,
    disc_body,
    entry,
    room_solid,
)
from geometry.clearance.bosses_room import boss_room
from geometry.clearance.convex import Nearest, Solid, nearest
from geometry.clearance.dropout_room import Plate, dropout_room
from geometry.clearance.gaps import tube_gap
from geometry.clearance.judged import (
    NO_LIMITS,
    NO_SIZES,
    Clearance,
    Kind,
    Limit,
    Mount,
    OwnLimits,
    judged,
    limit_of,
    missing,
    no_disc,
    paired,
    unknown,
)
from geometry.core.say import Say, named, say
from geometry.core.tables import Number
from geometry.mount.placement import Placement
from geometry.tubes.tube import Tube

__all__ = ["Clearance", "Mount", "OwnLimits", "clearances"]


def clearances(
    placement: Placement,
    tubes: Mapping[str, Tube],
    *,
    wanted: Sequence[str],
    own: OwnCaliper | None = None,
    limits: OwnLimits = NO_LIMITS,
    mount: Mount = NO_SIZES,
    dummy: float | None = None,
    heads: Heads | None = None,
    plate: Plate | None = None,
    turning: bool = False,
    rough: bool = False,
) -> tuple[Clearance, ...]:
    """Return the clearances of a mount, those of the disc first.

    `wanted` names the tubes that such a frame has. `dummy` is the dummy axle's diameter, `heads` the job's
    own numbers for the disc's screws, `plate` the dropout where its outline is known. `turning` leaves out
    what stays the same when the mount is turned about the axle. `rough` asks only what keeps less than is
    asked for: what keeps more may be said to keep anything between, and to be nearest to either of two.
    """
    work = _Work(placement, tubes, wanted, limits, heads, rough)
    turned: tuple[Clearance, ...] = (*work.caliper(own), *work.keys(mount))
    if plate is not None:
        turned += tuple(dropout_room(placement, plate, limits, own, heads, turning))
    if turning:
        return (*turned, *boss_room(placement, tubes, wanted, mount, limits, turning=True, rough=rough))
    return (
        *work.disc(),
        *turned,
        *work.mount(mount),
        *work.spokes(mount),
        *boss_room(placement, tubes, wanted, mount, limits, dummy=dummy, heads=heads),
    )


class _Work:
    """The clearances of one placement, group by group."""

    def __init__(
        self,
        placement: Placement,
        tubes: Mapping[str, Tube],
        wanted: Sequence[str],
        limits: OwnLimits,
        heads: Heads | None,
        rough: bool,
    ) -> None:
        self.placement, self.tubes, self.wanted = placement, tubes, wanted
        self.limits, self.heads, self.rough = limits, heads, rough
        self.no_disc = no_disc(placement.axle.name)

    def disc(self) -> Iterable[Clearance]:
        rotor = self.placement.rotor
        runout = self.limits.runout
        allowed = entry("limits", "runout").value if runout is None else runout
        limit, ring = limit_of(self.limits, "rotor"), limit_of(self.limits, "bolts")
        remedy = "" if self.heads else say("clearance.heads_remembered")
        disc, screws = say("clearance.name.disc", size=2.0 * rotor.radius), named("disc-screws")
        own, heads = self.limits.bolts is not None, bolt_ring(rotor, self.heads)
        bodies: tuple[tuple[Kind, Say, Solid | None, Limit, bool, Say | str], ...] = (
            ("rotor", disc, disc_body(rotor), limit, True, ""),
            ("bolts", screws, heads, ring, own, remedy),
        )
        for kind, name, body, each, binding, said in bodies:
            for tube in self.wanted:
                yield self._to_tube(kind, name, body, tube, each, less=allowed, binding=binding, remedy=said)

    def caliper(self, own: OwnCaliper | None) -> Iterable[Clearance]:
        room = caliper(self.placement, own)
        body = room_solid(self.placement, room)
        limit = limit_of(self.limits, "caliper", room.grade)
        for tube in self.wanted:
            # A flat mount's caliper sits on its host; that distance is the mount's own.
            if self.placement.interface.family == "flat" and tube == self.placement.host:
                continue
            why = "" if room.own else say("clearance.caliper_remembered")
            what = named("caliper")
            yield self._to_tube("caliper", what, body, tube, limit, binding=room.own, why=why, room=True)

    def keys(self, mount: Mount) -> Iterable[Clearance]:
        found = corridors(
            self.placement,
            boss_length=_own(mount.length),
            tab_thickness=_own(mount.thickness),
        )
        disc = disc_body(self.placement.rotor)
        # Under a rear flat mount the head sits in its host.
        through = self.placement.host if self.placement.interface.screw == "+n" else ""
        others = [tube for tube in self.wanted if tube != through]
        for way in found:
            limit = limit_of(self.limits, "key", way.grade)
            name, beyond = say("clearance.name.key", hole=named(way.screw)), self._beyond(limit)
            if way.rod is None:
                yield unknown("key", name, limit, say("clearance.give", keys=(way.missing,)))
                continue
            near: tuple[Nearest, str] | None = None
            if disc is not None:
                near = nearest(way.rod, disc, beyond), "disc"
            for tube in others:
                if missing(tube, self.tubes.get(tube)):
                    continue
                far = math.inf if near is None else near[0].distance
                other = tube_gap(way.rod, self.tubes[tube], min(far, beyond))
                if other.distance < far:
                    near = other, tube
            if near is None:
                yield unknown("key", name, limit, self.no_disc)
                continue
            own = self.limits.key is not None
            yield judged("key", paired(name, named(near[1])), near[0], limit, binding=own, room=True)
        for tube in others:
            if why := missing(tube, self.tubes.get(tube)):
                what = paired(named("keys"), named(tube))
                yield unknown("key", what, limit_of(self.limits, "key"), why)

    def mount(self, mount: Mount) -> Iterable[Clearance]:
        """Return how near posts, bosses or tab come to the disc."""
        tab = self.placement.interface.family == "tab"
        part = named(self.placement.interface.part)
        hole = self.placement.interface.hole.diameter
        # About a tab's hole there is as much metal as the hole is wide: common practice, no source.
        wide = Number(2.0 * hole.value, hole.grade, hole.source) if tab else mount.diameter
        lengths = {
            each.name: mount.thickness if tab else mount.length_at(each.name) for each in self.placement.holes
        }
        lateral = self.placement.interface.lateral.grade
        binding = lateral != "D" and (tab or (wide is not None and wide.grade == "own"))
        limit, disc = limit_of(self.limits, "mount", lateral), disc_body(self.placement.rotor)
        lacking = [] if wide is not None else ["boss.diameter"]
        lacking += [] if None not in lengths.values() else ["boss.thickness" if tab else "boss.length"]
        if lacking or disc is None:
            reason = say("clearance.give", keys=tuple(lacking)) if lacking else self.no_disc
            yield unknown("mount", paired(part, named("disc")), limit, reason)
            return
        why = "" if binding else say("clearance.mount_remembered")
        sizes = {name: each.value for name, each in lengths.items() if each is not None}
        assert wide is not None
        for name, body in bosses(self.placement, wide.value, sizes):
            what = paired(say("clearance.name.at_hole", hole=named(name), part=part), named("disc"))
            yield judged("mount", what, nearest(body, disc), limit, binding=binding, why=why)

    def spokes(self, mount: Mount) -> Iterable[Clearance]:
        """Return how far outboard the mount stays of the disc's wheel side, where the spokes begin."""
        face, z, inner = self.placement.interface, self.placement.lateral_z, self.placement.rotor.inner_face_z
        limit = limit_of(self.limits, "spokes", face.lateral.grade)
        tab = face.family == "tab"
        name = paired(named("mount"), say("clearance.name.spoke_side"))
        if inner is None:
            yield unknown("spokes", name, limit, self.no_disc)
        elif not tab and mount.diameter is None:
            yield unknown("spokes", name, limit, say("clearance.give", keys=("boss.diameter",)))
        else:
            low = z if tab or mount.diameter is None else z - mount.diameter.value / 2.0
            x, y, _ = self.placement.holes[0].centre
            points = ((x, y, low), (x, y, inner))
            away = max(0.0, low - inner)
            yield judged("spokes", name, Nearest(away, away, *points), limit, binding=False)

    def _to_tube(
        self,
        kind: Kind,
        name: Say,
        body: Solid | None,
        tube: str,
        limit: Limit,
        *,
        less: float = 0.0,
        binding: bool,
        why: Say | str = "",
        room: bool = False,
        remedy: Say | str = "",
    ) -> Clearance:
        name = paired(name, named(tube))
        if body is None:
            return unknown(kind, name, limit, self.no_disc)
        if lacking := missing(tube, self.tubes.get(tube)):
            return unknown(kind, name, limit, lacking)
        near = tube_gap(body, self.tubes[tube], self._beyond(limit, less))
        return judged(kind, name, near, limit, binding=binding, less=less, why=why, room=room, remedy=remedy)

    def _beyond(self, limit: Limit, less: float = 0.0) -> float:
        """Return the distance from which on it need not be known, mm."""
        return limit.asked + less if self.rough else math.inf


def _own(size: Number | None) -> float | None:
    return None if size is None or size.grade != "own" else size.value
