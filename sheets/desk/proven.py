"""Whose bars are proven: noted as soon as a ruler found them true, beside what is typed of the traveller.

The traveller may be filed a week later, and the folder's list shall know it at once. A note names the packet
by its record's digest, so that another revision, or a packet drawn anew from a changed job, is not taken for
proven; what was noted in the traveller for such a packet is left out of the traveller of the next one.
"""

import contextlib
from collections.abc import Collection, Mapping
from pathlib import Path

from geometry.core.errors import DropleafError
from sheets.desk import typed
from sheets.files import record
from sheets.files.apart import apart
from sheets.filing.verify import opened

TABLE = "bars"
"""The table of NAME.traveller that has the notes: what the ruler read, by the packet's seal."""
ENDING = ".traveller"
"""What the file is called beside the job."""
_DIGITS = 16
"""Of a digest: it tells the packets of one frame apart, and signs nothing."""
_WRITTEN = ("reading", "date", "done")
"""The fields of a step that are written with a note."""


def seal(attachments: Mapping[str, bytes]) -> str:
    """Return what a packet is told from every other by; filling in its form does not change it."""
    return record.digest(attachments[record.NAME])[:_DIGITS]


def line_of(packet: Path) -> tuple[str, ...]:
    """Return the seals of a packet and of those that it is a revision of, its own first.

    Raise DropleafError where it cannot be read.
    """
    held = apart(packet, opened, packet).seen.attachments
    older = (raw for name, raw in held.items() if name.startswith("dropleaf-packet-rev"))
    return seal(held), *(record.digest(raw)[:_DIGITS] for raw in older)


def noted(file: Path) -> tuple[str, ...]:
    """Return the seals of the packets whose bars are noted as true; none where that cannot be read."""
    with contextlib.suppress(DropleafError):
        return tuple(typed.kept(file).get(TABLE, {}))
    return ()


def note(file: Path, fields: str, packet: Path, read: str) -> None:
    """Note what a ruler read on true bars of a packet; "" takes that note away, for bars that are not true.

    With it goes what was noted in the traveller, whose table is called `fields`. Raise DropleafError where
    the packet cannot be read, or the note not be written.
    """
    own = line_of(packet)[0]
    kept = typed.kept(file)
    before = kept.get(TABLE, {}).get(own)
    if read:
        typed.keep(file, TABLE, {own: read})
    elif before is not None:
        typed.keep(file, TABLE, {own: ""})
        typed.keep(file, fields, dict.fromkeys(_noted_with(kept.get(fields, {}), (before,)), ""))


def of_this_packet(file: Path, fields: str, packet: Path | None) -> dict[str, str]:
    """Return what is typed of the traveller, without the bars of another packet than this one's line.

    A packet that cannot be read tells nothing: then all stays, and its filing is refused anyway. Raise
    DropleafError where what is typed cannot be read.
    """
    kept = typed.kept(file)
    whole, notes = kept.get(fields, {}), kept.get(TABLE, {})
    if not notes or packet is None:
        return whole
    try:
        ours = line_of(packet)
    except DropleafError:
        return whole
    if any(each in notes for each in ours):
        return whole
    gone = _noted_with(whole, tuple(notes.values()))
    return {key: value for key, value in whole.items() if key not in gone}


def _noted_with(fields: Mapping[str, str], reads: Collection[str]) -> set[str]:
    """Return the names of the traveller's fields that were written with notes, known by what was read."""
    steps = [
        key.removesuffix(".reading")
        for key, value in fields.items()
        if key.startswith("step.") and key.endswith(".reading") and value in reads
    ]
    return {f"{step}.{part}" for step in steps for part in _WRITTEN}
