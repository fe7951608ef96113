"""Which readings settle a mount, how often each is taken, and in which order: for card, traveller and survey.

Every error that has a limit must come out with a standard deviation small enough for it: then a mount without
error is called right, and one well beyond a limit is not. What a reading tells is known before it is taken,
from its derivatives at the mount as drawn, so that the readings are chosen one by one, always the one that
brings what is still open furthest. Nothing here looks at what a caliper has shown. A new kind of reading or
limit is proven by simulation in tests/geometry/test_survey_plan.py: what is asked for must be enough.
"""

import math
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np

from geometry.core.frozen import dataclass
from geometry.core.say import Say
from geometry.mount.placement import Placement
from geometry.survey.errors import USUAL, ReadingError, common
from geometry.survey.limits import allowed, numbers
from geometry.survey.model import P, Readings, Taken, model_of, nominal
from geometry.survey.quantities import quantities
from geometry.survey.reading import Reading
from geometry.survey.survey import Survey
from geometry.survey.trilateration import TWO_SIDED_95, Floats
from geometry.tubes.tube import Tube

MOST = 6
"""Times that one reading is asked for at most: own judgement; beyond that a finer caliper is wanted."""
_NEXT = 8
"""Readings named at most as what to take next: own judgement."""
_CLOSEST = 12.0
"""An error that lies on its limit is never told from it: the part of the limit that is aimed for at least."""
_OPEN = 2.0
_WORTH = 0.005
"""What a reading must bring nearer to its goals, to be asked for: own judgement, in parts of one goal."""
_COARSE = 3.0
"""Standard deviations in a limit below which a mount without error is right in 7 of 10 surveys or fewer."""
_SETTLED = 1e-6


@dataclass(frozen=True, slots=True)
class Asked:
    """A reading that is asked for, and how often it is to be taken."""

    taken: Taken
    times: int


def is_asked(taken: Taken) -> bool:
    """Tell whether a reading is one that sheets ask for: what is read at both holes is read at each of them.

    The axle's far side tells nothing of a face that its near side does not.
    """
    one = taken.reading
    return not (one.kind in ("face", "side") and one.at == "") and not (
        one.kind == "face" and one.base == "far"
    )


def plan(
    placement: Placement,
    takeable: Sequence[Taken],
    tube: Tube | None,
    thickness: float | None,
    error: ReadingError = USUAL,
) -> tuple[Asked, ...]:
    """Return the readings that a verdict on the finished mount rests on, the one that settles most first.

    What has a limit that no reading can keep, as where the job lacks a number, is left open.
    """
    final = [each for each in takeable if is_asked(each) and each.reading.stage != "before"]
    tab = placement.interface.family == "tab"
    design = _Design(placement, final, tube, thickness, error)
    power = numbers()["test.power"].value
    goals = {key: limit / power for key, limit in design.limits.items()}
    # What is read at one hole is read as often at the other, and on a tab over two pins as often as between
    # them: the play of the pins falls out of the mean. Along a face the far hole comes first.
    groups: dict[tuple[str, str], list[int]] = {}
    for i in sorted(range(len(final)), key=lambda i: final[i].kind == "near" and not tab):
        each = final[i]
        paired = each.kind in ("face", "side") or (tab and each.kind != "edge")
        groups.setdefault((each.kind if paired else each.key, each.reading.base), []).append(i)
    order = design.chosen(goals, Counter(), MOST * len(final), [tuple(each) for each in groups.values()])
    counts = Counter(order)
    return tuple(Asked(final[i], counts[i]) for i in dict.fromkeys(order))


def too_close(
    placement: Placement, asked: Sequence[Asked], tube: Tube | None, thickness: float | None
) -> tuple[Say, ...]:
    """Return the names of the errors whose limits are too close for the readings that are asked for."""
    design = _Design(placement, [each.taken for each in asked], tube, thickness, USUAL)
    keys = list(design.limits)
    times = np.array([each.times for each in asked], dtype=np.float64)
    ratios = np.array([design.limits[key] for key in keys]) / design.deviations(times, keys)
    short = {key for key, ratio in zip(keys, ratios, strict=True) if ratio < _COARSE}
    return tuple(
        each.name
        for each in quantities(placement, nominal(placement), tube=tube)
        if each.key in short and each.limit is not None
    )


def deciding(
    placement: Placement, asked: Sequence[Asked], tube: Tube | None, thickness: float | None
) -> tuple[str, ...]:
    """Return the keys of the asked readings without which a verdict cannot be given, what settles most first.

    A mount can be off in as many ways as it has parameters; a reading counts that sees one which none before
    it saw. The others make what these tell surer.
    """
    design = _Design(placement, [each.taken for each in asked], tube, thickness, USUAL)
    slopes = design.rows[:, : design.free]
    kept: list[int] = []
    for i in range(len(asked)):
        if np.linalg.matrix_rank(slopes[[*kept, i]]) > len(kept):
            kept.append(i)
    return tuple(asked[i].taken.key for i in kept)


def readings_for(asked: Sequence[Asked], takeable: Sequence[Taken]) -> tuple[Reading, ...]:
    """Return the asked readings as the sheets list them, each with how often it is taken.

    Where stock is left for facing, the same reading with the stock on comes before it, taken once.
    """
    times = {each.taken.key: each.times for each in asked}
    found: list[Reading] = []
    for each in takeable:
        one = each.reading
        twin = one.key.replace("before-facing", "faced") if one.stage == "before" else one.key
        if twin in times:
            found.append(replace(one, times=1 if one.stage == "before" else times[twin]))
    return tuple(sorted(found, key=lambda one: _ROWS.index(one.kind)))


_ROWS = ("near", "far", "spacing", "face", "side", "lean", "edge")


def further(
    survey: Survey, takeable: Sequence[Taken], tube: Tube | None, thickness: float | None
) -> tuple[Asked, ...]:
    """Return what to read next, the reading that settles most first; nothing where all limits are settled.

    What was not measured comes with what straddles its limit.
    """
    offered = [each for each in takeable if is_asked(each)]
    known = list(dict.fromkeys((*offered, *survey.taken)))
    design = _Design(survey.placement, known, tube, thickness, survey.error)
    power = numbers()["test.power"].value
    goals: dict[str, float] = {}
    for each in survey.misses:
        if each.limit is None or each.state not in ("unknown", "unsure"):
            continue
        goals[each.key] = each.limit.value / power
        if each.error is not None:
            low, high = allowed(each.limit, each.band)
            away = min(abs(each.error - low), abs(high - each.error)) / TWO_SIDED_95
            goals[each.key] = max(min(away, each.limit.value / 2.0), each.limit.value / _CLOSEST)
    for whole in ("height", "lateral"):
        # A height or a place told for both holes at once is settled by reading it at each.
        if whole in goals and whole not in design.limits:
            goals |= {f"{whole}_near": goals[whole], f"{whole}_far": goals[whole]}
    goals = {key: each for key, each in goals.items() if key in design.limits}
    taken = Counter(known.index(each) for each in survey.taken)
    order = design.chosen(goals, taken, _NEXT, [(i,) for i in range(len(offered))])
    counts = Counter(order)
    return tuple(Asked(known[i], counts[i]) for i in dict.fromkeys(order))


class _Design:
    """What readings would tell of a mount: rows of derivatives, weights, and what they share."""

    def __init__(
        self,
        placement: Placement,
        taken: Sequence[Taken],
        tube: Tube | None,
        thickness: float | None,
        error: ReadingError,
    ) -> None:
        edges = model_of(placement, taken, tube, thickness).edges
        at = nominal(placement)
        # A tab's holes have one line: there are no two faces of which one could be higher.
        tab = placement.interface.family == "tab"
        free = tuple(each for each in P if not (tab and each is P.UP_MORE))
        self.free = len(free)
        _, slopes = Readings(placement, tuple(taken), free, edges, thickness)(at[list(free)])
        shared = common(taken, error)
        self.rows: Floats = np.concatenate((slopes, shared.effects), axis=1)
        self.weights: Floats = np.array([1.0 / error.deviation(each) ** 2 for each in taken])
        held = np.zeros(len(free))
        self.prior: Floats = np.diag(np.concatenate((held, 1.0 / shared.deviations**2)))
        told = [each for each in quantities(placement, at, tube=tube) if each.limit is not None]
        self.limits: Mapping[str, float] = {each.key: each.limit.value for each in told if each.limit}
        spare = np.zeros(len(shared.names))
        self.gradients = {each.key: np.concatenate((each.gradient[list(free)], spare)) for each in told}

    def deviations(self, times: Floats, keys: Sequence[str]) -> Floats:
        """Return the standard deviation (..., k) of quantities after readings taken so often (..., n).

        It is infinite where they leave a quantity open.
        """
        weights = (times * self.weights)[..., None]
        normal = self.rows.T @ (self.rows * weights) + self.prior
        covariance = np.linalg.pinv(normal, rcond=1e-10, hermitian=True)
        gradients = np.array([self.gradients[key] for key in keys])
        left = gradients @ covariance @ normal - gradients
        size = np.linalg.norm(gradients, axis=-1)
        square = np.einsum("ki,...ij,kj->...k", gradients, covariance, gradients)
        open_ = np.linalg.norm(left, axis=-1) > _SETTLED * size
        return np.where(open_, math.inf, np.sqrt(np.maximum(square, 0.0)))

    def chosen(
        self,
        goals: Mapping[str, float],
        before: Mapping[int, int],
        most: int,
        offered: Sequence[tuple[int, ...]],
    ) -> list[int]:
        """Return which readings to take, in order, until each quantity keeps its goal or nothing helps.

        `before` says how often each was taken already, `offered` which are taken together.
        """
        keys = list(goals)
        if not keys:
            return []
        aims = np.array([goals[key] for key in keys])

        def left(times: Floats) -> Floats:
            """Return what is still missing: 2 for each quantity that is open, below 1 for one that is not."""
            ratio = self.deviations(times, keys) / aims
            part = np.where(np.isinf(ratio), _OPEN, np.maximum(0.0, 1.0 - 1.0 / np.maximum(ratio, 1e-9)))
            return np.asarray(np.sum(part, axis=-1), dtype=np.float64)

        first = np.array([before.get(i, 0) for i in range(len(self.weights))], dtype=np.float64)
        steps = np.zeros((len(offered), len(self.weights)))
        for row, group in zip(steps, offered, strict=True):
            row[list(group)] = 1.0
        taken = first.copy()
        order: list[int] = []
        now = float(left(taken))
        while now > 0.0 and sum(len(offered[i]) for i in order) < most:
            free = [i for i, row in enumerate(steps) if np.max((taken - first) * row) < MOST]
            if not free:
                break
            reached = left(taken + steps[free])
            cost = np.array([len(offered[i]) for i in free])
            gain = np.round((now - reached) / cost, 9)
            best = int(np.argmax(gain))
            if gain[best] < _WORTH:
                # Nothing helps by itself: what has not been read yet may help together.
                fresh = [i for i in free if np.max(taken * steps[i]) == 0.0]
                if not fresh or not np.any(np.isinf(self.deviations(taken, keys))):
                    break
                best = free.index(fresh[0])
            which, now = free[best], float(reached[best])
            taken = taken + steps[which]
            order.append(which)
        # What later readings made superfluous is left out again.
        for which in reversed(list(order)):
            if float(left(taken - steps[which])) <= now + 1e-9:
                taken = taken - steps[which]
                order.reverse()
                order.remove(which)
                order.reverse()
        return [i for which in order for i in offered[which]]
