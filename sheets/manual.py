"""The manual page for man, made from what the commands' help says and from the book's page of statuses."""

import inspect
import re
from collections.abc import Iterator

import click

from sheets.actions.book import pages, text
from sheets.words.tell import tell


def manual(top: click.Context) -> str:
    """Return the manual page of a command line in the macros of man(7), every command with its options."""
    assert isinstance(top.command, click.Group)
    lines = [
        '.TH DROPLEAF 1 "" dropleaf',
        *(".SH NAME", f"dropleaf \\- {_safe(_first(top.command))}"),
        *(".SH SYNOPSIS", ".B dropleaf", _safe(" ".join(top.command.collect_usage_pieces(top)))),
        *(".SH DESCRIPTION", *_said(top.command), *_options(top.command, top)),
        ".SH COMMANDS",
        *(line for path, command in _commands(top) for line in _about(path, command)),
    ]
    statuses = re.findall(r"^\| ([0-9]+) \| (.*?) \|$", text("statuses"), re.MULTILINE)
    lines += [".SH EXIT STATUS", *(line for number, why in statuses for line in _item(number, why))]
    lines += [".SH SEE ALSO", _safe(tell("book.see_also", pages=", ".join(pages())))]
    return "\n".join(lines)


def _commands(context: click.Context) -> Iterator[tuple[str, click.Context]]:
    """Yield every command below a group in its order, those of its groups behind it."""
    group = context.command
    if isinstance(group, click.Group):
        for name in group.list_commands(context):
            command = group.get_command(context, name)
            assert command is not None
            inner = click.Context(command, parent=context, info_name=name)
            yield inner.command_path, inner
            yield from _commands(inner)


def _about(path: str, context: click.Context) -> list[str]:
    usage = " ".join((path, *context.command.collect_usage_pieces(context)))
    return [f".SS {_safe(usage)}", *_said(context.command), *_options(context.command, context)]


def _said(command: click.Command) -> list[str]:
    """Return a command's help, its examples line for line."""
    lines: list[str] = []
    for part in inspect.cleandoc(command.help or "").split("\n\n"):
        if part.startswith("\b\n"):
            lines += [".PP", ".nf", *(_safe(line) for line in part.split("\n")[1:]), ".fi"]
        else:
            lines += [".PP", _safe(" ".join(part.split()))]
    return lines


def _options(command: click.Command, context: click.Context) -> list[str]:
    records = [parameter.get_help_record(context) for parameter in command.get_params(context)]
    return [line for record in records if record is not None for line in _item(*record)]


def _item(head: str, what: str) -> list[str]:
    return [".TP", f".B {_safe(head)}", _safe(" ".join(what.split()))]


def _first(command: click.Command) -> str:
    return inspect.cleandoc(command.help or "").split("\n\n")[0].rstrip(".")


def _safe(line: str) -> str:
    """Return a line of text that no reader of macros takes for one; dashes stay those that are typed."""
    bare = line.replace("\\", "\\e").replace("-", "\\-")
    return f"\\&{bare}" if bare.startswith((".", "'")) else bare
