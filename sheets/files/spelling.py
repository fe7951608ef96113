"""Whether a PDF's objects are spelt as the standard has it (ISO 32000-1, 7.2, 7.3 and 7.5).

A reader makes do with much that it is not, each in its way and many in silence, so that of a damaged file not
all show the same. What a stream shows is not looked at here.
"""

import re
from collections.abc import Iterable

_SPACE = rb"[\0\t\n\f\r ]"
_END = rb"(?=[\0\t\n\f\r ()<>\[\]{}/%]|\Z)"
_APART = rb"(?:" + _SPACE + rb"|%[^\r\n]*+)*+"
_TOKEN = re.compile(
    _APART + rb"(?:(?P<open><<|\[)|(?P<close>>>|\])|(?P<text>\()|(?P<hex><[0-9A-Fa-f\0\t\n\f\r ]*>)"
    rb"|(?P<name>/(?:[^\0\t\n\f\r ()<>\[\]{}/%#]|#[0-9A-Fa-f]{2})*)"
    rb"|(?P<refer>\d+" + _SPACE + rb"+\d+" + _SPACE + rb"+R" + _END + rb")"
    rb"|(?P<number>[+-]?(?:\d+\.?\d*|\.\d+)" + _END + rb")|(?P<word>(?:true|false|null)" + _END + rb"))"
)
_CLOSED = {b"<<": b">>", b"[": b"]"}
_IN_TEXT = re.compile(rb"\\.|[()]", re.DOTALL)
_BEGIN = re.compile(_SPACE + rb"*(\d+)" + _SPACE + rb"+(\d+)" + _SPACE + rb"+obj" + _END)
_STREAM = re.compile(_APART + rb"stream(?:\r\n|\n)")
_OBJECT_ENDS = re.compile(_APART + rb"endobj" + _END)
_STREAM_ENDS = re.compile(_SPACE + rb"*endstream" + _APART + rb"endobj" + _END)
_LENGTH = re.compile(
    rb"/Length" + _SPACE + rb"+(\d+)" + _END + rb"(?!" + _SPACE + rb"+\d+" + _SPACE + rb"+R)"
)
_TABLE = re.compile(rb"(?<=[\r\n])xref" + _SPACE + rb"+(?=\d)")
_SECTION = re.compile(rb"(\d{1,10}) (\d{1,10})" + _SPACE + rb"+")
_ENTRY = re.compile(rb"(\d{10}) (\d{5}) ([nf])(?: \r| \n|\r\n)")
_TRAILER = re.compile(rb"(?<=[\r\n])trailer" + _END)
_AFTER_TABLE = re.compile(_SPACE + rb"*+trailer" + _END)


def ill_spelt(
    data: bytes,
    objects: Iterable[tuple[int, int, int, int | None]],
    packed: Iterable[tuple[bytes, Iterable[int]]],
) -> bool:
    """Tell whether an object, or a file's trailer, is not spelt as it should be, or not where it should be.

    Of each object it takes the number, the generation, the byte at which it begins, and the bytes in its
    stream, None for one that has none; of each stream of objects what is in it, and where they begin.
    """
    try:
        end = 0
        for number, generation, place, length in sorted(objects, key=lambda each: each[2]):
            begin = _BEGIN.match(data, place)
            # None is within another, so that each byte is looked at once.
            if place < end or begin is None or (int(begin[1]), int(begin[2])) != (number, generation):
                return True
            end = _after_value(data, begin.end())
            if length is not None:
                stream, named = _STREAM.match(data, end), _LENGTH.search(data, begin.end(), end)
                if named and int(named[1]) != length:
                    return True
                if stream is None or not _STREAM_ENDS.match(data, stream.end() + length):
                    return True
            elif not _OBJECT_ENDS.match(data, end):
                return True
        for held, places in packed:
            for place in places:
                _after_value(held, place)
        for each in _TRAILER.finditer(data):
            _after_value(data, each.end())
        return any(_misleads(data, table.end()) for table in _TABLE.finditer(data))
    except ValueError:
        return True


def _misleads(data: bytes, at: int) -> bool:
    """Tell whether a table of objects lists one where none of its number begins, or is no such table."""
    while section := _SECTION.match(data, at):
        first, at = int(section[1]), section.end()
        for number in range(first, first + int(section[2])):
            entry = _ENTRY.match(data, at)
            if entry is None:
                return True
            at = entry.end()
            if entry[3] == b"n":
                begin = _BEGIN.match(data, int(entry[1]))
                if begin is None or int(begin[1]) != number:
                    return True
    return not _AFTER_TABLE.match(data, at)


def _after_value(data: bytes, at: int) -> int:
    """Return where a value ends; raise ValueError where it is none."""
    opened: list[bytes] = []
    inside: list[int] = []
    """How many values are in each that is open."""
    while True:
        token = _TOKEN.match(data, at)
        if token is None:
            raise ValueError(at)
        kind, at = token.lastgroup or "", token.end()
        if kind == "text":
            at = _after_text(data, at)
        if kind == "close":
            if (
                not opened
                or _CLOSED[opened.pop()] != token[kind]
                or (inside.pop() % 2 and token[kind] == b">>")
            ):
                raise ValueError(at)
        else:
            if opened:
                # In a dictionary a name comes before each value.
                if opened[-1] == b"<<" and inside[-1] % 2 == 0 and kind != "name":
                    raise ValueError(at)
                inside[-1] += 1
            if kind == "open":
                opened.append(token[kind])
                inside.append(0)
        if not opened:
            return at


def _after_text(data: bytes, at: int) -> int:
    """Return where a string in brackets ends, begun before; brackets in it are in pairs or escaped."""
    depth = 1
    while depth:
        found = _IN_TEXT.search(data, at)
        if found is None:
            raise ValueError(at)
        depth += {b"(": 1, b")": -1}.get(found[0], 0)
        at = found.end()
    return at
