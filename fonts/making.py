"""A font file of a few characters, as other files embed it: of a face, or of the drafting alphabet.

Glyphs of a face are copied as they stand, without their hints. Tables after OpenType 1.9 (ISO/IEC 14496-22),
in the order that it recommends. Equal input gives equal bytes: no date is written.
"""

import hashlib
import re
import struct
import unicodedata
from collections.abc import Iterable, Mapping, Sequence
from itertools import accumulate, groupby, pairwise
from pathlib import Path
from typing import NamedTuple

from fonts import outlined
from fonts.faces import face_of, truetype
from fonts.truetype import ON, REPEATED, SAME, SHORT, pieces, plain
from geometry.core.frozen import dataclass

_MAGIC, _WHOLE = 0x5F0F3CF5, 0xB1B0AFBA
"""What stands in every head, and what the sums of a file and of its own entry come to."""
_LINED_UP = 0b11
"""The bits of a head that say: glyphs begin on the baseline, and at their left bearing."""
_SMALLEST = 3
"""Pixels of a type size below which nothing can be read; as other tools have it."""
_SHORT = 0x20000
"""Bytes of outlines to which places of two bytes reach, counted by twos."""
_ENGLISH, _POSTSCRIPT = 0x409, 6


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


class _Cut(NamedTuple):
    """What a font is made of: its name, measures in units of `em`, and its glyphs in order.

    A glyph is its advance and its outline, in which a piece is called by its number here; `numbers` has those
    of the characters.
    """

    name: str
    em: int
    ascent: int
    descent: int
    capital: float
    advances: list[int]
    outlines: list[bytes]
    numbers: Mapping[str, int]


class _Size(NamedTuple):
    """How much a glyph is: points, contours, and how deep its pieces lie in each other, 0 for a plain one."""

    points: int
    contours: int
    depth: int


def built(file: Path | None, codes: Mapping[str, int], by_unicode: bool = False) -> Embedded:
    """Return a font of characters of a face, or of the drafting alphabet, by their codes or by Unicode.

    It has no hints, which only small screens need. Equal input gives equal bytes. Raise OSError as files do.
    """
    cut = _lettered(codes) if file is None else _of_face(file, codes)
    boxes = [struct.unpack_from(">4h", each, 2) for each in cut.outlines if each] or [(0, 0, 0, 0)]
    lefts, lows, rights, tops = zip(*boxes, strict=True)
    box = min(lefts), min(lows), max(rights), max(tops)
    coded = {ord(each) if by_unicode else code: cut.numbers[each] for each, code in codes.items()}
    long, places, glyphs = _glyphs(cut.outlines)
    tables = {
        "head": struct.pack(
            ">6I", 0x10000, 0x10000, 0, _MAGIC, _LINED_UP << 16 | cut.em, 0,
        ) + bytes(12) + struct.pack(">4hHHhhh", *box, 0, _SMALLEST, 2, long, 0),
        "hhea": _lines(cut),
        "maxp": _most(cut.outlines),
        "hmtx": _metrics(cut),
        "cmap": _by_unicode(coded) if by_unicode else _by_code(coded),
        "loca": places,
        "glyf": glyphs,
        "name": _named(cut.name),
        "post": struct.pack(">I", 0x30000) + bytes(28),
    }  # fmt: skip
    data = _file(tables)
    number = int.from_bytes(hashlib.sha256(data).digest()[:8], "big")
    tag = "".join(chr(ord("A") + number // 26**place % 26) for place in range(6))
    left, low, right, top = (round(1000 * side / cut.em) for side in box)
    return Embedded(
        name=f"{tag}+{cut.name}",
        data=data,
        widths={code: round(1000 * cut.advances[cut.numbers[each]] / cut.em) for each, code in codes.items()},
        box=(left, low, right, top),
        ascent=round(1000 * cut.ascent / cut.em),
        descent=round(1000 * cut.descent / cut.em),
        capital=round(1000 * cut.capital),
    )


def _of_face(file: Path, characters: Iterable[str]) -> _Cut:
    """Return what a font of characters of a face is made of, with all that they are put together of."""
    held = truetype(file)
    called = {each: held.codes[ord(each)] for each in characters}
    glyphs: dict[int, bytes] = {}
    waiting = [*called.values()]
    while waiting:
        number = waiting.pop()
        if number in glyphs:
            continue
        glyphs[number] = plain(held.outline(number))
        if _composite(glyphs[number]):
            waiting += (piece for _, _, piece in pieces(glyphs[number]))
    # What is missing comes first in every face.
    order = [0, *sorted(glyphs.keys() - {0}, key=lambda number: (held.names[number], number))]
    anew = {number: place for place, number in enumerate(order)}
    outlines = [_renumbered(glyphs.get(number, b""), anew) for number in order]
    advances = [held.advances[number] if number in glyphs else held.em // 2 for number in order]
    capital = face_of(file).cap_height
    numbers = {each: anew[number] for each, number in called.items()}
    return _Cut(
        _plain_name(held.name), held.em, held.ascent, held.descent, capital, advances, outlines, numbers
    )


def _plain_name(said: str) -> str:
    plain = unicodedata.normalize("NFKD", said).encode("ascii", "ignore").decode()
    return re.sub(r"[^A-Za-z0-9-]+", "", plain)[:63] or "Face"


def _renumbered(outline: bytes, anew: Mapping[int, int]) -> bytes:
    if not _composite(outline):
        return outline
    found = bytearray(outline)
    for at, _, number in pieces(outline):
        struct.pack_into(">H", found, at + 2, anew[number])
    return bytes(found)


def _lettered(characters: Iterable[str]) -> _Cut:
    """Return what a font of characters of the drafting alphabet is made of."""
    listed = [*characters]
    return _Cut(
        outlined.NAME,
        outlined.EM,
        round(outlined.ASCENT * outlined.EM),
        round(outlined.DESCENT * outlined.EM),
        1.0,
        [outlined.EM // 2, *map(outlined.advance, listed)],
        [b"", *map(_outline, listed)],
        {each: number for number, each in enumerate(listed, start=1)},
    )


def _outline(character: str) -> bytes:
    """Return a character of the drafting alphabet as the bytes of a glyph, empty for a blank."""
    ends: list[int] = []
    points: list[tuple[int, int]] = []
    bits: list[int] = []
    for start, *parts in outlined.contours(character):
        points.append(start)
        bits.append(ON)
        for (a, b), end, (c, d) in zip(parts[::2], parts[1::2], (*parts[2::2], start), strict=True):
            points.append((a, b))
            bits.append(0)
            # An end that lies halfway between two controls, but for the rounding, is known by them.
            if end != start and max(abs(a + c - 2 * end[0]), abs(b + d - 2 * end[1])) > 2:
                points.append(end)
                bits.append(ON)
        ends.append(len(points) - 1)
    if not ends:
        return b""
    xs, ys = zip(*points, strict=True)
    head = struct.pack(">5h", len(ends), min(xs), min(ys), max(xs), max(ys))
    return head + struct.pack(f">{len(ends)}H", *ends) + bytes(2) + _ways(points, bits)


def _ways(points: Sequence[tuple[int, int]], bits: Sequence[int]) -> bytes:
    """Return the bits of points, then the ways from one to the next along x, and along y."""
    flags: list[int] = []
    ways = bytearray(), bytearray()
    for (before, here), bit in zip(pairwise([(0, 0), *points]), bits, strict=True):
        for axis, (held, short, same) in enumerate(zip(ways, SHORT, SAME, strict=True)):
            way = here[axis] - before[axis]
            if not way:
                bit |= same
            elif abs(way) < 256:
                bit |= short | (same if way > 0 else 0)
                held.append(abs(way))
            else:
                held += struct.pack(">h", way)
        flags.append(bit)
    packed = bytearray()
    for bit, several in groupby(flags):
        left = len([*several])
        while left:
            # A bit field tells by a byte behind it how often it comes again.
            more = min(left - 1, 255)
            packed += bytes((bit | REPEATED, more)) if more > 1 else bytes((bit,) * (1 + more))
            left -= 1 + more
    return bytes(packed) + ways[0] + ways[1]


def _composite(outline: bytes) -> bool:
    return outline[:1] >= b"\x80"


def _glyphs(outlines: Sequence[bytes]) -> tuple[bool, bytes, bytes]:
    """Return whether places take four bytes, the table of places, and that of outlines."""
    even = [each + bytes(len(each) % 2) for each in outlines]
    long = sum(map(len, even)) >= _SHORT
    held = outlines if long else even
    places = [*accumulate(map(len, held), initial=0)]
    kind, scale = ("I", 1) if long else ("H", 2)
    table = struct.pack(f">{len(places)}{kind}", *(each // scale for each in places))
    # Some readers take a table without a byte for a fault.
    return long, table, b"".join(held) or b"\0"


def _lines(cut: _Cut) -> bytes:
    """Return the table of how lines are set."""
    inked = [
        (left, advance - right, right)
        for advance, outline in zip(cut.advances, cut.outlines, strict=True)
        if outline
        for left, right in (struct.unpack_from(">h2xh", outline, 2),)
    ]
    lefts, rights, extents = zip(*inked, strict=True) if inked else ((0,), (0,), (0,))
    widest = max(cut.advances)
    sides = (widest, min(lefts), min(rights), max(extents))
    head = struct.pack(">IhhhHhhh", 0x10000, cut.ascent, cut.descent, 0, *sides)
    return head + struct.pack(">hhh8xhH", 1, 0, 0, 0, _wide(cut.advances))


def _wide(advances: Sequence[int]) -> int:
    """Return how many advances are written: the last stands for all behind it."""
    wide = len(advances)
    while wide > 1 and advances[wide - 2] == advances[-1]:
        wide -= 1
    return wide


def _metrics(cut: _Cut) -> bytes:
    wide = _wide(cut.advances)
    bearings = [struct.unpack_from(">h", each, 2)[0] if each else 0 for each in cut.outlines]
    both = b"".join(struct.pack(">Hh", *each) for each in zip(cut.advances[:wide], bearings, strict=False))
    return both + struct.pack(f">{len(bearings) - wide}h", *bearings[wide:])


def _most(outlines: Sequence[bytes]) -> bytes:
    """Return the table of how much a glyph has at the most."""
    known: dict[int, _Size] = {}

    def size(number: int) -> _Size:
        if number not in known:
            outline = outlines[number]
            if _composite(outline):
                parts = [size(piece) for _, _, piece in pieces(outline)]
                sums = sum(each.points for each in parts), sum(each.contours for each in parts)
                known[number] = _Size(*sums, 1 + max(each.depth for each in parts))
            elif outline:
                (contours,) = struct.unpack_from(">h", outline)
                known[number] = _Size(1 + struct.unpack_from(">H", outline, 8 + 2 * contours)[0], contours, 0)
            else:
                known[number] = _Size(0, 0, 0)
        return known[number]

    sizes = [size(number) for number in range(len(outlines))]
    plain_ones = [each for each in sizes if not each.depth] or [_Size(0, 0, 0)]
    deep = [each for each in sizes if each.depth] or [_Size(0, 0, 0)]
    put = [len([*pieces(each)]) for each in outlines if _composite(each)] or [0]
    return struct.pack(
        ">I14H",
        0x10000,
        len(outlines),
        max(each.points for each in plain_ones),
        max(each.contours for each in plain_ones),
        max(each.points for each in deep),
        max(each.contours for each in deep),
        2,
        *(0,) * 6,
        max(put),
        max(each.depth for each in deep),
    )


def _by_code(coded: Mapping[int, int]) -> bytes:
    """Return a map of characters by codes of one byte."""
    table = struct.pack(">3H", 0, 262, 0) + bytes(coded.get(code, 0) for code in range(256))
    return struct.pack(">4HI", 0, 1, 1, 0, 12) + table


def _by_unicode(coded: Mapping[int, int]) -> bytes:
    """Return a map of characters by code points of two bytes, a segment for each run of them."""
    runs = [
        [code for _, code in run]
        for _, run in groupby(enumerate(sorted(coded)), key=lambda pair: pair[1] - pair[0])
    ]
    count = len(runs) + 1
    deltas, ranges, listed = [], [], list[int]()
    for place, run in enumerate(runs):
        numbers = [coded[code] for code in run]
        along = all(number - code == numbers[0] - run[0] for number, code in zip(numbers, run, strict=True))
        deltas.append((numbers[0] - run[0]) % 0x10000 if along else 0)
        # Counted from where it stands itself.
        ranges.append(0 if along else 2 * (count - place + len(listed)))
        listed += () if along else numbers
    starts, ends = [run[0] for run in runs], [run[-1] for run in runs]
    step = count.bit_length() - 1
    head = (2 * count, 2 << step, step, 2 * count - (2 << step))
    table = struct.pack(
        f">4H{count}HH{count}H{count}H{count}H{len(listed)}H",
        *head, *ends, 0xFFFF, 0, *starts, 0xFFFF, *deltas, 1, *ranges, 0, *listed,
    )  # fmt: skip
    return struct.pack(">4HI3H", 0, 1, 3, 1, 12, 4, 6 + len(table), 0) + table


def _named(name: str) -> bytes:
    spelt = name.encode("utf-16-be")
    return struct.pack(">9H", 0, 1, 18, 3, 1, _ENGLISH, _POSTSCRIPT, len(spelt), 0) + spelt


def _file(tables: Mapping[str, bytes]) -> bytes:
    """Return tables as a file, in their order, with its list of them and its sums."""
    at = 12 + 16 * len(tables)
    rows, held = [], []
    for tag, table in tables.items():
        filled = table + bytes(-len(table) % 4)
        rows.append(struct.pack(">4sIII", tag.encode(), _sum(filled), at, len(table)))
        held.append(filled)
        at += len(filled)
    step = len(tables).bit_length() - 1
    head = struct.pack(">I4H", 0x10000, len(tables), 16 << step, step, 16 * len(tables) - (16 << step))
    data = bytearray(b"".join((head, *sorted(rows), *held)))
    struct.pack_into(">I", data, len(head) + 16 * len(rows) + 8, (_WHOLE - _sum(data)) % 0x1_0000_0000)
    return bytes(data)


def _sum(data: bytes | bytearray) -> int:
    """Return the sum of numbers of four bytes, as far as four bytes hold it."""
    numbers: tuple[int, ...] = struct.unpack(f">{len(data) // 4}I", data)
    return sum(numbers) % 0x1_0000_0000
