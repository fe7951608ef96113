"""How far a fixture may let the mount stray: every play on the way from the axle to the mount, link by link.

Each link is what a part may move either way, mm. A bore lets the plate lean by its play over its length, and
that grows with the distance from the axle; a pin moves in its hole by half of what it is smaller. The links
of a chain add up to a worst case, and by squares where they are independent.
"""

import math
from dataclasses import dataclass, replace

from geometry.fasteners import thread
from geometry.fixture_numbers import fixture_number, limit_of_size, play_number, value
from geometry.fixture_shape import Drill
from geometry.placement import Placement
from geometry.stack import rss, worst_case
from geometry.tables import Grade, Number, weakest

SEEN = 0.005
"""A spacer shorter than this is none, mm."""


@dataclass(frozen=True, slots=True)
class Play:
    """One link: what it is, how far it lets the mount move either way, mm, and what that rests on."""

    name: str
    amount: float
    grade: Grade
    source: str


@dataclass(frozen=True, slots=True)
class Chain:
    """All links in one direction, and the mount's own tolerance there, mm, None where none was found."""

    way: str
    links: tuple[Play, ...]
    asked: float | None

    @property
    def worst_case(self) -> float:
        """Return every link at its end and all the same way, mm."""
        return worst_case(each.amount for each in self.links)

    @property
    def rss(self) -> float:
        """Return the root of the sum of squares, mm."""
        return rss(each.amount for each in self.links)

    @property
    def grade(self) -> Grade:
        """Return the weakest grade of the links."""
        return weakest(each.grade for each in self.links)


@dataclass(frozen=True, slots=True)
class Lean:
    """How a plate leans on the axle: the bore's play and length, and the far hole's distance, mm.

    `bush` is the length of bore with which the sideways chain keeps the mount's tolerance by squares, and no
    less than a usual one; just that where no tolerance was found, or where no length would do. A nut that
    pulls the plate against a shoulder `shoulder` across, `square` out of true, leaves `pulled` at that hole.
    """

    play: float
    bore: float
    reach: float
    bush: float
    shoulder: float
    square: float

    @property
    def degrees(self) -> float:
        """Return how far the plate leans either way, degrees."""
        return math.degrees(math.atan(self.play / self.bore))

    @property
    def amount(self) -> float:
        """Return how far that moves the far hole sideways, mm."""
        return self.at(self.bore)

    @property
    def pulled(self) -> float:
        """Return how far the far hole is off where a nut pulls the plate against the shoulder, mm."""
        return self.square / self.shoulder * self.reach

    def at(self, length: float) -> float:
        """Return how far a bore of some length lets the far hole move sideways, mm."""
        return self.play / length * self.reach


@dataclass(frozen=True, slots=True)
class Loose:
    """How the mount is held: the chains, the plate's lean, and a turn either way, degrees (None: not held).

    `turn` is that of a whole tab on its two pins, or of each boss about its own axis between the slots of
    bar and boss; a boss on a round screw is not kept from turning.
    """

    chains: tuple[Chain, ...]
    lean: Lean
    turn: float | None


def loose(
    placement: Placement,
    row: tuple[Drill, ...],
    mounts: tuple[Drill, ...],
    thick: float,
    collar: float,
    spacer: float | None,
    sleeved: bool = False,
) -> Loose:
    """Return how far a fixture lets its mount stray.

    `row` are the holes of its plate, `mounts` those of its bar, empty for a tab; `thick` is the plate,
    `collar` holds it off the dropout, `spacer` fills between plate and tab, mm; `sleeved` where a sleeve is
    between bore and axle, which has play on both. Raise GeometryError, naming the job's key, where a fit is
    on no table.
    """
    form = placement.interface
    slide, check = play_number("bore"), play_number("check")
    play = slide.value * (2.0 if sleeved else 1.0)
    bore = _play("bore and sleeve on the axle" if sleeved else "bore on the axle", play / 2.0, slide)
    asked = form.tolerance
    plane: tuple[Chain, ...]
    side: tuple[Play, ...]
    if mounts:
        along, side, turn = _hung(placement, mounts)
        shift, rise = _dowels(row, placement)
        plane = (
            Chain("along the tube", (bore, _checked("bar's holes"), shift, *along), asked),
            Chain("up from the axle", (bore, _checked("bar's underside"), rise), asked),
        )
        side = (_checked("bolt line"), *side)
    else:
        joint = _fit("", row[0].diameter, "h8")
        pins = tuple(replace(joint, name=f"pins in the {part}") for part in ("plate", "tab"))
        plane = (Chain("in the plane", (bore, _checked("plate's holes"), *pins), asked),)
        # Both ends stray by the plate's play and the tab's, the one this way and the other that way.
        turn = math.degrees(2.0 * 2.0 * joint.amount / abs(row[-1].along - row[0].along))
        has = spacer is not None and spacer > SEEN
        side = (_play("spacers' length", check.value, check),) if has else ()
    if collar:
        side = (_play("collar's length", check.value, check), *side)
    rest = rss(each.amount for each in side)
    lean = _lean(play, thick, max(form.radii), rest, form.lateral.tolerance)
    tilt = _play("plate leaning on its bore", lean.amount, slide)
    return Loose((*plane, Chain("sideways", (tilt, *side), form.lateral.tolerance)), lean, turn)


def slot_turn(slot: float, key: float, straight: float) -> float:
    """Return how far a key with round ends turns in a slot either way, degrees.

    `slot` and `key` are their widths, `straight` the key's length between the middles of its round ends, mm.
    Those middles rise by half of the straight times the turn's sine, until the rounds meet the slot's sides.
    """
    return math.degrees(math.asin((slot - key) / straight))


def _play(name: str, amount: float, number: Number) -> Play:
    return Play(name, amount, number.grade, number.source)


def _checked(name: str) -> Play:
    check = play_number("check")
    return _play(f"{name} as checked", check.value, check)


def _fit(name: str, size: float, pin: str) -> Play:
    """Return how far a pin moves either way in its reamed hole, both at their limits of size."""
    hole, shank = limit_of_size("H7", size), limit_of_size(pin, size)
    grade = weakest((hole.grade, shank.grade))
    return Play(name, (hole.value + shank.value) / 2.0, grade, hole.source)


def _dowels(row: tuple[Drill, ...], placement: Placement) -> tuple[Play, Play]:
    """Return how far two dowels let a bar move along it and up, at the mount's hole that is furthest off.

    Each may stray by half of its play, both the same way or one up and one down, which turns the bar.
    """
    form, places = placement.interface, [each for each in row if each.name.startswith("dowel")]
    low, high = (pick(each.along for each in places) for pick in (min, max))
    name = "dowels of bar and plate"
    joint, middle, span = _fit(name, value("dowel"), "h6"), (low + high) / 2.0, high - low
    over = max(abs(x - middle) for x in (form.x_near, form.x_far))
    above = places[0].up - form.h
    return (
        replace(joint, amount=joint.amount * (1.0 + 2.0 * above / span)),
        replace(joint, amount=joint.amount * max(1.0, 2.0 * over / span)),
    )


def _hung(
    placement: Placement, mounts: tuple[Drill, ...]
) -> tuple[tuple[Play, ...], tuple[Play, ...], float | None]:
    """Return what holds bosses under their bar along it, what sideways, and the turn of one, degrees."""
    hole, form = mounts[0], placement.interface.hole
    if hole.length is None or form.length is None:
        held, reamed = thread(form.screw), limit_of_size("H7", hole.diameter)
        across = hole.diameter + reamed.value - held.outside.value
        grade = weakest((reamed.grade, held.outside.grade))
        screws = (
            Play("screws in the bar", across / 2.0, grade, held.outside.source),
            _play("screws in their threads", held.slack.value / 2.0, held.slack),
        )
        return screws, screws, None
    gap = fixture_number("key_play")
    broad = hole.length - gap.value
    along = tuple(_play(f"key in the {part}'s slot", gap.value / 2.0, gap) for part in ("bar", "boss"))
    side = (
        _play("key in the bar's slot", gap.value / 2.0, gap),
        _play("key in the boss's slot", (form.length - broad) / 2.0, form.diameter),
    )
    # The key leans in the bar's slot, and the boss as far again on the key; one that is all but round spins.
    straight = hole.length - hole.diameter
    if straight <= gap.value:
        return along, side, None
    return along, side, 2.0 * slot_turn(hole.diameter, hole.diameter - gap.value, straight)


def _lean(play: float, thick: float, reach: float, rest: float, asked: float | None) -> Lean:
    usual, shoulder, square = (play_number(name).value for name in ("bush", "shoulder", "square"))
    left = 0.0 if asked is None or asked <= rest else math.sqrt(asked**2 - rest**2)
    needed = math.ceil(play * reach / left) if left else usual
    return Lean(play, thick, reach, max(needed if needed <= 2.0 * usual else usual, usual), shoulder, square)
