"""How lengths are told: in millimetres, in inches, or in both.

Everything is worked out in mm; a job says in `paper.units` how its paper tells it. The units are set in one
place for each thing that is told, by `telling`, and what is kept in a process is kept by them.

In a sentence a length is marked behind its format, so that nothing is guessed:

    {by:.2f mm}     5.20 mm      0.205 in      5.20 mm (0.205 in)
    {by:.2f bare}   5.20         0.205 in      5.20 (0.205 in)      mm is understood
    {by:.2f cell}   5.20         0.205         5.20 (0.205)         a column whose head says the unit
    {by:g rule}     30           1-3/16 in (-0.006 in)               what a steel rule reads
    {said: prose}   a table's own words, whose numbers with a point are lengths, "by 0.75 mm" or "14.50"
    {by:g metric}   5            5 mm                                a key or screw that is sold by its mm

1 in is 25.4 mm exactly (NIST SP 811, B.8). Inches are told to 0.001; where mm are told to the micrometre, or
where less than 0.0045 is told, to 0.0001, so that a tolerance never comes out as nothing. What is told to
whole mm, 0.04 in, is told to 0.01. A rule's fraction goes to 1/64, the smallest that steel rules have (common
practice, no source), with what is left over beside it, so that it never stands in for the true size.

Stay what they are: threads and taps (M6), discs and native sizes (140), axle systems (142x12), standards'
names, angles, forces, stresses. What was typed in inches comes back as it was typed.
"""

import functools
import re
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from contextvars import ContextVar
from decimal import ROUND_FLOOR, Decimal
from fractions import Fraction
from typing import Literal

from geometry.core.shown import Down, Pieces, Shown, Typed

Units = Literal["mm", "in", "both"]
INCH = 25.4
_SMALL = 0.0045
"""Below this four places are told, in."""
_MARKED = re.compile(r"\{(\w+):([^{}]*?) ?(mm|bare|cell|rule|metric|prose)\}")
_SPEC = re.compile(r"(.*?) ?(mm|bare|cell|rule|metric|prose)")
_NUMBER = re.compile(r"(?<![\w.])[+-]?\d+(?:\.\d+)?(?![\w.]*[A-Za-z])")
_PROSE = re.compile(r"(?<![\w.])(?:(\d+(?:\.\d+)?) mm\b(?! axle)|(\d+\.\d+)(?!\.?\w|\s?[°%]|\sdeg))")
_PLACES = {"0": 2, "1": 3, "2": 3, "3": 4, "4": 5}
_now: ContextVar[Units] = ContextVar("units", default="mm")


@contextmanager
def telling(units: Units) -> Iterator[None]:
    """Tell lengths in these units for a while."""
    before = _now.set(units)
    try:
        yield
    finally:
        _now.reset(before)


def units() -> Units:
    """Return the units in which lengths are told now."""
    return _now.get()


def measured(value: float, form: str = ".2f bare") -> str:
    """Return a length of `value` mm as a sentence would tell it in a place of that form."""
    spec, how = _parted(form)
    if units() != "mm":
        return _told(value, spec, how)
    text = _shown(value, spec)
    return f"{text} mm" if how == "mm" else text


def stack(sizes: Sequence[float]) -> Pieces:
    """Return lengths of mm that are put end to end as a sentence takes them: "10 + 5"."""
    return Pieces(" + ".join(f"{each:g}" for each in sizes), tuple(sizes))


def of_text(text: str, form: str = "mm") -> str:
    """Return a text whose numbers are mm, such as "6.2 ±0.1" or "30: 16; 180: 22", in the units told now."""
    if units() == "mm":
        return f"{text} mm" if form == "mm" else text
    return format(_Floor(text), form) if isinstance(text, Down) else _texts(text, None, form)


def inches(value: float, spec: str = ".2f") -> str:
    """Return a length of `value` mm in inches, without the unit; `spec` is how its mm are told.

    What was typed in inches comes back as it was typed, without its unit.
    """
    if isinstance(value, Typed):
        return _bare(value.text)
    exact = value / INCH
    places = _places(exact, spec)
    text = f"{exact:{'+' if '+' in spec else ''}.{places}f}"
    return text.replace("-", "").replace("+", "") if float(text) == 0.0 else text


def fraction(value: float) -> str:
    """Return a length of `value` mm as a steel rule has it, "1-3/16", to the nearest 1/64 in."""
    whole, part = divmod(round(abs(value) / INCH * 64), 64)
    sign = "-" if value < 0.0 and (whole or part) else ""
    share = Fraction(part, 64)
    if not share:
        return f"{sign}{whole}"
    return f"{sign}{whole}-{share}" if whole else f"{sign}{share}"


def rule(value: float) -> str:
    """Return a length of `value` mm as a rule of inches has it, and what is left: "1-3/16 in (-0.006 in)"."""
    if isinstance(value, Typed):
        return f"{_bare(value.text)} in"
    left = value / INCH - round(value / INCH * 64) / 64
    over = f"{left:+.3f}"
    return f"{fraction(value)} in" if float(over) == 0.0 else f"{fraction(value)} in ({over} in)"


def drill(value: float, most: float | None = None) -> str:
    """Return the fraction of an inch to 1/64 that is as good as a hole of `value` mm, or "" for none.

    It is one that is no smaller, and no larger than `most`; without `most` it must be the hole's size itself,
    to 0.0005 in. The true size is always told beside it.
    """
    upper = value + 0.0005 * INCH if most is None else most
    size = round(value / INCH * 64)
    for each in (size, size + 1):
        if value - 0.0005 * INCH <= each * INCH / 64.0 <= upper:
            return fraction(each * INCH / 64.0)
    return ""


class _Number(float):
    """A number in a sentence that is told in inches, or in both; what is marked as a length is one."""

    __slots__ = ()

    def __format__(self, spec: str) -> str:
        form, how = _parted(spec)
        return _told(self, form, how) if how else format(float(self), spec)


class _Whole(int):
    """A whole number in such a sentence."""

    __slots__ = ()

    def __format__(self, spec: str) -> str:
        form, how = _parted(spec)
        return _told(float(self), form, how) if how else format(int(self), spec)


class _Text(str):
    """A text in such a sentence; where a place is marked as a length, its numbers are mm."""

    __slots__ = ()

    def __format__(self, spec: str) -> str:
        _, how = _parted(spec)
        return _texts(self, None, how) if how else format(str(self), spec)


class _Said(str):
    """A text that was told already, with its own units, whatever the place that it stands in."""

    __slots__ = ()

    def __format__(self, spec: str) -> str:
        form, how = _parted(spec)
        return format(str(self), form if how else spec)


class _Floor(_Text):
    """A text of a length that was rounded down."""

    __slots__ = ()

    def __format__(self, spec: str) -> str:
        _, how = _parted(spec)
        if not how:
            return format(str(self), spec)
        # From the number that is told in mm, so that both say the same gap.
        inch = (Decimal(str(self)) / Decimal("25.4")).quantize(Decimal("0.001"), ROUND_FLOOR)
        text = f"{self} mm" if how == "mm" else str(self)
        return f"{inch} in" if units() == "in" else f"{text} ({inch} in)"


class _Rounded(_Text):
    """A text of a length that is known more closely."""

    __slots__ = ("exact",)
    exact: float

    def __format__(self, spec: str) -> str:
        _, how = _parted(spec)
        return _texts(self, self.exact, how) if how else format(str(self), spec)


class _Stack(_Text):
    """A text of lengths that are put end to end."""

    __slots__ = ("sizes",)
    sizes: tuple[float, ...]

    def __format__(self, spec: str) -> str:
        _, how = _parted(spec)
        if not how or not self.sizes:
            return format(str(self), spec)
        inch = f"{' + '.join(inches(each, 'g') for each in self.sizes)} in"
        text = f"{self} mm" if how == "mm" else str(self)
        return inch if units() == "in" else f"{text} ({inch})"


class _AsTyped(_Number):
    """A number that was typed in inches."""

    __slots__ = ("typed",)
    typed: Typed

    def __format__(self, spec: str) -> str:
        form, how = _parted(spec)
        return _told(self.typed, form, how) if how else format(float(self), spec)


def as_said(text: str) -> str:
    """Return something told as a value of another sentence: its lengths have their units."""
    return _Said(text)


def to_be_told(value: object) -> object:
    """Return a value of a sentence that tells lengths in other units than mm where its place is marked."""
    if isinstance(value, _Said):
        return value
    if isinstance(value, Typed):
        typed = _AsTyped(value)
        typed.typed = value
        return typed
    if isinstance(value, Shown):
        shown = _Rounded(value)
        shown.exact = value.exact
        return shown
    if isinstance(value, Pieces):
        stack = _Stack(value)
        stack.sizes = value.sizes
        return stack
    if isinstance(value, Down):
        return _Floor(value)
    if isinstance(value, bool):
        return value
    if isinstance(value, float):
        return _Number(value)
    if isinstance(value, int):
        return _Whole(value)
    return _Text(value) if isinstance(value, str) else value


def in_millimetres(sentence: str) -> str:
    """Return a sentence with its marks taken out: one of millimetres, as `str.format` takes it."""

    def plain(match: re.Match[str]) -> str:
        name, spec, how = match.groups()
        place = f"{{{name}:{spec}}}" if spec else f"{{{name}}}"
        return f"{place} mm" if how == "mm" else place

    return _MARKED.sub(plain, sentence)


@functools.cache
def _parted(spec: str) -> tuple[str, str]:
    """Return a place's form and its mark, or "" where it has none."""
    match = _SPEC.fullmatch(spec)
    return (match[1], match[2]) if match else (spec, "")


def _shown(value: float, spec: str) -> str:
    return format(float(value), spec)


def _places(exact: float, spec: str) -> int:
    """Return to how many places inches are told."""
    match = re.search(r"\.(\d)f", spec)
    places = _PLACES.get(match[1], 3) if match else 3
    return max(places, 4) if 0.0 < abs(exact) < _SMALL else places


def _told(value: float, spec: str, how: str) -> str:
    """Return a length in inches or in both."""
    if how == "metric":
        return f"{_shown(value, spec)} mm"
    if how == "rule":
        inch, unit = rule(value), ""
    else:
        inch, unit = inches(value, spec), "" if how == "cell" else " in"
    if units() == "in":
        return f"{inch}{unit}"
    if how == "rule":
        inch = inch.replace("(", "").replace(" in)", "")
    text = _shown(value, spec)
    return f"{text} mm ({inch}{unit})" if how == "mm" else f"{text} ({inch}{unit})"


def _texts(text: str, exact: float | None, how: str) -> str:
    """Return a text with its numbers of mm in inches or in both; a text without numbers as it is."""
    if how == "prose":
        return _PROSE.sub(_in_prose, text)
    found = _NUMBER.findall(text)
    if not found:
        return str(text)
    sign = "+" if text.startswith("+") else ""
    if exact is not None:
        inch = inches(exact, f"{sign}.2f") if how != "rule" else rule(exact)
    else:
        inch = _NUMBER.sub(lambda match: _of_text(match[0]), text)
    unit = "" if how in ("cell", "rule") and (how == "cell" or exact is not None) else " in"
    if units() == "in":
        return f"{inch}{unit}"
    if how == "rule":
        inch = inch.replace("(", "").replace(" in)", "")
    return f"{text} mm ({inch}{unit})" if how == "mm" else f"{text} ({inch}{unit})"


def _in_prose(match: re.Match[str]) -> str:
    inch = f"{_of_text(match[1] or match[2])} in"
    return inch if units() == "in" else f"{match[0]} ({inch})"


def _of_text(number: str) -> str:
    _, _, after = number.partition(".")
    return inches(float(number), f"{'+' if number.startswith('+') else ''}.{min(max(len(after), 1), 3)}f")


def _bare(text: str) -> str:
    """Return what was typed without its unit."""
    return re.sub(r"\s*(?:inches|inch|in|\"|″|”)\.?\s*$", "", text.strip(), flags=re.IGNORECASE)
