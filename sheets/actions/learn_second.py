"""A second mount of a kind: whether it agrees with a row that was measured on one, and the row of both.

Every number of the row becomes the middle between both mounts, and its band holds the bands of both: a second
mount bears the first one out, it makes no number better. More than two are put together by pool.py.
"""

import math

from geometry.core.errors import InputError, Problem
from geometry.core.frozen import dataclass
from geometry.core.say import Say, say
from geometry.survey.limits import limits
from geometry.tables.interfaces import resolve
from sheets.actions.learn import Lesson
from sheets.actions.learn_words import numbers_of, row_text, up
from sheets.home.own_rows import KeptRow, file
from sheets.words.tell import says, tell

_LIMIT = {"h": "height", "x_near": "along", "x_far": "along", "lateral": "lateral"}
_DRILL = 0.1
"""By how much the drills of two mounts may differ, mm: own judgement, the step of a drill set."""


@dataclass(frozen=True, slots=True)
class Second:
    """The row of both mounts as TOML, and in words how far they lie apart.

    Where they disagree there is no such row, and `disagrees` says by how much.
    """

    block: str = ""
    words: str = ""
    disagrees: str = ""


def second(found: Lesson, kept: KeptRow, replaces: bool) -> Second:
    """Return the row of a mount that was kept and one that was read now.

    They agree where their numbers differ by no more than both bands together and what a survey lets a good
    mount be off. Raise InputError where both are one mount, or where that cannot be told.
    """
    row = _row(kept)
    check_takes(kept, found.measured.on)
    form = resolve(kept.name, kept.end, kept.native, kept.native, kept.geometry)
    before = {"h": form.h, "x_near": form.x_near, "x_far": form.x_far}
    if kept.lateral is not None:
        before["lateral"] = kept.lateral
    now = numbers_of(found)
    if ("lateral" in before) != ("lateral" in now):
        lacking = "second" if "lateral" in before else "first"
        raise _refused(say(f"lesson.second.no_lateral.{lacking}", row=row))
    bands = {str(key): band for key, band in kept.uncertainty.items()}
    open_ = [_named(key) for key in before if key not in bands]
    if open_:
        raise _refused(say("lesson.second.no_bands", row=row, numbers=", ".join(open_)))
    allowed = {key: math.hypot(bands[key], now[key][1]) + limits(form)[_LIMIT[key]].value for key in before}
    apart = {key: now[key][0] - value for key, value in before.items()}
    beyond = [
        tell("lesson.second.beyond", number=_named(key), off=off, allowed=allowed[key])
        for key, off in apart.items()
        if abs(off) > allowed[key]
    ]
    if beyond:
        return Second(disagrees=tell("lesson.second.disagrees", row=row, numbers="; ".join(beyond)))
    hole = _hole(found, kept, row)
    radii = {key: _radius(before["h"], before[f"x_{key}"]) for key in ("near", "far")}
    before |= {**radii, "spacing": before["x_far"] - before["x_near"]}
    both = {}
    for key, value in before.items():
        reading, band = now[key]
        # A band that the row does not give is no better than those of the numbers it rests on.
        was = bands.get(key, math.hypot(bands["h"], bands["x_near"], bands["x_far"]))
        both[key] = ((value + reading) / 2.0, abs(reading - value) / 2.0 + max(was, band))
    head = {"name": kept.name, "end": kept.end, "family": kept.family, "native": kept.native}
    more = {**hole, "source": kept.source, "second_source": found.measured.source}
    within = [
        tell("lesson.second.within", number=_named(key), off=off, allowed=allowed[key])
        for key, off in apart.items()
    ]
    held = [f"{_named(key)} {both[key][0]:.2f} ±{up(both[key][1]):.2f}" for key in apart]
    words = tell("lesson.second.agrees", apart=", ".join(within), name=kept.name, both=", ".join(held))
    return Second(row_text(head, both, more, 2, replaces or kept.replaces), words)


def check_takes(kept: KeptRow, on: str) -> None:
    """Raise InputError where a row takes no second mount, or where that measured `on` is its first one."""
    row = _row(kept)
    if kept.grade != "measured":
        raise _refused(say("lesson.second.not_measured", row=row))
    if (kept.mounts or 1) > 1:
        raise _refused(say("lesson.second.two_already", row=row, count=kept.mounts or 1))
    # That they are two mounts is told by what was measured, and by nothing else. Of that a row keeps no more
    # than its source says.
    if says("lesson.source", kept.source, on=on) or says("lesson.unsigned", kept.source, on=on):
        raise _refused(say("lesson.second.same_mount", row=row, on=on))


def _row(kept: KeptRow) -> Say:
    return say("lesson.second.row", name=kept.name, file=str(file()))


def _named(key: str) -> str:
    return tell(f"learned.number.{key}")


def _hole(found: Lesson, kept: KeptRow, row: Say) -> dict[str, object]:
    was, now = kept.hole, found.measured.hole
    if was is not None and now is not None and abs(was - now) > _DRILL:
        raise _refused(say("lesson.second.other_holes", row=row, was=was, now=now))
    hole = now if was is None else was
    return {} if hole is None else {"hole": hole}


def _radius(h: float, x: float) -> float:
    return math.hypot(h, x)


def _refused(what: Say) -> InputError:
    return InputError(Problem("--save", what))
