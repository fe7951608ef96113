"""`dropleaf blank`: the measuring sheet."""

from pathlib import Path

import click

from sheets.console import DONE, JSON, OUT, say
from sheets.offered import jobs, mounts, papers
from sheets.words.as_json import headed
from sheets.words.lengths import Units
from sheets.words.tell import tell


@click.command("blank")
@click.argument(
    "job", metavar="[JOB.toml]", required=False, type=click.Path(path_type=Path), shell_complete=jobs
)
@click.option(
    "--paper",
    metavar="PAPER",
    shell_complete=papers,
    help="A4, A3, Letter, Legal or Tabloid. Default: the job's own, else A4.",
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
    help="in: the sheet asks for inches, and start --from reads bare numbers in it so. "
    "Default: the job's own, else mm.",
)
@JSON
def command(
    job: Path | None,
    paper: str | None,
    out: Path,
    mount: bool,
    shown: str | None,
    units: Units | None,
    as_json: bool,
) -> int:
    """Write the measuring sheet: two pages for what `start` will ask, with a figure of what to measure.

    Each measure is an arrow with a letter; boxes, table and questions have the same letters.

    With a job, or a draft of start: its own mount and boxes, filled in as far as they are known. The boxes of
    measures that are still missing are framed twice, and their letters in the figure have a ring.

    Fill it by pencil at the bench, or in a PDF viewer and hand it to start.

    With --mount: two pages for a mount that works, whose numbers `learn` makes a row of. They show three ways
    to measure one without a fixture, with pins, a bar or a rule, and have boxes for what was read.

    \b
    Example:
      dropleaf blank --paper Letter --out bench
      writes bench/measuring-sheet-Letter.pdf; later: dropleaf start --from that file
      dropleaf blank samples/dunlin.toml --out bench
      dropleaf blank --units in --out bench
      dropleaf blank --mount --out bench
    """
    from geometry.core.errors import InputError
    from sheets.actions.manifest import file_json, text
    from sheets.actions.one_sheet import mount_named, paper_named, write_blank, write_mount_sheet
    from sheets.actions.writing import read_back
    from sheets.pages.running.blank import BOTH

    figure = mount_named(shown) if shown else None
    if mount:
        if units not in (None, "mm"):
            raise InputError.at("--units", tell("blank.mount_in_mm"))
        if job is not None:
            raise InputError.at("--mount", tell("blank.of_no_job"))
        drawn, worst = write_mount_sheet(paper_named(paper or "A4"), out)
    elif job is not None:
        from sheets.guide.sheet_of import sheet_of

        known, told_in = sheet_of(job, units)
        size = paper_named(paper or known.paper)
        drawn, worst = write_blank(size, out, figure or known.shown, told_in, known)
    else:
        drawn, worst = write_blank(paper_named(paper or "A4"), out, figure or BOTH, units or "mm")
    if as_json:
        say(text(headed("blank", {"files": [file_json(drawn)], "warnings": []})))
    else:
        say(read_back(str(drawn.path), worst))
    return DONE
