"""Ctrl-C at any time, from the first library that is loaded: one line, its status, no traceback."""

import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
ONE_LINE = "dropleaf: interrupted; no file is half written\n"
_STRUCK = """
import runpy, signal, sys
signal.signal(signal.SIGINT, signal.default_int_handler)
wanted = int(sys.argv.pop(1))
seen = 0
def heard(event, arguments):
    global seen
    if event == "import" and "sheets.interrupts" in sys.modules:
        seen += 1
        if seen == wanted:
            signal.raise_signal(signal.SIGINT)
sys.addaudithook(heard)
try:
    runpy.run_module("sheets", run_name="__main__")
finally:
    print("imports", seen, file=sys.stdout)
"""


def _struck(at: int, *arguments: object) -> subprocess.CompletedProcess[str]:
    """Run the program interrupted as it loads its library number `at`."""
    command = [sys.executable, "-c", _STRUCK, str(at), *map(str, arguments)]
    environment = os.environ | {"PYTHONPATH": str(ROOT)}
    return subprocess.run(
        command, env=environment, cwd=ROOT, capture_output=True, text=True, timeout=120, check=False
    )


def test_an_interrupt_while_libraries_load_is_one_line() -> None:
    whole = _struck(0, "printer", "list")
    assert (whole.returncode, whole.stderr) == (0, "")
    count = int(whole.stdout.split()[-1])
    assert count > 100
    for at in (1, 3, count // 2, count - 1):
        ran = _struck(at, "printer", "list")
        assert (at, ran.returncode, ran.stderr) == (at, 130, ONE_LINE)


_SWALLOWED = """
import runpy, signal, sys, time
signal.signal(signal.SIGINT, signal.default_int_handler)
class Dying:
    def __del__(self):
        signal.raise_signal(signal.SIGINT)
def broken(job):
    {how}
    time.sleep(5)
from sheets.actions import check
check.report = broken
sys.argv[1:] = ["check", "samples/dunlin.toml"]
runpy.run_module("sheets", run_name="__main__")
"""


@pytest.mark.parametrize(
    "how",
    [
        "Dying()",
        "try: signal.raise_signal(signal.SIGINT)\n    except KeyboardInterrupt: raise SystemError from None",
    ],
    ids=["where none can be raised", "made into another"],
)
def test_an_interrupt_that_a_library_swallows_is_one_all_the_same(how: str) -> None:
    command = [sys.executable, "-c", _SWALLOWED.format(how=how)]
    environment = os.environ | {"PYTHONPATH": str(ROOT)}
    ran = subprocess.run(
        command, env=environment, cwd=ROOT, capture_output=True, text=True, timeout=120, check=False
    )
    assert (ran.returncode, ran.stderr) == (130, ONE_LINE)


def test_interrupts_that_are_ignored_stay_so() -> None:
    """As in a shell's background job."""
    command = [sys.executable, "-m", "sheets", "--version"]
    ran = subprocess.run(
        command,
        env=os.environ | {"PYTHONPATH": str(ROOT)},
        cwd=ROOT,
        capture_output=True,
        check=False,
        preexec_fn=lambda: signal.signal(signal.SIGINT, signal.SIG_IGN),
    )
    assert (ran.returncode, ran.stderr) == (0, b"")
