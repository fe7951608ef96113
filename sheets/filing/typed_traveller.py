"""A traveller that was filled in on paper, typed in and filed in its packet's next revision."""

import contextlib
import json
from collections.abc import Mapping, Sequence
from pathlib import Path

from sheets.actions.manifest import text
from sheets.filing.revise import free_name, revise
from sheets.ink.records import Field
from sheets.pages.running.survey_page import Section
from sheets.words.as_json import headed
from sheets.words.tell import tell

_STEM = "traveller"
"""What it is attached as, and what kind of document it is."""


def file_traveller(
    packet_pdf: Path, fields: Sequence[Field], typed: Mapping[str, str], who: str, when: str
) -> Path:
    """Put what was typed of a traveller's fields into a packet and return the new revision beside it.

    It is attached as "traveller.json", with a number where the packet has one already, and stands on a page
    of its own. Raise DropleafError as `revise` does.
    """
    said = [
        tell("desk_sheets.traveller.line", label=each.label, value=_shown(typed[each.name]))
        for each in fields
        if typed.get(each.name)
    ]
    document = headed(_STEM, {"fields": dict(typed), "filed_by": who, "filed_on": when})
    name = free_name(packet_pdf, _STEM)
    filed = tell("desk_sheets.file.line", who=who, when=when)
    sections = (Section(said, tell("desk_sheets.traveller.typed")), Section([filed]))
    return revise(packet_pdf, [(name, text(document).encode())], sections)


def typed_in(attachments: Mapping[str, bytes]) -> dict[str, str]:
    """Return what was typed in of a packet's traveller, by its fields' names; it may be anybody's file."""
    found: dict[str, str] = {}
    for name in sorted(each for each in attachments if each.startswith(_STEM)):
        with contextlib.suppress(LookupError, TypeError, ValueError, AttributeError):
            fields = json.loads(attachments[name])["fields"]
            found |= {str(key): value for key, value in fields.items() if isinstance(value, str)}
    return found


def _shown(value: str) -> str:
    """Return a value as a line takes it."""
    return " ".join(value.split())
