"""The file of the builder's own operations: added to and taken from whole or not at all.

What else stands in it, comments and other operations included, stays as it is.
"""

from collections.abc import Mapping, Sequence
from pathlib import Path

from geometry.core.errors import InputError
from geometry.core.say import say
from sheets.home.entries import checked, entries
from sheets.home.folder import alone, home
from sheets.home.own_operations import BEGINS, FILE, KeptOperation, known_operations, operations_in
from sheets.home.toml_file import document_of, edited, text_of, write
from sheets.job.operations import operations
from sheets.job.toml import block
from sheets.job.units import given
from sheets.words.tell import tell


def file() -> Path:
    """Return the file of the builder's own operations; it need not exist yet."""
    return home() / FILE


@alone()
def keep(values: Mapping[str, str | bool], replace: bool = False) -> KeptOperation:
    """Keep an operation, given by its keys, and return it.

    With `replace` it takes the place of one of the same key. Raise InputError where there is one and
    `replace` is not set, where the operation or the file is not sound, DeliveryError where the file cannot be
    written; nothing is changed then.
    """
    where = file()
    text = _text(where)
    row = checked(KeptOperation, dict(values), BEGINS)
    known = _sound(where, text)
    taken = next((number for number, each in enumerate(known) if each.key == row.key), None)
    if taken is not None and not replace:
        raise InputError.at("key", say("own.operation.kept", key=given(row.key), file=str(where)))
    entry = block(BEGINS, row.model_dump(exclude_unset=True))
    done = edited(where, text, "operation", taken, entry, f"# {tell('own.operation.head')}\n")
    # What could not be read again tomorrow is not written today.
    _sound(where, done)
    write(where, done)
    return row


@alone()
def remove(key: str) -> None:
    """Take an operation out; raise InputError where it is not there, or as `keep`."""
    where = file()
    text = _text(where)
    listed = entries(document_of(where, text), BEGINS)
    keys = [each.get("key") if isinstance(each, Mapping) else None for each in listed]
    if key not in keys:
        raise InputError.at("key", say("own.operation.not_kept", key=given(key), file=str(where)))
    # One that is wrong can be taken out too: that mends the file.
    write(where, edited(where, text, "operation", keys.index(key), ""))


def _text(where: Path) -> str:
    return text_of(where, say("own.operation.usual_size"))


def _sound(where: Path, text: str) -> Sequence[KeptOperation]:
    """Return the operations in a text; raise InputError with all that is wrong with it."""
    rows = operations_in(where, text)
    known_operations(operations(None, "tab", 0.0), rows, where)
    return rows
