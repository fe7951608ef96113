"""`dropleaf mounts`: the tables, with grade and source of every number."""

import click

from sheets.console import DONE, JSON, WRONG, complain, say
from sheets.words.tell import line


@click.command("mounts")
@JSON
def command(as_json: bool) -> int:
    """Print the tables of interfaces, adapters and axles.

    Each number comes with its grade and source; one that was not found says so. Rows of your own table
    (interfaces.toml in your folder, see learn) are listed too.

    \b
    Example:
      dropleaf mounts
      the row post is a mount that a job asks for with interface = "post"
    """
    from sheets.actions.manifest import text
    from sheets.actions.mounts import document, listing
    from sheets.home.own_rows import read

    own = read()
    for problem in own.problems:
        complain(line(problem))
    say(text(document(own.rows)) if as_json else listing(own.rows))
    return WRONG if own.problems else DONE
