"""What a shell offers for a value where Tab is pressed: names that are known here, and jobs that lie there.

A shell waits for it, and shows nothing else: what cannot be read offers nothing.
"""

import pkgutil
from collections.abc import Callable, Iterable
from pathlib import Path

import click
from click.shell_completion import CompletionItem

from geometry.core.errors import DropleafError
from sheets import commands

Offer = Callable[[click.Context, click.Parameter, str], list[CompletionItem]]


def known_commands() -> list[str]:
    """Return the names of all commands, in alphabetical order."""
    return sorted(module.name for module in pkgutil.iter_modules(commands.__path__))


def _of(names: Callable[[], Iterable[str]]) -> Offer:
    def offer(context: click.Context, parameter: click.Parameter, typed: str) -> list[CompletionItem]:
        try:
            found = [name for name in names() if name.casefold().startswith(typed.casefold())]
        except (DropleafError, OSError):
            found = []
        return [CompletionItem(name) for name in found]

    return offer


def _papers() -> Iterable[str]:
    from sheets.ink.paper import PAPERS

    return PAPERS


def _printers() -> Iterable[str]:
    from sheets.home.printers import known

    return known()


def _samples() -> Iterable[str]:
    from sheets.actions.samples import samples

    return samples()


def _mounts() -> Iterable[str]:
    from geometry.tables.interfaces import rows

    return rows()


def _help_words() -> Iterable[str]:
    from sheets.actions.book import pages

    return (*pages(), *known_commands())


papers, printers, samples, mounts, help_words = map(_of, (_papers, _printers, _samples, _mounts, _help_words))


def jobs(context: click.Context, parameter: click.Parameter, typed: str) -> list[CompletionItem]:
    """Offer the TOML files of the folder that is typed, and its folders; with none, what the shell finds."""
    head, _, begun = typed.rpartition("/")
    folder = Path(f"{head}/" if "/" in typed else ".")
    try:
        there = sorted(each for each in folder.iterdir() if each.name.startswith(begun))
    except OSError:
        there = []
    before = f"{head}/" if "/" in typed else ""
    files = [f"{before}{each.name}" for each in there if each.suffix == ".toml"]
    if not files:
        return [CompletionItem(typed, type="file")]
    folders = [f"{before}{each.name}/" for each in there if each.is_dir() and not each.name.startswith(".")]
    return [CompletionItem(name) for name in (*files, *folders)]


def folders(context: click.Context, parameter: click.Parameter, typed: str) -> list[CompletionItem]:
    """Offer folders, which the shell finds itself."""
    return [CompletionItem(typed, type="dir")]
