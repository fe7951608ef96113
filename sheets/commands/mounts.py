"""`dropleaf mounts`: the tables, with grade and source of every number."""

import click

from sheets.console import DONE, JSON, WRONG, complain, listed, say
from sheets.words.as_json import headed
from sheets.words.tell import line


@click.command("mounts")
@click.option(
    "--open",
    "open_",
    is_flag=True,
    help="Only what is open, and what settles it.",
)
@JSON
def command(open_: bool, as_json: bool) -> int:
    """Print the tables of interfaces, adapters and axles.

    Each number comes with its grade and source; one that was not found says so. Rows of your own table
    (interfaces.toml in your folder, see learn) are listed too. With --open it prints what is provisional or
    rests on one text, which reading on which part would settle it fastest, and the numbers in which a slip
    of 1 mm would be noticed by no check between rows.

    \b
    Example:
      dropleaf mounts
      the row post is a mount that a job asks for with interface = "post"
      dropleaf mounts --open
      what to measure next; dropleaf blank --mount prints the page to note it on
    """
    from sheets.actions.manifest import text
    from sheets.actions.mounts import document, listing
    from sheets.home.own_rows import read

    if open_:
        from sheets.actions import mounts_open

        if as_json:
            say(text(headed("open", mounts_open.document())))
        else:
            listed(mounts_open.listing())
        return DONE
    own = read()
    for problem in own.problems:
        complain(line(problem))
    if as_json:
        say(text(headed("mounts", document(own.rows))))
    else:
        listed(listing(own.rows))
    return WRONG if own.problems else DONE
