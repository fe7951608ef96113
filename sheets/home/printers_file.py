"""The file in which measured printers are kept: added to, changed, and copied to other machines.

The file is the builder's own. It is written whole or not at all, and what else stands in it, comments
included, stays as it is.
"""

import contextlib
import dataclasses
import json
import re
import tomllib
from collections.abc import Iterator
from pathlib import Path

from geometry.core.errors import DeliveryError, InputError, Problem
from sheets.files import names
from sheets.files.write.deliver import staging
from sheets.home.printers import Printer, document_of, file, find, printers_in, same_name, text_of

_HEAD = "# Printers measured on a proof. Lengths in mm: as drawn, then as a ruler read them.\n"


def add(printer: Printer, replace: bool = False) -> None:
    """Keep a printer; raise InputError where its name is taken and `replace` not set.

    Raise DeliveryError where the file cannot be written. Nothing is changed then.
    """
    keep((printer,), replace)


def keep(new: tuple[Printer, ...], replace: bool) -> None:
    """Keep several printers, all or none, as `add` does."""
    where = file()
    text = text_of(where)
    for each in new:
        taken = next((name for name in printers_in(where, text) if same_name(name, each.name)), None)
        if taken is not None and not replace:
            raise InputError.at(
                "NAME", f"a printer {taken} is kept in {where}; choose another name, or give --replace"
            )
        text = _edited(where, text, taken, toml(each))
    # What could not be read again tomorrow is not written today.
    printers_in(where, text)
    _write(where, text)


def remove(name: str) -> Printer:
    """Forget a printer and return it; raise InputError where it is not known, DeliveryError as `add`."""
    gone = find(name, "NAME")
    where = file()
    _write(where, _edited(where, text_of(where), gone.name, ""))
    return gone


def export(name: str, target: Path, replace: bool = False) -> Printer:
    """Write a printer to a file of its own and return it; raise InputError where that file exists."""
    found = find(name, "NAME")
    if target.is_dir():
        raise InputError.at(str(target), "this is a folder; give the file to write")
    if said := names.refused(target.name):
        raise InputError.at(str(target), said)
    if target.exists() and not replace:
        raise InputError.at(str(target), "this file exists; choose another name, or give --replace")
    with staging(target.parent) as stage:
        (stage / target.name).write_text(_HEAD + toml(found), encoding="utf-8", newline="\n")
    return found


def toml(printer: Printer) -> str:
    """Return a printer as its part of a TOML file."""
    readings, bars = printer.readings, printer.readings.bars
    values: dict[str, float | str | None] = {
        "paper": printer.paper,
        "across_drawn": bars.across,
        "down_drawn": bars.down,
        "diagonals_wide": bars.wide,
        "diagonals_high": bars.high,
        "across": readings.across,
        "down": readings.down,
        "rising": readings.rising,
        "falling": readings.falling,
        "ruler": readings.ruler,
        "date": printer.date or None,
        "note": printer.note or None,
    }
    lines = [f"[printer.{_quoted(printer.name)}]"]
    lines += [
        f"{key} = {_quoted(value) if isinstance(value, str) else repr(float(value))}"
        for key, value in values.items()
        if value is not None
    ]
    return "\n".join(lines) + "\n"


def _quoted(text: str) -> str:
    # A JSON string is a TOML one but for U+007F, which TOML wants escaped.
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")


_TABLE = re.compile(r"\s*\[")


def _edited(where: Path, text: str, old: str | None, new: str) -> str:
    """Return a file's text with the part of printer `old` replaced by `new`, or `new` at its end.

    Raise InputError where the file is written in a form in which this would change anything else.
    """
    before = document_of(where, text)
    lines = text.splitlines(keepends=True)
    if old is None:
        gap = "" if not lines else "\n" if text.endswith("\n") else "\n\n"
        done = (text or _HEAD) + gap + new
    else:
        start = next((i for i, line in enumerate(lines) if _heads(line, old)), None)
        if start is None:
            raise _by_hand(where, old)
        end = next((i for i in range(start + 1, len(lines)) if _TABLE.match(lines[i])), len(lines))
        # Comments just above the next table belong to that.
        while end > start + 1 and (not lines[end - 1].strip() or lines[end - 1].lstrip().startswith("#")):
            end -= 1
        done = "".join((*lines[:start], new, *lines[end:]))
    try:
        after = tomllib.loads(done)
    except ValueError as error:
        raise _by_hand(where, old) from error
    wanted = {**before, "printer": dict(before.get("printer", {}))}
    wanted["printer"].pop(old, None)
    wanted["printer"].update(tomllib.loads(new).get("printer", {}))
    if {**after, "printer": after.get("printer", {})} != wanted:
        raise _by_hand(where, old)
    return done


def _heads(line: str, name: str) -> bool:
    """Tell whether a line begins the table of a printer."""
    match = re.fullmatch(r"\s*\[\s*printer\s*\.\s*(.+?)\s*\]\s*(#.*)?", line.rstrip("\r\n"))
    return match is not None and match[1] in (name, f'"{name}"', f"'{name}'")


def _by_hand(where: Path, name: str | None) -> InputError:
    which = "" if name is None else f" printer {name} in"
    return InputError(
        Problem(str(where), f"it is written in a form that is not edited here; change{which} it by hand")
    )


def _write(where: Path, text: str) -> None:
    with home_words(), staging(where.parent) as stage:
        (stage / where.name).write_text(text, encoding="utf-8", newline="")


@contextlib.contextmanager
def home_words() -> Iterator[None]:
    """Say of a folder that cannot be written how another one is chosen: there is no --out here."""
    try:
        yield
    except DeliveryError as error:
        raise DeliveryError(
            *(
                dataclasses.replace(
                    each,
                    what=each.what.replace(
                        "choose another folder with --out", "name another folder in DROPLEAF_HOME"
                    ),
                )
                for each in error.problems
            )
        ) from error
