"""Where braking force goes, in the side view: tyre, disc, axle, the mount's screws and the host tube.

Axes of the package: x rearward, y up with the fork leg upright or the chainstay level; the wheel rolls
forward, anticlockwise. The ground is turned in these axes as the bicycle stands (geometry/tables/stance.py):
braking acts along it, weight square to it. Forces in N, lengths in mm, moments in N mm, anticlockwise
positive. The wheel's own weight and inertia are left out. Plane statics of rigid bodies; it says where force
goes, not what a part bears.
"""

import math

from geometry.core.frozen import dataclass
from geometry.core.plane import Point, turned
from geometry.mount.placement import Placement
from geometry.tables.loads import Load
from geometry.tables.stance import rearward, upward

Vector = Point


@dataclass(frozen=True, slots=True)
class ScrewForce:
    """What the mount gets at one screw: along t and along n, N; a screw in a face is pulled where n > 0.

    `shear` is what must be held across the screw, by friction or by its shank, `pull` along it (0 for a
    tab, whose screws lie along the axle), and `clamp` the clamping force that friction alone would ask for.
    """

    name: str
    along: float
    square: float
    shear: float
    pull: float
    clamp: float


@dataclass(frozen=True, slots=True)
class Forces:
    """The forces of one braked wheel, in the package's axes.

    `turn` is the ground's, degrees, and `contact` where the tyre touches it. `ground` acts on the tyre, along
    the ground by the brake and up from it by the weight; `on_disc` acts on the disc at `pad`, and its
    opposite on the caliper; `axle` is what the axle puts on the dropout; `torque` the wheel's braking moment,
    N mm. `screws` is what the caliper puts on the mount at near and far.
    """

    pad: Point
    pad_radius: float
    ground: Vector
    on_disc: Vector
    axle: Vector
    torque: float
    screws: tuple[ScrewForce, ScrewForce]
    turn: float
    contact: Point

    @property
    def on_caliper(self) -> Vector:
        """Return what the disc puts on the caliper, N."""
        return (-self.on_disc[0], -self.on_disc[1])


def pad_point(placement: Placement, towards: Point) -> Point:
    """Return where the pads grip: on the track's middle, in the direction of the pads' own middle."""
    radius = placement.rotor.radius - placement.rotor.track / 2.0
    long = math.hypot(*towards)
    return (radius * towards[0] / long, radius * towards[1] / long)


def disc_force(placement: Placement, load: Load, towards: Point) -> Vector:
    """Return what the pads put on the disc, N.

    The disc runs anticlockwise, so that the pads are dragged along their radius turned by 90 degrees and
    hold the disc back the other way.
    """
    pad = pad_point(placement, towards)
    radius = math.hypot(*pad)
    drag = load.brake * load.tyre / radius
    way = turned((pad[0] / radius, pad[1] / radius), 90.0)
    return -drag * way[0], -drag * way[1]


def ground_force(load: Load, turn: float) -> Vector:
    """Return what the ground puts on the tyre, N: the brake along the ground, rearward, the weight up."""
    back, up = rearward(turn), upward(turn)
    return load.brake * back[0] + load.wheel * up[0], load.brake * back[1] + load.wheel * up[1]


def axle_force(on_disc: Vector, load: Load, turn: float) -> Vector:
    """Return what the axle puts on the dropout, N: all that acts on the wheel but the dropout itself."""
    ground = ground_force(load, turn)
    return ground[0] + on_disc[0], ground[1] + on_disc[1]


def forces(placement: Placement, load: Load, towards: Point, turn: float = 0.0) -> Forces:
    """Return the forces of a placement under a load; the pads' middle lies in the direction of `towards`.

    `turn` is how far the ground is turned, degrees (see geometry/tables/stance.py).
    """
    pad = pad_point(placement, towards)
    on_disc, up = disc_force(placement, load, towards), upward(turn)
    return Forces(
        pad=pad,
        pad_radius=math.hypot(*pad),
        ground=ground_force(load, turn),
        on_disc=on_disc,
        axle=axle_force(on_disc, load, turn),
        torque=load.brake * load.tyre,
        screws=_screws(placement, load, pad, (-on_disc[0], -on_disc[1])),
        turn=turn,
        contact=(-load.tyre * up[0] + 0.0, -load.tyre * up[1] + 0.0),
    )


def _screws(placement: Placement, load: Load, pad: Point, force: Vector) -> tuple[ScrewForce, ScrewForce]:
    """Return what each screw takes of a force at the pads: half of it, and its share of the couple.

    The couple about the middle between the screws is taken by equal and opposite forces at them, square to
    the line through both; so it is for rigid parts, and where a caliper's foot levers over an edge it is
    more.
    """
    form = placement.interface
    t, n = placement.t, placement.n
    along = force[0] * t[0] + force[1] * t[1]
    square = force[0] * n[0] + force[1] * n[1]
    spacing = form.x_far - form.x_near
    middle = tuple(form.h * n[axis] + (form.x_near + form.x_far) / 2.0 * t[axis] for axis in (0, 1))
    moment = (pad[0] - middle[0]) * force[1] - (pad[1] - middle[1]) * force[0]
    # n is t turned by -90, so a force along n at a place along t turns clockwise.
    couple = -moment / spacing
    found = []
    for name, sign in (("near", -1.0), ("far", 1.0)):
        up = square / 2.0 + sign * couple
        if form.family == "tab":
            shear, pull = math.hypot(along / 2.0, up), 0.0
            clamp = shear / load.friction.value
        else:
            shear, pull = abs(along / 2.0), max(0.0, up)
            clamp = shear / load.friction.value + pull
        found.append(ScrewForce(name, along / 2.0, up, shear, pull, clamp))
    return found[0], found[1]


def screw_points(placement: Placement) -> tuple[Point, Point]:
    """Return near and far hole in the side view, mm."""
    near, far = placement.holes
    return (near.centre[0], near.centre[1]), (far.centre[0], far.centre[1])
