"""The packet's last pages: what the card leaves out, and every number once with its grade and source.

Numbers stand by what they belong to, those of one source in one paragraph, and then the sources, cited in
short. Nothing stands on the card alone in words that were shortened: it is whole on the page before, so that
the card may be cut.

Their type is that of all running text: capitals of 2.5 mm, on as many pages as that takes.
"""

import itertools
from collections.abc import Callable, Iterable, Iterator

from fonts.faces import Face
from geometry.core.say import Say
from geometry.mount.placement import Placement
from sheets.ink.records import Sheet
from sheets.job.read import Job
from sheets.pages.flow import SMALL, Flow
from sheets.pages.running.behind import behind
from sheets.pages.running.card import has_whole_work
from sheets.pages.running.head import Columns
from sheets.pages.running.tools import tools_figures
from sheets.setup.cited import Entry, cited, reference
from sheets.setup.setup import SetUp
from sheets.words.tell import tell, told

_PITCHES = (1.11, 1.03, 1.0)
"""Line pitches in type sizes, from easy to tight; of those with the fewest pages the first is taken."""
_KEEP = 9.0
"""Least room for a heading with what follows it, mm."""
_WHOLE = 4
"""Lines up to which a paragraph is not broken between two columns."""


def number_pages(job: Job, placement: Placement, setup: SetUp, own: Face | None = None) -> tuple[Sheet, ...]:
    """Return the pages of numbers and sources; FitError on too narrow paper.

    Whoever cites a source by its number takes the number from sheets/setup/cited.py, as these pages do.
    """
    numbers = cited(job, placement, setup)

    def fill(flow: Flow) -> None:
        flow.paragraph(tell("numbers.how"))
        for group, members in itertools.groupby(numbers.entries, key=lambda each: each.group):
            _heading(flow, tell(f"numbers.group.{group}"))
            for mark, said in _runs(members):
                _paragraph(flow, mark, said)
        _heading(flow, tell("numbers.sources"))
        cites = ((reference((number,)), source) for number, source in enumerate(numbers.sources, start=1))
        flow.run_in([part for mark, cite in cites for part in ((mark, True), (cite, False))])

    return _filled(job, "numbers", own, fill)


def detail_pages(job: Job, placement: Placement, setup: SetUp, own: Face | None = None) -> tuple[Sheet, ...]:
    """Return the pages of all that the card leaves out; FitError where the paper is too narrow."""
    parts = behind(job, placement, setup, work=not has_whole_work(job, placement, setup, own))

    def fill(flow: Flow) -> None:
        _heading(flow, tell("tools.heading" if setup.fixture is None else "tools.heading_axle"))
        tools_figures(flow, job, placement, setup)
        for part in parts:
            _heading(flow, told(part.heading), told(part.items[0].text) if part.items else "")
            for item in part.items:
                mark = tell("numbers.mark", mark=item.mark) if item.mark else ""
                _paragraph(flow, mark, told(item.text), item.loud)
            if part.box:
                flow.blank(told(part.box), size=SMALL)

    return _filled(job, "details", own, fill)


def _filled(job: Job, kind: str, own: Face | None, fill: Callable[[Flow], None]) -> tuple[Sheet, ...]:
    """Return as many pages as type takes that is read in a shop, its lines closer where that saves one."""
    found: list[Columns] = []
    for pitch in _PITCHES:
        found.append(Columns(job, kind, own, pitch))
        fill(found[-1].flow)
        if len(found[-1].pages) == 1:
            break
    return min(found, key=lambda each: len(each.pages)).sheets()


def _heading(flow: Flow, text: str, follows: str = "") -> None:
    """Set a heading in bold over a rule, together with the first lines of what follows it."""
    lines = len(flow.lines(follows, flow.right - flow.left)) if follows else 0
    flow.need(max(_KEEP, 0.3 * SMALL + flow.leading(text) * (1 + min(_WHOLE, lines)) + 1.0))
    flow.space(0.3 * SMALL)
    flow.paragraph(text, weight="bold", kind="H2")
    flow.rule()
    flow.y -= 0.15 * SMALL


def _runs(members: Iterable[Entry]) -> Iterator[tuple[str, str]]:
    """Yield the numbers of a heading, all that share grade and sources together, and both before them."""
    found: dict[tuple[str, tuple[int, ...]], list[Entry]] = {}
    for each in members:
        found.setdefault((each.grade, each.sources), []).append(each)
    for (grade, sources), several in found.items():
        mark = f"{'' if grade in ('own', 'measured') else grade} {reference(sources)}".strip()
        yield mark, tell("numbers.next").join(_named(several))


def _named(several: Iterable[Entry]) -> Iterator[str]:
    """Yield numbers behind their names; what several names begin with is said once, before the first."""
    heads: dict[str, list[tuple[str, Say | str]]] = {}
    for each in several:
        head, _, tail = told(each.name).partition(": ")
        heads.setdefault(head, []).append((tail, each.value))
    for head, found in heads.items():
        for i, (tail, value) in enumerate(found):
            whole = tell("numbers.headed", head=head, tail=tail) if tail else head
            name = tail if i and tail else whole
            yield tell("numbers.valued", name=name, value=value)


def _paragraph(flow: Flow, mark: str, text: str, loud: bool = False) -> None:
    """Set a paragraph behind its mark, if it has one."""
    flow.need(min(len(flow.lines(text, flow.right - flow.left)), _WHOLE) * flow.leading(text))
    flow.run_in([*([(mark, True)] if mark else []), (text, loud)])
