"""What screws hold and the mount itself bears under braking: a screen, each part with a one-line model.

N, mm, MPa. The part's own notches, welds and fillets are left out.
"""

import math
from typing import Literal

from geometry.braking.forces import Forces
from geometry.braking.seam import Seam, seam
from geometry.braking.strength import entry_of
from geometry.core.frozen import dataclass
from geometry.core.say import Say, say
from geometry.mount.placement import Placement
from geometry.tables.fasteners import screw, torque

Kind = Literal["bearing", "weld", "root", "section"]
"""The screw's hole in a tab, a tab at its weld, a post or boss at its root, a tube at a boss let into it."""


@dataclass(frozen=True, slots=True)
class Hold:
    """A screw: what it presses with, what friction then holds across it, what it must hold, and what is left.

    `beyond` is what the shank takes in shear where friction does not hold all, and `stress` that over its
    stress area, MPa. All are at the least torque on file; `holds_most` is what friction holds at the most.
    """

    name: str
    clamp: float
    holds: float
    across: float
    beyond: float
    stress: float
    holds_most: float


@dataclass(frozen=True, slots=True)
class Part:
    """A part of the mount and the highest stress in it, MPa; None where it is `missing` what is needed.

    `where` is the post or boss, "near" or "far", that bears most. `left` is the share of its stiffness that a
    tube keeps beside a boss where that is too little to say what the tube alone bears. `seam` is what a
    post's root must be joined by to have the section that is counted there.
    """

    kind: Kind
    stress: float | None
    missing: tuple[Say | str, ...] = ()
    where: str = ""
    left: float | None = None
    seam: Seam | None = None


def clamp_force(name: str, newton_metres: float) -> float:
    """Return what a screw presses with, N, at a torque: torque over nut factor times diameter."""
    return newton_metres * 1000.0 / (entry_of("screw", "nut_factor").value * screw(name).diameter)


def holds(placement: Placement, push: Forces, friction: float) -> tuple[Hold, Hold]:
    """Return what each of the mount's screws holds at the least torque on file, by friction and by its shank.

    A pull along the screw takes from what presses.
    """
    name = placement.interface.hole.screw
    clamp, area = clamp_force(name, torque().low.value), entry_of("screw", name).value
    most = clamp_force(name, torque().high.value)
    found = []
    for one in push.screws:
        held = friction * max(0.0, clamp - one.pull)
        beyond = max(0.0, one.shear - held)
        held_most = friction * max(0.0, most - one.pull)
        found.append(Hold(one.name, clamp, held, one.shear, beyond, beyond / area, held_most))
    return found[0], found[1]


def parts(
    placement: Placement,
    push: Forces,
    *,
    thickness: float | None,
    diameter: float | None,
    lengths: tuple[float | None, float | None],
    foot: float,
    lever: float,
    share: float | None,
    tube: float | None,
) -> tuple[Part, ...]:
    """Return the parts of a mount.

    `thickness` is a tab's, `diameter` a post's or boss's, `lengths` how far near and far one stand free of
    their tube, `foot` the length over which a tab is joined and `lever` how far the pads lie from the middle
    of that joint, all mm. `share` is what a boss let into its tube leaves of its stiffness, 0 to 1, and
    `tube` the tube's own stress there, MPa; None: unknown.

    A post or boss is held at both ends, by its tube and by the caliper that is screwed flat to both faces, so
    that a force F along the faces bends it by F L / 2 (a portal's leg).
    """
    worst = max(one.shear for one in push.screws)
    pull = math.hypot(*push.on_caliper)
    if placement.interface.family == "tab":
        if thickness is None:
            return Part("bearing", None, ("boss.thickness",)), Part("weld", None, ("boss.thickness",))
        bearing = worst / (screw(placement.interface.hole.screw).diameter * thickness)
        weld = 6.0 * pull * lever / (thickness * foot * foot) + pull / (thickness * foot)
        return Part("bearing", bearing), Part("weld", weld)
    found = []
    near, far = lengths
    hole = placement.interface.hole
    wide = hole.diameter.value
    if diameter is None or diameter <= wide or far is None:
        # A post no thicker than its hole is none.
        sizes = (("boss.diameter", diameter is None or diameter <= wide), ("boss.length", far is None))
        found.append(Part("root", None, tuple(key for key, lacks in sizes if lacks)))
    else:
        # Whatever the hole is, it goes through the root. A slot is longer across the bicycle, and so across
        # the forces: between its round ends it takes `more` by its width, as far as the boss reaches.
        more = min(hole.length or wide, diameter) - wide
        stiff = math.pi / 64.0 * (diameter**4 - wide**4) - more * wide**3 / 12.0
        modulus = stiff / (diameter / 2.0)
        area = math.pi / 4.0 * (diameter**2 - wide**2) - more * wide
        # A slotted boss's seam is told as a solid one's, which is more than it has.
        bore = 0.0 if hole.kind == "slot" else wide
        free = {"near": far if near is None else near, "far": far}
        root, where = max(
            (abs(one.along) * free[one.name] / 2.0 / modulus + one.pull / area, one.name)
            for one in push.screws
        )
        found.append(Part("root", root, where=where, seam=seam(diameter, bore)))
    if share is not None and share < entry_of("part", "share").value:
        found.append(Part("section", None, left=share))
    elif share is not None:
        missing = (say("strength.tubes_stress"),) if tube is None else ()
        found.append(Part("section", None if tube is None else tube / share, missing))
    return tuple(found)
