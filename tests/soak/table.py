"""What came of a run of many: counts, and a line for each that must not be."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field


@dataclass(slots=True)
class Table:
    """How many of each, the kinds that were met, and a line for each that broke, hung or was wrong."""

    seen: Counter[str] = field(default_factory=Counter)
    kinds: set[str] = field(default_factory=set)
    told: list[str] = field(default_factory=list)

    def tell(self, what: str, line: str) -> None:
        """Count something that must not be, and keep its line."""
        self.seen[what] += 1
        self.told.append(f"{what}: {line}")

    def text(self, head: str, what: Sequence[str]) -> str:
        """Return the lines, what heads the counts, and the counts."""
        return "\n".join((*self.told, head, *(f"{each}: {self.seen[each]}" for each in what))) + "\n"
