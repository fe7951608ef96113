"""The entries of the builder's own files: a model each, and whatever is wrong told by its place."""

import contextlib
from collections.abc import Iterator, Mapping
from typing import Any, TypeVar

from pydantic import ValidationError

from geometry.core.errors import DropleafError, InputError, Problem
from geometry.core.say import Say, say
from geometry.core.tables import hint
from sheets.job.closed import Table
from sheets.job.refused import path, problems
from sheets.job.units import given

T = TypeVar("T", bound=Table)

_MOST = 500
"""Entries that are read."""


def entries(document: Mapping[str, Any], begins: str) -> Any:
    """Return the entries of a document: a list where they begin with [[key]], by name with [key.NAME].

    Raise InputError where anything else is in it.
    """
    key, kind = begins.strip("[]").partition(".")[0], list if begins.startswith("[[") else dict
    wrong = [
        Problem(path((each,)), say("own.no_such_key", hint=hint(each, [key]), begins=begins))
        for each in document
        if each != key
    ]
    found = document.get(key, kind())
    if not isinstance(found, kind) or len(found) > _MOST:
        what = say("own.no_entries", value=given(found), most=_MOST, begins=begins)
        wrong.append(Problem(key, what))
    if wrong:
        raise InputError(*wrong)
    return found


def checked(model: type[T], raw: Any, begins: str) -> T:
    """Return an entry as its model; raise InputError with all that is wrong, led by the keys."""
    try:
        return model.model_validate(raw)
    except ValidationError as error:
        raise InputError(*problems(error, model, begins)) from error


@contextlib.contextmanager
def collected(wrong: list[Problem], place: Say | str) -> Iterator[None]:
    """Add what the block raises to what is wrong, led by the entry's place: its path, or a place in words."""
    try:
        yield
    except DropleafError as error:
        for each in error.problems:
            keys = isinstance(place, str) and isinstance(each.where, str) and each.where
            wrong.append(Problem(f"{place}.{each.where}", each.what) if keys else each.under(place))
