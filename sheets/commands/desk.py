"""`dropleaf desk`: the folder's frames as a page in the builder's own browser."""

from pathlib import Path

import click

from sheets.console import DONE, say
from sheets.offered import folders
from sheets.words.tell import tell


@click.command("desk")
@click.argument(
    "folder", metavar="[FOLDER]", default=Path(), type=click.Path(path_type=Path), shell_complete=folders
)
@click.option(
    "--port",
    type=click.IntRange(min=0, max=65535),
    default=0,
    metavar="N",
    help="The port to serve at. Default: any that is free.",
)
@click.option("--no-browser", is_flag=True, help="Open no browser: only print the address.")
def command(folder: Path, port: int, no_browser: bool) -> int:
    """Show the frames of FOLDER in your own browser, and work on them there.

    The page draws a frame while you type its measures, makes its packet, takes its readings and judges them:
    the same work as the other commands do, on the same files. Default for FOLDER: the current one.

    It is served on this machine alone, to whoever has the address that is printed; nothing comes from the
    network, and nothing goes there. Only FOLDER and your own settings are written to. Ctrl-C ends it.

    \b
    Example:
      dropleaf desk samples --no-browser
      prints the address of the frames in samples
    """
    from sheets.desk.serve import bound, serve

    desk, place = bound(folder, port)
    serve(
        desk,
        place,
        not no_browser,
        lambda address: say(
            tell(
                "desk.opened_alone" if no_browser else "desk.opened", folder=str(desk.folder), address=address
            )
        ),
    )
    say(tell("desk.ended"))
    return DONE
