"""Dropleaf as it is installed: the one name that it adds to an environment.

`geometry`, `sheets` and `fonts` lie inside this folder, because other projects bear those names too. They are
put first on the path of this program's own process, so that its modules find each other and nobody else's.
"""

import sys
from pathlib import Path

_HERE = Path(__file__).parent
_INSIDE = (_HERE / "sheets").is_dir()


def program() -> int:
    """Run the process's own command line and return its exit status."""
    if _INSIDE and str(_HERE) not in sys.path:
        sys.path.insert(0, str(_HERE))
    from sheets.cli import program as run

    return run()
