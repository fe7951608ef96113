"""What else than packets is written as a PDF, and the mark by which each is known again.

The mark stands among the document's keywords, where most programs leave it when they save the file again.
"""

from collections.abc import Iterable, Mapping
from typing import Any

from sheets.words.tell import tell

PAGES = ("shop", "proof", "blank", "recall", "report", "mount-blank")
"""Kinds of pages that are no packet."""
PACKET = "full-size brake-mount template and setup card"
"""How the title of every packet ends, after the frame's id."""
_MARK = "dropleaf page: "


def mark(kind: str) -> str:
    """Return the keyword that marks a page of a kind; raise ValueError for a kind that is not known."""
    if kind not in PAGES:
        raise ValueError(f"no page is of the kind {kind!r}")
    return f"{_MARK}{kind}"


def called(kind: str, number: int = 1) -> str:
    """Return how pages of a kind are called: "a measuring sheet", "2 measuring sheets"."""
    return tell(f"kind.{kind}.one") if number == 1 else tell(f"kind.{kind}.many", count=number)


def of_sheets(pages: Iterable[Mapping[str, Any]]) -> str:
    """Return the kind of page whose sheets alone a record lists, "" for a packet of a frame."""
    found = {str(page.get("sheet", "")) for page in pages}
    return next((kind for kind in PAGES if found == {kind}), "")


def kind_of(keywords: str) -> str:
    """Return the kind of page that a document's keywords mark, "" for none of ours."""
    kind = keywords.partition(_MARK)[2]
    return kind if kind in PAGES else ""
