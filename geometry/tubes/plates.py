"""Where the two faces of a flat plate, a tab against its stay, meet the outside of a tube."""

import math
from typing import Literal

import numpy as np

from geometry.core.errors import GeometryError
from geometry.core.findings import Finding
from geometry.core.frozen import dataclass
from geometry.core.roots import zero
from geometry.core.say import Say, say
from geometry.tubes.development import pieces
from geometry.tubes.tracing import Crossing, clip_words, kept_parts, on_tube, traced
from geometry.tubes.tube import Direction, Tube, Vector, centre, frame, half_axes, surface

_Curve = tuple[Vector, bool, bool, tuple[Finding, ...]]


@dataclass(frozen=True, slots=True, eq=False)
class PlateCrossing(Crossing):
    """A curve where one face of a plate meets a tube; `shape` (n, 2) is its true shape in that face, mm.

    Shape is seen from the side that the plate's normal points to; for a normal along z it is (x, y).
    """

    face: Literal["inner", "outer"]
    shape: Vector


def plate_against(
    tube: Tube,
    point: Vector | Direction,
    normal: Vector | Direction,
    thickness: float = 0.0,
    *,
    within: tuple[float, float] | None = None,
    toward: Vector | Direction | None = None,
) -> tuple[PlateCrossing, ...]:
    """Return the cope lines of a flat plate, mm: inner face through `point`, outer `thickness` along normal.

    A plate nearly along the tube meets it in two lines a face, over the range `within` of s (None: all that
    is known); the one further `toward` a direction (None: the tube's mount side) comes first. A plate across
    the tube meets it in one closed curve a face, wherever that lies. A face that passes beside the tube has
    no curve, and the findings of the other say so. Raise GeometryError where neither face meets the tube.
    """
    where = say("tubes.on", body=say("tubes.tab"), tube=tube.name)
    facing = _unit(normal, where)
    span = tube.span if within is None else (max(within[0], tube.span[0]), min(within[1], tube.span[1]))
    if span[1] <= span[0]:
        raise GeometryError.at(where, say("tubes.not_known"))
    side = np.array([*tube.n0, 0.0]) if toward is None else np.asarray(toward, dtype=np.float64)
    kept: list[tuple[Literal["inner", "outer"], _Curve]] = []
    missed: dict[str, float] = {}
    faces: tuple[tuple[Literal["inner", "outer"], float], ...] = (("inner", 0.0), ("outer", thickness))
    for face, away in faces[: 2 if thickness else 1]:
        base = np.asarray(point, dtype=np.float64) + away * facing
        across = abs(float(facing @ frame(tube)[2])) > math.sqrt(0.5)
        curves, gap = (
            _plane_across(tube, base, facing, tube.span) if across else _plane_along(tube, base, facing, span)
        )
        if not curves:
            missed[face] = gap
        curves.sort(key=lambda each: -float(np.mean(each[0] @ side)))
        kept += [(face, curve) for curve in curves]
    if not kept:
        which = "both" if len(missed) > 1 else "only"
        raise GeometryError.at(where, say(f"tubes.beside.{which}", tube=tube.name, **missed))
    beside = tuple(
        Finding("wrap-beside", "warn", say(f"tubes.beside.{face}", tube=tube.name, **{face: gap}))
        for face, gap in missed.items()
    )
    # The plate's own axes: x of the side view where it lies in that, else up the tube or its mount side.
    n0, _, axis, _ = frame(tube)
    lying, steep = abs(facing[2]) > 0.5, abs(float(facing @ axis)) > math.sqrt(0.5)
    first = np.array([1.0, 0.0, 0.0]) if lying else n0 if steep else axis
    first = first - (first @ facing) * facing
    first /= np.linalg.norm(first)
    second = np.cross(facing, first)
    return tuple(
        PlateCrossing(
            closed, space, *on_tube(tube, space), breaks, (*words, *beside), face,
            np.stack([space @ first, space @ second], axis=-1),
        )
        for face, (space, closed, breaks, words) in kept
    )  # fmt: skip


def _plane_along(
    tube: Tube, base: Vector, facing: Vector, span: tuple[float, float]
) -> tuple[list[_Curve], float]:
    """Return the two lines a stretch where a plane nearly along the tube meets it, and by how much it misses.

    At each s the plane meets the section where A cos(turn) + B sin(turn) = D, which has a closed form.
    """
    u, w, axis, stretch = frame(tube)

    def terms(s: Vector) -> tuple[Vector, Vector, Vector]:
        a, b = half_axes(tube, s)
        return (
            a * (facing @ u),
            b * (facing @ w),
            facing @ (base - centre(tube, 0.0)) - s * stretch * (facing @ axis),
        )

    def over(s: Vector) -> Vector:
        first, second, level = terms(s)
        return np.abs(level) - np.hypot(first, second)

    breaks = {float(each) for piece in pieces(tube) for each in piece if span[0] < each < span[1]}
    s = np.array(sorted(breaks.union(np.linspace(*span, 721).tolist())))
    inside = over(s) < 0.0
    if not inside.any():
        return [], float(np.min(over(s)))
    edges = np.flatnonzero(inside[1:] != inside[:-1])
    tips = zero(over, s[edges], s[edges + 1])
    stops = [*(span[:1] if inside[0] else ()), *tips, *(span[1:] if inside[-1] else ())]
    found: list[_Curve] = []
    for start, end in zip(stops[::2], stops[1::2], strict=True):
        words = tuple(
            Finding("wrap-leaves", "note", say("tubes.leaves", tube=tube.name, s=tip))
            for tip in (start, end)
            if tip not in span
        )
        for sign in (1.0, -1.0):

            def at(share: Vector, sign: float = sign, start: float = start, end: float = end) -> Vector:
                s = (start + end) / 2.0 + (end - start) / 2.0 * np.sin(share * math.pi / 2.0)
                first, second, level = terms(s)
                share_in = np.clip(level / np.hypot(first, second), -1.0, 1.0)
                return surface(tube, s, np.arctan2(second, first) + sign * np.arccos(share_in))

            found.append((at(traced(at, np.linspace(-1.0, 1.0, 33), tube)), False, bool(words), words))
    return found, 0.0


def _plane_across(
    tube: Tube, base: Vector, facing: Vector, span: tuple[float, float]
) -> tuple[list[_Curve], float]:
    """Return the curve where a plane across the tube meets it, one point on each line of the tube."""
    _, _, axis, stretch = frame(tube)
    lean = float(facing @ axis) * stretch
    middle = float(facing @ (base - centre(tube, 0.0))) / lean
    most = max(max(station.height, station.width) for station in tube.stations)

    # Along a line of the tube the distance from the plane runs straight from one station to the next.
    ends = (middle - most / abs(lean), middle + most / abs(lean))
    knots = np.array([ends[0], *(each.s for each in tube.stations if ends[0] < each.s < ends[1]), ends[1]])

    def at(share: Vector) -> Vector:
        turn = share * math.pi
        away = (surface(tube, knots[:, None], turn) - base) @ facing * np.sign(lean)
        place = np.clip(np.sum(away < 0.0, axis=0), 1, len(knots) - 1), np.arange(len(turn))
        low, high = away[place[0] - 1, place[1]], away[place]
        s = knots[place[0] - 1] - low / (high - low) * (knots[place[0]] - knots[place[0] - 1])
        return surface(tube, s, turn)

    space = at(traced(at, np.linspace(-1.0, 1.0, 73), tube))
    parts = kept_parts(on_tube(tube, space)[0], span, closed=True)
    whole = len(parts) == 1 and not parts[0][1]
    away = max(span[0] - middle, middle - span[1], 0.0) * abs(lean)
    return [
        (space[index], whole, False, clip_words(ends, say("tubes.plate_line"))) for index, ends in parts
    ], away


def _unit(vector: Vector | Direction, where: Say) -> Vector:
    way = np.asarray(vector, dtype=np.float64)
    length = float(np.linalg.norm(way))
    if length == 0.0:
        raise GeometryError.at(where, say("tubes.no_normal"))
    return way / length
