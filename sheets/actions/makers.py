"""Which measured mounts are of one maker, as far as their reports say: makers, and not mounts, make grade M.

A maker is a name that somebody typed. Where two names may be one, they count as one: too few makers ask for
one more mount, too many make a grade that nobody measured.
"""

import difflib
import re
from collections.abc import Sequence

UNKNOWN = ""
"""The maker of every mount whose maker nobody knows: together they count as one."""
_NOBODY = frozenset(
    ("", "unknown", "unbranded", "noname", "notknown", "notsaid", "na", "none", "various", "own")
)
"""What people write for a maker that they do not know, as `_plain` makes it."""
_ALIKE = 0.8
"""Share of letters in order from which on two names may be one, misspelt: own judgement."""


def _plain(name: str) -> str:
    """Return a name by its letters and digits alone: capitals, blanks and hyphens tell no makers apart."""
    return re.sub(r"[\W_]+", "", name.casefold())


def makers(names: Sequence[str]) -> tuple[str, ...]:
    """Return for each mount the maker that it counts for: a name of the first that may be the same."""
    known: dict[str, str] = {}
    found = []
    for name in names:
        plain = _plain(name)
        if plain in _NOBODY:
            found.append(UNKNOWN)
            continue
        same = next((each for each in known if _may_be(plain, each)), plain)
        found.append(known.setdefault(same, name))
    return tuple(found)


def _may_be(name: str, other: str) -> bool:
    short, long = sorted((name, other), key=len)
    whole = len(short) > 2 and short in long
    return whole or difflib.SequenceMatcher(None, name, other, autojunk=False).ratio() >= _ALIKE
