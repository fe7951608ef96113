"""`dropleaf blank`: the measuring sheet."""

from pathlib import Path

import click

from sheets.console import DONE, JSON, OUT, say
from sheets.offered import mounts, papers
from sheets.words.lengths import Units
from sheets.words.tell import tell


@click.command("blank")
@click.option(
    "--paper",
    default="A4",
    metavar="PAPER",
    shell_complete=papers,
    help="A4, A3, Letter, Legal or Tabloid. Default: A4.",
)
@OUT
@click.option("--mount", is_flag=True, help="The pages to measure a mount on, for learn.")
@click.option(
    "--for",
    "shown",
    metavar="MOUNT",
    shell_complete=mounts,
    help="The mount that the figure shows, such as flat-rear. Default: a tab at the rear, posts at the fork.",
)
@click.option(
    "--units",
    type=click.Choice(("mm", "in", "both")),
    default="mm",
    help="in: the sheet asks for inches, and start --from reads bare numbers in it so. Default: mm.",
)
@JSON
def command(paper: str, out: Path, mount: bool, shown: str | None, units: Units, as_json: bool) -> int:
    """Write the measuring sheet: two pages for what `start` will ask, with a figure of what to measure.

    Each measure is an arrow with a letter; boxes, table and questions have the same letters.

    Fill it by pencil at the bench, or in a PDF viewer and hand it to start.

    With --mount: two pages for a mount that works, whose numbers `learn` makes a row of. They show three ways
    to measure one without a fixture, with pins, a bar or a rule, and have boxes for what was read.

    \b
    Example:
      dropleaf blank --paper Letter --out bench
      writes bench/measuring-sheet-Letter.pdf; later: dropleaf start --from that file
      dropleaf blank --units in --out bench
      dropleaf blank --mount --out bench
    """
    from geometry.core.errors import InputError
    from sheets.actions.manifest import file_json, text
    from sheets.actions.one_sheet import mount_named, paper_named, write_blank, write_mount_sheet
    from sheets.actions.writing import read_back
    from sheets.pages.running.blank import BOTH

    size = paper_named(paper)
    if mount:
        if units != "mm":
            raise InputError.at("--units", tell("blank.mount_in_mm"))
        drawn, worst = write_mount_sheet(size, out)
    else:
        drawn, worst = write_blank(size, out, mount_named(shown) if shown else BOTH, units)
    if as_json:
        say(text({"files": [file_json(drawn)], "warnings": []}))
    else:
        say(read_back(str(drawn.path), worst))
    return DONE
