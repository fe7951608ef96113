"""Fonts as files embed them: no more than the characters that are set, one byte each.

A subset is of one face, or of the drafting alphabet, and gives each character a code: printable ASCII its
own, so that a file's text can be read as it stands, any other the next one from 128 on. A line whose
characters no subset has room for begins the next one.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from functools import cache, lru_cache
from pathlib import Path

from fonts.drafting import characters
from fonts.faces import Embedded, built, face

_SIDE = 128
"""Codes beyond ASCII."""


@dataclass(slots=True)
class Subset:
    """Characters by their codes; of the face in a file, or of the drafting alphabet where there is none."""

    file: Path | None
    codes: dict[str, int] = field(default_factory=dict)

    def take(self, line: Sequence[str]) -> bool:
        """Give all characters of a line a code, or return that there are too many."""
        fresh = [each for each in dict.fromkeys(line) if each not in self.codes]
        if not fresh:
            return True
        wide = [each for each in fresh if not _plain(each)]
        first = _SIDE + sum(not _plain(each) for each in self.codes)
        if first + len(wide) > 2 * _SIDE:
            return False
        self.codes |= {each: ord(each) for each in fresh if _plain(each)}
        self.codes |= {each: code for code, each in enumerate(wide, start=first)}
        return True

    def coded(self, line: Iterable[str]) -> bytes:
        """Return a line's codes."""
        return bytes(self.codes[each] for each in line)

    def embedded(self) -> Embedded:
        """Return the font; raise OSError where its file cannot be read."""
        return _embedded(self.file, tuple(sorted(self.codes.items(), key=lambda pair: pair[1])))


def split(text: str, file: Path | None) -> list[str]:
    """Return the characters of a text as a subset has them: of the alphabet, each with its marks."""
    return characters(text) if file is None else list(text)


def taken(subsets: list[Subset], text: str, file: Path | None) -> tuple[int, bytes]:
    """Return which of the subsets sets a text, a new one if need be, and its codes there."""
    line = split(text, file)
    for number, each in enumerate(subsets):
        if each.file == file and each.take(line):
            return number, each.coded(line)
    subsets.append(Subset(file))
    assert subsets[-1].take(line), "a line of running text has fewer characters than a subset"
    return len(subsets) - 1, subsets[-1].coded(line)


@cache
def western() -> Embedded:
    """Return the regular face's part of Windows' code page 1252, by its codes: what is typed into forms.

    Its own map of characters is by Unicode, as PDF asks for a font with an encoding that has a name.
    """
    signs = ((code, bytes([code]).decode("cp1252", "ignore")) for code in range(32, 256))
    one = face("regular")
    codes = {sign: code for code, sign in signs if sign and ord(sign) in one.advances}
    return built(one.file, codes, by_unicode=True)


@lru_cache(maxsize=4096)
def in_western(text: str, file: Path | None) -> bytes | None:
    """Return a text's codes in that font, None where it is of another face or has other characters."""
    codes = text.encode("cp1252", "ignore")
    known = file == face("regular").file and codes.decode("cp1252") == text
    return codes if known and western().widths.keys() >= set(codes) else None


def _plain(character: str) -> bool:
    return len(character) == 1 and " " <= character <= "~"


@lru_cache(maxsize=16)
def _embedded(file: Path | None, codes: tuple[tuple[str, int], ...]) -> Embedded:
    return built(file, dict(codes))
