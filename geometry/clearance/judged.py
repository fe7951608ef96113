"""One clearance, judged: what comes how near to what, what was asked for, and what is not known.

A clearance that is less than asked for warns. It fails where it is less than the least allowed, and only
where the numbers beneath it can bear that; but two bodies that meet fail whatever their grade. A room, such
as the box about a remembered caliper or a key's way, is no body: what stands in it warns, because a box that
nobody measured reaches into the stays of ordinary frames. Where a number is missing nothing is judged, and
the words say what to measure.
"""

import math
from collections.abc import Iterable
from typing import Literal

from geometry.clearance.bodies import entry
from geometry.clearance.convex import Nearest, Space
from geometry.core.frozen import dataclass
from geometry.core.say import Say, also, say
from geometry.core.shown import Down
from geometry.core.tables import Grade, Number, weakest
from geometry.tubes.tube import Tube

State = Literal["ok", "warn", "fail", "unknown"]
Kind = Literal[
    "rotor", "bolts", "caliper", "key", "mount", "spokes", "heads", "axle", "stay", "host", "dropout"
]

PLACE = 0.1
"""Step to which every clearance is told, mm, downward, so that no shortfall is rounded away."""
_TINY = 1e-7
_MEET = say("clearance.meet")
_KEYS = {
    "clearance.name.of": "{what} to {other}",
    "clearance.name.disc": "disc {size:g}",
    "clearance.name.key": "key at the {hole} screw",
    "clearance.name.at_hole": "{hole} {part}",
    "clearance.name.far_side": "the {tube}'s far side",
    "clearance.name.spoke_side": "the disc's spoke side",
    "name.disc_screws": "disc's screws",
    "name.hub_end": "hub's end",
}


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
    """What is known of the mount itself, mm: posts or bosses, or a tab; own where the job gave the size.

    `near_length` is the near boss's own length, None where it is as long as the far one.
    """

    diameter: Number | None = None
    length: Number | None = None
    thickness: Number | None = None
    near_length: Number | None = None

    def length_at(self, hole: str) -> Number | None:
        """Return the length of the boss at the hole "near" or "far"."""
        return self.near_length if hole == "near" and self.near_length is not None else self.length


NO_LIMITS, NO_SIZES = OwnLimits(), Mount()
"""What a job says that brings neither limits nor sizes of its own."""


@dataclass(frozen=True, slots=True)
class Clearance:
    """One clearance: `name` is what comes near to what, `distance` the smallest, mm, 0 where they meet.

    `left` is the distance less an `allowance` for run-out; less than `asked` warns, less than `least` fails
    (None: it cannot, short of a meeting). `first` and `second` are the nearest points (x, y, z) on either.
    Distances and points are None where the state is unknown, and `why` says what to give or to measure.
    `meets` is what is said of a distance of 0.
    """

    kind: Kind
    name: Say
    distance: float | None
    allowance: float
    asked: float
    least: float | None
    grade: Grade
    source: Say | str
    first: Space | None
    second: Space | None
    state: State
    why: Say | str = ""
    meets: Say = _MEET

    @property
    def key(self) -> str:
        """Return what documents call it, the same in every language: "disc 160 to chainstay"."""
        return _key(self.name)

    @property
    def left(self) -> float | None:
        """Return what is left of the distance, mm; never less than nothing."""
        return None if self.distance is None else max(0.0, self.distance - self.allowance)

    @property
    def told(self) -> str:
        """Return what is left as it is told everywhere, and in JSON: "2.2", rounded down, or "unknown"."""
        return "unknown" if self.left is None else down(self.left)

    @property
    def body(self) -> Say:
        """Return the name of what comes near, without what it comes near to."""
        body: Say = self.name["what"] if self.name.code == "clearance.name.of" else self.name
        return body

    @property
    def limit(self) -> float:
        """Return the limit that was not kept, or else the one asked for, mm."""
        return self.least if self.state == "fail" and self.least is not None else self.asked

    @property
    def short(self) -> Say:
        """Return it in a few words: "disc 160 to chainstay 1.2 after 0.2 for run-out, asked 2.0"."""
        if not self.distance:
            return self.gap
        return say("clearance.short", gap=self.gap, limit=self.limit)

    @property
    def gap(self) -> Say:
        """Return the same without the limit."""
        if self.left is None:
            return say("clearance.unknown", name=self.name, why=self.why)
        code = "clearance.gap" if self.distance else "clearance.brief"
        return say(code, name=self.name, much=self._much("left"))

    @property
    def short_of(self) -> Say:
        """Return that there is too little room: what is left and the limit that was not kept."""
        fails = self.state == "fail"
        if not self.distance:
            code = "clearance.fails_meeting" if fails else "clearance.tight_meeting"
            return say(code, name=self.name, meets=self.meets)
        code = "clearance.fails" if fails else "clearance.tight"
        if self.allowance:
            code = "clearance.fails_after" if fails else "clearance.tight_after"
        return say(code, name=self.name, much=self.told, limit=self.limit)

    @property
    def remedy(self) -> Say:
        """Return what to do where there is too little room."""
        return say(f"clearance.remedy.{self.kind}")

    @property
    def brief(self) -> Say:
        """Return the same without what it comes near to, where that can be seen."""
        return say("clearance.brief", name=self.body, much=self._much("left"))

    @property
    def clause(self) -> Say:
        """Return it in full, with its allowance, limits and grade, as a part of a sentence."""
        if self.left is None:
            return self.gap
        own = self.grade == "own"
        trust = say("clearance.own_limit") if own else say("clearance.grade", grade=self.grade)
        whole = {"name": self.name, "much": self._much("mm"), "trust": also([trust, self.why])}
        if self.least is None or self.least == self.asked:
            return say("clearance.asked", asked=self.asked, **whole)
        return say("clearance.asked_and_least", asked=self.asked, least=self.least, **whole)

    @property
    def sentence(self) -> Say:
        """Return the same as a sentence."""
        return say("clearance.sentence", clause=self.clause)

    def _much(self, unit: str) -> Say | str:
        """Return how much is left, after what was taken off for run-out, or that they meet."""
        if not self.distance:
            return self.meets
        if not self.allowance:
            return say(f"clearance.{unit}.whole", left=self.told)
        return say(f"clearance.{unit}.after_runout", left=self.told, runout=self.allowance)


@dataclass(frozen=True, slots=True)
class Limit:
    """What is asked for and the least allowed, mm, and how far both are to be trusted."""

    asked: float
    least: float
    grade: Grade
    source: Say | str


def down(value: float) -> str:
    """Return a clearance as it is told on every sheet, to PLACE, rounded down."""
    steps = math.floor((value + _TINY) / PLACE)
    return Down(f"{steps * PLACE + 0.0:.1f}")


def limit_of(own: OwnLimits, kind: Kind, *grades: Grade) -> Limit:
    """Return what is asked for, and the least; `grades` are of the sizes that the distance rests on."""
    given: float | None = getattr(own, kind, None)
    if given is not None:
        return Limit(given, given, weakest(["own", *grades]), say("clearance.own_limit"))
    asked = entry("limits", kind)
    least = entry("limits", f"{kind}_least") if kind in ("rotor", "caliper", "mount") else asked
    return Limit(asked.value, least.value, weakest([asked.grade, *grades]), asked.source)


def judged(
    kind: Kind,
    name: Say,
    near: Nearest,
    limit: Limit,
    *,
    binding: bool,
    less: float = 0.0,
    why: Say | str = "",
    room: bool = False,
    meets: Say | None = None,
    remedy: Say | str = "",
) -> Clearance:
    """Return a clearance whose distance is known, with its state.

    `binding` lets it fail below the limit's least, `less` is taken off for run-out. `room` says that one of
    the two is a room and no body, so that a meeting alone does not fail. `meets` is another thing to say
    of one. `remedy` says what to do where it is less than asked for.
    """
    left = max(0.0, near.distance - less)
    least = limit.least if binding else None
    state: State = "ok"
    # What meets fails whatever the limit, an own one of 0 too.
    meeting = near.distance == 0.0 and (binding or not room)
    if meeting or (least is not None and left < least - _TINY):
        state = "fail"
    elif left < limit.asked - _TINY or near.distance == 0.0:
        state = "warn"
    told = (limit.asked, least, limit.grade, limit.source)
    if state != "ok":
        why = also([why, remedy])
    said = meets or (say("clearance.reaches_in") if room and not binding else _MEET)
    return Clearance(kind, name, near.distance, less, *told, near.first, near.second, state, why, said)


def unknown(kind: Kind, name: Say, limit: Limit, why: Say | str) -> Clearance:
    """Return a clearance that is not known; `why` says what to give or to measure."""
    told = (limit.asked, None, limit.grade, limit.source)
    return Clearance(kind, name, None, 0.0, *told, None, None, "unknown", why)


def _key(name: Say) -> str:
    form = _KEYS.get(name.code) or name.code.removeprefix("name.").replace("_", " ")
    return form.format(**{key: _key(each) if isinstance(each, Say) else each for key, each in name.values})


def paired(what: Say, other: Say) -> Say:
    """Return the name of a clearance: "disc 180 to chainstay"."""
    return say("clearance.name.of", what=what, other=other)


def no_disc(axle: str) -> Say:
    """Return why nothing is known beside the disc: its place on an axle system's hub is in no table."""
    return say("clearance.no_rotor", axle=axle)


def missing(name: str, tube: Tube | None) -> Say | str:
    """Return what to measure of a tube before anything beside it is known; empty where all is.

    "give tubes.seatstay" without the tube, "measure tubes.fork-leg.outset" with one that is not placed.
    """
    if tube is None:
        return say("clearance.give", keys=(f"tubes.{name}",))
    if tube.placed:
        return ""
    return say("clearance.measure", keys=tuple(f"tubes.{name}.{key}" for key in tube.lacks))


def how(name: str, tube: Tube | None) -> Say | str:
    """Return what to measure of a tube, and how: "measure tubes.fork-leg.outset, how far ..."."""
    if tube is None or tube.placed:
        return missing(name, tube)
    lacking = "both" if len(tube.lacks) > 1 else tube.lacks[0]
    return say(f"clearance.how.{lacking}", tube=name)


def unknowns(found: Iterable[Clearance]) -> tuple[tuple[tuple[Say, ...], Say | str], ...]:
    """Return what is unknown, gathered by what is to be measured for it: the names, and that remedy."""
    groups: dict[Say | str, list[Say]] = {}
    for each in found:
        if each.state == "unknown":
            groups.setdefault(each.why, []).append(each.name)
    return tuple((tuple(names), why) for why, names in groups.items())
