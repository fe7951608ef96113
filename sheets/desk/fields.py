"""What pages send, texts out of a JSON object, and what every page of a frame shows."""

import datetime
from collections.abc import Mapping
from typing import Any
from urllib.parse import quote

from geometry.core.errors import InputError
from geometry.core.say import say
from sheets.actions.readings_file import with_point
from sheets.desk.state import begun
from sheets.job.read import JobFile

WHO = 80
"""Characters in the name of who files something: it stands in a line of a page."""


def of_frame(source: JobFile) -> dict[str, Any]:
    """Return what every page of a frame shows; `begun` tells of changes that the file has not yet."""
    return {
        "path": quote(source.path.stem, safe=""),
        "frame": source.job.frame,
        "begun": begun(source.path),
    }


def text(value: Mapping[str, Any], key: str) -> str:
    """Return a text that a page sent, "" for none and for what is no text."""
    found = value.get(key, "")
    return found if isinstance(found, str) else ""


def number(value: Mapping[str, Any], key: str) -> str:
    """Return a number that a page sent as it was typed, but with a point where it has a decimal comma."""
    return with_point(text(value, key))


def who_and_when(value: Mapping[str, Any]) -> tuple[str, str]:
    """Return who files something and on which day; raise InputError with what is missing or wrong."""
    who, when = (" ".join(text(value, key).split()) for key in ("who", "when"))
    if not who or len(who) > WHO or not who.isprintable():
        raise InputError.at(say("desk_sheets.file.who"), say("desk_sheets.file.no_who", most=WHO))
    try:
        return who, datetime.date.fromisoformat(when).isoformat()
    except ValueError as error:
        raise InputError.at(say("desk_sheets.file.when"), say("desk_sheets.file.no_when")) from error
