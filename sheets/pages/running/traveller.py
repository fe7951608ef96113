"""The traveller: the paper that follows the frame through the shop and is filed with it.

On paper it is written on; in the packet the same boxes are fields of a form. It is a record, and no test.
"""

import functools
import itertools

from fonts.drafting import width, wrap
from fonts.faces import Face, choose
from geometry.core.frozen import dataclass
from geometry.core.plane import short
from geometry.core.say import Value, named, say
from geometry.mount.placement import Placement
from sheets.ink.drawing import Drawing
from sheets.ink.marks import SOLID, THICK, box, polyline
from sheets.ink.paper import PAPERS
from sheets.ink.placing import Box
from sheets.ink.qr import qr
from sheets.ink.records import Part, Point, Sheet
from sheets.job.read import Job
from sheets.pages import title as words
from sheets.pages.flow import PITCHES, READ, SMALL
from sheets.pages.frame import Page, finish, fitting, lowered
from sheets.pages.running.head import live_of
from sheets.pages.running.traveller_form import CELL, DENSEST_CELL, LAYER, Cell, Form, Kind, cell
from sheets.pages.running.traveller_readings import readings
from sheets.pages.running.traveller_steps import steps, targets
from sheets.setup.setup import SetUp
from sheets.words.lengths import measured
from sheets.words.slot import opens
from sheets.words.tell import tell, told

_MOST_PAGES = 2
_QR = 24.0
"""Side of the code with the white round it, mm."""
_HEADER = _QR + 1.0
_HEADER_LATER = 8.5
_FOOT = 5.4
_PAD = 2.0
_FAILED_ROW, _DENSE_ROW = 7.6, 6.6
"""Height of a line for a reading that fails, mm, and on a dense form: as low as a reading's own row."""
_FAILED, _DENSEST_FAILED = (4, 12), (3, 12)
"""Fewest and most lines for readings that fail, and on the densest form."""
_NOTES = 16.0, 12.0, 9.2
"""Height of the owner's note, mm, by how dense the form is."""
_FAILED_BOXES: tuple[tuple[str, float, Kind], ...] = (
    ("reading", 2.4, "text"),
    ("done", 4.6, "text"),
    ("now", 1.3, "number"),
    ("initials", 0.9, "text"),
    ("date", 1.4, "date"),
)
"""What is written of a reading that fails: a field's key, its share of the width, and its kind."""


@dataclass(frozen=True, slots=True)
class Identity:
    """What ties the paper to its job: a short digest of the job file, the packet's revision, the code."""

    digest: str
    revision: int
    code: str


@functools.lru_cache(maxsize=12)
def traveller(
    job: Job, placement: Placement, setup: SetUp, identity: Identity, own: Face | None = None
) -> tuple[Sheet, ...]:
    """Return the traveller's sheets, two as a rule; FitError where the paper is too narrow.

    `own` is the job's own face for characters that the project's lacks; InputError names the key of a text
    that has others. A sheet's `axle` is its corner: nothing on it lies in the axes of the bicycle.
    """
    for key, text in _typed(job, setup):
        choose(text, "regular", own, key)
    tried: list[Form] = []
    for dense, pitch in itertools.product((0, 1, 2), PITCHES):
        tried.append(_fill(job, placement, setup, identity, own, pitch, dense=dense))
        if len(tried[-1].pages) <= _MOST_PAGES:
            break
    form = min(tried, key=lambda each: len(each.pages))
    paper = PAPERS[job.paper.size]
    live = live_of(job)
    sheets = []
    for number, (drawing, fields) in enumerate(zip(form.pages, form.fields, strict=True), start=1):
        number_at = _foot(drawing, live, drawing.part("P" if number == 1 else "Artifact"))
        page = Page(paper, job.paper.margin, drawing, live)
        title = tell("traveller.title", id=job.frame.id, number=number)
        bookmark = tell("traveller.bookmark", number=number)
        corner = live[0], live[1]
        sheets.append(
            finish(
                page,
                "traveller",
                title,
                "outboard",
                corner,
                fields,
                full_size=False,
                bookmark=bookmark,
                number_at=number_at,
            )
        )
    return tuple(sheets)


def _typed(job: Job, setup: SetUp) -> list[tuple[str, str]]:
    """Return what was typed and is printed or filled in, by key, so that an error can name the key."""
    frame, process, table = job.frame, job.process, job.traveller
    found = {
        "frame.name": frame.name,
        "frame.maker": frame.maker,
        "frame.customer": frame.customer,
        "process.filler": process.filler,
        "process.material": process.material,
        "traveller.material_lot": table.material_lot,
        "traveller.filler_lot": table.filler_lot,
        "traveller.hub": table.hub,
        "traveller.caliper": table.caliper,
        **{f"traveller.heats.{tube}": heat for tube, heat in table.heats.given().items()},
        **{f"operation {step.key}": f"{step.text} {step.hold}" for step in setup.operations},
    }
    return [(key, text) for key, text in found.items() if text]


def _fill(
    job: Job,
    placement: Placement,
    setup: SetUp,
    identity: Identity,
    own: Face | None,
    pitch: float,
    *,
    dense: int,
) -> Form:
    """Return the filled pages at a line pitch."""
    live = live_of(job)

    def head(drawing: Drawing, number: int) -> float:
        return _header(drawing, live, job, placement, identity, number)

    form = Form(live, _FOOT, own, pitch, head, dense=dense)
    _frame(form, job)
    _used(form, job, placement)
    pushed = "" if setup.load is None else setup.load.stamp
    for stamp in (words.clearance_stamp(setup.clear.failed), pushed):
        if stamp:
            form.flow.paragraph(told(stamp), READ, "bold")
    # What the builder's own row is warned of goes on record, small: sheets that are worked by bear it large.
    for each in placement.stamps if placement.interface.own else ():
        form.flow.paragraph(told(each), SMALL, "bold")
    steps(form, setup, targets(job, placement, setup))
    readings(form, setup)
    _answers(form, identity)
    return form


def _header(
    drawing: Drawing, live: Box, job: Job, placement: Placement, identity: Identity, number: int
) -> float:
    """Draw a page's header and return where the text below it begins; after the first page it is one line."""
    left, _, right, top = live
    heading = words.heading(job)
    of_job: dict[str, Value] = {"digest": identity.digest, "revision": identity.revision}
    if number > 1:
        marked = tell("traveller.job", **of_job)
        titles = ((tell("traveller.headed", heading=heading), 5.0), (job.frame.id, 5.0), (job.frame.id, 3.5))
        title, height = fitting(titles, right - left - width(marked, 3.5) - 3.0 * _PAD)
        drop = lowered(title, height, 6.0 - height)
        foot = top - _HEADER_LATER - drop
        drawing.draw(box((left, foot), (right, top)), THICK, "title block")
        head = drawing.part("H1")
        drawing.letter(marked, (right - _PAD, top - 5.6 - drop), 3.5, 1.0, layer="title block")
        drawing.letter(title, (left + _PAD, top - 6.0 - drop), height, layer="title block", part=head)
        return foot - 1.0
    code, side = qr(identity.code, (0.0, 0.0), _QR)
    room = right - left - side - 2.0 * _PAD
    title, height = fitting(
        ((heading, 7.0), (job.frame.id, 7.0), (job.frame.id, 5.0), (job.frame.id, 3.5)), room
    )
    drop = lowered(title, height, 8.6 - height)
    foot = min(top - _HEADER - drop, top - side - 1.0)
    drawing.draw(box((left, foot), (right, top)), THICK, "title block")
    # Drawn again where it belongs: only now is its side known.
    code, side = qr(identity.code, (right - side - 0.5, top - side - 0.5), _QR)
    drawing.draw(code, SOLID, "code")
    top -= drop
    head = drawing.part("H1")
    drawing.letter(title, (left + _PAD, top - 8.6), height, layer="title block", part=head)
    mount = tell(f"traveller.mount.{placement.end}", mount=placement.interface.short)
    for row in wrap(mount, 5.0, room)[:1]:
        drawing.letter(row, (left + _PAD, top - 16.8), 5.0, layer="title block")
    marked = tell("traveller.paper_and_job", size=job.paper.size, **of_job)
    drawing.letter(marked, (left + _PAD, top - 23.0), 3.5, layer="title block")
    drawing.begin_figure()
    return foot - 1.0


def _foot(drawing: Drawing, live: Box, part: Part) -> Point:
    """Set the line at the foot of each page: what the packet is; return where the page's number ends.

    It is said once.
    """
    left, low, right, _ = live
    drawing.draw(polyline(((left, low + _FOOT - 1.0), (right, low + _FOOT - 1.0))), THICK, LAYER)
    said = tell("traveller.record")
    drawing.text(said, (left + 0.8, low + 0.9), SMALL, choose(said, "regular"), part=part)
    return right - 0.8, low + 0.9


def _frame(form: Form, job: Job) -> None:
    """Set the head: whose frame it is, when, and what it is made of."""
    frame, process, table = job.frame, job.process, job.traveller
    form.cells(
        [
            cell("head.frame", frame.id),
            cell("head.name", frame.name),
            cell("head.customer", frame.customer),
            cell("head.maker", frame.maker),
        ]
    )
    form.cells(
        [
            cell("head.started", table.started, "date"),
            cell("head.due", table.due, "date"),
            cell("head.process", told(named(process.method)) if process.method else ""),
            cell("head.material", process.material),
        ]
    )
    form.cells(
        [
            cell("head.material-lot", table.material_lot),
            cell("head.filler", process.filler),
            cell("head.filler-lot", table.filler_lot),
        ],
        (1.0, 2.0, 1.0),
    )


def _used(form: Form, job: Job, placement: Placement) -> None:
    """Set tubes with wall and heat number, and the parts really used, filled in with what the job says."""
    form.heading(tell("traveller.used"), CELL)
    heats, tubes, brace = job.traveller.heats.given(), job.tubes.given(), job.tubes.brace
    names = ("chainstay", "seatstay") if job.mount.end == "rear" else ("fork-leg",)
    cells: list[Cell] = []
    for name in names:
        wall = tubes[name].wall if name in tubes else None
        cells += _tube(name, wall, heats.get(name, ""))
    if brace is not None or "brace" in heats:
        cells += _tube("brace", brace.wall if brace else None, heats.get("brace", ""))
    shares = [1.0, 2.0] * (len(cells) // 2)
    if len(cells) > 4:
        # Three tubes side by side leave a wall's box hardly room for its caption.
        shares = [form.flow.width(each.caption) + 3.0 for each in cells]
    form.cells(cells, shares)
    axle, thick = placement.axle.name, job.dropout.thickness
    dropout = axle if thick is None else tell("traveller.dropout", axle=axle, thickness=short(thick))
    form.cells(
        [
            cell("part.dropout", dropout),
            cell("part.hub", job.traveller.hub),
            cell("part.rotor", f"{job.mount.rotor:g}"),
            cell("part.caliper", job.traveller.caliper),
        ],
        (3.0, 4.0, 2.0, 4.0),
    )
    if placement.axle.kind == "quick release":
        slot, stands = job.dropout.slot, job.stance.of(placement.end)
        opened = "" if slot is None else told(opens(slot, placement.end, job.dropout.slot_from))
        stood = "" if stands.angle is None else tell("traveller.degrees", angle=stands.angle)
        tube = named("fork-leg" if placement.end == "front" else "chainstay")
        form.cells([cell("part.slot", opened), cell("part.stance", stood, tube=tube)], (3.0, 1.0))


def _tube(name: str, wall: float | None, heat: str) -> list[Cell]:
    tube = named(name)
    return [
        Cell(
            f"tube.{name}.wall",
            tell("traveller.tube.wall", tube=tube),
            "" if wall is None else measured(wall, "g bare"),
            "number",
        ),
        Cell(f"tube.{name}.heat", tell("traveller.tube.heat", tube=tube), heat),
    ]


def _answers(form: Form, identity: Identity) -> None:
    """Set the lines for what was done about readings that fail, the owner's note and the revision line."""
    flow = form.flow
    high, note = _DENSE_ROW if form.dense else _FAILED_ROW, _NOTES[form.dense]
    fewest, most = _DENSEST_FAILED if form.dense > 1 else _FAILED
    after = 4.0 + note + (DENSEST_CELL if form.dense > 1 else CELL)
    said = " ".join((tell("traveller.failed_stop"), tell("reading.failed")))
    told_in = len(flow.lines(said, flow.right - flow.left)) * flow.leading(said)
    least = 1.6 + flow.pitch * READ + told_in + 5.4 + fewest * high
    form.together(least + after)
    form.heading(tell("traveller.failed_heading"), least)
    flow.paragraph(said)
    heads = [tell(f"traveller.failed.{key}") for key, _, _ in _FAILED_BOXES]
    shares = (share for _, share, _ in _FAILED_BOXES)
    edges = [flow.left]
    form.table()
    line = form.line()
    for head, wide in zip(heads, form.widths(list(zip(shares, heads, strict=True))), strict=True):
        flow.put(head, edges[-1] + 0.8, flow.y - 3.5, bold=True, part=flow.part("Column", line))
        edges.append(edges[-1] + wide)
    flow.y -= 4.6
    rows = int((flow.y - flow.low - after) / high)
    for row in range(1, max(fewest, min(most, rows)) + 1):
        top = flow.y
        flow.y -= high
        line = form.line()
        for i, (key, _, kind) in enumerate(_FAILED_BOXES):
            label = tell("traveller.failed_label", row=row, what=say(f"traveller.failed.{key}"))
            place = (edges[i], flow.y, edges[i + 1], top)
            form.field(f"failed.{row}.{key}", label, place, kind, size=SMALL, part=flow.part("TD", line))
    flow.y -= 2.0
    form.cells([cell("inspection.note", "", "lines")], height=note)
    flow.y -= 2.0
    form.cells(
        [
            cell("revision.this", f"{identity.revision}"),
            cell("revision.why"),
            cell("revision.initials"),
            cell("revision.date", "", "date"),
        ],
        (1.2, 6.0, 1.0, 1.4),
    )
