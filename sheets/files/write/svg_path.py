"""Commands as an SVG's path data, as short as it goes: relative, in whole micrometres, with h, v and s.

Every point is rounded to 0.001 mm where it lies on the page, and what is written is the way from one rounded
point to the next, so that nothing adds up along a line. Path data after SVG 1.1, 8.3.
"""

import functools
import math
from collections.abc import Sequence

from sheets.ink.records import Commands

_MICROMETRES = 1000
_LEFT_OUT = {"m": "l"}
"""The letters after which another may be left out: what follows a move is a line."""


class _Texts(dict[int, str]):
    """Whole micrometres as millimetres, each worked out once: most of a page's steps are a few letters'."""

    def __missing__(self, value: int) -> str:
        text = f"{abs(value) / _MICROMETRES:.3f}".rstrip("0").rstrip(".").removeprefix("0")
        # Kept for a process, but not without end.
        if len(self) > 65536:
            self.clear()
        self[value] = text = f"-{text}" if value < 0 else text or "0"
        return text


_TEXTS = _Texts()


def short(value: float) -> str:
    """Return a length to 0.001 mm, without what could be left out; ValueError unless finite."""
    return _TEXTS[_rounded((value,))[0]]


@functools.lru_cache(maxsize=512)
def path_data(commands: Commands) -> str:
    """Return commands as path data; ValueError unless all numbers are finite."""
    parts: list[str] = []
    add = parts.append
    last, dotted = "", False
    # The pen, the start of its subpath, and what the control of a smooth curve would be, all in micrometres.
    x = y = left = low = ahead_x = ahead_y = 0
    for command in commands:
        letter = command[0]
        if letter == "Z":
            add("z")
            last, x, y, ahead_x, ahead_y = "z", left, low, 0, 0
            continue
        numbers = _rounded(command[1:])
        steps: Sequence[int]
        if letter == "C":
            a, b, c, d, e, f = numbers
            steps = (a - x, b - y, c - x, d - y, e - x, f - y)
            name = "c"
            if steps[0] == ahead_x and steps[1] == ahead_y:
                name, steps = "s", steps[2:]
            x, y, ahead_x, ahead_y = e, f, e - c, f - d
        else:
            e, f = numbers
            steps, ahead_x, ahead_y = (e - x, f - y), 0, 0
            x, y = e, f
            if letter == "M":
                # The first is from the page's corner, whichever way it is written.
                name, left, low = "m" if parts else "M", e, f
            elif steps[1] == 0:
                name, steps = "h", steps[:1]
            elif steps[0] == 0:
                name, steps = "v", steps[1:]
            else:
                name = "l"
        close = name == "m" or (name != last and _LEFT_OUT.get(last) != name)
        if close:
            add(name)
        for step in steps:
            text = _TEXTS[step]
            # A sign, or a second point, tells by itself that another number begins.
            if not close and text[0] != "-" and not (dotted and text[0] == "."):
                add(" ")
            add(text)
            dotted, close = "." in text, False
        last = name
    return "".join(parts)


def _rounded(values: Sequence[float]) -> list[int]:
    try:
        return [math.floor(value * _MICROMETRES + 0.5) for value in values]
    except (OverflowError, ValueError) as error:
        raise ValueError("a coordinate is not a finite number") from error
