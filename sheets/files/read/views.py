"""From which side a full-size sheet is seen, told from its ink as read, and by nothing that the sheet says.

Four witnesses are heard, each by itself: where the holes lie about the axle, which way the arrow of direction
points, which way the wheel's arrow turns, and the words in the title block. They must agree with each other
and with the view that was asked for, on every page; a sheet turned over by mistake puts the mount on the
wrong side of the bicycle. Lettering turned over is no word any more, and is missed.
"""

import math
import pathlib
from collections.abc import Sequence

import numpy as np

from geometry.core.errors import Problem, ReadBackError
from geometry.core.frozen import dataclass
from geometry.core.say import Say, say
from geometry.printing.distortion import Distortion
from sheets.files.read.joins import moved
from sheets.files.read.pdf import read_pdf
from sheets.files.read.pieces import Floats, ReadLine, ReadPage
from sheets.ink.records import Point, Sheet, View

_SAME = 0.05
"""What is nearer than this is where it should be, mm; the read-back has measured it already."""
_TITLE, _READ = 5.0, 3.5
"""Lettering of the title and of the arrows' names, mm."""
_HEAD = 3.0
"""Length of an arrow head, mm."""
_ARROW, _TURN = 12.0, math.hypot(9.0, 2.0)
"""From the middle of the figure of directions to its arrows' tips and to the turning arrow's, mm."""
_UPRIGHT = 10.0
"""A vertical line of at least this length may be the axle's line in a face view, mm."""


@dataclass(frozen=True, slots=True)
class Truth:
    """What a kind of sheet shows, as seen from outboard: what tells the two views apart.

    `near` and `far` are the holes' places from the axle, mm. `rings` are diameters of circles about them and
    `axle` that of the circle about the axle, None where the axle is an upright line. `said` are the words of
    the two views, outboard's first, `arrow` the first words beside an arrow that points along `heading`,
    degrees; `turns` tells whether an arrow turns with the wheel.
    """

    kind: str
    near: Point
    far: Point
    rings: tuple[float, ...]
    axle: float | None
    said: tuple[str, str]
    arrow: str
    heading: float
    turns: bool


def verify_views(
    file: pathlib.Path,
    sheets: Sequence[Sheet],
    truths: Sequence[Truth],
    view: View,
    distortion: Distortion | None = None,
) -> None:
    """Raise ReadBackError for each page of a PDF whose ink is not seen from `view`, or does not tell."""
    by_kind = {truth.kind: truth for truth in truths}
    pages = [
        (
            say("readback.page", file=file.name, page=number),
            moved(page, sheet, distortion),
            by_kind[sheet.kind],
        )
        for number, (page, sheet) in enumerate(zip(read_pdf(file).pages, sheets, strict=True), start=1)
        if sheet.kind in by_kind
    ]
    problems = []
    for where, page, truth in pages:
        said, heading, turning = _words(page, truth), *_arrows(page, truth)
        heard = [("title", said), ("arrow", heading)]
        if truth.turns:
            heard.append(("turn", turning))
        for what, found in heard:
            if found != view:
                place = say("readback.of", where=where, what=say(f"readback.witness.{what}"))
                problems.append(Problem(place, _mistaken(found, view)))
    for truth in truths:
        own = [page for _, page, each in pages if each is truth]
        seen = _drawn_from(own, truth)
        if own and view not in seen:
            place = say("readback.drawing", file=file.name, kind=truth.kind)
            wrong = (
                _mistaken(seen[0], view) if seen else say("readback.holes", view=say(f"readback.view.{view}"))
            )
            problems.append(Problem(place, wrong))
    if problems:
        raise ReadBackError(*problems)


def _mistaken(found: View | None, view: View) -> Say:
    """Return what is wrong with ink that is seen from another side, or from neither."""
    wanted = say(f"readback.view.{view}")
    if found is None:
        return say("readback.neither_view", view=wanted)
    return say("readback.other_view", found=say(f"readback.view.{found}"), view=wanted)


def _words(page: ReadPage, truth: Truth) -> View | None:
    """Return the view that the title says; None where it says neither, or both."""
    outboard, inboard = (bool(len(text_as_read(page, word, _TITLE))) for word in truth.said)
    if outboard == inboard:
        return None
    return "outboard" if outboard else "inboard"


def _arrows(page: ReadPage, truth: Truth) -> tuple[View | None, View | None]:
    """Return the views that the named arrow and the turning arrow tell; None where there is no such arrow."""
    tips, ways = _heads(page)
    for x, y in text_as_read(page, truth.arrow, _READ):
        level = np.abs(tips[:, 1] - (y + _READ / 2.0)) < 0.3
        toward = (np.abs(ways[:, 1]) < 0.1) & ((ways[:, 0] > 0.0) == (tips[:, 0] < x))
        named = np.flatnonzero(level & toward)
        if not len(named):
            continue
        head = named[np.abs(tips[named, 0] - x).argmin()]
        right = bool(ways[head, 0] > 0.0)
        view: View = "outboard" if right == (truth.heading == 0.0) else "inboard"
        middle = tips[head] - _ARROW * ways[head]
        arms = tips - middle
        for other in np.flatnonzero(np.abs(np.hypot(*arms.T) - _TURN) < 0.3):
            spin = arms[other, 0] * ways[other, 1] - arms[other, 1] * ways[other, 0]
            return view, "outboard" if spin > 0.0 else "inboard"
        return view, None
    return None, None


def _heads(page: ReadPage) -> tuple[Floats, Floats]:
    """Return tips and directions of the arrow heads on a page: narrow triangles of a known size."""
    counts = np.diff(page.first)
    three = np.flatnonzero((counts == 3) & page.closed)
    corners = np.stack([page.corners[page.first[three] + i, 0] for i in range(3)], axis=1)
    sides = np.hypot(*np.moveaxis(corners - np.roll(corners, -1, axis=1), -1, 0))
    base = 2.0 * _HEAD * math.tan(math.radians(10.0))
    # The side between the second and third corner lies across from the first.
    kept = []
    for i, (a, b, c) in enumerate(sides):
        lengths = {0: b, 1: c, 2: a}
        tip = min(lengths, key=lambda k: lengths[k])
        legs = [length for k, length in lengths.items() if k != tip]
        if abs(lengths[tip] - base) < _SAME and all(
            abs(leg - math.hypot(_HEAD, base / 2)) < _SAME for leg in legs
        ):
            rest = [corners[i, k] for k in range(3) if k != tip]
            way = corners[i, tip] - (rest[0] + rest[1]) / 2.0
            kept.append((corners[i, tip], way / np.hypot(*way)))
    tips = np.array([tip for tip, _ in kept]).reshape(-1, 2)
    return tips, np.array([way for _, way in kept]).reshape(-1, 2)


def text_as_read(page: ReadPage, text: str, height: float) -> Floats:
    """Return where the lines of a height begin in which a page letters a text, (n, 2), mm.

    The line must run level from left to right, and its letters stand up.
    """
    found = [line.places[0] for line in page.lines if text in line.text and _level(line, height)]
    return np.array(found).reshape(-1, 2)


def _level(line: ReadLine, height: float) -> bool:
    first, last, above = line.places
    along, up = last - first, above - first
    level = abs(along[1]) < _SAME and (len(line.text) == 1 or along[0] > 0.0)
    return bool(level and abs(up[0]) < _SAME and abs(up[1] - height) < _SAME)


def _drawn_from(pages: Sequence[ReadPage], truth: Truth) -> list[View]:
    """Return the views in which holes lie about the axle as they do on these pages, laid together."""
    axles = [each for page in pages for each in _axles(page, truth)]
    holes = np.array(
        [each for page in pages for ring in truth.rings for each in _centres(page, ring)]
    ).reshape(-1, 2)
    views: list[View] = []
    for name, sign in (("outboard", 1.0), ("inboard", -1.0)):
        if any(
            all(_is_there(axle, (sign * x, y), holes) for x, y in (truth.near, truth.far)) for axle in axles
        ):
            views.append("outboard" if name == "outboard" else "inboard")
    return views


def _is_there(axle: Point, place: Point, holes: Floats) -> bool:
    x, y = axle[0] + place[0], axle[1] + place[1]
    off = np.abs(holes[:, 0] - x) if math.isnan(y) else np.hypot(holes[:, 0] - x, holes[:, 1] - y)
    return bool(off.min(initial=np.inf) < _SAME)


def _axles(page: ReadPage, truth: Truth) -> list[Point]:
    """Return where the axle may be; its height is not a number where it is an upright line."""
    if truth.axle is not None:
        return [(x, y) for x, y in _centres(page, truth.axle)]
    lines = page.corners[~page.curved][:, (0, 3)]
    run = lines[:, 1] - lines[:, 0]
    upright = (np.abs(run[:, 0]) < 0.01) & (np.abs(run[:, 1]) > _UPRIGHT)
    return [(float(x), math.nan) for x in np.unique(np.round(lines[upright, 0, 0], 3))]


def _centres(page: ReadPage, diameter: float) -> list[tuple[float, float]]:
    """Return the centres of curved pieces that are parts of circles of a diameter, each once."""
    bent = page.corners[page.curved]
    a, c = bent[:, 0], bent[:, 3]
    b = (bent[:, 0] + 3.0 * bent[:, 1] + 3.0 * bent[:, 2] + bent[:, 3]) / 8.0
    ab, ac = b - a, c - a
    twice = 2.0 * (ab[:, 0] * ac[:, 1] - ab[:, 1] * ac[:, 0])
    safe = np.where(np.abs(twice) < 1e-9, np.inf, twice)
    u, v = (ab**2).sum(1), (ac**2).sum(1)
    off = np.column_stack((ac[:, 1] * u - ab[:, 1] * v, ab[:, 0] * v - ac[:, 0] * u)) / safe[:, None]
    like = np.abs(2.0 * np.hypot(*off.T) - diameter) < _SAME
    kept: list[tuple[float, float]] = []
    for x, y in a[like] + off[like]:
        if not any(math.hypot(x - p, y - q) < _SAME for p, q in kept):
            kept.append((float(x), float(y)))
    return kept
