"""Numbers that are guesses, in no more figures than they deserve."""

from math import floor, log10

from geometry.core.tables import Number


def two(value: float) -> str:
    """Return a number to two significant figures, without an exponent: 0.33, 3.3, 33, 330."""
    if value == 0.0:
        return "0"
    places = 1 - floor(log10(abs(value)))
    rounded = round(value, places)
    # Rounding may carry over: 0.996 is 1.0.
    return f"{rounded:.{max(0, 1 - floor(log10(abs(rounded))))}f}"


def figures(number: Number) -> str:
    """Return a table's number as it is told: a derived or remembered one of many figures to two of them."""
    whole = f"{number.value:g}"
    return (
        two(number.value) if number.grade == "D" and len(whole.strip("-0.").replace(".", "")) > 3 else whole
    )
