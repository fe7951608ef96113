"""What both writers print alike: numbers of five decimals of a mm, never an exponent, never "-0".

Five decimals are a hundredth of a micrometre. A viewer that keeps its numbers in 32 bits rounds more than
that, so nothing finer would survive, and nothing coarser is needed to make both files agree.
"""

import math
from collections.abc import Iterable

from sheets.ink.records import Command

DECIMALS = 5
MITRE_LIMIT = 4
"""Stated in both files, because PDF (10) and SVG (4) assume different limits."""

_NEGATIVE_ZERO = "-0." + "0" * DECIMALS
_NO_FRACTION = "." + "0" * DECIMALS


def number(value: float) -> str:
    """Return `value` in decimals, without a fraction where there is none; ValueError unless finite."""
    return _printed("%f", [value])


def path_text(commands: Iterable[Command], letters: dict[str, str]) -> str:
    """Return commands as text: their numbers, set into the pattern that `letters` gives for each.

    A pattern holds one %f for each number of its command. All numbers are printed in a single formatting,
    because a page of lettering and rulers holds tens of thousands. ValueError unless all are finite.
    """
    patterns = []
    values: list[float] = []
    for command in commands:
        patterns.append(letters[command[0]])
        values.extend(command[1:])
    return _printed("".join(patterns), values)


def _printed(pattern: str, values: list[float]) -> str:
    if not math.isfinite(math.fsum(values)):
        raise ValueError("a coordinate is not a finite number")
    text = pattern.replace("%f", f"%.{DECIMALS}f") % tuple(values)
    # With a fixed number of decimals either string can only be the end of a number, never a part of one.
    return text.replace(_NEGATIVE_ZERO, "0").replace(_NO_FRACTION, "")
