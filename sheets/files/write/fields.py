"""Form fields as PDF values: what a viewer fills in, and how it looks before and after.

Every field brings appearance streams, so that its value shows where a viewer makes none, and the fonts that
every viewer has, so that one that does can. Entries after ISO 32000-1, 12.7 (forms) and 12.5.5 (appearances).
"""

from collections.abc import Iterator, Sequence

from sheets.files.objects import Stream, Words
from sheets.ink.records import Field

POINTS_A_MM = 72 / 25.4
_PAD = 0.8
"""Between a box and what is written in it, mm."""
_CAPITALS = 0.718
"""Height of Helvetica's capitals, as a share of its type size (Adobe's metrics of the font)."""
_DEPTH = 0.207
"""How far Helvetica's letters hang below the line, as a share of its type size (the same metrics)."""
CROSS_PEN = 0.35
"""Width of the lines of a tick's cross, mm."""
_PITCH = 1.15
"""Line pitch of several lines, in type sizes: about what viewers take."""
_LEAST, _USUAL = 1.8, 3.5
"""Type sizes of a field that says none, mm: the smallest, and that of several lines."""

# Advances of Helvetica from the space to the tilde, in thousandths of the size (Adobe's metrics of the font).
_ADVANCES = (
    278, 278, 355, 556, 556, 889, 667, 191, 333, 333, 389, 584, 278, 333, 278, 278,
    556, 556, 556, 556, 556, 556, 556, 556, 556, 556, 278, 278, 584, 584, 584, 556,
    1015, 667, 667, 722, 722, 667, 611, 778, 722, 278, 500, 667, 556, 833, 722, 778,
    667, 778, 722, 667, 611, 722, 667, 944, 667, 667, 611, 278, 278, 278, 469, 556,
    333, 556, 556, 500, 556, 556, 278, 556, 556, 222, 222, 500, 222, 833, 556, 556,
    556, 556, 333, 500, 278, 556, 500, 722, 500, 500, 500, 334, 260, 334, 584,
)  # fmt: skip
_OTHER = 778
"""What any other character is taken to need: no letter of the font's wanted ones is wider but W, M and @."""

# Flags of a field, ISO 32000-1, tables 221 and 228.
_SEVERAL_LINES, _NO_SPELLING, _PRINTED = 1 << 12, 1 << 22, 1 << 2

# The format function that viewers have for numbers rounds what it shows, and takes no comma; this one lets
# through what a rule or a caliper may read. What was typed all the same is kept and not thrown away: not
# every viewer asks key by key. The date's are the viewers' own.
_NUMBER = "if (!event.willCommit && !/^[-+]?[0-9]*[.,]?[0-9]*$/.test(AFMergeChange(event))) event.rc = false;"
_DATE = 'AFDate_KeystrokeEx("yyyy-mm-dd");', 'AFDate_FormatEx("yyyy-mm-dd");'

HELVETICA = {
    "/Type": "/Font",
    "/Subtype": "/Type1",
    "/BaseFont": "/Helvetica",
    "/Encoding": "/WinAnsiEncoding",
}
_SIGNS = {"/Type": "/Font", "/Subtype": "/Type1", "/BaseFont": "/ZapfDingbats"}
FORM = {
    "/Fields": [],
    "/DA": Words("/Helv 0 Tf 0 g"),
    "/DR": {"/Font": {"/Helv": HELVETICA, "/ZaDb": _SIGNS}},
}
"""A form without fields, with the two fonts that fields are set in."""


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


def widget(field: Field) -> dict[str, object]:
    """Return a field's entries, as one dictionary with its place on the page, without name, page and parent.

    "/AP" holds Streams, which the caller has to make objects of.
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
            "/DA": Words("/ZaDb 0 Tf 0 g"),
            # A viewer that makes its own appearance takes the cross from the font of signs.
            "/MK": {"/CA": Words("8")},
            "/AP": {"/N": {"/Yes": _form(field, _cross(field)), "/Off": _form(field, b"")}},
        }
    size = field.size * POINTS_A_MM
    entries = common | {
        "/FT": "/Tx",
        "/DA": Words(f"/Helv {size:.2f} Tf 0 g" if field.size else "/Helv 0 Tf 0 g"),
        "/V": Words(field.value),
        "/AP": {"/N": _form(field, _written(field))},
    }
    if field.kind == "lines":
        entries["/Ff"] = _SEVERAL_LINES
    if field.kind == "number":
        entries |= {"/Ff": _NO_SPELLING, "/AA": {"/K": _script(_NUMBER)}}
    if field.kind == "date":
        entries |= {"/Ff": _NO_SPELLING, "/AA": {"/K": _script(_DATE[0]), "/F": _script(_DATE[1])}}
    return entries


def _script(text: str) -> dict[str, object]:
    return {"/S": "/JavaScript", "/JS": Words(text)}


def _form(field: Field, content: bytes) -> Stream:
    left, low, right, top = box_in_points(field)
    entries: dict[str, object] = {
        "/Type": "/XObject",
        "/Subtype": "/Form",
        "/BBox": [0.0, 0.0, right - left, top - low],
    }
    if field.kind != "tick" and field.value:
        entries["/Resources"] = {"/Font": {"/Helv": HELVETICA}}
    return Stream(entries, content)


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


def rows_in(field: Field) -> Iterator[tuple[str, tuple[float, float], float]]:
    """Yield a text field's value row by row: text, where it begins and its type size, in mm on the page."""
    if not field.value:
        return
    left, low, _, _ = field.box
    size, pad, y, rows = _laid(field)
    for number, row in enumerate(rows):
        at = left + pad / POINTS_A_MM, low + (y - number * _PITCH * size) / POINTS_A_MM
        yield row, at, size / POINTS_A_MM


def _laid(field: Field) -> tuple[float, float, float, list[str]]:
    """Return how a text field's value is set, in points: size, pad, the first line's height; and its rows."""
    wide, high = (side * POINTS_A_MM for side in (field.box[2] - field.box[0], field.box[3] - field.box[1]))
    pad = _PAD * POINTS_A_MM
    room = wide - 2 * pad
    if field.kind == "lines":
        size = (field.size or _USUAL) * POINTS_A_MM
        rows = [row for line in field.value.split("\n") for row in broken(line, size, room)]
        y = high - pad - _CAPITALS * size
    else:
        rows = [" ".join(field.value.split("\n"))]
        size = field.size * POINTS_A_MM or _fitting(rows[0], room, high - 2 * pad)
        y = (high - _CAPITALS * size) / 2
    return size, pad, y, rows


def _written(field: Field) -> bytes:
    """Return the appearance of a text field: its value, cut to its box, in the field's size or as fits."""
    wide, high = (side * POINTS_A_MM for side in (field.box[2] - field.box[0], field.box[3] - field.box[1]))
    size, pad, y, rows = _laid(field)
    if not field.value:
        return b"/Tx BMC\nEMC"
    shown = [b"/Tx BMC", f"q {pad / 2:.3f} 0 {wide - pad:.3f} {high:.3f} re W n BT".encode()]
    shown.append(f"/Helv {size:.3f} Tf 0 g {_PITCH * size:.3f} TL {pad:.3f} {y:.3f} Td".encode())
    # What the font's encoding lacks prints as a question mark here, and stands whole in the field's value.
    shown.append(
        b" T*\n".join(b"<" + row.encode("cp1252", "replace").hex().encode() + b"> Tj" for row in rows)
    )
    return b"\n".join([*shown, b"ET Q", b"EMC"])


def _fitting(text: str, room: float, high: float) -> float:
    """Return the largest type size in points at which a line fits, not below the smallest."""
    tall = high / (_CAPITALS + 2 * _DEPTH)
    wide = advance(text, 1.0)
    return max(_LEAST * POINTS_A_MM, min(tall, room / wide if wide else tall))


def advance(text: str, size: float) -> float:
    """Return the width of a line of Helvetica, in the unit of its type size."""
    steps = (_ADVANCES[ord(c) - 32] if 32 <= ord(c) < 127 else _OTHER for c in text)
    return sum(steps) / 1000 * size


def broken(line: str, size: float, room: float) -> Iterator[str]:
    """Yield a line in rows that fit `room`, broken at blanks, or inside a word that alone is too long."""
    row = ""
    for word in line.split(" "):
        tried = f"{row} {word}" if row else word
        while advance(tried, size) > room:
            if row:
                yield row
            elif len(word) > 1:
                kept = max(n for n in range(1, len(word)) if n == 1 or advance(word[:n], size) <= room)
                yield word[:kept]
                word = word[kept:]
            else:
                break
            row, tried = "", word
        row = tried
    yield row
