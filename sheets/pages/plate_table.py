"""What stands beside a pattern: its drill table, and what to do, each where the page has room."""

from collections.abc import Sequence

from fonts.drafting import LINE_PITCH, width, wrap
from geometry.errors import FitError, Problem
from geometry.fixture_words import KERF
from geometry.placement import Placement
from sheets.ink.marks import THIN, polyline
from sheets.job import Job
from sheets.pages import words
from sheets.pages.frame import Page, TitleLine

_READ = 3.5
_DASH = 3.0
"""From a sentence's dash to its words, mm."""
_GAP = 0.8
"""Between two sentences, mm."""
_BETWEEN = 5.0
"""Between two columns, mm."""
_WIDE = (1.0, 0.6, 0.5)
"""Shares of the page's width that a block of sentences is tried at."""


def title(job: Job, placement: Placement, what: str, sheet_of: str, how: str) -> list[TitleLine]:
    """Return a pattern's title lines: frame, sheet, mount, grade, `how` to use it, and how to print."""
    interface = placement.interface
    own = ", the job's own row" if interface.own else ""
    grades = (each for each in placement.warnings if each.startswith("Grade"))
    small = (KERF, words.lettered(f"Sources: {'; '.join(interface.sources)}."), words.CAUTION)
    return [
        TitleLine(words.heading(job), 7.0, words.lettered(job.frame.maker or "")),
        TitleLine(what, 5.0, f"{job.paper.size}, {sheet_of}"),
        TitleLine(f"{interface.title} ({interface.name}{own}), made for {interface.native:g}"),
        *(TitleLine(each) for each in (*grades, how) if each),
        *words.last_lines(job, small),
    ]


def drill_table(page: Page, heading: str, heads: Sequence[str], rows: Sequence[Sequence[str]]) -> None:
    """Letter a table with a heading where the page has room; raise FitError where it has none.

    The first column and the last start at their left, numbers end at their right.
    """
    every = [heads, *rows]
    wides = [max(width(row[i], _READ) for row in every) for i in range(len(heads))]
    pitch = LINE_PITCH * _READ
    size = (
        max(sum(wides) + _BETWEEN * (len(heads) - 1), width(heading, _READ)) + 1.0,
        pitch * (len(every) + 1) + 1.0,
    )
    found = page.drawing.free_box(size, page.zone)
    if found is None:
        raise FitError(Problem("paper.size", "no room for the drill table; use a larger paper"))
    left, _, right, top = found
    y = top - _READ
    page.drawing.letter(heading, (left, y), _READ, layer="numbers")
    for n, row in enumerate(every):
        y -= pitch + (0.15 * pitch if n == 1 else 0.0)
        x = left
        for i, (text, wide) in enumerate(zip(row, wides, strict=True)):
            last = i in (0, len(heads) - 1)
            if text:
                page.drawing.letter(
                    text, (x if last else x + wide, y), _READ, 0.0 if last else 1.0, layer="numbers"
                )
            x += wide + _BETWEEN
        if n == 0:
            rule = y - 0.45 * _READ
            page.drawing.draw(polyline(((left, rule), (right, rule))), THIN, "numbers")
    page.drawing.reserve(found)


def sentences(page: Page, heading: str, said: Sequence[str]) -> None:
    """Letter sentences under a heading, as broad as the page has room; raise FitError where it has none."""
    whole = page.zone[2] - page.zone[0] - 2.0
    pitch = LINE_PITCH * _READ
    for share in _WIDE:
        blocks = [wrap(each, _READ, whole * share - _DASH) for each in said]
        lines = sum(len(block) for block in blocks)
        longest = max(width(row, _READ) for block in blocks for row in block)
        wide = max(width(heading, _READ), longest + _DASH) + 1.0
        found = page.drawing.free_box((wide, pitch * (lines + 1) + _GAP * len(blocks) + 1.0), page.zone)
        if found is None:
            continue
        left, _, _, top = found
        y = top - _READ
        page.drawing.letter(heading, (left, y), _READ, layer="numbers")
        for block in blocks:
            y -= _GAP
            for i, row in enumerate(block):
                y -= pitch
                if i == 0:
                    dash = y + 0.4 * _READ
                    page.drawing.draw(polyline(((left, dash), (left + 1.5, dash))), THIN, "numbers")
                page.drawing.letter(row, (left + _DASH, y), _READ, layer="numbers")
        page.drawing.reserve(found)
        return
    raise FitError(Problem("paper.size", "no room for what to do with the plate; use a larger paper"))
