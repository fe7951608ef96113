"""What was typed at the bench: beside the job, on the disk as soon as it is given, until it is thrown away.

Two kinds, each a file of the job's name: NAME.readings has a table a check point, as a file of readings, and
NAME.traveller one table of the traveller's fields. Neither ending is a job's. Texts stand as they were typed,
readings with their unit where they were typed bare in inches.
"""

from collections.abc import Mapping
from pathlib import Path

from sheets.actions.readings_file import KEPT
from sheets.desk.edit import alone
from sheets.files.write.deliver import staging
from sheets.guide.draft import take_away
from sheets.job.toml import document_in, written
from sheets.words.tell import tell

Typed = Mapping[str, Mapping[str, str]]
"""Texts by table and key; several readings in one text of NAME.readings stand apart by a semicolon."""


def kept(file: Path) -> dict[str, dict[str, str]]:
    """Return what is kept in a file, nothing where it is not there; InputError where it cannot be read."""
    if not file.exists():
        return {}
    document = document_in(file, tell("desk_sheets.typed.usual_size"))
    tables = {name: table for name, table in document.items() if isinstance(table, dict)}
    return {name: {key: _text(value) for key, value in table.items()} for name, table in tables.items()}


def keep(file: Path, table: str, texts: Mapping[str, str]) -> dict[str, dict[str, str]]:
    """Put some texts in place and return all that is kept; an empty one is taken out.

    What other pages typed meanwhile stays. Raise DropleafError where the file cannot be read or written.
    """
    with alone(file):
        found = kept(file)
        whole = {key: each for key, each in {**found.get(table, {}), **texts}.items() if each.strip()}
        found = {**found, table: whole}
        _write(file, found)
        return found


def forget(file: Path, table: str) -> None:
    """Take a table out, and the file with its last one; raise DropleafError as `keep` does."""
    with alone(file):
        found = {name: texts for name, texts in kept(file).items() if name != table}
        if any(found.values()):
            _write(file, found)
        else:
            take_away(file)


def _write(file: Path, found: Typed) -> None:
    text = "\n".join(
        f"[{name}]\n" + "".join(f"{written(key)} = {_as_toml(file, each)}\n" for key, each in texts.items())
        for name, texts in found.items()
        if texts
    )
    with staging(file.parent) as stage:
        (stage / file.name).write_text(text, encoding="utf-8", newline="\n")


def _as_toml(file: Path, text: str) -> str:
    """Return a text in TOML: as it was typed, but several readings as the list that their file has."""
    if file.suffix != KEPT:
        return written(text)
    parts = [part.strip() for part in text.split(";") if part.strip()]
    return written(parts) if len(parts) > 1 else written(text.strip())


def _text(value: object) -> str:
    return "; ".join(map(str, value)) if isinstance(value, list) else str(value)
