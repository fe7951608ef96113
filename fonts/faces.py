"""Faces for running text: their files, their widths, what they lack, and what of them a file embeds.

Open Sans Regular and Bold (Apache License 2.0, OpenSans-LICENSE.txt) come with the project; a job may name
a TrueType file of its own for characters that they lack.
"""

import io
import struct
import unicodedata
from collections.abc import Mapping
from functools import cache, lru_cache
from pathlib import Path
from typing import Any, Literal

from fonts.lines import fill
from fonts.truetype import DAMAGE, KINDS, OTHERS, TrueType
from geometry.core.errors import FitError, InputError
from geometry.core.frozen import dataclass
from geometry.core.say import Say, say

Weight = Literal["regular", "bold"]

_FILES: dict[Weight, Path] = {
    "regular": Path(__file__).with_name("OpenSans-Regular.ttf"),
    "bold": Path(__file__).with_name("OpenSans-Bold.ttf"),
}
_WHERE = say("fonts.face.where")

_LICENCE, _RESTRICTED = 0x000F, 0x0002
"""The bits of a face that say whether it may be embedded, and those that forbid it (OpenType, OS/2)."""

_TALL = "bdfhkl"
"""Small letters as tall as any without an accent."""


_PIECES, _DEEP = 100, 10
"""Pieces of one character, and how deep in each other: an accented letter has three. Own judgement."""


# Told apart by identity: there is one value a file, and what has been broken into lines is kept by it.
@dataclass(frozen=True, slots=True, eq=False)
class Face:
    """A TrueType face: its file, and in shares of the type size its measures.

    `advances` and `tops`, how far ink reaches over the baseline, are by code point.
    """

    file: Path
    advances: Mapping[int, float]
    cap_height: float
    tops: Mapping[int, float]


@cache
def face(weight: Weight) -> Face:
    """Return one of the project's own faces."""
    return _read(_FILES[weight])


@cache
def own_face(file: Path) -> Face:
    """Return the face in a job's own file; raise InputError where it cannot be embedded."""
    return _read(file)


def face_of(file: Path) -> Face:
    """Return the face in a file, one of the project's or a job's own; raise InputError as `own_face` does."""
    return next((face(weight) for weight, each in _FILES.items() if each == file), None) or own_face(file)


# Pages are set again and again until all fits, and most of their texts are the same each time.
@lru_cache(maxsize=8192)
def lacks(text: str, one: Face) -> tuple[str, ...]:
    """Return the characters of `text` that a face has no glyph for, each once in order."""
    if one.advances.keys() >= set(map(ord, text)):
        return ()
    return tuple(dict.fromkeys(character for character in text if ord(character) not in one.advances))


def choose(text: str, weight: Weight, own: Face | None = None, where: Say | str = _WHERE) -> Face:
    """Return the face that has every character of `text`: the project's, or else the job's own.

    Raise InputError naming each character that neither has, and what to do.
    """
    ours = face(weight)
    missing = lacks(text, ours)
    if not missing:
        return ours
    if own is not None:
        missing = lacks(text, own)
        if not missing:
            return own
    characters = ", ".join(f"{each} ({_code(each)})" for each in missing)
    code = "fonts.face.lacks" if own is None else "fonts.face.own_lacks"
    raise InputError.at(where, say(code, characters=characters))


def _code(character: str) -> str:
    return " ".join((f"U+{ord(character):04X}", unicodedata.name(character, ""))).rstrip()


def run(text: str, size: float, one: Face) -> float:
    """Return the width of a line in mm at a type size in mm, without kerning, as it is embedded."""
    return size * _advance(text, one)


@lru_cache(maxsize=8192)
def _advance(text: str, one: Face) -> float:
    return sum(map(one.advances.__getitem__, map(ord, text)))


@lru_cache(maxsize=4096)
def tallest(text: str, one: Face) -> float:
    """Return how far the ink of a line reaches over the baseline, in type sizes, where it is a tall line.

    0 for one no taller than plain small letters, for which every line has room.
    """
    if text.isascii():
        return 0.0
    plain, top = (max((one.tops.get(ord(each), 0.0) for each in line), default=0.0) for line in (_TALL, text))
    return top if top > plain else 0.0


# A card is set at one line pitch after the other until it fits, and only its lines' places change.
@lru_cache(maxsize=4096)
def break_lines(text: str, size: float, one: Face, width: float) -> tuple[str, ...]:
    """Return `text` in lines no wider than `width` mm; raise FitError where a character alone is wider."""
    return fill(text, width, lambda line: run(line, size, one), lambda word: _pieces(word, size, one, width))


def _pieces(word: str, size: float, one: Face, width: float) -> list[str]:
    pieces = [""]
    for character in word:
        if run(character, size, one) > width:
            raise FitError.at(_WHERE, say("fonts.face.too_wide", character=character, width=width))
        if run(pieces[-1] + character, size, one) > width:
            pieces.append("")
        pieces[-1] += character
    return pieces


@dataclass(frozen=True, slots=True)
class Glyph:
    """A character of a face in thousandths of the type size, y up: its advance, and its outline.

    The outline is the path data of an SVG, to be filled by the non-zero rule, empty for a blank.
    """

    advance: float
    outline: str


@cache
def glyph(file: Path, character: str) -> Glyph:
    """Return a character of a face's file; raise KeyError where the face lacks it, OSError as files do."""
    from fontTools.pens.svgPathPen import SVGPathPen
    from fontTools.pens.transformPen import TransformPen

    glyphs, codes, em = _glyphs(file)
    one, share = glyphs[codes[ord(character)]], 1000.0 / em
    pen = SVGPathPen(glyphs, lambda value: f"{value:.1f}".removesuffix(".0"))
    one.draw(TransformPen(pen, (share, 0.0, 0.0, share, 0.0, 0.0)))
    return Glyph(round(share * one.width), pen.getCommands())


@cache
def _glyphs(file: Path) -> tuple[Any, Mapping[int, str], int]:
    """Return a face's outlines by their names, the names by code point, and the units of its em."""
    font = _font(file)
    return font.getGlyphSet(), font.getBestCmap(), font["head"].unitsPerEm


def _font(file: Path) -> Any:
    from fontTools.ttLib import TTFont

    # Held in memory, so that no file stays open.
    return TTFont(io.BytesIO(file.read_bytes()), lazy=True)


@lru_cache(maxsize=16)
def truetype(file: Path) -> TrueType:
    """Return a face's file taken apart; raise OSError as files do, and what `TrueType` raises for damage."""
    return TrueType(file.read_bytes())


def _read(file: Path) -> Face:
    try:
        begins = file.read_bytes()[:4]
        if begins not in KINDS:
            if begins in OTHERS:
                # A packed face (WOFF) cannot be embedded either.
                raise InputError.at(str(file), say("fonts.face.no_outlines"))
            reason = say("fonts.face.begins", bytes=begins.hex(" "))
            raise InputError.at(str(file), say("fonts.face.unreadable", reason=reason))
        held = truetype(file)
        if "glyf" not in held.tables:
            raise InputError.at(str(file), say("fonts.face.no_outlines"))
        if held.licence & _LICENCE == _RESTRICTED:
            raise InputError.at(str(file), say("fonts.face.restricted"))
        # Whole thousandths, as a file that embeds it counts them: lines are as wide there as here.
        wide = [round(1000 * each / held.em) / 1000 for each in held.advances]
        advances = {code: wide[number] for code, number in held.codes.items()}
        reached = ((code, held.top(number)) for code, number in held.codes.items())
        tops = {code: top / held.em for code, top in reached if top is not None}
        cap = held.capital or 0.7 * held.em
    except InputError:
        raise
    except (OSError, *DAMAGE) as error:
        raise InputError.at(str(file), say("fonts.face.unreadable", reason=str(error))) from error
    return Face(file, advances, cap / held.em, tops)


def check_pieces(file: Path) -> None:
    """Raise InputError for a face of which a character is put together of too many pieces to be drawn.

    Composite glyphs name others (OpenType, table glyf), and twenty that each name the one before twice come
    to a million outlines.
    """
    from fontTools.ttLib import TTFont

    counted: dict[str, int] = {}

    def count(name: str, within: frozenset[str] = frozenset()) -> int:
        if name not in counted:
            one = glyphs[name]
            if name in within or len(within) > _DEEP:
                raise InputError.at(str(file), say("fonts.face.pieces", most=_PIECES))
            parts = one.components if one.isComposite() else ()
            counted[name] = sum(count(part.glyphName, within | {name}) for part in parts) if parts else 1
            if counted[name] > _PIECES:
                raise InputError.at(str(file), say("fonts.face.pieces", most=_PIECES))
        return counted[name]

    with file.open("rb") as held, TTFont(held, lazy=True) as font:
        glyphs = font["glyf"]
        places, outlines = font["loca"].locations, font.getTableData("glyf")
        for number, name in enumerate(font.getGlyphOrder()):
            start, end = places[number], places[number + 1]
            # Fewer than no contours: a composite. Taking every plain one apart would take seconds.
            if end > start and struct.unpack_from(">h", outlines, start)[0] < 0:
                count(name)
