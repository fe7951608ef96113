"""What a job's numbers and texts may be, argued in one place.

A range here is physical: outside it the entry is a slip of the pen (a radius for a diameter, inches for
millimetres, a decimal point lost), not an unusual bicycle. What a table row or an adapter allows is
decided later and more narrowly. All of these limits are common practice, no source.
"""

import itertools
import re
from collections.abc import Callable
from typing import Annotated, Any

from pydantic import (
    AfterValidator,
    GetCoreSchemaHandler,
    GetJsonSchemaHandler,
    ValidationInfo,
    WithJsonSchema,
)
from pydantic_core import CoreSchema, core_schema

from fonts.drafting import missing
from geometry.core.errors import RefusedError
from geometry.core.frozen import dataclass
from geometry.core.say import Say, say
from geometry.core.shown import Typed
from sheets.files.names import device
from sheets.job.closed import context
from sheets.job.units import angle, current, given, in_inches, length, pattern, plain, share
from sheets.words.tell import tell


@dataclass(frozen=True, slots=True)
class Range:
    """A number in `unit`, read by `parse`, from `low` to `high` inclusive: Annotated[float, RANGE]."""

    parse: Callable[[object], float]
    low: float
    high: float
    unit: Say | str

    def __call__(self, value: object) -> float:
        """Return the number in mm, degrees or its plain unit; RefusedError says what is allowed."""
        number = self.parse(value)
        if not self.low <= number <= self.high:
            code = "limits.text_outside" if isinstance(value, str) else "limits.outside"
            low, high, unit = self.low, self.high, self.unit
            raise RefusedError(say(code, value=given(value), number=number, low=low, high=high, unit=unit))
        if self.parse is length and isinstance(value, str) and in_inches(value):
            return Typed(number, " ".join(value.split()))
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
# From the axle to a corner of its dropout: a dropout is 400 over all at most.
OUTLINE = Range(length, -400, 400, "mm")
# From a shim to a pad that would reach past any disc.
PAD = Range(length, 0.1, 30, "mm")
# From a pin's hole to the bore of a large thru axle's bearing.
DRILLED = Range(length, 0.5, 120, "mm")
TRAVEL = Range(length, 0, 60, "mm")
BOSS_DIAMETER = Range(length, 6, 40, "mm")
BOSS_LENGTH = Range(length, 2, 80, "mm")
# 0 asks for no warning; nothing leaves more than all of a tube.
SHARE = Range(share, 0, 1, say("limits.of_one"))
# From a thin sleeve to a solid plug in a 40 mm tube.
SLEEVE = Range(length, 0.3, 20, "mm")
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


def _single_line(longest: int) -> Callable[[str], str]:
    def check(text: str) -> str:
        if not text.strip():
            raise RefusedError(say("limits.empty"))
        if len(text) > longest:
            raise RefusedError(say("limits.too_long", count=len(text), longest=longest))
        odd = next((sign for sign in text if not sign.isprintable()), None)
        if odd is not None:
            raise RefusedError(say("limits.unprintable", text=given(text), code=f"U+{ord(odd):04X}"))
        return text

    return check


text = _single_line(120)
"""Return a single line for cards and records as it is; RefusedError for any other text."""
note = _single_line(400)
"""Return a longer single line as it is; RefusedError for any other text."""


def lettered(line: str) -> str:
    """Return a single line that the drafting alphabet can letter; RefusedError for any other text."""
    if lacking := missing(text(line)):
        named = ", ".join(f"{sign} (U+{ord(sign):04X})" for sign in lacking)
        raise RefusedError(say("limits.not_lettered", text=given(line), signs=named))
    return line


def _lettered(line: str, info: ValidationInfo) -> str:
    # With a face of its own the job's card shows such a character, and the template letters its code.
    return text(line) if context(info).own_face else lettered(line)


_ID = re.compile(r"[A-Za-z0-9_][A-Za-z0-9._-]*")


def file_name(line: str) -> str:
    """Return a text that may begin a file's name on every machine as it is; RefusedError for any other."""
    if any(each.isspace() for each in line):
        raise RefusedError(say("limits.space_in_name", text=given(line), instead="-".join(line.split())))
    if _ID.fullmatch(line) is None or line.endswith(".") or len(line) > 64:
        raise RefusedError(say("limits.no_file_name", text=given(line)))
    if device(line):
        raise RefusedError(say("limits.device", text=given(line)))
    return line


def _line_schema(longest: int) -> WithJsonSchema:
    # At least one character that is no blank, and no control character.
    line = r"^[^\u0000-\u001f\u007f]*[^\s\u0000-\u001f\u007f][^\u0000-\u001f\u007f]*$"
    return WithJsonSchema({"type": "string", "pattern": line, "maxLength": longest})


_ID_SCHEMA = WithJsonSchema(
    {"type": "string", "pattern": r"^[A-Za-z0-9_]([A-Za-z0-9._-]*[A-Za-z0-9_-])?$", "maxLength": 64}
)

Text = Annotated[str, AfterValidator(text), _line_schema(120)]
"""A single line for cards and records."""
Note = Annotated[str, AfterValidator(note), _line_schema(400)]
"""A longer single line."""
Lettered = Annotated[str, AfterValidator(_lettered), _line_schema(120)]
"""A single line that is lettered on a template, so the drafting alphabet must have it."""
FileName = Annotated[str, AfterValidator(file_name), _ID_SCHEMA]
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
    """Return a tube's station, (s, diameter) or (s, height, width) in mm; RefusedError for anything else."""
    if not isinstance(value, list | tuple) or len(value) not in (2, 3):
        raise RefusedError(say("limits.no_station", value=_listed(value)))
    return (STATION(value[0]), *(DIAMETER(size) for size in value[1:]))


def heads(value: object) -> tuple[float, float]:
    """Return what the disc's screws sweep, (across, high) in mm; RefusedError for anything else."""
    if not isinstance(value, list | tuple) or len(value) != 2:
        raise RefusedError(say("limits.no_heads", value=_listed(value)))
    return HEADS(value[0]), HIGH(value[1])


def ascending(stations: tuple[tuple[float, ...], ...]) -> tuple[tuple[float, ...], ...]:
    """Return stations whose s ascends; RefusedError names a pair that does not, or that there is none."""
    if not stations:
        raise RefusedError(say("limits.stationless"))
    for low, high in itertools.pairwise(stations):
        if high[0] <= low[0]:
            raise RefusedError(say("limits.not_ascending", high=high[0], low=low[0]))
    return stations


def _listed(value: object) -> str:
    if isinstance(value, list | tuple):
        return tell("units.list_of", count=len(value))
    return given(value)
