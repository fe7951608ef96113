"""Longer texts cut to the lines that the card has for them; whole they stand on the page of numbers."""

import re

from sheets.pages.flow import Flow

MORE = "…"
"""What ends a text that was cut."""
_END = re.compile(r"(?<=[.!?]) +")
_CLAUSE = re.compile(r"(?<=[,;:]) +")


def two_lines(flow: Flow, text: str, indent: float, count: int = 2) -> str:
    """Return as many of a text's first sentences as take `count` lines, or clauses or words of the first.

    `indent` is what the lines leave free at their left, mm. What is cut ends in an ellipsis.
    """
    wide = flow.right - flow.left - indent

    def fits(said: str) -> bool:
        return len(flow.lines(said, wide)) <= count and len(flow.lines(said, wide, bold=True)) <= count

    if fits(text):
        return text
    sentences = _END.split(text)
    for many in range(len(sentences) - 1, 0, -1):
        said = f"{' '.join(sentences[:many])} {MORE}"
        if fits(said):
            return said
    clauses = _CLAUSE.split(sentences[0])
    for many in range(len(clauses) - 1, 0, -1):
        said = f"{' '.join(clauses[:many]).rstrip(',;:')} {MORE}"
        if fits(said):
            return said
    pieces = sentences[0].split(" ")
    while len(pieces) > 1 and not fits(f"{' '.join(pieces)} {MORE}"):
        pieces.pop()
    said = " ".join(pieces).rstrip(",;:")
    while len(said) > 1 and not fits(f"{said} {MORE}"):
        said = said[:-1]
    return f"{said} {MORE}"


def one_line(flow: Flow, text: str, indent: float) -> str:
    """Return a text as far as it takes one line; what is cut ends in an ellipsis."""
    return two_lines(flow, text, indent, 1)
