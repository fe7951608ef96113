"""What one number would cure a finding, and by how much: searched for with the pipeline that found it.

A key after the other is moved away from what the job says, both ways, further and further within what the
job's keys allow; where the finding goes and no other stop comes, the nearest such value is closed in on to a
tenth. It is told only after everything has been found anew with it. What no single number cures says so.
"""

import math
import time
from collections.abc import Callable, Iterable, Iterator, Mapping
from pathlib import Path
from typing import Any

from geometry.core.errors import DropleafError
from geometry.core.findings import Finding
from geometry.core.frozen import dataclass
from geometry.core.say import named
from geometry.mount.placement import MEETING, Placement
from geometry.tables.adapters import bolts, takes
from geometry.tubes.tube import centre
from sheets.desk.live import job_of
from sheets.guide.entries import document_with
from sheets.job.read import Job, place_job, tubes_of
from sheets.setup.clearances import clear
from sheets.setup.findings import sheet_findings
from sheets.setup.setup import set_up
from sheets.words.lengths import telling
from sheets.words.tell import tell

SECONDS = 10.0
"""How long one finding's cures are searched for at most. Own judgement."""
MOST = 5
"""Cures that are told."""
_STEPS = (0.1, 0.2, 0.4, 0.8, 1.6, 3.2, 6.4, 9.0, 12.0, 16.0, 20.0)
_LEAST = {"splay": 7, "included": 8}
"""How many of these steps a frame's own angles can be moved by without becoming another frame."""
_TENTH = 0.1
_CLEARANCE = ("clearance-fails", "clearance-tight")
_DEGREES = ("tilt", "splay", "included", "slot")

Stops = frozenset[tuple[str, str]]


@dataclass(frozen=True, slots=True)
class Cure:
    """A value of one key with which a finding goes; `by` is how far that is from the job's."""

    key: str
    value: float
    by: float


def cures(document: Mapping[str, Any], file: Path, code: str, subject: str) -> dict[str, Any]:
    """Return what one number would do about a finding, told: the mount's own first, and small changes.

    `ended` says that the time for searching was over before every key had been tried.
    """
    end = time.monotonic() + SECONDS
    job = job_of(document, file)
    found, ended = [], False
    before = _stops(_every(job))
    for key, value, values in _candidates(job, code, subject):
        if time.monotonic() > end:
            ended = True
            break
        if code in _CLEARANCE and values is None and not _moves(document, file, key, value, subject):
            continue
        steps = _STEPS[: _LEAST.get(key.rpartition(".")[2])]
        cured = _cured(document, file, key, code, subject, before)
        found += [Cure(key, each, each - value) for each in _nearest(cured, value, values, steps, end)]
    # A tube is moved on the frame, the mount's own numbers on paper alone: those come first.
    best = sorted(found, key=lambda each: (each.key.startswith("tubes."), abs(each.by), each.key))[:MOST]
    with telling(job.paper.units):
        return {"cures": [_told(job, each) for each in best], "none": _none(best, ended), "ended": ended}


def _none(best: list[Cure], ended: bool) -> str:
    if best:
        return ""
    return tell("desk_frame.cure.ended" if ended else "desk_frame.cure.none")


def _told(job: Job, cure: Cure) -> dict[str, Any]:
    table, *middle, part = cure.key.split(".")
    if middle:
        name = tell(f"desk_frame.tube_key.{part}", tube=named(middle[0]))
    else:
        name = tell(f"desk_frame.mount_key.{table}_{part}")
    unit = "angle" if part in _DEGREES else "length"
    way = "more" if cure.by > 0.0 else "less"
    told = tell(f"desk_frame.would_do.{unit}.{way}", what=name, value=cure.value, by=abs(cure.by))
    answer = f"{cure.value:.4g}" + (" mm" if unit == "length" and job.paper.units == "in" else "")
    return {"key": cure.key, "answer": answer, "text": told}


def _candidates(job: Job, code: str, subject: str) -> Iterator[tuple[str, float, tuple[float, ...] | None]]:
    """Give the keys that may cure a finding, with the job's value, and the values that there are, if few.

    What nobody measured has no value to be moved from.
    """
    placement = place_job(job)
    mount, face = job.mount, placement.interface
    yield "mount.tilt", mount.tilt, None
    tubes = {str(name): table for name, table in job.tubes.given().items()}
    clearance = code in _CLEARANCE
    for name in MEETING[placement.end]:
        table = tubes.get(name)
        # Only what a finding names can be moved out of its way.
        if table is None or (clearance and name.replace("-", " ") not in subject.replace("-", " ")):
            continue
        for part in ("outset", "splay", "offset", "wall", "included"):
            value = getattr(table, part, None)
            if value is not None and not (clearance and part == "wall"):
                yield f"tubes.{name}.{part}", value, None
    for part in ("length", "near_length", "diameter", "thickness"):
        value = getattr(job.boss, part)
        if value is not None:
            yield f"boss.{part}", value, None
    if job.dropout.thickness is not None and not clearance:
        yield "dropout.thickness", job.dropout.thickness, None
    if job.dropout.slot is not None and not clearance:
        yield "dropout.slot", job.dropout.slot, None
    smaller = tuple(size for size in takes(bolts(face), face.native, mount.rotor) if size < mount.rotor)
    if smaller:
        yield "mount.rotor", mount.rotor, tuple(sorted(smaller, reverse=True))


def _cured(
    document: Mapping[str, Any], file: Path, key: str, code: str, subject: str, before: Stops
) -> Callable[[float, bool], bool]:
    """Return what tells whether a finding goes with a key's other value, quickly or by all that is found."""

    def cured(value: float, whole: bool) -> bool:
        try:
            job = _with(document, file, key, value)
            placement = place_job(job)
            if _past_disc(job, placement):
                return False
            if code in _CLEARANCE and not whole:
                every = clear(job, placement, tubes_of(job)).findings
                same = any(each.code in _CLEARANCE and each.subject == subject for each in every)
                return not same and not _stops(every) - before
            return _gone(job, code, subject, before)
        except DropleafError:
            return False

    return cured


def _moves(document: Mapping[str, Any], file: Path, key: str, value: float, subject: str) -> bool:
    """Tell whether a key changes a clearance at all: most do not, and are not searched."""
    found = set[float | None]()
    for moved in (value, value + 1.6, value - 1.6):
        try:
            job = _with(document, file, key, moved)
            placement = place_job(job)
            every = clear(job, placement, tubes_of(job)).clearances
        except DropleafError:
            continue
        # Of two that meet the depth is not known: whether it is deeper is not seen in the distance.
        found |= {
            each.distance or math.hypot(*(each.second or (0.0,))) for each in every if each.key == subject
        }
    return len(found) > 1


def _with(document: Mapping[str, Any], file: Path, key: str, value: float) -> Job:
    """Return a document's job with another value of a key; raise DropleafError where it is refused."""
    return job_of(document_with(dict(document), key, _typed(document, key, value)), file)


def _past_disc(job: Job, placement: Placement) -> bool:
    """Tell whether a tube begins on the spokes' side of the disc, where no frame has one."""
    outer = placement.rotor.outer_face_z
    near = [tube for tube in tubes_of(job).values() if tube.span[0] < placement.rotor.radius]
    return outer is not None and any(centre(tube, tube.span[0])[2] < outer for tube in near)


def _typed(document: Mapping[str, Any], key: str, value: float) -> str:
    """Return a value as it is typed into a job, whose bare lengths may be asked for in inches."""
    inches = document.get("paper", {}).get("units") == "in" and key.rpartition(".")[2] not in _DEGREES
    return f"{value:.4f} mm" if inches else f"{value:.4f}"


def _gone(job: Job, code: str, subject: str, before: Stops) -> bool:
    every = _every(job)
    codes = _CLEARANCE if code in _CLEARANCE else (code,)
    if any(each.code in codes and each.subject == subject and each.level != "note" for each in every):
        return False
    return not _stops(every) - before


def _every(job: Job) -> tuple[Finding, ...]:
    with telling(job.paper.units):
        placement = place_job(job)
        return sheet_findings(placement, set_up(job, placement, tubes_of(job)))


def _stops(found: Iterable[Finding]) -> Stops:
    return frozenset((each.code, each.subject) for each in found if each.level == "stop")


def _nearest(
    cured: Callable[[float, bool], bool],
    value: float,
    values: tuple[float, ...] | None,
    steps: tuple[float, ...],
    end: float,
) -> list[float]:
    """Return the nearest value either way that cures, none where none does; the largest of a few values."""
    if values is not None:
        return [each for each in values if cured(each, False) and cured(each, True)][:1]
    found = []
    for way in (1.0, -1.0):
        good = _one_way(cured, value, way, steps, end)
        if good is not None and cured(good, True):
            found.append(good)
    return sorted(found, key=lambda each: abs(each - value))[:1]


def _one_way(
    cured: Callable[[float, bool], bool], value: float, way: float, steps: tuple[float, ...], end: float
) -> float | None:
    for fails, step in enumerate(steps):
        if time.monotonic() > end:
            return None
        tenths = _tenths(value, way, step)
        if cured(tenths * _TENTH, False):
            good, bad = tenths, _tenths(value, way, steps[fails - 1]) if fails else None
            while bad is not None and abs(good - bad) > 1:
                middle = (good + bad) // 2
                good, bad = (middle, bad) if cured(middle * _TENTH, False) else (good, middle)
            return round(good * _TENTH, 1)
    return None


def _tenths(value: float, way: float, step: float) -> int:
    """Return how many tenths a value comes to, so far on one way, rounded that way."""
    exact = round((value + way * step) / _TENTH, 6)
    return math.ceil(exact) if way > 0.0 else math.floor(exact)
