"""A PDF's objects into a file, small: all but streams are packed together, as is the table that finds them.

Object streams and cross-reference streams after ISO 32000-1, 7.5.7 and 7.5.8.
"""

import itertools
import zlib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

_TOGETHER = 500
"""Objects in one stream: a reader that wants one of them unpacks them all."""
_STREAM = b"endstream"


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
    # Each as what it adds to the one above, which is small (predictor 12, 7.4.4.4).
    steps = b"".join(
        bytes((2, *((new - old) % 256 for old, new in zip(above, row, strict=True))))
        for above, row in itertools.pairwise([bytes(wide + 3), *rows])
    )
    named = b" /ID [<%b> <%b>]" % ((identifier.hex().encode(),) * 2) if identifier else b""
    parms = b"/DecodeParms <</Predictor 12 /Columns %d>>" % (wide + 3)
    entries = b"/Type /XRef /Size %d /W [1 %d 2] %b /Root %d 0 R /Info %d 0 R%b" % (
        table + 1, wide, parms, loose.root, loose.info, named,
    )  # fmt: skip
    file += b"%d 0 obj\n%b\nendobj\nstartxref\n%d\n%%%%EOF\n" % (table, _stream(entries, steps), place)
    return bytes(file)


def _together(part: Sequence[tuple[int, bytes]]) -> bytes:
    """Return an object stream of some objects."""
    held = b"\n".join(spelt for _, spelt in part)
    places = b" ".join(b"%d %d" % pair for pair in _places(part))
    entries = b"/Type /ObjStm /N %d /First %d" % (len(part), len(places) + 1)
    return _stream(entries, places + b"\n" + held)


def _places(part: Sequence[tuple[int, bytes]]) -> Iterator[tuple[int, int]]:
    at = 0
    for number, spelt in part:
        yield number, at
        at += len(spelt) + 1


def _stream(entries: bytes, data: bytes) -> bytes:
    small = zlib.compress(data, 9)
    return b"<<%b /Filter /FlateDecode /Length %d>>\nstream\n%b\nendstream" % (entries, len(small), small)
