"""Survey of a finished mount: from readings to where its holes and faces are, how surely, and how far off.

The position is the weighted least squares of all readings (trilateration.py) in the model of
survey_model.py. Every error is told with its standard deviation and set against its limit (survey_limits.py).
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from geometry.errors import GeometryError
from geometry.placement import Placement
from geometry.readings import distance_from
from geometry.recall import Recall, of_row
from geometry.room import Caliper, caliper, seat
from geometry.stack import build_up
from geometry.survey_limits import USUAL, ReadingError, State, allowed, limits, numbers, state
from geometry.survey_model import BEFORE_FACING, P, Readings, Taken, hole_at, model_of, nominal
from geometry.tables import Number
from geometry.trilateration import (
    NO_MOUNT,
    TWO_SIDED_95,
    Adjusted,
    Ellipse,
    Floats,
    deviation,
    doubts,
    ellipse,
    is_settled,
    solved,
)
from geometry.tube import Tube


@dataclass(frozen=True, slots=True)
class Miss:
    """One error against the drawing, mm or degrees: found less wanted, with its standard deviation.

    Both are None where the readings do not tell it; `limit` is plus or minus, None where none applies. It
    begins beyond `band`, which holds the errors of mounts that lie between published numbers.
    """

    key: str
    name: str
    wanted: float
    error: float | None
    deviation: float | None
    limit: Number | None
    state: State
    needed: bool = True
    band: tuple[float, float] = (0.0, 0.0)

    @property
    def lies_between(self) -> bool:
        """Return whether only published numbers that disagree keep this error within its limit."""
        return self.limit is not None and self.error is not None and abs(self.error) > self.limit.value

    @property
    def allowed(self) -> str:
        """Return the errors that are allowed and the limit's grade, such as "±0.3 (grade D)", or "none"."""
        if self.limit is None:
            return "none"
        low, high = allowed(self.limit, self.band)
        span = f"±{self.limit.value:g}" if self.band == (0.0, 0.0) else f"{low:+.2f} to {high:+.2f}"
        return f"{span} (grade {self.limit.grade})"

    @property
    def words(self) -> str:
        """Return the error with its 95 % band, such as "+0.12 ± 0.05", or "not measured"."""
        if self.error is None or self.deviation is None:
            return "not measured"
        # A hundredth of nothing is nothing, and never -0.00.
        return f"{round(self.error, 2) + 0.0:+.2f} ± {TWO_SIDED_95 * self.deviation:.2f}"


@dataclass(frozen=True, slots=True)
class HoleFound:
    """A hole, mm: where it should be and where it is in the side view, and its joint 95 % ellipse.

    Without a reading to the tube it is told with the mount turned as drawn. None where it is not settled.
    """

    name: str
    wanted: tuple[float, float]
    found: tuple[float, float] | None
    ellipse: Ellipse | None


@dataclass(frozen=True, slots=True)
class Contradiction:
    """Readings that contradict the others: one named, or several of which one is off, by about `by` mm."""

    keys: tuple[str, ...]
    shown: tuple[float, ...]
    by: float
    sole: bool


@dataclass(frozen=True, slots=True)
class Pads:
    """The pads' middle over the track, mm: how far it moves outward and that move's standard deviation.

    `play` is how far pads may move before they leave the track, `out` how far they then stand over its edge.
    """

    move: float
    deviation: float
    play: float
    out: float


@dataclass(frozen=True, slots=True)
class Survey:
    """What readings tell of a mount at a check point.

    `taken` and `shown` are all readings, those named among the contradictions too, `error` how far each was
    taken to be off. `unchecked` are keys that no other reading controls, `stock` is what is still to be faced
    off. `turn_seen` says whether a turn about the axle could be seen at all. `adjustment` is the caliper's
    own sideways play either way, None where none was found. `recall` are the numbers, since corrected, that
    the mount fits and today's it does not.
    """

    placement: Placement
    point: str
    taken: tuple[Taken, ...]
    shown: tuple[float, ...]
    misses: tuple[Miss, ...]
    holes: tuple[HoleFound, HoleFound]
    contradictions: tuple[Contradiction, ...]
    unchecked: tuple[str, ...]
    pads: Pads | None
    adjustment: Number | None
    stock: float
    turn_seen: bool
    error: ReadingError
    recall: Recall | None = None

    def miss(self, key: str) -> Miss | None:
        """Return an error by its key, None where it is not told of this mount."""
        return next((each for each in self.misses if each.key == key), None)

    @property
    def missing(self) -> tuple[str, ...]:
        """Return the names of what a verdict needs and the readings do not tell."""
        return tuple(each.name for each in self.misses if each.needed and each.state == "unknown")


def survey(
    placement: Placement,
    readings: Sequence[tuple[Taken, float]],
    *,
    point: str = "finished",
    error: ReadingError = USUAL,
    tube: Tube | None = None,
    thickness: float | None = None,
    facing: float = 0.0,
    room: Caliper | None = None,
) -> Survey:
    """Return the survey of a mount from readings and what a caliper showed for each, mm.

    A reading may come more than once. `tube` is the host, `thickness` the dropout's, `facing` the stock that
    was left, `room` the caliper's. Raise GeometryError for no readings, or where no mount explains them.
    """
    if not readings:
        raise GeometryError.at("readings", "none given; begin with axle to near, axle to far, near to far")
    taken = tuple(each for each, _ in readings)
    shown = tuple(value for _, value in readings)
    stock = facing if point in BEFORE_FACING else 0.0
    model = model_of(placement, taken, tube, thickness)
    observed = np.array([_distance(placement, each, value, stock) for each, value in readings])
    spread = np.array([error.deviation(each) for each in taken])
    start = nominal(placement)[list(model.free)]
    found, kept = doubts(model, start, observed, spread, numbers()["test critical"].value)
    fitted = solved(model, start, observed, spread, kept)
    if fitted.estimate[model.free.index(P.UP)] <= 0.0:
        raise GeometryError.at("readings", NO_MOUNT)
    misses = _misses(model, fitted)
    return Survey(
        placement=placement,
        point=point,
        taken=taken,
        shown=shown,
        misses=misses,
        holes=(_hole(model, fitted, False), _hole(model, fitted, True)),
        contradictions=tuple(
            Contradiction(
                tuple(taken[i].key for i in each.places),
                tuple(shown[i] for i in each.places),
                each.by,
                len(each.places) == 1,
            )
            for each in found
        ),
        unchecked=tuple(
            dict.fromkeys(
                taken[i].key for i, share in zip(kept, fitted.redundancy, strict=True) if share == 0.0
            )
        ),
        pads=_pads(model, fitted, room or caliper(placement)),
        adjustment=build_up(
            placement, plate_face="inside", plate=math.inf, dropout_thickness=None
        ).adjustment,
        stock=stock,
        turn_seen=P.TURN in model.free,
        error=error,
        recall=next((each for each in of_row(placement.interface) if _fits(misses, each)), None),
    )


def _fits(misses: Sequence[Miss], recall: Recall) -> bool:
    """Return whether a mount keeps a recalled set of radii and spacing, and surely not today's."""
    found = [next(each for each in misses if each.key == key) for key in ("near", "far", "spacing")]
    for one, was in zip(found, recall.radii, strict=True):
        if one.error is None or one.deviation is None:
            return False
        if state(one.error - (was - one.wanted), one.deviation, one.limit) == "beyond":
            return False
    return any(each.state == "beyond" for each in found)


def _distance(placement: Placement, each: Taken, value: float, stock: float) -> float:
    """Return the distance on the finished mount behind a reading."""
    found = distance_from(each.reading, value)
    if each.kind == "edge" and placement.interface.family != "tab":
        found -= stock  # read from a face that still has its stock
    return found


def _misses(model: Readings, fitted: Adjusted) -> tuple[Miss, ...]:
    form = model.placement.interface
    tab = form.family == "tab"
    band = limits(form)
    p, wanted = model.whole(fitted.estimate), nominal(model.placement)

    def line(*parts: tuple[P, float]) -> tuple[float, float, Floats]:
        gradient = np.zeros(len(P))
        for which, share in parts:
            gradient[which] = share
        return float(gradient @ wanted), float(gradient @ (p - wanted)), gradient

    def radius(which: P) -> tuple[float, float, Floats]:
        gradient = np.zeros(len(P))
        size = math.hypot(p[which], p[P.UP])
        gradient[which], gradient[P.UP] = p[which] / size, p[P.UP] / size
        should = math.hypot(wanted[which], wanted[P.UP])
        return should, size - should, gradient

    def miss(
        key: str, name: str, value: tuple[float, float, Floats], limit: Number | None, needed: bool = True
    ) -> Miss:
        should, error, gradient = value
        held = any(gradient[each] != 0.0 and each not in model.free for each in P)
        part = gradient[list(model.free)]
        stem = key.partition("_")[0]
        # A tab's radii and spacing are published alike by all; its sideways place is not.
        between = form.published(stem) if stem in ("height", "along", "lateral") else (0.0, 0.0)
        if held or not is_settled(fitted, part):
            return Miss(key, name, should, None, None, limit, "unknown", needed, between)
        spread = deviation(fitted.covariance, part)
        found = state(error, spread, limit, between)
        return Miss(key, name, should, error, spread, limit, found, needed, between)

    spacing = line((P.FAR, 1.0), (P.NEAR, -1.0))
    along = [
        ("along_near", "near hole, along", line((P.NEAR, 1.0))),
        ("along_far", "far hole, along", line((P.FAR, 1.0))),
    ]
    found: list[Miss] = []
    if tab:
        found.append(miss("near", "axle to near", radius(P.NEAR), band["near"]))
        found.append(miss("far", "axle to far", radius(P.FAR), band["far"]))
        found.append(miss("spacing", "near to far", spacing, band["spacing"]))
        found.append(miss("height", "hole line, up", line((P.UP, 1.0)), None, False))
        found += [miss(key, name, value, None, False) for key, name, value in along]
    else:
        if P.UP_MORE in model.free:
            for name, share in (("near", -0.5), ("far", 0.5)):
                value = line((P.UP, 1.0), (P.UP_MORE, share))
                found.append(miss(f"height_{name}", f"face at the {name} hole, up", value, band["height"]))
        else:
            found.append(miss("height", "face, up", line((P.UP, 1.0)), band["height"]))
        found += [miss(key, name, value, band["along"]) for key, name, value in along]
        found.append(miss("spacing", "near to far", spacing, band["spacing"]))
    if P.SIDE_MORE in model.free:
        for name, share in (("near", -0.5), ("far", 0.5)):
            value = line((P.SIDE, 1.0), (P.SIDE_MORE, share))
            found.append(miss(f"lateral_{name}", f"sideways at the {name} hole", value, band["lateral"]))
    else:
        found.append(miss("lateral", "sideways", line((P.SIDE, 1.0)), band["lateral"]))
    more = P.SIDE_MORE if tab else P.UP_MORE
    found.append(
        miss("square_along", "out of square, far less near", line((more, 1.0)), band["square_along"], False)
    )
    lean = line((P.LEAN, 1.0))
    found.append(miss("square_across", "out of square across, in 50", lean, band["square_across"], False))
    should, error, gradient = line((P.TURN, math.degrees(1.0)))
    found.append(
        miss("turn", "turned about the axle, degrees", (should, error, gradient), band["turn"], False)
    )
    return tuple(found)


def _hole(model: Readings, fitted: Adjusted, far: bool) -> HoleFound:
    hole = model.placement.holes[1 if far else 0]
    point, moves = hole_at(model.placement, model.whole(fitted.estimate), far)
    wanted = hole.centre[0], hole.centre[1]
    slopes = moves[:, list(model.free)]
    if not all(is_settled(fitted, slope) for slope in slopes):
        return HoleFound(hole.name, wanted, None, None)
    covariance = slopes @ fitted.covariance @ slopes.T
    return HoleFound(hole.name, wanted, (float(point[0]), float(point[1])), ellipse(covariance))


def _pads(model: Readings, fitted: Adjusted, room: Caliper) -> Pads | None:
    """Return where the pads go with the mount; None where the holes are not settled.

    Caliper and adapter are taken as rigid and seated on both faces, the middle between the holes kept.
    """
    place = model.placement
    pad = np.array(seat(place, room).pad)
    at = np.array([pad @ np.array(place.t), pad @ np.array(place.n)])

    def radius(free: Floats) -> float:
        p = model.whole(free)
        lean = math.atan2(p[P.UP_MORE], p[P.FAR] - p[P.NEAR])
        form = place.interface
        away = at - np.array([(form.x_near + form.x_far) / 2.0, form.h])
        c, s = math.cos(lean), math.sin(lean)
        x = (p[P.NEAR] + p[P.FAR]) / 2.0 + c * away[0] - s * away[1]
        return math.hypot(x, p[P.UP] + s * away[0] + c * away[1])

    base = radius(fitted.estimate)
    step = 1e-5
    gradient = np.array(
        [(radius(fitted.estimate + step * unit) - base) / step for unit in np.eye(fitted.estimate.size)]
    )
    gradient[np.abs(gradient) < 1e-4] = 0.0
    if not is_settled(fitted, gradient):
        return None
    move = base - math.hypot(*at)
    play = max(0.0, (room.track.value - room.pad_height.value) / 2.0)
    return Pads(move, deviation(fitted.covariance, gradient), play, max(0.0, abs(move) - play))
