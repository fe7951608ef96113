"""One strip of paper that is wrapped round a tube: its outline, lines and ticks, at 1:1.

A strip is laid out with the tube's direction up the page. Its middle is the mount side, its left edge and its
right-hand seam meet on the side away from the mount, and outboard is to the left; the printed side lies out.
"""

import math
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from fonts.drafting import width
from geometry.core.frozen import dataclass
from geometry.core.plane import along, line_in_box, polar
from geometry.tubes.development import develop, girth
from geometry.tubes.tube import Tube, Vector, surface
from sheets.ink.drawing import Drawing
from sheets.ink.marks import BOLD, CHAIN, HIDDEN, PHANTOM, SOLID, THIN, arrow_head, polyline
from sheets.ink.placing import Box
from sheets.ink.records import Circle, Curve, Point, Style
from sheets.words.tell import tell

Role = Literal["hole", "edge", "zone", "rotor", "brace"]
Middle = Literal["mount", "axle", "rear"]

OVERLAP = 8.0
"""Width of the paper that goes under the other edge, mm."""
HEAD = 20.0
"""Room for a strip's title and girth above it, mm."""
FOOT = 9.5
"""Room for the girth below it, mm."""
READ, SMALL = 3.5, 2.5
"""Lettering heights, mm: read at the bench, and the rest."""
_STYLES: dict[Role, tuple[Style, str]] = {
    "hole": (BOLD, "cut"),
    "edge": (BOLD, "cut"),
    "zone": (HIDDEN, "zone"),
    "rotor": (PHANTOM, "rotor"),
    "brace": (CHAIN, "brace"),
}
_ARM, _OPEN, _PUNCH = 4.0, 0.6, 3.0
_RING = 52
"""Points round a strip's edges: each is worked out, and its chord lies within 0.06 mm of a tube of 60."""
_TURN = 2.0 * math.pi


@dataclass(frozen=True, slots=True)
class Line:
    """An unbroken line on a strip through (s, turn); `labels` may stand beside it, long and short."""

    name: str
    role: Role
    s: Vector
    turn: Vector
    labels: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Punch:
    """Where a drill's axis pierces the tube's outside, turn from -pi to pi."""

    name: str
    s: float
    turn: float


@dataclass(frozen=True, slots=True)
class Strip:
    """A strip round `tube` from s = `low` to `high`, mm, in one piece of its taper.

    The tick marked d stands at s = zero + rate * d. On a tube d is mm along the tube itself, s / cos(splay),
    which is what a rule on it reads; on a boss it counts from the raw face, facing included, the upper edge.
    What is drawn on it is named from its `name`; `title` is what it is called. `middle` is the tube's side in
    the strip's middle, `up` is what the arrow up it says, `inside` is lettered on the strip and `notes`
    beside it, on the sheet.
    """

    name: str
    title: str
    tube: Tube
    low: float
    high: float
    lines: tuple[Line, ...]
    punches: tuple[Punch, ...]
    zero: float
    rate: float
    middle: Middle
    up: str
    inside: tuple[str, ...]
    notes: tuple[str, ...]
    paper: float


class Laid:
    """A strip unrolled in its block, the block's lower left corner at `corner` on the page."""

    def __init__(self, strip: Strip, corner: Point = (0.0, 0.0)) -> None:
        """Unroll a strip; raise GeometryError where it has no flat form."""
        self.strip = strip
        self._shift = np.zeros(2)
        self._points: dict[tuple[float, float], Point] = {}
        ring = np.linspace(-math.pi, math.pi, _RING + 1)
        ends = [self.at(np.full_like(ring, s), ring) for s in (strip.low, strip.high)]
        low, high = np.concatenate(ends).min(axis=0), np.concatenate(ends).max(axis=0)
        lettered = max(width(text, READ) for text in (strip.title, tell("wrap.meet")))
        self.size = (max(high[0] - low[0] + OVERLAP, lettered) + 2.0, high[1] - low[1] + HEAD + FOOT)
        self._shift = np.asarray(corner) + np.array([1.0, FOOT]) - low
        self.box: Box = (*(low + self._shift).tolist(), *(high + self._shift).tolist())
        self.middle = float(self._shift[0])

    def at(self, s: float | Vector, turn: float | Vector) -> NDArray[np.float64]:
        """Return where points of the tube's outside lie on the page, (n, 2)."""
        strip = self.strip
        s, turn = np.broadcast_arrays(np.atleast_1d(s), np.atleast_1d(turn))
        flat = develop(strip.tube, s, turn, paper=strip.paper, within=(strip.low, strip.high))
        return flat[:, ::-1] + self._shift

    def point(self, s: float, turn: float) -> Point:
        """Return where one point lies on the page; the ends of a strip are asked for many times."""
        if (s, turn) not in self._points:
            x, y = self.at(s, turn)[0]
            self._points[s, turn] = float(x), float(y)
        return self._points[s, turn]

    def curve(self, name: str, s: Vector, turn: Vector) -> Curve:
        """Return a line on the strip as a feature."""
        points = tuple((float(x), float(y)) for x, y in self.at(s, turn))
        space = tuple((float(x), float(y), float(z)) for x, y, z in surface(self.strip.tube, s, turn))
        return Curve(name, points, space, self.strip.tube.name, self.strip.paper)

    def tick(self, d: float) -> float:
        """Return the s of the tick marked d."""
        return self.strip.zero + self.strip.rate * d


def draw_lines(drawing: Drawing, laid: Laid) -> None:
    """Draw a strip's outline, its lines, punch crosses, middle line and girths."""
    _outline(drawing, laid)
    for line in laid.strip.lines:
        style, layer = _STYLES[line.role]
        drawing.show(laid.curve(line.name, line.s, line.turn), style, layer)
    for punch in laid.strip.punches:
        _punch(drawing, laid, punch)
    _middle(drawing, laid)
    _girths(drawing, laid)


def _outline(drawing: Drawing, laid: Laid) -> None:
    """Draw the strip's four edges and the overlap behind its seam."""
    strip = laid.strip
    ends = np.array([strip.low, strip.high])
    ring = np.linspace(-math.pi, math.pi, _RING + 1)
    drawing.show(laid.curve(f"{strip.name}, left edge", ends, np.full(2, -math.pi)), BOLD, "strip")
    drawing.show(laid.curve(f"{strip.name}, seam", ends, np.full(2, math.pi)), BOLD, "strip")
    for side, s in (("lower", strip.low), ("upper", strip.high)):
        feature = laid.curve(f"{strip.name}, {side} edge", np.full_like(ring, s), ring)
        drawing.show(feature, BOLD, "strip")
    foot, head = laid.at(ends, math.pi)
    long = float(np.hypot(*(head - foot)))
    run = (head - foot) / long
    out, slope = OVERLAP * np.array([run[1], -run[0]]), min(3.0, long / 4.0)
    corners = (foot, foot + out + slope * run, head + out - slope * run, head)
    drawing.draw(polyline([(float(x), float(y)) for x, y in corners]), THIN, "strip")
    _name_overlap(drawing, laid)


def _name_overlap(drawing: Drawing, laid: Laid) -> None:
    """Letter along the overlap what it is for, clear of the crosses that reach onto it."""
    strip = laid.strip
    crosses = [laid.point(punch.s, math.pi)[1] for punch in strip.punches]
    middles = np.linspace(strip.low, strip.high, 41)
    for text in (tell("wrap.overlap.glue"), tell("wrap.overlap.bare")):
        half = width(text, SMALL) / 2.0
        for s in sorted(middles, key=lambda s: abs(s - (strip.low + strip.high) / 2.0)):
            x, y = laid.point(float(s), math.pi)
            from_end = min(y - laid.point(strip.low, math.pi)[1], laid.point(strip.high, math.pi)[1] - y)
            if from_end < half + 4.0 or any(abs(y - at) < half + _ARM + 1.0 for at in crosses):
                continue
            at = (x + (OVERLAP + SMALL) / 2.0, y)
            drawing.letter(text, at, SMALL, 0.5, 90.0, layer="strip")
            return


def _punch(drawing: Drawing, laid: Laid, punch: Punch) -> None:
    """Draw a punch cross; near the seam on both sides of it, so that it is whole when the edges meet."""
    left, right = laid.point(punch.s, -math.pi)[0], laid.point(punch.s, math.pi)[0] + OVERLAP
    low, high = (laid.point(end, punch.turn)[1] for end in (laid.strip.low, laid.strip.high))
    copies = [laid.point(punch.s, punch.turn + lap * _TURN) for lap in (-1, 0, 1)]
    seen = [copy for copy in copies if left - _ARM < copy[0] < right - _ARM]
    for x, y in seen:
        for quarter in range(4):
            way = polar(90.0 * quarter)
            ends = along((x, y), (_OPEN, way)), along((x, y), (_ARM, way))
            arm = line_in_box(*ends, (left, low), (right, high))
            if arm is not None:
                drawing.draw(polyline(arm), BOLD, "cut")
    x, y = max(seen)
    if low + _PUNCH / 2.0 < y < high - _PUNCH / 2.0:
        drawing.show(Circle(f"punch {punch.name}", (x, y), _PUNCH), BOLD, "cut")


def holes(strip: Strip) -> list[tuple[float, float]]:
    """Return the stretches of the middle line that lie in or beside a hole, ascending and apart."""
    spans = [
        (max(float(line.s.min()), strip.low), min(float(line.s.max()), strip.high))
        for line in strip.lines
        if line.role == "hole" and np.any(np.abs(line.turn) < math.pi / 4.0)
    ]
    merged: list[tuple[float, float]] = []
    for a, b in sorted(spans):
        if merged and a <= merged[-1][1]:
            merged[-1] = (merged[-1][0], max(b, merged[-1][1]))
        else:
            merged.append((a, b))
    return merged


def _middle(drawing: Drawing, laid: Laid) -> None:
    """Draw the middle line, broken where a hole is cut so that the punch finds its centre open."""
    strip = laid.strip
    stops = [strip.low, *(s for span in holes(strip) for s in span), strip.high]
    parts = [(a, b) for a, b in zip(stops[::2], stops[1::2], strict=True) if b - a > 1.0]
    for number, (a, b) in enumerate(parts, start=1):
        part = f", part {number}" if len(parts) > 1 else ""
        feature = laid.curve(f"{strip.name}, {strip.middle} side{part}", np.array([a, b]), np.zeros(2))
        drawing.show(feature, CHAIN, "strip")


def _girths(drawing: Drawing, laid: Laid) -> None:
    """Letter the title and the paper's own girth at both ends, from edge to seam."""
    strip, (left, low, _, top) = laid.strip, laid.box
    for s, y, text_y in ((strip.high, top + 3.0, top + 4.5), (strip.low, low - 3.0, low - 4.5 - READ)):
        start, end = (laid.point(s, turn)[0] for turn in (-math.pi, math.pi))
        drawing.draw(polyline(((start, y), (end, y))), THIN, "girth")
        for x, heading in ((start, 180.0), (end, 0.0)):
            drawing.draw(arrow_head((x, y), heading, 2.5), SOLID, "girth")
        text = tell("wrap.girth", girth=girth(strip.tube, s, strip.paper))
        drawing.letter(text, ((start + end) / 2.0, text_y), READ, 0.5, layer="girth")
    drawing.letter(tell("wrap.meet"), (left, top + 9.5), READ, layer="girth")
    drawing.letter(strip.title, (left, top + 15.0), READ, layer="girth")
