"""The face that a job brings for letters that the card's lacks: a file that may be anybody's."""

import functools
from pathlib import Path

from fonts.faces import Face, check_pieces, own_face
from geometry.core.errors import InputError
from geometry.core.say import say
from sheets.files.apart import apart
from sheets.files.bounded import leads_out, read_bytes
from sheets.job.read import JobFile

_LARGEST = 32_000_000
"""Bytes; faces of tens of thousands of characters take about 20 million. Own judgement."""


def own_face_of(source: JobFile) -> Face | None:
    """Return the face that a job names, None for none; raise InputError where it cannot be embedded."""
    font, folder = source.job.paper.font, source.path.parent
    if not font:
        return None
    if leads_out(folder / font, folder):
        raise InputError.at(str(folder / font), say("files.linked_out"))
    return _read(folder / font)


@functools.cache
def _read(file: Path) -> Face:
    usual, folder = say("fonts.face.usual"), say("fonts.face.the_file")
    read_bytes(file, usual, _LARGEST, missing=say("fonts.face.no_file"), folder=folder)
    return apart(file, _face_of, file)


def _face_of(file: Path) -> Face:
    found = own_face(file)
    check_pieces(file)
    return found
