"""Files that somebody gives, read no further than they may be large; what is wrong is led by the file."""

import contextlib
import os
import stat
import sys
from collections.abc import Iterator
from pathlib import Path

from geometry.core.errors import DropleafError, InputError
from geometry.core.say import Say, say
from sheets.files.sets import recover
from sheets.words.tell import nearest

LARGEST = 256_000
"""Bytes in the largest text that is read where nothing else is said: jobs, readings, the builder's tables."""
NO_FILE = say("files.no_such_file")


def read_bytes(
    file: Path,
    usual: Say | str,
    largest: int = LARGEST,
    *,
    missing: Say | str | None = NO_FILE,
    folder: Say | str = "",
    pdf: Say | str = "",
    instead: Say | str = "",
) -> bytes:
    """Return a file's bytes; raise InputError, led by the file, where it cannot be read or is too large.

    `usual` says beside the largest size how large such a file is, or what to do. With `missing` None a file
    that is not there has no bytes, else that is said of it. `folder` and `pdf` say what to give in place of
    one, `instead` what else to do where it cannot be read.
    """
    with blaming(file):
        try:
            if folder and file.is_dir():
                raise InputError.at("", say("files.a_folder", folder=folder))
            # A set that a dead run left half in place is finished or undone before any of it is read.
            recover(file.parent)
            raw = _plain_bytes(file, largest + 1)
        except FileNotFoundError as error:
            if missing is None:
                return b""
            raise InputError.at("", say("files.missing", what=missing, hint=_sibling(file))) from error
        except PermissionError as error:
            raise InputError.at("", say("files.no_permission", instead=instead)) from error
        except (OSError, ValueError) as error:
            reason = getattr(error, "strerror", None) or str(error)
            raise InputError.at("", say("files.unreadable", reason=reason, instead=instead)) from error
        check(raw, usual, largest, pdf)
    return raw


def standard_input(usual: Say | str, pdf: Say | str = "") -> bytes:
    """Return what standard input holds; raise InputError, led by nothing, for nothing or as `check` does."""
    raw = sys.stdin.buffer.read(LARGEST + 1)
    if not raw.strip():
        raise InputError.at("", say("files.nothing_came"))
    check(raw, usual, pdf=pdf)
    return raw


def is_file(file: Path) -> bool:
    """Tell whether a name is a file's; one that cannot be looked at, such as a link's to nowhere, is none."""
    with contextlib.suppress(OSError):
        return file.is_file()
    return False


def leads_out(file: Path, *folders: Path) -> bool:
    """Tell whether a file, its links followed, lies in none of some folders.

    What names a file may be a stranger's, and must not have any file of the reader's opened by a link.
    """
    real = Path(os.path.realpath(file))
    return not any(real.is_relative_to(os.path.realpath(each)) for each in folders)


def _plain_bytes(file: Path, most: int) -> bytes:
    """Return at most so many of a plain file's bytes; raise InputError, led by nothing, for what is none.

    A pipe may wait for ever and a device never end. Neither is opened in a way that waits, and what is asked
    is the file that was opened, not its name, which may stand for another by then.
    """
    # Windows has no such flag, and no pipes among its files; it would change line ends without the other.
    flags = os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0)
    with open(file, "rb", opener=lambda name, _: os.open(name, flags)) as stream:
        if kind := _special(os.fstat(stream.fileno()).st_mode):
            raise InputError.at("", say("files.special", kind=say(kind)))
        return stream.read(most)


def _special(mode: int) -> str:
    """Return what a file is that is neither plain nor a folder, "" for those two."""
    if stat.S_ISFIFO(mode):
        return "files.special_kind.fifo"
    if stat.S_ISSOCK(mode):
        return "files.special_kind.socket"
    return "files.special_kind.device" if stat.S_ISCHR(mode) or stat.S_ISBLK(mode) else ""


def check(raw: bytes, usual: Say | str, largest: int = LARGEST, pdf: Say | str = "") -> None:
    """Raise InputError, led by nothing, for bytes that are too many or a PDF, as `read_bytes` does."""
    if pdf and raw.startswith(b"%PDF"):
        raise InputError.at("", say("files.a_pdf", instead=pdf))
    if len(raw) > largest:
        size = f"{largest // 1_000_000} MB" if largest >= 1_000_000 else f"{largest // 1000} kB"
        raise InputError.at("", say("files.too_large", fault=say("files.larger", size=size), usual=usual))


def decoded(raw: bytes, code: str) -> str:
    """Return the text in some bytes; raise InputError, led by the line, with the sentence of `code`."""
    try:
        # Editors on Windows may put a byte order mark first.
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = raw.count(b"\n", 0, error.start) + 1
        raise InputError.at(
            say("files.line", line=line), say(code, byte=f"0x{raw[error.start]:02x}")
        ) from error


@contextlib.contextmanager
def blaming(file: Path | str) -> Iterator[None]:
    """Put the file's name before every problem that the block raises."""
    try:
        yield
    except DropleafError as error:
        raise type(error)(*(problem.under(str(file)) for problem in error.problems)) from error


def _sibling(file: Path) -> str:
    """Return a hint at a file of nearly that name and of its kind in the same folder; most are TOML."""
    kind = file.suffix if file.suffix in (".csv", ".pdf") else ".toml"
    try:
        return nearest(file.name, (other.name for other in file.parent.glob(f"*{kind}")))
    except (OSError, ValueError):
        return ""
