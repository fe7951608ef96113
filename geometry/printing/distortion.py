"""A printer as it prints: its distortion from what a ruler read on a proof, the inverse, and the error left.

A printer is taken as affine: lengths across the page come out times `across`, lengths down it times `down`,
and its axes are not quite square. Where the page lies on the paper, and how it is turned there, moves no
length and is left out. Files are mm and degrees; shares are of one.
"""

import functools
import math
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from geometry.core.errors import GeometryError, Problem
from geometry.core.frozen import dataclass
from geometry.core.plane import Point
from geometry.core.say import say
from geometry.core.tables import Number, Table, table

Floats = NDArray[np.float64]
_FILE = Path(__file__).with_name("printer.toml")

COVERAGE = 2.0
"""Standard deviations to either side that hold about 95 %: common practice of stating uncertainty."""
_DISAGREE = 4.0
"""Standard deviations by which diagonals may disagree with bars before a slip is likelier: own judgement."""
_STEP = 1e-3
"""Step of the numerical derivative, mm: readings enter all but linearly."""


@dataclass(frozen=True, slots=True)
class Bars:
    """What a proof shows to be read, mm: bars across and down, and the rectangle whose diagonals it has."""

    across: float
    down: float
    wide: float
    high: float

    @property
    def diagonal(self) -> float:
        """Return the length of either diagonal, mm."""
        return math.hypot(self.wide, self.high)


@dataclass(frozen=True, slots=True)
class Readings:
    """What a ruler showed on a proof, mm: `rising` from lower left to upper right, `falling` the other one.

    `ruler` is the ruler's resolution, mm. A diagonal that was not read is None.
    """

    bars: Bars
    across: float
    down: float
    rising: float | None = None
    falling: float | None = None
    ruler: float = 0.5


@dataclass(frozen=True, slots=True)
class Distortion:
    """What a printer makes of a drawing: shares across and down, and its skew in degrees.

    With a positive skew the upper part of the page is pushed to the right.
    """

    across: float = 1.0
    down: float = 1.0
    skew: float = 0.0

    @property
    def matrix(self) -> Floats:
        """Return the 2 x 2 matrix from vectors in the file to vectors on the paper."""
        turn = math.radians(self.skew)
        return np.array(
            [[self.across, self.down * math.sin(turn)], [0.0, self.down * math.cos(turn)]], dtype=np.float64
        )

    @property
    def inverse(self) -> Floats:
        """Return the 2 x 2 matrix from vectors wanted on the paper to vectors in the file."""
        return np.asarray(np.linalg.inv(self.matrix), dtype=np.float64)

    @property
    def factors(self) -> tuple[float, float]:
        """Return what the file is stretched by, across and down."""
        return 1.0 / self.across, 1.0 / self.down


@dataclass(frozen=True, slots=True)
class Fit:
    """A printer's distortion with what is not known of it.

    `covariance` is that of (share across, share down, skew in radians), relative to their values; readings
    and, where no diagonal was read, an assumed skew make it. Paper is not in it.
    """

    distortion: Distortion
    covariance: Floats


@dataclass(frozen=True, slots=True)
class Shrink:
    """A page printed smaller or larger to fit: onto which paper, within which border, mm, and the ratio."""

    onto: str
    margin: float
    ratio: float


@dataclass(frozen=True, slots=True)
class _Margin:
    name: str
    width: Number


@functools.cache
def numbers() -> dict[str, Number]:
    """Return the table's numbers by name, "paper.along" for along in [paper]; borders are in `margins`."""
    return {
        f"{part}.{key}": each
        for part in ("paper", "span", "check", "printer")
        for key, each in _table().numbers(part).items()
    }


@functools.cache
def margins() -> tuple[float, ...]:
    """Return common white borders of printers, mm."""
    return tuple(each.width.value for each in _table().rows("margin", _Margin))


@functools.cache
def _table() -> Table:
    return table(_FILE)


def reading_deviation(ruler: float) -> float:
    """Return the standard deviation of one reading, mm: each end set to within half the ruler's resolution.

    Two ends, each spread evenly over plus or minus half a step, give step / sqrt(6). The ruler itself is
    taken as true.
    """
    return ruler / math.sqrt(6.0)


def fit(readings: Readings) -> Fit:
    """Return the printer that readings tell of; raise GeometryError where they do not fit together.

    The skew comes from the diagonals: rising squared less falling squared is 4 wide high across down
    sin(skew). One diagonal alone serves too, less well; without any the skew is taken as none, give or take
    what the table says of printers.
    """
    found = _distortion(readings)
    _agree(readings)
    names = ["across", "down"]
    names += [name for name in ("rising", "falling") if getattr(readings, name) is not None]
    columns = []
    for name in names:
        value = getattr(readings, name)
        ends = [_distortion(replace(readings, **{name: value + step})) for step in (-_STEP, _STEP)]
        columns.append((_logs(ends[1]) - _logs(ends[0])) / (2.0 * _STEP))
    jacobian = np.column_stack(columns)
    covariance = jacobian @ jacobian.T * reading_deviation(readings.ruler) ** 2
    if len(names) == 2:
        covariance[2, 2] = _assumed_skew()
    return Fit(found, covariance)


def _assumed_skew() -> float:
    """Return the variance of a skew that nobody read, radians squared: evenly spread within the table's."""
    return math.radians(numbers()["printer.skew"].value) ** 2 / 3.0


def _logs(found: Distortion) -> Floats:
    return np.array((math.log(found.across), math.log(found.down), math.radians(found.skew)))


def _distortion(readings: Readings) -> Distortion:
    bars = readings.bars
    across, down = readings.across / bars.across, readings.down / bars.down
    wide, high = across * bars.wide, down * bars.high
    rising, falling = readings.rising, readings.falling
    if rising is None and falling is None:
        return Distortion(across, down)
    if rising is not None and falling is not None:
        sine = (rising**2 - falling**2) / (4.0 * wide * high)
    elif rising is not None:
        sine = (rising**2 - wide**2 - high**2) / (2.0 * wide * high)
    else:
        assert falling is not None
        sine = (wide**2 + high**2 - falling**2) / (2.0 * wide * high)
    if abs(sine) > 0.5:
        _refuse_skew(math.copysign(30.0, sine), "printing.skewed_far")
    return Distortion(across, down, math.degrees(math.asin(sine)))


def _agree(readings: Readings) -> None:
    """Raise GeometryError where both diagonals together contradict the bars by more than reading explains."""
    rising, falling, bars = readings.rising, readings.falling, readings.bars
    if rising is None or falling is None:
        return
    wide, high = readings.across / bars.across * bars.wide, readings.down / bars.down * bars.high
    expected = math.hypot(wide, high)
    gap = math.sqrt((rising**2 + falling**2) / 2.0) - expected
    parts = (
        math.sqrt(0.5),
        wide / expected * bars.wide / bars.across,
        high / expected * bars.high / bars.down,
    )
    most = _DISAGREE * reading_deviation(readings.ruler) * math.hypot(*parts)
    if abs(gap) > most:
        raise GeometryError(
            Problem(
                say("printing.diagonals"),
                say(
                    "printing.disagree",
                    rising=rising,
                    falling=falling,
                    expected=expected,
                    gap=gap,
                    ruler=readings.ruler,
                    most=most,
                ),
            )
        )


def check_limits(found: Distortion) -> None:
    """Raise GeometryError, naming what is wrong, for a printer that is further off than is corrected.

    The limit is 4 % and 1 degree: published allowances of printers reach 3 %. Beyond that a wrong bar, unit
    or print setting is likelier than a printer.
    """
    most = numbers()["printer.most"].value
    problems = []
    for name, share in (("across", found.across), ("down", found.down)):
        if abs(share - 1.0) > most:
            problems.append(
                Problem(
                    name,
                    say(
                        "printing.too_far_off",
                        share=100.0 * share,
                        off=100.0 * (share - 1.0),
                        most=100.0 * most,
                    ),
                )
            )
    if problems:
        raise GeometryError(*problems)
    if abs(found.skew) > numbers()["printer.most_skew"].value:
        _refuse_skew(found.skew)


def _refuse_skew(skew: float, code: str = "printing.skewed") -> None:
    most = numbers()["printer.most_skew"].value
    raise GeometryError(
        Problem(
            say("printing.diagonals"),
            say(code, skew=skew, most=most),
        )
    )


def paper_covariance() -> Floats:
    """Return how paper moves between the proof's reading and the sheet's use, as `Fit.covariance`.

    Damp moves both directions together, across the grain twice as far, by the table's share of its figures,
    evenly spread; which way the grain runs on the page is not known, so either is as likely.
    """
    table = numbers()
    along, across = table["paper.along"].value, table["paper.across"].value
    spread = table["span.share"].value ** 2 / 3.0
    own, shared = (along**2 + across**2) / 2.0, along * across
    return spread * np.array([[own, shared, 0.0], [shared, own, 0.0], [0.0, 0.0, 0.0]])


def checked_covariance() -> Floats:
    """Return what is left of a print that is not corrected but whose bars were checked as it is used.

    Each bar may be off by as much as it is read to, evenly spread, and the skew is not known. The bars are
    read on the sheet itself, so the paper has moved already.
    """
    table = numbers()
    share = (table["check.read"].value / table["check.bar"].value) ** 2 / 3.0
    return np.diag((share, share, _assumed_skew()))


def left(vector: Point, covariance: Floats) -> float:
    """Return the error left in the length of a vector on the page, mm: plus or minus, at about 95 %."""
    dx, dy = vector
    long = math.hypot(dx, dy)
    if long == 0.0:
        return 0.0
    slope = np.array((dx * dx, dy * dy, dx * dy)) / long
    return COVERAGE * math.sqrt(float(slope @ covariance @ slope))


def fitted(found: Fit, page: Point, papers: Mapping[str, Point]) -> tuple[Shrink, ...]:
    """Return the fits to a paper that would give these readings, the nearest first; none for a true printer.

    `page` is the size of the page as drawn, `papers` the sizes of papers by name, mm. The tell-tale is that
    both axes come out by one ratio; where they differ by more than reading explains, nothing is returned.
    """
    across, down = found.distortion.across, found.distortion.down
    deviation = np.sqrt(np.diag(found.covariance))
    # Three deviations of a difference, and a tenth of a percent because no printer is true either.
    alike = 3.0 * math.hypot(deviation[0], deviation[1]) + 0.001
    if abs(math.log(across / down)) > alike:
        return ()
    ratio = math.sqrt(across * down)
    near = []
    for name, (wide, high) in papers.items():
        for margin in (0.0, *margins()):
            fits = min((wide - 2.0 * margin) / page[0], (high - 2.0 * margin) / page[1])
            off = abs(math.log(ratio / fits))
            if abs(fits - 1.0) > alike and off <= alike:
                near.append((off, margin, Shrink(name, margin, fits)))
    return tuple(each for _, _, each in sorted(near, key=lambda one: one[:2]))
