"""A TOML file of the builder's own: read, and changed in one entry while all else stays byte for byte.

An entry is a table, [key.NAME] or one of several [[key]]. Comments above it stay when it goes; those just
below its last line belong to what follows.
"""

import re
import tomllib
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

from geometry.core.errors import DropleafError, InputError
from geometry.core.say import Say, say
from sheets.files.bounded import LARGEST, NO_FILE, blaming, decoded, read_bytes
from sheets.home.folder import put

_MARK = "\0"
"""No TOML file has it."""


def text_of(where: Path, usual: Say | str, must_be: bool = False) -> str:
    """Return a file's text, empty where there is none and none must be.

    Raise InputError as `read_bytes`, and for a file that is not UTF-8.
    """
    raw = read_bytes(where, usual, missing=NO_FILE if must_be else None)
    with blaming(where):
        return decoded(raw, "files.not_utf8_mend")


def document_of(where: Path, text: str) -> dict[str, Any]:
    """Return a text's TOML document; raise InputError, led by the file, where it is none."""
    try:
        return tomllib.loads(text)
    except (ValueError, RecursionError) as error:
        raise InputError.at(str(where), say("own.file.no_toml", reason=str(error))) from error


def edited(where: Path, text: str, key: str, old: str | int | None, new: str, head: str = "") -> str:
    """Return a file's text with entry `old` of `key` exchanged for the block `new`; "" takes it out.

    `old` is a name or a number; None puts `new` at the end, below `head` where there is no text. Raise
    InputError where the file is written in a form in which anything else would change.
    """
    before = document_of(where, text)
    if old is None:
        above, below = text or head, ""
        above += "\n" if above.endswith("\n") else "\n\n"
    else:
        parts = _around(text, key, old)
        if parts is None:
            raise _by_hand(where, key, old)
        above, below = parts
        if not new and (not below or re.match(r"\r?\n", below)):
            # The blank line that kept the entry apart goes with it.
            above = re.sub(r"(?<![^\n])\r?\n\Z", "", above)
    done = above + new + below
    try:
        after = tomllib.loads(done)
    except ValueError as error:
        raise _by_hand(where, key, old) from error
    wanted = _exchanged(before.get(key), old, tomllib.loads(new).get(key))
    if {**after, key: after.get(key) or None} != {**before, key: wanted or None}:
        raise _by_hand(where, key, old)
    return done


Place = tuple[str | int, ...]
"""Where a value stands in a document: keys, and the numbers of a list's items."""


def with_value(where: Path, text: str, place: Place, new: str) -> str:
    """Return a file's text with one value exchanged for the TOML value `new`, or added; "" takes it out.

    Comments and the order of all else stay. Raise InputError where the file is written in a form in which
    anything else would change.
    """
    # Loading the library takes longer than reading a file, and files are mostly read.
    import tomlkit
    from tomlkit.exceptions import TOMLKitError

    wanted = document_of(where, text)
    try:
        put_value(wanted, place, tomllib.loads(f"value = {new}")["value"] if new else None, dict)
        document: Any = tomlkit.parse(text)
        if new:
            item = tomlkit.parse(f"value = {new}")["value"]
            put_value(document, place, item, tomlkit.table)
        else:
            put_value(document, place, None, tomlkit.table)
        done = str(document.as_string())
        same = tomllib.loads(done) == wanted
    except (TOMLKitError, ValueError, TypeError, RecursionError) as error:
        raise _by_hand(where, ".".join(map(str, place)), None) from error
    if not same:
        raise _by_hand(where, ".".join(map(str, place)), None)
    return done


def put_value(node: Any, place: Place, value: Any, table: Callable[[], Any]) -> None:
    """Put a value in a document, or take it out where it is None; tables that lack are made."""
    for key in place[:-1]:
        if isinstance(node, Mapping) and key not in node:
            node[key] = table()  # type: ignore[index]
        node = node[key]
    last = place[-1]
    if value is None:
        del node[last]
    elif isinstance(last, int) and last == len(node):
        node.append(value)
    else:
        _keep_column(node, last, value)
        node[last] = value


def _keep_column(node: Any, key: str | int, value: Any) -> None:
    """Let the comment beside a value stand in its column, where it has one and there is room."""
    trivia = getattr(node.get(key) if isinstance(node, Mapping) else None, "trivia", None)
    if trivia is not None and trivia.comment:
        longer = len(value.as_string()) - len(node[key].as_string())
        trivia.comment_ws = " " * max(1, len(trivia.comment_ws) - longer)


def write(where: Path, text: str) -> None:
    """Put a text in place as `put` does; raise InputError for one too large to be read again."""
    if len(text.encode()) > LARGEST:
        raise InputError.at(str(where), say("own.file.too_large", most=LARGEST // 1000))
    put(where, text)


def _exchanged(entries: Any, old: str | int | None, new: Any) -> Any:
    """Return the entries of a document with one exchanged, or added where `old` is None."""
    if isinstance(new if entries is None else entries, Mapping):
        return {name: each for name, each in (entries or {}).items() if name != old} | (new or {})
    listed = [*(entries or ())]
    at = old if isinstance(old, int) else len(listed)
    return [*listed[:at], *(new or ()), *listed[at + 1 :]]


def _around(text: str, key: str, entry: str | int) -> tuple[str, str] | None:
    """Return what stands above and below an entry; None where it is no table of its own."""
    # Loading the library takes longer than reading a file, and files are mostly read.
    import tomlkit
    from tomlkit.exceptions import TOMLKitError
    from tomlkit.items import Comment, Table, Whitespace

    try:
        document: Any = tomlkit.parse(text)
        table = document[key][entry]
        if not isinstance(table, Table):
            return None
        table.trivia.indent = _MARK + table.trivia.indent
        body = table.value.body
        while body and isinstance(body[-1][1], Table):
            body = body[-1][1].value.body
        end = len(body)
        while end and isinstance(body[end - 1][1], Comment | Whitespace):
            end -= 1
        # What does not end a line gets a line's end where another table follows.
        body.insert(end, (None, tomlkit.ws(f"{_MARK}\n")))
        above, *_, below = document.as_string().split(_MARK)
    except (TOMLKitError, RecursionError):
        return None
    below = below.removeprefix("\n")
    apart = text.startswith(above) and text.removeprefix(above).endswith(below)
    return (above, below) if apart else None


def _by_hand(where: Path, key: str, entry: str | int | None) -> DropleafError:
    code = "own.file.entry_by_hand" if isinstance(entry, str) else "own.file.by_hand"
    return InputError.at(str(where), say(code, key=key, name=str(entry)))
