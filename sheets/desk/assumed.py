"""What is taken in the stead of answers that are not given, told beside each field as what it is.

It comes from the job as it is drawn, which is what everything is worked out from. What the job cannot tell
before something else is given, such as a pocket's depth before the axle, is not told.
"""

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from geometry.core.tables import Number
from geometry.mount.placement import Placement
from sheets.guide.entries import Entry
from sheets.job.read import Job
from sheets.words.tell import tell

Told = dict[str, str]
"""What is said of it, and in short, "" where no number stands for it."""


def takes(key: str) -> bool:
    """Tell whether something may be taken in an answer's stead, so that its field keeps room to say so."""
    return key in _ALONE or _is_place(key) or key.endswith(".offset")


def assumed(job: Job, placement: Placement, listed: Sequence[Entry]) -> dict[str, Told]:
    """Return by key what is taken in the stead of answers that come up and are not given."""
    values = {each.key: each.value for each in listed}
    asked = {each.key for each in listed if each.question is not None and not each.value}
    return {key: told for key, told in _every(job, placement, values) if key in asked}


def _every(job: Job, placement: Placement, values: Mapping[str, str]) -> Iterator[tuple[str, Told]]:
    yield "axle.dummy", _length(job.axle.dummy)
    yield "mount.tilt", _told("tilt", short=_short(tell("desk_frame.taken.number", value=job.mount.tilt)))
    if values.get("axle.system"):
        pocket, grade = placement.pocket, placement.pocket_grade
        short = tell("desk_frame.taken.length", value=pocket)
        title = placement.axle.title
        yield "axle.pocket", _told("pocket", short=_short(short), deep=pocket, axle=title, grade=grade)
    if values.get("mount.interface"):
        face = placement.interface
        for key, usual in (("diameter", face.boss_diameter), ("length", face.boss_length)):
            if usual is not None:
                yield f"boss.{key}", _table(usual)
    for key in values:
        if _is_place(key):
            yield key, _told("same")
        elif key.endswith(".offset"):
            yield key, _told("line", short=_short(tell("desk_frame.taken.length", value=0.0)))
    name = "leg" if placement.end == "front" else "chainstay"
    if job.stance.of(placement.end).angle is None:
        every = sorted(job.stance.of(placement.end).of(turn) for turn in job.stance.of(placement.end).turns)
        yield f"stance.{name}", _told("stance", least=every[0], most=every[-1])


_ALONE = (
    "axle.dummy", "axle.pocket", "boss.diameter", "boss.length", "mount.tilt", "stance.leg",
    "stance.chainstay",
)  # fmt: skip
"""The keys, but those of tubes, in whose stead something is taken."""


def _is_place(key: str) -> bool:
    """Tell whether a key is a further place on a tube, which goes on as it is without one."""
    return ".place." in key and not key.endswith(".place.1")


def _length(value: float) -> Told:
    return _told("size", short=_short(tell("desk_frame.taken.length", value=value)), size=value)


def _table(usual: Number) -> Told:
    short = _short(tell("desk_frame.taken.length", value=usual.value))
    return _told("table", short=short, size=usual.value, grade=usual.grade)


def _short(text: str) -> str:
    return tell("desk_frame.taken.short", value=text)


def _told(code: str, short: str = "", **values: Any) -> Told:
    return {"said": tell(f"desk_frame.taken.{code}", **values), "short": short}
