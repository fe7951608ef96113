"""Fonts as files embed them: no more than the characters that are set, one byte each.

A subset is of one face, or of the drafting alphabet, and gives each character a code: printable ASCII its
own, so that a file's text can be read as it stands, any other the next one from 128 on. A line whose
characters no subset has room for begins the next one.
"""

import hashlib
import io
import re
import unicodedata
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from pathlib import Path
from typing import Any

from fonts import outlined
from fonts.drafting import characters
from fonts.faces import face_of

_SIDE = 128
"""Codes beyond ASCII."""


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


@dataclass(slots=True)
class Subset:
    """Characters by their codes; of the face in a file, or of the drafting alphabet where there is none."""

    file: Path | None
    codes: dict[str, int] = field(default_factory=dict)

    def take(self, line: Sequence[str]) -> bool:
        """Give all characters of a line a code, or return that there are too many."""
        fresh = [each for each in dict.fromkeys(line) if each not in self.codes]
        wide = [each for each in fresh if not _plain(each)]
        first = _SIDE + sum(not _plain(each) for each in self.codes)
        if first + len(wide) > 2 * _SIDE:
            return False
        self.codes |= {each: ord(each) for each in fresh if _plain(each)}
        self.codes |= {each: code for code, each in enumerate(wide, start=first)}
        return True

    def coded(self, line: Iterable[str]) -> bytes:
        """Return a line's codes."""
        return bytes(self.codes[each] for each in line)

    def embedded(self) -> Embedded:
        """Return the font; raise OSError where its file cannot be read."""
        return _embedded(self.file, tuple(sorted(self.codes.items(), key=lambda pair: pair[1])))


def split(text: str, file: Path | None) -> list[str]:
    """Return the characters of a text as a subset has them: of the alphabet, each with its marks."""
    return characters(text) if file is None else list(text)


def taken(subsets: list[Subset], text: str, file: Path | None) -> tuple[int, bytes]:
    """Return which of the subsets sets a text, a new one if need be, and its codes there."""
    line = split(text, file)
    for number, each in enumerate(subsets):
        if each.file == file and each.take(line):
            return number, each.coded(line)
    subsets.append(Subset(file))
    assert subsets[-1].take(line), "a line of running text has fewer characters than a subset"
    return len(subsets) - 1, subsets[-1].coded(line)


@lru_cache(maxsize=1)
def western(file: Path) -> Embedded:
    """Return a face's part of Windows' code page 1252, by its codes, for what others type into a form.

    Its own map of characters is by Unicode, as PDF asks for a font with an encoding that has a name.
    """
    signs = ((code, bytes([code]).decode("cp1252", "ignore")) for code in range(32, 256))
    held = face_of(file).advances
    codes = {sign: code for code, sign in signs if sign and ord(sign) in held}
    return _built(file, codes, by_unicode=True)


def _plain(character: str) -> bool:
    return len(character) == 1 and " " <= character <= "~"


@lru_cache(maxsize=16)
def _embedded(file: Path | None, codes: tuple[tuple[str, int], ...]) -> Embedded:
    return _built(file, dict(codes))


def _built(file: Path | None, codes: Mapping[str, int], by_unicode: bool = False) -> Embedded:
    """Return a font of characters, without hints, which only small screens need."""
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
        glyphs = outlined.outlines([*codes])
        called = {each: each for each in codes}
        advances = {each: outlined.advance(each) for each in codes}
    else:
        held = _opened(file)
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


def _opened(file: Path) -> Any:
    from fontTools.ttLib import TTFont

    # Held in memory, so that no file stays open.
    return TTFont(io.BytesIO(file.read_bytes()), lazy=True)


def _name(font: Any) -> str:
    said = font["name"].getDebugName(6) if "name" in font else None
    plain = unicodedata.normalize("NFKD", said or "").encode("ascii", "ignore").decode()
    return re.sub(r"[^A-Za-z0-9-]+", "", plain)[:63] or "Face"
