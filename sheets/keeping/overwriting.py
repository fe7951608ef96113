"""What is never drawn over without a word: whatever is not, byte for byte, what Dropleaf wrote there.

A packet may have been filled in, and then flattened, printed anew, given a password or cut short, so that
nothing in it tells of that any more. Only the file as it was written is known to hold nothing else.
"""

from collections.abc import Mapping
from pathlib import Path
from typing import Any, Literal

from geometry.core.errors import DropleafError, InputError, NoPacketError, Problem, why
from geometry.core.frozen import dataclass
from geometry.core.say import Say, say
from sheets.files import kinds, names, objects, seal, seeing
from sheets.files.apart import apart
from sheets.files.read import form
from sheets.files.write.packet import PRODUCER
from sheets.files.write.svg import written_before_seals
from sheets.keeping import lineage

Way = Literal["out", "name"]
"""How another file is chosen: another folder by --out, or another name for the file."""


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
        code = "keeping.parent_of_many" if len(heirs) > 1 else "keeping.parent_of_one"
        return Problem(str(target), say(code, heirs=_few([heir.name for heir in heirs])))
    if not old or replace:
        return None
    why: Say | None
    if isinstance(old, Say):
        why = old
    elif target.suffix.lower() == ".pdf":
        why = _found_in(target, old, fresh)
    else:
        why = _altered(old)
    return Problem(str(target), say("keeping.draw_elsewhere", why=why)) if why else None


def must_give_way(target: Path, kind: str, way: Way) -> None:
    """Raise InputError unless a page of a kind may be written to a file; `way` is how to choose another.

    There must be no file, or an untouched page of that kind, and the system must be able to keep the name.
    """
    if said := names.refused(target.name):
        raise InputError.at(str(target), said)
    old = _held(target)
    why = old if isinstance(old, Say) else None
    if isinstance(old, bytes) and old and not _gives_way(target, old, kind):
        why = say("keeping.other_page", page=kinds.called(kind))
    if why:
        raise InputError.at(str(target), say(f"keeping.move.{way}", why=why))


def _gives_way(target: Path, old: bytes, kind: str) -> bool:
    """Tell whether a file is a page of a kind as it was written; a PDF may be anybody's."""
    if target.suffix.lower() != ".pdf":
        return _altered(old) is None
    return apart(target, _same_page, target, old, kind)


def _same_page(target: Path, old: bytes, kind: str) -> bool:
    """Tell whether a PDF is a page of a kind as it was written."""
    try:
        document = form.opened(target, old)
        if not seal.found(old):
            return _written_before_seals(document)
        said = form.record_of(target, document, seeing.attachments(document))
    except NoPacketError as error:
        return seal.untouched(old) and error.kind == kind
    except (DropleafError, ValueError):
        return False
    return seal.untouched(old) and kinds.of_sheets(said["pages"]) == kind


def _written_before_seals(document: Any) -> bool:
    """Tell whether a PDF is a plain page of ours from before there were seals, with nothing added to it."""
    seen, said = seeing.seen(document), seeing.information(document)
    added = seen.attachments or seen.widgets or any(page.annotations for page in seen.pages)
    ours = said["Producer"] == PRODUCER and not said["Title"].endswith(kinds.PACKET)
    return ours and not added


def _altered(old: bytes) -> Say | None:
    """Return why a drawing is kept, None for one that may be drawn over."""
    if seal.untouched(old) or written_before_seals(old):
        return None
    return say("keeping.drawing_changed" if seal.found(old) else "keeping.drawing_foreign")


def _held(target: Path) -> bytes | Say:
    """Return the bytes of the file at a place, none where there is none, or why it cannot be read."""
    try:
        # A folder in the way is told when the files are put in place.
        return b"" if not target.exists() or target.is_dir() else form.load(target)
    except InputError as error:
        return say("keeping.unseen", reason=_first(error))


def _found_in(target: Path, old: bytes, fresh: Fresh) -> Say | None:
    """Return why a packet is kept, None for one that may be drawn over; it may be anybody's file."""
    try:
        return apart(target, _why, target, old, fresh)
    except InputError as error:
        return say("keeping.unreadable", reason=_first(error))


def _why(target: Path, old: bytes, fresh: Fresh) -> Say | None:
    """Return why a packet is kept, None for one that may be drawn over."""
    try:
        if not seal.untouched(old):
            return _touched(target, fresh)
        document = form.opened(target, old)
        said = form.record_of(target, document, seeing.attachments(document))
    except NoPacketError as error:
        return _page(error.kind) if error.kind else say("keeping.no_packet")
    except (DropleafError, ValueError) as error:
        return say("keeping.unreadable", reason=_first(error))
    if said["revision"] != 1:
        return say("keeping.revision", number=said["revision"])
    if kind := kinds.of_sheets(said["pages"]):
        return _page(kind)
    frame, job = str(said.get("frame")), str((said.get("job") or {}).get("name", ""))
    if frame != fresh.frame:
        return say("keeping.other_frame", frame=frame, own=fresh.frame)
    if job.casefold() != fresh.job.casefold():
        return say("keeping.other_job", job=job)
    return None


def _page(kind: str) -> Say:
    return say("keeping.page", page=kinds.called(kind))


def _touched(target: Path, fresh: Fresh) -> Say:
    """Say what was done to a packet that is not as it was written, as far as it can be seen."""
    try:
        values = form.read_form(target).values
    except NoPacketError as error:
        if error.kind:
            raise
        return say("keeping.flattened")
    except InputError as error:
        if isinstance(error.__cause__, objects.LockedError):
            return say("keeping.locked")
        return say("keeping.not_as_drawn", reason=_first(error))
    # What a field bore from the start is known for today's job alone, so that only empty ones tell.
    filled = [name for name, text in values.items() if text.strip() and not fresh.values.get(name)]
    return say("keeping.filled_in", fields=_few(filled)) if filled else say("keeping.saved_again")


def _first(error: Exception) -> Say | str:
    """Return what is wrong, without where and without what to do, which is another thing here."""
    what = error.problems[0].what if isinstance(error, DropleafError) else why(error)
    while isinstance(what, Say) and "fault" in dict(what.values):
        what = what["fault"]
    return what


def _few(names: list[str]) -> Say | str:
    """Return the first two of some names, and how many more there are."""
    shown = ", ".join(names[:2])
    return say("keeping.and_more", names=shown, count=len(names) - 2) if len(names) > 2 else shown
