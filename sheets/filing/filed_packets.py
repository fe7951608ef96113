"""All packets in a folder: which are changed, and which a later change of a table's number affects."""

import functools
from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path
from typing import Any

from geometry.core.errors import DropleafError, InputError, NoPacketError
from geometry.core.frozen import dataclass
from geometry.core.say import say
from geometry.survey.recall import Recall
from sheets.files import kinds, record, sets
from sheets.files.apart import each_apart
from sheets.files.bounded import is_file
from sheets.filing.verify import (
    Packet,
    changed_tables,
    opened,
    parent_document,
    parent_line,
    placed,
    recall_document,
    recall_lines,
    recall_of,
)
from sheets.keeping.lineage import Parent, parent_of, read_beforehand
from sheets.setup.tables_used import Change
from sheets.words.tell import lines, tell


@dataclass(frozen=True, slots=True)
class Affected:
    """A packet that rests on a number that changed, and what becomes of its job today, in words.

    `frame` is how its record names the frame; `recall` the numbers, since corrected, that drew its holes.
    """

    path: Path
    changes: tuple[Change, ...]
    today: tuple[str, ...]
    frame: str = ""
    recall: Recall | None = None


@dataclass(frozen=True, slots=True)
class Found:
    """What a folder holds: how many packets, other PDFs, those affected, changed, or not to be read.

    `pages` are ours that are no packets, by kind; `orphans` the revisions whose parent is not as it was, or
    not there.
    """

    packets: int
    others: int
    pages: Mapping[str, int]
    affected: tuple[Affected, ...]
    changed: tuple[tuple[Path, tuple[str, ...]], ...]
    unreadable: tuple[str, ...]
    orphans: tuple[tuple[Path, Parent], ...]

    @property
    def recalled(self) -> tuple[Affected, ...]:
        """Return the packets whose holes were drawn by numbers that were wrong."""
        return tuple(each for each in self.affected if each.recall is not None)

    @property
    def status(self) -> int:
        """Return the exit status: 2 for a PDF that cannot be read, 1 for a packet changed or affected."""
        bad = self.affected or self.changed or not all(parent.good for _, parent in self.orphans)
        return 2 if self.unreadable else int(bool(bad))


def packets_in(folder: Path) -> list[Path]:
    """Return the PDFs in a folder and those below it, in order; raise InputError where there is none."""
    if not folder.is_dir():
        code = "verify.no_folder" if folder.exists() else "verify.folder_missing"
        raise InputError.at(f"--all: {folder}", say(code))
    for place in {file.parent for file in folder.rglob(f"{sets.PREFIX}*")}:
        sets.recover(place)
    # What a command is about to put there is nobody's packet.
    found = sorted(
        file
        for file in folder.rglob("*")
        if file.suffix.lower() == ".pdf"
        and is_file(file)
        and not any(map(sets.staged, file.relative_to(folder).parts))
    )
    if not found:
        raise InputError.at(f"--all: {folder}", say("verify.no_pdf"))
    return found


def look_through(files: Iterable[Path], at_once: int = 1) -> Found:
    """Return what is to be said of PDFs, so many of which are looked at at once.

    A job is placed again only where a number of its rows changed.
    """
    packets = others = 0
    pages: dict[str, int] = {}
    named: dict[Path, Mapping[str, Any]] = {}
    affected: list[Affected] = []
    changed: list[tuple[Path, tuple[str, ...]]] = []
    unreadable: list[str] = []
    for path, looked in each_apart(_looked_at, files, at_once):
        if isinstance(looked, NoPacketError):
            # A folder may well hold other PDFs, and nothing is wrong with those.
            if looked.kind:
                pages[looked.kind] = pages.get(looked.kind, 0) + 1
            else:
                others += 1
            continue
        if isinstance(looked, DropleafError):
            unreadable.append(lines(looked)[0])
            continue
        changes, kin, one = looked
        packets += 1
        if changes:
            changed.append((path, changes))
        if kin["parent"]:
            named[path] = kin
        if one is not None:
            affected.append(one)
    # Where holes were drawn wrong, somebody must look at a frame: those come first.
    affected.sort(key=lambda each: each.recall is None)
    orphans = []
    for path, parent in _parents(named, at_once):
        if isinstance(parent, DropleafError):
            unreadable.append(lines(parent)[0])
        elif parent is not None and parent.state != "intact":
            orphans.append((path, parent))
    return Found(packets, others, pages, tuple(affected), tuple(changed), tuple(unreadable), tuple(orphans))


def _parents(
    named: Mapping[Path, Mapping[str, Any]], at_once: int
) -> Iterator[tuple[Path, Parent | DropleafError | None]]:
    """Yield what became of each revision's parent, by what its record says of it.

    A parent is sought by its content in the whole folder, which is read once for all revisions there.
    """
    for folder in sorted({path.parent for path in named}):
        read_beforehand(folder)
    yield from each_apart(functools.partial(_parent, named), named, at_once)


def _parent(named: Mapping[Path, Mapping[str, Any]], path: Path) -> Parent | None:
    return parent_of(path, named[path])


def _looked_at(path: Path) -> tuple[tuple[str, ...], dict[str, Any], Affected | None]:
    """Return what changed in a packet, what it says of its parent, and what changed numbers do to it."""
    packet = opened(path)
    changes = tuple(record.changes(packet.seen, packet.record))
    return changes, {"parent": packet.record.get("parent")}, _affected(path, packet)


def _affected(path: Path, packet: Packet) -> Affected | None:
    """Return what later changes of its numbers do to a packet; None where they do nothing.

    A number that the tables have gained since is none that the packet rests on.
    """
    numbers = tuple(each for each in changed_tables(packet) if each.key and each.was is not None)
    if not numbers:
        return None
    return Affected(path, numbers, _today(packet), _frame(packet), recall_of(packet))


def _frame(packet: Packet) -> str:
    """Return the frame's id and name, as far as record and manifest tell."""
    try:
        name = str((packet.manifest or {})["job"]["frame"]["name"] or "")
    except (LookupError, TypeError):
        name = ""
    return f"{packet.record.get('frame') or ''} {name}".strip()


def _today(packet: Packet) -> tuple[str, ...]:
    differences, unplaced = placed(packet)
    if differences is None:
        return (unplaced,)
    if not differences:
        return (tell("verify.same_today"),)
    return tuple(each.sentence for each in differences)


def document(found: Found) -> dict[str, Any]:
    """Return the findings as JSON."""
    return {
        "packets": found.packets,
        "other_pdfs": found.others,
        "other_pages": dict(found.pages),
        "affected": [
            {
                "packet": str(each.path),
                "numbers": [
                    {"row": one.row, "key": one.key, "was": one.was, "now": one.now} for one in each.changes
                ],
                "today": list(each.today),
                "frame": each.frame,
                "recall": recall_document(each.recall),
            }
            for each in found.affected
        ],
        "changed": [{"packet": str(path), "changes": list(changes)} for path, changes in found.changed],
        "parents": [
            {"packet": str(path), **(parent_document(parent) or {})} for path, parent in found.orphans
        ],
        "unreadable": list(found.unreadable),
        "says": record.says(),
    }


def text(folder: Path, found: Found) -> str:
    """Return the findings in lines: what cannot be read, what changed, then what rests on each number."""
    counted = [_counted("packet", found.packets)]
    counted += [kinds.called(kind, number) for kind, number in found.pages.items()]
    counted += [_counted("other", found.others)] if found.others else []
    worst = [
        tell(f"verify.found.{what}", count=len(which))
        for what, which in (
            ("unreadable", found.unreadable),
            ("changed_since", found.changed),
            ("affected", found.affected),
            ("recalled", found.recalled),
        )
        if which or what == "affected"
    ]
    lines = [f"{folder}: {', '.join(counted)}; {', '.join(worst)}"]
    lines += [f"  {said}" for said in found.unreadable]
    for path, changes in found.changed:
        lines.append(f"  {tell('verify.file_changed', file=str(path))}")
        lines += [f"    {line}" for line in changes]
    lines += [f"  {path}: {parent_line(parent)}" for path, parent in found.orphans]
    for recall in dict.fromkeys(each.recall for each in found.recalled if each.recall):
        lines += [f"  {mark}: {line}" for mark, line in recall_lines(recall)]
        lines += [f"    {each.path}  {each.frame}" for each in found.recalled if each.recall == recall]
    by_number: dict[str, list[Affected]] = {}
    for each in found.affected:
        for change in each.changes:
            by_number.setdefault(change.sentence, []).append(each)
    for sentence, packets in by_number.items():
        lines.append(f"  {sentence}")
        lines += [f"    {each.path}" for each in packets]
    for each in found.affected:
        lines.append(f"  {tell('verify.file_today', file=str(each.path))}")
        lines += [f"    {line}" for line in each.today]
    return "\n".join([*lines, record.says()])


def _counted(what: str, count: int) -> str:
    return tell(f"verify.{what}.{'one' if count == 1 else 'many'}", count=count)
