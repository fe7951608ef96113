"""A PDF object in one form, whatever program wrote it, so that equal ones have equal digests."""

import hashlib
from typing import Any

_ENCODINGS = ("/Length", "/Filter", "/DecodeParms", "/DL", "/F", "/FFilter", "/FDecodeParms")
"""Entries of a stream that say how it is kept, not what it holds."""


def canonical(value: Any, memory: dict[int, bytes]) -> bytes:
    """Return a PDF object in one form whatever program wrote it.

    References are followed, keys are sorted, numbers have at most four decimals, strings are hexadecimal, and
    a stream is its dictionary, less how it is packed, with the SHA-256 of its decoded data. `memory` holds
    what was followed before.
    """
    return _canonical(value, memory, ())


def _canonical(value: Any, memory: dict[int, bytes], above: tuple[int, ...]) -> bytes:
    number = getattr(value, "idnum", None)
    if number is None:
        return _plain(value, memory, above)
    if number in above:
        return b"^"
    if number not in memory:
        memory[number] = _plain(value.get_object(), memory, (*above, number))
    return memory[number]


def _plain(value: Any, memory: dict[int, bytes], above: tuple[int, ...]) -> bytes:
    # Told by what they have and are called: `objects` alone imports the library that they are of.
    match value:
        case _ if value is None or type(value).__name__ == "NullObject":
            return b"null"
        case dict() if hasattr(value, "get_data"):
            kept = {key: each for key, each in value.items() if key not in _ENCODINGS}
            inside = hashlib.sha256(value.get_data()).hexdigest()
            return _plain(kept, memory, above) + b"stream " + inside.encode()
        case dict():
            pairs = (
                str(key).encode() + b" " + _canonical(value.raw_get(key), memory, above)
                if hasattr(value, "raw_get")
                else str(key).encode() + b" " + _canonical(value[key], memory, above)
                for key in sorted(value)
                if key != "/Parent"
            )
            return b"<<" + b" ".join(pairs) + b">>"
        case list():
            return b"[" + b" ".join(_canonical(each, memory, above) for each in value) + b"]"
        case _ if isinstance(value, bool) or type(value).__name__ == "BooleanObject":
            return b"true" if value else b"false"
        case int() | float():
            # Adding nothing turns -0.0 round.
            return f"{round(float(value), 4) + 0.0:.4f}".rstrip("0").rstrip(".").encode()
        case str() if hasattr(value, "original_bytes"):
            return b"<%b>" % bytes(value.original_bytes).hex().encode()
        case bytes():
            return b"<" + value.hex().encode() + b">"
        case _:
            return str(value).encode()
