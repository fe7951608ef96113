"""The pages of a packet before it is written: what each is called and is for, and how it looks."""

from collections.abc import Iterator

from geometry.core.frozen import dataclass
from sheets.actions.draw import Plan
from sheets.actions.pages import svg
from sheets.files.write.packet import bookmarks
from sheets.ink.records import Sheet
from sheets.words.tell import tell

_USES = {"wrap": ("wrap_patterns", "wrap_both", "wrap")}
"""What sheets of a kind may be for, where that is not told by the kind alone."""


@dataclass(frozen=True, slots=True)
class Page:
    """A page: its number in the packet, its name and use, its paper's size in mm, and whether it is 1:1."""

    number: int
    kind: str
    name: str
    use: str
    width: float
    height: float
    full_size: bool


def pages(plan: Plan) -> tuple[Page, ...]:
    """Return the pages of a packet in its order."""
    sheets = plan.packet.sheets
    return tuple(
        Page(number, sheet.kind, name, _use(sheet), sheet.paper.width, sheet.paper.height, sheet.full_size)
        for number, (sheet, name) in enumerate(zip(sheets, bookmarks(sheets), strict=True), start=1)
    )


def picture(plan: Plan, number: int) -> bytes | None:
    """Return a page by its number as the very SVG of its sheet, corrected as the packet is; None for none."""
    sheets = plan.packet.sheets
    return svg(sheets[number - 1], plan.distortion) if 1 <= number <= len(sheets) else None


def _use(sheet: Sheet) -> str:
    """Return what a sheet is for: of several uses the one that is lettered on it."""
    told = [tell(f"packet.use.{use}") for use in _USES.get(sheet.kind, (sheet.kind,))]
    return next((each for each in told if each in _lettered(sheet)), told[-1])


def _lettered(sheet: Sheet) -> Iterator[str]:
    return (label.text for path in sheet.paths for label in path.labels)
