"""What becomes of mounts that were put together: their rows, those that are kept, and what is told of it."""

from geometry.core.frozen import dataclass
from sheets.actions import pool_words
from sheets.actions.pool import Pool
from sheets.words.tell import line, tell


@dataclass(frozen=True, slots=True)
class Outcome:
    """The row of each group as text, "" for one that does not agree; the file that rows were kept in, "".

    `said` is what is complained of. `good` tells that all mounts were counted and agree, and that no row was
    to be kept that was not.
    """

    shown: tuple[str, ...]
    kept: str
    said: tuple[str, ...]
    good: bool


def outcome(
    found: Pool, save: str | None, replaces: bool = False, replace: bool = False, despite: bool = False
) -> Outcome:
    """Keep the rows under the name `save`, if one is given and nothing speaks against it: all or none.

    Raise InputError where one cannot be kept under that name.
    """
    shown = tuple(pool_words.block(each, save, replaces) if each.agrees else "" for each in found.groups)
    lost = "" if save is None else pool_words.not_kept(found, save, despite)
    kept = ""
    if save is not None and not lost:
        from sheets.home.own_rows_file import check_free, keep

        # All of them or none: the last may have a name that is taken.
        for group in found.groups if not replace else ():
            check_free(save, *group.key[1:])
        for each in shown:
            kept = str(keep(each, replace))
    agree = bool(found.groups) and all(each.agrees for each in found.groups)
    said = [*(line(each) for each in found.wrong), *pool_words.complaints(found)]
    if lost:
        said.append(lost)
    elif found.groups and not agree:
        said.append(tell("pool.disagree"))
    elif found.groups and (found.wrong or found.left_out) and not kept:
        said.append(tell("pool.incomplete"))
    good = not (lost or found.left_out or found.wrong) and agree
    return Outcome(shown, kept, tuple(said), good)
