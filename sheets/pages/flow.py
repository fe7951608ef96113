"""Running text down a page: headings, paragraphs and tables between two edges."""

import itertools
from collections.abc import Callable, Sequence

from fonts.drafting import LINE_PITCH, accents, wrap
from fonts.faces import Face, Weight, break_lines, choose, run, tallest
from fonts.lines import words as together
from geometry.core.errors import FitError, Problem
from geometry.core.frozen import dataclass
from geometry.core.say import say
from sheets.ink.drawing import Drawing
from sheets.ink.marks import THICK, THIN, box, polyline
from sheets.ink.records import Part, PartKind

SMALL = 3.51
"""Type size of running text, mm: its capitals are 2.5 high, and nothing that is read in a shop is smaller."""
READ = 4.91
"""Type size of what is read at the bench, mm: capitals of 3.5."""
PITCHES = (1.24, 1.17, 1.11, 1.06, 1.03, 1.0)
"""Line pitches in type sizes, from easy to tight."""
DROP = 0.28
"""How far a baseline stands over the foot of its line, in type sizes."""
SLACK = 1e-9
"""What a page may be too low by, mm: what adding up rounds."""
_BOX_ROW = 6.2
"""Height of a table row with a box to write in, mm."""


@dataclass(frozen=True, slots=True)
class Column:
    """A table's column: heading, width in mm, and where its cells stand: 0 left, 0.5 middle, 1 right.

    A `box` column has an empty box in every row, to write in.
    """

    heading: str
    width: float
    anchor: float = 0.0
    box: bool = False


class Flow:
    """A cursor that moves down a page between `left` and `right`, and on to the next page at `low`, mm.

    `reached` is the lowest place that was needed on the first page.
    """

    def __init__(
        self,
        drawing: Drawing,
        left: float,
        right: float,
        top: float,
        low: float,
        own: Face | None,
        turn: Callable[[], tuple[Drawing, float]],
        pitch: float,
    ) -> None:
        """Start at the top; `own` is the job's face, `turn` starts a page and returns it with its top."""
        self.pitch = pitch
        self.drawing, self.left, self.right, self.y, self.low = drawing, left, right, top, low
        self._own, self._turn = own, turn
        self.reached = top

    def need(self, height: float) -> None:
        """Go on to the next page unless a height is left; raise FitError where no page has it."""
        if self.y - height >= self.low - SLACK:
            self.reached = min(self.reached, self.y - height)
            return
        self.drawing, self.y = self._turn()
        if self.y - height < self.low - SLACK:
            over = self.low - self.y + height
            raise FitError(Problem("paper.size", say("paper.part_too_tall", over=over)))

    def leading(self, text: str, size: float = SMALL, bold: bool = False) -> float:
        """Return the height of each of a text's lines, mm: what lies over capitals never leaves its line."""
        face = choose(text, "bold" if bold else "regular", self._own)
        return max(self.pitch, tallest(text, face) + DROP) * size

    def space(self, height: float) -> None:
        """Move down, on this page or the next."""
        self.need(height)
        self.y -= height

    def part(self, kind: PartKind = "P", above: Part = ()) -> Part:
        """Return a part that begins at the cursor."""
        return self.drawing.part(kind, above)

    def heading(self, text: str, follow: float = 4.5) -> None:
        """Set a heading over a rule, together with at least `follow` mm of what comes after."""
        # At the tightest pitch headings give some of their air too.
        air = 1.6 if self.pitch > PITCHES[-1] else 0.8
        self.need(air + self.leading(text, READ, bold=True) + follow)
        self.y -= air
        self.paragraph(text, READ, "bold", kind="H2")
        self.drawing.draw(polyline(((self.left, self.y + 0.4), (self.right, self.y + 0.4))), THICK, "card")
        self.y -= 0.8

    def lettering(self, text: str, height: float) -> None:
        """Letter a line in the drafting alphabet, broken at the right edge."""
        part = self.part()
        for line in wrap(text, height, self.right - self.left):
            self.space(LINE_PITCH * height + accents(line, height))
            self.drawing.letter(line, (self.left, self.y + 0.35 * height), height, layer="card", part=part)

    def paragraph(
        self,
        text: str,
        size: float = SMALL,
        weight: Weight = "regular",
        indent: float = 0.0,
        kind: PartKind = "P",
        part: Part = (),
    ) -> None:
        """Set a paragraph, broken at the right edge: a part of a kind, or more of one that was begun.

        What goes on to another page is a part of its own there.
        """
        face, pitch = choose(text, weight, self._own), self.leading(text, size, weight == "bold")
        held = self.drawing if part else None
        for line in break_lines(text, size, face, self.right - self.left - indent):
            self.space(pitch)
            if self.drawing is not held:
                held, part = self.drawing, self.part(kind)
            self.drawing.text(line, (self.left + indent, self.y + DROP * size), size, face, part=part)

    def run_in(self, parts: Sequence[tuple[str, bool]], size: float = SMALL) -> None:
        """Set parts of a paragraph one after the other, each bold or not, broken at the right edge."""
        room = self.right - self.left
        # A word that is wider than the line by itself, such as a digest, is broken anywhere.
        words = [
            (piece, bold)
            for text, bold in parts
            for word in together(" ".join(text.split()))
            for piece in (
                (word,) if self.width(word, size, bold) <= room else self.lines(word, room, size, bold)
            )
        ]
        pitch = max(self.leading(text, size, bold) for text, bold in parts)
        gap = self.width("n n", size) - 2.0 * self.width("n", size)
        line: list[tuple[str, bool, float]] = []
        x, lines = 0.0, [line]
        for word, bold in words:
            wide = self.width(word, size, bold)
            if line and x + wide > room:
                line, x = [], 0.0
                lines.append(line)
            line.append((word, bold, x))
            x += wide + gap
        held = None
        for line in lines:
            self.space(pitch)
            if self.drawing is not held:
                held, part = self.drawing, self.part()
            # Words of one weight that follow each other are one text.
            for bold, several in itertools.groupby(line, key=lambda each: each[1]):
                run_of = list(several)
                said = " ".join(word for word, _, _ in run_of)
                self.put(said, self.left + run_of[0][2], self.y + DROP * size, size, bold, part)

    def put(
        self,
        text: str,
        left: float,
        baseline: float,
        size: float = SMALL,
        bold: bool = False,
        part: Part = (),
    ) -> None:
        """Set a line at a place of its own on the page at hand, alone or as more of a part."""
        face = choose(text, "bold" if bold else "regular", self._own)
        self.drawing.text(text, (left, baseline), size, face, part=part)

    def lines(self, text: str, width: float, size: float = SMALL, bold: bool = False) -> tuple[str, ...]:
        """Return a text broken into lines of a width, mm."""
        return break_lines(text, size, choose(text, "bold" if bold else "regular", self._own), width)

    def width(self, text: str, size: float = SMALL, bold: bool = False) -> float:
        """Return how wide a line is when it is set, mm."""
        return run(text, size, choose(text, "bold" if bold else "regular", self._own))

    def rule(self) -> None:
        """Draw a thin line across at the cursor."""
        self.drawing.draw(polyline(((self.left, self.y), (self.right, self.y))), THIN, "card")

    def blank(self, text: str, width: float = 22.0, size: float = SMALL) -> None:
        """Set a paragraph with an empty box beside it at the right edge, to write a reading in."""
        lines = self.lines(text, self.right - self.left - width - 2.0, size)
        pitch = self.leading(text, size)
        height = max(_BOX_ROW, len(lines) * pitch + 0.8)
        self.need(height)
        top = self.y
        self.y -= height
        part = self.part()
        for i, line in enumerate(lines):
            self.put(line, self.left, top - (i + 1) * pitch + DROP * size, size, part=part)
        frame = box((self.right - width, self.y + 0.4), (self.right - 1.0, top - 0.4))
        self.drawing.draw(frame, THIN, "card")

    def item(self, mark: str, text: str, indent: float = 6.0, size: float = SMALL) -> None:
        """Set a paragraph that hangs from a mark, indented further where the mark is long."""
        pitch = self.leading(text, size)
        self.need(pitch)
        part = self.part()
        self.put(mark, self.left, self.y - pitch + DROP * size, size, bold=True, part=part)
        self.paragraph(text, size, indent=max(indent, self.width(mark, size, bold=True) + 1.0), part=part)

    def table(self, columns: Sequence[Column], rows: Sequence[Sequence[str]], size: float = SMALL) -> None:
        """Set a table with a heading row, thin rules between rows, and empty boxes in box columns.

        Cells that are too long are broken; raise FitError where the columns are wider than the flow.
        """
        wide = sum(column.width for column in columns)
        if wide > self.right - self.left + 1e-6:
            over = wide - self.right + self.left
            raise FitError(Problem("paper.size", say("paper.table_too_wide", over=over)))
        held = self._row(columns, [column.heading for column in columns], SMALL, "bold", None)
        for row in rows:
            held = self._row(columns, row, size, "regular", held)

    def _row(
        self,
        columns: Sequence[Column],
        cells: Sequence[str],
        size: float,
        weight: Weight,
        held: tuple[Drawing, Part] | None,
    ) -> tuple[Drawing, Part]:
        """Set a row, the heading one where there is no table yet; return the table and where it is."""
        boxes = held is not None
        broken: list[tuple[str, ...]] = []
        faces: list[Face] = []
        for column, cell in zip(columns, cells, strict=True):
            face = choose(cell, weight, self._own)
            faces.append(face)
            broken.append(break_lines(cell, size, face, column.width - 2.0) if cell else ())
        count = max(1, *(len(lines) for lines in broken))
        pitch = max(self.leading(cell, size, weight == "bold") for cell in cells)
        height = count * pitch + 0.8
        height = max(height, _BOX_ROW if boxes and any(column.box for column in columns) else 0.0)
        self.need(height)
        top = self.y
        self.y -= height
        lift = (height - count * pitch) / 2.0
        x = self.left
        if held is None or held[0] is not self.drawing:
            held = self.drawing, self.part("Table")
        row = self.part("TR", held[1])
        for column, lines, face in zip(columns, broken, faces, strict=True):
            part = self.part("TD" if boxes else "Column", row)
            if not lines:
                self.drawing.vacant.append(part)
            for i, line in enumerate(lines):
                y = top - lift - (i + 1) * pitch + DROP * size
                at = (x + 1.0 + column.anchor * (column.width - 2.0), y)
                self.drawing.text(line, at, size, face, column.anchor, part)
            if column.box and boxes:
                low, high = (x + 1.0, self.y + 0.4), (x + column.width - 1.0, top - 0.4)
                self.drawing.draw(box(low, high), THIN, "card")
            x += column.width
        ruled = self.left + sum(column.width for column in columns if not column.box)
        self.drawing.draw(polyline(((self.left, self.y), (ruled, self.y))), THIN, "card")
        return held
