"""A traveller that was filled in on paper, typed in and filed in its packet's next revision."""

from collections.abc import Mapping, Sequence
from pathlib import Path

from sheets.actions.manifest import text
from sheets.filing.revise import free_name, revise
from sheets.ink.records import Field
from sheets.pages.running.survey_page import Section
from sheets.words.as_json import headed
from sheets.words.tell import tell


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
    document = headed("traveller", {"fields": dict(typed), "filed_by": who, "filed_on": when})
    name = free_name(packet_pdf, "traveller")
    filed = tell("desk_sheets.file.line", who=who, when=when)
    sections = (Section(said, tell("desk_sheets.traveller.typed")), Section([filed]))
    return revise(packet_pdf, [(name, text(document).encode())], sections)


def _shown(value: str) -> str:
    """Return a value as a line takes it."""
    return " ".join(value.split())
