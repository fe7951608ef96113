"""`dropleaf proof`: a sheet to measure a printer by."""

from pathlib import Path

import click

from sheets.console import DONE, JSON, OUT, say
from sheets.offered import papers, printers
from sheets.words.as_json import headed
from sheets.words.tell import tell


@click.command("proof")
@click.option(
    "--paper",
    default="A4",
    show_default=True,
    metavar="SIZE",
    shell_complete=papers,
    help="A4, A3, Letter, Legal or Tabloid.",
)
@click.option(
    "--printer",
    metavar="NAME",
    shell_complete=printers,
    help="Correct the proof for a measured printer; all must read true.",
)
@OUT
@JSON
def command(paper: str, printer: str | None, out: Path, as_json: bool) -> int:
    """Draw a proof sheet to measure a printer by.

    It has bars as long as the paper takes, across and down, two diagonals, and boxes to write in what a
    ruler reads. Keep the readings with dropleaf printer add.

    \b
    Example:
      dropleaf proof --paper Letter --out paper
      writes paper/proof-Letter.pdf to print, and the same sheet as SVG
    """
    from dataclasses import asdict

    from sheets.actions import manifest
    from sheets.actions.one_sheet import paper_named, write_proof
    from sheets.actions.writing import read_back
    from sheets.home.printers import find
    from sheets.ink.long_bars import bars_of

    size = paper_named(paper)
    measured = None if printer is None else find(printer, "--printer")
    files, worst = write_proof(size, measured, out)
    bars = bars_of(size)
    if as_json:
        told = {
            "paper": size.name,
            "printer": measured and measured.name,
            "bars": {**asdict(bars), "diagonal": round(bars.diagonal, 4)},
            "files": [manifest.file_json(file) for file in files],
        }
        say(manifest.text(headed("proof", told)))
        return DONE
    say(read_back(tell("command.proof_for", paper=size.name), worst))
    for file in files:
        say(f"  {file.path}")
    say(tell("command.proof_drawn", across=bars.across, down=bars.down, diagonal=bars.diagonal))
    return DONE
