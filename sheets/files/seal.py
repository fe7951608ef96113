"""The seal of a file: a line that shows that not a byte below it was changed since the file was written.

It holds the SHA-256 of all bytes after that line, as a comment in whatever kind of file it stands in.
"""

import hashlib

_MARK = "dropleaf sha256 "
_HASH = len(hashlib.sha256().hexdigest())
_END = b"%%EOF\n"
"""The last bytes of a PDF as it is written here."""
_WITHIN = 128
"""Bytes among which a seal is looked for: it stands in a file's second line."""


def line(before: str, after: str = "") -> str:
    """Return a seal's line before its digest is known, with what makes it a comment round it."""
    return f"{before}{_MARK}{'0' * _HASH}{after}\n"


def xml_head() -> str:
    """Return the first two lines of an XML file: what it is, and its seal."""
    return f'<?xml version="1.0" encoding="utf-8"?>\n{line("<!-- ", " -->")}'


def sealed(data: bytes) -> bytes:
    """Return a file's bytes with the digest of what follows its seal's line set into that line."""
    start, rest = _place(data)
    return data[:start] + _digest(data[rest:]) + data[start + _HASH :]


def untouched(data: bytes) -> bool:
    """Tell whether a file is byte for byte what was written; False where it has no seal."""
    try:
        start, rest = _place(data)
    except ValueError:
        return False
    return data[start : start + _HASH] == _digest(data[rest:])


def begins(data: bytes) -> bool:
    """Tell whether a PDF that bears a seal begins with all that was sealed; True for one that bears none.

    A program that fills in a form may add to the file's end. One that writes the file anew leaves no seal.
    """
    try:
        start, rest = _place(data)
    except ValueError:
        return True
    digest, done, wanted = hashlib.sha256(), rest, data[start : start + _HASH]
    while (end := data.find(_END, done)) >= 0:
        digest.update(data[done : end + len(_END)])
        done = end + len(_END)
        if digest.hexdigest().encode() == wanted:
            return True
    return False


def shown(data: bytes) -> str:
    """Return the digest in a file's seal, right or wrong; raise ValueError where it has no seal."""
    start, _ = _place(data)
    return data[start : start + _HASH].decode("ascii", "replace")


def found(data: bytes) -> bool:
    """Tell whether a file has a seal, broken or not."""
    return data.find(_MARK.encode(), 0, _WITHIN) >= 0


def _place(data: bytes) -> tuple[int, int]:
    """Return where the digest begins, and where what it covers does; raise ValueError for no seal."""
    start = data.index(_MARK.encode(), 0, _WITHIN) + len(_MARK)
    return start, data.index(b"\n", start + _HASH) + 1


def _digest(data: bytes) -> bytes:
    return hashlib.sha256(data).hexdigest().encode()
