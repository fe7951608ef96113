"""Reading of the drafting alphabet: the text file of strokes becomes a table of glyphs.

Everything here is in grid units of the file: ten to the capital height, one to the pen. Coordinates
are of the middle of the pen, so the ink of a stroke reaches half a unit further on every side.
The notation is explained at the head of alphabet.txt.
"""

from collections.abc import Iterator, Mapping
from math import isfinite, sqrt
from types import MappingProxyType
from typing import Literal, NamedTuple

from geometry.core.errors import RefusedError, TableError
from geometry.core.frozen import dataclass
from geometry.core.say import say

Command = (
    tuple[Literal["M"], float, float]
    | tuple[Literal["L"], float, float]
    | tuple[Literal["C"], float, float, float, float, float, float]
    | tuple[Literal["Z"]]
)
Commands = tuple[Command, ...]
Point = tuple[float, float]

KAPPA = 4 * (sqrt(2) - 1) / 3
"""Handle length of the cubic nearest a quarter of a circle, as a share of its radius (0.5523)."""

DOT = 0.25
"""Radius of the ring that makes a dot, in grid units: with the pen, the dot is 1.5 pens wide."""

REACH = 20.0
"""No stroke lies further than this from the origin, in grid units: a slip of the keyboard shows up."""


class Box(NamedTuple):
    """The rectangle that the middle of the pen keeps to, in grid units."""

    left: float
    bottom: float
    right: float
    top: float


@dataclass(frozen=True, slots=True)
class Glyph:
    """One character: its strokes, the box it takes up, and where its neighbours and accents go.

    `lead` and `trail` are added to the gap on the left and on the right; `above`, `below` and `tail`
    are the x of accents over it, marks under it and an ogonek. All are in grid units.
    """

    strokes: Commands
    box: Box
    lead: float
    trail: float
    above: float
    below: float
    tail: float


Alphabet = Mapping[str, Glyph]
_Options = dict[str, list[float]]


def read(text: str, where: str) -> Alphabet:
    """Return the glyph of every character that `text` draws, by character, in grid units.

    Raise TableError naming `where` and the line for the first thing that is not in the notation.
    """
    glyphs: dict[str, Glyph] = {}
    number = 0
    try:
        for head, title, body in _blocks(text):
            number = head
            names, options = _header(title)
            for name in names:
                if name in glyphs:
                    raise RefusedError(say("fonts.alphabet.twice", name=name))
            strokes: list[Command] = []
            for at, line in body:
                number = at
                strokes += _line(line, glyphs)
            number = head
            glyph = _glyph(tuple(strokes), options)
            for name in names:
                glyphs[name] = glyph
    except RefusedError as wrong:
        place = say("fonts.alphabet.line", file=where, number=number)
        raise TableError.at(place, wrong.what) from None
    if not glyphs:
        raise TableError.at(where, say("fonts.alphabet.nothing"))
    return MappingProxyType(glyphs)


def extent(strokes: Commands) -> Box:
    """Return the smallest box round the middle of the pen, in grid units; `strokes` may not be empty."""
    xs: list[float] = []
    ys: list[float] = []
    for command in strokes:
        if command[0] == "C":
            _, x1, y1, x2, y2, x3, y3 = command
            xs += _turns(xs[-1], x1, x2, x3)
            ys += _turns(ys[-1], y1, y2, y3)
        elif command[0] != "Z":
            xs.append(command[1])
            ys.append(command[2])
    return Box(min(xs), min(ys), max(xs), max(ys))


def moved(strokes: Commands, dx: float, dy: float, scale: float = 1.0) -> Commands:
    """Return `strokes` scaled about the origin and then shifted; a scale of -1 turns them upside down."""
    result: list[Command] = []
    for command in strokes:
        if command[0] == "C":
            _, a, b, c, d, e, f = command
            result.append(
                (
                    "C",
                    a * scale + dx,
                    b * scale + dy,
                    c * scale + dx,
                    d * scale + dy,
                    e * scale + dx,
                    f * scale + dy,
                )
            )
        elif command[0] == "L":
            result.append(("L", command[1] * scale + dx, command[2] * scale + dy))
        elif command[0] == "M":
            result.append(("M", command[1] * scale + dx, command[2] * scale + dy))
        else:
            result.append(command)
    return tuple(result)


def _turns(a: float, b: float, c: float, d: float) -> list[float]:
    """Return the end of a cubic from `a` to `d` in one coordinate, and its turning points on the way."""
    low, high = (a, d) if a < d else (d, a)
    if low <= b <= high and low <= c <= high:
        return [d]
    # The derivative is 3(p t^2 + q t + r); where it is zero the curve turns back.
    p, q, r = d - 3 * c + 3 * b - a, 2 * (a - 2 * b + c), b - a
    if abs(p) < 1e-9:
        roots = [-r / q] if q else []
    else:
        under = q * q - 4 * p * r
        roots = [(-q - sqrt(under)) / (2 * p), (-q + sqrt(under)) / (2 * p)] if under >= 0 else []
    turns = [
        (1 - t) ** 3 * a + 3 * t * (1 - t) ** 2 * b + 3 * t * t * (1 - t) * c + t**3 * d
        for t in roots
        if 0 < t < 1
    ]
    return [*turns, d]


def _blocks(text: str) -> Iterator[tuple[int, str, list[tuple[int, str]]]]:
    """Yield the line number and text of each header with the numbered lines under it."""
    head, title = 0, ""
    body: list[tuple[int, str]] = []
    for number, raw in enumerate(text.split("\n"), 1):
        line = raw.strip()
        if not line or line[0] == "#":
            continue
        if line[0] == "[":
            if title:
                yield head, title, body
            head, title, body = number, line, []
        elif title:
            body.append((number, line))
        else:
            yield number, line, []
    if title:
        yield head, title, body


def _header(title: str) -> tuple[list[str], _Options]:
    """Return the characters of a header and its options."""
    # The last bracket closes the names, so that [[] and []] can be drawn as well.
    names, bracket, rest = title[1:].rpartition("]")
    if title[0] != "[" or not bracket or not names.strip():
        raise RefusedError(say("fonts.alphabet.no_header", found=title))
    options: _Options = {}
    for word in rest.split():
        key, equals, value = word.partition("=")
        count = {"box": 2, "lead": 1, "trail": 1, "above": 1, "below": 1, "tail": 1}.get(key, 0)
        numbers = [_number(part) for part in value.split(",")] if equals else []
        if not count or len(numbers) != count:
            raise RefusedError(say("fonts.alphabet.no_option", word=word))
        options[key] = numbers
    return [_character(name) for name in names.split()], options


def _character(name: str) -> str:
    if len(name) == 1:
        return name
    try:
        return chr(int(name.removeprefix("U+"), 16)) if name.startswith("U+") else ""[0]
    except (ValueError, IndexError, OverflowError):
        raise RefusedError(say("fonts.alphabet.no_character", name=name)) from None


def _glyph(strokes: Commands, options: _Options) -> Glyph:
    """Return the glyph of some strokes, with every option the header left out worked out."""
    if strokes:
        box = extent(strokes)
        if max(map(abs, box)) > REACH:
            raise RefusedError(say("fonts.alphabet.reach", reach=REACH))
    elif "box" in options:
        box = Box(0.0, 0.0, 0.0, 0.0)
    else:
        raise RefusedError(say("fonts.alphabet.blank"))
    if "box" in options:
        left, right = options["box"]
        if left >= right:
            raise RefusedError(say("fonts.alphabet.no_box"))
        box = Box(left, box.bottom, right, box.top)
    middle = [(box.left + box.right) / 2]
    return Glyph(
        strokes,
        box,
        lead=options.get("lead", [0.0])[0],
        trail=options.get("trail", [0.0])[0],
        above=options.get("above", middle)[0],
        below=options.get("below", middle)[0],
        tail=options.get("tail", middle)[0],
    )


def _line(line: str, glyphs: Alphabet) -> list[Command]:
    """Return the commands of one line under a header."""
    first, *rest = line.split()
    if first == "dot":
        if not rest:
            raise RefusedError(say("fonts.alphabet.dot"))
        return [command for word in rest for command in _dot(*_point(word))]
    if first == "ring":
        if len(rest) != 2:
            raise RefusedError(say("fonts.alphabet.ring"))
        return _ring(*_point(rest[0]), *_point(rest[1]))
    if first == "use":
        if len(rest) not in (2, 3):
            raise RefusedError(say("fonts.alphabet.use"))
        glyph = glyphs.get(_character(rest[0]))
        if glyph is None:
            raise RefusedError(say("fonts.alphabet.not_yet", name=rest[0]))
        x, y = _point(rest[1])
        return list(moved(glyph.strokes, x, y, _number(rest[2]) if len(rest) == 3 else 1.0))
    return _stroke([first, *rest])


def _stroke(words: list[str]) -> list[Command]:
    """Return one stroke: a move and at least one line or curve."""
    closed = words[-1] == "z"
    if closed:
        words = words[:-1]
    if len(words) < 2:
        raise RefusedError(say("fonts.alphabet.short_stroke"))
    x, y = _point(words[0])
    commands: list[Command] = [("M", x, y)]
    handles: list[Point] = []
    for word in words[1:]:
        mark = word[0]
        if mark == "~":
            handles.append(_point(word[1:]))
            continue
        ahead, up = _point(word[1:] if mark in "hv" else word)
        if handles:
            if mark in "hv" or len(handles) != 2:
                raise RefusedError(say("fonts.alphabet.handles", point=word))
            commands.append(("C", *handles[0], *handles[1], ahead, up))
            handles = []
        elif mark == "h":
            commands.append(("C", x + KAPPA * (ahead - x), y, ahead, up + KAPPA * (y - up), ahead, up))
        elif mark == "v":
            commands.append(("C", x, y + KAPPA * (up - y), ahead + KAPPA * (x - ahead), up, ahead, up))
        else:
            commands.append(("L", ahead, up))
        x, y = ahead, up
    if handles:
        raise RefusedError(say("fonts.alphabet.handle_last"))
    if closed:
        commands.append(("Z",))
    return commands


def _dot(x: float, y: float) -> list[Command]:
    """Return a ring so tight that the pen fills it, and a stroke across.

    The stroke is for renderers that leave a hole in a curve tighter than the pen.
    """
    return [*_ring(x - DOT, y - DOT, x + DOT, y + DOT), ("M", x - DOT, y), ("L", x + DOT, y)]


def _ring(left: float, bottom: float, right: float, top: float) -> list[Command]:
    """Return the ellipse in a box."""
    x, y = (left + right) / 2, (bottom + top) / 2
    a, b = KAPPA * (right - x), KAPPA * (top - y)
    return [
        ("M", x, top),
        ("C", x - a, top, left, y + b, left, y),
        ("C", left, y - b, x - a, bottom, x, bottom),
        ("C", x + a, bottom, right, y - b, right, y),
        ("C", right, y + b, x + a, top, x, top),
        ("Z",),
    ]


def _point(word: str) -> Point:
    x, comma, y = word.partition(",")
    if not comma:
        raise RefusedError(say("fonts.alphabet.no_point", word=word))
    return _number(x), _number(y)


def _number(word: str) -> float:
    try:
        number = float(word)
    except ValueError:
        number = float("nan")
    if not isfinite(number):
        raise RefusedError(say("fonts.alphabet.no_number", word=word))
    return number
