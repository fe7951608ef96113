"""Breaking text into lines, for lettering and running text alike."""

import re
from collections.abc import Callable

_SPACE = re.compile(r" (?!(?<=\d )(?:in|mm|N)\b)")
"""Where a line may be broken: at a space, but not between a number and its unit."""


def words(text: str) -> list[str]:
    """Return the pieces of a text that a line keeps together: its words, and a number with its unit."""
    return _SPACE.split(text)


def fill(
    text: str, width: float, measure: Callable[[str], float], broken: Callable[[str], list[str]]
) -> tuple[str, ...]:
    """Return `text` in lines no wider than `width` mm by `measure`, broken at spaces as late as they can be.

    `broken` splits a word that is too wide by itself; the last of its pieces starts the next line. Spaces
    at a break are dropped and several together count as one.
    """
    lines: list[str] = []
    line = ""
    kept = words(text)
    for word in (each for one in kept for each in ((one,) if measure(one) <= width else one.split(" "))):
        longer = f"{line} {word}" if line else word
        if measure(longer) <= width:
            line = longer if word else line
            continue
        if line:
            lines.append(line)
        *full, line = broken(word)
        lines += full
    return (*lines, line) if line else tuple(lines)
