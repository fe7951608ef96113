"""Many runs at once on one folder, some of them killed: no set of two runs, and no told success lost.

python -m tests.soak.at_once          64 runs at once
python -m tests.soak.at_once 8 3      8 runs, the killed ones chosen by the seed 3
"""

import contextlib
import io
import os
import random
import resource
import signal
import sys
import tempfile
import time
import warnings
from collections import Counter
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import NamedTuple

from pypdf import PdfReader

from sheets.cli import main
from sheets.files import sets
from sheets.files.write.deliver import staging
from tests.soak.kills import NEVER, SAMPLES, child, staging_in, tree


class Ended(NamedTuple):
    """How a run ended: its exit status, and what it complained of."""

    status: int
    said: str


def together(works: Sequence[Callable[[], int]], kills: Sequence[int] = ()) -> list[Ended]:
    """Run all works at once, each in a child struck at its change of `kills`; return how each ended."""
    pids = []
    with contextlib.ExitStack() as held, warnings.catch_warnings():
        warnings.simplefilter("ignore", DeprecationWarning)
        told = [held.enter_context(tempfile.TemporaryFile()) for _ in works]
        for number, work in enumerate(works):
            pid = os.fork()
            if pid == 0:
                status = 70
                try:
                    # A parent of its own, which tells how it ended.
                    status, _, said = child(work, kills[number] if kills else NEVER)
                    os.write(told[number].fileno(), said.encode())
                finally:
                    os._exit(status % 256)
            pids.append(pid)
        statuses = [os.waitstatus_to_exitcode(os.waitpid(pid, 0)[1]) for pid in pids]
        for file in told:
            file.seek(0)
        return [Ended(status, file.read().decode()) for status, file in zip(statuses, told, strict=True)]


def sets_at_once(folder: Path, runs: int, rounds: int, seed: int) -> list[str]:
    """Put sets of two files into one folder, every other run killed somewhere; return what is wrong."""
    chosen = random.Random(seed)

    def work(tag: bytes) -> int:
        for turn in range(rounds):
            with staging(folder) as stage:
                for name in ("a", "b"):
                    (stage / name).write_bytes(tag + b"%d" % turn)
            with staging(folder, fresh=True) as stage:
                (stage / f"told-{tag.decode()}-{turn}").write_bytes(tag)
        return 0

    kills = [NEVER if i % 2 else chosen.randint(1, 40 * rounds) for i in range(runs)]
    ends = together([lambda tag=b"%d." % i: work(tag) for i in range(runs)], kills)  # type: ignore[misc]
    sets.recover(folder)
    found = tree(folder)
    wrong = [f"run {i} ended in {each}" for i, each in enumerate(ends) if i % 2 and each.status]
    if found["a"] != found["b"]:
        wrong.append(f"a set of two runs: {found['a']!r} and {found['b']!r}")
    told = {f"told-{i}.-{turn}" for i, each in enumerate(ends) if not each.status for turn in range(rounds)}
    return [*wrong, *(f"{each} is lost" for each in sorted(told - found.keys())), *staging_in(folder)]


def commands_at_once(place: Path, runs: int, tell: Callable[[str], object]) -> list[str]:
    """Draw jobs of one frame, file surveys of one packet and keep printers, all at once.

    A run may be refused where others were not done in the time that it waits: what counts is that it says so.
    `tell` is told after each kind how many were done.
    """
    out, began = place / "out", time.monotonic()
    jobs = []
    text = (SAMPLES / "dunlin.toml").read_text(encoding="utf-8")
    for number in range(runs):
        jobs.append(place / f"{number}" / "dunlin.toml")
        jobs[-1].parent.mkdir()
        jobs[-1].write_text(text.replace('name = "Dunlin"', f'name = "Dunlin {number}"'), encoding="utf-8")
    os.environ["DROPLEAF_HOME"] = str(place / "home")
    wrong = []

    def done(what: str, lines: Sequence[Sequence[str]]) -> int:
        """Run command lines at once, keep what must not be, and return how many were told done."""
        ends = together([lambda line=line: main(line) for line in lines])  # type: ignore[misc]
        refused = Counter(each for each in ends if each.status)
        for (status, said), count in refused.items():
            if status != 2 or said.count("\n") != 1:
                wrong.append(f"{what}: {count} ended in {status}: {said}")
        count = len(ends) - refused.total()
        least = min((said for _, said in refused), default="")
        tell(f"{what}: {count} of {runs} done by {time.monotonic() - began:.0f} s {least}".rstrip() + "\n")
        return count

    with contextlib.redirect_stdout(io.StringIO()):
        assert main(["draw", str(jobs[0]), "--out", str(out)]) == 0
        done("draw", [["draw", str(job), "--out", str(out)] for job in jobs])
        sheets = {name: raw for name, raw in tree(out).items() if name.endswith((".svg", ".pdf"))}
        # Equal input gives equal bytes: the set must be what the job inside the packet gives alone.
        held = PdfReader(out / "dunlin-1.pdf").attachments["dunlin.toml"][0]
        (job,) = (each for each in jobs if each.read_bytes() == held)
        assert main(["draw", str(job), "--out", str(place / "alone")]) == 0
        if tree(place / "alone") != sheets:
            wrong.append("the drawn set is of several runs")
        read = ("--paper", "A4", "--across", "174.5", "--down", "266")
        told = done("printer", [["printer", "add", f"p{i}", *read] for i in range(runs)])
        kept = (place / "home" / "printers.toml").read_text(encoding="utf-8").count("[printer.")
        if told != kept:
            wrong.append(f"{told} printers told, {kept} kept")
        packet, readings = str(out / "dunlin-1.pdf"), str(SAMPLES / "readings" / "dunlin.toml")
        told = done("survey", [["survey", str(jobs[0]), "--readings", readings, "--packet", packet]] * runs)
        revisions = len(list(out.glob("*-rev*.pdf")))
        if told != revisions or not told:
            wrong.append(f"{told} surveys told, {revisions} filed")
        wrong += [*staging_in(out), *staging_in(place / "home")]
    return wrong


def command_line() -> int:
    """Run by hand, a line for each step as it is done; return the status."""
    count, seed = (int(each) for each in (*sys.argv[1:], *("64", str(int(time.time()))))[:2])
    signal.signal(signal.SIGINT, signal.SIG_DFL)
    terminal = sys.stdout

    def tell(line: str) -> None:
        terminal.write(line)
        terminal.flush()

    tell(f"at once: {count} runs, seed {seed}\n")
    with tempfile.TemporaryDirectory(prefix="soak-") as where:
        (Path(where) / "sets").mkdir()
        bad = sets_at_once(Path(where) / "sets", count, 5, seed)
        tell(f"sets: {len(bad)} wrong\n")
        bad += commands_at_once(Path(where), count, tell)
    memory = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss // 1000
    tell(f"{len(bad)} wrong, {memory} MB at most in one run\n" + "".join(f"  {each}\n" for each in bad))
    return bool(bad)


if __name__ == "__main__":
    sys.exit(command_line())
