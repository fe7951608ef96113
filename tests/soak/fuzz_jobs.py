"""Jobs mutated by seed, checked and drawn: whatever they say, each is placed, told or refused in one line.

Each begins as a sample. "wild" gives keys whatever value may be typed, "plain" moves lengths and angles to
what a frame may have: what is then drawn must pass the program's own reading back. By hand, for example
`python -m tests.soak.fuzz_jobs --count 10000`, `python -m tests.soak.fuzz_jobs --draw --plain --count 500`.
"""

import argparse
import contextlib
import functools
import io
import json
import os
import random
import resource
import signal
import sys
import tempfile
import tomllib
import traceback
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import tomlkit

from sheets.cli import main
from tests.soak.table import Table

SAMPLES = sorted((Path(__file__).parents[2] / "samples").glob("*.toml"))
SLOW = {"check": 10.0, "draw": 60.0}
"""Processor seconds after which a job is told as a hang; a sample takes 0.1 to check and about 3 to draw."""

_WILD: tuple[Any, ...] = (
    0, -1, 1, 0.5, -0.001, 1e-9, 1e9, -1e9, 1e308, float("nan"), float("inf"), float("-inf"), 2**63, 10**400,
    True, False, "", " ", "x", "0", "1/2 in", "1/0 in", "3 3/4 in", "-1/4 in", "1e400", "12,5", "90 deg",
    "1 mm mm", "ø6", "\u202e6", "a" * 2000, "A4", "none", [], [0], [[]], [[0, 0]], [[1, 2], [1, 2]],
    [[9, 1], [3, 2]], [1, "x"], [[float("nan"), 1]], {}, {"x": 1}, [{}], [[i, i] for i in range(300)],
)  # fmt: skip
"""Values that somebody may type, or a program write."""


def entries(table: dict[str, Any], above: tuple[str, ...] = ()) -> Iterator[tuple[str, ...]]:
    """Yield where every value and every table of a job stands."""
    for key, value in table.items():
        yield (*above, key)
        if isinstance(value, dict):
            yield from entries(value, (*above, key))


@functools.cache
def _known() -> tuple[tuple[tuple[str, ...], Any], ...]:
    """Return every key that a sample has, and each value that one has there."""
    found = []
    for file in SAMPLES:
        job = tomllib.loads(file.read_text(encoding="utf-8"))
        found += [(path, _at(job, path)) for path in entries(job)]
    return tuple(found)


def _at(job: Any, path: tuple[str, ...]) -> Any:
    for key in path:
        job = job[key]
    return job


def _put(job: dict[str, Any], path: tuple[str, ...], value: Any) -> None:
    for key in path[:-1]:
        inner = job.get(key)
        if not isinstance(inner, dict):
            inner = job[key] = {}
        job = inner
    job[path[-1]] = value


def _near(value: Any, rng: random.Random) -> Any:
    """Return a number moved as frames differ, lists number by number; anything else stays."""
    if isinstance(value, list):
        return [_near(each, rng) for each in value]
    if isinstance(value, bool) or not isinstance(value, int | float):
        return value
    return round(value * rng.uniform(0.85, 1.18) + rng.choice((0.0, 0.0, rng.uniform(-2.0, 2.0))), 2)


def mutated(rng: random.Random, plain: bool) -> tuple[bytes, str]:
    """Return a job file's bytes and the sample that it was made from."""
    sample = rng.choice(SAMPLES)
    job = tomllib.loads(sample.read_text(encoding="utf-8"))
    if isinstance(job.get("dropout"), dict):
        # A drawing lies beside its own sample.
        job["dropout"].pop("outline", None)
    for _ in range(rng.choice((1, 1, 2, 3, 6))):
        path, value = rng.choice(_known())
        if plain:
            paths = [each for each in entries(job) if isinstance(_at(job, each), int | float | list)]
            path = rng.choice(paths)
            _put(job, path, _near(_at(job, path), rng))
            continue
        match rng.randrange(5):
            case 0:
                _put(job, path, rng.choice(_WILD))
            case 1:
                _put(job, path, value)
            case 2:
                _put(job, path, _near(value, rng))
            case 3:
                here = rng.choice(list(entries(job)))
                _at(job, here[:-1]).pop(here[-1], None)
            case _:
                _put(
                    job, (*path[:-1], rng.choice((f"{path[-1]}x", "__class__", "id", ""))), rng.choice(_WILD)
                )
    raw = tomlkit.dumps(job).encode("utf-8", "surrogatepass")
    if not plain and rng.random() < 0.1:
        where = rng.randrange(len(raw))
        raw = raw[:where] + rng.choice((b"\xff", b"\x00", b'"', b"[[", b"\n=", b"")) + raw[where + 1 :]
    return raw, sample.stem


def _stop(*_: object) -> None:
    raise TimeoutError


def run(
    seed: int, count: int, command: str = "check", plain: bool = False, keep: Path | None = None
) -> Table:
    """Mutate and run so many jobs, seed by seed, and return what came of it; `keep` gets those told."""
    table = Table()
    signal.signal(signal.SIGVTALRM, _stop)
    with tempfile.TemporaryDirectory() as name:
        file = Path(name, "job.toml")
        for number in range(seed, seed + count):
            raw, sample = mutated(random.Random(number), plain)
            file.write_bytes(raw)
            before = len(table.told)
            _judge(table, file, command, f"{number} {sample}")
            if keep and len(table.told) > before:
                (keep / f"{number}.toml").write_bytes(raw)
    return table


def _judge(table: Table, file: Path, command: str, line: str) -> None:
    out, errors = io.StringIO(), io.StringIO()
    more = ("--out", str(file.parent / "out"), "--replace") if command == "draw" else ()
    start = sum(os.times()[:4])
    status = 70
    signal.setitimer(signal.ITIMER_VIRTUAL, 3 * SLOW[command])
    try:
        with contextlib.redirect_stdout(out), contextlib.redirect_stderr(errors):
            status = main([command, str(file), *more, "--json"])
    except Exception:
        errors.write(traceback.format_exc())
    finally:
        signal.setitimer(signal.ITIMER_VIRTUAL, 0)
    took = sum(os.times()[:4]) - start
    table.seen["files"] += 1
    table.seen[{0: "done", 1: "told", 2: "refused"}.get(status, "broken")] += 1
    if took > SLOW[command]:
        table.tell("slow", f"{line}: {took:.1f} s")
    if status not in (0, 1, 2) or "Traceback" in errors.getvalue():
        table.tell("faults", f"{line}: status {status}: {errors.getvalue()[-1500:]}")
    elif command == "draw" and status == 1 and "files" not in _document(out.getvalue()):
        table.tell("held back", f"{line}: {errors.getvalue()[:300]}")


def _document(text: str) -> dict[str, Any]:
    found = json.loads(text) if text.strip() else {}
    return found if isinstance(found, dict) else {}


PROFILES = (("check", False, 90_000), ("check", True, 10_000), ("draw", True, 5000))
"""What the large profile runs: command, whether plain, and how many."""


def command_line() -> None:
    """Run by hand what is asked for, or the large profile, and print its tables."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--count", type=int)
    parser.add_argument("--draw", action="store_true")
    parser.add_argument("--plain", action="store_true")
    parser.add_argument("--keep", type=Path)
    given = parser.parse_args()
    if given.keep:
        given.keep.mkdir(parents=True, exist_ok=True)
    asked = (("draw" if given.draw else "check", given.plain, given.count),)
    for command, plain, count in asked if given.count else PROFILES:
        table = run(given.seed, count, command, plain, given.keep)
        memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1000
        what = ("files", "done", "told", "refused", "held back", "faults", "slow")
        sys.stdout.write(table.text(f"{command}, seed {given.seed}, {memory} MB at most", what))


if __name__ == "__main__":
    command_line()
