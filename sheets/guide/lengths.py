"""Lengths in questions: how a bare number is read, kept, shown and told back, by the units of the job.

Where a job tells inches, a bare number that is typed is inches and is kept with its unit, as it was typed:
"1 1/8" becomes "1 1/8 in", so that neither draft nor job can be read in two ways. In files a bare number is
mm whatever the units, as in the job. A unit that is typed always counts.
"""

import math
import re
from collections.abc import Callable, Mapping, Sequence
from typing import Literal

from geometry.core.errors import RefusedError
from sheets.actions.readings_file import with_unit
from sheets.job.limits import Range
from sheets.job.units import bare, given, in_inches, length
from sheets.words.lengths import INCH, Units, inches, measured, telling

UNITS = "paper.units"
"""The question, and the job's key, that says in which units lengths are asked for and told."""
Shape = Literal["", "one", "place", "list"]
"""How an answer holds lengths: not at all, as one, as outside at distance, or as several."""

_SEPARATE = re.compile(r",?\s+")
_UNIT = re.compile(r"(?:mm|cm|inches|inch|in|[\"″”])\.?", re.IGNORECASE)
_MIXED = re.compile(r"(?<![0-9./⁄])[0-9]+\s+(?:[0-9]+\s*[/⁄]\s*[0-9]+|[½¼¾⅛⅜⅝⅞])")
_BARE_IS: dict[Units, str] = {"mm": "", "in": "inches", "both": "mm"}


def units_of(answers: Mapping[str, str]) -> Units:
    """Return the units in which lengths are asked for and told; mm where nothing is said of them."""
    said = answers.get(UNITS, "")
    return "in" if said == "in" else "both" if said == "both" else "mm"


def bare_is(units: Units) -> str:
    """Return what a question of a length says of a bare number; nothing where all is mm anyway."""
    return _BARE_IS[units]


def split(text: str) -> list[str]:
    """Return the numbers of a list as texts; a unit stays with its number, and semicolons part any."""
    if ";" in text:
        return [part.strip() for part in text.split(";") if part.strip()]
    parts: list[str] = []
    for part in filter(None, _SEPARATE.split(text.strip())):
        if parts and _UNIT.fullmatch(part):
            parts[-1] = f"{parts[-1]} {part}"
        else:
            parts.append(part)
    return parts


def joined(parts: Sequence[str]) -> str:
    """Return the numbers of a list as one text, which `split` takes apart again."""
    # A lone "1 1/8 in" would be taken for 1 and 1/8.
    return f"{parts[0]};" if len(parts) == 1 and _MIXED.search(parts[0]) else "; ".join(parts)


def refuse_mixed(text: str) -> None:
    """Raise ValueError for "1 1/8" in a list without semicolons: it may be one number or two."""
    if ";" not in text and (found := _MIXED.search(text)):
        raise ValueError(
            f"{given(text)} given; '{found[0]}' may be one number or two: "
            "put a semicolon behind each number, as 1-1/8; 1/2;"
        )


def parted(text: str) -> tuple[list[str], str] | None:
    """Return the sizes and the distance of "25: 20 x 16" or "20 x 16 at 25", None for any other text."""
    distance, found, outside = re.sub(r"^\s*at(?![a-z])", "", text, flags=re.I).partition(":")
    if not found:
        outside, found, distance = re.sub(r"@|(?<![a-z])at(?![a-z])", "@", text, flags=re.I).partition("@")
    sizes = [part.strip() for part in re.split(r"\s*[x×]\s*", outside.strip(), flags=re.I)]
    return (sizes, distance.strip()) if found else None


def each(shape: Shape, text: str, change: Callable[[str], str]) -> str:
    """Return an answer with each length in it changed; one that cannot be taken apart as it is."""
    if shape == "one":
        return change(text)
    if shape == "list":
        return joined([change(part) for part in split(text)])
    place = parted(text) if shape == "place" else None
    if place is None:
        return text
    sizes, distance = place
    return f"{change(distance)}: {' x '.join(change(size) for size in sizes)}"


def in_file(text: str, units: Units) -> str:
    """Return a length of a file, where bare is mm, so that no question that asks for inches misreads it."""
    return f"{text.strip()} mm" if units == "in" and bare(text) else text


def within(allowed: Range, text: str, units: Units) -> str:
    """Return a length as it is kept; raise ValueError with what is allowed, in inches where they are asked.

    A number that is no length has no unit to be given.
    """
    if allowed.parse is not length:
        allowed(text)
        return text
    kept = with_unit(text, units)
    if units != "in":
        allowed(kept)
        return kept
    number = length(kept)
    try:
        allowed(kept)
    except RefusedError as error:
        low, high = bounds(allowed)
        also = f" ({number:.2f} mm)" if in_inches(kept) else f" ({number / INCH:.3f} in)"
        meant = f"; if you mean mm, write {text.strip()} mm" if _fits(allowed, text) else ""
        raise ValueError(f"{given(kept)}{also} given; allowed {low:g} to {high:g} in{meant}") from error
    return kept


def bounds(allowed: Range) -> tuple[float, float]:
    """Return what a length may be in inches, to 0.001 and never beyond what is allowed."""
    return math.ceil(allowed.low / INCH * 1000.0) / 1000.0, math.floor(allowed.high / INCH * 1000.0) / 1000.0


def _fits(allowed: Range, text: str) -> bool:
    """Tell whether a bare number would be allowed as mm."""
    if not bare(text):
        return False
    try:
        allowed(f"{text.strip()} mm")
    except RefusedError:
        return False
    return True


def shown(shape: Shape, text: str, units: Units) -> str:
    """Return an answer as it is shown: in the job's units, and what was typed in inches as it was typed."""
    return text if units == "mm" or not shape else each(shape, text, lambda one: _shown(one, units))


def _shown(text: str, units: Units) -> str:
    try:
        value = length(text)
    except RefusedError:
        # It is told as wrong when it is read.
        return text
    if in_inches(text):
        return text if units == "in" else f"{text} ({value:.2f} mm)"
    if units == "in":
        return f"{inches(value)} in"
    return f"{text} mm ({inches(value)} in)" if bare(text) else f"{text} ({inches(value)} in)"


def told_back(shape: Shape, typed: str, kept: str, units: Units) -> str:
    """Return what a bare answer came to in mm and inches, so that a slip of units is seen; else nothing."""
    if units == "mm" or shape in ("", "place") or each(shape, typed, _marked) == each(shape, typed, str):
        return ""
    return f"= {each(shape, kept, _both).rstrip(';')}"


def spoken(text: str, units: Units) -> str:
    """Return a length with its unit, for a sentence; in both units where the job does not tell mm alone."""
    if units == "mm" and not in_inches(text):
        return f"{text} mm" if bare(text) else text
    return _both(text)


def _marked(text: str) -> str:
    return f"{text} in" if bare(text) else text


def _both(text: str) -> str:
    if in_inches(text):
        return f"{text} ({length(text):.2f} mm)"
    with telling("both"):
        return measured(length(text), ".2f mm")
