"""Where the builder's own things are kept between runs: printers, tables, operations, pull history.

The folder is the system's own place for a program's settings, or the one that DROPLEAF_HOME names. Nothing
is read from there or written there but what the builder put in by a command or by hand. geometry/ never
looks there.
"""

import contextlib
import hashlib
import os
import shutil
import tempfile
from collections.abc import Iterator
from pathlib import Path

from geometry.core.errors import DeliveryError
from geometry.core.say import say
from sheets.files.write.deliver import staging

HOME = "DROPLEAF_HOME"
"""The environment variable that names another folder."""


NOWHERE = Path("/nowhere/dropleaf") if os.name == "posix" else Path("nowhere:/dropleaf")
"""Stands for the builder's folder where the system knows of no home, as in a container: nothing is there."""
PATIENCE = 20.0
"""Seconds for which a run waits for another to be done there: a change takes a hundredth of that."""


def home() -> Path:
    """Return the folder of the builder's own files; it need not exist yet."""
    named = os.environ.get(HOME)
    if named:
        return Path(named).expanduser()
    # Loading the library takes longer than asking the environment.
    from platformdirs import user_config_path

    try:
        return user_config_path("dropleaf", appauthor=False, roaming=False)
    except RuntimeError:
        return NOWHERE


@contextlib.contextmanager
def alone(place: Path | None = None) -> Iterator[None]:
    """Keep every other run from changing the builder's own files, or a `place`, until the block ends.

    What is kept is read, changed and written whole, so that of two runs at once one would undo what the other
    was told is done. Raise DeliveryError where another run is not done in PATIENCE. What is held is an empty
    file among the system's temporary ones, named for the place: nothing of ours lies among the builder's.
    Where none can be held the block runs all the same.
    """
    # Loading the library takes longer than reading a file, and files are mostly read.
    from filelock import FileLock, Timeout

    folder = os.path.realpath(place or home())
    name = hashlib.sha256(os.fsencode(os.path.normcase(folder))).hexdigest()[:16]
    file = Path(tempfile.gettempdir(), f"dropleaf-{name}.lock")
    with contextlib.ExitStack() as held:
        try:
            held.enter_context(FileLock(file, timeout=PATIENCE, is_singleton=True))
        except Timeout as error:
            raise DeliveryError.at(folder, say("own.file.held", seconds=PATIENCE)) from error
        except (OSError, NotImplementedError):
            pass
        yield


def put(where: Path, text: str, code: str = "own.file.elsewhere") -> None:
    """Put one of the builder's own files in place whole or not at all; raise DeliveryError as `staging`.

    `code` is the sentence that says what else to do, since there is no --out here.
    """
    if where.parent == NOWHERE:
        raise DeliveryError.at("", say("own.file.no_home", home=HOME))
    # A builder may keep the file elsewhere, and have a link here.
    where = Path(os.path.realpath(where))
    with staging(where.parent, say(code, home=HOME)) as stage:
        new = stage / where.name
        new.write_text(text, encoding="utf-8", newline="")
        if where.exists():
            shutil.copymode(where, new)
