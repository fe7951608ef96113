"""Which revision rests on which packet: a revision names its parent, and both lie in one folder."""

from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any, Literal

from geometry.core.errors import DropleafError, InputError
from geometry.core.frozen import dataclass
from sheets.files import record, seeing
from sheets.files.apart import apart
from sheets.files.read import form
from sheets.files.read.pdf import attached
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


def children(packet: Path, new: bytes | None = None) -> tuple[Path, ...]:
    """Return the revisions in a packet's folder that were made from it, by their records.

    One names its parent by file and by the digest of its record, and either will do: the packet itself may
    be changed past reading, or be gone. `new` are the bytes of a packet that is to take its name: those for
    which it is the very parent are left out.
    """
    (own,) = _records([packet]) if packet.is_file() else (None,)
    fresh = attached(new, record.NAME) if new is not None else None
    found = []
    for other, said, _ in _others(packet):
        parent = said.get("parent") or {}
        wanted = parent.get("record")
        ours = _named(parent).casefold() == packet.name.casefold() or (own is not None and wanted == own[1])
        if ours and (fresh is None or wanted != record.digest(fresh)):
            found.append(other)
    return tuple(found)


def parent_of(packet: Path, kept: Mapping[str, Any]) -> Parent | None:
    """Return what became of the parent that a packet's record names, looked for beside it; None for none."""
    named = kept.get("parent")
    if not named:
        return None
    name, wanted = _named(named), str(named.get("record", ""))
    beside = packet.with_name(name) if name else packet
    moved = next((other for other, _, digest in _others(packet) if digest == wanted), None)
    if moved is None and (beside == packet or not beside.is_file()):
        return Parent("missing", tell("lineage.missing", name=name))
    if moved is None:
        return _in_its_place(beside)
    place = "beside" if moved == beside else "renamed"
    if changes := _changes(moved):
        what = tell(f"lineage.{place}.changed", name=moved.name, changes=first_of(changes))
        return Parent("changed", what)
    return Parent("intact", tell(f"lineage.{place}.intact", name=moved.name))


def _in_its_place(beside: Path) -> Parent:
    """Say what has the name of a parent that is nowhere beside its child."""
    if _record_apart(beside) is None:
        return Parent("changed", tell("lineage.unreadable", name=beside.name))
    return Parent("another", tell("lineage.another", name=beside.name))


def _named(parent: Mapping[str, Any]) -> str:
    return Path(str(parent.get("file", ""))).name


def _others(packet: Path) -> Iterator[tuple[Path, dict[str, Any], str]]:
    """Yield the other packets in a packet's folder, each with its record and that one's digest."""
    try:
        files = sorted(file for file in packet.parent.iterdir() if file.suffix.lower() == ".pdf")
    except OSError:
        return
    files = [file for file in files if not _same(file, packet) and file.is_file()]
    for file, found in zip(files, _records(files), strict=True):
        if found is not None:
            yield file, *found


def _records(files: Sequence[Path]) -> Sequence[tuple[dict[str, Any], str] | None]:
    """Return what `_record` does of each file. They may be anybody's, and one must not hide the others."""
    if not files:
        return ()
    try:
        return apart(files[0].parent, _each_record, files)
    except InputError:
        return [_record_apart(file) for file in files]


def _each_record(files: Sequence[Path]) -> Sequence[tuple[dict[str, Any], str] | None]:
    return [_record(file) for file in files]


def _record_apart(file: Path) -> tuple[dict[str, Any], str] | None:
    try:
        return apart(file, _record, file)
    except InputError:
        return None


def _same(file: Path, other: Path) -> bool:
    """Tell whether two names in a folder are one file, as on a disk that folds case."""
    try:
        return file.name == other.name or file.samefile(other)
    except OSError:
        return False


def _record(file: Path) -> tuple[dict[str, Any], str] | None:
    """Return a packet's record and its digest; None where there is no packet that can be read.

    Only the one attachment is looked at, so that a folder of hundreds is looked through in a second.
    """
    try:
        raw = attached(form.load(file), record.NAME)
        return None if raw is None else (record.decoded(raw), record.digest(raw))
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
