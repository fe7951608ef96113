"""What a TrueType file says of its characters: their codes, advances, outlines and names.

Tables after OpenType 1.9 (ISO/IEC 14496-22): head, hhea, hmtx, OS/2, cmap, loca, glyf, post and name.
Outlines are handed out as the bytes that they are, because whoever embeds a few of them copies those, where
fontTools takes each apart and loads all that it knows of fonts first: a twentieth of a cold start. A damaged
file raises one of `DAMAGE`.
"""

import itertools
import struct
import sys
from collections.abc import Iterator, Mapping
from functools import cached_property
from pathlib import Path

KINDS = (b"\0\1\0\0", b"true")
"""What a file with TrueType outlines begins with."""
OTHERS = (b"OTTO", b"ttcf", b"wOFF", b"wOF2")
"""What other faces begin with: one of cubics, several together, two packed ones."""

DAMAGE = (struct.error, ValueError, KeyError, IndexError, StopIteration, ZeroDivisionError)
"""What a damaged file raises, wherever the damage is."""

_BEST = ((3, 10), (3, 1), (0, 6), (0, 4), (0, 3), (0, 2), (0, 1), (0, 0))
"""Platform and encoding of maps by Unicode, those first that hold more of it."""
_POSTSCRIPT = 6
"""The number of the name that PostScript knows a face by."""
_WORDS, _MORE, _INSTRUCTED = 1 << 0, 1 << 5, 1 << 8
_SCALES = ((1 << 3, 2), (1 << 6, 4), (1 << 7, 8))
"""Bits of a piece of a composite glyph: how it is placed, and what of it follows, in bytes."""
ON, REPEATED, SHORT, SAME = 1 << 0, 1 << 3, (1 << 1, 1 << 2), (1 << 4, 1 << 5)
"""Bits of a point: on the line, as many more as the next byte says, and for x and y a way of one byte, and
that it is positive, or where it is not of one byte, none."""
_MACINTOSH = Path(__file__).with_name("macintosh.txt")


class TrueType:
    """A file's bytes as tables by their tags; lengths in units of the face, `em` of them a type size."""

    def __init__(self, data: bytes) -> None:
        count, *_ = struct.unpack_from(">4xH", data)
        rows = (struct.unpack_from(">4s4xII", data, 12 + 16 * number) for number in range(count))
        self.tables = {tag.decode("latin-1"): data[at : at + size] for tag, at, size in rows}
        (self.em,) = struct.unpack_from(">H", self.tables["head"], 18)
        (long,) = struct.unpack_from(">h", self.tables["head"], 50)
        self.ascent, self.descent = struct.unpack_from(">hh", self.tables["hhea"], 4)
        (self.count,) = struct.unpack_from(">H", self.tables["maxp"], 4)
        kind, scale = ("I", 1) if long else ("H", 2)
        places = struct.unpack_from(f">{self.count + 1}{kind}", self.tables["loca"])
        self._places = [scale * each for each in places]

    def outline(self, number: int) -> bytes:
        """Return the bytes of a glyph's outline, none for a blank."""
        start, end = self._places[number : number + 2]
        return self.tables["glyf"][start:end]

    def top(self, number: int) -> int | None:
        """Return how far a glyph's ink reaches over the baseline, None for a blank."""
        start, end = self._places[number : number + 2]
        # Every glyph begins with its box.
        return struct.unpack_from(">5h", self.tables["glyf"], start)[4] if end > start else None

    @cached_property
    def advances(self) -> tuple[int, ...]:
        """How far each glyph moves its line on."""
        (wide,) = struct.unpack_from(">H", self.tables["hhea"], 34)
        held: tuple[int, ...] = struct.unpack_from(">" + "H2x" * wide, self.tables["hmtx"])
        # The last one's is that of all that follow.
        return (*held, *held[-1:] * (self.count - wide))

    @cached_property
    def codes(self) -> Mapping[int, int]:
        """Glyphs by code point, without those that stand for what is missing."""
        held = self.tables["cmap"]
        (count,) = struct.unpack_from(">2xH", held)
        rows = (struct.unpack_from(">HHI", held, 4 + 8 * number) for number in range(count))
        places = {(platform, encoding): at for platform, encoding, at in rows}
        best = next(places[each] for each in _BEST if each in places)
        return {code: number for code, number in _mapped(held, best) if number}

    @cached_property
    def names(self) -> tuple[str, ...]:
        """What each glyph is called, "" for all where the file does not say."""
        held = self.tables["post"]
        kind = held[:4]
        known: list[str] = _MACINTOSH.read_text(encoding="ascii").split()
        if kind == b"\0\1\0\0":
            return tuple(known)
        if kind != b"\0\2\0\0":
            return tuple([""] * self.count)
        (count,) = struct.unpack_from(">H", held, 32)
        numbers = struct.unpack_from(f">{count}H", held, 34)
        more = [*_pascal(held, 34 + 2 * count)]
        return tuple(
            known[each] if each < len(known) else more[each - len(known)].decode("latin-1")
            for each in numbers
        )

    @property
    def name(self) -> str:
        """What PostScript knows the face by, "" where it has no name."""
        held = self.tables.get("name", bytes(6))
        count, base = struct.unpack_from(">2xHH", held)
        for number in range(count):
            platform, _, _, kind, size, at = struct.unpack_from(">6H", held, 6 + 12 * number)
            if kind == _POSTSCRIPT:
                raw = held[base + at : base + at + size]
                return raw.decode("mac-roman" if platform == 1 else "utf-16-be", "replace")
        return ""

    @property
    def licence(self) -> int:
        """The bits that say whether the face may be embedded."""
        (bits,) = struct.unpack_from(">H", self.tables["OS/2"], 8)
        return int(bits)

    @property
    def capital(self) -> int:
        """The height of a capital, 0 where the file does not say."""
        held = self.tables["OS/2"]
        (version,) = struct.unpack_from(">H", held)
        return int(struct.unpack_from(">h", held, 88)[0]) if version > 1 and len(held) >= 90 else 0


def _mapped(held: bytes, at: int) -> Iterator[tuple[int, int]]:
    """Yield the codes of a map of characters, each with its glyph; raise ValueError for an unknown kind."""
    (kind,) = struct.unpack_from(">H", held, at)
    match kind:
        case 0:
            yield from enumerate(held[at + 6 : at + 262])
        case 4:
            yield from _in_segments(held, at)
        case 6:
            first, count = struct.unpack_from(">HH", held, at + 6)
            yield from enumerate(struct.unpack_from(f">{count}H", held, at + 10), first)
        case 12:
            (count,) = struct.unpack_from(">I", held, at + 12)
            before = -1
            for number in range(count):
                first, last, glyph = struct.unpack_from(">III", held, at + 16 + 12 * number)
                _in_order(first, before)
                before = last
                yield from zip(range(first, min(last, sys.maxunicode) + 1), itertools.count(glyph))
        case _:
            raise ValueError(kind)


def _in_segments(held: bytes, at: int) -> Iterator[tuple[int, int]]:
    count = struct.unpack_from(">H", held, at + 6)[0] // 2
    ends = struct.unpack_from(f">{count}H", held, at + 14)
    starts, deltas, ranges = (
        struct.unpack_from(f">{count}H", held, at + 16 + 2 * count * row) for row in (1, 2, 3)
    )
    for number, (start, end, delta, ahead) in enumerate(zip(starts, ends, deltas, ranges, strict=True)):
        _in_order(start, ends[number - 1] if number else -1)
        if start == 0xFFFF:
            return
        if not ahead:
            yield from ((code, (code + delta) % 0x10000) for code in range(start, end + 1))
            continue
        # Counted from where it stands itself.
        row = at + 16 + 2 * (3 * count + number) + ahead
        found = struct.unpack_from(f">{end - start + 1}H", held, row)
        yield from (
            (code, (glyph + delta) % 0x10000 if glyph else 0) for code, glyph in enumerate(found, start)
        )


def _in_order(first: int, before: int) -> None:
    """Raise ValueError where codes do not follow those before: a damaged map could name any number."""
    if first <= before:
        raise ValueError(f"{first} <= {before}")


def _pascal(held: bytes, at: int) -> Iterator[bytes]:
    while at < len(held):
        yield held[at + 1 : at + 1 + held[at]]
        at += 1 + held[at]


def plain(outline: bytes) -> bytes:
    """Return a glyph's bytes without the hints that only small screens need, and without what fills it up."""
    (contours,) = struct.unpack_from(">h", outline) if outline else (0,)
    if contours == 0:
        return b""
    if contours < 0:
        found, end = bytearray(outline), 10
        for at, bits, _ in pieces(outline):
            struct.pack_into(">H", found, at, bits & ~_INSTRUCTED)
            end = at + _long(bits)
        return bytes(found[:end])
    ends = 10 + 2 * contours
    last, hints = struct.unpack_from(">HH", outline, ends - 2)
    at = ends + 2 + hints
    return outline[:ends] + bytes(2) + outline[at : at + _way(outline, at, last + 1)]


def _way(outline: bytes, at: int, count: int) -> int:
    """Return how many bytes hold so many points: the bits of each, then the ways from one to the next."""
    first, ways = at, 0
    while count > 0:
        bits, times = outline[at], 1
        at += 1
        if bits & REPEATED:
            times += outline[at]
            at += 1
        ways += times * sum(
            1 if bits & short else 0 if bits & same else 2 for short, same in zip(SHORT, SAME, strict=True)
        )
        count -= times
    return at - first + ways


def pieces(outline: bytes) -> Iterator[tuple[int, int, int]]:
    """Yield where each piece of a composite glyph stands in its bytes, its bits, and its glyph's number."""
    at, bits = 10, _MORE
    while bits & _MORE:
        bits, number = struct.unpack_from(">HH", outline, at)
        yield at, bits, number
        at += _long(bits)


def _long(bits: int) -> int:
    return 4 + (4 if bits & _WORDS else 2) + next((size for bit, size in _SCALES if bits & bit), 0)
