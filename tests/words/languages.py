"""Languages made by rule from the English tables: a pseudo-language, and ones with garbled sentences."""

import codecs
import json
import string
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

from sheets.words.tell import ENGLISH, sentences, speak
from tests.conftest import forget

AREAS = sorted(file.stem for file in ENGLISH.glob("*.toml"))
_ACCENTS = str.maketrans("aeiouyAEIOUY", "äéïöüÿÄÉÏÖÜÝ")
_LONGER = 1 / 3


def codes() -> list[str]:
    """Return the code of every English sentence."""
    return [f"{area}.{key}" for area in AREAS for key in sentences(ENGLISH, area)]


def pseudo(text: str) -> str:
    """Return a sentence bracketed, its vowels accented, longer by a third: no word of it is English."""
    plain = sum(len(literal) for literal, *_ in string.Formatter().parse(text))
    # The brackets count; words of three syllables can be broken between lines like any others.
    count = max(0, round((plain * _LONGER - len("[]")) / len("lö")))
    more = "".join(f"{' ' if each % 3 == 0 else ''}lö" for each in range(count))
    return f"[{_outside(text, lambda part: part.translate(_ACCENTS))}{more}]"


def garbled(text: str) -> str:
    """Return a sentence with every letter changed, as long as it was."""
    return _outside(text, lambda part: codecs.encode(part, "rot13"))


def _outside(text: str, change: Callable[[str], str]) -> str:
    """Return a sentence changed outside its places."""
    parts = []
    for literal, name, spec, conversion in string.Formatter().parse(text):
        parts.append(change(literal).replace("{", "{{").replace("}", "}}"))
        if name is not None:
            parts.append(f"{{{name}{f'!{conversion}' if conversion else ''}{f':{spec}' if spec else ''}}}")
    return "".join(parts)


def write(folder: Path, change: Callable[[str, str], str]) -> Path:
    """Write a language into a folder, each sentence changed by its code and English text."""
    folder.mkdir(parents=True)
    for area in AREAS:
        # A JSON string without its escapes of other characters is a TOML string too.
        rows = [
            f"{'.'.join(json.dumps(part) for part in key.split('.'))} = "
            f"{json.dumps(change(f'{area}.{key}', text), ensure_ascii=False)}"
            for key, text in sentences(ENGLISH, area).items()
        ]
        (folder / f"{area}.toml").write_text("\n".join(rows) + "\n", encoding="utf-8")
    return folder


@contextmanager
def spoken(language: Path, *, told: bool = False) -> Iterator[None]:
    """Speak a language for a while, with nothing kept that was told in another one.

    What is kept without words is forgotten too, unless only what is `told` shall be.
    """
    forget(told=told)
    speak(language)
    try:
        yield
    finally:
        speak(None)
        forget(told=told)
