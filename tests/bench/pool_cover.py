"""Coverage of pooled bands as a table: how often they hold the truth, and how wide they are.

Run: python tests/bench/pool_cover.py [DRAWS]. Each mount is simulated from its readings on, see
tests/geometry/pooled_mounts.py. Without DRAWS it takes 4000, about a minute.
"""

import sys

from geometry.survey.limits import numbers
from tests.geometry.pooled_mounts import error_of, simulated

COUNTS = (1, 2, 3, 5, 10)
SPREADS = (0.0, 0.1, 0.25, 0.5)


def main(draws: int = 4000) -> None:
    """Print a line for each spread of makers: share held and mean half band, mm, by the number of mounts."""
    prior, sure = numbers()["pool.between"].value, error_of(0.95, draws)
    lines = [f"stated spread for one and two mounts: {prior:g} mm; {draws} draws, counted to {sure:.1%}"]
    lines.append("makers' spread" + "".join(f"{count:>13} mounts" for count in COUNTS))
    for spread in SPREADS:
        found = [simulated(count, spread, draws, 100 + count) for count in COUNTS]
        cells = "".join(f"{f'{each.held:.1%} ±{each.width:.2f}':>20}" for each in found)
        lines.append(f"{spread:11.2f} mm{cells}")
    sys.stdout.write("\n".join(lines) + "\n")


if __name__ == "__main__":
    main(*map(int, sys.argv[1:]))
