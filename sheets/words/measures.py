"""The letters of what is measured: one list for the measuring sheet's figure and boxes and for `start`.

A key is that of the question; a tube's is led by "tube", since every tube has the same letters. I is left
out, which is taken for 1.
"""

from collections.abc import Mapping

from geometry.core.frozen import dataclass

LETTERS: dict[str, str] = {
    "tube.included": "A",
    "boss.diameter": "B",
    "stance.chainstay": "C",
    "dropout.slot": "D",
    "tube.offset": "E",
    "mount.tilt": "G",
    "stance.head": "H",
    "stance.axle_to_crown": "K",
    "stance.leg": "L",
    "boss.thickness": "M",
    "boss.length": "N",
    "tube.outset": "O",
    "axle.pocket": "P",
    "stance.rake": "R",
    "tube.splay": "S",
    "dropout.thickness": "T",
    "tube.at": "U",
    "tube.outside": "V",
    "tube.wall": "W",
    "axle.dummy": "X",
}
"""The letter of each measure, by its key."""


def letter(key: str) -> str:
    """Return the letter of a question or of a box on the measuring sheet, "" for one that is no measure.

    A place on a tube has two, with its number: U1 and V1, as it is answered.
    """
    table, _, rest = key.partition(".")
    if table != "tubes":
        return LETTERS.get(key, "")
    tube, _, rest = rest.partition(".")
    if tube == "brace":
        return ""
    if not rest.startswith("place."):
        return LETTERS.get(f"tube.{rest}", "")
    number, _, half = rest.removeprefix("place.").partition(".")
    if half:
        return f"{LETTERS[f'tube.{half}']}{number}"
    return f"{LETTERS['tube.at']}{number} and {LETTERS['tube.outside']}{number}"


@dataclass(frozen=True, slots=True)
class Known:
    """What the sheet of one job has in it: frame, its paper, the families of its mount
    at rear and fork, values by field, its boxes, those to be filled.

    Boxes that are not its own are left out; a measure that is missing has a box framed twice, and its letter
    is ringed.
    """

    frame: str
    paper: str
    shown: tuple[str, str]
    values: Mapping[str, str]
    boxes: frozenset[str]
    lacking: frozenset[str]

    @property
    def letters(self) -> frozenset[str]:
        """Return the letters in the figure of what is missing."""
        return frozenset(letter(key) for key in self.lacking)
