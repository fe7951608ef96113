"""Measures of lettering as a reader of the page would take them, apart from the code under test.

They are handed out as session fixtures so that property tests may use them.
"""

from collections.abc import Callable, Iterable

import numpy as np
import pytest
from numpy.typing import NDArray
from PIL import Image, ImageDraw

Box = tuple[float, float, float, float]
Picture = NDArray[np.bool_]


def polylines(commands: Iterable[tuple], steps: int) -> list[list[tuple[float, float]]]:
    """Return the strokes of some commands as polylines, cubics cut into `steps`, in the same unit."""
    lines: list[list[tuple[float, float]]] = []
    for kind, *numbers in commands:
        if kind == "M":
            lines.append([(numbers[0], numbers[1])])
        elif kind == "L":
            lines[-1].append((numbers[0], numbers[1]))
        elif kind == "C":
            x0, y0 = lines[-1][-1]
            x1, y1, x2, y2, x3, y3 = numbers
            for step in range(1, steps + 1):
                t = step / steps
                a, b, c, d = (1 - t) ** 3, 3 * t * (1 - t) ** 2, 3 * t * t * (1 - t), t**3
                lines[-1].append((a * x0 + b * x1 + c * x2 + d * x3, a * y0 + b * y1 + c * y2 + d * y3))
        else:
            assert kind == "Z"
            lines[-1].append(lines[-1][0])
    return lines


@pytest.fixture(scope="session")
def strokes() -> Callable[[Iterable[tuple]], list[list[tuple[float, float]]]]:
    """Return the reading of commands as polylines, in the same unit."""
    return lambda commands: polylines(commands, 16)


@pytest.fixture(scope="session")
def ink_box() -> Callable[[Iterable[tuple], float], Box]:
    """Return the measure of ink: commands and height in mm to left, bottom, right, top, pen included."""

    def measure(commands: Iterable[tuple], height: float) -> Box:
        points = [point for line in polylines(commands, 64) for point in line]
        xs, ys = [x for x, _ in points], [y for _, y in points]
        pen = height / 20
        return min(xs) - pen, min(ys) - pen, max(xs) + pen, max(ys) + pen

    return measure


@pytest.fixture(scope="session")
def picture() -> Callable[[Iterable[tuple]], Picture]:
    """Return the photograph of ink 10 mm high: four dots a mm, 20 mm square, 4 mm below the baseline."""

    def draw(commands: Iterable[tuple]) -> Picture:
        image = Image.new("1", (80, 80))
        pencil = ImageDraw.Draw(image)
        for line in polylines(commands, 8):
            dotted = [(x * 4, 64 - y * 4) for x, y in line]
            pencil.line(dotted, fill=1, width=4)
            for x, y in dotted:
                pencil.ellipse((x - 2, y - 2, x + 2, y + 2), fill=1)
        return np.asarray(image)

    return draw
