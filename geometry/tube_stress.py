"""A screen of the host tube's bending stress at the mount, with the fork test's force as the measure.

It is no strength proof. All of the moment is put on the one tube, as an upper bound; the section is that of
the tube alone, without mount, fillet or butt; heat has weakened it by an unknown amount.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from geometry.forces import Forces, forces, moment_in_tube, screw_points
from geometry.loads import Load, Material, arm, entry
from geometry.placement import Placement
from geometry.plane import Point
from geometry.tables import Number
from geometry.tube import Tube, half_axes


@dataclass(frozen=True, slots=True)
class Place:
    """A place on the tube: its name, s up the tube in mm, the moment there in N mm, and the stress in MPa.

    `modulus` is the section's, mm3; `ratio` yield over stress, None without a known material or any stress;
    `wall_for` the wall in mm with which what is asked is reached, None where even a solid bar does not;
    `stop` the stress in the job's own hard stop, MPa, None where none was given.
    """

    name: str
    s: float
    moment: float
    modulus: float
    stress: float
    ratio: float | None
    wall_for: float | None
    stop: float | None


@dataclass(frozen=True, slots=True)
class TubeScreen:
    """The screen of a host tube; without a wall or the tube `places` is empty and `missing` names what lacks.

    `force` and `arm` are the test's, N and mm. `beyond` are the places that the known tube does not reach,
    such as a foot that begins on the dropout, with their s in mm. `reach` is s up to which the mount's foot
    would have to go for what is asked, None where it is not known or no place of the tube gives it.
    """

    tube: str
    force: Number
    arm: Number
    arm_words: str
    places: tuple[Place, ...]
    beyond: tuple[tuple[str, float], ...]
    reach: float | None
    missing: tuple[str, ...]

    @property
    def worst(self) -> Place | None:
        """Return the place of the highest stress, or None."""
        return max(self.places, key=lambda place: place.stress, default=None)

    def under(self, place: Place, test: str) -> float:
        """Return a place's stress under another of the test's forces, "static" or "second", MPa."""
        return place.stress * entry("test", test).value / self.force.value


def section(height: float, width: float, wall: float) -> tuple[float, float, float]:
    """Return area, second moment for bending in the plane of `height`, and section modulus: mm2, mm4, mm3.

    A hollow ellipse of even wall along its axes, pi/4 (a^3 b - a1^3 b1); a round tube is pi/64 (D^4 - d^4).
    """
    a, b = height / 2.0, width / 2.0
    a1, b1 = max(0.0, a - wall), max(0.0, b - wall)
    area = math.pi * (a * b - a1 * b1)
    second = math.pi / 4.0 * (a**3 * b - a1**3 * b1)
    return area, second, second / a


def screen(
    placement: Placement,
    tube: Tube | None,
    towards: Point,
    *,
    wall: float | None,
    half_foot: float,
    wheel: float | None,
    material: Material | None,
    wanted: float,
    brace: float | None = None,
    own: Load | None = None,
    turns: Sequence[float] = (0.0,),
) -> TubeScreen:
    """Return the screen of a host tube under the fork test's fatigue force.

    `towards` is where the pads' middle lies; the mount's foot runs `half_foot` mm past both holes along the
    tube. `wheel` is the diameter over the tyre, `wanted` yield over stress. A `brace` that meets the tube at
    s above the foot makes it a beam on two supports, axle and brace. What is asked is `wanted` under the
    test's force, and in the job's `own` stop, which a heavy bicycle makes harder than the test, no more than
    yield (own judgement). `turns` are how far the ground may be turned in that stop, degrees (see
    geometry/stance.py): the worst counts. The test's own force is not turned.
    """
    force = entry("test", "fatigue")
    length, words = arm(wheel)
    missing = [
        what
        for what, lacks in (
            (f"tubes.{placement.host}", tube is None),
            (f"tubes.{placement.host}.wall", tube is not None and wall is None),
            ("a known material in process.material", material is None),
        )
        if lacks
    ]
    if tube is None or wall is None:
        return TubeScreen(placement.host, force, length, words, (), (), None, tuple(missing))
    friction, ratio = entry("rest", "friction"), entry("rest", "ratio")
    found = forces(placement, Load(force.value, 0.0, length.value, friction, ratio, ()), towards)
    places_up = [point[0] * tube.t0[0] + point[1] * tube.t0[1] for point in screw_points(placement)]
    foot = (min(places_up) - half_foot, max(places_up) + half_foot)
    held = brace if brace is not None and brace > foot[1] else None

    stopped = [] if own is None else [forces(placement, own, towards, turn) for turn in turns]

    def moment(s: float) -> float:
        return abs(held_moment(placement, tube, found, s, held))

    def stop(s: float) -> float | None:
        return max((abs(held_moment(placement, tube, each, s, held)) for each in stopped), default=None)

    def asked(s: float) -> float:
        return max(wanted * moment(s), stop(s) or 0.0)

    above = entry("rest", "above").value
    low, high = tube.span
    named = (
        ("lower end of the foot", foot[0]),
        ("upper end of the foot", foot[1]),
        (f"{above:g} above it", foot[1] + above),
    )
    places = tuple(
        _place(name, s, (moment(s), stop(s), asked(s)), tube, wall, material)
        for name, s in named
        if low <= s <= high
    )
    beyond = tuple(each for each in named if not low <= each[1] <= high)
    reach = None if material is None else _reach(foot[1], asked, tube, wall, 1.0 / material.limit.value)
    return TubeScreen(placement.host, force, length, words, places, beyond, reach, tuple(missing))


def held_moment(placement: Placement, tube: Tube, found: Forces, s: float, brace: float | None) -> float:
    """Return the moment in the tube at s, N mm, if it alone carries all, or is held by a brace at s = brace.

    Between axle and brace it is then a beam on two supports: the free moment less the straight line from 0
    at the axle to the free moment at the brace; above the brace nothing is left, which is the brace's and
    the other stay's to carry.
    """
    free = moment_in_tube(placement, tube, found, s)
    if brace is None:
        return free
    return free - s / brace * moment_in_tube(placement, tube, found, brace) if s < brace else 0.0


def _place(
    name: str,
    s: float,
    moments: tuple[float, float | None, float],
    tube: Tube,
    wall: float,
    material: Material | None,
) -> Place:
    """Return a place; `moments` are the test's, the own stop's, and what the section must bear at yield."""
    moment, own, asked = moments
    a, b = (float(half[0]) for half in half_axes(tube, np.array([s])))
    _, _, modulus = section(2.0 * a, 2.0 * b, wall)
    stress = moment / modulus
    stop = None if own is None else own / modulus
    if material is None or stress == 0.0:
        return Place(name, s, moment, modulus, stress, None, None, stop)
    ratio, needed = material.limit.value / stress, asked / material.limit.value
    return Place(name, s, moment, modulus, stress, ratio, _wall_for(a, b, needed), stop)


def _wall_for(a: float, b: float, modulus: float) -> float | None:
    """Return the least wall that gives a section modulus, to 0.01 mm; None where a solid bar gives less."""
    most = min(a, b)
    if section(2.0 * a, 2.0 * b, most)[2] < modulus:
        return None
    low, high = 0.0, most
    for _ in range(40):
        middle = (low + high) / 2.0
        low, high = (middle, high) if section(2.0 * a, 2.0 * b, middle)[2] < modulus else (low, middle)
    return math.ceil(high * 100.0 - 1e-6) / 100.0


def _reach(
    start: float, moment: Callable[[float], float], tube: Tube, wall: float, share: float
) -> float | None:
    """Return the lowest s, in whole mm from `start` up, from where on the tube has the ratio, or None.

    `share` is 1 over the yield, 1/MPa: the section modulus that a moment of 1 asks for.
    """
    stops = np.arange(math.ceil(start), math.floor(tube.span[1]) + 1.0)
    if not len(stops):
        return None
    a, b = half_axes(tube, stops)
    lacking = [
        i
        for i, s in enumerate(stops)
        if section(2.0 * float(a[i]), 2.0 * float(b[i]), wall)[2] < share * moment(float(s))
    ]
    first = lacking[-1] + 1 if lacking else 0
    return float(stops[first]) if first < len(stops) else None
