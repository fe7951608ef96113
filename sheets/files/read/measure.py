"""A page as read against its sheet: how far every named feature, the page and its border are off, in mm.

A feature is looked for among all the ink of its kind, and what comes nearest is measured; how far that is
off, or how far away the nearest lies, is its deviation. Nothing is taken from the sheet but its features.
"""

import math
from collections.abc import Iterable, Iterator
from dataclasses import replace

import numpy as np

from geometry.core.frozen import dataclass
from geometry.core.say import Say, say
from geometry.printing.distortion import Distortion
from sheets.files.read.find import NEAR, Finder
from sheets.files.read.pieces import Floats, ReadPage
from sheets.ink.corrected import on_paper
from sheets.ink.records import Feature, Sheet


@dataclass(frozen=True, slots=True)
class Deviation:
    """How far one thing on a page is off: its name, the distance in mm, and what the distance is."""

    feature: str
    amount: float
    what: Say


def measure(page: ReadPage, sheet: Sheet, distortion: Distortion | None = None) -> list[Deviation]:
    """Return the deviation of each feature of `sheet` in order, then of each page box and of the border.

    The amount is infinite where nothing of the feature's kind is on the page. A page that was corrected for
    a printer's `distortion` is measured as that printer will print it, and its ink must stay on the page too.
    """
    edge = []
    if distortion is not None and sheet.full_size:
        edge.append(_border(page, replace(sheet, margin=0.0)))
        corners, blocks = (
            on_paper(each, sheet.paper, distortion) for each in (page.corners, page.blocks.reshape(-1, 2, 2))
        )
        page = replace(page, corners=corners, blocks=blocks.reshape(-1, 4))
    finder = Finder(page)
    found = [_named(feature, finder.measure(feature)) for feature in sheet.features]
    return [*found, *_boxes(page, sheet), _border(page, sheet), *edge]


def _named(feature: Feature, parts: dict[str, float]) -> Deviation:
    part, amount = max(parts.items(), key=lambda item: item[1])
    if amount <= NEAR:
        return Deviation(feature.name, amount, say(f"readback.part.{part}", amount=amount))
    lost = say("readback.nearest", amount=amount) if math.isfinite(amount) else say("readback.nothing")
    return Deviation(feature.name, amount, lost)


def _boxes(page: ReadPage, sheet: Sheet) -> Iterator[Deviation]:
    for name, left, bottom, right, top in page.boxes:
        misses = (left, bottom, right - sheet.paper.width, top - sheet.paper.height)
        amount = max(map(abs, misses))
        yield Deviation(
            name, amount, say("readback.box", width=right - left, height=top - bottom, left=left, low=bottom)
        )


def _border(page: ReadPage, sheet: Sheet) -> Deviation:
    """Return how far ink, strokes in full width, enters the border that is to stay free; never below 0."""
    low = np.array((sheet.margin, sheet.margin))
    high = np.array((sheet.paper.width, sheet.paper.height)) - sheet.margin
    # Controls enclose a curve, so only pieces whose controls cross the border need to be followed closely.
    loose = np.maximum(low - _over(np.minimum, page), _over(np.maximum, page) - high)
    loose = np.maximum(loose[:, 0], loose[:, 1]) + page.reach
    amount = 0.0
    for piece in np.flatnonzero(loose > 0):
        along = page.sample(int(piece), int(piece) + 1)
        amount = max(amount, float(np.maximum(low - along, along - high).max() + page.reach[piece]))
    blocks = np.maximum(np.tile(low, (len(page.blocks), 1)) - page.blocks[:, :2], page.blocks[:, 2:] - high)
    amount = max(amount, float(blocks.max(initial=0.0)))
    return Deviation("border", amount, say("readback.border", amount=amount, margin=sheet.margin))


def _over(choose: np.ufunc, page: ReadPage) -> Floats:
    """Return the least or the largest x and y of each piece's four points, (n, 2).

    Four columns are compared, because reducing an axis of four takes several times as long.
    """
    first, second, third, last = (page.corners[:, i] for i in range(4))
    chosen: Floats = choose(choose(first, second), choose(third, last))
    return chosen


def worst(deviations: Iterable[Deviation]) -> float:
    """Return the largest amount in mm, 0 for none."""
    return max((deviation.amount for deviation in deviations), default=0.0)
