"""A row that was learned, kept under a name: alone, or together with the mount that was kept there before."""

from typing import NamedTuple

from sheets.actions.learn import Lesson, check_name
from sheets.actions.learn_second import second
from sheets.actions.learn_words import block
from sheets.home.own_rows import KeptRow, read


class Kept(NamedTuple):
    """What became of a row: whether it may be kept at all, its text, and what is said of a mount kept before.

    `apart` says where both mounts disagree: nothing is kept then. `files` has the file that it was put into.
    """

    keeping: bool
    shown: str
    joined: str
    apart: str
    files: list[str]


def kept(lesson: Lesson, save: str | None, replaces: bool, replace: bool, despite: bool) -> Kept:
    """Keep a row under the name `save`, if one is given and nothing speaks against it.

    It stands in for the shipped one of that name where it `replaces`, is written over the builder's own with
    `replace`, and kept although another size fits better with `despite`. Raise DropleafError where a row of
    that name cannot be used or written.
    """
    keeping = save is not None and not lesson.doubts and (despite or not lesson.questions)
    both = None
    if save is not None:
        check_name(lesson, save)
        if keeping and not replace:
            before = row_of(save, lesson.measured.end, lesson.measured.native)
            both = None if before is None else second(lesson, before, replaces)
    apart = "" if both is None else both.disagrees
    shown = both.block if both is not None and not apart else block(lesson, save, replaces)
    files = []
    if keeping and not apart:
        from sheets.home.own_rows_file import keep

        files = [str(keep(shown, replace or both is not None))]
    return Kept(keeping, shown, "" if both is None else both.words, apart, files)


def row_of(save: str, end: str, native: float) -> KeptRow | None:
    """Return the row that is kept under a name for this end and size, None where none is."""
    return next((each for each in read().rows if each.key == (save, end, native)), None)
