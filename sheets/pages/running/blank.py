"""The measuring sheet: what `start` will ask, to be noted at the bench by pencil or in the form."""

from collections.abc import Sequence
from typing import Literal

from geometry.core.say import named
from sheets.ink.drawing import Drawing
from sheets.ink.marks import THICK, THIN, box
from sheets.ink.records import Field, Paper, Sheet
from sheets.pages.frame import Page, finish
from sheets.pages.running.blank_figures import figures
from sheets.words.tell import tell, told

MARGIN = 10.0
"""Border left white, mm; common practice, no source."""

_LAYER = "form"
_CAPTION = 2.5
_BOX = 9.0
"""Height of a box to write in, mm."""
_ROW = _BOX + 5.6
"""Height of a row of boxes with its captions, mm."""
_GAP = 3.0
_INSET = 0.4
_TUBE_NAME = 22.0

# A row of boxes: key, under which the caption stands in the table of sentences, and share of the row's width.
_Cells = Sequence[tuple[str, float]]
_WHO: _Cells = (
    ("frame.id", 1.0),
    ("frame.name", 1.3),
    ("frame.maker", 1.5),
)
_MOUNT_1: _Cells = (
    ("mount.end", 1.0),
    ("axle.kind", 1.35),
    ("axle.system", 1.1),
    ("axle.pocket", 1.05),
)
_MOUNT_2: _Cells = (
    ("mount.interface", 1.45),
    ("mount.native", 0.8),
    ("mount.rotor", 0.7),
    ("mount.host", 1.1),
    ("mount.tilt", 0.5),
    ("other.stay", 0.9),
)
_DROPOUT: _Cells = (
    ("dropout.thickness", 0.95),
    ("dropout.slot", 0.8),
    ("dropout.slot_from", 1.15),
    ("boss.thickness", 0.7),
    ("boss.diameter", 1.15),
    ("boss.length", 0.7),
)
_STANCE: _Cells = (
    ("stance.leg", 0.95),
    ("stance.head", 0.9),
    ("stance.rake", 0.7),
    ("stance.axle_to_crown", 1.05),
    ("stance.chainstay", 1.25),
)
_BENCH_1: _Cells = (
    ("axle.dummy", 0.7),
    ("process.method", 1.5),
    ("process.material", 1.2),
    ("process.filler", 1.0),
)
_BENCH_2: _Cells = (
    ("bench.spacers", 2.3),
    ("bench.pins", 0.8),
    ("bench.plate", 0.7),
    ("paper.size", 0.6),
    ("paper.view", 1.6),
)
_TUBES = ("chainstay", "seatstay", "fork-leg")
_PLACES = tuple((number, key) for number in (1, 2, 3) for key in ("at", "outside"))
_MORE = ("wall", "offset", "outset", "splay", "included")


def blank(paper: Paper) -> Sheet:
    """Return the measuring sheet on a paper: lettered boxes, figures, and a form field over each box.

    A field is called by its question's key; a place on a tube has two, ".at" and ".outside".
    """
    drawing, fields = Drawing(), list[Field]()
    inset = MARGIN + THICK.width
    live = (inset, inset, paper.width - inset, paper.height - inset)
    y = _head(drawing, live)
    y = _cells(drawing, fields, live, y, _WHO)
    y = _cells(drawing, fields, live, y, _MOUNT_1)
    y = _cells(drawing, fields, live, y, _MOUNT_2)
    y = figures(drawing, (live[0], live[2]), y - 1.0) - 2.0
    y = _tubes(drawing, fields, live, y)
    for cells in (_DROPOUT, _STANCE, _BENCH_1, _BENCH_2):
        y = _cells(drawing, fields, live, y, cells)
    y = _note(drawing, fields, live, y)
    page = Page(paper, MARGIN, drawing, live)
    title = tell("blank.title", paper=paper.name)
    return finish(page, "blank", title, "outboard", (live[0], y), fields, full_size=False)


def _head(drawing: Drawing, live: tuple[float, float, float, float]) -> float:
    left, _, right, top = live
    foot = top - 21.5
    drawing.draw(box((left, foot), (right, top)), THICK, _LAYER)
    drawing.letter(tell("blank.heading"), (left + 2.0, top - 8.8), 7.0, layer=_LAYER)
    drawing.letter(tell("blank.no_scale"), (right - 2.0, top - 8.8), 2.5, 1.0, layer=_LAYER)
    for i, line in enumerate((tell("blank.metal"), tell("blank.empty"))):
        drawing.letter(line, (left + 2.0, top - 15.2 - i * 4.2), 2.5, layer=_LAYER)
    return foot - 1.6


def _cells(
    drawing: Drawing, fields: list[Field], live: tuple[float, float, float, float], top: float, cells: _Cells
) -> float:
    """Draw a row of captioned boxes with their fields and return where the next row begins."""
    left, _, right, _ = live
    room = right - left - _GAP * (len(cells) - 1)
    share = sum(part for _, part in cells)
    x = left
    for key, part in cells:
        wide, caption = room * part / share, tell(f"blank.key.{key}")
        drawing.letter(caption, (x, top - _CAPTION - 0.6), _CAPTION, layer=_LAYER)
        _field(drawing, fields, key, caption, (x, top - 4.2 - _BOX, x + wide, top - 4.2))
        x += wide + _GAP
    return top - _ROW


def _note(
    drawing: Drawing, fields: list[Field], live: tuple[float, float, float, float], top: float
) -> float:
    """Draw the box for anything else, down to the foot of the page, and return its lower edge."""
    left, low, right, _ = live
    foot = low + THIN.width
    caption = tell("blank.note")
    drawing.letter(caption, (left, top - _CAPTION - 0.6), _CAPTION, layer=_LAYER)
    _field(drawing, fields, "frame.note", caption, (left, foot, right, top - 4.2), "lines")
    return foot


def _tubes(
    drawing: Drawing, fields: list[Field], live: tuple[float, float, float, float], top: float
) -> float:
    """Draw the tubes' table and return where the next row begins."""
    left, _, right, _ = live
    columns = [
        (f"place.{number}.{key}", tell(f"blank.place.{key}", number=number)) for number, key in _PLACES
    ]
    columns += [(key, tell(f"blank.tube.{key}")) for key in _MORE]
    wide = (right - left - _TUBE_NAME) / len(columns)
    for i, (_, caption) in enumerate(columns):
        middle = left + _TUBE_NAME + (i + 0.5) * wide
        drawing.letter(caption, (middle, top - 3.4), _CAPTION, 0.5, layer=_LAYER)
    y = top - 4.6
    for tube in _TUBES:
        name = told(named(tube))
        drawing.letter(name, (left, y - _BOX / 2.0 - 1.75), 3.5, layer=_LAYER)
        for i, (key, caption) in enumerate(columns):
            x = left + _TUBE_NAME + i * wide
            if key == "included" and tube != "seatstay":
                continue
            place = (x, y - _BOX, x + wide, y)
            _field(drawing, fields, f"tubes.{tube}.{key}", f"{name}: {caption}", place)
        y -= _BOX
    return y - 2.4


def _field(
    drawing: Drawing,
    fields: list[Field],
    key: str,
    label: str,
    place: tuple[float, float, float, float],
    kind: Literal["text", "lines"] = "text",
) -> None:
    left, low, right, top = place
    drawing.draw(box((left, low), (right, top)), THIN, _LAYER)
    inner = (left + _INSET, low + _INSET, right - _INSET, top - _INSET)
    fields.append(Field(key, label, inner, kind))
