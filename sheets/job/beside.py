"""The drawing beside a job, read into the job itself, so that what is filed needs no other file."""

import hashlib
import tomllib
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from geometry.core.errors import DropleafError, InputError, Problem, RefusedError
from geometry.core.say import say
from sheets.files.bounded import leads_out, read_bytes
from sheets.job.dropout_keys import DrawnOutline, Dropout, as_table
from sheets.job.toml import block

KEY = "dropout.outline"
_USUAL = say("outline.usual_size")
_LARGEST = 2_000_000
"""Bytes in the largest drawing that is read: a dropout takes some thousand."""


def drawn_block(dropout: Dropout, folder: Path | None) -> str:
    """Return the [outline] of a job that names a drawing in a folder, in TOML.

    Raise InputError, led by the key, where the drawing cannot be read or holds no dropout, or where there is
    no folder to look in.
    """
    name = str(dropout.outline)
    if folder is None:
        raise InputError.at(KEY, say("outline.not_filed", name=name))
    # Few jobs name a drawing, and only those wait for what reads one.
    from sheets.files.drawings.loops import Asked, read_outline

    raw = _bytes(folder / name, folder)
    asked = Asked(dropout.outline_unit, dropout.outline_layer, dropout.outline_axle)
    try:
        found = read_outline(raw, name, asked)
    except RefusedError as error:
        raise InputError.at(KEY, say("outline.in_file", name=name, what=error.what)) from error
    return block("[outline]", as_table(name, hashlib.sha256(raw).hexdigest(), found))


def table(text: str) -> Mapping[str, Any]:
    """Return the entries of such a block as a job file has them."""
    entries: Mapping[str, Any] = tomllib.loads(text)["outline"]
    return entries


def must_be_the_same(drawn: DrawnOutline, folder: Path) -> None:
    """Raise InputError where the drawing lies in a folder, but is not the one that was read into a job."""
    file = folder / drawn.file
    if not file.is_file() or hashlib.sha256(_bytes(file, folder)).hexdigest() == drawn.sha256:
        return
    raise InputError.at("outline", say("outline.other_drawing", name=drawn.file))


def _bytes(file: Path, folder: Path) -> bytes:
    if leads_out(file, folder):
        raise InputError.at(KEY, say("outline.in_file", name=file.name, what=say("files.linked_out")))
    if file.exists() and not file.is_file():
        # A pipe would be waited at for ever, and a device has no end.
        raise InputError.at(KEY, say("outline.no_plain_file", name=file.name))
    try:
        return read_bytes(file, _USUAL, _LARGEST)
    except DropleafError as error:
        raise InputError(
            *(Problem(KEY, say("outline.in_file", name=file.name, what=p.what)) for p in error.problems)
        ) from error
