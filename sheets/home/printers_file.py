"""The file in which measured printers are kept: added to, changed, and copied to other machines.

The file is the builder's own. It is written whole or not at all, and what else stands in it, comments
included, stays as it is.
"""

from pathlib import Path

from geometry.core.errors import InputError
from geometry.core.say import say
from sheets.files import names
from sheets.files.write.deliver import staging
from sheets.home.folder import alone
from sheets.home.printers import USUAL, Printer, file, find, printers_in
from sheets.home.toml_file import edited, text_of, write
from sheets.job.toml import block, written
from sheets.words.tell import tell


@alone()
def keep(new: tuple[Printer, ...], replace: bool) -> None:
    """Keep printers, all or none; raise InputError where a name is taken and `replace` not set.

    Raise DeliveryError where the file cannot be written. Nothing is changed then.
    """
    where = file()
    text = text_of(where, USUAL)
    for each in new:
        known = printers_in(where, text)
        taken = next((name for name in known if name.casefold() == each.name.casefold()), None)
        if taken is not None and not replace:
            raise InputError.at("NAME", say("own.printer.kept", name=taken, file=str(where)))
        text = edited(where, text, "printer", taken, toml(each), _head())
    # What could not be read again tomorrow is not written today.
    printers_in(where, text)
    write(where, text)


@alone()
def remove(name: str) -> Printer:
    """Forget a printer and return it; raise InputError where it is not known, DeliveryError as `keep`."""
    gone = find(name, "NAME")
    where = file()
    write(where, edited(where, text_of(where, USUAL), "printer", gone.name, ""))
    return gone


def export(name: str, target: Path, replace: bool = False) -> Printer:
    """Write a printer to a file of its own and return it; raise InputError where that file exists."""
    found = find(name, "NAME")
    if target.is_dir():
        raise InputError.at(str(target), say("own.printer.a_folder"))
    if said := names.refused(target.name):
        raise InputError.at(str(target), said)
    if target.exists() and not replace:
        raise InputError.at(str(target), say("own.printer.a_file"))
    with staging(target.parent) as stage:
        (stage / target.name).write_text(_head() + toml(found), encoding="utf-8", newline="\n")
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
    kept = {key: value for key, value in values.items() if value is not None}
    return block(f"[printer.{written(printer.name)}]", kept)


def _head() -> str:
    return f"# {tell('own.printer.head')}\n"
