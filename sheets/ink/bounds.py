"""How far ink reaches: the box round a sheet's records, and commands as straight pieces."""

import math
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
    left = low = math.inf
    right = top = -math.inf
    bulging: list[tuple[float, Commands]] = []
    for path in records:
        if isinstance(path, Text):
            x, y = path.at
            left, low = min(left, x), min(low, y - 0.25 * path.size)
            right, top = max(right, x + path.width), max(top, y + 0.8 * path.size)
            continue
        ends = [command[-2:] for command in path.commands if command[0] != "Z"]
        if not ends:
            continue
        xs, ys = zip(*ends, strict=True)
        half = path.style.width / 2.0
        left, low = min(left, min(xs) - half), min(low, min(ys) - half)
        right, top = max(right, max(xs) + half), max(top, max(ys) + half)
        if any(command[0] == "C" for command in path.commands):
            bulging.append((half, path.commands))
    for half, commands in bulging:
        # Control points bound a curve, so few paths, and few curves of these, need to be followed.
        points = [value for command in commands for value in command[1:]]
        xs, ys = points[0::2], points[1::2]
        if (
            left <= min(xs) - half
            and low <= min(ys) - half
            and max(xs) + half <= right
            and max(ys) + half <= top
        ):
            continue
        curves = _cubics(commands)
        beyond = (curves.min(axis=1) - half < (left, low)) | (curves.max(axis=1) + half > (right, top))
        reached = _along_cubics(curves[beyond.any(axis=1)])
        if reached.size:
            left, low = np.minimum((left, low), reached.min(axis=0) - half).tolist()
            right, top = np.maximum((right, top), reached.max(axis=0) + half).tolist()
    return left, low, right, top


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
