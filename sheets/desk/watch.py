"""What is known of a folder, kept by content: looked at on asking, worked out in the background.

Findings and packets take processes of their own, which stand back behind whatever a page waits for. What is
not known yet is told as not known; the page asks again.
"""

import contextlib
import functools
import os
import threading
from collections.abc import Callable, Sequence
from pathlib import Path

from geometry.core.errors import DropleafError
from geometry.core.frozen import dataclass
from geometry.core.say import named
from sheets.actions.workers import Answer, Task, cores, in_order
from sheets.desk.folder import (
    Frame,
    Judged,
    Packet,
    Stamp,
    frame_of,
    home_stamp,
    judged,
    packets,
    stamp,
)
from sheets.desk.proven import ENDING
from sheets.desk.state import Desk, drafts_of
from sheets.files.apart import apart
from sheets.words.tell import lines, tell

_AT_ONCE = 12
"""PDFs that are read in one child: it has twenty seconds, and a packet takes a quarter of one."""

_CALMER = 10
"""How far work in the background stands behind a page that is waited for, as nice counts."""


@dataclass(frozen=True, slots=True)
class Row:
    """A job of the folder with what is known: None is not known yet, and packets are not all known."""

    frame: Frame
    judged: Judged | None
    packets: tuple[Packet, ...]
    reading: bool

    @property
    def busy(self) -> bool:
        """Tell whether something is still being worked out."""
        return self.reading or (self.judged is None and not self.frame.problems)


@dataclass(frozen=True, slots=True)
class Glance:
    """All of a folder: its jobs, packets of frames that have no job here, and what leads out of it."""

    rows: tuple[Row, ...]
    others: tuple[Packet, ...]
    outside: tuple[str, ...]
    reading: bool

    @property
    def busy(self) -> bool:
        """Tell whether something is still being worked out."""
        return self.reading or any(each.busy for each in self.rows)


class Watch:
    """A folder's jobs and packets, each worked out once for what it holds."""

    def __init__(self, desk: Desk) -> None:
        """Know nothing yet."""
        self._desk = desk
        self._lock = threading.Lock()
        self._frames: dict[str, tuple[Stamp, Frame | None]] = {}
        self._judged: dict[str, Judged] = {}
        self._packets: dict[str, tuple[Stamp, Packet]] = {}
        self._wanted: dict[str, Path] = {}
        self._unread: dict[Path, Stamp] = {}
        self._thread: threading.Thread | None = None
        self._ended = False

    def glance(self) -> Glance:
        """Return what is known now, and have what is not worked out."""
        with self._lock:
            jobs, pdfs, outside = self._files()
            kept, drawings = home_stamp(), self._drawings()
            frames = [each for file in jobs if (each := self._frame(file, kept, drawings)) is not None]
            keys = {each.key for each in frames}
            self._frames = {each.name: self._frames[each.name] for each in jobs}
            self._wanted = {
                each.key: self._desk.folder / each.file
                for each in frames
                if each.key and each.key not in self._judged
            }
            self._judged = {key: each for key, each in self._judged.items() if key in keys}
            stamps = {file: stamp(file) for file in pdfs}
            known = {
                file.name: self._packets[file.name]
                for file, now in stamps.items()
                if file.name in self._packets and self._packets[file.name][0] == now
            }
            self._packets = known
            self._unread = {file: now for file, now in stamps.items() if file.name not in known}
            self._begin()
            found = [packet for _, packet in known.values() if packet.kind == "packet"]
            return _put_together(frames, self._judged, found, bool(self._unread), tuple(outside))

    def end(self) -> None:
        """Work nothing out any more."""
        self._ended = True

    def _files(self) -> tuple[list[Path], list[Path], list[str]]:
        jobs: list[Path] = []
        pdfs: list[Path] = []
        outside: list[str] = []
        for file in sorted(self._desk.folder.iterdir()):
            if file.suffix.lower() not in (".toml", ".pdf") or file.name.startswith("."):
                continue
            try:
                inside = self._desk.path(file.name)
            except DropleafError:
                outside.append(file.name)
                continue
            if not inside.is_file():
                continue
            if file.suffix.lower() == ".pdf":
                pdfs.append(inside)
            elif file.suffix == ".toml" or _same(inside, inside.with_suffix(".toml")):
                # Where the disk folds case, a job of any capitals is found by the name that pages have.
                jobs.append(inside.with_suffix(".toml"))
        return list(dict.fromkeys(jobs)), pdfs, outside

    def _frame(self, file: Path, kept: Stamp, drawings: Stamp) -> Frame | None:
        typed_in: Path | None = None
        with contextlib.suppress(DropleafError):
            # A link that leads out of the folder is not followed.
            typed_in = self._desk.path(f"{file.stem}{ENDING}")
        beside = (*drafts_of(file), *([typed_in] if typed_in else []))
        now = (stamp(file), kept, *map(stamp, beside), drawings)
        known = self._frames.get(file.name)
        if known is None or known[0] != now:
            known = self._frames[file.name] = (now, frame_of(file, kept, typed_in))
        return known[1]

    def _drawings(self) -> Stamp:
        """Return what drawings of dropouts are known by: a job may name one."""
        suffixes = (".svg", ".dxf")
        files = (each for each in self._desk.folder.iterdir() if each.suffix.lower() in suffixes)
        return tuple(sorted(stamp(each) for each in files))

    def _begin(self) -> None:
        if (self._wanted or self._unread) and (self._thread is None or not self._thread.is_alive()):
            self._thread = threading.Thread(target=self._work, daemon=True)
            self._thread.start()

    def _work(self) -> None:
        """Work out what is wanted until nothing is; a batch that is given up takes its processes along."""
        while not self._ended:
            with self._lock:
                unread = dict(list(self._unread.items())[:_AT_ONCE])
                wanted = list(self._wanted.values())
                if not unread and not wanted:
                    self._thread = None
                    return
            if unread:
                self._keep_packets(unread, _read(tuple(unread)))
                continue
            with contextlib.suppress(KeyboardInterrupt):
                work = functools.partial(_calmly, judged)
                coming = in_order(work, wanted, cores(), here=False, given_up=self._turned, broke=_gone)
                for each, key in zip(coming, self._wanted_keys(wanted), strict=True):
                    self._keep(key, each)

    def _turned(self) -> bool:
        """Tell whether there is something else to do: packets take less time than findings."""
        return self._ended or bool(self._unread)

    def _wanted_keys(self, files: Sequence[Path]) -> list[str]:
        with self._lock:
            by_file = {file: key for key, file in self._wanted.items()}
        return [by_file.get(file, "") for file in files]

    def _keep(self, key: str, each: Judged) -> None:
        with self._lock:
            # A job that changed meanwhile is asked for again by its new content.
            self._judged[each.key or key] = each
            self._wanted.pop(key, None)

    def _keep_packets(self, unread: dict[Path, Stamp], found: Sequence[Packet]) -> None:
        with self._lock:
            for (file, now), packet in zip(unread.items(), found, strict=True):
                self._packets[file.name] = (now, packet)
                self._unread.pop(file, None)


def _same(file: Path, other: Path) -> bool:
    """Tell whether two names in a folder are one file."""
    return other.is_file() and file.samefile(other)


_calm: list[int] = []


def _calmly(work: Callable[[Task], Answer], task: Task) -> Answer:
    """Return work(task), letting whoever waits at a page go first: for a child, which stays so."""
    if not _calm and hasattr(os, "nice"):
        _calm.append(os.nice(_CALMER))
    return work(task)


def _gone(_: Path) -> Judged:
    """Return what is known of a job whose process was taken away twice; it is not tried for ever."""
    return Judged("", problems=(tell("desk.worker_gone"),))


def _read(files: tuple[Path, ...]) -> tuple[Packet, ...]:
    """Return what PDFs are; one that breaks its reader does not take the others along."""
    with contextlib.suppress(DropleafError):
        return apart(files[0].parent, _calmly, packets, files)
    found: list[Packet] = []
    for file in files:
        try:
            found += apart(file.name, _calmly, packets, (file,))
        except DropleafError as error:
            found.append(Packet(file.name, "packet", problem=lines(error)[0]))
    return tuple(found)


def _put_together(
    frames: Sequence[Frame],
    known: dict[str, Judged],
    found: Sequence[Packet],
    reading: bool,
    outside: tuple[str, ...],
) -> Glance:
    rows = []
    ids = {each.id for each in frames if each.id}
    for frame in frames:
        own = [each for each in found if each.frame and each.frame == frame.id]
        own.sort(key=lambda each: (-each.revision, each.file))
        rows.append(Row(frame, known.get(frame.key), tuple(own), reading))
    others = tuple(each for each in found if each.frame not in ids)
    return Glance(tuple(rows), others, outside, reading)


def proven(packet: Packet, frame: Frame | None) -> bool:
    """Tell whether a packet's bars are proven: filled in on it, or noted when a ruler was laid on them."""
    return packet.proven or (frame is not None and packet.seal in frame.proven)


def states(packet: Packet, frame: Frame | None) -> list[str]:
    """Return, in words, what became of a packet since it was drawn."""
    if packet.problem:
        return [packet.problem]
    said = []
    if frame is not None and packet.job:
        same = frame.job.startswith(packet.job)
        # A revision is made later than its sheets were drawn: they are what is older than the job.
        older = tell("desk.packet.older_sheets" if packet.revision > 1 else "desk.packet.older")
        said.append(tell("desk.packet.drawn") if same else older)
    else:
        said.append(tell("desk.packet.no_job"))
    said.append(tell("desk.packet.proven" if proven(packet, frame) else "desk.packet.unproven"))
    if packet.filled:
        said.append(tell("desk.packet.filled"))
    if packet.survey:
        word = tell(f"survey.word.{packet.survey}")
        said.append(tell("desk.packet.surveyed", verdict=word, point=named(packet.point)))
    return said
