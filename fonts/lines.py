"""Breaking text into lines, for lettering and running text alike."""

from collections.abc import Callable


def fill(
    text: str, width: float, measure: Callable[[str], float], broken: Callable[[str], list[str]]
) -> tuple[str, ...]:
    """Return `text` in lines no wider than `width` mm by `measure`, broken at spaces as late as they can be.

    `broken` splits a word that is too wide by itself; the last of its pieces starts the next line. Spaces
    at a break are dropped and several together count as one.
    """
    lines: list[str] = []
    line = ""
    for word in text.split(" "):
        longer = f"{line} {word}" if line else word
        if measure(longer) <= width:
            line = longer if word else line
            continue
        if line:
            lines.append(line)
        *full, line = broken(word)
        lines += full
    return (*lines, line) if line else tuple(lines)
