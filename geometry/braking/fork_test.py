"""What the published fork test does to a leg: a force that is held, and two stages that are repeated.

Forces of the test act alike, so that stresses grow with them. Repeated stages are summed by the rule of
Palmgren and Miner: each takes its share, how often it is asked over how often it is borne. N, MPa.
"""

import math
from collections.abc import Sequence

from geometry.braking.strength import Joint, Weak, entry_of, stops_borne
from geometry.braking.tube_frame import Wall
from geometry.core.frozen import dataclass
from geometry.core.tables import Number
from geometry.tables.loads import entry
from geometry.tubes.tube import halves


@dataclass(frozen=True, slots=True)
class Stage:
    """A repeated stage: its force, N, how often it is asked, and how often a welded detail bears it."""

    force: Number
    cycles: Number
    borne: float

    @property
    def share(self) -> float:
        """Return the share of the detail's life that the stage takes."""
        return self.cycles.value / self.borne


@dataclass(frozen=True, slots=True)
class ForkTest:
    """A leg in the test: its weakest section under the first stage's force, and what the rest makes of it.

    `torque` is the test's moment at the axle, N mm. `held` is the force that is held for `minutes`, and
    `stress` what it stresses the section with, MPa, if it stayed elastic; `folds` is that stress, MPa, at
    which the whole section yields, None where no yield is known. `stages` are for ordinary use, `racing` for
    racing. `joint` is how the mount is joined: how often it is borne is a welded detail's.
    """

    weak: Weak
    torque: float
    held: Number
    minutes: Number
    stress: float
    folds: float | None
    stages: tuple[Stage, ...]
    racing: tuple[Stage, ...]
    joint: Joint = "welded"

    @property
    def bends(self) -> bool:
        """Tell whether the held force may bend the leg for good."""
        return self.weak.limit is not None and self.stress > self.weak.limit.value

    @property
    def damage(self) -> float:
        """Return the sum of the stages' shares; 1 is all that the class of detail is said to bear."""
        return damage(self.stages)

    @property
    def short(self) -> bool:
        """Tell whether the stages ask more than the class of detail bears; no brazed one is on file."""
        return self.joint != "brazed" and self.damage > entry_of("fatigue", "sum").value


def damage(stages: Sequence[Stage]) -> float:
    """Return the sum of stages' shares of a life, by the rule of Palmgren and Miner."""
    return math.fsum(each.share for each in stages)


def fork_test(weak: Weak, wall: Wall, arm: float, joint: Joint = "welded") -> ForkTest:
    """Return what the test does to a leg whose weakest section under the first stage's force is given.

    `arm` is the test's, mm.
    """
    force, held = entry("test", "fatigue"), entry("test", "static")
    stress = weak.cut.stress * held.value / force.value
    folds = None if weak.limit is None else weak.limit.value * shape(wall, weak.cut.s)

    def stages(part: str) -> tuple[Stage, ...]:
        found = []
        for push, cycles in (("fatigue", "cycles"), ("second", "second_cycles")):
            at = entry("test", push)
            borne = stops_borne(weak.cut.stress * at.value / force.value)
            found.append(Stage(at, entry(part, cycles), borne))
        return tuple(found)

    hold = entry("test", "hold")
    return ForkTest(
        weak, force.value * arm, held, hold, stress, folds, stages("test"), stages("racing"), joint
    )


def shape(wall: Wall, s: float) -> float:
    """Return by how much a section bears more once all of it yields than when its outside begins to.

    Its plastic modulus over its elastic one, for a hollow ellipse 4/3 (a^2 b - a1^2 b1) over
    pi/4 (a^3 b - a1^3 b1) / a; a thin round tube has 4/pi (handbooks of plastic bending).
    """
    a, b = halves(wall.tube, s)
    a1, b1 = max(0.0, a - wall.wall), max(0.0, b - wall.wall)
    elastic = math.pi / 4.0 * (a**3 * b - a1**3 * b1) / a
    return 4.0 / 3.0 * (a * a * b - a1 * a1 * b1) / elastic
