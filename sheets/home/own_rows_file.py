"""The file of the builder's own interface rows: added to whole or not at all.

What else stands in it, comments and other rows included, stays as it is.
"""

import re
import tomllib
from pathlib import Path

from geometry.core.errors import InputError, Problem
from sheets.files.write.deliver import staging
from sheets.home.own_rows import KeptRow, OwnTable, file, read, text_of
from sheets.home.printers_file import home_words

_HEAD = "# Interface rows of your own, known by name like shipped ones. Lengths in mm.\n"
_ROW = re.compile(r"\s*\[\[\s*row\s*\]\]\s*(#.*)?")
_TABLE = re.compile(r"\s*\[")


def keep(block: str, replace: bool = False) -> Path:
    """Keep a row, given as its part of the file, and return the file.

    With `replace` it takes the place of a row of the same name, end and native size. Raise InputError where
    there is one and `replace` is not set, where the row or the file is not sound, DeliveryError where the
    file cannot be written; nothing is changed then.
    """
    where = file()
    text = text_of(where)
    table = _sound(read(text))
    row = _row_of(block)
    taken = next((number for number, each in enumerate(table.rows) if each.key == row.key), None)
    if taken is not None and not replace:
        what = f"a row {row.name} for {row.native:g} at the {row.end} is kept in {where}; choose another name"
        raise InputError.at("--save", f"{what}, or give --replace")
    done = _appended(text, block) if taken is None else _exchanged(where, text, taken, block)
    wanted = list(table.rows) if taken is not None else [*table.rows, row]
    if taken is not None:
        wanted[taken] = row
    if list(_sound(read(done)).rows) != wanted:
        raise _by_hand(where)
    with home_words(), staging(where.parent) as stage:
        (stage / where.name).write_text(done, encoding="utf-8", newline="")
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
        raise InputError(*(Problem(each.where.rpartition(": ")[2], each.what) for each in table.problems))
    if len(table.rows) != 1:
        raise InputError.at("row", f"{len(table.rows)} rows given; one at a time is kept")
    return table.rows[0]


def _appended(text: str, block: str) -> str:
    gap = "\n" if text.endswith("\n") or not text else "\n\n"
    return (text or _HEAD) + gap + block


def _exchanged(where: Path, text: str, number: int, block: str) -> str:
    """Return the text with its row of that number exchanged; raise InputError where it cannot be found."""
    lines = text.splitlines(keepends=True)
    heads = [i for i, line in enumerate(lines) if _ROW.fullmatch(line.rstrip("\r\n"))]
    if len(heads) <= number or len(heads) != len(tomllib.loads(text).get("row", [])):
        raise _by_hand(where)
    start = heads[number]
    end = next((i for i in range(start + 1, len(lines)) if _TABLE.match(lines[i])), len(lines))
    # Comments just above the next row belong to that.
    while end > start + 1 and (not lines[end - 1].strip() or lines[end - 1].lstrip().startswith("#")):
        end -= 1
    return "".join((*lines[:start], block, *lines[end:]))


def _by_hand(where: Path) -> InputError:
    return InputError(
        Problem(str(where), "it is written in a form that is not edited here; change it by hand")
    )
