"""What tubes are made of: yield as delivered and beside a joint that was heated, and the modulus."""

import functools
from pathlib import Path

from geometry.core.frozen import dataclass
from geometry.core.tables import Number, Table, table

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


@dataclass(frozen=True, slots=True)
class _Row:
    """A material with the words that name it; `vague` ones name only its kind of metal."""

    name: str
    words: tuple[str, ...]
    delivered: Number
    heated: Number
    modulus: Number
    vague: tuple[str, ...] = ()

    @property
    def material(self) -> Material:
        return Material(self.name, self.delivered, self.heated, self.modulus)


@functools.cache
def _table() -> Table:
    return table(_FILE)


def near_joint() -> Number:
    """Return how far from a joint its heat is taken to change the tube, mm."""
    return _table().number("near", "joint")


@functools.cache
def _rows() -> tuple[_Row, ...]:
    return _table().rows("material", _Row)


def material(text: str | None) -> Material | None:
    """Return the material that a text names, of several that of the lowest yield, or None."""
    found, vague = _meant(text)
    return min((row.material for row in found or vague), key=lambda one: one.beside.value, default=None)


def is_vague(text: str | None) -> bool:
    """Tell whether a text names no more than a kind of metal, such as "steel"; the weakest is taken."""
    found, vague = _meant(text)
    return bool(vague) and not found


def _meant(text: str | None) -> tuple[list[_Row], list[_Row]]:
    """Return the rows that a text names, and those of whose kind of metal it speaks."""
    said = (text or "").lower()
    found = [row for row in _rows() if any(word in said for word in row.words)]
    return found, [row for row in _rows() if any(word in said for word in row.vague)]


def material_words() -> tuple[str, ...]:
    """Return a word for each material that a job may say."""
    return tuple(row.words[0] for row in _rows())
