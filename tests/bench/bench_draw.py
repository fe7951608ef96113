"""How long the command takes from a cold start, beside loading its libraries alone.

Run: python tests/bench/bench_draw.py [SAMPLE], dunlin if none is named.
A plain script and no test: what it prints depends on the machine and on what else runs there.
"""

import os
import statistics
import subprocess
import sys
import time
from pathlib import Path
from tempfile import TemporaryDirectory

ROOT = Path(__file__).parents[2]
SAMPLE = ROOT / "samples" / f"{sys.argv[1] if len(sys.argv) > 1 else 'dunlin'}.toml"
ROUNDS = 5
TARGET = 3.0

# Everything from outside the standard library that drawing loads.
LIBRARIES = (
    "import click, numpy, platformdirs, pydantic, pypdf, pypdfium2, segno, svgwrite, fontTools.ttLib, "
    "reportlab.pdfgen.canvas, reportlab.pdfbase.ttfonts"
)


def seconds(command: list[str], compiled: str) -> float:
    """Return how long a fresh process takes, in s; CalledProcessError where it fails.

    Status 1 passes, since a sheet with a clearance that fails is drawn all the same.

    Both sides find their modules compiled in `compiled`, as an installed package is, whatever the
    environment says of writing byte code.
    """
    environment = os.environ | {"PYTHONPYCACHEPREFIX": compiled, "PYTHONDONTWRITEBYTECODE": ""}
    start = time.perf_counter()
    done = subprocess.run(
        [sys.executable, *command], cwd=ROOT, stdout=subprocess.DEVNULL, env=environment, check=False
    )
    if done.returncode > 1:
        done.check_returncode()
    return time.perf_counter() - start


def main() -> None:
    """Print both medians and their ratio."""
    with TemporaryDirectory() as out, TemporaryDirectory() as compiled:
        draw = ["-m", "sheets", "draw", str(SAMPLE), "--out", out]
        seconds(draw, compiled)  # compiles, and is not counted
        if not list(Path(out).glob("*.pdf")):
            raise SystemExit("nothing was drawn, so there is nothing to time")
        # By turns, so that a busy moment falls on both.
        rounds = [(seconds(["-c", LIBRARIES], compiled), seconds(draw, compiled)) for _ in range(ROUNDS)]
    libraries, drawing = (statistics.median(column) for column in zip(*rounds, strict=True))
    say = sys.stdout.write
    say(f"libraries alone      {libraries:.2f} s, median of {ROUNDS} fresh processes\n")
    say(f"draw {SAMPLE.name:<15} {drawing:.2f} s, median of {ROUNDS} fresh processes\n")
    say(f"ratio                {drawing / libraries:.2f}, target at most {TARGET:g}\n")


if __name__ == "__main__":
    main()
