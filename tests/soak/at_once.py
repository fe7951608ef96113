"""Many runs at once on one folder, some of them killed: no set of two runs, and no told success lost.

python -m tests.soak.at_once          64 runs at once
python -m tests.soak.at_once 8 3      8 runs, the killed ones chosen by the seed 3
"""

import contextlib
import io
import os
import random
import shutil
import signal
import sys
import tempfile
import time
import warnings
from collections.abc import Callable, Sequence
from pathlib import Path

from sheets.cli import main
from sheets.files import sets
from sheets.files.write.deliver import staging
from tests.soak.kills import NEVER, SAMPLES, child, staging_in, tree


def together(works: Sequence[Callable[[], int]], kills: Sequence[int] = ()) -> list[int]:
    """Run all works at once, each in a child struck at its change of `kills`; return their statuses."""
    pids = []
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", DeprecationWarning)
        for number, work in enumerate(works):
            pid = os.fork()
            if pid == 0:
                status = 70
                try:
                    # A parent of its own, which tells how it ended.
                    status = child(work, kills[number] if kills else NEVER)[0]
                finally:
                    os._exit(status % 256)
            pids.append(pid)
    return [os.waitstatus_to_exitcode(os.waitpid(pid, 0)[1]) for pid in pids]


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
    statuses = together([lambda tag=b"%d." % i: work(tag) for i in range(runs)], kills)  # type: ignore[misc]
    sets.recover(folder)
    found = tree(folder)
    wrong = [f"run {i} ended in {status}" for i, status in enumerate(statuses) if i % 2 and status]
    if found["a"] != found["b"]:
        wrong.append(f"a set of two runs: {found['a']!r} and {found['b']!r}")
    told = {f"told-{i}.-{turn}" for i, status in enumerate(statuses) if not status for turn in range(rounds)}
    return [*wrong, *(f"{each} is lost" for each in sorted(told - found.keys())), *staging_in(folder)]


def commands_at_once(place: Path, runs: int) -> list[str]:
    """Draw jobs of one frame, file surveys of one packet and keep printers, all at once."""
    out = place / "out"
    jobs = []
    text = (SAMPLES / "dunlin.toml").read_text(encoding="utf-8")
    for number in range(runs):
        jobs.append(place / f"{number}" / "dunlin.toml")
        jobs[-1].parent.mkdir()
        jobs[-1].write_text(text.replace('name = "Dunlin"', f'name = "Dunlin {number}"'), encoding="utf-8")
    os.environ["DROPLEAF_HOME"] = str(place / "home")
    wrong = []
    with contextlib.redirect_stdout(io.StringIO()):
        assert main(["draw", str(jobs[0]), "--out", str(out)]) == 0
        drawn = [["draw", str(job), "--out", str(out)] for job in jobs]
        wrong += [f"draw ended in {s}" for s in together(_mains(drawn)) if s]
        sheets = {name: raw for name, raw in tree(out).items() if name.endswith((".svg", ".pdf"))}
        # Equal input gives equal bytes, so that the run of which a set is can be told.
        whole = 0
        for job in jobs:
            alone = place / "alone"
            assert main(["draw", str(job), "--out", str(alone)]) == 0
            whole += tree(alone) == sheets
            shutil.rmtree(alone)
        if whole != 1:
            wrong.append("the drawn set is of several runs")
        added = [
            ["printer", "add", f"p{i}", "--paper", "A4", "--across", "174.5", "--down", "266"]
            for i in range(runs)
        ]
        told = together(_mains(added)).count(0)
        kept = (place / "home" / "printers.toml").read_text(encoding="utf-8").count("[printer.")
        if told != kept:
            wrong.append(f"{told} printers told, {kept} kept")
        packet, readings = str(out / "dunlin-1.pdf"), str(SAMPLES / "readings" / "dunlin.toml")
        survey = ["survey", str(jobs[0]), "--readings", readings, "--packet", packet]
        told = together(_mains([survey] * runs)).count(0)
        revisions = len(list(out.glob("*-rev*.pdf")))
        if told != revisions or not told:
            wrong.append(f"{told} surveys told, {revisions} filed")
        wrong += [*staging_in(out), *staging_in(place / "home")]
    return wrong


def _mains(lines: Sequence[Sequence[str]]) -> list[Callable[[], int]]:
    return [lambda line=line: main(line) for line in lines]  # type: ignore[misc]


if __name__ == "__main__":
    count, start = (int(each) for each in (*sys.argv[1:], *("64", str(int(time.time()))))[:2])
    signal.signal(signal.SIGINT, signal.SIG_DFL)
    with tempfile.TemporaryDirectory(prefix="soak-") as where:
        (Path(where) / "sets").mkdir()
        bad = sets_at_once(Path(where) / "sets", count, 5, start) + commands_at_once(Path(where), count)
    sys.stdout.write(
        f"at once: {count} runs, seed {start}, {len(bad)} wrong\n" + "".join(f"  {x}\n" for x in bad)
    )
    sys.exit(bool(bad))
