"""The shapes of a fixture's parts: where their holes are, and the outlines round them.

A part's own axes are `along`, up the tube from the foot of the axle's perpendicular, and `up`, towards the
mount side; seen from above a bar's `up` is z, sideways from the dropout's inner face. Lengths in mm.
"""

import math
from collections.abc import Iterable
from dataclasses import dataclass

from geometry.belt import Line, Piece, Pulley, area, belt, hull, room, tangent_heading
from geometry.errors import GeometryError
from geometry.fasteners import screw
from geometry.fixture_numbers import reach, ring, value
from geometry.placement import Placement
from geometry.plane import polar

JOINING = "M6"
"""The screws that hold a bar to its plate."""
ROUND = 0.5
"""Lengths that nothing dictates come in halves of a millimetre: own judgement."""
_APART = 20.0
"""Dowels nearer together than this steer badly: own judgement, mm."""


@dataclass(frozen=True, slots=True)
class Drill:
    """A hole of a part: centre from the axle, mm, `diameter`, and for a slot its whole `length` along z.

    `make` says how it is made, `through` what goes through; a `pair` is drilled through both parts at once.
    """

    name: str
    along: float
    up: float
    diameter: float
    make: str
    through: str
    pair: bool = False
    length: float | None = None

    @property
    def radius(self) -> float:
        """Return the distance from the axle's centre, mm."""
        return math.hypot(self.along, self.up)

    @property
    def angle(self) -> float:
        """Return the direction from the axle's centre, degrees from `along` towards the mount side."""
        return math.degrees(math.atan2(self.up, self.along)) + 0.0


@dataclass(frozen=True, slots=True)
class Part:
    """One part in its own axes: outline, holes and stock; `edge` is the `up` of its straight edge, mm.

    For a bar seen from above `up` is z, sideways from the dropout's inner face.
    """

    name: str
    outline: tuple[Piece, ...]
    holes: tuple[Drill, ...]
    stock: str
    edge: float
    relief: Drill | None = None


def reamed(size: float) -> str:
    """Return how a hole is made that a pin fits; the reamer is left as much as at the dowels."""
    return f"drill {drilled(size):g}, ream {size:g}"


def drilled(size: float) -> float:
    """Return the drill before the reamer for a size, mm."""
    return round(size - (value("dowel") - value("dowel_drill")), 3)


def tab_holes(placement: Placement) -> tuple[Drill, ...]:
    """Return the plate's holes for a tab, near and far: pins locate it there, made with the tab as a pair."""
    form = placement.interface
    return tuple(
        Drill(
            hole.name,
            x,
            form.h,
            hole.diameter,
            f"with the tab: {reamed(hole.diameter)}",
            f"pin {hole.diameter:g} through spacer and tab",
        )
        for hole, x in zip(placement.holes, (form.x_near, form.x_far), strict=True)
    )


def bar_rows(placement: Placement, facing: float) -> tuple[tuple[Drill, ...], tuple[Drill, ...]]:
    """Return the holes that plate and bar share, in order along it, and the bar's holes for the mount."""
    form, joining = placement.interface, screw(JOINING)
    name = form.hole.screw
    diameter, length, make = form.hole.diameter.value, None, ""
    if form.hole.kind == "thread":
        # A clearance hole would let the boss stray by its play: the screw fills a reamed one of its own size.
        diameter = screw(name).diameter
    if form.hole.kind == "slot" and form.hole.length is not None and form.hole.length > diameter:
        length = slot_length(form.hole.length)
        make = f"slot {diameter:g} × {trimmed(length)}, square to the plate"
    make = make or f"{reamed(diameter)}, square to the underside"
    through = f"{name} down into the boss" if length is None else "keyed rod through boss and bar"
    mounts = tuple(
        Drill(hole.name, x, placement.lateral_z, diameter, make, through, length=length)
        for hole, x in zip(placement.holes, (form.x_near, form.x_far), strict=True)
    )
    up = form.h + facing + value("bar_height") / 2.0
    web, clear = value("web"), joining.clearance["fine"].value
    dowel, half = value("dowel"), diameter / 2.0

    def out(steps: float) -> float:
        return math.ceil(steps / ROUND) * ROUND

    past = out(half + clear / 2.0 + web)
    beside = out((clear + dowel) / 2.0 + web)
    low, high = form.x_near + past, form.x_far - past
    outer = out(half + dowel / 2.0 + web)
    if high - low >= 2.0 * beside + _APART:
        screws, dowels = (low, high), (low + beside, high - beside)
    elif high - low >= clear + web:
        screws, dowels = (low, high), (form.x_near - outer, form.x_far + outer)
    else:
        screws = (form.x_near - past, form.x_far + past)
        dowels = (screws[0] - beside, screws[1] + beside)
    made = f"pair: drill {joining.tap_drill.value:g}, tap bar {joining.name}, open plate {clear:g}"
    steered = f"pair: {reamed(dowel)}"
    shared = [
        *(
            Drill(f"screw {i}", x, up, clear, made, f"{joining.name} into the bar", True)
            for i, x in _counted(screws)
        ),
        *(Drill(f"dowel {i}", x, up, dowel, steered, f"dowel {dowel:g}", True) for i, x in _counted(dowels)),
    ]
    return tuple(sorted(shared, key=lambda each: each.along)), mounts


def _counted(places: tuple[float, float]) -> Iterable[tuple[int, float]]:
    return enumerate(places, start=1)


def trimmed(length: float) -> str:
    """Return a length to a hundredth of a millimetre, without idle zeros."""
    return f"{length:.2f}".rstrip("0").rstrip(".")


def rim(row: tuple[Drill, ...]) -> float:
    """Return how far the side plate reaches round its row of holes, mm; a bar lies flush with it."""
    flush = value("bar_height") / 2.0 if any(each.pair for each in row) else 0.0
    return max(flush, *(reach(each.diameter) for each in row))


def plate_outline(bore: float, row: tuple[Drill, ...]) -> tuple[tuple[Piece, ...], Drill | None]:
    """Return the side plate's outline and the hole at the root of its relief, None where it has none.

    It is the tangent hull of the ring round the axle and of the row's ends, less a notch on the tube's side
    whose root is a drilled hole: the torch gets at the joint there.
    """
    far_reach = rim(row)
    axle = Pulley((0.0, 0.0), ring(bore))
    near, far = (Pulley((each.along, each.up), far_reach) for each in (row[0], row[-1]))
    whole = hull((axle, near, far))
    radius = value("relief") / 2.0
    if whole != (axle, far, near):
        return belt(whole), None
    # The root touches the row's lower edge and the edge of the arm that runs from axle to near.
    rise = tangent_heading(axle, near)
    c, s = polar(rise)
    up = near.centre[1] - far_reach - radius
    if s <= 0.0:
        return belt(whole), None
    aside = (axle.radius + radius + up * c) / s
    past_axle = aside * c + up * s
    if past_axle <= 0.0 or aside >= far.centre[0] or up <= 0.0:
        return belt(whole), None
    root = Pulley((aside, up), radius, inside=False)
    # A root that overlaps a circle of the outline leaves no straight edge to saw to.
    if any(math.dist(root.centre, each.centre) <= radius + each.radius for each in (axle, far)):
        return belt(whole), None
    pieces = belt((axle, root, far, near))
    if not 0.0 < area(pieces) < area(belt(whole)):
        return belt(whole), None
    made = f"drill {2.0 * radius:g} first, saw to it"
    return pieces, Drill("relief", aside, up, 2.0 * radius, made, "torch")


def refuse_thin(bore: float, row: tuple[Drill, ...], pieces: tuple[Piece, ...]) -> None:
    """Raise GeometryError where two holes of the side plate, or a hole and its edge, are too near."""
    web = value("web")
    for i, one in enumerate(row):
        between = [(one.radius - (bore + one.diameter) / 2.0, "the axle's bore")]
        between += [
            (abs(other.along - one.along) - (one.diameter + other.diameter) / 2.0, other.name)
            for other in row[i + 1 :]
        ]
        for left, other_name in between:
            if left < web - 1e-9:
                raise GeometryError.at(
                    "bench.fixture",
                    f"{left:.2f} of plate would stay between {one.name} and {other_name}, {web:g} at "
                    "least is wanted; use a thinner dummy axle, or draw no fixture",
                )
    left = room(pieces, (0.0, 0.0)) - bore / 2.0
    if left < web - 1e-9:
        raise GeometryError.at("bench.fixture", f"{left:.2f} of plate would stay round the axle's bore")


def half_across(hole: Drill) -> float:
    """Return how far a bar's edge keeps from the middle of a hole for the mount, mm."""
    return reach(hole.diameter) if hole.length is None else hole.length / 2.0 + value("web")


def bar_parts(
    placement: Placement,
    row: tuple[Drill, ...],
    mounts: tuple[Drill, ...],
    bar: tuple[float, float],
    level: float,
    surface: float,
    way: float,
) -> tuple[Part, Part]:
    """Return the bar seen from above, `up` being z, and seen from the plate's side."""
    width, height = bar
    every = (*row, *mounts)
    start = math.floor(min(each.along - reach(each.diameter) for each in every))
    end = math.ceil(max(each.along + reach(each.diameter) for each in every))
    stock = f"bar {width:g} × {height:g} × {end - start:g}"
    low, high = sorted((surface, surface + way * width))
    above = Part("bar, top", _box(start, low, end, high), mounts, stock, surface)
    tap = screw(JOINING).tap_drill.value
    threaded = tuple(
        Drill(
            each.name,
            each.along,
            each.up,
            tap if each.name.startswith("screw") else each.diameter,
            each.make,
            each.through,
            True,
        )
        for each in row
    )
    side = Part("bar, side", _box(start, level, end, level + height), threaded, stock, level)
    return above, side


def _box(left: float, low: float, right: float, high: float) -> tuple[Piece, ...]:
    corners = ((left, low), (right, low), (right, high), (left, high))
    return tuple(Line(corner, corners[(i + 1) % 4]) for i, corner in enumerate(corners))


def slot_length(length: float) -> float:
    """Return how long a bar's slot is for a mount's of some length: the rod that keys both fills it."""
    rod = _rod(length)
    return length if rod is None else rod + value("key_play")


def _rod(length: float) -> float | None:
    return next((size for size in (12.0, 10.0, 8.0, 6.0) if size <= length - value("key_play")), None)


def key_rod(mounts: tuple[Drill, ...]) -> str:
    """Return the thread whose rod, filed to two flats, slides in a slot; empty where there is none."""
    rod = None if not mounts or mounts[0].length is None else _rod(mounts[0].length)
    return "" if rod is None else f"M{rod:g}"
