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
@click.option("--mount", is_flag=True, help="The pages to measure a mount on, for learn.")
@JSON
def command(paper: str, out: Path, mount: bool, as_json: bool) -> int:
    """Write the measuring sheet: one page for what `start` will ask, with drawings that show how to measure.

    Fill it by pencil at the bench, or in a PDF viewer and hand it to start.

    With --mount: two pages for a mount that works, whose numbers `learn` makes a row of. They show three ways
    to measure one without a fixture, with pins, a bar or a rule, and have boxes for what was read.

    \b
    Example:
      dropleaf blank --paper Letter --out bench
      writes bench/measuring-sheet-Letter.pdf; later: dropleaf start --from that file
      dropleaf blank --mount --out bench
    """
    from sheets.actions.manifest import file_json, text
    from sheets.actions.one_sheet import paper_named, write_blank, write_mount_sheet
    from sheets.actions.writing import read_back

    drawn, worst = (write_mount_sheet if mount else write_blank)(paper_named(paper), out)
    if as_json:
        say(text({"files": [file_json(drawn)], "warnings": []}))
    else:
        say(read_back(str(drawn.path), worst))
    return DONE
