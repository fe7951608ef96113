"""What was filled into a packet's form, and what is attached to it."""

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from geometry.core.errors import DropleafError, InputError, NoPacketError, Problem, why
from geometry.core.frozen import dataclass
from geometry.core.say import Say, say
from sheets.files import kinds, objects, record, seeing
from sheets.files.bounded import read_bytes

LARGEST = 100_000_000
"""Bytes in the largest PDF that is read; a packet takes about 300,000. Own judgement."""


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
    return read_bytes(path, say("form.no_packet"), LARGEST, folder=say("form.the_pdf"))


def opened(path: Path, data: bytes) -> Any:
    """Return the document in a file's bytes; raise InputError with a clear line where it cannot be opened."""
    try:
        return objects.opened(data)
    except objects.LockedError as error:
        raise InputError.at(str(path), say("form.encrypted")) from error
    except ValueError as error:
        raise InputError.at(str(path), say("form.good_copy", fault=why(error))) from error


def record_of(path: Path, document: Any, attached: Mapping[str, bytes]) -> dict[str, Any]:
    """Return the record in a packet's attachments; raise InputError where it is missing or damaged.

    Raise NoPacketError for a page of ours that is no packet, and for a file from elsewhere.
    """
    raw = attached.get(record.NAME)
    if raw is None:
        said = seeing.information(document)
        if kind := kinds.kind_of(said["Keywords"]):
            raise another(path, kind)
        # Pages of before there were marks have neither attachments nor such a title.
        ours = said["Producer"].startswith("Dropleaf") and (attached or said["Title"].endswith(kinds.PACKET))
        if ours or record.MANIFEST in attached:
            raise _not_as_drawn(path, say("form.attachment_missing", name=record.NAME))
        what = say("form.from_elsewhere", name=record.NAME)
        raise NoPacketError(Problem(str(path), what))
    try:
        return record.decoded(raw)
    except ValueError as error:
        raise _not_as_drawn(path, why(error)) from error


def another(path: Path, kind: str) -> NoPacketError:
    """Return the error for a page of ours that is no packet of a frame."""
    what = say("form.another", called=kinds.called(kind))
    return NoPacketError(Problem(str(path), what), kind=kind)


def read_form(path: Path) -> Form:
    """Return the values filled into a packet's form, and its attachments.

    Raise InputError, one clear line, for a file that is no PDF, damaged, encrypted, no packet, without its
    attachments, or whose form is gone.
    """
    document = opened(path, load(path))
    try:
        attached = seeing.attachments(document)
        found = {each.name: each.value for each in seeing.widgets(document)}
    except ValueError as error:
        raise InputError.at(str(path), say("form.good_copy", fault=why(error))) from error
    kept = record_of(path, document, attached)
    for name, wanted in kept["attachments"].items():
        if name not in attached:
            raise _not_as_drawn(path, say("form.attachment_missing", name=name))
        if record.digest(attached[name]) != wanted:
            raise _not_as_drawn(path, say("form.attachment_changed", name=name))
    names = [str(each["name"]) for each in kept["fields"] if isinstance(each, dict) and "name" in each]
    gone = [name for name in names if name not in found]
    if names and len(gone) == len(names):
        raise InputError.at(str(path), say("form.itself", fault=say("form.flattened")))
    if gone:
        more = say("form.more", count=len(gone) - 3) if len(gone) > 3 else ""
        raise _not_as_drawn(path, say("form.fields_missing", names=", ".join(gone[:3]), more=more))
    return Form({name: found[name] for name in names}, attached, kept)


def _not_as_drawn(path: Path, fault: Say | str) -> DropleafError:
    """Return the error for a packet that has lost something; whoever has another way out takes the fault."""
    return InputError.at(str(path), say("form.as_drawn", fault=fault))
