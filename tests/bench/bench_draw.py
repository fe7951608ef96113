"""What commands take from a cold start, an answer in a warm process, and many jobs, as a table.

Run: python tests/bench/bench_draw.py [cold] [live] [many] [run], all four if none is named.
`many` draws a few jobs on one core and on two, `run` many frames in one process, as a worker does in a year's
run, and reads its memory, which Linux alone tells.
Seconds are processor time, of the process and its children: other work on the machine lengthens it less than
the clock's. Each is the median of five rounds with its least and most, and what is compared is
measured by turns, so that a busy moment falls on both. A plain script and no test.
"""

import gc
import math
import os
import re
import resource
import statistics
import subprocess
import sys
import time
from pathlib import Path
from tempfile import TemporaryDirectory

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT))
ROUNDS = 5
MANY = 6
"""Jobs that are drawn in one run."""
FRAMES = 1000
"""Frames that are drawn one after the other in one process and into one folder, for a quarter of an hour."""

# Everything from outside the standard library that drawing loads.
LIBRARIES = (
    "import click, numpy, platformdirs, pydantic, pypdf, pypdfium2, segno, svgwrite, fontTools.fontBuilder"
)


def seconds(command: list[str], compiled: str) -> tuple[float, float]:
    """Return the processor time and the clock's of a fresh process, s; CalledProcessError where it fails.

    Status 1 passes, since a sheet with a clearance that fails is drawn all the same. It finds its modules
    compiled in `compiled`, as an installed package does, whatever the environment says of byte code.
    """
    environment = os.environ | {"PYTHONPYCACHEPREFIX": compiled, "PYTHONDONTWRITEBYTECODE": ""}
    before, start = resource.getrusage(resource.RUSAGE_CHILDREN), time.perf_counter()
    done = subprocess.run(
        [sys.executable, *command], cwd=ROOT, stdout=subprocess.DEVNULL, env=environment, check=False
    )
    if done.returncode > 1:
        done.check_returncode()
    clock, after = time.perf_counter() - start, resource.getrusage(resource.RUSAGE_CHILDREN)
    return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime, clock


def row(name: str, times: list[float], beside: list[float] | None = None) -> None:
    """Print a line of the table: median, least and most, and the ratio to what it is set beside."""
    middle = statistics.median(times)
    ratio = f"{middle / statistics.median(beside):.2f}" if beside else ""
    sys.stdout.write(f"| {name} | {middle:.3f} s | {min(times):.3f} to {max(times):.3f} | {ratio} |\n")
    sys.stdout.flush()


def cold(scratch: Path) -> None:
    """Print what commands take in fresh processes, beside loading their libraries and beside bare Python."""
    compiled = str(scratch / "compiled")
    commands = {"bare Python": ["-c", "pass"], "its libraries": ["-c", LIBRARIES]}
    for words in ("--version", "--help", "check dunlin", "draw dunlin", "draw avocet", "draw godwit"):
        command, *names = words.split()
        given = [str(ROOT / "samples" / f"{name}.toml") for name in names]
        more = ["--out", str(scratch / "out")] if command == "draw" else []
        commands[words] = ["-m", "sheets", command, *given, *more]
    for command in commands.values():
        seconds(command, compiled)  # compiles, and is not counted
    rounds = [[seconds(command, compiled)[0] for command in commands.values()] for _ in range(ROUNDS)]
    found = dict(zip(commands, map(list, zip(*rounds, strict=True)), strict=True))
    for name, times in found.items():
        row(name, times, found["its libraries"])


def live() -> None:
    """Print what the answer to a job that was never read takes in a process that has answered others."""
    from sheets.actions.check import report
    from sheets.job.read import from_bytes

    def answered(name: str, step: int) -> float:
        """Answer the sample with all its tubes begun some hundredths higher."""
        file = ROOT / "samples" / f"{name}.toml"
        text = re.sub(
            r"(?m)^(diameters = \[\[)([0-9.]+)",
            lambda found: f"{found[1]}{float(found[2]) + step / 100:.2f}",
            file.read_text(encoding="utf-8"),
        )
        start = time.process_time()
        report(from_bytes(text.encode(), file))
        return time.process_time() - start

    names = ("dunlin", "avocet", "godwit")
    for name in names:
        answered(name, 0)
    for name in names:
        row(f"answer to {name}, one number changed", [answered(name, step) for step in range(1, ROUNDS + 1)])


def many(scratch: Path) -> None:
    """Print what many jobs take one after the other and on two cores, by the clock, which two cores save."""
    text = (ROOT / "samples" / "dunlin.toml").read_text(encoding="utf-8")
    jobs = []
    for number in range(MANY):
        jobs.append(str(scratch / f"knot-{number}.toml"))
        named = re.sub(r'(?m)^id = ".*"', f'id = "knot-{number}"', text, count=1)
        Path(jobs[-1]).write_text(named, encoding="utf-8")

    def drawn(cores: int) -> list[str]:
        return ["-m", "sheets", "draw", *jobs, "--jobs", str(cores), "--out", str(scratch / "many")]

    compiled = str(scratch / "compiled")
    seconds(drawn(1), compiled)
    rounds = [(seconds(drawn(1), compiled)[1], seconds(drawn(2), compiled)[1]) for _ in range(ROUNDS)]
    one, two = map(list, zip(*rounds, strict=True))
    row(f"{MANY} jobs, --jobs 1, by the clock", one)
    row(f"{MANY} jobs, --jobs 2, by the clock", two, one)


def run(scratch: Path) -> None:
    """Print what the last ten of many frames take beside the tenth to the nineteenth, and the memory of each.

    Caches of what all frames share are full by a hundred of them; what still grows behind those is a leak, or
    looks at all that lies in the folder.
    """
    from sheets.actions import draw
    from sheets.home.jobs import load

    text = (ROOT / "samples" / "dunlin.toml").read_text(encoding="utf-8")
    times, sizes = [], []
    for number in range(FRAMES):
        named = re.sub(r'(?m)^id = ".*"', f'id = "knot-{number}"', text, count=1)
        wider = re.sub(
            r"(?m)^(diameters = \[\[)([0-9.]+)",
            lambda found, by=number / 100: f"{found[1]}{float(found[2]) + by:.2f}",
            named,
        )
        file = scratch / f"knot-{number}.toml"
        file.write_text(wider, encoding="utf-8")
        start = time.process_time()
        draw.draw(draw.plan(load(file), scratch / "run"))
        times.append(time.process_time() - start)
        # As between the jobs of a worker.
        gc.collect()
        sizes.append(memory())
    row("a frame, the tenth to the nineteenth", times[9:19])
    row(f"a frame, the last ten of {FRAMES}", times[-10:], times[9:19])
    for first in (10, 100, FRAMES // 2):
        grown = sizes[-1] - sizes[first - 1]
        sys.stdout.write(
            f"| memory from frame {first} to {FRAMES} | {grown:+.1f} MB | of {sizes[-1]:.0f} | |\n"
        )


def memory() -> float:
    """Return this process's resident memory, MB."""
    status = Path("/proc/self/status").read_text(encoding="ascii")
    found = re.search(r"VmRSS:\s+(\d+)", status)
    return int(found[1]) / 1024 if found else math.nan


def main(asked: list[str]) -> None:
    """Print the parts of the table that are asked for."""
    sys.stdout.write("| what | processor, median | least to most | ratio |\n|---|---|---|---|\n")
    with TemporaryDirectory() as folder:
        os.environ["DROPLEAF_HOME"] = str(Path(folder) / "home")
        place = Path(folder)
        parts = {
            "cold": lambda: cold(place),
            "live": live,
            "many": lambda: many(place),
            "run": lambda: run(place),
        }
        for name in asked or parts:
            parts[name]()


if __name__ == "__main__":
    main(sys.argv[1:])
