"""What tubes are made of: yield as delivered and beside a joint that was heated, and the modulus."""

import functools
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from geometry.core.tables import Number, load, number

_FILE = Path(__file__).with_name("materials.toml")


@dataclass(frozen=True, slots=True)
class Material:
    """A material, MPa: `delivered` and `heated` are its yield as the tube comes and beside a joint."""

    name: str
    delivered: Number
    heated: Number
    modulus: Number

    @property
    def beside(self) -> Number:
        """Return the yield that counts beside a joint: the lower of both."""
        return min(self.delivered, self.heated, key=lambda each: each.value)


@functools.cache
def _table() -> dict[str, Any]:
    return load(_FILE)


def near_joint() -> Number:
    """Return how far from a joint its heat is taken to change the tube, mm."""
    return number(_table()["near"]["joint"], _table()["sources"], f"{_FILE.name}: near.joint")


@functools.cache
def materials() -> tuple[tuple[Material, tuple[str, ...]], ...]:
    """Return every material with the words that name it, those that are vague not among them."""
    raw = _table()

    def entry(row: dict[str, Any], key: str) -> Number:
        return number(row[key], raw["sources"], f"{_FILE.name}: {row['name']}, {key}")

    return tuple(
        (
            Material(row["name"], *(entry(row, key) for key in ("delivered", "heated", "modulus"))),
            tuple(row["words"]),
        )
        for row in raw["material"]
    )


def material(text: str | None) -> Material | None:
    """Return the material that a text names, of several that of the lowest yield, or None."""
    said = (text or "").lower()
    found = [one for one, words in materials() if any(word in said for word in words)]
    if not found:
        found = [
            one
            for (one, _), row in zip(materials(), _table()["material"], strict=True)
            if any(word in said for word in row.get("vague", ()))
        ]
    return min(found, key=lambda one: one.beside.value, default=None)


def material_words() -> tuple[str, ...]:
    """Return a word for each material that a job may say."""
    return tuple(words[0] for _, words in materials())
