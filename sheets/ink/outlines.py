"""Running text as outlines of its face, for what embeds no type."""

from collections.abc import Iterator

from fonts.faces import face, glyph, lacks
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


def typed(text: str, at: Point, size: float) -> Text:
    """Return what was typed as a line of the project's regular face; what that lacks is a question mark."""
    plain = face("regular")
    for character in lacks(text, plain):
        text = text.replace(character, "?")
    return Text(text, at, size, plain.file, size * sum(plain.advances[ord(each)] for each in text))
