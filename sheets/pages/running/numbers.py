"""The packet's last pages: every number once with its grade and source, and all that the card leaves out.

First come the numbers by what they belong to, then what the card says shorter or not at all, then sources.
Nothing stands on the card alone in words that were shortened: here it is whole, so that the card may be cut.
"""

import itertools

from fonts.faces import Face
from geometry.mount.placement import Placement
from sheets.ink.records import Sheet
from sheets.job.read import Job
from sheets.pages.flow import DROP, SMALL, Flow
from sheets.pages.running.behind import Item, behind
from sheets.pages.running.head import Columns
from sheets.setup.cited import Cited, Entry, cited, reference
from sheets.setup.setup import SetUp
from sheets.words.tell import tell, told

_PITCH = 1.17
_REF = 17.0
"""Width that a grade and a reference take at a row's right end, mm."""
_GRADE = 6.0
_BETWEEN = 2.0
_MOST_VALUE = 0.5
"""The part of a row that a value may take; a longer one has lines of its own."""
_AIR = 1.0
_WHOLE = 8
"""Lines up to which a paragraph is not broken between two columns."""
_MARK = 24.0
"""The widest mark that its text stands beside, mm; a wider one has a line of its own."""


def number_pages(job: Job, placement: Placement, setup: SetUp, own: Face | None = None) -> tuple[Sheet, ...]:
    """Return the pages of numbers and sources, as many as they need; FitError where the paper is too narrow.

    Whoever cites a source by its number takes the number from sheets/setup/cited.py, as these pages do.
    """
    numbers = cited(job, placement, setup)
    pages = Columns(job, "numbers", own, _PITCH)
    flow = pages.flow
    flow.paragraph(tell("numbers.how"))
    for group, members in itertools.groupby(numbers.entries, key=lambda each: each.group):
        flow.heading(tell(f"numbers.group.{group}"), follow=9.0)
        for each in members:
            _entry(flow, each)
    for part in behind(job, placement, setup):
        flow.heading(told(part.heading), follow=9.0)
        for item in part.items:
            _item(flow, item)
        if part.box:
            flow.blank(told(part.box))
    _sources(flow, numbers)
    return pages.sheets()


def _entry(flow: Flow, each: Entry) -> None:
    """Set a number: its name, value and unit, grade and reference, which all stand in line."""
    value, refs = told(each.value), reference(each.sources)
    grade = tell("numbers.own") if each.grade in ("own", "measured") and not refs else each.grade
    right = flow.right - (_REF if refs else flow.width(grade) + _BETWEEN)
    wide = flow.width(value)
    room = flow.right - flow.left - (flow.right - right)
    alone = wide > _MOST_VALUE * room
    names = flow.lines(told(each.name), room if alone else room - wide - _BETWEEN)
    values = flow.lines(value, room - 4.0) if alone else ()
    pitch = flow.leading(told(each.name))
    count = len(names) + len(values)
    flow.need(count * pitch + _AIR)
    right = flow.right - (_REF if refs else flow.width(grade) + _BETWEEN)
    # A little lower than running text, so that letters keep clear of the rule above them.
    top, lift = flow.y, DROP * SMALL - 0.4
    for i, line in enumerate((*names, *values)):
        flow.put(line, flow.left + (4.0 if i >= len(names) else 0.0), top - (i + 1) * pitch + lift)
    base = top - count * pitch + lift
    if not alone:
        flow.put(value, right - wide, base)
    if refs:
        flow.put(grade, flow.right - _REF + (_GRADE - flow.width(grade)) / 2.0 + 1.0, base)
        flow.put(refs, flow.right - flow.width(refs), base)
    else:
        flow.put(grade, flow.right - flow.width(grade), base)
    flow.y = top - count * pitch - _AIR
    flow.rule()


def _item(flow: Flow, item: Item) -> None:
    """Set a paragraph of what stands behind the card, hung from its mark where it has one."""
    mark, text = told(item.mark) if item.mark else "", told(item.text)
    flow.space(_AIR)
    if not mark:
        flow.need(min(len(flow.lines(text, flow.right - flow.left)), _WHOLE) * flow.leading(text))
        flow.paragraph(text, weight="bold" if item.loud else "regular")
        return
    lines = len(flow.lines(text, flow.right - flow.left - 6.0))
    # Kept in one piece, but for a text that is longer than a builder types as a rule.
    flow.need((min(lines, _WHOLE) + (1 if flow.width(mark, bold=True) > _MARK else 0)) * flow.leading(text))
    if flow.width(mark, bold=True) > _MARK:
        flow.paragraph(mark, weight="bold")
        flow.paragraph(text, indent=4.0)
        return
    flow.item(mark, text)


def _sources(flow: Flow, numbers: Cited) -> None:
    flow.heading(tell("numbers.sources"), follow=9.0)
    for number, source in enumerate(numbers.sources, start=1):
        mark = reference((number,))
        lines = len(flow.lines(source, flow.right - flow.left - 9.0))
        flow.need(min(lines, _WHOLE) * flow.leading(source))
        flow.item(mark, source, indent=9.0)
