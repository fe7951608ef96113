"""A command typed at a pseudo-terminal, as a person would, Ctrl-C included."""

import contextlib
import os
import pty
import select
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import NamedTuple

ROOT = Path(__file__).parents[2]
CTRL_C, CTRL_D = "\x03", "\x04"
KILL = "kill -9"
"""Typed by nobody: the command is killed where it would be."""

# The terminal becomes the command's own, so that Ctrl-C on it reaches the command; and it is heard even where
# the tests themselves run in the background, which ignores it.
_RUN = (
    "import fcntl, signal, sys, termios; signal.signal(signal.SIGINT, signal.default_int_handler); "
    "fcntl.ioctl(0, termios.TIOCSCTTY, 0); "
    "from sheets.cli import main; sys.exit(main(sys.argv[1:]))"
)

_PATIENCE = 30.0
"""Seconds of silence after which a command is taken to wait for more than is typed."""


class Typed(NamedTuple):
    """What a typed run left: its exit status and everything that the terminal showed."""

    status: int
    shown: str


def typed(arguments: list[str], answer: Callable[[str], str], prompt: str, folder: Path) -> Typed:
    """Run a command in `folder`; each time the terminal shows `prompt`, type the answer to what it shows."""
    ours, theirs = pty.openpty()
    environment = {**os.environ, "PYTHONPATH": str(ROOT), "TERM": "dumb"}
    process = subprocess.Popen(
        [sys.executable, "-c", _RUN, *arguments],
        stdin=theirs, stdout=theirs, stderr=theirs, cwd=folder, env=environment, start_new_session=True,
    )  # fmt: skip
    shown, answered = "", 0
    last = time.monotonic()
    # Our own hold on the terminal keeps what was written last until it has been read.
    while time.monotonic() - last < _PATIENCE:
        if not select.select([ours], [], [], 0.2)[0]:
            if process.poll() is not None:
                break
        elif chunk := os.read(ours, 65536):
            last = time.monotonic()
            shown += chunk.decode("utf-8", "replace")
            if shown.count(prompt) > answered:
                answered += 1
                line = answer(shown)
                if line == KILL:
                    process.kill()
                    continue
                if line in (CTRL_C, CTRL_D):
                    # A prompt shows a moment before its reader listens; nobody types as fast as that.
                    time.sleep(0.3)
                os.write(ours, line.encode() if line in (CTRL_C, CTRL_D) else f"{line}\n".encode())
    os.close(ours)
    os.close(theirs)
    if process.poll() is None:
        with contextlib.suppress(subprocess.TimeoutExpired):
            process.wait(timeout=5)
        process.kill()
    return Typed(process.wait(timeout=30), shown)
