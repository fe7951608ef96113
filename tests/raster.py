"""Files as pictures: rendered by programs that know nothing of each other, compared and measured.

A picture is an array of darkness, 0 white to 1 black, row 0 at the top. Positions are mm from the page's
lower-left corner, y up, as on a sheet.
"""

from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np
from numpy.typing import NDArray
from PIL import Image
from scipy import ndimage

from tests.outside_tools import run

Picture = NDArray[np.float64]
Point = tuple[float, float]

DPI = 254
MM = DPI / 25.4
"""Pixels a mm."""

_SQUARE = np.ones((3, 3), bool)


def poppler(pdf: Path, page: int = 1) -> Picture:
    """Return a page as poppler draws it."""
    with TemporaryDirectory() as folder:
        stem = Path(folder, "page")
        pages = ("-f", str(page), "-l", str(page), "-singlefile")
        # Packing the picture would take longer than drawing it.
        run("pdftoppm", "-r", str(DPI), "-gray", *pages, pdf, stem)
        return _darkness(stem.with_suffix(".pgm"))


def mupdf(pdf: Path, page: int = 1) -> Picture:
    """Return a page as MuPDF draws it."""
    with TemporaryDirectory() as folder:
        picture = Path(folder, "page.pgm")
        run("mutool", "draw", "-q", "-r", str(DPI), "-c", "gray", "-o", picture, pdf, str(page))
        return _darkness(picture)


def ghostscript(pdf: Path, page: int = 1) -> Picture:
    """Return a page as Ghostscript draws it."""
    with TemporaryDirectory() as folder:
        picture = Path(folder, "page.png")
        smooth = ("-dTextAlphaBits=4", "-dGraphicsAlphaBits=4", f"-r{DPI}")
        only = (f"-dFirstPage={page}", f"-dLastPage={page}")
        run("gs", "-q", "-dSAFER", "-sDEVICE=pnggray", *smooth, *only, "-o", picture, pdf)
        return _darkness(picture)


def librsvg(svg: Path) -> Picture:
    """Return an SVG as librsvg draws it."""
    with TemporaryDirectory() as folder:
        picture = Path(folder, "page.png")
        run(
            "rsvg-convert", f"--dpi-x={DPI}", f"--dpi-y={DPI}", "--background-color=white", "-o", picture, svg
        )
        return _darkness(picture)


def differences(first: Picture, second: Picture, *, share: float = 0.08) -> list[str]:
    """Return what is wrong if two pictures of one sheet differ: nothing if they show the same.

    At most `share` of the inked pixels may differ, and no ink may lie more than a pixel from the other's.
    For the latter the other's faint ink counts too: a chain line's dot is smaller than a pixel, and where it
    falls between two, each may be just too light.
    """
    height, width = np.minimum(first.shape, second.shape)
    first, second = first[:height, :width], second[:height, :width]
    one, two = first >= 0.5, second >= 0.5
    ink = max(one.sum(), two.sum())
    if not ink:
        return ["both pictures are empty"]
    wrong = []
    if (differing := float((one ^ two).sum() / ink)) > share:
        wrong.append(f"{differing:.1%} of the inked pixels differ")
    near_one, near_two = (ndimage.binary_dilation(picture >= 0.25, _SQUARE) for picture in (first, second))
    astray = (one & ~near_two) | (two & ~near_one)
    if astray.any():
        row, column = np.argwhere(astray)[0]
        place = f"{column / MM:.1f} mm from the left and {row / MM:.1f} mm from the top"
        wrong.append(f"ink astray, the first {place}")
    return wrong


def circle_in(picture: Picture, centre: Point, diameter: float, height: float) -> tuple[Point, float]:
    """Return centre and diameter of the circle drawn near there, on a page of that height.

    Rays from the centre cross its stroke; rays on which other ink lies close to it drop out as strays.
    """
    angles = np.linspace(0, 2 * np.pi, 360, endpoint=False)[:, None]
    radii = diameter / 2 + np.arange(-0.6, 0.6, 0.02)
    x, y = centre[0] + radii * np.cos(angles), centre[1] + radii * np.sin(angles)
    dark = _at(picture, x, y, height)
    total = dark.sum(axis=1)
    crossing = (dark * radii).sum(axis=1) / np.maximum(total, 1e-9)
    kept = (total > 0) & (np.abs(total - np.median(total)) < 0.2 * np.median(total))
    kept &= np.abs(crossing - np.median(crossing[kept])) < 0.15
    x, y = crossing[kept] * np.cos(angles[kept, 0]), crossing[kept] * np.sin(angles[kept, 0])
    a, b, c = np.linalg.lstsq(np.column_stack((x, y, np.ones(len(x)))), x * x + y * y, rcond=None)[0]
    return (centre[0] + a / 2, centre[1] + b / 2), 2 * float(np.sqrt(c + a * a / 4 + b * b / 4))


def bar_in(picture: Picture, start: Point, end: Point, height: float) -> float:
    """Return how long the ink of a bar is, in mm, from edge to edge, on a page of that height.

    Beyond the bar's ends the paper must be white for a mm or so.
    """
    length = float(np.hypot(end[0] - start[0], end[1] - start[1]))
    along = np.arange(-1.5, length + 1.5, 0.01)
    x = start[0] + along * (end[0] - start[0]) / length
    y = start[1] + along * (end[1] - start[1]) / length
    dark = _at(picture, x, y, height) >= 0.5
    middle = len(along) // 2
    white = np.flatnonzero(~dark)
    before, after = white[white < middle].max(), white[white > middle].min()
    return float(along[after] - along[before])


def _at(picture: Picture, x: Picture, y: Picture, height: float) -> Picture:
    # A pixel's value belongs to its middle, which lies half a pixel from its corner.
    rows, columns = (height - y) * MM - 0.5, x * MM - 0.5
    dark: Picture = ndimage.map_coordinates(picture, np.stack((rows, columns)), order=1, mode="nearest")
    return dark


def _darkness(file: Path) -> Picture:
    with Image.open(file) as image:
        return 1 - np.asarray(image.convert("L"), float) / 255
