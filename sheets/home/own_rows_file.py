"""The file of the builder's own interface rows: added to whole or not at all.

What else stands in it, comments and other rows included, stays as it is.
"""

from pathlib import Path

from geometry.core.errors import InputError, Problem
from sheets.home.own_rows import USUAL, KeptRow, OwnTable, file, read
from sheets.home.toml_file import edited, text_of, write
from sheets.words.tell import told

_HEAD = "# Interface rows of your own, known by name like shipped ones. Lengths in mm.\n"


def keep(block: str, replace: bool = False) -> Path:
    """Keep a row, given as its part of the file, and return the file.

    With `replace` it takes the place of a row of the same name, end and native size. Raise InputError where
    there is one and `replace` is not set, where the row or the file is not sound, DeliveryError where the
    file cannot be written; nothing is changed then.
    """
    where = file()
    text = text_of(where, USUAL)
    table = _sound(read(text))
    row = _row_of(block)
    taken = next((number for number, each in enumerate(table.rows) if each.key == row.key), None)
    if taken is not None and not replace:
        what = f"a row {row.name} for {row.native:g} at the {row.end} is kept in {where}; choose another name"
        raise InputError.at("--save", f"{what}, or give --replace")
    done = edited(where, text, "row", taken, block, _HEAD)
    # What could not be read again tomorrow is not written today.
    _sound(read(done))
    write(where, done)
    return where


def _sound(table: OwnTable) -> OwnTable:
    """Return a table; raise InputError with all that is wrong with it."""
    if table.problems:
        raise InputError(*table.problems)
    return table


def _row_of(block: str) -> KeptRow:
    """Return the row in a block; raise InputError where it is not sound."""
    table = read(block)
    if table.problems:
        # Where the block stands is of no use to anybody: it is in no file yet.
        raise InputError(
            *(Problem(told(each.where).rpartition(": ")[2], each.what) for each in table.problems)
        )
    if len(table.rows) != 1:
        raise InputError.at("row", f"{len(table.rows)} rows given; one at a time is kept")
    return table.rows[0]
