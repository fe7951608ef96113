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

_PITCH = 1.03
_REF = 17.0
"""Width that a grade and a reference take at a row's right end, mm."""
_GRADE = 6.0
_BETWEEN = 2.0
_HANG = 4.0
"""Indent of a name's further lines, mm."""
_AIR = 0.2
"""White between two numbers, mm: without rules the value at the right end keeps them apart."""
_KEEP = 14.0
"""Least room for a heading with what follows it, mm."""
_WHOLE = 4
"""Lines up to which a paragraph is not broken between two columns."""


def number_pages(job: Job, placement: Placement, setup: SetUp, own: Face | None = None) -> tuple[Sheet, ...]:
    """Return the pages of numbers and sources, as many as they need; FitError where the paper is too narrow.

    Whoever cites a source by its number takes the number from sheets/setup/cited.py, as these pages do.
    """
    numbers = cited(job, placement, setup)
    pages = Columns(job, "numbers", own, _PITCH)
    flow = pages.flow
    flow.paragraph(tell("numbers.how"))
    for group, members in itertools.groupby(numbers.entries, key=lambda each: each.group):
        _heading(flow, tell(f"numbers.group.{group}"))
        for each in members:
            _entry(flow, each)
    for part in behind(job, placement, setup):
        _heading(flow, told(part.heading))
        for item in part.items:
            _item(flow, item)
        if part.box:
            flow.blank(told(part.box))
    _sources(flow, numbers)
    return pages.sheets()


def _heading(flow: Flow, text: str) -> None:
    """Set a heading in bold small type over a rule: these pages are leafed through, not read at the bench."""
    flow.need(_KEEP)
    flow.space(1.2)
    flow.paragraph(text, weight="bold")
    flow.rule()
    flow.y -= 0.5


def _entry(flow: Flow, each: Entry) -> None:
    """Set a number: its name, value and unit, grade and reference, which all stand in line."""
    value, refs = told(each.value), reference(each.sources)
    grade = tell("numbers.own") if each.grade in ("own", "measured") and not refs else each.grade
    right = flow.right - (_REF if refs else flow.width(grade) + _BETWEEN)
    wide, room = flow.width(value), right - flow.left
    first, *rest = flow.lines(told(each.name), room)
    names = [first, *(flow.lines(" ".join(rest), room - _HANG) if rest else ())]
    # The value ends the name's last line, or has lines of its own.
    indent = _HANG if len(names) > 1 else 0.0
    if indent + flow.width(names[-1]) + _BETWEEN + wide > room:
        *more, value = flow.lines(value, room - _HANG)
        names, wide = [*names, *more, ""], flow.width(value)
    pitch = flow.leading(told(each.name))
    flow.need(len(names) * pitch + _AIR)
    right = flow.right - (_REF if refs else flow.width(grade) + _BETWEEN)
    top, lift = flow.y, DROP * SMALL
    for i, line in enumerate(names):
        if line:
            flow.put(line, flow.left + (_HANG if i else 0.0), top - (i + 1) * pitch + lift)
    base = top - len(names) * pitch + lift
    flow.put(value, right - wide, base)
    if refs:
        flow.put(grade, flow.right - _REF + (_GRADE - flow.width(grade)) / 2.0 + 1.0, base)
        flow.put(refs, flow.right - flow.width(refs), base)
    else:
        flow.put(grade, flow.right - flow.width(grade), base)
    flow.y = top - len(names) * pitch - _AIR


def _item(flow: Flow, item: Item) -> None:
    """Set a paragraph of what stands behind the card, led by its mark where it has one."""
    text = told(item.text)
    flow.need(min(len(flow.lines(text, flow.right - flow.left)), _WHOLE) * flow.leading(text))
    led = [(tell("numbers.mark", mark=item.mark), True)] if item.mark else []
    flow.run_in([*led, (text, item.loud)])


def _sources(flow: Flow, numbers: Cited) -> None:
    """Set the sources one after the other, each behind its number: a line each would take twice the room."""
    _heading(flow, tell("numbers.sources"))
    parts: list[tuple[str, bool]] = []
    for number, source in enumerate(numbers.sources, start=1):
        parts += [(reference((number,)), True), (source, False)]
    flow.run_in(parts)
