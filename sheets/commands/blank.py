"""`dropleaf blank`: the measuring sheet."""

from pathlib import Path

import click

from sheets.console import DONE, JSON, say


@click.command("blank")
@click.option("--paper", default="A4", metavar="PAPER", help="A4, A3, Letter, Legal or Tabloid. Default: A4.")
@click.option(
    "--out",
    type=click.Path(path_type=Path),
    metavar="DIR",
    default=Path(),
    help="Folder for the file, created if need be. Default: here.",
)
@click.option(
    "--mount",
    metavar="NAME",
    help="The mount that the figure shows, such as flat-rear. Default: a tab at the rear, posts at the fork.",
)
@JSON
def command(paper: str, out: Path, mount: str | None, as_json: bool) -> int:
    """Write the measuring sheet: two pages for what `start` will ask, with a figure of what to measure.

    Each measure is an arrow with a letter; boxes, table and questions have the same letters.

    Fill it by pencil at the bench, or in a PDF viewer and hand it to start.

    \b
    Example:
      dropleaf blank --paper Letter --out bench
      writes bench/measuring-sheet-Letter.pdf; later: dropleaf start --from that file
    """
    from sheets.actions.manifest import file_json, text
    from sheets.actions.one_sheet import mount_named, paper_named, write_blank
    from sheets.actions.writing import read_back
    from sheets.pages.running.blank import BOTH

    drawn, worst = write_blank(paper_named(paper), out, mount_named(mount) if mount else BOTH)
    if as_json:
        say(text({"files": [file_json(drawn)], "warnings": []}))
    else:
        say(read_back(str(drawn.path), worst))
    return DONE
