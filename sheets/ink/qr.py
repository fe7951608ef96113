"""QR codes as outlines: one filled Path whatever the size, so that no seam shows between two modules.

segno works the code out (ISO/IEC 18004); here its modules become closed outlines on the page, to be inked
SOLID. A code needs four modules of white on every side, and the size returned holds them.
"""

import functools

from sheets.ink.records import Command, Commands, Point

QUIET = 4
"""White modules round a code, after ISO/IEC 18004 (remembered)."""
LEAST = 0.5
"""Smallest module, mm: three dots of a copier of 150 dots an inch. Own judgement."""

_TURNS = {(1, 0): ((0, 1), (1, 0), (0, -1)), (0, 1): ((-1, 0), (0, 1), (1, 0))}
_TURNS |= {(-1, 0): ((0, -1), (-1, 0), (0, 1)), (0, -1): ((1, 0), (0, -1), (-1, 0))}
_Cell = tuple[int, int]


@functools.lru_cache(maxsize=32)
def qr(text: str, corner: Point, most: float) -> tuple[Commands, float]:
    """Return the outline of a code for `text`, and its side in mm with the white round it.

    `corner` is its lower left corner, white included; `most` is the side it may fill. A text too long for
    that takes what modules of LEAST need.
    """
    # Loaded here: it takes as long as a quick answer of `check`, which shows no code.
    import segno

    # Level M mends 15 % of a code (ISO/IEC 18004): a fold, a thumb, a copier's streak.
    rows = [[bool(cell) for cell in row] for row in segno.make_qr(text, error="m").matrix]
    count = len(rows)
    module = max(LEAST, most / (count + 2 * QUIET))
    x0, y0 = corner[0] + QUIET * module, corner[1] + QUIET * module
    dark = {(x, count - 1 - y) for y, row in enumerate(rows) for x, cell in enumerate(row) if cell}
    commands: list[Command] = []
    for (x, y), *rest in _outlines(dark):
        commands.append(("M", x0 + x * module, y0 + y * module))
        commands += [("L", x0 + px * module, y0 + py * module) for px, py in rest]
        commands.append(("Z",))
    return tuple(commands), (count + 2 * QUIET) * module


def _outlines(dark: set[_Cell]) -> list[list[_Cell]]:
    """Return the corners of each closed outline, with the dark cells on the left of its run."""
    sides: set[tuple[_Cell, _Cell]] = set()
    for x, y in dark:
        for beside, start, way in (
            ((x, y - 1), (x, y), (1, 0)),
            ((x + 1, y), (x + 1, y), (0, 1)),
            ((x, y + 1), (x + 1, y + 1), (-1, 0)),
            ((x - 1, y), (x, y + 1), (0, -1)),
        ):
            if beside not in dark:
                sides.add((start, way))
    found: list[list[_Cell]] = []
    while sides:
        start, way = here, _ = min(sides)
        corners: list[_Cell] = []
        while (here, way) in sides:
            sides.remove((here, way))
            here = (here[0] + way[0], here[1] + way[1])
            # Left first: where two dark cells meet at a corner each keeps an outline of its own.
            after = next((turn for turn in _TURNS[way] if (here, turn) in sides), None)
            if after is not None and after != way:
                corners.append(here)
            way = after or way
        found.append([start, *(corner for corner in corners if corner != start)])
    return found
