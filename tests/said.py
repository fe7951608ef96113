"""What is said, as tests look into it: every code in it, and every number and text, at any depth."""

from collections.abc import Iterator
from typing import Any

from geometry.core.say import Say


def _within(what: object) -> Iterator[Say]:
    """Return something said and all that is said in its values, the outermost first."""
    if isinstance(what, Say):
        yield what
    inner = [value for _, value in what.values] if isinstance(what, Say) else what
    for each in inner if isinstance(inner, list | tuple) else ():
        yield from _within(each)


def codes(what: object) -> set[str]:
    """Return the codes of something said and of all that is said in it."""
    return {each.code for each in _within(what)}


def values(what: object) -> dict[str, Any]:
    """Return the values of something said and of all that is said in it, the outer ones where names meet."""
    found: dict[str, Any] = {}
    for each in _within(what):
        found = dict(each.values) | found
    return found
