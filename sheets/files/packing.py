"""A PDF's objects into a file, small: all but streams are packed together, as is the table that finds them.

Object streams and cross-reference streams after ISO 32000-1, 7.5.7 and 7.5.8, predictors after 7.4.4.4.
"""

import itertools
import zlib
from collections.abc import Iterator, Sequence

from geometry.core.frozen import dataclass

_TOGETHER = 2000
"""Objects in one stream: a reader that wants one of them unpacks them all."""
_STREAM = b"endstream"
_STEP, _ABREAST = 40, 32
"""Bytes of which each object takes a whole number, so that their places are alike, and places in a row."""
_WAYS = ((4, zlib.Z_DEFAULT_STRATEGY), (5, zlib.Z_FILTERED), (8, zlib.Z_DEFAULT_STRATEGY))
"""zlib's measure of how much is coded alike, and its strategy: a page's lines and its letters differ."""
_LONG = 60_000
"""Bytes of objects from which the first way alone is tried: it was the best for all so many of them."""


@dataclass(frozen=True, slots=True)
class Loose:
    """A document's objects by their numbers, as they are spelt, and which are its catalog and information."""

    objects: Sequence[tuple[int, bytes]]
    root: int
    info: int


def packed(loose: Loose, header: bytes, identifier: bytes) -> bytes:
    """Return a file's bytes: `header` is its first lines, `identifier` the document's, 16 bytes or none."""
    plain = [each for each in loose.objects if not each[1].endswith(_STREAM)]
    streams = [each for each in loose.objects if each[1].endswith(_STREAM)]
    after = max(number for number, _ in loose.objects) + 1
    found: dict[int, tuple[int, int, int]] = {0: (0, 0, 65535)}
    for group, start in enumerate(range(0, len(plain), _TOGETHER)):
        part = plain[start : start + _TOGETHER]
        found |= {number: (2, after + group, index) for index, (number, _) in enumerate(part)}
        streams.append((after + group, _together(part)))
    table = max(number for number, _ in streams) + 1
    file = bytearray(header)
    for number, spelt in streams:
        found[number] = (1, len(file), 0)
        file += b"%d 0 obj\n%b\nendobj\n" % (number, spelt)
    place = len(file)
    found[table] = (1, place, 0)
    wide = (place.bit_length() + 7) // 8
    rows = [
        kind.to_bytes(1, "big") + one.to_bytes(wide, "big") + two.to_bytes(2, "big")
        for kind, one, two in (found.get(number, (0, 0, 65535)) for number in range(table + 1))
    ]
    steps = _steps(rows)
    named = b" /ID [<%b> <%b>]" % ((identifier.hex().encode(),) * 2) if identifier else b""
    parms = b"/DecodeParms <</Predictor 12 /Columns %d>>" % (wide + 3)
    entries = b"/Type /XRef /Size %d /W [1 %d 2] %b /Root %d 0 R /Info %d 0 R%b" % (
        table + 1, wide, parms, loose.root, loose.info, named,
    )  # fmt: skip
    file += b"%d 0 obj\n%b\nendobj\nstartxref\n%d\n%%%%EOF\n" % (table, _stream(entries, steps), place)
    return bytes(file)


def _together(part: Sequence[tuple[int, bytes]]) -> bytes:
    """Return an object stream of some objects: places in rows, as many abreast, then what is there."""
    held = b"".join(spelt.ljust(_taken(spelt)) for _, spelt in part)
    long = [len(b"%d" % most) for most in (max(number for number, _ in part), len(held))]
    places = [b"%*d %*d " % (long[0], number, long[1], at) for number, at in _places(part)]
    wide = (sum(long) + 2) * _ABREAST
    rows = [b"".join(places[i : i + _ABREAST]).ljust(wide) for i in range(0, len(places), _ABREAST)]
    # Each row of a predictor tells by its first byte which it is: 0 is as it stands.
    written = b"".join(b"\0" + held[i : i + wide].ljust(wide) for i in range(0, len(held), wide))
    parms = b"/DecodeParms <</Predictor 15 /Columns %d>>" % wide
    entries = b"/Type /ObjStm /N %d /First %d %b" % (len(part), len(rows) * wide, parms)
    return _stream(entries, _steps(rows) + written)


def _places(part: Sequence[tuple[int, bytes]]) -> Iterator[tuple[int, int]]:
    at = 0
    for number, spelt in part:
        yield number, at
        at += _taken(spelt)


def _taken(spelt: bytes) -> int:
    return -(-(len(spelt) + 1) // _STEP) * _STEP


def _steps(rows: Sequence[bytes]) -> bytes:
    """Return rows of equal length, each as what it adds to the one above, which is small."""
    return b"".join(
        bytes((2, *((new - old) % 256 for old, new in zip(above, row, strict=True))))
        for above, row in itertools.pairwise([bytes(len(rows[0])), *rows])
    )


def deflated(data: bytes) -> bytes:
    """Return some bytes as small as zlib makes them, coded anew wherever they change."""
    return min((_deflated(data, *way) for way in _WAYS), key=len)


def _deflated(data: bytes, measure: int, strategy: int) -> bytes:
    packer = zlib.compressobj(9, zlib.DEFLATED, zlib.MAX_WBITS, measure, strategy)
    return packer.compress(data) + packer.flush()


def _stream(entries: bytes, data: bytes) -> bytes:
    small = _deflated(data, *_WAYS[0]) if len(data) > _LONG else deflated(data)
    return b"<<%b /Filter /FlateDecode /Length %d>>\nstream\n%b\nendstream" % (entries, len(small), small)
