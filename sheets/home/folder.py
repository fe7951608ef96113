"""Where the builder's own things are kept between runs: printers, tables, operations, pull history.

The folder is the system's own place for a program's settings, or the one that DROPLEAF_HOME names. Nothing
is read from there or written there but what the builder put in by a command or by hand. geometry/ never
looks there.
"""

import os
from pathlib import Path

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
