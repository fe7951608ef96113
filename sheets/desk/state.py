"""What a running desk knows: its folder, its address, and what whoever asks must bring."""

import os
from dataclasses import field
from pathlib import Path

from geometry.core.errors import InputError
from geometry.core.frozen import dataclass
from geometry.core.say import say
from sheets.desk.door import Door, secret
from sheets.guide.draft import CHANGES, ENDING

LOOPBACK = "127.0.0.1"
"""The one address that is served."""
_NO_NAME = set("/\\:\0" if os.name == "nt" else "/\\\0")
"""Signs that lead to another folder, disk or stream."""
_LONGEST = 255
"""Bytes in the longest file name that common file systems take."""
_DRAFTS = (".edited", CHANGES)
"""Endings of what is kept beside a job until it is written: a text edited by hand, and changes by key."""
_BESIDE = (*_DRAFTS, ENDING)


@dataclass(frozen=True, slots=True)
class Desk:
    """A folder served at a port. `token` lets a browser in, which then brings `session`.

    `door` is for the browser that the desk starts itself.
    """

    folder: Path
    port: int
    token: str = field(default_factory=secret, repr=False)
    session: str = field(default_factory=secret, repr=False)
    door: Door = field(default_factory=Door, repr=False)

    @property
    def host(self) -> str:
        """Return what a request's Host must be."""
        return f"{LOOPBACK}:{self.port}"

    @property
    def origin(self) -> str:
        """Return where every request that changes something must come from."""
        return f"http://{self.host}"

    @property
    def address(self) -> str:
        """Return the address that opens the desk in any browser, as often as it is typed; it is printed."""
        return f"{self.origin}/?token={self.token}"

    @property
    def opening(self) -> str:
        """Return the address that a browser is started with, where others may read it; it opens once."""
        return f"{self.origin}/?token={self.door.key}"

    @property
    def cookie(self) -> str:
        """Return the cookie's name: a browser has one jar for all ports of a machine."""
        return f"dropleaf-{self.port}"

    def job_path(self, name: str) -> Path:
        """Return the job file of a name, there or not; raise InputError for a name that leads elsewhere.

        So does what is kept beside it.
        """
        for ending in _BESIDE:
            self.path(f"{name}{ending}")
        return self.path(f"{name}.toml")

    def path(self, name: str) -> Path:
        """Return a file that lies, or may lie, in the folder by its whole name.

        Raise InputError for a name that is no plain file's name or too long for one, and for a link that
        leads out of the folder.
        """
        plain = bool(name) and not name.startswith(".") and not _NO_NAME & set(name) and name.isprintable()
        if plain and (length := len(name.encode())) > _LONGEST:
            raise InputError.at(f"{name[:40]}...", say("desk.long_name", length=length, most=_LONGEST))
        file = self.folder / name
        if not plain or not Path(os.path.realpath(file)).is_relative_to(os.path.realpath(self.folder)):
            raise InputError.at(name, say("desk.elsewhere"))
        return file


def drafts_of(file: Path) -> tuple[Path, Path]:
    """Return where a job file's text that was edited by hand, and changes on top of it, lie until written."""
    edited, changes = (file.with_suffix(ending) for ending in _DRAFTS)
    return edited, changes


def begun(file: Path) -> bool:
    """Tell whether there are changes of a job file that it has not yet."""
    return any(each.exists() for each in drafts_of(file))
