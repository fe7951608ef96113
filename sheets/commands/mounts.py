"""`dropleaf mounts`: the tables, with grade and source of every number."""

import click

from sheets.console import DONE, JSON, say


@click.command("mounts")
@JSON
def command(as_json: bool) -> int:
    """Print the tables of interfaces, adapters and axles.

    Each number comes with its grade and source; one that was not found says so.

    \b
    Example:
      dropleaf mounts
      the row post is a mount that a job asks for with interface = "post"
    """
    from sheets.manifest import text
    from sheets.mounts import document, listing

    say(text(document()) if as_json else listing())
    return DONE
