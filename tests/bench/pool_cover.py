"""Coverage of pooled bands as a table: how often they hold the truth, and how wide they are.

Run: python tests/bench/pool_cover.py [DRAWS]. Each mount is simulated from its readings on, see
tests/geometry/pooled_mounts.py: by makers, with one, three, or in turn two, three and one mounts each.
Without DRAWS it takes 2000, some minutes.
"""

import sys

from geometry.survey.limits import numbers
from tests.geometry.pooled_mounts import error_of, simulated

COUNTS = (1, 2, 3, 5, 10)
SPREADS = (0.1, 0.25, 0.5)
EACH = {"1": (1,), "3": (3,), "1 to 3": (2, 3, 1)}


def main(draws: int = 2000) -> None:
    """Print a line for each spread of makers: share held and mean half band, mm, by the number of makers."""
    prior, within = (numbers()[f"pool.{key}"].value for key in ("between", "within"))
    lines = [f"stated: makers {prior:g} mm, one maker's mounts {within:g} mm; the latter spread by that here"]
    lines.append(f"{draws} draws, counted to {error_of(0.95, draws):.1%}")
    lines.append("makers' spread, mounts each" + "".join(f"{count:>9} makers" for count in COUNTS))
    for spread in SPREADS:
        for name, each in EACH.items():
            found = [simulated(count, spread, draws, 100 + count, each, within) for count in COUNTS]
            cells = "".join(f"{f'{one.held:.1%} ±{one.width:.2f}':>16}" for one in found)
            lines.append(f"{spread:11.2f} mm {name:>13}{cells}")
    sys.stdout.write("\n".join(lines) + "\n")


if __name__ == "__main__":
    main(*map(int, sys.argv[1:]))
