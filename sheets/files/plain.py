"""Whether what a form field shows is its value: plain dark letters in its box, the whole text and no more.

Viewers make an appearance of their own for what is typed into a field, each in its way, so that no digest can
hold it. What is let through is what they need: a clip, letters, where they stand and in which colour.
Operators after ISO 32000-1, annex A.
"""

from collections.abc import Sequence
from typing import Any

from sheets.files.objects import operations, text_in

Point = tuple[float, float]

_EMPTY = (b"", b"/Tx BMC EMC")
_ENTRIES = {
    "/Type", "/Subtype", "/FormType", "/BBox", "/Matrix", "/Resources", "/Length", "/Filter", "/DecodeParms",
}  # fmt: skip
"""What a plain appearance's dictionary may have."""
_RESOURCES = {"/Font", "/ProcSet", "/ColorSpace"}
_USUAL = ("Helvetica", "Arial", "Times", "Courier")
"""Beginnings of the names of faces that any viewer has, or has a likeness of; others must be described."""
_WORDS = {"BMC": 1, "BDC": 2, "Tf": 1, "Tj": 1, "TJ": 1, "cs": 1}
"""How many operands that are no numbers an operator takes; all others take none."""
_NUMBERS = {"re": 4, "Td": 2, "Tm": 6, "g": 1, "rg": 3, "k": 4} | dict.fromkeys(
    ("Tf", "TL", "Tr", "Ts", "Tz", "Tc", "Tw", "w"), 1
)
"""How many numbers an operator takes; others take none, but `sc` and `scn` as many as a colour has."""
_QUIET = {
    "q", "Q", "BMC", "BDC", "EMC", "BT", "ET", "W", "W*", "n", "TL", "T*", "Td", "Tf", "Tj", "TJ", "cs", "w",
}  # fmt: skip
_LACKING = "?·•"
"""What programs show for a letter that a plain face lacks: a question mark here, a dot in others."""
_NEAR = 2.0
"""Points by which a place may lie outside of the box. Own judgement."""
_ROUNDED = 0.5
"""Points by which a look may differ in size from its box: some round to whole points. Own judgement."""
_LEAST, _MOST = 3.0, 1.4
"""The smallest type size, points, and the largest, as a share of the box's height. Own judgement."""
_DARK = 0.6
"""The lightest colour that is read on white paper, 0 black to 1 white. Own judgement."""


def plain(look: Any, value: str, box: Sequence[float]) -> bool:
    """Tell whether a text field's /AP shows its value; `box` is its /Rect in points."""
    if look is None:
        return not value
    try:
        return _plain(look, value, (box[2] - box[0], box[3] - box[1]))
    except MemoryError:
        raise
    except Exception:
        # What breaks its reader shows nothing for sure.
        return False


def _plain(look: Any, value: str, size: tuple[float, float]) -> bool:
    form = look["/N"].get_object()
    data = b" ".join(form.get_data().split())
    if set(look) != {"/N"} or set(form) - _ENTRIES or not _unscaled(form, size):
        return False
    if not value and data in _EMPTY:
        return True
    left, low = float(form["/BBox"][0]), float(form["/BBox"][1])
    shown = _shown(operations(form), (left, low), size)
    return shown and _faces(form.get("/Resources")) and _same(text_in(form), value)


def _unscaled(form: Any, size: tuple[float, float]) -> bool:
    """Tell whether an appearance is neither turned nor stretched to fit its box."""
    left, low, right, top = (float(each) for each in form["/BBox"])
    matrix = [float(each) for each in form.get("/Matrix", (1, 0, 0, 1, 0, 0))]
    fits = abs(right - left - size[0]) <= _ROUNDED and abs(top - low - size[1]) <= _ROUNDED
    return form.get("/Subtype") == "/Form" and matrix[:4] == [1, 0, 0, 1] and len(matrix) == 6 and fits


def _faces(resources: Any) -> bool:
    """Tell whether the faces show letters as what they are called, and nothing else is at hand."""
    held = resources.get_object() if resources is not None else {}
    for each in held["/Font"].get_object().values() if "/Font" in held else ():
        face = each.get_object()
        usual = str(face["/BaseFont"]).removeprefix("/").startswith(_USUAL) and face["/Subtype"] == "/Type1"
        described = "/FontDescriptor" in face or "/DescendantFonts" in face
        if face["/Type"] != "/Font" or not (usual or described):
            return False
    return not set(held) - _RESOURCES


def _shown(steps: Sequence[tuple[list[Any], bytes]], low: Point, size: Point) -> bool:
    """Tell whether nothing but letters is shown, dark, of a size that is read, and begun inside the box."""
    x, y, lead, letters, rows = 0.0, 0.0, 0.0, 0.0, 0
    for operands, operator in steps:
        name = operator.decode("latin-1")
        given = [float(each) for each in operands if isinstance(each, int | float)]
        # Of others a reader may take the first or the last.
        numbers = len(given) if name in ("sc", "scn") else _NUMBERS.get(name, 0)
        if (len(given), len(operands) - len(given)) != (numbers, _WORDS.get(name, 0)):
            return False
        match name:
            case "BT":
                x, y = -low[0], -low[1]
            case "Tf":
                letters = given[0]
            case "TL":
                lead = given[0]
            case "T*":
                y -= lead
            case "Td":
                x, y = x + given[0], y + given[1]
            case "Tm":
                x, y = given[4] - low[0], given[5] - low[1]
            case "Tj" | "TJ":
                rows += 1
        if not _allowed(name, given, low, size):
            return False
        # Rows that do not fit may be cut off below, as viewers do.
        inside = -_NEAR <= x < size[0] and y < size[1] and (y >= -_NEAR or rows > 1)
        if name in ("Tj", "TJ") and not (inside and _LEAST <= letters <= max(_MOST * size[1], 3 * _LEAST)):
            return False
    return True


def _allowed(name: str, given: list[float], low: Point, size: Point) -> bool:
    """Tell whether an operator is one that sets letters plainly."""
    match name:
        case "re":
            # A clip: it may leave a rim.
            starts = given[0] - low[0] < size[0] / 4 and given[1] - low[1] < size[1] / 4
            return starts and given[2] > size[0] / 2 and given[3] > size[1] / 2
        case "g" | "rg" | "sc" | "scn":
            return bool(given) and max(given) <= _DARK
        case "k":
            return given[3] >= 1 - _DARK
        case "Tr" | "Ts":
            return given == [0]
        case "Tz":
            return 50 <= given[0] <= 120
        case "Tc" | "Tw":
            return abs(given[0]) <= _NEAR
        case "Tm":
            return given[:4] == [1, 0, 0, 1]
    return name in _QUIET


def _same(shown: str, value: str) -> bool:
    """Tell whether two texts have the same letters; some sign stands for each that a plain face lacks."""
    there, wanted = "".join(shown.split()), "".join(value.split())
    return len(there) == len(wanted) and all(
        a == b or (a in _LACKING and not b.encode("cp1252", "ignore"))
        for a, b in zip(there, wanted, strict=True)
    )
