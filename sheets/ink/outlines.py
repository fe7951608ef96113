"""Running text as outlines of its face, for what embeds no type."""

from collections.abc import Iterator
from pathlib import Path

from fonts.faces import face_of, glyph, run
from sheets.ink.records import Point, Text


def outlines(text: Text) -> Iterator[tuple[str, float]]:
    """Yield each inked character of a line: its outline, and how far along the line it stands.

    Both are in thousandths of the type size, as fonts.faces.Glyph has them.
    """
    along = 0.0
    for character in text.text:
        one = glyph(text.face, character)
        if one.outline:
            yield one.outline, along
        along += one.advance


def typed(text: str, at: Point, size: float, file: Path) -> Text:
    """Return what a field is filled with as a line of the face in a file."""
    return Text(text, at, size, file, run(text, size, face_of(file)))
