"""A text in lines of a given width, as a terminal shows it."""

import textwrap

_NARROWEST = 20
"""The fewest characters in which text is set beside what leads its line."""


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
