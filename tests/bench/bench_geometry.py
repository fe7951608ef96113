"""How long a wrap's curves and a disc's clearance take beside scipy's searches for the same, as exact.

Run: python tests/bench/bench_geometry.py
A curve is where a boss enters a tube: scipy's brentq looks for the depth of each point that we give, to
0.001 mm. A clearance is how near a disc comes to a tube: scipy's Powell search looks over the tube's outside
for its nearest point, from so many starts as are needed to be within 0.001 mm. How far each is off is told
by the same search, to 1e-9 mm, and printed beside the time. A plain script and no test; what it prints
depends on the machine, the ratios less so.
"""

import math
import statistics
import sys
from pathlib import Path

import numpy as np
from scipy.optimize import brentq, minimize

sys.path.insert(0, str(Path(__file__).parents[2]))

from geometry.clearance.convex import disc_solid
from geometry.clearance.gaps import tube_gap
from geometry.tubes.crossing import RoundCrossing, cylinder_through
from geometry.tubes.tube import Station, Tube, locate, surface
from tests.bench.timing import took

TOLERANCE, EXACT = 0.001, 1e-9
ROUND = (Station(20.0, 22.0, 22.0), Station(300.0, 16.0, 16.0))
OVAL = (Station(20.0, 22.0, 22.0), Station(150.0, 17.0, 30.0), Station(400.0, 24.0, 24.0))
TUBES = {
    "a tapered round tube": Tube("chainstay", 180.0, ROUND, outset=-5.0, splay=-3.0),
    "a tube that turns oval": Tube("chainstay", 180.0, OVAL, outset=-5.0, splay=-3.0),
}
POINT, WAY, RADIUS = (-90.0, 40.0, -0.5), (0.1, -1.0, 0.0), 7.0
DISC, LOW, HIGH = 80.0, 16.0, 17.8


def entry(tube: Tube) -> RoundCrossing:
    """Return the curve where the boss enters a tube."""
    return next(each for each in cylinder_through(tube, POINT, WAY, RADIUS) if each.side == "entry")


def searched(tube: Tube, curve: RoundCrossing, tolerance: float) -> np.ndarray:
    """Return the depth of each of a curve's points, mm, as scipy finds it."""
    way = np.array(WAY) / np.linalg.norm(WAY)
    # Each point's line, as far back as where it lies 10 mm before the tube.
    starts = curve.space - curve.depth[:, None] * way

    def out(depth: float, start: np.ndarray) -> float:
        return float(locate(tube, start + depth * way)[2]) - 1.0

    return np.array(
        [
            brentq(out, depth - 10.0, depth + 3.0, args=(start,), xtol=tolerance, rtol=1e-15)
            for depth, start in zip(curve.depth, starts, strict=True)
        ]
    )


def nearest(tube: Tube, starts: int, tolerance: float) -> float:
    """Return how near the disc comes to a tube, mm, as scipy finds it from so many starts along and round."""

    def away(place: np.ndarray) -> float:
        s = min(max(place[0], tube.span[0]), tube.span[1])
        x, y, z = surface(tube, np.array(s), np.array(place[1])).tolist()
        return math.hypot(max(0.0, math.hypot(x, y) - DISC), max(0.0, LOW - z, z - HIGH))

    along = np.linspace(*tube.span, starts)
    places = [(s, turn) for s in along for turn in np.linspace(-math.pi, math.pi, 4, endpoint=False)]
    options = {"xtol": tolerance / 100.0, "ftol": tolerance / 100.0}
    return min(float(minimize(away, place, method="Powell", options=options).fun) for place in places)


def main() -> None:
    """Print a line a tube for the curve and one for the clearance."""
    say = sys.stdout.write
    say("| what | ours | off by | scipy's | off by | scipy's / ours |\n|---|---|---|---|---|---|\n")
    for name, tube in TUBES.items():
        curve = entry(tube)
        exact = searched(tube, curve, EXACT)
        ours, theirs = (
            statistics.median(took(lambda tube=tube: entry(tube))),
            statistics.median(took(lambda tube=tube, curve=curve: searched(tube, curve, TOLERANCE))),
        )
        off = float(np.abs(curve.depth - exact).max())
        theirs_off = float(np.abs(searched(tube, curve, TOLERANCE) - exact).max())
        say(f"| {len(exact)} points of a curve on {name} | {ours:.2f} ms | {off:.1e} mm ")
        say(f"| {theirs:.2f} ms | {theirs_off:.1e} mm | {theirs / ours:.1f} |\n")
        disc = disc_solid(DISC, LOW, HIGH)
        gap = nearest(tube, 12, EXACT)
        starts = next(
            count for count in (1, 2, 3, 4, 6, 9) if abs(nearest(tube, count, TOLERANCE) - gap) <= TOLERANCE
        )
        ours = statistics.median(took(lambda tube=tube, disc=disc: tube_gap(disc, tube)))
        theirs = statistics.median(took(lambda tube=tube, starts=starts: nearest(tube, starts, TOLERANCE)))
        off, theirs_off = (
            abs(tube_gap(disc, tube).distance - gap),
            abs(nearest(tube, starts, TOLERANCE) - gap),
        )
        say(f"| clearance of a disc to {name}, {gap:.2f} mm | {ours:.2f} ms | {off:.1e} mm ")
        say(f"| {theirs:.2f} ms | {theirs_off:.1e} mm | {theirs / ours:.1f} |\n")


if __name__ == "__main__":
    main()
