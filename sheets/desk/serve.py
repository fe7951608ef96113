"""A desk at work: a socket on this machine's own address, a browser that is opened, and Ctrl-C at the end."""

import contextlib
import gc
import logging
import os
import socket
import sys
import threading
import webbrowser
from collections.abc import Callable
from pathlib import Path

import uvicorn
from starlette.applications import Starlette

from geometry.core.errors import DeliveryError, InputError
from geometry.core.say import say
from sheets.desk.app import app
from sheets.desk.state import LOOPBACK, Desk

_PATIENCE = 2
"""Seconds for which answers that are under way are waited for at the end."""


def bound(folder: Path, port: int) -> tuple[Desk, socket.socket]:
    """Return a desk for a folder with its socket, at a free port for 0.

    Raise InputError for what is no folder, DeliveryError for a port that cannot be had.
    """
    if not folder.is_dir():
        raise InputError.at(str(folder), say("desk.no_folder" if folder.exists() else "desk.folder_missing"))
    place = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    if os.name == "posix":
        # A desk that was just ended may be started again at its port. Windows would let two programs have it.
        place.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        place.bind((LOOPBACK, port))
        place.listen(128)
    except OSError as error:
        place.close()
        reason = error.strerror or str(error)
        raise DeliveryError.at("--port", say("desk.no_port", port=port, reason=reason)) from error
    return Desk(folder.resolve(), place.getsockname()[1]), place


def server(made: Starlette) -> uvicorn.Server:
    """Return what serves a desk's pages, still to be run; it says nothing of itself and logs nothing."""
    settings = uvicorn.Config(
        made,
        log_config=None,
        access_log=False,
        server_header=False,
        proxy_headers=False,
        lifespan="off",
        ws="none",
        timeout_graceful_shutdown=_PATIENCE,
    )
    if os.environ.get("DROPLEAF_DEBUG") != "1":
        # An answer that is broken off at the end is no news to whoever ended it.
        for name in ("uvicorn", "asyncio"):
            logging.getLogger(name).handlers = [logging.NullHandler()]
            logging.getLogger(name).propagate = False
    return uvicorn.Server(settings)


def serve(desk: Desk, place: socket.socket, open_it: bool, opened: Callable[[str], None]) -> None:
    """Serve a desk until it is interrupted; `opened` is told its address first.

    The browser is started with another address, which opens once: others may read its command line.
    """
    # The command line lets nothing be collected: it is over in a second. A desk is open all day.
    gc.enable()
    opened(desk.address)
    if open_it:
        threading.Thread(target=webbrowser.open, args=(desk.opening,), daemon=True).start()
    made = app(desk)
    try:
        server(made).run(sockets=[place])
    except KeyboardInterrupt:
        # This is how it ends.
        return
    finally:
        place.close()
        made.state.watch.end()
        made.state.batch.cancel()


def _let_go() -> None:
    """Have a child hold none of the desk's connections, or they would stay open after the desk has gone."""
    nothing = os.open(os.devnull, os.O_RDWR)
    for each in Path("/proc/self/fd").iterdir():
        with contextlib.suppress(OSError, ValueError), socket.socket(fileno=os.dup(int(each.name))) as one:
            # What parent and child tell each other goes through sockets of another kind.
            if one.family == socket.AF_INET:
                os.dup2(nothing, int(each.name))


if sys.platform == "linux":
    # Elsewhere a child is no copy of this process (sheets/files/apart.py).
    os.register_at_fork(after_in_child=_let_go)
