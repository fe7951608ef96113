"""The setup card: what to stack, what a caliper must read, how to work and how not to get hurt."""

import itertools
from collections.abc import Iterable, Iterator
from typing import NamedTuple

from fonts.drafting import width, wrap
from fonts.faces import Face, choose
from geometry.core.findings import Finding, by_level, texts
from geometry.core.say import Say, named, say
from geometry.fixture.fixture import Fixture
from geometry.mount.placement import Placement
from geometry.mount.spacers import Choice
from geometry.mount.stack import BuildUp
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
        each.letter(
            tell("card.page", number=number, count=count), (right - _PAD, y), 3.5, 1.0, layer="title block"
        )
    return tuple(
        finish(
            Page(pages.paper, job.paper.margin, each, pages.live),
            "card",
            tell("card.title", id=job.frame.id, number=number),
            "outboard",
            axle if number == 1 else (left, low),
            # The section is drawn at its size to be looked at; what is measured are the readings beside it.
            full_size=False,
            bookmark=tell("card.bookmark", number=number),
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
        tried = [(tell("card.headed", heading=heading), 5.0), (heading, 5.0), *ids[1:]]
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
    said = tell("card.paper", size=job.paper.size)
    drawing.letter(said, (left + _PAD, top - 16.0), 5.0, layer="title block")
    return foot - 1.0


def _identity(flow: Flow, job: Job, placement: Placement, setup: SetUp) -> None:
    """Letter large which end, size, disc, adapter and screw, so that front and rear cannot be mixed up."""
    face = placement.interface
    flow.lettering(tell(f"card.mount.{face.end}", mount=face.short), 7.0)
    made_for = tell(
        "card.made_for",
        native=face.native,
        rotor=job.mount.rotor,
        screw=face.hole.screw,
        adapter=placement.adapter.name,
    )
    flow.lettering(made_for, 5.0)
    flow.lettering(told(setup.clear.largest_words), 3.5)
    stamp = words.clearance_stamp(setup.clear.failed)
    if stamp:
        for line in wrap(stamp, 5.0, flow.right - flow.left):
            flow.lettering(line, 5.0)
    disc = setup.clear.disc
    if disc is not None and disc.state == "warn":
        flow.lettering(tell("card.tight_disc", disc=disc.short), 3.5)
    flow.y -= 0.8
    _typed_in(flow, job)
    flow.paragraph(
        tell(
            "card.datum_floor" if placement.datum_shift else "card.datum_face",
            axle=placement.axle.title,
            system=placement.axle.name,
            floor=placement.datum_shift,
            grade=placement.grade,
            sources="; ".join(face.sources),
        )
    )
    # A provisional row's stamp asks for the same as its grade does, and the grade stands above.
    loud = placement.stamps if face.provisional else (*placement.stamps, *placement.confirm)
    flow.paragraph(_joined(loud), weight="bold")
    flow.paragraph(_joined(_said(placement, setup)))
    if setup.load is not None:
        if setup.load.slot.loud:
            flow.paragraph(told(setup.load.slot.sentence), weight="bold")
        flow.paragraph(told(setup.load.card))


def _typed_in(flow: Flow, job: Job) -> None:
    """Set what the job's author typed; name and maker where the header has them as a code, or not at all."""
    frame, head = job.frame, _head(job, flow.right - flow.left + 2.0, 1)
    name = frame.name if frame.name != frame.id else None
    whole = " ".join(part for part in (frame.id, name) if part), frame.maker or ""
    full = whole == (head.title, head.maker)
    again = () if full else (("name", name), ("maker", frame.maker))
    for key, text in (*again, ("customer", frame.customer), ("note", frame.note)):
        if text:
            flow.item(tell(f"card.typed.{key}"), text, indent=20.0)


def _said(placement: Placement, setup: SetUp) -> Iterator[Say | str]:
    """Return what is to be known of adapter, clearances and travel in one paragraph, the gravest first."""
    clear = setup.clear
    # What is tight between disc and tube is lettered large above.
    tight = [told(each.short) for each in clear.clearances if each.state == "warn" and each.kind != "rotor"]
    found = [Finding("tight", "warn", say("card.tight", what="; ".join(tight)))] if tight else []
    moves = {"clearance-unknown", "travel", "wheel-held"}
    found += [each for each in clear.findings if each.code in moves]
    found.append(Finding("dummy-assumed", "unknown", setup.assumed))
    found += [Finding("quiet", "note", each) for each in (*placement.quiet, placement.adapter.sentence)]
    yield from texts(by_level(found))


def _joined(said: Iterable[Say | str]) -> str:
    """Return sentences as one paragraph, without those that are empty."""
    return " ".join(told(each) for each in said if each)


def _section(flow: Flow, job: Job, placement: Placement, setup: SetUp) -> Point:
    """Draw the section and return where its origin lies."""
    section = Section(job, placement, setup.build_up, setup.choice, setup.fixture)
    flow.space(section.size[1] + 2.0)
    return draw_section(flow.drawing, section, (flow.left + 1.0, flow.y), flow.right)


def _stack(flow: Flow, setup: SetUp) -> None:
    """List the pieces in the order of assembly with a running total, and the chain's tolerance."""
    if setup.fixture is not None:
        _in_fixture(flow, setup, setup.fixture)
        return
    flow.heading(tell("card.stack"))
    built, choice = setup.build_up, setup.choice
    if built is not None and choice is not None and choice.best.pieces:
        total = 0.0
        rows = []
        for number, piece in enumerate(choice.best.pieces, start=1):
            total += piece
            rows.append((f"{number}", f"{piece:.3f}", f"{piece / 25.4:.4f}", f"{total:.3f}", ""))
        columns = (
            Column(tell("card.column.piece"), 14.0),
            Column(tell("card.column.mm"), 26.0, 1.0),
            Column(tell("card.column.inch"), 26.0, 1.0),
            Column(tell("card.column.total"), 40.0, 1.0),
            Column(tell("card.column.done"), 16.0, box=True),
        )
        flow.table(columns, rows, READ)
    _pieces(flow, choice)
    flow.paragraph(_joined((*_sleeve(setup), *setup.stack_words, *_chain(built))))


def _chain(built: BuildUp | None) -> Iterator[Say]:
    """Return what lies between plate and mount, and how far all of it may be off."""
    if built is None:
        return
    own, play = built.interface_tolerance, built.adjustment
    yield built.filling_sentence
    links = ", ".join(map(told, built.unknown))
    code = "card.chain_unknown" if links else "card.chain"
    yield say(code, worst_case=built.worst_case, rss=built.rss, links=links)
    none = say("card.not_found")
    yield say(
        "card.play",
        own=none if own is None else f"±{own:g}",
        play=none if play is None else say("card.either_way", play=play.value),
    )


def _in_fixture(flow: Flow, setup: SetUp, fix: Fixture) -> None:
    """Name the fixture's parts in the order in which they go on the axle, and say how far it may stray."""
    flow.heading(tell("card.fixture"))
    flow.paragraph(told(stacking(fix)), READ, "bold")
    _pieces(flow, setup.choice)
    flow.paragraph(
        _joined((*_sleeve(setup), *setup.stack_words, strays(fix), leaning(fix.loose.lean))),
    )


def _pieces(flow: Flow, choice: Choice | None) -> None:
    if choice is None:
        return
    flow.paragraph(told(choice.sentence), weight="bold")
    others = [
        tell(
            "card.or_pieces" if other.pieces else "card.or_none",
            pieces=" + ".join(f"{piece:g}" for piece in other.pieces),
            left=left_words(other),
        )
        for other in choice.alternatives
    ]
    if others:
        flow.paragraph(tell("card.others", others="; ".join(others)))


def _sleeve(setup: SetUp) -> Iterator[Say]:
    if setup.sleeve is not None:
        yield say("card.sleeve", inside=setup.sleeve.inside, outside=setup.sleeve.outside)


def _bosses(flow: Flow, setup: SetUp) -> None:
    """List where the mount face lies over the tube, how the bosses go in, and what they leave of the tube.

    Where the tube's place is not known there is nothing to list, and the words say so.
    """
    coped = setup.bosses and setup.bosses[0].coped
    flow.heading(tell("card.posts" if coped else "card.bosses"), 8.7)
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
        flow.heading(tell("card.screws"))
    for key, value in setup.screws:
        flow.item(tell(f"setup.screw.{key}"), told(value), indent=34.0)


def _work(flow: Flow, setup: SetUp) -> None:
    flow.heading(tell("card.work"))
    for number, (text, points) in enumerate(setup.work, start=1):
        ends = (say("card.check_point", point=named(point)) for point in points)
        flow.item(f"{number}", _joined((text, *ends)))


def _cautions(flow: Flow, setup: SetUp) -> None:
    """Set the cautions group by group, each with the number of its source, and the sources below."""
    flow.heading(tell("card.cautions"))
    sources: dict[str, int] = {}

    def cited(caution: Caution) -> str:
        parts = caution.source.split("; ")
        return "[" + ", ".join(str(sources.setdefault(part, len(sources) + 1)) for part in parts) + "]"

    for group, members in itertools.groupby(setup.cautions, key=lambda caution: caution.group):
        said = " ".join(f"{each.text} {cited(each)}" for each in members)
        flow.item(tell(f"card.group.{group}"), said, indent=20.0)
    listed = " ".join(f"[{number}] {source}" for source, number in sources.items())
    flow.paragraph(tell("title.sources", sources=listed))
