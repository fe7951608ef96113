"""The wrap of a brace tube between the stays: the copes of both its ends."""

import math
from collections.abc import Mapping

import numpy as np

from geometry.core.findings import Finding
from geometry.core.plane import angle_of
from geometry.core.say import named, say
from geometry.tubes.crossing import between, tube_against
from geometry.tubes.tube import Station, Tube, centre, locate
from sheets.job.read import Job
from sheets.pages.wraps.strip import Strip
from sheets.pages.wraps.tube import PAST, Mark, rank_name, strips_on
from sheets.words.tell import tell, told


def brace_strips(job: Job, tubes: Mapping[str, Tube]) -> tuple[list[Strip], list[Finding]]:
    """Return the strips of the job's brace, and what has to be said; GeometryError where it misses a stay."""
    brace = job.tubes.brace
    assert brace is not None
    chainstay, seatstay = tubes["chainstay"], tubes["seatstay"]
    radius = brace.diameter / 2.0
    up = between(chainstay, brace.on_chainstay, seatstay, brace.on_seatstay, radius)
    down = between(seatstay, brace.on_seatstay, chainstay, brace.on_chainstay, radius)
    body = brace_tube(chainstay, brace.on_chainstay, seatstay, brace.on_seatstay, brace.diameter)
    marks: list[Mark] = []
    said: list[Finding] = []
    for stay, way in ((chainstay, down), (seatstay, up)):
        for curve in tube_against(way, stay, body=say("tubes.brace")):
            s, turn, _ = locate(body, curve.space)
            name = f"brace, cope at the {stay.name}{rank_name(curve.rank, curve.count)}"
            called = named(stay.name)
            marks.append(
                Mark(name, "edge", s, np.unwrap(turn), (tell("wrap.cut.stay", tube=called), told(called)))
            )
            said += curve.words
    start, end = body.span[0] + _SPARE, body.span[1] - _SPARE
    ends = [float(each) for mark in marks for each in (mark.s.min(), mark.s.max())]
    blank = Strip(
        name="brace wrap",
        title=tell("wrap.of_tube", tube=named("brace")),
        tube=body,
        low=max(body.span[0], min(ends) - PAST),
        high=min(body.span[1], max(ends) + PAST),
        lines=(),
        punches=(),
        zero=start,
        rate=math.cos(math.radians(body.splay)),
        middle="rear",
        up=tell("wrap.to_seatstay"),
        inside=(),
        notes=(
            tell(
                "wrap.brace",
                diameter=brace.diameter,
                chainstay=brace.on_chainstay,
                seatstay=brace.on_seatstay,
                apart=(end - start) / math.cos(math.radians(body.splay)),
            ),
        ),
        paper=job.wrap.paper,
    )
    strips, why = strips_on(blank, marks, None)
    return strips, [*said, *why]


def brace_marks(job: Job, tube: Tube) -> list[Mark]:
    """Return the line at which the middle of the job's brace meets a stay's own, if the job has one.

    It is drawn at the seam, which comes to lie away from the mount, and there the brace stands.
    """
    brace = job.tubes.brace
    if brace is None:
        return []
    s = brace.on_chainstay if tube.name == "chainstay" else brace.on_seatstay
    ring = np.linspace(_SEAM, math.pi, _RING + 1)
    label = tell("wrap.brace_middle", s=s)
    return [
        Mark(
            f"{tube.name} wrap, brace",
            "brace",
            np.full_like(ring, s),
            ring,
            (label, tell("wrap.brace_short")),
        )
    ]


_RING, _SEAM = 8, 0.35 * math.pi
_SPARE = 60.0
"""How far the brace is drawn past the stays' centre lines, mm: a cope reaches past them."""


def brace_tube(first: Tube, s_first: float, second: Tube, s_second: float, diameter: float) -> Tube:
    """Return a brace as a tube, from one centre line to another's and a little on."""
    a, b = centre(first, s_first), centre(second, s_second)
    direction = angle_of((float(b[0] - a[0]), float(b[1] - a[1])))
    way = Tube("brace", direction, (Station(0.0, diameter, diameter),))
    start, end = (float(point[:2] @ np.asarray(way.t0)) for point in (a, b))
    slope = float(b[2] - a[2]) / (end - start)
    ends = (start - _SPARE, end + _SPARE)
    return Tube(
        name="brace",
        direction=direction,
        stations=tuple(Station(s, diameter, diameter) for s in ends),
        offset=float(a[:2] @ np.asarray(way.n0)),
        outset=float(a[2]) - start * slope,
        splay=-math.degrees(math.atan(slope)),
    )
