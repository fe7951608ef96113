"""The recall of a folder's packets as a page to print."""

from pathlib import Path

from geometry.survey.recall import effect
from sheets.actions.manifest import Drawn
from sheets.actions.one_sheet import paper_named
from sheets.actions.writing import deliver, must_be_pdf
from sheets.filing.filed_packets import Found
from sheets.filing.verify import recall_lines
from sheets.pages.running.recall import Recalled, recall_page
from sheets.pages.title import lettered
from sheets.words.tell import tell, told


def write_recall(found: Found, paper: str, target: Path) -> float | None:
    """Write the recall of a folder's packets; return the largest deviation read, mm, or None for no recall.

    Nothing is written where no packet is recalled. Raise InputError for a name that is no PDF's or a paper
    that is not known, and DropleafError as `deliver` does.
    """
    must_be_pdf(target)
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
        parts.append(Recalled(told(recall.title), recall_lines(recall), frames))
    if not parts:
        return None
    drawn = Drawn(target, "pdf", recall_page(sheet, parts))
    return deliver((drawn,), "recall", tell("recall.page.title"), tell("verify.recall_subject"), "name")
