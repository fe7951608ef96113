"""The page of forces: a diagram to scale, and the numbers behind it."""

import contextlib
import math
from collections.abc import Mapping, Sequence

import numpy as np

from geometry.braking.forces import screw_points
from geometry.core.errors import FitError
from geometry.core.frozen import dataclass
from geometry.core.plane import along, angle_of, polar
from geometry.core.say import Say, Value, named
from geometry.core.tables import Number
from geometry.mount.placement import Placement
from geometry.tables.loads import LENGTHS
from geometry.tubes.tube import Tube, outline
from sheets.ink.drawing import Drawing
from sheets.ink.marks import CHAIN, HIDDEN, INCH, SOLID, THICK, THIN, arc, arrow_head, circle, polyline
from sheets.ink.paper import PAPERS
from sheets.ink.placing import Box, grown
from sheets.ink.records import Point, Segment, Sheet
from sheets.job.read import Job
from sheets.pages import title as words
from sheets.pages.frame import Page, directions, finish, numbers
from sheets.pages.title_block import TitleLine, title_block
from sheets.pages.view import Look
from sheets.setup.brake_screen import Loaded, stands_words
from sheets.setup.cited import Cited, cited
from sheets.setup.setup import SetUp
from sheets.words.lengths import units
from sheets.words.strength import load_words
from sheets.words.tell import tell, told
from sheets.words.two import figures

_STEPS = (20.0, 50.0, 100.0, 200.0, 500.0)
"""Newtons for a millimetre of arrow, the smallest that keeps the longest arrow short enough."""
_LONGEST = 46.0
_LAYER = "loads"
_REACH = 150.0
"""How far up the tube is shown, mm on the bicycle."""


@dataclass(frozen=True, slots=True)
class _Layout:
    """One way to lay the page out: the bicycle's lengths over the diagram's, and half of the road in mm.

    `letter` is the height of the sentences, mm.
    """

    scale: float
    road: float = 46.0
    letter: float = 3.5


_BESIDE = 3.0
"""White between a label and the table, beyond what is kept round it, mm."""
_LAYOUTS = (
    *(_Layout(scale) for scale in (3.0, 3.5, 4.0, 5.0)),
    *(_Layout(scale, 40.0) for scale in (4.0, 5.0)),
    *(_Layout(scale, 32.0, letter=2.5) for scale in (4.0, 5.0, 7.0)),
)
"""The first with which the page has room is taken."""


@dataclass(frozen=True, slots=True)
class _Diagram:
    """The diagram as it is drawn: where, how it is laid out, and newtons for a millimetre of arrow."""

    drawing: Drawing
    look: Look
    layout: _Layout
    per: float

    def at(self, point: Sequence[float]) -> Point:
        """Return a point of the bicycle on the page."""
        return self.look.page((point[0] / self.layout.scale, point[1] / self.layout.scale))


def loads(job: Job, placement: Placement, tubes: Mapping[str, Tube], setup: SetUp) -> Sheet:
    """Return the page of a set-up's forces, in the template's view; FitError where the paper is too small.

    Arrows are features named "force on caliper", "force on axle" and "force at tyre", as long as the lettered
    scale says; the sheet's `axle` is the axle in the diagram.
    """
    found, numbers_cited = setup.load, cited(job, placement, setup)
    assert found is not None  # the caller asks for the page of a job that is loaded
    for layout in _LAYOUTS[:-1]:
        with contextlib.suppress(FitError):
            return _drawn(job, placement, tubes, found, numbers_cited, layout)
    return _drawn(job, placement, tubes, found, numbers_cited, _LAYOUTS[-1])


def _drawn(
    job: Job,
    placement: Placement,
    tubes: Mapping[str, Tube],
    found: Loaded,
    numbers_cited: Cited,
    layout: _Layout,
) -> Sheet:
    paper, margin = PAPERS[job.paper.size], job.paper.margin
    inset = margin + THICK.width
    live: Box = (inset, inset, paper.width - inset, paper.height - inset)
    drawing = Drawing()
    per = _newtons_a_mm(found)
    foot, number_at = title_block(
        drawing, live, _title(job, placement, found, numbers_cited, per, layout), ""
    )
    sign = 1.0 if job.paper.view == "outboard" else -1.0
    # The tyre's contact is the lowest thing, with its arrow beside it.
    x, y = (each / layout.scale for each in found.forces.contact)
    slope = layout.road * abs(polar(found.forces.turn)[1])
    aside = max(66.0 if sign > 0.0 else 78.0, layout.road + 4.0 - sign * x)
    origin = (live[0] + aside, foot + 14.0 - y + slope)
    diagram = _Diagram(drawing, Look(origin, sign), layout, per)
    _bicycle(diagram, placement, tubes, found)
    for name, at, force in (
        ("force on caliper", found.forces.pad, found.forces.on_caliper),
        ("force on axle", (0.0, 0.0), found.forces.axle),
        ("force at tyre", found.forces.contact, found.forces.ground),
    ):
        _arrow(diagram, name, at, force)
    page = Page(paper, margin, drawing, (live[0], foot + 2.0, live[2], live[3]), number_at)
    _label(page, per)
    for text, box in tuple(drawing.labels):
        if text:
            # A table right beside a label would seem to go on from it.
            drawing.reserve(grown(box, _BESIDE))
    numbers(page, tell("loads.numbers_head"), _rows(found), tell("loads.reckoned"))
    # As the bicycle stands: along the road and up from it, which lie askew where the tube is drawn straight.
    forward, up = (diagram.look.heading(each + found.forces.turn) for each in (180.0, 90.0))
    arrows = (tell("frame.forward"), forward), (tell("frame.up"), up)
    directions(page, arrows, sign, tell("frame.wheel_turns"))
    title, bookmark = tell("loads.title", frame=job.frame.id), tell("loads.bookmark")
    return finish(page, "loads", title, job.paper.view, origin, full_size=False, bookmark=bookmark)


def _newtons_a_mm(found: Loaded) -> float:
    forces = found.forces
    most = max(math.hypot(*each) for each in (forces.on_disc, forces.axle, forces.ground))
    return next((step for step in _STEPS if most / step <= _LONGEST), most / _LONGEST)


def _graded(name: Say, number: Number, numbers_cited: Cited) -> str:
    """Return what a load is made from, with its grade, and where its source is listed."""
    value: Value = number.value if name.code in LENGTHS else figures(number)
    said = tell(f"loads.from.{name.code.rpartition('.')[2]}", value=value)
    if number.grade == "own":
        return tell("loads.own", said=said)
    grade = f"{number.grade} {numbers_cited.source(number.source)}".rstrip()
    return tell("loads.graded", said=said, grade=grade)


def _title(
    job: Job, placement: Placement, found: Loaded, numbers_cited: Cited, per: float, layout: _Layout
) -> list[TitleLine]:
    interface = placement.interface
    graded = "; ".join(_graded(name, number, numbers_cited) for name, number in found.load.numbers)
    what = tell("loads.heading", seen=words.seen_from(job.paper.view))
    scales = tell(
        f"loads.scales.{units()}",
        title=interface.title,
        native=interface.native,
        disc=job.mount.rotor,
        scale=layout.scale,
        newtons=per,
        an_inch=per * INCH,
    )
    said = [
        TitleLine(words.heading(job), 7.0, numbered=True, kind="H1"),
        TitleLine(what, 5.0, job.paper.size, kind="H2"),
        TitleLine(tell("packet.use.loads"), right=words.lettered(job.frame.maker or "")),
        TitleLine(scales),
        TitleLine(load_words(found.load, short=True), layout.letter),
        TitleLine(stands_words(found.stance, found.forces.turn), layout.letter),
        TitleLine(told(found.slot.sentence), layout.letter),
    ]
    if found.slot.asks and found.slot.asks != found.slot.sentence:
        said.append(TitleLine(told(found.slot.asks), 2.5))
    small = tell("loads.small", graded=graded)
    return [*said, TitleLine(small, 2.5), TitleLine(tell("strength.screen"), layout.letter)]


def _bicycle(diagram: _Diagram, placement: Placement, tubes: Mapping[str, Tube], found: Loaded) -> None:
    """Draw axle, disc, tyre's contact, tubes and mount at the diagram's scale."""
    drawing, scale, half = diagram.drawing, diagram.layout.scale, diagram.layout.road
    axle, rotor = diagram.at((0.0, 0.0)), placement.rotor
    drawing.draw(circle(axle, 5.0), THICK, _LAYER)
    drawing.draw(circle(axle, 2.0 * rotor.radius / scale), THIN, _LAYER)
    drawing.draw(circle(axle, 2.0 * (rotor.radius - rotor.track) / scale), HIDDEN, _LAYER)
    low = diagram.look.heading(270.0 + found.forces.turn)
    drawing.draw(arc(axle, found.load.tyre / scale, low - 25.0, low + 25.0), THICK, _LAYER)
    contact, road = diagram.at(found.forces.contact), polar(diagram.look.heading(found.forces.turn))
    drawing.draw(polyline([along(contact, (reach, road)) for reach in (-half, half)]), THIN, _LAYER)
    for name, tube in tubes.items():
        style = THICK if name == placement.host else THIN
        for edge in outline(tube, (0.0, 0.0, 1.0), (*tube.n0, 0.0)):
            up = edge[:, :2] @ np.asarray(tube.t0)
            stops = np.append(up[up < _REACH], min(_REACH, up[-1]))
            shown = zip(*(np.interp(stops, up, edge[:, axis]) for axis in (0, 1)), strict=True)
            drawing.draw(polyline([diagram.at(point) for point in shown]), style, _LAYER)
    near, far = (diagram.at(point) for point in screw_points(placement))
    drawing.draw(polyline((near, far)), CHAIN, _LAYER)
    for centre in (near, far):
        drawing.draw(circle(centre, 2.4), THICK, _LAYER)


def _arrow(diagram: _Diagram, name: str, at: Point, force: Point) -> None:
    start = diagram.at(at)
    end = (start[0] + diagram.look.sign * force[0] / diagram.per, start[1] + force[1] / diagram.per)
    if math.dist(start, end) < 1.0:
        return
    diagram.drawing.show(Segment(name, start, end), THICK, _LAYER)
    heading = angle_of((end[0] - start[0], end[1] - start[1]))
    diagram.drawing.draw(arrow_head(end, heading), SOLID, _LAYER)


def _rows(found: Loaded) -> list[tuple[str, str]]:
    forces = found.forces
    rows = [
        (tell("loads.brake"), f"{found.load.brake:.0f}"),
        (tell("loads.wheel"), f"{found.load.wheel:.0f}"),
        (tell("loads.pads"), f"{math.hypot(*forces.on_disc):.0f}"),
        (tell("loads.axle"), f"{math.hypot(*forces.axle):.0f}"),
    ]
    if found.slot.out is not None:
        way = "out" if found.slot.out > 0.0 else "in"
        bound = "_bound" if found.slot.unknown or found.slot.on_pads else ""
        rows.append((tell(f"loads.slot.{way}{bound}"), f"{abs(found.slot.out):.0f}"))
    for screw in forces.screws:
        rows.append((tell("loads.across", hole=named(screw.name)), f"{screw.shear:.0f}"))
        if screw.pull:
            rows.append((tell("loads.pulled", hole=named(screw.name)), f"{screw.pull:.0f}"))
    return rows


def _label(page: Page, per: float) -> None:
    """Name the arrows, each where it covers nothing."""
    names = {
        "force on caliper": "loads.arrow.caliper",
        "force on axle": "loads.arrow.axle",
        "force at tyre": "loads.arrow.tyre",
    }
    for feature in tuple(page.drawing.features):
        if isinstance(feature, Segment) and feature.name in names:
            newtons = math.dist(feature.start, feature.end) * per
            heading = angle_of((feature.end[0] - feature.start[0], feature.end[1] - feature.start[1]))
            halfway = along(feature.end, (-2.0, polar(heading)))
            text = tell(names[feature.name], newtons=newtons)
            page.drawing.callout(text, (feature.end, halfway), page.zone, prefer=heading, clear=1.0, most=3)
