"""The fixture's numbers from their table, and how far a bent arm of plate gives under a hand."""

import functools
import math
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Literal

from geometry.errors import GeometryError, TableError
from geometry.tables import Grade, Number, load, nearest, number

PlateMaterial = Literal["steel", "aluminium", "brass"]
_FILE = Path(__file__).with_name("fixture.toml")
_POISSON = 0.3  # of the common metals, remembered


@dataclass(frozen=True, slots=True)
class PlateMetal:
    """What a plate is made of: its stiffness (Young's modulus, MPa) and what to mind when it is heated."""

    name: str
    stiffness: Number
    heat: str


@dataclass(frozen=True, slots=True)
class Give:
    """How far a part gives under a hand: force in N, `length` and `amount` in mm, and what was reckoned."""

    part: str
    force: float
    length: float
    amount: float
    grade: Grade
    how: str


@functools.cache
def _table() -> dict[str, Any]:
    return load(_FILE)


@functools.cache
def fixture_number(name: str) -> Number:
    """Return one number of the table by its key: edge (times the hole), web, ring, relief and so on, mm."""
    raw = _table()
    return number(raw["number"][name], raw["sources"], f"{_FILE.name}: number.{name}")


def value(name: str) -> float:
    """Return the value of one number of the table."""
    return fixture_number(name).value


@functools.cache
def play_number(name: str) -> Number:
    """Return one number of what lets a fixture move, or stops it, by its key: bore, check, square ..., mm."""
    raw = _table()
    return number(raw["play"][name], raw["sources"], f"{_FILE.name}: play.{name}")


@functools.cache
def limit_of_size(letters: str, diameter: float) -> Number:
    """Return by how much a fit's letters let a size be off at most, mm: a hole larger, a pin smaller.

    Raise GeometryError where the table has none for that diameter.
    """
    raw = _table()
    for row in raw["fit"]:
        if row["letters"] == letters and row["over"] < diameter <= row["to"]:
            return number(row, raw["sources"], f"{_FILE.name}: fit {letters}")
    raise GeometryError.at("bench.fixture", f"no {letters} limit is on file for a diameter of {diameter:g}")


@functools.cache
def bar_widths() -> tuple[float, ...]:
    """Return the widths of bar in stock, mm, ascending."""
    return tuple(float(each) for each in _table()["bar"]["values"])


@functools.cache
def plate_metals() -> dict[str, PlateMetal]:
    """Return the metals by name."""
    raw = _table()
    return {
        row["name"]: PlateMetal(
            row["name"],
            number(row["stiffness"], raw["sources"], f"{_FILE.name}: material {row['name']}"),
            row["heat"],
        )
        for row in raw["material"]
    }


def plate_metal(name: str) -> PlateMetal:
    """Return one metal; raise TableError naming those in the table where there is none."""
    if name not in plate_metals():
        hint = nearest(name, plate_metals())
        raise TableError.at(
            "bench.plate_material", f"{name!r} is not in the table{hint} (known: {', '.join(plate_metals())})"
        )
    return plate_metals()[name]


def reach(diameter: float) -> float:
    """Return how far a hole's centre keeps from an edge, mm: by the multiple, and by the web at least."""
    return max(value("edge") * diameter, diameter / 2.0 + value("web"))


def ring(bore: float) -> float:
    """Return the outside radius of the ring round an axle's bore, mm."""
    return bore / 2.0 + value("ring")


def cantilever(force: float, length: float, stiffness: float, wide: float, thick: float) -> float:
    """Return how far the free end of a straight flat arm gives, mm: F L^3 / 3 E I, with I = b t^3 / 12.

    Remembered from every handbook's table of beams; shear is left out, as arms are long for their thickness.
    """
    return force * length**3 / (3.0 * stiffness * wide * thick**3 / 12.0)


def bent_arm(
    force: float,
    arms: tuple[float, float],
    turn: float,
    stiffness: float,
    wides: tuple[float, float],
    thick: float,
) -> float:
    """Return how far the end of a flat arm with an elbow gives square to its plane, mm.

    `arms` are the lengths from the held end to the elbow and from there to the end, `turn` the angle at
    the elbow, degrees, 0 where the arm is straight. Derived from the work of bending and twist along both
    arms; straight, it is the cantilever. The twisted section counts b t^3 (1 - 0.63 t / b) / 3,
    a handbook's value, remembered.
    """
    first, second = arms
    c, s = math.cos(math.radians(turn)), math.sin(math.radians(turn))
    inertia = [wide * thick**3 / 12.0 for wide in wides]
    lever = second * c
    bending = ((first + lever) ** 3 - lever**3) / (3.0 * stiffness * inertia[0])
    bending += second**3 / (3.0 * stiffness * inertia[1])
    wide = max(wides[0], thick)
    twisted = wide * thick**3 * (1.0 - 0.63 * min(thick, wides[0]) / wide) / 3.0
    shear = stiffness / (2.0 * (1.0 + _POISSON))
    return force * (bending + (second * s) ** 2 * first / (shear * twisted))
