"""Which revision rests on which packet: a revision names its parent, and both lie in one folder."""

import time
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any, Literal

from geometry.core.errors import DropleafError, InputError
from geometry.core.frozen import dataclass
from sheets.files import record, seeing
from sheets.files.apart import apart
from sheets.files.bounded import is_file
from sheets.files.read import form
from sheets.files.read.pdf import attached
from sheets.files.sets import recovered
from sheets.words.tell import first_of, reason, tell, told

State = Literal["intact", "missing", "changed", "another"]


@dataclass(frozen=True, slots=True)
class Parent:
    """What became of the packet that a revision was made from, and that in a sentence.

    "another" means that a packet of other content has its name.
    """

    state: State
    text: str

    @property
    def good(self) -> bool:
        """Tell whether nothing speaks against it; one that lies elsewhere is not a fault.

        One file of a folder may be sent alone.
        """
        return self.state in ("intact", "missing")


@dataclass(frozen=True, slots=True)
class Kin:
    """What a packet says of kinship: its parent's file and the digest of that one's record, and its own.

    A first packet has no parent: both are empty.
    """

    parent: str
    parent_record: str
    record: str


def children(packet: Path, new: bytes | None = None) -> tuple[Path, ...]:
    """Return the revisions in a packet's folder that were made from it, by their records.

    One names its parent by file and by the digest of its record, and either will do: the packet itself may
    be changed past reading, or be gone. `new` are the bytes of a packet that is to take its name: those for
    which it is the very parent are left out.
    """
    (own,) = _all_kin([packet]) if packet.is_file() else (None,)
    fresh = attached(new, record.NAME) if new is not None else None
    found = []
    for other, kin in _others(packet):
        named = kin.parent.casefold() == packet.name.casefold()
        ours = named or (own is not None and kin.parent_record == own.record)
        if ours and (fresh is None or kin.parent_record != record.digest(fresh)):
            found.append(other)
    return tuple(found)


def parent_of(packet: Path, kept: Mapping[str, Any]) -> Parent | None:
    """Return what became of the parent that a packet's record names, looked for beside it; None for none."""
    named = kept.get("parent")
    if not named:
        return None
    name, wanted = _named(named), str(named.get("record", ""))
    beside = packet.with_name(name) if name else packet
    moved = next((other for other, kin in _others(packet) if kin.record == wanted), None)
    if moved is None and (beside == packet or not beside.is_file()):
        return Parent("missing", tell("lineage.missing", name=name))
    if moved is None:
        return _in_its_place(beside)
    place = "beside" if moved == beside else "renamed"
    if changes := _changes(moved):
        what = tell(f"lineage.{place}.changed", name=moved.name, changes=first_of(changes))
        return Parent("changed", what)
    return Parent("intact", tell(f"lineage.{place}.intact", name=moved.name))


def read_beforehand(folder: Path) -> None:
    """Read what all packets of a folder say of kinship, so that children begun later need not, each alone.

    Where one cannot be read nothing is lost: whoever asks for it reads it again, and says so.
    """
    _all_kin(_pdfs(folder))


def _in_its_place(beside: Path) -> Parent:
    """Say what has the name of a parent that is nowhere beside its child."""
    if _kin_apart(beside, whole=True) is None:
        return Parent("changed", tell("lineage.unreadable", name=beside.name))
    return Parent("another", tell("lineage.another", name=beside.name))


def _named(parent: Mapping[str, Any]) -> str:
    return Path(str(parent.get("file", ""))).name


def _others(packet: Path) -> Iterator[tuple[Path, Kin]]:
    """Yield the other packets in a packet's folder, each with what it says of kinship."""
    files = [file for file in _pdfs(packet.parent) if not _same(file, packet)]
    for file, found in zip(files, _all_kin(files), strict=True):
        if found is not None:
            yield file, found


def _pdfs(folder: Path) -> list[Path]:
    """Return the PDFs in a folder, in order; none where it cannot be looked into."""
    try:
        found = sorted(file for file in folder.iterdir() if file.suffix.lower() == ".pdf")
    except OSError:
        return []
    return [file for file in found if is_file(file)]


def _all_kin(files: Sequence[Path]) -> list[Kin | None]:
    """Return what `_kin` does of each file; a packet that is as it was when it was read is not read again."""
    marks = {file: _mark(file) for file in files}
    known = {file: _READ.get(mark) for file, mark in marks.items()}
    unread = [file for file, kin in known.items() if kin is None]
    for file, kin in zip(unread, _each_apart(unread), strict=True):
        known[file] = kin
        if kin is not None and marks[file]:
            _READ[marks[file]] = kin
    while len(_READ) > _MOST:
        del _READ[next(iter(_READ))]
    return [known[file] for file in files]


_READ: dict[tuple[str | int, ...], Kin] = {}
"""What packets said of kinship, by `_mark`: each drawing asks all of its folder, which may be a year's."""
_AT_ONCE = 1000
"""Packets that one child reads, in a tenth of the time that it is given."""
_MOST = 20_000
"""Packets of which that is kept, a few hundred bytes each."""
_SETTLED = 3.0
"""Seconds after which a file that is written anew has another time on any disk: FAT counts by twos."""


def _mark(file: Path) -> tuple[str | int, ...]:
    """Return what changes when a file does; nothing where that may not be so, or it cannot be looked at."""
    try:
        at = file.stat()
    except OSError:
        return ()
    if abs(time.time() - at.st_mtime) <= _SETTLED:
        return ()
    return str(file.absolute()), at.st_dev, at.st_ino, at.st_size, at.st_mtime_ns, at.st_ctime_ns


def _each_apart(files: Sequence[Path]) -> Sequence[Kin | None]:
    """Return what `_kin` does of each file. They may be anybody's, and one must not hide the others."""
    found: list[Kin | None] = []
    for part in (files[start : start + _AT_ONCE] for start in range(0, len(files), _AT_ONCE)):
        try:
            found += apart(part[0].parent, _each, part)
        except InputError:
            found += map(_kin_apart, part)
    return found


def _each(files: Sequence[Path]) -> Sequence[Kin | None]:
    with recovered(files[0].parent):
        return [_kin(file) for file in files]


def _kin_apart(file: Path, *, whole: bool = False) -> Kin | None:
    try:
        return apart(file, _kin, file, whole=whole)
    except InputError:
        return None


def _same(file: Path, other: Path) -> bool:
    """Tell whether two names in a folder are one file, as on a disk that folds case."""
    try:
        return file.name == other.name or file.samefile(other)
    except OSError:
        return False


def _kin(file: Path, *, whole: bool = False) -> Kin | None:
    """Return what a packet says of kinship; None where there is no packet that can be read.

    Only the one attachment is looked at, and only a revision's is taken apart, so that a folder of hundreds
    is looked through in a second; all of it with `whole`.
    """
    try:
        raw = attached(form.load(file), record.NAME)
        if raw is None:
            return None
        # As it is written for a first packet, and no key spelt otherwise.
        first = raw.count(b'"parent"') == raw.count(b'"parent":null') == 1 and b"\\u" not in raw
        parent = {} if first and not whole else record.decoded(raw).get("parent") or {}
        return Kin(_named(parent), str(parent.get("record", "")), record.digest(raw))
    except (DropleafError, ValueError):
        return None


def _changes(file: Path) -> list[str]:
    try:
        document = form.opened(file, form.load(file))
        seen = seeing.seen(document)
        return list(record.changes(seen, form.record_of(file, document, seen.attachments)))
    except DropleafError as error:
        return [told(error.problems[0].what)]
    except ValueError as error:
        return [reason(error)]
