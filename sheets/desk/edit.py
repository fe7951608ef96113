"""A job file and what was changed of it since: the file on disk is the only state, and a draft beside it.

Every answer is kept in the draft at once (NAME.changes, which `start` goes on with too), a text that was
edited by hand as a whole (NAME.edited). The draft says by a digest which file it was made to: where that has
changed meanwhile, nothing is written before somebody has said what counts. A text replaces all of a draft, so
that it brings the digest of the draft that it was typed over too. Whoever changes anything holds the frame's
lock, and compares digests while holding it, so that two pages lose nothing of each other.
"""

import contextlib
import threading
from collections import OrderedDict
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import field, replace
from pathlib import Path

from geometry.core.errors import DropleafError, InputError
from geometry.core.frozen import dataclass
from geometry.core.say import say
from sheets.desk.state import drafts_of
from sheets.files.bounded import LARGEST
from sheets.files.record import digest
from sheets.files.write.deliver import staging
from sheets.guide.changing import changes_between, with_changes
from sheets.guide.changing import write as put_in_place
from sheets.guide.draft import begun_from, changes_in, keep_changes, take_away
from sheets.guide.entries import set_by_key
from sheets.home import folder
from sheets.home.toml_file import document_of, text_of

_KEPT = 16
"""Texts that are remembered, so that a long list of changes is not put in anew for every answer."""


@dataclass(frozen=True, slots=True)
class Now:
    """A job as it stands: its `file` with the text and digest there, and the `text` with all changes in it.

    `begun` is the digest of the file that the draft was made to, "" without a draft that says it. `stale`
    says why a change that was asked for was not made: "file" or "draft" is another one than was seen. A draft
    that cannot be put on its file is `broken`: `text` is then the file's, and the draft lies as it did.
    """

    file: Path
    filed: str
    digest: str
    text: str
    begun: str
    stale: str = ""
    broken: DropleafError | None = None

    @property
    def draft(self) -> str:
        """Return the digest of the text with all changes: a page says by it which draft it has seen."""
        return digest(self.text.encode())

    @property
    def changed(self) -> bool:
        """Return whether anything is kept that is not in the file."""
        return self.broken is not None or self.text != self.filed

    @property
    def conflict(self) -> bool:
        """Return whether the file is another one than the draft was made to, or cannot take it."""
        return self.broken is not None or (bool(self.begun) and self.begun != self.digest)


@dataclass(slots=True)
class _Known:
    """Texts by what they were made of, the oldest going first, and a lock a file."""

    texts: OrderedDict[tuple[str, ...], str] = field(default_factory=OrderedDict)
    locks: dict[Path, threading.RLock] = field(default_factory=dict)
    lock: threading.Lock = field(default_factory=threading.Lock)


_known = _Known()


@contextlib.contextmanager
def alone(file: Path) -> Iterator[None]:
    """Let no page of this desk and no other run change a job's file or draft meanwhile."""
    with _known.lock:
        own = _known.locks.setdefault(file, threading.RLock())
    with own, folder.alone(file):
        yield


def now(file: Path) -> Now:
    """Return a job as it stands; raise InputError where its file cannot be read.

    Each is put in place whole, so that whoever only looks waits for nobody: a draft that goes meanwhile was
    written or thrown away, and all is read anew.
    """
    there = [each for each in drafts_of(file) if each.is_file()]
    filed = text_of(file, say("job.usual_size"), must_be=True)
    try:
        text, begun = _drafted(file, filed, there)
    except (FileNotFoundError, DropleafError) as error:
        if not all(each.is_file() for each in there):
            return now(file)
        if isinstance(error, FileNotFoundError):
            raise
        return Now(file, filed, digest(filed.encode()), filed, "", broken=error)
    return Now(file, filed, digest(filed.encode()), text, begun)


def _drafted(file: Path, filed: str, there: Sequence[Path]) -> tuple[str, str]:
    """Return a file's text with those of its drafts that are there, and the digest that they began with."""
    text, begun = filed, ""
    edited, kept = drafts_of(file)
    if edited in there:
        begun, text = _whole_in(edited)
        document_of(edited, text)
    if kept in there:
        begun = begun_from(kept)
        text = _remembered(file, text, changes_in(kept))
    return text, begun


def drafted(file: Path) -> str:
    """Return what lies beside a file as its draft, as it lies there, as far as it would be read."""
    found = []
    for each in drafts_of(file):
        with contextlib.suppress(OSError), each.open("rb") as draft:
            found.append(draft.read(LARGEST).decode("utf-8", errors="replace"))
    return "\n".join(found)


def _remembered(file: Path, base: str, changes: Mapping[str, str]) -> str:
    key = _key(file, base, changes)
    text = _known.texts.get(key)
    if text is None:
        text = with_changes(file, base, changes)
        _remember(key, text)
    return text


def _key(file: Path, base: str, changes: Mapping[str, str]) -> tuple[str, ...]:
    return (str(file), base, *(f"{name}\0{value}" for name, value in changes.items()))


def _remember(key: tuple[str, ...], text: str) -> None:
    _known.texts[key] = text
    while len(_known.texts) > _KEPT:
        _known.texts.popitem(last=False)


def answered(file: Path, seen: str, read: Callable[[Now], tuple[str, str]]) -> Now:
    """Keep one answer in the draft and return the job with it; raise InputError where it is refused.

    `read` gives key and answer as they are kept in the job as it stands. The job comes back stale, and
    nothing is kept, where its file is another one than was `seen`, by its digest.
    """
    with alone(file):
        was = now(file)
        if was.conflict or was.digest != seen:
            return replace(was, stale="file")
        key, answer = read(was)
        return _keep(was, set_by_key(file, was.text, key, answer))


def edited(file: Path, text: str, seen: str, draft: str) -> Now:
    """Keep a text that was edited by hand; raise InputError where it is no TOML.

    The job comes back stale, and nothing is kept, where its file is another one than was `seen`, or its draft
    another one than the `draft` that was edited, both by their digests.
    """
    with alone(file):
        document_of(file, text)
        was = now(file)
        if was.conflict or was.digest != seen:
            return replace(was, stale="file")
        if was.draft != draft and was.text != text:
            return replace(was, stale="draft")
        return _keep(was, text, by_hand=True)


def _keep(was: Now, text: str, by_hand: bool = False) -> Now:
    """Keep a text beside its file: by key where that gives this very text, else as a whole."""
    file, (whole, _) = was.file, drafts_of(was.file)
    base, begun = was.filed, was.begun or was.digest
    _readable(whole, f"{begun}\n{text}")
    if by_hand and not _same(file, base, text):
        _keep_whole(whole, begun, text)
        base = text
    elif by_hand:
        take_away(whole)
    elif whole.is_file():
        _, base = _whole_in(whole)
    changes = changes_between(file, base, text)
    if changes:
        _remember(_key(file, base, changes), text)
    keep_changes(file, changes, begun)
    return now(file)


def _whole_in(edited: Path) -> tuple[str, str]:
    """Return the digest of the file that a text was edited from, and the text; InputError without them."""
    begun, _, text = text_of(edited, say("job.usual_size"), must_be=True).partition("\n")
    return begun, text


def _keep_whole(edited: Path, begun: str, text: str) -> None:
    with staging(edited.parent) as stage:
        (stage / edited.name).write_text(f"{begun}\n{text}", encoding="utf-8", newline="")


def _readable(file: Path, text: str) -> None:
    """Raise InputError for a text that is too large to be read again once it is put in place."""
    if len(text.encode()) > LARGEST:
        raise InputError.at(str(file), say("own.file.too_large", most=LARGEST // 1000))


def _same(file: Path, base: str, text: str) -> bool:
    """Tell whether the changes by key make this very text, so that they may be kept in its stead."""
    try:
        return with_changes(file, base, changes_between(file, base, text)) == text
    except DropleafError:
        return False


def written(file: Path, seen: str) -> Now:
    """Write the draft into the file, which must be the one that was `seen`, by its digest.

    Return the job as it stands: in conflict, and nothing written, where the file is another one.
    """
    with alone(file):
        was = now(file)
        if was.conflict or was.digest != seen:
            return replace(was, stale="file")
        if was.changed:
            _readable(file, was.text)
            put_in_place(file, was.filed, was.text)
        _drop(file)
        return now(file)


def settled(file: Path, mine: bool, seen: str, text: str | None = None) -> Now:
    """Settle a conflict with the file whose digest was `seen`: `mine` keeps the draft, made to that file now.

    A `text` that was edited by hand is what is mine in the draft's stead. Else the draft goes. Where the file
    has changed once more, the conflict stays. Raise InputError for a text that is no TOML.
    """
    with alone(file):
        was = now(file)
        if was.digest != seen:
            return replace(was, stale="file")
        if mine and text is not None:
            document_of(file, text)
            return _keep(replace(was, begun=was.digest), text, by_hand=True)
        if not mine:
            _drop(file)
            return now(file)
        if was.broken:
            raise was.broken
        whole, _ = drafts_of(file)
        if whole.is_file():
            _keep_whole(whole, was.digest, was.text)
            keep_changes(file, {})
        elif was.changed:
            keep_changes(file, changes_between(file, was.filed, was.text), was.digest)
        else:
            _drop(file)
        return now(file)


def _drop(file: Path) -> None:
    for each in drafts_of(file):
        take_away(each)
