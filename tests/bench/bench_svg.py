"""How long it takes from a job file's bytes to one sheet's SVG, without the other sheets and without a disk.

Run: python tests/bench/bench_svg.py [--cold] [SAMPLE ...], every sample if none is named.
Warm is a process that has drawn other jobs before; each round draws a job that was never drawn, all of whose
tubes begin elsewhere, so that nothing kept of another job helps but what holds for every job. Kept is the
same job again. What a sheet takes is set beside what importing numpy alone takes in a fresh process, measured
by turns with it, as least and median of the rounds. --cold adds fresh processes that have loaded nothing,
with and without the loading of the program's modules. A plain script and no test: what it prints depends on
the machine and on what else runs, the ratios less so.
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
    """Return another job much like it: its tubes begin some hundredths higher, and so much else differs."""
    text, count = re.subn(
        r"(?m)^(diameters = \[\[)([0-9.]+)",
        lambda found: f"{found[1]}{float(found[2]) + step / 100:.2f}",
        raw.decode(),
    )
    if not count:
        raise SystemExit("the sample gives no tube whose beginning could be changed")
    return re.sub(r'(?m)^id = "([^"]*)"', rf'id = "\g<1>{step}"', text, count=1).encode()


def once(job: bytes, kind: str) -> float:
    """Return how long a sheet takes here, s; 0 where the job has none of that kind."""
    from sheets.actions.pages import Kind, page, svg
    from sheets.job.read import from_bytes

    wanted: Kind = kind  # type: ignore[assignment]
    start = time.perf_counter()
    sheets = page(from_bytes(job, Path("job.toml")), wanted)
    if not sheets:
        return 0.0
    svg(sheets[0])
    return time.perf_counter() - start


def warm(raw: bytes, kind: str, compiled: str) -> tuple[list[float], list[float]]:
    """Return how long the sheets of jobs never drawn before take, and by turns with it numpy's import, s."""
    # Steps that no other kind takes: a set-up that was worked out for one sheet would help the next.
    first = 1 + ROUNDS * KINDS.index(kind)
    found = [
        (once(changed(raw, step), kind), fresh(NUMPY, compiled=compiled)[0])
        for step in range(first, first + ROUNDS)
    ]
    sheet, numpy = zip(*found, strict=True)
    return list(sheet), list(numpy)


def cold(file: Path, kind: str, compiled: str) -> str:
    """Return what a fresh process takes, in words."""
    fresh(COLD, str(file), kind, compiled=compiled)
    found = [fresh(COLD, str(file), kind, compiled=compiled) for _ in range(ROUNDS)]
    loading, making, _ = (statistics.median(column) for column in zip(*found, strict=True))
    return f"   cold {1000 * making:5.0f}, with loading {1000 * (loading + making):5.0f}"


def main(samples: list[str], *, with_cold: bool) -> None:
    """Print a line a sheet, times in ms."""
    say = sys.stdout.write
    with TemporaryDirectory() as compiled, TemporaryDirectory() as home:
        os.environ["DROPLEAF_HOME"] = home
        fresh(NUMPY, compiled=compiled)  # compiles, and is not counted
        say("least / median      from job bytes to SVG     numpy alone        ratio       kept\n")
        for sample in samples:
            file = ROOT / "samples" / f"{sample}.toml"
            raw = file.read_bytes()
            for kind in KINDS:
                if not once(raw, kind):
                    continue
                sheet, numpy = warm(raw, kind, compiled)
                least, middle = min(sheet), statistics.median(sheet)
                alone, usual = min(numpy), statistics.median(numpy)
                say(
                    f"{sample + ', ' + kind:<31}{1000 * least:7.0f} /{1000 * middle:5.0f} ms"
                    f"{1000 * alone:11.0f} /{1000 * usual:5.0f} ms{least / alone:7.2f} /{middle / usual:5.2f}"
                    f"{1000 * once(raw, kind):8.1f} ms{cold(file, kind, compiled) if with_cold else ''}\n"
                )
                sys.stdout.flush()


if __name__ == "__main__":
    named = [each for each in sys.argv[1:] if each != "--cold"]
    every = sorted(file.stem for file in (ROOT / "samples").glob("*.toml"))
    main(named or every, with_cold="--cold" in sys.argv)
