"""The setup card: one page, to be kept beside the work and read at every step.

Its head says large what goes where, then come the findings in the order of their levels, section and stack,
the readings that decide, screws, the order of work and the cautions of this process in short. Sources,
derivations and everything in full stand on the pages of numbers and of cautions, whatever is left of it here.

One page is a law: what leaves it where not all has room is told in `card_kept.py`.
"""

import functools
import math
from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import NamedTuple

from fonts.drafting import wrap
from fonts.faces import Face, choose
from geometry.core.errors import FitError
from geometry.core.findings import Finding, by_level
from geometry.core.frozen import dataclass
from geometry.core.say import say
from geometry.mount.placement import Placement
from sheets.ink.drawing import Drawing
from sheets.ink.records import Point, Sheet
from sheets.job.read import Job
from sheets.pages import title as words
from sheets.pages.flow import DROP, PITCHES, READ, SLACK, SMALL, Flow
from sheets.pages.running.behind import datum, joined, point_words, sentence_of
from sheets.pages.running.card_kept import MOST_WORK, Kept, ladder, most_kept
from sheets.pages.running.card_readings import readings
from sheets.pages.running.card_stack import section_and_stack
from sheets.pages.running.head import header, live_of, signed
from sheets.pages.running.shorten import one_line, two_lines
from sheets.setup.cited import cited
from sheets.setup.findings import sheet_findings
from sheets.setup.screws import short_screws
from sheets.setup.setup import SetUp
from sheets.setup.short_cautions import short_cautions
from sheets.words.lengths import Units, units
from sheets.words.tell import tell, told

_TIGHTEST = 1.03
_MOST_AIR = 2.4
"""White that is added between parts where the page has some left over, mm."""
_GAPS = 5
_MARK = 21.0
_GUTTER = 6.0
_APART = 0.5
"""White above each finding, mm."""
_LIMITING = (
    "slot-on-pads", "outside-test", "material-vague", "carried-by-dropout", "plate-on-pad",
    "mount-near", "tube-near", "fork-test-held",
)  # fmt: skip
"""Codes of notes without which a verdict would be taken for more than it is."""
_STEP = 6.0
"""What a step leaves free at its left for its number, mm."""
_SURE = 360
"""Letters of a line of work that have room in the lines that it gets."""
_WORK = 0.6
"""The part of the page's width that the order of work takes."""


def card(job: Job, placement: Placement, setup: SetUp, own: Face | None = None) -> tuple[Sheet, ...]:
    """Return the card's one sheet; raise FitError where the paper is too small even for what never leaves it.

    `own` is the job's own face, for characters that the project's lacks. The section is at full size, and its
    origin is the sheet's `axle`.
    """
    for key, text in _typed(job):
        choose(text, "regular", own, key)
    said, kept = _Said(job, placement, setup, own), _fitted(job, placement, setup, own, units())
    # It fits at the tightest of them at the latest.
    pitch, page = next((each, page) for each in PITCHES if (page := said.filled(kept, each)))
    air = min(_MOST_AIR, max(0.0, page.left - 0.5) / _GAPS)
    page = said.filled(kept, pitch, air) or page
    return (signed(page.drawing, job, "card", 0, page.axle, page.number_at),)


@functools.lru_cache(maxsize=12)
def _fitted(job: Job, placement: Placement, setup: SetUp, own: Face | None, told_in: Units) -> Kept:
    """Return how much the card keeps, a value for the units it is `told_in`; FitError where nothing fits."""
    said = _Said(job, placement, setup, own)
    kept = most_kept(said.fits(), len(setup.work))
    if kept is None:
        # This says by how much even the least is too much.
        *_, least = ladder()
        said.fill(least, _TIGHTEST)
    return kept or Kept()


def has_whole_work(job: Job, placement: Placement, setup: SetUp, own: Face | None = None) -> bool:
    """Tell whether the order of work stands whole on the card, so that it need not be told once more."""
    kept = _fitted(job, placement, setup, own, units())
    long = any(len(joined((text, *point_words(points)))) > _SURE for text, points in setup.work)
    return kept.work_lines == Kept().work_lines and len(setup.work) <= kept.work and not long


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


def _full() -> tuple[Drawing, float]:
    """Raise FitError: the card has no second page."""
    raise FitError.at("paper.size", say("card.full"))


class Filled(NamedTuple):
    """A filled page, where its section's origin and its number lie, and the height that is left over, mm."""

    drawing: Drawing
    axle: Point
    number_at: Point
    left: float


@dataclass(frozen=True, slots=True)
class _Said:
    """All that the card has to say, and how a page is filled with it."""

    job: Job
    placement: Placement
    setup: SetUp
    own: Face | None

    def filled(self, kept: Kept, pitch: float, air: float = 0.0) -> Filled | None:
        """Return the page, or None where it is too full."""
        try:
            return self.fill(kept, pitch, air)
        except FitError:
            return None

    def fits(self) -> Callable[[Kept], bool]:
        """Return what tells whether a card has room at the tightest pitch, without filling a page each time.

        How far down a part ends, and reaches, does not depend on where it begins. So each is set by itself,
        on paper without an end, and once only for all cards that keep the same of it.
        """
        left, low, right, _ = live_of(self.job)
        top, _ = header(Drawing(), self.job, "card", self.own, large=True)

        @functools.cache
        def alone(part: _Part, kept: Kept) -> tuple[float, float]:
            flow = Flow(Drawing(), left + 1.0, right - 1.0, 0.0, -math.inf, self.own, _full, _TIGHTEST)
            try:
                part(self, flow, kept)
            except FitError:
                return 0.0, -math.inf
            return flow.y, flow.reached

        def has_room(kept: Kept) -> bool:
            at = top
            for part, names in _PARTS:
                ends, reached = alone(part, replace(Kept(), **{each: getattr(kept, each) for each in names}))
                if at + reached < low - SLACK:
                    return False
                at += ends
            return True

        return has_room

    def fill(self, kept: Kept, pitch: float, air: float = 0.0) -> Filled:
        """Return the page; raise FitError where it is too full. `air` is added between its parts, mm."""
        drawing = Drawing()
        left, low, right, _ = live_of(self.job)
        top, at = header(drawing, self.job, "card", self.own, large=True)
        flow = Flow(drawing, left + 1.0, right - 1.0, top, low, self.own, _full, pitch)
        self._identity(flow, kept)
        self._findings(flow, kept)
        flow.y -= air
        axle = self._section(flow, kept)
        flow.y -= air
        self._readings(flow, kept)
        flow.y -= air
        foot = self._foot(flow, kept, air)
        return Filled(drawing, axle, at, foot - low)

    def _identity(self, flow: Flow, kept: Kept) -> None:
        """Letter large which end, size, disc, adapter and screw, so that front and rear stay apart."""
        face, clear = self.placement.interface, self.setup.clear
        flow.y -= 1.0
        mount = tell(f"card.mount.{face.end}", mount=face.short)
        _letter(flow, tell("card.made_for", mount=mount, native=face.native), (7.0, 5.0))
        fitted = tell(
            "card.fitted",
            rotor=self.job.mount.rotor,
            screw=face.hole.screw,
            adapter=self.placement.adapter.name,
        )
        _letter(flow, fitted, (5.0, 3.5))
        # A wheel that braking pushes out is lettered as large as on template and traveller.
        pushed = "" if self.setup.load is None else self.setup.load.stamp
        for stamp in (words.clearance_stamp(clear.failed), pushed):
            if stamp:
                flow.lettering(stamp, kept.stamp)
        flow.y -= 0.8
        numbers = cited(self.job, self.placement, self.setup)
        said = tell(
            "card.sourced",
            datum=datum(self.placement),
            grade=self.placement.grade,
            mount=numbers.of("interfaces", "row"),
            axle=numbers.of("axles", "axle"),
        )
        flow.paragraph(said)
        if kept.largest:
            flow.paragraph(tell("numbers.said", what=sentence_of(told(clear.largest_words))))
        if not kept.typed:
            return
        frame = self.job.frame
        for key, text in (("maker", frame.maker), ("customer", frame.customer), ("note", frame.note)):
            if text:
                flow.item(tell(f"card.typed.{key}"), one_line(flow, text, 20.0), indent=20.0)

    def _findings(self, flow: Flow, kept: Kept) -> None:
        """Set what was found, the gravest first: what is the matter and what to do, in two lines at most."""
        found = by_level(sheet_findings(self.placement, self.setup))
        shown = _chosen(found, kept)
        if shown:
            flow.y -= 1.0
        cut = False
        for each in shown:
            loud = each.level == "stop" or each.large
            count = kept.stop_lines if each.level == "stop" else kept.lines
            said = [told(part) for part in (each.brief or each.text, each.remedy) if part]
            lines = _lines(flow, said, count)
            cut = cut or " ".join(lines) != " ".join(said)
            flow.y -= _APART
            _hung(flow, tell(f"card.level.{each.level}"), lines, _MARK, loud=loud)
        more = len(found) - len(shown)
        if more:
            one = "card.shortened_one" if cut else "card.left_one"
            many = "card.shortened_many" if cut else "card.left_many"
            flow.paragraph(tell(one if more == 1 else many, more=more))
        elif cut:
            flow.paragraph(tell("card.shortened"))

    def _section(self, flow: Flow, kept: Kept) -> Point:
        return section_and_stack(flow, self.job, self.placement, self.setup, kept.plate)

    def _readings(self, flow: Flow, kept: Kept) -> None:
        readings(flow, self.job, self.setup, kept.rows, how=kept.how)

    def _foot(self, flow: Flow, kept: Kept, air: float = 0.0) -> float:
        """Set order of work at the left, screws and cautions at the right; return the lower end of both."""
        wide = flow.right - flow.left - _GUTTER
        top, left, right = flow.y, flow.left, flow.right
        flow.right = left + _WORK * wide
        flow.heading(tell("card.work"))
        work = self.setup.work
        steps = [joined((text, *point_words(points))) for text, points in work[: kept.work]]
        counts = _lines_each(flow, steps, kept.work_lines)
        shown = [two_lines(flow, said, _STEP, count) for said, count in zip(steps, counts, strict=True)]
        for number, said in enumerate(shown, start=1):
            flow.item(f"{number}", said, indent=_STEP)
        if shown != steps and kept.work_lines:
            flow.paragraph(tell("card.shortened"))
        if more := len(work[kept.work :]):
            flow.paragraph(tell("card.more_work", more=more))
        low = flow.y
        flow.left, flow.right, flow.y = flow.right + _GUTTER, right, top
        self._screws(flow)
        flow.y -= air
        short = short_cautions(self.setup.cautions, kept.cautions)
        if short:
            flow.heading(tell("card.cautions"))
            for each in short:
                flow.item(tell("cautions.mark"), told(each), indent=3.2)
            flow.paragraph(tell("card.all_cautions"), weight="bold")
        return min(low, flow.y)

    def _screws(self, flow: Flow) -> None:
        first, *rest = short_screws(self.job, self.placement)
        numbers = cited(self.job, self.placement, self.setup)
        flow.heading(tell("card.screws"))
        flow.paragraph(told(first), READ, "bold")
        refs = numbers.of("fasteners", "torque")
        flow.paragraph(tell("card.screws_said", said="; ".join(map(told, rest)), sources=refs))


_Part = Callable[[_Said, Flow, Kept], object]
_PARTS: tuple[tuple[_Part, tuple[str, ...]], ...] = (
    (_Said._identity, ("stamp", "largest", "typed")),
    (_Said._findings, ("notes", "limiting", "others", "lines", "stop_lines")),
    (_Said._section, ("plate",)),
    (_Said._readings, ("rows", "how")),
    (_Said._foot, ("work_lines", "work", "cautions")),
)
"""The card's parts from the top, and what may leave each of them."""


def _lines_each(flow: Flow, steps: Sequence[str], more: int) -> list[int]:
    """Return how many lines each step gets: one, and of so many `more` one after the other while they last.

    Each gets its second line before any gets a third. That steps are cut takes one line to say.
    """
    wide = flow.right - flow.left - _STEP
    wanted = [
        min(MOST_WORK, max(len(flow.lines(said, wide)), len(flow.lines(said, wide, bold=True))))
        for said in steps
    ]
    if sum(wanted) - len(steps) <= more:
        return [MOST_WORK] * len(steps)
    counts, left = [1] * len(steps), more - 1
    for rank in range(2, MOST_WORK + 1):
        for i, lines in enumerate(wanted):
            if lines >= rank and left > 0:
                counts[i], left = rank, left - 1
    return counts


def _chosen(found: Sequence[Finding], kept: Kept) -> list[Finding]:
    """Return the findings that stay on the card: every stop, so many others and notes.

    Of the notes large ones come first, then those that limit what a verdict holds for.
    """
    stops = [each for each in found if each.level == "stop"]
    others = [each for each in found if each.level in ("warn", "unknown")]
    every = (each for each in found if each.level == "note")
    notes = sorted(every, key=lambda each: (not each.large, each.code not in _LIMITING))
    least = sum(each.large or (kept.limiting and each.code in _LIMITING) for each in notes)
    return [*stops, *others[: kept.others], *notes[: max(kept.notes, least)]]


def _lines(flow: Flow, said: Sequence[str], count: int) -> list[str]:
    """Return what is the matter and what to do about it in so many lines, each cut where it is too long."""
    if count < 2 or len(said) < 2:
        return [two_lines(flow, " ".join(said), _MARK, count)]
    matter, remedy = said
    first = two_lines(flow, matter, _MARK, count - 1)
    return [first, one_line(flow, remedy, _MARK)]


def _letter(flow: Flow, text: str, heights: Sequence[float]) -> None:
    """Letter a text in the first height in which it takes one line, or in the last on as many as it needs."""
    one = (each for each in heights if len(wrap(text, each, flow.right - flow.left)) == 1)
    flow.lettering(text, next(one, heights[-1]))


def _hung(flow: Flow, mark: str, said: Sequence[str], indent: float, *, loud: bool) -> None:
    """Set paragraphs beside their mark, bold where they are loud."""
    part = flow.part()
    flow.put(
        mark, flow.left, flow.y - flow.leading(said[0], SMALL, loud) + DROP * SMALL, bold=True, part=part
    )
    for text in said:
        flow.paragraph(text, SMALL, "bold" if loud else "regular", indent, part=part)
