"""A flat view of the bicycle on a screen: its scale, and what lines, arrows and bodies are as SVG.

Everything is worked out in pixels of the screen, so that lines and letters stay as they are whatever the
scale. Elements carry classes alone: colours and widths are the style sheet's. Lengths of the bicycle are mm,
x to the right and y up; pixels run down. Directions are degrees anticlockwise on the screen.
"""

import math
from collections.abc import Iterable, Sequence
from xml.sax.saxutils import escape, quoteattr

from geometry.clearance.convex import Solid, Space
from geometry.core.frozen import dataclass
from geometry.core.plane import Point, along, angle_of, polar
from geometry.tubes.tube import Vector

HEAD = 7.0
"""Length of an arrow's head, pixels."""
INSET = 12.0
"""How far within the screen's edge a tube is broken off, pixels."""
_SHORT = 2.6 * HEAD
"""What is shorter has its heads outside, pointing in."""
_TURNS = tuple(polar(each) for each in range(0, 360, 4))


@dataclass(frozen=True, slots=True)
class Flat:
    """A view: the axle's place, pixels a millimetre, and the screen's size; `sign` -1 mirrors left-right."""

    scale: float
    origin: Point
    width: float
    height: float
    sign: float = 1.0

    def at(self, point: Sequence[float] | Vector) -> Point:
        """Return a point of the view on the screen."""
        return (
            self.origin[0] + self.sign * self.scale * float(point[0]),
            self.origin[1] - self.scale * float(point[1]),
        )

    def seen(self, inset: float) -> tuple[Point, Point]:
        """Return the lowest and highest corner that the screen shows, mm, `inset` pixels within its edges."""
        ends = (
            sorted(self.sign * (edge - self.origin[0]) / self.scale for edge in (inset, self.width - inset)),
            sorted((self.origin[1] - edge) / self.scale for edge in (inset, self.height - inset)),
        )
        return (ends[0][0], ends[1][0]), (ends[0][1], ends[1][1])


def fitted(points: Iterable[Point], width: float, height: float, margin: float, sign: float = 1.0) -> Flat:
    """Return the largest view in which all points lie `margin` pixels within the screen, in its middle."""
    every = list(points)
    xs, ys = [sign * x for x, _ in every], [y for _, y in every]
    wide, high = max(max(xs) - min(xs), 1.0), max(max(ys) - min(ys), 1.0)
    scale = max(min((width - 2.0 * margin) / wide, (height - 2.0 * margin) / high), 0.05)
    return placed(every, scale, width, height, sign)


def placed(points: Iterable[Point], scale: float, width: float, height: float, sign: float = 1.0) -> Flat:
    """Return the view of a scale that has the points in the screen's middle."""
    every = list(points)
    xs, ys = [sign * x for x, _ in every], [y for _, y in every]
    x = width / 2.0 - scale * (max(xs) + min(xs)) / 2.0
    y = height / 2.0 + scale * (max(ys) + min(ys)) / 2.0
    return Flat(scale, (round(x, 1), round(y, 1)), width, height, sign)


def element(name: str, inner: str = "", **attributes: str) -> str:
    """Return an element with attributes, whose names have _ for -; `kind` are its classes, dots between."""
    kind = attributes.pop("kind", "").replace(".", " ")
    given = {**({"class": kind} if kind else {}), **attributes}
    told = "".join(f" {key.replace('_', '-')}={quoteattr(value)}" for key, value in given.items())
    return f"<{name}{told}>{inner}</{name}>"


def group(inner: Iterable[str], kind: str, **data: str) -> str:
    """Return elements as a group with classes, and what it is in attributes "data-"."""
    return element("g", "".join(inner), kind=kind, **{f"data_{key}": value for key, value in data.items()})


def line(points: Iterable[Point], kind: str, closed: bool = False) -> str:
    """Return a line through points of the screen."""
    return element("path", kind=kind, d=f"{_path(points)}{'Z' if closed else ''}")


def rings(every: Iterable[Iterable[Point]], kind: str) -> str:
    """Return a plate with its cut-outs: closed lines, the inner ones holes."""
    return element("path", kind=kind, fill_rule="evenodd", d="".join(f"{_path(each)}Z" for each in every))


def circle(centre: Point, radius: float, kind: str) -> str:
    """Return a circle, its radius in pixels."""
    return element("circle", kind=kind, cx=_n(centre[0]), cy=_n(centre[1]), r=_n(radius))


def text(words: str, at: Point, kind: str, anchor: str = "middle") -> str:
    """Return words whose middle line runs through a point."""
    return element(
        "text", escape(words), kind=kind, x=_n(at[0]), y=_n(at[1]), text_anchor=anchor,
        dominant_baseline="central",
    )  # fmt: skip


def arrow(start: Point, end: Point, both: bool = True) -> str:
    """Return an arrow from point to point of the screen, with a head at either end or at its end alone."""
    far = math.dist(start, end)
    way = ((end[0] - start[0]) / far, (end[1] - start[1]) / far) if far > 1e-6 else (1.0, 0.0)
    if both and far < _SHORT:
        # The heads come from outside, so that what lies between is seen.
        tails = along(start, (-2.2 * HEAD, way)), along(end, (2.2 * HEAD, way))
        return (
            line((start, end), "shaft")
            + line((tails[0], start), "shaft")
            + line((end, tails[1]), "shaft")
            + _head(start, way)
            + _head(end, (-way[0], -way[1]))
        )
    heads = _head(end, way) + (_head(start, (-way[0], -way[1])) if both else "")
    return line((start, end), "shaft") + heads


def arc(centre: Point, radius: float, start: float, end: float, heads: bool = True) -> str:
    """Return an arrow turning about a point of the screen from one direction to another, degrees."""
    count = max(2, math.ceil(abs(end - start) / 3.0))
    points = [screen(centre, radius, start + (end - start) * i / count) for i in range(count + 1)]
    drawn = line(points, "shaft")
    if not heads or math.dist(points[0], points[-1]) < HEAD:
        return drawn
    back = min(count, max(1, round(count * HEAD / (radius * math.radians(abs(end - start)) + 1e-9))))
    return drawn + _head(points[-1], _unit(points[-1 - back], points[-1]))


def screen(centre: Point, radius: float, degrees: float) -> Point:
    """Return the point so many pixels from another in a direction."""
    x, y = polar(degrees)
    return centre[0] + radius * x, centre[1] - radius * y


def heading(start: Point, end: Point) -> float:
    """Return the direction from one point of the screen to another, degrees."""
    return angle_of((end[0] - start[0], start[1] - end[1]))


def silhouette(solid: Solid, across: Space, up: Space) -> list[Point]:
    """Return the outline of a convex solid as it is seen flat, `across` to the right and `up` upward, mm."""
    found: list[Point] = []
    for cos, sin in _TURNS:
        way = tuple(cos * a + sin * b for a, b in zip(across, up, strict=True))
        point = solid((way[0], way[1], way[2]))
        flat = _dot(point, across), _dot(point, up)
        if not found or math.dist(flat, found[-1]) > 1e-6:
            found.append(flat)
    return found


def _dot(a: Space, b: Space) -> float:
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2]


def _head(tip: Point, way: Point) -> str:
    back, side = along(tip, (-HEAD, way)), (-way[1], way[0])
    return line((tip, along(back, (0.36 * HEAD, side)), along(back, (-0.36 * HEAD, side))), "head", True)


def _unit(start: Point, end: Point) -> Point:
    far = math.dist(start, end) or 1.0
    return (end[0] - start[0]) / far, (end[1] - start[1]) / far


def _path(points: Iterable[Point]) -> str:
    return "M" + "L".join(f"{_n(x)} {_n(y)}" for x, y in points)


def _n(value: float) -> str:
    return f"{value:.1f}"


def broken(first: Point, second: Point, kind: str) -> str:
    """Return the line at which a tube is broken off because it goes on: a shallow wave between its edges."""
    way = _unit(first, second)
    far, side = math.dist(first, second), (-way[1], way[0])
    points = [
        along(first, (far * i / 12.0, way), (0.1 * far * math.sin(math.pi * i / 6.0), side))
        for i in range(13)
    ]
    return line(points, kind)


def cross(centre: Point, arm: float, kind: str) -> str:
    """Return a centre mark whose arms leave the very centre open."""
    x, y = centre
    ways = ((1.0, 0.0), (-1.0, 0.0), (0.0, 1.0), (0.0, -1.0))
    return "".join(line(((x + 2.0 * a, y + 2.0 * b), (x + arm * a, y + arm * b)), kind) for a, b in ways)
