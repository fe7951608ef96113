"""What leaves the card where not all of it has room on its one page, first to last.

Lines are set closer, and then this leaves: notes beyond the third; customer and note; what the plate is; how
the readings are taken, but for one to a tube's edge; the largest disc; all notes, but for those lettered
large on every sheet or that limit a verdict; as many lines of the order of work after a step's first as must;
second lines of findings; unknown findings and warnings beyond the third; notes that limit a verdict; readings
beyond the first four rows; half of the cautions, then all but what hurts worst; the order of work beyond its
twelfth and its sixth; second lines of stops. Last of all, what is stamped is lettered as high as a reading.
What need not have gone comes back, the last first.
Which stop, what is stamped, the stack, what a reading decides and the screws never leave it.
"""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import replace
from typing import Any

from geometry.core.frozen import dataclass
from sheets.setup.short_cautions import MOST

MOST_WORK = 9
"""Lines that a step of the order of work takes at most."""


@dataclass(frozen=True, slots=True)
class Kept:
    """How much of what may leave the card is kept: parts, or how many of them, and of how many lines.

    `work_lines` are those of the order of work beyond one a step; `stamp` is how high stamps are, mm.
    """

    notes: int = 3
    typed: bool = True
    how: bool = True
    largest: bool = True
    plate: bool = True
    lines: int = 2
    others: int = 6
    rows: int = 6
    limiting: bool = True
    cautions: int = MOST
    work_lines: int = 99
    work: int = 99
    stop_lines: int = 2
    stamp: float = 5.0


_WHOLE = Kept()
_LEAVING: tuple[tuple[str, Any], ...] = (
    *(
        ("typed", False),
        ("plate", False),
        ("how", False),
        ("largest", False),
        ("notes", 0),
        ("work_lines", 0),
        ("lines", 1),
        ("others", 3),
    ),
    *(
        ("limiting", False),
        ("rows", 4),
        ("cautions", 4),
        ("cautions", 1),
        ("work", 12),
        ("work", 6),
    ),
    *(("stop_lines", 1), ("stamp", 3.5)),
)
"""What leaves the card, first to last, and what is then left of it."""


def ladder() -> Iterator[Kept]:
    """Yield what is kept step by step, in the order that the module names."""
    kept = _WHOLE
    yield replace(kept, notes=99)
    yield kept
    for name, left in _LEAVING:
        kept = replace(kept, **{name: left})
        yield kept


def most_kept(fits: Callable[[Kept], bool], steps: int) -> Kept | None:
    """Return the most that fits of a card whose order of work has so many steps; None where nothing does."""
    kept = next((each for each in ladder() if fits(each)), None)
    return None if kept is None else _brought_back(kept, fits, steps)


def _brought_back(kept: Kept, fits: Callable[[Kept], bool], steps: int) -> Kept:
    """Return what is kept with all that left in vain: the page is no lower for the lack of it."""
    for name in dict.fromkeys(name for name, _ in reversed(_LEAVING)):
        whole = getattr(_WHOLE, name)
        # Of the notes as many come back as there is room for.
        several: Iterable[Any] = range(whole, kept.notes, -1) if name == "notes" else (whole,)
        for most in several:
            more = replace(kept, **{name: most})
            if more != kept and fits(more):
                kept = more
                break
        if name == "largest":
            # What white is left after the findings goes to the steps, before what is told elsewhere too.
            kept = _with_lines(kept, fits, steps)
    return kept


def _with_lines(kept: Kept, fits: Callable[[Kept], bool], steps: int) -> Kept:
    """Return what is kept with as many lines of the order of work as have room, found by halving."""
    least, most = kept.work_lines, min(_WHOLE.work_lines, MOST_WORK * steps)
    while least + 1 < most:
        half = (least + most) // 2
        if fits(replace(kept, work_lines=half)):
            least = half
        else:
            most = half
    return replace(kept, work_lines=least) if kept.work_lines < _WHOLE.work_lines else kept
