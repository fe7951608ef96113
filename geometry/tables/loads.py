"""The table of loads, with grade and source of each number."""

import functools
from pathlib import Path

from geometry.core.frozen import dataclass
from geometry.core.say import Say, say
from geometry.core.tables import Number, Table, table
from geometry.tables.axles import End

_LOADS = Path(__file__).with_name("loads.toml")


LENGTHS = ("tables.load.wheel",)
"""Which of a load's numbers are lengths, by the codes of their names."""


@dataclass(frozen=True, slots=True)
class OwnLoad:
    """What a job says of its loads: kg, m/s2, share of one, mm over the tyre; None takes the table's."""

    kind: str = "solo"
    mass: float | None = None
    deceleration: float | None = None
    share: float | None = None
    wheel: float | None = None
    friction: float | None = None
    ratio: float | None = None


@dataclass(frozen=True, slots=True)
class Load:
    """A braked wheel: horizontal force `brake` and weight `wheel` at the tyre, N, and the tyre's radius, mm.

    `numbers` are what it was made from, by name, each with its grade;
    `friction` and `ratio` go with it.
    """

    brake: float
    wheel: float
    tyre: float
    friction: Number
    ratio: Number
    numbers: tuple[tuple[Say, Number], ...]

    @property
    def mass(self) -> Number | None:
        """Return the mass that it was made from, kg; graded "own" where the job gives it."""
        return next((number for name, number in self.numbers if name.code == "tables.load.mass"), None)


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind of bicycle: its mass, kg, the share of it on the rear wheel, and its height in wheelbases."""

    name: str
    mass: Number
    behind: Number
    height: Number


@dataclass(frozen=True, slots=True)
class _Arm:
    wheel: str
    length: Number


@functools.cache
def _table() -> Table:
    return table(_LOADS)


def entry(part: str, key: str) -> Number:
    """Return a number of the loads' table, such as entry("rest", "friction")."""
    return _table().number(part, key)


@functools.cache
def kinds() -> dict[str, Kind]:
    """Return the kinds of bicycle that the table knows by name."""
    return {each.name: each for each in _table().rows("kind", Kind)}


def arms() -> dict[str, Number]:
    """Return the fork test's arms by wheel, mm."""
    return {each.wheel: each.length for each in _table().rows("arm", _Arm)}


def arm(wheel: float | None) -> tuple[Number, Say]:
    """Return the test's arm for a wheel's diameter over the tyre in mm, and how it was chosen.

    The table's own rule for a wheel that it does not list is half of the diameter, which a given diameter
    takes; without one it is the 700c wheel's.
    """
    listed = arms()["700c"]
    if wheel is None:
        return listed, say("tables.load.arm_listed")
    return Number(wheel / 2.0, listed.grade, listed.source), say("tables.load.arm_half")


def load_on(end: End, own: OwnLoad) -> Load:
    """Return the load on the braked wheel of an end: brake force m a, and the weight's share m g on it.

    At the rear the tyre's grip ends it: braking takes weight off that wheel. With the share b of the weight
    on it at rest and the mass h wheelbases high, a / g = grip b / (1 + grip h) leaves b - h a / g of the
    weight there. At the front the table's hard stop is what lifts the rear wheel nearly.
    """
    kind = kinds()[own.kind]

    def pick(value: float | None, found: Number) -> Number:
        return found if value is None else Number(value, "own", say("tables.load.job"))

    def of_end(key: str) -> Number:
        return _table().number("end", end, key)

    mass = pick(own.mass, kind.mass)
    wheel, gravity = pick(own.wheel, entry("rest", "wheel")), entry("rest", "gravity")
    used: tuple[tuple[Say, Number], ...] = ()
    if end == "rear":
        grip, behind, high = of_end("grip"), kind.behind, kind.height
        hard = grip.value * behind.value / (1.0 + grip.value * high.value)
        slowing = pick(own.deceleration, Number(hard * gravity.value, grip.grade, grip.source))
        left = max(0.0, behind.value - high.value * slowing.value / gravity.value)
        share = pick(own.share, Number(left, behind.grade, behind.source))
        used = (
            (say("tables.load.grip"), grip),
            (say("tables.load.behind"), behind),
            (say("tables.load.height"), high),
        )
    else:
        slowing = pick(own.deceleration, of_end("deceleration"))
        share = pick(own.share, of_end("share"))
    return Load(
        brake=mass.value * slowing.value,
        wheel=mass.value * gravity.value * share.value,
        tyre=wheel.value / 2.0,
        friction=pick(own.friction, entry("rest", "friction")),
        ratio=pick(own.ratio, entry("rest", "ratio")),
        numbers=(
            (say("tables.load.mass"), mass),
            (say("tables.load.deceleration"), slowing),
            (say("tables.load.share"), share),
            *used,
            (say("tables.load.wheel"), wheel),
        ),
    )
