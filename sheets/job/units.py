"""Numbers as a builder writes them: 19.05, "3/4 in", '1-1/2"', "1.9 cm", "62 deg".

A bare number, quoted or not, is millimetres or degrees. Everything is worked out in exact fractions and
rounded once, so that "3/4 in" is 19.05 and nothing beside it (1 in = 25.4 mm by definition).
"""

import math
import re
from fractions import Fraction

from geometry.core.errors import RefusedError
from geometry.core.frozen import dataclass
from geometry.core.say import Say, say
from sheets.words.tell import tell

_ONE, _INCH = Fraction(1), Fraction(254, 10)


@dataclass(frozen=True, slots=True)
class _Kind:
    """What a number is of: its key in the table of sentences, and what its units are worth."""

    key: str
    units: dict[str, Fraction]

    @property
    def wanted(self) -> Say:
        return say(f"units.wanted.{self.key}")


_LENGTH = _Kind(
    "length",
    {"": _ONE, "mm": _ONE, "cm": Fraction(10)}
    | dict.fromkeys(("in", "inch", "inches", '"', "″", "”"), _INCH),
)
_INCHES = frozenset(unit for unit, worth in _LENGTH.units.items() if worth == _INCH)
_ANGLE = _Kind("angle", dict.fromkeys(("", "deg", "degree", "degrees", "°"), _ONE))
_CURRENT = _Kind("current", {"": _ONE, "a": _ONE})
_SHARE = _Kind("share", {"": _ONE, "%": Fraction(1, 100)})
_PLAIN = _Kind("plain", {"": _ONE})

_VULGAR = {"½": "1/2", "¼": "1/4", "¾": "3/4", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8"}
_BARE = re.compile(r"\s*[+−-]?[0-9.,\s/⁄½¼¾⅛⅜⅝⅞−-]*[0-9½¼¾⅛⅜⅝⅞]\.?\s*")
_DECIMAL = r"[0-9]+(?:\.[0-9]*)?|\.[0-9]+"
_FORM = re.compile(
    rf"(?P<sign>[+-]?)\s*"
    rf"(?:(?:(?P<whole>[0-9]+)(?:\s+|\s*-\s*))?(?P<top>[0-9]+)\s*/\s*(?P<bottom>[0-9]+)|(?P<decimal>{_DECIMAL}))"
    r"\s*(?P<unit>[^0-9\s.,/+-].*)?"
)
# Longer than any sensible entry, and short enough that no fraction of it can take time or memory.
_LONGEST = 40


def length(value: object) -> float:
    """Return a length in mm from a number or a string, unit or no unit; RefusedError says what is wrong."""
    return _number(value, _LENGTH)


def in_inches(text: str) -> bool:
    """Tell whether a text that is read as a length says that it is in inches."""
    unit = re.sub(r"^[^A-Za-z\"″”]*", "", text).strip().rstrip(".").lower()
    return unit in _INCHES


def bare(text: str) -> bool:
    """Tell whether a text is a number without a unit."""
    return _BARE.fullmatch(text) is not None


def angle(value: object) -> float:
    """Return an angle in degrees from a number or a string, unit or no unit; RefusedError as `length`."""
    return _number(value, _ANGLE)


def current(value: object) -> float:
    """Return a current in amperes from a number or a string such as "90 A"; RefusedError as `length`."""
    return _number(value, _CURRENT)


def share(value: object) -> float:
    """Return a share of one from a number or a string such as "50 %"; RefusedError as `length`."""
    return _number(value, _SHARE)


def plain(value: object) -> float:
    """Return a number that takes no unit, such as a mass in kg; RefusedError as `length`."""
    return _number(value, _PLAIN)


def pattern(parse: object) -> str:
    """Return a regular expression, in the dialect of JSON schema, for the strings that a parser here reads.

    What it matches the parser reads, but for a division by 0 and units in capitals other than the usual.
    """
    kinds = {length: _LENGTH, angle: _ANGLE, current: _CURRENT, share: _SHARE, plain: _PLAIN}
    units = kinds[parse].units  # type: ignore[index]
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
        return tell("units.table")
    if isinstance(value, list | tuple):
        return tell("units.list")
    if isinstance(value, str):
        shown = repr(value)
        return shown if len(shown) <= 60 else f"{shown[:50]}...{shown[0]}"
    if isinstance(value, int):
        # A longer one may be beyond what Python agrees to print.
        return str(value) if value.bit_length() < 128 else tell("units.long_number")
    if isinstance(value, float):
        return str(value)
    return tell("units.other", kind=type(value).__name__, value=str(value))


def unquoted(text: str) -> str:
    """Return a text as `given` shows it, without its quotes: for a name where a name stands anyway."""
    return given(text)[1:-1]


def _number(value: object, kind: _Kind) -> float:
    if isinstance(value, str):
        return _finite(_text(value, kind), value)
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise RefusedError(say("units.no_number", value=given(value), wanted=kind.wanted))
    return _finite(value, value)


def _finite(value: float | Fraction, shown: object) -> float:
    try:
        number = float(value)
    except OverflowError:
        number = math.inf
    if not math.isfinite(number):
        raise RefusedError(say("units.not_finite", value=given(shown)))
    return number + 0.0


def _text(text: str, kind: _Kind) -> Fraction:
    quoted = given(text)
    plain_text = text.replace("−", "-").replace("⁄", "/").strip()
    for sign, fraction in _VULGAR.items():
        plain_text = plain_text.replace(sign, f" {fraction} ").strip()
    match = _FORM.fullmatch(plain_text) if len(plain_text) <= _LONGEST else None
    if match is None:
        if re.fullmatch(r"\s*[+-]?[0-9]+,[0-9]+\s*[^0-9]*", text):
            raise RefusedError(say("units.comma", text=quoted))
        raise RefusedError(say("units.no_form", text=quoted, wanted=kind.wanted))
    written = (match["unit"] or "").strip()
    unit = written.rstrip(".").lower()
    if unit not in kind.units:
        other = {"length": _ANGLE, "angle": _LENGTH}.get(kind.key)
        if other is not None and unit in other.units:
            raise RefusedError(say(f"units.is_{other.key}", text=quoted, wanted=kind.wanted))
        use = say(f"units.use.{'size' if other else kind.key}")
        raise RefusedError(say("units.no_unit_known", text=quoted, unit=unquoted(written), use=use))
    if match["decimal"] is not None:
        size = Fraction(match["decimal"].rstrip(".") if match["decimal"] != "." else "0")
    else:
        if int(match["bottom"]) == 0:
            raise RefusedError(say("units.by_zero", text=quoted))
        if not unit and kind is _LENGTH:
            # Nobody measures parts of a millimetre so, and half an inch was read as half a millimetre.
            raise RefusedError(say("units.bare_fraction", text=quoted, fraction=plain_text))
        size = int(match["whole"] or 0) + Fraction(int(match["top"]), int(match["bottom"]))
    return (-size if match["sign"] == "-" else size) * kind.units[unit]
