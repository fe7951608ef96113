"""A sheet being drawn: strokes gathered by style, features kept by name, labels put where there is room.

Strokes of one style on one layer become one Path, which is what keeps writing fast. Named features keep a
Path of their own, so that an editor shows them by name.
"""

import copy
import math
from collections.abc import Iterable, Sequence
from dataclasses import replace
from typing import Any, Self

import numpy as np
from numpy.typing import NDArray

from fonts.drafting import LINE_PITCH, width, wrap
from fonts.faces import Face, run, tallest
from geometry.core.errors import FitError, Problem
from geometry.core.say import say
from sheets.ink.bounds import flatten
from sheets.ink.marks import THIN, commands_of, label, lettered, lettering_style, polyline, strokes
from sheets.ink.placing import Box, Seat, Taken, dotted, inside, overlaps, seat, spread, text_box, widened
from sheets.ink.records import (
    Command,
    Commands,
    Feature,
    Label,
    Part,
    PartKind,
    Path,
    Point,
    Record,
    Style,
    Text,
)

FAR = 24.0
"""Cost of a label's place (see `seat`) from which one of more lines is looked for."""
_EVEN = 1.5
"""Pitch of labels that stand evenly, in lines."""
_APART = 1.5
"""White beside a label beyond what is kept round it, mm: two in a line would read as one sentence."""
_SPLIT = 6.0
"""How much less a place must cost for its label to be broken into more lines."""


class Drawing:
    """Collects one page. Everything is in page millimetres.

    Its parts are read in the order in which they were begun, whatever lies where.
    """

    def __init__(self, parts: int = 0) -> None:
        """Start with an empty page, read after so many parts of another that it will be put on."""
        self._parts = parts
        self.figure: Part = ()
        self.vacant: list[Part] = []
        self._merged: dict[tuple[str, Style], list[Command]] = {}
        self._labels: dict[tuple[str, Style], list[Label]] = {}
        self._named: list[Path] = []
        self._segments: list[NDArray[np.float64]] = []
        self._texts: list[Text] = []
        self.features: list[Feature] = []
        self.labels: list[tuple[str, Box]] = []
        self._last: tuple[object, Taken] | None = None

    def __deepcopy__(self, memo: dict[int, Any]) -> Self:
        """Return a page to try on, apart from this one: it has lists of its own of what never changes."""
        other = copy.copy(self)
        for name, value in vars(self).items():
            if isinstance(value, dict):
                vars(other)[name] = {key: list(each) for key, each in value.items()}
            elif isinstance(value, list):
                vars(other)[name] = list(value)
        return other

    def part(self, kind: PartKind, above: Part = ()) -> Part:
        """Return a part that begins here, alone or inside of another."""
        self._parts += 1
        return (*above, (self._parts, kind))

    def begin_figure(self) -> None:
        """Say that the page's drawing is looked at before what is lettered from here on."""
        self.figure = self.part("Figure")

    def draw(self, commands: Commands, style: Style, layer: str) -> None:
        """Ink commands that are no feature of their own."""
        self._merged.setdefault((layer, style), []).extend(commands)
        self._segments.append(flatten(commands))

    def show(self, feature: Feature, style: Style, layer: str) -> None:
        """Ink a named feature and promise it to the read-back."""
        commands = commands_of(feature)
        self.features.append(feature)
        self._named.append(Path(commands, style, layer, feature.name))
        self._segments.append(flatten(commands))

    def letter(
        self,
        text: str,
        at: Point,
        height: float,
        anchor: float = 0.0,
        turn: float = 0.0,
        layer: str = "lettering",
        part: Part = (),
    ) -> None:
        """Letter a line of text whose baseline starts (anchor 0), centres (0.5) or ends (1) at `at`.

        It is a paragraph of its own unless it belongs to another part.
        """
        self._letter(label(text, at, height, anchor, turn, part or self.part("P")), layer)
        self.labels.append((text, text_box(text, at, height, anchor, turn)))

    def figures(self, labels: Iterable[Label], layer: str) -> None:
        """Letter the figures of a bar, which other ink keeps clear of as of the bar's ticks.

        They are looked at, as the bar is, unless they belong to another part.
        """
        for each in labels:
            self._letter(replace(each, part=each.part or self.figure), layer)
            self._segments.append(flatten(strokes(each)))

    def _letter(self, one: Label, layer: str) -> None:
        self._labels.setdefault((layer, lettering_style(one.height)), []).append(one)

    def text(
        self, text: str, at: Point, size: float, face: Face, anchor: float = 0.0, part: Part = ()
    ) -> None:
        """Set a line of running text at a type size, mm, its baseline and its part as `letter` has them."""
        wide = run(text, size, face)
        left = at[0] - anchor * wide
        self._texts.append(Text(text, (left, at[1]), size, face.file, wide, part or self.part("P")))
        top = max(face.cap_height, tallest(text, face))
        self.labels.append((text, (left, at[1] - 0.25 * size, left + wide, at[1] + top * size)))

    def records(self) -> tuple[Record, ...]:
        """Return what was drawn: strokes merged by layer and style, the named features, running text."""
        merged = (Path(tuple(commands), style, layer) for (layer, style), commands in self._merged.items())
        words = (lettered(labels, style, layer) for (layer, style), labels in self._labels.items())
        return (*merged, *words, *self._named, *self._texts)

    def obstacles(self) -> NDArray[np.float64]:
        """Return everything inked so far as (n, 4) segments, labels as their boxes' outlines."""
        boxes = [_box_segments(box) for _, box in self.labels]
        parts = [*self._segments, *boxes]
        return np.concatenate(parts) if parts else np.empty((0, 4))

    def free_box(self, size: tuple[float, float], zone: Box) -> Box | None:
        """Return the lowest, then leftmost, box of a size in the zone that nothing touches, or None.

        Searched on a 1 mm grid, with 2 mm of air all round.
        """
        taken = self._taken(zone)
        rows, columns = taken.shape
        high, wide = math.ceil(size[1]), math.ceil(size[0])
        if rows < high or columns < wide:
            return None
        total = np.zeros((rows + 1, columns + 1), dtype=np.int64)
        total[1:, 1:] = taken.cumsum(axis=0).cumsum(axis=1)
        inside = total[high:, wide:] - total[:-high, wide:] - total[high:, :-wide] + total[:-high, :-wide]
        free = np.argwhere(inside == 0)
        if not len(free):
            return None
        row, column = (int(index) for index in free[0])
        left, low = zone[0] + column, zone[1] + row
        return left, low, left + size[0], low + size[1]

    def _taken(self, zone: Box) -> NDArray[np.bool_]:
        """Return which cells of a 1 mm grid over the zone lie within 2 mm of ink or of a label's box."""
        grid = np.zeros((int(zone[3] - zone[1]), int(zone[2] - zone[0])), dtype=np.bool_)
        lines = self.obstacles()
        lines = lines[overlaps(lines, zone)]
        cells = np.floor(dotted(lines) - zone[:2]).astype(np.int64)
        cells = cells[np.all((cells >= 0) & (cells < grid.shape[::-1]), axis=1)]
        grid[cells[:, 1], cells[:, 0]] = True
        for _, box in self.labels:
            left, low, right, top = (max(0, math.floor(box[i] - zone[i % 2])) for i in range(4))
            if box[2] > zone[0] and box[3] > zone[1]:
                grid[low : top + 1, left : right + 1] = True
        for axis in (0, 1):
            for _ in range(2):
                grid = widened(grid, axis)
        return grid

    def reserve(self, box: Box) -> None:
        """Keep later labels out of a box."""
        self.labels.append(("", box))

    def callout(
        self,
        text: str,
        anchors: Sequence[Point],
        zone: Box,
        height: float = 3.5,
        prefer: float = 45.0,
        clear: float = 0.0,
        layer: str = "lettering",
        most: int = 1,
        far: float = math.inf,
    ) -> None:
        """Letter a label near one of `anchors` where it covers nothing, its leader starting `clear` away.

        `prefer` is the direction, degrees, in which a label is tried first; an earlier anchor is preferred
        to a later one. Where one line has no place, or only one far off or across other lines, up to `most`
        are tried. Raise FitError where the page has no free place for it, or none that costs at most `far`.
        """
        taken = self._around(zone)
        best: Seat | None = None
        rows: Sequence[str] = (text,)
        for parts in range(1, most + 1):
            if best is not None and best[0] < FAR:
                break
            broken = _parted(text, height, parts)
            for i, anchor in enumerate(anchors):
                limit = far if best is None else best[0] - (0.0 if broken == rows else _SPLIT)
                found = seat(broken, anchor, taken, zone, height, prefer, clear, 4.0 * i, limit)
                if found is not None and (best is None or found < best):
                    best, rows = found, broken
        if best is None:
            raise FitError(Problem("paper.size", say("paper.no_room_label", label=text)))
        _, start, elbow, (left, first) = best
        self.draw(polyline((start, elbow)), THIN, layer)
        part = self.part("P")
        for i, row in enumerate(rows):
            self.letter(row, (left, first - i * LINE_PITCH * height), height, layer=layer, part=part)

    def column(
        self,
        labels: Sequence[tuple[str, Point]],
        x: float,
        zone: Box,
        height: float = 3.5,
        layer: str = "lettering",
        even: bool = False,
        lane: float | None = None,
    ) -> None:
        """Letter labels one above the other at `x`, each as near its point as its neighbours let it.

        Where it is `even` they stand at equal pitch about the middle of the points. A leader runs level up to
        the `lane`, an x past all points, before it turns to its label: then no two of them cross.
        The text runs away from the points, to the right of `x` where they lie to its left. Raise FitError
        where the column leaves the zone.
        """
        pitch = LINE_PITCH * height
        ordered = sorted(labels, key=lambda label: label[1][1])
        at = spread([point[1] for _, point in ordered], pitch, zone[1] + pitch, zone[3] - pitch)
        if even and len(ordered) > 1:
            step = min(_EVEN * pitch, (zone[3] - zone[1] - 2.0 * pitch) / (len(ordered) - 1))
            middles = [point[1] for _, point in ordered]
            first = (middles[0] + middles[-1] - step * (len(ordered) - 1)) / 2.0
            wanted = [first + i * step for i in range(len(ordered))]
            at = spread(wanted, min(pitch, step), zone[1] + pitch, zone[3] - pitch)
        for (text, point), y in zip(ordered, at, strict=True):
            way = 1.0 if x > point[0] else -1.0
            box = text_box(text, (x, y - height / 2.0), height, 0.0 if way > 0.0 else 1.0)
            if not inside(box, zone):
                raise FitError(Problem("paper.size", say("paper.no_room_label", label=text)))
            turns = ((x - way * 4.0, y),) if lane is None else ((lane, point[1]), (x - way * 2.0, y))
            self.draw(polyline((point, *turns, (x - way * 1.0, y))), THIN, layer)
            self.letter(text, (x, y - height / 2.0), height, 0.0 if way > 0.0 else 1.0, layer=layer)

    def _around(self, zone: Box) -> Taken:
        """Return all that a label in a zone has to keep clear of, anew where something has been added."""
        state = zone, len(self._segments), tuple(self.labels)
        if self._last is None or self._last[0] != state:
            lines = np.concatenate(self._segments) if self._segments else np.empty((0, 4))
            boxes = np.array([box for _, box in self.labels], dtype=np.float64).reshape(-1, 4)
            boxes += np.array([-_APART, 0.0, _APART, 0.0])
            self._last = state, Taken(lines, boxes, zone)
        return self._last[1]


def _parted(text: str, height: float, parts: int) -> Sequence[str]:
    """Return a label in so many lines, or fewer, the longest of them as short as can be.

    One of two short words stays whole.
    """
    whole = width(text, height)
    wide = whole / parts if whole > _WHOLE * height else whole
    while wide < whole:
        rows = wrap(text, height, wide)
        # A word that is wider by itself would be broken.
        if len(rows) <= parts and " ".join(rows) == text:
            return rows
        wide += height / 2.0
    return (text,)


_WHOLE = 5.5
"""Length, in heights, up to which a label is not parted."""


def _box_segments(box: Box) -> NDArray[np.float64]:
    left, low, right, top = box
    return np.array(
        [
            (left, low, right, low),
            (right, low, right, top),
            (right, top, left, top),
            (left, top, left, low),
        ]
    )
