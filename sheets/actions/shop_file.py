"""The shop's list as a file: written aside, read back, and put in place."""

from pathlib import Path

from geometry.core.errors import InputError
from sheets.actions.loose_pages import write_loose
from sheets.actions.one_sheet import paper_named
from sheets.actions.shop import Shop, spacer_words, stock_words
from sheets.keeping.overwriting import must_give_way
from sheets.pages.running.shop import shop_pages

_SUBJECT = "What must be on the bench, frame by frame"


def write_shop(shop: Shop, paper: str, target: Path) -> float:
    """Write the list as pages of a paper to a PDF; return the largest deviation read, mm.

    Raise InputError for a name that is no PDF's, a file that may not be lost or a paper that is not known,
    FitError where the paper is too small for a line, ReadBackError or DeliveryError as drawing does; nothing
    is left behind then.
    """
    if target.suffix.lower() != ".pdf":
        raise InputError.at("--pdf", f"{target} does not end in .pdf; name the file to write")
    must_give_way(target, "shop", "name another file")
    title = "On the bench"
    # Numbers for frames keep every line of the list to one line of the page.
    numbers = {frame: f"{number}" for number, frame in enumerate(shop.frames, start=1)}
    rows = [
        (line.kind, f"{line.count}", line.what, " ".join(numbers[f] for f in line.frames), stock_words(line))
        for line in shop.lines
    ]
    head = "Frames: " + ", ".join(f"{number} {frame}" for frame, number in numbers.items())
    words = [*spacer_words(shop), *(f"Not known: {each}." for each in shop.unknown)]
    sheets = shop_pages(paper_named(paper), head, rows, words, title)
    return write_loose(sheets, target, title, _SUBJECT, "shop")
