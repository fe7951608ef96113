"""The shop's list as a file: written aside, read back, and put in place."""

from pathlib import Path

from sheets.actions.manifest import Drawn
from sheets.actions.one_sheet import paper_named
from sheets.actions.shop import Shop, called, spacer_words, stock_words
from sheets.actions.writing import deliver, must_be_pdf
from sheets.pages.running.shop import shop_pages
from sheets.words.tell import tell


def write_shop(shop: Shop, paper: str, target: Path) -> float:
    """Write the list as pages of a paper to a PDF; return the largest deviation read, mm.

    Raise InputError for a name that is no PDF's or a paper that is not known, FitError where the paper is too
    small for a line, and DropleafError as `deliver` does.
    """
    must_be_pdf(target)
    # Numbers for frames keep every line of the list to one line of the page.
    numbers = {frame: f"{number}" for number, frame in enumerate(shop.frames, start=1)}
    rows = [
        (
            called(line.kind),
            f"{line.count}",
            line.what,
            " ".join(numbers[f] for f in line.frames),
            stock_words(line),
        )
        for line in shop.lines
    ]
    head = tell("shop.frames", frames=", ".join(f"{number} {frame}" for frame, number in numbers.items()))
    words = [*spacer_words(shop), *(tell("shop.page_unknown", what=each) for each in shop.unknown)]
    title = tell("shop.title")
    sheets = shop_pages(paper_named(paper), head, rows, words, title)
    return deliver((Drawn(target, "pdf", sheets),), "shop", title, tell("shop.subject"), "name")
