"""Which lines of a drawing are the dropout: joined end to end, the outermost its edge, the rest its holes."""

import itertools
import math
from collections.abc import Iterable, Sequence
from pathlib import PurePath

import numpy as np

from geometry.core.errors import RefusedError, why
from geometry.core.frozen import dataclass
from geometry.core.plane import Point
from geometry.core.polygon import Ring, area, inside
from geometry.core.say import Say, say
from geometry.core.tables import hint
from geometry.mount.outline import MOST, Outline, Round, fault
from sheets.files.drawings.dxf import read_dxf
from sheets.files.drawings.pieces import Piece
from sheets.files.drawings.svg import read_svg

_JOIN = 0.02
"""How far ends may be apart and still meet, mm: what programs round by, and no saw."""
_ROUND = 0.01
"""How far a hole's points may be off a circle, mm."""
_MOST_ROUND = 500
"""Circles in a drawing: each is held against every other, and a dropout has a handful. Own judgement."""
_SHOWN = 8


@dataclass(frozen=True, slots=True)
class Asked:
    """How a drawing is to be read: what its unit is, which layer or id is the edge, which circle is the axle.

    None: the unit is what the file says, every line counts, and the axle lies at the drawing's origin.
    """

    unit: str | None = None
    line: str | None = None
    axle: str | None = None


def read_outline(raw: bytes, name: str, asked: Asked) -> Outline:
    """Return the dropout in a drawing's bytes, mm from the axle, y up; RefusedError says why there is none.

    `name` is the file's; its ending says what kind it is.
    """
    kind = PurePath(name).suffix.lower()
    if not raw.strip():
        raise RefusedError(say("outline.empty"))
    try:
        pieces = (read_dxf if kind == ".dxf" else read_svg)(raw, asked.unit)
        found = _shifted(_outline(pieces, asked), asked, pieces)
    except RefusedError:
        raise
    except (ValueError, OverflowError, ZeroDivisionError, RecursionError) as error:
        # Numbers that no drawing has, such as 1e308, come this far.
        raise RefusedError(say("outline.no_sense", reason=why(error))) from error
    if wrong := fault(found):
        raise RefusedError(wrong)
    return found


def _outline(pieces: Sequence[Piece], asked: Asked) -> Outline:
    chosen = [each for each in pieces if asked.line is None or asked.line in each.names]
    if not chosen:
        raise RefusedError(_no_such(asked.line, pieces) if asked.line else say("outline.no_path"))
    if unread := next((each.unread for each in chosen if each.unread is not None), None):
        raise RefusedError(unread)
    # Each end is held against every other, and each line that is left has a corner at least.
    if sum(not each.closed for each in chosen) > MOST:
        raise RefusedError(say("outline.too_many", most=MOST))
    edge, *rest = sorted(_joined(chosen), key=lambda ring: -abs(area(ring)))
    if _circle(edge) is not None:
        # A hole whose plate was drawn on a layer that is off, or was not named.
        raise RefusedError(say("outline.only_circle"))
    rounds = [(_circle(ring), ring) for ring in rest]
    if len(edge) + sum(len(ring) for each, ring in rounds if each is None) > MOST:
        raise RefusedError(say("outline.too_many", most=MOST))
    # What stands in other layers is dimensions and notes; but a circle is a hole wherever it was put.
    others = [each for each in pieces if each.closed and not any(each is one for one in chosen)]
    elsewhere = [each for piece in others if (each := _circle(piece.points)) is not None]
    if sum(each is not None for each, _ in rounds) + len(elsewhere) > _MOST_ROUND:
        raise RefusedError(say("outline.too_round", most=_MOST_ROUND))
    # A circle that only marks the axle may stand in the open slot.
    marks = [each.points for each in pieces if asked.axle is not None and asked.axle in each.names]
    if asked.axle is not None and not marks:
        raise RefusedError(_no_such(asked.axle, pieces))
    beside = [ring for ring in rest if ring not in marks and not any(inside(edge, each) for each in ring)]
    if beside:
        raise RefusedError(say("outline.several", count=len(beside) + 1))
    rounds = [(each, ring) for each, ring in rounds if ring not in marks or inside(edge, ring[0])]
    found = [each for each, _ in rounds if each is not None]
    found += [each for each in elsewhere if inside(edge, each.centre)]
    windows = tuple(ring for each, ring in rounds if each is None)
    return Outline(edge, windows, _outermost(found))


def _outermost(found: Sequence[Round]) -> tuple[Round, ...]:
    """Return the circles that lie in no other: a pocket or a countersink is drawn about its hole."""
    kept: list[Round] = []
    for each in sorted(found, key=lambda one: -one.diameter):
        if all(
            math.dist(each.centre, o.centre) + each.diameter / 2.0 > o.diameter / 2.0 + _ROUND for o in kept
        ):
            kept.append(each)
    return tuple(kept)


def _joined(pieces: Iterable[Piece]) -> list[Ring]:
    """Return the closed lines; RefusedError tells where an open one ends, and how far its ends are apart."""
    loops = [each.points for each in pieces if each.closed and len(each.points) > 2]
    opened = [list(each.points) for each in pieces if not each.closed]
    ends = np.array([[each[-1], each[0]] for each in opened]).reshape(-1, 2, 2)
    left = dict(enumerate(opened))

    def nearest_to(point: Point) -> tuple[float, int, bool]:
        """Return how far the nearest end is, of which line, and whether that is its beginning."""
        if not left:
            return math.inf, 0, True
        away = np.hypot(*(ends - point).T).T
        i, begins = divmod(int(np.argmin(away)), 2)
        return float(away[i, begins]), i, bool(begins)

    while left:
        last, run = left.popitem()
        ends[last] = math.inf
        while math.dist(run[0], run[-1]) > _JOIN or len(run) < 4:
            nearest = nearest_to(run[-1])
            if nearest[0] > _JOIN:
                # It may have been taken up in its middle: then its other end goes on.
                back = nearest_to(run[0])[0]
                if back > _JOIN:
                    gap = min(math.dist(run[0], run[-1]) or math.inf, nearest[0], back)
                    (x, y), (u, v) = run[0], run[-1]
                    raise RefusedError(say("outline.open", x=x, y=y, to_x=u, to_y=v, gap=gap))
                run.reverse()
                continue
            more = left.pop(nearest[1])
            ends[nearest[1]] = math.inf
            run += (more if nearest[2] else more[::-1])[1:]
        loops.append(tuple(run[:-1]))
    if not loops:
        raise RefusedError(say("outline.no_path"))
    return loops


def _circle(ring: Sequence[Point]) -> Round | None:
    """Return the circle that a closed line is, None where it is none."""
    if len(ring) < 8:
        return None
    points = np.array(ring)
    low, high = points.min(axis=0), points.max(axis=0)
    middle = (low + high) / 2.0
    # By least squares: the corners of the box are as far off as the nearest points of the line.
    system = np.column_stack([2.0 * (points - middle), np.ones(len(points))])
    square = np.sum((points - middle) ** 2, axis=1)
    (x, y, rest), *_ = np.linalg.lstsq(system, square, rcond=None)
    inner = rest + x * x + y * y
    if inner <= 0.0:
        return None
    radius = math.sqrt(inner)
    centre = (float(middle[0] + x), float(middle[1] + y))
    off = np.abs(np.hypot(points[:, 0] - centre[0], points[:, 1] - centre[1]) - radius)
    gaps = np.hypot(*(np.roll(points, -1, axis=0) - points).T)
    if off.max() > _ROUND or gaps.max() > radius:
        return None
    return Round(centre, 2.0 * radius)


def _shifted(outline: Outline, asked: Asked, pieces: Sequence[Piece]) -> Outline:
    """Return the outline from its axle, in thousandths of a mm, without corners that fell together."""
    x, y = 0.0, 0.0
    if asked.axle is not None:
        named = [each for each in pieces if asked.axle in each.names and each.closed]
        circles = [found for each in named if (found := _circle(each.points)) is not None]
        middles = {(round(each.centre[0], 2), round(each.centre[1], 2)) for each in circles}
        if len(middles) != 1:
            raise RefusedError(say("outline.no_axle_circle", name=asked.axle, count=len(middles)))
        x, y = circles[0].centre

    def moved(point: Point) -> Point:
        return round(point[0] - x, 3) + 0.0, round(point[1] - y, 3) + 0.0

    return Outline(
        _plain([moved(each) for each in outline.edge]),
        tuple(_plain([moved(each) for each in ring]) for ring in outline.windows),
        tuple(Round(moved(each.centre), round(each.diameter, 3)) for each in outline.holes),
    )


def _plain(ring: Sequence[Point]) -> Ring:
    """Return a ring without corners that fell together when they were rounded."""
    return tuple(here for before, here in itertools.pairwise([ring[-1], *ring]) if here != before)


def _no_such(name: str, pieces: Iterable[Piece]) -> Say:
    known = sorted({each for piece in pieces for each in piece.names})
    near: Say | str = hint(name, known)
    if not known:
        return say("outline.nothing_named", name=name)
    code = "outline.no_such_name" if len(known) <= _SHOWN else "outline.no_such_name_of_many"
    return say(code, name=name, hint=near, known=tuple(known[:_SHOWN]), count=len(known))
