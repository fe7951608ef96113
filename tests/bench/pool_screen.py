"""What the screen for mounts that stand apart finds, as a table: planted ones found, and good ones accused.

Run: python tests/bench/pool_screen.py [DRAWS]. Of some mounts none, one or two together are moved the same
way. Each line stands twice: as it was while every mount was judged by all others (`one_by_one`), and as it is
with the forward search. Without DRAWS it takes 500, some minutes.
"""

import math
import sys
from collections.abc import Callable, Sequence

import numpy as np

from geometry.survey.limits import numbers
from geometry.survey.pool import odd_ones, pooled, prior

COUNTS = (4, 5, 7, 10)
SPREADS = (0.1, 0.25, 0.5)
OFF = (0.5, 1.0, 2.0)

Screen = Callable[[Sequence[float], Sequence[float]], tuple[tuple[int, float], ...]]


def one_by_one(values: Sequence[float], bands: Sequence[float]) -> tuple[tuple[int, float], ...]:
    """Return which mounts stand apart from all others together: two that are wrong alike hide each other."""
    critical, found = numbers()["test.critical"].value, []
    for index, value in enumerate(values):
        others = [each for place, each in enumerate(values) if place != index]
        other = pooled(others, [each for place, each in enumerate(bands) if place != index])
        spread = max(other.between, prior("h"))
        off = value - other.value
        if abs(off) > critical * math.hypot(bands[index] / 2.0, spread * math.sqrt(1.0 + 1.0 / len(others))):
            found.append((index, off))
    return tuple(found)


def screened(
    count: int,
    spread: float,
    planted: int,
    off: float,
    draws: int,
    seed: int,
    screen: Screen = odd_ones,
) -> tuple[float, float]:
    """Return in which share of draws all planted mounts are named, and in which a good one is accused."""
    random = np.random.default_rng(seed)
    found = accused = 0
    for _ in range(draws):
        own = random.uniform(0.02, 0.05, count)
        values = random.normal(0.0, spread, count) + random.normal(0.0, own)
        values[:planted] += off
        named = {place for place, _ in screen([*values], [*(2.0 * own)])}
        bad = set(range(planted))
        found += bool(bad) and bad <= named
        accused += bool(named - bad)
    return found / draws, accused / draws


def main(draws: int = 500) -> None:
    """Print lines for each spread and number of mounts: accused if none is planted, then found and so."""
    cases = [(planted, off) for planted in (1, 2) for off in OFF]
    lines = [f"{draws} draws; found / accused wrongly"]
    heads = (f"{planted} by {off:g}" for planted, off in cases)
    lines.append(f"{'spread, mounts':>23}{'none':>7}" + "".join(f"{head:>12}" for head in heads))
    for spread in SPREADS:
        for count in COUNTS:
            for name, screen in (("before", one_by_one), ("now", odd_ones)):
                _, accused = screened(count, spread, 0, 0.0, draws, 7, screen)
                line = f"{spread:8.2f} mm {count:4} {name:>7}{accused:7.0%}"
                for planted, off in cases:
                    told = (
                        "-"
                        if 2 * planted >= count
                        else "{:.0%} / {:.0%}".format(
                            *screened(count, spread, planted, off, draws, 8, screen)
                        )
                    )
                    line += f"{told:>12}"
                lines.append(line)
    sys.stdout.write("\n".join(lines) + "\n")


if __name__ == "__main__":
    main(*map(int, sys.argv[1:]))
