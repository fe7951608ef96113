"""What a job comes to while it is typed: at once its two pictures, later all that is found of it.

The pictures are made here, in a thread beside the loop, in some hundredths of a second; findings and cures
are worked out in a child (judging.py), from the job's document, which is all that is handed over.
"""

import functools
import re
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from geometry.core.errors import DropleafError, InputError, Problem
from geometry.core.frozen import dataclass
from geometry.mount.placement import Placement
from sheets.desk.arrows import Picture
from sheets.desk.assumed import assumed
from sheets.desk.behind import behind
from sheets.desk.measured import measures
from sheets.desk.picture import side
from sheets.guide.entries import Entry
from sheets.home.jobs import parse
from sheets.job.beside import drawn_block, table
from sheets.job.dropout_keys import Dropout
from sheets.job.read import Job, place_job
from sheets.words.tell import told

LEAST, MOST = 200.0, 2400.0
"""Sizes of a picture's screen that are drawn, pixels."""
_ROUNDS = 6
_STANDS_IN: dict[str, dict[str, Any]] = {
    "rear": {
        "frame": {"id": "frame"},
        "mount": {"end": "rear", "interface": "is-rear", "host": "chainstay", "rotor": 160},
        "axle": {"system": "135-qr"},
    },
    "front": {
        "frame": {"id": "frame"},
        "mount": {"end": "front", "interface": "is-front", "host": "fork-leg", "rotor": 160},
        "axle": {"system": "100-qr"},
    },
}
"""What is drawn where a job does not say yet what every job has to; it is shown as missing all the same."""
_DRAWN_BY = ("outline", "outline_unit", "outline_layer", "outline_axle")
"""What decides how a drawing is read: nothing else that is typed has it read anew."""
_TUBE = {"seatstay": {"diameters": [[30, 16]], "included": 62}}


@dataclass(frozen=True, slots=True)
class Seen:
    """A job as it is drawn, and what is wrong with it that the pictures leave out."""

    job: Job
    placement: Placement
    problems: tuple[Problem, ...]


def job_of(document: Mapping[str, Any], file: Path) -> Job:
    """Return the job of a document that counts as a file; raise InputError with all its problems."""
    job = parse(document)
    if job.dropout.outline is None or job.outline is not None:
        return job
    drawing = file.parent / str(job.dropout.outline)
    try:
        state = drawing.stat()
    except OSError:
        state = None
    seen = (state.st_mtime_ns, state.st_size) if state else (0, 0)
    asked = {key: value for key in _DRAWN_BY if (value := getattr(job.dropout, key)) is not None}
    read = _drawn(Dropout(**asked), file.parent, seen)
    if not isinstance(read, str):
        raise InputError(*read)
    return parse({**document, "outline": table(read)})


@functools.lru_cache(maxsize=4)
def _drawn(asked: Dropout, folder: Path, seen: tuple[int, int]) -> str | tuple[Problem, ...]:
    """Return what was read from a drawing, or why it is refused: it is not read for every keystroke."""
    try:
        return drawn_block(asked, folder)
    except InputError as error:
        return tuple(error.problems)


def seen(document: Mapping[str, Any], file: Path) -> Seen:
    """Return a job as far as it can be drawn; raise DropleafError where nothing of it can be.

    What is wrong or lacking is left out of the drawing, or what is usual stands in for it, and is told.
    """
    problems: tuple[Problem, ...] = ()
    tried = document
    for _ in range(_ROUNDS):
        try:
            job = job_of(tried, file)
            return Seen(job, place_job(job), problems)
        except DropleafError as error:
            problems = problems or error.problems
            last = error
            tried = _without(tried, error.problems)
    raise last


def _without(document: Mapping[str, Any], problems: Sequence[Problem]) -> dict[str, Any]:
    """Return a document without what problems are about, and with what every job must say."""
    tried = {key: dict(value) if isinstance(value, dict) else value for key, value in document.items()}
    for problem in problems:
        place = re.sub(r"\[.*", "", told(problem.where)).split(".")
        node: Any = tried
        for key in place[:-1]:
            node = node.get(key) if isinstance(node, dict) else None
        if place[:1] == ["tubes"] and len(place) > 1 and isinstance(tried.get("tubes"), dict):
            # A tube that is wrong in one number is known in no other.
            tried["tubes"] = {key: each for key, each in tried["tubes"].items() if key != place[1]}
        elif isinstance(node, dict):
            node.pop(place[-1], None)
    mount = tried.get("mount")
    end = "front" if isinstance(mount, dict) and mount.get("end") == "front" else "rear"
    for name, values in _STANDS_IN[end].items():
        given = tried.get(name)
        tried[name] = {**values, **given} if isinstance(given, dict) else values
    host = tried["mount"].get("host")
    if host in _TUBE and isinstance(tried.setdefault("tubes", {}), dict):
        tried["tubes"] = {**_TUBE, **tried["tubes"]}
    return tried


def pictures(found: Seen, listed: Sequence[Entry], screens: Mapping[str, Any]) -> dict[str, Any]:
    """Return both views of a job, its entries and what is taken for others, for screens of so many pixels."""
    shown = measures(listed)
    views = {
        name: draw(found.job, found.placement, shown, *_screen(screens.get(name)))
        for name, draw in (("side", side), ("behind", behind))
    }
    return {
        "views": {name: _view(picture) for name, picture in views.items()},
        "measures": {key: {"value": each.value, "missing": each.missing} for key, each in shown.items()},
        "assumed": assumed(found.job, found.placement, listed),
    }


def _screen(asked: Any) -> tuple[float, float]:
    """Return a screen's width and height, within what is drawn."""
    sizes = asked if isinstance(asked, list) else ()
    if len(sizes) != 2 or not all(isinstance(each, int | float) and each == each for each in sizes):
        return 640.0, 560.0
    return tuple(min(max(float(each), LEAST), MOST) for each in sizes)  # type: ignore[return-value]


def _view(picture: Picture) -> dict[str, Any]:
    view = picture.view
    return {
        "svg": picture.svg,
        "size": (view.width, view.height),
        "scale": view.scale,
        "origin": view.origin,
        "sign": view.sign,
        "boxes": [{"key": each.key, "at": each.middle, "size": each.size} for each in picture.boxes],
        "handles": [
            {"key": each.key, "at": each.at, "value": each.value, "pivot": each.pivot, "way": each.way}
            for each in picture.handles
        ],
    }
