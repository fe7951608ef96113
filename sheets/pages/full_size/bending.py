"""The page of strength: how one hard stop bends the tubes, their weakest places, and what screws bear."""

import contextlib
import math
from collections.abc import Callable, Sequence

from geometry.braking.mount_strength import Part
from geometry.braking.strength import Screened, Strength
from geometry.braking.tube_frame import Bent
from geometry.core.errors import FitError
from geometry.core.plane import along, angle_of, polar
from geometry.core.say import Say, named, say
from geometry.core.tables import Number
from sheets.ink.drawing import Drawing
from sheets.ink.marks import HIDDEN, SOLID, THICK, THIN, box, circle, polyline
from sheets.ink.paper import PAPERS
from sheets.ink.placing import Box
from sheets.ink.records import Point, Sheet
from sheets.job.read import Job
from sheets.pages import title as words
from sheets.pages.flow import PITCHES, READ, Column, Flow
from sheets.pages.frame import Page, finish, fitting, lowered
from sheets.pages.title_block import NUMBER_ROOM
from sheets.pages.view import Look
from sheets.setup.brake_screen import Loaded
from sheets.words.fork_test import verdict
from sheets.words.lengths import measured
from sheets.words.strength import (
    judged,
    load_words,
    look_words,
    measure_words,
    near_part,
    unknown_words,
    where,
)
from sheets.words.tell import tell, told

_HEAD = 11.0
_FORMS = (
    *((120.0, pitch) for pitch in PITCHES[:3]),
    *((high, pitch) for high in (90.0, 70.0, 50.0, 0.0) for pitch in PITCHES[2:]),
)
"""Height of the figure, mm, and line pitch: the first with which one page holds all is taken.

Where words leave no room for a figure there is none: what they say is what counts."""
_MOVED = 11.0
"""How far the figure's joint moves that moves most, mm."""
_MOMENT = 12.0
"""How far the largest moment stands off its tube, mm."""
_LAYER = "loads"
_NUMBERS = (("stress", 14.0, 1.0), ("limit", 38.0, 1.0), ("ratio", 26.0, 1.0))
_COLUMNS = (("tube", 28.0, 0.0), ("where", 0.0, 0.0), *_NUMBERS)
"""A table's columns: what its heading is called, width in mm, 0 for what is left, and anchor."""
_USUAL = (("wall", 28.0, 0.0), ("most_stressed", 40.0, 0.0), *_NUMBERS)


def bent_page(job: Job, found: Loaded) -> Sheet:
    """Return the page of strength; raise FitError where the paper is too small for every word of it.

    Without the tubes' numbers it says which lack, and what usual walls come to.
    """
    paper, margin = PAPERS[job.paper.size], job.paper.margin
    inset = margin + THICK.width
    live: Box = (inset, inset, paper.width - inset, paper.height - inset)
    for form in _FORMS[:-1]:
        with contextlib.suppress(FitError):
            drawing, number_at = _filled(job, found, live, *form)
            break
    else:
        drawing, number_at = _filled(job, found, live, *_FORMS[-1])
    page = Page(paper, margin, drawing, live, number_at)
    title, bookmark = tell("bending.title", frame=job.frame.id), tell("bending.bookmark")
    return finish(page, "loads", title, "outboard", live[:2], full_size=False, bookmark=bookmark)


def _filled(job: Job, found: Loaded, live: Box, figure: float, pitch: float) -> tuple[Drawing, Point]:
    """Return the page filled at a line pitch, and where its number ends; raise FitError where it is full."""
    left, low, right, top = live
    drawing = Drawing()
    # A long name goes without the sheet's, and a longer one without itself: the frame's id is enough.
    name = words.heading(job)
    full = tell("bending.heading", frame=name)
    tried = [(full, 5.0), (name, 5.0), (job.frame.id, 5.0), (job.frame.id, 3.5)]
    title, height = fitting(tried, right - left - 4.0 - NUMBER_ROOM)
    drop = lowered(title, height, 8.0 - height)
    drawing.draw(box((left, top - _HEAD - drop), (right, top)), THICK, "title block")
    at, part = (left + 2.0, top - drop - 8.0), drawing.part("H1")
    drawing.letter(title, at, height, layer="title block", part=part)
    number_at = right - 2.0, top - drop - 8.0
    foot = low + 0.4
    # Another page would have no room for anything, and the flow then raises.
    flow = Flow(
        drawing, left + 1.0, right - 1.0, top - _HEAD - drop - 1.0, foot, None, lambda: (drawing, foot), pitch
    )
    screened = found.strength
    flow.paragraph(tell("packet.use.loads"))
    flow.paragraph(_verdict(found), READ, "bold")
    for loud in (_weaker_part(found), verdict(found.tested), load_words(found.load)):
        if loud:
            flow.paragraph(loud, READ, "bold")
    if screened.bent is not None:
        if figure:
            flow.space(figure)
            drawing.begin_figure()
            flow.paragraph(_figure(flow.drawing, (left, flow.y, right, flow.y + figure), screened, found))
            flow.space(1.5)
        flow.table(_columns(_COLUMNS, right - left - 2.0), [*_rows(screened.stop), *_part_rows(found)], READ)
        flow.space(0.6)
        flow.paragraph(measure_words(found.load))
        flow.space(1.5)
    elif screened.usual:
        flow.table(_columns(_USUAL, right - left - 2.0), _usual_rows(screened), READ)
        flow.space(1.5)
    for sentence in (unknown_words(screened), look_words(screened), *found.after):
        if sentence:
            flow.paragraph(told(sentence))
            flow.space(0.6)
    flow.paragraph(tell("strength.screen"), READ, "bold")
    return drawing, number_at


def _verdict(loaded: Loaded) -> str:
    """Return the verdict on one hard stop, with what the side view leaves out where it decides."""
    found, metal = loaded.strength, None if loaded.material is None else loaded.material.beside
    if found.level == "good" and near_part(loaded.parts, metal, loaded.load.ratio.value) is not None:
        return tell("bending.part_near")
    if found.level == "good" and found.aside is None:
        return tell("bending.flat")
    if found.by_aside:
        return tell(f"bending.verdict_bound.{found.level}")
    return tell(f"bending.verdict.{found.level}")


def _columns(forms: Sequence[tuple[str, float, float]], room: float) -> list[Column]:
    left = room - sum(wide for _, wide, _ in forms)
    return [Column(tell(f"bending.column.{name}"), wide or left, anchor) for name, wide, anchor in forms]


def _rows(stop: Sequence[Screened]) -> list[tuple[str, ...]]:
    rows: list[tuple[str, ...]] = []
    for each in stop:
        for weak, name in ((each.weakest, told(named(each.tube))), (each.second, "")):
            if weak is None:
                continue
            limit = _graded(weak.limit)
            ratio = "" if weak.ratio is None else f"{weak.ratio:.2f}"
            rows.append((name, told(where(weak)), f"{weak.cut.stress:.0f}", limit, ratio))
    return rows


def _part_rows(found: Loaded) -> list[tuple[str, ...]]:
    """Return a row for each part of the mount, judged as a metal like the tube's beside its joint."""
    metal = None if found.material is None else found.material.beside
    rows: list[tuple[str, ...]] = []
    for part, stress in judged(found.parts):
        ratio = "" if metal is None else f"{metal.value / stress:.2f}"
        name, at = _part_names(part)
        rows.append((told(name), told(at), f"{stress:.0f}", _graded(metal), ratio))
    return rows


def _weaker_part(found: Loaded) -> str:
    """Return which part of the mount is weaker than every tube of the table; empty for none."""
    metal = None if found.material is None else found.material.beside
    ratios = [each.weakest.ratio for each in found.strength.stop]
    parts = judged(found.parts)
    if metal is None or not parts or not ratios:
        return ""
    part, stress = max(parts, key=lambda each: each[1])
    ratio = metal.value / stress
    if any(each is not None and each <= ratio for each in ratios):
        return ""
    name, at = _part_names(part)
    return tell("bending.weaker_part", part=name, where=at, stress=stress, ratio=ratio)


def _part_names(part: Part) -> tuple[Say, Say]:
    where = named(part.where) if part.where else ""
    return say(f"bending.part.{part.kind}", where=where), say(f"bending.part_at.{part.kind}")


def _usual_rows(found: Strength) -> list[tuple[str, ...]]:
    """Return what the most stressed place of all would have with each usual wall."""
    limit = found.beside
    rows: list[tuple[str, ...]] = []
    for each in found.usual:
        ratio = "" if limit is None else f"{limit.value / each.stress:.2f}"
        tube = told(named(each.tube))
        rows.append((measured(each.wall, "g mm"), tube, f"{each.stress:.0f}", _graded(limit), ratio))
    return rows


def _graded(limit: Number | None) -> str:
    return tell("bending.unknown") if limit is None else f"{limit.value:g} ({limit.grade})"


def _figure(drawing: Drawing, room: Box, found: Strength, load: Loaded) -> str:
    """Draw the tubes unmoved and moved, the moment along each, and the weakest place of each.

    Return what tells its lines apart.
    """
    bent = found.bent
    assert bent is not None  # the caller asks for a figure of a frame that was solved
    softer = 1.0 if load.material is None else 205_000.0 / load.material.modulus.value
    ends = [point for line in bent.lines.values() for point, _ in line]
    across, up = [x for x, _ in ends], [y for _, y in ends]
    reach = min(across), min(up), max(across), max(up)
    free = room[0] + 22.0, room[1] + 8.0 + _MOMENT, room[2] - 22.0, room[3] - 8.0
    scale = max((reach[2] - reach[0]) / (free[2] - free[0]), (reach[3] - reach[1]) / (free[3] - free[1]), 1.0)
    scale = math.ceil(scale * 2.0) / 2.0
    origin = (
        (free[0] + free[2]) / 2.0 - (reach[0] + reach[2]) / 2.0 / scale,
        (free[1] + free[3]) / 2.0 - (reach[1] + reach[3]) / 2.0 / scale,
    )
    look = Look(origin, 1.0)

    def at(point: Point) -> Point:
        return look.page((point[0] / scale, point[1] / scale))

    most = max(math.hypot(*move) for line in bent.lines.values() for _, move in line) * softer / scale
    times = 1.0 if most == 0.0 else _nice(_MOVED / most)
    for line in bent.lines.values():
        drawing.draw(polyline([at(point) for point, _ in line]), THIN, _LAYER)
        moved = [at((x + times * softer * u, y + times * softer * v)) for (x, y), (u, v) in line]
        drawing.draw(polyline(moved), THICK, _LAYER)
    drawing.draw(circle(at((0.0, 0.0)), 4.0), THICK, _LAYER)
    _moments(drawing, bent, found, at)
    _mark(drawing, room, found, at)
    if times == 1.0:
        return tell("bending.key_true", scale=scale)
    return tell("bending.key", scale=scale, times=times)


def _moments(drawing: Drawing, bent: Bent, found: Strength, at: Callable[[Point], Point]) -> None:
    """Draw the moment as a line beside each tube, with its largest value."""
    largest = max(abs(cut.moment) for cut in bent.cuts)
    for wall in found.walls:
        tube = wall.tube
        cuts = bent.of(tube.name)
        # On the side away from the other tube, or from the mount of a lone one.
        side = polar(tube.direction + (-90.0 if tube.name == "seatstay" else 90.0))
        line = [at(_centre(wall.tube.offset, tube.t0, tube.n0, cuts[0].s))]
        for cut in cuts:
            point = at(_centre(tube.offset, tube.t0, tube.n0, cut.s))
            line.append(along(point, (abs(cut.moment) / largest * _MOMENT, side)))
        line.append(at(_centre(tube.offset, tube.t0, tube.n0, cuts[-1].s)))
        drawing.draw(polyline(line), HIDDEN, _LAYER)
        top = max(cuts, key=lambda cut: abs(cut.moment))
        tip = along(
            at(_centre(tube.offset, tube.t0, tube.n0, top.s)), (abs(top.moment) / largest * _MOMENT, side)
        )
        text = tell("bending.moment", moment=abs(top.moment) / 1000.0, s=top.s)
        x, y = along(tip, (3.0, side))
        anchor = 0.5 if abs(side[1]) > 0.8 else 0.0 if side[0] > 0.0 else 1.0
        drawing.letter(text, (x, y - 1.2), 2.5, anchor, layer=_LAYER)


def _mark(drawing: Drawing, room: Box, found: Strength, at: Callable[[Point], Point]) -> None:
    for each in found.stop:
        wall = next(one for one in found.walls if one.tube.name == each.tube)
        tube = wall.tube
        point = at(_centre(tube.offset, tube.t0, tube.n0, each.weakest.cut.s))
        drawing.draw(circle(point, 3.2), SOLID, _LAYER)
        limit = each.weakest.limit
        text = tell(
            "bending.mark" if limit is None else "bending.mark_yield",
            tube=named(each.tube),
            stress=each.weakest.cut.stress,
            limit=0.0 if limit is None else limit.value,
        )
        drawing.callout(text, (point,), room, prefer=angle_of(tube.n0), clear=1.0, most=3)


def _centre(offset: float, t: Point, n: Point, s: float) -> Point:
    return offset * n[0] + s * t[0], offset * n[1] + s * t[1]


def _nice(times: float) -> float:
    """Return a round factor not above what is wanted: 1, 2 or 5 times a power of ten."""
    power = 10.0 ** math.floor(math.log10(max(times, 1.0)))
    return next(step * power for step in (5.0, 2.0, 1.0) if step * power <= max(times, 1.0))
