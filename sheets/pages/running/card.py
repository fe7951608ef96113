"""The setup card: what to stack, what a caliper must read, how to work and how not to get hurt."""

import itertools
from typing import NamedTuple

from fonts.drafting import width, wrap
from fonts.faces import Face, choose
from geometry.fixture.fixture import Fixture
from geometry.mount.placement import Placement
from geometry.mount.spacers import Choice
from geometry.tables.cautions import Caution
from sheets.ink.drawing import Drawing
from sheets.ink.marks import THICK, box
from sheets.ink.paper import PAPERS
from sheets.ink.placing import Box
from sheets.ink.records import Paper, Point, Sheet
from sheets.job.read import Job
from sheets.pages import title as words
from sheets.pages.flow import PITCHES, READ, Column, Flow
from sheets.pages.frame import Page, finish, fitting, lowered
from sheets.pages.running.card_readings import UNDER_RULE, readings
from sheets.pages.running.section import Section, draw_section
from sheets.setup.setup import SetUp, left_words
from sheets.words.bosses import paragraphs, rows
from sheets.words.fixture import leaning, stacking, strays
from sheets.words.tell import tell, told

_PAD = 2.0
_MOST_PAGES = 2
_HEADER = 18.0
_HEADER_LATER = 8.5
_COUNT = 34.0
_ASIDE = 4.0
"""White between the frame's name and its maker, mm."""
_POST_COLUMNS = (12.0, 30.0, 40.0, 30.0, 36.0)
_BOSS_COLUMNS = (12.0, 24.0, 30.0, 18.0, 32.0, 20.0, 18.0, 26.0)
_GROUPS = {"machine": "Machines", "end": "Above all"}


class _Pages:
    """The card's pages as they fill: each starts with the same header."""

    def __init__(self, job: Job, placement: Placement) -> None:
        self.job, self.placement = job, placement
        self.paper: Paper = PAPERS[job.paper.size]
        inset = job.paper.margin + THICK.width
        self.live: Box = (inset, inset, self.paper.width - inset, self.paper.height - inset)
        self.done: list[Drawing] = []

    def turn(self) -> tuple[Drawing, float]:
        """Start the next page; return its drawing and where its text begins."""
        drawing = Drawing()
        self.done.append(drawing)
        return drawing, _header(drawing, self.live, self.job, self.placement, len(self.done))


def card(job: Job, placement: Placement, setup: SetUp, own: Face | None = None) -> tuple[Sheet, ...]:
    """Return the card's sheets, one page or more; raise FitError where the paper is too narrow.

    `own` is the job's own face, for characters that the project's lacks. The section on the first page is
    at full size, and its origin is that sheet's `axle`.
    """
    for key, text in _typed(job):
        choose(text, "regular", own, key)
    # A third page is the last resort: at the tightest pitch the bosses fit on two of A4 and of Letter.
    for pitch in PITCHES:
        pages, axle = _fill(job, placement, setup, own, pitch)
        if len(pages.done) <= _MOST_PAGES:
            break
    count, (left, low, right, top) = len(pages.done), pages.live
    for number, each in enumerate(pages.done, start=1):
        y = top - (16.0 if number == 1 else 5.4) - _head(job, right - left, number).drop
        each.letter(f"card {number} of {count}", (right - _PAD, y), 3.5, 1.0, layer="title block")
    return tuple(
        finish(
            Page(pages.paper, job.paper.margin, each, pages.live),
            "card",
            f"{job.frame.id}: setup card, page {number}",
            "outboard",
            axle if number == 1 else (left, low),
            # The section is drawn at its size to be looked at; what is measured are the readings beside it.
            full_size=False,
        )
        for number, each in enumerate(pages.done, start=1)
    )


def _typed(job: Job) -> list[tuple[str, str]]:
    """Return what the job's author typed and the card prints, by key, so that an error can name the key."""
    frame, process = job.frame, job.process
    found = {
        "frame.name": frame.name,
        "frame.maker": frame.maker,
        "frame.customer": frame.customer,
        "frame.note": frame.note,
        "process.filler": process.filler,
        "process.material": process.material,
    }
    return [(key, text) for key, text in found.items() if text]


def _fill(
    job: Job, placement: Placement, setup: SetUp, own: Face | None, pitch: float
) -> tuple[_Pages, Point]:
    """Return the filled pages at a line pitch, and where the section's origin lies on the first."""
    pages = _Pages(job, placement)
    drawing, top = pages.turn()
    left, low, right, _ = pages.live
    flow = Flow(drawing, left + 1.0, right - 1.0, top, low, own, pages.turn, pitch)
    _identity(flow, job, placement, setup)
    axle = _section(flow, job, placement, setup)
    _stack(flow, setup)
    readings(flow, job, setup, placement.interface.settle)
    _screws(flow, setup)
    _work(flow, setup)
    _cautions(flow, setup)
    return pages, axle


class _Head(NamedTuple):
    """What heads a page: the title with its height, the maker at its right, and how much lower both are set.

    A name or a maker that has no room is left out here, and is set as running text below.
    """

    title: str
    height: float
    maker: str
    drop: float


def _head(job: Job, wide: float, number: int) -> _Head:
    """Return the head of a page whose header is `wide` mm; the first page's is larger."""
    heading, room = words.heading(job), wide - 2.0 * _PAD
    ids = [(job.frame.id, height) for height in (7.0, 5.0, 3.5)]
    if number > 1:
        # A long name goes without the sheet's: the page's number, which says it too, stands at the right.
        tried = [(f"{heading}: setup card", 5.0), (heading, 5.0), *ids[1:]]
        title, height = fitting(tried, wide - _COUNT)
        return _Head(title, height, "", lowered(title, height, 6.0 - height))
    maker = words.lettered(job.frame.maker or "")
    aside = width(maker, 3.5) + _ASIDE if maker else 0.0
    # The frame's name comes first: a maker that would leave it no room goes below, too.
    if width(heading, 5.0) > room - aside:
        maker, aside = "", 0.0
    title, height = fitting([(heading, 7.0), (heading, 5.0), *ids], room - aside)
    return _Head(title, height, maker, lowered(title, height, 8.6 - height))


def _header(drawing: Drawing, live: Box, job: Job, placement: Placement, number: int) -> float:
    """Letter the header and return where the text below it begins; after the first page it is one line."""
    left, _, right, top = live
    head = _head(job, right - left, number)
    foot = top - (_HEADER if number == 1 else _HEADER_LATER) - head.drop
    drawing.draw(box((left, foot), (right, top)), THICK, "title block")
    top -= head.drop
    if number > 1:
        drawing.letter(head.title, (left + _PAD, top - 6.0), head.height, layer="title block")
        return foot - 1.0
    drawing.letter(head.title, (left + _PAD, top - 8.6), head.height, layer="title block")
    drawing.letter(head.maker, (right - _PAD, top - 6.0), 3.5, 1.0, layer="title block")
    drawing.letter(f"Setup card, {job.paper.size}", (left + _PAD, top - 16.0), 5.0, layer="title block")
    return foot - 1.0


def _identity(flow: Flow, job: Job, placement: Placement, setup: SetUp) -> None:
    """Letter large which end, size, disc, adapter and screw, so that front and rear cannot be mixed up."""
    face = placement.interface
    lines = (
        (7.0, f"{face.end.upper()}: {told(face.short)}"),
        (
            5.0,
            f"made for {face.native:g}; disc {job.mount.rotor:g}; screws {face.hole.screw}; "
            f"adapter: {placement.adapter.name}",
        ),
    )
    for height, text in lines:
        flow.lettering(text, height)
    flow.lettering(setup.clear.largest_words, 3.5)
    stamp = words.clearance_stamp(setup.clear.failed)
    if stamp:
        for line in wrap(stamp, 5.0, flow.right - flow.left):
            flow.lettering(line, 5.0)
    disc = setup.clear.disc
    if disc is not None and disc.state == "warn":
        flow.lettering(f"{disc.short}!", 3.5)
    flow.y -= 0.8
    head = _head(job, flow.right - flow.left + 2.0, 1)
    # What the header could letter only as a code, or not at all, is set in full here.
    name = job.frame.name if job.frame.name != job.frame.id else None
    lettered = head.title.removeprefix(job.frame.id).strip(), head.maker
    full = lettered == ((name or "").strip(), job.frame.maker or "")
    named = () if full else (("name", name), ("maker", job.frame.maker))
    typed = (*named, ("customer", job.frame.customer), ("note", job.frame.note))
    for key, text in typed:
        if text:
            flow.item(key, text, indent=20.0)
    flow.paragraph(
        f"{placement.axle.title} ({placement.axle.name}). Datum: "
        + (
            f"the pocket's floor, {placement.datum_shift:g} mm outboard of the dropout's inner face."
            if placement.datum_shift
            else "the dropout's inner face."
        )
        + f" Numbers of grade {placement.grade}: "
        + "; ".join(face.sources)
        + "."
    )
    # A provisional row's stamp asks for the same as its grade does, and the grade stands above.
    loud = placement.stamps if face.provisional else (*placement.stamps, *placement.confirm)
    flow.paragraph(" ".join(map(told, loud)), weight="bold")
    # What is tight between disc and tube is lettered large above.
    tight = [each.short for each in setup.clear.clearances if each.state == "warn" and each.kind != "rotor"]
    moving = [] if setup.clear.travel is None else [setup.clear.travel.sentence]
    stuck = [setup.clear.way_out.sentence] if setup.clear.way_out.free is False else []
    near = [f"Tight: {'; '.join(tight)}."] if tight else []
    near += [*setup.clear.unknown, *([setup.assumed] if setup.assumed else [])]
    between = [told(placement.adapter.sentence)] if placement.adapter.sentence else []
    flow.paragraph(" ".join((*map(told, placement.quiet), *between, *near, *moving, *stuck)))
    if setup.load is not None:
        if setup.load.slot.loud:
            flow.paragraph(setup.load.slot.sentence, weight="bold")
        flow.paragraph(setup.load.card)


def _section(flow: Flow, job: Job, placement: Placement, setup: SetUp) -> Point:
    """Draw the section and return where its origin lies."""
    section = Section(job, placement, setup.build_up, setup.choice, setup.fixture)
    flow.space(section.size[1] + 2.0)
    return draw_section(flow.drawing, section, (flow.left + 1.0, flow.y))


def _stack(flow: Flow, setup: SetUp) -> None:
    """List the pieces in the order of assembly with a running total, and the chain's tolerance."""
    if setup.fixture is not None:
        _in_fixture(flow, setup, setup.fixture)
        return
    flow.heading("Stack, from the plate to the mount")
    built, choice = setup.build_up, setup.choice
    if built is not None and choice is not None and choice.best.pieces:
        total = 0.0
        rows = []
        for number, piece in enumerate(choice.best.pieces, start=1):
            total += piece
            rows.append((f"{number}", f"{piece:.3f}", f"{piece / 25.4:.4f}", f"{total:.3f}", ""))
        columns = (
            Column("piece", 14.0),
            Column("mm", 26.0, 1.0),
            Column("inch", 26.0, 1.0),
            Column("running total, mm", 40.0, 1.0),
            Column("done", 16.0, box=True),
        )
        flow.table(columns, rows, READ)
    _pieces(flow, choice)
    said = [*_sleeve(setup), *setup.stack_words]
    if built is not None:
        own = "not found" if built.interface_tolerance is None else f"±{built.interface_tolerance:g}"
        play = "not found" if built.adjustment is None else f"{built.adjustment.value:g} either way"
        unknown = f"; not known, and left out: {', '.join(map(told, built.unknown))}" if built.unknown else ""
        said.append(
            f"{told(built.filling_sentence)} Chain: worst case ±{built.worst_case:.2f}, root "
            f"of squares ±{built.rss:.2f}{unknown}. The mount's own sideways tolerance: {own}; the caliper's "
            f"play: {play}."
        )
    flow.paragraph(" ".join(said))


def _in_fixture(flow: Flow, setup: SetUp, fix: Fixture) -> None:
    """Name the fixture's parts in the order in which they go on the axle, and say how far it may stray."""
    flow.heading("Stack: the fixture's parts; its patterns are in this packet")
    flow.paragraph(stacking(fix), READ, "bold")
    _pieces(flow, setup.choice)
    flow.paragraph(" ".join((*_sleeve(setup), *setup.stack_words, strays(fix), leaning(fix.loose.lean))))


def _pieces(flow: Flow, choice: Choice | None) -> None:
    if choice is None:
        return
    flow.paragraph(told(choice.sentence), weight="bold")
    others = [
        f"or {' + '.join(f'{piece:g}' for piece in other.pieces) or 'none'}: {left_words(other)}"
        for other in choice.alternatives
    ]
    if others:
        flow.paragraph(f"{'; '.join(others)}.")


def _sleeve(setup: SetUp) -> list[str]:
    ring = setup.sleeve
    if ring is None:
        return []
    return [f"Sleeve between plate and dummy axle: bore {ring.inside:g}, outside {ring.outside:g}."]


def _bosses(flow: Flow, setup: SetUp) -> None:
    """List where the mount face lies over the tube, how the bosses go in, and what they leave of the tube.

    Where the tube's place is not known there is nothing to list, and the words say so.
    """
    coped = setup.bosses and setup.bosses[0].coped
    flow.heading(f"{'Posts' if coped else 'Bosses'} on the tube, mm; screws", 8.7)
    heads, lines = rows(setup.bosses) if setup.bosses else ((), ())
    if lines:
        wide = _POST_COLUMNS if setup.bosses[0].coped else _BOSS_COLUMNS
        flow.table([Column(*column) for column in zip(heads, wide, strict=True)], lines)
        flow.space(UNDER_RULE)
    warned, said = paragraphs(setup.boss_words)
    if warned:
        flow.paragraph(warned, weight="bold")
    if said:
        flow.paragraph(said)


def _screws(flow: Flow, setup: SetUp) -> None:
    if setup.bosses or setup.boss_words:
        _bosses(flow, setup)
    else:
        flow.heading("Screws")
    for key, value in setup.screws:
        flow.item(tell(f"setup.screw.{key}"), value, indent=34.0)


def _work(flow: Flow, setup: SetUp) -> None:
    flow.heading("Order of work; when the mount goes on is yours to choose")
    for number, (text, points) in enumerate(setup.work, start=1):
        flow.item(f"{number}", text + "".join(f" CHECK POINT: {point}." for point in points))


def _cautions(flow: Flow, setup: SetUp) -> None:
    """Set the cautions group by group, each with the number of its source, and the sources below."""
    flow.heading("Cautions; the number in brackets is the source")
    sources: dict[str, int] = {}

    def cited(caution: Caution) -> str:
        parts = caution.source.split("; ")
        return "[" + ", ".join(str(sources.setdefault(part, len(sources) + 1)) for part in parts) + "]"

    for group, members in itertools.groupby(setup.cautions, key=lambda caution: caution.group):
        said = " ".join(f"{each.text} {cited(each)}" for each in members)
        flow.item(_GROUPS.get(group, group.capitalize()), said, indent=20.0)
    listed = " ".join(f"[{number}] {source}" for source, number in sources.items())
    flow.paragraph(f"Sources: {listed}.")
