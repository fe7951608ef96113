"""`dropleaf printer`: printers measured on a proof, kept by name."""

from pathlib import Path

import click

from sheets.console import DONE, JSON, say
from sheets.offered import papers, printers
from sheets.words.as_json import headed
from sheets.words.tell import tell

_NAME = click.argument("name", metavar="NAME", shell_complete=printers)
_FILE = click.argument("file", metavar="FILE", type=click.Path(path_type=Path))
_REPLACE = click.option("--replace", is_flag=True, help="Overwrite what is there under that name.")


@click.group("printer", no_args_is_help=False)
def command() -> None:
    """Keep what a ruler read on a proof, printer by printer.

    Sheets are then corrected with draw --printer NAME, or [paper] printer = "NAME" in the job.

    \b
    Example:
      dropleaf printer add shop --paper A4 --across 174.5 --down 266 --rising 229.5 --falling 229
      keeps the printer as shop
    """


@command.command("add")
@_NAME
@click.option(
    "--paper",
    required=True,
    metavar="SIZE",
    shell_complete=papers,
    help="The proof's paper: A4, A3, Letter, Legal or Tabloid.",
)
@click.option(
    "--across", required=True, metavar="LENGTH", help='Bar across as read, mm, or with a unit: "6 7/8 in".'
)
@click.option("--down", required=True, metavar="LENGTH", help="Bar down as read.")
@click.option("--rising", metavar="LENGTH", help="Diagonal from lower left to upper right as read.")
@click.option("--falling", metavar="LENGTH", help="Diagonal from upper left to lower right as read.")
@click.option(
    "--ruler", default="0.5", show_default=True, metavar="STEP", help="What the ruler was read to, mm."
)
@click.option("--date", metavar="DATE", help="Day of reading, 2026-01-31. Default: today.")
@click.option("--note", default="", metavar="TEXT", help="Anything to remember: tray, paper, driver.")
@_REPLACE
@JSON
def add(
    name: str,
    paper: str,
    across: str,
    down: str,
    rising: str | None,
    falling: str | None,
    ruler: str,
    date: str | None,
    note: str,
    replace: bool,
    as_json: bool,
) -> int:
    """Keep a printer with what a ruler read on its proof.

    \b
    Example:
      dropleaf printer add shop --paper A4 --across 174.5 --down 266 --rising 229.5 --falling 229
      keeps the printer as shop; draw --printer shop then corrects for it
    """
    from sheets.actions.manifest import text
    from sheets.actions.one_sheet import paper_named
    from sheets.actions.printer import Given, described, judged, printer_json
    from sheets.home import printers
    from sheets.home import printers_file as printer_file

    typed = Given(name, paper_named(paper), across, down, rising, falling, ruler, date, note)
    printer, said = judged(typed)
    printer_file.keep((printer,), replace)
    if as_json:
        kept = {**printer_json(printer), "kept_in": str(printers.file()), "said": list(said)}
        say(text(headed("printer", kept)))
        return DONE
    say(described(printer))
    lines = [
        *(tell("printer.note", what=each) for each in said),
        tell("printer.kept_in", file=str(printers.file())),
        tell("printer.next", paper=printer.paper, name=printer.name),
    ]
    for line in lines:
        say(f"  {line}")
    return DONE


@command.command("list")
@JSON
def listed(as_json: bool) -> int:
    """List the printers that are kept, with their corrections.

    \b
    Example:
      dropleaf printer list
      shop, with its factors across and down
    """
    from sheets.actions.manifest import text
    from sheets.actions.printer import described, printer_json
    from sheets.home import printers

    found = printers.known()
    if as_json:
        every = [printer_json(each) for each in found.values()]
        say(text(headed("printers", {"file": str(printers.file()), "printers": every})))
    elif not found:
        say(tell("printer.none_yet", file=str(printers.file())))
    else:
        say("\n".join(described(each) for each in found.values()))
    return DONE


@command.command("remove")
@_NAME
def remove(name: str) -> int:
    """Forget a printer.

    \b
    Example:
      dropleaf printer remove shop
      jobs that name it are then refused until it is measured again
    """
    from sheets.home import printers
    from sheets.home import printers_file as printer_file

    gone = printer_file.remove(name)
    say(tell("printer.removed", name=gone.name, file=str(printers.file())))
    return DONE


@command.command("export")
@_NAME
@_FILE
@_REPLACE
def export(name: str, file: Path, replace: bool) -> int:
    """Write a printer to a FILE of its own, to be imported elsewhere.

    \b
    Example:
      dropleaf printer export shop shop-printer.toml
      a small text file to carry to another machine
    """
    from sheets.home import printers_file as printer_file

    say(tell("printer.exported", name=printer_file.export(name, file, replace).name, file=str(file)))
    return DONE


@command.command("import")
@_FILE
@_REPLACE
def import_(file: Path, replace: bool) -> int:
    """Keep every printer of a FILE, all or none.

    \b
    Example:
      dropleaf printer import shop-printer.toml --replace
      keeps the printers in the file under their names
    """
    from geometry.core.errors import InputError
    from sheets.home import printers
    from sheets.home import printers_file as printer_file

    found = tuple(printers.known(file).values())
    if not found:
        raise InputError.at(str(file), tell("printer.none_in_it"))
    printer_file.keep(found, replace)
    names = ", ".join(each.name for each in found)
    say(tell("printer.imported", names=names, file=str(printers.file())))
    return DONE
