"""How far ink reaches: the box round a sheet's records, and commands as straight pieces."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from sheets.ink.placing import Box
from sheets.ink.records import Commands, Record, Text

_FINE = 0.6
"""Steps shorter than this are drawn together, mm: what looks for room need not know a curve's every point."""


def flatten(commands: Commands) -> NDArray[np.float64]:
    """Return commands as straight segments (n, 4), to within a few tenths of a millimetre.

    A cubic of 30 degrees or less counts as two chords, and short steps of a polyline as one.
    """
    rows: list[tuple[float, float, float, float]] = []
    x = y = sx = sy = 0.0
    last = len(commands) - 1
    for i, command in enumerate(commands):
        if command[0] == "L":
            _, px, py = command
            if i < last and commands[i + 1][0] == "L" and abs(px - x) + abs(py - y) < _FINE:
                continue
            rows.append((x, y, px, py))
        elif command[0] == "M":
            _, px, py = command
            sx, sy = px, py
        elif command[0] == "C":
            _, ax, ay, bx, by, px, py = command
            mx, my = (x + 3 * ax + 3 * bx + px) / 8, (y + 3 * ay + 3 * by + py) / 8
            rows += [(x, y, mx, my), (mx, my, px, py)]
        else:
            px, py = sx, sy
            rows.append((x, y, px, py))
        x, y = px, py
    return np.array(rows, dtype=np.float64).reshape(-1, 4)


def sheet_bounds(records: Sequence[Record]) -> Box:
    """Return the box round all ink, stroke widths included; curves count as far as they really reach."""
    low, high = np.full(2, np.inf), np.full(2, -np.inf)
    bulging: list[tuple[float, Commands]] = []
    for path in records:
        if isinstance(path, Text):
            x, y = path.at
            low = np.minimum(low, (x, y - 0.25 * path.size))
            high = np.maximum(high, (x + path.width, y + 0.8 * path.size))
            continue
        xs = [command[-2] for command in path.commands if command[0] != "Z"]
        if not xs:
            continue
        ys = [command[-1] for command in path.commands if command[0] != "Z"]
        half = path.style.width / 2.0
        low = np.minimum(low, np.array((min(xs), min(ys))) - half)
        high = np.maximum(high, np.array((max(xs), max(ys))) + half)
        if any(command[0] == "C" for command in path.commands):
            bulging.append((half, path.commands))
    for half, commands in bulging:
        curves = _cubics(commands)
        # Control points bound a curve, so few curves need to be followed.
        beyond = (curves.min(axis=1) - half < low) | (curves.max(axis=1) + half > high)
        reached = _along_cubics(curves[beyond.any(axis=1)])
        if reached.size:
            low = np.minimum(low, reached.min(axis=0) - half)
            high = np.maximum(high, reached.max(axis=0) + half)
    return float(low[0]), float(low[1]), float(high[0]), float(high[1])


def _cubics(commands: Commands) -> NDArray[np.float64]:
    """Return the four points of each cubic, (n, 4, 2)."""
    rows: list[float] = []
    x = y = 0.0
    for command in commands:
        if command[0] == "C":
            rows += (x, y)
            rows += command[1:]
        if command[0] != "Z":
            x, y = command[-2:]
    return np.array(rows, dtype=np.float64).reshape(-1, 4, 2)


def _along_cubics(curves: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return points (n, 2) on cubics where they turn back in x or in y, with their ends."""
    p0, p1, p2, p3 = (curves[:, i] for i in range(4))
    a, b, c = p3 - p0 + 3.0 * (p1 - p2), 2.0 * (p0 - 2.0 * p1 + p2), p1 - p0
    # The derivative is 3 (a t^2 + b t + c); in this form neither root breaks down where a vanishes.
    root = np.sqrt(np.maximum(b * b - 4.0 * a * c, 0.0))
    q = -(b + np.where(b < 0.0, -root, root)) / 2.0
    with np.errstate(divide="ignore", invalid="ignore"):
        turns = np.concatenate([q / a, c / q], axis=1)
    at = np.clip(np.nan_to_num(turns, posinf=1.0, neginf=0.0), 0.0, 1.0)[..., None]
    p0, p1, p2, p3 = (each[:, None] for each in (p0, p1, p2, p3))
    rest = 1.0 - at
    points = rest**3 * p0 + 3.0 * rest**2 * at * p1 + 3.0 * rest * at**2 * p2 + at**3 * p3
    points = np.concatenate([points, p0, p3], axis=1)
    reached: NDArray[np.float64] = points.reshape(-1, 2)
    return reached
