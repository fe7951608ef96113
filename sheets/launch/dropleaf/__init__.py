"""Dropleaf as it is installed: the one name that it adds to an environment.

`geometry`, `sheets` and `fonts` lie inside this folder, because other projects bear those names too. They are
put first on the path of this program's own process, so that its modules find each other and nobody else's.
"""

import os
import sys

_HERE = os.path.dirname(__file__)  # noqa: PTH120 - nothing is loaded before an interrupt can be heard.
_INSIDE = os.path.isdir(os.path.join(_HERE, "sheets"))  # noqa: PTH112, PTH118


def program() -> int:
    """Run the process's own command line and return its exit status."""
    if _INSIDE and _HERE not in sys.path:
        sys.path.insert(0, _HERE)
    from sheets import interrupts

    interrupts.hold()

    from sheets.cli import program as run

    return run()
