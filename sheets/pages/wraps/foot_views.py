"""Both views of a post's lower end on the dropout, as they are drawn: see foot.py."""

import itertools
import math
from collections.abc import Callable

from fonts.drafting import LINE_PITCH, width
from geometry.core.plane import Point, line_in_box
from geometry.core.polygon import Ring, sides
from geometry.core.say import named
from geometry.mount.foot import Foot
from sheets.ink.drawing import Drawing
from sheets.ink.marks import (
    BOLD,
    CHAIN,
    HIDDEN,
    PHANTOM,
    SOLID,
    THICK,
    THIN,
    arrow_head,
    break_line,
    polyline,
)
from sheets.ink.placing import Box
from sheets.ink.records import Curve, Segment, Style
from sheets.pages.wraps.foot import READ, ROW, SHOWN, SMALL, STRAIGHT, UNDER, FootFigure
from sheets.words.tell import tell

_LAYER = "joint"
_BESIDE = 9.0
"""How much of the dropout's edge is shown beside the post, mm."""
_HATCH = 2.2


def draw_foot(drawing: Drawing, one: FootFigure, corner: Point) -> None:
    """Draw a figure in the block whose lower left corner is `corner`."""
    left, top = corner[0] + 1.0, corner[1] + one.size[1]
    drawing.letter(one.title, (left, top - 1.3 * READ), READ, layer="girth")
    y = top - 1.8 * READ
    if one.foot is not None and one.foot.depths is not None:
        least, most = one.foot.depths
        level = y - 2.0 * ROW - one.scale * (SHOWN - least)
        # Depth below the face runs down the page: `level` is where the face would lie.
        end = max(most, one.foot.length if one.foot.shape != "whole" else most)
        first = _Views(drawing, one, one.foot, level, end)
        first.side(left + 0.19 * one.wide)
        if one.foot.metal is not None:
            first.across(corner[0] + one.across)
        y -= one.high
    pitch, part = LINE_PITCH * one.letter, drawing.part("P")
    for i, row in enumerate(one.said):
        drawing.letter(row, (left, y - (i + 0.8) * pitch), one.letter, layer="girth", part=part)


class _Views:
    """Both views of an end; `level` is the page's height of the mount face, `end` the deepest that counts."""

    def __init__(self, drawing: Drawing, one: FootFigure, foot: Foot, level: float, end: float) -> None:
        self.drawing, self.one, self.foot = drawing, one, foot
        self.level, self.end = level, end
        least, most = foot.depths or (0.0, 0.0)
        self.least, self.most, self.k = least, most, one.scale
        self.top, self.low = self.height(least - SHOWN), self.height(end + UNDER)

    def height(self, deep: float) -> float:
        """Return the page's height of a depth below the mount face."""
        return self.level - self.k * deep

    def side(self, middle: float) -> None:
        """Draw the view from outboard: the dropout's edge under the post, which stands upright."""
        foot, drawing = self.foot, self.drawing
        radius = (foot.side[1] - foot.side[0]) / 2.0
        half = radius + _BESIDE

        def at(u: float, deep: float) -> Point:
            return middle - self.k * u, self.height(deep)

        wide = self.k * half
        box: Box = (middle - wide, self.low, middle + wide, self.height(self.least - 4.0))
        shape = self.one.shape
        rings = [] if shape is None else [(ring, THICK, "edge") for ring in shape.outline.rings]
        if shape is not None and shape.pad is not None:
            rings.append((shape.pad.ring, HIDDEN, "pad"))
        for number, (ring, style, what) in enumerate(rings, start=1):
            self._ring(ring, style, f"{what} {number}", middle, box)
        whole = foot.shape == "whole"
        cut = (
            [at(u, deep) for u, deep in foot.edge]
            if whole
            else [at(u, foot.length) for u in (-radius, radius)]
        )
        if whole and foot.bends <= STRAIGHT:
            cut = [cut[0], cut[-1]]
        drawing.show(Curve(f"{self.one.hole} lower end, cut", tuple(cut)), BOLD, _LAYER)
        self._post(middle, radius, (cut[0], cut[-1]))
        if whole:
            self._lengths(middle, radius)
        if shape is not None:
            self._letter(tell("name.dropout"), (middle, self.low - self.one.letter - 1.0), 0.5)
            if shape.pad is not None:
                self._letter(
                    tell("name.pad"), (middle - 2.0, self.height(self.most) - self.one.letter - 1.0), 1.0
                )
        self._caption(tell("foot.seen.outboard"), middle)
        self._named_sides(middle, wide)

    def _ring(self, ring: Ring, style: Style, name: str, middle: float, box: Box) -> None:
        """Draw what of a line lies in the view, in runs that join."""
        hole = next(each for each in self.one.placement.holes if each.name == self.one.hole)
        t, n = self.one.placement.t, self.one.placement.n
        runs: list[list[Point]] = []
        for x0, y0, x1, y1 in sides(ring).tolist():
            ends = []
            for x, y in ((x0, y0), (x1, y1)):
                dx, dy = x - hole.centre[0], y - hole.centre[1]
                u, up = dx * t[0] + dy * t[1], dx * n[0] + dy * n[1]
                ends.append((middle - self.k * u, self.height(-up)))
            piece = line_in_box(ends[0], ends[1], box[:2], box[2:])
            if piece is None or math.dist(*piece) < 1e-6:
                continue
            if runs and math.dist(runs[-1][-1], piece[0]) < 1e-6:
                runs[-1].append(piece[1])
            else:
                runs.append(list(piece))
        for i, run in enumerate(runs, start=1):
            if sum(math.dist(a, b) for a, b in itertools.pairwise(run)) >= 1.0:
                line = Curve(f"{self.one.hole} lower end, {name}, part {i}", tuple(run))
                self.drawing.show(line, style, _LAYER)

    def across(self, middle: float) -> None:
        """Draw the view along the posts, from the near one to the far one: outboard is at the left."""
        foot, drawing = self.foot, self.drawing
        assert foot.metal is not None  # the caller has looked
        low, high = foot.metal
        z0 = (foot.side[0] + foot.side[1]) / 2.0
        radius = (foot.side[1] - foot.side[0]) / 2.0

        def x(z: float) -> float:
            return middle - self.k * (z - z0)

        edge, base = self.height(self.least), self.low
        hole = self.one.hole
        for z, name in ((low, "inboard"), (high, "outboard")):
            if math.isfinite(z):
                drawing.show(
                    Segment(f"{hole} lower end, metal {name}", (x(z), edge), (x(z), base)), THICK, _LAYER
                )
        drawing.draw(polyline(((x(high), edge), (x(low), edge))), THICK, _LAYER)
        drawing.draw(break_line((x(high), base), (x(low), base)), THIN, _LAYER)
        self._hatch((x(high), base, x(low), edge))
        if low < 0.0:
            # Where the plate ends and the pad begins.
            drawing.draw(polyline(((x(0.0), edge), (x(0.0), base))), HIDDEN, _LAYER)
        ends = self._end_across(x, low, high, radius, z0)
        self._post(middle, radius, ends)
        if foot.shape == "whole":
            self._seams(x, edge)
        self._levels(x)
        self._caption(tell("foot.seen.along"), middle)

    def _end_across(
        self, x: Callable[[float], float], low: float, high: float, radius: float, z0: float
    ) -> tuple[Point, Point]:
        """Draw the end as this view shows it; return where the post's left and right sides end."""
        foot, at = self.foot, x
        edge, end = self.height(self.least), self.height(foot.length)
        inner, outer = max(low, z0 - radius), min(high, z0 + radius)
        # Where metal goes on past a side of the post, that side ends on its edge.
        over = foot.shape != "whole"
        points: list[Point] = [(at(z0 + radius), end if over and high < z0 + radius else edge)]
        if over and high < z0 + radius:
            points += [(at(outer), end), (at(outer), edge)]
        points.append((at(inner), edge))
        if over and low > z0 - radius:
            points += [(at(inner), end), (at(z0 - radius), end)]
        self.drawing.show(Curve(f"{self.one.hole} lower end, cut across", tuple(points)), BOLD, _LAYER)
        return points[0], points[-1]

    def _post(self, middle: float, radius: float, ends: tuple[Point, Point]) -> None:
        """Draw the post's sides down to their ends, its axis and its bore, broken off at the top."""
        draw, top = self.drawing.draw, self.top
        radius *= self.k
        for end in ends:
            draw(polyline(((end[0], top), end)), THICK, _LAYER)
        draw(break_line((middle - radius, top), (middle + radius, top)), THIN, _LAYER)
        low = min(ends[0][1], ends[1][1])
        draw(polyline(((middle, top + 2.5), (middle, low - 3.0))), CHAIN, _LAYER)
        half = self.k * self.one.bore / 2.0
        for side in (-half, half):
            draw(polyline(((middle + side, top), (middle + side, low))), HIDDEN, _LAYER)

    def _seams(self, x: Callable[[float], float], edge: float) -> None:
        """Draw the seam on both sides as far as there is metal for it, each side's leg with its size."""
        foot, leg, at = self.foot, self.one.seam.leg, x
        for z, room, way in zip(foot.side, foot.room, (-1.0, 1.0), strict=True):
            reach = min(leg, room)
            if reach < 0.3:
                continue
            corner = (at(z), edge)
            wedge = (corner, (at(z + way * reach), edge), (at(z), edge + self.k * leg))
            self.drawing.draw(polyline(wedge, closed=True), SOLID, _LAYER)

    def _lengths(self, middle: float, radius: float) -> None:
        """Letter beside both sides of the post how far its cut lies below the mount face, stock in it."""
        draw = self.drawing
        for u, deep in (self.foot.edge[0], self.foot.edge[-1]):
            way = -1.0 if u > 0.0 else 1.0
            x, foot = middle + way * (self.k * radius + 2.5), self.height(deep)
            draw.draw(polyline(((middle + way * self.k * radius, foot), (x + way * 0.8, foot))), THIN, _LAYER)
            draw.draw(polyline(((x, foot), (x, self.top))), THIN, _LAYER)
            for tip, heading in (((x, foot), 270.0), ((x, self.top), 90.0)):
                draw.draw(arrow_head(tip, heading, 2.0), SOLID, _LAYER)
            text = tell("foot.to_face", long=deep + self.one.facing)
            fits = width(text, self.one.letter) < self.top - foot - 1.0
            letter = self.one.letter if fits else SMALL
            at = (x - 0.8 if way < 0.0 else x + 0.8 + letter, (foot + self.top) / 2.0)
            draw.letter(text, at, letter, 0.5, 90.0, layer=_LAYER)

    def _levels(self, x: Callable[[float], float]) -> None:
        """Letter the sideways lengths under the view: how wide the metal is, and where the post's middle."""
        at, drawing = x, self.drawing
        for number, (a, b, text) in enumerate(self.one.levels):
            y = self.low - 4.5 - number * ROW
            start, end = sorted((at(a), at(b)))
            for edge in (start, end):
                drawing.draw(polyline(((edge, y - 0.8), (edge, y + 0.8))), THIN, _LAYER)
            drawing.draw(polyline(((start, y), (end, y))), THIN, _LAYER)
            for tip, heading in (((start, y), 180.0), ((end, y), 0.0)):
                if end - start > 4.0:
                    drawing.draw(arrow_head(tip, heading, 1.8), SOLID, _LAYER)
            self._letter(text, (end + 1.2, y - self.one.letter / 2.0))
        if self.foot.shape == "whole":
            leg = self.one.seam.leg
            where = (at(self.foot.side[1]) - 1.5, self.height(self.least) + self.k * leg + 0.8)
            self._letter(tell("foot.leg"), where, 1.0)
        disc = self.one.placement.rotor.outer_face_z
        low = self.foot.metal[0] if self.foot.metal else 0.0
        if disc is not None and abs(disc - low) < 12.0:
            place, top = at(disc), self.top - 2.0
            drawing.draw(polyline(((place, self.low + 1.0), (place, top))), PHANTOM, _LAYER)
            self._letter(tell("foot.disc"), (place + 1.0, top - self.one.letter))

    def _caption(self, text: str, middle: float) -> None:
        self._letter(text, (middle, self.top + 3.8), 0.5)

    def _letter(self, text: str, at: Point, anchor: float = 0.0) -> None:
        self.drawing.letter(text, at, self.one.letter, anchor, layer=_LAYER)

    def _named_sides(self, middle: float, half: float) -> None:
        """Letter on which side the other post stands, and which line is the dropout's edge."""
        other = named("far" if self.one.hole == "near" else "near")
        y, way = self.low - ROW - 3.0, 180.0 if self.one.hole == "near" else 0.0
        sign = -1.0 if self.one.hole == "near" else 1.0
        tip = (middle + sign * half, y)
        self.drawing.draw(polyline(((middle + sign * 3.0, y), tip)), THIN, _LAYER)
        self.drawing.draw(arrow_head(tip, way, 2.0), SOLID, _LAYER)
        text = tell("foot.other", hole=other, part=named(self.one.placement.interface.part))
        self._letter(text, (middle, y - ROW - 1.0), 0.5)

    def _hatch(self, area: Box) -> None:
        left, low, right, top = area
        offset = _HATCH
        while offset < right - left + top - low:
            a = (left + max(0.0, offset - (top - low)), low + min(offset, top - low))
            b = (left + min(offset, right - left), low + max(0.0, offset - (right - left)))
            self.drawing.draw(polyline((a, b)), THIN, _LAYER)
            offset += _HATCH
