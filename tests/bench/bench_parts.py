"""How long the parts take, each the best of a few runs: `python tests/bench/bench_parts.py`.

Alphabet and lettering run on every sheet, the solver once a card; none is timed by a test.
"""

import math
import sys
import time
from collections.abc import Callable
from pathlib import Path

from fonts import drafting, glyphs
from geometry.mount.spacers import choose


def best(what: Callable[[], object], runs: int = 5) -> float:
    """Return the shortest of some runs, in milliseconds."""
    times = []
    for _ in range(runs):
        start = time.perf_counter()
        what()
        times.append(time.perf_counter() - start)
    return 1000.0 * min(times)


def main() -> None:
    """Print one line a part."""
    text = Path(drafting.__file__).with_name("alphabet.txt").read_text(encoding="utf-8")
    line = ("Ø19.05 ±0.1 mm, 62° × 3/4 in, Łódź; The quick brown fox jumps. " * 50)[:3000]
    drawer = [round(0.3 + i * math.sqrt(2.0) / 17.0, 4) for i in range(60)]
    for name, what in (
        ("read the alphabet", lambda: glyphs.read(text, "alphabet")),
        ("letter 3,000 characters", lambda: drafting.letter(line, 3.5)),
        ("choose from 60 odd spacers", lambda: choose(25.0, drawer, 0.0005)),
    ):
        sys.stdout.write(f"{name:<28}{best(what):8.1f} ms\n")


if __name__ == "__main__":
    main()
