"""The outside of a tube laid flat: where a point of the surface lies on a paper wrapped round it.

Flat coordinates are (u, v) in mm. u runs up the tube; v runs round it the way `turn` grows, and is 0 on the
line of turn `middle`, so that the seam lies opposite. Seen from outside, print side out, (v, u) is a
right-handed pair: with v to the right u goes up. u is 0 where that line begins, at the start of the piece.

A sheet bends at half its thickness, so all is measured on the surface that lies paper / 2 outside the tube.
A round tube between two stations is a cylinder or a cone frustum, and its flat form is exact: a rectangle or
a sector (handbook: sector angle = 360 degrees x radius / slant). An oval of one size is exact too. An oval
that tapers evenly in both axes is a cone over an ellipse and exact; one that does not is slightly twisted
and has no flat form: then lengths are kept along each straight line up the tube and along the section half
way, `misfit` says by how much others may be wrong, and a range where that is more than MISFIT is refused.
"""

import functools
import itertools
import math

import numpy as np

from geometry.core.errors import GeometryError
from geometry.core.frozen import dataclass
from geometry.core.plane import short
from geometry.core.say import say
from geometry.tubes.ovals import SAMPLES, Range, flat_oval, ruled, sinc, taper_of
from geometry.tubes.tube import Tube, Vector, frame, section

PAPER = 0.1
"""Thickness of common 80 g/m2 paper, mm (common practice, no source)."""
MISFIT = 0.05
"""Largest error allowed to the flat form of a tapering oval, mm (own judgement)."""

_SAME = 1e-9


@dataclass(frozen=True, slots=True, eq=False)
class Run:
    """An unbroken part of a curve on one wrap: `within` is the piece of tube, turn lies about the middle."""

    within: Range
    s: Vector
    turn: Vector


@functools.lru_cache(maxsize=64)
def pieces(tube: Tube) -> tuple[Range, ...]:
    """Return the ranges of s, first to last, within which the known part of the tube keeps its taper."""
    start, end = tube.span
    stops = [start, *(station.s for station in tube.stations if start < station.s < end), end]
    found: list[Range] = []
    for low, high in itertools.pairwise(stops):
        if found and np.allclose(
            taper_of(tube, found[-1]), taper_of(tube, (low, high)), rtol=0.0, atol=_SAME
        ):
            found[-1] = (found[-1][0], high)
        else:
            found.append((low, high))
    return tuple(found)


def develop(
    tube: Tube,
    s: Vector,
    turn: Vector,
    *,
    paper: float = PAPER,
    middle: float = 0.0,
    within: Range | None = None,
) -> Vector:
    """Return the flat coordinates (u, v), mm, shape (..., 2), of points of the outside.

    `s` in mm and `turn` in radians are broadcast; a turn more than pi from `middle` lies past the seam, on
    the overlap. `within` is the range of s that the sheet is made for, in one piece of the tube; None takes
    the whole piece that the points lie in, and the sheet may be used a little beyond it.
    Raise GeometryError where the points lie on both sides of a change of taper, or where a tapering oval
    has no flat form within MISFIT.
    """
    s, turn = np.broadcast_arrays(np.asarray(s, dtype=np.float64), np.asarray(turn, dtype=np.float64))
    within = _range(tube, s, within)
    if _round(tube, within):
        return _flat_round(tube, s, turn - middle, paper, within)
    wrong = misfit(tube, within)
    if wrong > MISFIT:
        told = say("tubes.oval", low=within[0], high=within[1], wrong=wrong, allowed=MISFIT)
        raise GeometryError.at(f"tubes.{tube.name}", told)
    return flat_oval(tube, s, turn, paper, within, middle)


def girth(tube: Tube, s: float, paper: float = PAPER) -> float:
    """Return the length of paper, mm, that closes round the tube at s with its edges meeting at the seam.

    It is the girth of the surface half a paper's thickness outside: 2 pi (R + paper / 2) on a straight
    round tube; on a cone the paper is thick square to its side, and on an oval the same 2 pi adds.
    """
    within = next((each for each in pieces(tube) if each[0] <= s < each[1]), pieces(tube)[-1])
    here = section(tube, s)
    a, b = here.height / 2.0, here.width / 2.0
    if _round(tube, within):
        lean = math.atan(taper_of(tube, within)[0])
        return 2.0 * math.pi * (a + paper / 2.0 * math.cos(lean))
    p = np.arange(SAMPLES) * 2.0 * math.pi / SAMPLES
    # The mean of a smooth periodic function over equal steps converges faster than any power of the step.
    return 2.0 * math.pi * (float(np.mean(np.hypot(a * np.sin(p), b * np.cos(p)))) + paper / 2.0)


def gape(tube: Tube, s: float, half_girth: float | None = None, middle: float = 0.0) -> float:
    """Return how wide the edges of two wraps gape at a change of taper at s, mm; negative where they overlap.

    The wraps lie against each other on the line of turn `middle`, and the gap is taken at the distance
    `half_girth` round the tube from it: None takes the seam. 0 where the taper does not change.
    """
    meet = [each for each in pieces(tube) if each[0] == s or each[1] == s]
    if len(meet) < 2:
        return 0.0
    turn = middle + (math.pi if half_girth is None else 2.0 * math.pi * half_girth / girth(tube, s, 0.0))
    ends = []
    for within in meet:
        # Only the neighbourhood of the joint counts, so an oval is taken over a short stretch of each piece.
        near = (max(within[0], s - 1.0), min(within[1], s + 1.0))
        flat = develop(tube, np.array([s, s]), np.array([middle, turn]), middle=middle, within=near)
        ends.append(flat[1] - flat[0])
    between = ends[1] - ends[0]
    return float(math.copysign(math.hypot(*between), between[0]))


@functools.lru_cache(maxsize=64)
def misfit(tube: Tube, within: Range) -> float:
    """Return by how much, mm, a flat sheet over `within` may misplace a point; 0 for what is developable.

    It is the largest strain over the sheet times half its girth, as far as a point lies from the middle.
    """
    if _round(tube, within) or max(np.abs(taper_of(tube, within))) < _SAME:
        return 0.0
    step = 1e-4
    p = np.linspace(0.0, 2.0 * math.pi, 73)
    worst = 0.0
    ruling, _, around_of = ruled(tube, within)
    for s in (*within, sum(within) / 2.0):
        at = np.full_like(p, s)
        near = [flat_oval(tube, at, p + way, 0.0, within, 0.0) for way in (step, -step)]
        drift = (near[0] - near[1]) / (2.0 * step)
        near = [flat_oval(tube, at + way, p, 0.0, within, 0.0) for way in (step, -step)]
        up = (near[0] - near[1]) / (2.0 * step) / frame(tube)[3]
        # Lengths up the tube are kept, and how far a section runs up and down along them, be the oval twisted
        # or not: what is left is the change across.
        across = np.abs(np.linalg.det(np.stack([up, drift], axis=-1)))
        across /= np.linalg.norm(np.cross(ruling(p), around_of(at, p)), axis=-1)
        worst = max(worst, float(np.max(np.abs(across - 1.0))))
    return worst * girth(tube, sum(within) / 2.0, 0.0) / 2.0


def runs(tube: Tube, s: Vector, turn: Vector, *, middle: float = 0.0) -> tuple[Run, ...]:
    """Return the unbroken parts of a curve, split at the seam and at each change of taper.

    `s` and an unwrapped `turn`, each (n,). A point is put in at each split, on the straight step between its
    neighbours. A closed curve that is split begins anew behind a split, so that no part ends in its middle.
    """
    seam = middle + math.pi
    stops = [each[1] for each in pieces(tube)[:-1]]
    cuts: set[float] = set()
    for i in range(len(s) - 1):
        first, last = (turn[i] - seam) / (2.0 * math.pi), (turn[i + 1] - seam) / (2.0 * math.pi)
        low, high = sorted((first, last))
        cuts |= {i + (k - first) / (last - first) for k in _between(low, high)}
        cuts |= {
            i + (stop - s[i]) / (s[i + 1] - s[i])
            for stop in stops
            if min(s[i], s[i + 1]) < stop < max(s[i], s[i + 1]) or s[i] == stop != s[i + 1]
        }
    ends = sorted({0.0, float(len(s) - 1), *cuts})
    index = np.arange(len(s), dtype=np.float64)
    found: list[Run] = []
    for low, high in itertools.pairwise(ends):
        at = np.array([low, *index[(index > low) & (index < high)], high])
        part_s, part_turn = np.interp(at, index, s), np.interp(at, index, turn)
        whole = round((float(np.interp((low + high) / 2.0, index, turn)) - middle) / (2.0 * math.pi))
        within = _range(tube, part_s, None)
        found.append(Run(within, np.clip(part_s, *within), part_turn - 2.0 * math.pi * whole))
    turns = (turn[-1] - turn[0]) / (2.0 * math.pi)
    closed = abs(s[-1] - s[0]) < _SAME and abs(turns - round(turns)) < _SAME
    first, last = found[0], found[-1]
    if closed and len(found) > 1 and first.within == last.within and 0.0 not in cuts:
        shift = round((first.turn[0] - last.turn[-1]) / (2.0 * math.pi)) * 2.0 * math.pi
        joined = Run(
            first.within,
            np.concatenate([last.s, first.s[1:]]),
            np.concatenate([last.turn, first.turn[1:] - shift]),
        )
        found = [*found[1:-1], joined]
    return tuple(found)


def _between(low: float, high: float) -> range:
    """Return the whole numbers from low (with it) to high (without it)."""
    return range(math.ceil(low), math.ceil(high))


def _round(tube: Tube, within: Range) -> bool:
    return all(abs(each.height - each.width) < _SAME for each in (section(tube, s) for s in within))


def _range(tube: Tube, s: Vector, within: Range | None) -> Range:
    """Return the range that a sheet is made for, checked to lie in one piece of the tube."""
    low, high = (float(np.min(s)), float(np.max(s))) if within is None else within
    for piece in pieces(tube):
        if piece[0] - _SAME <= low and high <= piece[1] + _SAME:
            return piece if within is None else within
    start, end = tube.span
    if low < start - _SAME or high > end + _SAME:
        told = say("tubes.wrap_beyond", low=low, high=high, start=short(start), end=short(end))
    else:
        stops = ", ".join(f"{each[1]:g}" for each in pieces(tube)[:-1])
        told = say("tubes.wrap_split", low=low, high=high, stops=stops)
    raise GeometryError.at(f"tubes.{tube.name}", told)


# --- round tubes: rectangle and sector in one form that stays exact when the taper goes to nothing


def _sector(tube: Tube, paper: float, within: Range) -> tuple[float, float, float]:
    """Return the radius at the start of the piece, the sine of the half-angle, and slant mm per mm of s."""
    taper = float(taper_of(tube, within)[0])
    lean = math.atan(taper)
    start = section(tube, within[0]).height / 2.0 + paper / 2.0 * math.cos(lean)
    return start, math.sin(lean), frame(tube)[3] / math.cos(lean)


def _flat_round(tube: Tube, s: Vector, turn: Vector, paper: float, within: Range) -> Vector:
    start, sine, slant = _sector(tube, paper, within)
    up = (s - within[0]) * slant
    radius = start + sine * up
    # With the apex at distance radius / sine the point is (rho cos, rho sin) less the start's rho; written
    # with sin(x) / x the apex may be infinitely far away.
    theta = sine * turn
    u = up * np.cos(theta) - start * turn * sinc(theta / 2.0) * np.sin(theta / 2.0)
    return np.stack([u, radius * turn * sinc(theta)], axis=-1)
