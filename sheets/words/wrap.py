"""A text in lines of a given width, as a terminal shows it."""

import re
import textwrap

_NARROWEST = 20
"""The fewest characters in which text is set beside what leads its line."""
_COLUMN = re.compile(r"\s{2,}")
_TOML = re.compile(r"[a-z_]+ = |\[|# ")
_NUMBERED = re.compile(r"[0-9]+\. ")


def wrapped(text: str, width: int, head: str = "") -> list[str]:
    """Return a text in lines of at most `width` characters, broken at words, the first led by `head`.

    The others begin below the first. A word that is longer than a line, such as a path, stays whole.
    """
    return textwrap.wrap(
        text,
        max(width, len(head) + _NARROWEST),
        initial_indent=head,
        subsequent_indent=" " * len(head),
        break_long_words=False,
        break_on_hyphens=False,
    ) or [head.rstrip()]


def folded(text: str, width: int) -> str:
    """Return a listing whose lines have at most `width` characters, a line that is broken going on below.

    It goes on below its last column that begins in the left half, and columns further right stay whole where
    they can. Lines of TOML are left as they are: they are there to be copied.
    """
    return "\n".join(
        each if len(each) <= width or _TOML.match(each) else "\n".join(_folded(each, width))
        for each in text.split("\n")
    )


def _folded(line: str, width: int) -> list[str]:
    indent = len(line) - len(line.lstrip())
    starts = [each.end() for each in _COLUMN.finditer(line, indent) if each.end() <= width // 2]
    number = _NUMBERED.match(line, indent)
    if starts:
        begin = hang = starts[-1]
    else:
        begin, hang = indent, (number.end() if number else indent + 2 if indent else 0)
    lines = [line[:begin]]
    for column in _COLUMN.split(line[begin:]):
        clear = "" if len(lines[-1]) <= hang else "  "
        if len(lines[-1]) + len(clear) + len(column) <= width:
            lines[-1] += clear + column
            continue
        first = lines.pop() if len(lines[-1]) <= hang else " " * hang
        lines += textwrap.wrap(
            column,
            max(width, hang + _NARROWEST),
            initial_indent=first,
            subsequent_indent=" " * hang,
            break_long_words=False,
            break_on_hyphens=False,
        )
    return lines
