"""What both writers print alike: numbers of five decimals of a mm, never an exponent, never "-0".

Five decimals are a hundredth of a micrometre. A viewer that keeps its numbers in 32 bits rounds more than
that, so nothing finer would survive, and nothing coarser is needed to make both files agree.
"""

import functools
import itertools
from collections.abc import Iterable

from sheets.ink.records import Command, Commands

DECIMALS = 5
MITRE_LIMIT = 4
"""Stated in both files, because PDF (10) and SVG (4) assume different limits."""

_NEGATIVE_ZERO = "-0." + "0" * DECIMALS
_NO_FRACTION = "." + "0" * DECIMALS


def number(value: float) -> str:
    """Return `value` in decimals, without a fraction where there is none; ValueError unless finite."""
    return _printed("%f", (value,))


def path_text(commands: Iterable[Command], letters: dict[str, str]) -> str:
    """Return commands as text: their numbers, set into the pattern that `letters` gives for each.

    A pattern holds one %f for each number of its command. All numbers are printed in a single formatting,
    because a page of lettering and rulers holds tens of thousands. ValueError unless all are finite.
    """
    return _text_of(tuple(commands), tuple(letters.items()))


@functools.lru_cache(maxsize=512)
def _text_of(commands: Commands, letters: tuple[tuple[str, str], ...]) -> str:
    # A command's own letter takes its turn among the numbers, and is printed with none of its characters.
    silent = {letter: f"%.0s{pattern}" for letter, pattern in letters}
    pattern = "".join([silent[command[0]] for command in commands])
    return _printed(pattern, tuple(itertools.chain.from_iterable(commands)))


def _printed(pattern: str, values: tuple[float | str, ...]) -> str:
    text = pattern.replace("%f", f"%.{DECIMALS}f") % values
    # These are how numbers that are not finite are printed, and no operator's name.
    if "inf" in text or "nan" in text:
        raise ValueError("a coordinate is not a finite number")
    # With a fixed number of decimals either string can only be the end of a number, never a part of one.
    return text.replace(_NEGATIVE_ZERO, "0").replace(_NO_FRACTION, "")
