"""The Sheet: paper, ordered records and the named features it shows.

A sheet is a value. It can be compared, boxed, sorted and measured before any file exists, and a
writer is one function over it. All lengths are millimetres from the sheet's lower-left corner, y up.
A command is a plain tuple: ("M", x, y) move, ("L", x, y) line, ("C", x1, y1, x2, y2, x, y) cubic,
("Z",) close. Circles, arcs, rulers and lettering have become commands before they get here.
"""

from pathlib import Path as FilePath
from typing import Literal

from geometry.core.frozen import dataclass

Point = tuple[float, float]
Move = tuple[Literal["M"], float, float]
Line = tuple[Literal["L"], float, float]
Cubic = tuple[Literal["C"], float, float, float, float, float, float]
Close = tuple[Literal["Z"]]
Command = Move | Line | Cubic | Close
Commands = tuple[Command, ...]
View = Literal["outboard", "inboard"]
PartKind = Literal[
    "H1", "H2", "P", "Table", "Caption", "TR", "Column", "Row", "TD", "Form", "Figure", "Artifact", ""
]  # fmt: skip
"""What a part of a page is to who listens: types of ISO 32000-1, 14.8.4, "Column" and "Row" heads of a table.

"Artifact" is what need not be read aloud, "" a place in the part above it.
"""
Part = tuple[tuple[int, PartKind], ...]
"""A part of a page, from the outermost to itself, each with its place: in order they are in reading order."""
FURNITURE = frozenset({"title block", "steps", "card", "traveller", "form"})
"""Layers whose ink frames and rules what is read, and shows nothing itself."""


@dataclass(frozen=True, slots=True)
class Style:
    """How a path is inked: stroke width in mm (0: no stroke), dash pattern in mm, cap, and fill.

    The fill, where there is one, is solid black under the even-odd rule. `phase` is how far into the pattern
    each subpath starts, mm.
    """

    width: float
    dash: tuple[float, ...] = ()
    cap: Literal["butt", "round"] = "butt"
    fill: bool = False
    phase: float = 0.0


@dataclass(frozen=True, slots=True)
class Label:
    """A lettered line: its text, the height of a capital in mm, and how it lies on the page.

    The matrix maps mm along and up from where the line's ink begins to the page, as in PDF: x' = ax + cy + e,
    y' = bx + dy + f. `part` is what it belongs to.
    """

    text: str
    height: float
    matrix: tuple[float, float, float, float, float, float]
    part: Part = ()


@dataclass(frozen=True, slots=True)
class Path:
    """Any number of subpaths inked in one style on one layer; `name` may be empty.

    Where there are `labels`, the subpaths are their strokes and nothing else (`marks.lettered`): a file that
    has type sets them as text.
    """

    commands: Commands
    style: Style
    layer: str
    name: str = ""
    labels: tuple[Label, ...] = ()


@dataclass(frozen=True, slots=True)
class Text:
    """A line of running text, on cards and travellers alone: in a PDF type, in an SVG outlines of the face.

    `at` is the baseline's left end, `size` the type size in mm, `face` the TrueType file, `width` the line's
    length in mm by that face's own advances, `part` what it belongs to.
    """

    text: str
    at: Point
    size: float
    face: FilePath
    width: float
    part: Part = ()


Record = Path | Text


@dataclass(frozen=True, slots=True)
class Field:
    """A box of a fillable form, (left, low, right, top) in mm; its frame is inked like everything else.

    `name` is the field's name in the PDF, unique in a packet and made of letters, digits, dots and dashes;
    `label` says to a reader who hovers, or listens, what belongs there. `kind` "number" takes digits, sign,
    point or comma alone, "tick" is a check box, "date" takes year-month-day. `value` is what it is filled
    with from the start, in `face`, a TrueType file, where the project's own lacks letters of it; `size` the
    type size in mm, 0 for as large as fits. Fields are tabbed in their order; `part` is a "Form".
    """

    name: str
    label: str
    box: tuple[float, float, float, float]
    kind: Literal["text", "number", "date", "tick", "lines"] = "text"
    value: str = ""
    size: float = 3.5
    face: FilePath | None = None
    part: Part = ()


@dataclass(frozen=True, slots=True)
class Circle:
    """A whole circle; the diameter is to the middle of the stroke."""

    name: str
    centre: Point
    diameter: float


@dataclass(frozen=True, slots=True)
class Segment:
    """A straight line from `start` to `end`."""

    name: str
    start: Point
    end: Point


@dataclass(frozen=True, slots=True)
class Arc:
    """Part of a circle, anticlockwise on the page from `start` to `end`, in degrees from +X."""

    name: str
    centre: Point
    diameter: float
    start: float
    end: float


@dataclass(frozen=True, slots=True)
class Slot:
    """A slot with round ends; `start` and `end` are the centres of the ends, `width` the end diameter."""

    name: str
    start: Point
    end: Point
    width: float


@dataclass(frozen=True, slots=True)
class Curve:
    """An unbroken line through `points`; it closes where its last point is its first.

    On a wrap `space` has the same points on the outside of `tube` in the axes of the bicycle, mm, and
    `paper_thickness` is the paper's, mm, for which the line was unrolled.
    """

    name: str
    points: tuple[Point, ...]
    space: tuple[tuple[float, float, float], ...] = ()
    tube: str = ""
    paper_thickness: float = 0.0


Feature = Circle | Segment | Arc | Slot | Curve


@dataclass(frozen=True, slots=True)
class Paper:
    """A paper size by name, in portrait, in mm."""

    name: str
    width: float
    height: float


@dataclass(frozen=True, slots=True)
class Tile:
    """Which part of a big drawing a page shows: its row from the top and column from the left, from 1.

    `origin` is where the big drawing's lower-left corner would lie on the page, mm, mostly beyond it: big
    drawing = page - origin. `window` is the part shown, in the big drawing (left, low, right, top).
    """

    row: int
    column: int
    rows: int
    columns: int
    origin: Point
    window: tuple[float, float, float, float]


@dataclass(frozen=True, slots=True)
class Sheet:
    """One printed page.

    `kind` is the sheet's name in the manifest ("template", "face"); `title` names it anywhere, `bookmark` in
    its packet, empty where it is called the same there. `axle` is where the origin of the axes lies on the
    page; `margin` is the keep-out border that no ink may enter. `tile` tells which part of a drawing larger
    than the paper this is. `full_size` is what it is drawn to be: laid on metal or measured from, so that it
    is corrected for a measured printer and has a file of its own. Who draws a sheet says so. `number_at` is
    where its number in the packet ends, on the baseline; a sheet without one bears none. `figure` is the part
    that its drawing is, none for a page of text, and `alt` says what is to be seen there; `vacant` are parts
    with nothing in them, such as cells to write in.
    """

    kind: str
    title: str
    paper: Paper
    margin: float
    view: View
    axle: Point
    full_size: bool
    records: tuple[Record, ...]
    features: tuple[Feature, ...]
    fields: tuple[Field, ...] = ()
    tile: Tile | None = None
    bookmark: str = ""
    number_at: Point | None = None
    figure: Part = ()
    alt: str = ""
    vacant: tuple[Part, ...] = ()

    def __post_init__(self) -> None:
        """Refuse, with a ValueError, what cannot be drawn the other way for a printer that is off."""
        if self.full_size and (self.texts or self.fields):
            raise ValueError(f"the {self.kind} is at full size, and has running text or fields")

    @property
    def paths(self) -> tuple[Path, ...]:
        """Return the records that are paths, in order."""
        return tuple(record for record in self.records if isinstance(record, Path))

    @property
    def texts(self) -> tuple[Text, ...]:
        """Return the records that are running text, in order."""
        return tuple(record for record in self.records if isinstance(record, Text))
