"""What a job's mount is and stands on, for pictures of its readings: mm up its tube and square to it."""

import math
from collections.abc import Iterator, Sequence

import numpy as np
from numpy.typing import NDArray

from geometry.core.plane import along, polar
from geometry.tubes.tube import outline
from sheets.actions.survey import Bench
from sheets.ink.records import Point
from sheets.pages import title as sizes
from sheets.pages.full_size.in_place import plain_tab
from sheets.setup.outline import plate, shape

Line = tuple[Point, ...]
_BARE = 15.0
"""Radius of a dropout that nobody drew: that it is there is what is known of it, mm."""
_STEP = 15


def drawn_tab(bench: Bench) -> bool:
    """Tell whether the tab is part of the dropout's outline, as the job has it."""
    found = shape(bench.source.job, bench.placement)
    return found is not None and found.sure and found.tab is not None


def body(bench: Bench) -> tuple[Line, ...]:
    """Return the outlines of the mount itself; of a tab that is part of its dropout that dropout's."""
    job, placement = bench.source.job, bench.placement
    form = placement.interface
    if form.family == "tab":
        if drawn_tab(bench):
            return tuple(_dropout(bench))
        return (tuple(plain_tab(placement, bench.tubes.get(placement.host))),)
    half = sizes.boss_size(job, placement)[0] / 2.0
    return tuple(
        (
            (x - half, form.h - long),
            (x - half, form.h),
            (x + half, form.h),
            (x + half, form.h - long),
            (x - half, form.h - long),
        )
        for x, hole in ((form.x_near, "near"), (form.x_far, "far"))
        for long in (sizes.boss_length(job, placement, hole),)
    )


def around(bench: Bench) -> tuple[Line, ...]:
    """Return the lines of what is there beside the mount: dropout, tubes, and a brace between them."""
    found = [] if drawn_tab(bench) else list(_dropout(bench))
    for tube in bench.tubes.values():
        first, second = outline(tube, (0.0, 0.0, 1.0), (*tube.n0, 0.0))
        found += [_seen(bench, first), _seen(bench, second)]
        found.append(_seen(bench, np.array([first[0], second[0]])))
    return (*found, *_brace(bench))


def _seen(bench: Bench, points: NDArray[np.float64] | Sequence[Point]) -> Line:
    t, n = bench.placement.t, bench.placement.n
    return tuple(
        (float(x) * t[0] + float(y) * t[1], float(x) * n[0] + float(y) * n[1]) for x, y, *_ in points
    )


def _dropout(bench: Bench) -> Iterator[Line]:
    found = plate(bench.source.job, bench.placement)
    if found is None:
        yield tuple(polar(float(turn), _BARE) for turn in range(0, 361, _STEP))
        return
    for ring in found.outline.rings:
        yield _seen(bench, [*ring, ring[0]])


def _brace(bench: Bench) -> Iterator[Line]:
    brace, tubes = bench.source.job.tubes.brace, bench.tubes
    if brace is None or not {"chainstay", "seatstay"} <= tubes.keys():
        return
    foot, head = (
        along((0.0, 0.0), (tube.offset, tube.n0), (s, tube.t0))
        for tube, s in (
            (tubes["chainstay"], brace.on_chainstay),
            (tubes["seatstay"], brace.on_seatstay),
        )
    )
    far = math.dist(foot, head) or 1.0
    side = (-(head[1] - foot[1]) / far, (head[0] - foot[0]) / far)
    for out in (brace.diameter / 2.0, -brace.diameter / 2.0):
        yield _seen(bench, [along(foot, (out, side)), along(head, (out, side))])
