"""What a run has written and read back once is not written anew for each test that draws the same.

Equal input gives equal bytes, so that a test which needs a packet to lie somewhere may be given the bytes of
the one before. It is the writer's own work all the same, measured when it was made, and is forgotten with all
else that is kept where a test changes the program. Tests of the writers and readers themselves call them.
"""

import contextlib
import functools
import json
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

_BYTES = 60_000_000
"""So much is kept at most: a process has some hundred packets' room."""

_kept: dict[Any, tuple[bytes, float]] = {}
_held = 0
_aside = False


def forget() -> None:
    """Forget every file that was written."""
    global _held
    _kept.clear()
    _held = 0


@contextlib.contextmanager
def aside() -> Iterator[None]:
    """Keep nothing of what is written for a while, and take nothing that is kept."""
    global _aside
    before, _aside = _aside, True
    try:
        yield
    finally:
        _aside = before


def install() -> None:
    """Keep what is written by every module that is loaded and writes."""
    writing = sys.modules.get("sheets.actions.writing")
    if writing is None or hasattr(writing.written, "__wrapped__"):
        return
    plain, once = writing.written, _once(writing.written)
    for name, module in list(sys.modules.items()):
        if name.startswith("sheets.") and getattr(module, "written", None) is plain:
            module.written = once  # type: ignore[attr-defined]


def _once(written: Callable[..., float]) -> Callable[..., float]:
    @functools.wraps(written)
    def kept(file: Any, stage: Path, **options: Any) -> float:
        global _held
        if _aside:
            return written(file, stage, **options)
        base = json.dumps(options.get("base"), default=dict)
        given = options | {"attachments": tuple(options.get("attachments", ())), "base": base}
        key = (file.path.name, file.kind, file.sheets, file.distortion, *sorted(given.items()))
        made = stage / file.path.name
        if key in _kept:
            raw, worst = _kept[key]
            made.write_bytes(raw)
            return worst
        worst = written(file, stage, **options)
        raw = made.read_bytes()
        if _held + len(raw) > _BYTES:
            forget()
        _held += len(raw)
        _kept[key] = raw, worst
        return worst

    return kept
