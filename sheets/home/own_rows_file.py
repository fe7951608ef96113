"""The file of the builder's own interface rows: added to whole or not at all.

What else stands in it, comments and other rows included, stays as it is.
"""

from pathlib import Path

from geometry.core.errors import InputError
from geometry.core.say import named, say
from geometry.tables.axles import End
from sheets.home.entries import entries
from sheets.home.folder import alone
from sheets.home.own_rows import BEGINS, USUAL, KeptRow, OwnTable, file, read, row_of
from sheets.home.toml_file import document_of, edited, text_of, write
from sheets.words.tell import tell


@alone()
def keep(block: str, replace: bool = False) -> Path:
    """Keep a row, given as its part of the file, and return the file.

    With `replace` it takes the place of a row of the same name, end and native size. Raise InputError where
    there is one and `replace` is not set, where the row or the file is not sound, DeliveryError where the
    file cannot be written; nothing is changed then.
    """
    where = file()
    text = text_of(where, USUAL)
    table = _sound(read(text))
    row = _row_of(where, block)
    taken = next((number for number, each in enumerate(table.rows) if each.key == row.key), None)
    if taken is not None and not replace:
        end = named(row.end)
        what = say("own.row.kept", name=row.name, native=row.native, end=end, file=str(where))
        raise InputError.at("--save", what)
    done = edited(where, text, "row", taken, block, f"# {tell('own.row.head')}\n")
    # What could not be read again tomorrow is not written today.
    _sound(read(done))
    write(where, done)
    return where


def check_free(name: str, end: End, native: float) -> None:
    """Raise InputError where a row of this name, end and native size is kept already."""
    if any(each.key == (name, end, native) for each in read().rows):
        what = say("own.row.kept", name=name, native=native, end=named(end), file=str(file()))
        raise InputError.at("--save", what)


def _sound(table: OwnTable) -> OwnTable:
    """Return a table; raise InputError with all that is wrong with it."""
    if table.problems:
        raise InputError(*table.problems)
    return table


def _row_of(where: Path, block: str) -> KeptRow:
    """Return the row in a block; raise InputError, led by its keys, where it is not sound."""
    listed = entries(document_of(where, block), BEGINS)
    if len(listed) != 1:
        raise InputError.at("row", say("own.row.not_one", count=len(listed)))
    return row_of(listed[0])
