"""What posts and bosses come near to: axle, disc's screws, other tubes, and the far side of their own.

Their bodies run straight from the mount face to their length, as they are drawn. A tab lies flat on the
dropout's face, away from all of these. What the dropout itself is shaped like is not known here, so nothing
is said of it.
"""

import math
from collections.abc import Iterator, Mapping, Sequence

from geometry.clearance.bodies import Heads, axle_bodies, bolt_ring, bosses
from geometry.clearance.convex import Nearest, Solid, moved, nearest
from geometry.clearance.gaps import tube_gap
from geometry.clearance.judged import (
    Clearance,
    Kind,
    Limit,
    Mount,
    OwnLimits,
    down,
    judged,
    limit_of,
    missing,
    no_disc,
    paired,
    unknown,
)
from geometry.core.say import Say, also, named, say
from geometry.mount.bosses import fit_bosses
from geometry.mount.placement import Placement
from geometry.tubes.tube import Tube


def boss_room(
    placement: Placement,
    tubes: Mapping[str, Tube],
    wanted: Sequence[str],
    mount: Mount,
    limits: OwnLimits,
    *,
    dummy: float | None = None,
    heads: Heads | None = None,
    turning: bool = False,
    rough: bool = False,
) -> tuple[Clearance, ...]:
    """Return the clearances of posts and bosses; nothing for a tab.

    `dummy` is the dummy axle's diameter, `heads` the job's own numbers for the disc's screws. `turning`
    leaves out axle and screws, which stay the same when the mount is turned about the axle, and `rough` is as
    in `clearances`.
    """
    if placement.interface.family == "tab":
        return ()
    work = _Work(placement, tubes, mount, limits)
    others = [name for name in wanted if name != placement.host]
    found = [] if turning else [*work.axle(dummy), *work.heads(heads)]
    for name in others:
        found += work.stay(name, rough)
    return (*found, *work.host())


class _Work:
    """The posts or bosses of one placement."""

    def __init__(
        self, placement: Placement, tubes: Mapping[str, Tube], mount: Mount, limits: OwnLimits
    ) -> None:
        self.placement, self.tubes, self.limits = placement, tubes, limits
        self.mount, self.part = mount, named(placement.interface.part)
        self.several = named("bosses" if placement.interface.part == "boss" else "posts")
        sizes = {hole.name: mount.length_at(hole.name) for hole in placement.holes}
        lacking = [] if mount.diameter is not None else ["boss.diameter"]
        lacking += [] if None not in sizes.values() else ["boss.length"]
        self.lacking = say("clearance.give", keys=tuple(lacking)) if lacking else ""
        self.lengths = {name: each.value for name, each in sizes.items() if each is not None}
        self.bodies: tuple[tuple[str, Solid], ...] = ()
        if not self.lacking and mount.diameter is not None:
            self.bodies = bosses(placement, mount.diameter.value, self.lengths)

    def limit(self, kind: Kind) -> Limit:
        return limit_of(self.limits, kind, self.placement.interface.lateral.grade)

    def at(self, hole: str) -> Say:
        return say("clearance.name.at_hole", hole=named(hole), part=self.part)

    def remedy(self, hole: str) -> Say:
        """Return which key shortens a boss: the near one may have a length of its own, but under a screw."""
        own = hole == "near" and self.placement.interface.screw == "-n"
        return say("clearance.see", key="boss.near_length" if own else "boss.length")

    def axle(self, dummy: float | None) -> Iterator[Clearance]:
        """Return how near each comes to what is on the axle: to whichever of its bodies is nearer."""
        limit = self.limit("axle")
        if self.lacking:
            yield unknown("axle", paired(self.several, named("axle")), limit, self.lacking)
        for name, body in self.bodies:
            found = [(nearest(body, each), what) for what, each in axle_bodies(self.placement, dummy)]
            # Of two that it meets, the dummy axle is the one that the builder sees at once.
            near, what = min(reversed(found), key=lambda each: each[0].distance)
            told, said = paired(self.at(name), named(what)), self.remedy(name)
            yield judged("axle", told, near, limit, binding=False, remedy=said)

    def heads(self, own: Heads | None) -> Iterator[Clearance]:
        limit, ring = self.limit("heads"), bolt_ring(self.placement.rotor, own)
        screws = named("disc-screws")
        if ring is None or self.lacking:
            why = no_disc(self.placement.axle.name) if ring is None else self.lacking
            yield unknown("heads", paired(self.several, screws), limit, why)
            return
        doubt = "" if own else say("clearance.heads_remembered")
        for name, body in self.bodies:
            near, told = nearest(body, ring), paired(self.at(name), screws)
            said = also([doubt, self.remedy(name)])
            yield judged("heads", told, near, limit, binding=False, remedy=said)

    def stay(self, tube: str, rough: bool) -> Iterator[Clearance]:
        limit = self.limit("stay")
        beyond = limit.asked if rough else math.inf
        if why := missing(tube, self.tubes.get(tube)) or self.lacking:
            yield unknown("stay", paired(self.several, named(tube)), limit, why)
            return
        for name, body in self.bodies:
            near, told = tube_gap(body, self.tubes[tube], beyond), paired(self.at(name), named(tube))
            yield judged("stay", told, near, limit, binding=False, remedy=self.remedy(name))

    def host(self) -> Iterator[Clearance]:
        """Return how far short of its host's far side each post ends; a flat mount's boss may pass it."""
        if self.placement.interface.family != "post":
            return
        name, limit = self.placement.host, self.limit("host")
        tube = self.tubes.get(name)
        where = say("clearance.name.far_side", tube=named(name))
        if why := missing(name, tube) or self.lacking:
            yield unknown("host", paired(self.several, where), limit, why)
            return
        assert tube is not None
        fits = fit_bosses(
            self.placement,
            tube,
            diameter=None,
            length=self.lengths["far"],
            near_length=self.lengths["near"],
        )
        inward = (-self.placement.n[0], -self.placement.n[1], 0.0)
        for fit, hole in zip(fits, self.placement.holes, strict=True):
            if fit.through is None or fit.length is None:
                continue
            left = max(0.0, fit.through - fit.length)
            points = (moved(hole.centre, fit.length, inward), moved(hole.centre, fit.through, inward))
            out = say("clearance.comes_out", by=down(fit.length - fit.through)) if left == 0.0 else None
            near = Nearest(left, left, *points)
            told, said = paired(self.at(fit.name), where), self.remedy(fit.name)
            yield judged("host", told, near, limit, binding=False, meets=out, remedy=said)
