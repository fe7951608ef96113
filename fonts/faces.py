"""Faces for running text: their files, their widths, what they lack, and what of them a file embeds.

Open Sans Regular and Bold (Apache License 2.0, OpenSans-LICENSE.txt) come with the project; a job may name
a TrueType file of its own for characters that they lack.
"""

import hashlib
import io
import re
import struct
import unicodedata
from collections.abc import Iterable, Iterator, Mapping
from functools import cache, lru_cache
from pathlib import Path
from typing import Any, Literal

from fonts import outlined
from fonts.lines import fill
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


@dataclass(frozen=True, slots=True)
class Embedded:
    """A font's bytes (TrueType), its name, and in thousandths of the type size its measures.

    `widths` are by code; `box` is left, low, right, top of all its ink.
    """

    name: str
    data: bytes
    widths: Mapping[int, int]
    box: tuple[int, int, int, int]
    ascent: int
    descent: int
    capital: int


def built(file: Path | None, codes: Mapping[str, int], by_unicode: bool = False) -> Embedded:
    """Return a font of characters of a face, or of the drafting alphabet, by their codes or by Unicode.

    It has no hints, which only small screens need. Equal input gives equal bytes. Raise OSError as files do.
    """
    from fontTools.fontBuilder import FontBuilder
    from fontTools.ttLib import newTable
    from fontTools.ttLib.tables._c_m_a_p import CmapSubtable
    from fontTools.ttLib.tables._g_l_y_f import Glyph

    if file is None:
        name, em, ascent, descent, capital = (
            outlined.NAME,
            outlined.EM,
            outlined.ASCENT,
            outlined.DESCENT,
            1.0,
        )
        glyphs = _outlines(codes)
        called = {each: each for each in codes}
        advances = {each: outlined.advance(each) for each in codes}
    else:
        held = _font(file)
        names, metrics, em = held.getBestCmap(), held["hmtx"].metrics, held["head"].unitsPerEm
        called = {each: names[ord(each)] for each in codes}
        glyphs = _cut(held["glyf"], called.values())
        advances = {each: metrics[each][0] for each in glyphs}
        name, capital = _name(held), face_of(file).cap_height
        ascent, descent = held["hhea"].ascent / em, held["hhea"].descent / em
    order = [".notdef", *(each for each in glyphs if each != ".notdef")]
    made = FontBuilder(em, isTTF=True)
    made.setupGlyphOrder(order)
    made.setupGlyf({".notdef": Glyph(), **glyphs})
    bearings = {each: getattr(glyph, "xMin", 0) for each, glyph in made.font["glyf"].glyphs.items()}
    made.setupHorizontalMetrics({each: (advances.get(each, em // 2), bearings[each]) for each in order})
    made.setupHorizontalHeader(ascent=round(ascent * em), descent=round(descent * em))
    made.setupNameTable({"psName": name}, mac=False)
    made.setupPost(keepGlyphNames=False)
    table = CmapSubtable.newSubtable(4 if by_unicode else 0)
    table.platformID, table.platEncID, table.language = (3, 1, 0) if by_unicode else (1, 0, 0)
    coded = {ord(each) if by_unicode else code: called[each] for each, code in codes.items()}
    table.cmap = coded if by_unicode else {**dict.fromkeys(range(256), ".notdef"), **coded}
    made.font["cmap"] = newTable("cmap")
    made.font["cmap"].tableVersion, made.font["cmap"].tables = 0, [table]
    # The library would take the clock's time.
    made.font.recalcTimestamp = False
    made.font["head"].created = made.font["head"].modified = 0
    out = io.BytesIO()
    made.save(out)
    data, head = out.getvalue(), made.font["head"]
    number = int.from_bytes(hashlib.sha256(data).digest()[:8], "big")
    tag = "".join(chr(ord("A") + number // 26**place % 26) for place in range(6))
    sides = (head.xMin, head.yMin, head.xMax, head.yMax)
    left, low, right, top = (round(1000 * side / em) for side in sides)
    return Embedded(
        name=f"{tag}+{name}",
        data=data,
        widths={code: round(1000 * advances[called[each]] / em) for each, code in codes.items()},
        box=(left, low, right, top),
        ascent=round(1000 * ascent),
        descent=round(1000 * descent),
        capital=round(1000 * capital),
    )


def _cut(held: Any, wanted: Iterable[str]) -> dict[str, Any]:
    """Return the glyphs of these names, and those that they are put together of, by their names."""
    glyphs: dict[str, Any] = {}
    waiting = [*wanted]
    while waiting:
        name = waiting.pop()
        if name in glyphs:
            continue
        glyphs[name] = held[name]
        glyphs[name].removeHinting()
        if glyphs[name].isComposite():
            waiting += (part.glyphName for part in glyphs[name].components)
    return dict(sorted(glyphs.items()))


def _outlines(characters: Iterable[str]) -> dict[str, Any]:
    """Return the glyphs, as the library has them, of characters that can be lettered, by the characters."""
    from fontTools.pens.ttGlyphPen import TTGlyphPen

    glyphs = {}
    for character in characters:
        pen = TTGlyphPen(None)
        for start, *parts in outlined.contours(character):
            pen.moveTo(start)
            run: list[tuple[int, int]] = []
            for (a, b), end, (c, d) in zip(parts[::2], parts[1::2], (*parts[2::2], start), strict=True):
                run.append((a, b))
                # An end that lies halfway between two controls, but for the rounding, is known by them.
                if end == start or max(abs(a + c - 2 * end[0]), abs(b + d - 2 * end[1])) > 2:
                    pen.qCurveTo(*run, end)
                    run = []
            pen.closePath()
        glyphs[character] = pen.glyph()
    return glyphs


def _name(font: Any) -> str:
    said = font["name"].getDebugName(6) if "name" in font else None
    plain = unicodedata.normalize("NFKD", said or "").encode("ascii", "ignore").decode()
    return re.sub(r"[^A-Za-z0-9-]+", "", plain)[:63] or "Face"


def _read(file: Path) -> Face:
    # Loading the reader of font files takes a while, and only sheets with running text need it.
    from fontTools.ttLib import TTFont, TTLibError

    try:
        # Opened here, because the library leaves a file open that it cannot read.
        with file.open("rb") as held, TTFont(held, lazy=True) as font:
            if font.flavor or "glyf" not in font:
                # A packed face (WOFF) cannot be embedded either.
                raise InputError.at(str(file), say("fonts.face.no_outlines"))
            if font["OS/2"].fsType & _LICENCE == _RESTRICTED:
                raise InputError.at(str(file), say("fonts.face.restricted"))
            em = font["head"].unitsPerEm
            metrics = font["hmtx"].metrics
            codes = font.getBestCmap()
            # Whole thousandths, as a file that embeds it counts them: lines are as wide there as here.
            advances = {code: round(1000 * metrics[name][0] / em) / 1000 for code, name in codes.items()}
            tops = {code: top / em for code, top in _tops(font, codes)}
            cap = getattr(font["OS/2"], "sCapHeight", 0) or 0.7 * em
    except (OSError, TTLibError, KeyError, AttributeError, IndexError, struct.error) as error:
        raise InputError.at(str(file), say("fonts.face.unreadable", reason=str(error))) from error
    return Face(file, advances, cap / em, tops)


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


def _tops(font: Any, codes: Mapping[int, str]) -> Iterator[tuple[int, int]]:
    """Yield how far each character's ink reaches over the baseline, in the font's units, blanks left out.

    Every glyph begins with its box (OpenType, table glyf); taking each apart would take ten times as long.
    """
    places, outlines, numbers = font["loca"].locations, font.getTableData("glyf"), font.getReverseGlyphMap()
    for code, name in codes.items():
        start, end = places[numbers[name]], places[numbers[name] + 1]
        if end > start:
            yield code, struct.unpack_from(">5h", outlines, start)[4]
