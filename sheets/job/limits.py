"""What a job's numbers and texts may be, argued in one place.

A range here is physical: outside it the entry is a slip of the pen (a radius for a diameter, inches for
millimetres, a decimal point lost), not an unusual bicycle. What a table row or an adapter allows is
decided later and more narrowly. All of these limits are common practice, no source.
"""

import itertools
import re
from collections.abc import Callable
from dataclasses import dataclass
from typing import Annotated, Any

from pydantic import (
    AfterValidator,
    GetCoreSchemaHandler,
    GetJsonSchemaHandler,
    ValidationInfo,
    WithJsonSchema,
)
from pydantic_core import CoreSchema, PydanticCustomError, core_schema

from fonts.drafting import missing
from sheets.files.names import device
from sheets.job.units import angle, current, given, length, pattern, plain, share


@dataclass(frozen=True, slots=True)
class Range:
    """A number in `unit`, read by `parse`, from `low` to `high` inclusive: Annotated[float, RANGE]."""

    parse: Callable[[object], float]
    low: float
    high: float
    unit: str

    def __call__(self, value: object) -> float:
        """Return the number in mm, degrees or its plain unit; ValueError says what was given and allowed."""
        number = self.parse(value)
        if not self.low <= number <= self.high:
            shown = given(value)
            if isinstance(value, str):
                shown += f" ({number:g} {self.unit})"
            raise ValueError(f"{shown} given; allowed {self.low:g} to {self.high:g} {self.unit}")
        return number

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        """Return the validator; the annotated type only tells readers and type checkers what comes out."""
        return core_schema.no_info_plain_validator_function(self)

    def __get_pydantic_json_schema__(
        self, schema: CoreSchema, handler: GetJsonSchemaHandler
    ) -> dict[str, Any]:
        """Return the JSON schema: the bare number within its range, or a string with a unit."""
        return self.json_schema()

    def json_schema(self) -> dict[str, Any]:
        """Return what a JSON schema can say of the range; how large a string's number is it cannot."""
        bare = {"type": "number", "minimum": self.low, "maximum": self.high}
        return {"anyOf": [bare, {"type": "string", "pattern": pattern(self.parse), "maxLength": 40}]}


# Discs on sale run from 140 to 220, old ones from 145 to 225; beyond 100 or 260 no caliper follows.
ROTOR = Range(length, 100, 260, "mm")
# Any direction may be a reference for the builder; more than half a turn is the same direction again.
TILT = Range(angle, -180, 180, "deg")
SLOT = Range(angle, -180, 180, "deg")
# From a chopper's head angle to an upright one; from 90 on the steerer would lean forward.
HEAD = Range(angle, 45, 90, "deg")
# The leg leans back from the head angle by its rake, or stands a little forward of it with rake to the rear.
LEG = Range(angle, 40, 95, "deg")
# Roadsters reach 90 and choppers more; stayers' bicycles have their forks turned round.
RAKE = Range(length, -100, 200, "mm")
# From the stub of a scooter's fork to a downhill fork.
AXLE_TO_CROWN = Range(length, 100, 800, "mm")
# Small wheels and high bottom brackets let the stay rise forward, low ones let it fall.
CHAINSTAY = Range(angle, -30, 30, "deg")
# Between the stays: small children's frames and cargo bikes included.
INCLUDED = Range(angle, 20, 120, "deg")
# Stays and legs taper over the first metre; a station may lie a little below the axle's level.
STATION = Range(length, -100, 1200, "mm")
# From a solid 5 mm strut to an oversize fork blade.
DIAMETER = Range(length, 5, 80, "mm")
WALL = Range(length, 0.3, 6, "mm")
# A centre line further than this from the axle belongs to another part of the bicycle.
ASIDE = Range(length, -100, 100, "mm")
# Stays spread to a hub over their length; beyond 30 degrees the tube would no longer be a stay.
SPLAY = Range(angle, -30, 30, "deg")
# Deepest pocket in use 3.5; 15 leaves room for hooded dropouts.
POCKET = Range(length, 0, 15, "mm")
# From a bare pin to a 60 mm hub shell turned to fit.
DUMMY = Range(length, 4, 60, "mm")
DROPOUT = Range(length, 1, 40, "mm")
# Horizontal dropouts and sliders move a wheel by up to two chain links and a bit.
TRAVEL = Range(length, 0, 60, "mm")
BOSS_DIAMETER = Range(length, 6, 40, "mm")
BOSS_LENGTH = Range(length, 2, 80, "mm")
# 0 asks for no warning; nothing leaves more than all of a tube.
SHARE = Range(share, 0, 1, "of one")
TAB = Range(length, 2, 20, "mm")
# Hobby machines start at 5 A; nobody joins a bicycle tube above 300 A.
AMPS = Range(current, 5, 300, "A")
FACING = Range(length, 0, 3, "mm")
SPACER = Range(length, 0.05, 100, "mm")
PIN = Range(length, 1, 60, "mm")
PLATE = Range(length, 1, 30, "mm")
# Office printers keep 3 to 6 mm white; more than 40 leaves no room for the bars.
MARGIN = Range(length, 5, 40, "mm")
# From foil to card; what is thicker does not lie round a stay.
WRAP_PAPER = Range(length, 0, 0.5, "mm")
# Room asked for about a joint; beyond 150 it would be the whole stay.
CLEAR = Range(length, 0, 150, "mm")
# An own [interface] row: holes between the hub shell and the largest disc's edge.
RADIUS = Range(length, 5, 200, "mm")
HEIGHT = Range(length, 1, 200, "mm")
ALONG = Range(length, -100, 200, "mm")
LATERAL = Range(length, -50, 50, "mm")
HOLE = Range(length, 1, 20, "mm")
TOLERANCE = Range(length, 0, 5, "mm")
# The smallest calipers are 30 along and 10 to a side; 150 takes in a cable arm and its stop.
CALIPER = Range(length, 5, 150, "mm")
CALIPER_DEPTH = Range(length, 0, 60, "mm")
CALIPER_OFFSET = Range(length, -60, 60, "mm")
# From a child on a light bicycle to a loaded cargo bicycle.
MASS = Range(plain, 20, 500, "kg")
# Nothing on two wheels stops harder than a gravity and a bit.
DECELERATION = Range(plain, 0.5, 12, "m/s2")
WHEEL = Range(length, 200, 900, "mm")
FRICTION = Range(plain, 0.05, 0.8, "")
RATIO = Range(plain, 1, 5, "")
# A circle of 44 under small heads, up to a lock ring over a large axle; how far either stands out.
HEADS = Range(length, 30, 80, "mm")
HIGH = Range(length, 0, 15, "mm")
# More than 20 between disc and stay is not a clearance any more.
ROOM = Range(length, 0, 20, "mm")


def blame(path: str, text: str) -> PydanticCustomError:
    """Return an error that stands at another key than the one whose validator raises it."""
    return PydanticCustomError("blame", "{text}", {"path": path, "text": text})


def _single_line(longest: int) -> Callable[[str], str]:
    def check(text: str) -> str:
        if not text.strip():
            raise ValueError("empty; write something, or leave the key out")
        if len(text) > longest:
            raise ValueError(f"{len(text)} characters given; at most {longest} are allowed")
        odd = next((sign for sign in text if not sign.isprintable()), None)
        if odd is not None:
            raise ValueError(
                f"{given(text)} has the unprintable character U+{ord(odd):04X}; "
                "keep the text on one line and free of control characters"
            )
        return text

    return check


def _lettered(text: str, info: ValidationInfo) -> str:
    lacking = missing(text)
    # With a face of its own the job's card shows such a character, and the template letters its code.
    if lacking and not (info.context or {}).get("own face"):
        named = ", ".join(f"{sign} (U+{ord(sign):04X})" for sign in lacking)
        raise ValueError(
            f"{given(text)} has {named}, which the drafting alphabet lacks; write it in Latin letters, or "
            "name a TrueType file that has it in paper.font"
        )
    return text


_ID = re.compile(r"[A-Za-z0-9_][A-Za-z0-9._-]*")


def _file_name(text: str) -> str:
    # The id names files, and a builder may carry them to any machine.
    if _ID.fullmatch(text) is None or text.endswith(".") or len(text) > 64:
        raise ValueError(
            f"{given(text)} given; it names files: allowed are up to 64 letters a to z, digits, - _ and ., "
            "beginning with a letter, digit or _, and not ending with a dot"
        )
    if device(text):
        raise ValueError(
            f"{given(text)} is a device's name on some machines, so no file may have it; change it"
        )
    return text


def _line_schema(longest: int) -> WithJsonSchema:
    # At least one character that is no blank, and no control character.
    line = r"^[^\u0000-\u001f\u007f]*[^\s\u0000-\u001f\u007f][^\u0000-\u001f\u007f]*$"
    return WithJsonSchema({"type": "string", "pattern": line, "maxLength": longest})


_ID_SCHEMA = WithJsonSchema(
    {"type": "string", "pattern": r"^[A-Za-z0-9_]([A-Za-z0-9._-]*[A-Za-z0-9_-])?$", "maxLength": 64}
)

Text = Annotated[str, AfterValidator(_single_line(120)), _line_schema(120)]
"""A single line for cards and records."""
Note = Annotated[str, AfterValidator(_single_line(400)), _line_schema(400)]
"""A longer single line."""
Lettered = Annotated[Text, AfterValidator(_lettered), _line_schema(120)]
"""A single line that is lettered on a template, so the drafting alphabet must have it."""
FileName = Annotated[str, AfterValidator(_file_name), _ID_SCHEMA]
"""A text that may stand at the beginning of a file's name on every machine."""


STATION_SCHEMA = {
    "type": "array",
    "items": [STATION.json_schema()],
    "additionalItems": DIAMETER.json_schema(),
    "minItems": 2,
    "maxItems": 3,
}
"""A station in a JSON schema."""
HEADS_SCHEMA = {
    "type": "array",
    "items": [HEADS.json_schema(), HIGH.json_schema()],
    "minItems": 2,
    "maxItems": 2,
}
"""What the disc's screws sweep in a JSON schema."""
PINS_SCHEMA = {
    "anyOf": [*PIN.json_schema()["anyOf"], {"type": "array", "items": PIN.json_schema(), "maxItems": 100}]
}
"""One pin or a list of pins in a JSON schema."""


def station(value: object) -> tuple[float, ...]:
    """Return a tube's station, (s, diameter) or (s, height, width) in mm; ValueError for anything else."""
    if not isinstance(value, list | tuple) or len(value) not in (2, 3):
        raise ValueError(f"{_listed(value)} given; a station is [s, diameter] or [s, height, width]")
    return (STATION(value[0]), *(DIAMETER(size) for size in value[1:]))


def heads(value: object) -> tuple[float, float]:
    """Return what the disc's screws sweep, (across, high) in mm; ValueError for anything else."""
    if not isinstance(value, list | tuple) or len(value) != 2:
        raise ValueError(f"{_listed(value)} given; the disc's screws are [across, high]")
    return HEADS(value[0]), HIGH(value[1])


def ascending(stations: tuple[tuple[float, ...], ...]) -> tuple[tuple[float, ...], ...]:
    """Return stations whose s ascends; ValueError names a pair that does not, or that there is none."""
    if not stations:
        raise ValueError("no station given; at least one [s, diameter] is needed")
    for low, high in itertools.pairwise(stations):
        if high[0] <= low[0]:
            raise ValueError(
                f"s = {high[0]:g} comes after s = {low[0]:g}; stations go up the tube, each s greater"
            )
    return stations


def _listed(value: object) -> str:
    if isinstance(value, list | tuple):
        return f"a list of {len(value)}"
    return given(value)
