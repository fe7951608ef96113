"""What is never drawn over without a word: whatever is not, byte for byte, what Dropleaf wrote there.

A packet may have been filled in, and then flattened, printed anew, given a password or cut short, so that
nothing in it tells of that any more. Only the file as it was written is known to hold nothing else.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from geometry.core.errors import DropleafError, InputError, NoPacketError, Problem
from sheets.files import kinds, names, objects, seal
from sheets.files.read import form
from sheets.files.write.packet import PRODUCER
from sheets.files.write.svg import written_before_seals
from sheets.keeping import lineage
from sheets.words.tell import told

_WAYS = "draw elsewhere with --out, move it, or give --replace"


@dataclass(frozen=True, slots=True)
class Fresh:
    """What is about to be drawn: frame, name of the job file, and what its form bears from the start."""

    frame: str
    job: str
    values: Mapping[str, str]


def kept(target: Path, new: bytes, fresh: Fresh, replace: bool) -> Problem | None:
    """Return what forbids a file of a job to be put where one lies; None where nothing does.

    An untouched first packet of the same job gives way, and so does an untouched SVG or DXF. `replace` lets
    anything give way but a packet that a revision was made from, which is the evidence for that.
    """
    old = _held(target)
    if old == new:
        return None
    # A revision holds what was filed about one drawing, and a changed job is another: it takes neither the
    # place of the packet beneath nor that of the next revision.
    if heirs := lineage.children(target, new) if target.suffix.lower() == ".pdf" else ():
        rests = f"{_listed([heir.name for heir in heirs])} {'rest' if len(heirs) > 1 else 'rests'}"
        what = (
            f"{rests} on the packet of this name as its parent, so no other may take its place; give the "
            "changed job a frame.id of its own, or draw elsewhere with --out"
        )
        return Problem(str(target), what)
    if not old:
        return None
    if replace:
        return None
    if isinstance(old, str):
        why = old
    elif target.suffix.lower() == ".pdf":
        why = _why(target, old, fresh)
    else:
        why = _altered(old)
    return Problem(str(target), f"{why}; {_WAYS}") if why else None


def must_give_way(target: Path, kind: str, way: str) -> None:
    """Raise InputError unless a page of a kind may be written to a file; `way` says how to choose another.

    There must be no file, or an untouched page of that kind, and the system must be able to keep the name.
    """
    if said := names.refused(target.name):
        raise InputError.at(str(target), said)
    old = _held(target)
    if isinstance(old, str):
        raise InputError.at(str(target), f"{old}; move it, or {way}")
    if old and not _same_page(target, old, kind):
        what = f"it is not {kinds.called(kind)} as Dropleaf wrote it, and would be lost; move it, or {way}"
        raise InputError.at(str(target), what)


def _same_page(target: Path, old: bytes, kind: str) -> bool:
    """Tell whether a file is a page of a kind as it was written."""
    if target.suffix.lower() != ".pdf":
        return not _altered(old)
    try:
        document = form.opened(target, old)
        if not seal.found(old):
            return _written_before_seals(document)
        said = form.record_of(target, document, objects.attachments(document))
    except NoPacketError as error:
        return seal.untouched(old) and error.kind == kind
    except (DropleafError, ValueError):
        return False
    return seal.untouched(old) and kinds.of_sheets(said["pages"]) == kind


def _written_before_seals(document: Any) -> bool:
    """Tell whether a PDF is a plain page of ours from before there were seals, with nothing added to it."""
    seen, said = objects.seen(document), objects.information(document)
    added = seen.attachments or seen.widgets or any(page.annotations for page in seen.pages)
    ours = said["Producer"] == PRODUCER and not said["Title"].endswith(kinds.PACKET)
    return ours and not added


def _altered(old: bytes) -> str:
    """Return why a drawing is kept, or "" for one that may be drawn over."""
    if seal.untouched(old) or written_before_seals(old):
        return ""
    if seal.found(old):
        return "it was changed since it was drawn, and that would be lost"
    return "it was changed since it was drawn, is from elsewhere, or an older Dropleaf drew it"


def _held(target: Path) -> bytes | str:
    """Return the bytes of the file at a place, none where there is none, or why it cannot be read."""
    try:
        # A folder in the way is told when the files are put in place.
        return b"" if not target.exists() or target.is_dir() else form.load(target)
    except InputError as error:
        return f"a file is there, and whether it may be lost cannot be seen: {_first(error)}"


def _why(target: Path, old: bytes, fresh: Fresh) -> str:
    """Return why a packet is kept, or "" for one that may be drawn over."""
    try:
        if not seal.untouched(old):
            return _touched(target, fresh)
        document = form.opened(target, old)
        said = form.record_of(target, document, objects.attachments(document))
    except NoPacketError as error:
        return f"it is {kinds.called(error.kind)}, no packet" if error.kind else "it is no packet of Dropleaf"
    except (DropleafError, ValueError) as error:
        return f"it cannot be read ({_first(error)})"
    if said["revision"] != 1:
        return f"it is revision {said['revision']} of a packet, in which something was filed"
    if kind := kinds.of_sheets(said["pages"]):
        return f"it is {kinds.called(kind)}, no packet"
    frame, job = str(said.get("frame")), str((said.get("job") or {}).get("name", ""))
    if frame != fresh.frame:
        return f"it is the packet of the frame {frame}, not {fresh.frame}"
    if job.casefold() != fresh.job.casefold():
        return f"it was drawn from {job}, another job of the same frame.id"
    return ""


def _touched(target: Path, fresh: Fresh) -> str:
    """Say what was done to a packet that is not as it was written, as far as it can be seen."""
    try:
        values = form.read_form(target).values
    except NoPacketError as error:
        if error.kind:
            raise
        return (
            "it is no packet as Dropleaf draws it: it was flattened, printed to a new PDF or stripped of its "
            "record, and may have been filled in, or it comes from elsewhere"
        )
    except InputError as error:
        if isinstance(error.__cause__, objects.LockedError):
            return "it was given a password, so that nobody can see what was filled in"
        return f"it is not as it was drawn ({_first(error)})"
    # What a field bore from the start is known for today's job alone, so that only empty ones tell.
    filled = [name for name, text in values.items() if text.strip() and not fresh.values.get(name)]
    if filled:
        return f"its form has been filled in ({_listed(filled)}) and would be lost"
    return "another program has saved it since it was drawn, and it may have been filled in"


def _first(error: Exception) -> str:
    """Return what is wrong, without where and without what to do, which is another thing here."""
    what = told(error.problems[0].what) if isinstance(error, DropleafError) else str(error)
    return what.partition(";")[0]


def _listed(said: list[str]) -> str:
    more = f" and {len(said) - 2} more" if len(said) > 2 else ""
    return ", ".join(said[:2]) + more
