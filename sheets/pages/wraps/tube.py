"""From lines on a tube to the strips of paper that show them: how far each reaches, and where it is split."""

import itertools
import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from geometry.core.errors import GeometryError
from geometry.core.findings import Finding
from geometry.core.frozen import dataclass
from geometry.core.say import Say, also, named, say
from geometry.tubes.development import develop, gape, pieces, runs
from geometry.tubes.tube import Vector
from sheets.pages.wraps.strip import Line, Role, Strip
from sheets.words.tell import line, tell

PAST = 6.0
"""How far a strip runs past what it shows, mm."""
_CUT: tuple[Role, ...] = ("hole", "edge")
_RING = 48
_NOTHING = 1e-6


@dataclass(frozen=True, slots=True)
class Mark:
    """A line on a tube before it is split; `turn` runs on without a jump. See Line for `labels`."""

    name: str
    role: Role
    s: Vector
    turn: Vector
    labels: tuple[str, ...] = ()


def strips_on(blank: Strip, marks: Sequence[Mark], clear: float | None) -> tuple[list[Strip], list[Finding]]:
    """Return the strips that show some lines, one for each piece of the taper, and what has to be said.

    `blank` is a strip without lines, whose low and high are the furthest that any strip may reach. Where
    `clear` is given a dashed line is drawn that far from what is cut, and the strips reach past it; without
    it they reach as far as they may.
    """
    tube, said = blank.tube, []
    cut = [mark for mark in marks if mark.role in _CUT]
    joint = (min(float(m.s.min()) for m in cut), max(float(m.s.max()) for m in cut))
    low, high = blank.low, blank.high
    if clear is not None:
        low, high = max(low, joint[0] - clear - PAST), min(high, joint[1] + clear + PAST)
    marks = [mark for mark in marks if mark.role != "brace" or low < float(mark.s.min()) < high]
    marks = [*(_within(mark, low, high) for mark in marks), *_zone(blank, joint, clear)]
    parts = [(mark, run) for mark in marks for run in runs(tube, mark.s, mark.turn)]
    # What a cut line touches by a hair is not worth a strip of paper.
    shown = [
        piece
        for piece in pieces(tube)
        if any(m.role in _CUT and run.within == piece and np.ptp(run.s) > 0.01 for m, run in parts)
    ]
    count = {mark.name: sum(1 for m, run in parts if m is mark and run.within in shown) for mark in marks}
    seen = dict.fromkeys(count, 0)
    strips: list[Strip] = []
    for rank, piece in enumerate(shown, start=1):
        ends = max(low, piece[0]), min(high, piece[1])
        lines = []
        for mark, run in parts:
            if run.within != piece or np.hypot(np.ptp(run.s), np.ptp(run.turn)) < _NOTHING:
                continue
            seen[mark.name] += 1
            part = f", part {seen[mark.name]}" if count[mark.name] > 1 else ""
            lines.append(Line(f"{mark.name}{part}", mark.role, run.s, run.turn, mark.labels))
        name, title = blank.name, blank.title
        if len(shown) > 1:
            name += rank_name(rank, len(shown))
            title = tell("wrap.up_the_tube", title=title, rank=rank, count=len(shown))
        inside = (*blank.inside, *_ends_in(blank, ends, (low, high), clear))
        punches = tuple(p for p in blank.punches if ends[0] <= p.s <= ends[1])
        strips.append(
            replace(
                blank, name=name, title=title, low=ends[0], high=ends[1], lines=tuple(lines), punches=punches,
                inside=inside,
            )
        )  # fmt: skip
    for strip in strips[:-1]:
        wide = gape(tube, strip.high)
        what = say(
            "wrap.split.gape" if wide >= 0.0 else "wrap.split.overlap",
            tube=named(tube.name),
            at=_marked(blank, strip.high),
            side=say(f"wrap.side.{blank.middle}"),
            wide=abs(wide),
        )
        said.append(Finding("wrap-split", "note", what, tube.name))
    flat: list[Strip] = []
    for strip in strips:
        made, why = _flat_ones(strip)
        flat += made
        said += why
    return flat, said


def apart(strip: Strip) -> tuple[Strip, ...]:
    """Return a strip cut into one for each joint on it, or itself alone where it has but one."""
    spans: list[tuple[float, float]] = []
    for a, b in sorted((float(m.s.min()), float(m.s.max())) for m in strip.lines if m.role in _CUT):
        if spans and a <= spans[-1][1] + 2.0 * PAST:
            spans[-1] = (spans[-1][0], max(b, spans[-1][1]))
        else:
            spans.append((a, b))
    if len(spans) < 2:
        return (strip,)
    cuts = [strip.low, *((a[1] + b[0]) / 2.0 for a, b in itertools.pairwise(spans)), strip.high]
    found = []
    for rank, (start, end) in enumerate(itertools.pairwise(cuts), start=1):
        low, high = max(start, spans[rank - 1][0] - 2.0 * PAST), min(end, spans[rank - 1][1] + 2.0 * PAST)
        if rank == 1:
            low = start
        if rank == len(spans):
            high = end
        kept = tuple(line for line in strip.lines if low <= line.s.min() and line.s.max() <= high)
        punches = tuple(punch for punch in strip.punches if low <= punch.s <= high)
        name = f"{strip.name}, joint {rank} of {len(spans)}"
        title = tell("wrap.joint", title=strip.title, rank=rank, count=len(spans))
        found.append(replace(strip, name=name, title=title, low=low, high=high, lines=kept, punches=punches))
    return tuple(found)


def rank_name(rank: int, count: int) -> str:
    """Return what tells apart, by name, the several of a kind up a tube."""
    return f", {rank} of {count} up the tube" if count > 1 else ""


def _within(mark: Mark, low: float, high: float) -> Mark:
    """Return a line that may be longer than the strip, the disc's, no longer than that."""
    return replace(mark, s=np.clip(mark.s, low, high)) if mark.role == "rotor" else mark


def _marked(strip: Strip, s: float) -> float:
    """Return what a tick at s is marked with."""
    return (s - strip.zero) / strip.rate


def _zone(blank: Strip, joint: tuple[float, float], clear: float | None) -> list[Mark]:
    """Return the boundaries of the zone near the joint, as far as they lie on the tube."""
    if not clear:
        return []
    ring = np.linspace(-math.pi, math.pi, _RING + 1)
    places = (("lower", joint[0] - clear), ("upper", joint[1] + clear))
    return [
        Mark(f"{blank.name}, {which} end of the zone", "zone", np.full_like(ring, s), ring)
        for which, s in places
        if blank.low < s < blank.high
    ]


def _ends_in(
    blank: Strip, ends: tuple[float, float], whole: tuple[float, float], clear: float | None
) -> list[str]:
    """Say that the zone near the joint goes on where a strip ends at a change of taper before it."""
    if clear is None or ends[1] >= whole[1] - PAST:
        return []
    return [tell("wrap.zone_goes_on", to=_marked(blank, whole[1] - PAST))]


def _flat_ones(strip: Strip) -> tuple[tuple[Strip, ...], list[Finding]]:
    """Return a strip, or what is left of it where its oval has no flat form over that length."""
    cut = [line for line in strip.lines if line.role in _CUT]
    low = max(strip.low, min(float(line.s.min()) for line in cut) - PAST)
    high = min(strip.high, max(float(line.s.max()) for line in cut) + PAST)
    short = replace(strip, low=low, high=high, lines=tuple(line for line in strip.lines if line in cut))
    problem: Say | str = ""
    for tried in ((strip,), (short,), apart(short)):
        try:
            for each in tried:
                develop(each.tube, np.array([each.low]), np.zeros(1), within=(each.low, each.high))
        except GeometryError as error:
            problem = also(line(each) for each in error.problems)
            continue
        return tried, []
    what = say("wrap.left_out", title=strip.title, why=problem)
    return (), [Finding("no-wrap", "note", what, strip.tube.name)]
