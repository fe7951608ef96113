"""A mount learned from one that works: readings with a caliper to h, x near, x far and lateral, with bands.

Least squares over all readings at once (see trilateration). What a reading goes over, axle or pin, is
unknown like the mount itself and has readings of its own, so its error is carried too. Every reading has the
same spread. From LEAST_FREEDOM repeats on the repeats themselves tell it, and a band is Student's at 95 %;
below, the hand's usual spread is assumed. What repeats share does not get better by being repeated: the
caliper's step where the hand does not stir it, the caliper's own error, which is one for each length that it
reads, and the shift of loose pins, which is one for all readings over them. All lengths mm.
"""

import functools
import math
from collections.abc import Iterable, Sequence
from typing import Literal

import numpy as np

from geometry.core.errors import GeometryError
from geometry.core.frozen import dataclass
from geometry.core.say import Say, say
from geometry.core.tables import numbered
from geometry.survey.learn_readings import Kind, P, model, stands_out
from geometry.survey.limits import numbers
from geometry.survey.pull import student
from geometry.survey.trilateration import TWO_SIDED_95, Floats, adjust, doubts
from geometry.tables.interface_rows import Family
from geometry.tables.interfaces import Interface, rows

LEAST_FREEDOM = 4
"""Repeats, beyond the first of each reading, from which their own spread is believed: own judgement. At 4
Student's factor is 2.8, at 1 it would be 12.7."""
COVERAGE = 2.0
"""Standard deviations in a band, as the guide to the expression of uncertainty takes them for "about 95 %"
(remembered): 95.4 in 100 of a normal error, so that no band holds less than 95."""
_MIRRORED = 3.84
"""Chi-square of one degree of freedom at 95 %: a mirrored mount that explains readings as well as that."""
_ROUNDING = 1e-9


@dataclass(frozen=True, slots=True)
class Tools:
    """What readings are taken with, mm; None takes the table's number (survey.toml, grade D).

    `resolution` is the caliper's step, `caliper` how far it may itself read off, either way, and `play` how
    loose the pins are in their holes: hole less pin. Half of that a pin may be shifted, either way.
    """

    resolution: float | None = None
    caliper: float | None = None
    play: float | None = None

    @property
    def step(self) -> float:
        """Return the caliper's step."""
        return numbers()["reading.resolution"].value if self.resolution is None else self.resolution

    @property
    def off(self) -> float:
        """Return how far the caliper may itself read off."""
        return numbers()["reading.caliper"].value if self.caliper is None else self.caliper

    @property
    def loose(self) -> float:
        """Return how loose the pins may be."""
        return numbers()["reading.pin_play"].value if self.play is None else self.play

    @property
    def shared(self) -> tuple[float, float]:
        """Return the standard deviations of caliper and of one pin's shift: both spread evenly."""
        # Either way: jaws push pins in, but how far a pin also leans nobody knows.
        return self.off / math.sqrt(3.0), self.loose / 2.0 / math.sqrt(3.0)

    def deviation(self, kind: Kind) -> float:
        """Return the standard deviation of one reading, with all that moves it."""
        off, shift = self.shared
        hand = numbers()["reading.hand"].value
        return math.hypot(hand, self.step / math.sqrt(12.0), off, kind.pins * shift)


USUAL = Tools()
"""The table's tools throughout."""


@dataclass(frozen=True, slots=True)
class Quantity:
    """A number learned: its value and the band about it that holds the true one in 95 of 100.

    Its key is h, x_near, x_far, spacing, near_radius, far_radius or lateral.
    """

    key: str
    value: float
    band: float

    @property
    def name(self) -> Say:
        """Return its name."""
        return say(f"learned.number.{self.key}")


@dataclass(frozen=True, slots=True)
class Learned:
    """What readings tell of a mount, mm.

    `lateral` is None where nothing read settles it. `freedom` counts the repeats, beyond the first of each
    reading; `spread` is one reading's standard deviation, taken from them or (`assumed`) from the table.
    `doubtful` tells which readings contradict the others, or that no caliper can have taken, and `mirrored`
    tells that a mount whose near hole lies on the other side of the perpendicular would be read the same.
    """

    h: Quantity
    x_near: Quantity
    x_far: Quantity
    spacing: Quantity
    near: Quantity
    far: Quantity
    lateral: Quantity | None
    readings: int
    freedom: int
    spread: float
    assumed: bool
    tools: Tools
    doubtful: tuple[Say, ...]
    mirrored: bool

    @property
    def quantities(self) -> tuple[Quantity, ...]:
        """Return everything learned, in order."""
        found = (self.h, self.x_near, self.x_far, self.spacing, self.near, self.far)
        return found if self.lateral is None else (*found, self.lateral)


@dataclass(frozen=True, slots=True)
class Compared:
    """A number learned beside the shipped row's; `low` and `high` bound a shipped number that was derived."""

    measured: Quantity
    shipped: float
    tolerance: float | None
    low: float | None = None
    high: float | None = None

    @property
    def difference(self) -> float:
        """Return measured less shipped, mm."""
        return self.measured.value - self.shipped

    @property
    def verdict(self) -> Literal["agrees", "within tolerance", "differs"]:
        """Tell whether the difference is within the band, within band and tolerance, or beyond both."""
        off = abs(self.difference) - _ROUNDING
        if off <= self.measured.band:
            return "agrees"
        return "within tolerance" if off <= self.measured.band + (self.tolerance or 0.0) else "differs"


@dataclass(frozen=True, slots=True)
class Fitted:
    """Stacks of mounts fitted: `estimate` (..., 8), and what their bands are made of.

    `covariance` is that of one reading of spread 1; `common` that of what repeats share, in mm^2: step,
    caliper and loose pins. `spread` (...) is one reading's standard deviation, `factor` what a band takes of
    it, and `squares` (...) the residuals' sum of squares over all that moves a reading.
    """

    estimate: Floats
    covariance: Floats
    common: Floats
    spread: Floats
    factor: float
    freedom: int
    assumed: bool
    settled: Floats
    squares: Floats

    def band(self, gradient: Floats) -> Floats:
        """Return half the 95 % band of a quantity with this gradient (..., 8) in the parameters."""
        own = np.einsum("...i,...ij,...j->...", gradient, self.covariance, gradient)
        step = np.einsum("...i,...ij,...j->...", gradient, self.common, gradient)
        square = (self.factor * self.spread) ** 2 * own + COVERAGE**2 * step
        return np.asarray(np.sqrt(np.maximum(square, 0.0)), dtype=np.float64)


def fitted(taken: Sequence[Kind], shown: Floats, start: Floats, tools: Tools = USUAL) -> Fitted:
    """Return the mounts that explain stacks of readings `shown` (..., n), one column for each of `taken`.

    Raise GeometryError where no mount explains them.
    """
    names = [kind.key for kind in taken]
    group = np.array([[one == other for other in dict.fromkeys(names)] for one in names], dtype=np.float64)
    count = group.sum(axis=0)
    call = model(taken)
    found = adjust(call, start, shown, np.ones(len(taken)))
    if not np.all(found.converged) or not np.all(np.isfinite(found.estimate)):
        raise GeometryError.at("readings", say("survey.no_mount"))
    _, slopes = call(found.estimate)
    # Readings of one distance tell the hand's spread alone: what they share moves them all.
    freedom = len(taken) - len(count)
    step = tools.step**2 / 12.0
    if freedom >= LEAST_FREEDOM:
        stray = shown - (shown @ group / count) @ group.T
        spread = np.sqrt(np.maximum(np.sum(stray**2, axis=-1) / freedom, step))
        factor = student(freedom) * COVERAGE / TWO_SIDED_95
    else:
        spread = np.full(shown.shape[:-1], math.sqrt(numbers()["reading.hand"].value ** 2 + step))
        factor = COVERAGE
    # What of a step the hand's own spread does not stir up is the same in every repeat: the first term of
    # the series of a rounded normal error (IRE Transactions on Circuit Theory 3, 1956, remembered), never
    # more than the whole step's.
    hand = np.maximum(spread**2 - step, 0.0)
    shared = step * np.exp(-4.0 * math.pi**2 * hand / tools.step**2)
    gain = found.covariance @ np.swapaxes(slopes, -1, -2)
    together = gain @ group
    # A lone reading has its step in its own spread already.
    off, shift = tools.shared
    each = np.where(count == 1.0, 0.0, shared[..., None]) + off**2
    pins = gain @ np.array([kind.pins for kind in taken]) * shift
    common = (together * each[..., None, :]) @ np.swapaxes(together, -1, -2)
    common = common + pins[..., :, None] * pins[..., None, :]
    deviations = np.array([tools.deviation(kind) for kind in taken])
    return Fitted(
        found.estimate,
        found.covariance,
        common,
        spread,
        factor,
        freedom,
        freedom < LEAST_FREEDOM,
        found.settled,
        np.sum((found.residuals / deviations) ** 2, axis=-1),
    )


def learn(readings: Sequence[tuple[Kind, float]], shipped: Interface, tools: Tools = USUAL) -> Learned:
    """Return what readings tell of a mount; `shipped` is the row that it is looked for near.

    Raise GeometryError where the readings settle no mount, saying which to take, or where no mount explains
    them.
    """
    taken = [kind for kind, _ in readings]
    shown = np.array([value for _, value in readings], dtype=np.float64)
    start = expected(shipped, readings)
    if not taken:
        raise GeometryError.at("readings", say("learned.none_given", needed=_needed(shipped.family)))
    fit = fitted(taken, shown, start, tools)
    _check(fit, taken, shipped.family)
    at = fit.estimate
    if at[P.H] <= 0.0 or at[P.X_NEAR] >= at[P.X_FAR] or at[P.X_NEAR] + at[P.X_FAR] <= 0.0:
        up, near, far = (float(at[which]) for which in (P.H, P.X_NEAR, P.X_FAR))
        raise GeometryError.at("readings", say("learned.no_such_mount", up=up, near=near, far=far))
    lateral = _gradient(at, "lateral")
    return Learned(
        h=_quantity(fit, "h"),
        x_near=_quantity(fit, "x_near"),
        x_far=_quantity(fit, "x_far"),
        spacing=_quantity(fit, "spacing"),
        near=_quantity(fit, "near_radius"),
        far=_quantity(fit, "far_radius"),
        lateral=_quantity(fit, "lateral") if _settled(fit, lateral) else None,
        readings=len(taken),
        freedom=fit.freedom,
        spread=float(fit.spread),
        assumed=fit.assumed,
        tools=tools,
        doubtful=(*_doubtful(taken, shown, at, tools), *_shadowed(fit, taken, shown)),
        mirrored=_mirrored(fit, taken, shown, tools),
    )


def expected(shipped: Interface, readings: Sequence[tuple[Kind, float]] = ()) -> Floats:
    """Return the parameters (8,) of a shipped row, mm, with diameters and widths as read; 0 is unknown."""
    at = np.zeros(len(P))
    at[P.H], at[P.X_NEAR], at[P.X_FAR] = shipped.h, shipped.x_near, shipped.x_far
    at[P.LATERAL] = shipped.lateral.value
    for kind, value in readings:
        if kind.base == "line" and len(kind.plus) == 1:
            at[next(iter(kind.plus))] = value
    return at


_LINES = {"h": P.H, "x_near": P.X_NEAR, "x_far": P.X_FAR, "lateral": P.LATERAL}
_RADII = {"near_radius": P.X_NEAR, "far_radius": P.X_FAR}


def _gradient(at: Floats, key: str) -> Floats:
    found = np.zeros(len(P))
    if key in _LINES:
        found[_LINES[key]] = 1.0
    elif key in _RADII:
        x = _RADII[key]
        radius = math.hypot(at[P.H], at[x])
        found[P.H], found[x] = at[P.H] / radius, at[x] / radius
    else:
        found[P.X_FAR], found[P.X_NEAR] = 1.0, -1.0
    return found


def _quantity(fit: Fitted, key: str) -> Quantity:
    at = fit.estimate
    gradient = _gradient(at, key)
    # A radius times its own gradient is the radius.
    return Quantity(key, float(gradient @ at), float(fit.band(gradient)))


def _settled(fit: Fitted, gradient: Floats) -> bool:
    return float(np.linalg.norm(gradient @ fit.settled - gradient)) < 1e-6


def _needed(family: Family) -> Say:
    return say("learned.needed.tab" if family == "tab" else "learned.needed.face")


def _check(fit: Fitted, taken: Sequence[Kind], family: Family) -> None:
    """Raise GeometryError, saying what to read, where the side view is not settled."""
    open_ = [key for key in ("h", "x_near", "x_far") if not _settled(fit, _gradient(fit.estimate, key))]
    for parameter, key in ((P.AXLE, "axle"), (P.PIN, "pin")):
        unit = np.eye(len(P))[parameter]
        over = [kind.key for kind in taken if parameter in kind.plus and kind.key != key]
        if open_ and over and not _settled(fit, unit):
            raise GeometryError.at(f"readings.{key}", say("learned.no_diameter", reading=over[0]))
    if open_:
        what = say(
            "learned.left_open",
            given=", ".join(dict.fromkeys(kind.key for kind in taken)),
            numbers=_joined("learned.comma", [say(f"learned.number.{key}") for key in open_]),
            needs=say(f"learned.needs.{family}", needed=_needed(family)),
        )
        raise GeometryError.at("readings", what)
    pocket, width = np.eye(len(P))[P.POCKET], np.eye(len(P))[P.WIDTH]
    if _settled(fit, _gradient(fit.estimate, "lateral")):
        return
    for parameter, unit, key in ((P.POCKET, pocket, "pocket"), (P.WIDTH, width, "width")):
        over = [kind.key for kind in taken if parameter in kind.plus and kind.key != key]
        if over and not _settled(fit, unit):
            raise GeometryError.at(f"readings.{key}", say("learned.no_width", reading=over[0]))


def _joined(code: str, some: Iterable[Say | str]) -> Say | str:
    """Return some things as one, each joined to the next in a way that the table of sentences has."""
    return functools.reduce(lambda first, second: say(code, first=first, second=second), some)


def _doubtful(taken: Sequence[Kind], shown: Floats, at: Floats, tools: Tools) -> tuple[Say, ...]:
    """Return which readings contradict the others by more than hand, caliper and pins explain."""
    deviations = np.array([tools.deviation(kind) for kind in taken])
    found, _ = doubts(model(taken), at, shown, deviations, numbers()["test.critical"].value)
    said = []
    for doubt in found:
        some = _joined("learned.or", dict.fromkeys(f"{taken[i].key} {shown[i]:g}" for i in doubt.places))
        code = "learned.contradicts" if len(doubt.places) == 1 else "learned.one_contradicts"
        said.append(say(code, readings=some, by=abs(float(doubt.by))))
    return tuple(said)


def _shadowed(fit: Fitted, taken: Sequence[Kind], shown: Floats) -> tuple[Say, ...]:
    """Return which readings went over a pin that cannot be told from lying in the axle's shadow."""
    # They stay in the sum and are told, and they keep the row from being saved.
    said = []
    for kind in {each.key: each for each in taken}.values():
        out = stands_out(kind, fit.estimate)
        if out is None:
            continue
        gradient = model([kind])(fit.estimate)[1][0].copy()
        # Its own reading less the axle's diameter.
        gradient[P.AXLE] -= 1.0
        band = float(fit.band(gradient))
        if out > band:
            continue
        listed = "; ".join(f"{value:g}" for each, value in zip(taken, shown, strict=True) if each is kind)
        code = "learned.shadow.inside" if out <= -0.005 else "learned.shadow.close"
        there = say(code, by=abs(out), band=band)
        said.append(
            say("learned.shadow.doubtful", reading=f"{kind.key} {listed}", there=there, instead=instead(kind))
        )
    return tuple(said)


def instead(kind: Kind) -> Say:
    """Return what to do where no caliper can take a reading over axle and pin."""
    return say("learned.instead.near" if kind.key == "along-near-over" else "learned.instead.any")


def _mirrored(fit: Fitted, taken: Sequence[Kind], shown: Floats, tools: Tools) -> bool:
    """Tell whether the near hole could as well lie on the other side of the perpendicular."""
    start = fit.estimate.copy()
    start[P.X_FAR] -= 2.0 * start[P.X_NEAR]
    start[P.X_NEAR] = -start[P.X_NEAR]
    try:
        other = fitted(taken, shown, start, tools)
    except GeometryError:
        return False
    moved = abs(other.estimate[P.X_NEAR] - fit.estimate[P.X_NEAR])
    if moved < tools.step or other.estimate[P.H] <= 0.0:
        return False
    return bool(other.squares - fit.squares <= _MIRRORED)


def compare(found: Sequence[Quantity], shipped: Interface) -> tuple[Compared, ...]:
    """Return every number learned beside that of the shipped row for the same end and native size."""
    row = rows()[shipped.name]
    near, far = shipped.radii
    values = {
        "h": shipped.h,
        "x_near": shipped.x_near,
        "x_far": shipped.x_far,
        "spacing": shipped.x_far - shipped.x_near,
        "near_radius": near,
        "far_radius": far,
        "lateral": shipped.lateral.value,
    }
    numbers = {"spacing": row.spacing, "lateral": shipped.lateral}
    numbers |= dict(numbered(row.at.get(f"{shipped.native:g}"))) | dict(numbered(row.radii))
    compared = []
    for each in found:
        known = numbers.get(each.key.removesuffix("_radius"))
        band = (None, None, None) if known is None else (known.tolerance, known.low, known.high)
        compared.append(Compared(each, values[each.key], *band))
    return tuple(compared)
