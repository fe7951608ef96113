"""Where the builder's own things are kept between runs: printers, tables, operations, pull history.

The folder is the system's own place for a program's settings, or the one that DROPLEAF_HOME names. Nothing
is read from there or written there but what the builder put in by a command or by hand. geometry/ never
looks there.
"""

import os
from pathlib import Path

from geometry.core.say import say
from sheets.files.write.deliver import staging

HOME = "DROPLEAF_HOME"
"""The environment variable that names another folder."""


def home() -> Path:
    """Return the folder of the builder's own files; it need not exist yet."""
    named = os.environ.get(HOME)
    if named:
        return Path(named).expanduser()
    # Loading the library takes longer than asking the environment.
    from platformdirs import user_config_path

    return user_config_path("dropleaf", appauthor=False, roaming=False)


def put(where: Path, text: str, code: str = "own.file.elsewhere") -> None:
    """Put one of the builder's own files in place whole or not at all; raise DeliveryError as `staging`.

    `code` is the sentence that says what else to do, since there is no --out here.
    """
    with staging(where.parent, say(code, home=HOME)) as stage:
        (stage / where.name).write_text(text, encoding="utf-8", newline="")
