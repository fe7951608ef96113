"""The recall of a folder's packets as a page to print."""

from pathlib import Path

from geometry.core.errors import InputError
from geometry.survey.recall import effect
from sheets.actions.loose_pages import write_loose
from sheets.actions.one_sheet import paper_named
from sheets.filing.filed_packets import Found
from sheets.filing.verify import recall_lines
from sheets.keeping.overwriting import must_give_way
from sheets.pages.running.recall import TITLE, recall_page
from sheets.pages.title import lettered

_SUBJECT = "Packets that were drawn with numbers since corrected, frame by frame"


def write_recall(found: Found, paper: str, target: Path) -> float | None:
    """Write the recall of a folder's packets; return the largest deviation read, mm, or None for no recall.

    Nothing is written where no packet is recalled. Raise InputError for a name that is no PDF's, a file that
    may not be lost or a paper that is not known, ReadBackError or DeliveryError as drawing does.
    """
    if target.suffix.lower() != ".pdf":
        raise InputError.at("--pdf", f"{target} does not end in .pdf; name the file to write")
    sheet = paper_named(paper)
    parts = []
    for recall in dict.fromkeys(each.recall for each in found.recalled if each.recall):
        built = effect(recall)
        frames = [
            (
                lettered(f"{each.frame}: {each.path}" if each.frame else str(each.path)),
                f"{built.near:.2f} mm",
                f"{built.far:.2f} mm",
            )
            for each in found.recalled
            if each.recall == recall
        ]
        parts.append((recall_lines(recall), frames))
    if parts:
        must_give_way(target, "recall", "name another file")
    return write_loose(recall_page(sheet, parts), target, TITLE, _SUBJECT, "recall") if parts else None
