"""Single-stroke lettering for drawings: text in, pen strokes in millimetres out.

The proportions follow ISO 3098 type B, vertical. The shares of the height below reproduce the table of
NF EN ISO 3098-0 as printed in "Ecritures normalisees" (scribd.com/document/468871584): at h = 5 mm,
lower case 3.5, line 0.5, letter gap 1, word gap 3, pitches 9.5, 7.5 and 6.5 mm. The letters themselves
were drawn for this project and are in alphabet.txt.
"""

import unicodedata
from collections.abc import Iterator
from dataclasses import replace
from functools import cache, lru_cache
from math import ceil, isfinite
from pathlib import Path
from typing import NamedTuple

from fonts.glyphs import Alphabet, Command, Commands, Glyph, extent, moved, read
from fonts.lines import fill
from geometry.core.errors import FitError, InputError, Problem
from geometry.core.say import Say, say

GRID = 10.0
"""Grid units of alphabet.txt to the height of a capital, ink to ink."""

# Shares of the height h of a capital, from the table named above.
STROKE = 0.1  # d, the width of the pen
LOWER_CASE = 0.7  # c1, a lower-case letter without ascender or descender
DESCENDER = 0.3  # c2, the tail below the baseline; not in that table, the usual share of the type
LETTER_GAP = 0.2  # a, between the ink of two letters
WORD_GAP = 0.6  # e, between the ink of two words
LINE_PITCH_ACCENTED = 1.9  # b1, baseline to baseline, capitals with accents and lower case
BRACKETS = 0.1  # what brackets stand over a capital; see alphabet.txt
LINE_PITCH = 1.5  # b2, capitals and lower case without accents on the capitals
LINE_PITCH_CAPITALS = 1.3  # b3, capitals only

_SOURCE = Path(__file__).with_name("alphabet.txt")
_X_TOP = LOWER_CASE * GRID - 1  # middle of the pen at the top of a lower-case letter
_PEN = STROKE * GRID
_BREAKS = "/.-"
_WHERE = say("fonts.lettering.where")

# A letter with a dot loses it under an accent.
_DOTLESS = {"i": "ı", "j": "ȷ"}
_ABOVE, _ATTACHED, _BELOW = 230, 202, 220  # canonical combining classes of the Unicode standard
_OGONEK = "\u0328"


class Placed(NamedTuple):
    """A character: its strokes from the left edge of its ink, how wide that is, and what is added beside it.

    In mm, or in grid units; `lead` comes before it unless it is a line's first, `trail` after it.
    """

    strokes: Commands
    width: float
    lead: float
    trail: float


@cache
def alphabet() -> Alphabet:
    """Return the drawn characters in grid units; raise TableError with the line if the file is malformed."""
    return read(_SOURCE.read_text(encoding="utf-8"), f"fonts/{_SOURCE.name}")


def missing(text: str) -> tuple[str, ...]:
    """Return the characters of `text` that cannot be lettered, each once, in order.

    Text is taken in composed form (NFC), so an accent is reported together with its letter if Unicode
    has a character for the pair, and alone if it has none.
    """
    found: dict[str, None] = {}
    for cluster in _clusters(text):
        if _glyph(cluster) is None:
            unknown = [one for one in cluster if one not in alphabet() and _glyph(one) is None]
            # Known letter and known mark that do not go together: the mark is what has no place.
            found.update(dict.fromkeys(unknown or cluster[-1:]))
    return tuple(found)


@lru_cache(maxsize=4096)
def width(text: str, height: float) -> float:
    """Return the length of a line in mm from the left edge of its first ink to the right edge of its last.

    `height` is that of a capital in mm. A space counts as ink of 0.2 h. Raise InputError as `letter` does.
    """
    return _span(characters(text), height)


def rise(text: str, height: float) -> float:
    """Return how far the accents of a line stand over its capitals, mm; 0 for ASCII.

    `height` is that of a capital in mm, which a capital with an accent passes by almost half. Raise
    InputError as `letter` does.
    """
    if text.isascii():
        return 0.0
    tops = [glyph.box.top + _PEN for glyph in map(_glyph, characters(text)) if glyph is not None]
    return max(0.0, max(tops, default=0.0) - GRID) * height / GRID


def sink(text: str, height: float) -> float:
    """Return how far the ink of a line reaches below its baseline, mm: p, a comma, a cedilla; 0 for capitals.

    `height` is that of a capital in mm. Raise InputError as `letter` does.
    """
    feet = [glyph.box.bottom for glyph in map(_glyph, characters(text)) if glyph is not None]
    return max(0.0, -min(feet, default=0.0)) * height / GRID


def accents(text: str, height: float) -> float:
    """Return the same, mm, but 0 where a line stands out no further than plain brackets do."""
    over = rise(text, height)
    return over if over > BRACKETS * height + 1e-9 else 0.0


@lru_cache(maxsize=512)
def letter(text: str, height: float) -> Commands:
    """Return the pen strokes of a line of text in mm, y up.

    The origin is the left edge of the first ink, on the baseline; `height` is that of a capital in mm,
    the thickness of the pen included, so the middle of the pen keeps half a stroke (0.05 h) inside.
    Draw the strokes STROKE x `height` wide with round caps and joins. Raise InputError naming every
    character that the alphabet lacks: nothing is left out silently.
    """
    commands: list[Command] = []
    add = commands.append
    for glyph, x in _set(characters(text), height):
        for command in glyph.strokes:
            if command[0] == "C":
                _, x1, y1, x2, y2, x3, y3 = command
                add(("C", x1 + x, y1, x2 + x, y2, x3 + x, y3))
            elif command[0] == "L":
                add(("L", command[1] + x, command[2]))
            elif command[0] == "M":
                add(("M", command[1] + x, command[2]))
            else:
                add(command)
    return tuple(commands)


@lru_cache(maxsize=1024)
def wrap(text: str, height: float, width: float) -> tuple[str, ...]:
    """Return `text` in lines no wider than `width` mm, broken at spaces as late as they can be.

    A word that is wider by itself is broken after a '/', '.' or '-', or else anywhere. Spaces at a
    break are dropped and several together count as one. Raise FitError if one character is too wide,
    and InputError as `letter` does.
    """
    if not width > 0:
        raise InputError.at(_WHERE, say("fonts.lettering.no_line", width=width))
    return fill(
        text, width, lambda line: _span(characters(line), height), lambda word: _broken(word, height, width)
    )


def _broken(word: str, height: float, width: float) -> list[str]:
    """Return a word in pieces no wider than `width` mm."""
    pieces: list[str] = []
    rest = characters(word)
    while _span(rest, height) > width:
        count = len(rest) - 1
        while count and _span(rest[:count], height) > width:
            count -= 1
        if not count:
            raise FitError.at(
                _WHERE,
                say("fonts.lettering.too_wide", character=rest[0], height=height, width=width),
            )
        neat = [at for at in range(1, count + 1) if rest[at - 1] in _BREAKS]
        count = neat[-1] if neat else count
        pieces.append("".join(rest[:count]))
        rest = rest[count:]
    return [*pieces, "".join(rest)]


def _clusters(text: str) -> list[str]:
    """Return the characters of the composed text, each with the combining marks that follow it."""
    if text.isascii():
        return list(text)
    clusters: list[str] = []
    for character in unicodedata.normalize("NFC", text):
        if clusters and unicodedata.combining(character):
            clusters[-1] += character
        else:
            clusters.append(character)
    return clusters


def characters(text: str) -> list[str]:
    """Return the characters of `text`, each with its marks; raise InputError if any cannot be lettered."""
    clusters = _clusters(text)
    if any(_glyph(cluster) is None for cluster in clusters):
        raise InputError(
            *(
                Problem(
                    _WHERE,
                    _unknown(character),
                )
                for character in missing(text)
            )
        )
    return clusters


def _unknown(character: str) -> Say:
    name = unicodedata.name(character, "") or say("fonts.lettering.nameless")
    shown = f"{character} " if character.isprintable() and not unicodedata.combining(character) else ""
    return say("fonts.lettering.unknown", shown=shown, code=ord(character), name=name)


@lru_cache(maxsize=4096)
def _glyph(cluster: str) -> Glyph | None:
    """Return the glyph of a character with its marks, or None if it cannot be lettered."""
    drawn = alphabet().get(cluster)
    if drawn is not None:
        # A mark is only drawn on a letter.
        return None if unicodedata.combining(cluster) else drawn
    first, *marks = list(unicodedata.normalize("NFD", cluster))
    classes = [unicodedata.combining(mark) for mark in marks]
    if _ABOVE in classes:
        first = _DOTLESS.get(first, first)
    base = alphabet().get(first)
    over = sum(one == _ABOVE for one in classes)
    under = sum(one in (_ATTACHED, _BELOW) for one in classes)
    # One mark on a side keeps the ink within the line pitch; a second would run into the next line.
    if base is None or not marks or over > 1 or under > 1 or over + under < len(marks):
        return None
    strokes = list(base.strokes)
    for mark, side in zip(marks, classes, strict=True):
        accent = alphabet().get(mark)
        if accent is None or not base.strokes or (side != _ABOVE and base.box.bottom < -1):
            return None
        if side == _ABOVE:
            strokes += moved(accent.strokes, base.above, max(0.0, base.box.top - _X_TOP))
        else:
            strokes += moved(accent.strokes, base.tail if mark == _OGONEK else base.below, 0.0)
    box = extent(tuple(strokes))
    box = box._replace(left=min(box.left, base.box.left), right=max(box.right, base.box.right))
    return replace(base, strokes=tuple(strokes), box=box)


@lru_cache(maxsize=4096)
def placed(cluster: str, height: float = GRID) -> Placed:
    """Return one of `characters`, for capitals of a height in mm, or else in grid units.

    Its width is the next whole hundredth of a grid unit, so that a font that counts in thousandths of a
    capital's height sets every line as wide as it is here.
    """
    glyph = _glyph(cluster)
    assert glyph is not None
    unit = height / GRID
    left, _, right, _ = glyph.box
    strokes = moved(glyph.strokes, (_PEN / 2 - left) * unit, _PEN / 2 * unit, unit)
    return Placed(
        strokes, ceil(100 * (right - left + _PEN) - 1e-6) / 100 * unit, glyph.lead * unit, glyph.trail * unit
    )


def _set(clusters: list[str], height: float) -> Iterator[tuple[Placed, float]]:
    """Yield each glyph with the x of its left edge, in mm."""
    if not (isfinite(height) and height > 0):
        raise InputError.at(_WHERE, say("fonts.lettering.no_height", height=height))
    gap = LETTER_GAP * height
    x = trail = 0.0
    for index, cluster in enumerate(clusters):
        glyph = placed(cluster, height)
        if index:
            x += gap + trail + glyph.lead
        yield glyph, x
        x += glyph.width
        trail = glyph.trail


def ends(text: str, height: float) -> tuple[float, float]:
    """Return where along a line its first and its last character stand, in mm: their ink less their lead."""
    glyphs = [(x - glyph.lead) for glyph, x in _set(characters(text), height)]
    return glyphs[0], glyphs[-1]


def _span(clusters: list[str], height: float) -> float:
    """Return the length of a line in mm."""
    end = 0.0
    for glyph, x in _set(clusters, height):
        end = x + glyph.width
    return end


def laid(text: str, height: float) -> Iterator[tuple[str, Commands, float]]:
    """Yield each character of a line that has ink, its strokes from its left edge, and where that lies, mm.

    `height` is that of a capital in mm. Raise InputError as `letter` does.
    """
    clusters = characters(text)
    for cluster, (glyph, x) in zip(clusters, _set(clusters, height), strict=True):
        if glyph.strokes:
            yield cluster, glyph.strokes, x
