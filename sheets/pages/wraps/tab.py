"""A tab against its tube: the cope lines on the tube, and the flat pattern of the tab to saw it by."""

import math
from collections.abc import Mapping

import numpy as np

from fonts.drafting import width
from geometry.core.errors import GeometryError
from geometry.core.frozen import dataclass
from geometry.core.plane import along, polar, short
from geometry.core.say import named, say
from geometry.mount.placement import Hole, Placement
from geometry.tubes.plates import PlateCrossing, plate_against
from geometry.tubes.tube import Tube, section
from sheets.ink.drawing import Drawing
from sheets.ink.marks import BOLD, CHAIN, SOLID, THICK, arrow_head, cross, polyline
from sheets.ink.placing import grown, overlaps, text_box
from sheets.ink.records import Arc, Circle, Curve, Point, Segment
from sheets.job.read import Job
from sheets.pages import title as words
from sheets.pages.wraps.strip import READ
from sheets.pages.wraps.tube import Mark
from sheets.words.lengths import units
from sheets.words.tell import tell

_LEAST = 0.2
"""Least cosine of a tilt at which a tab still stands on its tube."""
_AROUND, _BESIDE = 8.0, 12.0
"""Room below and beside a hole, mm."""
_NAME = 1.5
"""White between the tab's outline and a hole's name over it, mm."""
_MEETS = 1.0
"""How far beside the end of its cope a tab's end may stand and still be sawn into it, mm."""
_LINE, _FOOT = 5.25, 2.0
_ROOM = 20.0
"""Least height of a tab's plate under its holes at which words have room on it, mm."""


@dataclass(frozen=True, slots=True)
class Plate:
    """The flat pattern of one face of a tab, its mount side up, as that face is seen from its own side."""

    edge: PlateCrossing
    tube: str
    placement: Placement
    thick: float

    @property
    def radius(self) -> float:
        """Return the radius of a plain tab's ends about its holes, mm."""
        return words.tab_radius(self.placement)

    @property
    def said(self) -> tuple[str, ...]:
        """Return what stands over the pattern."""
        plain = tell("wrap.plain.tab", thick=short(self.thick), radius=self.radius)
        open_end = any(not meets for _, _, meets in self.ends.values())
        foot = (tell("wrap.plain.open"),) if open_end else ()
        return self.title, self.seen, plain, tell("wrap.plain.differs"), *foot

    @property
    def title(self) -> str:
        """Return what the pattern is called."""
        return tell(f"wrap.tab.{self.edge.face}")

    @property
    def seen(self) -> str:
        """Return from where the face is seen."""
        return tell(f"wrap.seen.{self.edge.face}")

    def flat(self, x: float, y: float) -> Point:
        """Return a point of the side view on the pattern; from outboard the tube runs up to the left."""
        t, n = self.placement.t, self.placement.n
        up = x * t[0] + y * t[1]
        return -up if self.edge.face == "outer" else up, x * n[0] + y * n[1]

    @property
    def ends(self) -> dict[str, tuple[Point, float, bool]]:
        """Return by hole a plain tab's foot, how far beside the hole that is, and whether its cope meets it.

        An end below which the tube is not known yet stops level with the cope.
        """
        cope = [self.flat(float(x), float(y)) for x, y in self.edge.shape]
        found = {}
        for hole in self.placement.holes:
            side = math.copysign(
                self.radius, 1.0 if (hole.name == "far") is (self.edge.face == "inner") else -1.0
            )
            reach = self.flat(hole.centre[0], hole.centre[1])[0] + side
            _, foot = min((abs(end[0] - reach), end) for end in (cope[0], cope[-1]))
            meets = abs(foot[0] - reach) <= _MEETS
            found[hole.name] = foot if meets else (reach, foot[1]), side, meets
        return found

    @property
    def points(self) -> list[Point]:
        """Return what the pattern has to hold."""
        shown = [self.flat(float(x), float(y)) for x, y in self.edge.shape]
        ends = self.radius + 1.0
        for hole in self.placement.holes:
            u, v = self.flat(hole.centre[0], hole.centre[1])
            name = self.name_height(hole)
            above, below = max(ends, name + READ + 1.0), max(_AROUND, 1.0 - name)
            # Inches take more letters than mm, for which the usual room is made.
            half = max(_BESIDE, ends)
            half = half if units() == "mm" else max(half, width(_label(hole), READ) / 2.0 + 1.5)
            shown += [(u - half, v + above), (u + half, v - below)]
        return shown

    def name_height(self, hole: Hole) -> float:
        """Return how far over a hole its name's baseline lies, mm: minus where the edge runs above it."""
        u, v = self.flat(hole.centre[0], hole.centre[1])
        edge = np.array([self.flat(float(x), float(y)) for x, y in self.edge.shape])
        lines = np.hstack((edge[:-1], edge[1:]))
        over, under = self.radius + _NAME, -_AROUND - READ - 0.2
        for height in (over, under):
            place = grown(text_box(_label(hole), (u, v + height), READ, 0.5), 1.0)
            if not overlaps(lines, place).any():
                return height
        return over

    @property
    def size(self) -> tuple[float, float]:
        """Return width and height of the block that it takes, mm."""
        us, vs = zip(*self.points, strict=True)
        wide = max(max(us) - min(us), *(width(each, READ) for each in self.said)) + 2.0
        return wide, max(vs) - min(vs) + _LINE * len(self.said) + 1.5 + _FOOT


def _label(hole: Hole) -> str:
    return tell("wrap.hole", hole=named(hole.name), diameter=hole.diameter)


def tab_edges(job: Job, placement: Placement, tube: Tube) -> tuple[PlateCrossing, ...]:
    """Return the cope lines of the tab's inner and outer face on the mount side; GeometryError for none.

    It is fitted with its stock for facing on, which stands inboard of where the inner face ends.
    """
    stock = job.process.facing
    thick = words.tab_thickness(job, placement) + stock
    face = placement.interface
    # The plate's ends run square to its hole line down to the tube, which the tilt turns away from it.
    tilt = math.radians(placement.tilt)
    if math.cos(tilt) < _LEAST:
        told = say("wrap.turned_away", tilt=placement.tilt, tube=tube.name)
        raise GeometryError.at("mount.tilt", told)
    half, past = section(tube, face.x_far).height / 2.0, words.tab_radius(placement)
    ends = [
        x / math.cos(tilt) + (half + tube.offset) * math.tan(tilt)
        for x in (face.x_near - past, face.x_far + past)
    ]
    found = plate_against(
        tube,
        (placement.holes[0].centre[0], placement.holes[0].centre[1], placement.lateral_z - stock),
        (0.0, 0.0, 1.0),
        thick,
        within=(min(ends), max(ends)),
    )
    first: dict[str, PlateCrossing] = {}
    for curve in found:
        first.setdefault(curve.face, curve)
    return tuple(first.values())


def tab_reach(placement: Placement, edges: tuple[PlateCrossing, ...]) -> tuple[float, float]:
    """Return how far a tab runs from its hole line down to its tube, the least and the most, mm.

    Both faces count, at both ends: a tube is not met alike by them.
    """
    n, line = np.asarray(placement.n), placement.interface.h
    ends = [line - float(edge.shape[i] @ n) for edge in edges for i in (0, -1)]
    return min(ends), max(ends)


def tab_marks(edges: tuple[PlateCrossing, ...]) -> list[Mark]:
    """Return the tab's cope lines on the tube."""
    return [
        Mark(f"tab, {edge.face} face", "edge", edge.s, edge.turn, (tell(f"wrap.face.{edge.face}"),))
        for edge in edges
    ]


def draw_plate(drawing: Drawing, plate: Plate, corner: Point) -> None:
    """Draw a tab's flat pattern in the block whose lower left corner is `corner`."""
    us, vs = zip(*plate.points, strict=True)
    high = plate.size[1]
    shift = (corner[0] + 1.0 - min(us), corner[1] + _FOOT - min(vs))

    def at(x: float, y: float) -> Point:
        u, v = plate.flat(x, y)
        return u + shift[0], v + shift[1]

    edge = plate.edge
    points = tuple(at(float(x), float(y)) for x, y in edge.shape)
    space = tuple((float(x), float(y), float(z)) for x, y, z in edge.space)
    # The pattern lies flat, so that no thickness of paper enters it.
    drawing.show(Curve(f"tab edge, {edge.face} face", points, space, plate.tube, 0.0), BOLD, "cut")
    for hole in plate.placement.holes:
        x, y = at(hole.centre[0], hole.centre[1])
        drawing.show(Circle(f"tab, {edge.face} face, hole {hole.name}", (x, y), hole.diameter), BOLD, "drill")
        drawing.draw(cross((x, y), hole.diameter / 2.0 + 3.5), BOLD, "drill")
        drawing.letter(_label(hole), (x, y + plate.name_height(hole)), READ, 0.5, layer="drill")
    ends = sorted(at(hole.centre[0], hole.centre[1]) for hole in plate.placement.holes)
    (first, y), (last, _) = ends
    line = Segment(f"tab, {edge.face} face, hole line", (first - _AROUND, y), (last + _AROUND, y))
    drawing.show(line, CHAIN, "drill")
    top = corner[1] + high
    for i, line_ in enumerate(plate.said):
        drawing.letter(line_, (corner[0] + 1.0, top - 4.5 - _LINE * i), READ, layer="girth")
    _outline(drawing, plate, shift, {hole.name: at(*hole.centre[:2]) for hole in plate.placement.holes})
    # Between holes and edge the plate itself has room for what is said of it.
    middle = (first + last) / 2.0
    crest = max([v for u, v in points if first <= u <= last] or [v for _, v in points])
    if y - crest > _ROOM:
        drawing.letter(tell("wrap.cut.here"), (middle, crest + 2.5), READ, 0.5, layer="arrows")
        way = 180.0 if edge.face == "outer" else 0.0
        tip = along((middle, crest + 9.5), (12.0, polar(way)))
        drawing.draw(polyline(((middle, crest + 9.5), along(tip, (-1.5, polar(way))))), THICK, "arrows")
        drawing.draw(arrow_head(tip, way), SOLID, "arrows")
        start, anchor = (middle + 2.0, 0.0) if way else (middle - 2.0, 1.0)
        drawing.letter(tell("wrap.tab.up"), (start, crest + 9.5 - READ / 2.0), READ, anchor, layer="arrows")


def _outline(drawing: Drawing, plate: Plate, shift: Point, holes: Mapping[str, Point]) -> None:
    """Draw a plain tab's outline, from its cope round both holes: a tab of one's own may be another."""
    radius, of = plate.radius, plate.edge.face
    for which, (foot, side, _) in plate.ends.items():
        x, y = holes[which]
        low, high = (foot[0] + shift[0], foot[1] + shift[1]), (x + side, y)
        if low[1] < y:
            drawing.show(Segment(f"tab outline, {of} face, {which} end", low, high), THICK, "mount")
        start = 0.0 if side > 0.0 else 90.0
        arc = Arc(f"tab outline, {of} face, {which} corner", (x, y), 2.0 * radius, start, start + 90.0)
        drawing.show(arc, THICK, "mount")
    near, far = (along(holes[which], (radius, polar(90.0))) for which in ("near", "far"))
    drawing.show(Segment(f"tab outline, {of} face, top", near, far), THICK, "mount")
