"""Which measured mounts are of one maker, as far as their reports say: makers, and not mounts, make grade M.

A maker is a name that somebody typed, or a code that stands for one, such as "maker A". Where two may be one,
they count as one: too few makers ask for one more mount, too many make a grade that nobody measured. A code
tells makers apart from other codes, and from no name: whoever is meant by it may be named in another report.
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


_CODE = re.compile(r"(?:maker|brand|manufacturer|company|firm|builder|shop)?([a-z]|[0-9]{1,2})")
"""A maker whom nobody wants to name, as `_plain` makes it: a letter or a number, with or without a word."""


def _plain(name: str) -> str:
    """Return a name by its letters and digits alone: capitals, blanks and hyphens tell no makers apart."""
    return re.sub(r"[\W_]+", "", name.casefold())


def makers(names: Sequence[str]) -> tuple[str, ...]:
    """Return for each mount the maker that it counts for: a name of the first that may be the same."""
    plain = [_plain(name) for name in names]
    coded = {each: code[1] for each in plain if (code := _CODE.fullmatch(each))}
    codes = {
        coded[each]: name for each, name in reversed(list(zip(plain, names, strict=True))) if each in coded
    }
    named: dict[str, str] = {}
    for each, name in zip(plain, names, strict=True):
        if each not in coded and each not in _NOBODY:
            # A name that may be two others' makes those one too.
            same = [known for known in named if _may_be(each, known)]
            first = named[same[0]] if same else name
            joined = {named[known] for known in same}
            named = {known: first if who in joined else who for known, who in named.items()} | {each: first}
    # As many codes as there are names may stand for those; which for which is all one where they are counted.
    stands_for = dict(zip(sorted(codes), dict.fromkeys(named.values()), strict=False))
    return tuple(
        stands_for.get(coded[each], codes[coded[each]]) if each in coded else named.get(each, UNKNOWN)
        for each in plain
    )


def _may_be(name: str, other: str) -> bool:
    short, long = sorted((name, other), key=len)
    whole = len(short) > 2 and short in long
    return whole or difflib.SequenceMatcher(None, name, other, autojunk=False).ratio() >= _ALIKE
