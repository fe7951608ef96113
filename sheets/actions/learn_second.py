"""A second mount of a kind: whether it agrees with a row that was measured on one, and the row of both.

Every number of the row becomes the middle between both mounts, and its band holds the bands of both: a second
mount bears the first one out, it makes no number better. More than two are not put together yet.
"""

import math
from dataclasses import dataclass

from geometry.core.errors import InputError, Problem
from geometry.survey.limits import limits
from geometry.tables.interfaces import resolve
from sheets.actions.learn import Lesson
from sheets.actions.learn_words import numbers_of, row_text, up
from sheets.home.own_rows import KeptRow, file

_LIMIT = {"h": "height", "x_near": "along", "x_far": "along", "lateral": "lateral"}
_SAID = {"h": "h", "x_near": "x near", "x_far": "x far", "lateral": "lateral"}
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
    where = _where(kept)
    check_takes(kept, found.measured.on)
    form = resolve(kept.name, kept.end, kept.native, kept.native, kept.geometry)
    before = {"h": form.h, "x_near": form.x_near, "x_far": form.x_far}
    if kept.lateral is not None:
        before["lateral"] = kept.lateral
    now = numbers_of(found)
    if ("lateral" in before) != ("lateral" in now):
        lacking = where if "lateral" not in before else "this second mount"
        raise _refused(f"{lacking} has no lateral, and the other has: read side on both, or give --replace")
    bands = {str(key): band for key, band in kept.uncertainty.items()}
    open_ = [_SAID[key] for key in before if key not in bands]
    if open_:
        raise _refused(
            f"{where} gives no uncertainty of {', '.join(open_)}, so that nobody can tell whether this mount "
            "agrees; give --replace, or another name"
        )
    allowed = {key: math.hypot(bands[key], now[key][1]) + limits(form)[_LIMIT[key]].value for key in before}
    apart = {key: now[key][0] - value for key, value in before.items()}
    beyond = [
        f"{_SAID[key]} by {off:+.2f}, allowed ±{allowed[key]:.2f}"
        for key, off in apart.items()
        if abs(off) > allowed[key]
    ]
    if beyond:
        return Second(
            disagrees=f"this mount disagrees with {where}: {'; '.join(beyond)}. Two mounts of one kind and "
            "size do not: look at the native size, read both again, or keep this one under another name; "
            "nothing was changed"
        )
    hole = _hole(found, kept, where)
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
    far = ", ".join(f"{_SAID[key]} {off:+.2f} (allowed ±{allowed[key]:.2f})" for key, off in apart.items())
    words = (
        f"It agrees with the mount that was kept: {far}. {kept.name} now rests on 2 mounts: each number is "
        "the middle of both, and its band holds both: "
        + ", ".join(f"{_SAID[key]} {both[key][0]:.2f} ±{up(both[key][1]):.2f}" for key in apart)
        + "."
    )
    return Second(row_text(head, both, more, 2, replaces or kept.replaces), words)


def check_takes(kept: KeptRow, on: str) -> None:
    """Raise InputError where a row takes no second mount, or where that measured `on` is its first one."""
    where = _where(kept)
    if kept.grade != "measured":
        raise _refused(f"{where} was not measured: choose another name, or give --replace")
    if (kept.mounts or 1) > 1:
        raise _refused(
            f"{where} rests on {kept.mounts} mounts, and more are not put together yet: choose another name, "
            "or give --replace to write over it"
        )
    # That they are two mounts is told by what was measured, and by nothing else.
    if kept.source.casefold().startswith(f"measured on {on}, ".casefold()):
        raise _refused(
            f"{where} was measured on {on} already, and one mount that is read again is no second mount: "
            "say with --on which other mount this is, or give --replace to write over the row"
        )


def _where(kept: KeptRow) -> str:
    return f"the row {kept.name} in {file()}"


def _hole(found: Lesson, kept: KeptRow, where: str) -> dict[str, object]:
    was, now = kept.hole, found.measured.hole
    if was is not None and now is not None and abs(was - now) > _DRILL:
        raise _refused(f"{where} has holes of {was:g}, this mount of {now:g}: they are not of one kind")
    hole = now if was is None else was
    return {} if hole is None else {"hole": hole}


def _radius(h: float, x: float) -> float:
    return math.hypot(h, x)


def _refused(what: str) -> InputError:
    return InputError(Problem("--save", f"{what}; nothing was changed"))
