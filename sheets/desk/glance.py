"""What the frames of a folder are counted by: how each stands, and what became of its packets.

Every count is a button that lists those alone. They go by these names, whatever language they are told in.
"""

from collections import Counter
from collections.abc import Sequence

from geometry.core.frozen import dataclass
from sheets.desk.watch import Row, proven

FRAMES = ("stop", "wrong", "warn", "unknown", "confirm", "good", "waits")
"""How a frame may stand, the gravest first: "wrong" cannot be read or drawn, "waits" is being judged."""
PACKETS = ("no-packet", "drawn", "older", "proven", "filled", "surveyed")
"""What its newest packet may be; several may be true of one."""


@dataclass(frozen=True, slots=True)
class Count:
    """A name of those above, and of how many frames it is true."""

    name: str
    count: int


def marks(row: Row) -> tuple[str, ...]:
    """Return the names that are true of a frame; of its packets the newest revision counts."""
    verdict = row.judged.verdict if row.judged else None
    wrong = bool(row.frame.problems) or (row.judged is not None and verdict is None)
    stands = "wrong" if wrong else verdict or "waits"
    if not row.packets:
        return (stands,) if row.reading else (stands, "no-packet")
    newest = row.packets[0]
    if newest.problem:
        return (stands,)
    same = not newest.job or row.frame.job.startswith(newest.job)
    told = {
        "proven": proven(newest, row.frame),
        "filled": newest.filled,
        "surveyed": bool(newest.survey),
    }
    return (stands, "drawn" if same else "older", *(name for name, true in told.items() if true))


def counts(rows: Sequence[Row]) -> tuple[Count, ...]:
    """Return how many frames there are of each kind that there is."""
    found = Counter(name for row in rows for name in marks(row))
    return tuple(Count(name, found[name]) for name in (*FRAMES, *PACKETS) if found[name])
