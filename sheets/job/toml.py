"""TOML written, and read from bytes: mistakes told with line, column and what a builder most likely meant."""

import json
import re
import tomllib
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from geometry.core.errors import InputError
from geometry.core.say import Say, say
from sheets.files.bounded import NO_FILE, blaming, decoded, read_bytes

_PLACE = re.compile(
    r"(?P<what>.*) \(at (?:line (?P<line>\d+), column (?P<column>\d+)|end of document)\)", re.S
)
# A bare number where a value begins, up to what ends it; quoted, a job file takes all of these units.
_NUMBER = r"[-+−]?[0-9]+(?:[.,][0-9]+|(?:[ -][0-9]+)?\s?/\s?[0-9]+)?"
_UNIT = r"(?:mm|cm|inches|inch|in|degrees|degree|deg|[A\"″”°%])"
_ENTRY = re.compile(
    rf"(?:=|[\[,](?=\s*{_NUMBER}\s*{_UNIT}))\s*(?P<number>{_NUMBER})\s*(?P<unit>{_UNIT})?\s*(?=$|[\],}}#])",
    re.IGNORECASE,
)
_INCHES = ('"', "″", "”")


def document_in(
    file: Path, usual: Say | str, *, missing: Say | str = NO_FILE, folder: Say | str = "", pdf: Say | str = ""
) -> dict[str, Any]:
    """Return a file's TOML document; raise InputError, led by the file, as `read_bytes` and `document` do."""
    raw = read_bytes(file, usual, missing=missing, folder=folder, pdf=pdf)
    with blaming(file):
        return document(raw)


def document(raw: bytes) -> dict[str, Any]:
    """Return the TOML document in some bytes; raise InputError with line and column where it is none."""
    text = decoded(raw, "files.not_utf8_byte")
    try:
        return tomllib.loads(text)
    except RecursionError as error:
        raise InputError.at("", say("toml.too_deep")) from error
    except ValueError as error:
        match = _PLACE.fullmatch(str(error))
        if match is None:
            raise InputError.at("", say("toml.no_toml", reason=str(error), hint="")) from error
        if match["line"] is None:
            what = say("toml.no_toml", reason=match["what"], hint="")
            raise InputError.at(say("toml.end"), what) from error
        # The parser counts line feeds alone.
        written = text.replace("\r\n", "\n").split("\n")[int(match["line"]) - 1]
        where = say("toml.place", line=match["line"], column=match["column"])
        raise InputError.at(where, say("toml.no_toml", reason=match["what"], hint=hint(written))) from error


def hint(line: str) -> Say | str:
    """Return what to write instead in a line that is not TOML; "" where no usual slip is in it."""
    for entry in _ENTRY.finditer(line):
        number, unit = entry["number"], entry["unit"]
        slips = [say("toml.comma")] if "," in number else []
        if unit or "/" in number:
            slips.append(say("toml.bare_unit" if unit else "toml.bare_fraction"))
        if slips:
            value = number.replace(",", ".")
            if unit:
                value += f" {'in' if unit in _INCHES else unit}"
            if unit or "/" in number:
                value = f'"{value}"'
            return say("toml.write", slips=tuple(slips), value=value)
    return ""


def block(heading: str, entries: Mapping[str, Any]) -> str:
    """Return a table as TOML has it, its heading first."""
    return "".join((f"{heading}\n", *(f"{key} = {written(value)}\n" for key, value in entries.items())))


def written(value: object) -> str:
    """Return a text, number, truth or table of them as TOML writes it."""
    if isinstance(value, Mapping):
        return "{ " + ", ".join(f"{key} = {written(each)}" for key, each in value.items()) + " }"
    # A JSON string is a TOML one but for U+007F, which TOML wants escaped.
    return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f")
