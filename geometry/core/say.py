"""What is to be said, before it is said in any language: a code and the values that belong to it.

Geometry, fonts and errors say things this way; `sheets/words/tell.py` makes sentences of it. Whatever decides
goes by codes, kinds and numbers, never by a sentence.
"""

import functools
from collections.abc import Iterable
from typing import Any, NoReturn, TypeAlias

from geometry.core.frozen import dataclass

Value: TypeAlias = "str | float | Say | tuple[Value, ...]"
"""A name or text as it was typed, a number, something said itself, or several of these to be listed."""


@dataclass(frozen=True, slots=True)
class Say:
    """One thing to be said: `code` is "area.key", `values` what its sentence needs, by name.

    Equal things said are equal, whatever the language. Its `str` is for tests and for whoever debugs.
    """

    code: str
    values: tuple[tuple[str, Value], ...] = ()

    def __str__(self) -> str:
        """Return code and values, numbers to six digits: "printing.skewed(skew=1.2, most=1)"."""
        inner = ", ".join(f"{name}={_shown(value)}" for name, value in self.values)
        return f"{self.code}({inner})" if inner else self.code

    def __format__(self, spec: str) -> NoReturn:
        """Raise TypeError: glued into a string it would reach paper as a code."""
        raise TypeError(f"{self.code} is not a sentence yet: tell it, or make it the value of another one")

    def __getitem__(self, name: str) -> Any:
        """Return a value by its name; raise KeyError where there is none of that name."""
        return dict(self.values)[name]


def say(code: str, /, **values: Value) -> Say:
    """Return what is to be said under a code."""
    return Say(code, tuple(values.items()))


def named(key: str) -> Say:
    """Return the name of a thing by its key in jobs and code, such as "fork-leg", "rear" or "near"."""
    return Say(f"name.{key.replace('-', '_')}")


def also(parts: Iterable[Say | str]) -> Say | str:
    """Return things said one after another, "a; b; c", each once; "" of nothing."""
    first, *rest = dict.fromkeys(part for part in parts if part) or [""]
    return functools.reduce(lambda one, other: say("tell.also", first=one, other=other), rest, first)


def _shown(value: Value) -> str:
    if isinstance(value, tuple):
        return f"({', '.join(_shown(each) for each in value)})"
    if isinstance(value, float):
        return f"{value:.6g}"
    return str(value) if isinstance(value, Say) else repr(value)
