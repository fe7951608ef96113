"""The tables of loads and materials, with grade and source of each number."""

import functools
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from geometry.axles import End
from geometry.tables import Number, load, number

_LOADS = Path(__file__).with_name("loads.toml")
_MATERIALS = Path(__file__).with_name("materials.toml")


@dataclass(frozen=True, slots=True)
class Material:
    """What a tube is made of; `limit` is its yield in MPa as the tube comes."""

    name: str
    limit: Number


@dataclass(frozen=True, slots=True)
class OwnLoad:
    """What a job says of its loads: kg, m/s2, share of one, mm over the tyre; None takes the table's."""

    kind: str = "solo"
    mass: float | None = None
    deceleration: float | None = None
    share: float | None = None
    wheel: float | None = None
    friction: float | None = None
    ratio: float | None = None


@dataclass(frozen=True, slots=True)
class Load:
    """A braked wheel: horizontal force `brake` and weight `wheel` at the tyre, N, and the tyre's radius, mm.

    `numbers` are what it was made from, by name, each with its grade; `friction` and `ratio` go with it.
    """

    brake: float
    wheel: float
    tyre: float
    friction: Number
    ratio: Number
    numbers: tuple[tuple[str, Number], ...]


@functools.cache
def _table() -> dict[str, Any]:
    return load(_LOADS)


def entry(part: str, key: str) -> Number:
    """Return a number of the loads' table, such as entry("rest", "friction")."""
    raw = _table()
    return number(raw[part][key], raw["sources"], f"{_LOADS.name}: {part}.{key}")


def kinds() -> tuple[str, ...]:
    """Return the kinds of bicycle that the table knows."""
    return tuple(str(row["name"]) for row in _table()["kind"])


def arms() -> dict[str, Number]:
    """Return the fork test's arms by wheel, mm."""
    raw = _table()
    return {
        str(row["wheel"]): number(row["length"], raw["sources"], f"{_LOADS.name}: arm") for row in raw["arm"]
    }


def arm(wheel: float | None) -> tuple[Number, str]:
    """Return the test's arm for a wheel's diameter over the tyre in mm, and how it was chosen.

    The table's own rule for a wheel that it does not list is half of the diameter, which a given diameter
    takes; without one it is the 700c wheel's.
    """
    listed = arms()["700c"]
    if wheel is None:
        return listed, "the 700c wheel's"
    return Number(wheel / 2.0, listed.grade, listed.source), "half of the wheel's diameter"


def load_on(end: End, own: OwnLoad) -> Load:
    """Return the load on the braked wheel of an end: brake force m a, and the weight's share m g on it."""
    raw = _table()
    row = next(row for row in raw["kind"] if row["name"] == own.kind)

    def pick(value: float | None, found: Number) -> Number:
        return found if value is None else Number(value, "own", "the job")

    mass = pick(own.mass, number(row["mass"], raw["sources"], f"{_LOADS.name}: {own.kind}"))
    slowing, share = (
        pick(given, number(raw["end"][end][key], raw["sources"], f"{_LOADS.name}: {end}.{key}"))
        for key, given in (("deceleration", own.deceleration), ("share", own.share))
    )
    wheel = pick(own.wheel, entry("rest", "wheel"))
    gravity = entry("rest", "gravity")
    return Load(
        brake=mass.value * slowing.value,
        wheel=mass.value * gravity.value * share.value,
        tyre=wheel.value / 2.0,
        friction=pick(own.friction, entry("rest", "friction")),
        ratio=pick(own.ratio, entry("rest", "ratio")),
        numbers=(
            ("mass, kg", mass),
            ("deceleration, m/s2", slowing),
            ("share of the weight on the wheel", share),
            ("wheel over the tyre", wheel),
        ),
    )


@functools.cache
def materials() -> tuple[tuple[Material, tuple[str, ...]], ...]:
    """Return every material with the words that name it."""
    raw = load(_MATERIALS)
    return tuple(
        (
            Material(row["name"], number(row["yield"], raw["sources"], f"{_MATERIALS.name}: {row['name']}")),
            tuple(row["words"]),
        )
        for row in raw["material"]
    )


def material(text: str | None) -> Material | None:
    """Return the material that a text names, of several that of the lowest yield, or None."""
    said = (text or "").lower()
    found = [one for one, words in materials() if any(word in said for word in words)]
    return min(found, key=lambda one: one.limit.value, default=None)
