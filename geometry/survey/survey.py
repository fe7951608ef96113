"""Survey of a finished mount: from readings to where its holes and faces are, how surely, and how far off.

The position is the weighted least squares of all readings (trilateration.py) in the model of
survey_model.py. Every error is told with its standard deviation and set against its limit (survey_limits.py).
"""

import math
from collections.abc import Sequence

import numpy as np

from geometry.clearance.bodies import Caliper, caliper, seat
from geometry.core.errors import GeometryError
from geometry.core.frozen import dataclass
from geometry.core.say import Say, say
from geometry.core.tables import Number
from geometry.mount.placement import Placement
from geometry.mount.stack import build_up
from geometry.survey.errors import USUAL, ReadingError, Together, common
from geometry.survey.limits import State, allowed, numbers, state
from geometry.survey.model import BEFORE_FACING, P, Readings, Taken, hole_at, model_of, nominal
from geometry.survey.quantities import quantities
from geometry.survey.reading import distance_from
from geometry.survey.recall import Recall, of_row
from geometry.survey.trilateration import (
    TWO_SIDED_95,
    Adjusted,
    Doubt,
    Ellipse,
    Floats,
    deviation,
    doubts,
    ellipse,
    is_settled,
    solved,
    trimmed,
)
from geometry.tubes.tube import Tube


@dataclass(frozen=True, slots=True)
class Miss:
    """One error against the drawing, mm or degrees: found less wanted, with its standard deviation.

    Both are None where the readings do not tell it; `limit` is plus or minus, None where none applies. It
    begins beyond `band`, which holds the errors of mounts that lie between published numbers.
    """

    key: str
    name: Say
    wanted: float
    error: float | None
    deviation: float | None
    limit: Number | None
    state: State
    band: tuple[float, float]

    @property
    def needed(self) -> bool:
        """Return whether a verdict needs it: what has a limit must be measured."""
        return self.limit is not None

    @property
    def lies_between(self) -> bool:
        """Return whether only published numbers that disagree keep this error within its limit."""
        return self.limit is not None and self.error is not None and abs(self.error) > self.limit.value

    @property
    def allowed(self) -> Say:
        """Return the errors that are allowed and the limit's grade, such as "±0.3 (grade D)", or "none"."""
        if self.limit is None:
            return say("survey.allowed.none")
        if self.band == (0.0, 0.0):
            code = "survey.allowed.turn_either_way" if self.key == "turn" else "survey.allowed.either_way"
            return say(code, most=self.limit.value, grade=self.limit.grade)
        # No published numbers differ about a turn: what has a band is a length.
        low, high = allowed(self.limit, self.band)
        return say("survey.allowed.span", low=low, high=high, grade=self.limit.grade)

    @property
    def words(self) -> Say:
        """Return the error with its 95 % band, such as "+0.12 ± 0.05", or "not measured"."""
        if self.error is None or self.deviation is None:
            return say("survey.state.unknown")
        # A hundredth of nothing is nothing, and never -0.00.
        error = round(self.error, 2) + 0.0
        # A turn is in degrees, everything else a length.
        code = "survey.turn_with_band" if self.key == "turn" else "survey.with_band"
        return say(code, error=error, band=TWO_SIDED_95 * self.deviation)


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

    def miss_band(self, keys: Sequence[str]) -> tuple[float, float]:
        """Return the band of published numbers of the first of some errors that is told, mm."""
        return next((each.band for each in self.misses if each.key in keys), (0.0, 0.0))

    @property
    def missing(self) -> tuple[Say, ...]:
        """Return the names of what a verdict needs and the readings do not tell."""
        return tuple(each.name for each in self.misses if each.needed and each.state == "unknown")

    @property
    def unmeasured(self) -> tuple[str, ...]:
        """Return the keys of what has a limit and the readings do not tell."""
        return tuple(each.key for each in self.misses if each.needed and each.state == "unknown")


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
        raise GeometryError.at("readings", say("survey.none_given"))
    taken = tuple(each for each, _ in readings)
    shown = tuple(value for _, value in readings)
    stock = facing if point in BEFORE_FACING else 0.0
    model = model_of(placement, taken, tube, thickness)
    observed = np.array([_distance(placement, each, value, stock) for each, value in readings])
    found, kept, fitted = _fitted(model, observed, error)
    if fitted.estimate[model.free.index(P.UP)] <= 0.0:
        raise GeometryError.at("readings", say("survey.no_mount"))
    misses = _misses(model, fitted, tube)
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


def _fitted(
    model: Readings, observed: Floats, error: ReadingError
) -> tuple[tuple[Doubt, ...], tuple[int, ...], Adjusted]:
    """Return what contradicts, the places of the readings that were kept, and the mount that explains them.

    What readings share is adjusted with them; what comes back is of the readings and parameters alone.
    """
    count, free = len(model.taken), len(model.free)
    together = Together(model, common(model.taken, error))
    start = together.start(nominal(model.placement)[list(model.free)])
    shown = together.observed(observed)
    spread = together.deviations(np.array([error.deviation(each) for each in model.taken]))
    terms = range(count, shown.size)
    found, kept = doubts(together, start, shown, spread, numbers()["test.critical"].value, terms)
    fitted = solved(together, start, shown, spread, kept)
    kept = tuple(place for place in kept if place < count)
    return found, kept, trimmed(fitted, len(kept), free)


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


def _misses(model: Readings, fitted: Adjusted, tube: Tube | None) -> tuple[Miss, ...]:
    told = quantities(
        model.placement,
        model.whole(fitted.estimate),
        faces=P.UP_MORE in model.free,
        sides=P.SIDE_MORE in model.free,
        tube=tube,
    )
    found: list[Miss] = []
    for each in told:
        held = any(each.gradient[which] != 0.0 and which not in model.free for which in P)
        part = each.gradient[list(model.free)]
        error: float | None = None
        spread: float | None = None
        stands: State = "unknown"
        if not held and is_settled(fitted, part):
            error, spread = each.error, deviation(fitted.covariance, part)
            stands = state(error, spread, each.limit, each.band)
        found.append(Miss(each.key, each.name, each.wanted, error, spread, each.limit, stands, each.band))
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
