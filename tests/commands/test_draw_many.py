"""`draw` of many jobs: several at once give what one after the other gives, and none is lost or half done."""

import os
import re
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from geometry.core.errors import InputError
from sheets.actions.workers import in_order
from tests.conftest import forget

SAMPLE = Path(__file__).parents[2] / "samples" / "dunlin.toml"


def _jobs(folder: Path, count: int) -> list[Path]:
    """Return so many jobs, dunlin under other ids, without what lies beside the sample."""
    text = SAMPLE.read_text(encoding="utf-8")
    made = []
    for number in range(1, count + 1):
        made.append(folder / f"knot-{number}.toml")
        made[-1].write_text(
            re.sub(r'(?m)^id = ".*"', f'id = "knot-{number}"', text, count=1), encoding="utf-8"
        )
    return made


def _files(folder: Path) -> dict[str, bytes]:
    return {each.name: each.read_bytes() for each in sorted(folder.iterdir())}


def test_two_at_once_give_the_bytes_and_words_of_one_after_the_other(run: Callable, tmp_path: Path) -> None:
    jobs = _jobs(tmp_path, 2)
    wrong = tmp_path / "wrong.toml"
    wrong.write_text("[frame]\n", encoding="utf-8")
    given = (jobs[0], wrong, jobs[1])
    alone = run("draw", *given, "--jobs", "1", "--out", tmp_path / "alone")
    forget()
    both = run("draw", *given, "--jobs", "2", "--out", tmp_path / "both")
    assert alone.status == both.status == 2
    assert _files(tmp_path / "alone") == _files(tmp_path / "both")
    assert both.out.replace(f"{os.sep}both{os.sep}", f"{os.sep}alone{os.sep}") == alone.out
    assert both.errors == alone.errors


def _square(number: int) -> int:
    if number == 3:
        time.sleep(0.2)
    return number * number


def _fatal(number: int) -> int:
    if number == 3 and os.getpid() != _HERE:
        os.kill(os.getpid(), signal.SIGKILL)
    return number * number


_HERE = os.getpid()


def test_answers_come_in_order_however_long_one_takes() -> None:
    assert list(in_order(_square, range(20), 2)) == [number * number for number in range(20)]


def test_what_a_worker_that_is_taken_away_leaves_is_done_here() -> None:
    assert list(in_order(_fatal, range(8), 2)) == [number * number for number in range(8)]


MANY = 12
"""So many that a machine with much else to do has not drawn them all before the interrupt comes."""


def _heeds_interrupts() -> None:
    """Let a run be interrupted though the tests may not be: in a shell's background that is ignored."""
    signal.signal(signal.SIGINT, signal.SIG_DFL)


@pytest.fixture
def drawing(tmp_path: Path) -> Iterator[subprocess.Popen[str]]:
    command = [sys.executable, "-m", "sheets", "draw", *map(str, _jobs(tmp_path, MANY)), "--jobs", "2"]
    with subprocess.Popen(
        [*command, "--out", str(tmp_path / "paper")],
        stderr=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
        preexec_fn=_heeds_interrupts,
    ) as process:
        yield process
        process.kill()


def test_an_interrupt_ends_all_workers_and_leaves_whole_sets(
    drawing: subprocess.Popen[str], tmp_path: Path
) -> None:
    paper = tmp_path / "paper"
    until = time.monotonic() + 60.0
    while not list(paper.glob("*.pdf")) and time.monotonic() < until:
        time.sleep(0.05)
    # The one process alone is told, as a service manager does; a terminal tells its workers too.
    drawing.send_signal(signal.SIGINT)
    _, told = drawing.communicate(timeout=60.0)
    assert drawing.returncode == 130
    assert told.count("\n") == 1
    left = {each.name for each in paper.iterdir()}
    drawn = {each.removesuffix(".pdf") for each in left if each.endswith(".pdf")}
    assert 1 <= len(drawn) < MANY
    assert {each.rsplit("-template", 1)[0] for each in left if "-template" in each} == drawn
    assert not [each for each in left if each.startswith(".")]


def test_workers_end_with_a_run_that_is_killed() -> None:
    """The desk's would wait for ever: what they wait at they hold open themselves."""
    script = (
        "import time\nfrom sheets.actions.workers import in_order\n"
        "tasks = in_order(abs, [-1, -2, -3], 2)\nprint(next(tasks), flush=True)\ntime.sleep(60)"
    )
    run = subprocess.Popen([sys.executable, "-c", script], stdout=subprocess.PIPE, text=True)
    with run:
        assert run.stdout is not None and run.stdout.readline() == "1\n"
        run.kill()
        # Nothing more can be read once no process holds the other end.
        assert run.communicate(timeout=20) == ("", None)


def test_work_that_is_given_up_ends_soon_and_a_worker_that_waits_says_nothing(
    capfd: pytest.CaptureFixture[str],
) -> None:
    given_up = threading.Event()
    began = time.monotonic()
    coming = in_order(time.sleep, [0.0, 60.0], 2, here=False, given_up=given_up.is_set)
    next(coming)
    given_up.set()
    with pytest.raises(KeyboardInterrupt):
        next(coming)
    assert time.monotonic() - began < 30.0
    assert capfd.readouterr().err == ""


def _dies_of_one(number: int) -> int:
    if number == 1:
        os._exit(9)
    return number


def test_what_ends_its_process_is_never_done_in_the_desks_own() -> None:
    found = list(in_order(_dies_of_one, [0, 1, 2], 2, here=False, broke=lambda number: -number))
    assert found == [0, -1, 2]
    with pytest.raises(InputError):
        list(in_order(_dies_of_one, [1], 1, here=False))
