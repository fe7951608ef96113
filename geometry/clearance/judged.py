"""One clearance, judged: what comes how near to what, what was asked for, and what is not known.

A clearance that is less than asked for warns. It fails where it is less than the least allowed, and only
where the numbers beneath it can bear that; but two bodies that meet fail whatever their grade. A room, such
as the box about a remembered caliper or a key's way, is no body: what stands in it warns, because a box that
nobody measured reaches into the stays of ordinary frames. Where a number is missing nothing is judged, and
the words say what to measure.
"""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Literal

from geometry.clearance.bodies import entry
from geometry.clearance.convex import Nearest, Space
from geometry.core.say import Say
from geometry.core.tables import Grade, Number, weakest
from geometry.tubes.tube import Tube

State = Literal["ok", "warn", "fail", "unknown"]
Kind = Literal["rotor", "bolts", "caliper", "key", "mount", "spokes", "heads", "axle", "stay", "host"]

PLACE = 0.1
"""Step to which every clearance is told, mm, downward, so that no shortfall is rounded away."""
_TINY = 1e-7

HOW = {
    "outset": "how far outboard of the dropout's inner face the tube's middle is, level with the axle",
    "splay": "by how many degrees the tube leans to the bicycle's middle on its way up, 0 for none",
}
"""How to measure what places a tube sideways."""


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
    """One clearance: `name` is "disc 180 to chainstay", `distance` the smallest, mm, 0 where they meet.

    `left` is the distance less an `allowance` for run-out; less than `asked` warns, less than `least` fails
    (None: it cannot, short of a meeting). `first` and `second` are the nearest points (x, y, z) on either.
    Distances and points are None where the state is unknown, and `why` says what to give or to measure.
    `meets` are the words for a distance of 0.
    """

    kind: Kind
    name: str
    distance: float | None
    allowance: float
    asked: float
    least: float | None
    grade: Grade
    source: Say | str
    first: Space | None
    second: Space | None
    state: State
    why: str = ""
    meets: str = "they meet"

    @property
    def left(self) -> float | None:
        """Return what is left of the distance, mm; never less than nothing."""
        return None if self.distance is None else max(0.0, self.distance - self.allowance)

    @property
    def told(self) -> str:
        """Return what is left as it is told everywhere: "2.2", rounded down; "unknown" where it is."""
        return "unknown" if self.left is None else down(self.left)

    @property
    def after(self) -> str:
        """Return what was taken off: " after 0.2 for run-out", or nothing."""
        return f" after {self.allowance:g} for run-out" if self.allowance else ""

    @property
    def limit(self) -> float:
        """Return the limit that was not kept, or else the one asked for, mm."""
        return self.least if self.state == "fail" and self.least is not None else self.asked

    @property
    def short(self) -> str:
        """Return it in a few words: "disc 160 to chainstay 1.2 after 0.2 for run-out, asked 2.0"."""
        if self.left is None:
            return f"{self.name}: unknown; {self.why}"
        if self.distance == 0.0:
            return f"{self.name}: {self.meets}"
        return f"{self.name} {self.told}{self.after}, asked {self.limit:.1f}"

    @property
    def sentence(self) -> str:
        """Return it in full, with its allowance, limits and grade."""
        if self.left is None:
            return f"{self.name}: unknown; {self.why}."
        told = f"{self.told} mm{self.after}" if self.distance else self.meets
        told = f"{self.name}: {told}, asked {self.asked:g}"
        if self.least is not None and self.least != self.asked:
            told += f", at least {self.least:g}"
        told += " (the job's own limit" if self.grade == "own" else f" (grade {self.grade}"
        return f"{told}{'; ' + self.why if self.why else ''})."


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
    return f"{steps * PLACE + 0.0:.1f}"


def limit_of(own: OwnLimits, kind: Kind, *grades: Grade) -> Limit:
    """Return what is asked for, and the least; `grades` are of the sizes that the distance rests on."""
    given: float | None = getattr(own, kind, None)
    if given is not None:
        return Limit(given, given, weakest(["own", *grades]), "the job's own limit")
    asked = entry("limits", kind)
    least = entry("limits", f"{kind}_least") if kind in ("rotor", "caliper", "mount") else asked
    return Limit(asked.value, least.value, weakest([asked.grade, *grades]), asked.source)


def judged(
    kind: Kind,
    name: str,
    near: Nearest,
    limit: Limit,
    *,
    binding: bool,
    less: float = 0.0,
    why: str = "",
    room: bool = False,
    meets: str = "",
    remedy: str = "",
) -> Clearance:
    """Return a clearance whose distance is known, with its state.

    `binding` lets it fail below the limit's least, `less` is taken off for run-out. `room` says that one of
    the two is a room and no body, so that a meeting alone does not fail. `meets` are other words for one.
    `remedy` says what to do where it is less than asked for.
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
    if remedy and state != "ok":
        why = f"{why}; {remedy}" if why else remedy
    words = meets or ("it reaches in there" if room and not binding else "they meet")
    return Clearance(kind, name, near.distance, less, *told, near.first, near.second, state, why, words)


def unknown(kind: Kind, name: str, limit: Limit, why: str) -> Clearance:
    """Return a clearance that is not known; `why` says what to give or to measure."""
    told = (limit.asked, None, limit.grade, limit.source)
    return Clearance(kind, name, None, 0.0, *told, None, None, "unknown", why)


def no_disc(axle: str) -> str:
    """Return why nothing is known beside the disc: its place on an axle system's hub is in no table."""
    return f"the table has no rotor position for {axle}"


def missing(name: str, tube: Tube | None) -> str:
    """Return what to measure of a tube before anything beside it is known; empty where all is.

    "give tubes.seatstay" without the tube, "measure tubes.fork-leg.outset" with one that is not placed.
    """
    if tube is None:
        return f"give tubes.{name}"
    return f"measure {' and '.join(f'tubes.{name}.{key}' for key in tube.lacks)}" if tube.lacks else ""


def how(name: str, tube: Tube | None) -> str:
    """Return what to measure of a tube, and how: "measure tubes.fork-leg.outset, how far ..."."""
    if tube is None or tube.placed:
        return missing(name, tube)
    return "measure " + ", and ".join(f"tubes.{name}.{key}, {HOW[key]}" for key in tube.lacks)


def unknowns(found: Iterable[Clearance]) -> tuple[tuple[str, str], ...]:
    """Return what is unknown, gathered by what is to be measured for it: the names, and that remedy."""
    groups: dict[str, list[str]] = {}
    for each in found:
        if each.state == "unknown":
            groups.setdefault(each.why, []).append(each.name)
    return tuple((listed(names), why) for why, names in groups.items())


def listed(names: Sequence[str]) -> str:
    """Return names as a sentence lists them: "a, b and c"."""
    return " and ".join(part for part in (", ".join(names[:-1]), *names[-1:]) if part)
