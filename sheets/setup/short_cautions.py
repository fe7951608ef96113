"""Which cautions the card repeats in short, and in which order they leave it."""

from collections.abc import Sequence

from geometry.core.say import Say, say
from geometry.tables.cautions import Caution

MOST = 8
"""Cautions on the card at most."""
FIRST = (
    *("governs", "vent", "shade-torch", "shade-tig", "cadmium", "acetylene", "argon", "titanium-argon"),
    *("chromium", "combustibles", "fire-watch", "hood", "clean-dry", "zinc", "plating-heat"),
)
"""Ids of those that the card may repeat, what hurts worst or soonest first: own judgement."""
_LAST = "governs"


def short_cautions(cautions: Sequence[Caution], most: int = MOST) -> tuple[Say, ...]:
    """Return the cautions of a process in short, at most so many, as they are met at the bench.

    What leaves first is what stands last in FIRST. The numbers in them are the table's, with their units.
    """
    there = {each.id for each in cautions}
    kept = [name for name in FIRST if name in there][:most]
    found = [each for each in cautions if each.id in kept]
    found.sort(key=lambda each: each.id == _LAST)
    return tuple(_short(each) for each in found)


def _short(caution: Caution) -> Say:
    values = {key: str(value) for key, value in caution.values}
    key = caution.id.replace("-", "_")
    if caution.id == "shade-tig" and "dark" in values:
        key = "shade_tig_both"
    elif caution.id == "shade-tig" and "top" in values:
        key = "shade_tig_none"
    return say(f"caution.short.{key}", **values)
