"""`dropleaf help`: a page of the book, or what a command does."""

import shutil
import sys

import click

from sheets.console import DONE, columns, say
from sheets.offered import help_words


@click.command("help")
@click.argument("words", metavar="[WORD...]", nargs=-1, shell_complete=help_words)
@click.option("--man", is_flag=True, help="Print the manual page, for man.")
def command(words: tuple[str, ...], man: bool) -> int:
    """Open a page of the book, or tell what a command does.

    Without a word it shows what the book has. On a terminal a long page is shown a screen at a time.

    \b
    Example:
      dropleaf help printing
      how to print true, and what to do where the bars do not read true
      dropleaf help draw
      the same as dropleaf draw --help
    """
    from sheets.actions.book import CONTENTS, shown

    top = click.get_current_context().find_root()
    assert isinstance(top.command, click.Group)
    if man:
        from sheets.manual import manual

        say(manual(top))
    elif not words:
        _paged(shown(CONTENTS, columns()))
    elif words[0] in top.command.list_commands(top):
        say(_command(words, top).get_help())
    else:
        _paged(shown(_page(" ".join(words), top), columns()))
    return DONE


def _command(words: tuple[str, ...], top: click.Context) -> click.Context:
    """Return the command that words lead to, as if it had been typed; what leads nowhere is left out."""
    found = top
    for word in words:
        inner = found.command.get_command(found, word) if isinstance(found.command, click.Group) else None
        if inner is not None:
            found = click.Context(inner, parent=found, info_name=word)
    return found


def _page(word: str, top: click.Context) -> str:
    """Return the page that somebody means; a name that only a command is near is no page."""
    from geometry.core.meant import meant
    from sheets.actions.book import pages

    assert isinstance(top.command, click.Group)
    found = meant(word, (*pages(), *top.command.list_commands(top)))
    return found if found in pages() else word


def _paged(text: str) -> None:
    """Print a text, by the user's pager where it is longer than the terminal is high."""
    if sys.stdout.isatty() and text.count("\n") > shutil.get_terminal_size().lines - 2:
        click.echo_via_pager(text)
    else:
        say(text)
