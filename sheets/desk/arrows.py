"""What a view of the frame is handed over as, and the arrows of its measures as they are drawn."""

from collections.abc import Mapping, Sequence
from dataclasses import field

from geometry.core.frozen import dataclass
from geometry.core.plane import Point
from sheets.desk.flat import Flat, arrow, element, group
from sheets.desk.labels import Box, Pin
from sheets.desk.measured import Measure


@dataclass(frozen=True, slots=True)
class Handle:
    """What can be dragged: the key that it sets, where it is on the screen, and its value, mm or degrees.

    One that turns does so about `pivot`; another slides along `way`, a unit vector of the screen.
    """

    key: str
    at: Point
    value: float
    pivot: Point | None = None
    way: Point | None = None


@dataclass(frozen=True, slots=True)
class Picture:
    """A drawn view: its SVG, the boxes of its measures, its handles, and the view itself."""

    svg: str
    boxes: tuple[Box, ...]
    handles: tuple[Handle, ...]
    view: Flat


@dataclass(slots=True)
class Arrows:
    """The arrows of a view as they are drawn, and the boxes that they want."""

    measures: Mapping[str, Measure]
    narrow: bool
    drawn: list[str] = field(default_factory=list)
    pins: list[Pin] = field(default_factory=list)
    lines: list[tuple[Point, Point]] = field(default_factory=list)

    def add(self, key: str, at: Point, prefer: float, *shapes: str) -> None:
        """Draw a measure's arrow, dashed where nobody measured it; nothing for one that does not come up."""
        measure = self.measures.get(key)
        if measure is None:
            return
        kind = "measure.missing" if measure.missing else "measure"
        self.drawn.append(group(shapes, kind, key=key))
        self.pins.append(Pin(key, at, prefer, box_size(measure, self.narrow)))

    def span(
        self, key: str, start: Point, end: Point, prefer: float, *more: str, about: Point | None = None
    ) -> None:
        """Draw a measure's arrow between two points of the screen; its box is about the middle or a point."""
        middle = ((start[0] + end[0]) / 2.0, (start[1] + end[1]) / 2.0)
        if key in self.measures:
            self.lines.append((start, end))
        self.add(key, about or middle, prefer, arrow(start, end), *more)


def box_size(measure: Measure, narrow: bool) -> Point:
    """Return the size of a measure's box, pixels: its letter, and its value where there is room."""
    mark = max(20.0, 8.0 * len(measure.letter or "Ø") + 10.0)
    if narrow:
        return max(26.0, mark), 26.0
    return mark + max(44.0, 7.6 * min(len(measure.value), 16) + 16.0), 28.0


def framed(view: Flat, alt: str, parts: Sequence[str]) -> str:
    """Return a whole SVG of a view; `alt` says what it shows to who does not see it."""
    wide, high = f"{view.width:.0f}", f"{view.height:.0f}"
    return element(
        "svg", "".join(parts), xmlns="http://www.w3.org/2000/svg", viewBox=f"0 0 {wide} {high}", width=wide,
        height=high, role="img", aria_label=alt,
    )  # fmt: skip
