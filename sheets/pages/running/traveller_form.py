"""A form that fills page after page: text in a flow, and boxes to write in that are fields of the PDF too."""

from collections.abc import Callable, Sequence
from typing import Literal

from fonts.faces import Face, break_lines, choose, run
from fonts.lines import words as together
from geometry.core.frozen import dataclass
from geometry.core.say import Value
from sheets.ink.drawing import Drawing
from sheets.ink.marks import THICK, THIN, box, polyline
from sheets.ink.placing import Box
from sheets.ink.records import Field, Part
from sheets.pages.flow import READ, SMALL, Flow
from sheets.words.tell import tell

LAYER = "traveller"
CELL, DENSEST_CELL = 10.0, 9.2
"""Height of a box with its caption in it, mm, and on the densest form."""
_CAPTION = 3.9
"""What the caption takes of that, mm."""
_INSET = 0.4
"""How far a field stays inside its printed box, mm, so that it covers no line."""
_SPARE = 1.6
"""White that a field's text keeps to the sides of its box, mm."""
Kind = Literal["text", "number", "date", "tick", "lines"]


@dataclass(frozen=True, slots=True)
class Cell:
    """A box with a caption: the field's name, its caption, what is in it from the start, and its kind."""

    name: str
    caption: str
    value: str = ""
    kind: Kind = "text"


def cell(name: str, value: str | None = "", kind: Kind = "text", /, **values: Value) -> Cell:
    """Return a box whose caption is told by the field's name, "traveller.cell.head.due" for "head.due"."""
    return Cell(name, tell(f"traveller.cell.{name.replace('-', '_')}", **values), value or "", kind)


class Form:
    """The pages of a form as they fill; `flow` is the cursor on the page at hand, `fields` has one list each.

    `head` draws a page's header and returns where the text below it begins. A `dense` form leaves less room
    for handwriting, and one of level 2 less again, so that it takes no page more; its letters are as large.
    """

    def __init__(
        self,
        live: Box,
        foot: float,
        own: Face | None,
        pitch: float,
        head: Callable[[Drawing, int], float],
        *,
        dense: int = 0,
    ) -> None:
        """Start the first page; `foot` is the height kept free above the lower edge, mm."""
        self.pages: list[Drawing] = []
        self.fields: list[list[Field]] = []
        self._head, self._own, self.dense = head, own, dense
        self._table: Part = ()
        drawing, top = self._turn()
        left, low, right, _ = live
        self.flow = Flow(drawing, left, right, top, low + foot, own, self._turn, pitch)

    def _turn(self) -> tuple[Drawing, float]:
        self.pages.append(Drawing())
        self.fields.append([])
        return self.pages[-1], self._head(self.pages[-1], len(self.pages))

    def together(self, height: float) -> bool:
        """Go on to the next page unless a height is left, and return whether it did."""
        before = len(self.pages)
        self.flow.need(height)
        return len(self.pages) > before

    def table(self) -> None:
        """Begin a table here."""
        self._table = self.flow.part("Table")

    def line(self) -> Part:
        """Begin a line of the table."""
        return self.flow.part("TR", self._table)

    def field(
        self,
        name: str,
        label: str,
        place: Box,
        kind: Kind = "text",
        value: str = "",
        size: float = READ,
        part: Part = (),
    ) -> None:
        """Draw a box to write in and lay a field over it; a value that is too long is set smaller."""
        left, low, right, top = place
        self.flow.drawing.draw(box((left, low), (right, top)), THIN, LAYER)
        self.over(name, label, place, kind, value, size, part)

    def over(
        self,
        name: str,
        label: str,
        place: Box,
        kind: Kind = "text",
        value: str = "",
        size: float = READ,
        part: Part = (),
    ) -> None:
        """Lay a field over a box that is drawn already, or over a part of one; it belongs to a part."""
        left, low, right, top = place
        file = None
        if value:
            chosen = choose(value, "regular", self._own, name)
            file = chosen.file if chosen is self._own else None
            wide = run(value, 1.0, chosen)
            fits = (each for each in (size, SMALL) if wide * each <= right - left - _SPARE)
            size = next(fits, 0.0)
        inner = (left + _INSET, low + _INSET, right - _INSET, top - _INSET)
        part = self.flow.part("Form", part or self.flow.part())
        self.fields[-1].append(Field(name, label, inner, kind, value, size, file, part))

    def cells(self, cells: Sequence[Cell], widths: Sequence[float] = (), height: float | None = None) -> None:
        """Set captioned boxes side by side across the page; `widths` are shares of it, equal by default."""
        flow = self.flow
        height = height or (DENSEST_CELL if self.dense > 1 else CELL)
        self.together(height)
        shares = widths or [1.0] * len(cells)
        unit = (flow.right - flow.left) / sum(shares)
        top, x = flow.y, flow.left
        flow.y -= height
        for each, share in zip(cells, shares, strict=True):
            right = x + share * unit
            flow.drawing.draw(box((x, flow.y), (right, top)), THIN, LAYER)
            caption, part = self.short(each.caption, right - x - 2.0), flow.part()
            flow.put(caption, x + 1.0, top - _CAPTION + 0.5, part=part)
            place = x, flow.y, right, top - _CAPTION
            self.over(each.name, each.caption, place, each.kind, each.value, part=part)
            x = right

    def widths(self, columns: Sequence[tuple[float, str]]) -> list[float]:
        """Return the widths of columns by their shares, mm; the widest gives way to heads that are longer."""
        unit = (self.flow.right - self.flow.left) / sum(share for share, _ in columns)
        plain = [share * unit for share, _ in columns]
        heads = (self.flow.width(head, bold=True) + 1.6 for _, head in columns)
        wide = list(map(max, plain, heads))
        wide[plain.index(max(plain))] -= sum(wide) - sum(plain)
        return wide

    def short(self, text: str, width: float) -> str:
        """Return a text, or as many of its words as a width holds."""
        return break_lines(text, SMALL, choose(text, "regular", self._own), width)[0]

    def hanging(self, head: str, text: str, width: float) -> tuple[float, tuple[str, ...]]:
        """Return how wide a bold head at READ is with its space, and the lines of the text that follows it.

        The first line stands beside the head, the others below it; it is empty where no word fits.
        """
        after = run(head, READ, choose(head, "bold", self._own)) + 1.8
        face = choose(text, "regular", self._own)
        words = together(text)
        count = 0
        while count < len(words) and run(" ".join(words[: count + 1]), SMALL, face) <= width - after:
            count += 1
        rest = " ".join(words[count:])
        below = break_lines(rest, SMALL, face, width) if rest else ()
        return after, (" ".join(words[:count]), *below)

    def heading(self, text: str, follow: float) -> None:
        """Set a heading over a rule, together with at least `follow` mm of what comes after."""
        flow = self.flow
        self.together(1.4 + flow.pitch * READ + 1.4 + follow)
        flow.y -= 1.4
        flow.paragraph(text, READ, "bold", kind="H2")
        flow.y -= 0.5
        self.rule(thick=True)
        flow.y -= 0.9

    def rule(self, thick: bool = False) -> None:
        """Draw a line across at the cursor."""
        flow = self.flow
        style = THICK if thick else THIN
        flow.drawing.draw(polyline(((flow.left, flow.y), (flow.right, flow.y))), style, LAYER)
