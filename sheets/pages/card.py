"""The setup card: what to stack, what a caliper must read, how to work and how not to get hurt."""

import itertools
from collections.abc import Sequence
from typing import NamedTuple

from fonts.drafting import width, wrap
from fonts.faces import Face, choose
from geometry.boss_words import paragraphs, rows
from geometry.cautions import Caution
from geometry.fixture import Fixture
from geometry.fixture_words import leaning, stacking, strays
from geometry.placement import Placement
from geometry.reading import Reading
from geometry.spacers import Choice
from sheets.ink.drawing import Drawing
from sheets.ink.marks import THICK, THIN, box
from sheets.ink.paper import PAPERS
from sheets.ink.records import Paper, Point, Sheet
from sheets.ink.room import Box
from sheets.job import Job
from sheets.pages import words
from sheets.pages.flow import PITCHES, READ, SMALL, Column, Flow
from sheets.pages.frame import Page, finish, fitting, lowered
from sheets.pages.section import Section, draw_section
from sheets.setup import SetUp, left_words

_PAD = 2.0
_MOST_PAGES = 2
_NAME = 27.0
_PART = 15.0
_PARTS = ("over", "between", "at near", "at far")
_ONE_LINE, _TWO_LINES = 2, 10.0
"""How many boxes to write in stand in one line, and the height of a row that has two lines of them, mm."""
_BOX, _BOXES, _LEAST_BOX = 15.0, 12.0, 7.5
"""Width of the one box to write a reading in, of each of several, and the least that a pen wants, mm."""
_HEADER = 18.0
_HEADER_LATER = 8.5
_COUNT = 34.0
_ASIDE = 4.0
"""White between the frame's name and its maker, mm."""
_UNDER_RULE = 0.6
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
    _readings(flow, job, setup, placement.interface.settle)
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
        (7.0, f"{face.end.upper()}: {face.title.partition(',')[0]}"),
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
    grades = [each for each in placement.warnings if each.startswith("Grade")]
    loud = [*placement.stamps, *grades]
    flow.paragraph(" ".join(loud), weight="bold")
    quiet = [each for each in placement.warnings if each not in loud]
    # What is tight between disc and tube is lettered large above.
    tight = [each.short for each in setup.clear.clearances if each.state == "warn" and each.kind != "rotor"]
    moving = [] if setup.clear.travel is None else [setup.clear.travel.sentence]
    stuck = [setup.clear.way_out.sentence] if setup.clear.way_out.free is False else []
    near = [f"Tight: {'; '.join(tight)}."] if tight else []
    near += [*setup.clear.unknown, *([setup.assumed] if setup.assumed else [])]
    between = [placement.adapter.sentence] if placement.adapter.sentence else []
    flow.paragraph(" ".join((*quiet, *between, *near, *moving, *stuck)))
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
        unknown = f"; not known, and left out: {', '.join(built.unknown)}" if built.unknown else ""
        said.append(
            f"{built.filling.capitalize()}. Chain: worst case ±{built.worst_case:.2f}, root "
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
    flow.paragraph(choice.sentence, weight="bold")
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


def _readings(flow: Flow, job: Job, setup: SetUp, settle: str) -> None:
    """List what a caliper must read, large, with limits below and as many boxes as readings are wanted.

    Last comes the reading on a factory part that would settle an open number, where there is one.
    """
    flow.heading(
        f"Check readings, one a box; dummy axle Ø{job.axle.dummy:g}, pins or drill shank Ø{setup.pin:g}"
    )
    half = (flow.right - flow.left - _NAME) / 2.0
    for stem, row in _rows(flow, setup.readings, half):
        height = flow.pitch * (READ + SMALL)
        if any(reading.times > _ONE_LINE for _, reading in row):
            height = max(height, _TWO_LINES)
        flow.need(height)
        top = flow.y
        flow.y -= height
        for i, line in enumerate(flow.lines(stem, _NAME - 1.0, bold=True)):
            flow.put(line, flow.left, top - 4.1 - i * 3.6, bold=True)
        for i, (part, reading) in enumerate(row):
            left = flow.left + _NAME + i * half
            for j, line in enumerate(flow.lines(part, _PART - 0.6) if part else ()):
                flow.put(line, left, top - 4.1 - j * 3.6)
            flow.put(_shown(reading), left + _PART, top - 4.1, READ)
            flow.put(_limits(reading), left + _PART, top - 7.7)
            # A reading that has a row to itself has room for all its boxes.
            right = left + half if len(row) > 1 or i else flow.right
            _write_in(flow, (left + _PART, flow.y + 0.6, right - 1.0, top - 0.6), reading)
        flow.rule()
    said = [*setup.reading_words, *setup.how_words]
    notes = [(_stem(reading)[0], reading.note) for reading in setup.readings]
    for note in dict.fromkeys(note for _, note in notes if note):
        names = dict.fromkeys(name for name, each in notes if each == note)
        named = ", ".join(names)
        said.append(f"{named[0].upper()}{named[1:]}: {note}.")
    said += setup.print_words
    flow.space(_UNDER_RULE)
    flow.paragraph(" ".join(said))
    if settle:
        flow.blank(f"What would settle the open number: {settle}")


def _across(reading: Reading) -> int:
    """Return how many boxes to write in stand side by side for a reading: in one line, or two."""
    return reading.times if reading.times <= _ONE_LINE else -(-reading.times // 2)


def _write_in(flow: Flow, place: Box, reading: Reading) -> None:
    """Draw a box for each time that a reading is taken, at the right edge of what the reading leaves free."""
    left, low, right, top = place
    across = _across(reading)
    free = right - left - _text_width(flow, reading) - 1.0
    wide = min(_BOX if across == 1 else _BOXES, free / across)
    high = (top - low) / (1 if reading.times <= _ONE_LINE else 2)
    for i in range(reading.times):
        x, y = right - (across - i % across) * wide, top - (i // across) * high
        flow.drawing.draw(box((x, y - high), (x + wide, y)), THIN, "card")


def _text_width(flow: Flow, reading: Reading) -> float:
    return max(flow.width(_shown(reading), READ), flow.width(_limits(reading)))


Row = tuple[str, list[tuple[str, Reading]]]


def _rows(flow: Flow, readings: Sequence[Reading], half: float) -> list[Row]:
    """Return the readings as rows: a name, and one or two readings each with the word that tells it apart.

    Two go into a row where they differ in one word and have room for their boxes; so do the last two.
    """

    def fits(reading: Reading) -> bool:
        free = half - _PART - 1.0 - _text_width(flow, reading) - 1.0
        return free / _across(reading) >= _LEAST_BOX

    rows: list[Row] = []
    for reading in readings:
        stem, part = _stem(reading)
        if (
            rows
            and rows[-1][0] == stem
            and len(rows[-1][1]) == 1
            and fits(reading)
            and fits(rows[-1][1][0][1])
        ):
            rows[-1][1].append((part, reading))
        else:
            rows.append((stem, [(part, reading)]))
    alone = [row for row in rows if len(row[1]) == 1 and fits(row[1][0][1])]
    for first, second in itertools.permutations(alone, 2):
        if len(first[1]) != 1 or len(second[1]) != 1:
            continue  # one of them has found its place
        reading = second[1][0][1]
        name = reading.name.removesuffix(" in 50")
        if len(flow.lines(name, _PART - 0.6)) <= 2:
            first[1].append((name, reading))
            rows.remove(second)
            second[1].clear()
    return rows


def _stem(reading: Reading) -> tuple[str, str]:
    """Return the name of a reading's row, and the word that tells it from the other one there."""
    *head, last = reading.name.replace(", near side", "").split(", ")
    return (", ".join(head), last) if last in _PARTS else (", ".join((*head, last)), "")


def _shown(reading: Reading) -> str:
    return f"{reading.mm.nominal} mm  {reading.inch.nominal} in"


def _limits(reading: Reading) -> str:
    mm, inch = reading.mm, reading.inch
    if mm.low is None or mm.high is None or inch.low is None or inch.high is None:
        return "no limits known"
    return f"{_band(mm.low, mm.high)}, {_band(inch.low, inch.high)}{'*' if reading.judged else ''}"


def _band(low: str, high: str) -> str:
    """Return limits with a dash, or with "to" where a minus sign would stand beside it."""
    return f"{low} to {high}" if low.startswith("-") else f"{low}–{high}"


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
        flow.space(_UNDER_RULE)
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
    for name, value in setup.screws:
        flow.item(name, value, indent=34.0)


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
