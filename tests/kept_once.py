"""What a run has drawn, written and read back once is not made anew for each test that asks for the same.

The program keeps the sheets of the last dozen jobs; a run of tests goes over the samples time and again, with
many other jobs in between, so that more are kept here. Of files the program keeps none. Equal input gives
equal bytes, so that a test which needs a packet to lie somewhere may be given those of the test before: they
are the writer's own work, measured when it was done. All is forgotten where a test changes the program, and
what compares two ways of drawing, or one drawn twice, forgets it first.
"""

import contextlib
import functools
import json
import sys
from collections.abc import Callable, Iterable, Iterator
from pathlib import Path
from typing import Any

_FILES = 80
"""So many files are kept, which is some twenty packets with what lies beside them."""
_MORE = 3
"""So many times what the program keeps of jobs is kept; a job's sheets take ten MB."""

_kept: dict[Any, tuple[bytes, float]] = {}
_aside = False


def forget() -> None:
    """Forget every file that was written."""
    _kept.clear()


@contextlib.contextmanager
def aside() -> Iterator[None]:
    """Keep nothing of what is written for a while, and take nothing that is kept."""
    global _aside
    before, _aside = _aside, True
    try:
        yield
    finally:
        _aside = before


def install(kept: Iterable[tuple[str, str]]) -> None:
    """Keep what is written, and more of what is worked out by the functions named, with their modules."""
    if "sheets.actions.writing" in sys.modules:
        _replace("sheets.actions.writing", "written", _once)
    for module, name in kept:
        if module in sys.modules:
            _replace(module, name, _wider)


def _replace(module: str, name: str, change: Callable[[Any], Any]) -> None:
    """Put something in the place of a function in all modules that have it."""
    plain = getattr(sys.modules[module], name)
    other = change(plain)
    for each in list(sys.modules.values()):
        if getattr(each, "__dict__", {}).get(name) is plain:
            setattr(each, name, other)


def _wider(held: Any) -> Any:
    most = held.cache_parameters()["maxsize"]
    return held if most is None else functools.lru_cache(maxsize=most * _MORE)(held.__wrapped__)


def _once(written: Callable[..., float]) -> Callable[..., float]:
    @functools.wraps(written)
    def kept(file: Any, stage: Path, **options: Any) -> float:
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
        if len(_kept) >= _FILES:
            del _kept[next(iter(_kept))]
        _kept[key] = raw, worst
        return worst

    return kept
