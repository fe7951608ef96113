"""What a caliper must show over the dummy axle, pins in the holes, faces and tubes, with go and no-go limits.

A reading is linear in the distance it checks: shown = distance + offset, where the offset holds the radii
of axle and pins. So each reading turns back into the distance it was taken for (`distance_from`).
"""

import itertools
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import ROUND_CEILING, ROUND_FLOOR, ROUND_HALF_EVEN, Decimal

import numpy as np

from geometry.errors import GeometryError
from geometry.interfaces import Interface, rows
from geometry.placement import Placement
from geometry.tube import Tube, outline

INCH = 25.4
# The jaws of a common 150 mm caliper: common practice, no source.
_JAW = 40.0
# A pin this much smaller than its hole already reads as much off as the table's closest tolerance allows.
_LOOSE = 0.1
_MM = ("0.05", "0.01", "0.001")
_IN = ("0.001", "0.0001")


@dataclass(frozen=True, slots=True)
class Printed:
    """A reading as text: to 0.05 mm or 0.001 in, finer where the limits are too close for that.

    The limits are rounded inward, so that a reading which passes them passes the exact ones; None where no
    tolerance is known, or where it is too small for a caliper to show.
    """

    nominal: str
    low: str | None
    high: str | None


@dataclass(frozen=True, slots=True)
class Reading:
    """One check: what to measure, the reading in mm and its exact limits (None: no tolerance is known).

    `offset` is what axle and pins add to the distance itself; `note` says what else to know.
    """

    name: str
    how: str
    nominal: float
    low: float | None
    high: float | None
    offset: float
    note: str

    @property
    def key(self) -> str:
        """Return the name as forms and reading files write it: axle-to-near-over."""
        return re.sub(r"[^a-z0-9]+", "-", self.name.lower()).strip("-")

    @property
    def mm(self) -> Printed:
        """Return the reading in millimetres as it is printed."""
        return _printed(self, 1.0, _MM)

    @property
    def inch(self) -> Printed:
        """Return the reading in inches as it is printed."""
        return _printed(self, INCH, _IN)


def distance_from(reading: Reading, shown: float | None = None) -> float:
    """Return the distance in mm behind what a caliper shows; `shown` None takes the nominal reading.

    It runs between centre lines, or from the face named to the axle's line, the hole's or the mount's face.
    """
    return (reading.nominal if shown is None else shown) - reading.offset


def pin_for(hole: float, pins: Iterable[float]) -> float:
    """Return the largest pin that enters the hole with less than 0.1 play, or the drill's own size."""
    return max((pin for pin in pins if hole - _LOOSE < pin <= hole), default=hole)


def readings(
    placement: Placement,
    *,
    axle: float,
    pin: float | None = None,
    tube: Tube | None = None,
    dropout_thickness: float | None = None,
    facing: float = 0.0,
    drilled: float | None = None,
) -> tuple[Reading, ...]:
    """Return the checks of a mount, mm; what cannot be measured on it is left out.

    `axle` and `pin` are the diameters of dummy axle and pin (None: the drill's shank), `tube` the host,
    `facing` the stock left on the mount face, `drilled` the holes' diameter where it is not the row's, as in
    a mount that was built to another sheet. Raise GeometryError where a pin does not enter its hole.
    """
    hole = placement.interface.hole.diameter.value if drilled is None else drilled
    if pin is not None and pin > hole:
        why = f"{pin:g} does not enter a hole of {hole:g}, {pin - hole:.3g} too thick; use {hole:g} or less"
        raise GeometryError.at("bench.pins", why)
    size = hole if pin is None else pin
    peg = "drill shank" if pin is None else "pin"
    return (
        *_holes(placement, axle, size, peg),
        *_face(placement, axle, facing),
        *(_tube(placement, tube, size, peg, facing) if tube is not None else ()),
        *_dropout(placement, size, peg, dropout_thickness, facing),
    )


def _holes(placement: Placement, axle: float, pin: float, peg: str) -> list[Reading]:
    """Return axle to near, axle to far and near to far, over both and between them.

    Pins in a tab lie along the axle, and the caliper reads the radii. Pins in a face stand square to it:
    jaws square to the face read along it, so that the height drops out.
    """
    form = placement.interface
    tab = form.family == "tab"
    ways = ("near", "far", "spacing")
    lengths = (*form.radii, form.x_far - form.x_near)
    before = "before tapping" if form.hole.kind == "thread" and peg == "drill shank" else ""
    reach, where = "", ""
    if not tab:
        where = " along the face"
        lengths = (abs(form.x_near), abs(form.x_far), form.x_far - form.x_near)
        reach = f"needs jaws {form.h:.0f} mm deep" if form.h > _JAW else ""
    square = "" if tab else ", jaws square to the mount face"
    found: list[Reading] = []
    for name, way, length in zip(("axle to near", "axle to far", "near to far"), ways, lengths, strict=True):
        axled = name.startswith("axle")
        named = f"{name}{where}" if axled else name
        half = ((axle if axled else pin) + pin) / 2.0
        both = f"dummy axle and {way} {peg}" if axled else f"both {peg}s"
        behind = not tab and ((way == "near" and form.x_near < 0.0) or (way == "far" and form.x_far < 0.0))
        side = "; the hole lies below the axle along the tube" if behind else ""
        extra = "; ".join(part for part in (before, reach if axled else "") if part)
        band = _tolerance(form, way)
        over, under = f"outside jaws over {both}{square}{side}", f"inside jaws between {both}{square}{side}"
        found.append(_reading(f"{named}, over", over, length, half, band, extra))
        if length > half:
            found.append(_reading(f"{named}, between", under, length, -half, band, extra))
    return found


def _face(placement: Placement, axle: float, facing: float) -> list[Reading]:
    """Return mount face to the near and the far side of the dummy axle; a tab has no such face."""
    form = placement.interface
    if form.family == "tab":
        return []
    band = _tolerance(form, "h")
    found: list[Reading] = []
    for stock, when in _stages(facing):
        for side, radius in (("near", -axle / 2.0), ("far", axle / 2.0)):
            how = f"mount face square down to the {side} side of the dummy axle"
            if form.h + radius > 0.0:
                name = f"face to axle, {side} side{when}"
                found.append(_reading(name, how, form.h, stock + radius, band, ""))
    return found


def _tube(placement: Placement, tube: Tube, pin: float, peg: str, facing: float) -> list[Reading]:
    """Return how far each hole stands off the host tube's edge, square to that edge in the side view.

    Between pin and tube for a tab; from a face the depth at the hole's centre. Left out where the hole lies
    on the tube, or beyond the length over which the tube is known.
    """
    tab = placement.interface.family == "tab"
    edge, other = (line[:, :2] for line in outline(tube, (0.0, 0.0, 1.0), (*placement.n, 0.0)))
    found: list[Reading] = []
    for hole in placement.holes:
        length = _stand_off(np.asarray(hole.centre[:2]), edge, other)
        less = pin / 2.0 if tab else 0.0
        if length is None or length <= less:
            continue
        how = f"mount face at the {hole.name} hole down to the edge of the {tube.name}"
        if tab:
            how = f"inside jaws between the {hole.name} {peg} and the edge of the {tube.name}"
        # One reading serves before and after: the face measured from stands out by the stock till then.
        early = f"before facing it reads {facing:g} more" if facing and not tab else ""
        found.append(_reading(f"{hole.name} hole to {tube.name}", how, length, -less, None, early))
    return found


def _stand_off(point: np.ndarray, edge: np.ndarray, other: np.ndarray) -> float | None:
    """Return the distance square from a polyline to a point on the far side of it from `other`, or None."""
    best: float | None = None
    for start, end in itertools.pairwise(edge):
        run = end - start
        share = float((point - start) @ run / (run @ run))
        square = np.array([-run[1], run[0]]) / float(np.hypot(*run))
        away = float((point - start) @ square)
        if away * float((other[0] - start) @ square) >= 0.0:
            continue
        if -1e-9 <= share <= 1.0 + 1e-9 and (best is None or abs(away) < best):
            best = abs(away)
    return best


def _dropout(
    placement: Placement, pin: float, peg: str, thickness: float | None, facing: float
) -> list[Reading]:
    """Return the sideways checks, from the dropout's faces to a tab's inner face or over a pin."""
    form, z = placement.interface, placement.lateral_z
    band = form.lateral.tolerance
    deep = f"the pocket of {placement.pocket:g} is in it" if placement.datum_shift else ""
    faces = [("inner", z)] if thickness is None else [("inner", z), ("outer", z - thickness)]
    found: list[Reading] = []
    for face, away in faces:
        where = "outboard" if away >= 0.0 else "inboard"
        if form.family == "tab":
            for stock, when in _stages(facing):
                # Stock on a tab's inner face moves that face inboard until it is faced off.
                how = f"dropout's {face} face to the tab's inner face, {where}"
                if abs(away) < 1e-9:
                    how = f"tab's inner face flush with the dropout's {face} face; minus is inboard"
                shift = -stock if away >= 0.0 else stock
                found.append(_reading(f"{face} face to tab{when}", how, abs(away), shift, band, deep))
        else:
            how = f"dropout's {face} face to the {where} side of the {peg} in a hole"
            found.append(_reading(f"{face} face over {peg}", how, abs(away), pin / 2.0, band, deep))
    return found


def _stages(facing: float) -> Sequence[tuple[float, str]]:
    return ((facing, ", before facing"), (0.0, ", faced")) if facing else ((0.0, ""),)


def _tolerance(form: Interface, key: str) -> float | None:
    """Return the tolerance of a radius or the spacing; the table gives it for each, a job for all."""
    if form.own or form.family != "tab":
        return form.tolerance
    found = rows()[form.name]["radii"][key].get("tolerance")
    return None if found is None else float(found)


def _reading(name: str, how: str, length: float, offset: float, band: float | None, note: str) -> Reading:
    nominal = length + offset
    if band is None:
        told = "; ".join(part for part in (note, "no tolerance is known: no limits") if part)
        return Reading(name, how, nominal, None, None, offset, told)
    return Reading(name, how, nominal, nominal - band, nominal + band, offset, note)


def _printed(reading: Reading, unit: float, steps: Sequence[str]) -> Printed:
    low, high = reading.low, reading.high
    if low is None or high is None:
        return Printed(_rounded(reading.nominal / unit, steps[0], ROUND_HALF_EVEN), None, None)
    for step in steps:
        nominal = _rounded(reading.nominal / unit, step, ROUND_HALF_EVEN)
        bottom = _rounded(low / unit, step, ROUND_CEILING)
        top = _rounded(high / unit, step, ROUND_FLOOR)
        if Decimal(bottom) <= Decimal(nominal) <= Decimal(top):
            return Printed(nominal, bottom, top)
    return Printed(_rounded(reading.nominal / unit, steps[-1], ROUND_HALF_EVEN), None, None)


def _rounded(value: float, step: str, way: str) -> str:
    """Return a value to a step; what floats add below a nanometre must not push a limit off its step."""
    steps = (Decimal(f"{value:.9f}") / Decimal(step)).to_integral_value(way)
    return str((steps + 0) * Decimal(step))
