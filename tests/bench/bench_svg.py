"""How long it takes from a job file's bytes to one sheet's SVG, without the other sheets and without a disk.

Run: python tests/bench/bench_svg.py [SAMPLE ...], dunlin and avocet if none is named.
Cold is a fresh process that has loaded nothing, with and without the loading of the program's modules; warm
is one that has drawn another job before, the median over jobs that each differ in a number, so that nothing
kept of an equal job helps; kept is the same job again. Beside them stands what importing numpy alone takes in
a fresh process. A plain script and no test: what it prints depends on the machine and on what else runs.
"""

import os
import re
import statistics
import subprocess
import sys
import time
from pathlib import Path
from tempfile import TemporaryDirectory

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT))
ROUNDS = 5
KINDS = ("template", "face", "card", "wrap")
# What a fresh process does: a line with the seconds for loading the program, then for the sheet.
COLD = """
import sys, time
from pathlib import Path
start = time.perf_counter()
from sheets.actions.pages import page, svg
from sheets.job.read import from_bytes
loaded = time.perf_counter()
sheets = page(from_bytes(Path(sys.argv[1]).read_bytes(), Path("job.toml")), sys.argv[2])
made = svg(sheets[0]) if sheets else b""
print(loaded - start, time.perf_counter() - loaded, len(made))
"""
NUMPY = "import time; start = time.perf_counter(); import numpy; print(time.perf_counter() - start)"


def fresh(code: str, *arguments: str, compiled: str) -> list[float]:
    """Return the numbers that some code prints in a fresh process; CalledProcessError where it fails."""
    environment = os.environ | {
        "PYTHONPATH": str(ROOT),
        "PYTHONPYCACHEPREFIX": compiled,
        "PYTHONDONTWRITEBYTECODE": "",
    }
    command = [sys.executable, "-c", code, *arguments]
    done = subprocess.run(command, cwd=ROOT, stdout=subprocess.PIPE, text=True, env=environment, check=True)
    return [float(each) for each in done.stdout.split()]


def changed(raw: bytes, step: int) -> bytes:
    """Return a job whose dropout is thicker by so many hundredths."""
    text, count = re.subn(
        r"(?m)^(\[dropout\]\n(?:.*\n)*?thickness = )([0-9.]+)",
        lambda found: f"{found[1]}{float(found[2]) + step / 100:.2f}",
        raw.decode(),
        count=1,
    )
    if not count:
        raise SystemExit("the sample gives no dropout thickness as a bare number to change")
    return text.encode()


def warm(raw: bytes, kind: str) -> tuple[float, float]:
    """Return how long a sheet takes here of a job never drawn before, and of one drawn before, s."""
    from sheets.actions.pages import Kind, page, svg
    from sheets.job.read import from_bytes

    wanted: Kind = kind  # type: ignore[assignment]

    def once(job: bytes) -> float:
        start = time.perf_counter()
        svg(page(from_bytes(job, Path("job.toml")), wanted)[0])
        return time.perf_counter() - start

    once(raw)
    # Steps that no other kind takes: a set-up that was worked out for one sheet would help the next.
    first = 1 + ROUNDS * KINDS.index(kind)
    return statistics.median(once(changed(raw, step)) for step in range(first, first + ROUNDS)), once(raw)


def main(samples: list[str]) -> None:
    """Print a line a sheet, all in ms."""
    say = sys.stdout.write
    with TemporaryDirectory() as compiled, TemporaryDirectory() as home:
        os.environ["DROPLEAF_HOME"] = home
        fresh(NUMPY, compiled=compiled)  # compiles, and is not counted
        numpy = statistics.median(fresh(NUMPY, compiled=compiled)[0] for _ in range(ROUNDS))
        say(f"importing numpy alone: {1000 * numpy:.0f} ms, median of {ROUNDS} fresh processes\n")
        say("ms from job bytes to SVG bytes     cold  with loading    warm    kept      bytes\n")
        for sample in samples:
            file = ROOT / "samples" / f"{sample}.toml"
            for kind in KINDS:
                fresh(COLD, str(file), kind, compiled=compiled)
                found = [fresh(COLD, str(file), kind, compiled=compiled) for _ in range(ROUNDS)]
                loading, making, size = (statistics.median(column) for column in zip(*found, strict=True))
                if not size:
                    say(f"{sample + ', ' + kind:<30} has no such sheet\n")
                    continue
                anew, again = warm(file.read_bytes(), kind)
                cold = f"{1000 * making:8.0f}{1000 * (loading + making):14.0f}"
                say(f"{sample + ', ' + kind:<31}{cold}{1000 * anew:8.0f}{1000 * again:8.1f}{size:11.0f}\n")


if __name__ == "__main__":
    main(sys.argv[1:] or ["dunlin", "avocet"])
