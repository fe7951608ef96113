"""Form fields as PDF values: what a viewer fills in, and how it looks before and after.

Every field brings appearance streams, so that its value shows where a viewer makes none, and an embedded font
to type in for one that does. Entries after ISO 32000-1, 12.7 (forms) and 12.5.5 (appearances).
"""

from collections.abc import Callable, Iterator, Sequence
from pathlib import Path as FilePath
from typing import Any

from fonts.faces import Face, break_lines, face, face_of, run
from sheets.files.objects import Stream, Words
from sheets.files.write import typefaces
from sheets.ink.records import Field

POINTS_A_MM = 72 / 25.4
_PAD = 0.8
"""Between a box and what is written in it, mm."""
_DEPTH = 0.24
"""How far letters hang below the line, as a share of the type size (g of the project's regular face)."""
CROSS_PEN = 0.35
"""Width of the lines of a tick's cross, mm."""
_PITCH = 1.15
"""Line pitch of several lines, in type sizes: about what viewers take."""
_LEAST, _USUAL = 1.8, 3.5
"""Type sizes of a field that says none, mm: the smallest, and that of several lines."""

# Flags of a field, ISO 32000-1, tables 221 and 228.
_SEVERAL_LINES, _NO_SPELLING, _PRINTED = 1 << 12, 1 << 22, 1 << 2

Type = Callable[[str, FilePath], tuple[str, Any, bytes]]
"""What sets a text in a face: the name of a font, its object, and the text's codes in it."""


def form(font: Any) -> dict[str, Any]:
    """Return a form without fields, typed in a font, whose reference is given."""
    return {
        "/Fields": [],
        "/DA": Words(f"{typefaces.FORM} 0 Tf 0 g"),
        "/DR": {"/Font": {typefaces.FORM: font}},
    }


def box_in_points(field: Field) -> list[float]:
    """Return the field's box in points: left, low, right, top."""
    return [side * POINTS_A_MM for side in field.box]


def check(fields: Sequence[Field]) -> None:
    """Raise ValueError for two fields of one name, one inside another's name, or a box that is none."""
    told: set[str] = set()
    above = {
        ".".join(parts[:depth])
        for each in fields
        for parts in (each.name.split("."),)
        for depth in range(1, len(parts))
    }
    for each in fields:
        left, low, right, top = each.box
        if not each.name or not all(each.name.split(".")):
            raise ValueError(f"a field cannot be named {each.name!r}")
        if each.name in told:
            raise ValueError(f"two fields are named {each.name}")
        told.add(each.name)
        if each.name in above:
            raise ValueError(f"the field {each.name} is a part of another field's name")
        if right - left <= 2 * _PAD or top - low <= 2 * _PAD:
            raise ValueError(f"the box of field {each.name} is too small to write in")


def widget(field: Field, type_in: Type) -> dict[str, object]:
    """Return a field's entries, as one dictionary with its place on the page, without name, page and parent.

    "/AP" holds Streams, which the caller has to make objects of. There are no scripts: what was typed is
    judged where it is read.
    """
    common: dict[str, object] = {
        "/Type": "/Annot",
        "/Subtype": "/Widget",
        "/F": _PRINTED,
        "/Rect": box_in_points(field),
        "/TU": Words(field.label),
        "/MK": {},
        "/BS": {"/W": 0, "/S": "/S"},
    }
    if field.kind == "tick":
        state = "/Yes" if field.value == "yes" else "/Off"
        return common | {
            "/FT": "/Btn",
            "/V": state,
            "/AS": state,
            "/DA": Words(f"{typefaces.FORM} 0 Tf 0 g"),
            "/MK": {"/CA": Words("X")},
            "/AP": {"/N": {"/Yes": _form(field, _cross(field), {}), "/Off": _form(field, b"", {})}},
        }
    size = field.size * POINTS_A_MM
    entries = common | {
        "/FT": "/Tx",
        "/DA": Words(f"{typefaces.FORM} {size:.2f} Tf 0 g" if field.size else f"{typefaces.FORM} 0 Tf 0 g"),
        "/V": Words(field.value),
        "/AP": {"/N": _form(field, *_written(field, type_in))},
    }
    if field.kind == "lines":
        entries["/Ff"] = _SEVERAL_LINES
    if field.kind in ("number", "date"):
        entries["/Ff"] = _NO_SPELLING
    return entries


def _form(field: Field, content: bytes, fonts: dict[str, Any]) -> Stream:
    left, low, right, top = box_in_points(field)
    # What shows nothing shows it in a box of any size.
    places = 2 if content else None
    entries: dict[str, object] = {
        "/Subtype": "/Form",
        "/BBox": [0, 0, round(right - left, places), round(top - low, places)],
    }
    if fonts:
        entries["/Resources"] = {"/Font": fonts}
    # Short ones grow by being compressed.
    return Stream(entries, content, packed=len(content) > 200)


def cross_in(field: Field) -> tuple[float, float, float, float]:
    """Return the square that a tick's cross fills, in mm from its box's lower left corner."""
    left, low, right, top = field.box
    wide, high = right - left, top - low
    half = 0.36 * min(wide, high)
    return wide / 2 - half, high / 2 - half, wide / 2 + half, high / 2 + half


def _cross(field: Field) -> bytes:
    x0, y0, x1, y1 = (side * POINTS_A_MM for side in cross_in(field))
    pen = CROSS_PEN * POINTS_A_MM
    return (
        f"q {pen:.3f} w 1 J {x0:.3f} {y0:.3f} m {x1:.3f} {y1:.3f} l {x0:.3f} {y1:.3f} m "
        f"{x1:.3f} {y0:.3f} l S Q"
    ).encode()


def face_in(field: Field) -> Face:
    """Return the face in which a field's value is set."""
    return face("regular") if field.face is None else face_of(field.face)


def rows_in(field: Field) -> Iterator[tuple[str, tuple[float, float], float, FilePath]]:
    """Yield a text field's value row by row: text, where it begins and its type size, in mm, and its face."""
    if not field.value:
        return
    left, low, _, _ = field.box
    size, y, rows = _laid(field)
    for number, row in enumerate(rows):
        yield row, (left + _PAD, low + y - number * _PITCH * size), size, face_in(field).file


def _laid(field: Field) -> tuple[float, float, list[str]]:
    """Return how a text field's value is set, in mm: its size, the first line's height; and its rows."""
    wide, high = field.box[2] - field.box[0], field.box[3] - field.box[1]
    room, one = wide - 2 * _PAD, face_in(field)
    # Who makes a field chooses a face that has all of it; a question mark shows where that was not done.
    lines = ["".join(c if ord(c) in one.advances else "?" for c in line) for line in field.value.split("\n")]
    if field.kind == "lines":
        size = field.size or _USUAL
        rows = [row for line in lines for row in break_lines(line, size, one, room) or ("",)]
        return size, high - _PAD - one.cap_height * size, rows
    row = " ".join(lines)
    size = field.size or _fitting(row, room, high - 2 * _PAD, one)
    return size, (high - one.cap_height * size) / 2, [row]


def _written(field: Field, type_in: Type) -> tuple[bytes, dict[str, Any]]:
    """Return the appearance of a text field: its value, cut to its box, in its size or as fits; and fonts."""
    wide, high = (side * POINTS_A_MM for side in (field.box[2] - field.box[0], field.box[3] - field.box[1]))
    if not field.value:
        return b"", {}
    size, y, rows = _laid(field)
    size, y, pad = size * POINTS_A_MM, y * POINTS_A_MM, _PAD * POINTS_A_MM
    shown = [f"/Tx BMC\nq {pad / 2:.3f} 0 {wide - pad:.3f} {high:.3f} re W n BT".encode()]
    shown.append(f"0 g {_PITCH * size:.3f} TL {pad:.3f} {y:.3f} Td".encode())
    fonts: dict[str, Any] = {}
    for number, row in enumerate(rows):
        name, font, codes = type_in(row, face_in(field).file)
        fonts[name] = font
        shown.append(f"{'T* ' if number else ''}{name} {size:.3f} Tf <{codes.hex()}> Tj".encode())
    return b"\n".join([*shown, b"ET Q", b"EMC"]), fonts


def _fitting(text: str, room: float, high: float, one: Face) -> float:
    """Return the largest type size in mm at which a line fits, not below the smallest."""
    tall = high / (one.cap_height + 2 * _DEPTH)
    wide = run(text, 1.0, one)
    return max(_LEAST, min(tall, room / wide if wide else tall))
