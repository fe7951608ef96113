"""What commands take from a cold start, an answer in a warm process, and many jobs at once, as a table.

Run: python tests/bench/bench_draw.py [cold] [live] [many], all three if none is named.
Seconds are processor time, of the process and its children: other work on the machine lengthens it less than
the clock's. Each is the median of five rounds with its least and most, and what is compared is
measured by turns, so that a busy moment falls on both. A plain script and no test.
"""

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


def main(asked: list[str]) -> None:
    """Print the parts of the table that are asked for."""
    sys.stdout.write("| what | processor, median | least to most | ratio |\n|---|---|---|---|\n")
    with TemporaryDirectory() as folder:
        os.environ["DROPLEAF_HOME"] = str(Path(folder) / "home")
        parts = {"cold": lambda: cold(Path(folder)), "live": live, "many": lambda: many(Path(folder))}
        for name in asked or parts:
            parts[name]()


if __name__ == "__main__":
    main(sys.argv[1:])
