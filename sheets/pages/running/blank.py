"""The measuring sheet: what `start` will ask, to be noted at the bench by pencil or in the form.

The first page has what is measured: the figure, and a box for each of its letters. The second has what is
chosen, and what lies on the bench.
"""

import math
from collections.abc import Sequence
from typing import Literal

from fonts.drafting import width
from geometry.core.say import named
from geometry.tables.interfaces import rows
from sheets.ink.drawing import Drawing
from sheets.ink.marks import BOLD, THICK, THIN, box, circle
from sheets.ink.records import Field, Paper, Part, Sheet
from sheets.pages.frame import Page, finish, live_zone
from sheets.pages.running.blank_figures import WIDTH, figures
from sheets.words.lengths import units
from sheets.words.measures import Known, letter
from sheets.words.tell import tell, told

MARGIN = 10.0
"""Border left white, mm; common practice, no source."""

_LAYER = "form"
_CAPTION, _SMALL = 3.5, 2.5
_BOX = 9.0
"""Height of a box to write in, mm."""
_ROW = _BOX + 7.0
"""Height of a row of boxes with its captions, mm."""
_GAP = 3.0
_INSET = 0.4
_TUBE_NAME = 24.0
_LINE = 5.4

# A row of boxes: key, under which the caption stands in the table of sentences, and share of the row's width.
_Cells = Sequence[tuple[str, float]]
_MEASURES: tuple[_Cells, ...] = (
    (
        ("dropout.thickness", 1.0), ("axle.pocket", 1.0), ("axle.dummy", 1.2), ("dropout.slot", 0.8),
        ("dropout.slot_from", 1.6), ("mount.tilt", 0.8),
    ),
    (
        ("boss.thickness", 1.0), ("boss.diameter", 1.0), ("boss.length", 1.0), ("stance.chainstay", 1.0),
        ("stance.leg", 1.0), ("stance.head", 1.0), ("stance.rake", 1.0), ("stance.axle_to_crown", 1.0),
    ),
)  # fmt: skip
_CHOICES: tuple[_Cells, ...] = (
    (("frame.id", 1.0), ("frame.name", 1.0)),
    (("frame.maker", 1.0), ("mount.end", 1.0)),
    (("axle.kind", 1.0), ("axle.system", 1.0)),
    (("mount.interface", 1.0), ("mount.host", 1.0)),
    (("mount.native", 1.0), ("mount.rotor", 1.0)),
    (("other.stay", 1.0), ("process.method", 1.0)),
    (("process.material", 1.0), ("process.filler", 1.0)),
    (("bench.spacers", 1.6), ("bench.pins", 1.0)),
    (("bench.plate", 1.0), ("paper.size", 1.0)),
    (("paper.view", 1.0),),
)
_TUBES = ("chainstay", "seatstay", "fork-leg")
_PLACES = tuple((number, key) for number in (1, 2, 3) for key in ("at", "outside"))
_MORE = ("wall", "offset", "outset", "splay", "included")
_IN_INCHES = (
    "blank.inch.how.measure",
    "blank.inch.how_of.measure",
    "blank.inch.key.bench.spacers",
    "blank.inch.key.bench.pins",
    "blank.inch.figure.outside",
)
_LEGEND = ("at", "outside", "offset", "sideways", "slot", "tilt")

Families = tuple[str, str]
"""The mounts' families in the figure, at rear and fork; "" for none."""
BOTH: Families = ("tab", "post")
"""What the figure shows where no mount is asked for: between them they have every measure."""


def families(interface: str) -> Families:
    """Return what the figure shows for an interface row: its mount at each end that it is for.

    Raise KeyError for a row that is not known.
    """
    row = rows()[interface]
    return row.family if "rear" in row.ends else "", row.family if "front" in row.ends else ""


def blank(paper: Paper, shown: Families = BOTH, known: Known | None = None) -> tuple[Sheet, Sheet]:
    """Return the measuring sheet's two pages on a paper: figure and boxes, a form field over each box.

    A field is called by its question's key; a place on a tube has two, ".at" and ".outside". What is `known`
    of a job is filled in.
    """
    return _measured(paper, shown, known), _chosen(paper, known)


def _inch(code: str) -> str:
    """Return the sentence for a sheet that asks for inches, "" for another or where no mm are named."""
    return tell(code) if units() == "in" and code in _IN_INCHES else ""


def _measured(paper: Paper, shown: Families, known: Known | None) -> Sheet:
    drawing, fields, live = Drawing(), list[Field](), live_zone(paper, MARGIN)
    y = _head(drawing, live, "measure", known)
    drawing.begin_figure()
    left = (live[0] + live[2] - WIDTH) / 2.0
    upright = known is not None and known.values.get("mount.host") == "seatstay"
    y = figures(drawing, left, y, shown, known is None or bool(shown[1]), upright=upright) - 1.0
    for text, (left, low, right, top) in drawing.labels if known else ():
        if known and text in known.letters:
            middle = (left + right) / 2.0, (low + top) / 2.0
            drawing.draw(circle(middle, math.hypot(right - left, top - low) + 1.0), THICK, _LAYER)
    y = _legend(drawing, live, y, shown)
    y = _tubes(drawing, fields, live, y, known)
    for cells in _MEASURES:
        own = [cell for cell in cells if known is None or cell[0] in known.boxes]
        y = _cells(drawing, fields, live, y, own, known) if own else y
    return _page(paper, drawing, fields, live, y, 1)


def _chosen(paper: Paper, known: Known | None) -> Sheet:
    drawing, fields, live = Drawing(), list[Field](), live_zone(paper, MARGIN)
    y = _head(drawing, live, "choose", known)
    for cells in _CHOICES:
        own = [cell for cell in cells if known is None or cell[0] in known.boxes]
        y = _cells(drawing, fields, live, y, own, known) if own else y
    y = _note(drawing, fields, live, y, known)
    return _page(paper, drawing, fields, live, y, 2)


def _page(
    paper: Paper,
    drawing: Drawing,
    fields: list[Field],
    live: tuple[float, float, float, float],
    y: float,
    number: int,
) -> Sheet:
    page = Page(paper, MARGIN, drawing, live)
    title = tell("blank.title", paper=paper.name, number=number)
    return finish(page, "blank", title, "outboard", (live[0], y), fields, full_size=False)


def _head(drawing: Drawing, live: tuple[float, float, float, float], part: str, known: Known | None) -> float:
    left, _, right, top = live
    foot = top - 18.0
    drawing.draw(box((left, foot), (right, top)), THICK, _LAYER)
    which, title = tell(f"blank.part.{part}"), drawing.part("H1")
    drawing.letter(which, (right - 2.0, top - 7.0), 3.5, 1.0, layer=_LAYER)
    heading = tell("blank.heading_of", frame=known.frame) if known else tell("blank.heading")
    room = right - left - width(which, 3.5) - 8.0
    sizes = [size for size in (7.0, 5.0, 3.5) if width(heading, size) <= room]
    # A name too long for all of them stands in its box on the second page alone.
    heading = heading if sizes else tell("blank.heading")
    drawing.letter(heading, (left + 2.0, top - 8.8), sizes[0] if sizes else 7.0, layer=_LAYER, part=title)
    if known:
        how = _inch(f"blank.inch.how_of.{part}") or tell(f"blank.how_of.{part}")
    else:
        how = _inch(f"blank.inch.how.{part}") or tell(f"blank.how.{part}")
    drawing.letter(how, (left + 2.0, top - 15.2), 3.5, layer=_LAYER)
    return foot - 1.6


def _legend(drawing: Drawing, live: tuple[float, float, float, float], top: float, shown: Families) -> float:
    """Say what the letters of the tubes' table mean, and return where that ends."""
    for i, key in enumerate(_LEGEND):
        drawing.letter(
            _inch(f"blank.inch.figure.{key}") or tell(f"blank.figure.{key}"),
            (live[0], top - _SMALL - i * 3.9),
            _SMALL,
            layer=_LAYER,
        )
    return top - len(_LEGEND) * 3.9 - 1.0


def _cells(
    drawing: Drawing,
    fields: list[Field],
    live: tuple[float, float, float, float],
    top: float,
    cells: _Cells,
    known: Known | None,
) -> float:
    """Draw a row of captioned boxes with their fields and return where the next row begins."""
    left, _, right, _ = live
    room = right - left - _GAP * (len(cells) - 1)
    share = sum(part for _, part in cells)
    x = left
    for key, part in cells:
        wide = room * part / share
        named_so = _inch(f"blank.inch.key.{key}") or tell(f"blank.key.{key}")
        caption = " ".join(each for each in (letter(key), named_so) if each)
        height = _CAPTION if width(caption, _CAPTION) <= wide else _SMALL
        place, asked = (x, top - 5.8 - _BOX, x + wide, top - 5.8), drawing.part("P")
        drawing.letter(caption, (x, top - _CAPTION - 0.8), height, layer=_LAYER, part=asked)
        _field(drawing, fields, key, caption, place, known, asked)
        x += wide + _GAP
    return top - _ROW


def _note(
    drawing: Drawing,
    fields: list[Field],
    live: tuple[float, float, float, float],
    top: float,
    known: Known | None,
) -> float:
    """Draw the box for anything else, down to the foot of the page, and return its lower edge."""
    left, low, right, _ = live
    foot = low + THIN.width
    caption = tell("blank.note")
    part = drawing.part("P")
    drawing.letter(caption, (left, top - _CAPTION - 0.8), _CAPTION, layer=_LAYER, part=part)
    _field(drawing, fields, "frame.note", caption, (left, foot, right, top - 5.8), known, part, "lines")
    return foot


def _tubes(
    drawing: Drawing,
    fields: list[Field],
    live: tuple[float, float, float, float],
    top: float,
    known: Known | None,
) -> float:
    """Draw the tubes' table, headed by the letters, and return where the next row begins."""
    left, _, right, _ = live
    columns = [
        (f"place.{number}.{key}", tell(f"blank.place.{key}", number=number)) for number, key in _PLACES
    ]
    columns += [(key, tell(f"blank.tube.{key}")) for key in _MORE]
    wide = (right - left - _TUBE_NAME) / len(columns)
    for i, (key, _) in enumerate(columns):
        middle = left + _TUBE_NAME + (i + 0.5) * wide
        drawing.letter(letter(f"tubes.seatstay.{key}"), (middle, top - 4.2), _CAPTION, 0.5, layer=_LAYER)
    y = top - 5.4
    for tube in _TUBES:
        if known is not None and f"tubes.{tube}.wall" not in known.boxes:
            continue
        name, part = told(named(tube)), drawing.part("P")
        drawing.letter(name, (left, y - _BOX / 2.0 - 1.75), 3.5, layer=_LAYER, part=part)
        for i, (key, caption) in enumerate(columns):
            x = left + _TUBE_NAME + i * wide
            if key == "included" and tube != "seatstay":
                continue
            place = (x, y - _BOX, x + wide, y)
            _field(drawing, fields, f"tubes.{tube}.{key}", f"{name}: {caption}", place, known, part)
        y -= _BOX
    return y - 2.0


def _field(
    drawing: Drawing,
    fields: list[Field],
    key: str,
    label: str,
    place: tuple[float, float, float, float],
    known: Known | None,
    part: Part,
    kind: Literal["text", "lines"] = "text",
) -> None:
    left, low, right, top = place
    drawing.draw(box((left, low), (right, top)), THIN, _LAYER)
    if known is not None and key in known.lacking:
        drawing.draw(box((left + 0.8, low + 0.8), (right - 0.8, top - 0.8)), BOLD, _LAYER)
    inner = (left + _INSET, low + _INSET, right - _INSET, top - _INSET)
    value = known.values.get(key, "") if known is not None else ""
    size = 0.0 if value and kind == "text" else 3.5
    fields.append(Field(key, label, inner, kind, value, size, part=drawing.part("Form", part)))
