"""What was filled into a packet's form, and what is attached to it."""

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from geometry.core.errors import InputError, NoPacketError, Problem
from sheets.files import kinds, objects, record
from sheets.files.bounded import read_bytes

LARGEST = 100_000_000
"""Bytes in the largest PDF that is read; a packet takes about 300,000. Own judgement."""


_GIVE = "give the packet as it was drawn"


@dataclass(frozen=True, slots=True)
class Form:
    """A form as filled: text by field name, "" for an empty one, "yes" for a tick; and the attached files.

    A text has "\\n" between its lines, whatever the viewer wrote. `record` is the packet's own.
    """

    values: Mapping[str, str]
    attachments: Mapping[str, bytes]
    record: Mapping[str, Any]


def load(path: Path) -> bytes:
    """Return a PDF's bytes; raise InputError where the file is missing, a folder, or not to be read."""
    return read_bytes(path, "it is no packet of Dropleaf", LARGEST, folder="the PDF")


def opened(path: Path, data: bytes) -> Any:
    """Return the document in a file's bytes; raise InputError with a clear line where it cannot be opened."""
    try:
        return objects.opened(data)
    except objects.LockedError as error:
        what = "it is encrypted; save it without a password, or give the packet as it was drawn"
        raise InputError.at(str(path), what) from error
    except ValueError as error:
        raise InputError.at(str(path), f"{error}; give the packet as it was drawn, or a good copy") from error


def record_of(path: Path, document: Any, attached: Mapping[str, bytes]) -> dict[str, Any]:
    """Return the record in a packet's attachments; raise InputError where it is missing or damaged.

    Raise NoPacketError for a page of ours that is no packet, and for a file from elsewhere.
    """
    raw = attached.get(record.NAME)
    if raw is None:
        said = objects.information(document)
        if kind := kinds.kind_of(said["Keywords"]):
            raise another(path, kind)
        # Pages of before there were marks have neither attachments nor such a title.
        ours = said["Producer"].startswith("Dropleaf") and (attached or said["Title"].endswith(kinds.PACKET))
        if ours or record.MANIFEST in attached:
            what = f"the attachment {record.NAME} is missing: another program left it out; {_GIVE}"
            raise InputError.at(str(path), what)
        what = (
            f"no packet of Dropleaf: it has no {record.NAME} attached; a packet printed to a new PDF, or "
            "flattened, loses form and attachments: give the file itself"
        )
        raise NoPacketError(Problem(str(path), what))
    try:
        return record.decoded(raw)
    except ValueError as error:
        raise InputError.at(str(path), f"{error}; give the packet as it was drawn") from error


def another(path: Path, kind: str) -> NoPacketError:
    """Return the error for a page of ours that is no packet of a frame."""
    what = f"this is {kinds.called(kind)}, no packet of a frame; give a PDF that dropleaf draw wrote"
    return NoPacketError(Problem(str(path), what), kind=kind)


def read_form(path: Path) -> Form:
    """Return the values filled into a packet's form, and its attachments.

    Raise InputError, one clear line, for a file that is no PDF, damaged, encrypted, no packet, without its
    attachments, or whose form is gone.
    """
    document = opened(path, load(path))
    try:
        attached = objects.attachments(document)
        found = {each.name: each.value for each in objects.widgets(document)}
    except ValueError as error:
        raise InputError.at(str(path), f"{error}; give the packet as it was drawn, or a good copy") from error
    kept = record_of(path, document, attached)
    for name, wanted in kept["attachments"].items():
        if name not in attached:
            raise InputError.at(
                str(path),
                f"the attachment {name} is missing: another program left it out; {_GIVE}",
            )
        if record.digest(attached[name]) != wanted:
            raise InputError.at(
                str(path), f"the attachment {name} is not what was attached; give the packet as it was drawn"
            )
    names = [str(each["name"]) for each in kept["fields"] if isinstance(each, dict) and "name" in each]
    gone = [name for name in names if name not in found]
    if names and len(gone) == len(names):
        what = "its form was flattened: no field is left to read; give the file that was filled in itself"
        raise InputError.at(str(path), what)
    if gone:
        more = f" and {len(gone) - 3} more" if len(gone) > 3 else ""
        raise InputError.at(
            str(path),
            f"fields are missing from its form: {', '.join(gone[:3])}{more}; give the packet as it was drawn",
        )
    return Form({name: found[name] for name in names}, attached, kept)
