"""Numbers as a builder writes them: 19.05, "3/4 in", '1-1/2"', "1.9 cm", "62 deg".

A bare number, quoted or not, is millimetres or degrees. Everything is worked out in exact fractions and
rounded once, so that "3/4 in" is 19.05 and nothing beside it (1 in = 25.4 mm by definition).
"""

import math
import re
from fractions import Fraction

_INCH = Fraction(254, 10)
_LENGTHS = {
    "": Fraction(1),
    "mm": Fraction(1),
    "cm": Fraction(10),
    "in": _INCH,
    "inch": _INCH,
    "inches": _INCH,
    '"': _INCH,
    "″": _INCH,
    "”": _INCH,
}
_ANGLES = {
    "": Fraction(1),
    "deg": Fraction(1),
    "degree": Fraction(1),
    "degrees": Fraction(1),
    "°": Fraction(1),
}
_CURRENTS = {"": Fraction(1), "a": Fraction(1)}
_SHARES = {"": Fraction(1), "%": Fraction(1, 100)}
_PLAIN = {"": Fraction(1)}
_USE = "use mm, cm, in, or deg for angles"

_VULGAR = {"½": "1/2", "¼": "1/4", "¾": "3/4", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8"}
_DECIMAL = r"[0-9]+(?:\.[0-9]*)?|\.[0-9]+"
_FORM = re.compile(
    rf"(?P<sign>[+-]?)\s*"
    rf"(?:(?:(?P<whole>[0-9]+)(?:\s+|\s*-\s*))?(?P<top>[0-9]+)\s*/\s*(?P<bottom>[0-9]+)|(?P<decimal>{_DECIMAL}))"
    r"\s*(?P<unit>[^0-9\s.,/+-].*)?"
)
# Longer than any sensible entry, and short enough that no fraction of it can take time or memory.
_LONGEST = 40


def length(value: object) -> float:
    """Return a length in mm from a number or a string, unit or no unit; ValueError says what is wrong."""
    return _number(value, _LENGTHS, "a length", "an angle", _ANGLES)


def angle(value: object) -> float:
    """Return an angle in degrees from a number or a string with or without a unit; ValueError as `length`."""
    return _number(value, _ANGLES, "an angle", "a length", _LENGTHS)


def current(value: object) -> float:
    """Return a current in amperes from a number or a string such as "90 A"; ValueError as `length`."""
    return _number(value, _CURRENTS, "a current in amperes", "", {})


def share(value: object) -> float:
    """Return a share of one from a number or a string such as "50 %"; ValueError as `length`."""
    return _number(value, _SHARES, "a share of one", "", {})


def plain(value: object) -> float:
    """Return a number that takes no unit, such as a mass in kg; ValueError as `length`."""
    return _number(value, _PLAIN, "a plain number", "", {})


def pattern(parse: object) -> str:
    """Return a regular expression, in the dialect of JSON schema, for the strings that a parser here reads.

    What it matches the parser reads, but for a division by 0 and units in capitals other than the usual.
    """
    units = {length: _LENGTHS, angle: _ANGLES, current: _CURRENTS, share: _SHARES, plain: _PLAIN}[parse]  # type: ignore[index]
    named = "|".join("".join(_either_case(c) for c in unit) for unit in sorted(units, reverse=True) if unit)
    fraction = r"([0-9]+(\s+|\s*-\s*))?[0-9]+\s*[/⁄]\s*[0-9]+"
    vulgar = rf"([0-9]+\s*)?[{''.join(_VULGAR)}]"
    unit = rf"(({named})\.?)?" if named else ""
    parted, decimal = rf"({fraction}|{vulgar})", r"([0-9]+(\.[0-9]*)?|\.[0-9]+)"
    if parse is length:
        # A fraction of a length says its unit.
        return rf"^\s*[-+−]?\s*({parted}\s*({named})\.?|{decimal}\s*{unit})\s*$"
    return rf"^\s*[-+−]?\s*({parted}|{decimal})\s*{unit}\s*$"


def _either_case(letter: str) -> str:
    return f"[{letter.upper()}{letter}]" if letter.isalpha() else letter


def given(value: object) -> str:
    """Return a value as an error message quotes it: short, on one line, as it stands in the job file."""
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, dict):
        return "a table"
    if isinstance(value, list | tuple):
        return "a list"
    if isinstance(value, str):
        shown = repr(value)
        return shown if len(shown) <= 60 else f"{shown[:50]}...{shown[0]}"
    if isinstance(value, int):
        # A longer one may be beyond what Python agrees to print.
        return str(value) if value.bit_length() < 128 else "a number of more than 38 digits"
    return str(value) if isinstance(value, float) else f"the {type(value).__name__} {value}"


def _number(
    value: object, units: dict[str, Fraction], wanted: str, other: str, other_units: dict[str, Fraction]
) -> float:
    if isinstance(value, str):
        return _finite(_text(value, units, wanted, other, other_units), value)
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise ValueError(f"{given(value)} given; {wanted} is wanted, such as {_example(units)}")
    return _finite(value, value)


def _finite(value: float | Fraction, shown: object) -> float:
    try:
        number = float(value)
    except OverflowError:
        number = math.inf
    if not math.isfinite(number):
        raise ValueError(f"{given(shown)} given; it must be a finite number")
    return number + 0.0


def _text(
    text: str, units: dict[str, Fraction], wanted: str, other: str, other_units: dict[str, Fraction]
) -> Fraction:
    quoted = given(text)
    plain_text = text.replace("−", "-").replace("⁄", "/").strip()
    for sign, fraction in _VULGAR.items():
        plain_text = plain_text.replace(sign, f" {fraction} ").strip()
    match = _FORM.fullmatch(plain_text) if len(plain_text) <= _LONGEST else None
    if match is None:
        point = re.fullmatch(r"\s*[+-]?[0-9]+,[0-9]+\s*[^0-9]*", text)
        hint = (
            "write the decimals after a point" if point else f"{wanted} is wanted, such as {_example(units)}"
        )
        raise ValueError(f"{quoted} is not a number with a unit; {hint}")
    written = (match["unit"] or "").strip()
    unit = written.rstrip(".").lower()
    if unit not in units:
        if unit in other_units:
            raise ValueError(f"{quoted} is {other}; {wanted} is wanted, such as {_example(units)}")
        use = (
            _USE
            if other
            else "leave it out"
            if units is _PLAIN
            else f"use {'%' if units is _SHARES else 'A'}"
        )
        raise ValueError(f"{quoted}: the unit {given(written)[1:-1]} is not known; {use}")
    if match["decimal"] is not None:
        size = Fraction(match["decimal"].rstrip(".") if match["decimal"] != "." else "0")
    else:
        if int(match["bottom"]) == 0:
            raise ValueError(f"{quoted}: nothing can be divided by 0")
        if not unit and units is _LENGTHS:
            # Nobody measures parts of a millimetre so, and half an inch was read as half a millimetre.
            raise ValueError(f'{quoted} has no unit: write "{plain_text} in" for inches, or a decimal number')
        size = int(match["whole"] or 0) + Fraction(int(match["top"]), int(match["bottom"]))
    return (-size if match["sign"] == "-" else size) * units[unit]


def _example(units: dict[str, Fraction]) -> str:
    if units is _LENGTHS:
        return '19.05 or "3/4 in"'
    if units is _PLAIN:
        return "6.5"
    if units is _SHARES:
        return '0.5 or "50 %"'
    return '62 or "62 deg"' if units is _ANGLES else '90 or "90 A"'
